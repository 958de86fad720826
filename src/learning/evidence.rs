//! What one season says of one number, drawn from forecast and record.
//!
//! Compares like with like: the forecast is summed over the very weeks in which the record knows what was picked, so
//! that a season low because the household was away, or did not log, is not taken for a low yield.

use super::draws::{WeeklyDraws, sorted};
use super::outcome::PlantingRecord;
use super::quantile_of_sorted;
use super::record::LoggedWeeks;
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;

/// Least share of the forecast that must lie in known weeks for a season to count (judgement).
pub const LEAST_KNOWN_SHARE: f64 = 0.5;
/// Days away in a week from which its picking is not held against the forecast (judgement).
pub const MOST_AWAY_DAYS: u8 = 2;
/// Standard deviation of the logarithm of a guessed amount (judgement).
pub const GUESS_LOG_SD: f64 = 0.3;
/// Weight of a first picking when nobody was at the bed in the week before it (judgement).
pub const UNSURE_FIRST_WEIGHT: f64 = 0.5;

/// What one season says of a crop's yield.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YieldEvidence {
    /// The crop.
    pub crop: CropId,
    /// The bed, when it is about one bed.
    pub bed: Option<BedId>,
    /// The season: year in which the plantings began.
    pub season: i32,
    /// Logarithm of picked over the middle forecast.
    pub log_ratio: f64,
    /// Weight of the season, below 1 if amounts were guessed.
    pub weight: f64,
    /// Picked in the known weeks, kg.
    pub picked_kg: f64,
    /// Middle forecast of the same weeks when the crop does not fail, kg.
    pub forecast_kg: f64,
    /// Share of the whole season's forecast that lies in the known weeks.
    pub known_share: f64,
}

/// Why a season says nothing of a yield.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Silent {
    /// Nothing was forecast.
    NothingForecast,
    /// Nothing was picked: a matter of failure, not of yield.
    NothingPicked,
    /// Too small a share of the forecast lies in known weeks.
    TooLittleKnown(f64),
}

/// Draws from a season's forecast and record what they say of the yield.
///
/// The forecast must have been made with the built-in numbers. `season_log_sd` is the spread from season to season, by
/// which the error of guesses is measured.
///
/// # Errors
/// Why nothing can be said.
pub fn of_yield(
    forecast: &WeeklyDraws,
    logged: &LoggedWeeks,
    bed: Option<BedId>,
    season: i32,
    season_log_sd: f64,
) -> Result<YieldEvidence, Silent> {
    let usable = |week| {
        logged
            .entry(week)
            .filter(|entry| entry.away_days <= MOST_AWAY_DAYS)
            .filter(|_| logged.known_kg(week).is_some())
    };
    let known = || forecast.weeks().filter(|&week| usable(week).is_some());
    let mean = |total: &[f64]| total.iter().sum::<f64>() / total.len() as f64;
    let whole = mean(&forecast.total_over(forecast.weeks()));
    if whole <= 0.0 {
        return Err(Silent::NothingForecast);
    }
    let in_known = forecast.total_over(known());
    let known_share = mean(&in_known) / whole;
    if known_share < LEAST_KNOWN_SHARE {
        return Err(Silent::TooLittleKnown(known_share));
    }
    let (picked_kg, guessed_kg) = known()
        .filter_map(usable)
        .fold((0.0, 0.0), |(kg, guess), e| {
            (kg + e.kg, guess + e.guessed_kg)
        });
    if picked_kg <= 0.0 {
        return Err(Silent::NothingPicked);
    }
    // The middle of the draws that gave something: its logarithm is what a lognormal yield is centred on.
    let giving = sorted(in_known.into_iter().filter(|&kg| kg > 0.0));
    let forecast_kg = quantile_of_sorted(&giving, 0.5).ok_or(Silent::NothingForecast)?;
    let guess_sd = GUESS_LOG_SD * guessed_kg / picked_kg;
    let variance = season_log_sd * season_log_sd;
    Ok(YieldEvidence {
        crop: forecast.crop,
        bed,
        season,
        log_ratio: libm::log(picked_kg / forecast_kg),
        weight: variance / (variance + guess_sd * guess_sd),
        picked_kg,
        forecast_kg,
        known_share,
    })
}

/// What one planting's first picking says of its crop's days to maturity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DaysEvidence {
    /// The crop.
    pub crop: CropId,
    /// The season.
    pub season: i32,
    /// Logarithm of the days it took over the days forecast.
    pub log_ratio: f64,
    /// Weight, below 1 if the first picking may have come late.
    pub weight: f64,
}

