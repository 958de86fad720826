//! Every reader on bytes of any kind, and what must hold of whatever it makes of them.
//!
//! Shared by the tests, which hand it cases that were found once, and by `fuzz`, which hands it what nobody thought of.
//! A reader's first byte often chooses: which table, which unit, which kind of workbook; the rest is what is read.
#![allow(clippy::unwrap_used, dead_code, reason = "tests")]

mod books;
mod garden;
mod written;

use putby::garden::Garden;
use putby::garden::site::Climate;
use putby::input::fix::fix;
use putby::input::loader::FILE_NAMES;
use putby::input::problem::Problem;
use putby::input::render::render_all;
use putby::input::text::Source;
use putby::input::{Files, load_files, logbook, plan_file, spoken};
use std::sync::LazyLock;

#[allow(unused_imports, reason = "one user of two needs it")]
pub(crate) use garden::{SOUND, garden, with};

/// Something that reads bytes and panics when what it made of them cannot be.
pub(crate) type Reader = fn(&[u8]);

/// The readers by their names.
pub(crate) const READERS: [(&str, Reader); 7] = [
    ("tables", tables),
    ("settings", settings),
    ("daily", daily),
    ("normals", normals),
    ("workbooks", workbooks),
    ("spoken", said),
    ("plan", plan),
];

/// The sound garden as it is read.
static GARDEN: LazyLock<Garden> =
    LazyLock::new(|| load_files(&garden()).expect("the sound garden is sound"));

/// The files of the sound garden without tables of its own, and how they are read.
static HEARING: LazyLock<(Files, Garden)> = LazyLock::new(|| {
    let mut files = garden();
    for own in ["crops.csv", "methods.csv", "products.csv"] {
        files.content.remove(own);
    }
    let garden = load_files(&files).expect("the sound garden is sound");
    (files, garden)
});

/// Reads a file of rows; the first byte says which.
fn tables(bytes: &[u8]) {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let name = FILE_NAMES[usize::from(first.wrapping_sub(b'a')) % FILE_NAMES.len()];
    if let Some(read) = check(&garden::plainly_with(name, rest)) {
        written::tables_again(name, &read);
    }
}

/// Reads the settings.
fn settings(bytes: &[u8]) {
    check(&garden::plainly_with("garden.toml", bytes));
}

/// Reads a daily record; the first byte says in which unit, or that it does not.
fn daily(bytes: &[u8]) {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let unit = match first {
        b'F' => "weather_unit = \"F\"\n",
        b'C' => "weather_unit = \"C\"\n",
        b'T' => "weather_unit = \"tenths of C\"\n",
        _ => "",
    };
    let mut files = garden::small();
    let toml = format!(
        "{}[climate]\nweather = \"daily.csv\"\n{unit}",
        garden::SMALL
    );
    (files.content).insert("garden.toml".to_owned(), toml.into_bytes());
    (files.content).insert("daily.csv".to_owned(), rest.to_vec());
    let Some(read) = check(&files) else { return };
    let Climate::Daily(weather) = &read.site.climate else {
        panic!("a daily record was read and is not in force");
    };
    assert!(!weather.days.is_empty());
    for day in &weather.days {
        for degrees in [day.min_c, day.max_c].into_iter().flatten() {
            assert!((-95.0..=65.0).contains(&degrees), "{degrees} °C");
        }
    }
    written::daily_again(weather);
}

/// Reads normals, one file or two with a record separator between them.
fn normals(bytes: &[u8]) {
    let mut files = garden::small();
    let mut names = Vec::new();
    for (i, part) in bytes.split(|b| *b == 0x1e).take(3).enumerate() {
        let name = format!("normals_{i}.csv");
        files.content.insert(name.clone(), part.to_vec());
        names.push(format!("\"{name}\""));
    }
    let toml = format!(
        "[site]\nlatitude_deg = 41.5\n[climate]\nnormals = [{}]\n",
        names.join(", ")
    );
    files.content.insert("garden.toml".to_owned(), toml.into());
    check(&files);
}

