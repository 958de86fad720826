//! The picture of `compare`: the whole garden over the crops that are known each week, and the crops that matter most.

use super::compare_facts::tells;
use super::compare_words::ran;
use super::said;
use super::setting::Setting;
use crate::garden::crop::CropId;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::learning::compare::{Comparison, Row};
use crate::learning::draws::Amounts;
use crate::learning::known_at::KnownAt;
use crate::output::chart::Caption;
use crate::output::chart::compared::{ComparedChart, ComparedPanel, ComparedWeek};
use crate::output::dates;
use std::collections::BTreeMap;

/// Crops that get a strip of their own.
const MOST_CROPS: usize = 5;

/// Fills the chart.
pub(super) fn chart(setting: &Setting, known: &KnownAt, found: &Comparison) -> ComparedChart {
    let garden = &setting.garden;
    let told: Vec<&Row> = found.rows.iter().filter(|row| tells(row)).collect();
    let first = told.iter().map(|row| row.week).min();
    let last = told.iter().map(|row| row.week).max();
    let (Some(first), Some(last)) = (first, last) else {
        return ComparedChart {
            caption: caption(setting, known),
            ..ComparedChart::default()
        };
    };
    let count = usize::try_from(last.since(first) + 1).unwrap_or(0);
    let mut panels = vec![ComparedPanel {
        name: "whole garden".to_owned(),
        words: words(
            found.overall.picked_kg,
            found.overall.forecast_kg,
            &found.overall.coverage,
        ),
        weeks: (0..count)
            .map(|i| whole(known, &told, first.plus(i as i64)))
            .collect(),
    }];
    let mut weight: Vec<(f64, CropId)> = found
        .crops
        .iter()
        .filter(|crop| crop.scores.weeks > 0)
        .map(|crop| (crop.scores.picked_kg + crop.scores.forecast_kg, crop.crop))
        .collect();
    weight.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for &(_, id) in weight.iter().take(MOST_CROPS) {
        let rows: BTreeMap<Week, &Row> = told
            .iter()
            .filter(|row| row.crop == id)
            .map(|row| (row.week, *row))
            .collect();
        let scores = found.crops.iter().find(|c| c.crop == id).map(|c| &c.scores);
        panels.push(ComparedPanel {
            name: garden.crop(id).name.clone(),
            words: scores.map_or_else(String::new, |s| {
                words(s.picked_kg, s.forecast_kg, &s.coverage)
            }),
            weeks: (0..count)
                .map(|i| {
                    rows.get(&first.plus(i as i64))
                        .map_or_else(ComparedWeek::default, |row| {
                            week(&row.forecast, row.picked_kg)
                        })
                })
                .collect(),
        });
    }
    ComparedChart {
        caption: caption(setting, known),
        first: Some(first),
        panels,
        units: garden.show.units,
    }
}

fn caption(setting: &Setting, known: &KnownAt) -> Caption {
    Caption {
        title: "What was forecast, and what was picked".to_owned(),
        subtitle: format!(
            "{}. Forecast as known on {}; the whole garden counts the crops that are known each week.",
            setting.garden.name,
            dates::with_year(known.origin)
        ),
        footer: said::footer(setting),
        narrow: false,
    }
}

/// What stands below a strip's name.
fn words(picked_kg: f64, forecast_kg: f64, bands: &crate::learning::coverage::Coverage) -> String {
    let held = if bands.cases == 0 {
        String::new()
    } else {
        format!("; bands right {} of {}", bands.hits, bands.cases)
    };
    format!("{}{held}", ran(picked_kg, forecast_kg))
}

fn week(forecast: &Amounts, picked_kg: Option<f64>) -> ComparedWeek {
    ComparedWeek {
        p10: Mass::from_kg(forecast.p10),
        p50: Mass::from_kg(forecast.p50),
        p90: Mass::from_kg(forecast.p90),
        picked: picked_kg.map(Mass::from_kg),
    }
}

/// One week over all crops that are known in it, summed draw by draw; over all crops, without a dot, if none is known.
fn whole(known: &KnownAt, told: &[&Row], of: Week) -> ComparedWeek {
    let rows: Vec<&&Row> = told.iter().filter(|row| row.week == of).collect();
    let scored = rows.iter().filter(|row| row.picked_kg.is_some());
    let any = scored.clone().next().is_some();
    let counts = |crop: CropId| !any || scored.clone().any(|row| row.crop == crop);
    let mut sums: Vec<f64> = Vec::new();
    for food in known.forecast.iter().filter(|food| counts(food.crop)) {
        let Some(kg) = food.of_week(of) else { continue };
        sums.resize(kg.len(), 0.0);
        for (sum, &kg) in sums.iter_mut().zip(kg) {
            *sum += f64::from(kg);
        }
    }
    sums.sort_unstable_by(f64::total_cmp);
    let forecast = Amounts::of_sorted(&sums).unwrap_or_default();
    let picked = any.then(|| scored.filter_map(|row| row.picked_kg).sum());
    week(&forecast, picked)
}
