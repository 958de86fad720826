//! The page of `sow by` for people: what must be sown soonest stands first.

use super::said;
use super::sow_by::Asked;
use crate::garden::UnitSystem;
use crate::garden::bed::Protection;
use crate::garden::crop::Clock;
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::sowing::dates::SowBy;
use crate::sowing::soil::Fit;
use chrono::{Days, NaiveDate};

/// Most covers that get a column of their own.
const MOST_COVERS: usize = 3;

/// Makes the page.
pub(super) fn report(asked: &Asked) -> Report {
    let (garden, answer) = (&asked.setting.garden, asked.answer);
    let mut report = Report::default();
    report.heading(format!(
        "Sow by: {}, {}",
        garden.name,
        dates::with_year(asked.setting.as_of)
    ));
    if answer.rows.is_empty() {
        report.text("Nothing that was asked for can still be sown in time.".to_owned());
    } else {
        if asked.next_year {
            report.text(format!(
                "Nothing can still be sown for this year; for the next, from {}:",
                dates::with_year(asked.question.as_of)
            ));
        }
        report.table(table(asked));
    }
    let mut points = soil_points(asked);
    points.extend(winter_points(asked));
    points.extend(refusals(asked));
    points.extend(asked.assumed());
    report.points(points);
    report
}

fn table(asked: &Asked) -> Table {
    let (question, answer) = (asked.question, asked.answer);
    let covers: Vec<usize> = (1..question.beds.len()).take(MOST_COVERS).collect();
    let mut columns = vec![
        Column::text("crop", "Crop"),
        Column::text("how", "Sow or set out"),
        Column::figure("not_before", "Not before"),
        Column::figure("best", "Best days"),
        Column::figure("full", "Full by"),
        Column::figure("half", "Half by"),
        Column::figure("baby", "Baby leaf by"),
        Column::figure("wait", "Up in, or tray by"),
        Column::text("rule", "Count-back"),
    ];
    if !covers.is_empty() {
        let names: Vec<&str> = covers
            .iter()
            .map(|&bed| question.beds[bed].name.as_str())
            .collect();
        columns.push(Column::figure(
            "later",
            format!("Days later, {}", names.join(", ")),
        ));
    }
    let recorded = asked.fed.iter().flatten().map(|fed| fed.falls).max();
    if let Some(falls) = recorded {
        columns.push(Column::figure(
            "fed",
            format!("Last {}", rounding::counted(falls, "fall", "falls")),
        ));
    }
    let mut table = Table::new(columns);
    for (row, fed) in answer
        .rows
        .iter()
        .zip(&asked.fed)
        .filter(|(row, _)| row.bed == 0)
    {
        let mut cells = cells(asked, row);
        if !covers.is_empty() {
            let later: Vec<String> = covers.iter().map(|&bed| later(asked, row, bed)).collect();
            cells.push(said::unbroken(&later.join(", ")));
        }
        if recorded.is_some() {
            cells.push(Cell::maybe(*fed, |fed| {
                said::unbroken(&format!("{} ({})", fed.fed, fed.worst))
            }));
        }
        table.push(cells);
    }
    let frost = answer.first_frost.map_or_else(
        || "no first frost ahead".to_owned(),
        |frost| format!("the first frost, {}", dates::short(frost)),
    );
    table.note(format!(
        "Full: at least 90 % of what the row can give, ready by {}, in {}; half: 50 %. Dates are those of the day in \
         the bed.",
        dates::short(answer.until),
        rounding::seasons_in_ten(question.chance),
    ));
    table.note(
        "Best days: within 5 % of the greatest harvest. Up in: if nothing is up after so many days, sow again, until the \
         half or baby leaf date. Tray by: sow the tray then for the full date, or buy plants.",
    );
    table.note(format!(
        "Count-back, the plain rule: {frost}, less days in the tray + to maturity + 14 for short days + of harvest + 14 \
         if tender."
    ));
    if let Some(falls) = recorded {
        let years = if falls == 1 {
            "the recorded year"
        } else {
            "recorded years"
        };
        table.note(format!(
            "Last falls: of the last {falls} {years}, how many would have given at least half from the full date, or the \
             half date where there is no other, and the worst year."
        ));
    }
    table
}

fn cells(asked: &Asked, row: &SowBy) -> Vec<Cell> {
    let as_of = asked.setting.as_of;
    let tray = row.last.date - Days::new(u64::from(row.tray_days));
    vec![
        said::unbroken(&asked.setting.garden.crop(row.crop).name),
        Cell::text(if row.set_out { "set" } else { "sow" }),
        if row.not_before <= as_of {
            Cell::text("now")
        } else {
            short(row.not_before)
        },
        said::unbroken(&dates::range(row.best.0, row.best.1).replace(" – ", "–")),
        Cell::maybe(row.full, short),
        Cell::maybe(row.half, short),
        Cell::maybe(row.baby, short),
        match row.wait_days {
            Some(days) => said::unbroken(&format!("{days} d")),
            None if tray < as_of => Cell::text("bought"),
            None => short(tray),
        },
        Cell::maybe(row.rule_date, |date| {
            said::unbroken(&format!("{}: {}", row.rule.terms(), dates::short(date)))
        }),
    ]
}

fn short(date: NaiveDate) -> Cell {
    said::unbroken(&dates::short(date))
}

