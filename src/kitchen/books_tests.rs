//! The books of random households living through random seasons. Tests only.

use super::context::compile;
use super::day_by_day::{Scratch, day_by_day};
use super::draw::{KitchenDraw, Went};
use super::fixture::{self, crop_id, goal, monday, plant};
use crate::garden::Garden;
use crate::garden::crop::{CropId, FoodGroup};
use crate::garden::household::{Away, Food, Need};
use crate::garden::preserving::ProductId;
use crate::garden::record::{Picked, Use};
use crate::garden::units::{Mass, Minutes, Volume};
use crate::garden::week::DateRange;
use crate::season::draw::{EndCause, Outcome, Ready, ReadyKind, SeasonDraw, Spoiled};
use chrono::Days;
use proptest::prelude::*;

const DAYS: u16 = 120;

#[derive(Debug, Clone)]
struct Case {
    plantings: Vec<usize>,
    ready: Vec<(u16, usize, bool, u8, f32)>,
    ends: Vec<(u16, u8)>,
    spoiled: Vec<(u16, usize)>,
    goals: Option<Vec<(usize, f64, Option<f64>)>>,
    needs: Vec<(usize, f64)>,
    minutes: Vec<f64>,
    away: Vec<(u64, u64, bool)>,
    waiting: Vec<(usize, u64, f64)>,
    equipment: (f64, f64, f64, Option<f64>, Option<f64>),
    hands: f64,
    as_of: u64,
}

prop_compose! {
    fn case()(
        plantings in prop::collection::vec(0_usize..12, 1..8),
        ready in prop::collection::vec((0..DAYS, 0_usize..8, any::<bool>(), 0_u8..6, 0.0_f32..6.0), 0..60),
        ends in prop::collection::vec((0..DAYS + 40, 0_u8..7), 8),
        spoiled in prop::collection::vec((0..DAYS, 0_usize..8), 0..3),
        goals in prop::option::of(prop::collection::vec((0_usize..14, 0.0_f64..30.0, prop::option::of(0.0_f64..2.0)), 0..9)),
        needs in prop::collection::vec((0_usize..19, 0.0_f64..5.0), 0..6),
        minutes in prop::collection::vec(0.0_f64..300.0, 7),
        away in prop::collection::vec((0_u64..130, 0_u64..20, any::<bool>()), 0..3),
        waiting in prop::collection::vec((0_usize..12, 0_u64..20, 0.1_f64..5.0), 0..4),
        equipment in (0.0_f64..4.0, 0.0_f64..6.0, 0.0_f64..3.0, prop::option::of(0.0_f64..10.0), prop::option::of(0.0_f64..40.0)),
        hands in 0.5_f64..3.0,
        as_of in prop_oneof![4 => Just(0_u64), 1 => 0_u64..140],
    ) -> Case {
        Case { plantings, ready, ends, spoiled, goals, needs, minutes, away, waiting, equipment, hands, as_of }
    }
}

fn household(case: &Case) -> Garden {
    let mut g = fixture::garden();
    for &c in &case.plantings {
        let name = g.crops[c].name.clone();
        plant(&mut g, &name);
    }
    g.household.goals = None;
    if let Some(goals) = &case.goals {
        g.household.goals = Some(Vec::new());
        for (k, &(p, n, eat)) in goals.iter().enumerate() {
            // Every third goal has an alternative.
            let other = ProductId((p + 3) % 14);
            let products = [ProductId(p), other];
            goal(&mut g, &products[..1 + usize::from(k % 3 == 0)], n);
            if let Some(goal) = g.household.goals.as_mut().and_then(|g| g.last_mut()) {
                goal.eat_per_week = eat;
            }
        }
    }
    g.household.needs = case
        .needs
        .iter()
        .map(|&(f, lb)| Need {
            food: if f < 12 {
                Food::Crop(CropId(f))
            } else {
                Food::Group(FoodGroup::NAMES[f - 12].1)
            },
            per_week: Mass::from_lb(lb),
            from: None,
            until: None,
        })
        .collect();
    let k = &mut g.household.kitchen;
    for (m, x) in k.minutes.iter_mut().zip(&case.minutes) {
        *m = Minutes::from_min(if *x < 120.0 { 0.0 } else { *x });
    }
    k.hands = case.hands;
    (k.trays, k.dryer_trays, k.crocks) = (case.equipment.0, case.equipment.1, case.equipment.2);
    k.freezer = case.equipment.3.map(Volume::from_ft3);
    g.household.on_hand.jars = case.equipment.4;
    g.household.on_hand.bags = case.equipment.4.map(|n| n * 0.7);
    for &(from, length, neighbour_picks) in &case.away {
        g.household.away.push(Away {
            days: DateRange {
                from: Some(monday() + Days::new(from)),
                until: Some(monday() + Days::new(from + length)),
            },
            neighbour_picks,
        });
    }
    let today = monday() + Days::new(case.as_of);
    for &(c, ago, kg) in &case.waiting {
        g.record.picked.push(Picked {
            date: today - Days::new(ago),
            whole_week: false,
            bed: None,
            crop: CropId(c),
            planting: None,
            mass: Mass::from_kg(kg),
            guess: false,
            went: Use::Waiting,
            note: None,
        });
    }
    g
}

