//! Where in its forecast each outcome fell (the probability integral transform), and whether that is even.
//!
//! Outcomes of a good forecast fall evenly between 0 and 1; a U means bands too narrow, a hump too wide, a slope a bias.
//! Sources: Gneiting, Balabdaoui and Raftery 2007, Journal of the Royal Statistical Society B 69:243–268; Czado,
//! Gneiting and Held 2009, Biometrics 65:1254–1261 (ties).

use super::accuracy::mean;
use super::chance::stream;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Number of equal bins.
pub const BINS: usize = 5;

/// Counts the draws below and at a value. Shape: `sorted` in rising order.
fn below_and_at(sorted: &[f64], actual: f64) -> (f64, f64) {
    let below = sorted.partition_point(|&x| x < actual);
    let up_to = sorted.partition_point(|&x| x <= actual);
    (below as f64, (up_to - below) as f64)
}

/// Returns the middle rank of an outcome among sorted draws, between 0 and 1; ties count half.
#[must_use]
pub fn mid_rank(sorted: &[f64], actual: f64) -> f64 {
    let (below, at) = below_and_at(sorted, actual);
    (below + 0.5 * (at + 1.0)) / (sorted.len() as f64 + 1.0)
}

/// Returns a rank drawn evenly from those that ties allow, with `even` between 0 and 1.
///
/// Needed where many weeks have nothing: the middle rank would heap them up.
#[must_use]
pub fn spread_rank(sorted: &[f64], actual: f64, even: f64) -> f64 {
    let (below, at) = below_and_at(sorted, actual);
    (below + even * (at + 1.0)) / (sorted.len() as f64 + 1.0)
}

/// Returns a randomised rank that depends on seed and name alone.
#[must_use]
pub fn seeded_rank(sorted: &[f64], actual: f64, seed: u64, name: &str) -> f64 {
    spread_rank(sorted, actual, stream(seed, name).uniform())
}

/// Where the outcomes fell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evenness {
    /// Outcomes in each fifth, lowest first.
    pub counts: [usize; BINS],
    /// Chi-squared of the counts against even ones.
    pub chi_squared: f64,
    /// Chance of counts at least as uneven if the forecast is good (four degrees of freedom).
    pub chance: f64,
    /// Mean of the ranks; a half is ideal.
    pub mean: f64,
    /// Variance of the ranks (divisor one less than the number), a twelfth is ideal; none for one outcome.
    pub variance: Option<f64>,
}

/// Returns how evenly ranks fall, or nothing without any.
#[must_use]
pub fn evenness(ranks: &[f64]) -> Option<Evenness> {
    let centre = mean(ranks.iter().copied())?;
    let mut counts = [0; BINS];
    for rank in ranks {
        counts[((rank * BINS as f64) as usize).min(BINS - 1)] += 1;
    }
    let n = ranks.len() as f64;
    let expected = n / BINS as f64;
    let chi_squared = counts
        .iter()
        .map(|&c| (c as f64 - expected) * (c as f64 - expected) / expected)
        .sum();
    let chance = ChiSquared::new(BINS as f64 - 1.0).map_or(1.0, |d| d.sf(chi_squared));
    let squares: f64 = ranks.iter().map(|r| (r - centre) * (r - centre)).sum();
    Some(Evenness {
        counts,
        chi_squared,
        chance,
        mean: centre,
        variance: (ranks.len() > 1).then(|| squares / (n - 1.0)),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    /// Made-up draws, by hand.
    #[test]
    fn ranks_with_ties() {
        let draws = [0.0, 0.0, 0.0, 1.2, 2.5];
        for (actual, want) in [
            (0.0, 0.333_333_333_333_333_3),
            (2.0, 0.75),
            (3.0, 0.916_666_666_666_666_6),
        ] {
            close(Some(mid_rank(&draws, actual)), want);
        }
        close(Some(spread_rank(&draws, 0.0, 0.0)), 0.0);
        close(Some(spread_rank(&draws, 0.0, 1.0)), 4.0 / 6.0);
        let seeded = seeded_rank(&draws, 0.0, 7, "kale 2026-06-01");
        assert!((0.0..4.0 / 6.0).contains(&seeded));
        assert_eq!(seeded, seeded_rank(&draws, 0.0, 7, "kale 2026-06-01"));
    }

    /// Ten made-up ranks; chi-squared and its chance as scipy.stats.chisquare gives them for counts 4, 0, 1, 0, 5,
    /// mean and variance as numpy.
    #[test]
    fn evenness_of_ten_ranks() {
        let ranks = PIT_TEN;
        let got = evenness(&ranks).unwrap();
        assert_eq!(got.counts, [4, 0, 1, 0, 5]);
        close(Some(got.chi_squared), 11.0);
        close(Some(got.chance), 0.026_564_014_350_016_436);
        close(Some(got.mean), 0.546);
        close(got.variance, 0.196_826_666_666_666_68);
        assert_eq!(evenness(&[]), None);
        assert_eq!(evenness(&[1.0]).unwrap().counts, [0, 0, 0, 0, 1]);
    }

    const PIT_TEN: [f64; 10] = [0.01, 0.03, 0.04, 0.17, 0.47, 0.90, 0.91, 0.96, 0.98, 0.99];

    #[test]
    fn even_ranks_of_a_made_good_forecast() {
        // Truth and draws alike: even numbers with a heap at nothing, as in weeks before the first picking.
        let mut numbers = stream(11, "even");
        let mut one = || (numbers.uniform() * 2.0 - 1.0).max(0.0);
        let ranks: Vec<f64> = (0..1000)
            .map(|i| {
                let mut draws: Vec<f64> = (0..49).map(|_| one()).collect();
                draws.sort_unstable_by(f64::total_cmp);
                seeded_rank(&draws, one(), 5, &i.to_string())
            })
            .collect();
        let got = evenness(&ranks).unwrap();
        assert!(got.chance > 0.01, "{got:?}");
        // The middle rank heaps the empty weeks at a quarter.
        let heaped: Vec<f64> = (0..1000)
            .map(|_| {
                let mut draws: Vec<f64> = (0..49).map(|_| one()).collect();
                draws.sort_unstable_by(f64::total_cmp);
                mid_rank(&draws, one())
            })
            .collect();
        assert!(evenness(&heaped).unwrap().chance < 1e-6);
    }
}
