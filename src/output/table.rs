//! The one table model: typed cells under named columns, not yet text.
//!
//! Knows neither widths nor formats: `terminal`, `csv` and `json` turn a table into text.

use super::dates;
use super::rounding;
use super::text::visible;
use crate::garden::UnitSystem;
use crate::garden::units::{Area, Length, Mass, Minutes, Temperature, Volume};
use crate::garden::week::Week;
use chrono::NaiveDate;

/// A table for people: title, columns, rows of cells, and notes printed below.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Printed above the table; none if the paragraph before it says enough.
    pub title: Option<String>,
    /// Columns, left to right.
    pub columns: Vec<Column>,
    /// Rows; every row has one cell for each column.
    pub rows: Vec<Vec<Cell>>,
    /// Sentences printed below the table.
    pub notes: Vec<String>,
}

impl Table {
    /// Makes an empty table from its columns.
    #[must_use]
    pub fn new(columns: Vec<Column>) -> Self {
        Self {
            columns,
            ..Self::default()
        }
    }
    /// Returns the table with a title.
    #[must_use]
    pub fn titled(mut self, title: impl Into<String>) -> Self {
        self.title = Some(title.into());
        self
    }
    /// Adds a row.
    ///
    /// # Panics
    /// If the row has not one cell for each column: that is a fault of the program, not of its input.
    pub fn push(&mut self, row: Vec<Cell>) {
        assert_eq!(row.len(), self.columns.len(), "one cell for each column");
        self.rows.push(row);
    }
    /// Returns the heading and the cells of one column as people read them, the unit beside each figure or once in the heading.
    #[must_use]
    pub fn column_for_people(&self, index: usize, units: UnitSystem) -> (String, Vec<String>) {
        let column = &self.columns[index];
        let mut cells = Vec::with_capacity(self.rows.len());
        let mut unit_above = None;
        for row in &self.rows {
            let (figure, unit) = row[index].for_people(units);
            let figure = visible(&figure);
            cells.push(match (column.unit, unit) {
                (UnitPlace::Cell, Some("%")) => format!("{figure}%"),
                (UnitPlace::Cell, Some(unit)) => format!("{figure} {unit}"),
                (UnitPlace::Heading, unit) => {
                    unit_above = unit_above.or(unit);
                    figure
                }
                (UnitPlace::Cell, None) => figure,
            });
        }
        let heading = visible(&column.heading);
        (
            unit_above.map_or(heading.clone(), |unit| format!("{heading} ({unit})")),
            cells,
        )
    }
    /// Adds a sentence below the table.
    pub fn note(&mut self, sentence: impl Into<String>) {
        self.notes.push(sentence.into());
    }
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Name in machine output, with the SI unit in it where it has one (`kg_p50`).
    pub key: String,
    /// Words above the column for people.
    pub heading: String,
    /// Side on which cells line up.
    pub align: Align,
    /// Where people read the unit.
    pub unit: UnitPlace,
}

impl Column {
    /// Makes a column of words, lined up left.
    #[must_use]
    pub fn text(key: impl Into<String>, heading: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            heading: heading.into(),
            align: Align::Left,
            unit: UnitPlace::Cell,
        }
    }
    /// Makes a column of figures, lined up right, with the unit beside each figure.
    #[must_use]
    pub fn figure(key: impl Into<String>, heading: impl Into<String>) -> Self {
        Self {
            align: Align::Right,
            ..Self::text(key, heading)
        }
    }
    /// Makes a column of figures, lined up right, with the unit once in the heading.
    #[must_use]
    pub fn measured(key: impl Into<String>, heading: impl Into<String>) -> Self {
        Self {
            unit: UnitPlace::Heading,
            ..Self::figure(key, heading)
        }
    }
}

/// Side on which the cells of a column line up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// For words.
    Left,
    /// For figures.
    Right,
}

