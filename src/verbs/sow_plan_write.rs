//! Writes the proposed sowings into `plantings.csv`: appended in the file's own columns, with the days on which standing
//! plantings go for them; the copy before kept, never twice.

use super::Failure;
use super::cli::Shared;
use super::setting::{self, Setting};
use crate::garden::planting::Planting;
use crate::garden::{Garden, UnitSystem};
use crate::input::cleared::with_cleared;
use crate::input::render::render_all;
use crate::input::whole::{self, Change, Kept, hold};
use crate::input::{self, problem::Problem, sheets, store};
use crate::output::rounding;
use crate::sowing::succession::proposal::{Proposal, Row};
use chrono::NaiveDate;

/// The file.
const FILE: &str = "plantings.csv";

/// Writes the rows and days of clearing that are not there yet; says what was done.
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
    let days = days(garden, found);
    if new.is_empty() && days.is_empty() {
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
    let dated = match &own {
        Some(own) if !days.is_empty() => Some(with_cleared(own, &days).ok_or_else(misplaced)?),
        _ => own.clone(),
    };
    let grown = store::grown(FILE, dated.as_deref(), &columns, &new).map_err(failed)?;
    files
        .content
        .insert(FILE.to_owned(), grown.clone().into_bytes());
    let after = input::load_files(&files).map_err(faults)?;
    if !only_cleared(garden, &after, &days) {
        return Err(misplaced());
    }
    let kept = own.as_ref().map(|own| Kept::of(&folder, FILE, own));
    let mut changes: Vec<Change<'_>> = kept.iter().map(Kept::change).collect();
    changes.push(Change {
        file: FILE,
        known: own.as_deref(),
        content: grown.as_bytes(),
    });
    whole::write(&hold(&folder), &folder, &changes).map_err(failed)?;
    let mut words = format!(
        "Added {} to {FILE}",
        rounding::counted(new.len(), "row", "rows")
    );
    if !days.is_empty() {
        let plantings = rounding::counted(days.len(), "planting", "plantings");
        words += &format!(" and set the day on which {plantings} will be cleared");
    }
    Ok(words + &format!("; the copy before is {FILE}.before."))
}

/// Rows that get a day of clearing, with that day.
fn days(garden: &Garden, found: &Proposal) -> Vec<(usize, NaiveDate)> {
    let all = found.cleared.iter().map(|c| (c.planting.0, c.day));
    all.filter(|(k, day)| garden.plantings[*k].cleared != Some(*day))
        .collect()
}

fn misplaced() -> Failure {
    Failure::File(format!(
        "the row of a planting to be cleared was not found again in {FILE}, and nothing was written\n  hint: set its `cleared` day by hand, or plan with --keep\n"
    ))
}

/// Says whether every planting is what it was but for the days of clearing.
fn only_cleared(before: &Garden, after: &Garden, days: &[(usize, NaiveDate)]) -> bool {
    let same = |(k, old): (usize, &Planting)| {
        let day = days.iter().find(|(row, _)| *row == k).map(|(_, day)| *day);
        after.plantings.get(k).is_some_and(|new| {
            (&new.bed, &new.crop, new.sown, new.set_out, new.size)
                == (&old.bed, &old.crop, old.sown, old.set_out, old.size)
                && new.cleared == day.or(old.cleared)
        })
    };
    before.plantings.iter().enumerate().all(same)
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
