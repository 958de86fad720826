//! How often bands held, and whether that agrees with what they claim.
//!
//! Exact binomial arithmetic, since a garden has few weeks. Weeks of one season hang together, so the range shown is
//! the narrowest that can be defended; with fewer than 20 cases no judgement is given. Sources: Clopper and Pearson
//! 1934, Biometrika 26:404–413; Wilson 1927, Journal of the American Statistical Association 22:209–212.

use statrs::distribution::{Beta, Binomial, ContinuousCDF, Discrete, DiscreteCDF, Normal};

/// Fewest cases on which a judgement is given (judgement: below it the exact range is wider than 40 points).
pub const LEAST_CASES: u64 = 20;

/// A range of a share, both ends 0–1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareRange {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Returns a quantile of the beta distribution with both shapes above zero.
pub(crate) fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    Beta::new(a, b).map_or(0.0, |beta| beta.inverse_cdf(p))
}

/// Returns the exact range of a share after `hits` of `cases` (Clopper and Pearson); `outside` is 0.05 for 95 %.
#[must_use]
pub fn exact_range(hits: u64, cases: u64, outside: f64) -> Option<ShareRange> {
    if cases == 0 || hits > cases {
        return None;
    }
    let (k, n) = (hits as f64, cases as f64);
    Some(ShareRange {
        low: if hits == 0 {
            0.0
        } else {
            beta_quantile(k, n - k + 1.0, outside / 2.0)
        },
        high: if hits == cases {
            1.0
        } else {
            beta_quantile(k + 1.0, n - k, 1.0 - outside / 2.0)
        },
    })
}

/// Returns Wilson's range of a share after `hits` of `cases`.
#[must_use]
pub fn wilson_range(hits: u64, cases: u64, outside: f64) -> Option<ShareRange> {
    if cases == 0 || hits > cases {
        return None;
    }
    let n = cases as f64;
    let share = hits as f64 / n;
    let z = Normal::standard().inverse_cdf(1.0 - outside / 2.0);
    let centre = share + z * z / (2.0 * n);
    let half = z * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    let whole = 1.0 + z * z / n;
    Some(ShareRange {
        low: ((centre - half) / whole).max(0.0),
        high: ((centre + half) / whole).min(1.0),
    })
}

/// Returns the Bayesian range of a share with the prior of Jeffreys, Beta(½, ½).
#[must_use]
pub fn jeffreys_range(hits: u64, cases: u64, outside: f64) -> Option<ShareRange> {
    if cases == 0 || hits > cases {
        return None;
    }
    let (a, b) = (hits as f64 + 0.5, (cases - hits) as f64 + 0.5);
    Some(ShareRange {
        low: beta_quantile(a, b, outside / 2.0),
        high: beta_quantile(a, b, 1.0 - outside / 2.0),
    })
}

/// Returns the chance of at most `hits` of `cases` when each holds with chance `claimed`.
#[must_use]
pub fn chance_of_at_most(hits: u64, cases: u64, claimed: f64) -> Option<f64> {
    Some(Binomial::new(claimed, cases).ok()?.cdf(hits))
}

/// Returns the chance of a count at least as unlikely as `hits` of `cases` when each holds with chance `claimed`
/// (two-sided exact test, adding up every count that is no likelier).
#[must_use]
pub fn exact_test(hits: u64, cases: u64, claimed: f64) -> Option<f64> {
    let counts = Binomial::new(claimed, cases).ok()?;
    let seen = counts.pmf(hits);
    // Counts equally likely must not be lost to rounding.
    let bound = seen * (1.0 + 1e-7);
    let p: f64 = (0..=cases)
        .map(|k| counts.pmf(k))
        .filter(|&chance| chance <= bound)
        .sum();
    Some(p.min(1.0))
}

/// Returns the least and greatest count that a band as good as claimed gives with at least 95 in 100, leaving at most
/// 2½ in 100 on either side.
#[must_use]
pub fn accepted_counts(cases: u64, claimed: f64) -> Option<(u64, u64)> {
    let counts = Binomial::new(claimed, cases).ok()?;
    let low = (0..=cases).find(|&k| counts.cdf(k) > 0.025)?;
    let high = (0..=cases).find(|&k| counts.cdf(k) >= 0.975)?;
    Some((low, high))
}

