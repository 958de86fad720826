//! Invented data for the tests of the charts, crowded on purpose, and the check that every chart must pass.

use super::Caption;
use super::harvest::{HarvestChart, HarvestCrop};
use super::hours::{HoursChart, HoursWeek};
use super::pickings::{FrostBand, PickingWindow, PickingsBed, PickingsChart, PickingsRow};
use super::svg::{Area, Svg};
use crate::garden::UnitSystem;
use crate::garden::units::{Mass, Minutes};
use crate::garden::week::Week;
use chrono::{Days, NaiveDate};
use proptest::prelude::*;

const CROPS: [&str; 16] = [
    "tomato",
    "green bean",
    "zucchini",
    "collards",
    "kale",
    "okra",
    "turnip",
    "basil",
    "carrot",
    "beet",
    "spinach",
    "leaf lettuce",
    "bok choy",
    "winter radish, the long black one",
    "garlic",
    "pole bean",
];

pub(super) fn caption() -> Caption {
    Caption {
        title: "A garden that does not exist".into(),
        subtitle: "Invented figures, to see whether everything can be read. The long beds are behind the house; the short ones by the fence.".into(),
        footer: "Made for 1 June 2026 from 1000 drawn seasons. Invented data.".into(),
        narrow: false,
    }
}

pub(super) fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date of this file")
}

fn first() -> Week {
    Week::of(day("2026-03-30"))
}

/// A hump of one at week `peak`, so many weeks wide, once a year.
fn hump(week: usize, peak: f64, width: f64) -> f64 {
    let from_peak = (week as f64 - peak + 26.0).rem_euclid(52.0) - 26.0;
    (-(from_peak / width).powi(2)).exp()
}

pub(super) fn hours(weeks: usize) -> HoursChart {
    let weeks: Vec<HoursWeek> = (0..weeks)
        .map(|i| {
            let middle =
                11.0 * hump(i, 20.0, 5.0) + 5.0 * hump(i, 28.0, 3.0) + 1.2 * hump(i, 9.0, 6.0);
            let wobble = 1.0 + 0.25 * ((i * 7 % 5) as f64 - 2.0);
            let p50 = if middle < 0.2 { 0.0 } else { middle * wobble };
            let capacity = if (19..21).contains(&(i % 52)) {
                2.0
            } else {
                5.5
            };
            let chance_over = (p50 / capacity / 2.0).powi(2).min(1.0);
            HoursWeek {
                week: first().plus(i as i64),
                p10: Minutes::from_hours(p50 * 0.45),
                p50: Minutes::from_hours(p50),
                p90: Minutes::from_hours(p50 * 1.7),
                capacity: Minutes::from_hours(capacity),
                chance_over,
                overloaded: chance_over >= 0.5,
            }
        })
        .collect();
    let processing_days = weeks
        .iter()
        .filter(|w| w.p50.hours() > 1.0)
        .map(|w| w.week.monday() + Days::new(5))
        .collect();
    HoursChart {
        caption: caption(),
        weeks,
        processing_days,
    }
}

pub(super) fn harvest(weeks: usize, crops: usize) -> HarvestChart {
    let crops: Vec<HarvestCrop> = (0..crops)
        .map(|c| HarvestCrop {
            name: CROPS[c].into(),
            mean: (0..weeks)
                .map(|i| {
                    let grown = (18.0 / (1.0 + c as f64 * 0.5))
                        * hump(i, 12.0 + (c * 5 % 23) as f64, 3.0 + (c % 3) as f64);
                    Mass::from_lb(if grown < 0.1 {
                        0.0
                    } else {
                        grown * (1.0 + 0.2 * ((i + c) % 3) as f64)
                    })
                })
                .collect(),
        })
        .collect();
    let total = |i: usize| crops.iter().map(|c| c.mean[i]).sum::<Mass>();
    HarvestChart {
        caption: caption(),
        weeks: (0..weeks).map(|i| first().plus(i as i64)).collect(),
        total_p10: (0..weeks).map(|i| total(i) * 0.55).collect(),
        total_p90: (0..weeks).map(|i| total(i) * 1.5).collect(),
        crops,
        units: UnitSystem::Us,
    }
}