fn season(case: &Case) -> SeasonDraw {
    let n = case.plantings.len();
    let outcomes: Vec<Outcome> = (0..n)
        .map(|p| Outcome {
            first: None,
            last: None,
            end: case.ends[p].0,
            cause: EndCause::ALL[usize::from(case.ends[p].1)],
            kg_possible: 0.0,
            kg_ready: 0.0,
            kg_lost: 0.0,
            kg_second: 0.0,
            kg_strip: 0.0,
        })
        .collect();
    let mut ready: Vec<Ready> = case
        .ready
        .iter()
        .filter(|r| r.1 < n && r.0 < case.ends[r.1].0)
        .map(|&(day, p, second, kind, kg)| Ready {
            day,
            planting: p as u32,
            second,
            kind: match kind {
                0..=2 => ReadyKind::Picking,
                3 => ReadyKind::Early,
                4 => ReadyKind::LastPicking,
                _ => ReadyKind::Strip,
            },
            kg,
        })
        .collect();
    ready.sort_by_key(|r| (r.day, r.planting, r.second));
    let mut spoiled: Vec<Spoiled> = case
        .spoiled
        .iter()
        .filter(|s| s.1 < n)
        .map(|&(day, p)| Spoiled {
            day,
            planting: p as u32,
        })
        .collect();
    spoiled.sort_by_key(|s| s.day);
    SeasonDraw {
        ready,
        outcomes,
        spoiled,
    }
}

