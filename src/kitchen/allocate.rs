//! One session put together: what waits goes to products in the order of the goals, and what stands fills spare time.
//!
//! What is kept back for fresh eating is no surplus. Less than a product's smallest lot is left, unless its set-up is
//! there anyway. Standing food comes in only with hours to spare, so that it never overloads a week.

use super::calendar::NEVER;
use super::context::Context;
use super::draw::{Session, Task, TaskPart, Went};
use super::minutes::{self, Work};
use super::mixing::{self, Ingredient};
use super::scratch::Scratch;
use super::sessions_by_rule::is_open;
use super::standing::{count_picking, note};
use crate::garden::preserving::Appliance;

/// Days of need for which surplus of a picking is kept back at most.
const KEEP_BACK_DAYS: u16 = 4;

/// The session being put together.
#[derive(Debug, Clone)]
pub(super) struct Allocation {
    /// Waiting food that is not kept back, kg a crop.
    usable: Vec<f64>,
    /// Standing food that is kept back, kg a crop.
    keep_standing: Vec<f64>,
    keep_waiting: Vec<f64>,
    works: Vec<Work>,
    /// Containers made of each work's product before this session.
    made_before: Vec<f64>,
    share: Vec<f64>,
    ingredients: Vec<Ingredient>,
    amounts: Vec<f64>,
    /// Free room in the freezer, litres.
    room_l: f64,
}

impl Allocation {
    pub(super) fn new(ctx: &Context) -> Self {
        let n = ctx.crops.len();
        Self {
            usable: vec![0.0; n],
            keep_standing: vec![0.0; n],
            keep_waiting: vec![0.0; n],
            works: Vec::with_capacity(ctx.products.len()),
            made_before: Vec::with_capacity(ctx.products.len()),
            share: Vec::with_capacity(ctx.products.len()),
            ingredients: Vec::with_capacity(16),
            amounts: Vec::with_capacity(16),
            room_l: 0.0,
        }
    }
}

