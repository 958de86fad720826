//! The `cleared` day of plantings in the household's own `plantings.csv`, laid in beside what stands there.
//!
//! Touches those cells and nothing else; separator, line ends and a byte-order mark stay. Which plantings go, and when
//! anything is written, is not its business.

use super::names::plain;
use super::problem::Findings;
use super::rows::cell_text;
use super::split::{guess_separator, split};
use super::store::quoted;
use super::text::decode;
use chrono::NaiveDate;

/// The file.
const FILE: &str = "plantings.csv";
/// The column.
const COLUMN: &str = "cleared";

/// Returns the content of `plantings.csv` with the day on which some of its rows are cleared, rows counted from 0.
///
/// None if a row is not there or the content cannot be read.
#[must_use]
pub fn with_cleared(own: &[u8], days: &[(usize, NaiveDate)]) -> Option<Vec<u8>> {
    // Faults were told when the garden was loaded.
    let mut unheard = Findings::default();
    let source = decode(FILE, own, &mut unheard)?;
    let text = &source.text;
    let header = text.lines().find(|line| {
        let bare = line.trim();
        !bare.is_empty() && !bare.starts_with('#') && !bare.to_lowercase().starts_with("sep=")
    })?;
    let separator = guess_separator(header);
    let found = split(text, text.find(header).unwrap_or(0), separator);
    let mut records = found.records.iter();
    let head = records.next()?;
    let name =
        |cell: &std::ops::Range<usize>| plain(&cell_text(&text[cell.clone()])).replace(' ', "_");
    let names: Vec<String> = found.cells[head.cells.clone()].iter().map(name).collect();
    let column = names.iter().position(|n| n == COLUMN);
    let separator = char::from(separator);
    let mut out = text[..head.span.end].to_owned();
    if column.is_none() {
        out.push(separator);
        out.push_str(COLUMN);
    }
    let column = column.unwrap_or(names.len());
    let mut at = head.span.end;
    let mut left = days.len();
    for (row, record) in records.enumerate() {
        let Some((_, day)) = days.iter().find(|(k, _)| *k == row) else {
            continue;
        };
        let cells = &found.cells[record.cells.clone()];
        let mut new: Vec<&str> = cells.iter().map(|c| &text[c.clone()]).collect();
        let day = quoted(&day.to_string(), separator);
        if new.len() <= column {
            new.resize(column + 1, "");
        }
        new[column] = &day;
        out.push_str(&text[at..record.span.start]);
        out.push_str(&new.join(&separator.to_string()));
        at = record.span.end;
        left -= 1;
    }
    out.push_str(&text[at..]);
    let formed = formed(out, own);
    (left == 0).then(|| formed.into_bytes())
}

/// Gives a text the line ends and the byte-order mark that a file had.
pub(super) fn formed(text: String, like: &[u8]) -> String {
    let has = |mark: &[u8]| like.windows(mark.len()).any(|w| w == mark);
    let mut text = match (has(b"\r\n"), has(b"\r"), has(b"\n")) {
        (true, ..) => text.replace('\n', "\r\n"),
        (false, true, false) => text.replace('\n', "\r"),
        _ => text,
    };
    if like.starts_with("\u{FEFF}".as_bytes()) {
        text.insert(0, '\u{FEFF}');
    }
    text
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn only_those_cells_change() {
        let days = [(1, NaiveDate::from_ymd_opt(2026, 8, 25).unwrap())];
        for (own, want) in [
            (
                "# ours\nbed,crop,cleared,note\na,kale,,\"x, y\"\nb,bush bean,2026-09-30,late\n# end\n",
                "# ours\nbed,crop,cleared,note\na,kale,,\"x, y\"\nb,bush bean,2026-08-25,late\n# end\n",
            ),
            (
                "\u{FEFF}bed;crop\r\na;kale\r\nb;bush bean\r\n",
                "\u{FEFF}bed;crop;cleared\r\na;kale\r\nb;bush bean;2026-08-25\r\n",
            ),
            (
                "bed,crop,sown,cleared\na,kale\n\nb,\"bush bean\"",
                "bed,crop,sown,cleared\na,kale\n\nb,\"bush bean\",,2026-08-25",
            ),
        ] {
            let got = with_cleared(own.as_bytes(), &days).unwrap();
            assert_eq!(String::from_utf8(got).unwrap(), want);
        }
        assert!(with_cleared(b"bed,crop\na,kale\n", &days).is_none());
    }
}