/// Draws from a planting's record what it says of the days to maturity; none without a dated first picking.
///
/// Units: both in days since the planting began to grow, or both in growing days, which judges autumn sowings fairly.
#[must_use]
pub fn of_days(
    crop: CropId,
    record: &PlantingRecord,
    forecast_days: f64,
    actual_days: f64,
) -> Option<DaysEvidence> {
    let first = record.first?;
    (forecast_days > 0.0 && actual_days > 0.0).then(|| DaysEvidence {
        crop,
        season: record.season,
        log_ratio: libm::log(actual_days / forecast_days),
        weight: if first.sure { 1.0 } else { UNSURE_FIRST_WEIGHT },
    })
}

/// Whether one planting failed altogether.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FailureEvidence {
    /// The crop.
    pub crop: CropId,
    /// The season.
    pub season: i32,
    /// Whether it gave nothing.
    pub failed: bool,
}

/// Draws from the record of plantings which of them failed; plantings of which it cannot be told say nothing.
#[must_use]
pub fn of_failures(garden: &Garden, records: &[PlantingRecord]) -> Vec<FailureEvidence> {
    records
        .iter()
        .filter_map(|record| {
            Some(FailureEvidence {
                crop: garden.planting(record.planting).crop,
                season: record.season,
                failed: !record.gave?,
            })
        })
        .collect()
}

/// What a session really took against its plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MinutesEvidence {
    /// The season: year of the session.
    pub season: i32,
    /// Planned minutes of the whole session, without any factor.
    pub planned_min: f64,
    /// Minutes it took.
    pub took_min: f64,
}

/// All that the record says, of every season.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// Of yields.
    pub yields: Vec<YieldEvidence>,
    /// Of days to maturity.
    pub days: Vec<DaysEvidence>,
    /// Of failures.
    pub failures: Vec<FailureEvidence>,
    /// Of kitchen minutes.
    pub minutes: Vec<MinutesEvidence>,
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::record::{WeekEntry, WeekState};
    use super::*;
    use crate::garden::week::Week;
    use crate::learning::close;

    fn forecast() -> WeeklyDraws {
        let first = Week::of("2026-06-01".parse().unwrap());
        // Four weeks of 1, 2, 3 kg; the fourth draw fails.
        let kg = (0..16).map(|i| [1.0, 2.0, 3.0, 0.0][i % 4]).collect();
        WeeklyDraws::new(CropId(0), first, 4, kg).unwrap()
    }

    fn logged(weeks: &[(WeekState, f64, f64, u8)]) -> LoggedWeeks {
        LoggedWeeks {
            crop: CropId(0),
            planting: None,
            first: Week::of("2026-06-01".parse().unwrap()),
            weeks: weeks
                .iter()
                .map(|&(state, kg, guessed_kg, away_days)| WeekEntry {
                    state,
                    kg,
                    guessed_kg,
                    away_days,
                })
                .collect(),
        }
    }

    use WeekState::{Away, Nothing, Picked, Unlogged};

    /// By hand: middle of 3, 6 and 9 kg in three known weeks.
    #[test]
    fn unlogged_weeks_are_left_out_on_both_sides() {
        let weeks = [
            (Picked, 2.0, 0.0, 0),
            (Unlogged, 0.0, 0.0, 0),
            (Nothing, 0.0, 0.0, 0),
            (Picked, 1.0, 0.0, 0),
        ];
        let got = of_yield(&forecast(), &logged(&weeks), None, 2026, 0.4).unwrap();
        close(Some(got.log_ratio), libm::log(3.0 / 6.0));
        close(Some(got.known_share), 0.75);
        close(Some(got.weight), 1.0);
    }

    #[test]
    fn guesses_weigh_less_and_weeks_away_do_not_count() {
        let weeks = [
            (Picked, 2.0, 2.0, 0),
            (Picked, 0.1, 0.0, 5),
            (Away, 0.0, 0.0, 7),
            (Picked, 2.0, 2.0, 1),
        ];
        let got = of_yield(&forecast(), &logged(&weeks), None, 2026, 0.4).unwrap();
        close(Some(got.log_ratio), 0.0);
        close(Some(got.weight), 0.16 / 0.25);
    }

    #[test]
    fn reasons_to_say_nothing() {
        let say = |weeks: &[(WeekState, f64, f64, u8)]| {
            of_yield(&forecast(), &logged(weeks), None, 2026, 0.4).unwrap_err()
        };
        assert_eq!(say(&[(Picked, 1.0, 0.0, 0)]), Silent::TooLittleKnown(0.25));
        assert_eq!(say(&[(Nothing, 0.0, 0.0, 0); 4]), Silent::NothingPicked);
    }
}
