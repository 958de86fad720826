//! Every folder of `tests/problems` is one damaged garden and, in `expected`, what is said of it.
//!
//! To add a case, add a folder. A folder without `garden.toml` or `plantings.csv` gets a sound one, unless it holds a file
//! named `bare`. A garden that is read in spite of its damage is shown as it was understood. `PUTBY_RENEW=1` rewrites the
//! expectations, for review before they are kept.

use putby::garden::Garden;
use putby::garden::planting::Size;
use putby::input::problem::Kind;
use putby::input::render::render_all;
use putby::input::{Files, load_files};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

const SOUND_TOML: &str = "[site]\nlatitude_deg = 41.5\n\n[frost]\nfirst_fall = \"10-11\"\n";
const SOUND_PLANTINGS: &str = "planting,bed,crop,sown,row_ft\nbeans,North,bush bean,2026-05-20,10\nkale,South,kale,2026-07-01,10\n";

fn cases() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/problems");
    let mut cases: Vec<PathBuf> = std::fs::read_dir(root)
        .expect("the folder of cases is part of the project")
        .flatten()
        .map(|e| e.path())
        .filter(|p| p.is_dir())
        .collect();
    cases.sort();
    cases
}

fn name(path: &Path) -> String {
    path.file_name()
        .map(|n| n.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// Reads a case's files.
fn files(case: &Path) -> Files {
    let mut files = Files {
        name: name(case),
        ..Files::default()
    };
    for entry in std::fs::read_dir(case)
        .expect("a case is a folder")
        .flatten()
    {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name != "expected" {
            let bytes = std::fs::read(entry.path()).expect("a case's file can be read");
            files.content.insert(name, bytes);
        }
    }
    if files.content.remove("bare").is_none() {
        for (name, text) in [
            ("garden.toml", SOUND_TOML),
            ("plantings.csv", SOUND_PLANTINGS),
        ] {
            files
                .content
                .entry(name.to_owned())
                .or_insert_with(|| text.as_bytes().to_vec());
        }
    }
    files
}

/// Shows what a garden was understood to be, as far as the cases touch it.
fn show(garden: &Garden) -> String {
    let mut out = String::from("understood\n");
    for p in &garden.plantings {
        let size = match p.size {
            Size::Row(length) => format!("{:.2} ft of row", length.ft()),
            Size::Area(area) => format!("{:.2} sq ft", area.sqft()),
            Size::Plants(n) => format!("{n} plants"),
        };
        let date = |d: Option<chrono::NaiveDate>| d.map_or("-".to_owned(), |d| d.to_string());
        let _ = writeln!(
            out,
            "planting {}: {} in {}, sown {}, set out {}, cleared {}, {size}",
            p.name,
            garden.crop(p.crop).name,
            garden.bed(p.bed).name,
            date(p.sown),
            date(p.set_out),
            date(p.cleared),
        );
    }
    for p in &garden.record.picked {
        let _ = writeln!(
            out,
            "picked {}{}: {:.2} lb of {}, guess {}, {:?}, from {}",
            p.date,
            if p.whole_week { " (week)" } else { "" },
            p.mass.lb(),
            garden.crop(p.crop).name,
            p.guess,
            p.went,
            p.planting
                .map_or("no one planting", |id| garden.planting(id).name.as_str())
        );
    }
    for s in &garden.record.stores {
        let product = &garden.product(s.product).name;
        let _ = writeln!(out, "stores {}: {} {product}", s.date, s.change);
    }
    for e in &garden.record.events {
        let _ = writeln!(out, "event {}: {:?}", e.date, e.what);
    }
    let dates = garden
        .assumed
        .iter()
        .filter(|a| a.contains("dates are read"));
    for text in dates.chain(&garden.warnings) {
        let _ = writeln!(out, "said: {text}");
    }
    out
}

fn answer(case: &Path) -> String {
    match load_files(&files(case)) {
        Ok(garden) => show(&garden),
        Err(problems) => render_all(&problems, false),
    }
}

#[test]
fn every_damage_is_read_rightly_or_answered() {
    let renew = std::env::var_os("PUTBY_RENEW").is_some();
    let mut wrong = String::new();
    for case in cases() {
        let got = answer(&case);
        let path = case.join("expected");
        if renew {
            std::fs::write(&path, &got).expect("the expectation can be written");
            continue;
        }
        let want = std::fs::read_to_string(&path).unwrap_or_default();
        if got != want {
            let _ = writeln!(
                wrong,
                "{}:\n--- expected\n{want}--- got\n{got}",
                name(&case)
            );
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Every kind of problem has a case that shows it, so that none is dead and none goes unseen.
#[test]
fn every_kind_has_a_case() {
    let all: String = cases()
        .iter()
        .map(|c| std::fs::read_to_string(c.join("expected")).unwrap_or_default())
        .collect();
    // A file that the operating system will not give or take cannot be kept in a folder.
    let missing: Vec<_> = Kind::ALL
        .iter()
        .filter(|k| {
            ![Kind::UnreadableFile, Kind::Unwritable, Kind::Breach].contains(k)
                && !all.contains(&format!("[{}]", k.code()))
        })
        .map(|k| k.code())
        .collect();
    assert!(missing.is_empty(), "no case for {missing:?}");
}

/// Every answer names file and line where there is one, and says what was expected or what to do.
#[test]
fn every_answer_has_place_expectation_and_cure() {
    let mut poor = Vec::new();
    for case in cases() {
        let Err(problems) = load_files(&files(&case)) else {
            continue;
        };
        poor.extend(problems.into_iter().filter(|p| {
            let helps = !p.expected.is_empty() || p.hint.is_some();
            let placed = !p.file.is_empty() && p.line.is_some() != p.text.is_empty();
            !helps || !placed || p.message.is_empty()
        }));
    }
    assert!(poor.is_empty(), "{poor:#?}");
}

#[test]
fn faults_of_several_files_are_told_together() {
    let mut files = Files::default();
    let mut put = |name: &str, text: &str| {
        files
            .content
            .insert(name.to_owned(), text.as_bytes().to_vec())
    };
    put(
        "garden.toml",
        "[site]\nlatitude_deg = 141.5\n\n[frost]\nfirst_fall = \"10-11\"\n",
    );
    put(
        "plantings.csv",
        "bed,crop,sown,row_ft\nA,bush been,2026-05-20,10\n",
    );
    put("beds.csv", "bed,length_ft,width_ft\nA,0,4\n");
    put("needs.csv", "food,amount_per_week,unit\nkale,two,lb\n");
    let problems = load_files(&files).expect_err("four files are faulty");
    let mut seen: Vec<&str> = problems.iter().map(|p| p.file.as_str()).collect();
    seen.sort_unstable();
    assert_eq!(
        seen,
        ["beds.csv", "garden.toml", "needs.csv", "plantings.csv"]
    );
}

/// A long list with many faults is read whole, quickly, and its report is short.
#[test]
fn a_hundred_thousand_rows_with_a_thousand_faults() {
    let mut text = String::from("planting,bed,crop,sown,row_ft\n");
    for i in 0..100_000 {
        let row = if i % 100 == 7 { "ten" } else { "10" };
        let _ = writeln!(text, "p{i},bed {},kale,2026-05-20,{row}", i % 500);
    }
    let mut files = Files::default();
    files
        .content
        .insert("garden.toml".to_owned(), SOUND_TOML.as_bytes().to_vec());
    files
        .content
        .insert("plantings.csv".to_owned(), text.into_bytes());
    let start = std::time::Instant::now();
    let problems = load_files(&files).expect_err("a thousand rows are faulty");
    // It takes well under a second; the bound is wide for slow machines and still catches work that grows with the square.
    assert!(start.elapsed().as_secs() < 10, "{:?}", start.elapsed());
    assert_eq!(problems.len(), 1000);
    assert_eq!(
        (problems[0].line, problems[999].line),
        (Some(9), Some(99_909))
    );
    let report = render_all(&problems, false);
    assert!(report.lines().count() < 60, "{report}");
    assert!(report.contains("995 × not-a-number in plantings.csv"));
}
