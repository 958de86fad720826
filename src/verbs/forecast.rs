//! `putby forecast`: what will be ready, week by week, per crop or per planting.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, said};
use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::output::chart::Caption;
use crate::output::chart::harvest::{HarvestChart, HarvestCrop, harvest};
use crate::output::report::{Facts, Report};
use crate::output::rounding;
use crate::output::table::{Cell, Column, Table};
use crate::season::forecast::{self, Forecast, Row, Whose};
use crate::season::plan::Plan;
use clap::{Args, ValueEnum};

/// Arguments of `forecast`.
#[derive(Debug, Clone, Args)]
pub struct ForecastArgs {
    /// What a row stands for: crop or planting [default: crop]
    #[arg(long, value_enum, default_value_t = By::Crop, hide_default_value = true, hide_possible_values = true)]
    by: By,
}

/// What a row stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum By {
    /// A crop
    Crop,
    /// A planting
    Planting,
}

impl By {
    /// Words above a column of names.
    const fn called(self) -> &'static str {
        match self {
            Self::Crop => "Crop",
            Self::Planting => "Planting",
        }
    }
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &ForecastArgs) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let setting = Setting::load(shared)?;
    let (plan, found) = found(&setting, arguments.by);
    deliver::report(
        &report(&setting, &plan, &found, arguments.by),
        &setting,
        shared,
        true,
    )?;
    if charted {
        deliver::chart(&harvest(&chart(&setting, &found)), shared)?;
    }
    Ok(Exit::Done)
}

/// What will be ready, week by week.
pub(super) fn found(setting: &Setting, by: By) -> (Plan, Forecast) {
    let plan = setting.plan();
    let by = match by {
        By::Crop => forecast::By::Crop,
        By::Planting => forecast::By::Planting,
    };
    let found = forecast::forecast(&plan, &setting.draws, by);
    (plan, found)
}

/// Name of a row.
fn name(garden: &Garden, whose: Whose) -> String {
    match whose {
        Whose::Crop(id) => garden.crop(id).name.clone(),
        Whose::Planting(id) => garden.planting(id).name.clone(),
        Whose::Second(id) => {
            let planting = garden.planting(id);
            let food = garden
                .crop(planting.crop)
                .second
                .as_ref()
                .map_or("", |s| garden.crop(s.crop).name.as_str());
            format!("{} ({food})", planting.name)
        }
        Whose::Garden => "whole garden".to_owned(),
    }
}

/// Places of the weeks from today's on that have anything in them.
fn shown(setting: &Setting, found: &Forecast) -> std::ops::Range<usize> {
    let today = Week::of(setting.as_of);
    let from = found
        .weeks
        .iter()
        .position(|w| *w >= today)
        .unwrap_or(found.weeks.len());
    let until = (from..found.weeks.len())
        .rev()
        .find(|&i| found.garden.weeks[i].p90 > 0.0)
        .map_or(from, |i| i + 1);
    from..until
}

fn report(setting: &Setting, plan: &Plan, found: &Forecast, by: By) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("What will be ready, week by week: {}", garden.name));
    report.table(by_week(setting, found, by));
    report.table(totals(setting, found, by));
    report.points(said::rests_on(garden, plan, &[]));
    report.facts = facts(garden, found, by);
    report
}

/// What will be ready, a row a week, with what most of it is.
pub(super) fn by_week(setting: &Setting, found: &Forecast, by: By) -> Table {
    let garden = &setting.garden;
    let weeks = shown(setting, found);
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::measured("kg_p50", "Middle"),
        Column::text("range", "8 in 10 between"),
        Column::text(
            "most",
            format!("Most of it ({})", by.called().to_lowercase()),
        ),
    ]);
    for i in weeks.clone() {
        let total = &found.garden.weeks[i];
        let mut rows: Vec<(f64, &Row)> = found
            .rows
            .iter()
            .map(|row| (row.weeks[i].mean, row))
            .collect();
        rows.sort_by(|a, b| b.0.total_cmp(&a.0));
        let most: Vec<String> = rows
            .iter()
            .take(4)
            .filter(|(kg, _)| Mass::from_kg(*kg).lb() >= 0.25)
            .map(|(kg, row)| {
                format!(
                    "{} {}",
                    name(garden, row.whose),
                    rounding::mass_figure(Mass::from_kg(*kg), garden.show.units)
                )
            })
            .collect();
        table.push(vec![
            Cell::Week(found.weeks[i]),
            Cell::Mass(Mass::from_kg(total.p50)),
            said::unbroken(&rounding::mass_range(
                Mass::from_kg(total.p10),
                Mass::from_kg(total.p90),
                garden.show.units,
            )),
            Cell::text(most.join(", ")),
        ]);
    }
    table.note("Ready means that it can be picked; a crop that stands may be picked later. Weeks start on Monday.");
    table
}

