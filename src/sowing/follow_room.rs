//! When ground comes free in a bed, how much, until when, and after what.
//!
//! The days on which plantings leave come in as an argument. A bed of unknown size has the room of what leaves it.

use super::beds::ground;
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::planting::PlantingId;
use crate::garden::units::Area;
use chrono::NaiveDate;

/// Least room worth sowing, m²: about five square feet (judgement).
const LEAST_M2: f64 = 0.45;
/// Fewest days for which room is worth having: a row of radishes (judgement).
const FEWEST_DAYS: i64 = 28;
/// Days between two plantings that leave a bed at the same time, as far as sowing again goes.
const TOGETHER_DAYS: i64 = 7;

/// Ground that comes free.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// The bed.
    pub bed: BedId,
    /// First day on which it is free.
    pub from: NaiveDate,
    /// First day on which it is wanted again for something planned, if any.
    pub until: Option<NaiveDate>,
    /// How much.
    pub area: Area,
    /// What left it last; their families should not come again.
    pub after: Vec<PlantingId>,
}

/// Returns the ground that comes free in a bed up to a day, earliest first.
///
/// `leaves` holds, for each planting in the garden's order, the first day on which its ground is free again.
#[must_use]
pub fn rooms(
    garden: &Garden,
    bed: BedId,
    leaves: &[NaiveDate],
    as_of: NaiveDate,
    latest: NaiveDate,
) -> Vec<Room> {
    let here: Vec<PlantingId> = (0..garden.plantings.len())
        .map(PlantingId)
        .filter(|&p| garden.planting(p).bed == bed)
        .collect();
    let size = |p: PlantingId| {
        let planting = garden.planting(p);
        ground(planting, garden.crop(planting.crop)).m2()
    };
    let start = |p: PlantingId| garden.planting(p).start();
    let most = garden.bed(bed).area().map(Area::m2);
    let used = |day: NaiveDate| -> f64 {
        let standing = here
            .iter()
            .filter(|&&p| start(p) <= day && day < leaves[p.0]);
        standing.map(|&p| size(p)).sum()
    };
    // Without a known size a bed is as big as the most that ever stands in it.
    let whole = most.unwrap_or_else(|| here.iter().map(|&p| used(start(p))).fold(0.0, f64::max));
    let mut days: Vec<NaiveDate> = here
        .iter()
        .map(|p| leaves[p.0])
        .chain([as_of])
        .filter(|day| (as_of..=latest).contains(day))
        .collect();
    days.sort_unstable();
    days.dedup();
    let mut found: Vec<Room> = Vec::new();
    for day in days {
        let free = whole - used(day);
        if free < LEAST_M2 {
            continue;
        }
        let mut coming: Vec<NaiveDate> = here
            .iter()
            .map(|&p| start(p))
            .filter(|date| *date > day)
            .collect();
        coming.sort_unstable();
        // Either what stays free for good, or all there is until something planned wants it.
        let for_good = coming
            .iter()
            .map(|&date| whole - used(date))
            .fold(free, f64::min);
        let (area, until) = if for_good >= LEAST_M2 {
            (for_good, None)
        } else {
            (
                free,
                coming
                    .iter()
                    .copied()
                    .find(|&date| whole - used(date) < LEAST_M2),
            )
        };
        if until.is_some_and(|until| (until - day).num_days() < FEWEST_DAYS) {
            continue;
        }
        let more = found.last().is_none_or(|before| {
            area - before.area.m2() >= LEAST_M2 || until.is_none() && before.until.is_some()
        });
        if !more {
            continue;
        }
        // What leaves within the week is waited for.
        if let Some(before) = found.last()
            && (day - before.from).num_days() <= TOGETHER_DAYS
        {
            found.pop();
        }
        let last_left = here
            .iter()
            .map(|p| leaves[p.0])
            .filter(|left| *left <= day)
            .max();
        let after = here
            .iter()
            .copied()
            .filter(|p| {
                let left = leaves[p.0];
                left <= day
                    && last_left.is_some_and(|last| (last - left).num_days() <= TOGETHER_DAYS)
            })
            .collect();
        found.push(Room {
            bed,
            from: day,
            until,
            area: Area::from_m2(area),
            after,
        });
    }
    found
}
