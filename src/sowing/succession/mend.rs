//! Makes a plan that holds: tested a few days either way, and mended where the kitchen would have more to do than without it.

use super::flat::{self, EITHER_WAY};
use super::improve::{By, Choice, find};
use super::lived::{Lived, live};
use super::offer::{Chosen, Sowing};
use super::problem::Problem;
use super::response::{Reply, replies};
use super::search::Search;
use super::setup::{Setup, trial, with};
use crate::garden::bed::BedId;
use crate::garden::week::Week;
use crate::season::ensemble::Settings;
use crate::season::plan::compile;
use rayon::prelude::*;

/// Rounds of taking out what is not flat.
const FLAT_ROUNDS: usize = 4;
/// Rounds of sparing the kitchen.
const KITCHEN_ROUNDS: usize = 2;
/// What is left of the spare hours after each such round in the weeks that were too full, and how much dearer hours get.
const LESS_HOURS: f64 = 0.75;
const DEARER: f64 = 1.5;
/// Mean weeks over that are rounding, not work.
const SAME_WEEKS: f64 = 0.1;
/// Part of a sowing's length that is taken off at a time to spare the kitchen.
const SHRINK: f64 = 0.3;
/// Cuts after which whole sowings go.
const CUTS: usize = 14;
/// Choices tried when something is given back, and what one must save, kg.
const GIVEN_BACK: usize = 6;
const PAYS: f64 = 0.25;
/// Loss below which a cut costs nothing, kg.
const LEAST_LOST: f64 = 0.05;
/// Seasons lived through while the plan is mended; more cost time and tell no more.
pub(crate) const FEW: u32 = 1_000;

/// A plan with the prices and hours under which it was found.
pub(crate) struct Mended {
    pub(crate) chosen: Chosen,
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
    let mut chosen = Chosen::default();
    let mut lived = base.clone();
    for round in 0..KITCHEN_ROUNDS {
        if round > 0 {
            let rises = rises(setup, &lived, base);
            for (k, hours) in problem.spare_hours.iter_mut().enumerate() {
                let week = k % rises.len();
                // Food that comes in one week is often put by in the next.
                let near = &rises[week..(week + 2).min(rises.len())];
                if near.iter().any(|rise| *rise > 0.0) {
                    *hours *= LESS_HOURS;
                }
            }
            problem.prices.hour_over *= DEARER;
        }
        let search = searched(setup, &problem, Some((&alone, &chosen)), round == 0);
        let (found, known) = (search.chosen(), search.alone().to_vec());
        (chosen, alone) = (found, known);
        lived = live_with(setup, &chosen, &settings);
        if fits(&lived, base) {
            break;
        }
    }
    let known = alone.clone();
    cut_back(setup, base, lived, (&mut chosen, &mut alone));
    let chosen = given_back(setup, base, chosen, &known);
    Mended {
        chosen,
        problem,
        alone,
    }
}

/// Cuts rows back, or leaves them out, until the kitchen has no more to do than without the plan.
fn cut_back(
    setup: &Setup,
    base: &Lived,
    mut lived: Lived,
    (chosen, alone): (&mut Chosen, &mut [f64]),
) {
    let settings = at_most(&setup.settings, FEW);
    let mut cuts = 0;
    while !chosen.plan.is_empty() && !fits(&lived, base) {
        let rises = rises(setup, &lived, base);
        let field = setup.field(&setup.problem);
        let search = Search::again(field, chosen, alone);
        let plan = &mut chosen.plan;
        // What most relieves those weeks for the food that goes with it.
        let relief = |s: &Sowing| -> f64 {
            let offer = &setup.offers[s.offer];
            let per_unit: f64 = offer.responses.iter().map(|r| r.weighed(&rises)).sum();
            let less = f64::from(part(s.units));
            let lost = search.table().difference(&offer.changes(-less));
            per_unit * less / lost.max(LEAST_LOST)
        };
        let worst = (0..plan.len())
            .max_by(|&a, &b| {
                let (a_relief, b_relief) = (relief(&plan[a]), relief(&plan[b]));
                a_relief.total_cmp(&b_relief).then(b.cmp(&a))
            })
            .expect("the plan is not empty");
        let units = plan[worst].units;
        let less = part(units);
        // What was cut back is not to grow again elsewhere.
        alone[plan[worst].offer] = f64::NEG_INFINITY;
        if cuts < CUTS && less < units {
            plan[worst].units -= less;
        } else {
            plan.remove(worst);
        }
        cuts += 1;
        let mut left = Search::again(setup.field(&setup.problem), chosen, alone);
        left.let_stand();
        *chosen = left.chosen();
        lived = live_with(setup, chosen, &settings);
    }
}

