//! Spare hours on the last open day of a week: first what was gathered frozen is finished, then what stands comes in.
//!
//! Whatever is added fits into the hours of the day and of the week, so that it never overloads them.

use super::allocate::{From, day_holds, make, want_kg};
use super::context::Context;
use super::counted::{count_made, work_of};
use super::minutes;
use super::scratch::Scratch;
use super::sessions_by_rule::is_open;
use crate::garden::preserving::Appliance;

/// Returns what the session takes so far, minutes.
fn minutes_so_far(ctx: &Context, s: &Scratch, day: u16) -> f64 {
    let hands = ctx.calendar.hands[usize::from(day)];
    minutes::session(&ctx.rates, &s.allocation.works, hands, &mut []).minutes * ctx.minutes_factor
}

/// Returns the minutes left today that are also left in the week.
fn spare_min(ctx: &Context, s: &Scratch, day: u16) -> f64 {
    let cal = &ctx.calendar;
    let week = usize::from(cal.week_of[usize::from(day)]);
    let left = cal.week_min[week] - s.out.week_min[week];
    (cal.open_min[usize::from(day)].min(left) - minutes_so_far(ctx, s, day)) / ctx.minutes_factor
}

/// Fills spare hours on the last open day of a week: first what was gathered frozen, then what stands.
pub(super) fn fill_spare(ctx: &Context, s: &mut Scratch, day: u16) {
    for g in 0..ctx.goals.len() {
        for &product in &ctx.goals[g].products {
            if s.gathered_kg[usize::from(product)] > 0.0 {
                finish_gathered(ctx, s, day, g, product);
            }
        }
    }
    if s.allocation.spare_set.is_empty() {
        return;
    }
    // Stays true until something is made.
    let mut spare = spare_min(ctx, s, day);
    for g in 0..ctx.goals.len() {
        if !ctx.goals[g].crops.meets(&s.allocation.spare_set) {
            continue;
        }
        for &product in &ctx.goals[g].products {
            if spare <= 0.0 {
                return;
            }
            let p = &ctx.products[usize::from(product)];
            if !p.crops.meets(&s.allocation.spare_set)
                || !is_open(ctx, s, g, product)
                || !day_holds(ctx, s, day, product)
            {
                continue;
            }
            let fits = fitting_kg(ctx, s, day, product, spare);
            if fits <= 0.0 {
                continue;
            }
            let cap = want_kg(ctx, s, g, product).min(fits);
            let least = p.least_lot_kg.min(want_kg(ctx, s, g, product));
            let mut made = make(ctx, s, day, g, product, From::Standing, cap, true);
            if made <= 0.0 && cap >= least {
                made = make(ctx, s, day, g, product, From::Standing, cap, false);
            }
            if made > 0.0 {
                spare = spare_min(ctx, s, day);
            }
        }
    }
}

/// Returns how much more of a product surely fits into the spare minutes, kg.
///
/// Counts hands and appliance one after the other, so that the session can only turn out shorter.
fn fitting_kg(ctx: &Context, s: &Scratch, day: u16, product: u16, spare_min: f64) -> f64 {
    let pi = usize::from(product);
    let (p, r) = (&ctx.products[pi], &ctx.rates[pi]);
    let hands = ctx.calendar.hands[usize::from(day)];
    let works = &s.allocation.works;
    let mut fixed = r.per_container_min / hands;
    if r.appliance != Appliance::Canner {
        fixed += r.per_batch_min / hands;
    }
    if works.is_empty() {
        fixed += minutes::KITCHEN_SETUP_MIN;
    }
    let group = works
        .iter()
        .any(|w| ctx.rates[usize::from(w.product)].setup_group == r.setup_group);
    fixed += if group { r.setup_more_min } else { r.setup_min };
    let prep = p
        .parts
        .iter()
        .map(|part| part.rates.prep_min_per_kg)
        .fold(0.0, f64::max);
    let hand_per_kg = (prep + r.per_container_min / p.kg_per_container) / hands;
    let spare = spare_min - fixed;
    if r.appliance == Appliance::Canner {
        let load_kg = r.load_containers * p.kg_per_container;
        let per_load = r.per_batch_min / hands + r.clock_min + hand_per_kg * load_kg;
        return (spare / per_load).floor().max(0.0) * load_kg;
    }
    let pot_kg = p
        .parts
        .iter()
        .map(|part| part.rates.pot_kg)
        .fold(f64::INFINITY, f64::min);
    if r.appliance == Appliance::Pot && pot_kg > 0.0 && pot_kg.is_finite() {
        let per_kg = hand_per_kg + (r.clock_min + r.per_batch_min / hands) / pot_kg;
        return (spare - r.clock_min) / per_kg;
    }
    spare / hand_per_kg.max(1e-9)
}

/// Returns the garden weight of one whole load, or of the smallest lot where no canner is used, kg.
pub(super) fn load_kg(ctx: &Context, product: usize) -> f64 {
    let (p, r) = (&ctx.products[product], &ctx.rates[product]);
    match r.appliance {
        Appliance::Canner => r.load_containers * p.kg_per_container,
        _ => p.least_lot_kg.max(p.kg_per_container),
    }
}

/// Finishes whole loads of what was gathered frozen, as many as fit.
fn finish_gathered(ctx: &Context, s: &mut Scratch, day: u16, goal: usize, product: u16) {
    let pi = usize::from(product);
    let (p, r) = (&ctx.products[pi], &ctx.rates[pi]);
    let Some(gatherer) = p.gathered_by.map(usize::from) else {
        return;
    };
    let load_kg = load_kg(ctx, pi);
    let wanted = want_kg(ctx, s, goal, product);
    let room = s.limits.most_kg(p, r.appliance, 0.0, s.allocation.room_l);
    let kg = s.gathered_kg[pi].min(wanted).min(room).min(fitting_kg(
        ctx,
        s,
        day,
        product,
        spare_min(ctx, s, day),
    ));
    let kg = (kg / load_kg + 1e-9).floor() * load_kg;
    if kg <= 0.0 {
        return;
    }
    let at = work_of(s, product);
    let shares: f64 = p.parts.iter().map(|part| part.greatest).sum();
    for part in &p.parts {
        s.allocation.works[at].add(kg * part.greatest / shares, part.rates);
    }
    s.gathered_kg[pi] -= kg;
    let frozen = kg / ctx.products[gatherer].kg_per_container;
    s.shelf.add(gatherer, day, -frozen);
    s.allocation.room_l += frozen * ctx.products[gatherer].room_l;
    count_made(ctx, s, day, goal, product, kg);
}