pub(super) fn pickings(plantings: usize) -> PickingsChart {
    let beds = [
        "North bed",
        "The long bed behind the shed by the old apple tree",
        "Низкая грядка",
        "Frame",
        "East 1",
        "East 2",
        "Fence",
        "Möhrenbeet <&>",
    ];
    let mut beds: Vec<PickingsBed> = beds
        .iter()
        .map(|name| PickingsBed {
            name: (*name).into(),
            plantings: vec![],
        })
        .collect();
    for i in 0..plantings {
        let sown = first().monday() + Days::new((i * 37 % 160) as u64);
        let set_out = (i % 4 == 1).then(|| sown + Days::new(35));
        let start = set_out.unwrap_or(sown) + Days::new(38 + (i * 13 % 40) as u64);
        let length = 10 + (i * 29 % 70) as u64;
        let doubt = 6 + (i % 5) as u64 * 4;
        let window = PickingWindow {
            first_p10: start,
            first_p90: start + Days::new(doubt),
            last_p10: start + Days::new(length),
            last_p90: start + Days::new(length + doubt + (i % 3) as u64 * 9),
        };
        let picked = i % 19 != 18;
        beds[i * 5 % 8].plantings.push(PickingsRow {
            name: CROPS[i % 16].into(),
            mark: crate::output::dates::short(sown),
            sown: Some(sown),
            set_out,
            window: picked.then_some(window),
            chance: Some(if picked {
                [0.99, 0.92, 0.84, 1.0, 0.6, 0.7][i % 6]
            } else {
                0.02
            }),
        });
    }
    let frost = |name: &str, p10, p50, p90| FrostBand {
        name: name.into(),
        p10: day(p10),
        p50: day(p50),
        p90: day(p90),
    };
    PickingsChart {
        caption: caption(),
        first: Some(first()),
        last: Some(first().plus(39)),
        beds,
        frosts: vec![
            frost(
                "last spring frost",
                "2026-04-10",
                "2026-04-24",
                "2026-05-08",
            ),
            frost("first fall frost", "2026-10-04", "2026-10-17", "2026-10-31"),
        ],
        today: Some(day("2026-06-01")),
    }
}

/// Counts dark pixels of an area given in logical pixels.
pub(super) fn ink(svg: &Svg, png: &[u8], area: Area) -> usize {
    let pixels = resvg::tiny_skia::Pixmap::decode_png(png).expect("a picture");
    let scale = f64::from(pixels.width()) / svg.width();
    let range = |from: f64, to: f64| (from * scale) as u32..(to * scale) as u32;
    range(area.top, area.bottom)
        .flat_map(|y| range(area.left, area.right).map(move |x| (x, y)))
        .filter(|&(x, y)| pixels.pixel(x, y).expect("inside the picture").green() < 128)
        .count()
}

/// Fails if labels touch, leave the picture, or the picture is not well formed.
pub(super) fn assert_tidy(svg: &Svg) {
    let tree = super::png::tree(svg.text()).expect("well-formed SVG");
    let (width, height) = (
        f64::from(tree.size().width()),
        f64::from(tree.size().height()),
    );
    for (i, a) in svg.labels().iter().enumerate() {
        assert!(
            a.area.left >= 0.0
                && a.area.right <= width
                && a.area.top >= 0.0
                && a.area.bottom <= height,
            "outside: {a:?}"
        );
        for b in &svg.labels()[i + 1..] {
            assert!(!a.area.overlaps(&b.area), "{a:?} touches {b:?}");
        }
    }
    assert!(!svg.text().contains("NaN"));
}

