//! One part of a workbook, from its first tag to its last: whether all that is opened is closed.
//!
//! The library that reads workbooks looks for the end of what it is in, for ever where there is none. Goes through the part
//! with the same tokens as the library does and knows no meaning of them.

use super::workbook::Refusal;
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;

/// Most tags within each other; spreadsheets need some thirty.
const DEEPEST: u32 = 256;

/// What stands in a part.
pub(super) enum Seen<'a> {
    /// An element begins.
    Opens(&'a BytesStart<'a>),
    /// An element of this name ends.
    Closes(&'a str),
}

/// Shows every element's beginning and end, with the byte behind it; refuses a part that is not whole.
pub(super) fn through(
    part: &str,
    mut show: impl FnMut(Seen<'_>, usize) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    let whole = part.strip_prefix('\u{FEFF}').unwrap_or(part);
    // Blanks that no workbook may hold part a name for some readers and belong to it for others.
    if whole.as_bytes().chunks(4096).any(holds_control) {
        return Err(Refusal::damaged("a character that none may hold"));
    }
    let mut reader = Reader::from_str(whole);
    reader.config_mut().expand_empty_elements = true;
    let (mut depth, mut elements) = (0_u32, 0_u64);
    loop {
        let event = reader.read_event().map_err(Refusal::damaged)?;
        let at = reader.buffer_position() as usize;
        match event {
            Event::Start(tag) => {
                depth += 1;
                elements += 1;
                if depth > DEEPEST {
                    return Err(Refusal::damaged("more within each other than any holds"));
                }
                show(Seen::Opens(&tag), at)?;
            }
            Event::End(tag) => {
                depth = depth.saturating_sub(1);
                show(Seen::Closes(tag.name().as_ref()), at)?;
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if depth > 0 || elements == 0 {
        return Err(Refusal::NotAWorkbook(
            "its content breaks off before the end".to_owned(),
        ));
    }
    Ok(())
}

/// Says whether one of the bytes is a control character; all of them are looked at, many at a time.
fn holds_control(bytes: &[u8]) -> bool {
    let bad = |b: &u8| (*b < b' ') & (*b != b'\t') & (*b != b'\n') & (*b != b'\r');
    bytes.iter().fold(false, |found, b| found | bad(b))
}

/// Shows every attribute of a tag, its name and its value as they are written; parts them as the library does.
pub(super) fn attributes(
    tag: &BytesStart<'_>,
    mut show: impl FnMut(&str, &str) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    let mut rest = tag.attributes_raw().trim_ascii_start();
    while !rest.is_empty() {
        let parted = rest.split_once('=').and_then(|(key, value)| {
            let value = value.trim_ascii_start();
            let quote = *value.as_bytes().first().filter(|b| b"'\"".contains(b))?;
            let (value, behind) = value.get(1..)?.split_once(char::from(quote))?;
            Some((key.trim_ascii_end(), value, behind))
        });
        let Some((key, value, behind)) = parted else {
            return Err(Refusal::damaged("a tag that is not one"));
        };
        show(key, value)?;
        rest = behind.trim_ascii_start();
    }
    Ok(())
}
