//! Every verb in every form on one garden, and what must hold of whatever it prints or writes.
#![allow(clippy::unwrap_used, dead_code, reason = "tests")]

use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Longest a verb may take; the program as it is tested by default is slower than the one that is used.
const LONGEST: Duration = Duration::from_secs(if cfg!(debug_assertions) { 60 } else { 10 });

/// How an answer is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Text,
    Csv,
    Json,
    Html,
    Calendar,
    Svg,
}

/// Verbs that answer as tables; with those that draw a chart marked.
const TABLES: [(&str, bool); 13] = [
    ("week", false),
    ("stores", true),
    ("kitchen", true),
    ("when", true),
    ("forecast", true),
    ("forecast --by planting", false),
    ("compare", true),
    ("learn", false),
    ("check", false),
    ("sow by", true),
    ("sow after", false),
    ("sessions", true),
    ("tables crops", false),
];
/// Verbs that answer in one form.
const OTHERS: [(&str, Form); 8] = [
    ("sessions --card", Form::Text),
    ("kitchen --relief", Form::Text),
    ("tables products", Form::Text),
    ("completions bash", Form::Text),
    ("man", Form::Text),
    ("calendar", Form::Calendar),
    ("report", Form::Html),
    ("report --sheets", Form::Html),
];

/// Runs every verb in every form, and words of a call of their own; returns what is wrong, call by call.
pub(crate) fn faults(folder: &Path, draws: u32, more: &[Vec<String>]) -> (usize, Vec<String>) {
    let mut wrong = Vec::new();
    let mut calls = 0;
    let draws = ["--draws".to_owned(), draws.to_string()];
    let mut call = |line: Vec<String>, form: Form, chart: bool| {
        let mut line = line;
        line.extend(draws.clone());
        if chart {
            line.extend(["--chart".to_owned(), "chart.svg".to_owned()]);
        }
        calls += 1;
        let chart = folder.join("chart.svg");
        let mut found = one(folder, &line, form);
        if let Ok(svg) = fs::read(&chart) {
            found.extend(held_against(Form::Svg, &svg));
            fs::remove_file(&chart).unwrap();
        }
        wrong.extend(
            found
                .into_iter()
                .map(|f| format!("{}: {f}", line.join(" "))),
        );
    };
    let words = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<_>>();
    for (line, chart) in TABLES {
        for (form, name) in [
            (Form::Text, "table"),
            (Form::Csv, "csv"),
            (Form::Json, "json"),
        ] {
            let mut line = words(line);
            line.extend(["--format".to_owned(), name.to_owned()]);
            call(line, form, chart && form == Form::Text);
        }
    }
    for (line, form) in OTHERS {
        call(words(line), form, false);
    }
    for line in more {
        call(line.clone(), Form::Text, false);
    }
    (calls, wrong)
}

