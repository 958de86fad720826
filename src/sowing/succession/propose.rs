//! Proposes sowings: searches, tests each a few days either way, lives the garden through with them, and mends the plan
//! where the kitchen would have more to do than without it.

use super::bound;
use super::lived::{Lived, live, seasons_met};
use super::mend::{FEW, Mended, at_most, live_with, searched, spare, spared, tested};
use super::offer::Chosen;
use super::problem::Problem;
use super::proposal::{Load, Need, NeedWeek, Proposal, Row, Worth};
use super::rows::row;
use super::search::Search;
use super::setup::{Asked, Setup, lay_out};
use super::{binds, clearing};
use crate::garden::Garden;
use crate::garden::household::Food;
use crate::garden::week::Week;
use crate::kitchen::needs::{effective, serves};
use crate::season::ensemble::Settings;
use chrono::{Days, NaiveDate};

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
            chosen: search.chosen(),
            alone: search.alone().to_vec(),
            problem: free.clone(),
        }
    };
    let careless_plan = careless.chosen.clone();
    let mended = if asked.ignore_kitchen {
        careless
    } else {
        spared(&setup, &few, &careless.alone)
    };
    let all = at_most(settings, MANY);
    let lived =
        [&Chosen::default(), &mended.chosen, &careless_plan].map(|p| live_with(&setup, p, &all));
    let priced = if asked.ignore_kitchen {
        &free
    } else {
        &setup.problem
    };
    // What the kitchen keeps the plan from, its own hours apart.
    let cost = |chosen| Search::again(setup.field(&free), chosen, &mended.alone).cost();
    let kept_from = cost(&mended.chosen) - cost(&careless_plan);
    Proposal {
        worth: worth(&setup, priced, &mended),
        careless: careless_plan.plan.len(),
        ..finish(&setup, &lived, &mended, kept_from)
    }
}

/// What the plan misses less than none, and what no plan could better.
fn worth(setup: &Setup, problem: &Problem, mended: &Mended) -> Worth {
    let field = setup.field(problem);
    let cost = |chosen: &Chosen| Search::again(field, chosen, &mended.alone).cost();
    let groups = bound::groups(field);
    Worth {
        cost: [cost(&Chosen::default()), cost(&mended.chosen)],
        least: groups.and_then(|groups| bound::bound(field, groups)),
    }
}

fn finish(
    setup: &Setup,
    [base, lived, careless]: &[Lived; 3],
    mended: &Mended,
    kept_from: f64,
) -> Proposal {
    let search = Search::again(setup.field(&mended.problem), &mended.chosen, &mended.alone);
    let tests = tested(setup, &search.plan);
    let mut rows: Vec<Row> = search
        .plan
        .iter()
        .zip(&tests)
        .map(|(s, (reply, moved))| row(setup, &search, *s, reply, *moved))
        .collect();
    rows.sort_by_key(|r| (r.sown, r.start(), r.bed, r.crop));
    Proposal {
        from: setup.from,
        until: setup.until,
        needs: needs(setup, base, lived),
        kitchen: [load(base), load(lived), load(careless)],
        careless: 0,
        worth: Worth::default(),
        binds: binds::kitchen(setup, lived, careless, kept_from)
            .into_iter()
            .chain(binds::binds(setup, &search))
            .collect(),
        cleared: clearing::cleared(setup, &search),
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

/// Seasons in which nine weeks of ten of the fall need are met, by need.
///
/// The fall need of a food is what holds on the first day with less than 10 hours of daylight: its weeks are those from the
/// first that a sowing still ahead could serve, or from the day on which that need begins if that is later, to that day.
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
    let needs = effective(setup.garden);
    let begins = |food: &Food| {
        let holds = |day: NaiveDate| {
            let mut all = needs.iter().enumerate();
            all.find(|(_, n)| n.food == *food && n.holds_on(day))
                .map(|(k, _)| k)
        };
        let days = setup.from.iter_days().take_while(|day| *day < end);
        let other = days.filter(|day| holds(*day) != holds(end)).last();
        other.map_or(setup.from, |day| day + Days::new(1))
    };
    foods
        .enumerate()
        .filter_map(|(k, food)| {
            let first = setup.horizon.date(ready(food)?).max(begins(food));
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
