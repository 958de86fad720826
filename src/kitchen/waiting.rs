//! What waits in the kitchen today: logged pickings, less what was put by and what was eaten since.
//!
//! A logged picking without a use waits. Containers added to the store use up the oldest waiting lots of their crops;
//! a seventh of the weekly need is taken off for each day since, because nobody writes down supper.
//! Knows nothing of what is still to come.

use super::needs;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::Food;
use crate::garden::record::Use;
use chrono::{Days, NaiveDate};

/// A lot that waits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaitingLot {
    /// Its crop.
    pub crop: CropId,
    /// Day it was picked.
    pub picked: NaiveDate,
    /// Last day at its best.
    pub best_by: NaiveDate,
    /// Last day on which it is fit.
    pub last_day: NaiveDate,
    /// Amount, kg.
    pub kg: f64,
}

/// Lists what waits on the morning of a day, oldest first; lots past their last day are included.
#[must_use]
pub fn on_hand(garden: &Garden, as_of: NaiveDate) -> Vec<WaitingLot> {
    let mut lots: Vec<WaitingLot> = garden
        .record
        .picked
        .iter()
        .filter(|p| p.went == Use::Waiting && p.date <= as_of)
        .map(|p| {
            // A row that stands for a week counts from its middle, but never from the future.
            let picked = if p.whole_week {
                (p.date + Days::new(3)).min(as_of)
            } else {
                p.date
            };
            let k = &garden.crop(p.crop).kitchen;
            WaitingLot {
                crop: p.crop,
                picked,
                best_by: picked + Days::new(k.best_days.max(0.0) as u64),
                last_day: picked + Days::new(k.last_days.max(0.0) as u64),
                kg: p.mass.kg(),
            }
        })
        .collect();
    lots.sort_by_key(|l| (l.picked, l.crop));
    let Some(first) = lots.first().map(|l| l.picked) else {
        return lots;
    };
    let needs = needs::effective(garden);
    let mut day = first;
    while day <= as_of {
        put_by_on(garden, day, &mut lots);
        if day < as_of && !garden.household.away.iter().any(|a| a.days.contains(day)) {
            for need in needs.iter().filter(|n| n.holds_on(day)) {
                eat(garden, need.food, need.per_week.kg() / 7.0, day, &mut lots);
            }
        }
        day = day + Days::new(1);
    }
    lots.retain(|l| l.kg > 1e-6);
    lots
}

fn put_by_on(garden: &Garden, day: NaiveDate, lots: &mut [WaitingLot]) {
    for change in &garden.record.stores {
        if change.date != day || change.change <= 0.0 {
            continue;
        }
        let product = garden.product(change.product);
        let mut kg = change.change * product.garden_mass_per_container().kg();
        for lot in lots.iter_mut() {
            if lot.picked <= day && product.parts.iter().any(|p| p.crop == lot.crop) {
                let t = lot.kg.min(kg);
                lot.kg -= t;
                kg -= t;
            }
        }
    }
}

fn eat(garden: &Garden, food: Food, want_kg: f64, day: NaiveDate, lots: &mut [WaitingLot]) {
    let mut want = want_kg;
    let mut fit: Vec<usize> = (0..lots.len())
        .filter(|&i| {
            let l = &lots[i];
            l.kg > 0.0
                && l.picked <= day
                && day <= l.last_day
                && needs::serves(garden, l.crop, food)
        })
        .collect();
    fit.sort_by_key(|&i| (lots[i].last_day, lots[i].picked));
    for i in fit {
        let t = lots[i].kg.min(want);
        lots[i].kg -= t;
        want -= t;
    }
}
