//! Makes a plan that holds: tested a few days either way, and mended where the kitchen would have more to do than without it.

use super::lived::{Lived, live};
use super::offer::{Field, Sowing};
use super::problem::Problem;
use super::response::{Reply, replies};
use super::search::{Search, find};
use super::setup::{FLAT, Setup, trial, with};
use crate::garden::bed::BedId;
use crate::garden::week::Week;
use crate::season::ensemble::Settings;
use crate::season::plan::compile;

/// Days either way that are tested.
const DAYS_EITHER_WAY: i64 = 3;
/// Rounds of taking out what is not flat.
const FLAT_ROUNDS: usize = 4;
/// Rounds of sparing the kitchen.
const KITCHEN_ROUNDS: usize = 3;
/// Mean weeks over that are rounding, not work.
const SAME_WEEKS: f64 = 0.1;
/// Part of a sowing's length that is taken off at a time to spare the kitchen.
const SHRINK: f64 = 0.3;
/// Cuts after which whole sowings go.
const CUTS: usize = 10;
/// Seasons lived through while the plan is mended; more cost time and tell no more.
pub(crate) const FEW: u32 = 1_000;

/// A plan with the prices and hours under which it was found.
pub(crate) struct Mended {
    pub(crate) plan: Vec<Sowing>,
    pub(crate) problem: Problem,
    /// What each offer would save alone; those not to be used are marked.
    pub(crate) alone: Vec<f64>,
}

/// Returns the settings with no more than so many draws.
pub(crate) fn at_most(settings: &Settings, draws: u32) -> Settings {
    Settings {
        draws: settings.draws.min(draws),
        ..*settings
    }
}

/// Searches with the hours that are left, again with fewer where the plan would overload a week; at last what adds most to
/// such weeks is left out, sowing by sowing.
pub(crate) fn spared(setup: &Setup, base: &Lived, alone: &[f64]) -> Mended {
    let settings = at_most(&setup.settings, FEW);
    let mut problem = setup.problem.clone();
    let mut alone = alone.to_vec();
    let mut plan = Vec::new();
    let mut lived = base.clone();
    for round in 0..KITCHEN_ROUNDS {
        if round > 0 {
            let rises = rises(setup, &lived, base);
            for (k, hours) in problem.spare_hours.iter_mut().enumerate() {
                // Food that comes in one week is often put by in the next.
                let near = &rises[k..(k + 2).min(rises.len())];
                if near.iter().any(|rise| *rise > 0.0) {
                    *hours = 0.0;
                }
            }
            problem.prices.hour_over *= 2.0;
        }
        let search = searched(setup, &problem, Some((&alone, &plan)));
        let (found, known) = (search.plan.clone(), search.alone().to_vec());
        (plan, alone) = (found, known);
        lived = live_with(setup, &plan, &settings);
        if fits(&lived, base) {
            return Mended {
                plan,
                problem,
                alone,
            };
        }
    }
    let mut cuts = 0;
    while !plan.is_empty() && !fits(&lived, base) {
        let rises = rises(setup, &lived, base);
        let adds = |s: &Sowing| -> f64 {
            let responses = &setup.offers[s.offer].responses;
            let per_unit: f64 = responses.iter().map(|r| r.weighed(&rises)).sum();
            per_unit * f64::from(s.units)
        };
        let worst = (0..plan.len())
            .max_by(|&a, &b| adds(&plan[a]).total_cmp(&adds(&plan[b])).then(b.cmp(&a)))
            .expect("the plan is not empty");
        let units = plan[worst].units;
        let less = (SHRINK * f64::from(units)).ceil() as u32;
        // What was cut back is not to grow again elsewhere.
        alone[plan[worst].offer] = f64::NEG_INFINITY;
        if cuts < CUTS && less < units {
            plan[worst].units -= less;
        } else {
            plan.remove(worst);
        }
        cuts += 1;
        lived = live_with(setup, &plan, &settings);
    }
    Mended {
        plan,
        problem,
        alone,
    }
}

/// Says whether the kitchen has no more weeks of too much work than without the plan.
fn fits(lived: &Lived, base: &Lived) -> bool {
    lived.weeks_over() <= base.weeks_over() + SAME_WEEKS
        && lived.likely_over() <= base.likely_over()
}

