//! Which waiting lots a product may take today.
//!
//! A lot must be within the recipe's time and, for jars, fit for canning; and it must not be meant for something better
//! whose session still lies ahead. Knows lots and one goal's order of preference; no amounts wanted.

use super::calendar::NEVER;
use super::lots::{Lot, LotQueue};
use super::wanted::KitchenProduct;

/// What a product asks of a lot today.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fit<'a> {
    day: i32,
    within_days: Option<u16>,
    canned: bool,
    /// Products for which a planned lot is left, because the goal prefers them.
    left_for: &'a [u16],
}

impl<'a> Fit<'a> {
    pub(super) fn new(product: &KitchenProduct, day: u16, left_for: &'a [u16]) -> Self {
        Self {
            day: i32::from(day),
            within_days: product.within_days,
            canned: product.canned,
            left_for,
        }
    }

    /// Says whether the product may take a lot.
    pub(super) fn suits(self, lot: &Lot) -> bool {
        self.within_days
            .is_none_or(|w| lot.picked + i32::from(w) >= self.day)
            && !(self.canned && lot.no_can)
            && !self.is_planned(lot)
    }

    /// Says whether a lot waits for a later session of something preferred.
    ///
    /// A trigger is never after the last day on which its product can be made, so what lies ahead can still be done.
    fn is_planned(self, lot: &Lot) -> bool {
        !self.left_for.is_empty()
            && lot.trigger != NEVER
            && i32::from(lot.trigger) > self.day
            && self.left_for.contains(&lot.plan)
    }

    /// Sums the lots that the product may take, kg.
    pub(super) fn sum_kg(self, queue: &LotQueue) -> f64 {
        if self.within_days.is_none() && !self.canned && self.left_for.is_empty() {
            return queue.kg;
        }
        let suiting = queue.lots.iter().filter(|l| self.suits(l));
        suiting.map(|l| l.kg).sum()
    }
}
