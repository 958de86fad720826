//! Checks the built-in tables against published figures and against themselves.
//!
//! Reads the files of `data/` as they are, not through the loader, so that a fault of either cannot hide the other.
//! The ranges below were copied from the publications named beside them, not from the tables.

#![allow(clippy::unwrap_used, reason = "tests")]

mod growing;
mod keeping;
mod readme;
mod rows;
mod sources;

use std::collections::BTreeMap;

type Row = BTreeMap<String, String>;

fn read(table: &str) -> Vec<Row> {
    let path = format!("{}/data/{table}.csv", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).unwrap();
    let header = reader.headers().unwrap().clone();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            header
                .iter()
                .zip(record.iter())
                .map(|(column, cell)| (column.to_owned(), cell.to_owned()))
                .collect()
        })
        .collect()
}

fn key_column(table: &str) -> &'static str {
    match table {
        "crops" => "crop",
        "methods" => "method",
        _ => "product",
    }
}

fn by_name(table: &str) -> BTreeMap<String, Row> {
    let rows = read(table);
    let count = rows.len();
    let named: BTreeMap<String, Row> = rows
        .into_iter()
        .map(|row| (row[key_column(table)].clone(), row))
        .collect();
    assert_eq!(named.len(), count, "a name stands twice in {table}");
    named
}

fn number(row: &Row, column: &str) -> Option<f64> {
    let cell = row
        .get(column)
        .unwrap_or_else(|| panic!("no column {column}"));
    (!cell.is_empty()).then(|| {
        cell.parse()
            .unwrap_or_else(|_| panic!("{column}: {cell} is no number"))
    })
}

fn given(row: &Row, column: &str) -> f64 {
    number(row, column).unwrap_or_else(|| panic!("{column} is empty in {row:?}"))
}

/// Least and greatest share of every crop of a product.
fn parts(product: &Row) -> Vec<(String, f64, f64)> {
    product["crops"]
        .split("; ")
        .map(|part| {
            let (crop, share) = part.rsplit_once(' ').unwrap();
            let (least, greatest) = share.split_once('-').unwrap_or((share, share));
            (
                crop.to_owned(),
                least.parse().unwrap(),
                greatest.parse().unwrap(),
            )
        })
        .collect()
}
