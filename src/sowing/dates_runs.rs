//! Runs of good dates in a row of dates tried, and the best and the last of them.
//!
//! Chances need not fall from date to date, so that spring and fall make two runs.

use super::dates::Tried;
use super::dates_search::STEP;
use chrono::NaiveDate;

/// Share of the best expected harvest from which a date counts as best.
const NEAR_BEST: f64 = 0.95;

/// Runs of dates, as places in the list, on which at least half a harvest has the chance; where there are none, runs
/// of baby leaves.
pub(super) fn runs(tried: &[Tried], chance: f64) -> Vec<std::ops::Range<usize>> {
    let half = runs_of(tried, |t| t.half >= chance);
    if half.is_empty() {
        runs_of(tried, |t| t.baby.is_some_and(|baby| baby >= chance))
    } else {
        half
    }
}

fn runs_of(tried: &[Tried], good: impl Fn(&Tried) -> bool) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    for (k, now) in tried.iter().enumerate().filter(|(_, t)| good(t)) {
        match found.last_mut() {
            // A gap of a step or two is chance, or a day between the coarse ones that was not tried.
            Some(run) if (now.date - tried[run.end - 1].date).num_days() <= 2 * STEP as i64 => {
                run.end = k + 1;
            }
            _ => found.push(k..k + 1),
        }
    }
    found
}

pub(super) fn last_in(tried: &[Tried], good: impl Fn(&Tried) -> bool) -> Option<&Tried> {
    tried.iter().rev().find(|t| good(t))
}

/// Last date of baby leaves without a gap from the first.
pub(super) fn last_baby(tried: &[Tried], chance: f64) -> Option<&Tried> {
    let run = runs_of(tried, |t| t.baby.is_some_and(|baby| baby >= chance))
        .into_iter()
        .next()?;
    tried.get(run.end - 1)
}

/// First and last date about the best whose expected harvest is near it.
pub(super) fn best(tried: &[Tried]) -> Option<(NaiveDate, NaiveDate)> {
    let (top, most) = tried
        .iter()
        .enumerate()
        .reduce(|a, b| if b.1.kg_per_m > a.1.kg_per_m { b } else { a })?;
    let near = |t: &&Tried| t.kg_per_m >= NEAR_BEST * most.kg_per_m;
    let from = tried[..=top].iter().rev().take_while(near).last()?;
    let until = tried[top..].iter().take_while(near).last()?;
    Some((from.date, until.date))
}
