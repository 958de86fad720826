//! Every figure of the tables has its source, and the sources say what kind they are.

use crate::{key_column, read};
use std::collections::BTreeSet;

/// Columns whose text holds figures and therefore needs a source like a number.
const FIGURES_IN_TEXT: [&str; 6] = [
    "units",
    "shape",
    "seed_per_100ft",
    "crops",
    "portion",
    "fixed_amounts",
];

fn cells_with_figures() -> BTreeSet<(String, String, String)> {
    let mut cells = BTreeSet::new();
    for table in ["crops", "methods", "products"] {
        for row in read(table) {
            for (column, cell) in &row {
                let figures = cell.parse::<f64>().is_ok()
                    || (!cell.is_empty() && FIGURES_IN_TEXT.contains(&column.as_str()));
                if figures {
                    cells.insert((
                        table.to_owned(),
                        row[key_column(table)].clone(),
                        column.clone(),
                    ));
                }
            }
        }
    }
    cells
}

#[test]
fn every_figure_has_its_source_and_every_source_its_figure() {
    let mut told = BTreeSet::new();
    for row in read("sources") {
        assert!(row["source"].len() > 8, "too short to be a source: {row:?}");
        assert!(
            [
                "read",
                "from memory",
                "derived",
                "common practice",
                "judgement"
            ]
            .contains(&row["status"].as_str()),
            "unknown status: {row:?}"
        );
        let cell = (
            row["table"].clone(),
            row["row"].clone(),
            row["column"].clone(),
        );
        assert!(told.insert(cell), "told twice: {row:?}");
    }
    let cells = cells_with_figures();
    let untold: Vec<_> = cells.difference(&told).collect();
    let orphans: Vec<_> = told.difference(&cells).collect();
    assert!(untold.is_empty(), "figures without a source: {untold:?}");
    assert!(orphans.is_empty(), "sources without a figure: {orphans:?}");
}

#[test]
fn judgement_says_so_and_nothing_else_does() {
    for row in read("sources") {
        let judged = row["source"].starts_with("judgement");
        assert_eq!(judged, row["status"] == "judgement", "{row:?}");
        if row["status"] == "common practice" {
            assert!(
                row["source"].starts_with("common practice, no source"),
                "{row:?}"
            );
        }
    }
}

#[test]
fn six_crop_figures_in_ten_are_published() {
    let (mut published, mut all) = (0_usize, 0_usize);
    for row in read("sources").iter().filter(|r| r["table"] == "crops") {
        all += 1;
        published +=
            usize::from(["read", "from memory", "derived"].contains(&row["status"].as_str()));
    }
    assert!(
        published * 10 >= all * 6,
        "{published} of {all} crop figures are published"
    );
}
