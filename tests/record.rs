//! The record by week: what is known, what is not, and how plantings went. Everything is made up.
#![allow(clippy::unwrap_used, reason = "tests")]

mod made_garden;

use made_garden::{BEANS, BEET_GREENS, BEETS, KALE, OKRA, ZUCCHINI, date, garden, planting};
use putby::garden::Garden;
use putby::garden::bed::BedId;
use putby::garden::crop::CropId;
use putby::garden::household::Away;
use putby::garden::planting::PlantingId;
use putby::garden::preserving::ProductId;
use putby::garden::record::{Event, Happening, Picked, StoreChange, Use};
use putby::garden::units::Mass;
use putby::garden::week::{DateRange, Week};
use putby::learning::record::{LoggedWeeks, WeekState, by_crop, by_planting, with_counted_bags};
use putby::learning::{compare, draws::WeeklyDraws, evidence, outcome};
use std::time::Instant;

fn picked(day: &str, crop: usize, planting: Option<usize>, kg: f64) -> Picked {
    Picked {
        date: date(day),
        whole_week: false,
        bed: None,
        crop: CropId(crop),
        planting: planting.map(PlantingId),
        mass: Mass::from_kg(kg),
        guess: false,
        went: Use::Waiting,
        note: None,
    }
}

fn states(weeks: &LoggedWeeks) -> String {
    weeks
        .weeks
        .iter()
        .map(|w| match w.state {
            WeekState::Picked => 'P',
            WeekState::Nothing => '0',
            WeekState::Unlogged => '?',
            WeekState::Away => 'a',
            WeekState::NotYet => '-',
        })
        .collect()
}

/// Weeks of one crop from Monday 6 July 2026 on.
fn weeks_of(garden: &Garden, crop: usize, until: &str) -> String {
    let rows = with_counted_bags(garden);
    let first = Week::of(date("2026-07-06"));
    let all = by_crop(garden, &rows, first, date(until));
    states(all.iter().find(|w| w.crop == CropId(crop)).unwrap())
}

#[test]
fn empty_weeks_are_nothing_only_if_the_bed_was_picked() {
    let mut g = garden();
    // Okra (bed B) in week 1; beets (bed B) in week 3; nothing at all in weeks 4 and 5; okra in week 6.
    g.record.picked = vec![
        picked("2026-07-08", OKRA, Some(3), 1.0),
        picked("2026-07-21", BEETS, Some(4), 2.0),
        picked("2026-08-12", OKRA, Some(3), 0.5),
    ];
    // Week 2: the bed was picked on the Tuesday after. Week 3: in the same week. Week 5: in the seven days after.
    assert_eq!(weeks_of(&g, OKRA, "2026-08-23"), "P00?0P?");
    // Beans stand in bed A, where nobody picked.
    assert_eq!(weeks_of(&g, BEANS, "2026-07-26"), "???");
    // A week that has not ended is left out.
    assert_eq!(weeks_of(&g, OKRA, "2026-08-22"), "P00?0P");
}

#[test]
fn the_seventh_day_after_counts_and_the_eighth_does_not() {
    for (day, want) in [("2026-07-19", "0P"), ("2026-07-20", "?0P")] {
        let mut g = garden();
        g.record.picked = vec![picked(day, BEETS, Some(4), 1.0)];
        let got = weeks_of(&g, OKRA, "2026-07-26");
        // The picking is of beets: for okra the weeks are empty.
        assert_eq!(&got[..1], &want[..1], "{day}");
    }
}

#[test]
fn a_crop_in_two_beds_is_known_when_both_were_seen_or_it_was_picked() {
    let mut g = garden();
    g.record.picked = vec![picked("2026-07-08", BEANS, Some(0), 1.0)];
    assert_eq!(weeks_of(&g, KALE, "2026-07-12"), "?");
    g.record
        .picked
        .push(picked("2026-07-09", ZUCCHINI, None, 1.0));
    assert_eq!(weeks_of(&g, KALE, "2026-07-12"), "0");
    g.record.picked = vec![picked("2026-07-14", KALE, None, 1.0)];
    assert_eq!(weeks_of(&g, KALE, "2026-07-19"), "0P");
}

