//! One session put together: what waits goes to products in the order of the goals, and what stands fills spare time.
//!
//! What is kept back for fresh eating is no surplus. Less than a product's smallest lot is left, unless its set-up is
//! there anyway. Standing food comes in only with hours to spare, so that it never overloads a week.

use super::ahead::keep_ahead;
use super::context::Context;
use super::counted::{count_made, work_of, write_down};
use super::crop_set::CropSet;
use super::draw::{TaskPart, Went};
use super::fit::Fit;
use super::keep_back::keep_back;
use super::minutes::Work;
use super::mixing::{self, Ingredient};
use super::scratch::Scratch;
use super::sessions_by_rule::{gatherer, is_open, keeps_to_hours};
use super::spare::fill_spare;
use super::standing::{count_picking, note};

/// The session being put together.
#[derive(Debug, Clone)]
pub(super) struct Allocation {
    /// Waiting food that is not kept back, kg a crop.
    pub(super) usable: Vec<f64>,
    /// Crops of which some is usable.
    pub(super) usable_set: CropSet,
    /// Crops of which more stands than is kept back.
    pub(super) spare_set: CropSet,
    /// Standing food that is kept back, kg a crop.
    pub(super) keep_standing: Vec<f64>,
    /// Waiting food that is kept back, kg a crop.
    pub(super) keep_waiting: Vec<f64>,
    /// Waiting food that is kept for a later session of a goal that ranks higher, kg a crop.
    pub(super) kept_ahead: Vec<f64>,
    pub(super) who: Vec<usize>,
    pub(super) works: Vec<Work>,
    /// Containers made of each work's product before this session.
    pub(super) made_before: Vec<f64>,
    pub(super) share: Vec<f64>,
    pub(super) ingredients: Vec<Ingredient>,
    pub(super) amounts: Vec<f64>,
    /// Which of the product's parts the ingredients are.
    pub(super) present: Vec<usize>,
    /// Free room in the freezer, litres.
    pub(super) room_l: f64,
}

impl Allocation {
    pub(super) fn new(ctx: &Context) -> Self {
        let n = ctx.crops.len();
        Self {
            usable: vec![0.0; n],
            usable_set: CropSet::new(n),
            spare_set: CropSet::new(n),
            keep_standing: vec![0.0; n],
            keep_waiting: vec![0.0; n],
            kept_ahead: vec![0.0; n],
            who: Vec::with_capacity(2 * n),
            works: Vec::with_capacity(ctx.products.len()),
            made_before: Vec::with_capacity(ctx.products.len()),
            share: Vec::with_capacity(ctx.products.len()),
            ingredients: Vec::with_capacity(16),
            amounts: Vec::with_capacity(16),
            present: Vec::with_capacity(16),
            room_l: 0.0,
        }
    }
}

/// Where food for a product comes from.
#[derive(Clone, Copy)]
pub(super) enum From<'a> {
    /// Waiting lots, but for those that wait for a later session of one of these products.
    Waiting(&'a [u16]),
    Standing,
}

/// Holds a session with all that waits, and with what stands if hours are left; returns whether there was anything to do.
pub(super) fn hold(ctx: &Context, s: &mut Scratch, day: u16) -> bool {
    s.limits.turn_to(ctx, day);
    keep_back(ctx, s, day);
    s.allocation.works.clear();
    s.allocation.made_before.clear();
    s.allocation.room_l = s.shelf.freezer_room_l(ctx);
    for waived in [false, true] {
        s.allocation.kept_ahead.fill(0.0);
        for (g, goal) in ctx.goals.iter().enumerate() {
            if goal.crops.meets(&s.allocation.usable_set) {
                for k in 0..goal.products.len() {
                    waiting_to(ctx, s, day, g, k, waived);
                }
                keep_ahead(ctx, s, day, g);
            }
        }
        if s.allocation.works.is_empty() || s.allocation.usable_set.is_empty() {
            break;
        }
    }
    if ctx.calendar.closes_week[usize::from(day)] {
        fill_spare(ctx, s, day);
    }
    if s.allocation.works.is_empty() {
        return false;
    }
    write_down(ctx, s, day);
    true
}

