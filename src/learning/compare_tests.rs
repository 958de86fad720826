//! Tests of the comparison, on made-up forecasts and records.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;
use crate::garden::units::Mass;
use crate::learning::close;
use crate::learning::coverage::Verdict;
use crate::learning::horizon::by_weeks_ahead;
use crate::learning::record::WeekEntry;

fn monday() -> Week {
    Week::of("2026-06-01".parse().unwrap())
}

fn entry(state: WeekState, kg: f64) -> WeekEntry {
    WeekEntry {
        state,
        kg,
        guessed_kg: 0.0,
        away_days: 0,
    }
}

/// Forecast of 1, 2, 3, 4, 5 kg in each of five weeks, and nothing in a sixth.
fn forecast() -> WeeklyDraws {
    let kg = (0..30)
        .map(|i| if i < 25 { (i % 5 + 1) as f32 } else { 0.0 })
        .collect();
    WeeklyDraws::new(CropId(0), monday(), 5, kg).unwrap()
}

fn record() -> LoggedWeeks {
    LoggedWeeks {
        crop: CropId(0),
        planting: None,
        first: monday().plus(-3),
        weeks: vec![
            entry(WeekState::Picked, 1.0),
            entry(WeekState::Nothing, 0.0),
            entry(WeekState::Picked, 2.0),
            entry(WeekState::Picked, 3.0),
            entry(WeekState::Nothing, 0.0),
            entry(WeekState::Unlogged, 0.0),
            entry(WeekState::Away, 0.0),
            entry(WeekState::Picked, 6.0),
            entry(WeekState::Nothing, 0.0),
        ],
    }
}

/// Every figure by hand.
#[test]
fn known_weeks_are_scored_and_others_counted() {
    let windows = [EvenWindow {
        crop: CropId(0),
        first: monday().monday(),
        last: monday().plus(4).sunday(),
        total: Mass::from_kg(10.0),
    }];
    let got = compare(monday(), &[forecast()], &[record()], &windows, 1);
    let s = &got.overall;
    assert_eq!((s.weeks, s.unlogged, s.away), (3, 1, 1));
    assert_eq!(got.rows.len(), 6);
    // The empty sixth week is not scored: nothing forecast, nothing came.
    assert_eq!(
        (got.rows[5].picked_kg, &got.rows[5].score),
        (Some(0.0), &None)
    );
    assert_eq!((s.picked_kg, s.forecast_kg), (9.0, 9.0));
    close(s.over_share, 0.0);
    close(s.bias_kg, 0.0);
    close(s.miss_kg, 2.0);
    close(s.weighted_error, 6.0 / 9.0);
    // Steps before: 1 → 0 and 0 → 2; their mean is 1.5.
    close(s.scaled_error, 2.0 / 1.5);
    // p10 = 1.4, p90 = 4.6.
    close(s.pinball_kg.map(|p| p[0]), (0.16 + 1.26 + 0.46) / 3.0);
    assert_eq!((s.coverage.hits, s.coverage.cases), (1, 3));
    assert_eq!(s.coverage.verdict, Verdict::TooFew);
    // Fair score: mean distance less half the mean mutual distance (1 kg): 1.2 − 1, 3 − 1, 3 − 1.
    close(s.crps_kg, (0.2 + 2.0 + 2.0) / 3.0);
    // Even: 2 kg a week; misses 1, 2, 4.
    let even = s.skill_even.unwrap();
    close(Some(even.skill), 1.0 - 4.2 / 7.0);
    assert_eq!((even.weeks, s.skill_last_season), (3, None));
    let season = got.crops[0].season.unwrap();
    assert_eq!(season.forecast.p50, 9.0);
    assert!(season.in_band && season.picked_kg == 9.0);
}

#[test]
fn no_record_scores_nothing_and_divides_by_nothing() {
    let got = compare(monday(), &[forecast()], &[], &[], 1);
    let s = &got.overall;
    assert_eq!((s.weeks, s.over_share, s.weighted_error), (0, None, None));
    assert_eq!(
        (s.crps_kg, s.evenness, got.crops[0].season),
        (None, None, None)
    );
    assert_eq!(s.coverage.range, None);
    // Nothing came although something was forecast: no percentage of nothing.
    let mut none = record();
    none.weeks
        .iter_mut()
        .for_each(|w| *w = entry(WeekState::Nothing, 0.0));
    let got = compare(monday(), &[forecast()], &[none], &[], 1);
    assert_eq!((got.overall.weeks, got.overall.weighted_error), (5, None));
    close(got.overall.over_share, -1.0);
}

#[test]
fn order_of_crops_and_threads_changes_nothing() {
    let second = WeeklyDraws::new(CropId(1), monday(), 2, vec![1.0, 2.0, 0.5, 0.7]).unwrap();
    let mut other = record();
    other.crop = CropId(1);
    let records = [record(), other];
    let a = compare(monday(), &[forecast(), second.clone()], &records, &[], 9);
    let b = compare(monday(), &[second, forecast()], &records, &[], 9);
    assert_eq!(a.crops[0], b.crops[1]);
    assert_eq!(a.crops[1], b.crops[0]);
}

#[test]
fn origins_are_told_apart_by_weeks_ahead() {
    let later = compare(monday().plus(4), &[forecast()], &[record()], &[], 1);
    let early = compare(monday(), &[forecast()], &[record()], &[], 1);
    let got = by_weeks_ahead(&[early, later]);
    let seen: Vec<(i64, i64, usize)> = got
        .iter()
        .map(|a| (a.from, a.until, a.scores.weeks))
        .collect();
    assert_eq!(seen, [(0, 0, 2), (1, 1, 1), (3, 4, 1)]);
    close(got[0].scores.picked_kg.into(), 9.0);
}
