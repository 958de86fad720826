//! What the parts of an .xlsx workbook may say of themselves: where cells stand, how many texts and styles there are.
//!
//! The library that reads them reckons with these figures before it looks whether they can be. Limits of rows, columns and
//! characters of a format: ECMA-376 as spreadsheets keep it, 1,048,576 rows of 16,384 columns; formats of up to 255.

use super::workbook::Refusal;
use super::workbook_parts::MOST_SHEETS;
use super::workbook_xml::{Seen, attributes, through};
use quick_xml::events::BytesStart;

/// Most rows of a sheet.
pub(super) const MOST_ROWS: u32 = 1_048_576;
/// Most columns of a sheet.
const MOST_COLUMNS: u32 = 16_384;
/// Most bytes of a tag with its attributes; the longest are formulas of rules.
const LONGEST_TAG: usize = 64 * 1024;
/// What fonts, fills, borders and formats take once they are read, bytes of each besides its texts.
const STYLE: usize = 1024;
/// Most bytes that all of them may take.
const MOST_STYLES: usize = 256 * 1024 * 1024;
/// Most bytes of all sheets if each were as long as the longest part; a workbook may name one part as every sheet.
const MOST_READ: usize = 1024 * 1024 * 1024;
/// Most opening brackets in the code of a format.
const MOST_BRACKETS: usize = 255;

/// What was seen in the parts so far.
#[derive(Debug, Default)]
pub(super) struct Rules {
    sheets: usize,
    styles: usize,
    longest: usize,
    largest: usize,
}

impl Rules {
    /// Holds a part against the rules; any part, since a workbook may name any as a sheet.
    pub(super) fn hold(&mut self, part: &str) -> Result<(), Refusal> {
        self.largest = self.largest.max(part.len());
        through(part, |seen, _| match seen {
            Seen::Opens(tag) => self.tag(tag, part.len()),
            Seen::Closes(_) => Ok(()),
        })?;
        if self.sheets * self.largest > MOST_READ {
            return Err(Refusal::TooLarge(
                "its sheets are longer than any garden's".to_owned(),
            ));
        }
        Ok(())
    }

    fn tag(&mut self, tag: &BytesStart<'_>, size: usize) -> Result<(), Refusal> {
        let length = tag.attributes_raw().len();
        if length > LONGEST_TAG {
            return Err(Refusal::damaged("a tag longer than any"));
        }
        match tag.local_name().as_ref() {
            "c" | "row" => attributes(tag, |key, value| match key {
                "r" => stands(value).map(|_| ()),
                _ => Ok(()),
            }),
            "dimension" | "f" => attributes(tag, |key, value| match key {
                "ref" => area(value),
                _ => Ok(()),
            }),
            "sst" => attributes(tag, |key, value| {
                // Room is made for as many; each takes a tag.
                let said = value.parse::<usize>();
                match key {
                    "uniqueCount" if said.is_ok_and(|said| said > size) => {
                        Err(Refusal::damaged("fewer texts than it says"))
                    }
                    _ => Ok(()),
                }
            }),
            "numFmt" => attributes(tag, |key, value| {
                let brackets = || value.matches('[').count() + value.matches("&#").count();
                match key {
                    "formatCode" if brackets() > MOST_BRACKETS => {
                        Err(Refusal::damaged("a format longer than any"))
                    }
                    _ => Ok(()),
                }
            })
            .and_then(|()| self.style(length)),
            "font" | "fill" | "border" | "xf" => self.style(length),
            "name" | "family" | "scheme" => self.style_text(length),
            "sheet" => {
                self.sheets += 1;
                if self.sheets > MOST_SHEETS {
                    return Err(Refusal::TooLarge(format!(
                        "it has more than {MOST_SHEETS} sheets"
                    )));
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn style(&mut self, length: usize) -> Result<(), Refusal> {
        self.styles += 1;
        self.style_text(length)
    }

    /// A style is written out once for each format that refers to it, with its texts.
    fn style_text(&mut self, length: usize) -> Result<(), Refusal> {
        self.longest = self.longest.max(length);
        if self.styles * (STYLE + 2 * self.longest) > MOST_STYLES {
            return Err(Refusal::TooLarge(
                "it has more formats of cells than any garden's".to_owned(),
            ));
        }
        Ok(())
    }
}

/// Reads where a cell or row stands; refuses what is outside every sheet.
fn stands(reference: &str) -> Result<(u32, u32), Refusal> {
    let letters = reference
        .bytes()
        .take_while(u8::is_ascii_alphabetic)
        .count();
    let (column, row) = reference.split_at(letters);
    let digits = row.bytes().all(|b| b.is_ascii_digit());
    let inside = if letters > 3 || row.len() > 7 || !digits {
        None
    } else {
        let column = column.bytes().fold(0, |sum, b| {
            sum * 26 + u32::from(b.to_ascii_uppercase() - b'A') + 1
        });
        let row = row.parse::<u32>().ok();
        row.filter(|row| (1..=MOST_ROWS).contains(row) && column <= MOST_COLUMNS)
            .map(|row| (row, column))
    };
    inside.ok_or_else(|| Refusal::damaged("a cell outside every sheet"))
}

/// Reads an area of cells; refuses one that ends before it begins.
fn area(reference: &str) -> Result<(), Refusal> {
    let (first, last) = reference.split_once(':').unwrap_or((reference, reference));
    let (first, last) = (stands(first)?, stands(last)?);
    if last.0 < first.0 || last.1 < first.1 {
        return Err(Refusal::damaged("an area that ends before it begins"));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_stand_inside_a_sheet() {
        for (reference, at) in [("A1", (1, 1)), ("bc20", (20, 55)), ("7", (7, 0))] {
            assert!(stands(reference).is_ok_and(|got| got == at), "{reference}");
        }
        assert!(stands("XFD1048576").is_ok_and(|at| at == (MOST_ROWS, MOST_COLUMNS)));
        for outside in [
            "XFE1",
            "A1048577",
            "A0",
            "A",
            "",
            "A1B",
            "$A$1",
            "AAAA1",
            "A00000001",
        ] {
            assert!(stands(outside).is_err(), "{outside}");
        }
        assert!(area("A1:C9").is_ok() && area("B2").is_ok());
        for wrong in ["C9:A1", "A9:C1", "A1:", "A1:B2:C3"] {
            assert!(area(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn figures_that_cannot_be_are_refused() {
        let hold = |part: &str| Rules::default().hold(part);
        assert!(hold("<sst uniqueCount=\"2\"><si/><si/></sst>").is_ok());
        let sheets = |n: usize| format!("<workbook>{}</workbook>", "<sheet/>".repeat(n));
        assert!(hold(&sheets(MOST_SHEETS)).is_ok());
        for wrong in [
            "<sst uniqueCount=\"99999999999\"><si/></sst>".to_owned(),
            sheets(MOST_SHEETS + 1),
            format!("<numFmt formatCode=\"{}\"/>", "[".repeat(256)),
            format!("<numFmt formatCode=\"{}\"/>", "&#91;".repeat(256)),
            format!("<x y=\"{}\"/>", "z".repeat(LONGEST_TAG)),
            format!(
                "<a><name val=\"{}\"/>{}</a>",
                "z".repeat(60_000),
                "<xf/>".repeat(3000)
            ),
            "<a><b></a></b>".to_owned(),
            "<a><b>".to_owned(),
            "<a b=\u{C}\"1\"/>".to_owned(),
            "<a>".repeat(300) + &"</a>".repeat(300),
            String::new(),
        ] {
            assert!(hold(&wrong).is_err(), "{wrong:.60}");
        }
    }
}