/// How much more often each week is too much than without the plan.
fn rises(setup: &Setup, lived: &Lived, base: &Lived) -> Vec<f64> {
    let mut rises = vec![0.0; setup.span.weeks];
    let first = Week::of(setup.from);
    for week in &lived.kitchen.weeks {
        let before = base.kitchen.weeks.iter().find(|w| w.week == week.week);
        let rise = week.chance_over - before.map_or(0.0, |w| w.chance_over);
        if rise > 0.01
            && let Ok(k) = usize::try_from(week.week.since(first))
            && k < rises.len()
        {
            rises[k] = rise;
        }
    }
    rises
}

/// Hours left in each week, mean over the seasons, beside the plantings already there.
pub(crate) fn spare(setup: &Setup, base: &Lived) -> Vec<f64> {
    let first = Week::of(setup.from);
    let mut spare = vec![0.0; setup.span.weeks];
    for week in &base.kitchen.weeks {
        if let Ok(k) = usize::try_from(week.week.since(first))
            && k < spare.len()
        {
            spare[k] = (week.capacity_hours - week.hours.mean).max(0.0);
        }
    }
    spare
}

/// Searches, and takes out what is not flat a few days either way.
pub(crate) fn searched<'p>(
    setup: &'p Setup,
    problem: &'p Problem,
    known: Option<(&[f64], &[Sowing])>,
) -> Search<'p> {
    let field = Field {
        problem,
        offers: &setup.offers,
        beds: &setup.beds,
        limits: &setup.limits,
    };
    let mut search = match known {
        Some((alone, plan)) => {
            let mut search = Search::again(field, plan, alone);
            search.better();
            search
        }
        None => find(field),
    };
    for _ in 0..FLAT_ROUNDS {
        let tested = tested(setup, &search.plan);
        let steep: Vec<usize> = search
            .plan
            .iter()
            .zip(&tested)
            .filter(|(_, (_, moved))| moved.iter().flatten().any(|share| *share < 1.0 - FLAT))
            .map(|(sowing, _)| sowing.offer)
            .collect();
        if steep.is_empty() {
            break;
        }
        search.forbid(&steep);
        search.better();
    }
    search
}

/// Draws each sowing on its day and three days either way: what it gives, and what the other days give beside it.
pub(crate) fn tested(setup: &Setup, plan: &[Sowing]) -> Vec<(Reply, [Option<f64>; 2])> {
    let days = [0, -DAYS_EITHER_WAY, DAYS_EITHER_WAY];
    let garden = with(
        setup.garden,
        plan.iter().flat_map(|s| {
            let candidate = setup.candidates[setup.of[s.offer]];
            days.map(|d| trial(setup.garden, &setup.kinds, &candidate.moved(d), setup.unit))
        }),
    );
    let season = compile(&garden, setup.from);
    let known = setup.garden.plantings.len();
    let wanted: Vec<bool> = (0..garden.plantings.len()).map(|k| k >= known).collect();
    let mut all = replies(&garden, &season, &setup.settings, &setup.span, &wanted);
    let mut new = all.split_off(known).into_iter();
    plan.iter()
        .map(|s| {
            let candidate = setup.candidates[setup.of[s.offer]];
            let reply = new.next().unwrap_or_default();
            let moved = [-DAYS_EITHER_WAY, DAYS_EITHER_WAY].map(|d| {
                let other = new.next().unwrap_or_default();
                let ahead = candidate.moved(d).sown >= setup.from;
                ahead.then_some(other.useful_kg / reply.useful_kg.max(1e-9))
            });
            (reply, moved)
        })
        .collect()
}

/// Lives the garden through with a plan.
pub(crate) fn live_with(setup: &Setup, plan: &[Sowing], settings: &Settings) -> Lived {
    let rows = plan.iter().map(|s| {
        let candidate = setup.candidates[setup.of[s.offer]];
        let name = format!("{} {} {}", s.bed, candidate.crop.0, candidate.start());
        candidate.planting(name, BedId(s.bed), setup.unit * f64::from(s.units))
    });
    let garden = with(setup.garden, rows);
    live(&garden, setup.from, settings, &setup.wants)
}
