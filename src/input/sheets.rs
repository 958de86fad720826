//! Tables kept in workbooks: `plantings.xlsx` or `.ods` instead of `plantings.csv`, or one `garden.xlsx` with a sheet for each.
//!
//! Each sheet is laid open as the CSV text it would be saved as, so that whoever reads a table need not know where it was kept;
//! afterwards the problems found are given the name of the workbook and the sheet. Nothing is ever written to a workbook.

use super::loader::{FILE_NAMES, Files};
use super::names::{nearest, plain};
use super::problem::{Findings, Kind, Problem};
use super::workbook::{self, Leaf};
use super::{sheets_broken, sheets_twice};
use std::borrow::Cow;
use std::ops::Range;

/// Where a table is kept that is not a CSV file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// The workbook.
    pub file: String,
    /// The sheet; empty if the workbook could not be opened.
    pub sheet: String,
}

impl Kept {
    /// Returns the file and the sheet, as the place of a problem.
    pub(crate) fn place(&self) -> String {
        if self.sheet.is_empty() {
            self.file.clone()
        } else {
            format!("{}, sheet {}", self.file, self.sheet)
        }
    }
    /// Returns what may be said instead of the name of a CSV file.
    pub(crate) fn words(&self) -> String {
        if self.file.starts_with("garden.") && !self.sheet.is_empty() {
            format!("the sheet {} of {}", self.sheet, self.file)
        } else {
            self.file.clone()
        }
    }
}

/// Which tables a workbook of a name holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Holds {
    /// One table, named as its CSV file.
    One(&'static str),
    /// Any table, each on a sheet of its name.
    Any,
}

/// Says which tables a file holds by its name in lower case; none if it is no workbook of a garden.
pub(crate) fn holds(name: &str) -> Option<Holds> {
    let stem = name
        .strip_suffix(".xlsx")
        .or_else(|| name.strip_suffix(".ods"))?;
    if stem == "garden" {
        return Some(Holds::Any);
    }
    table(stem).map(Holds::One)
}

/// Returns the CSV name of a table.
fn table(stem: &str) -> Option<&'static str> {
    FILE_NAMES
        .into_iter()
        .find(|n| n.strip_suffix(".csv") == Some(stem))
}

/// A table found on a sheet.
pub(crate) struct Found {
    pub(crate) table: &'static str,
    pub(crate) kept: Kept,
    pub(crate) text: String,
    broken: Vec<Range<usize>>,
}

/// A garden's files with every sheet laid open.
pub(crate) struct Open<'f> {
    /// The files, tables of workbooks under the names of their CSV files.
    pub(crate) files: Cow<'f, Files>,
    /// Cells with an error or a formula without a value; told where nobody else complains of them.
    broken: Vec<Problem>,
}

/// Lays every sheet open that holds a table; what cannot be read is told.
pub(crate) fn laid_open<'f>(files: &'f Files, findings: &mut Findings) -> Open<'f> {
    let unreadable = files.unreadable.iter().map(|(name, _)| name);
    if !files
        .content
        .keys()
        .chain(unreadable)
        .any(|n| holds(n).is_some())
    {
        return Open {
            files: Cow::Borrowed(files),
            broken: Vec::new(),
        };
    }
    let mut open = Files {
        content: files.content.clone(),
        ..files.clone()
    };
    let mut found: Vec<Found> = Vec::new();
    let mut lost: Vec<(Holds, String)> = Vec::new();
    for (name, _) in &files.unreadable {
        lost.extend(holds(name).map(|holds| (holds, name.clone())));
    }
    for (name, bytes) in &files.content {
        let Some(holds) = holds(name) else { continue };
        open.content.remove(name);
        let before = found.len();
        match workbook::read(name, bytes) {
            Err(problem) => _ = findings.tell(*problem),
            Ok(leaves) => match holds {
                Holds::One(table) => found.extend(only(name, table, leaves, findings)),
                Holds::Any => found.extend(each(name, leaves, &mut lost, findings)),
            },
        }
        if found.len() == before {
            lost.push((holds, name.clone()));
        }
    }
    sheets_twice::tell(files, &found, findings);
    let mut broken = Vec::new();
    for one in found {
        if open.content.contains_key(one.table) {
            continue;
        }
        broken.extend(sheets_broken::cells(one.table, &one.text, &one.broken));
        open.content
            .insert(one.table.to_owned(), one.text.into_bytes());
        open.sheets.insert(one.table.to_owned(), one.kept);
    }
    for (holds, file) in lost {
        let table = match holds {
            Holds::One(table) => table,
            Holds::Any => "plantings.csv",
        };
        if !open.content.contains_key(table) {
            let sheet = String::new();
            open.sheets.insert(table.to_owned(), Kept { file, sheet });
        }
    }
    Open {
        files: Cow::Owned(open),
        broken,
    }
}

