//! Checks of the way from a household to a planning problem and back, over random households.

#![allow(clippy::unwrap_used, reason = "tests")]
use super::super::card::card;
use super::super::dated::dated;
use super::super::solve::{Effort, plan};
use super::*;
use crate::garden::Garden;
use crate::garden::preserving::ProductId;
use crate::garden::units::{Minutes, Volume};
use crate::kitchen::checker;
use crate::kitchen::context::compile;
use crate::kitchen::day_by_day::{Scratch, day_by_day};
use crate::kitchen::fixture::{self, monday};
use crate::kitchen::minutes;
use proptest::prelude::*;

/// An effort that keeps a test short.
pub(crate) fn little() -> Effort {
    let mut effort = Effort::USUAL;
    effort.first.nodes = 60;
    effort.then[0].nodes = 60;
    effort.then[0].sweeps = 1;
    effort.then[1].sweeps = 1;
    effort.then[1].nodes = 30;
    effort.then[2].sweeps = 0;
    effort.bound_rounds = 0;
    effort
}

fn crossed(
    garden: &Garden,
    ready: Vec<crate::season::draw::Ready>,
    days: u16,
) -> (Context, Bridge) {
    let ctx = compile(garden, monday(), days, monday());
    let season = fixture::season(garden, ready);
    let mut scratch = Scratch::new(&ctx);
    let drawn = day_by_day(&ctx, &season, &mut scratch).clone();
    let lots = surplus(&ctx, &season, &drawn);
    let bridge = bridge(&ctx, &lots);
    (ctx, bridge)
}

/// Checks a plan three ways: the checker, its price, and each session's minutes by the kitchen's own rules.
fn stands(garden: &Garden, ctx: &Context, bridge: &Bridge) -> Result<(), TestCaseError> {
    let planned = plan(&bridge.instance, little());
    let report = checker::check(&bridge.instance, &planned.plan);
    prop_assert_eq!(&report.faults, &[]);
    prop_assert!((report.price - planned.price).abs() < 1e-3 * (1.0 + planned.price));
    prop_assert!(planned.price <= planned.greedy_price + 1e-6);
    for (session, clock) in report.clock_min.iter().enumerate() {
        let hands = bridge.instance.sessions[session].hands;
        // Planner and checker forgive a begun container or load a hair too much, each its own: so the minutes lie between
        // those of a little less and those of all of it.
        let [least, most] = [1e-3, 0.0].map(|hair| {
            let here = planned.plan.work.iter().filter(|w| w.session == session);
            let works: Vec<minutes::Work> = here
                .map(|w| {
                    let p = usize::from(bridge.products[w.product]);
                    let mut work = minutes::Work {
                        product: bridge.products[w.product],
                        ..minutes::Work::default()
                    };
                    for &(bucket, kg) in &w.takes {
                        let food = bridge.instance.buckets[bucket].food;
                        let parts = &ctx.products[p].parts;
                        let part = parts.iter().find(|x| usize::from(x.crop) == food);
                        work.add(kg * (1.0 - hair), part.unwrap().rates);
                    }
                    work.containers = minutes::containers_begun(work.kg, &ctx.rates[p]);
                    work
                })
                .collect();
            minutes::session(&ctx.rates, &works, hands, &mut []).minutes
        });
        prop_assert!(
            (least - 0.05..=most + 0.05).contains(clock),
            "{least} to {most} for {clock}"
        );
    }
    let back = bridge.back(&planned.plan);
    let sum = |takes: &[(usize, f64)]| -> f64 { takes.iter().map(|t| t.1).sum() };
    for (work, back) in planned.plan.work.iter().zip(&back) {
        prop_assert!((work.kg() - sum(&back.takes)).abs() < 1e-5);
        for &(lot, _) in &back.takes {
            let lot = &bridge.lots[lot];
            prop_assert!(lot.day <= i32::from(back.day) && i32::from(back.day) <= lot.last_day);
        }
    }
    let dated = dated(ctx, bridge, &back);
    let faults = checker::garden::check(garden, &dated, monday());
    prop_assert_eq!(&faults, &[]);
    for works in dated.chunk_by(|a, b| a.date == b.date) {
        let card = card(garden, works[0].date, works);
        prop_assert_eq!(checker::card::check(garden, &card), []);
        prop_assert!(card.length.min_value() <= card.open.min_value() + 0.1);
    }
    Ok(())
}

