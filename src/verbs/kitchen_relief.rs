//! `putby kitchen --relief`: what would help a kitchen that has too much to do, tried out and told with its price.

use super::setting::Setting;
use super::shelf;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::units::{Mass, Minutes};
use crate::garden::week::Week;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use crate::sowing::relief::{Change, Figures, Kind, Relief, Relieved, relief};
use chrono::{Duration, NaiveDate};
use serde_json::json;

/// Containers, mean over the seasons, by which a product must change to be named in the price.
const LEAST_CONTAINERS: f64 = 0.5;
/// Most products named in the price.
const MOST_NAMED: usize = 3;
/// Amount of food that is named in the price.
const LEAST_LB: f64 = 0.5;
/// Hours over the season below which no relief is looked for.
const NOTHING_OVER_H: f64 = 0.05;

/// Tries out what would help and lays out the answer.
pub(super) fn report(setting: &Setting) -> Report {
    let garden = &setting.garden;
    let found = relief(
        garden,
        setting.as_of,
        &setting.draws,
        &|garden, settings| setting.ready(garden, settings),
    );
    let mut report = Report::default();
    report.heading(format!("What would relieve the kitchen: {}", garden.name));
    report.text(summary(setting, &found));
    if !found.found.is_empty() {
        report.table(table(setting, &found));
    }
    let new = found.found.iter().filter_map(|r| match r.change {
        Change::Quicker { product, .. } | Change::FreezeWhole { product, .. } => Some(product),
        _ => None,
    });
    let cautions = shelf::cautions(garden, new);
    report.points([without_help(&found), cautions].concat());
    report.facts = facts(setting, &found);
    report
}

fn hours(hours: f64) -> String {
    rounding::hours(Minutes::from_hours(hours))
}

fn summary(setting: &Setting, found: &Relief) -> String {
    let before = &found.before;
    if before.hours_over < NOTHING_OVER_H {
        return "Next to nothing is too much for the hours you have: there is nothing to relieve."
            .to_owned();
    }
    let first = format!(
        "As things are, the weeks that are too much ask for {} more than there are, all of them together and on \
         average; in {} at least one week is too much.",
        hours(before.hours_over),
        rounding::seasons_in_ten(before.chance_any_over)
    );
    let tried = format!(
        "{} were tried, one at a time, each by living through the same {} seasons again with only that changed.",
        rounding::counted(found.tried, "thing", "things"),
        setting.draws.draws
    );
    if found.found.is_empty() {
        format!("{first} {tried} None of them helps.")
    } else {
        format!("{first} {tried} These help most:")
    }
}

fn table(setting: &Setting, found: &Relief) -> Table {
    let mut table = Table::new(vec![
        Column::text("what", "What would help"),
        Column::measured("hours_removed", "Takes away"),
        Column::measured("hours_over", "Leaves"),
        Column::figure("weeks_over", "Weeks too much"),
        Column::figure("chance_any_over", "Any too much in"),
        Column::text("price", "Its price"),
    ]);
    for r in &found.found {
        table.push(vec![
            Cell::text(capital(&what(&setting.garden, &r.change))),
            Cell::Hours(Minutes::from_hours(removed(&found.before, r))),
            Cell::Hours(Minutes::from_hours(r.after.hours_over)),
            Cell::Number(r.after.weeks_over, 1),
            Cell::Chance(r.after.chance_any_over),
            Cell::text(price(setting, &found.before, r)),
        ]);
    }
    table.note(format!(
        "Takes away, leaves: hours beyond what there is, all weeks together, mean of the seasons. Weeks too much: in a \
         season, on average; {} as things are. Any too much in: seasons in 10 with at least one such week. Prices are \
         means of the seasons too.",
        rounding::decimals(found.before.weeks_over, 1)
    ));
    table
}

fn removed(before: &Figures, r: &Relieved) -> f64 {
    before.hours_over - r.after.hours_over
}

