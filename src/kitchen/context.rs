//! Everything the kitchen must know before the season begins, settled once from the garden.
//!
//! Needs, goals, calendar, waiting food, equipment, and what was picked so far. Knows no draw.

use super::calendar::{self, Calendar};
use super::crop_set::CropSet;
use super::keeping;
use super::needs::{self, KitchenNeed};
use super::waiting;
use super::wanted::{self, Choice, KitchenGoal, KitchenProduct};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::OnHand;
use crate::garden::preserving::Store;
use crate::garden::units::{KG_PER_LB, L_PER_FT3};
use chrono::NaiveDate;

/// Days that a ready crop must hold for the kitchen to decide when it is picked.
pub const HOLDS_OVER_DAYS: f64 = 5.0;

/// Pounds of unfrozen food a freezer takes for each cubic foot in 24 hours (Penn State and Univ. of Maine Extension;
/// USDA AIB 410 allows 2 to 3).
pub const FREEZER_LB_PER_FT3_DAY: f64 = 2.0;

/// A crop as the kitchen sees it.
#[derive(Debug, Clone)]
pub struct KitchenCrop {
    /// Its row in the garden.
    pub id: CropId,
    /// Its name.
    pub name: String,
    /// Days a picked lot stays at its best.
    pub best_days: u16,
    /// Days after picking on which a lot is still fit.
    pub last_days: u16,
    /// Days it may stand when ready.
    pub holds_days: u16,
    /// Whether the kitchen decides when it is picked.
    pub holds: bool,
    /// Whether a light frost kills it, so that its bed is stripped on the eve.
    pub tender: bool,
    /// Days between pickings.
    pub pick_every: u16,
    /// Minutes to pick a kilogram.
    pub pick_min_per_kg: f64,
    /// Ways to put it by, the preferred first.
    pub choices: Vec<Choice>,
    /// Whether one of these is made as it is eaten.
    pub in_rotation: bool,
}

/// A planting as the kitchen sees it: which crops it gives, as indices into the kitchen's crops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KitchenPlanting {
    /// Main food.
    pub main: u16,
    /// Second food; the main one again where there is none.
    pub second: u16,
}

/// A lot that waits when the kitchen begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstLot {
    /// Crop.
    pub crop: u16,
    /// Day it was picked, counted from the first day of the horizon; negative before it.
    pub picked: i32,
    /// Last day on which it is fit.
    pub last: u16,
    /// Amount, kg.
    pub kg: f64,
}

/// Limits of the equipment; infinite where not given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equipment {
    /// What the trays take in one evening, kg.
    pub trays_kg: f64,
    /// What the dryer takes at a time, kg.
    pub dryer_kg: f64,
    /// Number of crocks.
    pub crocks: usize,
    /// What the freezer takes in 24 hours, kg packed.
    pub freezer_kg_per_day: f64,
    /// Room in the freezer for products that may be made, litres; what is in store of them today takes part of it.
    pub freezer_l: f64,
    /// Room that products in store which are made no more take in the freezer, litres.
    pub freezer_other_l: f64,
    /// Jars on hand.
    pub jars: f64,
    /// Lids on hand.
    pub lids: f64,
    /// Bags on hand.
    pub bags: f64,
}

/// Plants killed at or above this, °F, are tender (light freeze, 29-32 °F, kills tender plants: UC Tuolumne).
const TENDER_F: f64 = 29.0;

