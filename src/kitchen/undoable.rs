//! From a season's food to the work the certificate weighs: only what goals ask for, at the least hands it can take.
//!
//! Every simplification here errs towards less work, so that what is said not to fit truly does not: the quickest product
//! of each crop counts, set-ups are left out, cooks work without pause, and food beyond what the goals still ask for is
//! not due. A crop that can only be canned comes in pieces of one load.

use super::certificate::{WorkLot, earliest_last_day_first};
use super::context::Context;
use super::plan::bridge::SurplusLot;
use super::wanted::KitchenProduct;
use crate::garden::preserving::Appliance;

/// Returns the hours of hand work each day of the horizon offers, all cooks together.
#[must_use]
pub fn capacity_hours(ctx: &Context) -> Vec<f64> {
    let calendar = &ctx.calendar;
    (calendar.open_min.iter().zip(&calendar.hands))
        .zip(0..)
        .map(|((minutes, hands), day): (_, u16)| {
            if day < calendar.start {
                0.0
            } else {
                minutes * hands / 60.0 / ctx.minutes_factor
            }
        })
        .collect()
}

/// Returns the work of a season's food, without what goals no longer ask for.
///
/// **Units**: hours; days counted from the first day of the horizon.
#[must_use]
pub fn work_lots(ctx: &Context, lots: &[SurplusLot]) -> Vec<WorkLot> {
    work_of_crops(ctx, lots).0
}

/// Returns the work of a season's food, and of each lot its crop, as an index into the kitchen's crops.
///
/// **Units**: hours; days counted from the first day of the horizon.
#[must_use]
pub fn work_of_crops(ctx: &Context, lots: &[SurplusLot]) -> (Vec<WorkLot>, Vec<usize>) {
    let capacity = capacity_hours(ctx);
    let mut crops: Vec<usize> = Vec::new();
    let mut work: Vec<WorkLot> = Vec::new();
    for lot in lots {
        let crop = usize::from(lot.crop);
        let Some((hours_per_kg, piece_hours)) = least_hours(ctx, crop) else {
            continue;
        };
        let release = usize::try_from(lot.day.max(i32::from(ctx.calendar.start))).unwrap_or(0);
        let last = usize::try_from(lot.last_day).unwrap_or(0).max(release);
        let hours = lot.kg * hours_per_kg;
        crops.push(crop);
        work.push(WorkLot {
            release,
            last,
            hours,
            piece_hours,
        });
    }
    // Crops that share goals are weighed together: what they have beyond the goals need not be done, and what cannot
    // be done anyway is let go first.
    let (_, left) = earliest_last_day_first(&work, &capacity);
    for (members, wanted_kg) in together(ctx) {
        let in_it = |lot: usize| members.contains(&crops[lot]);
        let kg = |lot: usize, hours: f64| {
            hours / least_hours(ctx, crops[lot]).map_or(1.0, |(per_kg, _)| per_kg.max(1e-9))
        };
        let have: f64 = (0..work.len())
            .filter(|&l| in_it(l))
            .map(|l| kg(l, work[l].hours))
            .sum();
        let mut excess = (have - wanted_kg).max(0.0);
        for round in 0..2 {
            for lot in (0..work.len()).rev().filter(|&l| in_it(l)) {
                let spare = if round == 0 {
                    left[lot]
                } else {
                    work[lot].hours
                };
                let hours = spare.min(work[lot].hours);
                let let_go = kg(lot, hours).min(excess);
                if hours > 0.0 && let_go > 0.0 {
                    work[lot].hours -= hours * let_go / kg(lot, hours);
                    excess -= let_go;
                }
            }
        }
    }
    let left = work.into_iter().zip(crops);
    left.filter(|(w, _)| w.hours > 1e-9).unzip()
}

/// Returns the fewest hand hours a kilogram of a crop can take, and the hours of one canner load if it can only be canned.
fn least_hours(ctx: &Context, crop: usize) -> Option<(f64, f64)> {
    let mut best: Option<(f64, f64)> = None;
    let mut piece = f64::INFINITY;
    for product in products(ctx, crop) {
        let rates = &ctx.rates[product];
        let part = (ctx.products[product].parts.iter()).find(|p| usize::from(p.crop) == crop)?;
        let per_kg = part.rates.prep_min_per_kg + rates.per_container_min / rates.kg_per_container;
        let load = if rates.appliance == Appliance::Canner {
            rates.clock_min / 60.0
        } else {
            0.0
        };
        piece = piece.min(load);
        let least = best.map_or(f64::INFINITY, |b| b.0);
        best = Some((least.min(per_kg.max(0.0) / 60.0), piece));
    }
    best
}

