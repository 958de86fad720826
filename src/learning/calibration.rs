//! What a few seasons say about a number: factors on the logarithmic scale, held back towards the built-in number.
//!
//! Two seasons of chance must not turn a table upside down: own seasons count by n/(n + σ²/τ²), where σ is how much one
//! season differs from the next and τ how much gardens differ from the table. Knows nothing of crops.
//! Sources: Gelman and Hill 2007, *Data Analysis Using Regression and Multilevel/Hierarchical Models*, 12 (partial
//! pooling); West and Harrison, *Bayesian Forecasting and Dynamic Models* (discount factors; from memory); Kish 1965,
//! *Survey Sampling* (effective number).

use statrs::distribution::{ContinuousCDF, Normal};

/// How much seasons differ, and how much gardens differ, both as standard deviations of a logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// From one season to the next in the same garden (σ).
    pub season: f64,
    /// From one garden to the next over many seasons (τ).
    pub garden: f64,
}

impl Spread {
    /// Spread of seasonal yields unless the garden's own seasons say otherwise (judgement).
    pub const YIELD: Self = Self {
        season: 0.4,
        garden: 0.3,
    };
    /// Spread of days to maturity: seasons and the days between pickings, and varieties (judgement).
    pub const DAYS: Self = Self {
        season: 0.12,
        garden: 0.10,
    };
    /// Spread of kitchen minutes: sessions, and hands (judgement).
    pub const MINUTES: Self = Self {
        season: 0.3,
        garden: 0.4,
    };
    /// Spread of one bed around its crop's factor: seasons, and beds (judgement).
    pub const BED: Self = Self {
        season: 0.4,
        garden: 0.25,
    };

    /// Returns σ²/τ²: the number of seasons that weigh as much as the built-in number.
    #[must_use]
    pub fn seasons_of_built_in(&self) -> f64 {
        (self.season * self.season) / (self.garden * self.garden)
    }

    /// Returns the weight of own seasons, 0–1; with no spread between gardens, none.
    #[must_use]
    pub fn weight(&self, seasons: f64) -> f64 {
        if self.garden <= 0.0 || seasons <= 0.0 {
            return 0.0;
        }
        seasons / (seasons + self.seasons_of_built_in())
    }

    /// Returns the least number of seasons whose weight reaches `weight` (below 1).
    #[must_use]
    pub fn seasons_for_weight(&self, weight: f64) -> u32 {
        // The small step back keeps whole numbers whole.
        let seasons = self.seasons_of_built_in() * weight / (1.0 - weight);
        (seasons - 1e-9).ceil().max(1.0) as u32
    }
}

/// What is believed of a factor after some seasons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Weight of the own seasons, 0–1.
    pub weight: f64,
    /// Mean of the factor's logarithm.
    pub log_mean: f64,
    /// Standard deviation of the factor's logarithm.
    pub log_sd: f64,
    /// Standard deviation of the logarithm of the next season's ratio.
    pub next_log_sd: f64,
}

impl Belief {
    /// Returns the middle factor: half of the gardens like this one lie above it.
    #[must_use]
    pub fn factor(&self) -> f64 {
        libm::exp(self.log_mean)
    }
    /// Returns a quantile of the next season's ratio. Shape: `fraction` between 0 and 1, both excluded.
    #[must_use]
    pub fn next_quantile(&self, fraction: f64) -> f64 {
        let z = Normal::standard().inverse_cdf(fraction);
        libm::exp(self.log_mean + z * self.next_log_sd)
    }
    /// Returns the mean of the next season's ratio, which lies above the middle one.
    #[must_use]
    pub fn next_mean(&self) -> f64 {
        libm::exp(self.log_mean + self.next_log_sd * self.next_log_sd / 2.0)
    }
}

/// Returns what is believed after seasons of this number (or sum of weights) and mean logarithm, the built-in number
/// standing for a logarithm of zero.
#[must_use]
pub fn belief(seasons: f64, mean_log: f64, spread: Spread) -> Belief {
    let weight = spread.weight(seasons);
    let between = spread.garden * spread.garden;
    let variance = between * (1.0 - weight);
    Belief {
        weight,
        log_mean: weight * mean_log,
        log_sd: variance.sqrt(),
        next_log_sd: (variance + spread.season * spread.season).sqrt(),
    }
}

