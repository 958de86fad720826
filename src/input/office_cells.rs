//! Cells of a weather office's normals: months, temperatures and dates, with what stands where there is none.
//!
//! Says where in the file a cell stands; knows neither which columns there should be nor what they are for. Numbers in
//! place of a value (−9999 missing, −8888 and −6666 undefined, −7777 rounding to zero, −4444 cold all the year): readme of
//! NOAA's 1981-2010 normals; the later files keep −9999 and leave the rest to their flags.

use super::number::short;
use super::problem::{Findings, Kind, Problem, Told};
use super::rows::cell_text;
use super::split::{Record, Split, split};
use super::text::Source;
use crate::garden::week::YearDay;
use std::borrow::Cow;
use std::ops::Range;

/// Numbers at or below this stand for a missing or undefined value (−4444, −5555, −6666, −8888, −9999 and tenths of them).
const NO_VALUE: f64 = -444.0;
/// The number that stands for a value which would round to zero.
const ROUNDS_TO_ZERO: f64 = -7777.0;
/// A file split into cells, with the names of its columns.
pub(crate) struct Table<'a> {
    /// The file.
    pub(crate) source: &'a Source<'a>,
    cells: Split,
    /// Names of the columns, in capitals.
    pub(crate) names: Vec<String>,
}

impl<'a> Table<'a> {
    /// Splits a file.
    pub(crate) fn of(source: &'a Source<'a>) -> Self {
        let cells = split(&source.text, 0, b',');
        let names = cells.records.first().map_or(Vec::new(), |head| {
            cells.cells[head.cells.clone()]
                .iter()
                .map(|c| cell_text(&source.text[c.clone()]).to_uppercase())
                .collect()
        });
        Self {
            source,
            cells,
            names,
        }
    }
    /// Returns the place of a column.
    pub(crate) fn find(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| n == name)
    }
    /// Returns the lines below the names.
    pub(crate) fn rows(&self) -> &[Record] {
        self.cells.records.get(1..).unwrap_or_default()
    }
    /// Returns where a cell stands and its content; empty where the line is short.
    pub(crate) fn cell(&self, row: &Record, n: usize) -> (Range<usize>, Cow<'a, str>) {
        match self.cells.cells[row.cells.clone()].get(n) {
            Some(span) => (span.clone(), cell_text(&self.source.text[span.clone()])),
            None => (row.span.end..row.span.end, "".into()),
        }
    }
    /// Returns what stands in a named column, if anything.
    pub(crate) fn text(&self, row: &Record, name: &str) -> Option<Cow<'a, str>> {
        Some(self.cell(row, self.find(name)?).1).filter(|t| !t.is_empty())
    }
    /// Makes a problem with a cell.
    pub(crate) fn problem(&self, row: &Record, n: usize, message: impl Into<String>) -> Problem {
        let span = self.cell(row, n).0;
        Problem::at(Kind::BadWeather, self.source, span, message)
            .column(self.names.get(n).map_or("", String::as_str))
    }
}

/// Reads the month of a line, 0 to 11: from its own column, or from dates such as 07, 07-18, 2010-07 and 201007.
pub(crate) fn month(table: &Table<'_>, row: &Record, f: &mut Findings) -> Result<usize, Told> {
    let n = table.find("MONTH").or(table.find("DATE"));
    let text = n.map_or("".into(), |n| table.cell(row, n).1);
    let digits: Vec<&str> = text.split('-').collect();
    let part = match digits.as_slice() {
        [all] if all.len() == 6 && all.is_ascii() => &all[4..],
        [year, month, ..] if year.len() == 4 => month,
        [month, ..] => month,
        [] => "",
    };
    match part.parse::<usize>() {
        Ok(month @ 1..=12) => Ok(month - 1),
        _ => Err(f.tell(
            table
                .problem(
                    row,
                    n.unwrap_or(0),
                    format!("`{}` is no month", short(&text)),
                )
                .expected("a month from 01 to 12"),
        )),
    }
}

/// Reads a temperature; none where the office has none.
pub(crate) fn number(
    table: &Table<'_>,
    row: &Record,
    n: usize,
    f: &mut Findings,
) -> Result<Option<f64>, Told> {
    let text = table.cell(row, n).1;
    if text.is_empty() {
        return Ok(None);
    }
    match text.parse::<f64>() {
        Ok(value) if value == ROUNDS_TO_ZERO => Ok(Some(0.0)),
        Ok(value) if value <= NO_VALUE => Ok(None),
        Ok(value) if value.is_finite() => Ok(Some(value)),
        _ => Err(f.tell(
            table
                .problem(row, n, format!("`{}` is no temperature", short(&text)))
                .expected("degrees Fahrenheit, such as 46.5")
                .hint("take the file unchanged from the weather office"),
        )),
    }
}

/// Reads a date written as month and day; none where the office has none.
pub(crate) fn month_day(
    table: &Table<'_>,
    row: &Record,
    n: usize,
    f: &mut Findings,
) -> Result<Option<YearDay>, Told> {
    let text = table.cell(row, n).1;
    if text.is_empty() || text.parse::<f64>().is_ok_and(|v| v <= NO_VALUE) {
        return Ok(None);
    }
    let day = text
        .split_once(['/', '-'])
        .and_then(|(m, d)| YearDay::from_month_day(m.parse().ok()?, d.parse().ok()?));
    match day {
        Some(day) => Ok(Some(day)),
        None => Err(f.tell(
            table
                .problem(row, n, format!("`{}` is no date", short(&text)))
                .expected("month and day, such as 05/09")
                .hint("take the file unchanged from the weather office, not from a spreadsheet"),
        )),
    }
}

/// Keeps the fewest years that a value in use rests on.
pub(crate) fn fewer_years(table: &Table<'_>, row: &Record, name: &str, years: &mut Option<u32>) {
    let told = table
        .text(row, &format!("YEARS_{name}"))
        .and_then(|t| t.parse::<u32>().ok());
    if let Some(n) = told.filter(|n| *n > 0) {
        *years = Some(years.map_or(n, |y| y.min(n)));
    }
}
