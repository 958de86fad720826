//! Facts as a workbook: real dates and numbers in SI and in full, under a header row that stays in sight.
//!
//! Text is always text: no cell can become a formula or a link, whatever it begins with, so nothing needs an apostrophe before
//! it. Equal facts give equal bytes: the only moment in the file is the day the answer is for. A second sheet says what the
//! figures rest on.

use super::csv::harmless;
use super::report::{Facts, Stamp};
use super::table::{Cell, Fact};
use super::text;
use chrono::{Datelike, NaiveDate};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

/// Longest text that a cell of a workbook holds, in UTF-16 units.
const LONGEST_TEXT: usize = 32_767;
/// Narrowest and widest column, in characters.
const WIDTHS: (usize, usize) = (8, 60);

/// Writes the facts as the first sheet of a workbook, and their stamp as the second.
///
/// # Errors
/// There are more rows or columns than a sheet has room for.
pub fn render(facts: &Facts, stamp: &Stamp) -> Result<Vec<u8>, String> {
    workbook(facts, stamp).map_err(|error| error.to_string())
}

fn workbook(facts: &Facts, stamp: &Stamp) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let mut properties = DocProperties::new().set_title(harmless(&stamp.garden));
    if let Some(day) = serial(stamp.as_of) {
        properties = properties.set_creation_datetime(&day);
    }
    book.set_properties(&properties);
    let bold = Format::new().set_bold();
    let date = Format::new().set_num_format("yyyy-mm-dd");

    let sheet = book.add_worksheet().set_name("answer")?;
    sheet.set_freeze_panes(1, 0)?;
    for (c, key) in facts.keys.iter().enumerate() {
        let c = u16::try_from(c).map_err(|_| XlsxError::RowColumnLimitError)?;
        let cells = facts.rows.iter().filter_map(|row| row.get(usize::from(c)));
        let widest = cells.map(width).max().unwrap_or(0).max(text::width(key));
        // Two more for the margin and the bold of the header.
        sheet.set_column_width(c, (widest + 2).clamp(WIDTHS.0, WIDTHS.1) as f64)?;
        sheet.write_string_with_format(0, c, held(key), &bold)?;
    }
    for (r, row) in facts.rows.iter().enumerate() {
        let r = u32::try_from(r + 1).map_err(|_| XlsxError::RowColumnLimitError)?;
        for (c, cell) in (0..).zip(row) {
            put(sheet, (r, c), cell, &date)?;
        }
    }

    let about = book.add_worksheet().set_name("about")?;
    about.set_column_width(0, 14)?.set_column_width(1, 60)?;
    let drawn = |n: Option<u64>| n.map_or(Cell::Empty, |n| Cell::text(n.to_string()));
    let lines = [
        ("garden", Cell::text(stamp.garden.clone())),
        ("as of", Cell::Date(stamp.as_of)),
        ("seasons drawn", drawn(stamp.draws.map(|n| n as u64))),
        ("random seed", drawn(stamp.random_seed)),
        ("putby", Cell::text(stamp.version.clone())),
    ];
    let given = lines.iter().filter(|(_, cell)| *cell != Cell::Empty);
    for (r, (name, cell)) in (0..).zip(given) {
        about.write_string_with_format(r, 0, *name, &bold)?;
        put(about, (r, 1), cell, &date)?;
    }
    book.save_to_buffer()
}

/// Writes one cell.
fn put(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    cell: &Cell,
    date: &Format,
) -> Result<(), XlsxError> {
    let day = match cell {
        Cell::Date(day) => serial(*day),
        Cell::Week(week) => serial(week.monday()),
        _ => None,
    };
    if let Some(day) = day {
        sheet.write_datetime_with_format(row, column, &day, date)?;
        return Ok(());
    }
    match cell.for_machines() {
        Fact::Nothing => {}
        Fact::Text(text) => _ = sheet.write_string(row, column, held(&text))?,
        Fact::Number(number) => _ = sheet.write_number(row, column, number)?,
        // A workbook's numbers are exact up to 2⁵³; no count of ours comes near it.
        Fact::Whole(number) => _ = sheet.write_number(row, column, number as f64)?,
        Fact::Bool(yes) => _ = sheet.write_boolean(row, column, yes)?,
    }
    Ok(())
}