/// Reads a workbook: bytes as they are, or the parts of one, zipped here.
fn workbooks(bytes: &[u8]) {
    let (name, book) = books::made(bytes);
    let mut files = garden::small();
    files.content.remove("plantings.csv");
    files.content.insert(name.to_owned(), book);
    check(&files);
}

/// Hears what was said, writes it down and reads it again.
fn said(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let (files, garden) = &*HEARING;
    let heard = spoken::parse(text, garden, garden.as_of.unwrap());
    for wrong in &heard.misheard {
        assert!(!wrong.problem.is_empty(), "{wrong:?}");
    }
    if heard.entries.is_empty() {
        return;
    }
    let files = logbook::with(garden, files, &heard.entries);
    if let Some(read) = check(&files) {
        written::entries_again(garden, &heard.entries, &read);
    }
}

/// Reads a plan of processing days.
fn plan(bytes: &[u8]) {
    match plan_file::read(&GARDEN, "plan.csv", bytes) {
        Ok(rows) => written::plan_again(&GARDEN, &rows),
        Err(problems) => {
            let mut files = Files::default();
            files.content.insert("plan.csv".to_owned(), bytes.to_vec());
            told(&problems, &files);
        }
    }
}

/// Loads a garden, mends it, and holds what comes of it against the rules.
pub(crate) fn check(files: &Files) -> Option<Garden> {
    let read = load_files(files);
    mended_once(files, read.as_ref().ok());
    match read {
        Ok(garden) => {
            written::no_figure_that_is_none(&garden);
            Some(garden)
        }
        Err(problems) => {
            told(&problems, files);
            None
        }
    }
}

/// Problems have their places, and can be shown.
fn told(problems: &[Problem], files: &Files) {
    assert!(!problems.is_empty(), "refused without a word");
    for p in problems {
        assert!(!p.file.is_empty() && !p.message.is_empty(), "{p:?}");
        assert!(p.text.get(p.span.clone()).is_some(), "{p:?}");
        assert!(stands_there(p, files), "{p:?}");
    }
    for colour in [false, true] {
        let text = render_all(problems, colour);
        assert!(text.lines().count() < 400);
        assert!(colour || !text.contains(|c: char| c.is_control() && c != '\n'));
    }
}

/// Says whether the line that a problem shows is the line of that number in its file.
fn stands_there(p: &Problem, files: &Files) -> bool {
    let Some(line) = p.line else { return true };
    let Some(bytes) = files.content.get(&p.file) else {
        return line > 0;
    };
    let Ok(text) = std::str::from_utf8(bytes) else {
        return line > 0 && line <= 1 + bytes.len();
    };
    let source = Source::from_text("", text.strip_prefix('\u{FEFF}').unwrap_or(text));
    source.text.split('\n').nth(line - 1) == Some(p.text.as_str())
}

/// Mending once is enough, and a garden that was understood is understood the same.
fn mended_once(files: &Files, before: Option<&Garden>) {
    let all = fix(files);
    if all.is_empty() {
        return;
    }
    let mut mended = files.clone();
    for one in all {
        assert!(!one.changes.is_empty());
        mended.content.insert(one.file, one.after);
    }
    let again = fix(&mended);
    assert!(again.is_empty(), "{again:?}");
    if let Some(before) = before {
        let after = load_files(&mended).unwrap_or_else(|p| panic!("{}", render_all(&p, false)));
        assert_eq!(after.plantings, before.plantings);
        assert_eq!(after.beds, before.beds);
        assert_eq!(after.household.needs, before.household.needs);
        assert_eq!(after.record.picked, before.record.picked);
        assert_eq!(after.record.stores, before.record.stores);
        assert_eq!(after.record.events, before.record.events);
    }
}