/// Sends what waits to one alternative of a goal, or to the product that gathers for it.
///
/// A lot that an earlier alternative can still have in a later session is left for it.
fn waiting_to(ctx: &Context, s: &mut Scratch, day: u16, goal: usize, k: usize, waived: bool) {
    let alternatives = &ctx.goals[goal].products;
    let product = alternatives[k];
    let crops = &ctx.products[usize::from(product)].crops;
    if !crops.meets(&s.allocation.usable_set) || !is_open(ctx, s, goal, product) {
        return;
    }
    let cap = want_kg(ctx, s, goal, product);
    let mut made = 0.0;
    if day_holds(ctx, s, day, product) {
        let from = From::Waiting(&alternatives[..k]);
        made = make(ctx, s, day, goal, product, from, cap, waived);
    }
    if let (Some(gatherer), true) = (gatherer(ctx, goal, product), made <= 0.0) {
        let cap = cap - s.gathered_kg[usize::from(product)];
        let from = From::Waiting(&alternatives[..=k]);
        let frozen = make(ctx, s, day, goal, gatherer, from, cap, waived);
        s.gathered_kg[usize::from(product)] += frozen;
    }
}

/// Says whether the day holds a whole load, or must because no better day came for a lot.
pub(super) fn day_holds(ctx: &Context, s: &Scratch, day: u16, product: u16) -> bool {
    let p = &ctx.products[usize::from(product)];
    let Some(days) = &p.days_that_hold else {
        return ctx.calendar.open_min[usize::from(day)] > 0.0 || !keeps_to_hours(ctx, product);
    };
    days[usize::from(day)] == day
        || p.parts.iter().any(|part| {
            let lots = &s.lots[usize::from(part.crop)].lots;
            lots.iter().any(|l| l.trigger <= day && l.plan == product)
        })
}

/// Returns how much of a product is still wanted for a goal, kg.
pub(super) fn want_kg(ctx: &Context, s: &Scratch, goal: usize, product: u16) -> f64 {
    let p = &ctx.products[usize::from(product)];
    let containers = match p.rotation {
        Some(most) => (most - s.shelf.now[usize::from(product)]).max(0.0),
        None => s.goals_left[goal],
    };
    containers * p.kg_per_container
}

/// Makes as much of a product as there is food, want and room for; returns kg of garden weight.
#[allow(clippy::too_many_arguments, reason = "one act with its circumstances")]
pub(super) fn make(
    ctx: &Context,
    s: &mut Scratch,
    day: u16,
    goal: usize,
    product: u16,
    from: From<'_>,
    cap_kg: f64,
    waived: bool,
) -> f64 {
    let pi = usize::from(product);
    let p = &ctx.products[pi];
    let rates = &ctx.rates[pi];
    let mut threshold = p.least_lot_kg.min(cap_kg);
    let group_is_up = || {
        let works = &s.allocation.works;
        works
            .iter()
            .any(|w| ctx.rates[usize::from(w.product)].setup_group == rates.setup_group)
    };
    if waived {
        if !group_is_up() {
            return 0.0;
        }
        let little = if p.top_up {
            0.1
        } else {
            if rates.halves { 0.5 } else { 1.0 }
        };
        threshold = threshold.min(little * p.kg_per_container);
    }
    // Most often there is too little, which needs no closer look.
    if most_kg(s, &p.crops, from) < threshold * (1.0 - 1e-9) {
        return 0.0;
    }
    let mut ingredients = std::mem::take(&mut s.allocation.ingredients);
    let mut amounts = std::mem::take(&mut s.allocation.amounts);
    let mut present = std::mem::take(&mut s.allocation.present);
    ingredients.clear();
    present.clear();
    let mut any = 0.0;
    let mut lacks = false;
    for (n, part) in p.parts.iter().enumerate() {
        let c = usize::from(part.crop);
        let have_kg = match from {
            From::Waiting(left_for) if s.allocation.usable[c] > 0.0 => {
                let fit = Fit::new(p, day, left_for);
                (fit.sum_kg(&s.lots[c]).min(s.allocation.usable[c]) - s.allocation.kept_ahead[c])
                    .max(0.0)
            }
            From::Waiting(_) => 0.0,
            From::Standing => (s.standing[c].kg - s.allocation.keep_standing[c]).max(0.0),
        };
        // Most crops that a product may hold are not there and need no further thought.
        if have_kg <= 0.0 {
            lacks |= part.least > 0.0;
            continue;
        }
        any += have_kg;
        present.push(n);
        ingredients.push(Ingredient {
            have_kg,
            least: part.least,
            greatest: part.greatest,
        });
    }
    let mut total = 0.0;
    if any > 1e-9 && any >= threshold {
        let begun = if p.top_up {
            begun_room(s.out.made[pi])
        } else {
            0.0
        };
        let room = s
            .limits
            .most_kg(p, rates.appliance, begun, s.allocation.room_l);
        if !lacks {
            total = mixing::greatest_total(&ingredients, cap_kg.min(room).max(0.0));
        }
        if p.canned {
            total = (total / p.kg_per_container + 1e-9).floor() * p.kg_per_container;
        }
        if room < cap_kg.min(any)
            && s.limits
                .freezer_short(p, s.allocation.room_l, cap_kg.min(any))
        {
            s.out.freezer_refused_kg += cap_kg.min(any) - room.min(cap_kg);
        }
    }
    if total > 1e-9 && total >= threshold * (1.0 - 1e-9) {
        amounts.clear();
        amounts.resize(ingredients.len(), 0.0);
        mixing::fill(&ingredients, total, &mut amounts);
        let takes = present.iter().copied().zip(amounts.iter().copied());
        total = put_by(ctx, s, day, product, from, takes);
        count_made(ctx, s, day, goal, product, total);
    } else {
        total = 0.0;
    }
    s.allocation.ingredients = ingredients;
    s.allocation.amounts = amounts;
    s.allocation.present = present;
    total
}

