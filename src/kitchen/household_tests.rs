//! Whole households lived through many drawn seasons: what a cook would expect of the figures, and the books.
//!
//! Tests only. The gardens are invented.

use super::accumulate::Accumulator;
use super::context::{Context, compile};
use super::day_by_day::{Scratch, day_by_day};
use super::fixture::{self, goal, monday, need, plant};
use super::forecast::KitchenForecast;
use super::overload::overload;
use crate::garden::Garden;
use crate::garden::household::Away;
use crate::garden::units::{Mass, Minutes, Temperature};
use crate::garden::week::DateRange;
use crate::season::draw::{EndCause, Outcome, Ready, ReadyKind, SeasonDraw};
use chrono::Days;
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

const DAYS: u16 = 210;

/// A number in 0–1 from a stream.
fn uniform(rng: &mut Pcg64Mcg) -> f64 {
    (rng.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// How one planting of the drawn seasons gives: first day, days between pickings, pickings, pounds a picking.
type Pattern = (u16, u16, u16, f64);

/// Draws a season: each planting's amounts up or down together, its start earlier or later, cold in the fall.
fn draw(garden: &Garden, patterns: &[Pattern], rng: &mut Pcg64Mcg) -> SeasonDraw {
    let frost = 150 + (uniform(rng) * 30.0) as u16;
    let mut ready = Vec::new();
    let mut outcomes = Vec::new();
    for (p, &(first, every, times, lb)) in patterns.iter().enumerate() {
        let factor = 0.5 + uniform(rng);
        let late = (uniform(rng) * 10.0) as u16;
        let hardy = garden.crop(garden.plantings[p].crop).harvest.holds_days > 5.0;
        let end = if hardy { frost + 20 } else { frost };
        let before = ready.len();
        for i in 0..times {
            let day = first + late + i * every;
            if day < end {
                ready.push(Ready {
                    day,
                    planting: p as u32,
                    second: false,
                    kind: ReadyKind::Picking,
                    kg: Mass::from_lb(lb * factor).kg() as f32,
                });
            }
        }
        let finished = first + late + times * every < end;
        if !finished {
            ready.push(Ready {
                day: end - 1,
                planting: p as u32,
                second: false,
                kind: ReadyKind::LastPicking,
                kg: Mass::from_lb(lb * factor * 0.5).kg() as f32,
            });
        }
        outcomes.push(Outcome {
            first: (ready.len() > before).then_some(first),
            last: None,
            end,
            cause: EndCause::Cold,
            kg_possible: 0.0,
            kg_ready: 0.0,
            kg_lost: 0.0,
            kg_second: 0.0,
            kg_strip: 0.0,
        });
    }
    ready.sort_by_key(|r| (r.day, r.planting));
    SeasonDraw {
        ready,
        outcomes,
        spoiled: Vec::new(),
    }
}

fn forecast_with(
    garden: &Garden,
    patterns: &[Pattern],
    draws: u64,
    chunk: u64,
) -> (Context, KitchenForecast) {
    let ctx = compile(garden, monday(), DAYS, monday());
    let mut scratch = Scratch::new(&ctx);
    let mut chunks = Vec::new();
    for begin in (0..draws).step_by(chunk as usize) {
        let mut acc = Accumulator::new(&ctx, chunk as usize);
        for k in begin..(begin + chunk).min(draws) {
            let mut rng =
                Pcg64Mcg::new(0x5eed_0000_0000_0000_0000_0000_0000_0001 + u128::from(k) * 2);
            let season = draw(garden, patterns, &mut rng);
            acc.add(&ctx, day_by_day(&ctx, &season, &mut scratch));
        }
        chunks.push(acc);
    }
    let forecast = overload(&ctx, chunks);
    assert_eq!(forecast.books_off, 0);
    (ctx, forecast)
}

fn forecast(garden: &Garden, patterns: &[Pattern]) -> KitchenForecast {
    forecast_with(garden, patterns, 200, 50).1
}

/// A garden with a summer glut: two of beans, okra, zucchini, basil and kale; collards for the fall.
fn glut() -> (Garden, Vec<Pattern>) {
    let mut g = fixture::garden();
    for crop in [
        "snap bean",
        "snap bean",
        "okra",
        "zucchini",
        "basil",
        "kale",
        "collards",
        "carrot",
    ] {
        plant(&mut g, crop);
    }
    for (crop, lb) in [
        ("snap bean", 2.0),
        ("okra", 1.0),
        ("zucchini", 2.0),
        ("kale", 1.0),
        ("carrot", 1.5),
    ] {
        need(&mut g, crop, lb);
    }
    for (product, n) in [
        (fixture::FROZEN_BEANS, 100.0),
        (fixture::FROZEN_OKRA, 40.0),
        (fixture::PESTO, 20.0),
        (fixture::GRATED_ZUCCHINI, 10.0),
        (fixture::FROZEN_GREENS, 40.0),
    ] {
        goal(&mut g, &[product], n);
    }
    let patterns = vec![
        (30, 3, 12, 9.0),
        (50, 3, 12, 9.0),
        (40, 2, 50, 2.5),
        (25, 2, 30, 3.0),
        (35, 7, 12, 1.5),
        (20, 7, 20, 3.0),
        (90, 7, 14, 6.0),
        (80, 1, 1, 30.0),
    ];
    (g, patterns)
}

fn hours(f: &KitchenForecast) -> f64 {
    f.season.hours.mean
}

fn over(f: &KitchenForecast) -> f64 {
    f.weeks.iter().map(|w| w.mean_hours_over).sum()
}

#[test]
fn the_forecast_is_in_order_and_adds_up() {
    let (mut g, patterns) = glut();
    // Tender, so that what stands on the eve of cold makes a frost week.
    for crop in &mut g.crops {
        crop.ends.killed_below = Some(Temperature::from_f(32.0));
    }
    let (_, f) = forecast_with(&g, &patterns, 200, 50);
    for w in &f.weeks {
        assert!(w.hours.p10 <= w.hours.p50 && w.hours.p50 <= w.hours.p90);
        assert!((0.0..=1.0).contains(&w.chance_over));
        assert_eq!(w.chance_over > 0.0, w.mean_hours_over > 0.0);
        assert_eq!(w.chance_over > 0.0, !w.drivers.is_empty());
        if !w.drivers.is_empty() {
            assert!((w.drivers.iter().map(|d| d.share).sum::<f64>() - 1.0).abs() < 1e-9);
        }
    }
    let by_week: f64 = f.weeks.iter().map(|w| w.hours.mean).sum();
    assert!((by_week - hours(&f)).abs() < 1e-3 * by_week);
    let by_product: f64 = f.products.iter().map(|p| p.hours).sum();
    assert!((by_product - hours(&f)).abs() < 1e-3 * by_week);
    let put_by: f64 = f.weeks.iter().map(|w| w.kg_put_by).sum();
    let by_crop: f64 = f.crops.iter().map(|c| c.kg[2]).sum();
    assert!((put_by - by_crop).abs() < 1e-9 * put_by);
    let by_crop_week: f64 = f.crop_weeks.iter().map(|c| c.kg[2]).sum();
    assert!((put_by - by_crop_week).abs() < 1e-9 * put_by);
    let frost = f
        .season
        .frost
        .as_ref()
        .expect("most draws have their frost");
    assert!(frost.chance > 0.5 && frost.from < frost.until);
}

#[test]
fn chunks_change_nothing_and_neither_does_a_used_scratch() {
    let (g, patterns) = glut();
    let (_, one) = forecast_with(&g, &patterns, 60, 60);
    let (_, many) = forecast_with(&g, &patterns, 60, 7);
    assert_eq!(one.weeks.len(), many.weeks.len());
    for (a, b) in one.weeks.iter().zip(&many.weeks) {
        assert_eq!(
            (a.hours.p10, a.hours.p50, a.hours.p90),
            (b.hours.p10, b.hours.p50, b.hours.p90)
        );
        assert!((a.hours.mean - b.hours.mean).abs() < 1e-9 * (1.0 + a.hours.mean));
    }
    // The same chunks give the same bits.
    assert_eq!(
        format!("{many:?}"),
        format!("{:?}", forecast_with(&g, &patterns, 60, 7).1)
    );
}

/// A beans-and-okra garden: beans every three days, okra every two, the kitchen open Wednesday and Saturday.
#[test]
fn beans_and_okra_need_two_sessions_in_most_summer_weeks() {
    let mut g = fixture::garden();
    for crop in ["snap bean", "okra"] {
        plant(&mut g, crop);
        need(&mut g, crop, 1.0);
    }
    goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
    goal(&mut g, &[fixture::FROZEN_OKRA], 100.0);
    let f = forecast(&g, &[(20, 3, 30, 3.0), (30, 2, 45, 2.0)]);
    let summer = &f.weeks[6..16];
    let two = summer.iter().filter(|w| w.sessions >= 1.5).count();
    assert!(
        two > summer.len() / 2,
        "{:?}",
        summer.iter().map(|w| w.sessions).collect::<Vec<_>>()
    );
}

#[test]
fn overloaded_weeks_stay_so_when_all_that_can_stand_is_left_standing() {
    let (mut g, patterns) = glut();
    let f = forecast(&g, &patterns);
    // Kale, collards and carrots left in the bed: their goal gone, nothing of them comes into the kitchen before frost.
    g.household
        .goals
        .as_mut()
        .expect("goals")
        .retain(|x| x.products != [fixture::FROZEN_GREENS]);
    let standing = forecast(&g, &patterns);
    let mut overloaded = 0;
    for (a, b) in f.weeks.iter().zip(&standing.weeks).take(20) {
        if a.chance_over > 0.3 {
            overloaded += 1;
            assert!(
                b.chance_over > 0.8 * a.chance_over,
                "{}: {} then {}",
                a.week,
                a.chance_over,
                b.chance_over
            );
        }
    }
    assert!(overloaded >= 2, "{overloaded}");
}

#[test]
fn a_second_cook_an_extra_session_and_a_week_away_move_the_hours() {
    let (g, patterns) = glut();
    let base = forecast(&g, &patterns);
    assert!(
        base.season.chance_any_over > 0.5,
        "{}",
        base.season.chance_any_over
    );

    let mut two = g.clone();
    two.household.kitchen.hands = 2.0;
    let two = forecast(&two, &patterns);
    assert!(
        over(&two) < 0.7 * over(&base),
        "{} {}",
        over(&two),
        over(&base)
    );

    let mut longer = g.clone();
    longer.household.kitchen.minutes[0] = Minutes::from_hours(2.0);
    let longer = forecast(&longer, &patterns);
    assert!(over(&longer) < over(&base));

    // A single extra session in the worst week helps that week.
    let worst = base
        .weeks
        .iter()
        .max_by(|a, b| a.mean_hours_over.total_cmp(&b.mean_hours_over))
        .expect("weeks");
    let mut extra = g.clone();
    extra.household.kitchen.extra =
        vec![(worst.week.monday() + Days::new(6), Minutes::from_hours(3.0))];
    let extra = forecast(&extra, &patterns);
    let same = extra
        .weeks
        .iter()
        .find(|w| w.week == worst.week)
        .expect("the same week");
    assert!(same.capacity_hours > worst.capacity_hours + 2.9);
    assert!(same.mean_hours_over < worst.mean_hours_over);

    // Closed, the same week has no hours, and its work presses on the days before and after or counts as too much.
    let mut closed = g.clone();
    closed.household.kitchen.closed = vec![DateRange {
        from: Some(worst.week.monday()),
        until: Some(worst.week.sunday()),
    }];
    let closed = forecast(&closed, &patterns);
    assert!(over(&closed) > over(&base));

    let mut away = g.clone();
    away.household.away = vec![Away {
        days: DateRange {
            from: Some(worst.week.monday()),
            until: Some(worst.week.sunday()),
        },
        neighbour_picks: false,
    }];
    let away = forecast(&away, &patterns);
    let gone = away
        .weeks
        .iter()
        .find(|w| w.week == worst.week)
        .expect("the same week");
    assert_eq!(gone.hours.mean, 0.0);
    assert!(gone.kg_lost > 1.0 && hours(&away) < hours(&base));
}

#[test]
fn picking_counts_only_when_the_household_says_so() {
    let (mut g, patterns) = glut();
    let without = forecast(&g, &patterns);
    g.household.kitchen.count_picking = true;
    let with = forecast(&g, &patterns);
    let picking: f64 = without.weeks.iter().map(|w| w.picking_hours).sum();
    assert!(picking > 1.0);
    assert!(
        hours(&with) > hours(&without) + 0.8 * picking,
        "{} {} {picking}",
        hours(&with),
        hours(&without)
    );
    assert!(
        with.weeks
            .iter()
            .any(|w| w.drivers.iter().any(|d| d.name == "picking"))
    );
}

#[test]
fn more_hours_never_mean_less_put_by() {
    let (mut g, patterns) = glut();
    let base = forecast(&g, &patterns);
    g.household.kitchen.minutes = [3.0; 7].map(Minutes::from_hours);
    let open = forecast(&g, &patterns);
    let put_by = |f: &KitchenForecast| f.weeks.iter().map(|w| w.kg_put_by).sum::<f64>();
    assert!(
        put_by(&open) > 0.95 * put_by(&base),
        "{} {}",
        put_by(&open),
        put_by(&base)
    );
}
