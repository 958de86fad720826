//! `putby sessions --check FILE`: a plan edited by hand, held against the garden, the food there will be and the hours.
//!
//! Every breach is told with its place in the file; a plan without any is answered with the length of each day.

use super::cli::{Format, Shared};
use super::sessions_breaches::breaches;
use super::setting::Setting;
use super::{Exit, Failure, deliver, sessions_facts};
use crate::garden::units::{Mass, Minutes};
use crate::input::plan_file::{self, PlanRow};
use crate::input::problem::Problem;
use crate::input::render::render_all;
use crate::kitchen::checker::by_hand::{Wanted, put_to_food};
use crate::kitchen::plan::dated::{DatedTake, DatedWork};
use crate::kitchen::plan::order::session_length;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::text;
use chrono::NaiveDate;
use std::path::Path;

/// Reads the plan of a file.
///
/// # Errors
/// Everything that cannot be read, as text.
pub(super) fn plan(setting: &Setting, path: &Path) -> Result<Vec<PlanRow>, Failure> {
    plan_file::load(&setting.garden, path)
        .map_err(|problems| Failure::Problems(render_all(&problems, false)))
}

/// Checks a plan against the food of a season and answers.
pub(super) fn run(
    shared: &Shared,
    setting: &Setting,
    path: &Path,
    food: &[DatedTake],
) -> Result<Exit, Failure> {
    let rows = plan(setting, path)?;
    let wanted: Vec<Wanted> = rows.iter().map(wanted).collect();
    let (works, short) = put_to_food(&setting.garden, food, &wanted);
    let found = breaches(setting, &rows, &works, &short);
    if found.is_empty() {
        deliver::report(&accepted(setting, &works, path), setting, shared, true)?;
        return Ok(Exit::Done);
    }
    if matches!(shared.format, Format::Table) {
        deliver::text_out(&render_all(&found, false), shared)?;
    } else {
        let report = Report {
            facts: facts(&found),
            ..Report::default()
        };
        deliver::report(&report, setting, shared, true)?;
    }
    Ok(Exit::Found)
}

fn wanted(row: &PlanRow) -> Wanted {
    Wanted {
        date: row.date,
        product: row.product,
        crops: row.crops.clone(),
        kg: row.kg,
    }
}

fn accepted(setting: &Setting, works: &[DatedWork], path: &Path) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!(
        "This plan can be held: {}",
        text::visible(&path.display().to_string())
    ));
    let mut table = Table::new(vec![
        Column::text("date", "Day"),
        Column::measured("minutes", "Takes"),
        Column::measured("capacity_minutes", "There is"),
        Column::text("product", "Make"),
        Column::text("crops", "From"),
    ]);
    let mut facts = Facts::new(&[
        "date",
        "minutes",
        "capacity_minutes",
        "product",
        "crops",
        "kg",
    ]);
    let mut days: Vec<NaiveDate> = works.iter().map(|w| w.date).collect();
    days.sort_unstable();
    days.dedup();
    let kitchen = &garden.household.kitchen;
    for day in days {
        let of_day: Vec<DatedWork> = works.iter().filter(|w| w.date == day).cloned().collect();
        let length = Minutes::from_min(session_length(garden, &of_day, kitchen.hands_on(day)));
        for (k, work) in of_day.iter().enumerate() {
            let crops = sessions_facts::from(setting, work);
            let once = |cell: Cell| if k == 0 { cell } else { Cell::text("") };
            let product = Cell::text(garden.product(work.product).name.clone());
            table.push(vec![
                once(Cell::Date(day)),
                once(Cell::Hours(length)),
                once(Cell::Hours(kitchen.minutes_on(day))),
                product.clone(),
                Cell::text(crops.clone()),
            ]);
            facts.push(vec![
                Cell::Date(day),
                Cell::Minutes(length),
                Cell::Minutes(kitchen.minutes_on(day)),
                product,
                Cell::text(crops),
                Cell::Mass(Mass::from_kg(work.kg())),
            ]);
        }
    }
    report.text(
        "No limit is passed: food, keeping days, shares, hours, equipment, jars, goals, and what may be canned. The \
         food is that of the season `putby sessions` plans for.",
    );
    report.table(table);
    report.facts = facts;
    report
}

fn facts(breaches: &[Problem]) -> Facts {
    let mut facts = Facts::new(&["line", "column", "value", "what", "expected", "remedy"]);
    for p in breaches {
        facts.push(vec![
            Cell::maybe(p.line, |line| {
                Cell::Count(i64::try_from(line).unwrap_or(i64::MAX))
            }),
            Cell::maybe(p.column.clone(), Cell::Text),
            Cell::text(p.value.clone()),
            Cell::text(p.message.clone()),
            Cell::text(p.expected.clone()),
            Cell::maybe(p.hint.clone(), Cell::Text),
        ]);
    }
    facts
}
