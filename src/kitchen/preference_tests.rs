//! What a goal prefers is given its day: a canner load ahead, a refrigerator jar only in the kitchen's hours.
//!
//! Tests only; the household and its amounts are invented. It is in the kitchen on Wednesdays (1½ h) and Saturdays (4 h);
//! tomatoes keep 8 days, and a canner load takes 21 lb.

use super::accumulate::Accumulator;
use super::context::compile;
use super::day_by_day::{Scratch, day_by_day};
use super::draw::KitchenDraw;
use super::fixture::{self, goal, monday, plant, ready, season};
use super::forecast::GoalSeason;
use super::overload::overload;
use crate::garden::Garden;
use crate::garden::units::Minutes;
use crate::season::draw::Ready;

/// Lives through one season; returns the draw and the goals of a forecast made of it alone.
fn live(garden: &Garden, all: Vec<Ready>) -> (KitchenDraw, Vec<GoalSeason>) {
    let ctx = compile(garden, monday(), 28, monday());
    let mut s = Scratch::new(&ctx);
    let out = day_by_day(&ctx, &season(garden, all), &mut s).clone();
    assert!(out.books.balance(), "{:?}", out.books);
    let mut sums = Accumulator::new(&ctx, 1);
    sums.add(&ctx, &out);
    (out, overload(&ctx, vec![sums]).goals)
}

fn made_on(out: &KitchenDraw, day: u16) -> usize {
    let session = |t: &&super::draw::Task| out.sessions[usize::from(t.session)].day == day;
    out.tasks.iter().filter(session).count()
}

/// Okra picked on Sunday must be frozen on Wednesday; the tomatoes picked with it are meant for Saturday's canner.
#[test]
fn a_session_for_something_else_leaves_the_load_of_saturday_alone() {
    let mut g = fixture::garden();
    let tomato = plant(&mut g, "tomato");
    let okra = plant(&mut g, "okra");
    goal(&mut g, &[fixture::FROZEN_OKRA], 40.0);
    goal(
        &mut g,
        &[fixture::CANNED_TOMATOES, fixture::FROZEN_TOMATOES],
        40.0,
    );
    let both = vec![ready(okra, 0, 3.0), ready(tomato, 0, 24.0)];
    let (out, goals) = live(&g, both);
    assert_eq!(made_on(&out, 2), 1, "{:?}", out.tasks);
    assert!(out.made[1] >= 7.0, "{:?}", out.made);
    // The pounds beyond whole jars are frozen that Saturday; each container counts once.
    let both: f64 = out.made[1] + out.made[2];
    assert!((out.goal_made[1] - both).abs() < 1e-9, "{out:?}");
    assert_eq!(goals[1].containers.p50, f64::from(out.goal_made[1] as f32));

    // What would not last until Saturday's load is frozen on Wednesday after all.
    g.household.kitchen.minutes[5] = Minutes::from_hours(1.5);
    let both = vec![ready(okra, 0, 3.0), ready(tomato, 0, 24.0)];
    let (out, _) = live(&g, both);
    assert_eq!(out.made[1], 0.0, "{:?}", out.made);
    assert!(out.made[2] > 2.0, "{:?}", out.made);
    assert_eq!(made_on(&out, 2), 2, "{:?}", out.tasks);
}

/// The same where freezing only gathers for the canner.
#[test]
fn gathering_leaves_the_load_of_saturday_alone() {
    let mut g = fixture::garden();
    let tomato = plant(&mut g, "tomato");
    let okra = plant(&mut g, "okra");
    goal(&mut g, &[fixture::FROZEN_OKRA], 40.0);
    goal(&mut g, &[fixture::CANNED_TOMATOES], 40.0);
    let both = vec![ready(okra, 0, 3.0), ready(tomato, 0, 24.0)];
    let (out, _) = live(&g, both);
    assert_eq!(made_on(&out, 2), 1, "{:?}", out.tasks);
    assert!(out.made[1] >= 7.0, "{:?}", out.made);
}