/// What was settled before the season begins.
#[derive(Debug, Clone)]
pub struct Context {
    /// Calendar of the horizon.
    pub calendar: Calendar,
    /// Crops that are grown, give a second food, or wait; what keeps least first.
    pub crops: Vec<KitchenCrop>,
    /// Plantings, in the garden's order.
    pub plantings: Vec<KitchenPlanting>,
    /// Needs.
    pub needs: Vec<KitchenNeed>,
    /// Crops that serve some need, one element a day of the horizon.
    pub served_on: Vec<CropSet>,
    /// Needs that hold on each day of the horizon, as indices into the needs.
    pub needs_on: Vec<Vec<u16>>,
    /// Most that is eaten fresh in a week, kg.
    pub ceiling_kg: f64,
    /// Products that may be made.
    pub products: Vec<KitchenProduct>,
    /// Minutes of each product.
    pub rates: Vec<super::minutes::Rates>,
    /// Goals in order of preference.
    pub goals: Vec<KitchenGoal>,
    /// Whether some product is made as it is eaten.
    pub rotates: bool,
    /// Equipment.
    pub equipment: Equipment,
    /// What waits when the kitchen begins.
    pub waiting: Vec<FirstLot>,
    /// What was logged as picked within the horizon before the start, kg a crop.
    pub picked_before_kg: Vec<f64>,
    /// Whether hours for picking count against the kitchen's hours.
    pub count_picking: bool,
    /// Factor on all session minutes, from the household's own record; 1 unless learned.
    pub minutes_factor: f64,
    notes: Vec<String>,
}

