//! Every folder in `tests/cases`: files of a garden, a `command`, and the `expected` output with its exit code.
//!
//! Adding a case is adding a folder. `PUTBY_RENEW=1 cargo test --test commands` rewrites the expected outputs.

mod common;

use std::fs;

#[test]
fn every_case_gives_what_is_expected() {
    let cases = common::folders(&common::root().join("tests/cases"));
    assert!(!cases.is_empty(), "there are no cases");
    let mut faults = Vec::new();
    for case in &cases {
        let command = fs::read_to_string(case.join("command")).expect("a case has a command");
        let scratch = tempfile::tempdir().expect("a scratch folder can be made");
        common::copy_folder(case, scratch.path());
        for stored in ["command", "expected"] {
            let _ = fs::remove_file(scratch.path().join(stored));
        }
        let mut got = String::new();
        for line in command.lines().filter(|line| !line.trim().is_empty()) {
            got.push_str(&format!("$ {line}\n"));
            let mut words = common::words(line);
            assert_eq!(
                words.remove(0),
                "putby",
                "{}: a command starts with putby",
                case.display()
            );
            got.push_str(&common::as_shown(&common::putby(scratch.path(), &words)));
        }
        faults.extend(common::compare(&case.join("expected"), &got));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Every page for the cook fits one printed side and shows no minutes at a canner step.
#[test]
fn pages_for_the_cook_fit_one_side() {
    let nowhere = tempfile::tempdir().expect("a scratch folder can be made");
    let run = |more: &str| -> String {
        let line = format!("sessions --sample --draws 200 --weeks 20 {more}");
        let output = common::putby(nowhere.path(), &common::words(&line));
        assert!(output.status.success(), "{line}");
        String::from_utf8(output.stdout).expect("text is UTF-8")
    };
    let rows = run("--format csv");
    let mut days: Vec<&str> = rows
        .lines()
        .skip(1)
        .filter_map(|row| row.split(',').next())
        .collect();
    days.dedup();
    assert!(days.len() > 5, "{rows}");
    for day in days.into_iter().take(8) {
        let page = run(&format!("--card {day}"));
        assert!(page.lines().count() <= 60, "{page}");
        assert!(page.contains("Clean up and write the labels."), "{page}");
        if page.contains("at the canner") {
            assert!(
                page.contains("your altitude") && page.contains("tested recipe"),
                "{page}"
            );
        }
    }
}
