//! `putby compare`: what was forecast against what was picked, in words and numbers.

use super::cli::Shared;
use super::compare_chart::chart;
use super::compare_facts::{facts, tells};
use super::compare_words::{bands, ran, skills};
use super::setting::Setting;
use super::{Exit, Failure, compare_picked, deliver, said};
use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::learning::compare::{Comparison, compare};
use crate::learning::coverage::Coverage;
use crate::learning::horizon::{AheadScores, by_weeks_ahead};
use crate::learning::known_at::{KnownAt, season_start};
use crate::learning::naive::even_windows;
use crate::learning::record::{WeekState, by_crop, with_counted_bags};
use crate::output::chart::compared::compared;
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use chrono::NaiveDate;
use clap::Args;
use std::collections::BTreeMap;

/// Arguments of `compare`.
#[derive(Debug, Clone, Args)]
pub struct CompareArgs {
    /// Day on which the forecast is made, knowing nothing later; several, with commas, show how it sharpens [default: Monday of the season's first sowing]
    #[arg(long, value_name = "DATE", value_delimiter = ',')]
    origin: Vec<NaiveDate>,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &CompareArgs) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let setting = Setting::load(shared)?;
    let garden = &setting.garden;
    let mut origins = arguments.origin.clone();
    if origins.is_empty() {
        origins.extend(season_start(garden, setting.as_of));
    }
    origins.sort_unstable();
    origins.dedup();
    if let Some(late) = origins.iter().find(|&&day| day > setting.as_of) {
        return Err(Failure::Usage(format!(
            "--origin {late} lies after {}, the day reckoned from; nothing is known of it yet",
            setting.as_of
        )));
    }
    if charted && origins.len() != 1 {
        return Err(Failure::Usage(
            "--chart shows one forecast; name one day with --origin".into(),
        ));
    }
    let (known, found) = found(&setting, &origins);
    let ahead = by_weeks_ahead(&found);
    let mut report = Report::default();
    match found.as_slice() {
        [] => report.text("Nothing has been sown yet, so there is nothing to compare."),
        [one] => season(&mut report, garden, one),
        many => {
            for one in many {
                report.heading(format!(
                    "As known in the week of {}",
                    dates::with_year(one.origin.monday())
                ));
                report.text(overall(garden, one));
                report.text(bands(&one.overall.coverage));
            }
            report.heading("How good by how far ahead");
            report.table(by_distance(&ahead));
        }
    }
    report.facts = facts(garden, &known, &found, &ahead);
    deliver::report(&report, &setting, shared, true)?;
    if charted && let [known] = known.as_slice() {
        deliver::chart(&compared(&chart(&setting, known, &found[0])), shared)?;
    }
    Ok(Exit::Done)
}

/// Sets the forecasts of so many days, each knowing nothing later, beside what was picked since.
pub(super) fn found(setting: &Setting, origins: &[NaiveDate]) -> (Vec<KnownAt>, Vec<Comparison>) {
    let garden = &setting.garden;
    let rows = with_counted_bags(garden);
    let earliest = rows
        .iter()
        .map(|row| row.date)
        .chain(origins.first().copied())
        .min();
    let record = earliest.map_or_else(Vec::new, |day| {
        by_crop(garden, &rows, Week::of(day), setting.as_of)
    });
    let windows = even_windows(garden);
    let known: Vec<KnownAt> = origins
        .iter()
        .map(|&origin| compare_picked::known(setting, &rows, origin))
        .collect();
    let found = known
        .iter()
        .map(|known| {
            let origin = Week::of(known.origin);
            compare(
                origin,
                &known.forecast,
                &record,
                &windows,
                setting.draws.seed,
            )
        })
        .collect();
    (known, found)
}

/// Tells of one forecast made at one time.
pub(super) fn season(report: &mut Report, garden: &Garden, found: &Comparison) {
    report.heading(format!(
        "Forecast of the week of {} against what was picked since: {}",
        dates::with_year(found.origin.monday()),
        garden.name
    ));
    report.text(overall(garden, found));
    if found.overall.weeks == 0 {
        return;
    }
    report.text(bands(&found.overall.coverage));
    report.points(skills(&found.overall));
    report.table(crops(garden, found));
    report.table(weeks(garden, found));
}

/// Says how all crops together ran.
fn overall(garden: &Garden, found: &Comparison) -> String {
    let scores = &found.overall;
    if scores.weeks == 0 {
        return "No week of it is known yet: log what you pick, and look again.".to_owned();
    }
    let mass = |kg| rounding::mass(Mass::from_kg(kg), garden.show.units);
    let mut words = format!(
        "In the weeks that are known, {} were picked where {} were forecast: {}.",
        mass(scores.picked_kg),
        mass(scores.forecast_kg),
        ran(scores.picked_kg, scores.forecast_kg)
    );
    let unknown = [
        (scores.unlogged, "that nobody logged"),
        (scores.away, "in which you were away"),
    ];
    let left_out: Vec<String> = unknown
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{} {why}", rounding::counted(*count, "week", "weeks")))
        .collect();
    if !left_out.is_empty() {
        words.push_str(&format!(
            " Left out, counted crop by crop: {}.",
            text::list(&left_out)
        ));
    }
    words
}

