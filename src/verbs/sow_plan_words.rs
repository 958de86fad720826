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
use chrono::Datelike;

/// Chance from which a week counts as overloaded.
const OVERLOADED: f64 = 0.5;
/// What clearing early must save to be worth a word beside a plan, kg.
const PAYS_KG: f64 = 1.0;
/// Weeks of the kitchen shown at most.
const WEEKS_SHOWN: usize = 6;
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
            "{} of too much work in a season ({} over)",
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
    if without.weeks_over < 0.05 && with.weeks_over < 0.05 {
        return "The kitchen has hours enough for all of it, with the plan and without.".to_owned();
    }
    format!(
        "The kitchen without the plan has {}; with it {}. A plan made without a thought for the kitchen ({}) would bring {}.{}",
        said(without),
        said(with),
        rounding::counted(found.careless, "sowing", "sowings"),
        said(careless),
        full_weeks(with)
    )
}

/// A mean number of weeks, in words.
fn weeks(number: f64) -> String {
    format!("{} weeks", rounding::decimals(number, 1))
}

/// Weeks in which the plan, or one made without a thought for the kitchen, changes how often the work is too much.
pub(super) fn kitchen_weeks(found: &Proposal) -> Option<Table> {
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::figure("have", "You have"),
        Column::figure("without", "Without the plan"),
        Column::figure("with", "With it"),
        Column::figure("careless", "Kitchen ignored"),
    ])
    .titled("Weeks of the kitchen that change: hours needed, and how often it is too much");
    let cell = |(_, hours, _, chance): &(Week, f64, f64, f64)| {
        Cell::text(format!(
            "{}, {}",
            rounding::hours(Minutes::from_hours(*hours)),
            rounding::in_ten(*chance)
        ))
    };
    let of = |k: usize, week: Week| found.kitchen[k].weeks.iter().find(|w| w.0 == week);
    let moved = |at: &(Week, f64, f64, f64)| {
        let others = [1, 2].into_iter().filter_map(|k| of(k, at.0));
        others.map(|w| (w.3 - at.3).abs()).fold(0.0, f64::max)
    };
    let mut weeks: Vec<_> = found.kitchen[0].weeks.iter().collect();
    weeks.retain(|at| moved(at) >= CHANGED);
    weeks.sort_by(|a, b| moved(b).total_cmp(&moved(a)));
    weeks.truncate(WEEKS_SHOWN);
    weeks.sort_by_key(|at| at.0);
    for at in weeks {
        table.push(vec![
            Cell::Week(at.0),
            Cell::text(rounding::hours(Minutes::from_hours(at.2))),
            cell(at),
            Cell::maybe(of(1, at.0), cell),
            Cell::maybe(of(2, at.0), cell),
        ]);
    }
    (!table.rows.is_empty()).then_some(table)
}

/// Weeks that have too much work more often than not, with the plan; empty if none.
fn full_weeks(load: &Load) -> String {
    let full = load.weeks.iter().filter(|w| w.3 >= OVERLOADED);
    let weeks: Vec<Week> = full.map(|w| w.0).collect();
    if weeks.is_empty() {
        return String::new();
    }
    format!(
        " Too much more often than not: {} of {}.",
        if weeks.len() == 1 {
            "the week"
        } else {
            "the weeks"
        },
        listed(&weeks)
    )
}

/// Weeks by their Mondays: "10 and 24 Aug, 7 Sep".
fn listed(weeks: &[Week]) -> String {
    let month = |week: &Week| (week.monday().year(), week.monday().month());
    let months: Vec<String> = weeks
        .chunk_by(|a, b| month(a) == month(b))
        .map(|weeks| {
            let (last, rest) = weeks.split_last().expect("a chunk is not empty");
            let days: Vec<String> = rest.iter().map(|w| w.monday().day().to_string()).collect();
            let last = dates::short(last.monday());
            if days.is_empty() {
                last
            } else {
                format!("{} and {last}", days.join(", "))
            }
        })
        .collect();
    months.join(", ")
}

/// Says what the plan is worth, and how much better a plan could be at most.
pub(super) fn worth(garden: &Garden, found: &Proposal) -> String {
    let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), garden.show.units);
    let worth = found.worth;
    let words = format!(
        "All told the plan is worth {} of fresh food: what it brings to the table and into store, less the work and the ground it takes.",
        mass(worth.saves_kg())
    );
    match (worth.least, worth.gap()) {
        (Some(least), Some(gap)) if gap >= 0.005 => format!(
            "{words} So reckoned, {} of what you want is still missed with it; no plan with these beds, days and hours comes below {}, so that at most {} % is left to gain.",
            mass(worth.cost[1]),
            mass(least),
            rounding::decimals((100.0 * gap).ceil(), 0)
        ),
        (Some(_), _) => format!("{words} No plan with these beds, days and hours is worth more."),
        _ => format!(
            "{words} How much better a plan could be at most was not worked out: the garden is too large for that."
        ),
    }
}

