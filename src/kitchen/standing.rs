//! Ready food that stands in the bed, and how it comes in or is lost.
//!
//! A crop that holds stands until it is eaten, wanted with hours to spare, or cannot stand any longer: the last day it
//! holds, or the eve of cold, heat or clearing. What does not hold is picked the day it is ready; with nobody there it
//! stands for as long as it can and is lost after.

use super::calendar::{NEVER, Presence};
use super::context::Context;
use super::draw::{Flow, Stood, Went};
use super::lots::Lot;
use super::scratch::Scratch;
use super::sessions_by_rule::trigger;
use super::stand_queue::Batch;
use crate::season::draw::{EndCause, Ready, ReadyKind, SeasonDraw};

/// Days after killing cold during which a crop is not canned: to the end of that cold season (judgement).
const NO_CANNING_DAYS: u16 = 150;

/// Writes an amount into the flows.
#[inline]
pub(super) fn note(s: &mut Scratch, day: u16, crop: u16, went: Went, kg: f64) {
    s.out.flows.push(Flow {
        day,
        crop,
        went,
        kg,
    });
}

/// Counts the minutes of picking an amount.
pub(super) fn count_picking(ctx: &Context, s: &mut Scratch, day: u16, crop: u16, kg: f64) {
    let minutes = kg * ctx.crops[usize::from(crop)].pick_min_per_kg;
    let minutes = minutes / ctx.calendar.hands[usize::from(day)];
    let week = usize::from(ctx.calendar.week_of[usize::from(day)]);
    s.out.week_pick_min[week] += minutes;
    if ctx.count_picking {
        s.out.week_min[week] += minutes;
    }
}

/// Picks an amount: into the kitchen at home, to a neighbour when one picks. Somebody must be there.
pub(super) fn bring_in(ctx: &Context, s: &mut Scratch, day: u16, crop: u16, kg: f64, unripe: bool) {
    if kg <= 0.0 {
        return;
    }
    note(s, day, crop, Went::Picked, kg);
    if ctx.calendar.presence[usize::from(day)] == Presence::Neighbour {
        s.out.books.given += kg;
        note(s, day, crop, Went::Given, kg);
        return;
    }
    count_picking(ctx, s, day, crop, kg);
    let c = usize::from(crop);
    let cold = s.cold_end[c];
    let after_cold = cold != NEVER && day >= cold && day - cold < NO_CANNING_DAYS;
    let mut lot = Lot {
        picked: i32::from(day),
        last: day.saturating_add(ctx.crops[c].last_days).min(NEVER - 1),
        trigger: NEVER,
        plan: NEVER,
        no_can: unripe || after_cold,
        kg,
    };
    (lot.trigger, lot.plan) = trigger(ctx, s, c, &lot, day);
    s.next_trigger = s.next_trigger.min(lot.trigger);
    s.next_last = s.next_last.min(lot.last);
    s.lots[c].push(lot);
    s.waiting_changed(c);
}

/// Returns the kitchen's index of the crop of a ready amount.
fn crop_of(ctx: &Context, ready: &Ready) -> u16 {
    let planting = ctx.plantings[ready.planting as usize];
    if ready.second {
        planting.second
    } else {
        planting.main
    }
}

fn lose(s: &mut Scratch, day: u16, crop: u16, kg: f64, away: bool) {
    if kg <= 0.0 {
        return;
    }
    if away {
        s.out.books.lost_away += kg;
        note(s, day, crop, Went::LostAway, kg);
    } else {
        s.out.books.lost_standing += kg;
        note(s, day, crop, Went::LostStanding, kg);
    }
}

fn stand(ctx: &Context, s: &mut Scratch, ready: &Ready, crop: u16, kg: f64) {
    let k = &ctx.crops[usize::from(crop)];
    let cal = &ctx.calendar;
    let limit = ready.day.saturating_add(k.holds_days).min(NEVER - 2);
    let last_day = cal.days - 1;
    let pick_by = if k.holds {
        if limit > last_day {
            NEVER
        } else {
            cal.last_attended[usize::from(limit)]
        }
    } else {
        cal.next_attended[usize::from(ready.day.max(cal.start).min(last_day))]
    };
    let c = usize::from(crop);
    let possible = pick_by != NEVER && pick_by >= ready.day.max(cal.start) && pick_by <= limit;
    s.standing[c].push(Batch {
        planting: ready.planting,
        limit,
        pick_by: if possible { pick_by } else { NEVER },
        kg,
    });
    s.standing_changed(c);
    s.next_due = s.next_due.min(s.standing[c].due);
}

/// Settles what became ready before the kitchen begins: what holds still stands, less what was logged as picked.
///
/// Returns the index of the first amount that is ready on or after the start.
pub(super) fn settle_past(ctx: &Context, season: &SeasonDraw, s: &mut Scratch) -> usize {
    let start = ctx.calendar.start;
    let upto = season.ready.partition_point(|r| r.day < start);
    let past = &season.ready[..upto];
    s.past_set.clear();
    for ready in past {
        s.past_set.set(usize::from(crop_of(ctx, ready)), true);
    }
    let mut from = 0;
    while let Some(crop) = s.past_set.next(from) {
        from = crop + 1;
        let mut used_kg = ctx.picked_before_kg[crop];
        for ready in past {
            if usize::from(crop_of(ctx, ready)) != crop {
                continue;
            }
            let kg = f64::from(ready.kg);
            s.out.books.ready += kg;
            let k = &ctx.crops[crop];
            let ended = season.outcomes[ready.planting as usize].end <= start;
            let spoiled = season
                .spoiled
                .iter()
                .any(|x| x.planting == ready.planting && x.day >= ready.day && x.day < start);
            let picked = used_kg.min(kg);
            used_kg -= picked;
            let stands = k.holds
                && !ended
                && !spoiled
                && ready.day.saturating_add(k.holds_days) >= start
                && !matches!(ready.kind, ReadyKind::LastPicking | ReadyKind::Strip);
            let left = if stands { kg - picked } else { 0.0 };
            s.out.books.past += kg - left;
            if left > 0.0 {
                stand(ctx, s, ready, crop as u16, left);
                s.out.stood.push(Stood {
                    planting: ready.planting,
                    second: ready.second,
                    kg: left,
                });
            }
        }
    }
    upto
}

