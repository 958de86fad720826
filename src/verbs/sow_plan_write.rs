//! Writes the proposed sowings into `plantings.csv`: appended in the file's own columns, the copy before kept, never twice.

use super::Failure;
use super::cli::Shared;
use super::setting::{self, Setting};
use crate::garden::planting::Planting;
use crate::garden::{Garden, UnitSystem};
use crate::input::render::render_all;
use crate::input::whole::{self, Change, Kept, hold};
use crate::input::{self, problem::Problem, sheets, store};
use crate::output::rounding;
use crate::sowing::succession::proposal::{Proposal, Row};

/// The file.
const FILE: &str = "plantings.csv";

/// Writes the rows that are not there yet; says what was done.
///
/// # Errors
/// The garden would not load with them, or the file cannot be written; it then stands as it was.
pub(super) fn write(
    shared: &Shared,
    setting: &Setting,
    found: &Proposal,
) -> Result<String, Failure> {
    let garden = &setting.garden;
    let new: Vec<store::NewRow> = found
        .rows
        .iter()
        .filter(|r| !garden.plantings.iter().any(|p| same(p, r)))
        .map(|r| row(garden, r))
        .collect();
    if new.is_empty() {
        return Ok("Nothing to write: no row is new.".to_owned());
    }
    let faults = |problems: Vec<Problem>| Failure::Problems(render_all(&problems, false));
    let failed = |problem: Box<Problem>| Failure::File(render_all(&[*problem], false));
    let folder = setting::folder(shared);
    let mut files = input::read_files(&folder).map_err(faults)?;
    if let Some(problem) = sheets::refusal(&files, FILE) {
        return Err(failed(Box::new(problem)));
    }
    let own = files.content.get(FILE).map(|c| c.as_slice().to_vec());
    let columns = ["bed", "crop", "sown", "set_out", "row_ft"];
    let grown = store::grown(FILE, own.as_deref(), &columns, &new).map_err(failed)?;
    files
        .content
        .insert(FILE.to_owned(), grown.clone().into_bytes());
    input::load_files(&files).map_err(faults)?;
    let kept = own.as_ref().map(|own| Kept::of(&folder, FILE, own));
    let mut changes: Vec<Change<'_>> = kept.iter().map(Kept::change).collect();
    changes.push(Change {
        file: FILE,
        known: own.as_deref(),
        content: grown.as_bytes(),
    });
    whole::write(&hold(&folder), &folder, &changes).map_err(failed)?;
    Ok(format!(
        "Added {} to {FILE}; the copy before is {FILE}.before.",
        rounding::counted(new.len(), "row", "rows")
    ))
}

/// Says whether a planting is a proposed row already.
fn same(planting: &Planting, row: &Row) -> bool {
    planting.bed == row.bed
        && planting.crop == row.crop
        && planting.sown == Some(row.sown)
        && planting.set_out == row.set_out
}

fn row(garden: &Garden, row: &Row) -> store::NewRow {
    let cell = |name: &str, value: String| (name.to_owned(), value);
    let (unit, length) = match garden.show.units {
        UnitSystem::Us => ("row_ft", row.row.ft()),
        UnitSystem::Metric => ("row_m", row.row.m()),
    };
    let mut cells = vec![
        cell("bed", garden.bed(row.bed).name.clone()),
        cell("crop", garden.crop(row.crop).name.clone()),
        cell("sown", row.sown.to_string()),
        cell(unit, rounding::decimals(length, 1)),
        cell("note", "proposed by putby sow plan".to_owned()),
    ];
    if let Some(day) = row.set_out {
        cells.push(cell("set_out", day.to_string()));
    }
    cells
}
