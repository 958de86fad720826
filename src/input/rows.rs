//! A file of rows: header check, cells by column name, and the place of everything.
//!
//! Knows which columns a file may have, not what they mean.

use super::names::nearest;
use super::problem::{Findings, Kind, Problem, Told};
use super::split::{Cells, Lines, content, guess_separator};
use super::text::{Source, clean};
use rayon::prelude::*;
use std::borrow::Cow;
use std::ops::Range;
use std::rc::Rc;

/// What a file of rows may and must hold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Spec<'a> {
    /// Columns that are known; `note` is known everywhere.
    pub(crate) columns: &'a [&'a str],
    /// Columns that every file must have.
    pub(crate) required: &'a [&'a str],
    /// A usual header line, to show what is expected.
    pub(crate) example: &'a str,
    /// Number of rows standing twice from which on it is a slip and not meant.
    pub(crate) paste_from: usize,
}

/// Rows from which on a file is read on all threads; the threads are not worth their start for fewer.
const MANY: usize = 20_000;
/// Rows that one thread reads at a time.
const PART: usize = 4096;

/// Works on every item, on all threads where there are many; results keep the order of the items.
pub(crate) fn on_all_threads<I: Sync, T: Send>(
    items: &[I],
    work: impl Fn(&I) -> T + Send + Sync,
) -> Vec<T> {
    if items.len() < MANY {
        items.iter().map(work).collect()
    } else {
        items.par_iter().with_min_len(PART).map(work).collect()
    }
}

/// Columns that a spreadsheet's merged cells leave blank on all rows but the first.
const MERGED: [&str; 5] = ["bed", "crop", "date", "product", "food"];

/// One cell that is not empty.
#[derive(Debug, Clone)]
pub(crate) struct Cell<'a> {
    source: &'a Source,
    /// Column it stands in.
    pub(crate) column: &'a str,
    /// Its content, cleaned.
    pub(crate) text: Cow<'a, str>,
    span: Range<usize>,
}

impl Cell<'_> {
    /// Returns its bytes in the file's text, quotes included.
    pub(crate) fn span(&self) -> Range<usize> {
        self.span.clone()
    }
    /// Makes a problem with this cell.
    pub(crate) fn problem(&self, kind: Kind, message: impl Into<String>) -> Problem {
        let mut problem =
            Problem::at(kind, self.source, self.span.clone(), message).column(self.column);
        problem.value = self.text.clone().into_owned();
        problem
    }
    /// Makes the problem of a parser's fault with this cell.
    pub(crate) fn fault(&self, fault: super::problem::Fault, expected: &str) -> Problem {
        self.problem(fault.kind, fault.message)
            .expected(expected)
            .maybe_hint(fault.hint)
    }
}

/// One row: its cells that are not empty.
#[derive(Debug, Clone)]
pub(crate) struct Row<'a> {
    source: &'a Source,
    span: Range<usize>,
    cells: Vec<Cell<'a>>,
    /// Number of cells as written and number of header cells, to explain a missing cell.
    counts: (usize, usize),
}