/// Returns a day as workbooks count it; none before 1900, which they do not know.
fn serial(day: NaiveDate) -> Option<ExcelDateTime> {
    let year = u16::try_from(day.year()).ok()?;
    ExcelDateTime::from_ymd(year, day.month() as u8, day.day() as u8).ok()
}

/// Returns text without characters that steer a reader, cut where a cell is full.
fn held(words: &str) -> String {
    let mut room = LONGEST_TEXT;
    let fits = |c: &char| {
        let left = room.checked_sub(c.len_utf16());
        room = left.unwrap_or(0);
        left.is_some()
    };
    harmless(words).chars().take_while(fits).collect()
}

/// Returns about how many characters a cell shows.
fn width(cell: &Cell) -> usize {
    match cell.for_machines() {
        Fact::Nothing => 0,
        Fact::Text(words) => words.lines().map(text::width).max().unwrap_or(0),
        // As many digits as a spreadsheet shows before it rounds.
        Fact::Number(number) => number.to_string().len().min(10),
        Fact::Whole(number) => number.to_string().len(),
        Fact::Bool(_) => 5,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};

    fn stamp() -> Stamp {
        Stamp {
            version: "1.2".to_owned(),
            garden: "=cmd|' /C calc'!A0".to_owned(),
            as_of: "2026-07-13".parse().unwrap(),
            random_seed: Some(1),
            draws: None,
        }
    }

    fn read(bytes: &[u8], sheet: &str) -> Vec<Vec<Data>> {
        let mut book: Xlsx<_> = open_workbook_from_rs(std::io::Cursor::new(bytes)).unwrap();
        assert!(book.worksheet_formula(sheet).unwrap().is_empty());
        let range = book.worksheet_range(sheet).unwrap();
        range.rows().map(<[Data]>::to_vec).collect()
    }

    #[test]
    fn dates_and_numbers_are_real_and_text_stays_text() {
        let mut facts = Facts::new(&["day", "kg", "words", "sure"]);
        let hostile = [
            "=1+1",
            "+1",
            "@SUM(A1)",
            "http://example.org",
            "{=1}",
            "_x0041_",
        ];
        for words in hostile {
            facts.push(vec![
                Cell::Date("2026-02-28".parse().unwrap()),
                Cell::Number(0.1, 0),
                Cell::text(words),
                Cell::Bool(true),
            ]);
        }
        facts.push(vec![
            Cell::Empty,
            Cell::Number(f64::INFINITY, 0),
            Cell::text("a\u{202E}b\u{1}".to_owned() + &"x".repeat(40_000)),
            Cell::Empty,
        ]);
        let bytes = render(&facts, &stamp()).unwrap();
        let rows = read(&bytes, "answer");
        for (row, words) in rows[1..].iter().zip(hostile) {
            let Data::DateTime(day) = row[0] else {
                panic!("{:?} is no date", row[0])
            };
            // 46,081 days after the last day of 1899, as every spreadsheet counts them.
            assert_eq!(day.as_f64(), 46_081.0);
            assert_eq!(row[1], Data::Float(0.1));
            assert_eq!(row[2], Data::String(words.to_owned()));
            assert_eq!(row[3], Data::Bool(true));
        }
        let Data::String(long) = &rows[7][2] else {
            panic!("no text")
        };
        assert!(long.starts_with("a\u{FFFD}b\u{FFFD}x") && long.len() < 40_000);
        assert_eq!((&rows[7][0], &rows[7][1]), (&Data::Empty, &Data::Empty));
        let about = read(&bytes, "about");
        assert_eq!(about[0][1], Data::String(stamp().garden));
        assert_eq!(about.len(), 4, "what is not given is left out");
    }

    #[test]
    fn equal_facts_give_equal_bytes() {
        let mut facts = Facts::new(&["n"]);
        facts.push(vec![Cell::Count(1)]);
        let first = render(&facts, &stamp()).unwrap();
        std::thread::sleep(std::time::Duration::from_millis(1100));
        assert_eq!(first, render(&facts, &stamp()).unwrap());
    }
}