/// Where people read the unit of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitPlace {
    /// Beside every figure.
    Cell,
    /// Once, in brackets after the heading.
    Heading,
}

/// One typed value of a table.
///
/// Units: quantities carry their own; people see them rounded in household units, machines in SI and in full.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// No value: a dash for people, `null` in JSON, nothing in CSV.
    Empty,
    /// Words.
    Text(String),
    /// A mass: half pounds or tenths of a kilogram for people, kg for machines.
    Mass(Mass),
    /// A length: whole feet or tenths of a metre for people, m for machines.
    Length(Length),
    /// An area: whole square feet or tenths of a square metre for people, m² for machines.
    Area(Area),
    /// A volume: tenths of a cubic foot or whole litres for people, litres for machines.
    Room(Volume),
    /// A temperature: whole degrees for people, °C for machines.
    Temperature(Temperature),
    /// Working time: quarter hours for people, hours for machines.
    Hours(Minutes),
    /// Working time: five minutes for people, minutes for machines.
    Minutes(Minutes),
    /// A day.
    Date(NaiveDate),
    /// A week, named by its Monday.
    Week(Week),
    /// A chance, 0 to 1: "7 in 10" for people.
    Chance(f64),
    /// A part of a whole, 0 to 1: per cent for people.
    Share(f64),
    /// A whole number.
    Count(i64),
    /// Containers, perhaps a mean: whole ones for people.
    Containers(f64),
    /// A bare number with the decimals people see.
    Number(f64, usize),
    /// Yes or no.
    Bool(bool),
}

impl Cell {
    /// Makes a cell of words.
    #[must_use]
    pub fn text(words: impl Into<String>) -> Self {
        Self::Text(words.into())
    }
    /// Makes a cell from a value that may be missing.
    #[must_use]
    pub fn maybe<T>(value: Option<T>, make: impl FnOnce(T) -> Self) -> Self {
        value.map_or(Self::Empty, make)
    }

    /// Returns what people read: the figure, and its unit if it has one.
    #[must_use]
    pub fn for_people(&self, units: UnitSystem) -> (String, Option<&'static str>) {
        let us = units == UnitSystem::Us;
        let bare = |text: String| (text, None);
        match self {
            Self::Empty => bare("–".to_owned()),
            Self::Text(words) => bare(words.clone()),
            Self::Mass(mass) => (
                rounding::mass_figure(*mass, units),
                Some(rounding::mass_unit(units)),
            ),
            Self::Length(v) if us => (rounding::decimals(v.ft(), 0), Some("ft")),
            Self::Length(v) => (rounding::decimals(v.m(), 1), Some("m")),
            Self::Area(v) if us => (rounding::decimals(v.sqft(), 0), Some("sq ft")),
            Self::Area(v) => (rounding::decimals(v.m2(), 1), Some("m²")),
            Self::Room(v) if us => (rounding::decimals(v.ft3(), 1), Some("cu ft")),
            Self::Room(v) => (rounding::decimals(v.l(), 0), Some("L")),
            Self::Temperature(v) if us => (rounding::decimals(v.f(), 0), Some("°F")),
            Self::Temperature(v) => (rounding::decimals(v.c(), 0), Some("°C")),
            Self::Hours(time) => (rounding::hours_figure(*time), Some("h")),
            Self::Minutes(time) => (rounding::minutes_figure(*time), Some("min")),
            Self::Date(date) => bare(dates::day(*date)),
            Self::Week(week) => bare(dates::short(week.monday())),
            Self::Chance(chance) => bare(rounding::in_ten(*chance)),
            Self::Share(share) => (rounding::decimals(share * 100.0, 0), Some("%")),
            Self::Count(n) => bare(n.to_string()),
            Self::Containers(n) => bare(rounding::containers(*n)),
            Self::Number(value, decimals) => bare(rounding::decimals(*value, *decimals)),
            Self::Bool(yes) => bare(if *yes { "yes" } else { "no" }.to_owned()),
        }
    }

