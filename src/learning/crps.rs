//! The continuous ranked probability score: one number in kg for a whole distribution against what came.
//!
//! Knows three kinds of distribution: a set of draws, the normal and the lognormal. Sources: Gneiting and Raftery 2007,
//! Journal of the American Statistical Association 102:359–378; Ferro, Richardson and Weigel 2008, Meteorological
//! Applications 15:19–24 (the fair form); Baran and Lerch 2015, Quarterly Journal of the Royal Meteorological Society
//! 141:2289–2299 (lognormal; from memory, agrees with numerical integration).

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// The two forms of the score of a set of draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crps {
    /// As if the draws were the whole distribution.
    pub plain: f64,
    /// As if infinitely many had been drawn; may be negative in a single case. Of one draw it is the plain form.
    pub fair: f64,
}

/// Returns the score of draws sorted in rising order against what came; none if there are no draws.
///
/// Linear in the number of draws: the sum of all mutual distances is taken from the ranks.
#[must_use]
pub fn of_sorted(draws: &[f64], actual: f64) -> Option<Crps> {
    let m = draws.len() as f64;
    if draws.is_empty() {
        return None;
    }
    debug_assert!(draws.is_sorted());
    let (mut misses, mut spread) = (0.0, 0.0);
    for (i, x) in draws.iter().enumerate() {
        misses += (x - actual).abs();
        spread += (2.0 * (i as f64 + 1.0) - m - 1.0) * x;
    }
    let plain = misses / m - spread / (m * m);
    let fair = if draws.len() > 1 {
        misses / m - spread / (m * (m - 1.0))
    } else {
        plain
    };
    Some(Crps { plain, fair })
}

/// Returns the score of draws in any order against what came; none if there are no draws.
#[must_use]
pub fn of_draws(draws: &[f64], actual: f64) -> Option<Crps> {
    let mut sorted = draws.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    of_sorted(&sorted, actual)
}

/// Returns the score of draws with weights that add to 1, in any order; none without draws.
///
/// Shape: one weight a draw. Plain form only.
#[must_use]
pub fn of_weighted(draws: &[f64], weights: &[f64], actual: f64) -> Option<f64> {
    let mut pairs: Vec<(f64, f64)> = draws.iter().copied().zip(weights.iter().copied()).collect();
    if pairs.is_empty() {
        return None;
    }
    pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    // Integral of (F − step)² piece by piece between neighbouring draws, with `actual` as one more break.
    let mut below = 0.0;
    let mut score = 0.0;
    let mut at = pairs[0].0.min(actual);
    for &(x, w) in &pairs {
        if actual > at && actual < x {
            score += below * below * (actual - at);
            at = actual;
        }
        let gap = if at >= actual { below - 1.0 } else { below };
        score += gap * gap * (x - at);
        at = x;
        below += w;
    }
    // Beyond the last draw F is 1: what lies between it and a greater `actual` counts in full.
    Some(score + (actual - at).max(0.0))
}

/// Returns the score of a normal distribution with standard deviation above zero.
#[must_use]
pub fn of_normal(mean: f64, sd: f64, actual: f64) -> f64 {
    let standard = Normal::standard();
    let z = (actual - mean) / sd;
    let root_pi = std::f64::consts::PI.sqrt();
    sd * (z * (2.0 * standard.cdf(z) - 1.0) + 2.0 * standard.pdf(z) - 1.0 / root_pi)
}

/// Returns the score of a lognormal distribution whose logarithm has this mean and standard deviation (above zero).
#[must_use]
pub fn of_lognormal(log_mean: f64, log_sd: f64, actual: f64) -> f64 {
    let standard = Normal::standard();
    let mean = libm::exp(log_mean + log_sd * log_sd / 2.0);
    let root = standard.cdf(log_sd / std::f64::consts::SQRT_2);
    if actual <= 0.0 {
        return 2.0 * mean * (1.0 - root) - actual;
    }
    let z = (libm::log(actual) - log_mean) / log_sd;
    actual * (2.0 * standard.cdf(z) - 1.0) - 2.0 * mean * (standard.cdf(z - log_sd) + root - 1.0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    /// Made-up draws; values computed apart from this project, in Python, from the double sum.
    #[test]
    fn draws_plain_and_fair() {
        let first = of_draws(&[4.0, 1.0, 7.0, 2.0], 3.0).unwrap();
        close(Some(first.plain), 0.75);
        close(Some(first.fair), 0.333_333_333_333_333_26);
        let zeros = of_sorted(&[0.0, 0.0, 0.0, 1.2, 2.5], 0.0).unwrap();
        close(Some(zeros.plain), 0.244);
        close(Some(zeros.fair), 0.12);
        let point = of_sorted(&[4.0], 6.5).unwrap();
        close(Some(point.plain), 2.5);
        close(Some(point.fair), 2.5);
        assert_eq!(of_sorted(&[], 1.0), None);
    }

    /// Values by numerical integration, apart from this project, in Python with scipy.
    #[test]
    fn closed_forms() {
        close(Some(of_normal(0.0, 1.0, 0.0)), 0.233_694_977_255_109_13);
        close(Some(of_normal(10.0, 2.0, 13.0)), 1.988_848_007_954_905_8);
        close(Some(of_lognormal(1.0, 0.5, 2.0)), 0.490_384_908_766_632_3);
    }

    #[test]
    fn lognormal_is_continuous_at_nothing_picked() {
        let at_zero = of_lognormal(0.3, 0.4, 0.0);
        assert!((of_lognormal(0.3, 0.4, 1e-12) - at_zero).abs() < 1e-9);
    }

    #[test]
    fn equal_weights_give_the_plain_score() {
        let draws = [0.0, 3.0, 0.0, 1.5, 2.25, 8.0, 0.5];
        let weights = [1.0 / 7.0; 7];
        for actual in [-1.0, 0.0, 0.4, 1.5, 2.0, 7.9, 8.0, 11.0] {
            let plain = of_draws(&draws, actual).unwrap().plain;
            close(of_weighted(&draws, &weights, actual), plain);
        }
        assert_eq!(of_weighted(&[], &[], 1.0), None);
    }

    #[test]
    fn a_doubled_weight_is_a_doubled_draw() {
        let doubled = of_draws(&[1.0, 2.0, 2.0, 5.0], 2.7).unwrap().plain;
        close(
            of_weighted(&[1.0, 2.0, 5.0], &[0.25, 0.5, 0.25], 2.7),
            doubled,
        );
    }
}
