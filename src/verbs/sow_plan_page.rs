//! The page and the facts of `putby sow plan`.

use super::said;
use super::setting::Setting;
use super::sow_plan_words::{CHANGED, bind, called, clearings, kitchen, kitchen_weeks, seed};
use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::sowing::succession::Asked;
use crate::sowing::succession::proposal::{Load, Need, NeedWeek, Proposal, Row};
use serde_json::json;

/// Makes the page.
pub(super) fn report(setting: &Setting, found: &Proposal, asked: &Asked) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("A succession: {}", garden.name));
    report.text(summary(garden, found, asked));
    if !found.rows.is_empty() {
        report.table(calendar(garden, found));
        report.table(supply(garden, found));
        report.points(winter(garden, found));
    }
    report.text(kitchen(found, asked));
    if let Some(table) = kitchen_weeks(found) {
        report.table(table);
    }
    let mut points: Vec<String> = found.binds.iter().map(|b| bind(garden, b)).collect();
    points.extend(clearings(garden, found));
    report.points(points);
    if !found.rows.is_empty() {
        report.table(seed(garden, found));
    }
    report.points(said::assumed(garden, &found.notes));
    report.facts = facts(garden, found);
    report
}

fn summary(garden: &Garden, found: &Proposal, asked: &Asked) -> String {
    let until = dates::short(found.until);
    if found.rows.is_empty() {
        let beds = garden.beds.len();
        if beds > 0 && found.full_beds == beds {
            return format!(
                "Nothing fits: every bed is full on every day until {until} that would still be of use."
            );
        }
        return format!(
            "Nothing more is worth sowing until {until}: what stands or is written down does it."
        );
    }
    let sowings = rounding::counted(found.rows.len(), "sowing", "sowings");
    let mut words = format!("{sowings} until {until}.");
    if found.rows.len() >= asked.sowings {
        words += " That is as many as you asked for at most.";
    }
    for (food, weeks, [before, after]) in &found.fall {
        if after - before >= 0.05 {
            words += &format!(
                " {}: 9 weeks of 10 are met in {} instead of {}, over the {weeks} weeks from the first that a new sowing could serve to the dark days.",
                capital(&called(garden, *food)),
                rounding::seasons_in_ten(*after),
                rounding::in_ten(*before),
            );
        }
    }
    words
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn calendar(garden: &Garden, found: &Proposal) -> Table {
    let raised = found.rows.iter().any(|r| r.set_out.is_some());
    let early = found.rows.iter().any(|r| r.not_before.is_some());
    let mut columns = vec![Column::text("crop", "Crop")];
    if raised {
        columns.push(Column::text("tray", "Tray"));
    }
    columns.push(Column::text(
        "in_bed",
        if raised { "In the bed" } else { "Sow" },
    ));
    columns.push(Column::text("bed", "Bed"));
    columns.push(Column::measured("row_m", "Row"));
    if early {
        columns.push(Column::text("not_before", "Not before"));
    }
    columns.extend([
        Column::text("last", "By"),
        Column::text("look", "Up by"),
        Column::text("first_p50", "Picked from"),
        Column::text("last_p50", "until"),
        Column::figure("chance", "Chance"),
    ]);
    let mut table = Table::new(columns);
    let day = |d: chrono::NaiveDate| said::unbroken(&dates::short(d));
    for r in &found.rows {
        let mut row = vec![said::unbroken(&garden.crop(r.crop).name)];
        if raised {
            row.push(Cell::maybe(r.set_out.map(|_| r.sown), day));
        }
        row.push(said::unbroken(&dates::range(r.range.0, r.range.1)));
        row.push(Cell::text(garden.bed(r.bed).name.clone()));
        row.push(Cell::Length(r.row));
        if early {
            row.push(Cell::maybe(r.not_before, day));
        }
        row.extend([
            Cell::maybe(r.last, day),
            Cell::maybe(r.resow, |(look, _)| day(look)),
            Cell::maybe(r.first, day),
            Cell::maybe(r.last_picking, day),
            said::unbroken(&rounding::in_ten(r.chance)),
        ]);
        table.push(row);
    }
    table.note(
        "Any of your sowing days in the range does as well. Up by: if nothing is to be seen then, sow again, until the day under By. Chance: seasons in 10 with at least half of a full harvest.",
    );
    table
}

/// Needs that a plan changes most, shown at most.
const NEEDS_SHOWN: usize = 3;

/// The needs that the plan changes most, with the weeks in which it does.
fn supply(garden: &Garden, found: &Proposal) -> Table {
    let gain = |n: &Need| -> f64 { n.weeks.iter().map(|w| (w.met[1] - w.met[0]).max(0.0)).sum() };
    let mut changed: Vec<&Need> = found.needs.iter().filter(|n| gain(n) >= CHANGED).collect();
    changed.sort_by(|a, b| gain(b).total_cmp(&gain(a)));
    changed.truncate(NEEDS_SHOWN);
    let mut columns = vec![Column::text("week", "Week of")];
    for need in &changed {
        let name = capital(&called(garden, need.food));
        columns.push(Column::text(name.clone(), name));
    }
    let mut table = Table::new(columns).titled("What is eaten of the need, week by week");
    let moved = |w: &&NeedWeek| (w.met[1] - w.met[0]).abs() >= CHANGED;
    let all = changed.iter().flat_map(|n| n.weeks.iter());
    let mut weeks: Vec<Week> = all.filter(moved).map(|w| w.week).collect();
    weeks.sort_unstable();
    weeks.dedup();
    for week in weeks {
        let mut row = vec![Cell::Week(week)];
        for need in &changed {
            let at = need.weeks.iter().find(|w| w.week == week);
            row.push(Cell::maybe(at, |w| eaten(garden, w)));
        }
        table.push(row);
    }
    table.note(format!(
        "Weeks that the plan changes. In {}, and in how many seasons the whole need of the week is met; in brackets without the plan.",
        rounding::mass_unit(garden.show.units)
    ));
    table
}

/// What is eaten of a week's need, and how often that is all of it.
fn eaten(garden: &Garden, w: &NeedWeek) -> Cell {
    let without = rounding::in_ten(w.met[0]);
    Cell::text(format!(
        "{} of {}, {} ({})",
        amount(garden, w.eaten_kg[1]),
        amount(garden, w.need_kg),
        rounding::in_ten(w.met[1]),
        without.trim_end_matches(" in 10")
    ))
}

/// What stands for the dark weeks, for the needs that the plan changes.
fn winter(garden: &Garden, found: &Proposal) -> Vec<String> {
    let Some((first, last)) = found.dark else {
        return Vec::new();
    };
    let in_dark = |w: &&NeedWeek| w.week.monday() >= first && w.week.monday() <= last;
    found
        .needs
        .iter()
        .filter_map(|need| {
            let weeks = || need.weeks.iter().filter(in_dark);
            let sum = |of: fn(&NeedWeek) -> f64| weeks().map(of).sum::<f64>();
            let (wanted, before, after) =
                (sum(|w| w.need_kg), sum(|w| w.eaten_kg[0]), sum(|w| w.eaten_kg[1]));
            (after > 1.1 * before + 0.1).then(|| {
                format!(
                    "From {} to {} the days are under 10 h and little grows: of the {} of {} you want then, {} will stand (without the plan {}).",
                    dates::short(first),
                    dates::short(last),
                    rounding::mass(Mass::from_kg(wanted), garden.show.units),
                    called(garden, need.food),
                    rounding::mass(Mass::from_kg(after), garden.show.units),
                    rounding::mass(Mass::from_kg(before), garden.show.units)
                )
            })
        })
        .collect()
}

fn amount(garden: &Garden, kg: f64) -> String {
    rounding::mass_figure(Mass::from_kg(kg), garden.show.units)
}

fn facts(garden: &Garden, found: &Proposal) -> Facts {
    let mut facts = Facts::new(&[
        "crop",
        "bed",
        "sow",
        "set_out",
        "not_before",
        "last",
        "resow_by",
        "row_m",
        "first_p50",
        "last_p50",
        "chance",
        "from",
        "until",
        "kg_mean",
    ]);
    for r in &found.rows {
        facts.push(fact(garden, r));
    }
    let kitchen = |load: &Load| json!({"weeks_over_mean": load.weeks_over, "weeks_likely_over": load.likely, "hours_over_mean": load.hours_over});
    facts.beside("kitchen_without", kitchen(&found.kitchen[0]));
    facts.beside("kitchen_with", kitchen(&found.kitchen[1]));
    facts.beside("kitchen_ignored", kitchen(&found.kitchen[2]));
    let needs: Vec<serde_json::Value> = found
        .needs
        .iter()
        .flat_map(|n| need_facts(garden, n))
        .collect();
    facts.beside("needs", serde_json::Value::Array(needs));
    facts
}

fn need_facts(garden: &Garden, need: &Need) -> Vec<serde_json::Value> {
    need.weeks
        .iter()
        .map(|w| {
            json!({
                "food": called(garden, need.food),
                "week": w.week.to_string(),
                "need_kg": w.need_kg,
                "eaten_kg_without": w.eaten_kg[0],
                "eaten_kg": w.eaten_kg[1],
                "chance_met_without": w.met[0],
                "chance_met": w.met[1],
            })
        })
        .collect()
}

fn fact(garden: &Garden, r: &Row) -> Vec<Cell> {
    let date = |d: Option<chrono::NaiveDate>| Cell::maybe(d, Cell::Date);
    vec![
        Cell::text(garden.crop(r.crop).name.clone()),
        Cell::text(garden.bed(r.bed).name.clone()),
        Cell::Date(r.sown),
        date(r.set_out),
        date(r.not_before),
        date(r.last),
        date(r.resow.map(|(_, last)| last)),
        Cell::Length(r.row),
        date(r.first),
        date(r.last_picking),
        Cell::Chance(r.chance),
        Cell::Date(r.range.0),
        Cell::Date(r.range.1),
        Cell::Mass(Mass::from_kg(r.kg)),
    ]
}
