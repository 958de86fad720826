//! Changes tried out: the season and the kitchen run again with each of them made, from the same seed and draws.
//!
//! A change of the kitchen alone lives through the very seasons that were drawn for the garden as it is; one of the beds
//! has its own seasons, in which every other planting has the same luck as before.

use super::Ready;
use super::change::Change;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::kitchen::accumulate::Accumulator;
use crate::kitchen::context::{self, Context};
use crate::kitchen::day_by_day::{Scratch, day_by_day};
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::overload::overload;
use crate::season::draw::SeasonDraw;
use crate::season::ensemble::{self, Settings};
use crate::season::plan::Plan;
use chrono::NaiveDate;

/// What came of one trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// The kitchen's season with the change made.
    pub found: KitchenForecast,
    /// Pickings given away in the bed, kg, mean over the seasons; the kitchen never sees them.
    pub gift_kg: f64,
}

/// A gift: of which plantings' main and second foods, and on which days of the horizon.
struct Gift {
    /// Shape: two for each planting, main and second food.
    of: Vec<[bool; 2]>,
    first: u16,
    last: u16,
}

/// The kitchen with a change made.
struct Trial {
    ctx: Context,
    gift: Option<Gift>,
}

/// Runs season and kitchen with each change made; none stands for the garden as it is.
#[must_use]
pub fn try_out(
    garden: &Garden,
    as_of: NaiveDate,
    changes: &[Option<&Change>],
    settings: &Settings,
    ready: Ready,
) -> Vec<Tried> {
    let plan = ready(garden, settings);
    let mut found: Vec<Option<Tried>> = vec![None; changes.len()];
    let kitchen_only: Vec<usize> = (0..changes.len())
        .filter(|&k| changes[k].is_none_or(|change| change.planting().is_none()))
        .collect();
    let trials: Vec<Trial> = kitchen_only
        .iter()
        .map(|&k| trial(garden, &plan, as_of, changes[k]))
        .collect();
    for (k, tried) in kitchen_only
        .into_iter()
        .zip(together(&plan, &trials, settings))
    {
        found[k] = Some(tried);
    }
    for (change, found) in changes.iter().zip(&mut found) {
        if found.is_some() {
            continue;
        }
        let Some(change) = change else { continue };
        let changed = change.made(garden);
        let plan = ready(&changed, settings);
        let own = [trial(&changed, &plan, as_of, None)];
        *found = together(&plan, &own, settings).pop();
    }
    found
        .into_iter()
        .map(|tried| tried.expect("every change was tried"))
        .collect()
}

fn trial(garden: &Garden, plan: &Plan, as_of: NaiveDate, change: Option<&Change>) -> Trial {
    let horizon = plan.horizon();
    let changed = change.map(|change| change.made(garden));
    let gift = match change {
        Some(Change::GiveAway { crops, from, until }) => {
            let is = |crop: Option<CropId>| crop.is_some_and(|crop| crops.contains(&crop));
            Some(Gift {
                of: (garden.plantings.iter())
                    .map(|p| {
                        let second = garden.crop(p.crop).second.as_ref();
                        [is(Some(p.crop)), is(second.map(|s| s.crop))]
                    })
                    .collect(),
                first: horizon.clamped(*from),
                last: horizon.clamped(*until),
            })
        }
        _ => None,
    };
    Trial {
        ctx: context::compile(
            changed.as_ref().unwrap_or(garden),
            horizon.first,
            horizon.days,
            as_of,
        ),
        gift,
    }
}

/// What one chunk of draws gathers of one trial.
struct Gathered {
    all: Accumulator,
    scratch: Scratch,
    without: SeasonDraw,
    gift_kg: f64,
}

/// Lets every trial live through each drawn season.
fn together(plan: &Plan, trials: &[Trial], settings: &Settings) -> Vec<Tried> {
    let chunks = ensemble::run(
        plan,
        settings,
        |_| -> Vec<Gathered> {
            let each = trials.iter().map(|trial| Gathered {
                all: Accumulator::new(&trial.ctx, ensemble::CHUNK as usize),
                scratch: Scratch::new(&trial.ctx),
                without: SeasonDraw::default(),
                gift_kg: 0.0,
            });
            each.collect()
        },
        |gathered, _, season| {
            for (trial, g) in trials.iter().zip(gathered) {
                let lived = match &trial.gift {
                    Some(gift) => {
                        g.gift_kg += take_out(season, gift, &mut g.without);
                        &g.without
                    }
                    None => season,
                };
                let draw = day_by_day(&trial.ctx, lived, &mut g.scratch);
                g.all.add(&trial.ctx, draw);
            }
        },
    );
    let mut by_trial: Vec<(Vec<Accumulator>, f64)> =
        trials.iter().map(|_| (Vec::new(), 0.0)).collect();
    for chunk in chunks {
        for (of_trial, g) in by_trial.iter_mut().zip(chunk) {
            of_trial.0.push(g.all);
            of_trial.1 += g.gift_kg;
        }
    }
    let draws = f64::from(settings.draws.max(1));
    let each = trials.iter().zip(by_trial);
    each.map(|(trial, (chunks, kg))| Tried {
        found: overload(&trial.ctx, chunks),
        gift_kg: kg / draws,
    })
    .collect()
}

/// Copies a season without the gift; returns what was taken out, kg.
fn take_out(season: &SeasonDraw, gift: &Gift, without: &mut SeasonDraw) -> f64 {
    without.ready.clear();
    without.outcomes.clone_from(&season.outcomes);
    without.spoiled.clone_from(&season.spoiled);
    let mut kg = 0.0;
    for ready in &season.ready {
        let given = (gift.first..=gift.last).contains(&ready.day)
            && gift.of[ready.planting as usize][usize::from(ready.second)];
        if given {
            kg += f64::from(ready.kg);
        } else {
            without.ready.push(*ready);
        }
    }
    kg
}
