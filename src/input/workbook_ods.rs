//! What the sheets of an open document (.ods) hold once all that is repeated is repeated.
//!
//! A row or a cell may say that it stands a million times, a text that it holds a million blanks; the library that reads them
//! writes all of it out. Counted here as it does so, before it does. Elements and attributes: OASIS Open Document Format 1.2,
//! part 1, chapters 6 and 9.

use super::workbook::Refusal;
use super::workbook_parts::{MOST_CELLS, MOST_SHEETS, MOST_TEXT, MOST_WIDTH};
use super::workbook_xlsx::MOST_ROWS;
use super::workbook_xml::{Seen, attributes, through};
use quick_xml::events::BytesStart;

/// Most cells that hold something only because another is repeated: a spreadsheet writes equal rows as one, and no garden has
/// many of them.
const MOST_REPEATED: u64 = 20_000;
const TABLE: &str = "table:table";
const ROW: &str = "table:table-row";
const CELLS: [&str; 2] = ["table:table-cell", "table:covered-table-cell"];

/// Holds a part against what a garden needs.
pub(super) fn hold(part: &str) -> Result<(), Refusal> {
    let mut count = Count::default();
    through(part, |seen, at| match seen {
        Seen::Opens(tag) => count.opens(tag, at),
        Seen::Closes(name) => count.closes(name, at),
    })
}

/// What was counted so far.
#[derive(Debug, Default)]
struct Count {
    sheets: usize,
    /// Cells of all sheets: from the first of each to the last that holds something, those kept on the way, and those that hold
    /// something only because another is repeated.
    areas: u64,
    kept: u64,
    again: u64,
    /// Bytes that writing out adds.
    bytes: u64,
    /// The sheet's rows so far, and its columns up to the last that holds something.
    rows: u64,
    width: u64,
    area: u64,
    /// The last row that holds something.
    last: u64,
    row: Option<Row>,
    cell: Option<Cell>,
    in_table: bool,
}

/// The row in hand.
#[derive(Debug, Default)]
struct Row {
    times: u64,
    /// Columns so far, up to the last cell that holds something, and up to the last cell but one.
    columns: u64,
    filled: u64,
    kept: u64,
    /// Cells and bytes that writing out adds.
    again: u64,
    bytes: u64,
}

/// The cell in hand.
#[derive(Debug)]
struct Cell {
    start: usize,
    times: u64,
    filled: bool,
    blanks: u64,
}