/// Returns all food there is of some crops, whether or not a product may take it, kg.
fn most_kg(s: &Scratch, crops: &CropSet, from: From<'_>) -> f64 {
    let a = &s.allocation;
    let there = match from {
        From::Waiting(_) => &a.usable_set,
        From::Standing => &s.standing_set,
    };
    let mut sum = 0.0;
    let mut next = 0;
    while let Some(c) = crops.next_in_both(there, next) {
        next = c + 1;
        sum += match from {
            From::Waiting(_) => a.usable[c],
            From::Standing => s.standing[c].kg,
        };
    }
    sum
}

/// Returns the unfilled part of a begun container, 0–1.
fn begun_room(made: f64) -> f64 {
    made.ceil() - made
}

/// Takes the food out of the lots or the bed and writes the work down; returns what was put by, kg.
///
/// Each of `takes` is a part of the product with its amount, kg.
fn put_by(
    ctx: &Context,
    s: &mut Scratch,
    day: u16,
    product: u16,
    from: From<'_>,
    takes: impl Iterator<Item = (usize, f64)>,
) -> f64 {
    let p = &ctx.products[usize::from(product)];
    let session = s.out.sessions.len() as u16;
    let at = work_of(s, product);
    let mut total = 0.0;
    for (part, x) in takes.map(|(n, x)| (&p.parts[n], x)) {
        if x <= 0.0 {
            continue;
        }
        let c = usize::from(part.crop);
        let taken = match from {
            From::Waiting(left_for) => {
                let fit = Fit::new(p, day, left_for);
                let best = i32::from(ctx.crops[c].best_days);
                let mut past_best = 0.0;
                let taken = s.lots[c].take(
                    x,
                    |l| fit.suits(l),
                    |l, kg| {
                        if l.picked + best < i32::from(day) {
                            past_best += kg;
                        }
                    },
                );
                s.out.past_best_kg += past_best;
                s.allocation.usable[c] -= taken;
                let left = s.allocation.usable[c] > 0.0;
                s.allocation.usable_set.set(c, left);
                s.waiting_changed(c);
                taken
            }
            From::Standing => {
                let taken = s.standing[c].take(x);
                s.standing_changed(c);
                note(s, day, part.crop, Went::Picked, taken);
                count_picking(ctx, s, day, part.crop, taken);
                taken
            }
        };
        s.out.books.put_by += taken;
        note(s, day, part.crop, Went::PutBy, taken);
        s.allocation.works[at].add(taken, part.rates);
        s.out.parts.push(TaskPart {
            session,
            product,
            crop: part.crop,
            kg: taken,
        });
        total += taken;
    }
    total
}
