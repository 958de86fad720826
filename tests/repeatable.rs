//! The same question gives the same bytes: on every run, and with one thread as with four.

mod common;

use std::fs;
use std::path::Path;
use std::process::Command;

/// What is asked, and the files it writes beside its answer.
const ASKED: [&str; 25] = [
    "check",
    "week",
    "when --chart when.svg",
    "when --format csv",
    "forecast --chart forecast.svg",
    "forecast --by planting --format json",
    "kitchen --chart kitchen.svg",
    "kitchen --format json",
    "kitchen --relief --format json",
    "sessions --weeks 4 --chart sessions.svg",
    "sessions --weeks 4 --format csv",
    "sessions --weeks 4 --card",
    "stores --chart stores.svg",
    "stores --format json",
    "sow by lettuce kale --chart by.svg",
    "sow by lettuce kale --format csv",
    "sow after --format json",
    "sow plan --most 3 --format json",
    "compare --chart compare.svg --format json",
    "compare --chart compare.png",
    "learn --format csv",
    "why 2026-08-12",
    "calendar --weeks 3 -o calendar.ics",
    "report -o report.html",
    "report --sheets -o sheets.html",
];

/// Everything that a run gives: exit code, both streams, and the files in order of their names.
fn given(line: &str, threads: &str) -> Vec<(String, Vec<u8>)> {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let words = common::words(&format!("{line} --sample --draws 60"));
    let output = Command::new(env!("CARGO_BIN_EXE_putby"))
        .args(words)
        .current_dir(folder.path())
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .expect("the program can be started");
    let code = output.status.code().unwrap_or(-1);
    assert!(
        code == 0 || (code == 1 && line == "check"),
        "{line}: {code}"
    );
    let mut all = vec![
        ("screen".to_owned(), output.stdout),
        ("error stream".to_owned(), output.stderr),
    ];
    all.extend(files(folder.path()));
    all
}

fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found: Vec<(String, Vec<u8>)> = fs::read_dir(folder)
        .expect("the folder can be read")
        .map(|entry| {
            let path = entry.expect("the folder can be listed").path();
            let name = path.file_name().expect("a file has a name");
            (
                name.to_string_lossy().into_owned(),
                fs::read(&path).expect("a file can be read"),
            )
        })
        .collect();
    found.sort();
    found
}

#[test]
fn every_answer_is_the_same_every_time() {
    for line in ASKED {
        let first = given(line, "1");
        assert!(
            first.iter().any(|(_, bytes)| !bytes.is_empty()),
            "{line} gives nothing"
        );
        for threads in ["1", "4"] {
            for (a, b) in first.iter().zip(given(line, threads)) {
                assert_eq!(a.0, b.0, "{line}");
                assert!(a.1 == b.1, "{line}: {} differs with {threads} threads", a.0);
            }
        }
    }
}

/// Another seed gives other figures, so that equal bytes above are not those of a constant.
#[test]
fn another_seed_is_another_answer() {
    let one = given("forecast --format csv", "2");
    let two = given("forecast --format csv --random-seed 2", "2");
    assert!(one[0].1 != two[0].1);
}
