//! The gathered draws summed up: hours by week, the chance of overload, its drivers, the shelf and the frost week.
//!
//! Knows only accumulated draws and the context.

use super::accumulate::{Accumulator, first_week};
use super::context::Context;
use super::draw::Went;
use super::forecast::{
    CropSeason, CropWeek, Driver, FrostWeek, GoalSeason, KitchenForecast, KitchenSeason,
    KitchenWeek, ProductSeason, Spread,
};
use super::unavoidable::unavoidable;
use super::vessels;
use crate::garden::preserving::Store;
use rayon::prelude::*;

/// Sums up chunks of draws, given in their order.
#[must_use]
pub fn overload(ctx: &Context, chunks: Vec<Accumulator>) -> KitchenForecast {
    let mut chunks = chunks.into_iter();
    let mut all = chunks.next().unwrap_or_else(|| Accumulator::new(ctx, 0));
    for chunk in chunks {
        all.append(chunk);
    }
    let cal = &ctx.calendar;
    let first_week = first_week(ctx);
    KitchenForecast {
        draws: all.draws,
        weeks: (first_week..cal.weeks.len())
            .into_par_iter()
            .map(|w| week(ctx, &all, w))
            .collect(),
        shelf_weeks: all.looks.iter().map(|w| w - first_week).collect(),
        season: season(ctx, &all),
        crops: crops(ctx, &all),
        crop_weeks: crop_weeks(ctx, &all, first_week),
        products: products(ctx, &all),
        goals: goals(ctx, &all),
        unavoidable: unavoidable(ctx, &all.undoable),
        notes: ctx.notes().to_vec(),
        books_off: all.sums.books_off,
    }
}

/// Computes the spread of some values; all zero when there are none.
///
/// Source: Hyndman and Fan 1996, type 7.
#[must_use]
pub fn spread(values: &mut [f64]) -> Spread {
    // Most weeks of winter need no kitchen in any draw.
    if values.iter().all(|x| *x == 0.0) {
        return Spread::default();
    }
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    Spread {
        p10: quantile(values, 0.1),
        p50: quantile(values, 0.5),
        p90: quantile(values, 0.9),
        mean,
    }
}

/// Computes a quantile by selection; the slice is reordered.
pub(super) fn quantile(values: &mut [f64], p: f64) -> f64 {
    let h = (values.len() - 1) as f64 * p;
    let low = h.floor() as usize;
    let (_, &mut x, rest) = values.select_nth_unstable_by(low, f64::total_cmp);
    let next = rest.iter().copied().fold(f64::INFINITY, f64::min);
    if next.is_finite() {
        x + (h - low as f64) * (next - x)
    } else {
        x
    }
}

fn column(values: &[f32], width: usize, at: usize, factor: f64) -> Vec<f64> {
    values
        .chunks_exact(width.max(1))
        .map(|row| f64::from(row[at]) * factor)
        .collect()
}

fn week(ctx: &Context, all: &Accumulator, w: usize) -> KitchenWeek {
    let n = (all.draws.max(1)) as f64;
    let s = &all.sums;
    let crops = ctx.crops.len();
    let flow = |went: Went| -> f64 {
        (0..crops)
            .map(|c| s.flows[(w * crops + c) * Went::COUNT + went as usize])
            .sum::<f64>()
            / n
    };
    let mut hours = column(&all.week_min, ctx.calendar.weeks.len(), w, 1.0 / 60.0);
    let products = ctx.products.len();
    let weeks = ctx.calendar.weeks.len();
    let freezer_l = ctx
        .products
        .iter()
        .enumerate()
        .filter(|(_, p)| p.store == Store::Freezer)
        .map(|(p, product)| s.shelf[p * weeks + w] / n * product.room_l)
        .sum::<f64>()
        + ctx.equipment.freezer_other_l;
    KitchenWeek {
        week: ctx.calendar.weeks[w],
        hours: spread(&mut hours),
        capacity_hours: ctx.calendar.week_min[w] / 60.0,
        chance_over: s.over_draws[w] / n,
        mean_hours_over: s.over_min[w] / n / 60.0,
        sessions: s.sessions[w] / n,
        kg_picked: flow(Went::Picked),
        kg_fresh: flow(Went::Fresh),
        kg_put_by: flow(Went::PutBy),
        kg_standing: s.standing[w] / n,
        kg_to_give: flow(Went::Given),
        kg_lost: flow(Went::Wasted) + flow(Went::LostStanding) + flow(Went::LostAway),
        drivers: drivers(ctx, all, w, products),
        picking_hours: s.pick_min[w] / n / 60.0,
        freezer_l,
    }
}