/// Says a change in words.
fn what(garden: &Garden, change: &Change) -> String {
    let named = |planting: &PlantingId| garden.planting(*planting).name.clone();
    match change {
        Change::LeaveStanding { planting, days } => {
            let until = garden.planting(*planting).cleared;
            let until = until.map_or(String::new(), |day| {
                format!(", until {}", dates::day(day + Duration::days(*days)))
            });
            format!(
                "leave {} standing {days} days longer{until}",
                named(planting)
            )
        }
        Change::Session { date, time } => {
            let time = rounding::hours(*time);
            if garden.household.kitchen.minutes_on(*date).min_value() > 0.0 {
                format!("work {time} longer on {}", dates::day(*date))
            } else {
                format!("one more session of {time} on {}", dates::day(*date))
            }
        }
        Change::Cook { from, until } => format!("a second cook {}", days(*from, *until)),
        Change::FreezeWhole {
            product,
            instead_of,
            ..
        } => {
            let product = garden.product(*product);
            let later = product.finish_as.as_ref().map_or(String::new(), |finish| {
                format!(", to be finished as {finish} in a slack month")
            });
            let old = &garden.product(*instead_of).name;
            format!("make {} first, not {old}{later}", product.name)
        }
        Change::Quicker {
            product,
            instead_of,
            ..
        } => format!(
            "make {} instead of {}",
            garden.product(*product).name,
            garden.product(*instead_of).name
        ),
        Change::GiveAway { crops, from, until } => {
            format!(
                "give away the {} picked {}",
                crop_names(garden, crops),
                days(*from, *until)
            )
        }
        Change::FewerWanted { goal, containers } => {
            let goal = garden.household.goals.iter().flatten().nth(*goal);
            let (name, wanted) = goal.map_or(("", 0.0), |goal| {
                let first = goal.products.first();
                (
                    first.map_or("", |p| &garden.product(*p).name),
                    goal.containers,
                )
            });
            format!(
                "be content with {} {name}, not {}",
                rounding::half_containers(*containers),
                rounding::half_containers(wanted)
            )
        }
        Change::Sow { planting, days } => {
            let p = garden.planting(*planting);
            let day = dates::day(p.sown.unwrap_or_else(|| p.start()) + Duration::days(*days));
            let way = if *days > 0 { "later" } else { "earlier" };
            let verb = if p.sown.is_some() { "sow" } else { "set out" };
            let count = rounding::counted(days.unsigned_abs() as usize, "day", "days");
            format!("{verb} {} {count} {way}, on {day}", named(planting))
        }
        Change::SowLess { planting, share } => {
            let part = if *share > 0.6 {
                "three quarters"
            } else {
                "half"
            };
            format!("sow only {part} of {}", named(planting))
        }
    }
}

/// Names crops as food: of several kinds of one thing only the thing, as `beans` of bush and pole bean.
fn crop_names(garden: &Garden, crops: &[CropId]) -> String {
    let names: Vec<&str> = crops
        .iter()
        .map(|c| garden.crop(*c).name.as_str())
        .collect();
    text::list(&names)
}

