//! The header line of a file of rows, and the rows that cannot be right whatever they mean.
//!
//! Finds misspelt, doubled and nameless columns, a header in the wrong line or none, rows that are too long, pasted twice or sums.

use super::names::{nearest, plain};
use super::problem::{Findings, Kind, Problem};
use super::rows::{Sheet, Spec, cell_text, did_you_mean};
use super::split::{Record, Split};
use super::text::Source;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// Reads the header: for each cell the column it stands for, none for a column to skip.
pub(crate) fn read<'a>(
    source: &'a Source,
    split: &Split,
    head: usize,
    rest: &[usize],
    spec: Spec<'a>,
    findings: &mut Findings,
) -> Option<Vec<Option<&'a str>>> {
    let text = source.text.as_str();
    let known = |record: usize| {
        let cells = &split.cells[split.records[record].cells.clone()];
        cells
            .iter()
            .filter(|c| find(spec, &cell_text(&text[(*c).clone()])).is_some())
            .count()
    };
    let head_cells = &split.cells[split.records[head].cells.clone()];
    let filled = head_cells
        .iter()
        .filter(|c| !cell_text(&text[(*c).clone()]).is_empty())
        .count();
    if known(head) * 2 < filled.min(spec.columns.len()) && known(head) < spec.required.len().max(1)
    {
        let better = rest
            .iter()
            .take(10)
            .find(|&&r| known(r) >= spec.required.len().max(1));
        let span = split.records[head].span.clone();
        findings.tell(
            Problem::at(Kind::NoHeader, source, span, "this line does not name the columns")
                .expected(format!("column names such as {}", spec.example))
                .hint(better.map_or_else(
                    || "put the column names into the first line".to_owned(),
                    |&r| {
                        let line = source.line_at(split.records[r].span.start).0;
                        format!("they seem to be in line {line}: delete what stands above it, or begin it with `# `")
                    },
                )),
        );
        return None;
    }
    let mut columns: Vec<Option<&'a str>> = Vec::with_capacity(head_cells.len());
    let mut usable = true;
    for (i, span) in head_cells.iter().enumerate() {
        let name = cell_text(&text[span.clone()]);
        let at = |kind, message: String| {
            let mut p = Problem::at(kind, source, span.clone(), message);
            p.value = name.clone().into_owned();
            p
        };
        if name.is_empty() {
            if let Some(cell) = first_filled(text, split, rest, i) {
                findings.tell(
                    Problem::at(
                        Kind::UnnamedColumn,
                        source,
                        cell,
                        format!("column {} holds something and has no name", i + 1),
                    )
                    .expected("a name for the column in the header line")
                    .hint("name it note if it is a remark, or empty the column"),
                );
            }
            columns.push(None);
            continue;
        }
        match find(spec, &name) {
            Some(column) if columns.contains(&Some(column)) => {
                findings.tell(
                    at(
                        Kind::RepeatedColumn,
                        format!("there are two columns named {column}"),
                    )
                    .hint("delete or rename one of them"),
                );
                columns.push(None);
            }
            Some(column) => columns.push(Some(column)),
            None => {
                let hint = did_you_mean(&name, spec.columns.iter().copied())
                    .unwrap_or_else(|| format!("the columns are {}", spec.columns.join(", ")));
                findings.tell(
                    at(Kind::UnknownColumn, format!("there is no column `{name}`"))
                        .expected("a known column, or note")
                        .hint(hint),
                );
                usable = false;
                columns.push(None);
            }
        }
    }
    for column in spec.required {
        if !columns.contains(&Some(column)) {
            // A misspelt column has been told already and needs no second complaint.
            let misspelt = head_cells.iter().any(|c| {
                nearest(&cell_text(&text[c.clone()]), spec.columns.iter().copied()) == Some(column)
            });
            if usable || !misspelt {
                let span = split.records[head].span.clone();
                findings.tell(
                    Problem::at(
                        Kind::MissingColumn,
                        source,
                        span,
                        format!("the column {column} is missing"),
                    )
                    .column(column)
                    .expected(format!("a header such as {}", spec.example)),
                );
            }
            usable = false;
        }
    }
    // With a column unread, complaints about its rows would only repeat it.
    usable.then_some(columns)
}

/// Finds a column by its name, whatever its case and however its words are joined.
fn find<'a>(spec: Spec<'a>, name: &str) -> Option<&'a str> {
    let joined = plain(name).replace(' ', "_");
    spec.columns
        .iter()
        .copied()
        .find(|c| *c == joined)
        .or_else(|| (joined == "note").then_some("note"))
}

fn first_filled(
    text: &str,
    split: &Split,
    rows: &[usize],
    column: usize,
) -> Option<std::ops::Range<usize>> {
    rows.iter().find_map(|&r| {
        let cells = split.records[r].cells.clone();
        split.cells[cells]
            .get(column)
            .filter(|c| !cell_text(&text[(*c).clone()]).is_empty())
            .cloned()
    })
}

