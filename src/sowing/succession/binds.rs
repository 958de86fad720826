//! What binds, and what a little more of it would bring: found by searching again with the change.

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
/// What a change must bring to be worth a word, kg.
const WORTH_KG: f64 = 0.25;

/// Something of which there is too little.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scarce {
    /// Length of a bed.
    Bed(BedId, Length),
    /// One more sowing.
    Sowing,
    /// An hour of kitchen in every week.
    KitchenHour,
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
                brings: brings(setup, &same, after),
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
    if before.problem.prices.hour_over > 0.0 {
        let mut problem = before.problem.clone();
        for hours in &mut problem.spare_hours {
            *hours += 1.0;
        }
        let field = Field {
            problem: &problem,
            ..before
        };
        // An hour more helps by itself where it is over already; only what it lets grow counts.
        let still = Search::again(field, &same.plan, search.alone());
        let after = search.changed(field);
        if still.cost() - after.cost() >= WORTH_KG {
            weigh(Scarce::KitchenHour, &after);
        }
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

/// The food of which a change brings most towards the need, and the four weeks in which it does.
fn brings(setup: &Setup, before: &Search, after: &Search) -> Option<(Food, f64, Week)> {
    let foods = setup.wants.foods.iter().enumerate();
    let mut best: Option<(Food, f64, Week)> = None;
    for (k, food) in foods.filter_map(|(k, f)| f.map(|f| (k, f))) {
        let less = before.table().missed(k);
        let more = after.table().missed(k);
        let gained: Vec<f64> = less.iter().zip(&more).map(|(a, b)| a - b).collect();
        for (w, window) in gained.chunks(4).enumerate() {
            let kg: f64 = window.iter().sum();
            if kg > best.map_or(0.1, |b| b.1) {
                best = Some((food, kg, Week::of(setup.from).plus(4 * w as i64)));
            }
        }
    }
    best
}
