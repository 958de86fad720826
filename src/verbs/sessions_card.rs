//! The page for the cook of one processing day: the day before, order of work with a clock, labels, what must not wait.
//!
//! One printed side: lists that are only read through stand as paragraphs, the order of work as a table.

use super::setting::Setting;
use super::{Failure, sessions, sessions_facts};
use crate::garden::units::Mass;
use crate::kitchen::plan::card::{Card, Waits};
use crate::kitchen::processing::ProcessingDays;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use chrono::NaiveDate;

/// Lays out the page of a day, or of the next processing day.
///
/// # Errors
/// If there is no session on the day asked for.
pub(super) fn report(
    setting: &Setting,
    found: &ProcessingDays,
    date: Option<NaiveDate>,
) -> Result<Report, Failure> {
    let card = match date {
        None => found.cards.first(),
        Some(date) => {
            let on_day = found.cards.iter().find(|card| card.date == date);
            if on_day.is_none() {
                return Err(Failure::Usage(no_session(found, date)));
            }
            on_day
        }
    };
    Ok(card.map_or_else(|| nothing(found), |card| page(setting, card)))
}

fn no_session(found: &ProcessingDays, date: NaiveDate) -> String {
    let day = dates::day(date);
    if found.cards.is_empty() {
        format!("--card: no session is planned on {day}, nor on any other day of these weeks")
    } else {
        let planned = sessions::named_days(found);
        format!("--card: no session is planned on {day}; there is one on {planned}")
    }
}

fn nothing(found: &ProcessingDays) -> Report {
    let mut report = Report::default();
    let until = dates::day(found.end.pred_opt().unwrap_or(found.end));
    report.text(format!("Until {until} no processing day is planned."));
    report.facts = Facts::new(&KEYS);
    report
}

const KEYS: [&str; 5] = ["date", "at_minutes", "what", "pause", "product"];

fn page(setting: &Setting, card: &Card) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("{}: {}", dates::day(card.date), garden.name));
    report.text(format!(
        "{} of work, {} there are; {}. Planned on {}; good until {}, or until a session is missed: then run `putby \
         sessions` again.",
        rounding::hours(card.length),
        rounding::hours(card.open),
        cooks(card.hands),
        dates::with_year(setting.as_of),
        dates::day(card.date),
    ));
    if !card.day_before.is_empty() {
        report.text(format!("The day before: {}", card.day_before.join(" ")));
    }
    report.table(steps(card));
    report.table(labels(card));
    if !card.must_not_wait.is_empty() {
        report.text(format!("Must not wait: {}.", waits(setting, card)));
    }
    if !card.follow_ups.is_empty() {
        let later: Vec<String> = card.follow_ups.iter().map(|f| f.what.clone()).collect();
        report.text(format!("Afterwards: {}.", later.join("; ")));
    }
    let mut cautions = card.cautions.clone();
    if !cautions.is_empty() && !cautions.iter().any(|c| c.contains("USDA")) {
        cautions.push(
            "For safe preserving follow the current USDA guide, the NCHFP and your extension office.".to_owned(),
        );
    }
    report.points(cautions);
    report.facts = facts(setting, card);
    report
}

fn cooks(hands: f64) -> String {
    if (hands - 1.0).abs() < 1e-9 {
        "one cook".to_owned()
    } else {
        format!(
            "{} cooks",
            rounding::decimals(hands, u8::from(hands.fract() > 0.0).into())
        )
    }
}

fn steps(card: &Card) -> Table {
    let mut table = Table::new(vec![
        Column::figure("at", "At"),
        Column::text("what", "Do"),
        Column::text("pause", "Then"),
    ]);
    for step in &card.steps {
        table.push(vec![
            Cell::text(step.clock.clone()),
            Cell::text(step.what.clone()),
            Cell::text(step.pause),
        ]);
    }
    table.note("At: hours and minutes from the beginning; planning time, never the time a recipe asks for.");
    table
}

fn labels(card: &Card) -> Table {
    let mut table = Table::new(vec![
        Column::figure("containers", "Fill"),
        Column::text("container", "Of"),
        Column::text("product", "Write on the label"),
        Column::text("made_on", "Made on"),
        Column::text("use_by", "Use by"),
        Column::text("portion", "One is"),
    ]);
    for label in &card.labels {
        table.push(vec![
            Cell::text(sessions_facts::halves(label.containers)),
            Cell::text(label.container.clone()),
            Cell::text(label.name.clone()),
            Cell::text(dates::with_year(label.made_on)),
            Cell::text(dates::with_year(label.use_by)),
            Cell::maybe(label.portion.clone(), Cell::Text),
        ]);
    }
    table
}

/// Says what must not wait, one entry for each crop and last day.
fn waits(setting: &Setting, card: &Card) -> String {
    let mut merged: Vec<Waits> = Vec::new();
    for wait in &card.must_not_wait {
        let same = |m: &&mut Waits| m.crop == wait.crop && m.last_day == wait.last_day;
        match merged.iter_mut().find(same) {
            Some(entry) => entry.kg += wait.kg,
            None => merged.push(*wait),
        }
    }
    let entries: Vec<String> = (merged.iter())
        .map(|w| {
            format!(
                "{} {} beyond {}",
                rounding::mass(Mass::from_kg(w.kg), setting.garden.show.units),
                setting.garden.crop(w.crop).name,
                dates::day(w.last_day)
            )
        })
        .collect();
    entries.join(", ")
}

fn facts(setting: &Setting, card: &Card) -> Facts {
    let mut facts = Facts::new(&KEYS);
    for step in &card.steps {
        facts.push(vec![
            Cell::Date(card.date),
            Cell::Number(step.step.at_min, 0),
            Cell::text(step.what.clone()),
            Cell::text(step.pause),
            Cell::maybe(step.step.product, |id| {
                Cell::text(setting.garden.product(id).name.clone())
            }),
        ]);
    }
    facts
}
