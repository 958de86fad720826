//! How a file of rows grows: new rows in the order of its own columns, with its own separator and line ends.
//!
//! Makes content and writes nothing: that is [`super::whole`]'s. Knows no meanings, only headers, cells and line ends.

use super::problem::{Kind, Problem};
use super::rows::cell_text;
use super::split::{guess_separator, split};
use super::text::Source;

/// One row to append: column and value, empty cells left out.
pub type NewRow = Vec<(String, String)>;

/// Returns the content that a file has with rows added to its end.
///
/// `known` is the content as it was read; none if the file was not there, and it is then begun with `columns`.
/// A column that the file lacks is added to its header.
///
/// # Errors
/// The content is not UTF-8.
pub fn grown(
    file: &str,
    known: Option<&[u8]>,
    columns: &[&str],
    rows: &[NewRow],
) -> Result<String, Box<Problem>> {
    let Some(known) = known else {
        return Ok(begun(columns, rows));
    };
    match std::str::from_utf8(known) {
        Ok(text) => Ok(growth(text, rows).joined(text)),
        Err(_) => {
            let message = format!("{file} is not UTF-8 and nothing was added to it");
            Err(Box::new(
                Problem::of_file(Kind::Unwritable, file, message).hint("save it once as CSV UTF-8"),
            ))
        }
    }
}

/// Writes a file of rows from nothing.
fn begun(columns: &[&str], rows: &[NewRow]) -> String {
    let names: Vec<String> = columns.iter().map(|c| (*c).to_owned()).collect();
    names.join(",") + "\n" + &lines(rows, &names, ',', "\n")
}

/// What rows add to a file.
struct Growth {
    /// Bytes up to the end of the header line.
    header_end: usize,
    /// Columns to add to the header, each behind its separator; mostly none.
    columns: String,
    /// Lines to add at the end.
    tail: String,
}

impl Growth {
    fn joined(&self, text: &str) -> String {
        let (head, rest) = text.split_at(self.header_end);
        [head, &self.columns, rest, &self.tail].concat()
    }
}

fn growth(text: &str, rows: &[NewRow]) -> Growth {
    let mut form = Form::of(text);
    let missing: Vec<&str> = rows
        .iter()
        .flatten()
        .filter(|(column, value)| !value.is_empty() && !form.columns.contains(column))
        .map(|(column, _)| column.as_str())
        .collect();
    let mut columns = String::new();
    for column in missing {
        if !form.columns.iter().any(|c| c == column) {
            form.columns.push(column.to_owned());
            columns.push(form.separator);
            columns.push_str(column);
        }
    }
    let mut tail = String::new();
    if !text.is_empty() && !text.ends_with(['\n', '\r']) {
        tail.push_str(form.line_end);
    }
    tail.push_str(&lines(rows, &form.columns, form.separator, form.line_end));
    Growth {
        header_end: form.header_end,
        columns,
        tail,
    }
}

/// How a file of rows is written.
struct Form {
    columns: Vec<String>,
    separator: char,
    line_end: &'static str,
    /// Bytes up to the end of the header line.
    header_end: usize,
}

impl Form {
    fn of(text: &str) -> Self {
        let line_end = if text.contains("\r\n") {
            "\r\n"
        } else if text.contains('\r') && !text.contains('\n') {
            "\r"
        } else {
            "\n"
        };
        // Line ends of one byte keep offsets; the carriage returns that remain are trimmed from cells.
        let plain = if line_end == "\r" {
            text.replace('\r', "\n")
        } else {
            text.to_owned()
        };
        let body = plain.strip_prefix('\u{FEFF}').unwrap_or(&plain);
        let mark = plain.len() - body.len();
        let mut at = 0;
        let mut header = "";
        for line in body.split_inclusive('\n') {
            if !line.trim().is_empty()
                && !line.starts_with('#')
                && !line.to_lowercase().starts_with("sep=")
            {
                header = line;
                break;
            }
            at += line.len();
        }
        let header = header.trim_end_matches(['\n', '\r']);
        let separator = guess_separator(header);
        let source = Source::from_text("", header);
        let cells = split(&source.text, 0, separator).cells;
        Self {
            columns: cells
                .iter()
                .map(|c| super::names::plain(&cell_text(&source.text[c.clone()])).replace(' ', "_"))
                .collect(),
            separator: char::from(separator),
            line_end,
            header_end: mark + at + header.len(),
        }
    }
}

fn lines(rows: &[NewRow], columns: &[String], separator: char, line_end: &str) -> String {
    let mut out = String::new();
    for row in rows {
        let cells: Vec<String> = columns
            .iter()
            .map(|column| {
                row.iter()
                    .find(|(c, _)| c == column)
                    .map_or_else(String::new, |(_, v)| quoted(v, separator))
            })
            .collect();
        out.push_str(&cells.join(&separator.to_string()));
        out.push_str(line_end);
    }
    out
}

/// Quotes a cell where reading it back would else go wrong.
pub(super) fn quoted(value: &str, separator: char) -> String {
    let value: String = value
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let value = value.trim();
    if value.contains([separator, '"']) || value.starts_with('#') {
        format!("\"{}\"", value.replace('"', "\"\""))
    } else {
        value.to_owned()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    const COLUMNS: [&str; 3] = ["date", "crop", "note"];

    fn row(cells: &[(&str, &str)]) -> NewRow {
        cells
            .iter()
            .map(|(c, v)| ((*c).to_owned(), (*v).to_owned()))
            .collect()
    }

    fn after(before: Option<&str>, rows: &[NewRow]) -> String {
        grown("picked.csv", before.map(str::as_bytes), &COLUMNS, rows).unwrap()
    }

    #[test]
    fn rows_follow_the_file_they_join() {
        let new = [row(&[("crop", "kale"), ("date", "2026-08-01")])];
        for (before, want) in [
            (None, "date,crop,note\n2026-08-01,kale,\n"),
            (Some("date,crop\n"), "date,crop\n2026-08-01,kale\n"),
            (
                Some("crop;date\r\nokra;2026-07-01"),
                "crop;date\r\nokra;2026-07-01\r\nkale;2026-08-01\r\n",
            ),
            (
                Some("\u{FEFF}Date,Crop\r\n"),
                "\u{FEFF}Date,Crop\r\n2026-08-01,kale\r\n",
            ),
            (
                Some("# mine\n\ncrop\n"),
                "# mine\n\ncrop,date\nkale,2026-08-01\n",
            ),
            (Some("crop\rokra\r"), "crop,date\rokra\rkale,2026-08-01\r"),
        ] {
            assert_eq!(after(before, &new), want, "{before:?}");
        }
        let odd = [row(&[
            ("crop", "a,b"),
            ("note", "say \"x\"\nso"),
            ("date", "# d"),
        ])];
        assert_eq!(
            after(None, &odd),
            "date,crop,note\n\"# d\",\"a,b\",\"say \"\"x\"\" so\"\n"
        );
    }

    #[test]
    fn other_encodings_are_left_alone() {
        let new = [row(&[("crop", "kale")])];
        let refused = grown("picked.csv", Some(b"crop\nb\xf6hne\n"), &COLUMNS, &new);
        assert_eq!(refused.unwrap_err().kind, Kind::Unwritable);
    }
}
