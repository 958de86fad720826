//! What machines read of `compare`: one row a crop and week, the scores beside them.

use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::learning::compare::{Comparison, Row, Scores, Skill};
use crate::learning::horizon::AheadScores;
use crate::learning::known_at::KnownAt;
use crate::learning::record::WeekState;
use crate::output::report::Facts;
use crate::output::table::Cell;
use serde_json::{Value, json};

/// Makes the facts.
pub(super) fn facts(
    garden: &Garden,
    origins: &[KnownAt],
    comparisons: &[Comparison],
    ahead: &[AheadScores],
) -> Facts {
    let mut facts = Facts::new(&[
        "origin",
        "crop",
        "week",
        "weeks_ahead",
        "forecast_kg_p10",
        "forecast_kg_p50",
        "forecast_kg_p90",
        "forecast_kg_mean",
        "picked_kg",
        "state",
        "in_band",
        "crps_kg",
    ]);
    let all: Vec<Value> = origins
        .iter()
        .zip(comparisons)
        .map(|(known, comparison)| {
            let crops: serde_json::Map<String, Value> = comparison
                .crops
                .iter()
                .filter(|crop| crop.scores.weeks > 0)
                .map(|crop| {
                    let mut own = scores(&crop.scores);
                    if let Some(season) = crop.season {
                        own["season"] = json!({
                            "forecast_kg_p10": season.forecast.p10,
                            "forecast_kg_p50": season.forecast.p50,
                            "forecast_kg_p90": season.forecast.p90,
                            "picked_kg": season.picked_kg,
                            "in_band": season.in_band,
                        });
                    }
                    (garden.crop(crop.crop).name.clone(), own)
                })
                .collect();
            json!({
                "origin": known.origin.to_string(),
                "effective_draws": known.effective_draws,
                "overall": scores(&comparison.overall),
                "crops": crops,
            })
        })
        .collect();
    facts.beside("scores", Value::Array(all));
    let by_weeks: Vec<Value> = ahead
        .iter()
        .map(|stretch| json!({"from": stretch.from, "until": stretch.until, "scores": scores(&stretch.scores)}))
        .collect();
    facts.beside("by_weeks_ahead", Value::Array(by_weeks));
    for (known, comparison) in origins.iter().zip(comparisons) {
        for row in comparison.rows.iter().filter(|row| tells(row)) {
            facts.push(fact(garden, known, row));
        }
    }
    facts
}

/// Says whether a row has anything to tell: the week lies in the record, and something was forecast or picked.
pub(super) fn tells(row: &Row) -> bool {
    row.state.is_some_and(|state| state != WeekState::NotYet)
        && (row.forecast.mean > 0.0 || row.picked_kg.is_some_and(|kg| kg > 0.0))
}

fn fact(garden: &Garden, known: &KnownAt, row: &Row) -> Vec<Cell> {
    let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));
    vec![
        Cell::Date(known.origin),
        Cell::text(garden.crop(row.crop).name.clone()),
        Cell::Week(row.week),
        Cell::Count(row.weeks_ahead),
        kg(row.forecast.p10),
        kg(row.forecast.p50),
        kg(row.forecast.p90),
        kg(row.forecast.mean),
        Cell::maybe(row.picked_kg, kg),
        Cell::maybe(row.state, |state| Cell::text(state_name(state))),
        Cell::maybe(row.score.and_then(|s| s.in_band), Cell::Bool),
        Cell::maybe(row.score, |s| kg(s.crps)),
    ]
}

const fn state_name(state: WeekState) -> &'static str {
    match state {
        WeekState::Picked => "picked",
        WeekState::Nothing => "nothing",
        WeekState::Unlogged => "unlogged",
        WeekState::Away => "away",
        WeekState::NotYet => "not_yet",
    }
}

fn skill(skill: Option<Skill>) -> Value {
    skill.map_or(Value::Null, |s| json!({"skill": s.skill, "weeks": s.weeks}))
}

/// Turns scores into an object; what cannot be computed is null.
fn scores(scores: &Scores) -> Value {
    let coverage = &scores.coverage;
    json!({
        "weeks": scores.weeks,
        "weeks_unlogged": scores.unlogged,
        "weeks_away": scores.away,
        "picked_kg": scores.picked_kg,
        "forecast_kg_mean": scores.forecast_kg,
        "over_share": scores.over_share,
        "bias_kg": scores.bias_kg,
        "mean_miss_kg": scores.miss_kg,
        "wape": scores.weighted_error,
        "mase": scores.scaled_error,
        "pinball_kg_p10_p50_p90": scores.pinball_kg,
        "wis_kg": scores.interval_kg,
        "crps_kg": scores.crps_kg,
        "coverage": {
            "held": coverage.hits,
            "of": coverage.cases,
            "claimed": coverage.claimed,
            "exact_95_range": coverage.range.map(|r| [r.low, r.high]),
        },
        "pit_fifths": scores.evenness.as_ref().map(|e| e.counts),
        "skill_last_season": skill(scores.skill_last_season),
        "skill_even": skill(scores.skill_even),
    })
}
