//! The record by week: what was picked, and in which weeks nothing is known.
//!
//! Tells apart weeks in which nothing was picked, weeks that nobody logged and weeks away. Knows no forecast.
//! A week without an entry counts as nothing picked only if the bed was picked in the same week or in the next seven
//! days, or the planting was gone; otherwise it is unknown.

use super::visits::Visits;
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::preserving::Part;
use crate::garden::record::{Picked, Use};
use crate::garden::week::Week;
use chrono::{Days, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// What is known of a week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeekState {
    /// Something was picked.
    Picked,
    /// Nothing was picked, and the household would have known.
    Nothing,
    /// No entry, and nobody was at the bed soon enough to tell.
    Unlogged,
    /// No entry, and the household was away with nobody picking.
    Away,
    /// Nothing stood yet.
    NotYet,
}

/// One week of the record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekEntry {
    /// What is known.
    pub state: WeekState,
    /// Amount picked, kg.
    pub kg: f64,
    /// Part of it that was guessed, or counted in bags, kg.
    pub guessed_kg: f64,
    /// Days on which the household was away with nobody picking.
    pub away_days: u8,
}

/// The weeks of one crop, or of one planting of it.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedWeeks {
    /// The crop.
    pub crop: CropId,
    /// The planting, if it is about one.
    pub planting: Option<PlantingId>,
    /// Week of the first entry.
    pub first: Week,
    /// One entry a week.
    pub weeks: Vec<WeekEntry>,
}

impl LoggedWeeks {
    /// Returns the entry of a week; none outside the record.
    #[must_use]
    pub fn entry(&self, week: Week) -> Option<&WeekEntry> {
        self.weeks
            .get(usize::try_from(week.since(self.first)).ok()?)
    }
    /// Returns what was picked in a week in kg, zero if surely nothing; none if it is not known.
    #[must_use]
    pub fn known_kg(&self, week: Week) -> Option<f64> {
        let entry = self.entry(week)?;
        match entry.state {
            WeekState::Picked => Some(entry.kg),
            WeekState::Nothing => Some(0.0),
            WeekState::Unlogged | WeekState::Away | WeekState::NotYet => None,
        }
    }
    /// Returns the weeks in order with their entries.
    pub fn iter(&self) -> impl Iterator<Item = (Week, &WeekEntry)> {
        (0_i64..).map(|i| self.first.plus(i)).zip(&self.weeks)
    }
    /// Returns all that was picked, kg.
    #[must_use]
    pub fn total_kg(&self) -> f64 {
        self.weeks.iter().map(|entry| entry.kg).sum()
    }
}

/// Days before bags are put by within which a picking of the crop shows that the food was weighed.
const WEIGHED_WITHIN_DAYS: u64 = 7;

/// Returns the logged pickings, and bags put by as guessed pickings where none was weighed in the week before.
///
/// A mixture is split evenly between the least and greatest shares of its crops. Where one of them was weighed, the bags are
/// taken to be of that one: a crop that the product can do without is not heard of by them. Products finished from others (such as
/// frozen tomatoes canned later) add nothing when containers of the other were taken within three days.
#[must_use]
pub fn with_counted_bags(garden: &Garden) -> Vec<Picked> {
    let mut rows = garden.record.picked.clone();
    let mut weighed: BTreeMap<CropId, BTreeSet<NaiveDate>> = BTreeMap::new();
    for row in &rows {
        weighed.entry(row.crop).or_default().insert(row.date);
    }
    for put in garden.record.stores.iter().filter(|put| put.change > 0.0) {
        let product = garden.product(put.product);
        let finished = garden.record.stores.iter().any(|taken| {
            taken.change < 0.0
                && (taken.date - put.date).num_days().abs() <= 3
                && garden.product(taken.product).finish_as.as_deref() == Some(&product.name)
        });
        if finished {
            continue;
        }
        let middle = |least: f64, greatest: f64| (least + greatest) / 2.0;
        let parts = &product.parts;
        let all: f64 = parts.iter().map(|p| middle(p.least, p.greatest)).sum();
        let from = put.date - Days::new(WEIGHED_WITHIN_DAYS);
        let known = |part: &Part| {
            let days = weighed.get(&part.crop);
            days.is_some_and(|days| days.range(from..=put.date).next().is_some())
        };
        let any_known = parts.iter().any(known);
        for part in parts.iter().filter(|_| all > 0.0) {
            if known(part) || (any_known && part.least <= 0.0) {
                continue;
            }
            let share = middle(part.least, part.greatest) / all;
            rows.push(Picked {
                date: put.date,
                whole_week: false,
                bed: None,
                crop: part.crop,
                planting: None,
                mass: product.garden_mass_per_container() * (put.change * share),
                guess: true,
                went: Use::PutBy,
                note: None,
            });
        }
    }
    rows
}

