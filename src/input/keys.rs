//! Keys and values of `garden.toml` with their places.
//!
//! Knows TOML and nothing of what the keys mean. Values are checked one by one, so that every fault is told.

use super::cells::Span;
use super::dates::{self, Reading};
use super::number;
use super::problem::{Fault, Findings, Kind, Problem, Read, Told};
use super::rows::did_you_mean;
use super::slips;
use super::text::Source;
use crate::garden::week::YearDay;
use chrono::NaiveDate;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Parses the file; tells every fault of its form. The table is what could be read despite them.
pub(crate) fn parse<'a>(
    source: &'a Source<'a>,
    findings: &mut Findings,
) -> (Spanned<DeTable<'a>>, bool) {
    let (root, errors) = DeTable::parse_recoverable(&source.text);
    for error in &errors {
        let span = error.span().unwrap_or(0..0);
        let message = error
            .message()
            .lines()
            .next()
            .unwrap_or_default()
            .to_owned();
        let line = source.line_at(span.start.min(source.text.len())).2;
        findings.tell(
            Problem::at(Kind::TomlSyntax, source, span, message).maybe_hint(syntax_hint(line)),
        );
    }
    (root, errors.is_empty())
}

fn syntax_hint(line: &str) -> Option<String> {
    let value = line.split_once('=').map(|(_, v)| v.trim())?;
    if value.contains(['\u{201C}', '\u{201D}', '\u{2018}', '\u{2019}']) {
        return Some("the quotes are curly: type straight ones".to_owned());
    }
    if value.starts_with(|c: char| c.is_ascii_alphabetic()) && value != "true" && value != "false" {
        return Some(format!(
            "put words between quotes: \"{}\"",
            value.trim_end_matches('"')
        ));
    }
    if value.starts_with(|c: char| c.is_ascii_digit()) && value.contains('-') {
        return Some(format!(
            "put dates between quotes: \"{}\"",
            value.trim_end_matches('"')
        ));
    }
    if value.starts_with(|c: char| c.is_ascii_digit()) && value.contains(',') {
        return Some("write decimals with a point".to_owned());
    }
    None
}

/// A table of the file with its name.
#[derive(Debug, Clone)]
pub(crate) struct Section<'a> {
    source: &'a Source<'a>,
    name: String,
    table: &'a DeTable<'a>,
    span: Range<usize>,
}

/// A key with its value.
#[derive(Debug, Clone)]
pub(crate) struct Entry<'a> {
    source: &'a Source<'a>,
    /// Name with the table's, such as `site.latitude_deg`.
    pub(crate) name: String,
    /// The key alone.
    pub(crate) key: String,
    key_span: Range<usize>,
    value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Section<'a> {
    /// Makes the section of the whole file.
    pub(crate) fn root(source: &'a Source<'a>, table: &'a Spanned<DeTable<'a>>) -> Self {
        Self {
            source,
            name: String::new(),
            table: table.get_ref(),
            span: 0..0,
        }
    }
    /// Returns every key in the order of the file.
    pub(crate) fn entries(&self) -> Vec<Entry<'a>> {
        let mut all: Vec<Entry<'a>> = self
            .table
            .iter()
            .map(|(key, value)| Entry {
                source: self.source,
                name: self.full(key.get_ref()),
                key: key.get_ref().to_string(),
                key_span: key.span(),
                value,
            })
            .collect();
        all.sort_by_key(|e| e.key_span.start);
        all
    }
    /// Returns one key.
    pub(crate) fn get(&self, key: &str) -> Option<Entry<'a>> {
        self.entries().into_iter().find(|e| e.key == key)
    }
    /// Returns a table in this one; tells if it is something else.
    pub(crate) fn section(&self, findings: &mut Findings, key: &str) -> Option<Self> {
        self.get(key)?.section(findings).ok()
    }
    /// Tells keys that are not known.
    pub(crate) fn only(&self, findings: &mut Findings, known: &[&str]) {
        for entry in self.entries() {
            if !known.contains(&entry.key.as_str()) {
                let hint = did_you_mean(&entry.key, known.iter().copied())
                    .unwrap_or_else(|| format!("the keys are {}", known.join(", ")));
                let message = if self.name.is_empty() {
                    format!("there is no table or key `{}`", entry.key)
                } else {
                    format!("there is no key `{}` under [{}]", entry.key, self.name)
                };
                let mut p = Problem::at(
                    Kind::UnknownKey,
                    self.source,
                    entry.key_span.clone(),
                    message,
                );
                p.value.clone_from(&entry.key);
                findings.tell(p.expected("a known key").hint(hint));
            }
        }
    }
    /// Makes a problem with this table as a whole.
    pub(crate) fn problem(&self, kind: Kind, message: impl Into<String>) -> Problem {
        let (_, start, line) = self.source.line_at(self.span.start);
        let whole = start..start + line.len();
        if self.name.is_empty() {
            return Problem::of_file(kind, &self.source.name, message);
        }
        Problem::at(kind, self.source, whole, message)
    }
    /// Reads a number if the key is there.
    pub(crate) fn number(&self, findings: &mut Findings, key: &str, span: &Span) -> Read<f64> {
        self.get(key).map(|e| e.number(findings, span)).transpose()
    }
    /// Reads a text if the key is there.
    pub(crate) fn text(&self, findings: &mut Findings, key: &str) -> Read<String> {
        self.get(key).map(|e| e.text(findings)).transpose()
    }

    fn full(&self, key: &str) -> String {
        if self.name.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.name)
        }
    }
}

