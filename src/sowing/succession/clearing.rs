//! Standing plantings that could be cleared before their time: what is lost of each, and what comes in its place.

use super::candidates::sows_on;
use super::ground::Ground;
use super::offer::{Field, Removal};
use super::problem::Response;
use super::response::{Reply, replies};
use super::search::Search;
use super::setup::{Setup, with};
use crate::garden::crop::CropId;
use crate::garden::planting::{Planting, PlantingId};
use crate::garden::units::Length;
use crate::season::plan::compile;
use chrono::NaiveDate;
use rayon::prelude::*;

/// Days between clearing days that are tried, at least.
const EVERY_DAYS: i64 = 7;
/// Clearing days tried for one planting at most.
const TRIED: usize = 8;
/// Days that a planting must still stand for clearing it to gain anything.
const GAINS_DAYS: i64 = 14;
/// What clearing a standing planting must save at least, kg of fresh food (judgement: it grows already).
const PRICE: f64 = 1.0;
/// Most suggestions beside a plan.
const SHOWN: usize = 4;

/// A sowing that comes in the place of what was cleared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Follows {
    /// The crop.
    pub crop: CropId,
    /// Day of sowing or setting out.
    pub start: NaiveDate,
    /// Length of row.
    pub row: Length,
    /// What it brings, mean kg.
    pub kg: f64,
}

/// A planting cleared early, with what follows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearing {
    /// What is cleared.
    pub planting: PlantingId,
    /// When.
    pub day: NaiveDate,
    /// What is lost of it, mean kg.
    pub lost_kg: f64,
    /// What comes in its place; never empty.
    pub follows: Vec<Follows>,
    /// What it saves in all, kg of fresh food missed; negative if it costs.
    pub saves_kg: f64,
}

impl Clearing {
    /// Returns what comes in its place, mean kg.
    #[must_use]
    pub fn gained_kg(&self) -> f64 {
        self.follows.iter().map(|f| f.kg).sum()
    }
}

/// Says whether a bed has room for anything on some day looked at.
pub(crate) fn any_room(setup: &Setup, bed: &Ground) -> bool {
    setup.offers.iter().any(|o| {
        o.kind == bed.kind && bed.room(o.from, o.until) >= o.m2 && bed.welcomes(&o.stay(1))
    })
}

/// Returns the clearings that could be, and what each leaves of its planting.
pub(crate) fn removals(setup: &Setup) -> (Vec<Removal>, Vec<Reply>) {
    let options = options(setup);
    let known = setup.garden.plantings.len();
    let garden = with(
        setup.garden,
        options.iter().map(|(id, day)| Planting {
            // The same planting has the same luck.
            cleared: Some(*day),
            ..setup.garden.planting(*id).clone()
        }),
    );
    let plan = compile(&garden, setup.from);
    let wanted: Vec<bool> = (0..garden.plantings.len()).map(|k| k >= known).collect();
    let mut all = replies(&garden, &plan, &setup.settings, &setup.span, &wanted);
    let cut = all.split_off(known);
    let removals = options.iter().zip(&cut);
    let removals = removals.map(|((id, day), cut)| removal(setup, *id, *day, cut));
    (removals.collect(), cut)
}

fn removal(setup: &Setup, id: PlantingId, day: NaiveDate, cut: &Reply) -> Removal {
    let bed = setup.garden.planting(id).bed;
    let before = setup.garden.plantings[..id.0].iter();
    let there = &setup.there[id.0].table;
    // Food that would go into store without having been asked for is missed too.
    let stored = |r: &&Response| {
        let problem = &setup.problem;
        let mut routes = problem.sources[r.source].routes.iter();
        r.span > 0 && routes.any(|route| !problem.goals[route.goal].counts)
    };
    let all = |table: &[Response; 2]| -> f64 {
        let kg = table.iter().filter(stored).flat_map(|r| &r.kg).sum::<f64>();
        kg / setup.problem.seasons.max(1) as f64
    };
    let mut left = cut.table.clone();
    for (left, there) in left.iter_mut().zip(there) {
        left.source = there.source;
    }
    let lost = (all(there) - all(&left)).max(0.0);
    Removal {
        price: PRICE + setup.problem.prices.goal * lost,
        planting: id.0,
        bed: bed.0,
        stay: before.filter(|p| p.bed == bed).count(),
        at: setup.horizon.index(day),
        responses: there
            .iter()
            .zip(&cut.table)
            .filter(|(old, new)| old.span + new.span > 0)
            .map(|(old, new)| less(old, new, setup.problem.seasons))
            .collect(),
    }
}

