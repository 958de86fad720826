//! Cells of a sheet that hold a spreadsheet's error, or a formula whose value was not saved.
//!
//! Whoever reads a table complains of them where a value is needed; a remark or a name would take them as text, so they are
//! looked for here as well.

use super::problem::{Findings, Kind, Problem};
use super::rows::cell_text;
use super::split::split;
use super::text::Source;
use std::ops::Range;

/// Makes the problems of a table's broken cells.
pub(crate) fn cells(table: &str, text: &str, broken: &[Range<usize>]) -> Vec<Problem> {
    if broken.is_empty() {
        return Vec::new();
    }
    let source = Source::from_text(table, text);
    let split = split(&source.text, 0, b',');
    let header = split.records.first().map_or(0..0, |r| r.cells.clone());
    let names: Vec<String> = split.cells[header]
        .iter()
        .map(|c| cell_text(&source.text[c.clone()]).into_owned())
        .collect();
    let mut problems = Vec::new();
    for span in broken {
        let column = split
            .records
            .iter()
            .find(|r| r.span.contains(&span.start))
            .and_then(|r| split.cells[r.cells.clone()].iter().position(|c| c == span))
            .and_then(|i| names.get(i))
            .filter(|name| !name.is_empty());
        let text = cell_text(&source.text[span.clone()]);
        let (message, hint) = if text.starts_with('=') {
            (
                format!("the value of the formula `{text}` was not saved with it"),
                "open the workbook in the spreadsheet and save it again",
            )
        } else {
            (
                format!("`{text}` is a spreadsheet's error, not a value"),
                "mend the formula in the spreadsheet and save again",
            )
        };
        let problem =
            Problem::at(Kind::SpreadsheetError, &source, span.clone(), message).hint(hint);
        problems.push(match column {
            Some(name) => problem.column(name),
            None => problem.expected("a value"),
        });
    }
    problems
}

/// Tells the broken cells that nobody has complained of.
pub(crate) fn tell(broken: &[Problem], findings: &mut Findings) {
    for cell in broken {
        let told = findings.problems.iter_mut().find(|p| {
            p.file == cell.file
                && p.line == cell.line
                && p.span.start < cell.span.end
                && cell.span.start < p.span.end
        });
        match told {
            // A reader of CSV takes a formula for one that was typed as text.
            Some(problem) if cell.message.contains("formula") => {
                problem.message.clone_from(&cell.message);
                problem.hint.clone_from(&cell.hint);
            }
            Some(_) => {}
            None => _ = findings.tell(cell.clone()),
        }
    }
}
