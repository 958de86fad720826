//! The ground floor: the nouns of a garden, complete and consistent once loaded.
//!
//! Knows nothing of files, weather, forecasts or text output, and imports nothing else of this crate.

pub mod bed;
pub mod crop;
pub mod household;
pub mod planting;
pub mod preserving;
pub mod record;
pub mod safety;
pub mod site;
pub mod tables;
pub mod units;
pub mod week;

use bed::{Bed, BedId};
use chrono::NaiveDate;
use crop::{Crop, CropId};
use household::Household;
use planting::{Planting, PlantingId};
use preserving::{Method, MethodId, Product, ProductId};
use record::Record;
use site::Site;
use tables::Tables;

/// A household's whole record, checked: every index is valid, every quantity finite and in range.
#[derive(Debug, Clone)]
pub struct Garden {
    /// Name shown in output: the site's name, or the folder's.
    pub name: String,
    /// The place.
    pub site: Site,
    /// Crop table in force.
    pub crops: Vec<Crop>,
    /// Methods in force.
    pub methods: Vec<Method>,
    /// Products in force.
    pub products: Vec<Product>,
    /// Beds.
    pub beds: Vec<Bed>,
    /// Plantings, in the order of the file.
    pub plantings: Vec<Planting>,
    /// The household.
    pub household: Household,
    /// The record.
    pub record: Record,
    /// Fixed today of `garden.toml`, if set.
    pub as_of: Option<NaiveDate>,
    /// How amounts and dates are shown.
    pub show: Show,
    /// The tables as written, with sources.
    pub tables: Tables,
    /// Defaults that were used because nothing was given, in plain sentences.
    pub assumed: Vec<String>,
    /// Faults that do not stop a forecast but should be told, in plain sentences.
    pub warnings: Vec<String>,
}

impl Garden {
    /// Returns a crop.
    #[must_use]
    pub fn crop(&self, id: CropId) -> &Crop {
        &self.crops[id.0]
    }
    /// Returns a bed.
    #[must_use]
    pub fn bed(&self, id: BedId) -> &Bed {
        &self.beds[id.0]
    }
    /// Returns a planting.
    #[must_use]
    pub fn planting(&self, id: PlantingId) -> &Planting {
        &self.plantings[id.0]
    }
    /// Returns a method.
    #[must_use]
    pub fn method(&self, id: MethodId) -> &Method {
        &self.methods[id.0]
    }
    /// Returns a product.
    #[must_use]
    pub fn product(&self, id: ProductId) -> &Product {
        &self.products[id.0]
    }
}

/// How amounts and dates are shown and typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Show {
    /// Units of amounts.
    pub units: UnitSystem,
    /// Order of day and month accepted besides ISO 8601.
    pub dates: DateOrder,
}

/// Units of amounts in tables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum UnitSystem {
    /// Pounds, feet, degrees Fahrenheit.
    #[default]
    Us,
    /// Kilograms, metres, degrees Celsius.
    Metric,
}

/// Order of day and month accepted besides ISO 8601.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DateOrder {
    /// ISO 8601 only, or what a whole column can only mean.
    #[default]
    Iso,
    /// Month/day/year.
    MonthFirst,
    /// Day/month/year.
    DayFirst,
}
