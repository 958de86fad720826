//! One table kept in two files, as after saving a workbook as CSV: which of them may go.
//!
//! Compares rows as text and decides nothing: the household removes one.

use super::loader::{FILE_NAMES, Files};
use super::problem::{Findings, Kind, Problem};
use super::rows::cell_text;
use super::sheets::Found;
use super::split::{guess_separator, split};
use super::text::{Source, decode};
use std::collections::BTreeSet;

/// Tells every table that stands in more than one place.
pub(crate) fn tell(files: &Files, found: &[Found], findings: &mut Findings) {
    for table in FILE_NAMES {
        let mut places: Vec<(String, String, BTreeSet<String>)> = Vec::new();
        if let Some(bytes) = files.content.get(table) {
            let source = decode(table, bytes, &mut Findings::default());
            let rows = source.map(|s| rows_of(&s)).unwrap_or_default();
            places.push((table.to_owned(), table.to_owned(), rows));
        }
        for one in found.iter().filter(|f| f.table == table) {
            let rows = rows_of(&Source::from_text(table, &one.text));
            places.push((one.kept.place(), one.kept.words(), rows));
        }
        if let [first, second, ..] = places.as_slice() {
            let (a, b) = (&first.1, &second.1);
            let only_a = first.2.difference(&second.2).count();
            let only_b = second.2.difference(&first.2).count();
            let hint = match (only_a, only_b) {
                (0, 0) if a.ends_with(".csv") => format!(
                    "both hold the same rows: remove {b}, since only CSV files can be written to"
                ),
                (0, 0) => format!("both hold the same rows: remove {b}"),
                (0, n) => format!("{b} has every row of {a} and {n} more: remove {a}"),
                (n, 0) => format!("{a} has every row of {b} and {n} more: remove {b}"),
                (n, m) => format!(
                    "{a} has {n} rows that are not in {b}, and {b} has {m} that are not in {a}: bring them together in one and remove the other"
                ),
            };
            let stem = table.trim_end_matches(".csv");
            findings.tell(
                Problem::of_file(
                    Kind::KeptTwice,
                    &second.0,
                    format!("the table {stem} is kept twice, in {a} and in {b}"),
                )
                .expected("one of the two")
                .hint(hint),
            );
        }
    }
}

/// Returns the rows of a table, cells cleaned, the header included.
fn rows_of(source: &Source) -> BTreeSet<String> {
    let text: &str = &source.text;
    let separator = guess_separator(&text[source.header_span()]);
    let split = split(text, 0, separator);
    let rows = split.records.iter().map(|record| {
        let cells = split.cells[record.cells.clone()].iter();
        let cells: Vec<_> = cells.map(|c| cell_text(&text[c.clone()])).collect();
        cells.join("\u{1F}").trim_end_matches('\u{1F}').to_owned()
    });
    rows.filter(|row| !row.is_empty()).collect()
}