/// Takes up what becomes ready on a day.
pub(super) fn take_up(ctx: &Context, s: &mut Scratch, ready: &Ready, cause: EndCause) {
    let day = ready.day;
    let crop = crop_of(ctx, ready);
    let k = &ctx.crops[usize::from(crop)];
    let mut kg = f64::from(ready.kg);
    s.out.books.ready += kg;
    let presence = ctx.calendar.presence[usize::from(day)];
    let must = matches!(ready.kind, ReadyKind::LastPicking | ReadyKind::Strip);
    if presence == Presence::Nobody {
        if must {
            lose(s, day, crop, kg, true);
        } else {
            stand(ctx, s, ready, crop, kg);
        }
        return;
    }
    if k.holds && !must {
        stand(ctx, s, ready, crop, kg);
        return;
    }
    if !k.holds && presence == Presence::Home && ctx.calendar.nobody_in(day, 30) > k.holds_days {
        // Pods left hanging hold back the next ones: the first picking after an absence is less by its share.
        let share = f64::from(ctx.calendar.nobody_in(day, k.pick_every)) / f64::from(k.pick_every);
        let less = kg * share;
        lose(s, day, crop, less, true);
        kg -= less;
    }
    if must && cause == EndCause::Cold && k.tender {
        s.frost_today_kg += kg;
    }
    bring_in(ctx, s, day, crop, kg, ready.kind == ReadyKind::Strip);
}

/// Lives through the ends of plantings: what stands at an end is lost, on its eve it is brought in.
///
/// `next` walks along the sorted ends; it stays on those whose eve is today.
#[inline]
pub(super) fn ends(
    ctx: &Context,
    season: &SeasonDraw,
    s: &mut Scratch,
    day: u16,
    next: &mut usize,
) {
    while let Some(&(end, planting)) = s.ends.get(*next) {
        if end > day {
            break;
        }
        *next += 1;
        let cause = season.outcomes[planting as usize].cause;
        let away = day > 0 && ctx.calendar.presence[usize::from(day) - 1] == Presence::Nobody;
        each_food(ctx, planting, |crop| {
            let kg = uproot(s, crop, planting);
            lose(s, day, crop, kg, away && cause != EndCause::Pest);
            if cause == EndCause::Cold {
                s.cold_end[usize::from(crop)] = day;
            }
        });
    }
}

/// Brings in what stands in plantings that end tomorrow, unless pests end them, whom nobody sees coming.
#[inline]
pub(super) fn eves(ctx: &Context, season: &SeasonDraw, s: &mut Scratch, day: u16, next: usize) {
    let none = s.ends.get(next).is_none_or(|(end, _)| *end > day + 1);
    if none || ctx.calendar.presence[usize::from(day)] == Presence::Nobody {
        return;
    }
    let mut i = next;
    while let Some(&(end, planting)) = s.ends.get(i) {
        if end > day + 1 {
            break;
        }
        i += 1;
        let cause = season.outcomes[planting as usize].cause;
        if cause == EndCause::Pest {
            continue;
        }
        each_food(ctx, planting, |crop| {
            let kg = uproot(s, crop, planting);
            if cause == EndCause::Cold && ctx.crops[usize::from(crop)].tender {
                s.frost_today_kg += kg;
            }
            bring_in(ctx, s, day, crop, kg, false);
        });
    }
}

fn each_food(ctx: &Context, planting: u32, mut act: impl FnMut(u16)) {
    let p = ctx.plantings[planting as usize];
    act(p.main);
    if p.second != p.main {
        act(p.second);
    }
}

/// Loses what cold spoils in one planting.
pub(super) fn spoil(ctx: &Context, s: &mut Scratch, day: u16, planting: u32) {
    each_food(ctx, planting, |crop| {
        let kg = uproot(s, crop, planting);
        lose(s, day, crop, kg, false);
    });
}

/// Takes everything of one planting out of the bed, kg.
fn uproot(s: &mut Scratch, crop: u16, planting: u32) -> f64 {
    let c = usize::from(crop);
    let kg = s.standing[c].remove(|b| b.planting == planting);
    s.standing_changed(c);
    kg
}

/// Brings in what cannot stand beyond today, and loses what should have come in and did not.
#[inline]
pub(super) fn due(ctx: &Context, s: &mut Scratch, day: u16) {
    if s.next_due > day {
        return;
    }
    let mut next_due = NEVER;
    let mut from = 0;
    while let Some(c) = s.standing_set.next(from) {
        from = c + 1;
        if s.standing[c].due <= day {
            let crop = c as u16;
            let kg = s.standing[c].remove(|b| b.pick_by <= day);
            bring_in(ctx, s, day, crop, kg, false);
            let lost = s.standing[c].remove(|b| b.limit < day);
            lose(s, day, crop, lost, true);
            s.standing_changed(c);
        }
        next_due = next_due.min(s.standing[c].due);
    }
    s.next_due = next_due;
}
