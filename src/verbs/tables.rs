//! `putby tables`: crops, methods and products in force; one row in full with the source of each number.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, table_row};
use crate::garden::tables::{Source, TextTable};
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::text::visible;
use clap::{Args, ValueEnum};

/// Arguments of `tables`.
#[derive(Debug, Clone, Args)]
pub struct TablesArgs {
    /// Which table: crops, methods or products
    #[arg(value_enum, value_name = "NAME", hide_possible_values = true)]
    name: Name,
    /// One row in full, such as `collards`
    #[arg(value_name = "ROW")]
    row: Option<String>,
}

/// The tables there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Name {
    /// Crops
    Crops,
    /// Methods of putting by
    Methods,
    /// Products on the shelf
    Products,
}

/// Columns shown to people when the whole table is asked for, with their headings.
const CROPS: [(&str, &str); 9] = [
    ("crop", "Crop"),
    ("group", "Group"),
    ("days_sown", "Days from sowing"),
    ("days_set_out", "Days from setting out"),
    ("harvest_days", "Harvest period, days"),
    ("lb_per_100ft_low", "lb per 100 ft, low"),
    ("lb_per_100ft_high", "high"),
    ("killed_below_f", "Killed at °F"),
    ("put_by", "Usual product"),
];
const METHODS: [(&str, &str); 7] = [
    ("method", "Method"),
    ("safety_column", "Safety column"),
    ("store", "Kept in"),
    ("appliance", "Appliance"),
    ("setup_min", "Set-up, min"),
    ("best_months", "Best, months"),
    ("last_months", "Use up by, months"),
];
const PRODUCTS: [(&str, &str); 6] = [
    ("product", "Product"),
    ("method", "Method"),
    ("crops", "Crops and shares"),
    ("container", "Container"),
    ("lb_per_container", "lb as picked in one"),
    ("best_months", "Best, months"),
];

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &TablesArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "tables")?;
    let setting = Setting::load_or_tables(shared)?;
    let tables = &setting.garden.tables;
    let (table, shown): (&TextTable, &[(&str, &str)]) = match arguments.name {
        Name::Crops => (&tables.crops, &CROPS),
        Name::Methods => (&tables.methods, &METHODS),
        Name::Products => (&tables.products, &PRODUCTS),
    };
    let report = match &arguments.row {
        None => whole(table, shown),
        Some(key) => one_row(table, key, tables.sources)?,
    };
    deliver::report(&report, &setting, shared, false)?;
    Ok(Exit::Done)
}

/// Shows the columns that people ask for first; machines get every column as written.
fn whole(table: &TextTable, shown: &[(&str, &str)]) -> Report {
    let mut report = Report::default();
    let at: Vec<Option<usize>> = shown
        .iter()
        .map(|(key, _)| table.columns.iter().position(|column| column == key))
        .collect();
    let columns = shown
        .iter()
        .map(|(key, heading)| Column::text(*key, *heading))
        .collect();
    let mut for_people = Table::new(columns);
    for row in &table.rows {
        for_people.push(
            at.iter()
                .map(|i| cell(i.map_or("", |i| &row.cells[i])))
                .collect(),
        );
    }
    if let Some((key, _)) = shown.first() {
        for_people.note(format!(
            "{} rows. One in full, with the source of each number: putby tables {} '{}'",
            table.rows.len(),
            table.name,
            table.rows.first().map_or(*key, |row| row.cells[0].as_str()),
        ));
    }
    report.table(for_people);
    let keys: Vec<&str> = table.columns.iter().map(String::as_str).collect();
    report.facts = crate::output::report::Facts::new(&keys);
    for row in &table.rows {
        report
            .facts
            .push(row.cells.iter().map(|text| cell(text)).collect());
    }
    report
}

/// Finds one row by its name, the nearest one being told otherwise.
fn one_row(table: &TextTable, key: &str, sources: &[Source]) -> Result<Report, Failure> {
    let wanted = key.to_lowercase();
    let Some(row) = table.row(&wanted) else {
        let names: Vec<&str> = table.rows.iter().map(|row| row.cells[0].as_str()).collect();
        let nearest = names.iter().max_by(|a, b| {
            strsim::jaro_winkler(a, &wanted).total_cmp(&strsim::jaro_winkler(b, &wanted))
        });
        return Err(Failure::Usage(format!(
            "no row `{}` in {}; the nearest is `{}`",
            visible(key),
            table.name,
            nearest.unwrap_or(&"(the table is empty)")
        )));
    };
    Ok(table_row::report(table, row, sources))
}

fn cell(text: &str) -> Cell {
    if text.is_empty() {
        Cell::Empty
    } else {
        Cell::text(text)
    }
}