/// Weight of a season for each season of its age.
pub const KEPT_PER_SEASON: f64 = 0.8;

/// Logarithms of several seasons with their weights, summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighted {
    /// Sum of the weights: the number of seasons to count with.
    pub seasons: f64,
    /// Number of equal seasons that would be as sure (Kish).
    pub equal_seasons: f64,
    /// Weighted mean.
    pub mean: f64,
}

/// Returns values summed up with their weights; none if no weight is above zero.
///
/// Shape: pairs of value and weight.
#[must_use]
pub fn weighted(pairs: &[(f64, f64)]) -> Option<Weighted> {
    let sum: f64 = pairs.iter().map(|(_, w)| w).sum();
    let squares: f64 = pairs.iter().map(|(_, w)| w * w).sum();
    let mean = pairs.iter().map(|(v, w)| v * w).sum::<f64>() / sum;
    (sum > 0.0).then_some(Weighted {
        seasons: sum,
        equal_seasons: sum * sum / squares,
        mean,
    })
}

/// Returns the weight of a season `age` seasons back when each keeps the share `kept` of the one after it.
#[must_use]
pub fn forgetting_weight(kept: f64, age: u32) -> f64 {
    libm::pow(kept, f64::from(age))
}

/// Returns the number of seasons after which a weight has halved.
#[must_use]
pub fn half_life(kept: f64) -> f64 {
    libm::log(0.5) / libm::log(kept)
}

/// Returns the share kept per season at which forgetting equals the steady state of a level that wanders with
/// variance `wander` for each unit of variance of a season.
#[must_use]
pub fn kept_of_wandering_level(wander: f64) -> f64 {
    // Steady-state gain g of a local level: g² = wander · (1 − g).
    1.0 - ((wander * wander + 4.0 * wander).sqrt() - wander) / 2.0
}

/// What the pickings so far say of the rest of a season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoFar {
    /// Picked so far over forecast so far.
    pub ratio: f64,
    /// Weight of the pickings, 0–1.
    pub weight: f64,
    /// Factor for the weeks that remain.
    pub factor: f64,
}

