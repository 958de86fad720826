//! This week and the next, close up: what comes ready by planting, what is made by product, and on which days.
//!
//! Gathered beside the season's figures from the same draws, from the start of the kitchen to the end of next week.
//! Knows no rendering.

use super::context::Context;
use super::draw::KitchenDraw;
use super::forecast::Spread;
use super::overload::spread;
use crate::garden::planting::PlantingId;
use crate::garden::preserving::ProductId;
use crate::garden::week::Week;
use crate::season::draw::SeasonDraw;
use chrono::NaiveDate;

/// Weeks looked at.
pub const WEEKS: usize = 2;

/// Amounts of one food in one draw: what stands at the start, then what becomes ready in each week.
const AMOUNTS: usize = WEEKS + 1;

/// What one food of one planting has to give.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// The planting.
    pub planting: PlantingId,
    /// Whether it is the planting's second food.
    pub second: bool,
    /// What stands ready already, kg.
    pub stands: Spread,
    /// What becomes ready in each week, kg.
    pub ready: [Spread; WEEKS],
    /// Chance that there is anything to pick, 0–1.
    pub chance: f64,
}

/// What is made of one product.
#[derive(Debug, Clone, PartialEq)]
pub struct Make {
    /// The product.
    pub product: ProductId,
    /// Mean containers made in each week.
    pub containers: [f64; WEEKS],
    /// Mean garden weight in them, kg.
    pub kg: [f64; WEEKS],
}

/// One day on which the kitchen may be at work.
#[derive(Debug, Clone, PartialEq)]
pub struct KitchenDay {
    /// The day.
    pub date: NaiveDate,
    /// Chance that there is a session, 0–1.
    pub chance: f64,
    /// Mean length of a session where there is one, hours.
    pub hours: f64,
    /// Hours there are.
    pub open_hours: f64,
}

/// The two weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Fortnight {
    /// This week; the next one follows.
    pub week: Week,
    /// What there is to pick, in the order of the plantings.
    pub picks: Vec<Pick>,
    /// What is made, in the order of the kitchen's products.
    pub makes: Vec<Make>,
    /// Days with a session in any draw.
    pub days: Vec<KitchenDay>,
}

/// Draws of one chunk, gathered.
#[derive(Debug, Clone)]
pub struct Gathered {
    draws: usize,
    /// Amounts of each food in the draws that have any, kg; two foods a planting.
    foods: Vec<Vec<[f32; AMOUNTS]>>,
    /// Containers and kg by product and week.
    made: Vec<[(f64, f64); WEEKS]>,
    /// Sessions and minutes by day from the start.
    days: Vec<(f64, f64)>,
    /// Amounts of each food in the draw at hand.
    now: Vec<[f32; AMOUNTS]>,
    /// Foods with any amount in the draw at hand.
    touched: Vec<usize>,
}

/// Returns the place of a day among the two weeks, or none beyond them or before the start.
fn place(ctx: &Context, day: u16) -> Option<usize> {
    let cal = &ctx.calendar;
    if day < cal.start || day >= cal.days {
        return None;
    }
    let week = |day: u16| usize::from(cal.week_of[usize::from(day)]);
    Some(week(day) - week(cal.start)).filter(|w| *w < WEEKS)
}

impl Gathered {
    /// Makes an empty gathering.
    #[must_use]
    pub fn new(ctx: &Context) -> Self {
        let foods = ctx.plantings.len() * 2;
        Self {
            draws: 0,
            foods: vec![Vec::new(); foods],
            made: vec![[(0.0, 0.0); WEEKS]; ctx.products.len()],
            days: vec![(0.0, 0.0); WEEKS * 7],
            now: vec![[0.0; AMOUNTS]; foods],
            touched: Vec::new(),
        }
    }