    /// Returns what machines read: SI, in full, and nothing where there is no finite value.
    #[must_use]
    pub fn for_machines(&self) -> Fact {
        let number = |value: f64| {
            if value.is_finite() {
                // Adding zero turns −0 into 0, which some readers would show as "-0".
                Fact::Number(value + 0.0)
            } else {
                Fact::Nothing
            }
        };
        match self {
            Self::Empty => Fact::Nothing,
            Self::Text(words) => Fact::Text(words.clone()),
            Self::Mass(v) => number(v.kg()),
            Self::Length(v) => number(v.m()),
            Self::Area(v) => number(v.m2()),
            Self::Room(v) => number(v.l()),
            Self::Temperature(v) => number(v.c()),
            Self::Hours(v) => number(v.hours()),
            Self::Minutes(v) => number(v.min_value()),
            Self::Date(date) => Fact::Text(date.format("%Y-%m-%d").to_string()),
            Self::Week(week) => Fact::Text(week.to_string()),
            Self::Chance(v) | Self::Share(v) | Self::Containers(v) | Self::Number(v, _) => {
                number(*v)
            }
            Self::Count(n) => Fact::Whole(*n),
            Self::Bool(yes) => Fact::Bool(*yes),
        }
    }
}

/// A value of machine output, in SI.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// No value.
    Nothing,
    /// Words or an ISO 8601 date.
    Text(String),
    /// A finite number.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// True or false.
    Bool(bool),
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn one_cell_two_readers() {
        let monday: NaiveDate = "2026-09-14".parse().unwrap();
        let us = |c: Cell| c.for_people(UnitSystem::Us);
        for (cell, people, machines) in [
            (Cell::Empty, ("–", None), Fact::Nothing),
            (
                Cell::Mass(Mass::from_lb(12.4)),
                ("12½", Some("lb")),
                Fact::Number(Mass::from_lb(12.4).kg()),
            ),
            (
                Cell::Hours(Minutes::from_min(225.0)),
                ("3¾", Some("h")),
                Fact::Number(3.75),
            ),
            (
                Cell::Minutes(Minutes::from_min(37.0)),
                ("35", Some("min")),
                Fact::Number(37.0),
            ),
            (
                Cell::Length(Length::from_ft(12.0)),
                ("12", Some("ft")),
                Fact::Number(Length::from_ft(12.0).m()),
            ),
            (
                Cell::Date(monday),
                ("Mon 14 Sep", None),
                Fact::Text("2026-09-14".into()),
            ),
            (
                Cell::Week(Week::of(monday)),
                ("14 Sep", None),
                Fact::Text("2026-09-14".into()),
            ),
            (Cell::Chance(0.72), ("7 in 10", None), Fact::Number(0.72)),
            (Cell::Share(0.72), ("72", Some("%")), Fact::Number(0.72)),
            (Cell::Containers(6.6), ("7", None), Fact::Number(6.6)),
            (Cell::Number(-0.0, 1), ("0.0", None), Fact::Number(0.0)),
            (Cell::Number(f64::NAN, 1), ("–", None), Fact::Nothing),
            (
                Cell::Hours(Minutes::from_min(f64::INFINITY)),
                ("–", Some("h")),
                Fact::Nothing,
            ),
            (Cell::Bool(true), ("yes", None), Fact::Bool(true)),
        ] {
            let got = us(cell.clone());
            assert_eq!((got.0.as_str(), got.1), people, "{cell:?}");
            assert_eq!(cell.for_machines(), machines, "{cell:?}");
        }
        assert!(
            matches!(Cell::Number(-0.0, 1).for_machines(), Fact::Number(z) if z.is_sign_positive())
        );
    }

    #[test]
    #[should_panic(expected = "one cell for each column")]
    fn a_row_of_the_wrong_length_is_our_fault() {
        Table::new(vec![Column::text("crop", "Crop")]).push(vec![]);
    }
}