/// Returns the factor for the rest of a season; none unless both sums are above zero.
///
/// Units: kg picked and forecast over the same weeks. `pickings_sd` is how far a season's ratio so far can stray from
/// that of its rest, `season_sd` how far the season's yield can stray from the forecast, both of a logarithm.
#[must_use]
pub fn rest_of_season(
    picked_kg: f64,
    forecast_kg: f64,
    pickings_sd: f64,
    season_sd: f64,
) -> Option<SoFar> {
    if !(picked_kg > 0.0 && forecast_kg > 0.0) {
        return None;
    }
    let ratio = picked_kg / forecast_kg;
    let spread = Spread {
        season: pickings_sd,
        garden: season_sd,
    };
    let weight = spread.weight(1.0);
    Some(SoFar {
        ratio,
        weight,
        factor: libm::exp(weight * libm::log(ratio)),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    /// Three seasons at 0.7 of the forecast; values computed apart from this project, in Python with scipy.
    #[test]
    fn three_poor_seasons() {
        let b = belief(3.0, libm::log(0.7), Spread::YIELD);
        close(
            Some(Spread::YIELD.seasons_of_built_in()),
            1.777_777_777_777_778_1,
        );
        close(Some(b.weight), 0.627_906_976_744_185_9);
        close(Some(b.log_mean), -0.223_958_685_728_971_5);
        close(Some(b.log_sd), 0.182_998_284_399_125_6);
        close(Some(b.factor()), 0.799_348_158_173_636_1);
        close(Some(b.next_log_sd), 0.439_873_131_815_326_1);
        close(Some(b.next_quantile(0.1)), 0.454_899_489_583_503_24);
        close(Some(b.next_quantile(0.5)), 0.799_348_158_173_636_1);
        close(Some(b.next_quantile(0.9)), 1.404_612_431_112_202_4);
        close(Some(b.next_mean()), 0.880_544_775_763_932_8);
    }

    /// By hand from k = σ²/τ² (four decimals): seasons for half and for four fifths of the weight.
    #[test]
    fn seasons_it_takes() {
        for (season, garden, k, half, four_fifths) in [
            (0.25, 0.2, 1.5625, 2, 7),
            (0.25, 0.3, 0.6944, 1, 3),
            (0.25, 0.5, 0.25, 1, 1),
            (0.4, 0.2, 4.0, 4, 16),
            (0.4, 0.3, 1.7778, 2, 8),
            (0.4, 0.5, 0.64, 1, 3),
            (0.6, 0.2, 9.0, 9, 36),
            (0.6, 0.3, 4.0, 4, 16),
            (0.6, 0.5, 1.44, 2, 6),
        ] {
            let spread = Spread { season, garden };
            assert!((spread.seasons_of_built_in() - k).abs() < 5.1e-5);
            assert_eq!(spread.seasons_for_weight(0.5), half, "{season}/{garden}");
            assert_eq!(spread.seasons_for_weight(0.8), four_fifths);
        }
    }

    /// Five made-up seasons, newest first; values computed apart from this project, in Python.
    #[test]
    fn older_seasons_weigh_less() {
        let values = [1.2, 0.9, 1.0, 0.7, 0.8];
        let with = |f: fn(f64) -> f64| -> Vec<(f64, f64)> {
            values
                .iter()
                .zip(0..)
                .map(|(&v, age)| (f(v), forgetting_weight(0.8, age)))
                .collect()
        };
        let plain = weighted(&with(|v| v)).unwrap();
        close(Some(plain.seasons), 3.3616);
        close(Some(plain.equal_seasons), 4.557_483_731_019_522);
        close(Some(half_life(0.8)), 3.106_283_719_505_390_3);
        close(Some(plain.mean), 0.965_635_411_708_710_1);
        let logs = weighted(&with(libm::log)).unwrap();
        let b = belief(logs.seasons, logs.mean, Spread::YIELD);
        close(Some(b.weight), 0.654_086_962_537_618_1);
        close(Some(b.factor()), 0.966_337_349_661_517_2);
        assert_eq!(weighted(&[]), None);
        assert_eq!(weighted(&[(1.0, 0.0)]), None);
    }

    /// Limits of geometric weights: their sum 1/(1 − λ), their equal number (1 + λ)/(1 − λ), by hand.
    #[test]
    fn a_very_long_record() {
        let many: Vec<(f64, f64)> = (0..400)
            .map(|age| (1.0, forgetting_weight(0.8, age)))
            .collect();
        let got = weighted(&many).unwrap();
        close(Some(got.seasons), 5.0);
        close(Some(got.equal_seasons), 9.0);
    }

    /// Steady-state gain of a local level, by hand: gain 0.2 at 0.05, since 0.2² = 0.05 · 0.8.
    #[test]
    fn forgetting_is_a_wandering_level() {
        close(Some(1.0 - kept_of_wandering_level(0.05)), 0.2);
        close(Some(0.2_f64.powi(2) / 0.8), 0.05);
    }

    /// Made-up season; values computed apart from this project, in Python.
    #[test]
    fn pickings_so_far_move_the_rest() {
        let got = rest_of_season(0.7 + 1.5 + 2.2, 1.0 + 2.0 + 3.0, 0.25, 0.3).unwrap();
        close(Some(got.ratio), 0.733_333_333_333_333_4);
        close(Some(got.weight), 0.590_163_934_426_229_5);
        close(Some(got.factor), 0.832_732_969_719_535_7);
        close(Some(2.0 * got.factor), 1.665_465_939_439_071_4);
        assert_eq!(rest_of_season(0.0, 1.0, 0.25, 0.3), None);
        assert_eq!(rest_of_season(1.0, 0.0, 0.25, 0.3), None);
    }

    #[test]
    fn no_seasons_leave_the_built_in_number() {
        let b = belief(0.0, 5.0, Spread::YIELD);
        assert_eq!((b.weight, b.factor()), (0.0, 1.0));
        let nothing_to_learn = Spread {
            season: 0.4,
            garden: 0.0,
        };
        assert_eq!(nothing_to_learn.weight(10.0), 0.0);
    }
}
