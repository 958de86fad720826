//! Checks that need the whole garden: a planting bigger than its bed, and what to warn of.
//!
//! Cell by cell faults are found where the cells are read.

use super::number::tidy;
use super::problem::{Findings, Kind};
use super::rows::Cell;
use crate::garden::bed::Bed;
use crate::garden::crop::Crop;
use crate::garden::planting::{Planting, Size};
use crate::garden::units::Length;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// How many times its room a bed may seem to hold before it is worth a word (judgement).
const CROWDED: f64 = 1.25;

/// Tells every planting that its bed cannot hold.
pub(crate) fn sizes(
    plantings: &[Planting],
    cells: &[Cell<'_>],
    beds: &[Bed],
    crops: &[Crop],
    findings: &mut Findings,
) {
    for (planting, cell) in plantings.iter().zip(cells) {
        let (Some(bed), Some(crop)) = (beds.get(planting.bed.0), crops.get(planting.crop.0)) else {
            continue;
        };
        let (Some(length), Some(width)) = (bed.length, bed.width) else {
            continue;
        };
        if let Some((message, hint)) = excess(planting.size, bed, (length, width), crop) {
            let problem = cell
                .problem(Kind::TooBig, message)
                .expected(format!(
                    "what fits {} by {} ft",
                    round(length.ft()),
                    round(width.ft())
                ))
                .hint(hint);
            findings.tell(problem);
        }
    }
}

/// Warns of beds that hold more at once than fits: plantings that start on one day, with those not yet cleared then.
///
/// A warning only, since crops are also grown between the rows of others; those without a clearing day are left out.
pub(crate) fn crowding(
    plantings: &[Planting],
    beds: &[Bed],
    crops: &[Crop],
    findings: &mut Findings,
) {
    let mut in_bed: BTreeMap<usize, Vec<&Planting>> = BTreeMap::new();
    for planting in plantings {
        in_bed.entry(planting.bed.0).or_default().push(planting);
    }
    for (id, mut list) in in_bed {
        let Some(bed) = beds.get(id).filter(|b| b.area().is_some()) else {
            continue;
        };
        list.sort_by_key(|p| p.start());
        // What is in the ground: until when, if that is known, and what part of the bed it takes.
        let mut there: Vec<(Option<NaiveDate>, f64)> = Vec::new();
        let mut worst: Option<(f64, NaiveDate)> = None;
        for (i, planting) in list.iter().enumerate() {
            let day = planting.start();
            let crop = crops.get(planting.crop.0);
            let share = crop.map_or(0.0, |crop| share_of_bed(planting.size, bed, crop));
            there.retain(|(cleared, _)| cleared.is_none_or(|c| c > day));
            there.push((planting.cleared, share));
            if list.get(i + 1).is_some_and(|next| next.start() == day) {
                continue;
            }
            let filled: f64 = there.iter().map(|(_, share)| share).sum();
            there.retain(|(cleared, _)| cleared.is_some());
            if worst.is_none_or(|(most, _)| filled > most) {
                worst = Some((filled, day));
            }
        }
        if let Some((filled, day)) = worst.filter(|(filled, _)| *filled > CROWDED) {
            findings.warn(format!(
                "Bed {} holds {} times what fits it on {day}: check sizes and clearing days.",
                bed.name,
                round(filled)
            ));
        }
    }
}

/// Returns what part of its bed a planting takes at the closest spacing of its crop.
fn share_of_bed(size: Size, bed: &Bed, crop: &Crop) -> f64 {
    let (Some(area), Some(length), Some(width)) = (bed.area(), bed.length, bed.width) else {
        return 0.0;
    };
    let spacing = closest(crop);
    match size {
        Size::Area(a) => a.m2() / area.m2(),
        Size::Row(row) => row.m() / most_row(length, width, spacing).m(),
        Size::Plants(n) => n / most_plants(length, width, crop.yields.in_row.min(spacing)),
    }
}

/// Returns the closest distance at which rows of a crop stand.
fn closest(crop: &Crop) -> Length {
    let rows = crop.yields.between_rows;
    crop.yields.bed_spacing.unwrap_or(rows).min(rows)
}

/// Returns the most row that a bed holds, lengthwise or across, the outer rows at the very edge.
fn most_row(length: Length, width: Length, spacing: Length) -> Length {
    let rows = |across: Length| (across.m() / spacing.m() + 1e-9).floor() + 1.0;
    (length * rows(width)).max(width * rows(length))
}

/// Returns the most plants that a bed holds, the outer ones at the very edge.
fn most_plants(length: Length, width: Length, apart: Length) -> f64 {
    let along = |side: Length| (side.m() / apart.m() + 1e-9).floor() + 1.0;
    along(length) * along(width)
}

/// Says by how much a planting is too big for its bed, if it is.
///
/// Rows stand at the closest spacing of the crop, the first and the last at the very edge, lengthwise or across:
/// only what fits in no way is refused.
fn excess(size: Size, bed: &Bed, sides: (Length, Length), crop: &Crop) -> Option<(String, String)> {
    let (length, width) = sides;
    let area = bed.area()?;
    let spacing = closest(crop);
    match size {
        Size::Area(a) if a.m2() > area.m2() * 1.001 => Some((
            format!(
                "{} sq ft are more than the {} sq ft of bed {}",
                round(a.sqft()),
                round(area.sqft()),
                bed.name
            ),
            "mend the area, or the bed's length and width in beds.csv".to_owned(),
        )),
        Size::Row(row) => {
            let most = most_row(length, width, spacing);
            (row.m() > most.m() * 1.001).then(|| {
                (
                    format!("{} ft of row are more than bed {} holds: at most {} ft at {} in between rows", round(row.ft()), bed.name, round(most.ft()), round(spacing.inches())),
                    "mend the length of row, or the bed's size; a broadcast or block sowing is given as area_sqft".to_owned(),
                )
            })
        }
        Size::Plants(n) => {
            let apart = crop.yields.in_row.min(spacing);
            let most = most_plants(length, width, apart);
            (n > most * 1.001).then(|| {
                (
                    format!(
                        "{} plants are more than bed {} holds: at most {} at {} in apart",
                        round(n),
                        bed.name,
                        round(most),
                        round(apart.inches())
                    ),
                    "mend the number of plants, or the bed's size".to_owned(),
                )
            })
        }
        Size::Area(_) => None,
    }
}

/// Writes a size with one decimal at most.
fn round(value: f64) -> String {
    tidy((value * 10.0).round() / 10.0)
}
