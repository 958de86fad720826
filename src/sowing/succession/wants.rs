//! What the household wants from the garden week by week: fresh needs and goals, as the kitchen counts them.
//!
//! Needs beyond the most that is eaten fresh in a week are cut, those the kitchen serves last first. A product of
//! several crops counts only for a crop that may make it alone; the kitchen itself judges the mixtures afterwards.

use super::problem::{Goal, Route, Source};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::Food;
use crate::garden::week::Week;
use crate::kitchen::context::Context;
use crate::kitchen::needs::{effective, serves};
use chrono::{Days, NaiveDate};

/// Part of the work on a product that setting up adds to it, as a share (judgement).
const SETTING_UP: f64 = 0.25;
/// Containers beyond which there is no limit.
const NO_LIMIT: f64 = 1e6;
/// Days of a week.
const DAYS: f64 = 7.0;

/// What is wanted, with names.
#[derive(Debug, Clone)]
pub(crate) struct Wants {
    /// What each want is: a food of the needs, or none for a crop that is only put by.
    pub(crate) foods: Vec<Option<Food>>,
    /// Need of each want in each week, kg.
    pub(crate) need_kg: Vec<Vec<f64>>,
    /// The crop of each source.
    pub(crate) crops: Vec<CropId>,
    /// Sources, in the order of the kitchen's crops.
    pub(crate) sources: Vec<Source>,
    /// Goals.
    pub(crate) goals: Vec<Goal>,
}

impl Wants {
    /// Returns the source of a crop.
    pub(crate) fn source(&self, crop: CropId) -> Option<usize> {
        self.crops.iter().position(|c| *c == crop)
    }
}

/// Settles what is wanted from a day on, for so many weeks from that day's week.
pub(crate) fn settle(garden: &Garden, ctx: &Context, from: NaiveDate, weeks: usize) -> Wants {
    let crops: Vec<CropId> = ctx.crops.iter().map(|c| c.id).collect();
    let mut needs = effective(garden);
    // As the kitchen serves them: single crops before groups.
    needs.sort_by_key(|n| matches!(n.food, Food::Group(_)));
    let mut foods: Vec<Option<Food>> = Vec::new();
    for need in &needs {
        if !foods.contains(&Some(need.food)) {
            foods.push(Some(need.food));
        }
    }
    let mut wants = Wants {
        need_kg: need_kg(garden, &needs, &foods, from, weeks),
        foods,
        sources: Vec::new(),
        goals: ctx
            .goals
            .iter()
            .map(|g| {
                let kg = |p: &u16| ctx.products[usize::from(*p)].kg_per_container;
                let eaten = |p: &u16| ctx.products[usize::from(*p)].eat_per_week;
                let containers = if g.in_rotation {
                    weeks as f64 * g.products.iter().map(eaten).sum::<f64>()
                } else {
                    g.to_make.clamp(0.0, NO_LIMIT)
                };
                Goal {
                    containers,
                    counts: !g.in_rotation && g.wanted.is_finite(),
                    kg_per_container: g.products.first().map_or(0.0, kg),
                    until: g.by.map_or(weeks, |by| {
                        let week = Week::of(by).since(Week::of(from)) + 1;
                        usize::try_from(week).unwrap_or(0).min(weeks)
                    }),
                }
            })
            .collect(),
        crops,
    };
    for (index, crop) in ctx.crops.iter().enumerate() {
        let serving = |food: &Option<Food>| food.is_some_and(|f| serves(garden, crop.id, f));
        let want = wants.foods.iter().position(serving).unwrap_or_else(|| {
            wants.foods.push(None);
            wants.need_kg.push(vec![0.0; weeks]);
            wants.foods.len() - 1
        });
        let routes = crop
            .choices
            .iter()
            .filter_map(|choice| {
                let product = &ctx.products[usize::from(choice.product)];
                let part = product
                    .parts
                    .iter()
                    .find(|p| usize::from(p.crop) == index && p.greatest >= 1.0)?;
                let rates = &ctx.rates[usize::from(choice.product)];
                let batches = if part.rates.pot_kg > 0.0 {
                    rates.per_batch_min / part.rates.pot_kg
                } else {
                    0.0
                };
                let minutes = part.rates.prep_min_per_kg
                    + batches
                    + rates.per_container_min / product.kg_per_container.max(0.01);
                Some(Route {
                    goal: usize::from(choice.goal),
                    kg_per_container: product.kg_per_container.max(0.01),
                    hours_per_kg: minutes * (1.0 + SETTING_UP) / 60.0,
                })
            })
            .collect();
        wants.sources.push(Source { want, routes });
    }
    wants
}

/// Need of each food in each week, within what is eaten fresh at most.
fn need_kg(
    garden: &Garden,
    needs: &[crate::garden::household::Need],
    foods: &[Option<Food>],
    from: NaiveDate,
    weeks: usize,
) -> Vec<Vec<f64>> {
    let monday = Week::of(from).monday();
    let mut table = vec![vec![0.0; weeks]; foods.len()];
    let home = |day: NaiveDate| !garden.household.away.iter().any(|a| a.days.contains(day));
    for week in 0..weeks {
        let days = (0..7)
            .map(|d| monday + Days::new(7 * week as u64 + d))
            .filter(|day| *day >= from && home(*day));
        for day in days {
            for need in needs.iter().filter(|n| n.holds_on(day)) {
                if let Some(k) = foods.iter().position(|f| *f == Some(need.food)) {
                    table[k][week] += need.per_week.kg() / DAYS;
                }
            }
        }
        let mut left = garden.household.ceiling_per_week.kg();
        for row in &mut table {
            row[week] = row[week].min(left);
            left -= row[week];
        }
    }
    table
}
