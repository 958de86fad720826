//! A row of the crop table: timing, growth, harvest, ends, second food, yield and kitchen figures.
//!
//! Numbers only; how they make a season is the season's business, where they come from is `data/sources.csv`.

use super::safety::SafetyRow;
use super::units::{AreaYield, Length, Mass, Minutes, RowYield, Temperature};

/// Index of a crop in its garden.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CropId(pub usize);

/// One crop with every figure the forecast needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Crop {
    /// Name, lower case.
    pub name: String,
    /// Other names under which the household may write it.
    pub also_called: Vec<String>,
    /// Food group, for needs.
    pub group: FoodGroup,
    /// Botanical family, for rotation.
    pub family: String,
    /// Row of the safety matrix; none when the crop is not in it.
    pub safety_row: Option<SafetyRow>,
    /// Name of the product it goes to when the household has no goals.
    pub put_by: Option<String>,
    /// Count units with the weight of one, such as a bunch or a head.
    pub units: Vec<(String, Mass)>,
    /// Days to maturity.
    pub timing: Timing,
    /// Response to temperature and day length.
    pub growth: Growth,
    /// How and how long it is picked.
    pub harvest: Harvest,
    /// What ends it.
    pub ends: Ends,
    /// Second food of a planting.
    pub second: Option<SecondFood>,
    /// Amounts.
    pub yields: Yields,
    /// Kitchen figures.
    pub kitchen: CropKitchen,
}

/// Food groups in which needs may be stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FoodGroup {
    /// Leaves eaten cooked.
    CookingGreens,
    /// Leaves eaten raw.
    SaladLeaves,
    /// Roots and tubers.
    Roots,
    /// Beans and peas.
    BeansAndPeas,
    /// Fruits of annual crops.
    Fruiting,
    /// Onions, garlic, leeks.
    Alliums,
    /// Herbs.
    Herbs,
}

impl FoodGroup {
    /// Every group with the words used for it in the tables.
    pub const NAMES: [(&'static str, Self); 7] = [
        ("cooking greens", Self::CookingGreens),
        ("salad leaves", Self::SaladLeaves),
        ("roots", Self::Roots),
        ("beans and peas", Self::BeansAndPeas),
        ("fruiting", Self::Fruiting),
        ("alliums", Self::Alliums),
        ("herbs", Self::Herbs),
    ];

    /// Returns the words used in the tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, g)| *g == self)
            .map_or("", |(name, _)| name)
    }
}

/// Days to maturity and their spread.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// Days from sowing to first harvest under good growing conditions.
    pub days_sown: Option<f64>,
    /// Days from setting out to first harvest under good growing conditions.
    pub days_set_out: Option<f64>,
    /// Days a transplant is raised before setting out.
    pub raise_days: Option<f64>,
    /// Coefficient of variation of the days to maturity.
    pub days_cv: f64,
    /// What drives the harvest period forward.
    pub clock: Clock,
    /// Share of the days to maturity at which baby leaves may be cut.
    pub baby_at: Option<f64>,
}

/// What drives growth and the harvest period forward.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Growing days: slows and stops with cold and short days.
    Growth,
    /// Calendar days.
    Calendar,
}

/// Response to temperature and day length, and coming up.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// Daily mean at and below which growth stops.
    pub base: Temperature,
    /// Daily mean from which growth runs at full rate.
    pub full: Temperature,
    /// Daily mean above which heat slows growth, if it does.
    pub ceiling: Option<Temperature>,
    /// Whether short days slow growth.
    pub day_length: bool,
    /// Soil temperature at which seedlings stop coming up (thermal-time fit).
    pub up_base: Temperature,
    /// Degree-days, °C d, above `up_base` until seedlings are up.
    pub up_degree_days: f64,
    /// Least soil temperature at which seed comes up well, if known.
    pub soil_min: Option<Temperature>,
    /// Greatest soil temperature at which seed comes up well, if known.
    pub soil_max: Option<Temperature>,
}

/// How a crop is picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Cut or pulled once; stands until then.
    Once,
    /// Leaves picked again and again.
    Leaf,
    /// Fruits or pods picked again and again.
    Fruit,
    /// A root that is ready at once and stands in the ground.
    Root,
}

/// How and how long a crop is picked.
#[derive(Debug, Clone, PartialEq)]
pub struct Harvest {
    /// Kind of picking.
    pub pattern: Pattern,
    /// Length of the harvest period in days of the crop's clock.
    pub harvest_days: f64,
    /// Days between pickings.
    pub pick_every_days: f64,
    /// Shares of equal parts of the harvest period, adding to 1.
    pub shape: Vec<f64>,
    /// Days a ready crop may stand unpicked.
    pub holds_days: f64,
    /// Whether it can be eaten before it is full grown.
    pub usable_early: bool,
}

/// What ends a planting.
#[derive(Debug, Clone, PartialEq)]
pub struct Ends {
    /// Minimum at or below which an unprotected plant dies, if any cold kills it.
    pub killed_below: Option<Temperature>,
    /// Minimum at or below which what stands is lost while the plant lives.
    pub spoiled_below: Option<Temperature>,
    /// Daily mean above which heat brings bolting nearer.
    pub bolts_above: Option<Temperature>,
    /// Day length in hours above which lengthening days bring bolting nearer.
    pub bolts_above_hours: Option<f64>,
    /// Days below 8 °C that a biennial needs before light can make it bolt.
    pub bolts_after_cold_days: Option<f64>,
    /// Growing days under such heat or light until it bolts.
    pub bolt_growing_days: f64,
    /// Chance that pests or disease end a planting early.
    pub early_end_chance: f64,
    /// Days from sowing or setting out after which that may happen.
    pub early_end_from_days: f64,
    /// Share of the next 14 days' harvest that is stripped on the eve of killing cold.
    pub strip_share: f64,
}

/// A second food that a planting also gives.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondFood {
    /// The crop row of the second food.
    pub crop: CropId,
    /// Its amount for each kilogram of the main crop.
    pub share: f64,
    /// Share of the days to maturity from which it may be taken.
    pub from: f64,
    /// Growing days by which taking it delays the main crop.
    pub delay_days: f64,
}

/// Amounts and spacing.
#[derive(Debug, Clone, PartialEq)]
pub struct Yields {
    /// Low published yield of a row.
    pub row_low: RowYield,
    /// High published yield of a row.
    pub row_high: RowYield,
    /// Low yield of a raised bed, if known.
    pub bed_low: Option<AreaYield>,
    /// High yield of a raised bed, if known.
    pub bed_high: Option<AreaYield>,
    /// Distance between plants in the row.
    pub in_row: Length,
    /// Distance between rows.
    pub between_rows: Length,
    /// Distance between plants each way in a raised bed, if known.
    pub bed_spacing: Option<Length>,
    /// Coefficient of variation of a season's yield.
    pub cv: f64,
    /// Chance that a planting fails altogether.
    pub fail_chance: f64,
    /// Seed for 100 ft of row, as a text with its unit.
    pub seed_per_100ft: Option<String>,
}

/// Kitchen figures of a crop.
#[derive(Debug, Clone, PartialEq)]
pub struct CropKitchen {
    /// Days a picked lot stays at its best.
    pub best_days: f64,
    /// Last day, counted from picking, on which a lot is still fit.
    pub last_days: f64,
    /// Hand minutes to wash, trim and cut one pound.
    pub prep_min_per_lb: Minutes,
    /// Minutes to pick one pound.
    pub pick_min_per_lb: Minutes,
    /// What one person eats fresh in a week unless the household says otherwise.
    pub need_per_person_week: Mass,
}
