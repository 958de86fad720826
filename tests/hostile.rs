//! A garden whose names are traps, through every verb and every form: spreadsheets, browsers, calendars and terminals get text.
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;
mod every_verb;

use putby::input::sample;
use std::fs;
use std::path::Path;

/// A bed, a crop and a product by names that are traps, instead of one of the sample's.
const BED: &str = "=cmd|' /C calc'!A1";
const CROP: &str = "@SUM <script>alert(1)</script>";
const PRODUCT: &str = "+1 <img src=x onerror=alert(1)> & \"jam\"";
/// Plantings by names that are traps.
const PLANTINGS: [&str; 14] = [
    "=HYPERLINK(\"http://a.example\",\"b\")",
    "+1+1",
    "-2+3",
    "@A1",
    "'=1",
    "＝1+1",
    "<script>alert('x')</script>",
    "\" onload=\"alert(1)",
    "' onload='alert(1)",
    "]]></text><b>bold</b>",
    "a\\nEND:VEVENT\\nBEGIN:VALARM",
    "two\nlines\nBEGIN:VALARM",
    "%s%n{0}${x}\\u001b[2J",
    "白菜 ½ 🥬 e\u{301}",
];
/// The name of the place, as a string of TOML, whose escapes reach what no other file may hold.
const PLACE: &str =
    "\\u001b[2J\\u009b31m\\u202Emodnar\\nBEGIN:VALARM\\r\\nX:1\\u2028\\u0007,;=1</title><script>";

fn quoted(cell: &str) -> String {
    format!("\"{}\"", cell.replace('"', "\"\""))
}

/// The sample, with names exchanged.
fn garden(folder: &Path) {
    for (name, bytes) in sample::files().content {
        let mut text = String::from_utf8(bytes).unwrap();
        match name.as_str() {
            "garden.toml" => {
                let place = text
                    .lines()
                    .find(|l| l.starts_with("name = "))
                    .unwrap()
                    .to_owned();
                text = text.replace(&place, &format!("name = \"{PLACE}\""));
            }
            "products.csv" => text = text.replace("gumbo base", &quoted(PRODUCT)),
            "goals.csv" => text = text.replace("gumbo base", &quoted(PRODUCT)),
            "beds.csv" | "picked.csv" => {
                text = text.replace("creek,", &format!("{},", quoted(BED)))
            }
            "plantings.csv" => {
                text = text.replace(",creek,", &format!(",{},", quoted(BED)));
                let mut rows: Vec<String> = text.lines().map(str::to_owned).collect();
                // The last plantings are the ones to come.
                let first = rows.len() - PLANTINGS.len();
                for (row, name) in rows[first..].iter_mut().zip(PLANTINGS) {
                    let (_, rest) = row.split_once(',').unwrap();
                    *row = format!("{},{rest}", quoted(name));
                }
                let long = "long ".repeat(800);
                rows.push(format!(
                    "{},lane,{},,2026-08-01,,5,,,,,,{}",
                    quoted(&long),
                    quoted(CROP),
                    quoted("=note")
                ));
                text = rows.join("\n") + "\n";
            }
            "crops.csv" => text = crops(),
            _ => {}
        }
        fs::write(folder.join(name), text).unwrap();
    }
}

/// A crop of our own: a built-in row under another name.
fn crops() -> String {
    let table = fs::read_to_string(common::root().join("data/crops.csv")).unwrap();
    let header = table.lines().next().unwrap();
    let row = table.lines().find(|l| l.starts_with("radish,")).unwrap();
    let columns: Vec<&str> = header.split(',').collect();
    let mut cells = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(row.as_bytes());
    let record = cells.records().next().unwrap().unwrap();
    let cells: Vec<String> = record
        .iter()
        .zip(&columns)
        .map(|(cell, column)| match *column {
            "crop" => quoted(CROP),
            "safety_row" | "also_called" | "put_by" => String::new(),
            _ => quoted(cell),
        })
        .collect();
    format!("{header}\n{}\n", cells.join(","))
}

