//! The breaches of a plan edited by hand, each put where it stands in the file, with a remedy.
//!
//! What is a breach is the checker's to say; here it gets its place and its words.

use super::setting::Setting;
use crate::garden::Garden;
use crate::garden::preserving::{Appliance, Product};
use crate::garden::safety::SafetyColumn;
use crate::garden::units::{Mass, Minutes};
use crate::input::plan_file::{PlanColumn, PlanRow};
use crate::input::problem::Problem;
use crate::kitchen::checker::by_hand::Short;
use crate::kitchen::checker::card::minutes_stand_in;
use crate::kitchen::checker::garden::{GardenFault, check};
use crate::kitchen::plan::dated::DatedWork;
use crate::output::{dates, rounding, text};
use chrono::NaiveDate;

/// Open days named as a remedy, and how far ahead they are looked for.
const OPEN_DAYS: usize = 3;
const AHEAD_DAYS: usize = 28;

/// Everything wrong with a plan, in the order of the file.
pub(super) fn breaches(
    setting: &Setting,
    rows: &[PlanRow],
    works: &[DatedWork],
    short: &[Short],
) -> Vec<Problem> {
    let garden = &setting.garden;
    let mut found: Vec<Problem> = Vec::new();
    for row in rows {
        found.extend(by_itself(setting, row));
    }
    for s in short {
        let strange = s.crop.is_some_and(|crop| {
            let parts = &garden.product(rows[s.row].product).parts;
            parts.iter().all(|part| part.crop != crop)
        });
        let row = &rows[s.row];
        if !strange && row.date >= setting.as_of && is_open(garden, row.date) {
            found.push(too_little_food(garden, &rows[s.row], s));
        }
    }
    let whole: Vec<DatedWork> = works
        .iter()
        .filter(|w| !w.takes.is_empty())
        .cloned()
        .collect();
    for fault in check(garden, &whole, setting.as_of) {
        found.extend(of_fault(setting, rows, &fault));
    }
    found.sort_by_key(|p| p.line);
    found.dedup();
    found
}

/// What is wrong with a row whatever the others say: a day that is past, a crop that is not in it, minutes at the canner.
fn by_itself(setting: &Setting, row: &PlanRow) -> Vec<Problem> {
    let garden = &setting.garden;
    let product = garden.product(row.product);
    let mut found = Vec::new();
    if row.date < setting.as_of {
        let message = format!("{} is past", dates::day(row.date));
        found.push(
            row.breach(PlanColumn::Date, message)
                .expected(format!("a day from {} on", dates::day(setting.as_of)))
                .hint("run `putby sessions --since` with this file to see what changed"),
        );
    }
    if row.date >= setting.as_of && !is_open(garden, row.date) {
        found.push(too_long(setting, row, 0.0, 0.0));
    }
    for (crop, _) in &row.crops {
        if product.parts.iter().all(|part| part.crop != *crop) {
            found.push(wrong_crop(garden, row, &garden.crop(*crop).name));
        }
    }
    let at_the_canner = garden.method(product.method).appliance == Appliance::Canner;
    if at_the_canner && row.note.as_deref().is_some_and(minutes_stand_in) {
        found.push(
            row.breach(
                PlanColumn::Note,
                "a number of minutes stands at a canner step",
            )
            .expected(
                "no minutes: they come from the tested recipe, for your jar size and your altitude",
            )
            .hint("take the number out and have the recipe beside you"),
        );
    }
    found
}

fn wrong_crop(garden: &Garden, row: &PlanRow, crop: &str) -> Problem {
    let product = garden.product(row.product);
    let message = if is_canned(garden, product) {
        format!(
            "{} is canned by its tested recipe and {crop} is not in it: a mixture of one's own is never canned",
            product.name
        )
    } else {
        format!("{} does not take {crop}", product.name)
    };
    let takes: Vec<&str> = (product.parts.iter())
        .map(|part| garden.crop(part.crop).name.as_str())
        .collect();
    row.breach(PlanColumn::Crops, message)
        .expected(text::either(&takes))
        .hint(format!("take {crop} out of this row; freeze it, or eat it"))
}

fn is_canned(garden: &Garden, product: &Product) -> bool {
    let column = garden.method(product.method).safety_column;
    column.is_some_and(SafetyColumn::is_canning)
}

fn too_little_food(garden: &Garden, row: &PlanRow, s: &Short) -> Problem {
    let units = garden.show.units;
    let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), units);
    let day = dates::day(row.date);
    let product = garden.product(row.product);
    let message = match s.crop {
        Some(crop) => format!(
            "{} of {} are planned and {} will be fit and not yet used on {day}",
            mass(s.wanted_kg),
            garden.crop(crop).name,
            mass(s.there_kg)
        ),
        None => format!("nothing for {} will be fit on {day}", product.name),
    };
    let hint = if is_canned(garden, product) {
        "make less, or move it to another day; what is picked after a killing frost is not canned"
    } else {
        "make less, or move it to a day nearer to the picking"
    };
    row.breach(PlanColumn::Kg, message)
        .expected(format!("at most {:.2} kg here", s.there_kg.max(0.0)))
        .hint(hint)
}

