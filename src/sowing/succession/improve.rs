//! Betters a plan by moving several sowings at once: part of one or two of them is taken back and the ground is given out
//! again, to longer rows of what is sown already or to other sowings.
//!
//! One such step is a row moved from one sowing to another, a sowing split in two, two made one, or a pair exchanged for
//! another pair. What is given out is what saves most, or what saves most for the ground it takes: both are tried and the
//! better kept. Counts stop it, never the clock.

use super::offer::{Chosen, Field, Sowing};
use super::search::{LEAST, Search, find_greedy};
use rayon::prelude::*;

/// Most offers that are thought of when ground is given out again.
const POOL: usize = 24;
/// Days within which another sowing of the same crop is near.
const NEAR_DAYS: i32 = 28;
/// Most choices made in one step.
const MOST_CHOICES: usize = 6;
/// Weeks of drawn seasons that looks at offers and rows may take in all; then bettering stops.
const WORK: usize = 6_000_000;
/// Offers times sowings up to which a plan is begun in several ways.
const SEVERAL_WAYS: usize = 20_000;

/// By what the next choice is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    /// What it saves.
    Saving,
    /// What it saves for each square metre and day.
    Ground,
}

/// A way to give out ground.
#[derive(Debug, Clone, Copy)]
pub(super) enum Choice {
    /// A longer row of a sowing.
    Longer(usize, u32),
    /// A new sowing.
    New(Sowing),
}

/// Finds a succession: begun in several ways, each bettered, the best kept.
pub(crate) fn find(field: Field<'_>) -> Search<'_> {
    let mut best = find_greedy(field);
    if field.choices() <= SEVERAL_WAYS {
        let mut other = Search::again(field, &Chosen::default(), best.alone());
        let pool: Vec<usize> = (0..field.offers.len()).collect();
        let mut looks = usize::MAX;
        other.fill(&pool, By::Ground, usize::MAX, &mut looks);
        other.better();
        other.improve();
        best.improve();
        if other.cost() < best.cost() - LEAST {
            best = other;
        }
    } else {
        best.improve();
    }
    best.clear_early();
    best
}

impl Field<'_> {
    /// Returns offers times sowings: how much there is to choose from.
    pub(super) fn choices(&self) -> usize {
        let sowings = self.limits.sowings.min(self.offers.len());
        self.offers.len().saturating_mul(sowings)
    }
}

