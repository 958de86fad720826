//! Room for what comes: how much of what stands in the freezer has to be eaten by when, so that the season's food fits.
//!
//! Looks at seasons lived through as if the freezer had no end, since a full one turns food away before it can be seen
//! to be too small. What is eaten in the usual way is taken off already; what is named here comes on top of that. The
//! oldest goes first. Knows no recipe for using it up.

use super::accumulate::first_week;
use super::context::Context;
use super::draw::KitchenDraw;
use super::keeping::{self, Batch};
use super::overload::quantile;
use super::wanted::KitchenProduct;
use crate::garden::Garden;
use crate::garden::preserving::{ProductId, Store};
use chrono::{Days, NaiveDate};

/// Share of seasons in which all shall fit.
pub const FITS: f64 = 0.8;
/// Weeks that one day for eating looks ahead, so that the cook is given a date a month and not one a week.
const AHEAD: usize = 4;
/// Less room than this is a rest of rounding, litres.
const NOTHING_L: f64 = 0.05;
/// Less than this is no container.
const NOTHING: f64 = 1e-6;

/// Containers of one product that are to be eaten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eat {
    /// The product.
    pub product: ProductId,
    /// Day on which the oldest of them was made.
    pub made: NaiveDate,
    /// How many, beyond what is eaten in the usual way.
    pub containers: f64,
}

/// What is to be eaten by one day.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Last day for it.
    pub by: NaiveDate,
    /// The oldest first.
    pub eat: Vec<Eat>,
}

/// What makes room for the season's food.
#[derive(Debug, Clone, PartialEq)]
pub struct MakeRoom {
    /// Share of seasons in which not all finds room if nothing is done, 0–1.
    pub chance_full: f64,
    /// Days and what to eat by them, in order.
    pub steps: Vec<Step>,
    /// Room still missing in one season in five when all that is old is eaten, litres; zero if that is enough.
    pub missing_l: f64,
}

/// Draws of one chunk, gathered.
#[derive(Debug, Clone, Default)]
pub struct Gathered {
    draws: usize,
    /// Most room taken in each week, litres; draw by draw, weeks together.
    week_l: Vec<f32>,
    /// State of each product at the beginning of each week; sums over the draws, product by product, weeks together.
    shelf: Vec<State>,
}

/// Containers of one product at the beginning of a week.
#[derive(Debug, Clone, Copy, Default)]
struct State {
    /// On the shelf.
    there: f64,
    /// Of those that stand there today, still on the shelf.
    old: f64,
    /// Of those that stand there today, thrown out because their time had passed.
    thrown: f64,
}

impl Gathered {
    /// Makes an empty gathering.
    #[must_use]
    pub fn new(ctx: &Context) -> Self {
        Self {
            shelf: vec![State::default(); ctx.products.len() * ctx.calendar.weeks.len()],
            ..Self::default()
        }
    }

    /// Adds one draw. Draws of a chunk are added in their order.
    pub fn add(&mut self, ctx: &Context, draw: &KitchenDraw) {
        self.draws += 1;
        let weeks = ctx.calendar.weeks.len();
        let from = self.week_l.len();
        self.week_l.extend(&draw.freezer_week_l);
        let mut made = vec![0.0; self.shelf.len()];
        for task in &draw.tasks {
            let day = draw.sessions[usize::from(task.session)].day;
            let week = usize::from(ctx.calendar.week_of[usize::from(day)]);
            made[usize::from(task.product) * weeks + week] += task.containers;
        }
        let first = first_week(ctx);
        for (p, product) in ctx.products.iter().enumerate() {
            let stock = product.stock_now();
            let (mut there, mut old, mut thrown, mut made_so_far) = (stock, stock, 0.0, 0.0);
            for week in first..weeks {
                let at = p * weeks + week;
                let sum = &mut self.shelf[at];
                sum.there += there;
                sum.old += old;
                sum.thrown += thrown;
                made_so_far += made[at];
                there = f64::from(draw.shelf[at]);
                // The oldest is eaten first, so what is left beyond what was made is left of today's.
                let left = (there - made_so_far).clamp(0.0, old);
                // In a week in which a batch passes its time what goes is thrown out, but for one that may be eaten.
                if expires(ctx, product, week) {
                    thrown += old - left;
                }
                old = left;
            }
        }
        for week in 0..weeks {
            let end_l: f64 = (ctx.products.iter().enumerate())
                .filter(|(_, product)| product.store == Store::Freezer)
                .map(|(p, product)| f64::from(draw.shelf[p * weeks + week]) * product.room_l)
                .sum();
            let most = &mut self.week_l[from + week];
            *most = most.max(end_l as f32);
        }
    }

