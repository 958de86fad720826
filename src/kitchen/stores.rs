//! The shelf over the year: what is made, what is eaten, what passes its keeping time, and the freezer's room.
//!
//! A product is eaten at its weekly rate in weeks in which none of its crops was eaten fresh; refrigerator products
//! every week. The oldest container goes first.

use super::context::Context;
use super::crop_set::CropSet;
use super::limits::Limits;
use crate::garden::preserving::Store;

/// Containers on the shelf in one draw.
#[derive(Debug, Clone)]
pub(super) struct Shelf {
    /// Batches of each product: day made (negative before the horizon) and containers, oldest first.
    batches: Vec<Vec<(i32, f64)>>,
    /// Containers of each product.
    pub(super) now: Vec<f64>,
}

impl Shelf {
    pub(super) fn new(products: usize) -> Self {
        Self {
            batches: vec![Vec::new(); products],
            now: vec![0.0; products],
        }
    }

    pub(super) fn reset(&mut self, ctx: &Context) {
        for (p, product) in ctx.products.iter().enumerate() {
            let batches = &mut self.batches[p];
            batches.clear();
            for (date, n) in &product.stock {
                let day = (*date - ctx.calendar.first).num_days();
                batches.push((i32::try_from(day).unwrap_or(i32::MIN), *n));
            }
            self.now[p] = product.stock_now();
        }
    }

    /// Puts containers on the shelf; a negative number takes from the newest, as when gathered food is finished.
    pub(super) fn add(&mut self, product: usize, day: u16, containers: f64) {
        self.now[product] += containers;
        let batches = &mut self.batches[product];
        if containers >= 0.0 {
            match batches.last_mut() {
                Some((d, n)) if *d == i32::from(day) => *n += containers,
                _ => batches.push((i32::from(day), containers)),
            }
            return;
        }
        let mut take = -containers;
        while take > 0.0 {
            let Some((_, n)) = batches.last_mut() else {
                break;
            };
            let t = n.min(take);
            *n -= t;
            take -= t;
            if *n <= 1e-12 {
                batches.pop();
            }
        }
    }

    /// Returns the free room in the freezer, litres.
    pub(super) fn freezer_room_l(&self, ctx: &Context) -> f64 {
        ctx.equipment.freezer_l - self.freezer_used_l(ctx)
    }

    /// Returns the room taken in the freezer, litres.
    pub(super) fn freezer_used_l(&self, ctx: &Context) -> f64 {
        ctx.products
            .iter()
            .zip(&self.now)
            .filter(|(p, _)| p.store == Store::Freezer)
            .map(|(p, n)| p.room_l * n)
            .sum()
    }

    /// Lives through the end of a week: eats, and throws out what passed its keeping time into `past_keeping`.
    pub(super) fn end_of_week(
        &mut self,
        ctx: &Context,
        day: u16,
        fresh_this_week: &CropSet,
        limits: &mut Limits,
        past_keeping: &mut [f64],
    ) {
        for (p, product) in ctx.products.iter().enumerate() {
            if self.now[p] <= 0.0 {
                continue;
            }
            let batches = &mut self.batches[p];
            while let Some(&(made, n)) = batches.first() {
                if i32::from(day) - made <= product.keeps_days {
                    break;
                }
                past_keeping[p] += n;
                self.now[p] -= n;
                limits.give_back(product, n);
                batches.remove(0);
            }
            let kept_for_later =
                product.store != Store::Fridge && product.crops.meets(fresh_this_week);
            if product.eat_per_week <= 0.0 || kept_for_later {
                continue;
            }
            let mut eat = product.eat_per_week.min(self.now[p]);
            limits.give_back(product, eat);
            self.now[p] -= eat;
            while eat > 0.0 {
                let Some((_, n)) = batches.first_mut() else {
                    break;
                };
                let t = n.min(eat);
                *n -= t;
                eat -= t;
                if *n <= 1e-12 {
                    batches.remove(0);
                }
            }
            if batches.is_empty() {
                self.now[p] = 0.0;
            }
        }
    }
}
