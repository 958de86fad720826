//! Tables of the invented household: crops, methods and products with the published figures. Tests only.

use crate::garden::crop::{
    Clock, Crop, CropId, CropKitchen, Ends, FoodGroup, Growth, Harvest, Pattern, SecondFood,
    Timing, Yields,
};
use crate::garden::preserving::{Appliance, Method, MethodId, Part, Product, Store};
use crate::garden::safety::{SafetyColumn, SafetyRow};
use crate::garden::units::{Length, Mass, Minutes, RowYield, Temperature, Volume};

/// name, group, safety row, holds_days, pick_every, best, last, prep min/lb, pick min/lb, need lb/person/week
pub(super) type CropLine = (&'static str, FoodGroup, &'static str, [f64; 4], [f64; 3]);

/// Keeping days: extension lists of home-refrigerator life; last days twice the best, at most the ideal life of
/// USDA Handbook 66. Preparation minutes: common practice, no source.
#[rustfmt::skip]
pub(super) const CROPS: [CropLine; 12] = [
    ("snap bean", FoodGroup::BeansAndPeas,  "beans",            [2.0, 3.0, 3.0, 7.0],     [5.0, 3.0, 0.5]),
    ("okra",      FoodGroup::Fruiting,      "okra",             [2.0, 2.0, 2.0, 4.0],     [3.0, 4.0, 0.3]),
    ("zucchini",  FoodGroup::Fruiting,      "summer squash",    [2.0, 2.0, 5.0, 10.0],    [2.0, 1.0, 0.5]),
    ("tomato",    FoodGroup::Fruiting,      "tomato",           [3.0, 3.0, 4.0, 8.0],     [4.0, 1.0, 0.7]),
    ("basil",     FoodGroup::Herbs,         "basil",            [5.0, 7.0, 4.0, 7.0],     [8.0, 4.0, 0.05]),
    ("collards",  FoodGroup::CookingGreens, "cooking greens",   [14.0, 7.0, 3.0, 6.0],    [4.0, 1.5, 0.3]),
    ("kale",      FoodGroup::CookingGreens, "cooking greens",   [14.0, 7.0, 3.0, 6.0],    [4.0, 1.5, 0.3]),
    ("radish",    FoodGroup::Roots,         "radish",           [60.0, 1.0, 14.0, 28.0],  [3.0, 1.0, 0.2]),
    ("carrot",    FoodGroup::Roots,         "carrot",           [60.0, 1.0, 14.0, 28.0],  [4.0, 1.0, 0.5]),
    ("onion",     FoodGroup::Alliums,       "onion and garlic", [10.0, 1.0, 60.0, 120.0], [3.0, 1.0, 0.3]),
    ("beet",      FoodGroup::Roots,         "beet",             [60.0, 1.0, 14.0, 28.0],  [3.0, 1.0, 0.3]),
    ("beet greens", FoodGroup::CookingGreens, "cooking greens", [7.0, 7.0, 3.0, 6.0],     [5.0, 1.5, 0.0]),
];

pub(super) fn crop(line: &CropLine) -> Crop {
    let [holds_days, pick_every_days, best_days, last_days] = line.3;
    let [prep, pick, need] = line.4;
    Crop {
        name: line.0.to_owned(),
        also_called: Vec::new(),
        group: line.1,
        family: String::new(),
        safety_row: SafetyRow::from_name(line.2),
        put_by: match line.0 {
            "snap bean" => Some("frozen beans".to_owned()),
            "okra" => Some("frozen okra".to_owned()),
            "collards" | "kale" => Some("frozen greens".to_owned()),
            _ => None,
        },
        units: Vec::new(),
        timing: Timing {
            days_sown: Some(55.0),
            days_set_out: None,
            raise_days: None,
            days_cv: 0.08,
            clock: Clock::Growth,
            baby_at: None,
        },
        growth: Growth {
            base: Temperature::from_c(10.0),
            full: Temperature::from_c(20.0),
            ceiling: None,
            day_length: false,
            up_base: Temperature::from_c(10.0),
            up_degree_days: 70.0,
            soil_min: None,
            soil_max: None,
        },
        harvest: Harvest {
            pattern: Pattern::Fruit,
            harvest_days: 30.0,
            pick_every_days,
            shape: vec![1.0],
            holds_days,
            usable_early: false,
        },
        ends: Ends {
            killed_below: matches!(
                line.1,
                FoodGroup::Fruiting | FoodGroup::Herbs | FoodGroup::BeansAndPeas
            )
            .then(|| Temperature::from_f(32.0)),
            spoiled_below: None,
            bolts_above: None,
            bolts_above_hours: None,
            bolts_after_cold_days: None,
            bolt_growing_days: 15.0,
            early_end_chance: 0.0,
            early_end_from_days: 0.0,
            strip_share: 0.0,
        },
        second: (line.0 == "beet").then_some(SecondFood {
            crop: CropId(11),
            share: 0.5,
            from: 0.6,
            delay_days: 2.0,
        }),
        yields: Yields {
            row_low: RowYield::from_lb_per_100ft(50.0),
            row_high: RowYield::from_lb_per_100ft(100.0),
            bed_low: None,
            bed_high: None,
            in_row: Length::from_in(4.0),
            between_rows: Length::from_in(24.0),
            bed_spacing: None,
            cv: 0.4,
            fail_chance: 0.03,
            seed_per_100ft: None,
        },
        kitchen: CropKitchen {
            best_days,
            last_days,
            prep_min_per_lb: Minutes::from_min(prep),
            pick_min_per_lb: Minutes::from_min(pick),
            need_per_person_week: Mass::from_lb(need),
        },
    }
}