#[test]
fn the_same_data_give_the_same_bytes() {
    assert_eq!(
        super::hours::hours(&hours(40)),
        super::hours::hours(&hours(40))
    );
    assert_eq!(
        super::harvest::harvest(&harvest(40, 16)),
        super::harvest::harvest(&harvest(40, 16))
    );
    let svg = super::pickings::pickings(&pickings(60));
    assert_eq!(svg, super::pickings::pickings(&pickings(60)));
    assert_eq!(
        svg.png(600).expect("a picture"),
        svg.png(600).expect("a picture")
    );
}

#[test]
fn every_label_of_every_chart_leaves_ink_in_the_png() {
    for svg in [
        super::hours::hours(&hours(40)),
        super::harvest::harvest(&harvest(40, 16)),
        super::pickings::pickings(&pickings(20)),
        super::hours::hours(&HoursChart {
            caption: caption(),
            ..HoursChart::default()
        }),
    ] {
        let png = svg.png(1200).expect("a picture");
        for label in svg.labels() {
            assert!(ink(&svg, &png, label.area) > 3, "{label:?}");
        }
        let title = &svg.labels()[0];
        assert_eq!(title.words, caption().title);
        assert!(
            ink(&svg, &png, title.area) > 1000,
            "the title is bold and large"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever the names and dates are: no panic, well-formed, no label on another.
    #[test]
    fn any_garden_can_be_drawn(
        title in "\\PC{0,200}",
        names in prop::collection::vec("\\PC{0,40}|[<>&\"'\u{0}-\u{1f}]{0,9}", 1..12),
        days in prop::collection::vec((0u64..900, 0u64..200, 0u64..200, 0u64..200, 0.0..=1.0f64), 1..12),
        loads in prop::collection::vec((0.0..40.0f64, 0.0..20.0f64, 0.0..=1.0f64), 1..110),
    ) {
        let caption = Caption { title: title.clone(), subtitle: title.repeat(3), footer: title, narrow: names.len() % 2 == 1 };
        let start = first().monday();
        let plantings: Vec<PickingsRow> = names.iter().zip(&days).map(|(name, &(sown, a, b, c, chance))| {
            let sown = start + Days::new(sown);
            let window = PickingWindow {
                first_p10: sown + Days::new(a),
                first_p90: sown + Days::new(a + b),
                last_p10: sown + Days::new(a + c),
                last_p90: sown + Days::new(a + b.max(c)),
            };
            PickingsRow { name: name.clone(), mark: name.clone(), sown: Some(sown), set_out: None, window: Some(window), chance: Some(chance) }
        }).collect();
        let frosts = pickings(1).frosts;
        let beds = vec![PickingsBed { name: names[0].clone(), plantings }];
        assert_tidy(&super::pickings::pickings(&PickingsChart { caption: caption.clone(), beds, frosts, ..PickingsChart::default() }));

        let weeks = loads.iter().enumerate().map(|(i, &(p50, capacity, chance_over))| HoursWeek {
            week: first().plus(i as i64),
            p10: Minutes::from_hours(p50 * 0.5),
            p50: Minutes::from_hours(p50),
            p90: Minutes::from_hours(p50 * 2.0),
            capacity: Minutes::from_hours(capacity),
            chance_over,
            overloaded: chance_over > 0.5,
        }).collect();
        assert_tidy(&super::hours::hours(&HoursChart { caption: caption.clone(), weeks, processing_days: vec![start, start + Days::new(3000)] }));

        let crops = names.iter().map(|name| HarvestCrop {
            name: name.clone(),
            mean: loads.iter().map(|load| Mass::from_kg(load.0)).collect(),
        }).collect();
        let weeks = (0..loads.len()).map(|i| first().plus(i as i64)).collect();
        assert_tidy(&super::harvest::harvest(&HarvestChart { caption, weeks, crops, ..HarvestChart::default() }));
    }
}
