//! Rows of `events.csv` as events: frost, a planting ended, a sowing up, minutes a session took.

use super::cells::Span;
use super::dates::{self, Reading, reading_of};
use super::number;
use super::problem::{Findings, Kind, Told};
use super::record::Context;
use super::rows::{Cell, Row, Sheet, Spec};
use super::slips;
use super::text::Source;
use super::units::convert;
use crate::garden::UnitSystem;
use crate::garden::planting::PlantingId;
use crate::garden::record::{Event, Happening};
use crate::garden::units::Minutes;
use chrono::NaiveDate;

/// Columns of `events.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &["date", "what", "planting", "value", "note"],
    required: &["date", "what"],
    example: "date,what,planting,value",
    paste_from: 3,
};

const FROST_C: Span = Span::between(
    "the night's minimum, at most 2 °C (36 °F), such as -1.5 or 29 F",
    -70.0,
    2.3,
);
const TOOK: Span = Span::above_zero("minutes, such as 95, or 1.5 h", 1440.0);

#[derive(Debug, Clone, Copy)]
enum What {
    Frost,
    Ended,
    Up,
    Took,
}
const WHAT: [(&str, What); 4] = [
    ("frost", What::Frost),
    ("ended", What::Ended),
    ("up", What::Up),
    ("took", What::Took),
];

/// Makes the events.
pub(crate) fn read(
    source: &Source,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<Vec<Event>, Told> {
    let sheet = Sheet::read(source, SPEC, f).ok_or(Told)?;
    let reading = reading_of(&sheet, &["date"], context.show.dates, f);
    let all: Vec<_> = sheet
        .rows()
        .map(|row| event(&row, context, reading, f))
        .collect();
    all.into_iter().collect()
}

fn event(
    row: &Row<'_>,
    context: Context<'_>,
    reading: Reading,
    f: &mut Findings,
) -> Result<Event, Told> {
    let date = row
        .need(f, "date", dates::EXPECTED)
        .cloned()
        .and_then(|c| c.date(f, reading));
    let what = row
        .need(f, "what", "frost, ended, up or took")
        .cloned()
        .and_then(|c| c.word(f, &WHAT));
    let (date, what) = match (date, what) {
        (Ok(date), Ok(what)) => (date, what),
        _ => return Err(Told),
    };
    let what = match what {
        What::Frost => Happening::Frost(
            row.cell("value")
                .map(|c| frost(c, context.show.units, f))
                .transpose()?,
        ),
        What::Ended => Happening::Ended(planting(row, date, context, f)?),
        What::Up => Happening::Up(planting(row, date, context, f)?),
        What::Took => Happening::Took(Minutes::from_min(with_unit(
            row.need(f, "value", TOOK.what)?,
            "min",
            &TOOK,
            f,
        )?)),
    };
    Ok(Event { date, what })
}

fn planting(
    row: &Row<'_>,
    date: NaiveDate,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<PlantingId, Told> {
    let cell = row.need(f, "planting", "the name of a planting")?.clone();
    let id = context.planting(&cell, f)?;
    let planting = &context.plantings.ok_or(Told)?.plantings[id.0];
    let start = planting.sown.unwrap_or_else(|| planting.start());
    if date < start {
        let problem = cell.problem(
            Kind::WrongOrder,
            format!(
                "it happened on {date}, before {} was in the ground on {start}",
                planting.name
            ),
        );
        return Err(f.tell(
            problem
                .expected("a day after sowing")
                .hint("check the years"),
        ));
    }
    Ok(id)
}

/// Reads the night's minimum: with its unit, or in the household's own degrees.
fn frost(cell: &Cell<'_>, units: UnitSystem, f: &mut Findings) -> Result<f64, Told> {
    let bare = number::parse(&cell.text);
    let celsius = match (bare, units) {
        (Some(v), UnitSystem::Us) => Some((v - 32.0) / 1.8),
        (Some(v), UnitSystem::Metric) => Some(v),
        (None, _) => typed(&cell.text, "°C"),
    };
    celsius
        .ok_or_else(|| slips::explain(&cell.text, "value"))
        .and_then(|v| FROST_C.check(v))
        .map_err(|fault| f.tell(cell.fault(fault, FROST_C.what)))
}

fn with_unit(cell: &Cell<'_>, unit: &str, span: &Span, f: &mut Findings) -> Result<f64, Told> {
    match typed(&cell.text, unit) {
        Some(value) => span
            .check(value)
            .map_err(|fault| f.tell(cell.fault(fault, span.what))),
        None => cell.number(f, span),
    }
}

/// Reads a number with a unit typed behind it, in another unit.
fn typed(text: &str, to: &str) -> Option<f64> {
    let at = text.find(|c: char| c.is_alphabetic() || c == '°')?;
    convert(number::parse(text[..at].trim())?, text[at..].trim(), to)
}
