//! Sowing dates tried: one metre of row of each crop on each date, all in the same drawn seasons.
//!
//! The garden's place and crops are kept, its beds and plantings are set aside. Decides nothing.

use crate::garden::Garden;
use crate::garden::bed::{Bed, BedId};
use crate::garden::crop::{Crop, CropId, Pattern};
use crate::garden::planting::{Planting, Size};
use crate::garden::record::{Happening, Record};
use crate::garden::units::Length;
use crate::season::ensemble::Settings;
use crate::season::plan;
use crate::season::trials::{Trial, trials};
use chrono::NaiveDate;

/// One date tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Candidate {
    /// The crop.
    pub(crate) crop: CropId,
    /// Whether it is set out; else it is sown in place.
    pub(crate) set_out: bool,
    /// Index of the bed it stands in.
    pub(crate) bed: usize,
    /// Whether it is cut as baby leaves; else grown on.
    pub(crate) baby: bool,
    /// First day in the bed.
    pub(crate) date: NaiveDate,
    /// First day on which its ground is wanted for something else, if any.
    pub(crate) cleared: Option<NaiveDate>,
}

/// Tries every candidate, in their order.
pub(crate) fn try_all(
    garden: &Garden,
    beds: &[Bed],
    as_of: NaiveDate,
    candidates: &[Candidate],
    settings: &Settings,
    until: NaiveDate,
) -> Vec<Trial> {
    let trial = garden_of(garden, beds, candidates);
    trials(&plan::compile(&trial, as_of), settings, until)
}

/// A garden in which the candidates are all that grows.
pub(crate) fn garden_of(garden: &Garden, beds: &[Bed], candidates: &[Candidate]) -> Garden {
    let grown_on = garden.crops.len();
    let mut trial = Garden {
        beds: beds.to_vec(),
        record: weather_of(&garden.record),
        ..garden.clone()
    };
    trial.household.away.clear();
    // Behind the crops the same again, cut as baby leaves.
    trial.crops.extend(garden.crops.iter().map(as_baby_leaves));
    trial.plantings = candidates
        .iter()
        .map(|c| {
            let crop = garden.crop(c.crop);
            let baby = if c.baby { grown_on } else { 0 };
            Planting {
                // The same name for every date: they share their luck.
                name: crop.name.clone(),
                bed: BedId(c.bed),
                crop: CropId(c.crop.0 + baby),
                variety: None,
                sown: (!c.set_out).then_some(c.date),
                set_out: c.set_out.then_some(c.date),
                size: Size::Row(Length::from_m(1.0)),
                days_to_maturity: None,
                yield_factor: 1.0,
                cleared: c.cleared,
            }
        })
        .collect();
    trial
}

/// What the record says of the weather; all else in it is about plantings that are set aside.
fn weather_of(record: &Record) -> Record {
    Record {
        events: record
            .events
            .iter()
            .filter(|event| matches!(event.what, Happening::Frost(_)))
            .cloned()
            .collect(),
        ..Record::default()
    }
}

/// A crop cut once when its leaves have baby size.
fn as_baby_leaves(crop: &Crop) -> Crop {
    let mut baby = crop.clone();
    let share = crop.timing.baby_at.unwrap_or(1.0);
    baby.timing.days_sown = crop.timing.days_sown.map(|days| share * days);
    baby.timing.days_set_out = crop.timing.days_set_out.map(|days| share * days);
    baby.harvest.pattern = Pattern::Once;
    baby.harvest.usable_early = false;
    baby.second = None;
    baby
}
