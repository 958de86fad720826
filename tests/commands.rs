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
            got.push_str(&common::transcript(&common::putby(scratch.path(), &words)));
        }
        faults.extend(common::compare(&case.join("expected"), &got));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