    /// Appends a later chunk.
    fn append(&mut self, mut later: Self) {
        self.draws += later.draws;
        self.week_l.append(&mut later.week_l);
        for (into, from) in self.shelf.iter_mut().zip(&later.shelf) {
            into.there += from.there;
            into.old += from.old;
            into.thrown += from.thrown;
        }
    }
}

/// Says whether something that stands there today passes its time in a week.
fn expires(ctx: &Context, product: &KitchenProduct, week: usize) -> bool {
    let monday = ctx.calendar.weeks[week].monday();
    product.stock.iter().any(|(made, _)| {
        let gone = *made + Days::new(u64::try_from(product.keeps_days).unwrap_or(0) + 1);
        (monday..=monday + Days::new(6)).contains(&gone)
    })
}

/// A batch that may be eaten to make room.
struct Candidate {
    batch: Batch,
    /// Its product in the kitchen; none for what is made no more.
    known: Option<usize>,
    /// Room of a container, litres.
    room_l: f64,
    /// Containers eaten on top so far.
    eaten: f64,
}

/// Sums up chunks of draws, given in their order; none if all fits in enough seasons.
///
/// `ctx` is the kitchen without an end to its freezer, `room_l` the room there is in truth for all that is frozen.
#[must_use]
pub fn sum_up(
    ctx: &Context,
    garden: &Garden,
    as_of: NaiveDate,
    room_l: f64,
    chunks: Vec<Gathered>,
) -> Option<MakeRoom> {
    let mut chunks = chunks.into_iter();
    let mut all = chunks.next()?;
    for chunk in chunks {
        all.append(chunk);
    }
    let room_l = room_l - ctx.equipment.freezer_other_l;
    let weeks = ctx.calendar.weeks.len();
    let draws = all.week_l.chunks_exact(weeks.max(1));
    let full = draws.filter(|week| week.iter().any(|l| f64::from(*l) > room_l + NOTHING_L));
    let chance_full = full.count() as f64 / all.draws.max(1) as f64;
    let first = first_week(ctx);
    let wanted_l: Vec<f64> = (0..weeks)
        .map(|week| {
            let mut of_week: Vec<f64> = (all.week_l.iter().skip(week).step_by(weeks))
                .map(|l| f64::from(*l))
                .collect();
            quantile(&mut of_week, FITS) - room_l
        })
        .collect();
    let mut candidates = candidates(ctx, garden, as_of);
    let mut made = MakeRoom {
        chance_full,
        steps: Vec::new(),
        missing_l: 0.0,
    };
    for week in first..weeks {
        if wanted_l[week] - gained_l(&all, &candidates, weeks, week) <= NOTHING_L {
            continue;
        }
        let until = weeks.min(week + AHEAD);
        // Only weeks in which what is eaten would not have been thrown out anyway.
        let lacks = |candidates: &[Candidate], c: usize| {
            (week..until)
                .filter(|w| helps(&all, candidates, c, weeks, *w))
                .map(|w| wanted_l[w] - gained_l(&all, candidates, weeks, w))
                .fold(0.0, f64::max)
        };
        let mut eat: Vec<Eat> = Vec::new();
        for c in 0..candidates.len() {
            let lack = lacks(&candidates, c);
            if lack <= NOTHING_L {
                continue;
            }
            let left = left(&all, &candidates, c, weeks, week);
            let one = &mut candidates[c];
            let take = (lack / one.room_l - NOTHING).ceil().min(left);
            if take <= NOTHING {
                continue;
            }
            one.eaten += take;
            match eat.iter_mut().find(|e| e.product == one.batch.product) {
                Some(e) => e.containers += take,
                None => eat.push(Eat {
                    product: one.batch.product,
                    made: one.batch.made,
                    containers: take,
                }),
            }
        }
        let still = wanted_l[week] - gained_l(&all, &candidates, weeks, week);
        made.missing_l = made.missing_l.max(still);
        if !eat.is_empty() {
            let by = ctx.calendar.weeks[week].monday() - Days::new(1);
            made.steps.push(Step {
                by: by.max(as_of),
                eat,
            });
        }
    }
    if made.missing_l <= NOTHING_L {
        made.missing_l = 0.0;
    }
    (!made.steps.is_empty() || made.missing_l > 0.0).then_some(made)
}

