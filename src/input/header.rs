//! The header line of a file of rows, and the rows that cannot be right whatever they mean.
//!
//! Finds misspelt, doubled and nameless columns, a header in the wrong line or none, rows that are too long or sums.

use super::names::{nearest, plain};
use super::problem::{Findings, Kind, Problem};
use super::repeated::{NO_PRINT, fingerprint, row_text};
use super::rows::{Sheet, Spec, cell_text, did_you_mean, is_blank, on_all_threads};
use super::split::Lines;
use super::text::Source;
use std::ops::Range;

/// Reads the header, the record `head`: for each cell the column it stands for, none for a column to skip.
pub(crate) fn read<'a>(
    source: &'a Source<'a>,
    lines: &Lines,
    head: usize,
    spec: Spec<'a>,
    findings: &mut Findings,
) -> Option<Vec<Option<&'a str>>> {
    let text: &str = &source.text;
    let known = |record: usize| {
        let cells = lines.cells(text, record);
        cells
            .filter(|c| find(spec, &cell_text(&text[c.clone()])).is_some())
            .count()
    };
    let head_cells: Vec<Range<usize>> = lines.cells(text, head).collect();
    let filled = head_cells
        .iter()
        .filter(|c| !is_blank(&text[(*c).clone()]))
        .count();
    if known(head) * 2 < filled.min(spec.columns.len()) && known(head) < spec.required.len().max(1)
    {
        let is_filled = |&r: &usize| {
            let mut cells = lines.cells(text, r);
            cells.any(|c| !is_blank(&text[c]))
        };
        let better = (head + 1..lines.len())
            .filter(is_filled)
            .take(10)
            .find(|&r| known(r) >= spec.required.len().max(1));
        let span = lines.record(head);
        findings.tell(
            Problem::at(Kind::NoHeader, source, span, "this line does not name the columns")
                .expected(format!("column names such as {}", spec.example))
                .hint(better.map_or_else(
                    || "put the column names into the first line".to_owned(),
                    |r| {
                        let line = source.line_at(lines.record(r).start).0;
                        format!("they seem to be in line {line}: delete what stands above it, or begin it with `# `")
                    },
                )),
        );
        return None;
    }
    let nameless = nameless(text, lines, &head_cells, head + 1);
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
            if let Some(cell) = nameless.get(i).cloned().flatten() {
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
                let span = lines.record(head);
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

/// Returns for every column without a name its first cell that holds something.
fn nameless(
    text: &str,
    lines: &Lines,
    head: &[Range<usize>],
    from: usize,
) -> Vec<Option<Range<usize>>> {
    let blank: Vec<bool> = head.iter().map(|c| is_blank(&text[c.clone()])).collect();
    let mut first = vec![None; head.len()];
    if !blank.contains(&true) {
        return first;
    }
    for record in from..lines.len() {
        let cells = lines.cells(text, record);
        for (i, cell) in cells.enumerate().take(head.len()) {
            if blank[i] && first[i].is_none() && !is_blank(&text[cell.clone()]) {
                first[i] = Some(cell);
            }
        }
    }
    first
}

/// Returns those records without a fingerprint that can be read as rows, gives them one, and tells the others; blank ones are
/// left out.
pub(crate) fn sound_rows(
    sheet: &Sheet<'_>,
    prints: &mut [u64],
    findings: &mut Findings,
) -> Vec<usize> {
    let first = sheet.first();
    let left = (0..prints.len()).filter(|&i| prints[i] == NO_PRINT);
    let left: Vec<usize> = left.map(|i| first + i).collect();
    let header_text = row_text(sheet, first - 1);
    let looked_at = on_all_threads(&left, |&record| {
        let text = &sheet.source().text;
        let filled = sheet.cells(record).any(|c| !is_blank(&text[c]));
        filled.then(|| match fault(sheet, record, header_text) {
            Some(problem) => Err(Box::new(problem)),
            None => Ok(fingerprint(row_text(sheet, record))),
        })
    });
    let mut sound = Vec::with_capacity(left.len());
    for (record, seen) in left.into_iter().zip(looked_at) {
        match seen {
            Some(Ok(print)) => {
                prints[record - first] = print;
                sound.push(record);
            }
            Some(Err(problem)) => _ = findings.tell(*problem),
            None => {}
        }
    }
    sound
}

/// Returns what keeps a record from being a row.
fn fault(sheet: &Sheet<'_>, record: usize, header_text: &str) -> Option<Problem> {
    if row_text(sheet, record) == header_text {
        return Some(
            sheet.row(record).problem(Kind::RepeatedHeader, "the header line stands here again")
                .expected("a row")
                .hint("the file seems to have been pasted into itself: delete this line and check what follows it"),
        );
    }
    if let Some(problem) = too_long(sheet, record) {
        return Some(problem);
    }
    is_total(sheet, record).then(|| {
        sheet
            .row(record)
            .problem(Kind::TotalRow, "this looks like a line of sums, not a row")
            .expected("a row")
            .hint("delete it, or begin the line with `# `")
    })
}

fn too_long(sheet: &Sheet<'_>, record: usize) -> Option<Problem> {
    let (columns, separator) = sheet.columns();
    let (width, header) = (sheet.width(record), columns.len());
    if width <= header {
        return None;
    }
    let text = &sheet.source().text;
    let span = sheet
        .cells(record)
        .skip(header)
        .find(|c| !is_blank(&text[c.clone()]))?;
    let figures: Vec<&str> = sheet
        .cells(record)
        .map(|c| &text[c])
        .map(|raw| {
            let whole = raw.bytes().all(|b| b.is_ascii_digit());
            if whole { raw } else { "" }
        })
        .collect();
    let comma = figures
        .windows(2)
        .find(|pair| pair.iter().all(|raw| !raw.is_empty()));
    let hint = match comma {
        Some([a, b]) if separator == b',' => {
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
    let text = &sheet.source().text;
    sheet
        .cells(record)
        .map(|c| cell_text(&text[c]))
        .find(|t| !t.is_empty())
        .is_some_and(|t| begins_sums(&t))
}

/// Says whether a row with this first word is a line of sums.
pub(crate) fn begins_sums(first: &str) -> bool {
    // A figure is no such word; most rows begin with a date.
    first.len() < 16
        && !first.starts_with(|c: char| c.is_ascii_digit())
        && TOTALS.contains(&plain(first).trim_end_matches(':'))
}