#[test]
fn names_that_are_traps_come_out_as_text() {
    let scratch = tempfile::tempdir().unwrap();
    garden(scratch.path());
    let mut more: Vec<Vec<String>> = PLANTINGS
        .iter()
        .map(|name| vec!["why".to_owned(), (*name).to_owned()])
        .collect();
    for what in [CROP, "\u{1b}[2J\u{202e}", "=1 2 lb"] {
        more.push(vec!["log".to_owned(), "picked".to_owned(), what.to_owned()]);
        more.push(vec![
            "tables".to_owned(),
            "crops".to_owned(),
            what.to_owned(),
        ]);
    }
    let (calls, wrong) = every_verb::faults(scratch.path(), 20, &more);
    assert!(calls > 60, "{calls}");
    assert!(
        wrong.is_empty(),
        "{} of {calls}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
    // The traps did come through, each in its own dress.
    let show = |line: &str| {
        let run = common::putby(scratch.path(), &common::words(line));
        String::from_utf8(run.stdout).unwrap()
    };
    let csv = show("when --draws 20 --format csv");
    assert!(
        csv.contains("'=HYPERLINK") && csv.contains("'@A1") && csv.contains("'+1+1"),
        "{csv}"
    );
    let page = show("report --draws 20");
    assert!(
        page.contains("&lt;script&gt;alert("),
        "the page shows the name"
    );
    let json: serde_json::Value =
        serde_json::from_str(&show("when --draws 20 --format json")).unwrap();
    let name = json["garden"].as_str().unwrap();
    assert!(name.contains("[2J") && name.contains("modnar"), "{name:?}");
}

#[test]
fn what_cannot_be_seen_is_refused_in_a_table() {
    for (name, told) in [
        ("\u{1b}[2J", "control-character"),
        ("a\u{7}", "control-character"),
        ("a\u{0}b", "control-character"),
        ("a\u{9b}31m", "control-character"),
    ] {
        let scratch = tempfile::tempdir().unwrap();
        garden(scratch.path());
        let path = scratch.path().join("plantings.csv");
        let text = fs::read_to_string(&path).unwrap();
        fs::write(&path, text.replace("\"@A1\"", &format!("\"{name}\""))).unwrap();
        let run = common::putby(scratch.path(), &common::words("check"));
        assert_eq!(run.status.code(), Some(3), "{name:?}");
        let said = String::from_utf8(run.stderr).unwrap();
        assert!(
            said.contains(told) && said.contains("plantings.csv:"),
            "{said}"
        );
        assert!(
            said.chars().all(|c| c == '\n' || !c.is_control()),
            "{said:?}"
        );
    }
}

/// A fault is told with the faulty text in it; that text does not steer either.
#[test]
fn problems_show_traps_as_text() {
    let scratch = tempfile::tempdir().unwrap();
    for (file, text) in [
        (
            "garden.toml",
            "[site]\nlatitude_deg = 41.5\n\"\\u001b[2J\" = 1\n[frost]\nfirst_fall = \"\\u202e\\u001b[31m\"\n",
        ),
        (
            "plantings.csv",
            "bed,crop,sown,row_ft\nA,\u{202e}elak,2026-05-20,10\nA,kale,\u{2066}x\u{200b},10\n",
        ),
        ("beds.csv", "bed,\u{202e}col\nA,1\n"),
    ] {
        fs::write(scratch.path().join(file), text).unwrap();
    }
    let run = common::putby(scratch.path(), &common::words("check"));
    assert_eq!(run.status.code(), Some(3));
    let said = String::from_utf8(run.stderr).unwrap();
    let steers = |c: char| {
        c != '\n'
            && (c.is_control()
                || matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}'))
    };
    let found: Vec<char> = said.chars().filter(|c| steers(*c)).collect();
    assert!(found.is_empty(), "{found:?} in\n{said}");
    assert!(
        said.contains("plantings.csv:2") && said.contains("beds.csv:1"),
        "{said}"
    );
}
