//! What `sow by` tells machines, and its chart.

use super::said;
use super::sow_by::Asked;
use crate::output::chart::Caption;
use crate::output::chart::Svg;
use crate::output::chart::chances::{ChanceCurve, ChancesChart, chances};
use crate::output::report::Facts;
use crate::output::table::Cell;
use crate::sowing::dates::SowBy;
use chrono::{Days, NaiveDate};

/// Machine columns, in order.
const KEYS: [&str; 33] = [
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
    "protection",
    "how",
    "best_from",
    "best_until",
    "full_by",
    "half_by",
    "baby_by",
    "stands_winter_until",
    "up_within_days",
    "kg_per_m_mean",
    "rule_sow",
    "rule_set_out",
    "rule_tray_days",
    "rule_maturity_days",
    "rule_fall_days",
    "rule_harvest_days",
    "rule_tender_days",
    "soil_before",
    "recorded_falls",
    "recorded_fed",
    "worst_year",
    "worst_share",
];

/// Makes the facts: one row for each crop, way, cover and run of good dates.
pub(super) fn facts(asked: &Asked) -> Facts {
    let mut facts = Facts::new(&KEYS);
    for (row, fed) in asked.answer.rows.iter().zip(&asked.fed) {
        let mut cells = fact(asked, row);
        let count = |n: usize| Cell::Count(i64::try_from(n).unwrap_or(i64::MAX));
        cells.extend([
            Cell::maybe(*fed, |fed| count(fed.falls)),
            Cell::maybe(*fed, |fed| count(fed.fed)),
            Cell::maybe(*fed, |fed| Cell::Count(fed.worst.into())),
            Cell::maybe(*fed, |fed| Cell::Share(fed.worst_share)),
        ]);
        facts.push(cells);
    }
    let date =
        |date: Option<NaiveDate>| date.map_or(serde_json::Value::Null, |d| d.to_string().into());
    facts.beside("counted_until", date(Some(asked.answer.until)));
    facts.beside("first_frost", date(asked.answer.first_frost));
    facts.beside("chance_wanted", asked.question.chance.into());
    facts
}

fn fact(asked: &Asked, row: &SowBy) -> Vec<Cell> {
    let maybe = |date: Option<NaiveDate>| Cell::maybe(date, Cell::Date);
    let tray = Days::new(u64::from(row.tray_days));
    let days = |days: u32| Cell::Count(i64::from(days));
    let wanted = asked.question.chance;
    vec![
        Cell::text(asked.setting.garden.crop(row.crop).name.clone()),
        Cell::Empty,
        Cell::Date(row.last.date - tray),
        maybe(row.set_out.then_some(row.last.date)),
        Cell::Date(row.not_before),
        Cell::Date(row.last.date),
        maybe(row.resow_by),
        Cell::Empty,
        maybe(row.last.first.map(|first| first.p50)),
        maybe(row.last.last.map(|last| last.p50)),
        Cell::Chance(if row.full.is_some() {
            row.last.full
        } else if row.half.is_some() {
            row.last.half
        } else {
            row.last.baby.unwrap_or(wanted)
        }),
        Cell::text(asked.question.beds[row.bed].protection.name()),
        Cell::text(if row.set_out { "set out" } else { "in place" }),
        Cell::Date(row.best.0),
        Cell::Date(row.best.1),
        maybe(row.full),
        maybe(row.half),
        maybe(row.baby),
        maybe(row.winter),
        Cell::maybe(row.wait_days, days),
        Cell::Number(row.last.kg_per_m, 2),
        maybe(row.rule_date.map(|date| date - tray)),
        maybe(row.rule_date.filter(|_| row.set_out)),
        days(row.rule.tray),
        days(row.rule.maturity),
        days(row.rule.fall),
        days(row.rule.harvest),
        days(row.rule.tender),
        Cell::maybe(row.soil_before, |fit| {
            Cell::text(match fit {
                crate::sowing::soil::Fit::TooCold => "too cold",
                crate::sowing::soil::Fit::Right => "right",
                crate::sowing::soil::Fit::TooHot => "too hot",
            })
        }),
    ]
}

/// Most crops that get a panel.
const MOST_PANELS: usize = 12;

/// Makes the chart: chance against sowing date, a panel for each crop and way in the order of the page.
pub(super) fn chart(asked: &Asked) -> Svg {
    let mut curves: Vec<ChanceCurve> = Vec::new();
    for row in asked.answer.rows.iter().filter(|row| row.bed == 0) {
        let crop = &asked.setting.garden.crop(row.crop).name;
        let how = if row.set_out { "set out" } else { "in place" };
        // Where half a harvest is out of reach the thin line is that of baby leaves.
        let leaves = row.half.is_none();
        let name = format!(
            "{crop}, {how}{}",
            if leaves { " (thin: baby leaf)" } else { "" }
        );
        if curves.iter().any(|curve| curve.name == name) || curves.len() == MOST_PANELS {
            continue;
        }
        let Some(of) = asked.answer.curves.iter().find(|curve| {
            (curve.crop, curve.set_out, curve.bed) == (row.crop, row.set_out, row.bed)
        }) else {
            continue;
        };
        curves.push(ChanceCurve {
            name,
            full: of.tried.iter().map(|t| (t.date, t.full)).collect(),
            half: of
                .tried
                .iter()
                .map(|t| {
                    (
                        t.date,
                        if leaves {
                            t.baby.unwrap_or(0.0)
                        } else {
                            t.half
                        },
                    )
                })
                .collect(),
            best: Some(row.best),
            full_by: row.full,
            half_by: if leaves { row.baby } else { row.half },
        });
    }
    chances(&ChancesChart {
        caption: Caption {
            title: "Chance of a harvest against the date in the bed".to_owned(),
            subtitle: asked.setting.garden.name.clone(),
            footer: said::footer(asked.setting),
            narrow: false,
        },
        from: asked.question.as_of,
        until: asked.answer.until,
        wanted: asked.question.chance,
        curves,
    })
}