/// What is still to come, a row a crop or planting, with when most of it comes.
pub(super) fn totals(setting: &Setting, found: &Forecast, by: By) -> Table {
    let garden = &setting.garden;
    let weeks = shown(setting, found);
    let mut totals = Table::new(vec![
        Column::text("row", by.called()),
        Column::measured("kg_p50", "Middle"),
        Column::text("range", "8 in 10 between"),
        Column::text("when", "Weeks with most of it"),
    ])
    .titled("From this week on");
    for row in &found.rows {
        if Mass::from_kg(row.ahead.mean).lb() < 0.25 {
            continue;
        }
        totals.push(total_line(garden, found, row, &weeks));
    }
    totals
}

/// One line of the totals: what is still to come of a row, and when most of it comes.
fn total_line(
    garden: &Garden,
    found: &Forecast,
    row: &Row,
    weeks: &std::ops::Range<usize>,
) -> Vec<Cell> {
    let when: Vec<usize> = weeks
        .clone()
        .filter(|&i| row.weeks[i].mean > 0.1 * row.ahead.mean)
        .collect();
    let span = match (when.first(), when.last()) {
        (Some(&first), Some(&last)) => {
            crate::output::dates::range(found.weeks[first].monday(), found.weeks[last].sunday())
        }
        _ => String::new(),
    };
    vec![
        Cell::text(name(garden, row.whose)),
        Cell::Mass(Mass::from_kg(row.ahead.p50)),
        said::unbroken(&rounding::mass_range(
            Mass::from_kg(row.ahead.p10),
            Mass::from_kg(row.ahead.p90),
            garden.show.units,
        )),
        Cell::text(span),
    ]
}

fn facts(garden: &Garden, found: &Forecast, by: By) -> Facts {
    let key = if by == By::Crop { "crop" } else { "planting" };
    let mut facts = Facts::new(&["week", key, "kg_p10", "kg_p50", "kg_p90", "kg_mean"]);
    for (i, &week) in found.weeks.iter().enumerate() {
        for row in &found.rows {
            let spread = &row.weeks[i];
            if spread.mean == 0.0 {
                continue;
            }
            let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));
            facts.push(vec![
                Cell::Week(week),
                Cell::text(name(garden, row.whose)),
                kg(spread.p10),
                kg(spread.p50),
                kg(spread.p90),
                kg(spread.mean),
            ]);
        }
    }
    facts
}

/// Lays out the chart of what will be ready.
pub(super) fn chart(setting: &Setting, found: &Forecast) -> HarvestChart {
    let weeks = shown(setting, found);
    let mass = |kg: f64| Mass::from_kg(kg);
    HarvestChart {
        caption: Caption {
            title: "What will be ready, week by week".to_owned(),
            subtitle: setting.garden.name.clone(),
            footer: said::footer(setting),
            narrow: false,
        },
        weeks: weeks.clone().map(|i| found.weeks[i]).collect(),
        crops: found
            .rows
            .iter()
            .map(|row| HarvestCrop {
                name: name(&setting.garden, row.whose),
                mean: weeks.clone().map(|i| mass(row.weeks[i].mean)).collect(),
            })
            .collect(),
        total_p10: weeks
            .clone()
            .map(|i| mass(found.garden.weeks[i].p10))
            .collect(),
        total_p90: weeks
            .clone()
            .map(|i| mass(found.garden.weeks[i].p90))
            .collect(),
        units: setting.garden.show.units,
    }
}
