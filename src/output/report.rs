//! What a verb answers: a part for people (paragraphs and tables, rounded, few columns) and the facts for machines (flat rows, SI, in full).
//!
//! Every verb makes one [`Report`] and renders it once. Knows no files and no clock: what stamps the output is an argument.

use super::table::{Cell, Table};
use super::{csv, json, terminal};
use crate::garden::UnitSystem;
use chrono::NaiveDate;

/// What a verb answers, before it is text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// What people read, from top to bottom.
    pub people: Vec<Part>,
    /// What machines read.
    pub facts: Facts,
}

/// One piece of what people read.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A short line that opens a section.
    Heading(String),
    /// A paragraph, wrapped to the page.
    Text(String),
    /// Short points, one under the other.
    Points(Vec<String>),
    /// A table.
    Table(Table),
}

/// Flat rows for machines, one fact table for each verb.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// Values beside the rows, in JSON only; keys must differ from those of the envelope.
    pub top: Vec<(String, serde_json::Value)>,
    /// Name of each column, with its SI unit where it has one.
    pub keys: Vec<String>,
    /// Rows; every row has one cell for each key.
    pub rows: Vec<Vec<Cell>>,
}

impl Facts {
    /// Makes an empty fact table from its keys.
    #[must_use]
    pub fn new(keys: &[&str]) -> Self {
        Self {
            keys: keys.iter().map(|&key| key.to_owned()).collect(),
            ..Self::default()
        }
    }
    /// Makes the fact table that says the same as a table for people.
    #[must_use]
    pub fn same_as(table: &Table) -> Self {
        Self {
            top: Vec::new(),
            keys: table
                .columns
                .iter()
                .map(|column| column.key.clone())
                .collect(),
            rows: table.rows.clone(),
        }
    }
    /// Adds a row.
    ///
    /// # Panics
    /// If the row has not one cell for each key: that is a fault of the program, not of its input.
    pub fn push(&mut self, row: Vec<Cell>) {
        assert_eq!(row.len(), self.keys.len(), "one cell for each key");
        self.rows.push(row);
    }
    /// Adds a value beside the rows.
    pub fn beside(&mut self, key: &str, value: serde_json::Value) {
        self.top.push((key.to_owned(), value));
    }
}

impl Report {
    /// Makes a report that shows people and machines the same table.
    #[must_use]
    pub fn of_table(table: Table) -> Self {
        Self {
            facts: Facts::same_as(&table),
            people: vec![Part::Table(table)],
        }
    }
    /// Adds a heading for people.
    pub fn heading(&mut self, words: impl Into<String>) {
        self.people.push(Part::Heading(words.into()));
    }
    /// Adds a paragraph for people.
    pub fn text(&mut self, sentences: impl Into<String>) {
        self.people.push(Part::Text(sentences.into()));
    }
    /// Adds points for people; nothing if there are none.
    pub fn points(&mut self, points: Vec<String>) {
        if !points.is_empty() {
            self.people.push(Part::Points(points));
        }
    }
    /// Adds a table for people.
    pub fn table(&mut self, table: Table) {
        self.people.push(Part::Table(table));
    }

    /// Turns the report into text that ends with a line end.
    #[must_use]
    pub fn render(&self, format: Format, stamp: &Stamp, page: Page) -> String {
        match format {
            Format::Table => terminal::render(&self.people, page),
            Format::Csv => csv::render(&self.facts),
            Format::Json => json::render(&self.facts, stamp),
        }
    }
}

/// The form in which a report is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Format {
    /// Text for people.
    #[default]
    Table,
    /// Rows with a header line.
    Csv,
    /// One object with the rows in it.
    Json,
}

/// What makes an output repeatable; stands at the top of JSON.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// Version of the program.
    pub version: String,
    /// Name of the garden.
    pub garden: String,
    /// The day the answer is for.
    pub as_of: NaiveDate,
    /// Seed of the draws; none where nothing is drawn.
    pub random_seed: Option<u64>,
    /// Number of draws; none where nothing is drawn.
    pub draws: Option<usize>,
}

/// The page people read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Columns of a terminal line.
    pub width: usize,
    /// Units of amounts.
    pub units: UnitSystem,
}
