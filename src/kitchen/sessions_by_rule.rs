//! When a session is held: on the last open day of the first lot that would otherwise go past its last day.
//!
//! Earliest last day first. A lot without an open day counts on its last day at home, but not for a refrigerator product,
//! which is made as it is eaten and can be left out. A lot whose recipe cannot be met in
//! time is meant for its next product. Knows the calendar and the goals; leaves what is done to `allocate`.

use super::allocate;
use super::calendar::NEVER;
use super::context::Context;
use super::lots::Lot;
use super::scratch::Scratch;
use super::spare;

/// Containers below this are no longer worth wanting.
const LITTLE: f64 = 0.05;

/// Says whether more of a product is wanted for a goal.
pub(super) fn is_open(ctx: &Context, s: &Scratch, goal: usize, product: u16) -> bool {
    let p = &ctx.products[usize::from(product)];
    match p.rotation {
        Some(most) => most - s.shelf.now[usize::from(product)] > LITTLE,
        None => {
            let gathered = s.gathered_kg[usize::from(product)] / p.kg_per_container;
            s.goals_left[goal] - gathered > LITTLE
        }
    }
}

/// Says whether a product is made only in the kitchen's hours: a refrigerator product, if any hours were given.
pub(super) fn keeps_to_hours(ctx: &Context, product: u16) -> bool {
    let any_open = ctx.calendar.last_open.last().is_some_and(|d| *d != NEVER);
    any_open && ctx.products[usize::from(product)].rotation.is_some()
}

/// Returns the product that gathers for another, unless the goal takes the gathered food as it is.
pub(super) fn gatherer(ctx: &Context, goal: usize, product: u16) -> Option<u16> {
    let gatherer = ctx.products[usize::from(product)].gathered_by?;
    (!ctx.goals[goal].products.contains(&gatherer)).then_some(gatherer)
}

/// Finds the day on which a session must be held for a lot, from `from` on, and the product it is meant for.
pub(super) fn trigger(ctx: &Context, s: &Scratch, crop: usize, lot: &Lot, from: u16) -> (u16, u16) {
    let cal = &ctx.calendar;
    let last_day = cal.days - 1;
    let mut fallback = (NEVER, NEVER);
    for choice in &ctx.crops[crop].choices {
        let p = &ctx.products[usize::from(choice.product)];
        if (p.canned && lot.no_can) || !is_open(ctx, s, usize::from(choice.goal), choice.product) {
            continue;
        }
        let deadline = match p.within_days {
            Some(within) => i32::from(lot.last).min(lot.picked + i32::from(within)),
            None => i32::from(lot.last),
        };
        let Ok(deadline) = u16::try_from(deadline) else {
            continue;
        };
        let deadline = usize::from(deadline.min(last_day));
        let day = match &p.days_that_hold {
            Some(days) => days[deadline],
            None => cal.last_open[deadline],
        };
        if day != NEVER && day >= from {
            return (day, choice.product);
        }
        if let Some(gatherer) = gatherer(ctx, usize::from(choice.goal), choice.product) {
            let day = cal.last_open[usize::from(lot.last.min(last_day))];
            if day != NEVER && day >= from {
                return (day, gatherer);
            }
        }
        // What is made as it is eaten never asks for a session outside the kitchen's hours.
        let home = cal.last_home[deadline];
        if !keeps_to_hours(ctx, choice.product)
            && home != NEVER
            && home >= from
            && (fallback.0 == NEVER || home > fallback.0)
        {
            fallback = (home, choice.product);
        }
    }
    fallback
}

/// Finds triggers anew at a week's end, when of what is made as it is eaten some was eaten.
///
/// Nothing else changed since a lot's trigger was found, so that one which still lies ahead stands.
pub(super) fn retrigger_eaten(ctx: &Context, s: &mut Scratch, from: u16) {
    find_triggers(ctx, s, from, true);
}

/// Finds the trigger of every waiting lot anew, as after a session that met a goal.
pub(super) fn retrigger(ctx: &Context, s: &mut Scratch, from: u16) {
    find_triggers(ctx, s, from, false);
}

fn find_triggers(ctx: &Context, s: &mut Scratch, from: u16, only_eaten: bool) {
    let mut next = NEVER;
    let mut after = 0;
    while let Some(c) = s.waiting_set.next(after) {
        after = c + 1;
        let stands = only_eaten && !ctx.crops[c].in_rotation;
        for i in 0..s.lots[c].lots.len() {
            let lot = s.lots[c].lots[i];
            if stands && lot.trigger != NEVER && lot.trigger >= from {
                next = next.min(lot.trigger);
                continue;
            }
            let (day, plan) = trigger(ctx, s, c, &lot, from);
            let lot = &mut s.lots[c].lots[i];
            (lot.trigger, lot.plan) = (day, plan);
            next = next.min(day);
        }
    }
    s.next_trigger = next;
}

/// Holds a session if some lot asks for it today, or if something that stands cannot wait for a later week.
pub(super) fn evening(ctx: &Context, s: &mut Scratch, day: u16) {
    if s.next_trigger > day && !standing_asks(ctx, s, day) && !gathered_asks(ctx, s, day) {
        return;
    }
    if allocate::hold(ctx, s, day) {
        retrigger(ctx, s, day + 1);
        return;
    }
    // Too little for any product: it waits on, and asks no more until something changes.
    let mut next = NEVER;
    for q in &mut s.lots {
        for lot in &mut q.lots {
            if lot.trigger <= day {
                lot.trigger = NEVER;
            }
            next = next.min(lot.trigger);
        }
    }
    s.next_trigger = next;
}

/// Says whether today is the last week-closing day on which some wanted standing food still holds.
fn standing_asks(ctx: &Context, s: &Scratch, day: u16) -> bool {
    let cal = &ctx.calendar;
    if !cal.closes_week[usize::from(day)] {
        return false;
    }
    let mut from = 0;
    while let Some(c) = s.standing_set.next(from) {
        from = c + 1;
        let limit = usize::from(s.standing[c].oldest_limit().min(cal.days - 1));
        let mut choices = ctx.crops[c].choices.iter();
        if cal.last_closing[limit] == day
            && choices.any(|x| is_open(ctx, s, usize::from(x.goal), x.product))
        {
            return true;
        }
    }
    false
}

/// Says whether today closes the week and a whole load of something gathered frozen is there to be finished.
fn gathered_asks(ctx: &Context, s: &Scratch, day: u16) -> bool {
    ctx.calendar.closes_week[usize::from(day)]
        && (0..ctx.products.len()).any(|p| {
            s.gathered_kg[p] > 0.0 && s.gathered_kg[p] >= spare::load_kg(ctx, p) * (1.0 - 1e-9)
        })
}