impl<'a> Row<'a> {
    /// Returns a cell by its column; nothing if it is empty or the file lacks the column.
    pub(crate) fn cell(&self, column: &str) -> Option<&Cell<'a>> {
        // Columns mostly differ in their first letter; this is asked many million times of a long file.
        let first = column.as_bytes().first();
        self.cells
            .iter()
            .find(|c| c.column.as_bytes().first() == first && c.column == column)
    }
    /// Returns a cell's text, owned; nothing if it is empty.
    pub(crate) fn text(&self, column: &str) -> Option<String> {
        self.cell(column).map(|c| c.text.clone().into_owned())
    }
    /// Returns a cell that must not be empty.
    pub(crate) fn need(
        &self,
        findings: &mut Findings,
        column: &str,
        expected: &str,
    ) -> Result<&Cell<'a>, Told> {
        if let Some(cell) = self.cell(column) {
            return Ok(cell);
        }
        let (got, header) = self.counts;
        let hint = if got < header {
            Some(format!("the row ends after {got} of {header} cells"))
        } else if self.cells.len() == 1 {
            Some("if this is a heading or a remark, begin the line with `# `".to_owned())
        } else if MERGED.contains(&column) {
            Some(
                "merged cells of a spreadsheet leave blanks: fill the value in on every row"
                    .to_owned(),
            )
        } else {
            None
        };
        let problem = self
            .problem(
                Kind::MissingCell,
                format!("this row has nothing under {column}"),
            )
            .column(column)
            .expected(expected)
            .maybe_hint(hint);
        Err(findings.tell(problem))
    }
    /// Makes a problem with a cell, or with the whole row if the cell is empty.
    pub(crate) fn problem_at(
        &self,
        column: &str,
        kind: Kind,
        message: impl Into<String>,
    ) -> Problem {
        match self.cell(column) {
            Some(cell) => cell.problem(kind, message),
            None => self.problem(kind, message).column(column),
        }
    }
    /// Makes a problem with the whole row.
    pub(crate) fn problem(&self, kind: Kind, message: impl Into<String>) -> Problem {
        Problem::at(kind, self.source, self.span.clone(), message)
    }
    /// Returns the line on which the row starts.
    pub(crate) fn line(&self) -> usize {
        self.source.line_at(self.span.start).0
    }
    /// Returns this row's cells laid over those of another.
    pub(crate) fn over(&self, base: &Self) -> Self {
        let mut merged = self.clone();
        merged.cells.extend(
            base.cells
                .iter()
                .filter(|c| self.cell(c.column).is_none())
                .cloned(),
        );
        merged
    }
}

/// A file of rows with its header read.
#[derive(Debug)]
pub(crate) struct Sheet<'a> {
    source: &'a Source,
    lines: Lines,
    /// For each cell of the header the column it stands for.
    columns: Vec<Option<&'a str>>,
    /// Indices of the records that are rows.
    rows: Vec<usize>,
}

impl<'a> Sheet<'a> {
    /// Reads header and rows; nothing if the header is not usable, which the findings then tell.
    pub(crate) fn read(
        source: &'a Source,
        spec: Spec<'a>,
        findings: &mut Findings,
    ) -> Option<Self> {
        let text = source.text.as_str();
        let (from, separator) = start(text);
        let lines = Lines::of(text, from, separator);
        if let Some(at) = lines.open_quote {
            let end = source.line_at(at).1 + source.line_at(at).2.len();
            findings.tell(
                Problem::at(Kind::OpenQuote, source, at..end, "a quote is opened here and never closed")
                    .expected("a closing `\"` at the end of the cell")
                    .hint("take the quote away, or double it if it belongs to the text (5\" for inches is better written 5 in)"),
            );
        }
        let filled = on_all_threads(&lines.records, |record| {
            lines.cells(text, record).any(|c| !is_blank(&text[c]))
        });
        let records: Vec<usize> = (0..filled.len()).filter(|&i| filled[i]).collect();
        let Some((&head, rest)) = records.split_first() else {
            findings.tell(
                Problem::of_file(
                    Kind::NoHeader,
                    &source.name,
                    format!("{} is empty", source.name),
                )
                .expected(format!("a first line such as {}", spec.example))
                .hint("delete the file if you do not need it"),
            );
            return None;
        };
        let columns = super::header::read(source, &lines, head, rest, spec, findings)?;
        let mut sheet = Self {
            source,
            lines,
            columns,
            rows: Vec::new(),
        };
        sheet.rows = super::header::sound_rows(&sheet, head, rest, spec, separator, findings);
        Some(sheet)
    }

    /// Returns the rows in order.
    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'a>> + '_ {
        self.rows.iter().map(|&i| self.row(i))
    }