/// Says a stretch of whole weeks.
fn days(from: NaiveDate, until: NaiveDate) -> String {
    if (until - from).num_days() < 7 {
        format!("in the {}", dates::week_of(Week::of(from)))
    } else {
        format!("from {} to {}", dates::day(from), dates::day(until))
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Says what a change costs: time, containers, food.
fn price(setting: &Setting, before: &Figures, r: &Relieved) -> String {
    let garden = &setting.garden;
    let mut parts = Vec::new();
    match &r.change {
        Change::Session { date, time } => parts.push(format!(
            "{} of {}",
            rounding::hours(*time),
            date.format("a %A")
        )),
        Change::Cook { from, until } => {
            let kitchen = &garden.household.kitchen;
            let away = |day: NaiveDate| garden.household.away.iter().any(|a| a.days.contains(day));
            let days = from.iter_days().take_while(|day| day <= until);
            let open = days.filter(|day| !away(*day) && kitchen.minutes_on(*day).min_value() > 0.0);
            parts.push(format!(
                "a second pair of hands on {}",
                rounding::counted(open.count(), "day", "days")
            ));
        }
        _ => {}
    }
    let swapped = matches!(
        r.change,
        Change::Quicker { .. } | Change::FreezeWhole { .. }
    );
    parts.extend(containers(garden, before, &r.after, swapped));
    for (kg, was, more) in [
        (before.fresh_kg, r.after.fresh_kg, "less eaten fresh"),
        (r.after.given_kg, before.given_kg, "more given away"),
        (r.after.lost_kg, before.lost_kg, "more lost"),
    ] {
        let change = Mass::from_kg(kg - was);
        if change.lb() >= LEAST_LB {
            let amount = rounding::mass(change, garden.show.units);
            parts.push(format!("{amount} {more}"));
        }
    }
    if parts.is_empty() {
        "nothing to speak of".to_owned()
    } else {
        parts.join("; ")
    }
}

/// Containers that are fewer, the most first; where a product takes another's place, also those that are more.
fn containers(garden: &Garden, before: &Figures, after: &Figures, swapped: bool) -> Vec<String> {
    let mut ids: Vec<_> = before.made.iter().chain(&after.made).map(|m| m.0).collect();
    ids.sort_unstable();
    ids.dedup();
    let mut changes: Vec<_> = ids
        .into_iter()
        .map(|id| (after.made_of(id) - before.made_of(id), id))
        .filter(|(change, _)| change.abs() >= LEAST_CONTAINERS)
        .collect();
    changes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let said = |change: f64, word: &str, id| {
        let number = rounding::half_containers(change.abs());
        format!("{number} {word} {}", garden.product(id).name)
    };
    let fewer = changes.iter().filter(|(change, _)| *change < 0.0);
    let mut words: Vec<String> = fewer
        .take(MOST_NAMED)
        .map(|&(change, id)| said(change, "fewer", id))
        .collect();
    if let Some(&(change, id)) = changes
        .last()
        .filter(|(change, _)| swapped && *change > 0.0)
    {
        words.push(said(change, "more", id));
    }
    words
}

/// Says which kinds of change were tried and help nothing.
fn without_help(found: &Relief) -> Vec<String> {
    let helps = |kind: &Kind| found.found.iter().any(|r| r.change.kind() == *kind);
    let idle: Vec<&str> = (found.kinds.iter().filter(|kind| !helps(kind)))
        .map(|kind| match kind {
            Kind::LeaveStanding => "clearing a bed later",
            Kind::Session => "one more session",
            Kind::Cook => "a second cook",
            Kind::FreezeWhole => "freezing whole and finishing later",
            Kind::Quicker => "another product of the same food that takes less time",
            Kind::GiveAway => "giving pickings away",
            Kind::FewerWanted => "fewer containers",
            Kind::Sow => "sowing earlier or later",
            Kind::SowLess => "sowing less",
        })
        .collect();
    let mut points = vec![
        "What holds in the bed is left standing as things are, as long as it holds.".to_owned(),
    ];
    if !idle.is_empty() {
        points.push(format!("Tried too, and no help: {}.", text::list(&idle)));
    }
    points
}

fn facts(setting: &Setting, found: &Relief) -> Facts {
    let mut facts = Facts::new(&[
        "rank",
        "kind",
        "what",
        "hours_removed",
        "hours_over",
        "weeks_over",
        "chance_any_over",
        "kg_fresh_change",
        "kg_given_change",
        "kg_lost_change",
        "price",
    ]);
    let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));
    let before = &found.before;
    for (rank, r) in found.found.iter().enumerate() {
        facts.push(vec![
            Cell::Count(i64::try_from(rank + 1).unwrap_or(i64::MAX)),
            Cell::text(r.change.kind().key()),
            Cell::text(what(&setting.garden, &r.change)),
            Cell::Hours(Minutes::from_hours(removed(before, r))),
            Cell::Hours(Minutes::from_hours(r.after.hours_over)),
            Cell::Number(r.after.weeks_over, 2),
            Cell::Chance(r.after.chance_any_over),
            kg(r.after.fresh_kg - before.fresh_kg),
            kg(r.after.given_kg - before.given_kg),
            kg(r.after.lost_kg - before.lost_kg),
            Cell::text(price(setting, before, r)),
        ]);
    }
    facts.beside("hours_over", json!(before.hours_over));
    facts.beside("weeks_over", json!(before.weeks_over));
    facts.beside("chance_any_over", json!(before.chance_any_over));
    facts.beside("tried", json!(found.tried));
    facts
}