/// Where food for a product comes from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum From {
    Waiting,
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
        for g in 0..ctx.goals.len() {
            for k in 0..ctx.goals[g].products.len() {
                waiting_to(ctx, s, day, g, ctx.goals[g].products[k], waived);
            }
        }
        if s.allocation.works.is_empty() {
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

/// Keeps back what the needs will eat: of a picking until the next one, of what stands for as long as it holds.
fn keep_back(ctx: &Context, s: &mut Scratch, day: u16) {
    let a = &mut s.allocation;
    a.keep_standing.fill(0.0);
    a.keep_waiting.fill(0.0);
    for need in ctx.needs.iter().filter(|n| n.holds[usize::from(day)]) {
        let mut days_standing = 0;
        let mut days_waiting = 0;
        for &c in &need.crops {
            let (c, q) = (usize::from(c), &s.standing[usize::from(c)]);
            if q.kg > 0.0 {
                days_standing = days_standing.max(q.newest_limit().saturating_sub(day));
            }
            if s.lots[c].kg > 0.0 {
                let k = &ctx.crops[c];
                days_waiting = days_waiting.max(k.pick_every.min(k.last_days).min(KEEP_BACK_DAYS));
            }
        }
        let mut left = need.per_day_kg * f64::from(days_standing.max(days_waiting));
        let mut left_waiting = need.per_day_kg * f64::from(days_waiting);
        for &c in need.crops.iter().rev() {
            let c = usize::from(c);
            let t = (s.standing[c].kg - a.keep_standing[c]).clamp(0.0, left);
            a.keep_standing[c] += t;
            left -= t;
        }
        left_waiting = left_waiting.min(left);
        for &c in need.crops.iter().rev() {
            let c = usize::from(c);
            let t = (s.lots[c].kg - a.keep_waiting[c]).clamp(0.0, left_waiting);
            a.keep_waiting[c] += t;
            left_waiting -= t;
        }
    }
    for (c, usable) in a.usable.iter_mut().enumerate() {
        *usable = (s.lots[c].kg - a.keep_waiting[c]).max(0.0);
    }
}

/// Sends what waits to one product of one goal, or to the product that gathers for it.
fn waiting_to(ctx: &Context, s: &mut Scratch, day: u16, goal: usize, product: u16, waived: bool) {
    if !is_open(ctx, s, goal, product) {
        return;
    }
    let p = &ctx.products[usize::from(product)];
    let cap = want_kg(ctx, s, goal, product);
    let mut made = 0.0;
    if day_holds(ctx, s, day, product) {
        made = make(ctx, s, day, goal, product, From::Waiting, cap, waived);
    }
    if let (Some(gatherer), true) = (p.gathered_by, made <= 0.0) {
        let cap = cap - s.gathered_kg[usize::from(product)];
        let frozen = make(ctx, s, day, goal, gatherer, From::Waiting, cap, waived);
        s.gathered_kg[usize::from(product)] += frozen;
    }
}

/// Says whether the day holds a whole load, or must because no better day came for a lot.
fn day_holds(ctx: &Context, s: &Scratch, day: u16, product: u16) -> bool {
    let p = &ctx.products[usize::from(product)];
    let Some(days) = &p.days_that_hold else {
        return true;
    };
    days[usize::from(day)] == day
        || p.parts.iter().any(|part| {
            let lots = &s.lots[usize::from(part.crop)].lots;
            lots.iter().any(|l| l.trigger <= day && l.plan == product)
        })
}

/// Returns how much of a product is still wanted for a goal, kg.
fn want_kg(ctx: &Context, s: &Scratch, goal: usize, product: u16) -> f64 {
    let p = &ctx.products[usize::from(product)];
    let containers = match p.rotation {
        Some(most) => (most - s.shelf.now[usize::from(product)]).max(0.0),
        None => s.goals_left[goal],
    };
    containers * p.kg_per_container
}

/// Makes as much of a product as there is food, want and room for; returns kg of garden weight.
#[allow(clippy::too_many_arguments, reason = "one act with its circumstances")]
fn make(
    ctx: &Context,
    s: &mut Scratch,
    day: u16,
    goal: usize,
    product: u16,
    from: From,
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
    let mut ingredients = std::mem::take(&mut s.allocation.ingredients);
    let mut amounts = std::mem::take(&mut s.allocation.amounts);
    ingredients.clear();
    let mut any = 0.0;
    for part in &p.parts {
        let c = usize::from(part.crop);
        let have_kg = match from {
            From::Waiting if s.allocation.usable[c] > 0.0 => {
                suiting_kg(s, day, c, p.within_days, p.canned).min(s.allocation.usable[c])
            }
            From::Waiting => 0.0,
            From::Standing => (s.standing[c].kg - s.allocation.keep_standing[c]).max(0.0),
        };
        any += have_kg;
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
        total = mixing::greatest_total(&ingredients, cap_kg.min(room).max(0.0));
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
        total = put_by(ctx, s, day, product, from, &amounts);
        count_made(ctx, s, day, goal, product, total);
    } else {
        total = 0.0;
    }
    s.allocation.ingredients = ingredients;
    s.allocation.amounts = amounts;
    total
}

/// Sums the lots of a crop that a product may take today, kg.
fn suiting_kg(s: &Scratch, day: u16, crop: usize, within: Option<u16>, canned: bool) -> f64 {
    if within.is_none() && !canned {
        return s.lots[crop].kg;
    }
    let lots = s.lots[crop].lots.iter();
    lots.filter(|l| suits(l, day, within, canned))
        .map(|l| l.kg)
        .sum()
}

fn suits(lot: &super::lots::Lot, day: u16, within: Option<u16>, canned: bool) -> bool {
    within.is_none_or(|w| lot.picked + i32::from(w) >= i32::from(day)) && !(canned && lot.no_can)
}

/// Returns the unfilled part of a begun container, 0–1.
fn begun_room(made: f64) -> f64 {
    made.ceil() - made
}

/// Takes the food out of the lots or the bed and writes the work down; returns what was put by, kg.
fn put_by(
    ctx: &Context,
    s: &mut Scratch,
    day: u16,
    product: u16,
    from: From,
    amounts: &[f64],
) -> f64 {
    let p = &ctx.products[usize::from(product)];
    let session = s.out.sessions.len() as u16;
    let at = work_of(s, product);
    let mut total = 0.0;
    for (part, &x) in p.parts.iter().zip(amounts) {
        if x <= 0.0 {
            continue;
        }
        let c = usize::from(part.crop);
        let taken = match from {
            From::Waiting => {
                let best = i32::from(ctx.crops[c].best_days);
                let mut past_best = 0.0;
                let taken = s.lots[c].take(
                    x,
                    |l| suits(l, day, p.within_days, p.canned),
                    |l, kg| {
                        if l.picked + best < i32::from(day) {
                            past_best += kg;
                        }
                    },
                );
                s.out.past_best_kg += past_best;
                s.allocation.usable[c] -= taken;
                taken
            }
            From::Standing => {
                let taken = s.standing[c].take(x);
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

/// Returns the place of a product's work in the session, begun if need be.
fn work_of(s: &mut Scratch, product: u16) -> usize {
    let a = &mut s.allocation;
    if let Some(at) = a.works.iter().position(|w| w.product == product) {
        return at;
    }
    a.works.push(Work {
        product,
        ..Work::default()
    });
    a.made_before.push(s.out.made[usize::from(product)]);
    a.works.len() - 1
}

/// Counts containers made: towards the goal, onto the shelf, against the equipment.
fn count_made(ctx: &Context, s: &mut Scratch, day: u16, goal: usize, product: u16, kg: f64) {
    let pi = usize::from(product);
    let (p, rates) = (&ctx.products[pi], &ctx.rates[pi]);
    let containers = kg / p.kg_per_container;
    let before = s.out.made[pi];
    s.out.made[pi] += containers;
    s.shelf.add(pi, day, containers);
    let vessels = if p.top_up {
        (before + containers - 1e-9).ceil() - (before - 1e-9).ceil()
    } else {
        minutes::containers_begun(kg, rates)
    };
    let at = work_of(s, product);
    let first = s.allocation.works[at].containers <= 0.0;
    s.limits.use_up(p, rates.appliance, kg, vessels, first);
    if p.store == crate::garden::preserving::Store::Freezer {
        s.allocation.room_l -= containers * p.room_l;
    }
    let session_kg = s.allocation.works[at].kg;
    s.allocation.works[at].containers = if p.top_up {
        let before = s.allocation.made_before[at];
        let after = before + session_kg / p.kg_per_container;
        (after - 1e-9).ceil() - (before + 1e-9).floor()
    } else {
        minutes::containers_begun(session_kg, rates)
    };
    if p.rotation.is_none() && ctx.goals[goal].products.contains(&product) {
        count_goal(ctx, s, day, goal, containers);
    }
}

fn count_goal(ctx: &Context, s: &mut Scratch, day: u16, goal: usize, containers: f64) {
    s.goals_left[goal] = (s.goals_left[goal] - containers).max(0.0);
    if ctx.goals[goal]
        .by
        .is_none_or(|by| ctx.calendar.date(day) <= by)
    {
        s.out.goal_made[goal] += containers;
    }
}

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
fn fill_spare(ctx: &Context, s: &mut Scratch, day: u16) {
    for g in 0..ctx.goals.len() {
        for &product in &ctx.goals[g].products {
            if ctx.products[usize::from(product)].gathered_by.is_some() {
                finish_gathered(ctx, s, day, g, product);
            }
        }
    }
    for g in 0..ctx.goals.len() {
        for &product in &ctx.goals[g].products {
            let p = &ctx.products[usize::from(product)];
            let stands = p.parts.iter().any(|part| {
                let c = usize::from(part.crop);
                s.standing[c].kg > s.allocation.keep_standing[c]
            });
            if !stands || !is_open(ctx, s, g, product) || !day_holds(ctx, s, day, product) {
                continue;
            }
            let fits = fitting_kg(ctx, s, day, product);
            if fits <= 0.0 {
                continue;
            }
            let cap = want_kg(ctx, s, g, product).min(fits);
            let least = p.least_lot_kg.min(want_kg(ctx, s, g, product));
            let before = make(ctx, s, day, g, product, From::Standing, cap, true);
            if before <= 0.0 && cap >= least {
                make(ctx, s, day, g, product, From::Standing, cap, false);
            }
        }
    }
}

/// Returns how much more of a product surely fits into the spare minutes, kg.
///
/// Counts hands and appliance one after the other, so that the session can only turn out shorter.
fn fitting_kg(ctx: &Context, s: &Scratch, day: u16, product: u16) -> f64 {
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
    let spare = spare_min(ctx, s, day) - fixed;
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
    let kg = s.gathered_kg[pi]
        .min(wanted)
        .min(room)
        .min(fitting_kg(ctx, s, day, product));
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

/// Writes the session down with its tasks and counts its minutes.
fn write_down(ctx: &Context, s: &mut Scratch, day: u16) {
    let hands = ctx.calendar.hands[usize::from(day)];
    let a = &mut s.allocation;
    a.share.clear();
    a.share.resize(a.works.len(), 0.0);
    let time = minutes::session(&ctx.rates, &a.works, hands, &mut a.share);
    let session = s.out.sessions.len() as u16;
    for (work, share) in a.works.iter().zip(&a.share) {
        s.out.tasks.push(Task {
            session,
            product: work.product,
            kg: work.kg,
            containers: work.kg / ctx.products[usize::from(work.product)].kg_per_container,
            minutes: share * ctx.minutes_factor,
        });
    }
    let minutes = time.minutes * ctx.minutes_factor;
    s.out.sessions.push(Session {
        day,
        minutes,
        hand_min: time.hand_min * ctx.minutes_factor,
    });
    s.out.week_min[usize::from(ctx.calendar.week_of[usize::from(day)])] += minutes;
    let used = s.shelf.freezer_used_l(ctx);
    s.out.freezer_peak_l = s.out.freezer_peak_l.max(used);
    debug_assert!(session != NEVER, "fewer sessions than days");
}