/// Crops with the products they may go to.
const CHOICES: [(&str, &[ProductId]); 7] = [
    (
        "snap bean",
        &[
            fixture::FROZEN_BEANS,
            fixture::CANNED_BEANS,
            fixture::DILLY_BEANS,
        ],
    ),
    ("okra", &[fixture::FROZEN_OKRA, fixture::DRIED_OKRA]),
    ("zucchini", &[fixture::GRATED_ZUCCHINI]),
    (
        "tomato",
        &[fixture::CANNED_TOMATOES, fixture::FROZEN_TOMATOES],
    ),
    ("collards", &[fixture::FROZEN_GREENS]),
    ("radish", &[fixture::RADISH_PICKLE, fixture::KRAUT_RADISH]),
    ("basil", &[fixture::PESTO]),
];

fn households() -> impl Strategy<Value = (Garden, Vec<crate::season::draw::Ready>)> {
    let sowing = (
        0..CHOICES.len(),
        0_u16..30,
        1_u16..5,
        1_u16..8,
        0.3_f64..9.0,
    );
    (
        proptest::collection::vec(sowing, 1..7),
        proptest::collection::vec(1_usize..8, CHOICES.len()),
        proptest::collection::vec(0.0_f64..40.0, CHOICES.len()),
        proptest::array::uniform7(prop_oneof![Just(0.0), Just(0.0), Just(1.5), Just(4.0)]),
        1_u8..3,
        proptest::option::of(3.0_f64..20.0),
    )
        .prop_map(|(sowings, masks, wanted, hours, hands, freezer)| {
            let mut garden = fixture::garden();
            let kitchen = &mut garden.household.kitchen;
            kitchen.minutes = hours.map(Minutes::from_hours);
            kitchen.hands = f64::from(hands);
            kitchen.freezer = freezer.map(Volume::from_ft3);
            for (choice, (mask, wanted)) in CHOICES.iter().zip(masks.iter().zip(wanted)) {
                let some = |(i, p): (usize, &ProductId)| (mask >> i & 1 == 1).then_some(*p);
                let products: Vec<_> = choice.1.iter().enumerate().filter_map(some).collect();
                if !products.is_empty() {
                    fixture::goal(&mut garden, &products, wanted.round());
                }
            }
            let mut ready = Vec::new();
            for (choice, first, every, times, lb) in sowings {
                let planting = fixture::plant(&mut garden, CHOICES[choice].0);
                ready.extend(fixture::pickings(planting, first, every, times, lb));
            }
            (garden, ready)
        })
}

/// How many made-up households: 100, or as many as the environment asks for.
fn cases() -> u32 {
    let asked = std::env::var("PUTBY_HOUSEHOLDS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(100)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 40, ..ProptestConfig::default() })]

    /// No plan of a made-up household fails the checker, and minutes are those of the kitchen's own rules.
    #[test]
    fn plans_of_made_up_households_stand((garden, ready) in households()) {
        let (ctx, bridge) = crossed(&garden, ready, 70);
        stands(&garden, &ctx, &bridge)?;
    }
}

#[test]
fn what_is_eaten_fresh_is_not_planned_for() {
    let mut garden = fixture::garden();
    let planting = fixture::plant(&mut garden, "snap bean");
    fixture::need(&mut garden, "snap bean", 1.4);
    fixture::goal(&mut garden, &[fixture::FROZEN_BEANS], 20.0);
    let (_, bridge) = crossed(&garden, fixture::pickings(planting, 0, 3, 4, 4.0), 28);
    let pounds: f64 = bridge.lots.iter().map(|l| l.kg / 0.453_592_37).sum();
    // Sixteen pounds come in; 0.2 lb a day is eaten for about two and a half weeks, as long as any is fit.
    assert!((12.0..=13.6).contains(&pounds), "{pounds}");
}

#[test]
fn no_hours_is_no_session_and_everything_is_lost() {
    let mut garden = fixture::garden();
    garden.household.kitchen.minutes = [Minutes::ZERO; 7];
    let planting = fixture::plant(&mut garden, "okra");
    fixture::goal(&mut garden, &[fixture::FROZEN_OKRA], 9.0);
    let (_, bridge) = crossed(&garden, fixture::pickings(planting, 0, 2, 5, 2.0), 28);
    let planned = plan(&bridge.instance, Effort::USUAL);
    assert!(planned.plan.work.is_empty() && planned.price > 0.0);
    assert_eq!(planned.bound, Some(planned.price));
}

#[test]
fn the_chosen_season_is_the_one_not_passed_by_its_share() {
    let minutes = [
        50.0, 10.0, 40.0, 20.0, 30.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0,
    ];
    assert_eq!(chosen_season(&minutes, 0.7), Some(7));
    assert_eq!(chosen_season(&minutes, 0.0), Some(1));
    assert_eq!(chosen_season(&minutes, 1.0), Some(10));
    assert_eq!(chosen_season(&[], 0.5), None);
}