    /// Adds one draw. Draws of a chunk are added in their order.
    pub fn add(&mut self, ctx: &Context, season: &SeasonDraw, draw: &KitchenDraw) {
        self.draws += 1;
        for stood in &draw.stood {
            self.put(stood.planting, stood.second, 0, stood.kg as f32);
        }
        let start = ctx.calendar.start;
        let from = season.ready.partition_point(|r| r.day < start);
        for ready in &season.ready[from..] {
            let Some(week) = place(ctx, ready.day) else {
                break;
            };
            self.put(ready.planting, ready.second, 1 + week, ready.kg);
        }
        for food in self.touched.drain(..) {
            self.foods[food].push(self.now[food]);
            self.now[food] = [0.0; AMOUNTS];
        }
        for session in &draw.sessions {
            if place(ctx, session.day).is_some() {
                let (sessions, minutes) = &mut self.days[usize::from(session.day - start)];
                *sessions += 1.0;
                *minutes += session.minutes;
            }
        }
        for task in &draw.tasks {
            let day = draw.sessions[usize::from(task.session)].day;
            if let Some(week) = place(ctx, day) {
                let (containers, kg) = &mut self.made[usize::from(task.product)][week];
                *containers += task.containers;
                *kg += task.kg;
            }
        }
    }

    fn put(&mut self, planting: u32, second: bool, at: usize, kg: f32) {
        if kg <= 0.0 {
            return;
        }
        let food = planting as usize * 2 + usize::from(second);
        if self.now[food] == [0.0; AMOUNTS] {
            self.touched.push(food);
        }
        self.now[food][at] += kg;
    }

    /// Appends a later chunk.
    fn append(&mut self, mut later: Self) {
        self.draws += later.draws;
        for (into, from) in self.foods.iter_mut().zip(&mut later.foods) {
            into.append(from);
        }
        for (into, from) in self.made.iter_mut().zip(&later.made) {
            for ((containers, kg), (c, k)) in into.iter_mut().zip(from) {
                *containers += c;
                *kg += k;
            }
        }
        for ((sessions, minutes), (s, m)) in self.days.iter_mut().zip(&later.days) {
            *sessions += s;
            *minutes += m;
        }
    }
}

/// Sums up chunks of draws, given in their order.
#[must_use]
pub fn sum_up(ctx: &Context, chunks: Vec<Gathered>) -> Fortnight {
    let mut chunks = chunks.into_iter();
    let mut all = chunks.next().unwrap_or_else(|| Gathered::new(ctx));
    for chunk in chunks {
        all.append(chunk);
    }
    let draws = all.draws.max(1) as f64;
    let cal = &ctx.calendar;
    let picks = all.foods.iter().enumerate();
    let makes = ctx.products.iter().zip(&all.made);
    let days = all.days.iter().enumerate();
    Fortnight {
        week: Week::of(cal.date(cal.start)),
        picks: picks
            .filter(|(_, amounts)| !amounts.is_empty())
            .map(|(food, amounts)| Pick {
                planting: PlantingId(food / 2),
                second: food % 2 == 1,
                stands: amount(amounts, 0, all.draws),
                ready: [1, 2].map(|at| amount(amounts, at, all.draws)),
                chance: amounts.len() as f64 / draws,
            })
            .collect(),
        makes: makes
            .filter(|(_, made)| made.iter().any(|(_, kg)| *kg > 0.0))
            .map(|(product, made)| Make {
                product: product.id,
                containers: made.map(|(containers, _)| containers / draws),
                kg: made.map(|(_, kg)| kg / draws),
            })
            .collect(),
        days: days
            .filter(|(_, (sessions, _))| *sessions > 0.0)
            .map(|(d, (sessions, minutes))| {
                let day = cal.start + d as u16;
                KitchenDay {
                    date: cal.date(day),
                    chance: sessions / draws,
                    hours: minutes / sessions / 60.0,
                    open_hours: cal.open_min[usize::from(day)] / 60.0,
                }
            })
            .collect(),
    }
}