/// Makes the table of crops.
fn crops(garden: &Garden, found: &Comparison) -> Table {
    let mut table = Table::new(vec![
        Column::text("crop", "Crop"),
        Column::figure("weeks", "Weeks known"),
        Column::measured("picked_kg", "Picked"),
        Column::measured("forecast_kg_p50", "Forecast"),
        Column::text("range", "8 in 10 between"),
        Column::text("ran", "It ran"),
        Column::text("held", "Weekly bands right"),
    ])
    .titled("By crop, over its known weeks");
    for crop in &found.crops {
        let Some(season) = crop.season else { continue };
        let mass = |kg| Mass::from_kg(kg);
        table.push(vec![
            Cell::text(garden.crop(crop.crop).name.clone()),
            Cell::Count(crop.scores.weeks as i64),
            Cell::Mass(mass(season.picked_kg)),
            Cell::Mass(mass(season.forecast.p50)),
            said::unbroken(&rounding::mass_range(
                mass(season.forecast.p10),
                mass(season.forecast.p90),
                garden.show.units,
            )),
            Cell::text(if season.forecast.p50 > 0.0 {
                ran(season.picked_kg, season.forecast.p50)
            } else if season.in_band {
                "within the range".to_owned()
            } else {
                "above the range".to_owned()
            }),
            held(&crop.scores.coverage),
        ]);
    }
    table.note("The bands of a week count only where their low end is above nothing.");
    table
}

/// Says how many bands held; nothing where none can be judged.
fn held(coverage: &Coverage) -> Cell {
    if coverage.cases == 0 {
        return Cell::Empty;
    }
    said::unbroken(&format!("{} of {}", coverage.hits, coverage.cases))
}

/// What a week adds up to over all crops.
#[derive(Default)]
struct WeekSum {
    picked_kg: f64,
    forecast_kg: f64,
    scored: usize,
    unlogged: Vec<String>,
    away: Vec<String>,
}

/// Makes the table of weeks.
fn weeks(garden: &Garden, found: &Comparison) -> Table {
    let mut sums: BTreeMap<Week, WeekSum> = BTreeMap::new();
    for row in found.rows.iter().filter(|row| tells(row)) {
        let sum = sums.entry(row.week).or_default();
        let name = || garden.crop(row.crop).name.clone();
        match row.state {
            Some(WeekState::Unlogged) if row.forecast.p90 > 0.0 => sum.unlogged.push(name()),
            Some(WeekState::Away) if row.forecast.p90 > 0.0 => sum.away.push(name()),
            _ => {}
        }
        if let (Some(kg), Some(_)) = (row.picked_kg, row.score) {
            sum.scored += 1;
            sum.picked_kg += kg;
            sum.forecast_kg += row.forecast.mean;
        }
    }
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::measured("picked_kg", "Picked"),
        Column::measured("forecast_kg", "Forecast"),
        Column::text("unlogged", "Not logged"),
        Column::text("away", "Away"),
    ])
    .titled("Week by week, over the crops that are known");
    for (week, sum) in sums {
        if sum.forecast_kg < 0.01 && sum.picked_kg == 0.0 && sum.unlogged.is_empty() {
            continue;
        }
        let known = |kg| {
            if sum.scored > 0 {
                Cell::Mass(Mass::from_kg(kg))
            } else {
                Cell::Empty
            }
        };
        table.push(vec![
            Cell::Week(week),
            known(sum.picked_kg),
            known(sum.forecast_kg),
            Cell::text(sum.unlogged.join(", ")),
            Cell::text(sum.away.join(", ")),
        ]);
    }
    table
}

/// Makes the table of how good forecasts were by how far ahead they looked.
fn by_distance(ahead: &[AheadScores]) -> Table {
    let mut table = Table::new(vec![
        Column::text("ahead", "Weeks ahead"),
        Column::figure("weeks", "Weeks known"),
        Column::measured("picked_kg", "Picked"),
        Column::measured("forecast_kg", "Forecast"),
        Column::text("ran", "It ran"),
        Column::text("held", "Bands right"),
    ]);
    for stretch in ahead {
        let scores = &stretch.scores;
        let mass = |kg| Cell::Mass(Mass::from_kg(kg));
        let until = stretch.until;
        table.push(vec![
            said::unbroken(&if until == stretch.from {
                until.to_string()
            } else {
                format!("{} to {until}", stretch.from)
            }),
            Cell::Count(scores.weeks as i64),
            mass(scores.picked_kg),
            mass(scores.forecast_kg),
            Cell::text(ran(scores.picked_kg, scores.forecast_kg)),
            held(&scores.coverage),
        ]);
    }
    table
}