/// What can be said about bands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Too few cases to judge.
    TooFew,
    /// They held about as often as they claimed.
    AsClaimed,
    /// They held too seldom: too narrow, or in the wrong place.
    TooNarrow,
    /// They held too often: wider than they need be.
    TooWide,
}

/// How often bands held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coverage {
    /// Cases in which the band held.
    pub hits: u64,
    /// All cases.
    pub cases: u64,
    /// Share that the bands claim to hold.
    pub claimed: f64,
    /// Exact 95 % range of the share in the long run; none without cases.
    pub range: Option<ShareRange>,
    /// Counts that bands as good as claimed would give; none without cases.
    pub accepted: Option<(u64, u64)>,
    /// The judgement.
    pub verdict: Verdict,
}

impl Coverage {
    /// Judges `hits` of `cases` against the claimed share.
    #[must_use]
    pub fn judge(hits: u64, cases: u64, claimed: f64) -> Self {
        let accepted = (cases > 0)
            .then(|| accepted_counts(cases, claimed))
            .flatten();
        let verdict = match accepted {
            _ if cases < LEAST_CASES => Verdict::TooFew,
            Some((low, _)) if hits < low => Verdict::TooNarrow,
            Some((_, high)) if hits > high => Verdict::TooWide,
            Some(_) => Verdict::AsClaimed,
            None => Verdict::TooFew,
        };
        Self {
            hits,
            cases,
            claimed,
            range: exact_range(hits, cases, 0.05),
            accepted,
            verdict,
        }
    }

    /// Returns the share that held; none without cases.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        (self.cases > 0).then(|| self.hits as f64 / self.cases as f64)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    /// 13 of 20; values computed apart from this project, in Python with scipy.stats.
    #[test]
    fn ranges_of_13_in_20() {
        let exact = exact_range(13, 20, 0.05).unwrap();
        close(Some(exact.low), 0.407_811_465_467_171_84);
        close(Some(exact.high), 0.846_090_795_215_458_8);
        let wilson = wilson_range(13, 20, 0.05).unwrap();
        close(Some(wilson.low), 0.432_854_276_735_238_64);
        close(Some(wilson.high), 0.818_808_175_898_918);
        let jeffreys = jeffreys_range(13, 20, 0.05).unwrap();
        close(Some(jeffreys.low), 0.432_233_906_158_503_93);
        close(Some(jeffreys.high), 0.827_723_786_368_088);
        close(chance_of_at_most(13, 20, 0.8), 0.086_692_513_567_400_2);
        close(exact_test(13, 20, 0.8), 0.098_221_728_613_468_67);
    }

    /// Central 95 % counts of a binomial with chance 0.8, computed apart from this project, in Python with scipy.stats.
    #[test]
    fn accepted_counts_of_eight_in_ten() {
        for (cases, want) in [
            (10, (5, 10)),
            (20, (12, 19)),
            (30, (19, 28)),
            (50, (34, 45)),
            (100, (72, 88)),
        ] {
            assert_eq!(accepted_counts(cases, 0.8), Some(want), "{cases}");
        }
    }

    #[test]
    fn ends_of_the_scale() {
        let none = exact_range(0, 8, 0.05).unwrap();
        assert_eq!(none.low, 0.0);
        // 1 − 0.025^(1/8), by hand.
        close(Some(none.high), 1.0 - 0.025_f64.powf(0.125));
        assert_eq!(exact_range(8, 8, 0.05).unwrap().high, 1.0);
        assert_eq!(exact_range(0, 0, 0.05), None);
        assert_eq!(wilson_range(3, 2, 0.05), None);
        assert_eq!(Coverage::judge(0, 0, 0.8).share(), None);
        assert_eq!(Coverage::judge(0, 0, 0.8).verdict, Verdict::TooFew);
    }

    #[test]
    fn verdicts() {
        for (hits, cases, want) in [
            (17, 20, Verdict::AsClaimed),
            (11, 20, Verdict::TooNarrow),
            (20, 20, Verdict::TooWide),
            (19, 19, Verdict::TooFew),
        ] {
            assert_eq!(Coverage::judge(hits, cases, 0.8).verdict, want);
        }
    }
}
