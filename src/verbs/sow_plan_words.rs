//! The words of `putby sow plan` on the kitchen, on what binds, on clearing early, and the seed list.

use crate::garden::Garden;
use crate::garden::household::Food;
use crate::garden::units::{Length, Mass, Minutes};
use crate::garden::week::Week;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::sowing::succession::Asked;
use crate::sowing::succession::binds::{Bind, Scarce};
use crate::sowing::succession::clearing::Clearing;
use crate::sowing::succession::proposal::{Load, Proposal};

/// Chance from which a week counts as overloaded.
const OVERLOADED: f64 = 0.5;
/// What clearing early must save to be worth a word beside a plan, kg.
const PAYS_KG: f64 = 1.0;
/// Chance by which a week must change to be shown.
pub(super) const CHANGED: f64 = 0.05;

/// What a food is called.
pub(super) fn called(garden: &Garden, food: Food) -> String {
    match food {
        Food::Crop(id) => garden.crop(id).name.clone(),
        Food::Group(group) => group.name().to_owned(),
    }
}

/// Says what the kitchen has to do under each plan.
pub(super) fn kitchen(found: &Proposal, asked: &Asked) -> String {
    let [without, with, careless] = &found.kitchen;
    let said = |load: &Load| {
        format!(
            "{} of too much work in a season, {} over in all",
            weeks(load.weeks_over),
            rounding::hours(Minutes::from_hours(load.hours_over))
        )
    };
    if asked.ignore_kitchen {
        return format!(
            "The kitchen was left out of account. Without the plan it has {}; with it {}.",
            said(without),
            said(with)
        );
    }
    format!(
        "The kitchen without the plan has {}; with it {}. A plan made without a thought for the kitchen ({}) would bring {}.",
        said(without),
        said(with),
        rounding::counted(found.careless, "sowing", "sowings"),
        said(careless)
    )
}

/// A mean number of weeks, in words.
fn weeks(number: f64) -> String {
    format!("{} weeks", rounding::decimals(number, 1))
}

/// Weeks that are likely too much for the kitchen under any of the plans.
pub(super) fn kitchen_weeks(found: &Proposal) -> Option<Table> {
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::figure("have", "You have"),
        Column::figure("without", "Without the plan"),
        Column::figure("with", "With it"),
        Column::figure("careless", "Kitchen ignored"),
    ])
    .titled("Weeks with more work than hours: hours needed, and how often it is too much");
    let cell = |(_, hours, _, chance): &(Week, f64, f64, f64)| {
        Cell::text(format!(
            "{}, {}",
            rounding::hours(Minutes::from_hours(*hours)),
            rounding::in_ten(*chance)
        ))
    };
    for at in &found.kitchen[0].weeks {
        let of = |k: usize| found.kitchen[k].weeks.iter().find(|w| w.0 == at.0);
        let all: Vec<_> = (0..3).filter_map(of).collect();
        let over = all.iter().any(|w| w.3 >= OVERLOADED);
        let moved = all.iter().any(|w| (w.3 - at.3).abs() >= CHANGED);
        if !over && !moved {
            continue;
        }
        table.push(vec![
            Cell::Week(at.0),
            Cell::text(rounding::hours(Minutes::from_hours(at.2))),
            cell(at),
            Cell::maybe(of(1), cell),
            Cell::maybe(of(2), cell),
        ]);
    }
    (!table.rows.is_empty()).then_some(table)
}

/// Says what a little more of something would bring.
pub(super) fn bind(garden: &Garden, bind: &Bind) -> String {
    let more = match bind.more {
        Scarce::Bed(bed, length) => format!(
            "Another {} of {}",
            length_words(garden, length),
            garden.bed(bed).name
        ),
        Scarce::Sowing => "One more sowing".to_owned(),
        Scarce::KitchenHour => "An hour more of kitchen in every week".to_owned(),
    };
    match &bind.brings {
        Some((food, kg, from)) => format!(
            "{more} would give {} more {} towards the need in the four weeks from {}.",
            rounding::mass(Mass::from_kg(*kg), garden.show.units),
            called(garden, *food),
            dates::short(from.monday())
        ),
        None => format!(
            "{more} would be worth {} of food in store.",
            rounding::mass(Mass::from_kg(bind.saves_kg), garden.show.units)
        ),
    }
}

