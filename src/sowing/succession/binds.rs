//! What binds, and what a little more of it would bring: found by searching again with the change, and for the kitchen by
//! living through the plan that does not ask it.

use super::lived::Lived;
use super::offer::{Field, Limits};
use super::search::Search;
use super::setup::Setup;
use crate::garden::bed::BedId;
use crate::garden::household::Food;
use crate::garden::units::Length;
use crate::garden::week::Week;

/// More bed that is tried, feet.
const MORE_FT: f64 = 4.0;
/// Beds tried at most, those that are fullest first.
const BEDS: usize = 4;
/// Weeks of kitchen told at most.
const WEEKS: usize = 4;
/// Chance of too much work by which a week must rise without a thought for the kitchen.
const RISES: f64 = 0.03;
/// What a change must bring to be worth a word, kg.
const WORTH_KG: f64 = 0.25;

/// Something of which there is too little.
#[derive(Debug, Clone, PartialEq)]
pub enum Scarce {
    /// Length of a bed.
    Bed(BedId, Length),
    /// One more sowing.
    Sowing,
    /// So many hours of kitchen in some weeks together, in the mean season.
    KitchenHours(Vec<Week>, f64),
}

/// What a little more of something would bring.
#[derive(Debug, Clone, PartialEq)]
pub struct Bind {
    /// Of what.
    pub more: Scarce,
    /// What it would save in all, kg of fresh food missed.
    pub saves_kg: f64,
    /// The food it would bring most of, how much, kg, and in which four weeks from.
    pub brings: Option<(Food, f64, Week)>,
}

/// Returns what binds a plan, the dearest first.
pub(crate) fn binds(setup: &Setup, search: &Search) -> Vec<Bind> {
    let before = search.field();
    // What comes of searching again without any change is not the change's doing.
    let same = search.changed(before);
    let cost = same.cost();
    let mut binds = Vec::new();
    let mut weigh = |more: Scarce, after: &Search| {
        let saves_kg = cost - after.cost();
        if saves_kg >= WORTH_KG {
            binds.push(Bind {
                more,
                saves_kg,
                brings: brings_of(setup, &gained(setup, &same, after)),
            });
        }
    };
    for bed in fullest(setup, search) {
        let length = Length::from_ft(MORE_FT);
        let mut beds = before.beds.to_vec();
        let wide = setup.garden.bed(BedId(bed)).width.map_or(1.0, |w| w.m());
        beds[bed].m2 += length.m() * wide;
        let field = Field {
            beds: &beds,
            ..before
        };
        let after = search.changed(field);
        weigh(Scarce::Bed(BedId(bed), length), &after);
    }
    if search.plan.len() >= before.limits.sowings {
        let limits = Limits {
            sowings: before.limits.sowings + 1,
            ..before.limits.clone()
        };
        let field = Field {
            limits: &limits,
            ..before
        };
        weigh(Scarce::Sowing, &search.changed(field));
    }
    binds.sort_by(|a, b| b.saves_kg.total_cmp(&a.saves_kg));
    binds
}

/// Beds with least room left under the plan, those in which it sows first.
fn fullest(setup: &Setup, search: &Search) -> Vec<usize> {
    let from = i32::from(setup.span.from);
    let until = setup.horizon.index(setup.until);
    let mut beds: Vec<(bool, f64, usize)> = search
        .beds()
        .iter()
        .enumerate()
        .map(|(b, ground)| {
            let sown = search.plan.iter().any(|s| s.bed == b);
            (!sown, ground.room(from, until) / ground.m2.max(0.01), b)
        })
        .collect();
    beds.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    beds.into_iter().take(BEDS).map(|(_, _, b)| b).collect()
}

/// Returns what the kitchen keeps a plan from, beside the plan made without a thought for it, both lived through.
pub(crate) fn kitchen(setup: &Setup, with: &Lived, free: &Lived, saves_kg: f64) -> Option<Bind> {
    let mut weeks: Vec<(f64, f64, Week)> = free
        .kitchen
        .weeks
        .iter()
        .filter_map(|free| {
            let with = with.kitchen.weeks.iter().find(|w| w.week == free.week)?;
            let hours = free.mean_hours_over - with.mean_hours_over;
            Some((free.chance_over - with.chance_over, hours, free.week))
        })
        .filter(|(rise, hours, _)| *rise >= RISES && *hours > 0.0)
        .collect();
    weeks.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.cmp(&b.2)));
    weeks.truncate(WEEKS);
    weeks.sort_by_key(|w| w.2);
    let hours: f64 = weeks.iter().map(|w| w.1).sum();
    let gained: Vec<(Food, Vec<f64>)> = (setup.wants.foods.iter().flatten().enumerate())
        .map(|(k, food)| {
            let kg = free.fresh_kg[k].iter().zip(&with.fresh_kg[k]);
            (*food, kg.map(|(a, b)| a - b).collect())
        })
        .collect();
    (saves_kg >= WORTH_KG && !weeks.is_empty()).then(|| Bind {
        more: Scarce::KitchenHours(weeks.iter().map(|w| w.2).collect(), hours),
        saves_kg,
        brings: brings_of(setup, &gained),
    })
}

/// How much less of each food is missed in each week, kg.
fn gained(setup: &Setup, before: &Search, after: &Search) -> Vec<(Food, Vec<f64>)> {
    let foods = setup.wants.foods.iter().enumerate();
    foods
        .filter_map(|(k, food)| {
            let (less, more) = (before.table().missed(k), after.table().missed(k));
            food.map(|f| (f, less.iter().zip(&more).map(|(a, b)| a - b).collect()))
        })
        .collect()
}

/// The food of which a change brings most towards the need, and the four weeks in which it does.
fn brings_of(setup: &Setup, gained: &[(Food, Vec<f64>)]) -> Option<(Food, f64, Week)> {
    let mut best: Option<(Food, f64, Week)> = None;
    for (food, gained) in gained {
        for (w, window) in gained.windows(4).enumerate() {
            let kg: f64 = window.iter().sum();
            if kg > best.map_or(0.1, |b| b.1 + 1e-6) {
                best = Some((*food, kg, Week::of(setup.from).plus(w as i64)));
            }
        }
    }
    best
}
