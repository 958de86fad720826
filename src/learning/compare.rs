//! The forecast against what was picked: week by week, crop by crop and over all.
//!
//! Takes the forecast as draws and the record by week; weeks in which nothing is known are counted, not scored. The
//! numbers are ready to be put into words; the words belong to the output.

use super::accuracy::{mean, ratio, skill};
use super::band::{Band, Parts, pinball, weighted_interval_score};
use super::coverage::Coverage;
use super::crps;
use super::draws::{Amounts, WeeklyDraws};
use super::naive::{EvenWindow, same_week_last_season, spread_evenly};
use super::pit::{Evenness, evenness, seeded_rank};
use super::quantile_of_sorted;
use super::record::{LoggedWeeks, WeekState};
use crate::garden::crop::CropId;
use crate::garden::week::Week;
use rayon::prelude::*;

/// Share of weeks that the band from p10 to p90 claims to hold.
pub const CLAIMED: f64 = 0.8;

/// One week of one crop.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The crop.
    pub crop: CropId,
    /// The week.
    pub week: Week,
    /// How many weeks it lay ahead when the forecast was made.
    pub weeks_ahead: i64,
    /// The forecast, kg.
    pub forecast: Amounts,
    /// What the record knows of the week; none outside the record.
    pub state: Option<WeekState>,
    /// What was picked, kg, if known.
    pub picked_kg: Option<f64>,
    /// Its scores; none if not known, or if nothing was forecast and nothing came.
    pub score: Option<RowScore>,
}

/// Scores of one week of one crop, all in kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowScore {
    /// Picked less the mean forecast.
    pub error: f64,
    /// Distance from the middle forecast.
    pub miss: f64,
    /// Pinball losses of p10, p50 and p90.
    pub pinball: [f64; 3],
    /// Weighted interval score of the 5-in-10 and 8-in-10 bands.
    pub interval: Parts,
    /// Fair ranked probability score.
    pub crps: f64,
    /// Whether p10 to p90 held it; none where p10 is nothing, since such a band holds every empty week.
    pub in_band: Option<bool>,
    /// Randomised rank in the forecast, 0–1.
    pub rank: f64,
    /// Usual step from week to week in the record before the forecast, if known.
    pub scale: Option<f64>,
    /// Miss of last season's same week, if known.
    pub last_season_miss: Option<f64>,
    /// Miss of the evenly spread yield, if the crop has a window.
    pub even_miss: Option<f64>,
}

/// A skill against a naive forecast, over the weeks in which both are known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skill {
    /// 1 perfect, 0 no better than the naive forecast, negative worse.
    pub skill: f64,
    /// Weeks it rests on.
    pub weeks: usize,
}

/// Scores over several weeks; what cannot be computed is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Scores {
    /// Weeks scored.
    pub weeks: usize,
    /// Weeks left out because nobody logged.
    pub unlogged: usize,
    /// Weeks left out because the household was away.
    pub away: usize,
    /// Picked in the scored weeks, kg.
    pub picked_kg: f64,
    /// Mean forecast for the scored weeks, kg.
    pub forecast_kg: f64,
    /// Share by which the pickings ran over the forecast; negative if short.
    pub over_share: Option<f64>,
    /// Mean of picked less mean forecast, kg.
    pub bias_kg: Option<f64>,
    /// Mean distance from the middle forecast, kg.
    pub miss_kg: Option<f64>,
    /// Sum of distances over the sum picked.
    pub weighted_error: Option<f64>,
    /// Mean of distances, each over the crop's usual step from week to week.
    pub scaled_error: Option<f64>,
    /// Mean pinball losses of p10, p50 and p90, kg.
    pub pinball_kg: Option<[f64; 3]>,
    /// Mean weighted interval score, kg.
    pub interval_kg: Option<f64>,
    /// Mean fair ranked probability score, kg.
    pub crps_kg: Option<f64>,
    /// How often p10 to p90 held, over the weeks with p10 above nothing.
    pub coverage: Coverage,
    /// How evenly the pickings fell within the forecasts.
    pub evenness: Option<Evenness>,
    /// Skill of the ranked probability score against last season's same week.
    pub skill_last_season: Option<Skill>,
    /// Skill against the usual yield spread evenly over the usual days.
    pub skill_even: Option<Skill>,
}

