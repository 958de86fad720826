//! Learning within the season: the pickings so far say which draws are still likely.
//!
//! Pure arithmetic on draws: every draw counts by how well it agrees with the pickings, dates and levels together. (Moving
//! a crop's level by itself was tried on made-up gardens and made the remaining weeks worse: early in a harvest a late
//! start looks like a low yield.)
//! Sources: Kong, Liu and Wong 1994, Journal of the American Statistical Association 89:278–288 (effective number of
//! draws); Del Moral, Doucet and Jasra 2006, Journal of the Royal Statistical Society B 68:411–436 (tempering); Kitagawa
//! 1996, Journal of Computational and Graphical Statistics 5:1–25 (systematic resampling). All from memory.

use super::chance::stream;
use super::draws::WeeklyDraws;
use super::evidence::MOST_AWAY_DAYS;
use super::record::LoggedWeeks;
use crate::garden::week::Week;

/// Share of effective draws below which they are drawn anew.
pub const RESAMPLE_BELOW: f64 = 0.1;
/// Share of effective draws that tempering keeps: more agreement is not taken from the pickings (judgement).
pub const TEMPER_TO: f64 = 0.05;
/// How far a week's picking strays from what became ready, as standard deviation of a logarithm (judgement: pickings
/// slip by a day or two over the edge of a week).
pub const WEEK_LOG_SD: f64 = 0.35;
/// The same of a guessed amount (judgement).
pub const GUESSED_WEEK_LOG_SD: f64 = 0.5;
/// Share of a week's mean forecast that is added to both sides, so that nothing has a logarithm (judgement).
const FLOOR_SHARE: f64 = 0.1;

/// One known week of one crop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownWeek<'a> {
    /// What each draw said, kg.
    pub draws_kg: &'a [f32],
    /// What was picked, kg; zero if surely nothing.
    pub picked_kg: f64,
    /// Whether the amount was guessed.
    pub guess: bool,
}

/// Returns how well each draw agrees with the known weeks, as a logarithm up to a constant.
///
/// Shape: one number a draw; every week must hold as many draws.
#[must_use]
pub fn agreement(weeks: &[KnownWeek<'_>], draws: usize) -> Vec<f64> {
    let mut sum = vec![0.0; draws];
    for week in weeks {
        let total: f64 = week.draws_kg.iter().map(|&x| f64::from(x)).sum();
        let floor = FLOOR_SHARE * (total / draws as f64).max(week.picked_kg);
        if floor <= 0.0 {
            continue;
        }
        let sd = if week.guess {
            GUESSED_WEEK_LOG_SD
        } else {
            WEEK_LOG_SD
        };
        let seen = libm::log(week.picked_kg + floor);
        for (log, &x) in sum.iter_mut().zip(week.draws_kg) {
            let z = (seen - libm::log(f64::from(x) + floor)) / sd;
            // Beyond three standard deviations the loss grows only in proportion: one odd week must not decide alone.
            *log -= if z.abs() <= 3.0 {
                0.5 * z * z
            } else {
                3.0 * z.abs() - 4.5
            };
        }
    }
    sum
}

/// Weighs the draws of a season by the record of its weeks before `until`.
///
/// All foods of the record are judged together. Weeks of which nothing is known, or with days away, say nothing; an amount counts as guessed if at least
/// half of it was. Every forecast must hold as many draws; none without forecasts.
#[must_use]
pub fn weigh_season(
    forecast: &[WeeklyDraws],
    record: &[LoggedWeeks],
    until: Week,
) -> Option<Weighed> {
    let draws = forecast.first()?.draws();
    let known: Vec<KnownWeek<'_>> = forecast
        .iter()
        .filter_map(|food| {
            let logged = record
                .iter()
                .find(|r| r.crop == food.crop && r.planting.is_none())?;
            Some(food.weeks().filter_map(move |week| {
                let picked_kg = logged.known_kg(week).filter(|_| week < until)?;
                let entry = logged.entry(week)?;
                let guessed_kg = (entry.away_days <= MOST_AWAY_DAYS).then_some(entry.guessed_kg)?;
                Some(KnownWeek {
                    draws_kg: food.of_week(week)?,
                    picked_kg,
                    guess: picked_kg > 0.0 && guessed_kg >= 0.5 * picked_kg,
                })
            }))
        })
        .flatten()
        .collect();
    Some(reweigh(&agreement(&known, draws)))
}

/// Draws weighed by what was picked so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// Weight of each draw; they add to 1.
    pub weights: Vec<f64>,
    /// Number of equal draws that would tell as much.
    pub effective: f64,
    /// Power to which agreement was taken: 1 in full, less when it would have left too few draws.
    pub temper: f64,
    /// Whether the effective draws were so few that they should be drawn anew with [`Weighed::drawn_anew`].
    pub few: bool,
    /// Whether no draw at all could have given these pickings; the weights are then equal.
    pub unexplained: bool,
}

