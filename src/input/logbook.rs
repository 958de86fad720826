//! The log: entries written as rows to the end of `picked.csv`, `stores.csv` and `events.csv`, and taken back.
//!
//! An entry is written only if the garden still loads with it. What the last call added is noted in a small file beside
//! the others, and is taken back only as long as it still stands at the end of its file. Understands no words: that is
//! [`super::spoken`]'s.

use super::loader::{Files, load_files};
use super::problem::{Kind, Problem};
use super::spoken::Entry;
use super::store::{NewRow, grown};
use super::unfinished::finish;
use super::whole::{self, Change, Held, hold, on_disk};
use super::{events, folder, picked, sheets, stores};
use crate::garden::record::{Event, Happening, Picked, StoreChange, Use};
use crate::garden::units::Temperature;
use crate::garden::{Garden, UnitSystem};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Name of the note of what the last call added.
const NOTE: &str = ".putby-last";
/// First line of the note.
const NOTE_HEAD: &str =
    "# What the last `putby log` added; `putby log undo` takes it back. Not worth keeping.";

/// A garden with the content of its files as they were read; nobody else writes to it as long as the log is open.
#[derive(Debug)]
pub struct Logbook {
    /// The garden.
    pub garden: Garden,
    files: Files,
    folder: PathBuf,
    held: Held,
}

/// Opens the log of a garden.
///
/// # Errors
/// Every problem found in any file.
pub fn open(folder: &Path) -> Result<Logbook, Vec<Problem>> {
    let held = hold(folder);
    let files = folder::read_held(&held, folder)?;
    Ok(Logbook {
        garden: load_files(&files)?,
        files,
        folder: folder.to_owned(),
        held,
    })
}

/// Says of every entry whether the garden would load with it and those before it.
///
/// Shape: one result an entry.
#[must_use]
pub fn sound(book: &Logbook, entries: &[Entry]) -> Vec<Result<(), Box<Problem>>> {
    let mut kept = Vec::with_capacity(entries.len());
    let mut answers = Vec::with_capacity(entries.len());
    settle(book, entries, &mut kept, &mut answers);
    answers
}

/// Keeps of some entries those with which the garden still loads; halves them where it does not, since most are well.
fn settle(
    book: &Logbook,
    entries: &[Entry],
    kept: &mut Vec<Entry>,
    answers: &mut Vec<Result<(), Box<Problem>>>,
) {
    let before = kept.len();
    kept.extend_from_slice(entries);
    let Err(problems) = load_files(&with(&book.garden, &book.files, kept)) else {
        answers.extend(entries.iter().map(|_| Ok(())));
        return;
    };
    kept.truncate(before);
    if entries.len() < 2 {
        let problem = problems.into_iter().next().unwrap_or_else(|| {
            Problem::of_file(Kind::Unwritable, "picked.csv", "it does not fit in")
        });
        answers.extend(entries.iter().map(|_| Err(Box::new(problem.clone()))));
        return;
    }
    let (first, second) = entries.split_at(entries.len() / 2);
    settle(book, first, kept, answers);
    settle(book, second, kept, answers);
}

/// Returns the problem with writing some entries, if a table that they go to is kept in a workbook.
#[must_use]
pub fn in_a_workbook(book: &Logbook, entries: &[Entry]) -> Option<Problem> {
    let tables = entries.iter().map(|entry| match entry {
        Entry::Picked(_) => "picked.csv",
        Entry::Stores(_) => "stores.csv",
        Entry::Event(_) => "events.csv",
    });
    tables
        .into_iter()
        .find_map(|t| sheets::refusal(&book.files, t))
}

/// Appends entries and notes what was added, all of it or nothing.
///
/// # Errors
/// A file changed since it was read, is not UTF-8 or cannot be written.
pub fn append(book: &Logbook, entries: &[Entry]) -> Result<(), Box<Problem>> {
    let mut note = format!("{NOTE_HEAD}\n");
    let mut grown = Vec::new();
    for growth in growths(&book.garden, &book.files, entries) {
        let content = growth.content?;
        let (file, rows) = (growth.file, growth.rows);
        note.push_str(&format!("{file} {rows} {}\n", content.len()));
        for line in last_lines(&content, rows) {
            note.push_str(line);
            note.push('\n');
        }
        grown.push((file, growth.known, content));
    }
    let noted = match std::fs::read(book.folder.join(NOTE)) {
        Ok(noted) => Some(noted),
        Err(error) if error.kind() == ErrorKind::NotFound => None,
        Err(error) => return Err(unreadable(NOTE, &error)),
    };
    let mut changes = vec![Change {
        file: NOTE,
        known: noted.as_deref(),
        content: note.as_bytes(),
    }];
    changes.extend(grown.iter().map(|(file, known, content)| Change {
        file,
        known: *known,
        content: content.as_bytes(),
    }));
    whole::write(&book.held, &book.folder, &changes)
}

