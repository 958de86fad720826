//! What the household lacks: needs that the garden as it stands will not meet, and goals it will not reach.
//!
//! Means over the drawn seasons; a lack is an amount, not a chance.

use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::{Food, Need};
use crate::garden::week::Week;
use crate::kitchen::draw::Went;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::needs::{effective, serves};
use chrono::{Days, NaiveDate};

/// What is lacking.
#[derive(Debug, Clone, PartialEq)]
pub struct Lack {
    /// First week.
    pub first: Week,
    /// Needs with what each week lacks, kg.
    pub needs: Vec<(Need, Vec<f64>)>,
    /// Goals, as places in the forecast, with the products that would serve and what is lacking, kg.
    pub goals: Vec<(String, Vec<CropId>, f64)>,
}

/// Returns what is lacking from one day to another.
#[must_use]
pub fn lack(garden: &Garden, found: &KitchenForecast, from: NaiveDate, until: NaiveDate) -> Lack {
    let first = Week::of(from);
    let weeks = usize::try_from(Week::of(until).since(first) + 1).unwrap_or(0);
    let needs = effective(garden)
        .into_iter()
        .map(|need| {
            let mut short: Vec<f64> = (0..weeks as i64)
                .map(|w| {
                    let monday = first.plus(w).monday();
                    let days = (0..7)
                        .filter(|&d| need.holds_on(monday + Days::new(d)))
                        .count();
                    need.per_week.kg() * days as f64 / 7.0
                })
                .collect();
            for week in &found.crop_weeks {
                let place = usize::try_from(week.week.since(first)).ok();
                if let Some(short) = place.and_then(|w| short.get_mut(w))
                    && serves(garden, week.crop, need.food)
                {
                    *short = (*short - week.kg[Went::Fresh as usize]).max(0.0);
                }
            }
            (need, short)
        })
        .collect();
    let goals = found
        .goals
        .iter()
        .filter_map(|goal| {
            let product = garden.product(*goal.ids.first()?);
            let containers = goal.wanted? - goal.containers.mean;
            let crops = goal
                .ids
                .iter()
                .flat_map(|&id| garden.product(id).parts.iter())
                // A crop that may be all of a product, or most of it.
                .filter(|part| part.greatest >= 0.5)
                .map(|part| part.crop)
                .collect();
            (containers >= 1.0).then(|| {
                let kg = containers * product.garden_mass_per_container().kg();
                (goal.products[0].clone(), crops, kg)
            })
        })
        .collect();
    Lack {
        first,
        needs,
        goals,
    }
}

/// What a crop's weekly harvest would fill.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filled {
    /// Of needs, kg.
    pub needs_kg: f64,
    /// Of goals, kg.
    pub goals_kg: f64,
    /// The need it fills most, if any.
    pub need: Option<Food>,
    /// The goal it fills, if any.
    pub goal: Option<String>,
}

impl Lack {
    /// Returns what a harvest would fill: eaten in the week it is ready or while it holds in the bed, then put by.
    #[must_use]
    pub fn filled(
        &self,
        garden: &Garden,
        crop: CropId,
        (first, kg_by_week): (Week, &[f64]),
    ) -> Filled {
        let holds = (garden.crop(crop).harvest.holds_days / 7.0).ceil() as usize;
        let mut best = Filled::default();
        let total: f64 = kg_by_week.iter().sum();
        for (need, short) in &self.needs {
            if !serves(garden, crop, need.food) {
                continue;
            }
            let mut ready = kg_by_week.to_vec();
            let mut eaten = 0.0;
            for (w, &short_kg) in short.iter().enumerate() {
                // The oldest that still stands is eaten first.
                let now = self.first.plus(w as i64).since(first);
                let Ok(now) = usize::try_from(now) else {
                    continue;
                };
                let mut wanted = short_kg;
                for kg in ready
                    .iter_mut()
                    .take(now + 1)
                    .skip(now.saturating_sub(holds))
                {
                    let take = wanted.min(*kg);
                    *kg -= take;
                    wanted -= take;
                    eaten += take;
                }
            }
            if eaten > best.needs_kg {
                best.needs_kg = eaten;
                best.need = Some(need.food);
            }
        }
        if let Some((name, _, kg)) = self
            .goals
            .iter()
            .find(|(_, crops, _)| crops.contains(&crop))
        {
            best.goals_kg = kg.min((total - best.needs_kg).max(0.0));
            best.goal = Some(name.clone()).filter(|_| best.goals_kg > 0.0);
        }
        best
    }
}
