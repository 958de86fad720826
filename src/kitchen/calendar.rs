//! The kitchen's calendar over the horizon: open minutes, cooks, absences, and the last day that will do.
//!
//! Days are counted from the first day of the horizon. Knows no food.

use crate::garden::household::{Away, Household};
use crate::garden::week::Week;
use chrono::{Datelike, Days, NaiveDate};

/// Stands for "no such day" in tables of days.
pub const NEVER: u16 = u16::MAX;

/// Who is there on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Presence {
    /// The household is at home.
    Home,
    /// Away, and a neighbour picks and keeps what is ready.
    Neighbour,
    /// Away, and nobody picks.
    Nobody,
}

/// One element a day over the horizon, and one a week.
#[derive(Debug, Clone)]
pub struct Calendar {
    /// First day of the horizon.
    pub first: NaiveDate,
    /// First day that is lived through; days before it are past.
    pub start: u16,
    /// Number of days.
    pub days: u16,
    /// Weeks that the horizon touches, in order.
    pub weeks: Vec<Week>,
    /// Week of each day, as an index into `weeks`.
    pub week_of: Vec<u16>,
    /// Days since Monday, 0–6.
    pub weekday: Vec<u8>,
    /// Kitchen minutes of each day; zero when closed or away.
    pub open_min: Vec<f64>,
    /// Cooks of each day.
    pub hands: Vec<f64>,
    /// Who is there.
    pub presence: Vec<Presence>,
    /// Latest open day up to and with each day, not before the start.
    pub last_open: Vec<u16>,
    /// Latest day at home up to and with each day, not before the start.
    pub last_home: Vec<u16>,
    /// Latest day with somebody to pick up to and with each day, not before the start.
    pub last_attended: Vec<u16>,
    /// First day with somebody to pick from each day on.
    pub next_attended: Vec<u16>,
    /// Whether a day is the last open one of its week.
    pub closes_week: Vec<bool>,
    /// Latest week-closing day up to and with each day, not before the start.
    pub last_closing: Vec<u16>,
    /// Kitchen minutes of each week, from the start on.
    pub week_min: Vec<f64>,
    /// Number of days without anybody to pick before each day; one element more than days.
    nobody_before: Vec<u16>,
}

impl Calendar {
    /// Returns the date of a day.
    #[must_use]
    pub fn date(&self, day: u16) -> NaiveDate {
        self.first + Days::new(u64::from(day))
    }

    /// Returns how many of the `length` days up to and with `day` had nobody to pick.
    #[must_use]
    pub fn nobody_in(&self, day: u16, length: u16) -> u16 {
        let end = usize::from(day) + 1;
        let begin = end.saturating_sub(usize::from(length));
        self.nobody_before[end] - self.nobody_before[begin]
    }

    /// Computes, for each day, the latest day up to it that offers at least so many minutes.
    ///
    /// Shape: one element a day; [`NEVER`] where there is none from the start on.
    #[must_use]
    pub fn last_day_of_at_least(&self, minutes: f64) -> Vec<u16> {
        latest(self.days, |d| {
            d >= usize::from(self.start) && self.open_min[d] > 0.0 && self.open_min[d] >= minutes
        })
    }
}

/// Lays out the calendar of a household.
#[must_use]
pub fn lay_out(household: &Household, first: NaiveDate, days: u16, as_of: NaiveDate) -> Calendar {
    let start = (as_of - first).num_days().clamp(0, i64::from(days));
    let start = u16::try_from(start).unwrap_or(days);
    let n = usize::from(days);
    let date = |d: usize| first + Days::new(d as u64);
    let presence: Vec<Presence> = (0..n)
        .map(|d| presence_on(&household.away, date(d)))
        .collect();
    let home = |d: usize| presence[d] == Presence::Home;
    let open_min: Vec<f64> = (0..n)
        .map(|d| {
            if home(d) {
                household.kitchen.minutes_on(date(d)).min_value()
            } else {
                0.0
            }
        })
        .collect();
    let hands = (0..n)
        .map(|d| household.kitchen.hands_on(date(d)).max(0.1))
        .collect();
    let week0 = Week::of(first);
    let week_of: Vec<u16> = (0..n)
        .map(|d| u16::try_from(Week::of(date(d)).since(week0)).unwrap_or(0))
        .collect();
    let n_weeks = week_of.last().map_or(0, |w| usize::from(*w) + 1);
    let s = usize::from(start);
    let mut week_min = vec![0.0; n_weeks];
    let mut closing_day = vec![None; n_weeks];
    for d in s..n {
        let w = usize::from(week_of[d]);
        week_min[w] += open_min[d];
        if open_min[d] > 0.0 {
            closing_day[w] = Some(d);
        }
    }
    let closes_week: Vec<bool> = (0..n)
        .map(|d| closing_day[usize::from(week_of[d])] == Some(d))
        .collect();
    let mut nobody_before = Vec::with_capacity(n + 1);
    nobody_before.push(0);
    for p in &presence {
        let so_far = nobody_before.last().copied().unwrap_or(0);
        nobody_before.push(so_far + u16::from(*p == Presence::Nobody));
    }
    let attended = |d: usize| presence[d] != Presence::Nobody;
    let mut next_attended = vec![NEVER; n];
    let mut next = NEVER;
    for d in (0..n).rev() {
        if attended(d) {
            next = d as u16;
        }
        next_attended[d] = next;
    }
    Calendar {
        first,
        start,
        days,
        weeks: (0..n_weeks as i64).map(|w| week0.plus(w)).collect(),
        weekday: (0..n)
            .map(|d| date(d).weekday().num_days_from_monday() as u8)
            .collect(),
        last_open: latest(days, |d| d >= s && open_min[d] > 0.0),
        last_home: latest(days, |d| d >= s && home(d)),
        last_attended: latest(days, |d| d >= s && attended(d)),
        last_closing: latest(days, |d| d >= s && closes_week[d]),
        next_attended,
        week_of,
        open_min,
        hands,
        presence,
        closes_week,
        week_min,
        nobody_before,
    }
}

fn presence_on(away: &[Away], date: NaiveDate) -> Presence {
    match away.iter().find(|a| a.days.contains(date)) {
        None => Presence::Home,
        Some(a) if a.neighbour_picks => Presence::Neighbour,
        Some(_) => Presence::Nobody,
    }
}

fn latest(days: u16, holds: impl Fn(usize) -> bool) -> Vec<u16> {
    let mut last = NEVER;
    (0..days)
        .map(|d| {
            if holds(usize::from(d)) {
                last = d;
            }
            last
        })
        .collect()
}
