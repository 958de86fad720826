//! The household's record: what was picked, what went to and from the shelf, what happened.

use super::bed::BedId;
use super::crop::CropId;
use super::planting::PlantingId;
use super::preserving::ProductId;
use super::units::{Mass, Minutes};
use chrono::NaiveDate;

/// Everything logged so far.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// Pickings, in the order of the file.
    pub picked: Vec<Picked>,
    /// Changes of the shelf, in the order of the file.
    pub stores: Vec<StoreChange>,
    /// Events, in the order of the file.
    pub events: Vec<Event>,
}

/// One logged picking.
#[derive(Debug, Clone, PartialEq)]
pub struct Picked {
    /// Day of the picking, or Monday of the week if `whole_week`.
    pub date: NaiveDate,
    /// Whether the row stands for a whole week.
    pub whole_week: bool,
    /// Bed, if said.
    pub bed: Option<BedId>,
    /// Crop.
    pub crop: CropId,
    /// Planting, if said or unmistakable.
    pub planting: Option<PlantingId>,
    /// Amount.
    pub mass: Mass,
    /// Whether the amount was guessed.
    pub guess: bool,
    /// Where it went.
    pub went: Use,
    /// Free text.
    pub note: Option<String>,
}

/// Where a picking went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Use {
    /// Still waiting in the kitchen.
    #[default]
    Waiting,
    /// Eaten fresh.
    Fresh,
    /// Put by.
    PutBy,
    /// Given away.
    Given,
    /// Wasted.
    Wasted,
}

impl Use {
    /// Every use with the word for it in `picked.csv`; blank means waiting.
    pub const NAMES: [(&'static str, Self); 5] = [
        ("", Self::Waiting),
        ("fresh", Self::Fresh),
        ("put_by", Self::PutBy),
        ("given", Self::Given),
        ("wasted", Self::Wasted),
    ];
}

/// One change of the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct StoreChange {
    /// Day of the change.
    pub date: NaiveDate,
    /// Product.
    pub product: ProductId,
    /// Containers added (positive) or taken (negative); halves allowed.
    pub change: f64,
    /// Free text.
    pub note: Option<String>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Its day.
    pub date: NaiveDate,
    /// What it was.
    pub what: Happening,
}

/// Kinds of events.
#[derive(Debug, Clone, PartialEq)]
pub enum Happening {
    /// A frost came to the garden; the minimum in °C if measured.
    Frost(Option<f64>),
    /// A planting was ended by pests, disease or the grower.
    Ended(PlantingId),
    /// A sowing came up.
    Up(PlantingId),
    /// A session on that day really took this long.
    Took(Minutes),
}
