//! Jars, lids and bags that the season fills, against what is on hand; and the freezer's room taken today.
//!
//! Counts what is made; jars that come back empty are not set against it. Knows only accumulated draws and the context.

use super::accumulate::Accumulator;
use super::context::Context;
use super::forecast::{VesselKind, VesselSeason};
use super::overload::spread;
use super::wanted::{KitchenProduct, Vessel};
use crate::garden::preserving::Store;

/// A part of a container that small is rounding and begins no new one.
const NOTHING: f64 = 0.01;

/// Sums up jars, lids and bags.
pub(super) fn vessels(ctx: &Context, all: &Accumulator) -> Vec<VesselSeason> {
    let e = &ctx.equipment;
    [
        (VesselKind::Jar, e.jars),
        (VesselKind::Lid, e.lids),
        (VesselKind::Bag, e.bags),
    ]
    .into_iter()
    .map(|(what, on_hand)| {
        let mut filled: Vec<f64> = all
            .made
            .chunks_exact(ctx.products.len().max(1))
            .map(|made| {
                ctx.products
                    .iter()
                    .zip(made)
                    .filter(|(product, _)| takes(product, what))
                    .map(|(_, n)| (f64::from(*n) - NOTHING).ceil().max(0.0))
                    .sum()
            })
            .collect();
        let known = on_hand.is_finite();
        let used_up = filled.iter().filter(|n| **n >= on_hand).count();
        VesselSeason {
            what,
            chance_used_up: known.then(|| used_up as f64 / all.draws.max(1) as f64),
            on_hand: known.then_some(on_hand),
            filled: spread(&mut filled),
        }
    })
    .collect()
}

fn takes(product: &KitchenProduct, what: VesselKind) -> bool {
    match what {
        VesselKind::Jar => product.vessel == Vessel::Jar,
        VesselKind::Lid => product.vessel == Vessel::Jar && product.canned,
        VesselKind::Bag => product.vessel == Vessel::Bag,
    }
}

/// Returns the room taken in the freezer today, litres.
pub(super) fn freezer_now_l(ctx: &Context) -> f64 {
    ctx.products
        .iter()
        .filter(|p| p.store == Store::Freezer)
        .map(|p| p.stock_now() * p.room_l)
        .sum::<f64>()
        + ctx.equipment.freezer_other_l
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::day_by_day::{Scratch, day_by_day};
    use super::super::fixture::{self, goal, monday, pickings, plant};
    use super::super::{accumulate::Accumulator, context::compile, overload::overload};
    use super::*;
    use crate::garden::record::StoreChange;
    use crate::garden::units::Volume;

    /// Beans to freeze and radishes to pickle: bags are counted as begun, pickles take jars but no lids.
    #[test]
    fn what_is_filled_is_counted_by_kind() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        g.household.on_hand.bags = Some(3.0);
        g.household.kitchen.freezer_free = Some(Volume::from_ft3(5.0));
        let product = g.product(fixture::FROZEN_GREENS).clone();
        g.record.stores.push(StoreChange {
            date: monday(),
            product: fixture::FROZEN_GREENS,
            change: 2.0,
            note: None,
        });
        let ctx = compile(&g, monday(), 56, monday());
        // The greens are no goal of this household, but their bags fill the freezer all the same.
        let room_l = 2.0 * super::super::offered::packed(&g, &product).1;
        assert!((freezer_now_l(&ctx) - room_l).abs() < 1e-9 && room_l > 0.5);
        assert!((ctx.equipment.freezer_l + room_l - Volume::from_ft3(5.0).l()).abs() < 1e-9);

        let season = fixture::season(&g, pickings(beans, 0, 7, 6, 9.0));
        let mut scratch = Scratch::new(&ctx);
        let mut all = Accumulator::new(&ctx, 1);
        let draw = day_by_day(&ctx, &season, &mut scratch);
        let made = draw.made[0];
        all.add(&ctx, draw);
        let found = overload(&ctx, vec![all]).season.vessels;
        let of = |what| found.iter().find(|v| v.what == what).unwrap();
        let bags = of(VesselKind::Bag);
        assert!(made > 2.0);
        assert!(
            (bags.filled.p50 - made.ceil()).abs() < 1e-9,
            "{bags:?} {made}"
        );
        assert_eq!(bags.on_hand, Some(3.0));
        assert_eq!(bags.chance_used_up, Some(1.0));
        assert_eq!(of(VesselKind::Jar).filled.p90, 0.0);
        assert_eq!(of(VesselKind::Jar).chance_used_up, None);
    }
}