/// Gives back what was cut too far: the sowing or the longer row that saves most, as long as the kitchen has no more to do.
fn given_back(setup: &Setup, base: &Lived, chosen: Chosen, alone: &[f64]) -> Chosen {
    let settings = at_most(&setup.settings, FEW);
    let mut search = Search::again(setup.field(&setup.problem), &chosen, alone);
    let mut closed = vec![false; setup.offers.len()];
    let mut tries = 0..GIVEN_BACK;
    loop {
        let better = choices(&search, &closed)
            .into_iter()
            .find_map(|(_, choice)| {
                tries.next()?;
                let mut other = search.clone();
                other.choose(choice);
                let tests = tested(setup, &other.plan);
                let flat = flat::steep(setup, alone, &other.plan, &tests).is_empty();
                let good = flat && fits(&live_with(setup, &other.chosen(), &settings), base);
                closed[offer_of(&search, choice)] = !good;
                good.then_some(other)
            });
        match better {
            Some(better) => search = better,
            None => break,
        }
    }
    search.chosen()
}

fn offer_of(search: &Search, choice: Choice) -> usize {
    match choice {
        Choice::Longer(at, _) => search.plan[at].offer,
        Choice::New(sowing) => sowing.offer,
    }
}

/// Longer rows and new sowings of offers that are not closed, those that save most first.
fn choices(search: &Search, closed: &[bool]) -> Vec<(f64, Choice)> {
    let rows = (0..search.plan.len()).into_par_iter();
    let longer = rows
        .filter(|&at| !closed[search.plan[at].offer])
        .filter_map(|at| search.longer(at, By::Saving));
    let new = (0..closed.len())
        .into_par_iter()
        .filter(|&o| !closed[o] && search.alone()[o] > PAYS)
        .filter_map(|o| search.new_sowing(o, By::Saving));
    let mut all: Vec<(f64, Choice)> = longer
        .chain(new)
        .filter(|(saves, _)| *saves > PAYS)
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all
}

/// Units that are taken off a sowing at a time.
fn part(units: u32) -> u32 {
    (SHRINK * f64::from(units)).ceil() as u32
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

/// Hours left in each week beside the plantings already there, season by season as the search has them.
pub(crate) fn spare(base: &Lived) -> Vec<f64> {
    base.left_hours.iter().map(|hours| hours.max(0.0)).collect()
}

/// Searches, on from a known plan if there is one, and takes out what is not flat a few days either way.
pub(crate) fn searched<'p>(
    setup: &'p Setup,
    problem: &'p Problem,
    known: Option<(&[f64], &Chosen)>,
    improve: bool,
) -> Search<'p> {
    let field = setup.field(problem);
    let mut search = match known {
        Some((alone, chosen)) => {
            let mut search = Search::again(field, chosen, alone);
            search.better();
            if improve {
                search.improve();
                search.clear_early();
            }
            search
        }
        None => find(field),
    };
    for _ in 0..FLAT_ROUNDS {
        let tested = tested(setup, &search.plan);
        let steep = flat::steep(setup, search.alone(), &search.plan, &tested);
        if steep.is_empty() {
            break;
        }
        search.forbid(&steep);
        search.better();
    }
    search.let_stand();
    search
}

/// Draws each sowing on its day and three days either way: what it gives, and what the other days give beside it.
pub(crate) fn tested(setup: &Setup, plan: &[Sowing]) -> Vec<(Reply, [Option<f64>; 2])> {
    let days = [0, -EITHER_WAY, EITHER_WAY];
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
            let moved = [-EITHER_WAY, EITHER_WAY].map(|d| {
                let other = new.next().unwrap_or_default();
                let ahead = candidate.moved(d).sown >= setup.from;
                ahead.then_some(other.useful_kg / reply.useful_kg.max(1e-9))
            });
            (reply, moved)
        })
        .collect()
}

/// Lives the garden through with a plan.
pub(crate) fn live_with(setup: &Setup, chosen: &Chosen, settings: &Settings) -> Lived {
    let rows = chosen.plan.iter().map(|s| {
        let candidate = setup.candidates[setup.of[s.offer]];
        let name = format!("{} {} {}", s.bed, candidate.crop.0, candidate.start());
        candidate.planting(name, BedId(s.bed), setup.unit * f64::from(s.units))
    });
    let mut garden = with(setup.garden, rows);
    for &removal in &chosen.removed {
        let removal = &setup.removals[removal];
        let day = setup.horizon.date(u16::try_from(removal.at).unwrap_or(0));
        garden.plantings[removal.planting].cleared = Some(day);
    }
    live(&garden, setup.from, settings, &setup.wants)
}