/// Days by which the last date is later under a cover, in words.
fn later(asked: &Asked, row: &SowBy, bed: usize) -> String {
    let open = row.half.or(row.baby);
    match (under(asked, row, bed), open) {
        (Some(covered), Some(open)) => match (covered - open).num_days() {
            0 => "0".to_owned(),
            days => format!("{days:+}"),
        },
        _ => "–".to_owned(),
    }
}

/// Half-harvest date of the same crop and way under another cover, the last if there are several runs.
fn under(asked: &Asked, row: &SowBy, bed: usize) -> Option<NaiveDate> {
    let same =
        |other: &&SowBy| (other.crop, other.set_out, other.bed) == (row.crop, row.set_out, bed);
    let is_last = |of: &SowBy| {
        !asked.answer.rows.iter().any(|other| {
            (other.crop, other.set_out, other.bed) == (of.crop, of.set_out, of.bed)
                && other.not_before > of.not_before
        })
    };
    let found = asked.answer.rows.iter().filter(same);
    if is_last(row) {
        found.filter_map(|other| other.half.or(other.baby)).max()
    } else {
        found.filter_map(|other| other.half.or(other.baby)).min()
    }
}

/// Crops whose seed has to wait for the soil.
fn soil_points(asked: &Asked) -> Vec<String> {
    let garden = &asked.setting.garden;
    let waiting = |fit: Fit| -> Vec<String> {
        let mut words: Vec<String> = asked
            .answer
            .rows
            .iter()
            .filter(|row| row.bed == 0 && row.soil_before == Some(fit))
            .map(|row| {
                let crop = garden.crop(row.crop);
                let limit = match fit {
                    Fit::TooHot => crop.growth.soil_max,
                    _ => crop.growth.soil_min,
                };
                let degrees = limit.map_or_else(String::new, |t| match garden.show.units {
                    UnitSystem::Us => format!(", {:.0} °F", t.f()),
                    UnitSystem::Metric => format!(", {:.0} °C", t.c()),
                });
                format!(
                    "{} (from {}{degrees})",
                    crop.name,
                    dates::short(row.not_before)
                )
            })
            .collect();
        words.dedup();
        words
    };
    let mut points = Vec::new();
    let hot = waiting(Fit::TooHot);
    if !hot.is_empty() {
        points.push(format!(
            "The soil is too hot until then for seed of {}. Sooner only in a tray in the shade, to be set out.",
            hot.join(", ")
        ));
    }
    let cold = waiting(Fit::TooCold);
    if !cold.is_empty() {
        points.push(format!(
            "The soil is too cold until then for seed of {}.",
            cold.join(", ")
        ));
    }
    points
}

/// Crops that stand the winter when sown later.
fn winter_points(asked: &Asked) -> Vec<String> {
    let mut words: Vec<String> = asked
        .answer
        .rows
        .iter()
        .filter(|row| row.bed == 0 && !row.set_out)
        .filter_map(|row| {
            let name = &asked.setting.garden.crop(row.crop).name;
            Some(format!("{name} until {}", dates::short(row.winter?)))
        })
        .collect();
    words.dedup();
    if words.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "Sown later, these stand the winter and give half a harvest by spring: {}.",
        words.join(", ")
    )]
}

/// Why a crop that was named has no row.
fn refusals(asked: &Asked) -> Vec<String> {
    if !asked.named {
        return Vec::new();
    }
    let mut words = Vec::new();
    for &crop in &asked.question.crops {
        let crop = asked.setting.garden.crop(crop);
        if crop.timing.clock == Clock::Calendar {
            words.push(format!(
                "{}: planted in fall to stand the winter and ripen by the calendar; no last date before winter.",
                crop.name
            ));
        }
    }
    for curve in &asked.answer.curves {
        let has =
            asked.answer.rows.iter().any(|row| {
                (row.crop, row.set_out, row.bed) == (curve.crop, curve.set_out, curve.bed)
            });
        if has || curve.bed != 0 {
            continue;
        }
        let name = &asked.setting.garden.crop(curve.crop).name;
        let how = if curve.set_out {
            "set out"
        } else {
            "sown in place"
        };
        let most = curve
            .tried
            .iter()
            .max_by(|a, b| a.half.total_cmp(&b.half).then(b.date.cmp(&a.date)));
        words.push(match most {
            Some(most) if most.half >= 0.05 => format!(
                "{name}, {how}: half a harvest at best in about {}, on {}.",
                rounding::seasons_in_ten(most.half),
                dates::short(most.date)
            ),
            _ => format!(
                "{name}, {how}: nothing can be ready by {} any more.",
                dates::short(asked.answer.until)
            ),
        });
    }
    words
}

/// Words by which a default that matters for sowing dates is known; kitchen and household do not matter here.
const OF_CLIMATE: [&str; 3] = ["frost", "weather", "emperature"];

impl Asked<'_> {
    /// What had to be assumed of the climate.
    fn assumed(&self) -> Vec<String> {
        let of_climate = |said: &&String| OF_CLIMATE.iter().any(|word| said.contains(word));
        let given = self.setting.garden.assumed.iter().filter(of_climate);
        let mut notes: Vec<String> = given.chain(self.climate.notes()).cloned().collect();
        let covered = |bed: &crate::garden::bed::Bed| bed.protection != Protection::None;
        if self.question.beds.iter().any(covered) {
            notes.push(
                "Covers gain little on clear still nights; their dates count on low gains."
                    .to_owned(),
            );
        }
        notes
    }
}