/// What comes to the table of the new instead of the old.
fn less(old: &Response, new: &Response, seasons: usize) -> Response {
    let both = || {
        [(old, -1.0), (new, 1.0)]
            .into_iter()
            .filter(|(r, _)| r.span > 0)
    };
    let first = both().map(|(r, _)| r.first).min().unwrap_or(0);
    let end = both().map(|(r, _)| r.first + r.span).max().unwrap_or(0);
    let span = end - first;
    let mut kg = vec![0.0; span * seasons];
    for (r, sign) in both() {
        for season in 0..seasons {
            let at = season * span + r.first - first;
            for (into, kg) in kg[at..at + r.span].iter_mut().zip(r.of(season)) {
                *into += sign * kg;
            }
        }
    }
    Response {
        source: old.source,
        first,
        span,
        kg,
    }
}

/// Plantings in the ground with days on which they could go: sowing days, some days apart.
fn options(setup: &Setup) -> Vec<(PlantingId, NaiveDate)> {
    let mut options = Vec::new();
    for (k, planting) in setup.garden.plantings.iter().enumerate() {
        let free = setup.there[k].free_p90;
        if planting.start() > setup.from || free == 0 {
            continue;
        }
        let leaves = planting
            .cleared
            .unwrap_or(setup.horizon.date(free))
            .min(setup.until);
        let days = setup
            .from
            .iter_days()
            .take_while(|d| (leaves - *d).num_days() >= GAINS_DAYS)
            .filter(|d| sows_on(setup.garden, *d));
        let mut last: Option<NaiveDate> = None;
        let apart = days.filter(|d| {
            let far = last.is_none_or(|last| (*d - last).num_days() >= EVERY_DAYS);
            if far {
                last = Some(*d);
            }
            far
        });
        options.extend(apart.take(TRIED).map(|d| (PlantingId(k), d)));
    }
    options
}

/// Returns what a plan clears early.
pub(crate) fn cleared(setup: &Setup, search: &Search) -> Vec<Clearing> {
    let mut found: Vec<Clearing> = search
        .removed
        .iter()
        .map(|&r| {
            let removal = &setup.removals[r];
            let stood_until = setup.beds[removal.bed].stays[removal.stay].until;
            let follows = search.plan.iter().filter(|s| {
                let from = setup.offers[s.offer].from;
                s.bed == removal.bed && (removal.at..stood_until).contains(&from)
            });
            let follows: Vec<Follows> = follows.map(|s| follow(setup, s.offer, s.units)).collect();
            Clearing {
                follows,
                saves_kg: search.worth_clearing(r),
                ..clearing(setup, r)
            }
        })
        .collect();
    found.sort_by_key(|c| (c.day, c.planting));
    found
}

/// Returns the clearings beyond a plan that are worth a word, the best first; each planting once.
pub(crate) fn clearings(setup: &Setup, search: &Search) -> Vec<Clearing> {
    let field = Field {
        removals: &setup.removals,
        ..search.field()
    };
    let search = &Search::again(field, &search.chosen(), search.alone());
    let mut found: Vec<Clearing> = (0..setup.removals.len())
        .into_par_iter()
        .filter_map(|r| {
            search.hope(r).map(|hope| Clearing {
                follows: vec![follow(setup, hope.offer, hope.units)],
                saves_kg: hope.saves,
                ..clearing(setup, r)
            })
        })
        .collect();
    found.sort_by(|a, b| {
        b.saves_kg
            .total_cmp(&a.saves_kg)
            .then(a.planting.cmp(&b.planting))
            .then(a.day.cmp(&b.day))
    });
    let mut seen: Vec<PlantingId> = Vec::new();
    found.retain(|c| {
        let new = !seen.contains(&c.planting);
        seen.push(c.planting);
        new
    });
    found.truncate(SHOWN);
    found
}

fn clearing(setup: &Setup, removal: usize) -> Clearing {
    let r = &setup.removals[removal];
    let (there, cut) = (&setup.there[r.planting], &setup.cut[removal]);
    Clearing {
        planting: PlantingId(r.planting),
        day: setup.horizon.date(u16::try_from(r.at).unwrap_or(0)),
        lost_kg: (there.useful_kg - cut.useful_kg).max(0.0),
        follows: Vec::new(),
        saves_kg: 0.0,
    }
}

fn follow(setup: &Setup, offer: usize, units: u32) -> Follows {
    let at = setup.of[offer];
    Follows {
        crop: setup.candidates[at].crop,
        start: setup.candidates[at].start(),
        row: setup.unit * f64::from(units),
        kg: setup.replies[at].useful_kg * f64::from(units),
    }
}
