//! Rewrites dates to year-month-day and numbers to bare numbers in their column's unit, where only one thing can be meant.
//!
//! Changes those cells and nothing else; line ends and a byte-order mark stay, other encodings become UTF-8. Computes the new
//! content; whether and when it is written is the caller's, by [`super::whole::write`].

use super::dates::{self, Reading, reading_of, strip_week};
use super::keys::{self, Section};
use super::loader::Files;
use super::problem::{Findings, Problem};
use super::rows::{Cell, Sheet, Spec};
use super::text::{Source, decode};
use super::{
    beds, events, goals, household, needs, number, picked, plantings, sheets, slips, stations,
    stores, weather,
};
use crate::garden::DateOrder;
use std::ops::Range;

/// A file with what would be rewritten in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mended {
    /// File name.
    pub file: String,
    /// Content as it was read.
    pub before: Vec<u8>,
    /// Content with the cells rewritten.
    pub after: Vec<u8>,
    /// The cells.
    pub changes: Vec<Change>,
}

/// One rewritten cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Line, counted from 1.
    pub line: usize,
    /// Column.
    pub column: String,
    /// What stands there.
    pub from: String,
    /// What is put there.
    pub to: String,
}

/// Columns of a file that hold dates and bare numbers.
struct Columns {
    file: &'static str,
    spec: Spec<'static>,
    dates: &'static [&'static str],
    numbers: &'static [&'static str],
}

const FILES: [Columns; 8] = [
    Columns {
        file: "plantings.csv",
        spec: plantings::SPEC,
        dates: &["sown", "set_out", "cleared"],
        numbers: &[
            "row_ft",
            "row_m",
            "area_sqft",
            "area_m2",
            "plants",
            "days_to_maturity",
            "yield_factor",
        ],
    },
    Columns {
        file: "beds.csv",
        spec: beds::SPEC,
        dates: &["from", "until"],
        numbers: &[
            "length_ft",
            "length_m",
            "width_ft",
            "width_m",
            "yield_factor",
        ],
    },
    Columns {
        file: "needs.csv",
        spec: needs::SPEC,
        dates: &["from", "until"],
        numbers: &["amount_per_week"],
    },
    Columns {
        file: "goals.csv",
        spec: goals::SPEC,
        dates: &["by"],
        numbers: &["containers", "eat_per_week"],
    },
    // An amount of picked.csv may hold its unit.
    Columns {
        file: "picked.csv",
        spec: picked::SPEC,
        dates: &["date"],
        numbers: &[],
    },
    Columns {
        file: "stores.csv",
        spec: stores::SPEC,
        dates: &["date"],
        numbers: &["change"],
    },
    Columns {
        file: "events.csv",
        spec: events::SPEC,
        dates: &["date"],
        numbers: &[],
    },
    Columns {
        file: "weather.csv",
        spec: weather::SPEC,
        dates: &["date"],
        numbers: &["tmin_c", "tmax_c", "tmin_f", "tmax_f"],
    },
];

/// Returns what can be mended without asking, file by file; files that need nothing are left out.
#[must_use]
pub fn fix(files: &Files) -> Vec<Mended> {
    let order = stated_order(files);
    FILES
        .iter()
        .filter_map(|columns| {
            let before = files.content.get(columns.file)?;
            // What is faulty besides is told by loading; here it only stays as it is.
            let mut unheard = Findings::default();
            let source = decode(columns.file, before, &mut unheard)?;
            if stations::layout(&source.text).is_some() {
                return None;
            }
            let edits = edits(&source, columns, order)?;
            Some(mended(columns.file, before, &source, &edits))
        })
        .collect()
}

/// Returns the problem of every table that has cells to mend and is kept in a workbook, where nothing is ever written.
#[must_use]
pub fn in_workbooks(files: &Files) -> Vec<Problem> {
    let open = sheets::laid_open(files, &mut Findings::default());
    let kept = |mended: &Mended| {
        let first = mended.changes.first()?;
        let problem = sheets::refusal(files, &mended.file)?;
        let hint = problem.hint.clone().unwrap_or_default();
        Some(problem.hint(format!(
            "{hint}; or mend it there yourself, first `{}` in row {}, column {}, which is {}",
            first.from, first.line, first.column, first.to
        )))
    };
    fix(&open.files).iter().filter_map(kept).collect()
}

fn stated_order(files: &Files) -> DateOrder {
    let mut unheard = Findings::default();
    let source = files
        .content
        .get("garden.toml")
        .and_then(|bytes| decode("garden.toml", bytes, &mut unheard));
    source.map_or(DateOrder::Iso, |source| {
        let (table, _) = keys::parse(&source, &mut unheard);
        household::show(&Section::root(&source, &table), &mut unheard)
            .map_or(DateOrder::Iso, |show| show.dates)
    })
}

type Edit = (Range<usize>, String, String);