/// A fault of the checker, put where it stands in the file.
fn of_fault(setting: &Setting, rows: &[PlanRow], fault: &GardenFault) -> Vec<Problem> {
    let garden = &setting.garden;
    let called = |row: &&PlanRow, name: &str| garden.product(row.product).name == *name;
    let named = |name: &str| {
        rows.iter()
            .filter(|row| called(row, name))
            .collect::<Vec<_>>()
    };
    let on = |day: NaiveDate| {
        rows.iter()
            .filter(|row| row.date == day)
            .collect::<Vec<_>>()
    };
    let both = |name: &str, day: NaiveDate| -> Vec<&PlanRow> {
        let of = rows
            .iter()
            .filter(|row| row.date == day && called(row, name));
        of.collect()
    };
    let each = |rows: Vec<&PlanRow>, make: &dyn Fn(&PlanRow) -> Problem| -> Vec<Problem> {
        rows.into_iter().map(make).collect()
    };
    match fault {
        GardenFault::Refused(name, why) => each(named(name), &|row| {
            row.breach(
                PlanColumn::Product,
                format!("{name} is not to be made: {why}"),
            )
            .hint("take the row out")
        }),
        GardenFault::NoAltitude(name) => each(named(name), &|row| {
            row.breach(
                PlanColumn::Product,
                format!("{name} is canned, and the altitude is not known"),
            )
            .hint("give altitude_ft under [site] in garden.toml")
        }),
        GardenFault::NotForCanning(name, crop) => each(named(name), &|row| {
            row.breach(
                PlanColumn::Crops,
                format!("this {crop} comes after a killing frost and must not be canned"),
            )
            .hint("freeze it, or eat it")
        }),
        GardenFault::WrongCrop(name, crop) => {
            each(named(name), &|row| wrong_crop(garden, row, crop))
        }
        GardenFault::Share(name, crop, day) => {
            each(both(name, *day), &|row| share(garden, row, crop))
        }
        GardenFault::TooLittle(name, day) => each(both(name, *day), &|row| {
            let least = garden.product(row.product).least_lot;
            row.breach(
                PlanColumn::Kg,
                format!("this is too little to set up for {name}"),
            )
            .expected(format!("at least {:.2} kg", least.kg()))
            .hint("make more of it in one session, or leave it out")
        }),
        GardenFault::TooLong(day, need, open) => {
            each(on(*day).into_iter().take(1).collect(), &|row| {
                too_long(setting, row, *need, *open)
            })
        }
        GardenFault::Limit(what, day, need, there) => {
            each(on(*day).into_iter().take(1).collect(), &|row| {
                row.breach(
                    PlanColumn::Kg,
                    format!(
                        "{what}: {need:.1} are asked for on {} and {there:.1} are there",
                        dates::day(*day)
                    ),
                )
                .expected(format!("no more than {there:.1} in all"))
                .hint("make less that day, or move some of it")
            })
        }
        GardenFault::OverGoal(name, planned, wanted) => {
            let last = named(name).pop();
            each(last.into_iter().collect(), &|row| {
                row.breach(
                    PlanColumn::Kg,
                    format!(
                        "{planned:.1} {name} are planned in all and {wanted:.1} are still wanted"
                    ),
                )
                .expected(format!("no more than {wanted:.1} containers in all"))
                .hint("make less, or raise the goal in goals.csv")
            })
        }
        GardenFault::NotFit(crop, day) => each(on(*day), &|row| {
            row.breach(
                PlanColumn::Date,
                format!("{crop} is not picked yet or past its last day"),
            )
            .hint("move it nearer to the picking")
        }),
        // A row without food is told as such.
        GardenFault::Nonsense(..) => Vec::new(),
    }
}

fn share(garden: &Garden, row: &PlanRow, crop: &str) -> Problem {
    let product = garden.product(row.product);
    let part = product
        .parts
        .iter()
        .find(|p| garden.crop(p.crop).name == *crop);
    let bounds = part.map_or(String::new(), |p| {
        format!(
            "from {} to {} of its weight",
            rounding::decimals(p.least, 2),
            rounding::decimals(p.greatest, 2)
        )
    });
    row.breach(
        PlanColumn::Crops,
        format!(
            "the share of {crop} in {} is out of its bounds",
            product.name
        ),
    )
    .expected(bounds)
    .hint("change the kilograms beside the crops")
}

/// Says whether the kitchen is open on a day and somebody is at home.
fn is_open(garden: &Garden, day: NaiveDate) -> bool {
    let household = &garden.household;
    household.kitchen.minutes_on(day).min_value() > 0.0
        && household.away.iter().all(|a| !a.days.contains(day))
}

fn too_long(setting: &Setting, row: &PlanRow, need: f64, open: f64) -> Problem {
    let garden = &setting.garden;
    let days = setting.as_of.max(row.date).iter_days().take(AHEAD_DAYS);
    let next: Vec<String> = days
        .filter(|day| *day != row.date && is_open(garden, *day))
        .take(OPEN_DAYS)
        .map(dates::day)
        .collect();
    let day = dates::day(row.date);
    let need = rounding::hours(Minutes::from_min(need));
    let message = if open > 0.0 {
        let open = rounding::hours(Minutes::from_min(open));
        format!("the work of {day} takes {need} and the kitchen is open {open}")
    } else {
        format!("the kitchen is not open on {day}")
    };
    let problem = row
        .breach(PlanColumn::Date, message)
        .expected(format!("at most {open:.0} minutes of work that day"));
    if next.is_empty() {
        problem.hint("give the day hours under [kitchen] extra in garden.toml")
    } else {
        problem.hint(format!(
            "move some of it; the kitchen is open on {}",
            text::list(&next)
        ))
    }
}