/// Spread of one amount over all draws, those without any included.
fn amount(amounts: &[[f32; AMOUNTS]], at: usize, draws: usize) -> Spread {
    let mut values: Vec<f64> = amounts.iter().map(|a| f64::from(a[at])).collect();
    values.resize(draws.max(values.len()), 0.0);
    spread(&mut values)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::context::compile;
    use super::super::day_by_day::{Scratch, day_by_day};
    use super::super::fixture::{self, goal, monday, pickings, plant, ready};
    use super::*;
    use crate::garden::Garden;
    use crate::garden::units::Mass;
    use chrono::Days;

    fn lb(kg: f64) -> f64 {
        Mass::from_kg(kg).lb()
    }

    /// Lives through seasons on the third day of the horizon, a Wednesday.
    fn close_up(garden: &Garden, seasons: &[SeasonDraw]) -> Fortnight {
        let ctx = compile(garden, monday(), 56, monday() + Days::new(2));
        let mut scratch = Scratch::new(&ctx);
        let chunks = seasons
            .iter()
            .map(|season| {
                let mut gathered = Gathered::new(&ctx);
                let draw = day_by_day(&ctx, season, &mut scratch);
                gathered.add(&ctx, season, draw);
                gathered
            })
            .collect();
        sum_up(&ctx, chunks)
    }

    #[test]
    fn two_weeks_from_today_by_planting_product_and_day() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        let kale = plant(&mut g, "kale");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        // Beans on days 0, 3, … 18, four pounds each; kale stands since day 1. The second season has no kale.
        let mut all = pickings(beans, 0, 3, 7, 4.0);
        let second = fixture::season(&g, all.clone());
        all.push(ready(kale, 1, 3.0));
        let first = fixture::season(&g, all);
        let found = close_up(&g, &[first, second]);
        assert_eq!(found.week.monday(), monday());

        let pick = |p: u32| {
            let id = PlantingId(p as usize);
            found.picks.iter().find(|x| x.planting == id).unwrap()
        };
        // Day 0 is past; days 3 and 6 are left of this week, 9 and 12 lie in the next, 15 and 18 beyond.
        let b = pick(beans);
        assert!((lb(b.ready[0].p50) - 8.0).abs() < 1e-4, "{b:?}");
        assert!((lb(b.ready[1].p50) - 8.0).abs() < 1e-4);
        assert_eq!(b.stands.p90, 0.0);
        assert!((b.chance - 1.0).abs() < 1e-12);
        let k = pick(kale);
        assert!((lb(k.stands.mean) - 1.5).abs() < 1e-4, "{k:?}");
        assert!((k.chance - 0.5).abs() < 1e-12);
        assert_eq!(k.ready[0].mean, 0.0);

        // What the kitchen made is what its sessions made, day by day within what is open.
        assert_eq!(found.makes.len(), 1);
        assert_eq!(found.makes[0].product, fixture::FROZEN_BEANS);
        // Saturday can wait until next Wednesday: what was picked this week is put by in the next.
        assert!(found.makes[0].containers[1] > 4.0, "{:?}", found.makes);
        assert!(!found.days.is_empty());
        for day in &found.days {
            assert!(day.date >= monday() + Days::new(2) && day.date < monday() + Days::new(14));
            assert!(day.hours > 0.0 && day.open_hours > 0.0 && day.chance <= 1.0);
        }
    }

    /// What the two weeks hold agrees with what the whole season's figures say of them.
    #[test]
    fn the_close_up_agrees_with_the_season() {
        let mut g = fixture::garden();
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        let season = fixture::season(&g, pickings(beans, 2, 2, 9, 5.0));
        let ctx = compile(&g, monday(), 56, monday());
        let mut scratch = Scratch::new(&ctx);
        let mut all = super::super::accumulate::Accumulator::new(&ctx, 1);
        let mut gathered = Gathered::new(&ctx);
        let draw = day_by_day(&ctx, &season, &mut scratch);
        all.add(&ctx, draw);
        gathered.add(&ctx, &season, draw);
        let (close, far) = (
            sum_up(&ctx, vec![gathered]),
            super::super::overload::overload(&ctx, vec![all]),
        );
        for week in 0..WEEKS {
            let hours: f64 = close
                .days
                .iter()
                .filter(|d| Week::of(d.date) == far.weeks[week].week)
                .map(|d| d.hours * d.chance)
                .sum();
            assert!((hours - far.weeks[week].hours.mean).abs() < 1e-4);
            let kg: f64 = close.makes.iter().map(|m| m.kg[week]).sum();
            assert!((kg - far.weeks[week].kg_put_by).abs() < 1e-6);
        }
    }
}