/// Rows taken back from a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// The file.
    pub file: String,
    /// Its rows as they stood there.
    pub rows: Vec<String>,
}

/// Takes back what the last call of [`append`] added.
///
/// # Errors
/// Nothing is noted, or a file no longer ends with what was added; then every file stands as it was.
pub fn undo(folder: &Path) -> Result<Vec<TakenBack>, Box<Problem>> {
    let held = hold(folder);
    finish(&held, folder)?;
    let note = match std::fs::read_to_string(folder.join(NOTE)) {
        Ok(note) => note,
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        Err(error) => return Err(unreadable(NOTE, &error)),
    };
    if note.is_empty() {
        let message = "there is nothing to take back: nothing was logged since the last undo";
        return Err(Box::new(Problem::of_file(Kind::Unwritable, NOTE, message)));
    }
    let mut jobs = Vec::new();
    for (file, rows, length) in noted(&note).ok_or_else(|| {
        Box::new(
            Problem::of_file(Kind::Unwritable, NOTE, "the note of the last log is broken")
                .hint("remove it; take the last rows out by hand"),
        )
    })? {
        let known =
            std::fs::read(on_disk(folder, &file)).map_err(|error| unreadable(&file, &error))?;
        let text = String::from_utf8_lossy(&known).into_owned();
        let ends = known.len() == length && last_lines(&text, rows.len()) == rows;
        if !ends {
            let message = format!("{file} changed since the last log; nothing was taken back");
            return Err(Box::new(
                Problem::of_file(Kind::Unwritable, &file, message)
                    .hint("take the rows out by hand, in an editor or a spreadsheet"),
            ));
        }
        let content = text[..before_last_lines(&text, rows.len())].to_owned();
        jobs.push((known, content, TakenBack { file, rows }));
    }
    let mut changes: Vec<Change<'_>> = jobs
        .iter()
        .map(|(known, content, back)| Change {
            file: &back.file,
            known: Some(known),
            content: content.as_bytes(),
        })
        .collect();
    changes.push(Change {
        file: NOTE,
        known: Some(note.as_bytes()),
        content: b"",
    });
    whole::write(&held, folder, &changes)?;
    Ok(jobs.into_iter().map(|(.., back)| back).collect())
}

/// Reads a note: file, rows and length for each file; none if it is broken.
fn noted(note: &str) -> Option<Vec<(String, Vec<String>, usize)>> {
    let mut lines = note.strip_prefix(NOTE_HEAD)?.lines().skip(1);
    let mut files = Vec::new();
    while let Some(line) = lines.next() {
        let [file, rows, length] = line.split(' ').collect::<Vec<_>>().try_into().ok()?;
        let known = ["picked.csv", "stores.csv", "events.csv"].contains(&file);
        let count: usize = rows.parse().ok().filter(|_| known)?;
        let rows: Vec<String> = lines.by_ref().take(count).map(str::to_owned).collect();
        (rows.len() == count).then_some(())?;
        files.push((file.to_owned(), rows, length.parse().ok()?));
    }
    Some(files)
}

fn unreadable(file: &str, error: &std::io::Error) -> Box<Problem> {
    let message = format!("{file} cannot be read or written: {error}");
    Box::new(Problem::of_file(Kind::UnreadableFile, file, message))
}

/// Returns the last lines of a text without their ends.
fn last_lines(text: &str, count: usize) -> Vec<&str> {
    text[before_last_lines(text, count)..]
        .split_terminator(['\n', '\r'])
        .filter(|line| !line.is_empty())
        .collect()
}

/// Returns where the last lines of a text begin, in bytes.
fn before_last_lines(text: &str, count: usize) -> usize {
    // Old files end their lines with a carriage return alone.
    let end = if text.contains('\n') { '\n' } else { '\r' };
    let body = text.strip_suffix(end).unwrap_or(text);
    body.rmatch_indices(end)
        .nth(count.saturating_sub(1))
        .map_or(0, |(at, _)| at + 1)
}

/// What one file gets.
struct FileGrowth<'b> {
    file: &'static str,
    known: Option<&'b [u8]>,
    /// How many rows.
    rows: usize,
    /// Content after it.
    content: Result<String, Box<Problem>>,
}