const BLANCH: usize = 0;
const RAW: usize = 1;
const PUREE: usize = 2;
const FRIDGE: usize = 3;
const PRESSURE: usize = 4;
const BOILING: usize = 5;
const FERMENT: usize = 6;
const DRY: usize = 7;

/// Set-up: pot and ice 20, processor 10, brine 20 and 10 for a further one, canner 20 a load (common practice, no source).
pub(super) fn methods() -> Vec<Method> {
    #[rustfmt::skip]
    let lines = [
        ("freeze after blanching", Some(SafetyColumn::Freeze),      Store::Freezer, Appliance::Pot,    "pot",       [20.0, 5.0, 0.0, 3.0]),
        ("freeze raw",             Some(SafetyColumn::Freeze),      Store::Freezer, Appliance::Tray,   "trays",     [5.0, 2.0, 0.0, 3.0]),
        ("freeze as purée",        Some(SafetyColumn::Freeze),      Store::Freezer, Appliance::None,   "processor", [10.0, 5.0, 0.0, 3.0]),
        ("refrigerator pickle",    Some(SafetyColumn::FridgePickle), Store::Fridge, Appliance::None,   "brine",     [20.0, 10.0, 0.0, 2.0]),
        ("pressure can",           Some(SafetyColumn::PressureCan), Store::Pantry,  Appliance::Canner, "canner",    [0.0, 0.0, 20.0, 2.0]),
        ("boiling-water can",      Some(SafetyColumn::WaterBathPickled), Store::Pantry, Appliance::Canner, "canner", [0.0, 0.0, 20.0, 2.0]),
        ("ferment",                Some(SafetyColumn::Ferment),     Store::Fridge,  Appliance::Crock,  "crock",     [15.0, 5.0, 0.0, 2.0]),
        ("dry",                    Some(SafetyColumn::Dry),         Store::Pantry,  Appliance::Dryer,  "dryer",     [15.0, 5.0, 0.0, 1.0]),
    ];
    lines
        .into_iter()
        .map(
            |(name, safety_column, store, appliance, group, [setup, more, batch, container])| {
                Method {
                    name: name.to_owned(),
                    safety_column,
                    store,
                    appliance,
                    needs_altitude: appliance == Appliance::Canner,
                    setup_group: group.to_owned(),
                    setup: Minutes::from_min(setup),
                    setup_more: Minutes::from_min(more),
                    per_batch: Minutes::from_min(batch),
                    per_container: Minutes::from_min(container),
                    batch_lb_per_gal: (appliance == Appliance::Pot).then_some(1.0),
                    batch_extra: Minutes::from_min(4.0),
                    overhead_pint: Minutes::from_min(69.0),
                    overhead_quart: Minutes::from_min(84.0),
                    wait_h: 0.0,
                    best_months: 10.0,
                    last_months: if store == Store::Fridge { 1.0 } else { 12.0 },
                    packed_lb_per_ft3: (store == Store::Freezer).then_some(30.0),
                }
            },
        )
        .collect()
}

/// name, method, parts, container, quarts, lb per container, least lot lb, extra min per lb
type ProductLine = (
    &'static str,
    usize,
    Vec<Part>,
    &'static str,
    f64,
    f64,
    f64,
    f64,
);

