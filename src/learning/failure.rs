//! How often a crop fails altogether, kept apart from how much it gives when it does not.
//!
//! A lost planting has no logarithm; it counts towards a chance that starts from the built-in one.
//! Source: conjugate updating of a beta prior by counts (textbook); Aitchison 1955, Journal of the American Statistical
//! Association 50:901–908 (a lognormal with a lump at zero; from memory).

use super::coverage::beta_quantile;
use statrs::distribution::{ContinuousCDF, Normal};

/// What is believed of a chance of failing: a beta distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FailureBelief {
    /// First shape: failures counted so far, the built-in ones included.
    pub failed: f64,
    /// Second shape: plantings that gave something, the built-in ones included.
    pub gave: f64,
}

/// Plantings that the built-in chance weighs as much as (judgement: ten).
pub const PLANTINGS_OF_BUILT_IN: f64 = 10.0;

impl FailureBelief {
    /// Starts from a built-in chance that counts as much as so many plantings (above zero).
    #[must_use]
    pub fn from_built_in(chance: f64, plantings: f64) -> Self {
        Self {
            failed: chance * plantings,
            gave: (1.0 - chance) * plantings,
        }
    }
    /// Returns the belief after so many more plantings (or weights), of which so many failed.
    #[must_use]
    pub fn after(self, failed: f64, tried: f64) -> Self {
        Self {
            failed: self.failed + failed,
            gave: self.gave + tried - failed,
        }
    }
    /// Returns the chance that the next planting fails.
    #[must_use]
    pub fn chance(&self) -> f64 {
        self.failed / (self.failed + self.gave)
    }
    /// Returns a quantile of the chance, for saying how sure it is; none if either shape is zero.
    #[must_use]
    pub fn quantile(&self, fraction: f64) -> Option<f64> {
        (self.failed > 0.0 && self.gave > 0.0)
            .then(|| beta_quantile(self.failed, self.gave, fraction))
    }
}

/// An amount that is nothing with some chance and lognormal otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChancyAmount {
    /// Chance of nothing, 0–1.
    pub chance_of_nothing: f64,
    /// Middle amount when there is any, kg.
    pub median_kg: f64,
    /// Standard deviation of the logarithm when there is any.
    pub log_sd: f64,
}

impl ChancyAmount {
    /// Returns a quantile in kg, zero where the chance of nothing reaches. Shape: `fraction` below 1.
    #[must_use]
    pub fn quantile_kg(&self, fraction: f64) -> f64 {
        if fraction <= self.chance_of_nothing {
            return 0.0;
        }
        let rest = (fraction - self.chance_of_nothing) / (1.0 - self.chance_of_nothing);
        self.median_kg * libm::exp(self.log_sd * Normal::standard().inverse_cdf(rest))
    }
    /// Returns the mean in kg.
    #[must_use]
    pub fn mean_kg(&self) -> f64 {
        (1.0 - self.chance_of_nothing) * self.median_kg * libm::exp(self.log_sd * self.log_sd / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learning::close;

    /// One failure in ten believed, two in six seen; values computed apart from this project, in Python with scipy.
    #[test]
    fn two_failures_in_six() {
        let got = FailureBelief::from_built_in(0.1, 10.0).after(2.0, 6.0);
        close(Some(got.chance()), 0.1875);
        close(got.quantile(0.9), 0.317_287_110_859_954_4);
    }

    /// Values computed apart from this project, in Python with scipy.
    #[test]
    fn amounts_that_may_be_nothing() {
        let amount = ChancyAmount {
            chance_of_nothing: 3.0 / 16.0,
            median_kg: 5.0,
            log_sd: 0.4,
        };
        for (fraction, want) in [
            (0.1, 0.0),
            (0.25, 2.826_409_458_456_483_4),
            (0.5, 4.446_358_380_021_172),
            (0.9, 7.951_294_380_799_899),
        ] {
            close(Some(amount.quantile_kg(fraction)), want);
        }
        close(Some(amount.mean_kg()), 4.400_853_712_429_519_5);
    }

    #[test]
    fn a_chance_of_none_has_no_quantile() {
        let never = FailureBelief::from_built_in(0.0, 10.0);
        assert_eq!(never.chance(), 0.0);
        assert_eq!(never.quantile(0.9), None);
    }
}
