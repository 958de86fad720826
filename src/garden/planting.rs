//! Plantings: one crop in one bed sown or set out on one date.

use super::bed::BedId;
use super::crop::CropId;
use super::units::{Area, Length};
use chrono::NaiveDate;

/// Index of a planting in its garden.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlantingId(pub usize);

/// One crop in one bed sown or set out on one date.
#[derive(Debug, Clone, PartialEq)]
pub struct Planting {
    /// Name, given or made from bed, crop and date; unique in the garden. Random streams are keyed by it.
    pub name: String,
    /// Its bed.
    pub bed: BedId,
    /// Its crop.
    pub crop: CropId,
    /// Variety, free text.
    pub variety: Option<String>,
    /// Date of sowing, in place or in a tray.
    pub sown: Option<NaiveDate>,
    /// Date of setting out, if it was raised elsewhere.
    pub set_out: Option<NaiveDate>,
    /// How much of it there is.
    pub size: Size,
    /// Days to maturity of this variety, counted from setting out if set out, else from sowing.
    pub days_to_maturity: Option<f64>,
    /// Factor on the expected yield, 1 unless given.
    pub yield_factor: f64,
    /// First day on which the ground is bare again, if planned or done.
    pub cleared: Option<NaiveDate>,
}

impl Planting {
    /// Returns the day from which the planting grows in its bed: setting out, else sowing.
    #[must_use]
    pub fn start(&self) -> NaiveDate {
        self.set_out
            .or(self.sown)
            .expect("a planting has a sowing or a setting-out date")
    }
}

/// How much of a planting there is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// A length of row.
    Row(Length),
    /// An area, as in a raised bed.
    Area(Area),
    /// A number of plants.
    Plants(f64),
}