fn sum(out: &KitchenDraw, went: Went) -> f64 {
    out.flows
        .iter()
        .filter(|f| f.went == went)
        .map(|f| f.kg)
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// What was ready and waiting is what was eaten, put by, given, wasted, lost or is still there; the flows say the
    /// same as the books; and no limit is passed.
    #[test]
    fn the_books_balance(case in case()) {
        let g = household(&case);
        let draw = season(&case);
        let ctx = compile(&g, monday(), DAYS, monday() + Days::new(case.as_of));
        let mut s = Scratch::new(&ctx);
        let out = day_by_day(&ctx, &draw, &mut s).clone();
        let b = out.books;
        prop_assert!(b.balance(), "{b:?}");
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * (1.0 + a.abs());
        if ctx.calendar.start < DAYS {
            let ready: f64 = draw.ready.iter().map(|r| f64::from(r.kg)).sum();
            prop_assert!(close(ready, b.ready), "{ready} {b:?}");
        }
        prop_assert!(close(sum(&out, Went::Fresh), b.fresh));
        prop_assert!(close(sum(&out, Went::PutBy), b.put_by));
        prop_assert!(close(sum(&out, Went::Given), b.given));
        prop_assert!(close(sum(&out, Went::Wasted), b.wasted));
        prop_assert!(close(sum(&out, Went::LostStanding), b.lost_standing));
        prop_assert!(close(sum(&out, Went::LostAway), b.lost_away));
        // Ready is picked, lost or stands; picked and waiting before is used or on hand.
        let picked = sum(&out, Went::Picked);
        prop_assert!(close(b.ready - b.past, picked + b.lost_standing + b.lost_away + b.standing), "{picked} {b:?}");
        prop_assert!(close(picked + b.waiting_before, b.fresh + b.put_by + b.given + b.wasted + b.on_hand));
        for f in &out.flows {
            prop_assert!(f.kg >= 0.0 && f.day >= ctx.calendar.start);
        }
        let parts: f64 = out.parts.iter().map(|p| p.kg).sum();
        prop_assert!(close(parts, b.put_by));
        for (g, goal) in ctx.goals.iter().enumerate() {
            let made: f64 = goal.products.iter().map(|p| out.made[usize::from(*p)]).sum();
            let most = if goal.in_rotation { made } else { goal.to_make.min(made) };
            prop_assert!(out.goal_made[g] <= most + 1e-6, "goal {g}");
        }
        for (p, product) in ctx.products.iter().enumerate() {
            if let Some(most) = product.rotation {
                let weeks = ctx.calendar.weeks.len();
                let stock = product.stock_now();
                prop_assert!(out.shelf[p * weeks..(p + 1) * weeks].iter().all(|n| f64::from(*n) <= most.max(stock) + 1e-3));
            }
        }
        for w in ctx.calendar.weeks.iter().enumerate().map(|(w, _)| w) {
            let eaten: f64 = out.flows.iter()
                .filter(|f| f.went == Went::Fresh && usize::from(ctx.calendar.week_of[usize::from(f.day)]) == w)
                .map(|f| f.kg).sum();
            prop_assert!(eaten <= ctx.ceiling_kg * (1.0 + 1e-9), "week {w}: {eaten}");
        }
        let tasks: f64 = out.tasks.iter().map(|t| t.minutes).sum();
        let sessions: f64 = out.sessions.iter().map(|t| t.minutes).sum();
        prop_assert!(close(tasks, sessions));
        for session in &out.sessions {
            prop_assert!(ctx.calendar.presence[usize::from(session.day)] == super::calendar::Presence::Home);
        }
        // A used scratch changes nothing.
        let again = day_by_day(&ctx, &draw, &mut s);
        prop_assert_eq!(format!("{:?}", again), format!("{:?}", out));
    }

    /// Nothing is put by after its last day, and a canner never runs for food that was picked after killing cold.
    #[test]
    fn deadlines_hold(case in case()) {
        let g = household(&case);
        let draw = season(&case);
        let ctx = compile(&g, monday(), DAYS, monday() + Days::new(case.as_of));
        let mut s = Scratch::new(&ctx);
        let out = day_by_day(&ctx, &draw, &mut s);
        // First in, first out: what was picked or waited up to a day but the last `last_days` must be gone by that day.
        for (c, crop) in ctx.crops.iter().enumerate() {
            let mut came: f64 = ctx.waiting.iter().filter(|l| usize::from(l.crop) == c).map(|l| l.kg).sum();
            let waited = came;
            let mut gone_by = vec![0.0; usize::from(DAYS) + 1];
            let mut came_by = vec![waited; usize::from(DAYS) + 1];
            for day in 0..usize::from(DAYS) {
                for f in out.flows.iter().filter(|f| usize::from(f.crop) == c && usize::from(f.day) == day) {
                    match f.went {
                        Went::Picked => came += f.kg,
                        Went::Fresh | Went::PutBy | Went::Given | Went::Wasted => gone_by[day] += f.kg,
                        Went::LostStanding | Went::LostAway => {}
                    }
                }
                came_by[day] = came;
                if day > 0 {
                    gone_by[day] += gone_by[day - 1];
                }
                let keeps = usize::from(crop.last_days);
                if day >= keeps && day >= keeps + usize::from(ctx.calendar.start) {
                    prop_assert!(gone_by[day] >= came_by[day - keeps] - 1e-6,
                        "{} on day {day}: {} of {}", crop.name, gone_by[day], came_by[day - keeps]);
                }
            }
        }
        prop_assert!(!ctx.products.iter().any(|p| p.id == fixture::CANNED_GREENS && g.site.altitude.is_none()));
    }
}

#[test]
fn refused_and_altitude_less_products_are_never_offered() {
    let mut g = fixture::garden();
    plant(&mut g, "snap bean");
    plant(&mut g, "zucchini");
    goal(&mut g, &[fixture::CANNED_BEANS], 7.0);
    let with = compile(&g, monday(), DAYS, monday());
    assert_eq!(with.products.len(), 1);
    g.site.altitude = None;
    let without = compile(&g, monday(), DAYS, monday());
    assert!(without.products.is_empty() && without.notes().iter().any(|n| n.contains("altitude")));
    // The household's own row for canned zucchini is refused whatever it says.
    g.site.altitude = Some(crate::garden::units::Length::from_ft(100.0));
    let beans = &mut g.products[fixture::CANNED_BEANS.0];
    beans.parts[0].crop = crop_id("zucchini");
    let refused = compile(&g, monday(), DAYS, monday());
    assert!(
        refused.products.is_empty() && refused.notes().iter().any(|n| n.contains("never made"))
    );
}