/// Runs one call and holds its output against the rules of its form.
fn one(folder: &Path, line: &[String], form: Form) -> Vec<String> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_putby"))
        .args(line)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let read = |mut from: Box<dyn Read + Send>| {
        std::thread::spawn(move || {
            let mut all = Vec::new();
            from.read_to_end(&mut all).map(|_| all)
        })
    };
    let out = read(Box::new(child.stdout.take().unwrap()));
    let errors = read(Box::new(child.stderr.take().unwrap()));
    let begun = Instant::now();
    let exit = loop {
        if let Some(exit) = child.try_wait().unwrap() {
            break exit;
        }
        if begun.elapsed() > LONGEST {
            child.kill().unwrap();
            child.wait().unwrap();
            return vec![format!("took longer than {LONGEST:?}")];
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    let (out, errors) = (
        out.join().unwrap().unwrap(),
        errors.join().unwrap().unwrap(),
    );
    let mut wrong = held_against(Form::Text, &errors);
    // 2: the verb has no such form, or a word was not understood.
    match exit.code() {
        Some(0 | 1) => wrong.extend(held_against(form, &out)),
        Some(2) if !errors.is_empty() => {}
        code => wrong.push(format!(
            "exit {code:?}: {}",
            String::from_utf8_lossy(&errors).trim()
        )),
    }
    wrong
}

/// Says what is wrong with an output of some form.
fn held_against(form: Form, bytes: &[u8]) -> Vec<String> {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return vec!["not UTF-8".to_owned()];
    };
    let mut wrong = Vec::new();
    // Line ends and tabs stand in quoted fields of CSV, lines of a calendar end in both.
    let allowed: &[char] = match form {
        Form::Csv => &['\n', '\r', '\t'],
        Form::Calendar => &['\n', '\r'],
        _ => &['\n'],
    };
    if let Some(c) = text.chars().find(|c| steers(*c) && !allowed.contains(c)) {
        let at = text.find(c).unwrap();
        let from = text[..at]
            .char_indices()
            .rev()
            .nth(30)
            .map_or(0, |(i, _)| i);
        wrong.push(format!("holds {c:?} behind {:?}", &text[from..at]));
    }
    if form != Form::Calendar && form != Form::Html {
        let mut words = text.split(|c: char| !c.is_alphanumeric());
        if let Some(word) =
            words.find(|w| ["nan", "inf", "infinity"].contains(&w.to_lowercase().as_str()))
        {
            wrong.push(format!("holds the number {word}"));
        }
    }
    wrong.extend(match form {
        Form::Text => Vec::new(),
        Form::Csv => csv(text),
        Form::Json => serde_json::from_str::<serde_json::Value>(text)
            .err()
            .map(|error| format!("JSON: {error}"))
            .into_iter()
            .collect(),
        Form::Html => html(text),
        Form::Calendar => calendar(text),
        Form::Svg => resvg::usvg::roxmltree::Document::parse(text)
            .err()
            .map(|error| format!("SVG: {error}"))
            .into_iter()
            .chain(html(text))
            .collect(),
    });
    wrong
}

/// Characters that move a cursor, ring a bell, colour, turn the reading direction or cannot be seen.
fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2028}' | '\u{2029}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// Every row has the fields of the header, and none is a formula to a spreadsheet.
fn csv(text: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut reader = ::csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes());
    for record in reader.records() {
        match record {
            Ok(record) => wrong.extend(
                record
                    .iter()
                    .filter(|f| f.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']))
                    .filter(|f| f.parse::<f64>().is_err())
                    .map(|f| format!("a formula: {f:?}")),
            ),
            Err(error) => wrong.push(format!("CSV: {error}")),
        }
    }
    wrong
}

/// No name became an element or left its attribute. The program's own pages hold neither scripts nor such handlers.
fn html(text: &str) -> Vec<String> {
    [
        "<script",
        "<img src=x",
        "\" onload=",
        "' onload=",
        "<b>bold",
    ]
    .into_iter()
    .filter(|bad| text.contains(bad))
    .map(|bad| format!("holds {bad:?}"))
    .collect()
}

/// Unfolded lines are properties, and every begin has its end.
fn calendar(text: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    if text.split("\r\n").any(|line| line.len() > 75) {
        wrong.push("a line of more than 75 octets".to_owned());
    }
    let unfolded = text.replace("\r\n ", "");
    let lines: Vec<&str> = unfolded.trim_end_matches("\r\n").split("\r\n").collect();
    let mut open: Vec<&str> = Vec::new();
    for line in lines {
        let name = line.split([':', ';']).next().unwrap_or_default();
        let known = !name.is_empty() && name.chars().all(|c| c.is_ascii_uppercase() || c == '-');
        if line.contains(['\n', '\r']) || !known || name.len() == line.len() {
            wrong.push(format!("not a property: {line:?}"));
        }
        match line.split_once(':') {
            Some(("BEGIN", what)) => open.push(what),
            Some(("END", what)) if open.pop() != Some(what) => {
                wrong.push(format!("ends what it did not begin: {what}"));
            }
            _ => {}
        }
        if open
            .iter()
            .any(|what| !["VCALENDAR", "VEVENT"].contains(what))
        {
            wrong.push(format!("holds {open:?}"));
        }
    }
    if !open.is_empty() {
        wrong.push(format!("{open:?} is not ended"));
    }
    wrong
}