/// Returns the products a crop can go to, those that only gather for another included.
fn products(ctx: &Context, crop: usize) -> impl Iterator<Item = usize> {
    let chosen = ctx.crops[crop].choices.iter();
    chosen.flat_map(|choice| {
        let own = usize::from(choice.product);
        let gatherer = ctx.products[own].gathered_by.map(usize::from);
        std::iter::once(own).chain(gatherer)
    })
}

/// Returns sets of crops that share goals, each with the kilograms its goals still ask for.
fn together(ctx: &Context) -> Vec<(Vec<usize>, f64)> {
    let mut sets: Vec<(Vec<usize>, f64)> = Vec::new();
    for goal in &ctx.goals {
        let of_goal: Vec<&KitchenProduct> = (goal.products.iter())
            .map(|&p| &ctx.products[usize::from(p)])
            .collect();
        let kg = |p: &&KitchenProduct| match p.rotation {
            // Made again and again: what is eaten sets no bound that is known here.
            Some(_) => f64::INFINITY,
            None => goal.to_make * p.kg_per_container,
        };
        let wanted = of_goal.iter().map(kg).fold(0.0, f64::max);
        let mut crops: Vec<usize> = (of_goal.iter().flat_map(|p| &p.parts))
            .map(|part| usize::from(part.crop))
            .collect();
        let mut total = wanted;
        sets.retain(|(other, other_kg)| {
            let shares = other.iter().any(|c| crops.contains(c));
            if shares {
                crops.extend(other);
                total += other_kg;
            }
            !shares
        });
        crops.sort_unstable();
        crops.dedup();
        sets.push((crops, total));
    }
    sets
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::units::Mass;
    use crate::kitchen::certificate::certify;
    use crate::kitchen::context::compile;
    use crate::kitchen::fixture::{self, monday};

    fn lot(crop: u16, day: i32, last_day: i32, lb: f64) -> SurplusLot {
        SurplusLot {
            crop,
            day,
            last_day,
            kg: Mass::from_lb(lb).kg(),
            not_canned: false,
        }
    }

    /// By hand: 90 lb of beans take 7½ h of cutting and 3 h of filling 60 bags; four hours are open on the Saturday.
    #[test]
    fn a_glut_of_beans_by_hand() {
        let mut garden = fixture::garden();
        fixture::plant(&mut garden, "snap bean");
        fixture::goal(&mut garden, &[fixture::FROZEN_BEANS], 200.0);
        let lots = [lot(0, 3, 6, 90.0)];
        let ctx = compile(&garden, monday(), 14, monday());
        let found = certify(&work_lots(&ctx, &lots), &capacity_hours(&ctx));
        assert!((found.undoable_hours - 6.5).abs() < 1e-9, "{found:?}");
        assert_eq!((found.proof[0].first, found.proof[0].last), (3, 6));
        // With only 30 bags wanted, half of it need not be done.
        let goals = garden.household.goals.as_mut().unwrap();
        goals[0].containers = 30.0;
        let ctx = compile(&garden, monday(), 14, monday());
        let found = certify(&work_lots(&ctx, &lots), &capacity_hours(&ctx));
        assert!((found.undoable_hours - 1.25).abs() < 1e-9, "{found:?}");
    }

    /// A crop that can only be canned needs a day that holds its load.
    #[test]
    fn a_load_needs_its_day() {
        let mut garden = fixture::garden();
        fixture::plant(&mut garden, "snap bean");
        fixture::goal(&mut garden, &[fixture::CANNED_BEANS], 7.0);
        let ctx = compile(&garden, monday(), 14, monday());
        let wednesday = [lot(0, 0, 3, 14.0)];
        let found = certify(&work_lots(&ctx, &wednesday), &capacity_hours(&ctx));
        assert_eq!(found.no_day, [0], "1½ h do not hold a load");
        let saturday = [lot(0, 3, 6, 14.0)];
        let found = certify(&work_lots(&ctx, &saturday), &capacity_hours(&ctx));
        assert_eq!(found.undoable_hours, 0.0);
    }
}
