//! A small garden made in code for the room's tests; its figures are invented for the tests.

use chrono::NaiveDate;

use crate::garden::bed::{Bed, BedId, Protection};
use crate::garden::crop::{
    Clock, Crop, CropId, CropKitchen, Ends, FoodGroup, Growth, Harvest, Pattern, SecondFood,
    Timing, Yields,
};
use crate::garden::household::{Household, Kitchen, OnHand};
use crate::garden::planting::{Planting, Size};
use crate::garden::record::Record;
use crate::garden::site::{
    Climate, DailyWeather, DayRecord, FrostRow, FrostTable, MonthlyNormals, Site,
};
use crate::garden::tables::Tables;
use crate::garden::units::{Length, Mass, Minutes, RowYield, Temperature, Volume};
use crate::garden::week::{DateRange, YearDay};
use crate::garden::{Garden, Show};

/// Mean temperatures of the months at the test site, 37.5° N, °C.
pub(crate) const MEANS_C: [f64; 12] = [
    2.5, 4.0, 8.5, 14.0, 19.0, 23.5, 26.0, 25.0, 21.5, 15.0, 9.5, 4.5,
];

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().expect("an ISO date")
}

pub(crate) fn frost_row(f: f64, dates: &[(f64, u32, u32)], sd_days: f64) -> FrostRow {
    FrostRow {
        threshold: Temperature::from_f(f),
        share: 1.0,
        dates: dates
            .iter()
            .map(|&(chance, month, day)| {
                (chance, YearDay::from_month_day(month, day).expect("a date"))
            })
            .collect(),
        sd_days,
    }
}

pub(crate) fn site() -> Site {
    Site {
        name: "test".to_owned(),
        latitude_deg: 37.5,
        altitude: None,
        frost: FrostTable {
            spring: vec![frost_row(32.0, &[(0.5, 4, 15)], 12.0)],
            fall: vec![frost_row(32.0, &[(0.5, 10, 20)], 12.0)],
        },
        climate: Climate::Monthly(MonthlyNormals {
            min: MEANS_C.map(|t| Temperature::from_c(t - 6.0)),
            max: MEANS_C.map(|t| Temperature::from_c(t + 6.0)),
        }),
        coldest_night: None,
    }
}

/// A cool-season leaf crop without ceiling that day length slows.
pub(crate) fn cool_leaf(name: &str, days: f64) -> Crop {
    Crop {
        name: name.to_owned(),
        also_called: Vec::new(),
        group: FoodGroup::CookingGreens,
        family: "cabbage".to_owned(),
        safety_row: None,
        put_by: None,
        units: Vec::new(),
        timing: Timing {
            days_sown: Some(days),
            days_set_out: Some(days - 20.0),
            raise_days: Some(28.0),
            days_cv: 0.08,
            clock: Clock::Growth,
            baby_at: Some(0.6),
        },
        growth: Growth {
            base: Temperature::from_c(4.4),
            full: Temperature::from_c(17.0),
            ceiling: None,
            day_length: true,
            up_base: Temperature::from_c(2.6),
            up_degree_days: 110.0,
            soil_min: None,
            soil_max: None,
        },
        harvest: Harvest {
            pattern: Pattern::Leaf,
            harvest_days: 60.0,
            pick_every_days: 10.0,
            shape: vec![0.42, 0.17, 0.21, 0.20],
            holds_days: 14.0,
            usable_early: true,
        },
        ends: Ends {
            killed_below: Some(Temperature::from_f(10.0)),
            spoiled_below: Some(Temperature::from_f(20.0)),
            bolts_above: None,
            bolts_above_hours: Some(13.0),
            bolts_after_cold_days: Some(40.0),
            bolt_growing_days: 15.0,
            early_end_chance: 0.0,
            early_end_from_days: 0.0,
            strip_share: 0.0,
        },
        second: None,
        yields: Yields {
            row_low: RowYield::from_lb_per_100ft(80.0),
            row_high: RowYield::from_lb_per_100ft(120.0),
            bed_low: None,
            bed_high: None,
            in_row: Length::from_in(12.0),
            between_rows: Length::from_in(24.0),
            bed_spacing: None,
            cv: 0.3,
            fail_chance: 0.03,
            seed_per_100ft: None,
        },
        kitchen: CropKitchen {
            best_days: 3.0,
            last_days: 6.0,
            prep_min_per_lb: Minutes::from_min(6.0),
            pick_min_per_lb: Minutes::from_min(5.0),
            need_per_person_week: Mass::from_lb(0.5),
        },
    }
}

/// A tender crop picked every few days until frost, with pests.
pub(crate) fn tender_fruit(name: &str) -> Crop {
    let mut crop = cool_leaf(name, 60.0);
    crop.group = FoodGroup::Fruiting;
    crop.growth = Growth {
        base: Temperature::from_c(10.0),
        full: Temperature::from_c(20.0),
        ceiling: None,
        day_length: false,
        up_base: Temperature::from_c(10.0),
        up_degree_days: 100.0,
        soil_min: None,
        soil_max: None,
    };
    crop.harvest = Harvest {
        pattern: Pattern::Fruit,
        harvest_days: 80.0,
        pick_every_days: 3.0,
        shape: vec![0.10, 0.22, 0.28, 0.24, 0.16],
        holds_days: 2.0,
        usable_early: false,
    };
    crop.ends = Ends {
        killed_below: Some(Temperature::from_f(32.0)),
        spoiled_below: None,
        bolts_above: None,
        bolts_above_hours: None,
        bolts_after_cold_days: None,
        bolt_growing_days: 15.0,
        early_end_chance: 0.1,
        early_end_from_days: 50.0,
        strip_share: 0.5,
    };
    crop.yields.cv = 0.4;
    crop
}

