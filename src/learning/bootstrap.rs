//! How sure a skill is, by drawing whole seasons again.
//!
//! Never single weeks: the weeks of one season share its weather. All combinations are gone through up to six seasons,
//! beyond that a seeded sample. Source: Efron and Tibshirani 1993, *An Introduction to the Bootstrap* (whole blocks).

use super::accuracy::skill;
use super::chance::stream;

/// Most seasons whose combinations (six to the sixth: 46,656) are all gone through.
const EXACT_UP_TO: usize = 6;
/// Combinations drawn when there are more seasons.
const SAMPLED: usize = 20_000;

/// Sums of a score and of its reference's over one season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonSums {
    /// The forecast's score, summed over the season.
    pub score: f64,
    /// The reference's score over the same weeks.
    pub reference: f64,
}

/// A skill with what whole seasons drawn again make of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkillRange {
    /// Skill over all seasons together.
    pub skill: f64,
    /// Least of all combinations.
    pub least: f64,
    /// One in ten combinations is at or below it.
    pub p10: f64,
    /// Middle combination.
    pub median: f64,
    /// One in ten combinations is at or above it.
    pub p90: f64,
    /// Greatest of all combinations.
    pub greatest: f64,
    /// Number of combinations.
    pub combinations: usize,
}

/// Returns the skill over all seasons and its range; none without seasons or when the reference made no error.
#[must_use]
pub fn skill_range(seasons: &[SeasonSums], seed: u64) -> Option<SkillRange> {
    let n = seasons.len();
    let of = |sum: SeasonSums| skill(sum.score, sum.reference);
    let whole = of(total(seasons.iter()))?;
    let mut skills: Vec<f64> = if n <= EXACT_UP_TO {
        (0..n.pow(u32::try_from(n).ok()?))
            .filter_map(|code| {
                // The digits of the code in base n say which seasons are taken.
                let digit = |place: u32| code / n.pow(place) % n;
                of(total((0..n as u32).map(|place| &seasons[digit(place)])))
            })
            .collect()
    } else {
        let mut numbers = stream(seed, "whole seasons");
        (0..SAMPLED)
            .filter_map(|_| of(total((0..n).map(|_| &seasons[numbers.below(n)]))))
            .collect()
    };
    skills.sort_unstable_by(f64::total_cmp);
    let at = |fraction| crate::learning::quantile_of_sorted(&skills, fraction);
    Some(SkillRange {
        skill: whole,
        least: at(0.0)?,
        p10: at(0.1)?,
        median: at(0.5)?,
        p90: at(0.9)?,
        greatest: at(1.0)?,
        combinations: skills.len(),
    })
}

/// Adds seasons up.
fn total<'a>(seasons: impl Iterator<Item = &'a SeasonSums>) -> SeasonSums {
    seasons.fold(
        SeasonSums {
            score: 0.0,
            reference: 0.0,
        },
        |sum, s| SeasonSums {
            score: sum.score + s.score,
            reference: sum.reference + s.reference,
        },
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    fn season(score: f64, reference: f64) -> SeasonSums {
        SeasonSums { score, reference }
    }

    /// Three made-up seasons, all 27 combinations; least, middle and greatest by hand and by Python's itertools.
    #[test]
    fn all_combinations_of_three_seasons() {
        let got = skill_range(
            &[season(1.15, 1.30), season(0.75, 1.10), season(0.95, 1.35)],
            1,
        )
        .unwrap();
        assert_eq!(got.combinations, 27);
        close(Some(got.skill), 0.24);
        close(Some(got.least), 0.115_384_615_384_615_53);
        close(Some(got.median), 0.24);
        close(Some(got.greatest), 0.318_181_818_181_818_23);
    }

    #[test]
    fn many_seasons_are_sampled_and_repeatable() {
        let seasons: Vec<SeasonSums> = (0..8)
            .map(|i| season(1.0 + f64::from(i) * 0.1, 2.0))
            .collect();
        let got = skill_range(&seasons, 3).unwrap();
        assert_eq!(Some(got), skill_range(&seasons, 3));
        close(Some(got.skill), 1.0 - 1.35 / 2.0);
        assert!(got.least <= got.p10 && got.p10 < got.median && got.median < got.p90);
        // Standard deviation of the mean of eight: 0.229 / √8 / 2 = 0.0405; 1.28 of it above the middle.
        assert!((got.p90 - got.median - 0.052).abs() < 0.004, "{got:?}");
    }

    #[test]
    fn a_reference_without_error_gives_nothing() {
        assert_eq!(skill_range(&[season(1.0, 0.0)], 1), None);
        assert_eq!(skill_range(&[], 1), None);
    }
}
