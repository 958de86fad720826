//! How each planting went, as far as the record tells: its first picking, and whether it gave anything at all.

use super::naive::printed_days;
use super::record::{WeekState, by_planting};
use super::visits::Visits;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::record::Picked;
use crate::garden::week::Week;
use chrono::{Datelike, Days, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// First logged picking of a planting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstPicking {
    /// Its day.
    pub date: NaiveDate,
    /// Whether the bed was picked in the seven days before, so that nothing can have been ready much earlier.
    pub sure: bool,
}

/// How one planting went, as far as the record tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantingRecord {
    /// The planting.
    pub planting: PlantingId,
    /// Year in which it began to grow.
    pub season: i32,
    /// Main food logged for it, kg.
    pub kg: f64,
    /// Its first picking, if any; rows that stand for a whole week do not count.
    pub first: Option<FirstPicking>,
    /// Whether it gave anything at all; none while that is open or cannot be told.
    pub gave: Option<bool>,
}

/// Returns how every planting went, as known on a day.
///
/// A planting has failed when it was ended before anything was picked, or is gone and every week in which it stood after
/// its days to maturity shows nothing picked.
#[must_use]
pub fn plantings(garden: &Garden, rows: &[Picked], until: NaiveDate) -> Vec<PlantingRecord> {
    let Some(start) = garden.plantings.iter().map(|p| p.start()).min() else {
        return Vec::new();
    };
    let visits = Visits::new(garden, rows, until);
    let weeks = by_planting(garden, rows, Week::of(start), until);
    let mut firsts: BTreeMap<PlantingId, NaiveDate> = BTreeMap::new();
    let mut loose: BTreeMap<CropId, BTreeSet<NaiveDate>> = BTreeMap::new();
    for row in rows
        .iter()
        .filter(|r| r.date <= until && r.planting.is_none())
    {
        loose.entry(row.crop).or_default().insert(row.date);
    }
    for row in rows.iter().filter(|r| r.date <= until && !r.whole_week) {
        if let Some(id) = row.planting
            && garden.planting(id).crop == row.crop
        {
            let day = firsts.entry(id).or_insert(row.date);
            *day = (*day).min(row.date);
        }
    }
    weeks
        .iter()
        .zip((0..).map(PlantingId))
        .map(|(logged, id)| {
            let planting = garden.planting(id);
            let kg = logged.total_kg();
            let days = printed_days(garden, planting).unwrap_or(0.0);
            let ripe = Week::of(planting.start() + Days::new(days.max(0.0) as u64));
            let gone = visits.gone(garden, id).filter(|&day| day <= until);
            let empty = || {
                let stood = |week: Week| week >= ripe && gone.is_some_and(|d| week.monday() < d);
                let mut due = logged.iter().filter(|&(week, _)| stood(week)).peekable();
                due.peek().is_some() && due.all(|(_, e)| e.state == WeekState::Nothing)
            };
            let loose = loose.get(&planting.crop).is_some_and(|days| {
                let until = gone.unwrap_or(until).max(planting.start());
                days.range(planting.start()..=until).next().is_some()
            });
            PlantingRecord {
                planting: id,
                season: planting.start().year(),
                kg,
                first: firsts.get(&id).map(|&date| FirstPicking {
                    date,
                    sure: visits.bed_seen_before(planting.bed, date),
                }),
                gave: if kg > 0.0 {
                    Some(true)
                } else if loose {
                    None
                } else if visits.was_ended(id) || empty() {
                    Some(false)
                } else {
                    None
                },
            }
        })
        .collect()
}
