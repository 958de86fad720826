//! Proposes sowings: searches, tests each a few days either way, lives the garden through with them, and mends the plan
//! where the kitchen would have more to do than without it.

use super::lived::{Lived, live, seasons_met};
use super::mend::{FEW, Mended, at_most, live_with, searched, spare, spared, tested};
use super::offer::Sowing;
use super::proposal::{Load, Need, NeedWeek, Proposal, Row};
use super::rows::row;
use super::search::Search;
use super::setup::{Asked, Setup, lay_out};
use super::{binds, clearing};
use crate::garden::Garden;
use crate::garden::household::Food;
use crate::garden::week::Week;
use crate::kitchen::needs::serves;
use crate::season::ensemble::Settings;
use chrono::NaiveDate;

/// Seasons lived through at the end; more cost time and tell no more.
pub const MANY: u32 = 4_000;

/// Proposes sowings from a day on.
#[must_use]
pub fn propose(garden: &Garden, from: NaiveDate, settings: &Settings, asked: &Asked) -> Proposal {
    let mut setup = lay_out(garden, from, settings, asked);
    let few = live(garden, from, &at_most(settings, FEW), &setup.wants);
    setup.problem.spare_hours = spare(&few);
    let mut free = setup.problem.clone();
    free.prices.hour_over = 0.0;
    let careless = {
        let search = searched(&setup, &free, None, true);
        Mended {
            plan: search.plan.clone(),
            alone: search.alone().to_vec(),
            problem: free.clone(),
        }
    };
    let careless_plan = careless.plan.clone();
    let mended = if asked.ignore_kitchen {
        careless
    } else {
        spared(&setup, &few, &careless.alone)
    };
    let all = at_most(settings, MANY);
    let lived =
        [&[] as &[Sowing], &mended.plan, &careless_plan].map(|p| live_with(&setup, p, &all));
    finish(&setup, &lived, &mended, careless_plan.len())
}

fn finish(
    setup: &Setup,
    [base, lived, careless]: &[Lived; 3],
    mended: &Mended,
    careless_sowings: usize,
) -> Proposal {
    let field = setup.field(&mended.problem);
    let (plan, alone) = (&mended.plan, &mended.alone);
    let nothing = Search::again(field, &[], alone);
    let search = Search::again(field, plan, alone);
    let tests = tested(setup, plan);
    let mut rows: Vec<Row> = plan
        .iter()
        .zip(&tests)
        .map(|(s, (reply, moved))| row(setup, &search, *s, reply, *moved))
        .collect();
    rows.sort_by_key(|r| (r.sown, r.start(), r.bed, r.crop));
    let cost = [nothing.cost(), search.cost()];
    Proposal {
        from: setup.from,
        until: setup.until,
        needs: needs(setup, base, lived),
        kitchen: [load(base), load(lived), load(careless)],
        careless: careless_sowings,
        binds: binds::binds(setup, &search),
        clearings: clearing::clearings(setup, &search),
        full_beds: setup
            .beds
            .iter()
            .filter(|b| !clearing::any_room(setup, b))
            .count(),
        fall: fall(setup, base, lived),
        notes: notes(setup),
        dark: next_dark(setup),
        rows,
        cost,
    }
}

fn load(lived: &Lived) -> Load {
    Load {
        weeks_over: lived.weeks_over(),
        likely: lived.likely_over(),
        hours_over: lived.hours_over(),
        weeks: lived
            .kitchen
            .weeks
            .iter()
            .map(|w| (w.week, w.hours.mean, w.capacity_hours, w.chance_over))
            .collect(),
    }
}

fn needs(setup: &Setup, base: &Lived, lived: &Lived) -> Vec<Need> {
    let first = Week::of(setup.from);
    let foods = setup.wants.foods.iter().flatten();
    foods
        .enumerate()
        .map(|(k, food)| Need {
            food: *food,
            weeks: (0..setup.span.weeks)
                .filter(|w| setup.wants.need_kg[k][*w] > 1e-9)
                .map(|w| NeedWeek {
                    week: first.plus(w as i64),
                    need_kg: setup.wants.need_kg[k][w],
                    eaten_kg: [base.fresh_kg[k][w], lived.fresh_kg[k][w]],
                    met: [base.met[k][w], lived.met[k][w]],
                })
                .collect(),
        })
        .collect()
}

/// Seasons in which nine weeks of ten are met, by need: from the first week that any sowing still ahead could serve to the
/// first day with less than 10 hours of daylight.
fn fall(setup: &Setup, base: &Lived, lived: &Lived) -> Vec<(Food, usize, [f64; 2])> {
    let end = next_dark(setup).map_or(setup.until, |(first, _)| first);
    let foods = setup.wants.foods.iter().flatten();
    let ready = |food: &Food| {
        let offers = setup.of.iter();
        offers
            .filter(|c| serves(setup.garden, setup.candidates[**c].crop, *food))
            .filter_map(|c| setup.replies[*c].first_p50)
            .min()
    };
    foods
        .enumerate()
        .filter_map(|(k, food)| {
            let first = setup.horizon.date(ready(food)?);
            let weeks: Vec<usize> = (0..setup.span.weeks)
                .filter(|w| {
                    let monday = Week::of(setup.from).plus(*w as i64).monday();
                    monday >= first && monday < end && setup.wants.need_kg[k][*w] > 1e-9
                })
                .collect();
            (!weeks.is_empty()).then(|| {
                let met = [base, lived].map(|l| seasons_met(l, k, &weeks, 0.9));
                (*food, weeks.len(), met)
            })
        })
        .collect()
}

/// The next stretch with less than 10 hours of daylight.
fn next_dark(setup: &Setup) -> Option<(NaiveDate, NaiveDate)> {
    let dark = setup.span.dark.iter();
    let mut ahead = dark.filter(|(first, _)| *first > setup.span.from);
    ahead
        .next()
        .map(|&(first, last)| (setup.horizon.date(first), setup.horizon.date(last)))
}

fn notes(setup: &Setup) -> Vec<String> {
    let mut notes: Vec<String> = setup.climate.notes.clone();
    let unknown: Vec<&str> = setup
        .garden
        .beds
        .iter()
        .filter(|b| b.area().is_none())
        .map(|b| b.name.as_str())
        .collect();
    if !unknown.is_empty() {
        notes.push(format!(
            "No size is known of {}: it is taken to hold the most that was ever planted there at once.",
            unknown.join(", ")
        ));
    }
    notes
}
