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

/// Says by how much a planting is too big for its bed, if it is.
///
/// Rows stand at the closest spacing of the crop, the first and the last at the very edge, lengthwise or across:
/// only what fits in no way is refused.
fn excess(size: Size, bed: &Bed, sides: (Length, Length), crop: &Crop) -> Option<(String, String)> {
    let (length, width) = sides;
    let area = bed.area()?;
    let spacing = crop
        .yields
        .bed_spacing
        .unwrap_or(crop.yields.between_rows)
        .min(crop.yields.between_rows);
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
            let rows = |across: Length| (across.m() / spacing.m() + 1e-9).floor() + 1.0;
            let most = (length * rows(width)).max(width * rows(length));
            (row.m() > most.m() * 1.001).then(|| {
                (
                    format!("{} ft of row are more than bed {} holds: at most {} ft at {} in between rows", round(row.ft()), bed.name, round(most.ft()), round(spacing.inches())),
                    "mend the length of row, or the bed's size; a broadcast or block sowing is given as area_sqft".to_owned(),
                )
            })
        }
        Size::Plants(n) => {
            let apart = crop.yields.in_row.min(spacing);
            let along = |side: Length| (side.m() / apart.m() + 1e-9).floor() + 1.0;
            let most = along(length) * along(width);
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
