//! The README's commands are run and its outputs compared, so that it cannot rot.
//!
//! A block fenced as `console` holds commands after `$ ` and what they print. A line of `…` alone stands for any
//! lines that are left out. Commands run one after another in one scratch folder. A block fenced as `csv FILE` is what that
//! file holds from there on. `PUTBY_RENEW=1` rewrites the outputs, keeping as many first lines as stood before a closing `…`.

mod common;

use std::fs;

struct Example {
    line: usize,
    command: String,
    output: Vec<String>,
    /// Files written by hand before it, with what they hold.
    written: Vec<(String, String)>,
}

fn examples(text: &str) -> Vec<Example> {
    let mut found: Vec<Example> = Vec::new();
    let mut inside = false;
    let mut file: Option<(String, String)> = None;
    let mut written = Vec::new();
    for (number, line) in text.lines().enumerate() {
        if line.starts_with("```") {
            inside = line == "```console";
            written.extend(file.take());
            file = line
                .strip_prefix("```csv ")
                .map(|name| (name.to_owned(), String::new()));
        } else if let Some((_, content)) = &mut file {
            content.push_str(line);
            content.push('\n');
        } else if inside {
            if let Some(command) = line.strip_prefix("$ ") {
                found.push(Example {
                    line: number + 1,
                    command: command.to_owned(),
                    output: Vec::new(),
                    written: std::mem::take(&mut written),
                });
            } else if let Some(example) = found.last_mut() {
                example.output.push(line.trim_end().to_owned());
            }
        }
    }
    found
}

/// Says whether the output holds the expected lines in order, with `…` standing for any run of lines.
fn fits(expected: &[String], got: &[String]) -> bool {
    let mut at = 0;
    let mut gap = false;
    for line in expected {
        if line == "…" {
            gap = true;
            continue;
        }
        let found = if gap {
            (at..got.len()).find(|&i| got[i] == *line)
        } else {
            Some(at).filter(|&i| got.get(i) == Some(line))
        };
        let Some(i) = found else { return false };
        at = i + 1;
        gap = false;
    }
    gap || at == got.len()
}

#[test]
fn the_commands_of_the_readme_print_what_it_says() {
    let readme = fs::read_to_string(common::root().join("README.md")).expect("there is a README");
    let scratch = tempfile::tempdir().expect("a scratch folder can be made");
    let found = examples(&readme);
    assert!(
        found.len() >= 6,
        "the README shows only {} commands",
        found.len()
    );
    let mut faults = Vec::new();
    let mut lines: Vec<String> = readme.lines().map(str::to_owned).collect();
    let mut renewed: Vec<(usize, usize, Vec<String>)> = Vec::new();
    for example in &found {
        let command = example.command.replace("cargo run --release --", "putby");
        let mut words = common::words(&command);
        if words[0] != "putby" {
            continue;
        }
        words.remove(0);
        for (name, content) in &example.written {
            fs::write(scratch.path().join(name), content).expect("the file can be written");
        }
        let output = common::putby(scratch.path(), &words);
        let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
        text.push_str(&String::from_utf8_lossy(&output.stderr));
        let got: Vec<String> = text.lines().map(|l| l.trim_end().to_owned()).collect();
        if common::renew() {
            let kept = match example.output.iter().position(|line| line == "…") {
                Some(at) if at + 1 == example.output.len() => got
                    .iter()
                    .take(at)
                    .cloned()
                    .chain(std::iter::once("…".to_owned()))
                    .collect(),
                Some(_) => example.output.clone(),
                None => got,
            };
            renewed.push((example.line, example.output.len(), kept));
        } else if !fits(&example.output, &got) {
            faults.push(format!(
                "README.md:{}: {} now prints\n{text}",
                example.line, example.command
            ));
        }
    }
    if common::renew() {
        for (line, length, kept) in renewed.into_iter().rev() {
            lines.splice(line..line + length, kept);
        }
        let text = lines.join("\n") + "\n";
        fs::write(common::root().join("README.md"), text).expect("the README can be written");
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn gaps_in_examples_match_any_lines() {
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    assert!(fits(&lines("a\n…\nd"), &lines("a\nb\nc\nd")));
    assert!(fits(&lines("a\n…"), &lines("a\nb")));
    assert!(!fits(&lines("a\nc"), &lines("a\nb\nc")));
    assert!(!fits(&lines("a"), &lines("a\nb")));
}