fn edits(source: &Source, columns: &Columns, order: DateOrder) -> Option<Vec<Edit>> {
    let mut unheard = Findings::default();
    let sheet = Sheet::read(source, columns.spec, &mut unheard)?;
    let reading = reading_of(&sheet, columns.dates, order, &mut unheard);
    let mut edits: Vec<Edit> = Vec::new();
    for cell in sheet.cells_of(columns.dates) {
        edits.extend(new_date(&cell, reading).map(|to| (cell.span(), cell.column.to_owned(), to)));
    }
    for cell in sheet.cells_of(columns.numbers) {
        edits.extend(new_number(&cell).map(|to| (cell.span(), cell.column.to_owned(), to)));
    }
    edits.sort_by_key(|e| e.0.start);
    (!edits.is_empty()).then_some(edits)
}

/// Returns the date as year-month-day if it is written otherwise.
fn new_date(cell: &Cell<'_>, reading: Reading) -> Option<String> {
    let bare = strip_week(&cell.text);
    let date = match dates::parse(bare, reading) {
        Ok(date) => date.to_string(),
        // A day of the year needs no year.
        Err(_) if dates::parse_year_day(bare, reading).is_ok() => return None,
        Err(fault) => fault.repair?,
    };
    if date == bare {
        return None;
    }
    let week = if bare.len() < cell.text.len() {
        "week of "
    } else {
        ""
    };
    Some(format!("{week}{date}"))
}

/// Returns the bare number if the cell holds more than that and only one can be meant.
fn new_number(cell: &Cell<'_>) -> Option<String> {
    match number::parse(&cell.text) {
        Some(_) => None,
        None => slips::explain(&cell.text, cell.column).repair,
    }
}

fn mended(file: &str, before: &[u8], source: &Source, edits: &[Edit]) -> Mended {
    let mut text = String::with_capacity(source.text.len());
    let mut at = 0;
    for (span, _, to) in edits {
        text.push_str(&source.text[at..span.start]);
        text.push_str(to);
        at = span.end;
    }
    text.push_str(&source.text[at..]);
    let has = |mark: &[u8]| before.windows(mark.len()).any(|w| w == mark);
    let text = if has(b"\r\n") {
        text.replace('\n', "\r\n")
    } else if has(b"\r") && !has(b"\n") {
        text.replace('\n', "\r")
    } else {
        text
    };
    let mark: &[u8] = if before.starts_with(b"\xEF\xBB\xBF") {
        b"\xEF\xBB\xBF"
    } else {
        b""
    };
    let changes = edits
        .iter()
        .map(|(span, column, to)| Change {
            line: source.line_at(span.start).0,
            column: column.clone(),
            from: super::rows::cell_text(&source.text[span.clone()]).into_owned(),
            to: to.clone(),
        })
        .collect();
    Mended {
        file: file.to_owned(),
        before: before.to_vec(),
        after: [mark, text.as_bytes()].concat(),
        changes,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn run(file: &str, text: &str) -> Option<(String, usize)> {
        let mut files = Files::default();
        files
            .content
            .insert(file.to_owned(), text.as_bytes().to_vec());
        let mended = fix(&files);
        let one = mended.first()?;
        files.content.insert(file.to_owned(), one.after.clone());
        assert!(fix(&files).is_empty(), "mending twice changes nothing more");
        Some((
            String::from_utf8(one.after.clone()).unwrap(),
            one.changes.len(),
        ))
    }

    #[test]
    fn only_dates_and_units_are_rewritten() {
        for (file, before, after, n) in [
            (
                "plantings.csv",
                "bed,crop,sown,row_ft,note\r\nA,kale,5/20/2026,12 ft,\"5/20/2026, 4 m\"\r\nB,kael,\"May 21, 2026\",4 m,\r\n",
                "bed,crop,sown,row_ft,note\r\nA,kale,2026-05-20,12,\"5/20/2026, 4 m\"\r\nB,kael,2026-05-21,13.123,\r\n",
                4,
            ),
            (
                "plantings.csv",
                "bed;crop;sown;row_ft;yield_factor\nA;kale;46162;12,5;85%\n",
                "bed;crop;sown;row_ft;yield_factor\nA;kale;2026-05-20;12.5;0.85\n",
                3,
            ),
            (
                "picked.csv",
                "date,crop,amount\nweek of 8/20/26,kale,2 lb\n",
                "date,crop,amount\nweek of 2026-08-20,kale,2 lb\n",
                1,
            ),
            (
                "needs.csv",
                "food,amount_per_week,from\nkale,2,06-01\nokra,2,13/6/2026\n",
                "food,amount_per_week,from\nkale,2,06-01\nokra,2,2026-06-13\n",
                1,
            ),
        ] {
            assert_eq!(run(file, before), Some((after.to_owned(), n)));
        }
    }

    #[test]
    fn what_may_be_meant_in_two_ways_stays() {
        for (file, text) in [
            (
                "plantings.csv",
                "bed,crop,sown,row_ft\nA,kale,3/4/2026,\"1,200\"\nB,kale,2026-02-30,~5\nC,kale,2026-15-08,2-Jan\n",
            ),
            (
                "plantings.csv",
                "bed,crop,sown,row_ft\nA,kale,2026-05-20,10\n",
            ),
            ("plantings.csv", "no header\n"),
            ("weather.csv", "STATION,DATE,TMAX,TMIN\nX,1/30/2026,5,1\n"),
        ] {
            assert_eq!(run(file, text), None, "{text}");
        }
    }
}
