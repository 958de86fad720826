//! One drawn season lived through in the kitchen, day by day.
//!
//! The order of a day: cold and ends of the night, what is ready, what must come in, meals, the evening's session,
//! and last what would not be fit tomorrow. A pure function of context and season; the scratch only saves memory.

use super::calendar::{NEVER, Presence};
use super::context::Context;
use super::draw::{FrostEve, KitchenDraw, Went};
use super::lots::{Lot, NOTHING_KG};
pub use super::scratch::Scratch;
use super::sessions_by_rule::{evening, retrigger, retrigger_eaten};
use super::standing::{self, note};
use crate::season::draw::{EndCause, SeasonDraw};

/// Days of a frost week: the eve and six more.
const FROST_WEEK_DAYS: u16 = 7;

/// Lives through one drawn season.
#[must_use]
pub fn day_by_day<'s>(ctx: &Context, season: &SeasonDraw, s: &'s mut Scratch) -> &'s KitchenDraw {
    s.reset(ctx);
    let cal = &ctx.calendar;
    if cal.start >= cal.days {
        return &s.out;
    }
    let mut next_ready = standing::settle_past(ctx, season, s);
    first_lots(ctx, s);
    gather_ends(ctx, season, s);
    let mut next_end = 0;
    let mut next_spoiled = season.spoiled.partition_point(|x| x.day < cal.start);
    for day in cal.start..cal.days {
        let d = usize::from(day);
        while let Some(x) = season.spoiled.get(next_spoiled).filter(|x| x.day == day) {
            standing::spoil(ctx, s, day, x.planting);
            next_spoiled += 1;
        }
        standing::ends(ctx, season, s, day, &mut next_end);
        while let Some(ready) = season.ready.get(next_ready).filter(|r| r.day == day) {
            let cause = season.outcomes[ready.planting as usize].cause;
            standing::take_up(ctx, s, ready, cause);
            next_ready += 1;
        }
        standing::eves(ctx, season, s, day, next_end);
        standing::due(ctx, s, day);
        if cal.presence[d] == Presence::Home {
            meals(ctx, s, day);
            evening(ctx, s, day);
        }
        end_of_day(ctx, s, day);
    }
    close(season, next_ready, s);
    &s.out
}

/// Puts what waits at the beginning into the kitchen.
fn first_lots(ctx: &Context, s: &mut Scratch) {
    for lot in &ctx.waiting {
        s.out.books.waiting_before += lot.kg;
        s.lots[usize::from(lot.crop)].push(Lot {
            picked: lot.picked,
            last: lot.last,
            trigger: NEVER,
            plan: NEVER,
            no_can: false,
            kg: lot.kg,
        });
        s.waiting_changed(usize::from(lot.crop));
        s.next_last = s.next_last.min(lot.last);
    }
    retrigger(ctx, s, ctx.calendar.start);
}

/// Sorts the ends that matter to what stands.
fn gather_ends(ctx: &Context, season: &SeasonDraw, s: &mut Scratch) {
    for (i, o) in season.outcomes.iter().enumerate() {
        let cal = &ctx.calendar;
        let within = match o.cause {
            EndCause::Failed => false,
            // The horizon's own end is no end of what stands.
            EndCause::Finish | EndCause::Horizon => o.end < cal.days,
            EndCause::Cold | EndCause::Heat | EndCause::Pest | EndCause::Clearing => {
                o.end <= cal.days
            }
        };
        if within && o.end >= cal.start {
            s.ends.push((o.end, i as u32));
        }
    }
    s.ends.sort_unstable();
}

