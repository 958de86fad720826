//! `putby sessions --since FILE`: what a plan that was kept said, and what is planned now; what was missed meanwhile.
//!
//! The kept plan is a file of the household's, nothing is remembered otherwise. A session counts as held when something of
//! its products came onto the shelf about that day.

use super::setting::Setting;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use crate::garden::units::Mass;
use crate::input::plan_file::PlanRow;
use crate::kitchen::plan::dated::DatedWork;
use crate::kitchen::processing::ProcessingDays;
use crate::kitchen::waiting;
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use chrono::NaiveDate;
use serde_json::json;

/// Days around a session on which its containers may be entered.
const ENTERED_DAYS: std::ops::RangeInclusive<i64> = -1..=3;
/// An amount that changed less than this stayed as it was, kg.
const SAME_KG: f64 = 0.12;

/// One row of what changed.
struct Changed {
    date: NaiveDate,
    was: String,
    now: String,
}

/// Adds what changed since a kept plan to the report.
pub(super) fn add(
    report: &mut Report,
    setting: &Setting,
    kept: &[PlanRow],
    found: &ProcessingDays,
) {
    let garden = &setting.garden;
    let missed: Vec<&PlanRow> = (kept.iter())
        .filter(|row| row.date < setting.as_of && !held(garden, row))
        .collect();
    let mut rows: Vec<Changed> = missed
        .iter()
        .map(|row| missed_row(setting, row, found))
        .collect();
    let (changed, same) = coming(setting, kept, found);
    rows.extend(changed);
    report.text(summary(
        setting,
        kept,
        &missed,
        rows.len() - missed.len(),
        same,
    ));
    let facts: Vec<_> = (rows.iter())
        .map(|r| json!({ "date": r.date, "was": r.was, "now": r.now }))
        .collect();
    report.facts.beside("changes", json!(facts));
    if rows.is_empty() {
        return;
    }
    let mut table = Table::new(vec![
        Column::text("date", "Day"),
        Column::text("was", "Was planned"),
        Column::text("now", "Now"),
    ])
    .titled("What changed");
    for row in rows {
        table.push(vec![
            Cell::Date(row.date),
            Cell::text(row.was),
            Cell::text(row.now),
        ]);
    }
    report.table(table);
}

/// Says whether something of a row's product came onto the shelf about its day.
fn held(garden: &Garden, row: &PlanRow) -> bool {
    garden.record.stores.iter().any(|change| {
        change.product == row.product
            && change.change > 0.0
            && ENTERED_DAYS.contains(&(change.date - row.date).num_days())
    })
}

fn mass(garden: &Garden, kg: f64) -> String {
    rounding::mass(Mass::from_kg(kg), garden.show.units)
}

fn said(garden: &Garden, product: ProductId, kg: f64) -> String {
    format!("{} {}", garden.product(product).name, mass(garden, kg))
}

/// Says where the food of a missed row is now.
fn missed_row(setting: &Setting, row: &PlanRow, found: &ProcessingDays) -> Changed {
    let garden = &setting.garden;
    let crops: Vec<CropId> = if row.crops.is_empty() {
        garden
            .product(row.product)
            .parts
            .iter()
            .map(|p| p.crop)
            .collect()
    } else {
        row.crops.iter().map(|(crop, _)| *crop).collect()
    };
    let waits = waiting::on_hand(garden, setting.as_of);
    let mut parts = Vec::new();
    for crop in crops {
        let name = &garden.crop(crop).name;
        let waiting = waits
            .iter()
            .filter(|lot| lot.crop == crop && lot.last_day >= setting.as_of);
        let waiting_kg: f64 = waiting.map(|lot| lot.kg).sum();
        if waiting_kg < SAME_KG {
            continue;
        }
        // Only what was picked before today waits; later pickings are no part of what was missed.
        let mut days: Vec<(NaiveDate, f64)> = Vec::new();
        for work in found.work.iter().flatten() {
            let takes = work.takes.iter();
            let of = takes.filter(|t| t.crop == crop && t.picked < setting.as_of);
            let kg: f64 = of.map(|t| t.kg).sum();
            if kg >= SAME_KG {
                days.push((work.date, kg));
            }
        }
        let planned: Vec<String> = (days.iter())
            .map(|(day, kg)| format!("{} on {}", mass(garden, *kg), dates::day(*day)))
            .collect();
        parts.push(if planned.is_empty() {
            format!(
                "{} of {name} wait and no session takes them in time: eat them or give them away",
                mass(garden, waiting_kg)
            )
        } else {
            format!(
                "of {} of {name} that wait, {}",
                mass(garden, waiting_kg),
                text::list(&planned)
            )
        });
    }
    let left = if parts.is_empty() {
        "none of it waits any more".to_owned()
    } else {
        parts.join("; ")
    };
    Changed {
        date: row.date,
        was: said(garden, row.product, row.kg),
        now: format!("missed: {left}"),
    }
}