impl<'a> Entry<'a> {
    /// Makes a problem with the value.
    pub(crate) fn problem(&self, kind: Kind, message: impl Into<String>) -> Problem {
        Problem::at(kind, self.source, self.value.span(), message).column(&self.name)
    }
    /// Makes a problem with the key.
    pub(crate) fn key_problem(&self, kind: Kind, message: impl Into<String>) -> Problem {
        Problem::at(kind, self.source, self.key_span.clone(), message).column(&self.name)
    }
    /// Makes the problem of a parser's fault with the value.
    pub(crate) fn fault(&self, fault: Fault, expected: &str) -> Problem {
        self.problem(fault.kind, fault.message)
            .expected(expected)
            .maybe_hint(fault.hint)
    }
    fn wrong(&self, findings: &mut Findings, expected: &str) -> Told {
        let found = match self.value.get_ref() {
            DeValue::String(_) => "words between quotes",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let hint = match self.value.get_ref() {
            DeValue::String(s) if expected == "true or false" => match s.to_lowercase().as_str() {
                "yes" | "true" => Some("write true, without quotes".to_owned()),
                "no" | "false" => Some("write false, without quotes".to_owned()),
                _ => None,
            },
            DeValue::String(s) => {
                number::parse(s).map(|v| format!("write {} without quotes", number::tidy(v)))
            }
            DeValue::Integer(_) | DeValue::Float(_) if expected.contains("quotes") => {
                Some("put it between quotes".to_owned())
            }
            _ => None,
        };
        let problem = self
            .problem(Kind::WrongType, format!("{} is {found}", self.name))
            .expected(expected)
            .maybe_hint(hint);
        findings.tell(problem)
    }
    /// Reads a number in a range.
    pub(crate) fn number(&self, findings: &mut Findings, span: &Span) -> Result<f64, Told> {
        let value = match self.value.get_ref() {
            DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix())
                .ok()
                .map(|n| n as f64),
            DeValue::Float(x) => x.as_str().parse().ok(),
            DeValue::String(s) if number::parse(s).is_none() => {
                let fault = slips::explain(s, self.key.as_str());
                return Err(findings.tell(self.fault(fault, span.what)));
            }
            _ => return Err(self.wrong(findings, span.what)),
        };
        value
            .filter(|v| v.is_finite())
            .ok_or_else(|| {
                Fault::new(
                    Kind::NotFinite,
                    format!("{} is not a number one can count with", self.name),
                )
            })
            .and_then(|v| span.check(v))
            .map_err(|fault| findings.tell(self.fault(fault, span.what)))
    }
    /// Reads a text.
    pub(crate) fn text(&self, findings: &mut Findings) -> Result<String, Told> {
        match self.value.get_ref() {
            DeValue::String(s) => Ok(super::text::clean(s).into_owned()),
            _ => Err(self.wrong(findings, "words between quotes")),
        }
    }
    /// Reads true or false.
    pub(crate) fn yes(&self, findings: &mut Findings) -> Result<bool, Told> {
        self.value
            .get_ref()
            .as_bool()
            .ok_or_else(|| self.wrong(findings, "true or false"))
    }
    /// Reads a date, written as a TOML date or between quotes.
    pub(crate) fn date(
        &self,
        findings: &mut Findings,
        reading: Reading,
    ) -> Result<NaiveDate, Told> {
        let text = match self.value.get_ref() {
            DeValue::Datetime(d) => d.date.map(|d| d.to_string()).unwrap_or_default(),
            DeValue::String(s) => super::text::clean(s).into_owned(),
            _ => return Err(self.wrong(findings, "a date between quotes, such as \"2026-08-15\"")),
        };
        dates::parse(&text, reading)
            .map_err(|fault| findings.tell(self.fault(fault, dates::EXPECTED)))
    }
    /// Reads a day of the year.
    pub(crate) fn year_day(
        &self,
        findings: &mut Findings,
        reading: Reading,
    ) -> Result<YearDay, Told> {
        let text = match self.value.get_ref() {
            DeValue::Datetime(d) => d.date.map(|d| d.to_string()).unwrap_or_default(),
            DeValue::String(s) => super::text::clean(s).into_owned(),
            _ => return Err(self.wrong(findings, "a day between quotes, such as \"04-22\"")),
        };
        dates::parse_year_day(&text, reading).map_err(|fault| {
            findings.tell(self.fault(fault, "a day such as \"04-22\", month first"))
        })
    }
    /// Returns the value as a table if it is one.
    pub(crate) fn as_section(&self) -> Option<Section<'a>> {
        let table = self.value.get_ref().as_table()?;
        Some(Section {
            source: self.source,
            name: self.name.clone(),
            table,
            span: self.key_span.clone(),
        })
    }
    /// Reads the value as a table.
    pub(crate) fn section(&self, findings: &mut Findings) -> Result<Section<'a>, Told> {
        self.as_section()
            .ok_or_else(|| self.wrong(findings, "a table"))
    }
    /// Says whether the value is a list.
    pub(crate) fn is_list(&self) -> bool {
        self.value.get_ref().is_array()
    }
    /// Reads the items of a list.
    pub(crate) fn items(&self, findings: &mut Findings) -> Result<Vec<Self>, Told> {
        let Some(array) = self.value.get_ref().as_array() else {
            return Err(self.wrong(findings, "a list between square brackets"));
        };
        Ok(array
            .iter()
            .map(|value| Self {
                value,
                key_span: value.span(),
                ..self.clone()
            })
            .collect())
    }
    /// Reads one word of a few.
    pub(crate) fn word<T: Copy>(
        &self,
        findings: &mut Findings,
        words: &[(&str, T)],
    ) -> Result<T, Told> {
        let text = self.text(findings)?;
        let wanted = super::names::plain(&text);
        words
            .iter()
            .find(|(w, _)| super::names::plain(w) == wanted)
            .map(|(_, v)| *v)
            .ok_or_else(|| {
                let list: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
                findings.tell(
                    self.problem(
                        Kind::NotAWord,
                        format!(
                            "`{}` is not one of the words for {}",
                            number::short(&text),
                            self.name
                        ),
                    )
                    .expected(format!("one of: {}", list.join(", ")))
                    .maybe_hint(did_you_mean(&text, list.iter().copied())),
                )
            })
    }
}
