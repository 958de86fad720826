//! Spoken entries, right and wrong: every line of `tests/spoken/cases.txt` is one case. Adding a case is adding a line.
//!
//! The garden is made up (`tests/made_garden`). What is understood is written one entry after another; a part that was
//! not understood begins with `!`, a remark on one that was kept with `*`. `PUTBY_RENEW=1` writes the right side anew,
//! to be read before it is kept.
#![allow(clippy::unwrap_used, reason = "tests")]

mod made_garden;

use made_garden::{date, garden};
use putby::garden::Garden;
use putby::garden::record::{Happening, Use};
use putby::garden::{DateOrder, UnitSystem};
use putby::input::spoken::{Entry, Spoken, parse};
use std::fmt::Write;

fn round(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

fn words(garden: &Garden, spoken: &Spoken) -> String {
    let mut parts = Vec::new();
    for entry in &spoken.entries {
        let mut text = String::new();
        match entry {
            Entry::Picked(row) => {
                let week = if row.whole_week { "week of " } else { "" };
                let crop = &garden.crop(row.crop).name;
                let lb = round(row.mass.lb());
                write!(text, "{week}{} {crop} {lb} lb", row.date).unwrap();
                if let Some(id) = row.planting {
                    write!(text, " [{}]", garden.planting(id).name).unwrap();
                } else if let Some(bed) = row.bed {
                    write!(text, " in {}", garden.bed(bed).name).unwrap();
                }
                text += if row.guess { " guess" } else { "" };
                if row.went != Use::Waiting {
                    let name = Use::NAMES.iter().find(|(_, u)| *u == row.went).unwrap().0;
                    write!(text, " {name}").unwrap();
                }
                if let Some(note) = &row.note {
                    write!(text, " ({note})").unwrap();
                }
            }
            Entry::Stores(change) => {
                let name = &garden.product(change.product).name;
                write!(text, "{} {name} {:+}", change.date, change.change).unwrap();
            }
            Entry::Event(event) => {
                write!(text, "{} ", event.date).unwrap();
                match event.what {
                    Happening::Frost(None) => text += "frost",
                    Happening::Frost(Some(c)) => write!(text, "frost {} C", round(c)).unwrap(),
                    Happening::Ended(id) => {
                        write!(text, "ended [{}]", garden.planting(id).name).unwrap();
                    }
                    Happening::Up(id) => {
                        write!(text, "up [{}]", garden.planting(id).name).unwrap();
                    }
                    Happening::Took(min) => {
                        write!(text, "took {} min", round(min.min_value())).unwrap();
                    }
                }
            }
        }
        parts.push(text);
    }
    for wrong in &spoken.misheard {
        let near = wrong
            .nearest
            .as_ref()
            .map_or(String::new(), |n| format!(" -> {n}"));
        parts.push(format!("! {}{near}", wrong.problem));
    }
    parts.extend(spoken.notes.iter().map(|note| format!("* {note}")));
    parts.join("; ")
}

/// Garden of a line: an `@mdy`, `@dmy` or `@metric` before it changes how dates and temperatures are read.
fn garden_for(said: &str) -> (Garden, &str) {
    let mut g = garden();
    for (mark, order, units) in [
        ("@mdy ", DateOrder::MonthFirst, UnitSystem::Us),
        ("@dmy ", DateOrder::DayFirst, UnitSystem::Metric),
        ("@metric ", DateOrder::Iso, UnitSystem::Metric),
    ] {
        if let Some(rest) = said.strip_prefix(mark) {
            (g.show.dates, g.show.units) = (order, units);
            return (g, rest);
        }
    }
    (g, said)
}

#[test]
fn spoken_cases() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/spoken/cases.txt");
    let stored = std::fs::read_to_string(path).unwrap();
    let today = date("2026-08-12");
    let (mut cases, mut renewed, mut failed) = (0, String::new(), Vec::new());
    for line in stored.lines() {
        if line.is_empty() || line.starts_with('#') {
            renewed += line;
            renewed.push('\n');
            continue;
        }
        let (said, want) = line.split_once(" | ").unwrap_or((line, ""));
        let said = said.trim_end();
        let (garden, text) = garden_for(said);
        let got = words(&garden, &parse(&text.replace("\\n", "\n"), &garden, today));
        if got != want {
            failed.push(format!("{said}\n   got:  {got}\n   want: {want}"));
        }
        writeln!(renewed, "{said:<50} | {got}").unwrap();
        cases += 1;
    }
    if std::env::var_os("PUTBY_RENEW").is_some() {
        std::fs::write(path, renewed).unwrap();
    } else {
        assert!(failed.is_empty(), "{}", failed.join("\n"));
    }
    assert!(cases >= 60, "{cases}");
}

/// Whatever is typed, nothing breaks and every part is answered.
#[test]
fn any_text_is_answered() {
    let g = garden();
    let pieces = [
        "picked",
        "sat",
        "beans",
        "2.5",
        "lb",
        ",",
        "½",
        "1/0",
        "~",
        "''",
        "(",
        ")",
        "of",
        "week",
        "last",
        "-",
        "2026-13-40",
        "🥕",
        "put",
        "3",
        "bags",
        "took",
        "1:99",
        "frost",
        "-400",
        "half",
        "and",
        "a",
        "dozen",
        "in",
        "A",
        "9999999999999999999",
        "\n",
        ";",
        "NaN",
        "inf",
        "1e400",
        "/",
        "-0",
        "kale",
        "ago",
        "days",
        "july",
    ];
    let mut state = 1_u64;
    for _ in 0..5_000 {
        let mut text = String::new();
        for _ in 0..8 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            text += pieces[(state >> 33) as usize % pieces.len()];
            text += if state >> 62 == 0 { "" } else { " " };
        }
        let got = parse(&text, &g, date("2026-08-12"));
        for entry in &got.entries {
            if let Entry::Picked(row) = entry {
                assert!(row.mass.kg().is_finite() && row.mass.kg() >= 0.0, "{text}");
                assert!(row.date <= date("2026-08-12"), "{text}");
            }
        }
    }
}
