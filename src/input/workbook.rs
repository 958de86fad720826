//! A workbook's bytes as sheets of text: every cell as a spreadsheet would write it into a CSV file.
//!
//! Real dates become year-month-day, numbers lose the dust of binary fractions, formulas give the value saved with them. What
//! cannot be a household's table (a workbook that unpacks to hundreds of megabytes, a cell at the far end of the sheet) is
//! refused before it fills memory. Knows no tables and no columns: which sheet is what is [`super::sheets`]'s.

use super::problem::{Kind, Problem};
use super::workbook_size::{self, Inside, MOST_CELLS, MOST_TEXT};
use calamine::{Data, Ods, Reader, SheetType, Xlsx, XlsxFormulaMetadata, open_workbook_from_rs};
use std::collections::BTreeMap;
use std::fmt::Display;
use std::io::Cursor;
use std::ops::Range;

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

    /// Adds a cell; refuses one that makes the sheet larger than any household's table.
    fn put(&mut self, at: (u32, u32), text: String, broken: bool) -> Result<(), Refusal> {
        let text = one_line(&text);
        if text.is_empty() {
            return Ok(());
        }
        self.width = self.width.max(at.1 + 1);
        self.bytes += text.len();
        self.cells.insert(at, Written { text, broken });
        let rows = self
            .cells
            .last_key_value()
            .map_or(0, |((row, _), _)| row + 1);
        if u64::from(rows) * u64::from(self.width) > MOST_CELLS || self.bytes > MOST_TEXT {
            return Err(Refusal::TooLarge(format!(
                "the sheet {} reaches to cell {}{rows}, further than any garden's table",
                self.name,
                letters(self.width as usize - 1),
            )));
        }
        Ok(())
    }
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
}

/// Reads the sheets of a workbook, .xlsx or .ods by its content, in the order of their tabs.
///
/// # Errors
/// The problem that keeps it from being read.
pub fn read(name: &str, bytes: &[u8]) -> Result<Vec<Leaf>, Box<Problem>> {
    let leaves = match workbook_size::inside(bytes) {
        Ok(Inside::Xlsx) => xlsx(bytes),
        Ok(Inside::Ods) => ods(bytes),
        Err(refusal) => Err(refusal),
    };
    leaves.map_err(|refusal| {
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
    let mut leaves = Vec::new();
    for name in tabs(book.sheets_metadata()) {
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
            let (text, broken) = written(&cell.value.into(), formula);
            leaf.put(cell.pos, text, broken)?;
        }
        leaves.push(leaf);
    }
    Ok(leaves)
}

fn ods(bytes: &[u8]) -> Result<Vec<Leaf>, Refusal> {
    let mut book: Ods<_> = open_workbook_from_rs(Cursor::new(bytes)).map_err(Refusal::of)?;
    let mut leaves = Vec::new();
    for name in tabs(book.sheets_metadata()) {
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
            let (text, broken) = written(value, formula.map(String::as_str));
            leaf.put(at, text, broken)?;
        }
        leaves.push(leaf);
    }
    Ok(leaves)
}

fn tabs(sheets: &[calamine::Sheet]) -> Vec<String> {
    let tables = sheets.iter().filter(|s| s.typ == SheetType::WorkSheet);
    tables.map(|s| s.name.clone()).collect()
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
            match moment.as_datetime() {
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
    let rounded: f64 = format!("{number:.14e}").parse().unwrap_or(number);
    // Adding zero turns −0 into 0.
    (rounded + 0.0).to_string()
}

/// Puts a cell's text on one line.
fn one_line(text: &str) -> String {
    let line = text.replace("\r\n", " ").replace(['\n', '\r', '\t'], " ");
    line.trim().to_owned()
}

/// Names a column as a spreadsheet does: A, B, … Z, AA.
pub(super) fn letters(column: usize) -> String {
    let letter = char::from(b'A' + (column % 26) as u8);
    match column / 26 {
        0 => letter.to_string(),
        more => letters(more - 1) + &letter.to_string(),
    }
}
