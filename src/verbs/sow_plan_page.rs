//! The page of `putby sow plan`: on one side of paper; what it leaves out stands in the facts.

use super::said;
use super::setting::Setting;
use super::sow_plan_facts::facts;
use super::sow_plan_words::{
    CHANGED, bind, called, clearings, kitchen, kitchen_weeks, seed, steep, worth,
};
use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::sowing::succession::Asked;
use crate::sowing::succession::proposal::{Need, NeedWeek, Proposal};
use chrono::Days;

/// Makes the page.
pub(super) fn report(setting: &Setting, found: &Proposal, asked: &Asked) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("A succession: {}", garden.name));
    report.text(summary(garden, found, asked));
    if !found.rows.is_empty() {
        report.table(calendar(garden, found));
        report.points(steep(garden, found));
    }
    report.points(clearings(garden, found, asked));
    if !found.rows.is_empty() {
        report.table(supply(garden, found));
        report.points(winter(garden, found));
    }
    report.text(kitchen(found, asked));
    if let Some(table) = kitchen_weeks(found) {
        report.table(table);
    }
    report.points(found.binds.iter().map(|b| bind(garden, b)).collect());
    if !found.rows.is_empty() {
        report.text(worth(garden, found));
        report.text(seed(garden, found));
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
        if after - before >= FALL_GAINS {
            words += &format!(
                " {}: 9 of 10 of the {weeks} weeks of fall need are met in {} instead of {}.",
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

/// Chance of a fall need met that a plan must add to be told first.
const FALL_GAINS: f64 = 0.2;
/// Lines of the supply shown at most, but for gaps.
const LINES: usize = 8;
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
    let mut table = Table::new(columns).titled("What is eaten of the need in a week");
    let moved = |w: &&NeedWeek| (w.met[1] - w.met[0]).abs() >= CHANGED;
    let all = changed.iter().flat_map(|n| n.weeks.iter());
    let mut weeks: Vec<Week> = all.filter(moved).map(|w| w.week).collect();
    weeks.sort_unstable();
    weeks.dedup();
    let together = weeks.len().div_ceil(LINES);
    for some in runs(&weeks, together) {
        let mut row = vec![weeks_cell(some)];
        for need in &changed {
            let at = need.weeks.iter().filter(|w| some.contains(&w.week));
            row.push(eaten(garden, &at.copied().collect::<Vec<_>>()));
        }
        table.push(row);
    }
    let mut note = format!(
        "Weeks that the plan changes. In {}, and in how many seasons the whole need of a week is met; in brackets without the plan.",
        rounding::mass_unit(garden.show.units)
    );
    if together > 1 {
        note +=
            " Weeks side by side are put together, the mean of them shown; --format json has each.";
    }
    table.note(note);
    table
}

/// Cuts weeks into runs that follow each other, of so many at most.
fn runs(weeks: &[Week], most: usize) -> Vec<&[Week]> {
    let follow = weeks.chunk_by(|a, b| b.since(*a) == 1);
    follow.flat_map(|run| run.chunks(most.max(1))).collect()
}

fn weeks_cell(weeks: &[Week]) -> Cell {
    match weeks {
        [first, .., last] => said::unbroken(&dates::range(
            first.monday(),
            last.plus(1).monday() - Days::new(1),
        )),
        [week] => Cell::Week(*week),
        [] => Cell::text(String::new()),
    }
}

/// What is eaten of the need of some weeks, and how often that is all of it; means over the weeks.
fn eaten(garden: &Garden, weeks: &[NeedWeek]) -> Cell {
    if weeks.is_empty() {
        return Cell::Empty;
    }
    let mean = |of: fn(&NeedWeek) -> f64| weeks.iter().map(of).sum::<f64>() / weeks.len() as f64;
    let without = rounding::in_ten(mean(|w| w.met[0]));
    Cell::text(format!(
        "{} of {}, {} ({})",
        amount(garden, mean(|w| w.eaten_kg[1])),
        amount(garden, mean(|w| w.need_kg)),
        rounding::in_ten(mean(|w| w.met[1])),
        without.trim_end_matches(" in 10")
    ))
}

/// What stands for the dark weeks, for the needs that the plan changes.
fn winter(garden: &Garden, found: &Proposal) -> Vec<String> {
    let Some((first, last)) = found.dark else {
        return Vec::new();
    };
    let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), garden.show.units);
    let in_dark = |w: &&NeedWeek| w.week.monday() >= first && w.week.monday() <= last;
    let stands: Vec<String> = found
        .needs
        .iter()
        .filter_map(|need| {
            let weeks = || need.weeks.iter().filter(in_dark);
            let sum = |of: fn(&NeedWeek) -> f64| weeks().map(of).sum::<f64>();
            let (wanted, before, after) = (
                sum(|w| w.need_kg),
                sum(|w| w.eaten_kg[0]),
                sum(|w| w.eaten_kg[1]),
            );
            (after > 1.1 * before + 0.1).then(|| {
                format!(
                    "of the {} of {} you want then, {} will stand (without the plan {})",
                    mass(wanted),
                    called(garden, need.food),
                    mass(after),
                    mass(before)
                )
            })
        })
        .collect();
    if stands.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "From {} to {} the days are under 10 h and little grows: {}.",
        dates::short(first),
        dates::short(last),
        stands.join("; ")
    )]
}

fn amount(garden: &Garden, kg: f64) -> String {
    rounding::mass_figure(Mass::from_kg(kg), garden.show.units)
}
