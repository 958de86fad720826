//! A workbook's bytes as sheets of text: every cell as a spreadsheet would write it into a CSV file.
//!
//! Real dates become year-month-day, numbers lose the dust of binary fractions, formulas give the value saved with them. What
//! cannot be a household's table (a workbook that unpacks to hundreds of megabytes, a cell at the far end of the sheet) is
//! refused before it fills memory: `workbook_parts` looks a workbook through before the library that reads it sees
//! it, and what the library cannot stand all the same is answered as damage. Knows no tables and no columns: which sheet is
//! what is [`super::sheets`]'s.

use super::contained::contained;
use super::problem::{Kind, Problem};
use super::workbook_parts::{Book, MOST_CELLS, MOST_TEXT, MOST_WIDTH, looked_through};
use calamine::{Data, Ods, Reader, SheetType, Xlsx, XlsxFormulaMetadata, open_workbook_from_rs};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Display;
use std::io::Cursor;
use std::ops::Range;

/// Days of the years 1 to 9999 as .xlsx counts them, from the end of 1899.
const DAYS: std::ops::RangeInclusive<f64> = -693_593.0..=2_958_465.0;

/// One sheet of a workbook: its cells that hold something.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Leaf {
    /// Name on the sheet's tab.
    pub name: String,
    /// Cells by row and column, both counted from 0.
    cells: BTreeMap<(u32, u32), Written>,
    /// Columns up to the last that holds something.
    width: u32,
    /// Bytes of all cells.
    bytes: usize,
}

/// What a cell holds.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Written {
    text: String,
    /// Whether it is an error, or a formula whose value was not saved.
    broken: bool,
}

/// A sheet as text that the reader of CSV files takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Laid {
    /// One line for each row of the sheet, blank rows included, so that lines count as the sheet's rows do.
    pub text: String,
    /// Bytes of the cells that hold an error, or a formula without its value.
    pub broken: Vec<Range<usize>>,
}

impl Leaf {
    /// Says whether no cell holds anything.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    /// Writes the sheet as lines of cells with commas between them.
    #[must_use]
    pub fn laid(&self) -> Laid {
        let mut text = String::with_capacity(self.bytes + self.cells.len() * 2);
        let mut broken = Vec::new();
        let mut line = 0;
        let mut cells = self.cells.iter().peekable();
        while let Some(&(&(row, _), first)) = cells.peek() {
            text.extend(std::iter::repeat_n('\n', (row - line) as usize));
            line = row;
            // A remark may hold commas; quotes around it would make a row of it.
            let remark =
                first.text == "#" || ["# ", "##"].iter().any(|s| first.text.starts_with(s));
            let mut filled = 0;
            while let Some((&(_, column), cell)) = cells.next_if(|((r, _), _)| *r == row) {
                text.extend(std::iter::repeat_n(',', (column - filled) as usize));
                filled = column;
                let start = text.len();
                if !remark && cell.text.contains([',', ';', '"']) {
                    text.push('"');
                    text.push_str(&cell.text.replace('"', "\"\""));
                    text.push('"');
                } else {
                    text.push_str(&cell.text);
                }
                if cell.broken {
                    broken.push(start..text.len());
                }
            }
            let rest = self.width.saturating_sub(filled + 1);
            text.extend(std::iter::repeat_n(',', rest as usize));
            text.push('\n');
            line += 1;
        }
        Laid { text, broken }
    }

    /// Adds a cell; refuses one that makes the workbook larger than any household's tables.
    fn put(
        &mut self,
        at: (u32, u32),
        (text, broken): (String, bool),
        taken: &mut Taken,
    ) -> Result<(), Refusal> {
        // Blanks count too: one long text may stand in any number of cells.
        taken.bytes += text.len() as u64;
        if taken.bytes > MOST_TEXT {
            return Err(Refusal::TooLarge(format!(
                "the sheet {} holds more text than any garden's table",
                self.name
            )));
        }
        let text = one_line(text);
        if text.is_empty() {
            return Ok(());
        }
        self.width = self.width.max(at.1 + 1);
        self.bytes += text.len();
        self.cells.insert(at, Written { text, broken });
        if self.width > MOST_WIDTH || taken.cells + self.area() > MOST_CELLS {
            return Err(Refusal::TooLarge(format!(
                "the sheet {} reaches to cell {}{}, further than any garden's table",
                self.name,
                letters(self.width as usize - 1),
                self.rows(),
            )));
        }
        Ok(())
    }