/// Forecast and record of one crop's scored weeks together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonTotal {
    /// Forecast of the sum over the scored weeks, kg.
    pub forecast: Amounts,
    /// Picked in them, kg.
    pub picked_kg: f64,
    /// Whether p10 to p90 held the sum.
    pub in_band: bool,
}

/// Scores of one crop.
#[derive(Debug, Clone, PartialEq)]
pub struct CropComparison {
    /// The crop.
    pub crop: CropId,
    /// Its scores.
    pub scores: Scores,
    /// Its season; none if no week was scored.
    pub season: Option<SeasonTotal>,
}

/// Everything compared for a forecast made at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Week in which the forecast was made.
    pub origin: Week,
    /// One row a crop and week.
    pub rows: Vec<Row>,
    /// One entry a crop.
    pub crops: Vec<CropComparison>,
    /// All crops together.
    pub overall: Scores,
}

/// Compares a forecast made in week `origin` with the record.
///
/// Weeks before `origin` are not compared. `windows` are the usual yields and days of [`super::naive::even_windows`];
/// `seed` decides the randomised ranks.
#[must_use]
pub fn compare(
    origin: Week,
    forecast: &[WeeklyDraws],
    record: &[LoggedWeeks],
    windows: &[EvenWindow],
    seed: u64,
) -> Comparison {
    let each: Vec<(Vec<Row>, Option<SeasonTotal>)> = forecast
        .par_iter()
        .map(|draws| {
            let logged = record
                .iter()
                .find(|r| r.crop == draws.crop && r.planting.is_none());
            let rows = rows_of(origin, draws, logged, windows, seed);
            let season = season_total(draws, &rows);
            (rows, season)
        })
        .collect();
    let crops = forecast
        .iter()
        .zip(&each)
        .map(|(draws, (rows, season))| CropComparison {
            crop: draws.crop,
            scores: scores(rows.iter()),
            season: *season,
        })
        .collect();
    let rows: Vec<Row> = each.into_iter().flat_map(|(rows, _)| rows).collect();
    let overall = scores(rows.iter());
    Comparison {
        origin,
        rows,
        crops,
        overall,
    }
}

/// Makes the rows of one crop.
fn rows_of(
    origin: Week,
    draws: &WeeklyDraws,
    logged: Option<&LoggedWeeks>,
    windows: &[EvenWindow],
    seed: u64,
) -> Vec<Row> {
    let scale = logged.and_then(|logged| weekly_step(logged, origin));
    draws
        .weeks()
        .filter(|&week| week >= origin)
        .filter_map(|week| {
            let sorted = draws.sorted_week(week)?;
            let forecast = Amounts::of_sorted(&sorted)?;
            let picked_kg = logged.and_then(|logged| logged.known_kg(week));
            let something = sorted.last().is_some_and(|&most| most > 0.0);
            let score = picked_kg
                .filter(|&kg| something || kg > 0.0)
                .and_then(|actual| {
                    let last = logged.and_then(|logged| same_week_last_season(logged, week));
                    let even = spread_evenly(windows, draws.crop, week);
                    let name = format!("{} {week}", draws.crop.0);
                    Some(RowScore {
                        rank: seeded_rank(&sorted, actual, seed, &name),
                        scale,
                        last_season_miss: last.map(|kg| (actual - kg).abs()),
                        even_miss: even.map(|kg| (actual - kg).abs()),
                        ..score_of(&sorted, &forecast, actual)?
                    })
                });
            Some(Row {
                crop: draws.crop,
                week,
                weeks_ahead: week.since(origin),
                forecast,
                state: logged
                    .and_then(|logged| logged.entry(week))
                    .map(|e| e.state),
                picked_kg,
                score,
            })
        })
        .collect()
}

/// Scores one week by its forecast alone.
fn score_of(sorted: &[f64], forecast: &Amounts, actual: f64) -> Option<RowScore> {
    let Amounts {
        p10,
        p50,
        p90,
        mean,
    } = *forecast;
    let bands = [
        Band {
            outside: 0.2,
            low: p10,
            high: p90,
        },
        Band {
            outside: 0.5,
            low: quantile_of_sorted(sorted, 0.25)?,
            high: quantile_of_sorted(sorted, 0.75)?,
        },
    ];
    Some(RowScore {
        error: actual - mean,
        miss: (actual - p50).abs(),
        pinball: [
            pinball(0.1, p10, actual),
            pinball(0.5, p50, actual),
            pinball(0.9, p90, actual),
        ],
        interval: weighted_interval_score(p50, &bands, actual),
        crps: crps::of_sorted(sorted, actual)?.fair,
        in_band: (p10 > 0.0).then_some(p10 <= actual && actual <= p90),
        rank: 0.5,
        scale: None,
        last_season_miss: None,
        even_miss: None,
    })
}

