//! What the household wants put by: its products in order of preference, less what stands in store.
//!
//! Settled once for a garden. A product that the safety matrix refuses never becomes a choice; a canned one needs an
//! altitude. Knows no days and no harvest.

use super::calendar::Calendar;
use super::crop_set::CropSet;
use super::minutes::{self, PartRates, Rates};
use super::offered::product;
use crate::garden::Garden;
use crate::garden::household::Goal;
use crate::garden::preserving::{ProductId, Store};
use chrono::NaiveDate;

/// Weeks in a mean Gregorian month.
pub const WEEKS_PER_MONTH: f64 = 365.2425 / 12.0 / 7.0;

/// What a container is, for counting what is on hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vessel {
    /// A jar.
    Jar,
    /// A freezer bag.
    Bag,
    /// Anything else: not counted.
    Other,
}

/// One crop's part in a product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KitchenPart {
    /// Crop, as an index into the kitchen's crops.
    pub crop: u16,
    /// Least share, 0–1.
    pub least: f64,
    /// Greatest share, 0–1.
    pub greatest: f64,
    /// What it costs.
    pub rates: PartRates,
}

/// A product that may be made.
#[derive(Debug, Clone)]
pub struct KitchenProduct {
    /// Its row in the garden.
    pub id: ProductId,
    /// Its name.
    pub name: String,
    /// Its crops that the garden grows, what keeps least first.
    pub parts: Vec<KitchenPart>,
    /// The same crops as a set.
    pub crops: CropSet,
    /// Garden weight in a full container, kg.
    pub kg_per_container: f64,
    /// Smallest lot worth setting up for, kg.
    pub least_lot_kg: f64,
    /// Whether a started container may be topped up later.
    pub top_up: bool,
    /// Days after picking within which it must be made, if its recipe says so.
    pub within_days: Option<u16>,
    /// Whether jars are sealed for the shelf, which frost-killed and unripe food must not be.
    pub canned: bool,
    /// Where it is kept.
    pub store: Store,
    /// Packed weight of a container, kg.
    pub packed_kg: f64,
    /// Room of a container in its store, litres.
    pub room_l: f64,
    /// What its container is.
    pub vessel: Vessel,
    /// Most that stands on hand of a refrigerator product, containers.
    pub rotation: Option<f64>,
    /// Containers eaten in a week.
    pub eat_per_week: f64,
    /// Months until it should be used up.
    pub last_months: f64,
    /// The same in whole days.
    pub keeps_days: i32,
    /// Hours that dryer or crock is taken.
    pub busy_h: f64,
    /// Product that gathers food for this one by freezing it whole.
    pub gathered_by: Option<u16>,
    /// Latest day that holds one whole load or lot, up to each day of the horizon; for canned products only.
    pub days_that_hold: Option<Vec<u16>>,
    /// Containers in store today with the day each was made, oldest first.
    pub stock: Vec<(NaiveDate, f64)>,
}

impl KitchenProduct {
    /// Returns the containers in store today.
    #[must_use]
    pub fn stock_now(&self) -> f64 {
        self.stock.iter().map(|(_, n)| n).sum()
    }
}

/// One goal: alternatives of which any will do.
#[derive(Debug, Clone)]
pub struct KitchenGoal {
    /// Products, the preferred first, as indices into the kitchen's products.
    pub products: Vec<u16>,
    /// Crops that some of them can take.
    pub crops: CropSet,
    /// Containers wanted in all; infinite without goals.
    pub wanted: f64,
    /// Containers still to be made today: wanted less what is in store.
    pub to_make: f64,
    /// Day by which they are wanted, as a date.
    pub by: Option<NaiveDate>,
    /// Whether all are refrigerator products, made as they are eaten: what is made is counted, and nothing is reached.
    pub in_rotation: bool,
}

/// One way for a crop to go, in the order of preference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Index of the goal.
    pub goal: u16,
    /// Index of the product.
    pub product: u16,
}

/// Everything that is wanted.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Products that some goal names, or that gather for one of them.
    pub products: Vec<KitchenProduct>,
    /// Goals in order of preference.
    pub goals: Vec<KitchenGoal>,
    /// Minutes of each product, in the order of `products`.
    pub rates: Vec<Rates>,
}

/// Settles what is wanted; `local` gives the kitchen's index of each of the garden's crops, if it is grown or waits.
#[must_use]
pub fn settle(
    garden: &Garden,
    local: &[Option<u16>],
    calendar: &Calendar,
    as_of: NaiveDate,
    notes: &mut Vec<String>,
) -> Wanted {
    let mut wanted = Wanted::default();
    for goal in effective_goals(garden, local) {
        add_goal(garden, local, calendar, as_of, &goal, &mut wanted, notes);
    }
    wanted
}