/// Returns the table of a workbook that holds but one: the sheet of its name, else the only sheet that holds anything.
fn only(
    file: &str,
    table: &'static str,
    leaves: Vec<Leaf>,
    findings: &mut Findings,
) -> Option<Found> {
    let stem = table.trim_end_matches(".csv");
    let named = leaves
        .iter()
        .position(|l| sheet_table(&l.name) == Some(table));
    let filled: Vec<usize> = (0..leaves.len())
        .filter(|&i| !leaves[i].is_empty())
        .collect();
    let chosen = match (named, filled.as_slice()) {
        (Some(i), _) => i,
        (None, [i]) => *i,
        (None, []) => 0,
        (None, several) => {
            let names: Vec<&str> = several.iter().map(|&i| leaves[i].name.as_str()).collect();
            let near = nearest(stem, names.iter().copied());
            findings.tell(
                Problem::of_file(
                    Kind::MisnamedSheet,
                    file,
                    format!(
                        "{file} has {} sheets that hold something ({}), and none is named {stem}",
                        names.len(),
                        names.join(", ")
                    ),
                )
                .expected(format!("a sheet named {stem}, or one sheet only"))
                .hint(match near {
                    Some(near) => format!("rename the sheet {near} to {stem}"),
                    None => format!("name the right one `{stem}`"),
                }),
            );
            return None;
        }
    };
    let leaf = leaves.into_iter().nth(chosen)?;
    Some(taken(file, table, &leaf))
}

/// Returns every table of a workbook whose sheets are named like the tables.
fn each(
    file: &str,
    leaves: Vec<Leaf>,
    lost: &mut Vec<(Holds, String)>,
    findings: &mut Findings,
) -> Vec<Found> {
    let has = |table| leaves.iter().any(|l| sheet_table(&l.name) == Some(table));
    let mut found = Vec::new();
    let (mut near_misses, mut others) = (0, Vec::new());
    for leaf in &leaves {
        if let Some(table) = sheet_table(&leaf.name) {
            found.push(taken(file, table, leaf));
            continue;
        }
        if leaf.is_empty() {
            continue;
        }
        let stems = FILE_NAMES.map(|n| n.trim_end_matches(".csv"));
        let lower = plain(&leaf.name);
        let meant = nearest(&lower, stems)
            .filter(|stem| strsim::osa_distance(stem, &lower) <= 2)
            .filter(|stem| table(stem).is_some_and(|t| !has(t)));
        match meant {
            Some(stem) => {
                near_misses += 1;
                lost.extend(table(stem).map(|t| (Holds::One(t), file.to_owned())));
                findings.tell(
                    Problem::of_file(
                        Kind::MisnamedSheet,
                        file,
                        format!("the sheet {} is not read: the sheet's name is {stem}", leaf.name),
                    )
                    .hint(format!(
                        "rename the sheet to {stem}; if it is something else, give it a name less like it"
                    )),
                );
            }
            None => others.push(leaf.name.as_str()),
        }
    }
    if found.is_empty() && near_misses == 0 {
        findings.tell(
            Problem::of_file(
                Kind::MisnamedSheet,
                file,
                match others.as_slice() {
                    [] => format!("{file} holds nothing"),
                    names => format!(
                        "{file} has no sheet of a garden's table, only {}",
                        names.join(", ")
                    ),
                },
            )
            .expected(
                "sheets named plantings, beds, needs, goals, picked and so on, like the CSV files",
            )
            .hint("name the sheet of the plantings `plantings`"),
        );
    } else if !others.is_empty() {
        findings.warn(format!(
            "Sheets of {file} that are no tables of the garden and are not read: {}.",
            others.join(", ")
        ));
    }
    found
}

/// Returns the table whose name a sheet has, whatever its case.
fn sheet_table(name: &str) -> Option<&'static str> {
    let lower = plain(name);
    table(lower.strip_suffix(".csv").unwrap_or(&lower))
}

fn taken(file: &str, table: &'static str, leaf: &Leaf) -> Found {
    let laid = leaf.laid();
    Found {
        table,
        kept: Kept {
            file: file.to_owned(),
            sheet: leaf.name.clone(),
        },
        text: laid.text,
        broken: laid.broken,
    }
}

impl Open<'_> {
    /// Tells the broken cells that no reader of their table has complained of.
    pub(crate) fn tell_broken(&self, findings: &mut Findings) {
        sheets_broken::tell(&self.broken, findings);
    }

    /// Names the workbook in a problem with a table that was laid open.
    pub(crate) fn named(&self, mut problem: Problem) -> Problem {
        // These speak of the files themselves.
        let of_files = [
            Kind::NotAWorkbook,
            Kind::SheetTooLarge,
            Kind::MisnamedSheet,
            Kind::MisnamedFile,
            Kind::KeptTwice,
        ];
        if of_files.contains(&problem.kind) {
            return problem;
        }
        if let Some(kept) = self.files.sheets.get(&problem.file) {
            problem.file = kept.place();
        }
        problem.message = self.reworded(&problem.message);
        problem.expected = self.reworded(&problem.expected);
        problem.hint = problem.hint.as_deref().map(|hint| self.reworded(hint));
        problem
    }

    /// Puts the workbook's name for that of the CSV file wherever a sentence speaks of it.
    pub(crate) fn reworded(&self, sentence: &str) -> String {
        let mut sentence = sentence.to_owned();
        for (table, kept) in &self.files.sheets {
            if sentence.contains(table.as_str()) {
                sentence = sentence.replace(table.as_str(), &kept.words());
            }
        }
        sentence
    }
}

/// Returns the problem with writing to a table, if it is kept in a workbook.
#[must_use]
pub fn refusal(files: &Files, table: &str) -> Option<Problem> {
    let open = laid_open(files, &mut Findings::default());
    let kept = open.files.sheets.get(table)?;
    let stem = table.trim_end_matches(".csv");
    Some(
        Problem::of_file(
            Kind::Unwritable,
            &kept.place(),
            format!(
                "the table {stem} is kept in {}, and workbooks are read but never written to",
                kept.words()
            ),
        )
        .hint(format!(
            "in the spreadsheet save the sheet as {table} (type CSV UTF-8), then remove {}",
            kept.words()
        )),
    )
}
