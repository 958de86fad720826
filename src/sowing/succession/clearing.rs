//! What clearing a planting early would bring: what is lost of it, and what may be sown in its place.

use super::ground::Ground;
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

/// Days between clearing days that are tried.
const EVERY_DAYS: i64 = 10;
/// Clearing days tried for one planting at most.
const TRIED: usize = 8;
/// Days that a planting must still stand for clearing it to gain anything.
const GAINS_DAYS: i64 = 14;
/// Days after clearing within which the ground is sown again.
const SOWN_WITHIN: i32 = 14;
/// Most proposals.
const SHOWN: usize = 4;

/// A planting cleared early, with what follows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearing {
    /// What is cleared.
    pub planting: PlantingId,
    /// When.
    pub day: NaiveDate,
    /// What is lost of it, mean kg.
    pub lost_kg: f64,
    /// What is sown in its place, when, and how much row.
    pub crop: CropId,
    /// Day of sowing or setting out.
    pub start: NaiveDate,
    /// Length of row.
    pub row: Length,
    /// What that brings, mean kg.
    pub gained_kg: f64,
    /// What it saves in all, kg of fresh food missed; negative if it costs.
    pub saves_kg: f64,
}

/// Says whether a bed has room for anything on some day looked at.
pub(crate) fn any_room(setup: &Setup, bed: &Ground) -> bool {
    setup.offers.iter().any(|o| {
        o.kind == bed.kind && bed.room(o.from, o.until) >= o.m2 && bed.welcomes(&o.stay(1))
    })
}

/// Returns the clearings worth a word, the best first; each planting once.
pub(crate) fn clearings(setup: &Setup, search: &Search) -> Vec<Clearing> {
    let options = options(setup);
    if options.is_empty() {
        return Vec::new();
    }
    let known = setup.garden.plantings.len();
    let garden = with(
        setup.garden,
        options.iter().map(|(p, day)| cut(setup, *p, *day)),
    );
    let plan = compile(&garden, setup.from);
    let wanted: Vec<bool> = (0..garden.plantings.len()).map(|k| k >= known).collect();
    let cut = replies(&garden, &plan, &setup.settings, &setup.span, &wanted);
    // What a bed gives back alone must pay for what is lost: look closer only at those that could.
    let mut found: Vec<Clearing> = options
        .par_iter()
        .zip(cut[known..].par_iter())
        .filter_map(|(&(planting, day), reply)| weigh(setup, search, planting, day, reply))
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

/// Plantings in the ground with days on which they could go.
fn options(setup: &Setup) -> Vec<(PlantingId, NaiveDate)> {
    let mut options = Vec::new();
    for (k, planting) in setup.garden.plantings.iter().enumerate() {
        let free = setup.there[k].free_p90;
        if setup.there[k].table.iter().all(|t| t.span == 0) && free == 0 {
            continue;
        }
        let leaves = planting
            .cleared
            .unwrap_or(setup.horizon.date(free))
            .min(setup.until);
        let days = setup
            .from
            .iter_days()
            .step_by(EVERY_DAYS as usize)
            .filter(|d| *d > planting.start())
            .take_while(|d| (leaves - *d).num_days() >= GAINS_DAYS);
        options.extend(days.take(TRIED).map(|d| (PlantingId(k), d)));
    }
    options
}

/// The same planting cleared on a day, with the same luck.
fn cut(setup: &Setup, planting: PlantingId, day: NaiveDate) -> Planting {
    Planting {
        cleared: Some(day),
        ..setup.garden.planting(planting).clone()
    }
}

/// Weighs what is lost against the best that may follow.
fn weigh(
    setup: &Setup,
    search: &Search,
    id: PlantingId,
    day: NaiveDate,
    cut: &Reply,
) -> Option<Clearing> {
    let planting = setup.garden.planting(id);
    let there = &setup.there[id.0];
    let mut kept = cut.table.clone();
    for (new, old) in kept.iter_mut().zip(&there.table) {
        new.source = old.source;
    }
    let responses: Vec<Response> = there
        .table
        .iter()
        .chain(&kept)
        .filter(|r| r.span > 0)
        .cloned()
        .collect();
    let olds = there.table.iter().filter(|r| r.span > 0).count();
    let changes: Vec<(&Response, f64)> = responses
        .iter()
        .enumerate()
        .map(|(k, r)| (r, if k < olds { -1.0 } else { 1.0 }))
        .collect();
    let bed = planting.bed;
    let from = setup.horizon.index(planting.start());
    let at = setup.horizon.index(day);
    let mut without = search.clone();
    let before = without.cost();
    without.change(&changes);
    let family = setup.families[planting.crop.0];
    without.shorten(bed.0, (from, family), at);
    let loss = without.cost() - before;
    let mut best: Option<(f64, u32, usize)> = None;
    for (o, offer) in setup.offers.iter().enumerate() {
        let follows =
            offer.kind == setup.beds[bed.0].kind && (at..=at + SOWN_WITHIN).contains(&offer.from);
        let hopeful = search.alone()[o] > best.map_or(0.0, |b| b.0) || search.crowded_out(o);
        if follows
            && hopeful
            && let Some((saves, units)) = without.best_in(o, bed.0)
            && best.is_none_or(|b| saves > b.0)
        {
            best = Some((saves, units, o));
        }
    }
    let (saves, units, offer) = best?;
    let candidate = setup.candidates[setup.of[offer]];
    let gained = setup.replies[setup.of[offer]].useful_kg * f64::from(units);
    Some(Clearing {
        planting: id,
        day,
        lost_kg: (there.useful_kg - cut.useful_kg).max(0.0),
        crop: candidate.crop,
        start: candidate.start(),
        row: setup.unit * f64::from(units),
        gained_kg: gained,
        saves_kg: saves - loss,
    })
}
