//! The help of every verb fits a screen, and an example stands before the options.

mod common;

use std::path::Path;
use std::process::Command;

/// Lines and columns of a usual window.
const SCREEN: (usize, usize) = (40, 100);

const VERBS: [&str; 20] = [
    "week",
    "log",
    "kitchen",
    "sessions",
    "stores",
    "sow",
    "sow by",
    "sow plan",
    "sow after",
    "when",
    "forecast",
    "compare",
    "learn",
    "why",
    "calendar",
    "start",
    "check",
    "report",
    "tables",
    "completions",
];

fn help(words: &str) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_putby"))
        .args(common::words(&format!("{words} --help")))
        .output()
        .expect("the program can be started");
    assert!(output.status.success(), "{words}");
    String::from_utf8(output.stdout).expect("help is UTF-8")
}

#[test]
fn every_help_fits_a_screen() {
    for verb in VERBS.into_iter().chain(["", "man"]) {
        let text = help(verb);
        let widest = text.lines().map(|line| line.chars().count()).max();
        assert!(text.lines().count() <= SCREEN.0, "{verb}:\n{text}");
        assert!(widest <= Some(SCREEN.1), "{verb}:\n{text}");
    }
}

/// The example works: it is asked for its own help, so that its words are those of the command line.
#[test]
fn an_example_stands_first_and_is_no_fiction() {
    assert!(help("").contains("Try it: putby --sample\nUsage:"));
    for verb in VERBS {
        let text = help(verb);
        let usage = text.find("Usage:").expect("help has a usage");
        let example = text.find("\n  putby ").expect("help has an example");
        assert!(example < usage, "{verb}:\n{text}");
        for line in text.lines().filter(|line| line.starts_with("  putby ")) {
            let words = line.split(" > ").next().unwrap_or(line).replace('\'', "\"");
            let mut words = common::words(&words);
            words.remove(0);
            words.push("--help".to_owned());
            let output = common::putby(Path::new("."), &words);
            assert!(output.status.success(), "{line}");
        }
    }
}

/// A run whose error stream is no terminal never shows that it goes on.
#[test]
fn nothing_is_said_of_long_work_to_a_pipe() {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let words = common::words("kitchen --relief --sample --draws 400");
    let output = common::putby(folder.path(), &words);
    assert!(output.status.success());
    assert!(output.stderr.is_empty(), "{:?}", output.stderr);
}