/// A goal that ranks lower takes only what the load of a higher one will not want.
#[test]
fn a_lower_goal_leaves_the_load_of_saturday_alone() {
    let mut g = fixture::garden();
    let tomato = plant(&mut g, "tomato");
    let okra = plant(&mut g, "okra");
    goal(&mut g, &[fixture::FROZEN_OKRA], 40.0);
    goal(&mut g, &[fixture::CANNED_TOMATOES], 7.0);
    goal(&mut g, &[fixture::FROZEN_TOMATOES], 40.0);
    let both = vec![ready(okra, 0, 3.0), ready(tomato, 0, 24.0)];
    let (out, _) = live(&g, both);
    // Okra on Wednesday; three pounds of tomatoes are free, and Saturday's load of seven jars has its 21.
    assert!((out.made[1] - 7.0).abs() < 1e-6, "{:?}", out.made);
    let frozen_lb = out.made[2] * 5.0;
    assert!((frozen_lb - 3.0).abs() < 1e-4, "{:?}", out.made);
    assert_eq!(made_on(&out, 2), 2, "{:?}", out.tasks);
    // With 34 pounds Wednesday takes the thirteen that the load does not want.
    let both = vec![ready(okra, 0, 3.0), ready(tomato, 0, 34.0)];
    let (out, _) = live(&g, both);
    assert!((out.made[1] - 7.0).abs() < 1e-6, "{:?}", out.made);
    assert!((out.made[2] * 5.0 - 13.0).abs() < 1e-4, "{:?}", out.made);
}

/// Frozen tomatoes that the goal takes as they are do not count a second time as the jars they might become.
#[test]
fn a_gatherer_that_is_wanted_itself_counts_once() {
    let mut g = fixture::garden();
    let tomato = plant(&mut g, "tomato");
    goal(
        &mut g,
        &[fixture::CANNED_TOMATOES, fixture::FROZEN_TOMATOES],
        40.0,
    );
    let all = fixture::pickings(tomato, 0, 7, 3, 12.0);
    let (out, _) = live(&g, all);
    let picked_lb = 36.0;
    let in_containers = 3.0 * out.made[0] + 5.0 * out.made[1];
    assert!(in_containers <= picked_lb + 1e-4, "{:?}", out.made);
    assert!(in_containers > 20.0, "{:?}", out.made);
    assert!((out.goal_made[0] - out.made[0] - out.made[1]).abs() < 1e-9);
}

#[test]
fn jars_made_as_they_are_eaten_are_shown_and_never_reached() {
    let mut g = fixture::garden();
    let (radish, onion) = (plant(&mut g, "radish"), plant(&mut g, "onion"));
    goal(&mut g, &[fixture::RADISH_PICKLE], 0.0);
    g.household.goals.as_mut().unwrap()[0].eat_per_week = Some(1.0);
    let both = vec![ready(radish, 0, 6.0), ready(onion, 0, 1.5)];
    let (out, goals) = live(&g, both);
    assert!(out.made[0] > 2.0, "{:?}", out.made);
    assert!((goals[0].containers.p50 - out.made[0]).abs() < 1e-5);
    assert_eq!((goals[0].wanted, goals[0].chance), (None, None));
}

/// A refrigerator jar within a day of picking: on Saturday if picked then, never on a day without hours.
#[test]
fn a_refrigerator_jar_asks_for_no_session_outside_the_hours() {
    let mut g = fixture::garden();
    let (radish, onion) = (plant(&mut g, "radish"), plant(&mut g, "onion"));
    g.products[fixture::RADISH_PICKLE.0].within_hours = Some(24.0);
    // Pulled when ready, not left standing for Saturday.
    for crop in ["radish", "onion"] {
        g.crops[fixture::crop_id(crop).0].harvest.holds_days = 1.0;
    }
    goal(&mut g, &[fixture::RADISH_PICKLE], 0.0);
    g.household.goals.as_mut().unwrap()[0].eat_per_week = Some(1.0);
    for (picked, sessions) in [(3, 0), (4, 1), (5, 1), (6, 0)] {
        let both = vec![ready(radish, picked, 6.0), ready(onion, picked, 1.5)];
        let (out, _) = live(&g, both);
        assert_eq!(out.sessions.len(), sessions, "picked on day {picked}");
        assert!(
            out.sessions.iter().all(|x| x.day == 5),
            "{:?}",
            out.sessions
        );
    }
    // Okra that nobody could freeze in time forces a Thursday; the jar does not ride along.
    let okra = plant(&mut g, "okra");
    g.household.kitchen.minutes[2] = Minutes::from_min(0.0);
    goal(&mut g, &[fixture::FROZEN_OKRA], 40.0);
    let all = vec![
        ready(okra, 6, 3.0),
        ready(radish, 10, 6.0),
        ready(onion, 10, 1.5),
    ];
    let (out, _) = live(&g, all);
    assert_eq!(out.sessions.len(), 1);
    assert_eq!(out.sessions[0].day, 10);
    assert_eq!(out.made[0], 0.0);
    assert!(out.made[1] > 1.0);
}