/// Returns the record of every crop that was picked or planted, from one week to another (both included).
///
/// Rows and events after `until` are not looked at; weeks that end after it are left out. `rows` are the pickings, as
/// [`with_counted_bags`] gives them.
#[must_use]
pub fn by_crop(
    garden: &Garden,
    rows: &[Picked],
    first: Week,
    until: NaiveDate,
) -> Vec<LoggedWeeks> {
    let visits = Visits::new(garden, rows, until);
    let sums = sums(rows, until, |row| Some(row.crop));
    let count = whole_weeks(first, until);
    (0..garden.crops.len())
        .map(CropId)
        .filter(|&crop| {
            !visits.giving(crop).is_empty()
                || sums
                    .range((crop, first)..)
                    .next()
                    .is_some_and(|(k, _)| k.0 == crop)
        })
        .map(|crop| LoggedWeeks {
            crop,
            planting: None,
            first,
            weeks: (0..count)
                .map(|i| {
                    let week = first.plus(i);
                    entry(garden, week, sums.get(&(crop, week)), || {
                        crop_state(garden, &visits, crop, week)
                    })
                })
                .collect(),
        })
        .collect()
}

/// Returns the record of every planting's main food, from one week to another (both included).
///
/// Rows that do not say their planting leave every planting of that crop unknown in their week.
#[must_use]
pub fn by_planting(
    garden: &Garden,
    rows: &[Picked],
    first: Week,
    until: NaiveDate,
) -> Vec<LoggedWeeks> {
    let visits = Visits::new(garden, rows, until);
    let main = |row: &Picked| {
        row.planting
            .filter(|&id| garden.planting(id).crop == row.crop)
    };
    let sums_of = sums(rows, until, main);
    let loose = sums(rows, until, |row| {
        row.planting.is_none().then_some(row.crop)
    });
    let count = whole_weeks(first, until);
    (0..garden.plantings.len())
        .map(PlantingId)
        .map(|id| {
            let planting = garden.planting(id);
            let crop = planting.crop;
            let weeks = (0..count)
                .map(|i| {
                    let week = first.plus(i);
                    entry(garden, week, sums_of.get(&(id, week)), || {
                        if week.sunday() < planting.start() {
                            WeekState::NotYet
                        } else if visits.gone(garden, id).is_some_and(|d| d <= week.monday()) {
                            WeekState::Nothing
                        } else if loose.contains_key(&(crop, week)) {
                            WeekState::Unlogged
                        } else if visits.bed_seen(planting.bed, week) {
                            WeekState::Nothing
                        } else {
                            WeekState::Unlogged
                        }
                    })
                })
                .collect();
            LoggedWeeks {
                crop,
                planting: Some(id),
                first,
                weeks,
            }
        })
        .collect()
}

