//! Safe writing: a file is there whole, old or new, and a log grows by whole lines.
//!
//! New content goes to a temporary file in the same folder, is synced and then renamed; an append is one write, synced.
//! Both refuse a file that changed since it was read. Knows no meanings, only headers, cells and line ends.

use super::problem::{Kind, Problem};
use super::rows::cell_text;
use super::split::{guess_separator, split};
use super::text::Source;
use std::fs::{File, OpenOptions, Permissions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// One row to append: column and value, empty cells left out.
pub type NewRow = Vec<(String, String)>;

/// Writes a file that must not be there yet.
///
/// # Errors
/// The file exists, or the folder cannot be written; nothing is left behind.
pub fn create_new(path: &Path, content: &[u8]) -> Result<(), Box<Problem>> {
    let written = temporary(path, content, None).and_then(|file| Ok(file.persist_noclobber(path)?));
    match written {
        Ok(_) => sync_folder(path).map_err(|error| cannot(path, &error)),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(Box::new(
            Problem::of_file(
                Kind::Unwritable,
                &name(path),
                format!("{} is there already and was left as it is", name(path)),
            )
            .hint("rename or remove it first if a new one is wanted"),
        )),
        Err(error) => Err(cannot(path, &error)),
    }
}

/// Replaces a file's whole content, keeping its permissions.
///
/// `known` is the content as it was read.
///
/// # Errors
/// The file changed since, or cannot be written; the old content then stands.
pub fn replace(path: &Path, known: &[u8], content: &[u8]) -> Result<(), Box<Problem>> {
    // A link stays a link: what it points to is replaced.
    let target = path.canonicalize().map_err(|error| cannot(path, &error))?;
    let permissions = std::fs::metadata(&target)
        .map_err(|error| cannot(path, &error))?
        .permissions();
    if permissions.readonly() {
        return Err(cannot(
            path,
            &io::Error::from(io::ErrorKind::PermissionDenied),
        ));
    }
    let file =
        temporary(&target, content, Some(permissions)).map_err(|error| cannot(path, &error))?;
    unchanged(&target, known)?;
    file.persist(&target)
        .map_err(|error| cannot(path, &error.error))?;
    sync_folder(&target).map_err(|error| cannot(path, &error))
}

/// Appends rows to a file of rows in the order of its own columns, with its own separator and line ends.
///
/// `known` is the content as it was read; none if the file was not there, and it is then begun with `columns`.
/// A column that the file lacks is added to its header.
///
/// # Errors
/// The file changed since it was read, is not UTF-8, or cannot be written; it then stands as it was.
pub fn append_rows(
    path: &Path,
    known: Option<&[u8]>,
    columns: &[&str],
    rows: &[NewRow],
) -> Result<(), Box<Problem>> {
    let Some(known) = known else {
        return create_new(path, begun(columns, rows).as_bytes());
    };
    let text = std::str::from_utf8(known).map_err(|_| {
        Box::new(
            Problem::of_file(
                Kind::Unwritable,
                &name(path),
                format!("{} is not UTF-8 and nothing was added to it", name(path)),
            )
            .hint("save it once as CSV UTF-8"),
        )
    })?;
    let growth = growth(text, rows);
    if growth.columns.is_empty() {
        append(path, known, growth.tail.as_bytes())
    } else {
        replace(path, known, growth.joined(text).as_bytes())
    }
}

/// Returns the content that a file has after [`append_rows`]; none if it is not UTF-8.
#[must_use]
pub(crate) fn grown(known: Option<&[u8]>, columns: &[&str], rows: &[NewRow]) -> Option<String> {
    match known {
        Some(known) => {
            let text = std::str::from_utf8(known).ok()?;
            Some(growth(text, rows).joined(text))
        }
        None => Some(begun(columns, rows)),
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

/// Appends bytes in one write.
fn append(path: &Path, known: &[u8], tail: &[u8]) -> Result<(), Box<Problem>> {
    let mut file = OpenOptions::new()
        .append(true)
        .open(path)
        .map_err(|error| cannot(path, &error))?;
    unchanged(path, known)?;
    let written = file.write(tail).and_then(|n| {
        if n == tail.len() {
            return file.sync_all();
        }
        // A full disk takes part of a line: take it back.
        file.set_len(known.len() as u64)?;
        Err(io::Error::other("the disk is full"))
    });
    written.map_err(|error| cannot(path, &error))
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

fn temporary(
    path: &Path,
    content: &[u8],
    permissions: Option<Permissions>,
) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".putby-").suffix(".tmp");
    #[cfg(unix)]
    let usual = <Permissions as std::os::unix::fs::PermissionsExt>::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(usual);
    let mut file = builder.tempfile_in(folder(path))?;
    file.write_all(content)?;
    if let Some(permissions) = permissions {
        file.as_file().set_permissions(permissions)?;
    }
    file.as_file().sync_all()?;
    Ok(file)
}

fn folder(path: &Path) -> PathBuf {
    path.parent()
        .filter(|p| !p.as_os_str().is_empty())
        .map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

/// A rename is safe on the disk only when its folder is; systems that cannot sync a folder do it on their own.
fn sync_folder(path: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(folder(path))?.sync_all()?;
    }
    Ok(())
}

fn unchanged(path: &Path, known: &[u8]) -> Result<(), Box<Problem>> {
    let now = std::fs::read(path).map_err(|error| cannot(path, &error))?;
    if now == known {
        return Ok(());
    }
    let problem = Problem::of_file(
        Kind::Unwritable,
        &name(path),
        format!(
            "{} changed while it was being worked on; nothing was written",
            name(path)
        ),
    )
    .hint("close it in the editor or spreadsheet and try again");
    Err(Box::new(problem))
}

fn cannot(path: &Path, error: &io::Error) -> Box<Problem> {
    let problem = Problem::of_file(
        Kind::Unwritable,
        &name(path),
        format!("{} cannot be written: {error}", name(path)),
    )
    .hint("check that the folder and the file may be written and that the disk is not full");
    Box::new(problem)
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
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
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("picked.csv");
        if let Some(text) = before {
            std::fs::write(&path, text).unwrap();
        }
        append_rows(&path, before.map(str::as_bytes), &COLUMNS, rows).unwrap();
        let left = std::fs::read_dir(folder.path()).unwrap().count();
        assert_eq!(left, 1, "no temporary file stays behind");
        std::fs::read_to_string(&path).unwrap()
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
    fn a_file_that_changed_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("picked.csv");
        std::fs::write(&path, "date\n2026-08-02\n").unwrap();
        let new = [row(&[("date", "2026-08-01")])];
        for result in [
            append_rows(&path, Some(b"date\n"), &COLUMNS, &new),
            replace(&path, b"date\n", b"new"),
            create_new(&path, b"new"),
            append_rows(&path, None, &COLUMNS, &new),
        ] {
            assert_eq!(result.unwrap_err().kind, Kind::Unwritable);
        }
        assert_eq!(
            std::fs::read_to_string(&path).unwrap(),
            "date\n2026-08-02\n"
        );
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (
            folder.path().join("real.csv"),
            folder.path().join("picked.csv"),
        );
        create_new(&path, b"one").unwrap();
        let fresh = std::fs::metadata(&path).unwrap().permissions().mode();
        assert_ne!(fresh & 0o777, 0o600, "a new file is as open as any other");
        std::fs::set_permissions(&path, Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        replace(&link, b"one", b"two").unwrap();
        assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        assert_eq!(
            std::fs::metadata(&path).unwrap().permissions().mode() & 0o777,
            0o640
        );
    }
}