/// Returns the household's goals, or one without limit for each crop's usual product.
fn effective_goals(garden: &Garden, local: &[Option<u16>]) -> Vec<Goal> {
    if let Some(goals) = &garden.household.goals {
        return goals.clone();
    }
    let mut seen: Vec<ProductId> = Vec::new();
    let mut goals = Vec::new();
    for (crop, local) in garden.crops.iter().zip(local) {
        let (Some(_), Some(name)) = (local, &crop.put_by) else {
            continue;
        };
        if let Some(i) = garden.products.iter().position(|p| p.name == *name)
            && !seen.contains(&ProductId(i))
        {
            seen.push(ProductId(i));
            goals.push(Goal {
                products: vec![ProductId(i)],
                containers: f64::INFINITY,
                by: None,
                eat_per_week: None,
            });
        }
    }
    goals
}

fn add_goal(
    garden: &Garden,
    local: &[Option<u16>],
    calendar: &Calendar,
    as_of: NaiveDate,
    goal: &Goal,
    wanted: &mut Wanted,
    notes: &mut Vec<String>,
) {
    let mut products = Vec::new();
    let mut in_store = 0.0;
    for &id in &goal.products {
        if let Some(known) = index_of(wanted, id) {
            // A second goal for the same product gets nothing of the store: the first has counted it. A product that
            // is known only because it gathers for another has not been counted yet.
            let counted = products.contains(&known)
                || wanted.goals.iter().any(|g| g.products.contains(&known));
            let made = &wanted.products[usize::from(known)];
            if !counted && made.rotation.is_none() {
                in_store += made.stock_now();
            }
            products.push(known);
            continue;
        }
        let Some(made) = product(garden, local, calendar, as_of, id, goal, notes) else {
            continue;
        };
        if made.rotation.is_none() {
            in_store += made.stock_now();
        }
        let gathers = garden
            .products
            .iter()
            .position(|p| p.finish_as.as_deref() == Some(garden.product(id).name.as_str()));
        let index = push(garden, wanted, made);
        products.push(index);
        if let Some(g) = gathers.map(ProductId) {
            let gatherer = index_of(wanted, g).or_else(|| {
                let made = product(garden, local, calendar, as_of, g, goal, notes)?;
                Some(push(garden, wanted, made))
            });
            wanted.products[usize::from(index)].gathered_by = gatherer;
        }
    }
    if products.is_empty() {
        return;
    }
    let kept = |p: &u16| wanted.products[usize::from(*p)].rotation.is_none();
    let in_rotation = !products.iter().any(kept);
    let mut crops = CropSet::new(local.iter().flatten().count());
    for p in &products {
        crops.join(&wanted.products[usize::from(*p)].crops);
    }
    wanted.goals.push(KitchenGoal {
        in_rotation,
        crops,
        products,
        wanted: goal.containers,
        to_make: (goal.containers - in_store).max(0.0),
        by: goal.by,
    });
}

fn index_of(wanted: &Wanted, id: ProductId) -> Option<u16> {
    let at = wanted.products.iter().position(|p| p.id == id)?;
    u16::try_from(at).ok()
}

fn push(garden: &Garden, wanted: &mut Wanted, made: KitchenProduct) -> u16 {
    let product = garden.product(made.id);
    let method = garden.method(product.method);
    let group = minutes::setup_group(garden, &method.setup_group);
    wanted.rates.push(minutes::rates(
        product,
        method,
        &garden.household.kitchen,
        group,
    ));
    wanted.products.push(made);
    u16::try_from(wanted.products.len() - 1).unwrap_or(u16::MAX)
}

/// Returns what is in store of a product: changes so far, the oldest taken first.
#[must_use]
pub fn stock_of(garden: &Garden, id: ProductId, as_of: NaiveDate) -> Vec<(NaiveDate, f64)> {
    let mut changes: Vec<_> = garden
        .record
        .stores
        .iter()
        .filter(|c| c.product == id && c.date <= as_of)
        .collect();
    changes.sort_by_key(|c| c.date);
    let mut stock: Vec<(NaiveDate, f64)> = Vec::new();
    for c in changes {
        if c.change > 0.0 {
            stock.push((c.date, c.change));
            continue;
        }
        let mut take = -c.change;
        for (_, n) in &mut stock {
            let t = n.min(take);
            *n -= t;
            take -= t;
        }
        stock.retain(|(_, n)| *n > 1e-9);
    }
    stock
}