    /// Reads every row, those of a long file on all threads; what is told keeps the order of the rows.
    pub(crate) fn each<T: Send>(
        &self,
        f: &mut Findings,
        read: impl Fn(&Row<'a>, &mut Findings) -> T + Sync,
    ) -> impl Iterator<Item = T> {
        let part = |rows: &[usize]| {
            let mut told = Findings::default();
            let read = rows.iter().map(|&i| read(&self.row(i), &mut told));
            (read.collect::<Vec<T>>(), told)
        };
        let parts: Vec<(Vec<T>, Findings)> = if self.rows.len() < MANY {
            vec![part(&self.rows)]
        } else {
            self.rows.par_chunks(PART).map(part).collect()
        };
        let mut read = Vec::with_capacity(parts.len());
        for (rows, told) in parts {
            read.push(rows);
            f.add(told);
        }
        read.into_iter().flatten()
    }

    /// Returns the cells of some columns in order, for looking at a whole column at once.
    pub(crate) fn cells_of(&self, columns: &[&str]) -> impl Iterator<Item = Cell<'a>> + '_ {
        let wanted: Rc<[(usize, &'a str)]> = self
            .columns
            .iter()
            .enumerate()
            .filter_map(|(i, column)| Some((i, (*column)?)))
            .filter(|(_, column)| columns.contains(column))
            .collect();
        let columns_wanted = wanted.len();
        self.rows.iter().flat_map(move |&record| {
            let wanted = Rc::clone(&wanted);
            let cell = move |k: usize| self.cell_at(record, wanted[k].0, wanted[k].1);
            (0..columns_wanted).filter_map(cell)
        })
    }

    /// Returns the number of rows.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Says whether the file has a column.
    pub(crate) fn has(&self, column: &str) -> bool {
        self.columns.contains(&Some(column))
    }

    /// Returns the bytes of a record's cells.
    pub(crate) fn cells(&self, record: usize) -> Cells<'a> {
        self.lines
            .cells(&self.source.text, &self.lines.records[record])
    }

    /// Returns the file's source.
    pub(crate) const fn source(&self) -> &'a Source {
        self.source
    }
    /// Returns the bytes of a record.
    pub(crate) fn record(&self, record: usize) -> Range<usize> {
        self.lines.records[record].clone()
    }
    /// Returns how many cells a record has as written.
    pub(crate) fn width(&self, record: usize) -> usize {
        (self.lines).width(&self.source.text, &self.lines.records[record])
    }
    /// Returns how many cells the header has.
    pub(crate) fn header_width(&self) -> usize {
        self.columns.len()
    }

    /// Makes the cell of a record; none if it is empty or not there.
    fn cell_at(&self, record: usize, index: usize, column: &'a str) -> Option<Cell<'a>> {
        self.cell(self.cells(record).nth(index)?, column)
    }

    /// Makes the cell at some bytes; none if it is empty.
    fn cell(&self, span: Range<usize>, column: &'a str) -> Option<Cell<'a>> {
        let text = cell_text(&self.source.text[span.clone()]);
        (!text.is_empty()).then_some(Cell {
            source: self.source,
            column,
            text,
            span,
        })
    }

    /// Makes the row of a record.
    pub(crate) fn row(&self, record: usize) -> Row<'a> {
        let mut spans = self.cells(record);
        let mut cells = Vec::with_capacity(self.columns.len());
        let mut width = 0;
        for (column, span) in self.columns.iter().zip(spans.by_ref()) {
            width += 1;
            if let Some(column) = column {
                cells.extend(self.cell(span, column));
            }
        }
        Row {
            source: self.source,
            span: self.record(record),
            cells,
            counts: (width + spans.count(), self.columns.len()),
        }
    }
}

/// Returns a cell's content, unquoted and cleaned.
pub(crate) fn cell_text(raw: &str) -> Cow<'_, str> {
    match content(raw) {
        Cow::Borrowed(text) => clean(text),
        Cow::Owned(text) => Cow::Owned(clean(&text).into_owned()),
    }
}

/// Finds where the header begins and what separates cells; a leading `sep=;` line of a spreadsheet is taken at its word.
fn start(text: &str) -> (usize, u8) {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim();
        let lower = bare.trim_matches('"').to_ascii_lowercase();
        if let Some(&separator) = lower
            .strip_prefix("sep=")
            .and_then(|s| s.as_bytes().first())
        {
            return (at + line.len(), separator);
        }
        if line.trim() == "sep=" {
            return (at + line.len(), b'\t');
        }
        if !bare.is_empty() && !bare.starts_with('#') {
            return (at, guess_separator(line));
        }
        at += line.len();
    }
    (0, b',')
}

/// Says whether a cell holds nothing that can be seen.
pub(crate) fn is_blank(raw: &str) -> bool {
    cell_text(raw).is_empty()
}

/// Says what the nearest known name is, as a hint.
pub(crate) fn did_you_mean<'n>(
    text: &str,
    known: impl IntoIterator<Item = &'n str>,
) -> Option<String> {
    nearest(text, known).map(|name| format!("did you mean `{name}`?"))
}