#[test]
fn before_sowing_after_clearing_and_away() {
    let mut g = garden();
    g.plantings[3].sown = Some(date("2026-07-15"));
    g.plantings[3].cleared = Some(date("2026-07-27"));
    assert_eq!(weeks_of(&g, OKRA, "2026-08-09"), "-??00");
    g.household.away = vec![Away {
        days: DateRange {
            from: Some(date("2026-07-25")),
            until: Some(date("2026-08-02")),
        },
        neighbour_picks: false,
    }];
    assert_eq!(weeks_of(&g, OKRA, "2026-08-09"), "-?aa0");
    g.household.away[0].neighbour_picks = true;
    assert_eq!(weeks_of(&g, OKRA, "2026-08-09"), "-??00");
}

#[test]
fn whole_weeks_guesses_and_second_foods() {
    let mut g = garden();
    let mut row = picked("2026-07-06", BEET_GREENS, None, 0.5);
    row.whole_week = true;
    row.guess = true;
    g.record.picked = vec![row, picked("2026-07-09", BEET_GREENS, None, 0.25)];
    let rows = with_counted_bags(&g);
    let all = by_crop(&g, &rows, Week::of(date("2026-07-06")), date("2026-07-12"));
    let greens = all.iter().find(|w| w.crop == CropId(BEET_GREENS)).unwrap();
    assert_eq!(
        (greens.weeks[0].kg, greens.weeks[0].guessed_kg),
        (0.75, 0.5)
    );
    // The greens come from the beets' bed, so the beets were seen too.
    assert_eq!(weeks_of(&g, BEETS, "2026-07-12"), "0");
}

#[test]
fn rows_without_a_planting_leave_its_plantings_unknown() {
    let mut g = garden();
    g.record.picked = vec![
        picked("2026-07-07", ZUCCHINI, None, 1.0),
        picked("2026-07-14", ZUCCHINI, Some(5), 1.0),
    ];
    let first = Week::of(date("2026-07-06"));
    let all = by_planting(&g, &g.record.picked, first, date("2026-07-19"));
    assert_eq!(
        (states(&all[5]), states(&all[6])),
        ("?P".into(), "?0".into())
    );
}

#[test]
fn bags_put_by_count_when_nothing_was_weighed() {
    let mut g = garden();
    let put = |day: &str, product: usize, change: f64| StoreChange {
        date: date(day),
        product: ProductId(product),
        change,
        note: None,
    };
    g.record.picked = vec![picked("2026-07-08", OKRA, Some(3), 1.0)];
    g.record.stores = vec![
        put("2026-07-15", 2, 2.0),
        put("2026-07-16", 2, 2.0),
        put("2026-07-16", 4, 3.0),
    ];
    let rows = with_counted_bags(&g);
    let added: Vec<(usize, f64, bool)> = rows[1..]
        .iter()
        .map(|r| (r.crop.0, (r.mass.lb() * 1e6).round() / 1e6, r.guess))
        .collect();
    // The first bags are of the weighed okra; the second of okra eight days old; the mixture is half and half.
    assert_eq!(
        added,
        [
            (OKRA, 3.0, true),
            (KALE, 1.5, true),
            (BEET_GREENS, 1.5, true)
        ]
    );
    // Where the kale was weighed the bags are of kale: nothing is said of beet greens, of which there need be none.
    g.record.picked = vec![picked("2026-07-14", KALE, None, 2.0)];
    g.record.stores = vec![put("2026-07-16", 4, 3.0)];
    g.products[4].parts.iter_mut().for_each(|p| p.least = 0.0);
    assert_eq!(with_counted_bags(&g).len(), 1);
    // A recipe that must have them says that some were picked.
    let greens = g.products[4]
        .parts
        .iter_mut()
        .find(|p| p.crop.0 == BEET_GREENS);
    greens.unwrap().least = 0.3;
    let rows = with_counted_bags(&g);
    assert_eq!(
        rows[1..].iter().map(|r| r.crop.0).collect::<Vec<_>>(),
        [BEET_GREENS]
    );
    // Canned from frozen: the frozen bags were counted already.
    g.products[2].finish_as = Some("pickled okra".into());
    g.record.stores = vec![put("2026-12-01", 2, -2.0), put("2026-12-02", 3, 4.0)];
    assert_eq!(with_counted_bags(&g).len(), 1);
}