/// Returns what stands in the freezer today, the oldest first.
fn candidates(ctx: &Context, garden: &Garden, as_of: NaiveDate) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = keeping::in_store(garden, as_of)
        .into_iter()
        .filter(|b| b.store == Store::Freezer && b.litres > 0.0)
        .map(|batch| Candidate {
            known: ctx.products.iter().position(|p| p.id == batch.product),
            room_l: batch.litres / batch.containers,
            batch,
            eaten: 0.0,
        })
        .collect();
    candidates.sort_by_key(|c| (c.batch.made, c.batch.product));
    candidates
}

/// Containers of a candidate that would still be there at the end of a week and are not yet to be eaten.
fn left(all: &Gathered, candidates: &[Candidate], at: usize, weeks: usize, week: usize) -> f64 {
    let one = &candidates[at];
    let of_batch = one.batch.containers - one.eaten;
    let Some(p) = one.known else {
        return of_batch;
    };
    let old = all.shelf[p * weeks + week].old / all.draws.max(1) as f64;
    // Halves are counted in store, and no finer.
    of_batch.min(((old - eaten_of(candidates, p)) * 2.0 + NOTHING).floor() / 2.0)
}

/// Containers of a product to be eaten on top so far.
fn eaten_of(candidates: &[Candidate], product: usize) -> f64 {
    let of = candidates.iter().filter(|c| c.known == Some(product));
    of.map(|c| c.eaten).sum()
}

/// Says whether one more of a candidate makes room in a week: not while fewer are eaten than would have been thrown out.
fn helps(all: &Gathered, candidates: &[Candidate], at: usize, weeks: usize, week: usize) -> bool {
    candidates[at].known.is_none_or(|p| {
        let thrown = all.shelf[p * weeks + week].thrown / all.draws.max(1) as f64;
        eaten_of(candidates, p) >= thrown - NOTHING
    })
}

