//! A small made-up garden for tests, built without any file: amounts, names and dates are invented.
#![allow(clippy::unwrap_used, dead_code, reason = "tests")]

use chrono::NaiveDate;
use putby::garden::bed::{Bed, BedId, Protection};
use putby::garden::crop::{
    Clock, Crop, CropId, CropKitchen, Ends, FoodGroup, Growth, Harvest, Pattern, SecondFood,
    Timing, Yields,
};
use putby::garden::household::{Household, Kitchen, Measure, OnHand};
use putby::garden::planting::{Planting, Size};
use putby::garden::preserving::{Appliance, Method, MethodId, Part, Product, Store};
use putby::garden::record::Record;
use putby::garden::site::{Climate, FrostTable, Site};
use putby::garden::tables::Tables;
use putby::garden::units::{Length, Mass, Minutes, RowYield, Temperature, Volume};
use putby::garden::week::DateRange;
use putby::garden::{Garden, Show};

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// A crop of 60 days from sowing and 30 days of picking, 1 kg a metre.
pub(crate) fn crop(name: &str, also: &[&str], units: &[(&str, f64)]) -> Crop {
    let one_kg_a_metre = RowYield::from_lb_per_100ft(100.0 * 0.3048 / 0.453_592_37);
    Crop {
        name: name.into(),
        also_called: also.iter().map(|&a| a.into()).collect(),
        group: FoodGroup::CookingGreens,
        family: String::new(),
        safety_row: None,
        put_by: None,
        units: units
            .iter()
            .map(|&(unit, lb)| (unit.into(), Mass::from_lb(lb)))
            .collect(),
        timing: Timing {
            days_sown: Some(60.0),
            days_set_out: None,
            raise_days: None,
            days_cv: 0.08,
            clock: Clock::Growth,
            baby_at: None,
        },
        growth: Growth {
            base: Temperature::from_c(4.4),
            full: Temperature::from_c(17.0),
            ceiling: None,
            day_length: false,
            up_base: Temperature::from_c(3.0),
            up_degree_days: 80.0,
            soil_min: None,
            soil_max: None,
        },
        harvest: Harvest {
            pattern: Pattern::Leaf,
            harvest_days: 30.0,
            pick_every_days: 4.0,
            shape: vec![0.5, 0.5],
            holds_days: 2.0,
            usable_early: false,
        },
        ends: Ends {
            killed_below: None,
            spoiled_below: None,
            bolts_above: None,
            bolts_above_hours: None,
            bolts_after_cold_days: None,
            bolt_growing_days: 15.0,
            early_end_chance: 0.0,
            early_end_from_days: 0.0,
            strip_share: 0.0,
        },
        second: None,
        yields: Yields {
            row_low: one_kg_a_metre,
            row_high: one_kg_a_metre,
            bed_low: None,
            bed_high: None,
            in_row: Length::from_m(0.2),
            between_rows: Length::from_m(0.5),
            bed_spacing: None,
            cv: 0.3,
            fail_chance: 0.03,
            seed_per_100ft: None,
        },
        kitchen: CropKitchen {
            best_days: 3.0,
            last_days: 6.0,
            prep_min_per_lb: Minutes::ZERO,
            pick_min_per_lb: Minutes::ZERO,
            need_per_person_week: Mass::ZERO,
        },
    }
}

/// A frozen product in bags or jars.
pub(crate) fn product(
    name: &str,
    container: &str,
    parts: &[(usize, f64, f64)],
    lb: f64,
) -> Product {
    Product {
        name: name.into(),
        method: MethodId(0),
        recipe: None,
        parts: parts
            .iter()
            .map(|&(crop, least, greatest)| Part {
                crop: CropId(crop),
                least,
                greatest,
            })
            .collect(),
        finish_as: None,
        container: container.into(),
        container_volume: Volume::from_qt(1.0),
        mass_per_container: Mass::from_lb(lb),
        halves: true,
        top_up: false,
        portion: None,
        least_lot: Mass::ZERO,
        within_hours: None,
        load_containers: None,
        fixed_amounts: None,
        blanch: None,
        blanch_published: None,
        clock: None,
        extra_min_per_lb: Minutes::ZERO,
        dry_h: None,
        follow_up: None,
        follow_up_h: None,
        best_months: 10.0,
        last_months: 12.0,
        bought_in: None,
        bought_in_share: 0.0,
        caution: None,
    }
}

pub(crate) fn planting(name: &str, bed: usize, crop: usize, sown: &str) -> Planting {
    Planting {
        name: name.into(),
        bed: BedId(bed),
        crop: CropId(crop),
        variety: None,
        sown: Some(date(sown)),
        set_out: None,
        size: Size::Row(Length::from_m(10.0)),
        days_to_maturity: None,
        yield_factor: 1.0,
        cleared: None,
    }
}

