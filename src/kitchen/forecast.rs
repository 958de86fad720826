//! The kitchen's forecast: hours by week, what drives them, and what will stand on the shelf.
//!
//! Plain data for any renderer. Quantiles are Hyndman–Fan type 7 over all draws.

use super::draw::Went;
use super::unavoidable::Unavoidable;
use crate::garden::crop::CropId;
use crate::garden::preserving::{ProductId, Store};
use crate::garden::week::Week;
use chrono::NaiveDate;

/// Weeks from one look at the shelf to the next.
pub const SHELF_STEP: usize = 6;
/// Looks at the shelf.
pub const SHELF_LOOKS: usize = 6;

/// Low, middle and high of a quantity over the draws, with its mean.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// One draw in ten lies below.
    pub p10: f64,
    /// Half of the draws lie below.
    pub p50: f64,
    /// Nine draws in ten lie below.
    pub p90: f64,
    /// Mean.
    pub mean: f64,
}

/// A share of the hours of a week.
#[derive(Debug, Clone, PartialEq)]
pub struct Driver {
    /// What the hours go into: a product, or picking where it counts.
    pub name: String,
    /// Share of the hours in the draws in which the week is overloaded, 0–1.
    pub share: f64,
}

/// One week.
#[derive(Debug, Clone, PartialEq)]
pub struct KitchenWeek {
    /// The week.
    pub week: Week,
    /// Hours needed.
    pub hours: Spread,
    /// Hours the household has.
    pub capacity_hours: f64,
    /// Chance that the hours needed pass those, 0–1.
    pub chance_over: f64,
    /// Mean of the hours beyond, zero where there are none.
    pub mean_hours_over: f64,
    /// Mean number of sessions.
    pub sessions: f64,
    /// Mean amount picked, kg.
    pub kg_picked: f64,
    /// Mean amount eaten fresh, kg.
    pub kg_fresh: f64,
    /// Mean amount put by, kg.
    pub kg_put_by: f64,
    /// Mean amount standing ready at the end of the week, kg.
    pub kg_standing: f64,
    /// Mean amount to give away, kg.
    pub kg_to_give: f64,
    /// Mean amount wasted or lost, kg.
    pub kg_lost: f64,
    /// What the hours of the overloaded draws go into, the greatest share first; empty if none is overloaded.
    pub drivers: Vec<Driver>,
    /// Mean hours for picking, whether they count or not.
    pub picking_hours: f64,
    /// Mean litres taken in the freezer at the end of the week.
    pub freezer_l: f64,
}

/// Where one crop goes over the season.
#[derive(Debug, Clone, PartialEq)]
pub struct CropSeason {
    /// The crop.
    pub crop: CropId,
    /// Its name.
    pub name: String,
    /// Mean amounts by use, kg, in the order of [`Went`].
    pub kg: [f64; Went::COUNT],
}

/// One crop in one week: mean amounts.
#[derive(Debug, Clone, PartialEq)]
pub struct CropWeek {
    /// The week.
    pub week: Week,
    /// The crop.
    pub crop: CropId,
    /// Mean amounts by use, kg, in the order of [`Went`].
    pub kg: [f64; Went::COUNT],
}

/// One product on the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductSeason {
    /// The product.
    pub product: ProductId,
    /// Its name.
    pub name: String,
    /// Where it is kept.
    pub store: Store,
    /// Containers in store today.
    pub now: f64,
    /// Day on which the oldest of them was made.
    pub oldest: Option<NaiveDate>,
    /// Containers made in the season.
    pub made: Spread,
    /// Containers today and made, before any is eaten.
    pub containers: Spread,
    /// Containers on the shelf at the end of every sixth week, in the order of the forecast's shelf weeks.
    pub shelf: Vec<Spread>,
    /// Mean containers that pass their keeping time.
    pub past_keeping: f64,
    /// Room of the mean number of containers in their store, litres.
    pub litres: f64,
    /// Mean hours it takes over the season.
    pub hours: f64,
}

/// One goal.
#[derive(Debug, Clone, PartialEq)]
pub struct GoalSeason {
    /// Names of the products of which any will do.
    pub products: Vec<String>,
    /// Their rows.
    pub ids: Vec<ProductId>,
    /// Containers wanted, what is in store included; none without goals and for refrigerator products alone.
    pub wanted: Option<f64>,
    /// Day by which they are wanted.
    pub by: Option<NaiveDate>,
    /// Containers there by that day, what is in store today included; for refrigerator products alone those made.
    pub containers: Spread,
    /// Chance of reaching it, 0–1; none where nothing is wanted.
    pub chance: Option<f64>,
}

/// The week in which killing cold makes the household strip its beds.
#[derive(Debug, Clone, PartialEq)]
pub struct FrostWeek {
    /// Chance that there is one, 0–1.
    pub chance: f64,
    /// Session hours from the eve on, seven days.
    pub hours: Spread,
    /// Likeliest week.
    pub likeliest: Week,
    /// Day before which the eve falls in one draw of ten.
    pub from: NaiveDate,
    /// Day after which it falls in one draw of ten.
    pub until: NaiveDate,
}

/// Containers of one kind to be filled to the end of the season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VesselSeason {
    /// What is filled.
    pub what: VesselKind,
    /// Number filled; a begun one counts as one.
    pub filled: Spread,
    /// Number on hand; none where the household does not say.
    pub on_hand: Option<f64>,
    /// Chance that all on hand are filled, so that more might be missed, 0–1; none where nothing is known on hand.
    pub chance_used_up: Option<f64>,
}

/// What is counted when it is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VesselKind {
    /// A jar.
    Jar,
    /// A lid for sealing; each serves once.
    Lid,
    /// A freezer bag.
    Bag,
}

/// Season-wide figures.
#[derive(Debug, Clone, PartialEq)]
pub struct KitchenSeason {
    /// Chance of at least one overloaded week, 0–1.
    pub chance_any_over: f64,
    /// Number of overloaded weeks.
    pub weeks_over: Spread,
    /// Hours of the whole season.
    pub hours: Spread,
    /// Sessions of the whole season.
    pub sessions: Spread,
    /// Mean amount put by after its best days, kg.
    pub kg_past_best: f64,
    /// Mean amount that the freezer did not take, kg.
    pub kg_freezer_refused: f64,
    /// Most room taken in the freezer, litres.
    pub freezer_peak_l: Spread,
    /// Room taken in the freezer today, litres.
    pub freezer_now_l: f64,
    /// Jars, lids and bags.
    pub vessels: Vec<VesselSeason>,
    /// Frost week, if there may be one.
    pub frost: Option<FrostWeek>,
}

/// The kitchen's forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct KitchenForecast {
    /// Number of draws.
    pub draws: usize,
    /// Weeks from today's on.
    pub weeks: Vec<KitchenWeek>,
    /// Weeks at whose end the shelf is looked at, as places in `weeks`.
    pub shelf_weeks: Vec<usize>,
    /// The whole season.
    pub season: KitchenSeason,
    /// Crops over the season.
    pub crops: Vec<CropSeason>,
    /// Crops by week, weeks in which nothing moves left out.
    pub crop_weeks: Vec<CropWeek>,
    /// Products.
    pub products: Vec<ProductSeason>,
    /// Goals, in order of preference.
    pub goals: Vec<GoalSeason>,
    /// Work that cannot be done in time, if it comes to something in at least one season in ten.
    pub unavoidable: Option<Unavoidable>,
    /// Defaults that mattered and what was left out, in plain sentences.
    pub notes: Vec<String>,
    /// Draws whose books do not balance: always zero, and a fault of the program if not.
    pub books_off: usize,
}