/// Returns the records that can be read as rows, and tells the others.
pub(crate) fn sound_rows(
    sheet: &Sheet<'_>,
    head: usize,
    rest: &[usize],
    spec: Spec<'_>,
    separator: u8,
    findings: &mut Findings,
) -> Vec<usize> {
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let header_text = row_text(sheet, head);
    let mut repeated: Vec<(usize, usize)> = Vec::new();
    let mut sound = Vec::with_capacity(rest.len());
    for &record in rest {
        let text = row_text(sheet, record);
        if text == header_text {
            findings.tell(
                sheet.row(record).problem(Kind::RepeatedHeader, "the header line stands here again")
                    .expected("a row")
                    .hint("the file seems to have been pasted into itself: delete this line and check what follows it"),
            );
        } else if let Some(problem) = too_long(sheet, record, separator) {
            findings.tell(problem);
        } else if is_total(sheet, record) {
            findings.tell(
                sheet
                    .row(record)
                    .problem(Kind::TotalRow, "this looks like a line of sums, not a row")
                    .expected("a row")
                    .hint("delete it, or begin the line with `# `"),
            );
        } else {
            match seen.entry(text) {
                Entry::Occupied(first) => repeated.push((record, *first.get())),
                Entry::Vacant(place) => {
                    place.insert(record);
                }
            }
            sound.push(record);
        }
    }
    tell_repeated(sheet, &repeated, spec.paste_from, findings);
    sound
}

/// Rows that stand twice are told once for each run, since a paste repeats whole blocks; shorter runs than `least` may be meant.
fn tell_repeated(
    sheet: &Sheet<'_>,
    repeated: &[(usize, usize)],
    least: usize,
    findings: &mut Findings,
) {
    let mut i = 0;
    while i < repeated.len() {
        let mut n = 1;
        while repeated
            .get(i + n)
            .is_some_and(|&(record, _)| record == repeated[i].0 + n)
        {
            n += 1;
        }
        let (record, first) = repeated[i];
        i += n;
        if n < least {
            continue;
        }
        let (row, first) = (sheet.row(record), sheet.row(first).line());
        let (message, hint) = if n == 1 {
            (
                format!("this row is the same as line {first}"),
                "delete it if it was pasted twice; if both are meant, tell them apart with a name or a note".to_owned(),
            )
        } else {
            (
                format!("from here on {n} rows are the same as from line {first} on"),
                format!(
                    "it looks pasted twice: delete these {n} rows, or tell them apart with a name or a note"
                ),
            )
        };
        findings.tell(row.problem(Kind::RepeatedRow, message).hint(hint));
    }
}

fn row_text<'a>(sheet: &Sheet<'a>, record: usize) -> &'a str {
    let span = sheet.span(record);
    sheet.source().text[span].trim_end_matches([',', ';', '\t', ' '])
}

fn too_long(sheet: &Sheet<'_>, record: usize, separator: u8) -> Option<Problem> {
    let (width, header) = (sheet.width(record), sheet.header_width());
    let (span, _) = (header..width)
        .filter_map(|i| sheet.raw(record, i))
        .find(|(_, raw)| !cell_text(raw).is_empty())?;
    let digits = |i: usize| {
        sheet
            .raw(record, i)
            .is_some_and(|(_, raw)| !raw.is_empty() && raw.bytes().all(|b| b.is_ascii_digit()))
    };
    let comma = (0..width.saturating_sub(1)).find(|&i| digits(i) && digits(i + 1));
    let hint = match comma {
        Some(i) if separator == b',' => {
            let (a, b) = (sheet.raw(record, i)?.1, sheet.raw(record, i + 1)?.1);
            format!("a decimal comma splits a number in two: write {a}.{b} instead of {a},{b}")
        }
        _ if separator == b',' => "put a cell that holds a comma between double quotes".to_owned(),
        _ => "put a cell that holds the separator between double quotes".to_owned(),
    };
    Some(
        Problem::at(
            Kind::TooManyCells,
            sheet.source(),
            span,
            format!("this row has {width} cells and the header only {header}"),
        )
        .expected("as many cells as the header has")
        .hint(hint),
    )
}

/// Words with which spreadsheets and people begin a line of sums.
const TOTALS: [&str; 6] = [
    "total",
    "totals",
    "sum",
    "grand total",
    "subtotal",
    "average",
];

fn is_total(sheet: &Sheet<'_>, record: usize) -> bool {
    (0..sheet.width(record))
        .filter_map(|i| sheet.raw(record, i))
        .map(|(_, raw)| cell_text(raw))
        .find(|t| !t.is_empty())
        .filter(|t| t.len() < 16)
        .is_some_and(|t| TOTALS.contains(&plain(&t).trim_end_matches(':')))
}

impl Sheet<'_> {
    /// Returns the bytes of a record.
    fn span(&self, record: usize) -> std::ops::Range<usize> {
        let r: &Record = self.record(record);
        r.span.clone()
    }
}
