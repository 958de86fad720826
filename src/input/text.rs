//! From bytes to text: byte-order marks, encodings, line ends and characters that cannot be seen.
//!
//! Knows nothing of rows or keys. Line ends become line feeds here, so that lines count as an editor counts them
//! and a byte offset into the text always leads to the true line.

use super::problem::{Findings, Kind, Problem};
use std::borrow::Cow;
use std::sync::OnceLock;

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use memchr::memchr_iter;
use rayon::prelude::*;

/// Bytes that are worth a thread of their own.
pub(crate) const LARGE: usize = 1 << 20;

/// Says whether something holds of any part of some bytes; many of them are looked at on all threads.
pub(crate) fn any_part(bytes: &[u8], holds: impl Fn(&[u8]) -> bool + Send + Sync) -> bool {
    if bytes.len() < LARGE {
        holds(bytes)
    } else {
        bytes.par_chunks(LARGE).any(holds)
    }
}

/// One file's text with its name and the starts of its lines.
#[derive(Debug, Clone)]
pub struct Source<'t> {
    /// Name relative to the garden's folder.
    pub name: String,
    /// Text with line feeds only and no byte-order mark; the file's own bytes where these are such a text.
    pub text: Cow<'t, str>,
    /// Counted only when a place is asked for: most files have nothing to complain of.
    starts: OnceLock<Vec<usize>>,
}

impl<'t> Source<'t> {
    /// Makes a source from text; line ends of any style become line feeds.
    #[must_use]
    pub fn from_text(name: &str, text: &'t str) -> Self {
        Self::taken(name, text.into())
    }

    fn taken(name: &str, text: Cow<'t, str>) -> Self {
        let text = if text.contains('\r') {
            text.replace("\r\n", "\n").replace('\r', "\n").into()
        } else {
            text
        };
        Self::usual(name, text)
    }

    /// Makes a source from text that has line feeds only.
    fn usual(name: &str, text: Cow<'t, str>) -> Self {
        Self {
            name: name.to_owned(),
            text,
            starts: OnceLock::new(),
        }
    }

    fn starts(&self) -> &[usize] {
        self.starts.get_or_init(|| {
            let ends = memchr_iter(b'\n', self.text.as_bytes());
            std::iter::once(0).chain(ends.map(|i| i + 1)).collect()
        })
    }

    /// Returns the bytes of the first line that is not empty.
    #[must_use]
    pub fn header_span(&self) -> std::ops::Range<usize> {
        let start = self.text.len() - self.text.trim_start().len();
        let (_, from, line) = self.line_at(start);
        from..from + line.len()
    }

    /// Returns number (from 1), start offset and text of the line that holds an offset.
    #[must_use]
    pub fn line_at(&self, offset: usize) -> (usize, usize, &str) {
        let starts = self.starts();
        let line = starts.partition_point(|&s| s <= offset).max(1);
        let start = starts[line - 1];
        let end = starts.get(line).map_or(self.text.len(), |next| next - 1);
        (line, start, &self.text[start..end])
    }
}

/// Beginnings of files that are not plain text, with what they are.
const STRANGERS: [(&[u8], &str); 9] = [
    (b"PK\x03\x04", "a spreadsheet workbook or a zip file"),
    (b"\xD0\xCF\x11\xE0", "an old spreadsheet workbook"),
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a word-processor document"),
    (b"\x89PNG", "a picture"),
    (b"\xFF\xD8\xFF", "a picture"),
    (b"<html", "a web page"),
    (b"<!DOCTYPE", "a web page"),
    (b"<?xml", "an XML document"),
];

/// Decodes a file: UTF-8 or UTF-16 by its mark, else UTF-8, else Windows-1252 with a warning.
///
/// Returns nothing when the bytes are no text at all; the problem is then in the findings.
pub(crate) fn decode<'b>(
    name: &str,
    bytes: &'b [u8],
    findings: &mut Findings,
) -> Option<Source<'b>> {
    if let Some((_, what)) = STRANGERS.iter().find(|(mark, _)| {
        bytes.len() >= mark.len() && bytes[..mark.len()].eq_ignore_ascii_case(mark)
    }) {
        findings.tell(
            Problem::of_file(
                Kind::NotText,
                name,
                format!("{name} is {what}, not plain text"),
            )
            .expected("plain text with one row a line")
            .hint("in the spreadsheet choose Save As and the type CSV UTF-8"),
        );
        return None;
    }
    // Nearly every file holds nothing that must be looked at twice.
    let (text, usual) = if bytes.len() < LARGE {
        (std::str::from_utf8(bytes), is_usual(bytes))
    } else {
        rayon::join(|| std::str::from_utf8(bytes), || is_usual(bytes))
    };
    if let (Ok(text), true) = (text, usual) {
        return Some(Source::usual(name, text.into()));
    }
    let text = match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => decode_unmarked(name, rest, findings),
        [0xFF, 0xFE, rest @ ..] => UTF_16LE.decode_without_bom_handling(rest).0,
        [0xFE, 0xFF, rest @ ..] => UTF_16BE.decode_without_bom_handling(rest).0,
        _ => decode_unmarked(name, bytes, findings),
    };
    let source = Source::taken(name, text);
    let seen = findings.problems.len();
    report_unseen(&source, findings);
    (findings.problems.len() == seen).then_some(source)
}