/// Says what a little more of something would bring.
pub(super) fn bind(garden: &Garden, bind: &Bind) -> String {
    let more = match &bind.more {
        Scarce::Bed(bed, length) => format!(
            "Another {} of {}",
            length_words(garden, *length),
            garden.bed(*bed).name
        ),
        Scarce::Sowing => "One more sowing".to_owned(),
        Scarce::KitchenHours(weeks, hours) => {
            let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), garden.show.units);
            let brings = bind.brings.as_ref();
            return format!(
                "The kitchen binds in {} of {}: {} more in all then would let you grow {}. An hour there is worth {} of fresh food.",
                if weeks.len() == 1 {
                    "the week"
                } else {
                    "the weeks"
                },
                listed(weeks),
                rounding::hours(Minutes::from_hours(*hours)),
                brings.map_or_else(
                    || format!("{} more for the store", mass(bind.saves_kg)),
                    |(food, kg, from)| brought(garden, *food, *kg, *from),
                ),
                mass(bind.saves_kg / hours.max(0.05)),
            );
        }
    };
    match &bind.brings {
        Some((food, kg, from)) => {
            format!("{more} would give {}.", brought(garden, *food, *kg, *from))
        }
        None => format!(
            "{more} would be worth {} of food in store.",
            rounding::mass(Mass::from_kg(bind.saves_kg), garden.show.units)
        ),
    }
}

/// What a change brings of a food in four weeks.
fn brought(garden: &Garden, food: Food, kg: f64, from: Week) -> String {
    format!(
        "{} more {} for the table in the four weeks from {}",
        rounding::mass(Mass::from_kg(kg), garden.show.units),
        called(garden, food),
        dates::short(from.monday())
    )
}

fn length_words(garden: &Garden, length: Length) -> String {
    let (figure, unit) = Cell::Length(length).for_people(garden.show.units);
    format!("{figure} {}", unit.unwrap_or_default())
}

/// Says what the plan clears early, and what else could be where nothing fits or nothing may go.
pub(super) fn clearings(garden: &Garden, found: &Proposal, asked: &Asked) -> Vec<String> {
    let mut words: Vec<String> = found.cleared.iter().map(|c| clearing(garden, c)).collect();
    let others = found.clearings.iter().filter(|c| c.saves_kg > PAYS_KG);
    if found.rows.is_empty() {
        words.extend(found.clearings.iter().map(|c| could(garden, c)));
    } else if asked.keep {
        words.extend(others.take(2).map(|c| could(garden, c)));
    }
    words
}

fn could(garden: &Garden, c: &Clearing) -> String {
    let pays = if c.saves_kg > 0.0 {
        "it would pay"
    } else {
        "on the whole it does not pay"
    };
    format!("Not in the plan, {pays}: {}", clearing(garden, c))
}

/// Says what clearing a planting loses and gains.
fn clearing(garden: &Garden, c: &Clearing) -> String {
    let planting = garden.planting(c.planting);
    let units = garden.show.units;
    let mass = |kg: f64| {
        let mass = rounding::mass(Mass::from_kg(kg), units);
        if mass.starts_with("under") {
            mass
        } else {
            format!("about {mass}")
        }
    };
    let gained: Vec<String> = c
        .follows
        .iter()
        .map(|f| {
            format!(
                "{} of {} ({} of row from {})",
                mass(f.kg),
                garden.crop(f.crop).name,
                length_words(garden, f.row),
                dates::short(f.start)
            )
        })
        .collect();
    let was = planting
        .cleared
        .map_or_else(String::new, |was| format!(", not on {}", dates::short(was)));
    format!(
        "Clear {} in {} on {}{was}: lose {} of {}, gain {}.",
        planting.name,
        garden.bed(planting.bed).name,
        dates::short(c.day),
        mass(c.lost_kg),
        garden.crop(planting.crop).name,
        gained.join(" and ")
    )
}

/// Says which sowings are to be made on the day, because no day near it is safe, and why.
pub(super) fn steep(garden: &Garden, found: &Proposal) -> Vec<String> {
    found
        .rows
        .iter()
        .filter_map(|r| {
            let loses = r.steep()?;
            let later = r.moved[1].is_some_and(|share| share <= 1.0 - loses + 1e-9);
            let (way, why) = if later {
                ("later", "the days get short and cold before it is done")
            } else {
                ("earlier", "heat or cold stands in its way then")
            };
            Some(format!(
                "Sow {} for {} on the day: three days {way} give {} % less, and no sowing day near it is safer, for {why}.",
                garden.crop(r.crop).name,
                garden.bed(r.bed).name,
                rounding::decimals((100.0 * loses).max(1.0), 0)
            ))
        })
        .collect()
}

/// Seed by crop, from the crop table's figure for 100 ft of row.
pub(super) fn seed(garden: &Garden, found: &Proposal) -> String {
    let mut crops: Vec<_> = found.rows.iter().map(|r| r.crop).collect();
    crops.sort_unstable();
    crops.dedup();
    let all: Vec<String> = crops
        .into_iter()
        .map(|crop| {
            let rows = found.rows.iter().filter(|r| r.crop == crop);
            let row = Length::from_m(rows.map(|r| r.row.m()).sum());
            let seed = garden.crop(crop).yields.seed_per_100ft.as_deref();
            let seed = seed.map_or_else(
                || "seed as the packet says".to_owned(),
                |s| share(s, row.ft()),
            );
            format!(
                "{} {seed} for {}",
                garden.crop(crop).name,
                length_words(garden, row)
            )
        })
        .collect();
    format!("Seed list: {}.", all.join("; "))
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
