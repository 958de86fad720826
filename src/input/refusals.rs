//! What is refused of the product table: unsafe ways of preserving, and changes to what safety rests on.
//!
//! The answers are the matrix's ([`crate::garden::safety`]); this file asks it for every product, whoever wrote the row.

use super::problem::{Findings, Kind, Told};
use super::products::Tables;
use super::tables::Entry;
use crate::garden::preserving::Product;
use crate::garden::safety::{Claim, SafetyColumn, SafetyRow, Verdict, product_verdict};

/// Words in a product's or a method's name that say it is mashed or blended.
const MASHED: [&str; 6] = ["puree", "purée", "pureed", "mashed", "pesto", "butter"];

/// Columns of a built-in canned product that belong to its tested recipe.
const OF_THE_RECIPE: [&str; 7] = [
    "method",
    "recipe",
    "crops",
    "fixed_amounts",
    "container",
    "container_qt",
    "caution",
];

/// Refuses what is unsafe or has no tested source.
pub(crate) fn judge(
    entry: &Entry<'_>,
    product: &Product,
    tables: Tables<'_>,
    f: &mut Findings,
) -> Result<(), Told> {
    if tables.crops.is_empty() {
        return Err(Told);
    }
    let method = &tables.methods[product.method.0];
    let column = method.safety_column;
    let canned = column.is_some_and(SafetyColumn::is_canning);
    let was_canned = entry
        .built_in
        .as_ref()
        .and_then(|row| row.cell("method"))
        .and_then(|cell| tables.method_names.find(&cell.text))
        .is_some_and(|id| {
            tables.methods[id.0]
                .safety_column
                .is_some_and(SafetyColumn::is_canning)
        });
    if was_canned && let Some(changed) = entry.changes(&OF_THE_RECIPE) {
        let problem = entry
            .row
            .problem_at(
                changed,
                Kind::SafetyFixed,
                format!("{changed} of {} belongs to its tested recipe", product.name),
            )
            .hint("leave the cell empty, or make a product of your own under another name");
        return Err(f.tell(problem));
    }
    let mut rows: Vec<Option<SafetyRow>> = product
        .parts
        .iter()
        .map(|p| tables.crops[p.crop.0].safety_row)
        .collect();
    rows.sort_unstable();
    rows.dedup();
    let words = format!("{} {}", product.name, method.name);
    let claim = Claim {
        rows: &rows,
        column,
        names_recipe: product.recipe.is_some() && product.fixed_amounts.is_some(),
        built_in: entry.built_in.is_some() && entry.changes(&OF_THE_RECIPE).is_none(),
        mashed: words.split([' ', ',']).any(|w| MASHED.contains(&w)),
    };
    let verdict = match jar_too_big(product, canned, &rows) {
        Some(reason) => Verdict::Refused(reason),
        None => product_verdict(claim),
    };
    let Verdict::Refused(reason) = verdict else {
        if let (Verdict::NotAdvised(why), Some(_)) = (&verdict, &entry.own) {
            f.warn(format!("{} is not advised: {why}.", product.name));
        }
        return Ok(());
    };
    let other = if canned {
        "freeze it, make a refrigerator pickle or dry it instead, and ask the extension office for a tested recipe"
    } else {
        "choose another method; the current USDA guide and the extension office say which"
    };
    let problem = entry
        .row
        .problem_at(
            "method",
            Kind::Refused,
            format!("{} is refused: {reason}", product.name),
        )
        .expected("a way of preserving that is tested for these crops")
        .hint(other);
    Err(f.tell(problem))
}

/// Tested processes for vegetables are for quarts at most, and for peppers for pints (USDA Complete Guide to Home Canning, Guide 4).
fn jar_too_big(
    product: &Product,
    canned: bool,
    rows: &[Option<SafetyRow>],
) -> Option<&'static str> {
    let quarts = product.container_volume.qt();
    if canned && quarts > 1.01 {
        Some("no tested process is for jars larger than a quart")
    } else if canned && quarts > 0.51 && rows.contains(&Some(SafetyRow::Pepper)) {
        Some("the tested process for peppers is for pints and half-pints")
    } else {
        None
    }
}