/// Returns the record of what some plantings of a crop gave in one bed, from one week to another (both included).
///
/// A picking of which it cannot be told whether it was theirs leaves its week unknown.
pub(super) fn in_bed(
    garden: &Garden,
    rows: &[Picked],
    visits: &Visits,
    plantings: &BTreeSet<PlantingId>,
    (bed, crop): (BedId, CropId),
    (first, until): (Week, NaiveDate),
) -> LoggedWeeks {
    let there = |id: PlantingId| {
        let planting = garden.planting(id);
        (planting.bed, planting.crop) == (bed, crop)
    };
    let theirs = |row: &Picked| match row.planting {
        _ if row.crop != crop => Some(false),
        Some(id) => Some(plantings.contains(&id) && there(id)),
        None if row.bed == Some(bed) => visits
            .standing(garden, crop, row.date, row.date)
            .filter(|&id| garden.planting(id).bed == bed)
            .all(|id| plantings.contains(&id) && there(id))
            .then_some(true),
        None => row.bed.map(|_| false),
    };
    let sums_of = sums(rows, until, |row| (theirs(row) == Some(true)).then_some(()));
    let unclear = sums(rows, until, |row| theirs(row).is_none().then_some(()));
    let own = || plantings.iter().copied().filter(|&id| there(id));
    let picked = !sums_of.is_empty();
    let state = |week: Week| {
        let (monday, sunday) = (week.monday(), week.sunday());
        if own().all(|id| sunday < garden.planting(id).start()) {
            WeekState::NotYet
        } else if own().all(|id| visits.gone(garden, id).is_some_and(|day| day <= monday)) {
            WeekState::Nothing
        } else if visits.bed_seen(bed, week) || picked && visits.any_seen(week) {
            // What was let stand in a week that was passed over is in the next picking.
            WeekState::Nothing
        } else {
            WeekState::Unlogged
        }
    };
    let weeks = (0..whole_weeks(first, until)).map(|i| {
        let week = first.plus(i);
        let mut entry = entry(garden, week, sums_of.get(&((), week)), || state(week));
        if unclear.contains_key(&((), week)) {
            entry.state = WeekState::Unlogged;
        }
        entry
    });
    LoggedWeeks {
        crop,
        planting: None,
        first,
        weeks: weeks.collect(),
    }
}

/// Amount and guessed part of a week, kg.
type Sum = (f64, f64);

/// Adds rows up by key and week.
fn sums<K: Ord>(
    rows: &[Picked],
    until: NaiveDate,
    key: impl Fn(&Picked) -> Option<K>,
) -> BTreeMap<(K, Week), Sum> {
    let mut sums: BTreeMap<(K, Week), Sum> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.date <= until) {
        if let Some(key) = key(row) {
            let (kg, guessed) = sums.entry((key, Week::of(row.date))).or_default();
            *kg += row.mass.kg();
            *guessed += if row.guess { row.mass.kg() } else { 0.0 };
        }
    }
    sums
}

/// Counts the weeks from `first` on that end on `until` or before.
fn whole_weeks(first: Week, until: NaiveDate) -> i64 {
    ((until - first.monday()).num_days() + 1)
        .div_euclid(7)
        .max(0)
}

/// Makes the entry of a week from its sum, or from what its emptiness means.
fn entry(
    garden: &Garden,
    week: Week,
    sum: Option<&Sum>,
    empty: impl FnOnce() -> WeekState,
) -> WeekEntry {
    let away = |day: &NaiveDate| {
        let stretches = &garden.household.away;
        stretches
            .iter()
            .any(|a| !a.neighbour_picks && a.days.contains(*day))
    };
    let away_days = week.monday().iter_days().take(7).filter(away).count();
    let state = match sum {
        Some(_) => WeekState::Picked,
        None => match empty() {
            WeekState::Nothing | WeekState::Unlogged if away_days > 0 => WeekState::Away,
            state => state,
        },
    };
    let &(kg, guessed_kg) = sum.unwrap_or(&(0.0, 0.0));
    WeekEntry {
        state,
        kg,
        guessed_kg,
        away_days: u8::try_from(away_days).unwrap_or(7),
    }
}

/// Says what a week without an entry of a crop means.
fn crop_state(garden: &Garden, visits: &Visits, crop: CropId, week: Week) -> WeekState {
    let mut any = false;
    let mut all_seen = true;
    for id in visits.standing(garden, crop, week.monday(), week.sunday()) {
        any = true;
        all_seen &= visits.bed_seen(garden.planting(id).bed, week);
    }
    if !any {
        let started = visits
            .giving(crop)
            .iter()
            .any(|&id| garden.planting(id).start() <= week.sunday());
        return if started {
            WeekState::Nothing
        } else {
            WeekState::NotYet
        };
    }
    if all_seen || visits.crop_seen(crop, week) {
        WeekState::Nothing
    } else {
        WeekState::Unlogged
    }
}
