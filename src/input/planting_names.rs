//! Names of plantings: the given one, else bed, crop and date, with -2, -3 for twins, the biggest first.
//!
//! Every name is unique in the garden, since draws and records are keyed by it.

use super::number;
use super::plantings::Read;
use super::problem::{Findings, Kind};
use super::rows::Cell;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::{PlantingId, Size};
use std::collections::HashMap;

/// Takes the names that rows give, tells names given twice, and gathers the plantings without one.
pub(crate) fn given(out: &mut Read<'_>, given: &[Option<Cell<'_>>], f: &mut Findings) {
    for (i, cell) in given.iter().enumerate() {
        let Some(cell) = cell else { continue };
        out.plantings[i].name = cell.text.clone().into_owned();
        if !out.names.add(&cell.text, PlantingId(i)) {
            out.complete = false;
            f.tell(
                cell.problem(
                    Kind::RepeatedName,
                    format!(
                        "there is a planting `{}` already",
                        number::short(&cell.text)
                    ),
                )
                .expected("a name of its own for each planting")
                .hint("leave the column empty and the name is made from bed, crop and date"),
            );
        }
    }
    let mut twins: HashMap<(BedId, CropId, chrono::NaiveDate), Vec<usize>> = HashMap::new();
    for (i, p) in out.plantings.iter().enumerate() {
        if p.name.is_empty() {
            twins.entry((p.bed, p.crop, p.start())).or_default().push(i);
        }
    }
    out.twins = twins.into_values().collect();
}

/// Names the plantings whose rows do not: needs the names of beds and crops in force.
pub(crate) fn made(
    out: &mut Read<'_>,
    bed_name: impl Fn(BedId) -> String,
    crop_name: impl Fn(CropId) -> String,
) {
    let amount = |size: Size| match size {
        Size::Row(length) => (0, length.m()),
        Size::Area(area) => (1, area.m2()),
        Size::Plants(n) => (2, n),
    };
    for mut twins in std::mem::take(&mut out.twins) {
        twins.sort_by(|&a, &b| {
            let (a, b) = (amount(out.plantings[a].size), amount(out.plantings[b].size));
            a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))
        });
        let mut n = 1;
        for i in twins {
            let p = &out.plantings[i];
            let stem = format!("{} {} {}", bed_name(p.bed), crop_name(p.crop), p.start());
            // A name made may be one that somebody gave; then the next number is tried.
            loop {
                let name = if n == 1 {
                    stem.clone()
                } else {
                    format!("{stem}-{n}")
                };
                n += 1;
                if out.names.add(&name, PlantingId(i)) {
                    out.plantings[i].name = name;
                    break;
                }
            }
        }
    }
}
