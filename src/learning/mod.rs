//! Learning: how good the forecast was, and what the household's own record says the numbers should be.
//!
//! Takes forecasts as plain arrays (weeks × draws, kg) and the record as the garden holds it; knows nothing of
//! files, kitchens or text. What cannot be computed is `None`, never a not-a-number.
//!
//! - Scores: [`accuracy`], [`band`], [`crps`], [`coverage`], [`pit`], [`bootstrap`].
//! - The record: [`record`] (weeks), [`outcome`] (plantings), from which [`compare`] and [`horizon`] judge forecasts
//!   as [`known_at`] makes them.
//! - Learning across seasons: [`calibration`], [`failure`], [`spread`], [`evidence`], [`seasons`], [`learn`].
//! - Learning within the season: [`in_season`] weighs draws, [`this_season`] by the record.

pub mod accuracy;
pub mod band;
pub mod bootstrap;
pub mod calibration;
mod chance;
pub mod compare;
pub mod coverage;
pub mod crps;
pub mod draws;
pub mod evidence;
pub mod failure;
pub mod gather;
pub mod horizon;
pub mod in_season;
pub mod known_at;
pub mod learn;
pub mod naive;
pub mod outcome;
pub mod pit;
pub mod record;
pub mod seasons;
pub mod spread;
pub mod this_season;
mod visits;

/// Asserts that a value is there and agrees to nine digits.
#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
#[track_caller]
pub(crate) fn close(got: Option<f64>, want: f64) {
    let got = got.unwrap();
    assert!(
        (got - want).abs() <= 1e-9 * want.abs() + 1e-15,
        "{got:?} for {want:?}"
    );
}

/// Returns a quantile of values in rising order (type 7 of Hyndman and Fan 1996, The American Statistician 50:361–365).
pub(crate) fn quantile_of_sorted(sorted: &[f64], fraction: f64) -> Option<f64> {
    let place = fraction * (sorted.len().checked_sub(1)?) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    Some(sorted[below] + (place - below as f64) * (sorted[above] - sorted[below]))
}
