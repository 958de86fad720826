//! The parts of a workbook that are read, taken out of it, looked through and packed anew for the library that reads them.
//!
//! A workbook is a zip file, and a small one can unpack to anything; so parts are counted while they are unpacked, never
//! believed, and nothing is unpacked that is not read. What stands in the parts is [`super::workbook_xlsx`]'s and
//! [`super::workbook_ods`]'s business.

use super::workbook::Refusal;
use super::{workbook_ods, workbook_xlsx};
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// Most bytes that the parts of a workbook may unpack to.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;
/// Most files in a workbook; one with a picture in every row has some thousand.
const MOST_FILES: usize = 10_000;
/// Most sheets of a workbook.
pub(super) const MOST_SHEETS: usize = 256;
/// Most cells of a workbook, from the first to the last of each sheet that holds something: 250 years of days in ten columns.
pub(super) const MOST_CELLS: u64 = 1_000_000;
/// Most columns up to the last that holds something.
pub(super) const MOST_WIDTH: u32 = 1_000;
/// Most bytes of text in the cells of a workbook.
pub(super) const MOST_TEXT: u64 = 64 * 1024 * 1024;

/// What an open document says of itself that is a workbook, or a template of one.
const SPREADSHEET: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// A workbook of which only what is read is left, all of it looked through.
#[derive(Debug)]
pub(super) enum Book {
    /// Office Open XML.
    Xlsx(Vec<u8>),
    /// Open Document.
    Ods(Vec<u8>),
}

/// Takes the parts that are read out of a workbook and looks them through.
pub(super) fn looked_through(bytes: &[u8]) -> Result<Book, Refusal> {
    let no = |why: &str| Err(Refusal::NotAWorkbook(why.to_owned()));
    match bytes {
        [] => return no("it is empty"),
        [0xD0, 0xCF, 0x11, 0xE0, ..] => {
            return no("it is a workbook of an old kind, or one locked with a password");
        }
        [b'P', b'K', ..] => {}
        _ => return no("it is no workbook, whatever its name says"),
    }
    let Ok(archive) = ZipArchive::new(Cursor::new(bytes)) else {
        return no("it is broken, or only a part of it is there");
    };
    if archive.len() > MOST_FILES {
        return Err(Refusal::TooLarge(format!(
            "it holds more than {MOST_FILES} files"
        )));
    }
    let mut names = Vec::with_capacity(archive.len());
    for name in archive.file_names() {
        names.push(name.map_err(Refusal::of)?.into_owned());
    }
    if names.iter().any(|n| plain(n) == "xl/workbook.xml") {
        let mut rules = workbook_xlsx::Rules::default();
        let read = |name: &str| of_xlsx(&plain(name));
        packed(archive, &names, read, |_, text| rules.hold(text)).map(Book::Xlsx)
    } else if names.iter().any(|n| n == "content.xml") {
        let read =
            |name: &str| ["mimetype", "META-INF/manifest.xml", "content.xml"].contains(&name);
        packed(archive, &names, read, |name, text| match name {
            "mimetype" if !text.starts_with(SPREADSHEET) => Err(Refusal::NotAWorkbook(
                "it is an open document, but no spreadsheet".to_owned(),
            )),
            "mimetype" => Ok(()),
            _ => workbook_ods::hold(text),
        })
        .map(Book::Ods)
    } else {
        no("it is a zip file, not an .xlsx or .ods workbook")
    }
}

/// Returns a part's name as the library compares it.
fn plain(name: &str) -> String {
    name.replace('\\', "/").to_ascii_lowercase()
}

/// Says whether a part is one of those that lead to the sheets' cells.
fn of_xlsx(name: &str) -> bool {
    let Some((folder, file)) = name.rsplit_once('/') else {
        return false;
    };
    match folder {
        "_rels" | "xl/_rels" => file.ends_with(".rels"),
        "xl" | "xl/worksheets" | "xl/theme" => file.ends_with(".xml"),
        _ => false,
    }
}

/// Unpacks the parts that are read, has them looked through and packs them again without pressing them.
fn packed(
    mut archive: ZipArchive<Cursor<&[u8]>>,
    names: &[String],
    read: impl Fn(&str) -> bool,
    mut look: impl FnMut(&str, &str) -> Result<(), Refusal>,
) -> Result<Vec<u8>, Refusal> {
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut book = ZipWriter::new(Cursor::new(Vec::new()));
    let mut left = MOST_UNPACKED;
    let mut content = Vec::new();
    for (i, name) in names.iter().enumerate().filter(|(_, name)| read(name)) {
        let part = archive.by_index(i).map_err(Refusal::of)?;
        content.clear();
        let size = match part.size() {
            said if said > left => said,
            _ => part
                .take(left + 1)
                .read_to_end(&mut content)
                .map_err(Refusal::of)? as u64,
        };
        left = left.checked_sub(size).ok_or_else(|| {
            let most = MOST_UNPACKED / 1024 / 1024;
            Refusal::TooLarge(format!("it unpacks to more than {most} MB"))
        })?;
        let text = std::str::from_utf8(&content).map_err(Refusal::of)?;
        look(name, text)?;
        book.start_file(name.as_str(), stored)
            .map_err(Refusal::of)?;
        book.write_all(&content).map_err(Refusal::of)?;
    }
    let book = book.finish().map_err(Refusal::of)?;
    Ok(book.into_inner())
}
