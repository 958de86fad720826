//! A session's work counted: towards the goals, onto the shelf, against the equipment, and in minutes.
//!
//! Knows what was made; decides nothing.

use super::context::Context;
use super::draw::{Session, Task};
use super::minutes::{self, Work};
use super::scratch::Scratch;
use crate::garden::preserving::Store;

/// Returns the place of a product's work in the session, begun if need be.
pub(super) fn work_of(s: &mut Scratch, product: u16) -> usize {
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
pub(super) fn count_made(
    ctx: &Context,
    s: &mut Scratch,
    day: u16,
    goal: usize,
    product: u16,
    kg: f64,
) {
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
    if p.store == Store::Freezer {
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
    let goal_row = &ctx.goals[goal];
    if goal_row.products.contains(&product) && (p.rotation.is_none() || goal_row.in_rotation) {
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

/// Writes the session down with its tasks and counts its minutes.
pub(super) fn write_down(ctx: &Context, s: &mut Scratch, day: u16) {
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
    let week = usize::from(ctx.calendar.week_of[usize::from(day)]);
    s.out.week_min[week] += minutes;
    let used = s.shelf.freezer_used_l(ctx);
    s.out.freezer_peak_l = s.out.freezer_peak_l.max(used);
    let of_week = &mut s.out.freezer_week_l[week];
    *of_week = of_week.max(used as f32);
}
