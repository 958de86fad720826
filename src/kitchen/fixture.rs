//! An invented household with crops, methods and products for tests: the published figures, set down in code.
//!
//! Conversions and keeping days follow USDA and extension tables as the built-in tables do; minutes are common practice,
//! no source. The household and its amounts are invented.

use super::fixture_tables::{CROPS, crop, methods, products};
use crate::garden::crop::{Crop, CropId};
use crate::garden::household::{Food, Goal, Household, Kitchen, Need, OnHand};
use crate::garden::planting::{Planting, Size};
use crate::garden::preserving::ProductId;
use crate::garden::record::Record;
use crate::garden::site::{Climate, FrostTable, Site};
use crate::garden::tables::{Tables, TextRow, TextTable};
use crate::garden::units::{Length, Mass, Minutes, Volume};
use crate::garden::{Garden, Show, bed::BedId};
use crate::season::draw::{EndCause, Outcome, Ready, ReadyKind, SeasonDraw};
use chrono::NaiveDate;

/// First day of the fixture's horizon, a Monday.
pub(crate) fn monday() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 6, 1).expect("a date")
}

pub(crate) const FROZEN_BEANS: ProductId = ProductId(0);
pub(crate) const FROZEN_GREENS: ProductId = ProductId(1);
pub(crate) const FROZEN_OKRA: ProductId = ProductId(2);
pub(crate) const GRATED_ZUCCHINI: ProductId = ProductId(3);
pub(crate) const PESTO: ProductId = ProductId(4);
pub(crate) const RADISH_PICKLE: ProductId = ProductId(5);
pub(crate) const CANNED_BEANS: ProductId = ProductId(6);
pub(crate) const CANNED_TOMATOES: ProductId = ProductId(7);
pub(crate) const FROZEN_TOMATOES: ProductId = ProductId(8);
pub(crate) const CANNED_GREENS: ProductId = ProductId(10);
pub(crate) const KRAUT_RADISH: ProductId = ProductId(11);
pub(crate) const DILLY_BEANS: ProductId = ProductId(12);
pub(crate) const DRIED_OKRA: ProductId = ProductId(13);

/// A household of two with an evening and a Saturday in the kitchen, no needs, no plantings, no goals yet.
pub(crate) fn garden() -> Garden {
    let crops: Vec<Crop> = CROPS.iter().map(crop).collect();
    let products = products();
    let rows = products
        .iter()
        .map(|p| TextRow {
            cells: vec![p.name.clone()],
            own: vec![false],
        })
        .collect();
    Garden {
        name: "invented".to_owned(),
        site: Site {
            name: "invented".to_owned(),
            latitude_deg: 38.0,
            altitude: Some(Length::from_ft(500.0)),
            frost: FrostTable::default(),
            climate: Climate::Inferred,
            coldest_night: None,
        },
        crops,
        methods: methods(),
        products,
        beds: Vec::new(),
        plantings: Vec::new(),
        household: Household {
            people: 2.0,
            ceiling_per_week: Mass::from_lb(10.0),
            needs: vec![Need {
                food: Food::Crop(CropId(10)),
                per_week: Mass::from_lb(0.1),
                from: None,
                until: None,
            }],
            goals: Some(Vec::new()),
            kitchen: Kitchen {
                minutes: [0.0, 0.0, 1.5, 0.0, 0.0, 4.0, 0.0].map(Minutes::from_hours),
                closed: Vec::new(),
                extra: Vec::new(),
                hands_on: Vec::new(),
                hands: 1.0,
                pots: 1.0,
                pot_volume: Volume::from_qt(12.0),
                canner_jars: 7,
                trays: 3.0,
                mass_per_tray: Mass::from_lb(2.0),
                dryer_trays: 5.0,
                crocks: 1.0,
                freezer: None,
                freezer_free: None,
                count_picking: false,
                minutes_factor: 1.0,
            },
            on_hand: OnHand::default(),
            away: Vec::new(),
            sow_days: Vec::new(),
            measures: Vec::new(),
        },
        record: Record::default(),
        as_of: None,
        show: Show::default(),
        tables: Tables {
            products: TextTable {
                name: "products".to_owned(),
                columns: vec!["product".to_owned()],
                rows,
            },
            ..Tables::default()
        },
        assumed: Vec::new(),
        warnings: Vec::new(),
    }
}

/// Returns a crop of the fixture by name.
pub(crate) fn crop_id(name: &str) -> CropId {
    CropId(
        CROPS
            .iter()
            .position(|c| c.0 == name)
            .expect("a crop of the fixture"),
    )
}

/// Adds a planting of a crop and returns its number.
pub(crate) fn plant(garden: &mut Garden, crop: &str) -> u32 {
    let n = garden.plantings.len();
    garden.plantings.push(Planting {
        name: format!("{crop} {n}"),
        bed: BedId(0),
        crop: crop_id(crop),
        variety: None,
        sown: Some(monday()),
        set_out: None,
        size: Size::Row(Length::from_ft(20.0)),
        days_to_maturity: None,
        yield_factor: 1.0,
        cleared: None,
    });
    u32::try_from(n).expect("few plantings")
}

/// Adds a need of one crop.
pub(crate) fn need(garden: &mut Garden, crop: &str, lb_per_week: f64) {
    garden.household.needs.push(Need {
        food: Food::Crop(crop_id(crop)),
        per_week: Mass::from_lb(lb_per_week),
        from: None,
        until: None,
    });
}

/// Adds a goal.
pub(crate) fn goal(garden: &mut Garden, products: &[ProductId], containers: f64) {
    let goals = garden.household.goals.get_or_insert_default();
    goals.push(Goal {
        products: products.to_vec(),
        containers,
        by: None,
        eat_per_week: None,
    });
}

/// Makes a draw in which nothing ends within the horizon.
pub(crate) fn season(garden: &Garden, mut ready: Vec<Ready>) -> SeasonDraw {
    ready.sort_by_key(|r| (r.day, r.planting, r.second));
    SeasonDraw {
        outcomes: garden
            .plantings
            .iter()
            .map(|_| Outcome {
                first: None,
                last: None,
                end: u16::MAX,
                cause: EndCause::Horizon,
                kg_possible: 0.0,
                kg_ready: 0.0,
                kg_lost: 0.0,
                kg_second: 0.0,
                kg_strip: 0.0,
            })
            .collect(),
        ready,
        spoiled: Vec::new(),
    }
}

/// Makes pickings of so many pounds every so many days.
pub(crate) fn pickings(planting: u32, first: u16, every: u16, times: u16, lb: f64) -> Vec<Ready> {
    (0..times)
        .map(|i| ready(planting, first + i * every, lb))
        .collect()
}

/// Makes one ordinary picking.
pub(crate) fn ready(planting: u32, day: u16, lb: f64) -> Ready {
    Ready {
        day,
        planting,
        second: false,
        kind: ReadyKind::Picking,
        kg: Mass::from_lb(lb).kg() as f32,
    }
}