fn drivers(ctx: &Context, all: &Accumulator, w: usize, products: usize) -> Vec<Driver> {
    let s = &all.sums;
    let mut drivers: Vec<Driver> = (0..products)
        .map(|p| Driver {
            name: ctx.products[p].name.clone(),
            share: s.over_product_min[w * products + p],
        })
        .collect();
    if ctx.count_picking {
        drivers.push(Driver {
            name: "picking".to_owned(),
            share: s.over_pick_min[w],
        });
    }
    let total: f64 = drivers.iter().map(|d| d.share).sum();
    drivers.retain(|d| d.share > 0.0);
    for d in &mut drivers {
        d.share /= total;
    }
    drivers.sort_by(|a, b| b.share.total_cmp(&a.share));
    drivers
}

fn season(ctx: &Context, all: &Accumulator) -> KitchenSeason {
    let n = all.draws.max(1) as f64;
    let weeks = ctx.calendar.weeks.len().max(1);
    let as_f64 = |v: &[u16]| v.iter().map(|x| f64::from(*x)).collect::<Vec<_>>();
    let mut hours: Vec<f64> = all
        .week_min
        .chunks_exact(weeks)
        .map(|row| row.iter().map(|m| f64::from(*m)).sum::<f64>() / 60.0)
        .collect();
    let any = all.weeks_over.iter().filter(|x| **x > 0).count();
    let other_l = ctx.equipment.freezer_other_l;
    let mut peak: Vec<f64> = all
        .freezer_peak_l
        .iter()
        .map(|x| f64::from(*x) + other_l)
        .collect();
    KitchenSeason {
        chance_any_over: any as f64 / n,
        weeks_over: spread(&mut as_f64(&all.weeks_over)),
        hours: spread(&mut hours),
        sessions: spread(&mut as_f64(&all.sessions)),
        kg_past_best: all.sums.past_best / n,
        kg_freezer_refused: all.sums.freezer_refused / n,
        freezer_peak_l: spread(&mut peak),
        freezer_now_l: vessels::freezer_now_l(ctx),
        vessels: vessels::vessels(ctx, all),
        frost: frost_week(ctx, all),
    }
}

fn frost_week(ctx: &Context, all: &Accumulator) -> Option<FrostWeek> {
    if all.frost.is_empty() {
        return None;
    }
    let cal = &ctx.calendar;
    let mut hours: Vec<f64> = all
        .frost
        .iter()
        .map(|(_, m)| f64::from(*m) / 60.0)
        .collect();
    let mut days: Vec<u16> = all.frost.iter().map(|(d, _)| *d).collect();
    days.sort_unstable();
    let mut by_week = vec![0_usize; cal.weeks.len()];
    for d in &days {
        by_week[usize::from(cal.week_of[usize::from(*d)])] += 1;
    }
    let most = by_week.iter().copied().max().unwrap_or(0);
    let likeliest = by_week.iter().position(|k| *k == most).unwrap_or(0);
    let at = |p: f64| {
        let h = (days.len() - 1) as f64 * p;
        cal.date(days[(h + 0.5).floor() as usize])
    };
    Some(FrostWeek {
        chance: all.frost.len() as f64 / all.draws.max(1) as f64,
        hours: spread(&mut hours),
        likeliest: cal.weeks[likeliest],
        from: at(0.1),
        until: at(0.9),
    })
}