impl Search<'_> {
    /// Betters the plan until no step helps.
    pub(crate) fn improve(&mut self) {
        let problem = self.field().problem;
        let mut looks = WORK / (problem.seasons * problem.weeks).max(1);
        loop {
            let before = self.cost();
            for at in (0..self.plan.len()).rev() {
                if at < self.plan.len() {
                    let units = self.plan[at].units;
                    let mut parts = vec![1, 2, units / 2, units];
                    parts.dedup();
                    for part in parts {
                        if at < self.plan.len() && (1..=self.plan[at].units).contains(&part) {
                            self.step(&[(at, part)], &mut looks);
                        }
                    }
                }
            }
            for b in (1..self.plan.len()).rev() {
                for a in (0..b).rev() {
                    for whole in [false, true] {
                        if b < self.plan.len() && looks > 0 {
                            let part = |at: usize| if whole { self.plan[at].units } else { 1 };
                            let cuts = [(b, part(b)), (a, part(a))];
                            self.step(&cuts, &mut looks);
                        }
                    }
                }
            }
            if before - self.cost() < LEAST || looks == 0 {
                break;
            }
        }
    }

    /// Takes parts of some sowings back, the later in the plan first, and gives the ground out again if that is better.
    fn step(&mut self, cuts: &[(usize, u32)], looks: &mut usize) {
        if *looks == 0 {
            return;
        }
        let pool = self.pool(cuts);
        let mut least = self.cost() - LEAST;
        let mut best = None;
        for by in [By::Saving, By::Ground] {
            let mut other = self.clone();
            for &(at, units) in cuts {
                let left = other.plan[at].units - units;
                if left == 0 {
                    other.take_out(at);
                } else {
                    other.resize(at, left);
                }
            }
            other.fill(&pool, by, MOST_CHOICES, looks);
            if other.cost() < least {
                least = other.cost() - LEAST;
                best = Some(other);
            }
        }
        if let Some(best) = best {
            *self = best;
        }
    }

    /// Offers that may take the place of what is taken back: those near it first, then what saves most alone.
    fn pool(&self, cuts: &[(usize, u32)]) -> Vec<usize> {
        let offers = self.field().offers;
        let alone = self.alone();
        let near = |o: usize| {
            cuts.iter().any(|&(at, _)| {
                let old = &offers[self.plan[at].offer];
                offers[o].crop == old.crop && (offers[o].from - old.from).abs() <= NEAR_DAYS
            })
        };
        let mut pool: Vec<usize> = (0..offers.len())
            .filter(|&o| alone[o] > f64::NEG_INFINITY)
            .collect();
        pool.sort_by(|&a, &b| {
            near(b)
                .cmp(&near(a))
                .then(alone[b].total_cmp(&alone[a]))
                .then(a.cmp(&b))
        });
        // Half of them near, half of them good.
        let nearby = pool.iter().filter(|&&o| near(o)).count();
        if pool.len() > POOL && nearby > POOL / 2 {
            pool.drain(POOL / 2..nearby);
        }
        pool.truncate(POOL);
        pool
    }

    /// Gives ground out, choice by choice, until nothing saves.
    fn fill(&mut self, pool: &[usize], by: By, most: usize, looks: &mut usize) {
        for _ in 0..most {
            *looks = looks.saturating_sub(pool.len() + self.plan.len());
            let longer = (0..self.plan.len())
                .into_par_iter()
                .filter_map(|at| self.longer(at, by))
                .collect::<Vec<_>>();
            let new = pool
                .par_iter()
                .filter_map(|&o| self.new_sowing(o, by))
                .collect::<Vec<_>>();
            let mut best: Option<(f64, Choice)> = None;
            for (score, choice) in longer.into_iter().chain(new) {
                if best.is_none_or(|b| score > b.0 + LEAST) {
                    best = Some((score, choice));
                }
            }
            match best {
                Some((_, choice)) => self.choose(choice),
                None => break,
            }
        }
    }

    /// Makes a choice.
    pub(super) fn choose(&mut self, choice: Choice) {
        match choice {
            Choice::Longer(at, units) => self.resize(at, units),
            Choice::New(sowing) => self.sow(sowing),
        }
    }

    /// A longer row of a sowing, with what speaks for it.
    pub(super) fn longer(&self, at: usize, by: By) -> Option<(f64, Choice)> {
        let s = self.plan[at];
        let room = self.units_more(at);
        let score = |more: u32| {
            let saves = self.saves(s.offer, more) + self.field().problem.prices.sowing;
            (saves > LEAST).then(|| self.score(s.offer, more, saves, by))
        };
        let mut best: Option<(f64, u32)> = None;
        let mut more = 1;
        while more <= room {
            match score(more) {
                Some(found) if best.is_none_or(|b| found > b.0 + LEAST) => {
                    best = Some((found, more));
                }
                _ => break,
            }
            if by == By::Ground {
                break;
            }
            more += 1;
        }
        best.map(|(score, more)| (score, Choice::Longer(at, s.units + more)))
    }

    /// A new sowing of an offer, with what speaks for it.
    pub(super) fn new_sowing(&self, offer: usize, by: By) -> Option<(f64, Choice)> {
        let (saves, units) = self.best(offer)?;
        let choices = match by {
            By::Saving => vec![(saves, units)],
            By::Ground => [units, units.div_ceil(2), 2, 1]
                .into_iter()
                .filter(|n| *n <= units)
                .map(|n| (self.saves(offer, n), n))
                .collect(),
        };
        let mut best: Option<(f64, u32)> = None;
        for (saves, n) in choices {
            let score = self.score(offer, n, saves, by);
            if saves > LEAST && best.is_none_or(|b| score > b.0 + LEAST) {
                best = Some((score, n));
            }
        }
        let (score, units) = best?;
        let bed = self.bed_for(offer, units)?;
        Some((score, Choice::New(Sowing { offer, bed, units })))
    }

    fn score(&self, offer: usize, units: u32, saves: f64, by: By) -> f64 {
        let o = &self.field().offers[offer];
        match by {
            By::Saving => saves,
            By::Ground => {
                let days = f64::from((o.until - o.from).max(1));
                saves / (f64::from(units) * o.m2.max(1e-6) * days)
            }
        }
    }
}
