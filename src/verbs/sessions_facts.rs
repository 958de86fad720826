//! The facts of `putby sessions` for machines: one row for each product of each day, quality and proof beside them.

use super::setting::Setting;
use crate::garden::UnitSystem;
use crate::garden::preserving::ProductId;
use crate::garden::units::{Mass, Minutes};
use crate::kitchen::plan::card::Card;
use crate::kitchen::plan::dated::DatedWork;
use crate::kitchen::processing::ProcessingDays;
use crate::kitchen::unavoidable::DatedStretch;
use crate::output::report::Facts;
use crate::output::rounding;
use crate::output::table::Cell;
use chrono::{NaiveDate, TimeDelta};
use serde_json::{Value, json};

/// Price gap, in minutes, up to which a plan counts as the best.
pub(super) const BEST_MIN: f64 = 0.5;

/// One product of one day.
pub(super) struct Row {
    /// Day.
    pub(super) date: NaiveDate,
    /// Length of the whole session.
    pub(super) length: Minutes,
    /// Time there is that day.
    pub(super) open: Minutes,
    /// Share of seasons in which the session is too long.
    pub(super) chance_over: f64,
    /// Place in the order of work, from 1.
    pub(super) order: usize,
    /// Product.
    pub(super) product: String,
    /// Crops with their amounts, kg.
    pub(super) crops: Vec<(String, f64)>,
    /// Amount, kg.
    pub(super) kg: f64,
    /// Containers begun.
    pub(super) containers: f64,
    /// Last day on which all of it is at its best.
    pub(super) best_by: NaiveDate,
    /// Last day on which all of it is fit.
    pub(super) last_day: NaiveDate,
}

/// Returns a row for each product of each day, in the order of work.
pub(super) fn rows(setting: &Setting, found: &ProcessingDays) -> Vec<Row> {
    let mut rows = Vec::new();
    for ((card, work), tested) in found.cards.iter().zip(&found.work).zip(&found.tested) {
        for (place, product) in in_order(card).into_iter().enumerate() {
            let Some(entry) = work.iter().find(|w| w.product == product) else {
                continue;
            };
            let label = card.labels.iter().find(|l| l.product == product);
            rows.push(Row {
                date: card.date,
                length: card.length,
                open: card.open,
                chance_over: tested.chance_over,
                order: place + 1,
                product: setting.garden.product(product).name.clone(),
                crops: (entry.by_crop().into_iter())
                    .map(|(crop, kg)| (setting.garden.crop(crop).name.clone(), kg))
                    .collect(),
                kg: entry.kg(),
                containers: label.map_or(0.0, |l| l.containers),
                best_by: earliest(entry, |take| {
                    let best = setting.garden.crop(take.crop).kitchen.best_days;
                    take.picked + TimeDelta::days(best.max(0.0).floor() as i64)
                }),
                last_day: earliest(entry, |take| take.last_day),
            });
        }
    }
    rows
}

fn earliest(
    work: &DatedWork,
    day: impl Fn(&crate::kitchen::plan::dated::DatedTake) -> NaiveDate,
) -> NaiveDate {
    work.takes.iter().map(day).min().unwrap_or(work.date)
}

/// Names crops with their amounts: "bush bean 2½ lb, carrot ½ lb".
pub(super) fn amounts(crops: &[(String, f64)], units: UnitSystem) -> String {
    let each: Vec<String> = (crops.iter())
        .map(|(name, kg)| format!("{name} {}", rounding::mass(Mass::from_kg(*kg), units)))
        .collect();
    each.join(", ")
}

/// Names what a work is made of, with amounts.
pub(super) fn from(setting: &Setting, work: &DatedWork) -> String {
    let crops: Vec<(String, f64)> = (work.by_crop().into_iter())
        .map(|(crop, kg)| (setting.garden.crop(crop).name.clone(), kg))
        .collect();
    amounts(&crops, setting.garden.show.units)
}

/// Returns the products of a card in the order in which they are begun.
pub(super) fn in_order(card: &Card) -> Vec<ProductId> {
    let mut products: Vec<ProductId> = Vec::new();
    for product in card.steps.iter().filter_map(|s| s.step.product) {
        if !products.contains(&product) {
            products.push(product);
        }
    }
    products
}

/// Writes containers to the half: "3½".
pub(super) fn halves(containers: f64) -> String {
    let whole = containers.floor();
    match (whole, containers - whole >= 0.25) {
        (0.0, true) => "½".to_owned(),
        (_, true) => format!("{whole:.0}½"),
        (_, false) => format!("{whole:.0}"),
    }
}

/// Returns the rows, with status, bound and proof beside them.
pub(super) fn facts(setting: &Setting, found: &ProcessingDays) -> Facts {
    let mut facts = Facts::new(&[
        "date",
        "minutes",
        "capacity_minutes",
        "order",
        "product",
        "crops",
        "kg",
        "containers",
        "best_by",
        "last_day",
        "chance_over",
    ]);
    for row in rows(setting, found) {
        // Of several crops the amounts stand beside the names, so that the plan can be read again.
        let crops: Vec<String> = match row.crops.as_slice() {
            [(name, _)] => vec![name.clone()],
            several => several
                .iter()
                .map(|(name, kg)| format!("{name} {kg:.3}"))
                .collect(),
        };
        facts.push(vec![
            Cell::Date(row.date),
            Cell::Minutes(row.length),
            Cell::Minutes(row.open),
            Cell::Count(row.order as i64),
            Cell::text(row.product),
            Cell::text(crops.join("; ")),
            Cell::Mass(Mass::from_kg(row.kg)),
            Cell::Containers(row.containers),
            Cell::Date(row.best_by),
            Cell::Date(row.last_day),
            Cell::Chance(row.chance_over),
        ]);
    }
    let planned = &found.planned;
    facts.beside("status", json!(status(found)));
    facts.beside("price", json!(planned.price));
    facts.beside("bound", json!(planned.bound));
    facts.beside("stretches", json!(planned.stretches));
    facts.beside("stretches_proven", json!(planned.proven));
    facts.beside("late_kg", json!(found.late_kg));
    facts.beside("unavoidable_hours", json!(found.undoable_hours));
    facts.beside(
        "proof",
        found.proof.iter().map(|s| stretch(setting, s)).collect(),
    );
    facts
}

/// Returns how good the plan is: `infeasible` if there is work and no day to do any of it on.
fn status(found: &ProcessingDays) -> &'static str {
    let planned = &found.planned;
    if !found.any_hours && found.undoable_hours > 0.0 {
        return "infeasible";
    }
    match planned.bound {
        Some(bound) if planned.price - bound <= BEST_MIN => "optimal",
        _ => "gap",
    }
}

fn stretch(setting: &Setting, s: &DatedStretch) -> Value {
    let named = s.due.crops.iter().flatten();
    let crops: Vec<&str> = named
        .map(|c| setting.garden.crop(*c).name.as_str())
        .collect();
    json!({
        "crops": crops,
        "first": s.first,
        "last": s.last,
        "due_hours": s.due_hours,
        "have_hours": s.have_hours,
    })
}
