//! A file of rows: header check, cells by column name, and the place of everything.
//!
//! Knows which columns a file may have, not what they mean.

use super::names::nearest;
use super::problem::{Findings, Kind, Problem, Told};
use super::repeated::NO_PRINT;
use super::split::{Cells, Lines, content, start};
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
pub(crate) const MANY: usize = 20_000;
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
    source: &'a Source<'a>,
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
    source: &'a Source<'a>,
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
    source: &'a Source<'a>,
    lines: Lines,
    /// For each cell of the header the column it stands for.
    columns: Vec<Option<&'a str>>,
    separator: u8,
    /// The record that is the header.
    head: usize,
    /// The records that are rows and have not been read already.
    rows: Vec<usize>,
}

impl<'a> Sheet<'a> {
    /// Reads header and rows; nothing if the header is not usable, which the findings then tell.
    pub(crate) fn read(
        source: &'a Source<'a>,
        spec: Spec<'a>,
        findings: &mut Findings,
    ) -> Option<Self> {
        let mut sheet = Self::begun(source, spec, findings)?;
        sheet.look_at_rows(Vec::new(), spec, findings);
        Some(sheet)
    }

    /// Reads the header only.
    pub(crate) fn begun(
        source: &'a Source<'a>,
        spec: Spec<'a>,
        findings: &mut Findings,
    ) -> Option<Self> {
        let text: &'a str = &source.text;
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
        let is_filled = |record: &usize| lines.cells(text, *record).any(|c| !is_blank(&text[c]));
        let Some(head) = (0..lines.len()).find(is_filled) else {
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
        let columns = super::header::read(source, &lines, head, spec, findings)?;
        Some(Self {
            source,
            lines,
            columns,
            separator,
            head,
            rows: Vec::new(),
        })
    }

    /// Takes the records after the header for rows and tells those that are none.
    ///
    /// `prints` holds for each of them its fingerprint if it has been read already, and then it is not read again, else
    /// [`NO_PRINT`]. Returns how many were left to look at; some may be blank and no rows.
    pub(crate) fn look_at_rows(
        &mut self,
        mut prints: Vec<u64>,
        spec: Spec<'a>,
        findings: &mut Findings,
    ) -> usize {
        prints.resize(self.records().len(), NO_PRINT);
        let left = prints.iter().filter(|p| **p == NO_PRINT).count();
        self.rows = super::header::sound_rows(self, &mut prints, findings);
        super::repeated::tell(self, &prints, spec.paste_from, findings);
        left
    }

    /// Returns the first record after the header.
    pub(crate) const fn first(&self) -> usize {
        self.head + 1
    }

    /// Returns start and end in the text of every record after the header.
    pub(crate) fn records(&self) -> &[[usize; 2]] {
        self.lines.records_from(self.first())
    }

    /// Returns for each cell of the header the column it stands for, and what separates cells.
    pub(crate) fn columns(&self) -> (&[Option<&'a str>], u8) {
        (&self.columns, self.separator)
    }

    /// Returns the records that are rows, in order.
    pub(crate) fn row_records(&self) -> &[usize] {
        &self.rows
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
        self.lines.cells(&self.source.text, record)
    }

    /// Returns the file's source.
    pub(crate) const fn source(&self) -> &'a Source<'a> {
        self.source
    }
    /// Returns the bytes of a record.
    pub(crate) fn record(&self, record: usize) -> Range<usize> {
        self.lines.record(record)
    }
    /// Returns how many cells a record has as written.
    pub(crate) fn width(&self, record: usize) -> usize {
        self.lines.width(&self.source.text, record)
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