impl Count {
    fn opens(&mut self, tag: &BytesStart<'_>, at: usize) -> Result<(), Refusal> {
        match tag.name().as_ref() {
            TABLE => {
                if std::mem::replace(&mut self.in_table, true) {
                    return Err(within());
                }
                self.sheets += 1;
                (self.rows, self.width, self.area, self.last) = (0, 0, 0, 0);
                if self.sheets > MOST_SHEETS {
                    return Err(Refusal::TooLarge(format!(
                        "it has more than {MOST_SHEETS} sheets"
                    )));
                }
            }
            ROW => {
                let times = repeated(tag, "table:number-rows-repeated")?;
                let row = Row {
                    times,
                    ..Row::default()
                };
                if self.row.replace(row).is_some() {
                    return Err(within());
                }
            }
            name if CELLS.contains(&name) => {
                let mut filled = false;
                attributes(tag, |key, _| {
                    filled |= key == "table:formula"
                        || key.starts_with("office:")
                        || key.starts_with("calcext:");
                    Ok(())
                })?;
                let cell = Cell {
                    start: at.saturating_sub(tag.len()),
                    times: repeated(tag, "table:number-columns-repeated")?,
                    filled,
                    blanks: 0,
                };
                if self.cell.replace(cell).is_some() {
                    return Err(within());
                }
            }
            "text:s" => {
                let blanks = number(tag, "text:c")?;
                if let Some(cell) = &mut self.cell {
                    cell.blanks = cell.blanks.saturating_add(blanks);
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn closes(&mut self, name: &str, at: usize) -> Result<(), Refusal> {
        match name {
            TABLE => {
                self.in_table = false;
                self.areas = self.areas.saturating_add(self.area);
            }
            ROW => {
                if let Some(row) = self.row.take() {
                    self.row(&row);
                }
            }
            name if CELLS.contains(&name) => {
                if let (Some(cell), Some(row)) = (self.cell.take(), &mut self.row) {
                    row.cell(&cell, at);
                }
            }
            _ => return Ok(()),
        }
        let far = self.last > u64::from(MOST_ROWS) || self.width > u64::from(MOST_WIDTH);
        let far = far || self.again > MOST_REPEATED;
        let cells = self.areas.saturating_add(self.area);
        if far || cells.max(self.kept) > MOST_CELLS || self.bytes > MOST_TEXT {
            return Err(Refusal::TooLarge(
                "one of its sheets is filled further than any garden's table".to_owned(),
            ));
        }
        Ok(())
    }

    fn row(&mut self, row: &Row) {
        self.rows = self.rows.saturating_add(row.times);
        self.kept = self.kept.saturating_add(row.kept.max(row.filled));
        if row.filled > 0 {
            self.width = self.width.max(row.filled);
            self.again = self.again.saturating_add(row.again);
            self.bytes = self.bytes.saturating_add(row.bytes);
            self.last = self.rows;
            self.area = self.rows.saturating_mul(self.width);
        }
    }
}

impl Row {
    fn cell(&mut self, cell: &Cell, end: usize) {
        self.kept = self.columns;
        self.columns = self.columns.saturating_add(cell.times);
        if cell.filled {
            self.filled = self.columns;
            let times = cell.times.saturating_mul(self.times);
            self.again = self.again.saturating_add(times - 1);
            let again = (end.saturating_sub(cell.start) as u64).saturating_mul(times - 1);
            let blanks = cell.blanks.saturating_mul(times);
            self.bytes = self.bytes.saturating_add(again).saturating_add(blanks);
        }
    }
}

/// Reads how often a row or cell stands there; refuses what is no number above zero.
fn repeated(tag: &BytesStart<'_>, attribute: &str) -> Result<u64, Refusal> {
    match number(tag, attribute)? {
        0 => Err(Refusal::damaged("a row or cell that is repeated 0 times")),
        times => Ok(times),
    }
}

/// Reads an attribute that is a number, 1 where it is not there.
fn number(tag: &BytesStart<'_>, attribute: &str) -> Result<u64, Refusal> {
    let mut found = None;
    attributes(tag, |key, value| {
        if key == attribute
            && found
                .replace(value.parse::<u64>().map_err(Refusal::damaged)?)
                .is_some()
        {
            return Err(Refusal::damaged(format!("{attribute} twice in a tag")));
        }
        Ok(())
    })?;
    Ok(found.unwrap_or(1))
}

fn within() -> Refusal {
    Refusal::damaged("a sheet, row or cell within another")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::workbook::Refusal;
    use super::*;

    const ONE: &str = "<table:table-cell office:value=\"1\"/>";

    fn held(rows: &str) -> Result<(), Refusal> {
        hold(&format!("<c><table:table>{rows}</table:table></c>"))
    }

    fn row(times: u64, cells: &str) -> String {
        format!("<table:table-row table:number-rows-repeated=\"{times}\">{cells}</table:table-row>")
    }

    fn empty(times: u64) -> String {
        format!("<table:table-cell table:number-columns-repeated=\"{times}\"/>")
    }

    /// What a spreadsheet writes below and beside a table to the end of the sheet is not read, and is no harm.
    #[test]
    fn blank_rows_and_columns_behind_the_table_are_none() {
        let table = row(1, &format!("{ONE}{}", empty(16_383))).repeat(50);
        held(&format!("{table}{}", row(1_048_526, &empty(16_384)))).unwrap();
    }

    #[test]
    fn what_is_written_out_is_counted() {
        let long = format!(
            "<table:table-cell office:value-type=\"string\"><text:p>{}</text:p></table:table-cell>",
            "x".repeat(30_000)
        );
        let blanks = "<table:table-cell office:value-type=\"string\"><text:s text:c=\"99999999\"/></table:table-cell>";
        for flood in [
            row(MOST_REPEATED + 2, ONE),
            row(2000, &format!("{}{ONE}", empty(900))),
            format!("{}{}", row(u64::from(MOST_ROWS), &empty(1)), row(1, ONE)),
            row(1, &format!("{}{ONE}", empty(u64::from(MOST_WIDTH)))),
            row(1, &format!("{}{}", empty(16_383), empty(1))).repeat(70),
            row(9999, &long),
            row(1, blanks),
        ] {
            assert!(
                matches!(held(&flood), Err(Refusal::TooLarge(_))),
                "{flood:.90}"
            );
        }
        held(&row(MOST_REPEATED + 1, ONE)).unwrap();
        held(&row(9, &long)).unwrap();
    }

    #[test]
    fn what_cannot_be_is_damaged() {
        for wrong in [
            row(0, ONE),
            row(1, &empty(0)),
            row(1, &row(1, ONE)),
            row(1, &format!("<table:table-cell>{ONE}</table:table-cell>")),
            "<table:table/>".to_owned(),
            "<table:table-row table:number-rows-repeated=\"x\"/>".to_owned(),
            "<table:table-row table:number-rows-repeated=\"1\" table:number-rows-repeated=\"2\"/>"
                .to_owned(),
        ] {
            assert!(
                matches!(held(&wrong), Err(Refusal::NotAWorkbook(_))),
                "{wrong}"
            );
        }
    }
}
