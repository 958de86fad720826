//! What stands in each bed when: ground used against the ground there is, and a family that follows itself.
//!
//! The days on which a planting leaves its bed come in as an argument, so that plain clearing dates and forecast ends
//! are treated alike.

use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::Crop;
use crate::garden::planting::{Planting, PlantingId, Size};
use crate::garden::units::Area;
use chrono::{Days, NaiveDate};

/// A bed may be this much fuller than its area before it is called overfull: paths and edges are used a little.
const TOLERANCE: f64 = 1.1;
/// Days within which a family that comes again into the same bed follows itself (common practice, no source).
const ROTATION_DAYS: i64 = 365;

/// Something to tell about a bed.
#[derive(Debug, Clone, PartialEq)]
pub enum BedFinding {
    /// More ground is planted than the bed has.
    Overfull {
        /// The bed.
        bed: BedId,
        /// First day on which it is so.
        from: NaiveDate,
        /// Last day on which it is so.
        until: NaiveDate,
        /// Most ground planted in that time.
        used: Area,
        /// Ground the bed has.
        room: Area,
        /// What stands there on the first such day.
        plantings: Vec<PlantingId>,
    },
    /// A family follows itself within a year.
    SameFamily {
        /// The bed.
        bed: BedId,
        /// The earlier planting.
        before: PlantingId,
        /// The later planting.
        after: PlantingId,
    },
}

/// Returns the ground that a planting takes.
///
/// A row takes its length times the distance between rows; plants take the distance between plants each way in a
/// raised bed, or the row distances where no raised-bed distance is known.
#[must_use]
pub fn ground(planting: &Planting, crop: &Crop) -> Area {
    let yields = &crop.yields;
    match planting.size {
        Size::Area(area) => area,
        Size::Row(length) => Area::from_m2(length.m() * yields.between_rows.m()),
        Size::Plants(count) => {
            let each = yields
                .bed_spacing
                .map_or(yields.in_row.m() * yields.between_rows.m(), |s| {
                    s.m() * s.m()
                });
            Area::from_m2(count * each)
        }
    }
}

/// Looks through all beds for overfull days and for families that follow themselves.
///
/// `leaves` holds, for each planting in the garden's order, the first day on which its ground is free again.
#[must_use]
pub fn findings(garden: &Garden, leaves: &[NaiveDate]) -> Vec<BedFinding> {
    let mut found = Vec::new();
    for bed in (0..garden.beds.len()).map(BedId) {
        let mut here: Vec<PlantingId> = (0..garden.plantings.len())
            .map(PlantingId)
            .filter(|&p| garden.planting(p).bed == bed)
            .collect();
        here.sort_by_key(|&p| (garden.planting(p).start(), p));
        found.extend(overfull(garden, bed, &here, leaves));
        found.extend(same_family(garden, bed, &here, leaves));
    }
    found
}

/// Runs of days on which a bed holds more than it has room for.
fn overfull(
    garden: &Garden,
    bed: BedId,
    here: &[PlantingId],
    leaves: &[NaiveDate],
) -> Vec<BedFinding> {
    let Some(room) = garden.bed(bed).area() else {
        return Vec::new();
    };
    let stands =
        |p: PlantingId, day: NaiveDate| garden.planting(p).start() <= day && day < leaves[p.0];
    let used = |day: NaiveDate| -> Area {
        here.iter()
            .filter(|&&p| stands(p, day))
            .map(|&p| ground(garden.planting(p), garden.crop(garden.planting(p).crop)))
            .sum()
    };
    // Ground is only taken or freed on these days.
    let mut changes: Vec<NaiveDate> = here
        .iter()
        .flat_map(|&p| [garden.planting(p).start(), leaves[p.0]])
        .collect();
    changes.sort_unstable();
    changes.dedup();
    let mut found: Vec<BedFinding> = Vec::new();
    let mut open = false;
    for (i, &day) in changes.iter().enumerate() {
        let now = used(day);
        if now.m2() <= room.m2() * TOLERANCE {
            open = false;
            continue;
        }
        let last = changes.get(i + 1).map_or(day, |&next| next - Days::new(1));
        match found.last_mut() {
            Some(BedFinding::Overfull { until, used, .. }) if open => {
                *until = last;
                *used = used.max(now);
            }
            _ => found.push(BedFinding::Overfull {
                bed,
                from: day,
                until: last,
                used: now,
                room,
                plantings: here.iter().copied().filter(|&p| stands(p, day)).collect(),
            }),
        }
        open = true;
    }
    found
}

/// Plantings that follow one of their own family: what left the bed last before they came is of the same family.
fn same_family(
    garden: &Garden,
    bed: BedId,
    here: &[PlantingId],
    leaves: &[NaiveDate],
) -> Vec<BedFinding> {
    let family = |p: PlantingId| &garden.crop(garden.planting(p).crop).family;
    let mut found = Vec::new();
    for &after in here {
        let start = garden.planting(after).start();
        let gone = |p: PlantingId| {
            leaves[p.0] <= start && (start - leaves[p.0]).num_days() < ROTATION_DAYS
        };
        let last = here
            .iter()
            .copied()
            .filter(|&p| p != after && gone(p))
            .map(|p| leaves[p.0])
            .max();
        let before = here.iter().copied().find(|&p| {
            p != after && gone(p) && Some(leaves[p.0]) == last && family(p) == family(after)
        });
        if let Some(before) = before {
            found.push(BedFinding::SameFamily { bed, before, after });
        }
    }
    found
}
