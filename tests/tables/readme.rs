//! The README's count of figures by how they are known, made anew from `data/sources.csv`.
//!
//! `PUTBY_RENEW=1` rewrites the table between the two marks.

use crate::read;
use std::fmt::Write;

const MARK: &str = "<!-- sources -->";

/// Statuses of `data/sources.csv` with what they mean, the best known first.
const STATUSES: [(&str, &str); 5] = [
    ("read", "seen in the publication named"),
    ("derived", "worked out from published figures"),
    (
        "from memory",
        "a publication remembered, not seen again for this",
    ),
    (
        "common practice",
        "what growers and kitchens do; nobody published it",
    ),
    ("judgement", "ours, and said so beside the figure"),
];

fn table() -> String {
    let sources = read("sources");
    let count = |table: &str, status: &str| {
        let fits = |all: &str, one: &str| all.is_empty() || all == one;
        sources
            .iter()
            .filter(|r| fits(table, &r["table"]) && fits(status, &r["status"]))
            .count()
    };
    let mut text = String::from(
        "| how it is known | crops | methods | products | all | share |\n|---|---:|---:|---:|---:|---:|\n",
    );
    let all = count("", "");
    let rows = STATUSES
        .iter()
        .map(|(status, words)| (*status, format!("{status}: {words}")))
        .chain([("", "in all".to_owned())]);
    for (status, words) in rows {
        let n = count("", status);
        writeln!(
            text,
            "| {words} | {} | {} | {} | {n} | {} % |",
            count("crops", status),
            count("methods", status),
            count("products", status),
            (n * 200 + all) / (2 * all),
        )
        .unwrap();
    }
    text
}

#[test]
fn the_readme_counts_the_sources() {
    let path = format!("{}/README.md", env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(&path).unwrap();
    let parts: Vec<&str> = readme.split(MARK).collect();
    assert_eq!(parts.len(), 3, "the README has two marks {MARK}");
    let want = format!("\n{}", table());
    if std::env::var_os("PUTBY_RENEW").is_some() {
        let renewed = [parts[0], &want, parts[2]].join(MARK);
        std::fs::write(&path, renewed).unwrap();
        return;
    }
    assert_eq!(
        parts[1], want,
        "the README's table is old: run with PUTBY_RENEW=1"
    );
}
