//! What kind of workbook a file is, and whether it is small enough to be opened.
//!
//! A workbook is a zip file, and a small one can unpack to anything; so each part is unpacked once and counted, never believed.
//! A sheet of the open kind may say of a cell that it is repeated a million times; that is counted before it is done.

use super::workbook::Refusal;
use std::io::{self, Cursor, Read};
use zip::ZipArchive;

/// Most bytes that all parts of a workbook may unpack to.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;
/// Most cells from the first to the last that holds something: a thousand years of days in ten columns.
pub(super) const MOST_CELLS: u64 = 4_000_000;
/// Most bytes of text in one sheet.
pub(super) const MOST_TEXT: usize = 64 * 1024 * 1024;

/// What kind of workbook a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Inside {
    /// Office Open XML.
    Xlsx,
    /// Open Document.
    Ods,
}

/// Unpacks every part once, counting only, and says what kind of workbook it is.
pub(super) fn inside(bytes: &[u8]) -> Result<Inside, Refusal> {
    let no = |why: &str| Err(Refusal::NotAWorkbook(why.to_owned()));
    match bytes {
        [] => return no("it is empty"),
        [0xD0, 0xCF, 0x11, 0xE0, ..] => {
            return no("it is a workbook of an old kind, or one locked with a password");
        }
        [b'P', b'K', ..] => {}
        _ => return no("it is no workbook, whatever its name says"),
    }
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else {
        return no("it is broken, or only a part of it is there");
    };
    let mut left = MOST_UNPACKED;
    let (mut is_xlsx, mut content) = (false, None);
    for i in 0..archive.len() {
        let part = archive.by_index(i).map_err(Refusal::of)?;
        let name = part.name().map_err(Refusal::of)?.into_owned();
        is_xlsx |= name == "xl/workbook.xml";
        let mut part = part.take(left + 1);
        let size = if name == "content.xml" {
            let mut text = String::new();
            let size = part.read_to_string(&mut text).map_err(Refusal::of)? as u64;
            content = Some(text);
            size
        } else {
            io::copy(&mut part, &mut io::sink()).map_err(Refusal::of)?
        };
        let Some(rest) = left.checked_sub(size) else {
            return Err(Refusal::TooLarge(format!(
                "it unpacks to more than {} MB",
                MOST_UNPACKED / 1024 / 1024
            )));
        };
        left = rest;
    }
    match content {
        _ if is_xlsx => Ok(Inside::Xlsx),
        // The library that reads it looks for the end of a table for ever where there is none.
        Some(content) if !content.trim_end().ends_with("document-content>") => {
            no("its content breaks off before the end")
        }
        Some(content) => repeated(&content).map(|()| Inside::Ods),
        None => no("it is a zip file, not an .xlsx or .ods workbook"),
    }
}

/// Counts the cells that the sheets of an open document have once what is repeated is repeated.
fn repeated(content: &str) -> Result<(), Refusal> {
    let (mut rows, mut width, mut total) = (0_u64, 0_u64, 0_u64);
    let (mut repeats, mut columns, mut filled) = (1_u64, 0_u64, 0_u64);
    for tag in content.split('<') {
        let tag = tag.split('>').next().unwrap_or_default();
        let bare = tag.trim_end_matches('/');
        let name = bare.split_ascii_whitespace().next().unwrap_or_default();
        let mut row_ends = name.is_empty() && tag.starts_with("/table:table-row");
        match name {
            "table:table" => (rows, width) = (0, 0),
            "table:table-row" => {
                repeats = times(bare, "number-rows-repeated")?;
                (columns, filled) = (0, 0);
                row_ends = tag.ends_with('/');
            }
            "/table:table-row" => row_ends = true,
            "table:table-cell" | "table:covered-table-cell" => {
                columns = columns.saturating_add(times(bare, "number-columns-repeated")?);
                if bare.contains("office:")
                    || bare.contains(":formula")
                    || bare.contains("calcext:")
                {
                    filled = columns;
                }
            }
            _ => {}
        }
        if row_ends {
            rows = rows.saturating_add(repeats);
            if filled > 0 {
                width = width.max(filled);
                total = total.saturating_add(filled.saturating_mul(repeats));
            }
        }
        let area = if filled > 0 {
            rows.saturating_mul(width)
        } else {
            0
        };
        if area.max(total).max(filled) > MOST_CELLS {
            return Err(Refusal::TooLarge(
                "one of its sheets is filled further than any garden's table".to_owned(),
            ));
        }
    }
    Ok(())
}

fn times(tag: &str, attribute: &str) -> Result<u64, Refusal> {
    let Some((_, rest)) = tag.split_once(attribute) else {
        return Ok(1);
    };
    let quoted = rest.trim_start_matches(['=', '"', '\'', ' ']);
    let digits = quoted.split(['"', '\'']).next().unwrap_or_default();
    digits.parse().map_err(Refusal::of)
}
