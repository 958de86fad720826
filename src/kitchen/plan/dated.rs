//! A plan in the household's own terms: dates, products and crops, as it is shown, edited by hand and checked again.

use super::bridge::{Bridge, PlannedWork, SurplusLot};
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use crate::kitchen::context::Context;
use chrono::{Days, NaiveDate, TimeDelta};

/// One product in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct DatedWork {
    /// Day of the session.
    pub date: NaiveDate,
    /// What is made.
    pub product: ProductId,
    /// Of which lots.
    pub takes: Vec<DatedTake>,
}

/// An amount of one lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DatedTake {
    /// Crop.
    pub crop: CropId,
    /// Day it was or will be picked.
    pub picked: NaiveDate,
    /// Last day on which it is fit.
    pub last_day: NaiveDate,
    /// Amount, kg.
    pub kg: f64,
    /// Whether it must not be canned.
    pub not_canned: bool,
}

impl DatedWork {
    /// Returns the amount made, kg.
    #[must_use]
    pub fn kg(&self) -> f64 {
        self.takes.iter().map(|t| t.kg).sum()
    }

    /// Returns the amount of each crop, in order of first mention, kg.
    #[must_use]
    pub fn by_crop(&self) -> Vec<(CropId, f64)> {
        let mut sums: Vec<(CropId, f64)> = Vec::new();
        for take in &self.takes {
            match sums.iter_mut().find(|(crop, _)| *crop == take.crop) {
                Some((_, kg)) => *kg += take.kg,
                None => sums.push((take.crop, take.kg)),
            }
        }
        sums
    }
}

/// Puts dates and crops to lots of food.
#[must_use]
pub fn dated_food(ctx: &Context, lots: &[SurplusLot]) -> Vec<DatedTake> {
    let date = |day: i32| ctx.calendar.first + TimeDelta::days(i64::from(day));
    let each = lots.iter().map(|lot| DatedTake {
        crop: ctx.crops[usize::from(lot.crop)].id,
        picked: date(lot.day),
        last_day: date(lot.last_day),
        kg: lot.kg,
        not_canned: lot.not_canned,
    });
    each.collect()
}

/// Puts dates, products and crops to a plan.
#[must_use]
pub fn dated(ctx: &Context, bridge: &Bridge, work: &[PlannedWork]) -> Vec<DatedWork> {
    let date = |day: i32| ctx.calendar.first + TimeDelta::days(i64::from(day));
    work.iter()
        .map(|w| DatedWork {
            date: ctx.calendar.first + Days::new(u64::from(w.day)),
            product: ctx.products[usize::from(w.product)].id,
            takes: w
                .takes
                .iter()
                .map(|&(lot, kg)| {
                    let lot = &bridge.lots[lot];
                    DatedTake {
                        crop: ctx.crops[usize::from(lot.crop)].id,
                        picked: date(lot.day),
                        last_day: date(lot.last_day),
                        kg,
                        not_canned: lot.not_canned,
                    }
                })
                .collect(),
        })
        .collect()
}