#[test]
fn how_plantings_went() {
    let mut g = garden();
    g.plantings
        .push(planting("B okra-2", 1, OKRA, "2026-06-01"));
    g.plantings[7].cleared = Some(date("2026-09-07"));
    g.plantings[0].cleared = Some(date("2026-09-07"));
    let ended = |day: &str, id| Event {
        date: date(day),
        what: Happening::Ended(PlantingId(id)),
    };
    g.record.events = vec![ended("2026-06-20", 1)];
    g.record.picked = vec![
        picked("2026-07-20", BEETS, Some(4), 1.0),
        picked("2026-07-24", OKRA, Some(3), 1.0),
        picked("2026-07-28", OKRA, Some(3), 1.0),
    ];
    for day in [
        "2026-08-04",
        "2026-08-11",
        "2026-08-18",
        "2026-08-25",
        "2026-09-01",
    ] {
        g.record.picked.push(picked(day, BEETS, Some(4), 1.0));
    }
    let all = outcome::plantings(&g, &g.record.picked, date("2026-10-04"));
    let first = all[3].first.unwrap();
    assert_eq!((first.date, first.sure), (date("2026-07-24"), true));
    assert!(!all[4].first.unwrap().sure);
    let gave: Vec<Option<bool>> = all.iter().map(|p| p.gave).collect();
    assert_eq!(
        gave,
        [
            // Beans: cleared, but nobody was seen at bed A.
            None,
            // Kale: ended before anything was picked.
            Some(false),
            None,
            Some(true),
            Some(true),
            None,
            None,
            // Okra-2: bed B was picked all along, and nothing came.
            Some(false),
        ]
    );
    assert_eq!((all[3].season, all[3].kg), (2026, 2.0));
    let failed: Vec<(usize, bool)> = evidence::of_failures(&g, &all)
        .iter()
        .map(|e| (e.crop.0, e.failed))
        .collect();
    assert_eq!(
        failed,
        [(KALE, true), (OKRA, false), (BEETS, false), (OKRA, true)]
    );
    // A row that does not say which okra leaves the second one open.
    g.record.picked.push(picked("2026-08-10", OKRA, None, 1.0));
    assert_eq!(
        outcome::plantings(&g, &g.record.picked, date("2026-10-04"))[7].gave,
        None
    );
}

/// 100,000 rows over twenty seasons, forty plantings and 10,000 draws of the last season.
#[test]
fn a_long_log_is_compared_quickly() {
    let mut g = garden();
    g.plantings = (2007..2027)
        .flat_map(|year| {
            [(BEANS, 0), (OKRA, 1)].map(|(crop, bed)| {
                let mut p = planting(
                    &format!("{year}-{crop}"),
                    bed,
                    crop,
                    &format!("{year}-05-04"),
                );
                p.cleared = Some(date(&format!("{year}-11-01")));
                p
            })
        })
        .collect();
    g.record.picked = (0..100_000_u32)
        .map(|i| {
            let year = 2007 + i % 20;
            let day = date(&format!("{year}-07-01")) + chrono::Days::new(u64::from(i / 20 % 120));
            let mut row = picked(
                "2026-07-01",
                if i % 3 == 0 { BEANS } else { OKRA },
                None,
                0.01,
            );
            row.date = day;
            row.bed = Some(BedId(usize::from(i % 3 != 0)));
            row
        })
        .collect();
    let monday = Week::of(date("2026-06-01"));
    let forecast: Vec<WeeklyDraws> = [BEANS, OKRA]
        .map(|crop| {
            let kg = (0..300_000_u32)
                .map(|i| (i * 7919 % 10_007) as f32 / 2e3)
                .collect();
            WeeklyDraws::new(CropId(crop), monday, 10_000, kg).unwrap()
        })
        .into();
    let start = Instant::now();
    let rows = with_counted_bags(&g);
    let until = date("2026-12-31");
    let logged = by_crop(&g, &rows, Week::of(date("2007-01-01")), until);
    let got = compare::compare(monday, &forecast, &logged, &[], 1);
    let went = outcome::plantings(&g, &rows, until);
    let took = start.elapsed();
    assert_eq!(went.len(), 40);
    assert!(got.overall.weeks > 40 && got.overall.skill_last_season.is_some());
    let kg: f64 = logged.iter().map(LoggedWeeks::total_kg).sum();
    assert!((kg - 1000.0).abs() < 1e-6, "{kg}");
    // Measured 0.3 s; the bound leaves room for a busy machine.
    assert!(took.as_secs_f64() < 1.0, "{took:?}");
}