/// Compares the days to come that both plans reach; returns what changed and how many days did not.
fn coming(setting: &Setting, kept: &[PlanRow], found: &ProcessingDays) -> (Vec<Changed>, usize) {
    let garden = &setting.garden;
    let ahead = |day: &NaiveDate| *day >= setting.as_of;
    let Some(last) = kept.iter().map(|row| row.date).max() else {
        return (Vec::new(), 0);
    };
    let now: Vec<&DatedWork> = found
        .work
        .iter()
        .flatten()
        .filter(|w| w.date <= last)
        .collect();
    let mut days: Vec<NaiveDate> = (kept.iter().map(|row| row.date).filter(ahead))
        .chain(now.iter().map(|w| w.date))
        .collect();
    days.sort_unstable();
    days.dedup();
    let (mut changed, mut same) = (Vec::new(), 0);
    for day in days {
        let was = merged(
            kept.iter()
                .filter(|r| r.date == day)
                .map(|r| (r.product, r.kg)),
        );
        let is = merged(
            now.iter()
                .filter(|w| w.date == day)
                .map(|w| (w.product, w.kg())),
        );
        let alike = was.len() == is.len()
            && was.iter().all(|(product, kg)| {
                let now = is.iter().find(|(p, _)| p == product);
                now.is_some_and(|(_, other)| (kg - other).abs() < SAME_KG)
            });
        if alike {
            same += 1;
            continue;
        }
        let words = |list: &[(ProductId, f64)]| {
            let each: Vec<String> = list.iter().map(|&(p, kg)| said(garden, p, kg)).collect();
            if each.is_empty() {
                "nothing".to_owned()
            } else {
                each.join(", ")
            }
        };
        changed.push(Changed {
            date: day,
            was: words(&was),
            now: words(&is),
        });
    }
    (changed, same)
}

fn merged(all: impl Iterator<Item = (ProductId, f64)>) -> Vec<(ProductId, f64)> {
    let mut sums: Vec<(ProductId, f64)> = Vec::new();
    for (product, kg) in all {
        match sums.iter_mut().find(|(p, _)| *p == product) {
            Some((_, sum)) => *sum += kg,
            None => sums.push((product, kg)),
        }
    }
    sums
}

fn summary(
    setting: &Setting,
    kept: &[PlanRow],
    missed: &[&PlanRow],
    changed: usize,
    same: usize,
) -> String {
    let mut days: Vec<NaiveDate> = missed.iter().map(|row| row.date).collect();
    days.sort_unstable();
    days.dedup();
    let past = kept.iter().any(|row| row.date < setting.as_of);
    let named: Vec<String> = days.into_iter().map(dates::day).collect();
    let first = match (named.as_slice(), past) {
        ([], true) => "Since the plan that was kept no session was missed.".to_owned(),
        ([], false) => "No day of the plan that was kept is past.".to_owned(),
        (days, _) => format!(
            "Since the plan that was kept something of {} was missed: it is not in stores.csv. That breaks nothing; what \
             waits is planned anew.",
            text::list(days)
        ),
    };
    match (changed, same) {
        (0, 0) => format!("{first} No day to come is in both plans."),
        (0, _) => format!("{first} Of the days to come that both plans reach, none changed."),
        (_, 0) => format!("{first} All days to come that both plans reach changed."),
        _ => format!(
            "{first} Of the days to come that both plans reach, {changed} changed and {same} did not."
        ),
    }
}