fn length_words(garden: &Garden, length: Length) -> String {
    let (figure, unit) = Cell::Length(length).for_people(garden.show.units);
    format!("{figure} {}", unit.unwrap_or_default())
}

/// Says what clearing early would bring, where it pays or nothing else fits.
pub(super) fn clearings(garden: &Garden, found: &Proposal) -> Vec<String> {
    let nothing_fits = found.rows.is_empty();
    found
        .clearings
        .iter()
        .filter(|c| nothing_fits || c.saves_kg > PAYS_KG)
        .take(if nothing_fits { 4 } else { 2 })
        .map(|c| clearing(garden, c))
        .collect()
}

fn clearing(garden: &Garden, c: &Clearing) -> String {
    let planting = garden.planting(c.planting);
    let units = garden.show.units;
    let mut words = format!(
        "Clear {} in {} on {}: lose about {} of {}, gain about {} of {} ({} of row from {}).",
        planting.name,
        garden.bed(planting.bed).name,
        dates::short(c.day),
        rounding::mass(Mass::from_kg(c.lost_kg), units),
        garden.crop(planting.crop).name,
        rounding::mass(Mass::from_kg(c.gained_kg), units),
        garden.crop(c.crop).name,
        length_words(garden, c.row),
        dates::short(c.start)
    );
    if c.saves_kg <= 0.0 {
        words += " On the whole it does not pay.";
    }
    words
}

/// Seed by crop, from the crop table's figure for 100 ft of row.
pub(super) fn seed(garden: &Garden, found: &Proposal) -> Table {
    let mut table = Table::new(vec![
        Column::text("crop", "Seed list"),
        Column::measured("row_m", "Row in all"),
        Column::text("seed", "Seed"),
    ]);
    let mut crops: Vec<_> = found.rows.iter().map(|r| r.crop).collect();
    crops.sort_unstable();
    crops.dedup();
    for crop in crops {
        let rows = found.rows.iter().filter(|r| r.crop == crop);
        let row = Length::from_m(rows.map(|r| r.row.m()).sum());
        let seed = garden.crop(crop).yields.seed_per_100ft.as_deref();
        table.push(vec![
            Cell::text(garden.crop(crop).name.clone()),
            Cell::Length(row),
            Cell::maybe(seed, |s| Cell::text(share(s, row.ft()))),
        ]);
    }
    table
}

/// What a length of row takes of an amount for 100 ft, where the amount begins with a number.
fn share(per_100ft: &str, feet: f64) -> String {
    let (figure, unit) = per_100ft.split_once(' ').unwrap_or((per_100ft, ""));
    // The greater figure of a range, so that it is enough.
    let figure = figure.rsplit('-').next().unwrap_or(figure);
    let number = match figure.split_once('/') {
        Some((a, b)) => a
            .parse()
            .ok()
            .zip(b.parse().ok())
            .map(|(a, b): (f64, f64)| a / b),
        None => figure.parse::<f64>().ok(),
    };
    let Some(number) = number else {
        return "as much as the packet says".to_owned();
    };
    let amount = number * feet / 100.0;
    match unit {
        "oz" | "lb" => {
            let oz = if unit == "lb" { 16.0 * amount } else { amount };
            if oz >= 16.0 {
                format!("{} lb", rounding::decimals(oz / 16.0, 1))
            } else {
                format!("{} oz", rounding::decimals(oz.max(0.01), 2))
            }
        }
        _ => format!("{} {unit}", rounding::decimals(amount.ceil(), 0)),
    }
}