impl Context {
    /// Returns the defaults that mattered and what was left out, in plain sentences.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

/// Settles the kitchen's context for a horizon that starts on `first`.
#[must_use]
pub fn compile(garden: &Garden, first: NaiveDate, days: u16, as_of: NaiveDate) -> Context {
    let mut notes = Vec::new();
    let calendar = calendar::lay_out(&garden.household, first, days, as_of);
    if calendar.open_min.iter().all(|m| *m <= 0.0) {
        notes.push("No kitchen hours were given, so every session counts as too much.".to_owned());
    }
    let waiting = waiting::on_hand(garden, as_of);
    let (ids, local) = number_crops(garden, &waiting);
    let plantings = garden
        .plantings
        .iter()
        .map(|p| {
            let number = |id: CropId| local[id.0].expect("every crop of a planting is numbered");
            let second = garden.crop(p.crop).second.as_ref();
            KitchenPlanting {
                main: number(p.crop),
                second: number(second.map_or(p.crop, |s| s.crop)),
            }
        })
        .collect();
    let wanted = wanted::settle(garden, &local, &calendar, as_of, &mut notes);
    let crops: Vec<KitchenCrop> = ids
        .iter()
        .enumerate()
        .map(|(c, &id)| kitchen_crop(garden, id, c, &wanted))
        .collect();
    let needs = needs::compile(garden, &ids, &calendar, &mut notes);
    let first_lots = first_lots(&waiting, &local, &calendar, as_of, garden, &mut notes);
    let picked_before_kg = ids
        .iter()
        .map(|id| {
            let logged = garden.record.picked.iter();
            logged
                .filter(|p| p.crop == *id && p.date >= first && p.date < as_of)
                .map(|p| p.mass.kg())
                .sum()
        })
        .collect();
    Context {
        equipment: equipment(garden, &wanted.products, as_of),
        ceiling_kg: garden.household.ceiling_per_week.kg(),
        count_picking: garden.household.kitchen.count_picking,
        waiting: first_lots,
        rotates: wanted.products.iter().any(|p| p.rotation.is_some()),
        products: wanted.products,
        rates: wanted.rates,
        goals: wanted.goals,
        minutes_factor: garden.household.kitchen.minutes_factor,
        calendar,
        crops,
        plantings,
        served_on: needs::served_on(&needs, ids.len(), days),
        needs_on: needs::needs_on(&needs, days),
        needs,
        picked_before_kg,
        notes,
    }
}

/// Numbers the crops that are grown, give a second food or wait: what keeps least first.
///
/// Returns the crops in that order, and the number of each of the garden's crops.
fn number_crops(
    garden: &Garden,
    waiting: &[waiting::WaitingLot],
) -> (Vec<CropId>, Vec<Option<u16>>) {
    let grown = garden.plantings.iter().map(|p| p.crop);
    let second = garden
        .plantings
        .iter()
        .filter_map(|p| garden.crop(p.crop).second.as_ref().map(|s| s.crop));
    let mut ids: Vec<CropId> = grown
        .chain(second)
        .chain(waiting.iter().map(|l| l.crop))
        .collect();
    ids.sort_by(|a, b| {
        let last = |id: &CropId| garden.crop(*id).kitchen.last_days;
        last(a).total_cmp(&last(b)).then(a.cmp(b))
    });
    ids.dedup();
    let mut local = vec![None; garden.crops.len()];
    for (number, id) in ids.iter().enumerate() {
        local[id.0] = u16::try_from(number).ok();
    }
    (ids, local)
}

fn kitchen_crop(garden: &Garden, id: CropId, index: usize, wanted: &wanted::Wanted) -> KitchenCrop {
    let crop = garden.crop(id);
    let mut choices = Vec::new();
    for (g, goal) in wanted.goals.iter().enumerate() {
        for &p in &goal.products {
            let product = &wanted.products[usize::from(p)];
            if product
                .parts
                .iter()
                .any(|part| usize::from(part.crop) == index)
            {
                choices.push(Choice {
                    goal: g as u16,
                    product: p,
                });
            }
        }
    }
    let whole_days = |d: f64| d.clamp(0.0, 10_000.0).floor() as u16;
    KitchenCrop {
        id,
        name: crop.name.clone(),
        best_days: whole_days(crop.kitchen.best_days),
        last_days: whole_days(crop.kitchen.last_days),
        holds_days: whole_days(crop.harvest.holds_days),
        holds: crop.harvest.holds_days > HOLDS_OVER_DAYS,
        tender: crop.ends.killed_below.is_some_and(|t| t.f() >= TENDER_F),
        pick_every: whole_days(crop.harvest.pick_every_days).max(1),
        pick_min_per_kg: crop.kitchen.pick_min_per_lb.min_value() / KG_PER_LB,
        in_rotation: choices
            .iter()
            .any(|x| wanted.products[usize::from(x.product)].rotation.is_some()),
        choices,
    }
}

fn first_lots(
    waiting: &[waiting::WaitingLot],
    local: &[Option<u16>],
    calendar: &Calendar,
    as_of: NaiveDate,
    garden: &Garden,
    notes: &mut Vec<String>,
) -> Vec<FirstLot> {
    let mut lots = Vec::new();
    for lot in waiting {
        if lot.last_day < as_of {
            notes.push(format!(
                "The {} picked on {} is past its last day and is left out.",
                garden.crop(lot.crop).name,
                lot.picked
            ));
            continue;
        }
        let day = |date: NaiveDate| (date - calendar.first).num_days();
        if let Some(crop) = local[lot.crop.0] {
            lots.push(FirstLot {
                crop,
                picked: i32::try_from(day(lot.picked)).unwrap_or(0),
                last: u16::try_from(day(lot.last_day).max(0)).unwrap_or(u16::MAX - 1),
                kg: lot.kg,
            });
        }
    }
    lots
}

fn equipment(garden: &Garden, products: &[KitchenProduct], as_of: NaiveDate) -> Equipment {
    let freezer_other_l: f64 = keeping::in_store(garden, as_of)
        .iter()
        .filter(|b| b.store == Store::Freezer && products.iter().all(|p| p.id != b.product))
        .map(|b| b.litres)
        .sum();
    let k = &garden.household.kitchen;
    let OnHand { jars, lids, bags } = garden.household.on_hand;
    let or_any = |x: Option<f64>| x.unwrap_or(f64::INFINITY);
    Equipment {
        trays_kg: k.trays * k.mass_per_tray.kg(),
        dryer_kg: k.dryer_trays * k.mass_per_tray.kg(),
        crocks: k.crocks.max(0.0) as usize,
        freezer_kg_per_day: or_any(
            k.freezer
                .map(|v| v.l() / L_PER_FT3 * FREEZER_LB_PER_FT3_DAY * KG_PER_LB),
        ),
        freezer_l: or_any(k.freezer_free.map(|v| (v.l() - freezer_other_l).max(0.0))),
        freezer_other_l,
        jars: or_any(jars),
        lids: or_any(lids),
        bags: or_any(bags),
    }
}
