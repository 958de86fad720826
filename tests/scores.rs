//! Scores against two general-purpose Python libraries on made-up forecasts.
//!
//! The values and the versions of the libraries stand in `tests/checks/scores.csv`; `tests/checks/scores.py` writes
//! them anew. The forecasts are made here and there by the same small generator.
#![allow(clippy::unwrap_used, reason = "tests")]

use putby::learning::{band, coverage, crps};

/// Draws and outcome of one case, as in `tests/checks/scores.py`.
fn case(number: u64) -> (Vec<f64>, f64) {
    let mut state = 12_345 + number;
    let mut even = move || {
        state = (state * 1_103_515_245 + 12_345) % 2_147_483_648;
        state as f64 / 2_147_483_648.0
    };
    for _ in 0..3 {
        even();
    }
    let mut amount = |scale: f64| {
        let (u, v) = (even(), even());
        if number.is_multiple_of(3) && v < 0.4 {
            0.0
        } else {
            scale * u * u + v
        }
    };
    let draws = (0..5 + number * 3).map(|_| amount(4.0)).collect();
    (draws, amount(5.0))
}

/// Quantile of type 7.
fn quantile(sorted: &[f64], fraction: f64) -> f64 {
    let place = fraction * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

#[test]
fn scores_agree_with_two_libraries() {
    let stored = include_str!("checks/scores.csv");
    let mut lines = stored.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let mut cases = 0;
    for line in lines {
        let values: Vec<f64> = line.split(',').map(|v| v.parse().unwrap()).collect();
        let number = values[0] as u64;
        let (draws, actual) = case(number);
        let mut sorted = draws.clone();
        sorted.sort_by(f64::total_cmp);
        let q = |fraction| quantile(&sorted, fraction);
        let both = crps::of_draws(&draws, actual).unwrap();
        let n = draws.len() as f64;
        let weights: Vec<f64> = (0..draws.len())
            .map(|i| (i as f64 + 1.0) / (n * (n + 1.0) / 2.0))
            .collect();
        let mean = draws.iter().sum::<f64>() / n;
        let sd = (draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n).sqrt();
        let bands = [
            band::Band {
                outside: 0.2,
                low: q(0.1),
                high: q(0.9),
            },
            band::Band {
                outside: 0.5,
                low: q(0.25),
                high: q(0.75),
            },
        ];
        let (hits, all) = (number % 12, 11 + number);
        let exact = coverage::exact_range(hits, all, 0.05).unwrap();
        let wilson = coverage::wilson_range(hits, all, 0.05).unwrap();
        let got = [
            number as f64,
            both.plain,
            both.fair,
            crps::of_weighted(&draws, &weights, actual).unwrap(),
            band::pinball(0.9, q(0.9), actual),
            band::interval_score(0.2, q(0.1), q(0.9), actual).total(),
            band::weighted_interval_score(q(0.5), &bands, actual).total(),
            crps::of_normal(mean + 0.1, sd + 0.1, actual),
            crps::of_lognormal((mean + 0.1).ln(), 0.4, actual + 0.01),
            coverage::exact_test(hits, all, 0.8).unwrap(),
            exact.low,
            exact.high,
            wilson.low,
            wilson.high,
        ];
        assert_eq!(got.len(), values.len());
        for ((name, got), want) in names.iter().zip(got).zip(&values) {
            assert!(
                (got - want).abs() <= 1e-9 * want.abs() + 1e-12,
                "case {number}, {name}: {got} for {want}"
            );
        }
        cases += 1;
    }
    assert_eq!(cases, 40);
}