/// Eats the day's needs: what waits first, the oldest lot first, then what stands.
fn meals(ctx: &Context, s: &mut Scratch, day: u16) {
    let d = usize::from(day);
    if !ctx.served_on[d].meets_either(&s.waiting_set, &s.standing_set) {
        return;
    }
    let mut allowed = allowance(ctx, s, day);
    for &n in &ctx.needs_on[d] {
        let need = &ctx.needs[usize::from(n)];
        if !need.crops.meets_either(&s.waiting_set, &s.standing_set) {
            continue;
        }
        let mut want = need.per_day_kg.min(allowed);
        let before = want;
        let mut from = 0;
        while want > NOTHING_KG {
            let Some(c) = need.crops.next_in_both(&s.waiting_set, from) else {
                break;
            };
            let t = s.lots[c].take_oldest(want);
            s.waiting_changed(c);
            want -= eat(s, day, c, t);
            from = c + 1;
        }
        from = 0;
        while want > NOTHING_KG {
            let Some(c) = need.crops.next_in_both(&s.standing_set, from) else {
                break;
            };
            let t = s.standing[c].take(want);
            s.standing_changed(c);
            note(s, day, c as u16, Went::Picked, t);
            standing::count_picking(ctx, s, day, c as u16, t);
            want -= eat(s, day, c, t);
            from = c + 1;
        }
        allowed -= before - want;
    }
}

/// Returns what may still be eaten today: a seventh of the ceiling for each day of the week so far, less what was eaten.
fn allowance(ctx: &Context, s: &Scratch, day: u16) -> f64 {
    let days = f64::from(ctx.calendar.weekday[usize::from(day)]) + 1.0;
    (ctx.ceiling_kg * days / 7.0 - s.eaten_week_kg).max(0.0)
}

fn eat(s: &mut Scratch, day: u16, crop: usize, kg: f64) -> f64 {
    s.out.books.fresh += kg;
    s.eaten_week_kg += kg;
    s.fresh_this_week.set(crop, true);
    note(s, day, crop as u16, Went::Fresh, kg);
    kg
}

/// Gives away what would not be fit tomorrow, after eating of it what the household can; closes the week on Sundays.
fn end_of_day(ctx: &Context, s: &mut Scratch, day: u16) {
    let d = usize::from(day);
    let cal = &ctx.calendar;
    if s.next_last <= day {
        throw_out(ctx, s, day, cal.presence[d] == Presence::Home);
    }
    if s.frost_today_kg > 0.0 {
        if s.out.frost.is_none_or(|f| f.kg < s.frost_today_kg) {
            s.out.frost = Some(FrostEve {
                day,
                kg: s.frost_today_kg,
                minutes: 0.0,
            });
        }
        s.frost_today_kg = 0.0;
    }
    if cal.weekday[d] == 6 || day + 1 == cal.days {
        end_of_week(ctx, s, day);
    }
}

/// Empties the lots that would not be fit tomorrow.
fn throw_out(ctx: &Context, s: &mut Scratch, day: u16, home: bool) {
    let mut next_last = NEVER;
    let mut from = 0;
    while let Some(c) = s.waiting_set.next(from) {
        from = c + 1;
        if s.lots[c].next_last() <= day {
            let may_eat = if home { allowance(ctx, s, day) } else { 0.0 };
            let eaten = s.lots[c].take(may_eat, |l| l.last <= day, |_, _| {});
            if eaten > 0.0 {
                eat(s, day, c, eaten);
            }
            let left = s.lots[c].discard(|l| l.last <= day);
            s.waiting_changed(c);
            if left > 0.0 && home {
                s.out.books.given += left;
                note(s, day, c as u16, Went::Given, left);
            } else if left > 0.0 {
                s.out.books.wasted += left;
                note(s, day, c as u16, Went::Wasted, left);
            }
        }
        next_last = next_last.min(s.lots[c].next_last());
    }
    s.next_last = next_last;
}

fn end_of_week(ctx: &Context, s: &mut Scratch, day: u16) {
    let week = usize::from(ctx.calendar.week_of[usize::from(day)]);
    let weeks = ctx.calendar.weeks.len();
    let mut standing_kg = 0.0;
    let mut from = 0;
    while let Some(c) = s.standing_set.next(from) {
        standing_kg += s.standing[c].kg;
        from = c + 1;
    }
    s.out.week_standing_kg[week] = standing_kg;
    s.shelf.end_of_week(
        ctx,
        day,
        &s.fresh_this_week,
        &mut s.limits,
        &mut s.out.past_keeping,
    );
    for (p, n) in s.shelf.now.iter().enumerate() {
        // What gathered food is finished into may leave less than nothing by rounding.
        s.out.shelf[p * weeks + week] = n.max(0.0) as f32;
    }
    s.fresh_this_week.clear();
    s.eaten_week_kg = 0.0;
    if ctx.rotates {
        retrigger_eaten(ctx, s, day + 1);
    }
}

