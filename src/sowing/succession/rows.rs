//! One sowing of a plan with its dates: the range that does as well, not before, the last day, and when to sow again.

use super::flat::FLAT;
use super::offer::Sowing;
use super::proposal::Row;
use super::response::Reply;
use super::search::Search;
use super::setup::Setup;
use crate::garden::bed::BedId;
use crate::garden::crop::Crop;
use crate::sowing::soil::{Fit, Soil, WARMER_K};
use chrono::{Days, NaiveDate};

/// Chance of half a harvest that makes a date the last sensible one.
pub(crate) const SENSIBLE: f64 = 0.8;
/// Days before or after the best day that a range may reach.
const RANGE_DAYS: i64 = 7;

/// Returns a sowing with its dates.
pub(crate) fn row(
    setup: &Setup,
    search: &Search,
    sowing: Sowing,
    reply: &Reply,
    moved: [Option<f64>; 2],
) -> Row {
    let at = setup.of[sowing.offer];
    let candidate = setup.candidates[at];
    let crop = setup.garden.crop(candidate.crop);
    let day = |d: u16| setup.horizon.date(d);
    let soil = Soil::new(
        &setup.climate,
        setup.garden.bed(BedId(sowing.bed)),
        WARMER_K,
    );
    let direct = candidate.set_out.is_none();
    let alike = |k: &usize| {
        let c = setup.candidates[*k];
        (c.crop, c.kind, c.set_out.is_some()) == (candidate.crop, candidate.kind, !direct)
    };
    let last = (0..setup.candidates.len())
        .filter(alike)
        .filter(|k| setup.replies[*k].chance >= SENSIBLE)
        .map(|k| setup.candidates[k].start())
        .max();
    let up = soil.days_to_wait(crop, candidate.sown).filter(|_| direct);
    Row {
        crop: candidate.crop,
        bed: BedId(sowing.bed),
        sown: candidate.sown,
        set_out: candidate.set_out,
        range: range(setup, search, sowing),
        not_before: (direct && soil.fit(crop, setup.from) != Fit::Right)
            .then(|| first_fit(&soil, crop, setup.from))
            .flatten(),
        last,
        resow: up
            .map(|days| candidate.sown + Days::new(u64::from(days)))
            .zip(last)
            .filter(|(look, last)| look <= last),
        row: setup.unit * f64::from(sowing.units),
        first: reply.first_p50.map(day),
        last_picking: reply.last_p50.map(day),
        chance: reply.chance,
        kg: reply.useful_kg * f64::from(sowing.units),
        moved,
    }
}

fn first_fit(soil: &Soil, crop: &Crop, from: NaiveDate) -> Option<NaiveDate> {
    let days = from.iter_days().take(366);
    days.into_iter()
        .find(|day| soil.fit(crop, *day) == Fit::Right)
}

/// Days in the bed that do as well as the chosen one and for which the ground is free.
fn range(setup: &Setup, search: &Search, sowing: Sowing) -> (NaiveDate, NaiveDate) {
    let at = setup.of[sowing.offer];
    let this = setup.candidates[at];
    let offer = &setup.offers[sowing.offer];
    let needed = offer.m2 * f64::from(sowing.units);
    let bed = &search.beds()[sowing.bed];
    let mut range = (this.start(), this.start());
    for (k, other) in setup.candidates.iter().enumerate() {
        let days = (other.start() - this.start()).num_days();
        let same = (other.crop, other.kind, other.set_out.is_some())
            == (this.crop, this.kind, this.set_out.is_some());
        if !same || days.abs() > RANGE_DAYS {
            continue;
        }
        let well = setup.replies[k].useful_kg >= (1.0 - FLAT) * setup.replies[at].useful_kg;
        let start = setup.horizon.index(other.start());
        let room = start >= offer.from || bed.room(start, offer.from) >= needed - 1e-9;
        if well && room {
            range = (range.0.min(other.start()), range.1.max(other.start()));
        }
    }
    range
}
