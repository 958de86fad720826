//! Workbooks made of parts that may be anything: a checksum would keep changed bytes of a whole one from being read at all.

use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Parts of an .xlsx workbook in the order in which bytes give them, with what stands there if they give fewer.
const XLSX: [(&str, &str); 7] = [
    (
        "xl/worksheets/sheet1.xml",
        "<worksheet><sheetData></sheetData></worksheet>",
    ),
    ("xl/sharedStrings.xml", "<sst></sst>"),
    (
        "xl/styles.xml",
        "<styleSheet><cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>",
    ),
    (
        "xl/workbook.xml",
        "<workbook xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\"><sheets><sheet name=\"plantings\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>",
    ),
    (
        "xl/_rels/workbook.xml.rels",
        "<Relationships><Relationship Id=\"rId1\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"rId2\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings\" Target=\"sharedStrings.xml\"/><Relationship Id=\"rId3\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles\" Target=\"styles.xml\"/></Relationships>",
    ),
    (
        "_rels/.rels",
        "<Relationships><Relationship Id=\"rId1\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>",
    ),
    ("[Content_Types].xml", "<Types></Types>"),
];
const ODS: [(&str, &str); 3] = [
    ("content.xml", ""),
    ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
    (
        "META-INF/manifest.xml",
        "<manifest:manifest></manifest:manifest>",
    ),
];

/// Returns a workbook and its name: `x` and `o` are followed by the parts of one, with a record separator between them; in
/// capitals it holds the plantings alone. `w` and `d` are the same with every part made whole, since one that is not is refused
/// at once. `r` and `R` are followed by the bytes themselves.
pub(crate) fn made(bytes: &[u8]) -> (&'static str, Vec<u8>) {
    let (first, rest) = bytes.split_first().unwrap_or((&b'r', &[]));
    match first {
        b'x' => ("garden.xlsx", zipped(&XLSX, rest, <[u8]>::to_vec)),
        b'X' => ("plantings.xlsx", zipped(&XLSX, rest, <[u8]>::to_vec)),
        b'o' => ("garden.ods", zipped(&ODS, rest, <[u8]>::to_vec)),
        b'O' => ("plantings.ods", zipped(&ODS, rest, <[u8]>::to_vec)),
        b'w' => ("garden.xlsx", zipped(&XLSX, rest, whole)),
        b'd' => ("garden.ods", zipped(&ODS, rest, whole)),
        b'R' => ("garden.ods", rest.to_vec()),
        _ => ("garden.xlsx", rest.to_vec()),
    }
}

fn zipped(parts: &[(&str, &str)], given: &[u8], made: fn(&[u8]) -> Vec<u8>) -> Vec<u8> {
    let mut given = given.split(|b| *b == 0x1e);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, usual) in parts {
        let content = given.next().filter(|c| !c.is_empty()).map(made);
        zip.start_file(*name, plain).unwrap();
        zip.write_all(content.as_deref().unwrap_or(usual.as_bytes()))
            .unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// Closes every tag that is open and leaves out what closes none, what is no text and what breaks off.
fn whole(part: &[u8]) -> Vec<u8> {
    let text: String = String::from_utf8_lossy(part)
        .chars()
        .filter(|c| !c.is_control())
        .collect();
    let mut out = String::new();
    let mut open = Vec::new();
    let mut pieces = text.split('<');
    out.push_str(pieces.next().unwrap_or_default());
    for piece in pieces {
        let Some((tag, behind)) = piece.split_once('>') else {
            continue;
        };
        let name = tag.split([' ', '/']).next().unwrap_or_default();
        let stays = match tag.strip_prefix('/') {
            Some(closed) => open.last() == Some(&closed) && open.pop().is_some(),
            None if name.is_empty() || name.starts_with(['!', '?']) => false,
            None if tag.ends_with('/') => true,
            None => {
                open.push(name);
                true
            }
        };
        if stays {
            out.extend(["<", tag, ">"]);
        }
        out.push_str(behind);
    }
    for name in open.into_iter().rev() {
        out.extend(["</", name, ">"]);
    }
    out.into_bytes()
}