fn growths<'b>(garden: &Garden, files: &'b Files, entries: &[Entry]) -> Vec<FileGrowth<'b>> {
    let rows = |make: &dyn Fn(&Entry) -> Option<NewRow>| entries.iter().filter_map(make).collect();
    let all: [(&'static str, &'static [&'static str], Vec<NewRow>); 3] = [
        (
            "picked.csv",
            picked::SPEC.columns,
            rows(&|entry| match entry {
                Entry::Picked(row) => Some(picked_row(garden, row)),
                _ => None,
            }),
        ),
        (
            "stores.csv",
            stores::SPEC.columns,
            rows(&|entry| match entry {
                Entry::Stores(row) => Some(stores_row(garden, row)),
                _ => None,
            }),
        ),
        (
            "events.csv",
            events::SPEC.columns,
            rows(&|entry| match entry {
                Entry::Event(row) => Some(event_row(garden, row)),
                _ => None,
            }),
        ),
    ];
    all.into_iter()
        .filter(|(.., rows)| !rows.is_empty())
        .map(|(file, columns, rows)| {
            let known = files.content.get(file).map(Vec::as_slice);
            FileGrowth {
                content: grown(file, known, columns, &rows),
                file,
                known,
                rows: rows.len(),
            }
        })
        .collect()
}

/// Returns a garden's files as they would be with some entries; nothing is written.
///
/// A file to which nothing can be added stays as it is.
#[must_use]
pub fn with(garden: &Garden, files: &Files, entries: &[Entry]) -> Files {
    let mut grown = files.clone();
    for growth in growths(garden, files, entries) {
        if let Ok(content) = growth.content {
            grown.content.insert(growth.file.to_owned(), content.into());
        }
    }
    grown
}

fn row<const N: usize>(cells: [(&str, String); N]) -> NewRow {
    cells
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(column, value)| (column.to_owned(), value))
        .collect()
}

fn picked_row(garden: &Garden, picked: &Picked) -> NewRow {
    let bed = picked
        .bed
        .or(picked.planting.map(|p| garden.planting(p).bed));
    // A planting is named only where its bed and crop do not tell it from another.
    let twins = garden.plantings.iter().filter(|other| {
        let crop = garden.crop(other.crop);
        let second = crop.second.as_ref().map(|s| s.crop);
        Some(other.bed) == bed && (other.crop == picked.crop || second == Some(picked.crop))
    });
    let named = picked.planting.filter(|_| twins.count() > 1);
    let (amount, unit) = match garden.show.units {
        UnitSystem::Us => (picked.mass.lb(), "lb"),
        UnitSystem::Metric => (picked.mass.kg(), "kg"),
    };
    let week = if picked.whole_week { "week of " } else { "" };
    let went = Use::NAMES.iter().find(|(_, went)| *went == picked.went);
    row([
        ("date", format!("{week}{}", picked.date)),
        (
            "bed",
            bed.map_or_else(String::new, |b| garden.bed(b).name.clone()),
        ),
        ("crop", garden.crop(picked.crop).name.clone()),
        (
            "planting",
            named.map_or_else(String::new, |p| garden.planting(p).name.clone()),
        ),
        ("amount", short(amount)),
        ("unit", unit.to_owned()),
        ("guess", if picked.guess { "yes" } else { "" }.to_owned()),
        ("use", went.map_or("", |(name, _)| name).to_owned()),
        ("note", picked.note.clone().unwrap_or_default()),
    ])
}

fn stores_row(garden: &Garden, change: &StoreChange) -> NewRow {
    let sign = if change.change > 0.0 { "+" } else { "" };
    row([
        ("date", change.date.to_string()),
        ("product", garden.product(change.product).name.clone()),
        ("change", format!("{sign}{}", short(change.change))),
        ("note", change.note.clone().unwrap_or_default()),
    ])
}

fn event_row(garden: &Garden, event: &Event) -> NewRow {
    let name = |p| garden.planting(p).name.clone();
    let degrees = |c: f64| match garden.show.units {
        UnitSystem::Us => short(Temperature::from_c(c).f()),
        UnitSystem::Metric => short(c),
    };
    let (what, planting, value) = match event.what {
        Happening::Frost(c) => ("frost", String::new(), c.map_or_else(String::new, degrees)),
        Happening::Ended(planting) => ("ended", name(planting), String::new()),
        Happening::Up(planting) => ("up", name(planting), String::new()),
        Happening::Took(minutes) => ("took", String::new(), short(minutes.min_value())),
    };
    row([
        ("date", event.date.to_string()),
        ("what", what.to_owned()),
        ("planting", planting),
        ("value", value),
    ])
}

/// Writes a number with three decimals at most.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