/// Room that has been gained by a week, litres: what would have been eaten or thrown out by then anyway gains nothing.
fn gained_l(all: &Gathered, candidates: &[Candidate], weeks: usize, week: usize) -> f64 {
    let mut gained = 0.0;
    for (at, one) in candidates.iter().enumerate() {
        let Some(p) = one.known else {
            gained += one.eaten * one.room_l;
            continue;
        };
        let before = candidates[..at].iter().any(|c| c.known == Some(p));
        if before {
            continue;
        }
        let state = &all.shelf[p * weeks + week];
        let mean = |sum: f64| sum / all.draws.max(1) as f64;
        let more = (eaten_of(candidates, p) - mean(state.thrown)).max(0.0);
        gained += more.min(mean(state.there)) * one.room_l;
    }
    gained
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::context::compile;
    use super::super::day_by_day::{Scratch, day_by_day};
    use super::super::fixture::{self, goal, monday, pickings, plant};
    use super::*;
    use crate::garden::record::StoreChange;
    use crate::garden::units::Volume;
    use crate::season::draw::SeasonDraw;

    fn put(g: &mut Garden, date: &str, product: ProductId, change: f64) {
        g.record.stores.push(StoreChange {
            date: date.parse().unwrap(),
            product,
            change,
            note: None,
        });
    }

    /// Lives through one season without an end to the freezer and asks for room in one of so many bags of beans.
    fn asked(g: &Garden, season: &SeasonDraw, bags: f64) -> (Option<MakeRoom>, f64) {
        let ctx = compile(g, monday(), 56, monday());
        let mut scratch = Scratch::new(&ctx);
        let draw = day_by_day(&ctx, season, &mut scratch);
        let mut gathered = Gathered::new(&ctx);
        gathered.add(&ctx, draw);
        let room_l = ctx.products[0].room_l;
        let found = sum_up(&ctx, g, monday(), bags * room_l, vec![gathered]);
        (found, draw.made[0])
    }

    /// Five pounds of beans each Tuesday for four weeks, a pound to the bag, put by on Saturdays, and 8 bags of last year's in the
    /// freezer: 13 bags after the Saturday of the first week, then 18, 23 and 28.
    fn small(eat_per_week: f64) -> (Garden, SeasonDraw) {
        let mut g = fixture::garden();
        g.products[fixture::FROZEN_BEANS.0].mass_per_container =
            crate::garden::units::Mass::from_lb(1.0);
        let beans = plant(&mut g, "snap bean");
        goal(&mut g, &[fixture::FROZEN_BEANS], 100.0);
        g.household.goals.as_mut().unwrap()[0].eat_per_week = Some(eat_per_week);
        put(&mut g, "2025-07-01", fixture::FROZEN_BEANS, 5.0);
        put(&mut g, "2025-08-01", fixture::FROZEN_BEANS, 3.0);
        let season = fixture::season(&g, pickings(beans, 1, 7, 4, 5.0));
        (g, season)
    }

    #[test]
    fn bags_to_eat_are_those_worked_out_by_hand() {
        let (g, season) = small(0.0);
        for (holds, want, missing) in [
            // 8 + 4 × 5 = 28 bags in the end: nothing to do where 28 fit.
            (28.0, vec![], 0.0),
            // 26 fit until the fourth Saturday, 27 June; two of the oldest by the Sunday before that week.
            (26.0, vec![("2026-06-21", 2.0)], 0.0),
            // The first Saturday's five fit, then there are 18, 23 and 28: all is seen from the first date on.
            (22.0, vec![("2026-06-14", 6.0)], 0.0),
            (20.0, vec![("2026-06-14", 8.0)], 0.0),
            (17.0, vec![("2026-06-07", 8.0)], 3.0),
        ] {
            let (found, made) = asked(&g, &season, holds);
            assert!((made - 20.0).abs() < 1e-4, "{made}");
            let steps: Vec<(String, f64)> = (found.iter().flat_map(|f| &f.steps))
                .map(|s| {
                    assert_eq!(s.eat[0].made.to_string(), "2025-07-01");
                    assert_eq!(s.eat.len(), 1);
                    (s.by.to_string(), s.eat[0].containers)
                })
                .collect();
            let want: Vec<(String, f64)> =
                want.into_iter().map(|(d, n)| (d.to_owned(), n)).collect();
            assert_eq!(steps, want, "room for {holds}");
            let ctx = compile(&g, monday(), 56, monday());
            let bags = found.map_or(0.0, |f| f.missing_l) / ctx.products[0].room_l;
            assert!((bags - missing).abs() < 0.01, "room for {holds}: {bags}");
        }
    }

    /// What is thrown out soon makes room by itself: eight bags of 10 June 2025 are gone after 14 June.
    #[test]
    fn what_is_thrown_out_anyway_makes_no_room() {
        let (mut g, season) = small(0.0);
        g.record.stores.clear();
        put(&mut g, "2025-06-10", fixture::FROZEN_BEANS, 8.0);
        g.products[fixture::FROZEN_BEANS.0].last_months = 12.0;
        // 13 and 18 bags on the first Saturdays, then 15 and 20.
        assert_eq!(asked(&g, &season, 20.0).0, None);
        let found = asked(&g, &season, 17.0).0.unwrap();
        assert_eq!(found.steps.len(), 1);
        assert_eq!(found.steps[0].by.to_string(), "2026-06-07");
        assert_eq!(found.steps[0].eat[0].containers, 1.0);
        let room_l = compile(&g, monday(), 56, monday()).products[0].room_l;
        assert!((found.missing_l / room_l - 3.0).abs() < 0.01, "{found:?}");
    }

    /// What is eaten has made room: the same season with a real freezer turns nothing away.
    #[test]
    fn with_it_eaten_all_fits() {
        let (mut g, season) = small(0.0);
        let room_l = compile(&g, monday(), 56, monday()).products[0].room_l;
        g.household.kitchen.freezer_free = Some(Volume::from_l(22.0 * room_l + 1e-3));
        let live = |g: &Garden| {
            let ctx = compile(g, monday(), 56, monday());
            let mut scratch = Scratch::new(&ctx);
            day_by_day(&ctx, &season, &mut scratch).made[0]
        };
        assert!((live(&g) - 14.0).abs() < 0.01, "{}", live(&g));
        put(&mut g, "2026-05-30", fixture::FROZEN_BEANS, -6.0);
        assert!((live(&g) - 20.0).abs() < 0.01, "{}", live(&g));
    }

    /// What nobody plans to make again is eaten too, and the older goes first whatever it is.
    #[test]
    fn the_oldest_goes_first_whatever_it_is() {
        let (mut g, season) = small(0.0);
        put(&mut g, "2025-06-01", fixture::FROZEN_GREENS, 1.0);
        let ctx = compile(&g, monday(), 56, monday());
        let other = ctx.equipment.freezer_other_l / ctx.products[0].room_l;
        // Room for 25 bags and for the greens that are there, where 28 will come: their bag takes as much as two.
        let (found, _) = asked(&g, &season, 25.0 + other);
        let step = &found.unwrap().steps[0];
        assert_eq!(step.eat[0].product, fixture::FROZEN_GREENS);
        let beans = (3.0 - other).ceil();
        let rest: Vec<(ProductId, f64)> = (step.eat[1..].iter())
            .map(|e| (e.product, e.containers))
            .collect();
        assert_eq!(rest, [(fixture::FROZEN_BEANS, beans)], "{other}");
    }
}