impl Weighed {
    /// Returns for each place of a new ensemble the draw that stands there, in rising order: systematic resampling.
    ///
    /// Shape: as many as there are draws. The same seed gives the same places.
    #[must_use]
    pub fn drawn_anew(&self, seed: u64) -> Vec<u32> {
        systematic(&self.weights, stream(seed, "draw anew").uniform())
    }
}

/// Returns for each place the draw that stands there, in rising order, so that draws stand as often as they weigh.
///
/// Shape: as many places as weights, which need not add to 1; `offset` is an even number below 1.
#[must_use]
pub fn systematic(weights: &[f64], offset: f64) -> Vec<u32> {
    let n = weights.len();
    let all: f64 = weights.iter().sum();
    let mut places = Vec::with_capacity(n);
    let (mut draw, mut up_to) = (0, weights.first().copied().unwrap_or(0.0));
    for i in 0..n {
        let at = (i as f64 + offset) / n as f64 * all;
        while at >= up_to && draw + 1 < n {
            draw += 1;
            up_to += weights[draw];
        }
        places.push(draw as u32);
    }
    places
}

/// Returns weights that add to 1 from logarithms taken to a power; none if all are hopeless.
fn weights(logs: &[f64], power: f64) -> Option<Vec<f64>> {
    let best = logs
        .iter()
        .copied()
        .filter(|l| l.is_finite())
        .reduce(f64::max)?;
    let raw: Vec<f64> = logs
        .iter()
        .map(|&l| {
            if l.is_finite() {
                libm::exp(power * (l - best))
            } else {
                0.0
            }
        })
        .collect();
    let sum: f64 = raw.iter().sum();
    Some(raw.into_iter().map(|w| w / sum).collect())
}

/// Returns the number of equal draws that would tell as much.
fn effective(weights: &[f64]) -> f64 {
    1.0 / weights.iter().map(|w| w * w).sum::<f64>()
}

