//! Whether and how a product may be made: what the safety matrix, the altitude and the garden allow, and its figures.
//!
//! A refused product never passes here, whatever the household's own tables say. Knows no days and no harvest.

use super::calendar::Calendar;
use super::crop_set::CropSet;
use super::minutes::{self, Rates};
use super::wanted::{KitchenPart, KitchenProduct, Vessel, WEEKS_PER_MONTH, stock_of};
use crate::garden::Garden;
use crate::garden::household::Goal;
use crate::garden::preserving::{Appliance, Product, ProductId, Store};
use crate::garden::safety::{Claim, SafetyColumn, Verdict, product_verdict};
use crate::garden::units::{KG_PER_LB, L_PER_FT3};
use chrono::NaiveDate;

/// Pounds that a cubic foot of freezer holds when the household's table does not say: irregular packs (common practice;
/// published 25 to 40: NC State Extension consumer food-safety FAQ, 2004, and consumer pages).
const PACKED_LB_PER_FT3: f64 = 30.0;

/// Kilograms in a litre of packed food: one pound a pint (NC State Extension counts a pint as a pound).
const PACKED_KG_PER_L: f64 = KG_PER_LB / 0.473_176_473;

/// Containers of a refrigerator product eaten in a week when the household does not say (judgement, no source).
const FRIDGE_EATEN_PER_WEEK: f64 = 1.0;

/// Returns the packed weight of a container, kg, and the room it takes in its store, litres.
pub(super) fn packed(garden: &Garden, product: &Product) -> (f64, f64) {
    let packed_kg = product
        .mass_per_container
        .kg()
        .min(product.container_volume.l() * PACKED_KG_PER_L);
    let per_ft3 = garden.method(product.method).packed_lb_per_ft3;
    let kg_per_l = per_ft3.unwrap_or(PACKED_LB_PER_FT3) * KG_PER_LB / L_PER_FT3;
    (packed_kg, packed_kg / kg_per_l)
}

/// Compiles one product, or says why it is not made.
pub(super) fn product(
    garden: &Garden,
    local: &[Option<u16>],
    calendar: &Calendar,
    as_of: NaiveDate,
    id: ProductId,
    goal: &Goal,
    notes: &mut Vec<String>,
) -> Option<KitchenProduct> {
    let product = garden.product(id);
    let method = garden.method(product.method);
    let kitchen = &garden.household.kitchen;
    if let Verdict::Refused(why) = verdict_of(garden, product) {
        notes.push(format!("{} is never made: {why}.", product.name));
        return None;
    }
    if method.needs_altitude && garden.site.altitude.is_none() {
        notes.push(format!(
            "{} is left out: canning needs the altitude of the place.",
            product.name
        ));
        return None;
    }
    let canned = method.safety_column.is_some_and(SafetyColumn::is_canning);
    let mut parts = Vec::new();
    for part in &product.parts {
        match local[part.crop.0] {
            Some(crop) => parts.push(KitchenPart {
                crop,
                least: part.least,
                greatest: part.greatest,
                rates: minutes::part_rates(garden.crop(part.crop), product, method, kitchen),
            }),
            None if part.least > 0.0 => {
                notes.push(format!(
                    "{} is left out: no {} is grown.",
                    product.name,
                    garden.crop(part.crop).name
                ));
                return None;
            }
            None => {}
        }
    }
    if parts.is_empty() {
        return None;
    }
    parts.sort_by_key(|part| part.crop);
    let mut crops = CropSet::new(local.iter().flatten().count());
    for part in &parts {
        crops.set(usize::from(part.crop), true);
    }
    let eat_per_week = goal.eat_per_week.unwrap_or_else(|| {
        if method.store == Store::Fridge && goal.containers.is_infinite() {
            notes.push(format!(
                "How much {} is eaten was not given; {FRIDGE_EATEN_PER_WEEK} a week was taken.",
                product.name
            ));
            FRIDGE_EATEN_PER_WEEK
        } else {
            0.0
        }
    });
    // A ferment that keeps for months may be a winter goal; a quick pickle never is.
    let in_rotation = method.store == Store::Fridge
        && (method.safety_column == Some(SafetyColumn::FridgePickle)
            || goal.containers <= 0.0
            || goal.containers.is_infinite());
    let most = if eat_per_week > 0.0 {
        eat_per_week * product.last_months * WEEKS_PER_MONTH
    } else {
        goal.containers
    };
    let rotation = in_rotation.then_some(most);
    let (packed_kg, room_l) = packed(garden, product);
    let group = minutes::setup_group(garden, &method.setup_group);
    let rates = minutes::rates(product, method, kitchen, group);
    Some(KitchenProduct {
        id,
        name: product.name.clone(),
        crops,
        kg_per_container: product.garden_mass_per_container().kg().max(1e-6),
        least_lot_kg: product.least_lot.kg(),
        top_up: product.top_up,
        within_days: product
            .within_hours
            .map(|h| (h / 24.0).floor().max(0.0) as u16),
        canned,
        store: method.store,
        packed_kg,
        room_l,
        vessel: vessel(&product.container),
        rotation,
        eat_per_week,
        last_months: product.last_months,
        keeps_days: (product.last_months * WEEKS_PER_MONTH * 7.0) as i32,
        busy_h: match method.appliance {
            Appliance::Dryer => product.dry_h.unwrap_or(method.wait_h),
            _ if method.wait_h > 0.0 => method.wait_h,
            _ => product.follow_up_h.unwrap_or(0.0),
        },
        gathered_by: None,
        days_that_hold: canned.then(|| {
            calendar.last_day_of_at_least(least_minutes(&parts, product, &rates, kitchen.hands))
        }),
        stock: stock_of(garden, id, as_of),
        parts,
    })
}

/// Returns what a session of one full load takes, or of the smallest lot where that is less.
fn least_minutes(parts: &[KitchenPart], product: &Product, rates: &Rates, hands: f64) -> f64 {
    let load = rates.load_containers * rates.kg_per_container;
    let kg = if product.least_lot.kg() > 0.0 {
        load.min(product.least_lot.kg())
    } else {
        load
    };
    let mut work = minutes::Work::default();
    let shares: f64 = parts.iter().map(|p| p.greatest).sum();
    for part in parts {
        work.add(kg * part.greatest / shares.max(1e-9), part.rates);
    }
    work.containers = minutes::containers_begun(kg, rates);
    minutes::session(
        std::slice::from_ref(rates),
        &[work],
        hands.max(0.1),
        &mut [],
    )
    .minutes
}

fn vessel(container: &str) -> Vessel {
    if container.contains("jar") {
        Vessel::Jar
    } else if container.contains("bag") {
        Vessel::Bag
    } else {
        Vessel::Other
    }
}

/// Asks the safety matrix about a product of a garden.
#[must_use]
pub fn verdict_of(garden: &Garden, product: &Product) -> Verdict {
    let rows: Vec<_> = product
        .parts
        .iter()
        .map(|p| garden.crop(p.crop).safety_row)
        .collect();
    let method = garden.method(product.method);
    let written = garden.tables.products.row(&product.name);
    let name = product.name.to_lowercase();
    product_verdict(Claim {
        rows: &rows,
        column: method.safety_column,
        names_recipe: product.recipe.is_some() && product.fixed_amounts.is_some(),
        built_in: written.is_some_and(|row| !row.own.iter().any(|own| *own)),
        mashed: ["mash", "puree", "purée", "pesto"]
            .iter()
            .any(|w| name.contains(w)),
    })
}
