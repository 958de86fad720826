//! The crops, methods and products in force, as nouns and as text, from the built-in tables and the household's own rows.
//!
//! Most gardens have no such rows of their own; what the built-in tables alone give is therefore worked out once.

use super::crop_assumed;
use super::names::Names;
use super::problem::Findings;
use super::tables::{self, CROPS, METHODS, Merged, PRODUCTS};
use super::text::Source;
use super::{crops, methods, products};
use crate::garden::crop::{Crop, CropId};
use crate::garden::preserving::{Method, Product, ProductId};
use crate::garden::tables::TextTable;
use std::sync::LazyLock;

/// The tables in force; empty where one of their rows could not be read.
#[derive(Debug, Clone)]
pub(crate) struct Base {
    /// Crops.
    pub(crate) crops: Vec<Crop>,
    /// Names of the crops.
    pub(crate) crop_names: Names<CropId>,
    /// Keys of the rows of the crop table, also of those that could not be read.
    pub(crate) crop_keys: Vec<String>,
    /// Methods.
    pub(crate) methods: Vec<Method>,
    /// Products.
    pub(crate) products: Vec<Product>,
    /// Names of the products.
    pub(crate) product_names: Names<ProductId>,
    /// Crops, methods and products as written.
    pub(crate) texts: [TextTable; 3],
}

/// Reads the tables in force; `own` gives the household's file of a name.
pub(crate) fn read<'s>(own: impl Fn(&str) -> Option<&'s Source<'s>>, f: &mut Findings) -> Base {
    static USUAL: LazyLock<(Base, Findings)> = LazyLock::new(|| {
        let mut f = Findings::default();
        (made(|_| None, &mut f), f)
    });
    if ["crops.csv", "methods.csv", "products.csv"]
        .iter()
        .any(|name| own(name).is_some())
    {
        return made(own, f);
    }
    let (base, found) = &*USUAL;
    f.add(found.clone());
    base.clone()
}

fn made<'s>(own: impl Fn(&str) -> Option<&'s Source<'s>>, f: &mut Findings) -> Base {
    let (base_crops, base_methods, base_products) = (
        tables::built_in("crops", CROPS),
        tables::built_in("methods", METHODS),
        tables::built_in("products", PRODUCTS),
    );
    let columns = [CROPS, METHODS, PRODUCTS].map(tables::columns);
    let merged = [
        tables::merge("crops", &columns[0], &base_crops, own("crops.csv"), f),
        tables::merge("methods", &columns[1], &base_methods, own("methods.csv"), f),
        tables::merge(
            "products",
            &columns[2],
            &base_products,
            own("products.csv"),
            f,
        ),
    ];
    let (mut crops, crop_names) = crops::read(&merged[0].entries, f);
    let (methods, method_names) = methods::read(&merged[1].entries, f);
    let (products, product_names) = products::read(
        &merged[2].entries,
        products::Tables {
            crops: &crops,
            crop_names: &crop_names,
            methods: &methods,
            method_names: &method_names,
        },
        f,
    );
    crops::settle_put_by(&mut crops, &merged[0].entries, &products, &product_names, f);
    crop_assumed::tell(&crops, &merged[0].entries, f);
    Base {
        crop_keys: merged[0].entries.iter().map(|e| e.key.clone()).collect(),
        texts: merged.map(|Merged { text, .. }| text),
        crops,
        crop_names,
        methods,
        products,
        product_names,
    }
}