/// Weighs draws by their agreement with what was picked so far.
///
/// Shape: one logarithm a draw; minus infinity (or not a number) means impossible.
#[must_use]
pub fn reweigh(agreement: &[f64]) -> Weighed {
    let n = agreement.len() as f64;
    let Some(full) = weights(agreement, 1.0) else {
        return Weighed {
            weights: vec![1.0 / n; agreement.len()],
            effective: n,
            temper: 0.0,
            few: false,
            unexplained: !agreement.is_empty(),
        };
    };
    let least = TEMPER_TO * n;
    let mut temper = 1.0;
    let mut own = full;
    if effective(&own) < least {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            temper = 0.5 * (low + high);
            let Some(tried) = weights(agreement, temper) else {
                break;
            };
            if effective(&tried) < least {
                high = temper;
            } else {
                low = temper;
            }
            own = tried;
        }
    }
    let effective = effective(&own);
    Weighed {
        weights: own,
        effective,
        temper,
        few: effective < RESAMPLE_BELOW * n,
        unexplained: false,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;
    use statrs::distribution::{ContinuousCDF, Normal};

    /// Evenly placed normal numbers.
    fn normal(n: usize) -> Vec<f64> {
        let standard = Normal::standard();
        (0..n)
            .map(|i| standard.inverse_cdf((i as f64 + 0.5) / n as f64))
            .collect()
    }

    /// Normal prior and normal agreement: the posterior is known in closed form (textbook).
    #[test]
    fn weights_give_the_known_posterior() {
        let z = normal(20_000);
        // Prior sd 0.3, one observation 0.4 with sd 0.25.
        let logs: Vec<f64> = z
            .iter()
            .map(|z| -0.5 * ((0.4 - 0.3 * z) / 0.25_f64).powi(2))
            .collect();
        let got = reweigh(&logs);
        let mean: f64 = z.iter().zip(&got.weights).map(|(z, w)| 0.3 * z * w).sum();
        let square: f64 = z
            .iter()
            .zip(&got.weights)
            .map(|(z, w)| (0.3 * z - mean).powi(2) * w)
            .sum();
        let gain = 0.09 / (0.09 + 0.0625);
        assert!((mean - 0.4 * gain).abs() < 1e-4, "{mean}");
        assert!((square - 0.09 * (1.0 - gain)).abs() < 1e-4, "{square}");
        assert_eq!((got.temper, got.few), (1.0, false));
        close(Some(got.weights.iter().sum()), 1.0);
        // Drawn anew, equal draws tell the same.
        let anew = got.drawn_anew(3);
        assert_eq!(anew.len(), z.len());
        let mean = anew.iter().map(|&i| 0.3 * z[i as usize]).sum::<f64>() / z.len() as f64;
        assert!((mean - 0.4 * gain).abs() < 1e-3, "{mean}");
    }

    #[test]
    fn too_sharp_agreement_is_tempered() {
        let logs: Vec<f64> = normal(1000)
            .iter()
            .map(|z| -0.5 * ((2.5 - z) / 0.01_f64).powi(2))
            .collect();
        let got = reweigh(&logs);
        assert!(got.few && got.temper < 1.0);
        assert!((got.effective - 50.0).abs() < 1.0, "{}", got.effective);
        let anew = got.drawn_anew(1);
        assert_eq!(anew, got.drawn_anew(1));
        assert!(anew.is_sorted() && anew.iter().all(|&i| i > 700));
    }

    #[test]
    fn hopeless_draws_count_equally_and_say_so() {
        let got = reweigh(&[f64::NEG_INFINITY, f64::NAN]);
        assert!(got.unexplained);
        assert_eq!(got.weights, [0.5, 0.5]);
        let one = reweigh(&[f64::NEG_INFINITY, -2.0]);
        assert_eq!((one.weights[0], one.weights[1]), (0.0, 1.0));
        assert_eq!(reweigh(&[]).weights, Vec::<f64>::new());
    }

    #[test]
    fn agreement_is_best_where_the_draw_was_right() {
        let draws = [0.0_f32, 1.0, 2.0, 4.0];
        let week = |picked_kg| KnownWeek {
            draws_kg: &draws,
            picked_kg,
            guess: false,
        };
        for (place, picked) in [(0, 0.0), (1, 1.0), (3, 4.0)] {
            let got = agreement(&[week(picked)], 4);
            assert_eq!(got[place], 0.0);
            assert!((0..4).all(|i| i == place || got[i] < -0.5), "{got:?}");
        }
        // A week in which nothing was forecast and nothing came says nothing.
        let empty = KnownWeek {
            draws_kg: &[0.0; 2],
            picked_kg: 0.0,
            guess: false,
        };
        assert_eq!(agreement(&[empty], 2), [0.0, 0.0]);
    }
}