    /// Returns the rows up to the last that holds something.
    fn rows(&self) -> u32 {
        self.cells
            .last_key_value()
            .map_or(0, |((row, _), _)| row + 1)
    }

    /// Returns the cells from the first to the last that holds something.
    fn area(&self) -> u64 {
        u64::from(self.rows()) * u64::from(self.width)
    }
}

/// What the sheets read so far have taken.
#[derive(Debug, Default)]
struct Taken {
    cells: u64,
    bytes: u64,
}

/// Why a file is not read as a workbook.
#[derive(Debug)]
pub(super) enum Refusal {
    /// It is none, or a broken or locked one.
    NotAWorkbook(String),
    /// It is larger than anything a garden needs.
    TooLarge(String),
}

impl Refusal {
    /// Takes over what a reader of workbooks complains of.
    pub(super) fn of(error: impl Display) -> Self {
        Self::NotAWorkbook(format!("it cannot be opened as a workbook ({error})"))
    }

    /// Says what of a workbook cannot be.
    pub(super) fn damaged(what: impl Display) -> Self {
        Self::NotAWorkbook(format!("it is damaged inside ({what})"))
    }
}

/// Reads the sheets of a workbook, .xlsx or .ods by its content, in the order of their tabs.
///
/// # Errors
/// The problem that keeps it from being read.
pub fn read(name: &str, bytes: &[u8]) -> Result<Vec<Leaf>, Box<Problem>> {
    let leaves = contained(|| match looked_through(bytes)? {
        Book::Xlsx(bytes) => xlsx(&bytes),
        Book::Ods(bytes) => ods(&bytes),
    });
    let damaged = || Err(Refusal::NotAWorkbook("it is damaged inside".to_owned()));
    leaves.unwrap_or_else(damaged).map_err(|refusal| {
        Box::new(match refusal {
            Refusal::NotAWorkbook(why) => {
                Problem::of_file(Kind::NotAWorkbook, name, format!("{name}: {why}"))
                    .expected(
                        "a workbook as a spreadsheet saves it, .xlsx or .ods, without a password",
                    )
                    .hint(
                        "open it in the spreadsheet and save it again, as .xlsx, .ods or CSV UTF-8",
                    )
            }
            Refusal::TooLarge(why) => Problem::of_file(
                Kind::SheetTooLarge,
                name,
                format!("{name}: {why}"),
            )
            .expected("a table of at most some hundred thousand rows")
            .hint(
                "delete what stands far below or beside the table, or save the table as CSV UTF-8",
            ),
        })
    })
}

fn xlsx(bytes: &[u8]) -> Result<Vec<Leaf>, Refusal> {
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).map_err(Refusal::of)?;
    let (mut leaves, mut taken) = (Vec::new(), Taken::default());
    for name in tabs(book.sheets_metadata())? {
        let mut leaf = Leaf {
            name,
            ..Leaf::default()
        };
        let mut cells = book
            .worksheet_cells_reader(&leaf.name)
            .map_err(Refusal::of)?;
        while let Some(cell) = cells
            .next_cell_with_formula_metadata()
            .map_err(Refusal::of)?
        {
            let formula = cell.formula.as_ref().map(|formula| match formula {
                XlsxFormulaMetadata::Normal { formula }
                | XlsxFormulaMetadata::Shared { formula, .. } => formula.as_str(),
                _ => "",
            });
            leaf.put(cell.pos, written(&cell.value.into(), formula), &mut taken)?;
        }
        taken.cells += leaf.area();
        leaves.push(leaf);
    }
    Ok(leaves)
}