/// Returns the mean step between neighbouring known weeks before `origin`, kg; pairs of empty weeks do not count.
fn weekly_step(logged: &LoggedWeeks, origin: Week) -> Option<f64> {
    let steps = logged.iter().filter_map(|(week, _)| {
        let next = week.plus(1);
        let (a, b) = (logged.known_kg(week)?, logged.known_kg(next)?);
        (next < origin && (a > 0.0 || b > 0.0)).then_some((a - b).abs())
    });
    mean(steps).filter(|&step| step > 0.0)
}

/// Adds the scored weeks of a crop up, in every draw.
fn season_total(draws: &WeeklyDraws, rows: &[Row]) -> Option<SeasonTotal> {
    let scored: Vec<&Row> = rows.iter().filter(|row| row.score.is_some()).collect();
    if scored.is_empty() {
        return None;
    }
    let mut total = draws.total_over(scored.iter().map(|row| row.week));
    total.sort_unstable_by(f64::total_cmp);
    let forecast = Amounts::of_sorted(&total)?;
    let picked_kg = scored.iter().filter_map(|row| row.picked_kg).sum();
    Some(SeasonTotal {
        forecast,
        picked_kg,
        in_band: (forecast.p10..=forecast.p90).contains(&picked_kg),
    })
}

/// Sums rows up, of one crop, of all, or of one distance ahead.
pub(super) fn scores<'a>(rows: impl Iterator<Item = &'a Row> + Clone) -> Scores {
    let all = |f: fn(&Row) -> bool| rows.clone().filter(|row| f(row)).count();
    let scored = rows
        .clone()
        .filter_map(|row| Some((row, row.score.as_ref()?, row.picked_kg?)));
    let of = |f: fn(&RowScore) -> f64| mean(scored.clone().map(|(_, s, _)| f(s)));
    let picked_kg: f64 = scored.clone().map(|(_, _, kg)| kg).sum();
    let forecast_kg: f64 = scored.clone().map(|(row, _, _)| row.forecast.mean).sum();
    let misses: f64 = scored.clone().map(|(_, s, _)| s.miss).sum();
    let held = || scored.clone().filter_map(|(_, s, _)| s.in_band);
    let ranks: Vec<f64> = scored.clone().map(|(_, s, _)| s.rank).collect();
    let against = |naive: fn(&RowScore) -> Option<f64>| {
        let (mut own, mut other, mut weeks) = (0.0, 0.0, 0);
        for (_, s, _) in scored.clone() {
            if let Some(miss) = naive(s) {
                own += s.crps;
                other += miss;
                weeks += 1;
            }
        }
        skill(own, other).map(|skill| Skill { skill, weeks })
    };
    let pinballs = [0, 1, 2].map(|i| mean(scored.clone().map(|(_, s, _)| s.pinball[i])));
    Scores {
        weeks: ranks.len(),
        unlogged: all(|row| row.state == Some(WeekState::Unlogged) && row.forecast.p90 > 0.0),
        away: all(|row| row.state == Some(WeekState::Away) && row.forecast.p90 > 0.0),
        picked_kg,
        forecast_kg,
        over_share: ratio(picked_kg - forecast_kg, forecast_kg),
        bias_kg: of(|s| s.error),
        miss_kg: of(|s| s.miss),
        weighted_error: ratio(misses, picked_kg),
        scaled_error: mean(
            scored
                .clone()
                .filter_map(|(_, s, _)| ratio(s.miss, s.scale?)),
        ),
        pinball_kg: match pinballs {
            [Some(low), Some(middle), Some(high)] => Some([low, middle, high]),
            _ => None,
        },
        interval_kg: of(|s| s.interval.total()),
        crps_kg: of(|s| s.crps),
        coverage: Coverage::judge(
            held().filter(|&held| held).count() as u64,
            held().count() as u64,
            CLAIMED,
        ),
        evenness: evenness(&ranks),
        skill_last_season: against(|s| s.last_season_miss),
        skill_even: against(|s| s.even_miss),
    }
}

#[cfg(test)]
#[path = "compare_tests.rs"]
mod tests;