/// Weights: USDA Complete Guide to Home Canning (Guide 4: beans 2 lb, greens 4 lb a quart), Penn State Extension (beans
/// 3/4 lb a frozen pint), Univ. of Maine Extension (greens 1 1/4 lb a frozen pint); blanching: NCHFP copies.
/// Canner clocks: process plus overhead of the parts, for planning.
pub(super) fn products() -> Vec<Product> {
    let any = |crops: &[usize]| -> Vec<Part> {
        crops
            .iter()
            .map(|&c| Part {
                crop: CropId(c),
                least: if crops.len() == 1 { 1.0 } else { 0.0 },
                greatest: 1.0,
            })
            .collect()
    };
    let share = |crop: usize, least: f64, greatest: f64| Part {
        crop: CropId(crop),
        least,
        greatest,
    };
    #[rustfmt::skip]
    let lines: Vec<ProductLine> = vec![
        ("frozen beans",       BLANCH,   any(&[0]),        "quart bag",     1.0, 1.5,   1.0, 0.0),
        ("frozen greens",      BLANCH,   any(&[5, 6, 11]), "quart bag",     1.0, 2.5,   1.0, 3.0),
        ("frozen okra",        RAW,      any(&[1]),        "quart bag",     1.0, 1.6,   0.5, 1.0),
        ("grated zucchini",    PUREE,    any(&[2]),        "quart bag",     1.0, 2.2,   1.0, 0.0),
        ("pesto",              PUREE,    vec![share(4, 0.5, 1.0), share(6, 0.0, 0.5)], "half-pint tub", 0.25, 0.45, 0.4, 0.0),
        ("radish pickle",      FRIDGE,   vec![share(7, 0.75, 0.9), share(9, 0.1, 0.25)], "quart jar", 1.0, 4.0 / 3.0, 1.0, 0.0),
        ("canned beans",       PRESSURE, any(&[0]),        "quart jar",     1.0, 2.0,   8.0, 0.0),
        ("canned tomatoes",    BOILING,  any(&[3]),        "quart jar",     1.0, 3.0,  21.0, 0.0),
        ("whole tomatoes, frozen", RAW,  any(&[3]),        "gallon bag",    4.0, 5.0,   1.0, -3.0),
        ("frozen carrots",     BLANCH,   any(&[8]),        "quart bag",     1.0, 2.8,   1.0, 0.0),
        ("canned greens",      PRESSURE, any(&[5]),        "quart jar",     1.0, 4.0,  14.0, 0.0),
        ("fermented radish",   FERMENT,  any(&[7]),        "quart jar",     1.0, 2.0,   2.0, 0.0),
        ("dilly beans",        BOILING,  any(&[0]),        "pint jar",      0.5, 0.5,   2.0, 0.0),
        ("dried okra",         DRY,      any(&[1]),        "pint jar",      0.5, 2.0,   1.0, 0.0),
    ];
    lines
        .into_iter()
        .map(
            |(name, method, parts, container, quarts, lb, least, extra)| Product {
                name: name.to_owned(),
                method: MethodId(method),
                recipe: matches!(method, BOILING | FERMENT | PRESSURE)
                    .then(|| "named in the tested guide".to_owned()),
                parts,
                finish_as: (name == "whole tomatoes, frozen").then(|| "canned tomatoes".to_owned()),
                container: container.to_owned(),
                container_volume: Volume::from_qt(quarts),
                mass_per_container: Mass::from_lb(lb),
                halves: method == BLANCH || method == RAW,
                top_up: name == "frozen okra",
                portion: None,
                least_lot: Mass::from_lb(least),
                within_hours: (name == "dilly beans").then_some(24.0),
                load_containers: (method == PRESSURE || method == BOILING)
                    .then_some(if quarts >= 1.0 { 7 } else { 9 }),
                fixed_amounts: matches!(method, BOILING | FERMENT | PRESSURE)
                    .then(|| "by the recipe".to_owned()),
                blanch: (method == BLANCH).then_some(Minutes::from_min(3.0)),
                blanch_published: None,
                clock: match name {
                    "canned beans" => Some(Minutes::from_min(109.0)),
                    "canned greens" => Some(Minutes::from_min(174.0)),
                    "canned tomatoes" => Some(Minutes::from_min(75.0)),
                    "dilly beans" => Some(Minutes::from_min(35.0)),
                    _ => None,
                },
                extra_min_per_lb: Minutes::from_min(extra),
                dry_h: (method == DRY).then_some(9.0),
                follow_up: None,
                follow_up_h: (method == FERMENT).then_some(21.0 * 24.0),
                best_months: 10.0,
                last_months: if method == FRIDGE { 1.0 } else { 12.0 },
                bought_in: (name == "pesto").then(|| "oil, nuts".to_owned()),
                bought_in_share: if name == "pesto" { 0.3 } else { 0.0 },
                caution: None,
            },
        )
        .collect()
}