fn decode_unmarked<'b>(name: &str, bytes: &'b [u8], findings: &mut Findings) -> Cow<'b, str> {
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.into();
    }
    findings.warn(format!(
        "{name} is not UTF-8; it was read as Windows-1252, as older spreadsheets save it. If accents look wrong, save it as CSV UTF-8."
    ));
    WINDOWS_1252.decode_without_bom_handling(bytes).0
}

/// Says whether bytes are printable ASCII, line feeds and tabs only.
fn is_usual(bytes: &[u8]) -> bool {
    let usual = |b: &u8| (b' '..=b'~').contains(b) || *b == b'\n' || *b == b'\t';
    // Looked at in blocks and without a branch for each byte, which is quick.
    !any_part(bytes, |part| {
        let odd = |block: &[u8]| block.iter().fold(0, |odd, b| odd | u8::from(!usual(b)));
        part.chunks(256).any(|block| odd(block) != 0)
    })
}

/// Tells the first lost and the first unseen character of a text, with the number of further lines that have one.
fn report_unseen(source: &Source, findings: &mut Findings) {
    let lost = |c: char| c == '\u{FFFD}';
    let unseen = |c: char| c.is_control() && c != '\n' && c != '\t';
    if let Some(at) = source.text.find(lost) {
        let more = source.text.matches(lost).count() - 1;
        findings.tell(
            Problem::at(
                Kind::UnreadableCharacter,
                source,
                at..at + '\u{FFFD}'.len_utf8(),
                format!(
                    "a character was lost when this file was saved{}",
                    and_more(more)
                ),
            )
            .expected("the letter that once stood here")
            .hint("type it again and save the file as UTF-8"),
        );
    }
    if let Some(at) = source.text.find(unseen) {
        let c = source.text[at..].chars().next().unwrap_or_default();
        let more = source.text.matches(unseen).count() - 1;
        let mut problem = Problem::at(
            Kind::ControlCharacter,
            source,
            at..at + c.len_utf8(),
            format!(
                "the character U+{:04X} cannot be seen and means nothing here{}",
                c as u32,
                and_more(more)
            ),
        )
        .expected("plain text")
        .hint("delete it; it often comes from copying out of another program");
        problem.value = format!("U+{:04X}", c as u32);
        findings.tell(problem);
    }
}

fn and_more(more: usize) -> String {
    match more {
        0 => String::new(),
        1 => ", and one more further on".to_owned(),
        n => format!(", and {n} more further on"),
    }
}

/// Takes away what spreadsheets and web pages leave around and inside a cell: outer blanks, odd spaces, zero-width marks.
#[must_use]
pub(crate) fn clean(text: &str) -> Cow<'_, str> {
    if text.bytes().all(|b| (b' '..=b'~').contains(&b)) {
        return text.trim_ascii().into();
    }
    let odd = |c: char| {
        matches!(
            c,
            '\u{200B}'..='\u{200F}' | '\u{FEFF}' | '\u{2060}' | '\u{AD}'
        ) || (c.is_whitespace() && c != ' ')
    };
    let trimmed = text.trim();
    if !trimmed.contains(odd) {
        return trimmed.into();
    }
    let kept: String = trimmed
        .chars()
        .filter_map(|c| match c {
            c if c.is_whitespace() => Some(' '),
            c if odd(c) => None,
            c => Some(c),
        })
        .collect();
    kept.trim().to_owned().into()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn read(bytes: &[u8]) -> (Option<String>, Findings) {
        let mut findings = Findings::default();
        let text = decode("x.csv", bytes, &mut findings).map(|s| s.text.into_owned());
        (text, findings)
    }

    #[test]
    fn encodings_that_spreadsheets_write() {
        let utf16: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain("é\t½\r\n".encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        for (bytes, want, warned) in [
            (&b"\xEF\xBB\xBFbed\r\nA\r\n"[..], "bed\nA\n", false),
            (b"bed\rA\r", "bed\nA\n", false),
            (b"caf\xE9 \xBD\n", "café ½\n", true),
            (&utf16, "é\t½\n", false),
            (b"", "", false),
        ] {
            let (text, findings) = read(bytes);
            assert_eq!(text.as_deref(), Some(want));
            assert_eq!(!findings.warnings.is_empty(), warned, "{want}");
        }
    }

    #[test]
    fn what_is_no_text_is_refused_once() {
        for bytes in [
            &b"PK\x03\x04rest"[..],
            b"\xD0\xCF\x11\xE0rest",
            b"<HTML><table>",
            b"bed\x00,crop",
            "bed,\u{FFFD}".as_bytes(),
        ] {
            let (text, findings) = read(bytes);
            assert_eq!((text, findings.problems.len()), (None, 1));
        }
    }

    #[test]
    fn cells_lose_what_cannot_be_seen() {
        for (raw, want) in [
            ("  a b ", "a b"),
            ("\u{A0}12\u{A0}", "12"),
            ("to\u{AD}ma\u{200B}to", "tomato"),
            ("two\nlines", "two lines"),
        ] {
            assert_eq!(clean(raw), want);
        }
    }
}
