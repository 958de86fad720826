//! `putby check`: every fault in the files at once, then what is odd in the beds.

use super::cli::Shared;
use super::setting::{self, Setting};
use super::{Exit, Failure, deliver};
use crate::garden::Garden;
use crate::input::problem::Problem;
use crate::input::render::render_all;
use crate::input::whole::{self, Change, hold};
use crate::input::{fix, loader};
use crate::output::report::{Facts, Report};
use crate::output::table::Cell;
use crate::output::{dates, rounding, text};
use crate::season::windows::windows;
use crate::sowing::beds::{BedFinding, findings};
use chrono::{Days, NaiveDate};
use clap::Args;

/// Arguments of `check`.
#[derive(Debug, Clone, Args)]
pub struct CheckArgs {
    /// First rewrite dates as year-month-day and numbers without units, where only one thing can be meant
    #[arg(long)]
    fix: bool,
}

/// Runs the verb: the exit code says whether there are findings.
pub(super) fn run(shared: &Shared, arguments: &CheckArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "check")?;
    let mended = if arguments.fix {
        mend(shared)?
    } else {
        Vec::new()
    };
    let setting = Setting::load(shared)?;
    let garden = &setting.garden;
    let found = findings(garden, &leaves(&setting));
    let mut report = Report::default();
    report.points(mended);
    report.text(format!(
        "{}: {}, {}, no faults in the files.",
        garden.name,
        rounding::counted(garden.plantings.len(), "planting", "plantings"),
        rounding::counted(garden.beds.len(), "bed", "beds"),
    ));
    let told: Vec<(String, String)> = found.iter().map(|f| tell(garden, f)).collect();
    report.points(told.iter().map(|(_, words)| words.clone()).collect());
    report.points(garden.warnings.clone());
    let mut facts = Facts::new(&["kind", "finding"]);
    for (kind, words) in &told {
        facts.push(vec![Cell::text(kind.clone()), Cell::text(words.clone())]);
    }
    for warning in &garden.warnings {
        facts.push(vec![Cell::text("warning"), Cell::text(warning.clone())]);
    }
    report.facts = facts;
    deliver::report(&report, &setting, shared, false)?;
    Ok(if found.is_empty() {
        Exit::Done
    } else {
        Exit::Found
    })
}

/// Rewrites what can be rewritten, file by file, and says what was changed.
fn mend(shared: &Shared) -> Result<Vec<String>, Failure> {
    if shared.sample {
        return Err(Failure::Usage(
            "the sample cannot be rewritten; for a copy say: putby start --from-sample".into(),
        ));
    }
    let folder = setting::folder(shared);
    let told = |problems: &[Problem]| Failure::Problems(render_all(problems, false));
    let files = loader::read(&folder).map_err(|problems| told(&problems))?;
    let in_workbooks = fix::in_workbooks(&files);
    if !in_workbooks.is_empty() {
        return Err(told(&in_workbooks));
    }
    let mended = fix::fix(&files);
    let changes: Vec<Change<'_>> = mended
        .iter()
        .map(|mended| Change {
            file: &mended.file,
            known: Some(&mended.before),
            content: &mended.after,
        })
        .collect();
    whole::write(&hold(&folder), &folder, &changes).map_err(|problem| told(&[*problem]))?;
    let mut said = Vec::new();
    for mended in &mended {
        for change in &mended.changes {
            said.push(format!(
                "{}:{}, {}: `{}` is now `{}`",
                mended.file, change.line, change.column, change.from, change.to
            ));
        }
    }
    if said.is_empty() {
        said.push("Nothing to rewrite.".to_owned());
    }
    Ok(said)
}

/// First day on which the ground of each planting is free: its clearing date, else the day after its middle last picking.
fn leaves(setting: &Setting) -> Vec<NaiveDate> {
    let garden = &setting.garden;
    let plan = setting.plan();
    let mut days: Vec<NaiveDate> = garden
        .plantings
        .iter()
        .map(|p| p.cleared.unwrap_or(p.start()))
        .collect();
    for window in windows(&plan, &setting.draws) {
        let planting = garden.planting(window.planting);
        if planting.cleared.is_none()
            && let Some(last) = window.last
        {
            days[window.planting.0] = last.p50 + Days::new(1);
        }
    }
    days
}

/// Says a finding in words, with its kind for machines.
fn tell(garden: &Garden, finding: &BedFinding) -> (String, String) {
    match finding {
        BedFinding::Overfull {
            bed,
            from,
            until,
            used,
            room,
            plantings,
        } => {
            let names: Vec<&str> = plantings
                .iter()
                .map(|&p| garden.planting(p).name.as_str())
                .collect();
            (
                "bed overfull".to_owned(),
                format!(
                    "Bed {} is overfull {}: {} planted, room for {} ({}). Shorten a row, or give an earlier `cleared`.",
                    garden.bed(*bed).name,
                    dates::range(*from, *until),
                    area(garden, *used),
                    area(garden, *room),
                    text::list(&names),
                ),
            )
        }
        BedFinding::SameFamily { bed, before, after } => (
            "family after itself".to_owned(),
            format!(
                "Bed {}: {} follows {} of the same family ({}) within a year.",
                garden.bed(*bed).name,
                garden.planting(*after).name,
                garden.planting(*before).name,
                garden.crop(garden.planting(*after).crop).family,
            ),
        ),
    }
}

fn area(garden: &Garden, area: crate::garden::units::Area) -> String {
    let (figure, unit) = Cell::Area(area).for_people(garden.show.units);
    format!("{figure} {}", unit.unwrap_or_default())
}
