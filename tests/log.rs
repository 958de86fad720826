//! The log on the disk: whole lines only, taken back only while they stand untouched, and never a row that would not load.
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use std::fs;
use std::path::Path;

/// Logs in a folder and returns the exit code.
fn log(folder: &Path, words: &str) -> i32 {
    let mut arguments = vec!["log".to_owned()];
    arguments.extend(words.split(' ').map(str::to_owned));
    common::putby(folder, &arguments).status.code().unwrap()
}

fn garden(picked: Option<&str>) -> tempfile::TempDir {
    let scratch = tempfile::tempdir().unwrap();
    common::copy_folder(
        &common::root().join("tests/cases/log-misheard"),
        scratch.path(),
    );
    if let Some(text) = picked {
        fs::write(scratch.path().join("picked.csv"), text).unwrap();
    }
    scratch
}

#[test]
fn what_is_taken_back_leaves_the_file_as_it_was() {
    for before in [
        "date,crop,amount\n2026-07-04,bush bean,1 lb\n",
        "\u{FEFF}bed;date;crop;amount;unit;guess\r\n;2026-07-04;bush bean;1 lb;;\r\n",
        "# ours\ndate\tcrop\tamount\tnote\tunit\tbed\n2026-07-04\tbush bean\t1\tx\tlb\t\n",
    ] {
        let scratch = garden(Some(before));
        let path = scratch.path().join("picked.csv");
        assert_eq!(log(scratch.path(), "picked sat beans 2.5 lb, okra 1 lb"), 0);
        let grown = fs::read_to_string(&path).unwrap();
        assert_eq!(grown.lines().count(), before.lines().count() + 2, "{grown}");
        assert!(grown.ends_with('\n'));
        assert_eq!(log(scratch.path(), "undo"), 0);
        // Columns that the log added to the header stay; the rows are as they were.
        let back = fs::read_to_string(&path).unwrap();
        let rows = |text: &str| text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
        if before.starts_with('#') || before.contains("guess") {
            assert_eq!(back, before);
        } else {
            assert_eq!(rows(&back), rows(before));
        }
        assert_eq!(log(scratch.path(), "undo"), 3, "only once");
    }
}

#[test]
fn a_file_that_changed_since_is_left_alone() {
    let scratch = garden(None);
    let path = scratch.path().join("picked.csv");
    assert_eq!(log(scratch.path(), "beans 2 lb"), 0);
    let logged = fs::read_to_string(&path).unwrap();
    for changed in [
        format!("{logged}2026-07-05,south,bush bean,,3,lb,,,\n"),
        logged.replace("2,lb", "7,lb"),
        logged.replace('\n', "\r\n"),
    ] {
        fs::write(&path, &changed).unwrap();
        assert_eq!(log(scratch.path(), "undo"), 3);
        assert_eq!(fs::read_to_string(&path).unwrap(), changed);
    }
    fs::write(&path, &logged).unwrap();
    assert_eq!(log(scratch.path(), "undo"), 0);
    assert_eq!(fs::read_to_string(&path).unwrap().lines().count(), 1);
}

#[test]
fn a_note_that_names_another_file_is_refused() {
    let scratch = garden(None);
    assert_eq!(log(scratch.path(), "beans 2 lb"), 0);
    let note = scratch.path().join(".putby-last");
    let text = fs::read_to_string(&note).unwrap();
    fs::write(&note, text.replace("picked.csv", "../garden.toml")).unwrap();
    assert_eq!(log(scratch.path(), "undo"), 3);
}

#[test]
fn the_garden_still_loads_after_every_log() {
    let scratch = garden(None);
    for words in [
        "picked yesterday beans 1 lb, okra ~2 lb, chard 1 bunch",
        "beans 1 lb; chard 1 lb north given",
        "put 2 frozen beans, 1 frozen okra",
        "frost last night 29 F, took 95 min",
        "up late chard",
    ] {
        let exit = log(scratch.path(), words);
        assert!(exit == 0, "{words}: {exit}");
        let check = common::putby(scratch.path(), &["check".to_owned()]);
        assert!(check.status.code().unwrap() <= 1, "{words}");
    }
}