pub(crate) const BEANS: usize = 0;
pub(crate) const KALE: usize = 1;
pub(crate) const OKRA: usize = 2;
pub(crate) const BEETS: usize = 3;
pub(crate) const BEET_GREENS: usize = 4;
pub(crate) const POLE_BEANS: usize = 5;
pub(crate) const ZUCCHINI: usize = 6;
pub(crate) const LEEKS: usize = 7;

/// Three beds; beans in A, kale in A and C, okra in B, beets in B, zucchini in C twice; no leeks yet.
pub(crate) fn garden() -> Garden {
    let mut beets = crop("beets", &["beet", "beetroot"], &[("bunch", 1.0)]);
    beets.second = Some(SecondFood {
        crop: CropId(BEET_GREENS),
        share: 0.3,
        from: 0.5,
        delay_days: 3.0,
    });
    let bed = |name: &str| Bed {
        name: name.into(),
        length: None,
        width: None,
        protection: Protection::None,
        protected: DateRange::default(),
        yield_factor: 1.0,
    };
    Garden {
        name: "made up".into(),
        site: Site {
            name: "made up".into(),
            latitude_deg: 40.0,
            altitude: None,
            frost: FrostTable::default(),
            climate: Climate::Inferred,
            coldest_night: None,
        },
        crops: vec![
            crop("bush beans", &["beans", "snap beans", "green beans"], &[]),
            crop("kale", &[], &[("bunch", 0.5)]),
            crop("okra", &[], &[]),
            beets,
            crop("beet greens", &["beet leaves"], &[("bunch", 0.5)]),
            crop("pole beans", &["beans"], &[]),
            crop(
                "zucchini",
                &["courgette", "summer squash"],
                &[("each", 0.5)],
            ),
            crop("leeks", &["leek"], &[("each", 0.4)]),
        ],
        methods: vec![Method {
            name: "freeze after blanching".into(),
            safety_column: None,
            store: Store::Freezer,
            appliance: Appliance::Pot,
            needs_altitude: false,
            setup_group: "pot".into(),
            setup: Minutes::ZERO,
            setup_more: Minutes::ZERO,
            per_batch: Minutes::ZERO,
            per_container: Minutes::ZERO,
            batch_lb_per_gal: None,
            batch_extra: Minutes::ZERO,
            overhead_pint: Minutes::ZERO,
            overhead_quart: Minutes::ZERO,
            wait_h: 0.0,
            best_months: 10.0,
            last_months: 12.0,
            packed_lb_per_ft3: None,
        }],
        products: vec![
            product(
                "frozen beans",
                "quart bag",
                &[(BEANS, 1.0, 1.0), (POLE_BEANS, 0.0, 1.0)],
                1.5,
            ),
            product("frozen kale", "quart bag", &[(KALE, 1.0, 1.0)], 2.0),
            product("frozen okra", "quart bag", &[(OKRA, 1.0, 1.0)], 1.5),
            product("pickled okra", "pint jar", &[(OKRA, 1.0, 1.0)], 0.75),
            product(
                "frozen greens",
                "pint bag",
                &[(KALE, 0.2, 0.8), (BEET_GREENS, 0.2, 0.8)],
                1.0,
            ),
        ],
        beds: vec![bed("A"), bed("B"), bed("back fence")],
        plantings: vec![
            planting("A bush beans", 0, BEANS, "2026-05-04"),
            planting("A kale", 0, KALE, "2026-04-06"),
            planting("back fence kale", 2, KALE, "2026-04-20"),
            planting("B okra", 1, OKRA, "2026-05-18"),
            planting("B beets", 1, BEETS, "2026-04-06"),
            planting("back fence zucchini", 2, ZUCCHINI, "2026-05-11"),
            planting("back fence zucchini-2", 2, ZUCCHINI, "2026-06-08"),
        ],
        household: Household {
            people: 2.0,
            ceiling_per_week: Mass::from_lb(10.0),
            needs: vec![],
            goals: None,
            kitchen: Kitchen {
                minutes: [Minutes::ZERO; 7],
                closed: vec![],
                extra: vec![],
                hands_on: vec![],
                hands: 1.0,
                pots: 1.0,
                pot_volume: Volume::ZERO,
                canner_jars: 7,
                trays: 0.0,
                mass_per_tray: Mass::ZERO,
                dryer_trays: 0.0,
                crocks: 0.0,
                freezer: None,
                freezer_free: None,
                count_picking: false,
                minutes_factor: 1.0,
            },
            on_hand: OnHand::default(),
            away: vec![],
            sow_days: vec![],
            measures: vec![
                Measure {
                    name: "bowl".into(),
                    crop: Some(CropId(OKRA)),
                    mass: Mass::from_lb(1.25),
                },
                Measure {
                    name: "bag".into(),
                    crop: None,
                    mass: Mass::from_lb(0.75),
                },
            ],
        },
        record: Record::default(),
        as_of: None,
        show: Show::default(),
        tables: Tables::default(),
        assumed: vec![],
        warnings: vec![],
    }
}