fn ods(bytes: &[u8]) -> Result<Vec<Leaf>, Refusal> {
    let mut book: Ods<_> = open_workbook_from_rs(Cursor::new(bytes)).map_err(Refusal::of)?;
    let (mut leaves, mut taken) = (Vec::new(), Taken::default());
    for name in tabs(book.sheets_metadata())? {
        let values = book.worksheet_range(&name).map_err(Refusal::of)?;
        let formulas = book.worksheet_formula(&name).map_err(Refusal::of)?;
        let mut leaf = Leaf {
            name,
            ..Leaf::default()
        };
        let (row, column) = values.start().unwrap_or_default();
        // A formula without a value is one whose value is the empty text: this kind of workbook then writes none.
        for (r, c, value) in values.used_cells() {
            let at = (row + r as u32, column + c as u32);
            let formula = formulas.get_value(at).filter(|f| !f.is_empty());
            let written = written(value, formula.map(String::as_str));
            leaf.put(at, written, &mut taken)?;
        }
        taken.cells += leaf.area();
        leaves.push(leaf);
    }
    Ok(leaves)
}

fn tabs(sheets: &[calamine::Sheet]) -> Result<Vec<String>, Refusal> {
    let tables = sheets.iter().filter(|s| s.typ == SheetType::WorkSheet);
    let names: Vec<String> = tables.map(|s| s.name.clone()).collect();
    // The library finds a sheet by its name, so the second would never be read.
    if names.iter().collect::<BTreeSet<_>>().len() < names.len() {
        return Err(Refusal::damaged("two sheets of one name"));
    }
    Ok(names)
}

/// Writes a value as CSV would have it, and says whether it is broken.
fn written(value: &Data, formula: Option<&str>) -> (String, bool) {
    match (value, formula) {
        (Data::Empty, Some(formula)) => (format!("={formula}"), true),
        (Data::Error(error), _) => (error.to_string(), true),
        // The other kind of workbook keeps the error as the text that is shown.
        (Data::String(text), Some(_)) if text.starts_with('#') || text.starts_with("Err:") => {
            (text.clone(), true)
        }
        _ => (shown(value), false),
    }
}

fn shown(value: &Data) -> String {
    match value {
        Data::Int(number) => number.to_string(),
        Data::Float(number) => decimal(*number),
        Data::String(text) | Data::DurationIso(text) => text.clone(),
        Data::Bool(yes) => if *yes { "TRUE" } else { "FALSE" }.to_owned(),
        Data::DateTimeIso(text) => match text.split_once('T') {
            Some((day, time)) if time.trim_matches(['0', ':', '.', 'Z']).is_empty() => day.into(),
            Some((day, time)) => format!("{day} {time}"),
            None => text.clone(),
        },
        Data::DateTime(moment) => {
            let seconds = (moment.as_f64() * 86_400.0).round();
            if moment.is_duration() || (0.0..86_400.0).contains(&seconds) {
                let whole = seconds.max(0.0) as u64;
                return format!("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
            }
            // Of days outside the calendar the library makes no date, or panics.
            let inside = DAYS.contains(&moment.as_f64());
            match inside.then(|| moment.as_datetime()).flatten() {
                Some(at) if seconds % 86_400.0 == 0.0 => at.date().to_string(),
                Some(at) => at.format("%Y-%m-%d %H:%M:%S").to_string(),
                None => decimal(moment.as_f64()),
            }
        }
        Data::Error(error) => error.to_string(),
        Data::Empty => String::new(),
    }
}

/// Writes a number with the fifteen digits that spreadsheets show, so that 2.4999999999999996 is 2.5 again.
fn decimal(number: f64) -> String {
    if number.trunc() == number && number.abs() < 1e15 {
        return (number + 0.0).to_string();
    }
    let rounded: f64 = format!("{number:.14e}").parse().unwrap_or(number);
    // Adding zero turns −0 into 0.
    (rounded + 0.0).to_string()
}

/// Puts a cell's text on one line.
fn one_line(text: String) -> String {
    let text = if text.contains(['\n', '\r', '\t']) {
        text.replace("\r\n", " ").replace(['\n', '\r', '\t'], " ")
    } else {
        text
    };
    match text.trim() {
        trimmed if trimmed.len() == text.len() => text,
        trimmed => trimmed.to_owned(),
    }
}

/// Names a column as a spreadsheet does: A, B, … Z, AA.
pub(super) fn letters(column: usize) -> String {
    let letter = char::from(b'A' + (column % 26) as u8);
    match column / 26 {
        0 => letter.to_string(),
        more => letters(more - 1) + &letter.to_string(),
    }
}