/// A root that stands, whose leaves (crop 0) are a second food.
pub(crate) fn root(name: &str) -> Crop {
    let mut crop = cool_leaf(name, 50.0);
    crop.group = FoodGroup::Roots;
    crop.harvest = Harvest {
        pattern: Pattern::Root,
        harvest_days: 30.0,
        pick_every_days: 7.0,
        shape: vec![1.0],
        holds_days: 30.0,
        usable_early: true,
    };
    crop.second = Some(SecondFood {
        crop: CropId(0),
        share: 0.4,
        from: 0.5,
        delay_days: 3.0,
    });
    crop
}

/// A salad crop that heat and long days bolt.
pub(crate) fn bolter(name: &str) -> Crop {
    let mut crop = cool_leaf(name, 45.0);
    crop.growth.ceiling = Some(Temperature::from_c(24.0));
    crop.harvest.pattern = Pattern::Once;
    crop.harvest.harvest_days = 10.0;
    crop.harvest.holds_days = 8.0;
    crop.ends.bolts_above = Some(Temperature::from_c(21.0));
    crop.ends.bolts_above_hours = Some(13.5);
    crop.ends.bolts_after_cold_days = None;
    crop
}

/// An autumn-planted bulb that grows by the calendar.
pub(crate) fn bulb(name: &str) -> Crop {
    let mut crop = root(name);
    crop.group = FoodGroup::Alliums;
    crop.timing.days_sown = Some(240.0);
    crop.timing.clock = Clock::Calendar;
    crop.ends.killed_below = Some(Temperature::from_f(-10.0));
    crop.ends.spoiled_below = None;
    crop.ends.bolts_above_hours = None;
    crop.second = None;
    crop
}

/// Crops of the test garden: 0 leaf, 1 fruit, 2 root, 3 bolter, 4 bulb.
pub(crate) fn crops() -> Vec<Crop> {
    vec![
        cool_leaf("kale", 60.0),
        tender_fruit("okra"),
        root("turnip"),
        bolter("lettuce"),
        bulb("garlic"),
    ]
}

pub(crate) fn planting(name: &str, crop: usize, sown: &str) -> Planting {
    Planting {
        name: name.to_owned(),
        bed: BedId(0),
        crop: CropId(crop),
        variety: None,
        sown: Some(date(sown)),
        set_out: None,
        size: Size::Row(Length::from_ft(20.0)),
        days_to_maturity: None,
        yield_factor: 1.0,
        cleared: None,
    }
}

pub(crate) fn bed(name: &str, protection: Protection) -> Bed {
    Bed {
        name: name.to_owned(),
        length: None,
        width: None,
        protection,
        protected: DateRange::default(),
        yield_factor: 1.0,
    }
}

pub(crate) fn garden(plantings: Vec<Planting>) -> Garden {
    Garden {
        name: "test".to_owned(),
        site: site(),
        crops: crops(),
        methods: Vec::new(),
        products: Vec::new(),
        beds: vec![
            bed("open", Protection::None),
            bed("tunnel", Protection::HighTunnel),
        ],
        plantings,
        household: Household {
            people: 2.0,
            ceiling_per_week: Mass::from_lb(10.0),
            needs: Vec::new(),
            goals: None,
            kitchen: Kitchen {
                minutes: [Minutes::ZERO; 7],
                closed: Vec::new(),
                extra: Vec::new(),
                hands_on: Vec::new(),
                hands: 1.0,
                pots: 1.0,
                pot_volume: Volume::from_qt(8.0),
                canner_jars: 7,
                trays: 2.0,
                mass_per_tray: Mass::from_lb(1.5),
                dryer_trays: 0.0,
                crocks: 0.0,
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
        tables: Tables::default(),
        assumed: Vec::new(),
        warnings: Vec::new(),
    }
}

/// A year's garden with one of every kind.
pub(crate) fn year() -> Garden {
    garden(vec![
        planting("spring lettuce", 3, "2026-03-20"),
        planting("okra", 1, "2026-05-10"),
        planting("fall turnip", 2, "2026-08-20"),
        planting("fall kale", 0, "2026-08-10"),
        planting("garlic", 4, "2026-10-20"),
    ])
}

/// Clemson, South Carolina, 1991-2020: NOAA GHCN-Daily USC00381770, a work of the United States Government.
pub(crate) fn clemson() -> DailyWeather {
    let text = include_str!("../../tests/data/clemson_1991_2020.csv");
    let first = date("1991-01-01");
    let mut days = Vec::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let place =
            usize::try_from((date(cells[0]) - first).num_days()).expect("a date from 1991 on");
        days.resize(place, DayRecord::default());
        let tenths = |cell: &str| cell.parse::<f32>().ok().map(|t| t / 10.0);
        days.push(DayRecord {
            min_c: tenths(cells[1]),
            max_c: tenths(cells[2]),
        });
    }
    DailyWeather {
        source: "Clemson".to_owned(),
        first,
        days,
    }
}