/// Closes the books: what is left waits or stands.
fn close(season: &SeasonDraw, next_ready: usize, s: &mut Scratch) {
    // Nothing is ready after the horizon; were it so, it would count as still standing.
    let after: f64 = season.ready[next_ready..]
        .iter()
        .map(|r| f64::from(r.kg))
        .sum();
    let out = &mut s.out;
    out.books.ready += after;
    out.books.on_hand = s.lots.iter().map(|q| q.kg).sum();
    out.books.standing = s.standing.iter().map(|q| q.kg).sum::<f64>() + after;
    if let Some(frost) = &mut out.frost {
        let until = frost.day + FROST_WEEK_DAYS;
        frost.minutes = out
            .sessions
            .iter()
            .filter(|x| x.day >= frost.day && x.day < until)
            .map(|x| x.minutes)
            .sum();
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::garden::household::Away;
    use crate::garden::units::{Mass, Minutes};
    use crate::garden::week::DateRange;
    use crate::kitchen::context::compile;
    use crate::kitchen::draw::Session;
    use crate::kitchen::fixture::{self, goal, monday, need, pickings, plant, ready, season};
    use crate::season::draw::{Outcome, ReadyKind, Spoiled};
    use chrono::Days;

    fn live(garden: &Garden, season: &SeasonDraw, days: u16) -> KitchenDraw {
        let ctx = compile(garden, monday(), days, monday());
        let mut s = Scratch::new(&ctx);
        let out = day_by_day(&ctx, season, &mut s).clone();
        assert!(out.books.balance(), "{:?}", out.books);
        out
    }

    fn days_of(sessions: &[Session]) -> Vec<u16> {
        sessions.iter().map(|s| s.day).collect()
    }

    fn sum(out: &KitchenDraw, went: Went) -> f64 {
        out.flows
            .iter()
            .filter(|f| f.went == went)
            .map(|f| f.kg)
            .sum::<f64>()
            / 0.453_592_37
    }

    /// Beans keep 7 days and the kitchen opens on Wednesday (day 2) and Saturday (day 5).
    #[test]
    fn a_session_is_held_on_the_last_open_day_of_the_first_lot() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        for (picked, held) in [(0, 5), (1, 5), (2, 9), (4, 9), (5, 12)] {
            let out = live(&g, &season(&g, vec![ready(beans, picked, 4.0)]), 28);
            assert_eq!(days_of(&out.sessions), [held], "picked on day {picked}");
        }
        // Okra keeps 4 days: its session takes the beans along, though they could have waited.
        let okra = plant(&mut g, "okra");
        goal(&mut g, &[fixture::FROZEN_OKRA], 40.0);
        let both = vec![ready(beans, 1, 4.0), ready(okra, 0, 3.0)];
        let out = live(&g, &season(&g, both), 28);
        assert_eq!(days_of(&out.sessions), [2]);
        assert_eq!(out.tasks.len(), 2);
    }

    #[test]
    fn a_lot_without_an_open_day_counts_on_its_last_day() {
        let mut g = fixture::garden();
        g.household.kitchen.minutes = [0.0; 7].map(Minutes::from_min);
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        let out = live(&g, &season(&g, vec![ready(beans, 3, 4.0)]), 28);
        assert_eq!(days_of(&out.sessions), [10]);
    }

    #[test]
    fn the_need_comes_first_at_a_seventh_a_day() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        need(&mut g, "snap bean", 7.0);
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        // Picked on Monday: a pound a day until Saturday's session, which leaves three days for the table.
        let out = live(&g, &season(&g, vec![ready(beans, 0, 20.0)]), 28);
        assert_eq!(days_of(&out.sessions), [5]);
        let put_by = sum(&out, Went::PutBy);
        assert!((put_by - (20.0 - 6.0 - 3.0)).abs() < 1e-5, "{put_by}");
        // What was kept back is eaten but for the part that goes past its last day on the Monday after.
        let (fresh, given) = (sum(&out, Went::Fresh), sum(&out, Went::Given));
        assert!(fresh > 8.0 && given < 1.0, "{fresh} {given}");
    }

    #[test]
    fn without_a_goal_nothing_is_put_by_and_the_rest_is_given() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        need(&mut g, "snap bean", 1.4);
        let out = live(&g, &season(&g, vec![ready(beans, 0, 50.0)]), 28);
        assert!(out.sessions.is_empty());
        assert!((sum(&out, Went::PutBy)).abs() < 1e-12);
        // The household eats up to its ceiling of 10 lb a week, and gives the rest.
        let fresh = sum(&out, Went::Fresh);
        assert!(fresh > 1.4 && fresh <= 20.0, "{fresh}");
        assert!((sum(&out, Went::Given) - (50.0 - fresh)).abs() < 1e-4);
    }

    #[test]
    fn goals_are_met_in_their_order_and_alternatives_together() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS, fixture::DILLY_BEANS], 4.0);
        let out = live(&g, &season(&g, pickings(beans, 2, 7, 6, 4.0)), 63);
        let made: f64 = out.goal_made[0];
        assert!((3.9..=4.05).contains(&made), "{made}");
        // Less what is in store.
        g.record.stores.push(crate::garden::record::StoreChange {
            date: monday(),
            product: fixture::FROZEN_BEANS,
            change: 3.0,
            note: None,
        });
        let out = live(&g, &season(&g, pickings(beans, 2, 7, 6, 4.0)), 63);
        assert!(
            (0.9..=1.05).contains(&out.goal_made[0]),
            "{:?}",
            out.goal_made
        );
    }

    #[test]
    fn a_refrigerator_product_is_made_in_rotation() {
        let mut g = fixture::garden();
        let radish = plant(&mut g, "radish");
        let onion = plant(&mut g, "onion");
        goal(&mut g, &[fixture::RADISH_PICKLE], 0.0);
        g.household.goals.as_mut().unwrap()[0].eat_per_week = Some(0.5);
        let mut all = pickings(radish, 0, 7, 20, 10.0);
        all.extend(pickings(onion, 0, 7, 20, 4.0));
        let out = live(&g, &season(&g, all), 210);
        // Half a jar a week kept a month: never more than about 2.2 jars on hand.
        let weeks = out.week_min.len();
        let on_hand = &out.shelf[..weeks];
        assert!(on_hand.iter().all(|n| *n <= 2.2), "{on_hand:?}");
        assert!(out.made[0] > 4.0, "{}", out.made[0]);
    }

    #[test]
    fn less_than_the_smallest_lot_waits_and_is_then_eaten() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        let out = live(&g, &season(&g, vec![ready(beans, 0, 0.6)]), 28);
        assert!(out.sessions.is_empty());
        assert!((sum(&out, Went::Fresh) - 0.6).abs() < 1e-6);
        // Two such lots a few days apart make one that is worth the pot.
        let two = vec![ready(beans, 0, 0.6), ready(beans, 3, 0.6)];
        let out = live(&g, &season(&g, two), 28);
        assert_eq!(days_of(&out.sessions), [5]);
    }

    /// Kale holds 14 days: it stands through Wednesdays and comes in with hours to spare, never in excess of them.
    #[test]
    fn what_stands_never_overloads_a_week() {
        let mut g = fixture::garden();
        let kale = plant(&mut g, "kale");
        goal(&mut g, &[fixture::FROZEN_GREENS], 500.0);
        let out = live(&g, &season(&g, pickings(kale, 0, 7, 4, 60.0)), 56);
        let ctx = compile(&g, monday(), 56, monday());
        let first_week_with_limit = 2;
        for (w, minutes) in out.week_min.iter().enumerate().take(first_week_with_limit) {
            assert!(
                *minutes <= ctx.calendar.week_min[w] + 1e-9,
                "week {w}: {minutes}"
            );
        }
        assert!(sum(&out, Went::PutBy) > 30.0);
        // Left to a kitchen with hours enough, all of it is put by without overload.
        g.household.kitchen.minutes[5] = Minutes::from_hours(20.0);
        let out = live(&g, &season(&g, pickings(kale, 0, 7, 4, 30.0)), 56);
        let ctx = compile(&g, monday(), 56, monday());
        assert!(
            out.week_min
                .iter()
                .zip(&ctx.calendar.week_min)
                .all(|(a, b)| a <= b)
        );
        assert!(
            (sum(&out, Went::PutBy) - 120.0).abs() < 1e-3,
            "{}",
            sum(&out, Went::PutBy)
        );
    }

    #[test]
    fn roots_are_dug_by_need() {
        let mut g = fixture::garden();
        let carrot = plant(&mut g, "carrot");
        need(&mut g, "carrot", 3.5);
        let out = live(&g, &season(&g, vec![ready(carrot, 0, 20.0)]), 42);
        let picked: Vec<f64> = out
            .flows
            .iter()
            .filter(|f| f.went == Went::Picked)
            .map(|f| f.kg)
            .collect();
        assert!(picked.len() >= 30, "a little each day: {}", picked.len());
    }

    fn ended(season: &mut SeasonDraw, planting: u32, end: u16, cause: EndCause) {
        season.outcomes[planting as usize] = Outcome {
            end,
            cause,
            ..season.outcomes[planting as usize]
        };
    }

    #[test]
    fn the_eve_of_killing_cold_brings_everything_in() {
        let mut g = fixture::garden();
        let kale = plant(&mut g, "kale");
        let basil = plant(&mut g, "basil");
        goal(&mut g, &[fixture::FROZEN_GREENS], 500.0);
        goal(&mut g, &[fixture::PESTO], 500.0);
        let mut strip = ready(basil, 15, 6.0);
        strip.kind = ReadyKind::Strip;
        let mut draw = season(&g, vec![ready(kale, 8, 12.0), strip]);
        ended(&mut draw, kale, 16, EndCause::Cold);
        ended(&mut draw, basil, 16, EndCause::Cold);
        let out = live(&g, &draw, 42);
        let frost = out.frost.unwrap();
        assert_eq!(frost.day, 15);
        assert!(frost.minutes > 60.0, "{frost:?}");
        assert!(sum(&out, Went::LostStanding) < 1e-9);
        // A finished planting may be cut short by cold all the same: its end is an end.
        ended(&mut draw, kale, 12, EndCause::Finish);
        let out = live(&g, &draw, 42);
        assert!(
            out.flows
                .iter()
                .any(|f| f.day == 11 && f.went == Went::Picked && f.kg > 1.0)
        );
        // Pests give no warning: what stands is lost.
        ended(&mut draw, kale, 10, EndCause::Pest);
        let out = live(&g, &draw, 42);
        assert!((sum(&out, Went::LostStanding) - 12.0).abs() < 1e-4);
        // Cold that spoils what stands takes it, though the plant lives.
        ended(&mut draw, kale, u16::MAX, EndCause::Horizon);
        draw.spoiled = vec![Spoiled {
            day: 11,
            planting: kale,
        }];
        let out = live(&g, &draw, 42);
        assert!((sum(&out, Went::LostStanding) - 12.0).abs() < 1e-4);
    }

    fn away(from: u64, until: u64, neighbour_picks: bool) -> Away {
        Away {
            days: DateRange {
                from: Some(monday() + Days::new(from)),
                until: Some(monday() + Days::new(until)),
            },
            neighbour_picks,
        }
    }

    #[test]
    fn away_loses_pods_and_leaves_stand() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        let kale = plant(&mut g, "kale");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        goal(&mut g, &[fixture::FROZEN_GREENS], 100.0);
        let mut all = pickings(beans, 0, 3, 10, 3.0);
        all.push(ready(kale, 7, 4.0));
        let draw = season(&g, all);
        let home = live(&g, &draw, 56);
        assert!(sum(&home, Went::LostAway) < 1e-12);
        g.household.away = vec![away(7, 13, false)];
        let gone = live(&g, &draw, 56);
        // Pickings of days 9 and 12 (three pounds each); that of day 12 still hangs on day 14. The picking of day 15 is
        // less by the day of its three on which nobody was there.
        let lost = sum(&gone, Went::LostAway);
        assert!((lost - 4.0).abs() < 1e-4, "{lost}");
        assert!(
            days_of(&gone.sessions)
                .iter()
                .all(|d| !(7..=13).contains(d))
        );
        // Kale keeps less than beans, so it is the first of the kitchen's crops.
        let kale_put_by: f64 = gone
            .parts
            .iter()
            .filter(|p| p.crop == 0)
            .map(|p| p.kg)
            .sum();
        assert!((kale_put_by / 0.453_592_37 - 4.0).abs() < 1e-4);
        // A neighbour keeps what is ready.
        g.household.away = vec![away(7, 13, true)];
        let kept = live(&g, &draw, 56);
        assert!(sum(&kept, Went::LostAway) < 1e-12);
        assert!((sum(&kept, Went::Given) - sum(&home, Went::Given) - 6.0).abs() < 1.0);
    }

    #[test]
    fn what_would_not_keep_until_the_return_is_done_before_leaving() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        g.household.away = vec![away(4, 20, false)];
        // Picked on day 3, a Thursday; Saturday is away. The only day left is the eve of leaving.
        let out = live(&g, &season(&g, vec![ready(beans, 3, 4.0)]), 42);
        assert_eq!(days_of(&out.sessions), [3]);
    }

    #[test]
    fn frost_closes_canning_and_small_canner_lots_are_frozen_whole_first() {
        let mut g = fixture::garden();
        let tomato = plant(&mut g, "tomato");
        goal(&mut g, &[fixture::CANNED_TOMATOES], 14.0);
        // Ten pounds a week never make a load of 21 at once: they are frozen whole and finished together.
        let out = live(&g, &season(&g, pickings(tomato, 0, 7, 6, 10.0)), 70);
        assert!(
            (out.made[0] - 14.0).abs() < 1e-6 || (out.made[0] - 7.0).abs() < 1e-6,
            "{:?}",
            out.made
        );
        assert!(out.made[1] > 0.0);
        // Stripped on the eve of frost they are unripe: no canning.
        let mut strip = ready(tomato, 5, 40.0);
        strip.kind = ReadyKind::Strip;
        let mut draw = season(&g, vec![strip]);
        ended(&mut draw, tomato, 6, EndCause::Cold);
        let out = live(&g, &draw, 28);
        assert_eq!(out.made[0], 0.0);
    }

    #[test]
    fn a_recipe_that_must_begin_within_a_day_does() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::DILLY_BEANS], 40.0);
        goal(&mut g, &[fixture::FROZEN_BEANS], 40.0);
        // Picked on Friday: Saturday is in time. Picked on Sunday: it is not, so it is frozen.
        let friday = live(&g, &season(&g, vec![ready(beans, 4, 6.0)]), 28);
        assert!(
            friday.made[0] > 0.0 && friday.made[1] == 0.0,
            "{:?}",
            friday.made
        );
        let sunday = live(&g, &season(&g, vec![ready(beans, 6, 6.0)]), 28);
        assert!(
            sunday.made[0] == 0.0 && sunday.made[1] > 0.0,
            "{:?}",
            sunday.made
        );
    }

    #[test]
    fn the_freezer_takes_two_pounds_a_cubic_foot_a_day() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        g.household.kitchen.freezer = Some(crate::garden::units::Volume::from_ft3(5.0));
        let out = live(&g, &season(&g, vec![ready(beans, 0, 30.0)]), 28);
        let most = out.tasks.iter().map(|t| t.kg).fold(0.0, f64::max);
        assert!((most - Mass::from_lb(10.0).kg()).abs() < 1e-6, "{most}");
        assert!(out.freezer_refused_kg > 0.0);
        // A full freezer takes nothing at all.
        g.household.kitchen.freezer_free = Some(crate::garden::units::Volume::from_l(0.0));
        let out = live(&g, &season(&g, vec![ready(beans, 0, 30.0)]), 28);
        assert!(out.tasks.is_empty());
    }

    #[test]
    fn what_waits_at_the_start_has_its_age() {
        let mut g = fixture::garden();
        plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        g.record.picked.push(crate::garden::record::Picked {
            date: monday() - Days::new(5),
            whole_week: false,
            bed: None,
            crop: fixture::crop_id("snap bean"),
            planting: None,
            mass: Mass::from_lb(4.0),
            guess: false,
            went: crate::garden::record::Use::Waiting,
            note: None,
        });
        // Picked last Wednesday, fit through this one.
        let out = live(&g, &season(&g, Vec::new()), 28);
        assert_eq!(days_of(&out.sessions), [2]);
        assert!(out.past_best_kg > 1.0);
    }
}
