//! Methods of putting by and the products that stand on the shelf afterwards.
//!
//! Holds no process time for canning: `clock` is kitchen time for planning, never a tested process.

use super::crop::CropId;
use super::safety::SafetyColumn;
use super::units::{Mass, Minutes, Volume};

/// Index of a method in its garden.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MethodId(pub usize);

/// Index of a product in its garden.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ProductId(pub usize);

/// A way of putting by.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    /// Name.
    pub name: String,
    /// Column of the safety matrix; none for practice without a tested process, such as cure and store.
    pub safety_column: Option<SafetyColumn>,
    /// Where its products are kept.
    pub store: Store,
    /// The appliance it occupies.
    pub appliance: Appliance,
    /// Whether the household's altitude must be known.
    pub needs_altitude: bool,
    /// Products whose methods share this name share one set-up in a session.
    pub setup_group: String,
    /// Minutes to set up and clean for the first lot of the group in a session.
    pub setup: Minutes,
    /// Minutes for each further product of the group in the same session.
    pub setup_more: Minutes,
    /// Hand minutes for each batch or load.
    pub per_batch: Minutes,
    /// Hand minutes for each container.
    pub per_container: Minutes,
    /// Pounds that one usable gallon of the pot takes at a time, if it uses the pot.
    pub batch_lb_per_gal: Option<f64>,
    /// Minutes a batch takes besides the product's own time.
    pub batch_extra: Minutes,
    /// Canner minutes around the process for a load of pints.
    pub overhead_pint: Minutes,
    /// Canner minutes around the process for a load of quarts.
    pub overhead_quart: Minutes,
    /// Unattended hours before the product is finished.
    pub wait_h: f64,
    /// Months at best quality, unless the product says otherwise.
    pub best_months: f64,
    /// Months until it should be used up, unless the product says otherwise.
    pub last_months: f64,
    /// Pounds that fill one cubic foot of the store, if known.
    pub packed_lb_per_ft3: Option<f64>,
}

/// Where a product is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Store {
    /// Freezer.
    Freezer,
    /// Pantry shelf.
    Pantry,
    /// Refrigerator.
    Fridge,
    /// Cellar or other cool place.
    Cellar,
}

impl Store {
    /// Every store with the word used for it in the tables.
    pub const NAMES: [(&'static str, Self); 4] = [
        ("freezer", Self::Freezer),
        ("pantry", Self::Pantry),
        ("fridge", Self::Fridge),
        ("cellar", Self::Cellar),
    ];

    /// Returns the word used in the tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, s)| *s == self)
            .map_or("", |(name, _)| name)
    }
}

/// An appliance that a method occupies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Appliance {
    /// Blanching or boiling pot.
    Pot,
    /// Boiling-water or pressure canner.
    Canner,
    /// Freezer tray.
    Tray,
    /// Dryer.
    Dryer,
    /// Crock.
    Crock,
    /// None.
    None,
}

impl Appliance {
    /// Every appliance with the word used for it in the tables.
    pub const NAMES: [(&'static str, Self); 6] = [
        ("pot", Self::Pot),
        ("canner", Self::Canner),
        ("tray", Self::Tray),
        ("dryer", Self::Dryer),
        ("crock", Self::Crock),
        ("none", Self::None),
    ];

    /// Returns the word used in the tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, a)| *a == self)
            .map_or("", |(name, _)| name)
    }
}

/// A crop's part in a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The crop.
    pub crop: CropId,
    /// Least share of the product's garden weight, 0–1.
    pub least: f64,
    /// Greatest share of the product's garden weight, 0–1.
    pub greatest: f64,
}

/// What stands on the shelf afterwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// Name.
    pub name: String,
    /// How it is made.
    pub method: MethodId,
    /// The tested recipe it follows, if it is canned or fermented.
    pub recipe: Option<String>,
    /// Its crops with their shares.
    pub parts: Vec<Part>,
    /// Product it may be finished as later, such as frozen tomatoes canned in a slack month.
    pub finish_as: Option<String>,
    /// Kind of container, such as `quart bag`.
    pub container: String,
    /// Volume of one container.
    pub container_volume: Volume,
    /// Weight as picked, bought-in food included, that fills one container.
    pub mass_per_container: Mass,
    /// Whether half containers are usual.
    pub halves: bool,
    /// Whether a started container may be topped up in a later session.
    pub top_up: bool,
    /// What one container serves, as text.
    pub portion: Option<String>,
    /// Smallest lot worth setting up for.
    pub least_lot: Mass,
    /// Hours after picking within which it must be made, if the recipe says so.
    pub within_hours: Option<f64>,
    /// Containers in one full load of the canner.
    pub load_containers: Option<u32>,
    /// Fixed amounts of the tested recipe, as text.
    pub fixed_amounts: Option<String>,
    /// Blanching minutes in boiling water, if blanched.
    pub blanch: Option<Minutes>,
    /// The published blanching minutes where the household's own differ from them.
    pub blanch_published: Option<Minutes>,
    /// Canner clock minutes of one load, all told, for planning only.
    pub clock: Option<Minutes>,
    /// Hand minutes a pound on top of the crop's own preparation.
    pub extra_min_per_lb: Minutes,
    /// Hours in the dryer.
    pub dry_h: Option<f64>,
    /// What must be done later, as text.
    pub follow_up: Option<String>,
    /// Hours after the session when the follow-up is due.
    pub follow_up_h: Option<f64>,
    /// Months at best quality.
    pub best_months: f64,
    /// Months until it should be used up.
    pub last_months: f64,
    /// Food that is bought in, as text.
    pub bought_in: Option<String>,
    /// Share of the container's weight that is bought in, 0–1.
    pub bought_in_share: f64,
    /// Caution shown with it.
    pub caution: Option<String>,
}

impl Product {
    /// Returns the garden weight in one full container: its weight less what is bought in.
    #[must_use]
    pub fn garden_mass_per_container(&self) -> Mass {
        self.mass_per_container * (1.0 - self.bought_in_share)
    }
}