fn crops(ctx: &Context, all: &Accumulator) -> Vec<CropSeason> {
    let n = all.draws.max(1) as f64;
    let crops = ctx.crops.len();
    let mut rows: Vec<CropSeason> = ctx
        .crops
        .iter()
        .map(|c| CropSeason {
            crop: c.id,
            name: c.name.clone(),
            kg: [0.0; Went::COUNT],
        })
        .collect();
    for (i, kg) in all.sums.flows.iter().enumerate() {
        let (cell, went) = (i / Went::COUNT, i % Went::COUNT);
        rows[cell % crops].kg[went] += kg / n;
    }
    rows
}

fn crop_weeks(ctx: &Context, all: &Accumulator, first_week: usize) -> Vec<CropWeek> {
    let n = all.draws.max(1) as f64;
    let crops = ctx.crops.len();
    let mut rows = Vec::new();
    for (cell, uses) in all.sums.flows.chunks_exact(Went::COUNT).enumerate() {
        let w = cell / crops;
        if w >= first_week && uses.iter().any(|kg| *kg > 0.0) {
            let mut kg = [0.0; Went::COUNT];
            for (into, from) in kg.iter_mut().zip(uses) {
                *into = from / n;
            }
            rows.push(CropWeek {
                week: ctx.calendar.weeks[w],
                crop: ctx.crops[cell % crops].id,
                kg,
            });
        }
    }
    rows
}

fn products(ctx: &Context, all: &Accumulator) -> Vec<ProductSeason> {
    let n = all.draws.max(1) as f64;
    let looks = all.looks.len();
    let width = ctx.products.len() * looks;
    ctx.products
        .par_iter()
        .enumerate()
        .map(|(p, product)| {
            let mut made = column(&all.made, ctx.products.len(), p, 1.0);
            let made = spread(&mut made);
            let now = product.stock_now();
            let with_stock = Spread {
                p10: made.p10 + now,
                p50: made.p50 + now,
                p90: made.p90 + now,
                mean: made.mean + now,
            };
            ProductSeason {
                product: product.id,
                name: product.name.clone(),
                store: product.store,
                now,
                oldest: product.stock.first().map(|(date, _)| *date),
                made,
                containers: with_stock,
                shelf: (0..looks)
                    .map(|look| spread(&mut column(&all.shelf, width, p * looks + look, 1.0)))
                    .collect(),
                past_keeping: all.sums.past_keeping[p] / n,
                litres: with_stock.mean * product.room_l,
                hours: all.sums.product_min[p] / n / 60.0,
            }
        })
        .collect()
}

fn goals(ctx: &Context, all: &Accumulator) -> Vec<GoalSeason> {
    let n = all.draws.max(1) as f64;
    ctx.goals
        .par_iter()
        .enumerate()
        .map(|(g, goal)| {
            let in_store = if goal.wanted.is_finite() {
                goal.products
                    .iter()
                    .map(|p| &ctx.products[usize::from(*p)])
                    .filter(|p| p.rotation.is_none())
                    .map(super::wanted::KitchenProduct::stock_now)
                    .sum()
            } else {
                0.0
            };
            let mut there = column(&all.goal_made, ctx.goals.len(), g, 1.0);
            for x in &mut there {
                *x += in_store;
            }
            let wanted = (goal.wanted.is_finite() && goal.wanted > 0.0 && !goal.in_rotation)
                .then_some(goal.wanted);
            // A goal counts as reached when less than a twentieth of a container is missing: no more is made for that.
            let reached = |want: f64| there.iter().filter(|x| **x > want - 0.0501).count();
            let chance = wanted.map(|want| reached(want) as f64 / n);
            GoalSeason {
                products: goal
                    .products
                    .iter()
                    .map(|p| ctx.products[usize::from(*p)].name.clone())
                    .collect(),
                ids: goal
                    .products
                    .iter()
                    .map(|p| ctx.products[usize::from(*p)].id)
                    .collect(),
                wanted,
                by: goal.by,
                chance,
                containers: spread(&mut there),
            }
        })
        .collect()
}
