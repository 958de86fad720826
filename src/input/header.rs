//! The header line of a file of rows, and the rows that cannot be right whatever they mean.
//!
//! Finds misspelt, doubled and nameless columns, a header in the wrong line or none, rows that are too long, pasted twice or sums.

use super::names::{nearest, plain};
use super::problem::{Findings, Kind, Problem};
use super::rows::{Sheet, Spec, cell_text, did_you_mean, is_blank, on_all_threads};
use super::split::Lines;
use super::text::Source;
use rayon::slice::ParallelSliceMut;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::ops::Range;

/// Reads the header: for each cell the column it stands for, none for a column to skip.
pub(crate) fn read<'a>(
    source: &'a Source,
    lines: &Lines,
    head: usize,
    rest: &[usize],
    spec: Spec<'a>,
    findings: &mut Findings,
) -> Option<Vec<Option<&'a str>>> {
    let text = source.text.as_str();
    let known = |record: usize| {
        let cells = lines.cells(text, &lines.records[record]);
        cells
            .filter(|c| find(spec, &cell_text(&text[c.clone()])).is_some())
            .count()
    };
    let head_cells: Vec<Range<usize>> = lines.cells(text, &lines.records[head]).collect();
    let filled = head_cells
        .iter()
        .filter(|c| !is_blank(&text[(*c).clone()]))
        .count();
    if known(head) * 2 < filled.min(spec.columns.len()) && known(head) < spec.required.len().max(1)
    {
        let better = rest
            .iter()
            .take(10)
            .find(|&&r| known(r) >= spec.required.len().max(1));
        let span = lines.records[head].clone();
        findings.tell(
            Problem::at(Kind::NoHeader, source, span, "this line does not name the columns")
                .expected(format!("column names such as {}", spec.example))
                .hint(better.map_or_else(
                    || "put the column names into the first line".to_owned(),
                    |&r| {
                        let line = source.line_at(lines.records[r].start).0;
                        format!("they seem to be in line {line}: delete what stands above it, or begin it with `# `")
                    },
                )),
        );
        return None;
    }
    let nameless = nameless(text, lines, &head_cells, rest);
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
                let span = lines.records[head].clone();
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
    rows: &[usize],
) -> Vec<Option<Range<usize>>> {
    let blank: Vec<bool> = head.iter().map(|c| is_blank(&text[c.clone()])).collect();
    let mut first = vec![None; head.len()];
    if !blank.contains(&true) {
        return first;
    }
    for &row in rows {
        let cells = lines.cells(text, &lines.records[row]);
        for (i, cell) in cells.enumerate().take(head.len()) {
            if blank[i] && first[i].is_none() && !is_blank(&text[cell.clone()]) {
                first[i] = Some(cell);
            }
        }
    }
    first
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
    let header_text = row_text(sheet, head);
    let faults = on_all_threads(rest, |&record| {
        fault(sheet, record, header_text, separator).map(Box::new)
    });
    let mut sound = Vec::with_capacity(rest.len());
    for (&record, fault) in rest.iter().zip(faults) {
        match fault {
            Some(problem) => _ = findings.tell(*problem),
            None => sound.push(record),
        }
    }
    let repeated = repeated(sheet, &sound);
    tell_repeated(sheet, &repeated, spec.paste_from, findings);
    sound
}

/// Returns what keeps a record from being a row.
fn fault(sheet: &Sheet<'_>, record: usize, header_text: &str, separator: u8) -> Option<Problem> {
    if row_text(sheet, record) == header_text {
        return Some(
            sheet.row(record).problem(Kind::RepeatedHeader, "the header line stands here again")
                .expected("a row")
                .hint("the file seems to have been pasted into itself: delete this line and check what follows it"),
        );
    }
    if let Some(problem) = too_long(sheet, record, separator) {
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

/// Returns the rows that stand twice, each with the first of its kind.
fn repeated(sheet: &Sheet<'_>, rows: &[usize]) -> Vec<(usize, usize)> {
    // In nearly every file no two rows share even their fingerprint, and sorting those is quicker than remembering all rows.
    let mut prints = on_all_threads(rows, |&row| fingerprint(row_text(sheet, row)));
    prints.par_sort_unstable();
    if prints.windows(2).all(|pair| pair[0] != pair[1]) {
        return Vec::new();
    }
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let mut repeated = Vec::new();
    for &record in rows {
        match seen.entry(row_text(sheet, record)) {
            Entry::Occupied(first) => repeated.push((record, *first.get())),
            Entry::Vacant(place) => _ = place.insert(record),
        }
    }
    repeated
}

/// Mixes a text into one number; equal texts have equal ones.
fn fingerprint(text: &str) -> u64 {
    let mix = |print: u64, part: u64| {
        let wide = u128::from(print ^ part) * 0x9e37_79b9_7f4a_7c15;
        (wide >> 64) as u64 ^ wide as u64
    };
    let (words, rest) = text.as_bytes().as_chunks::<8>();
    let mut last = [0; 8];
    last[..rest.len()].copy_from_slice(rest);
    let print = words.iter().fold(text.len() as u64, |print, word| {
        mix(print, u64::from_le_bytes(*word))
    });
    mix(mix(print, u64::from_le_bytes(last)), 0x5bd1_e995)
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
    sheet.source().text[sheet.record(record)].trim_end_matches([',', ';', '\t', ' '])
}

fn too_long(sheet: &Sheet<'_>, record: usize, separator: u8) -> Option<Problem> {
    let (width, header) = (sheet.width(record), sheet.header_width());
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
    // A figure is no such word; most rows begin with a date.
    let text = &sheet.source().text;
    sheet
        .cells(record)
        .map(|c| cell_text(&text[c]))
        .find(|t| !t.is_empty())
        .filter(|t| t.len() < 16 && !t.starts_with(|c: char| c.is_ascii_digit()))
        .is_some_and(|t| TOTALS.contains(&plain(&t).trim_end_matches(':')))
}
