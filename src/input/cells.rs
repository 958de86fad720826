//! Values from cells: numbers in a range, dates, yes and no, one word of a few, lists.
//!
//! Each reader tells its own problem and returns the token for it, so that a row's faults are all told in one go.

use super::dates::{self, Reading};
use super::names::plain;
use super::number;
use super::problem::{Fault, Findings, Kind, Read, Told};
use super::rows::{Cell, Row, did_you_mean};
use super::slips;
use crate::garden::week::YearDay;
use chrono::NaiveDate;

/// What numbers a column may hold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span {
    /// What the number is, with an example.
    pub(crate) what: &'static str,
    least: f64,
    /// Whether the least value itself is excluded.
    open: bool,
    greatest: f64,
}

impl Span {
    /// Numbers above zero.
    pub(crate) const fn above_zero(what: &'static str, greatest: f64) -> Self {
        Self {
            what,
            least: 0.0,
            open: true,
            greatest,
        }
    }
    /// Numbers from zero on.
    pub(crate) const fn from_zero(what: &'static str, greatest: f64) -> Self {
        Self {
            what,
            least: 0.0,
            open: false,
            greatest,
        }
    }
    /// Numbers between two bounds, both allowed.
    pub(crate) const fn between(what: &'static str, least: f64, greatest: f64) -> Self {
        Self {
            what,
            least,
            open: false,
            greatest,
        }
    }

    /// Checks a finite number.
    pub(crate) fn check(&self, value: f64) -> Result<f64, Fault> {
        let written = || number::tidy(value);
        if value < 0.0 && self.least >= 0.0 {
            return Err(Fault::new(
                Kind::Negative,
                format!("{} is below zero", written()),
            ));
        }
        if value < self.least || value > self.greatest || (self.open && value <= self.least) {
            let bounds = if self.open {
                format!("above {} and at most {}", self.least, self.greatest)
            } else {
                format!("from {} to {}", self.least, self.greatest)
            };
            return Err(Fault::new(
                Kind::OutOfRange,
                format!("{} cannot be meant: it must be {bounds}", written()),
            ));
        }
        Ok(value)
    }
}

/// A share of 0 to 1.
pub(crate) const SHARE: Span = Span::between("a share from 0 to 1, such as 0.25", 0.0, 1.0);
/// A number of days.
pub(crate) const DAYS: Span = Span::between("a number of days, such as 14", 0.0, 400.0);

impl Cell<'_> {
    /// Reads a number in a range.
    pub(crate) fn number(&self, findings: &mut Findings, span: &Span) -> Result<f64, Told> {
        number::parse(&self.text)
            .ok_or_else(|| slips::explain(&self.text, self.column))
            .and_then(|value| span.check(value))
            .map_err(|fault| findings.tell(self.fault(fault, span.what)))
    }
    /// Reads a date.
    pub(crate) fn date(
        &self,
        findings: &mut Findings,
        reading: Reading,
    ) -> Result<NaiveDate, Told> {
        dates::parse(&self.text, reading)
            .map_err(|fault| findings.tell(self.fault(fault, dates::EXPECTED)))
    }
    /// Reads one word of a few.
    pub(crate) fn word<T: Copy>(
        &self,
        findings: &mut Findings,
        words: &[(&str, T)],
    ) -> Result<T, Told> {
        if let Some(value) = word_of(&self.text, words) {
            return Ok(value);
        }
        let list: Vec<&str> = words
            .iter()
            .map(|(w, _)| *w)
            .filter(|w| !w.is_empty())
            .collect();
        Err(findings.tell(
            self.problem(
                Kind::NotAWord,
                format!(
                    "`{}` is not one of the words for {}",
                    number::short(&self.text),
                    self.column
                ),
            )
            .expected(format!("one of: {}", list.join(", ")))
            .maybe_hint(did_you_mean(&self.text, list.iter().copied())),
        ))
    }
}

/// Words for yes and no, those of spreadsheets among them.
const YES_NO: [(&str, bool); 10] = [
    ("yes", true),
    ("no", false),
    ("y", true),
    ("n", false),
    ("true", true),
    ("false", false),
    ("x", true),
    ("1", true),
    ("0", false),
    ("✓", true),
];

/// Finds one word of a few, as it is written or as it is compared.
pub(crate) fn word_of<T: Copy>(text: &str, words: &[(&str, T)]) -> Option<T> {
    let wanted = plain(text);
    let as_written = words.iter().find(|(word, _)| *word == text);
    let found = as_written.or_else(|| words.iter().find(|(word, _)| plain(word) == wanted));
    found.map(|(_, value)| *value)
}

/// Reads yes or no.
pub(crate) fn yes_of(text: &str) -> Option<bool> {
    let wanted = plain(text);
    let found = YES_NO.iter().find(|(word, _)| *word == wanted);
    found.map(|(_, yes)| *yes)
}

impl Row<'_> {
    /// Reads a number in a range; `none` is an empty cell.
    pub(crate) fn number(&self, findings: &mut Findings, column: &str, span: &Span) -> Read<f64> {
        match self.cell(column) {
            Some(cell) if !cell.text.eq_ignore_ascii_case("none") => {
                cell.number(findings, span).map(Some)
            }
            _ => Ok(None),
        }
    }
    /// Reads a number that must be there.
    pub(crate) fn need_number(
        &self,
        findings: &mut Findings,
        column: &str,
        span: &Span,
    ) -> Result<f64, Told> {
        self.need(findings, column, span.what)?
            .clone()
            .number(findings, span)
    }
    /// Reads a date.
    pub(crate) fn date(
        &self,
        findings: &mut Findings,
        column: &str,
        reading: Reading,
    ) -> Read<NaiveDate> {
        self.cell(column)
            .map(|cell| cell.date(findings, reading))
            .transpose()
    }
    /// Reads a day of the year.
    pub(crate) fn year_day(
        &self,
        findings: &mut Findings,
        column: &str,
        reading: Reading,
    ) -> Read<YearDay> {
        self.cell(column)
            .map(|cell| {
                dates::parse_year_day(&cell.text, reading).map_err(|fault| {
                    findings.tell(cell.fault(fault, "a day such as 06-01, or a date"))
                })
            })
            .transpose()
    }
    /// Reads one word of a few.
    pub(crate) fn word<T: Copy>(
        &self,
        findings: &mut Findings,
        column: &str,
        words: &[(&str, T)],
    ) -> Read<T> {
        self.cell(column)
            .map(|cell| cell.word(findings, words))
            .transpose()
    }
    /// Reads yes or no; an empty cell is no.
    pub(crate) fn yes(&self, findings: &mut Findings, column: &str) -> Result<bool, Told> {
        let Some(cell) = self.cell(column) else {
            return Ok(false);
        };
        match yes_of(&cell.text) {
            Some(yes) => Ok(yes),
            None => Err(findings.tell(
                cell.problem(
                    Kind::NotAWord,
                    format!("`{}` is neither yes nor no", number::short(&cell.text)),
                )
                .expected("yes or no"),
            )),
        }
    }
    /// Reads a list of items separated by semicolons.
    pub(crate) fn list(&self, column: &str) -> Vec<String> {
        self.cell(column).map_or_else(Vec::new, |cell| {
            cell.text
                .split(';')
                .map(str::trim)
                .filter(|s| !s.is_empty())
                .map(str::to_owned)
                .collect()
        })
    }
}
