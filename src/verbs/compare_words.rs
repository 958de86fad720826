//! Scores in plain words: how far it ran over, whether the bands held, whether it beat simple guesses.

use crate::learning::compare::{Scores, Skill};
use crate::learning::coverage::{Coverage, Verdict};
use crate::output::rounding;

/// Share below which a difference is not worth a word.
const ABOUT: f64 = 0.05;

/// Says how pickings ran against the forecast, without ever taking a share of nothing.
pub(super) fn ran(picked_kg: f64, forecast_kg: f64) -> String {
    // Less than an ounce is nothing to a household.
    const NOTHING_KG: f64 = 0.02;
    match (picked_kg >= NOTHING_KG, forecast_kg >= NOTHING_KG) {
        (false, false) => "nothing, as forecast".to_owned(),
        (true, false) => "not forecast".to_owned(),
        (false, true) => "nothing came".to_owned(),
        (true, true) => {
            let share = picked_kg / forecast_kg - 1.0;
            if share.abs() < ABOUT {
                "as forecast".to_owned()
            } else if share >= 1.0 {
                format!("{} times the forecast", rounding::decimals(share + 1.0, 1))
            } else if share > 0.0 {
                format!("{} % over", rounding::decimals(100.0 * share, 0))
            } else {
                format!("{} % short", rounding::decimals(-100.0 * share, 0))
            }
        }
    }
}

/// Says whether the bands held as often as they claim.
pub(super) fn bands(coverage: &Coverage) -> String {
    if coverage.cases == 0 {
        return "No band had a low end above nothing, so bands cannot be judged yet.".to_owned();
    }
    let count = format!("{} of {}", coverage.hits, coverage.cases);
    let judged = match coverage.verdict {
        Verdict::TooFew => format!("The 8-in-10 bands held in {count} weeks, too few to judge"),
        Verdict::AsClaimed => {
            format!("The bands were right about as often as they claimed: {count}")
        }
        Verdict::TooNarrow => {
            format!("The bands were right less often than the 8 in 10 they claimed: {count}")
        }
        Verdict::TooWide => {
            format!("The bands were right more often than the 8 in 10 they claimed: {count}")
        }
    };
    match coverage.range {
        Some(range) => format!(
            "{judged}; so many can come about when the true share is anywhere from {} to {} in 100.",
            rounding::decimals(100.0 * range.low, 0),
            rounding::decimals(100.0 * range.high, 0)
        ),
        None => format!("{judged}."),
    }
}

/// Says whether the forecast came closer than two guesses that need no model.
pub(super) fn skills(scores: &Scores) -> Vec<String> {
    let say = |skill: Option<Skill>, other: &str| match skill {
        None => format!("No week could be set beside {other}."),
        Some(Skill { skill, weeks }) => {
            let weeks = rounding::counted(weeks, "week", "weeks");
            let percent = rounding::decimals(100.0 * skill.abs(), 0);
            if skill.abs() < ABOUT {
                format!("About as close as {other} ({weeks}).")
            } else if skill > 0.0 {
                format!("{percent} % closer than {other} ({weeks}).")
            } else if skill > -1.0 {
                format!("{percent} % further off than {other} ({weeks}).")
            } else {
                let times = rounding::decimals(1.0 - skill, 1);
                format!("{times} times as far off as {other} ({weeks}).")
            }
        }
    };
    vec![
        say(scores.skill_last_season, "last season's same week"),
        say(
            scores.skill_even,
            "the usual yield spread evenly over the days on the seed packet",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_share_of_nothing() {
        for (picked, forecast, want) in [
            (0.0, 0.0, "nothing, as forecast"),
            (1.0, 0.0, "not forecast"),
            (0.0, 1.0, "nothing came"),
            (1.02, 1.0, "as forecast"),
            (1.2, 1.0, "20 % over"),
            (0.7, 1.0, "30 % short"),
            (3.0, 1.0, "3.0 times the forecast"),
        ] {
            assert_eq!(ran(picked, forecast), want);
        }
    }

    #[test]
    fn bands_are_judged_only_when_there_are_enough() {
        let say = |hits, cases| bands(&Coverage::judge(hits, cases, 0.8));
        assert!(say(17, 20).contains("about as often as they claimed: 17 of 20; "));
        assert!(say(11, 20).contains("less often"));
        assert!(say(20, 20).contains("more often"));
        assert!(say(5, 7).contains("too few to judge"));
        assert!(say(0, 0).contains("cannot be judged"));
    }
}
