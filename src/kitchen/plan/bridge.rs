//! From the kitchen's context and one season to a planning problem, and back to dates, crops and products.
//!
//! Food comes from what is waiting and what the season gives, less what is eaten fresh as the kitchen lived through that
//! season. Prices are judgement, no source: they are what a household would give, in minutes, to avoid the thing.

use super::instance::{
    Appliance, Bucket, Container, Group, Instance, Part, Plan, Prices, Product, Session,
};
use super::limits;
use crate::garden::preserving::Appliance as Vessels;
use crate::kitchen::calendar::Presence;
use crate::kitchen::context::Context;
use crate::kitchen::draw::{KitchenDraw, Went};
use crate::kitchen::minutes::KITCHEN_SETUP_MIN;
use crate::season::draw::{ReadyKind, SeasonDraw};

/// What avoiding the thing is worth, in minutes (judgement, no source).
pub const PRICES: Prices = Prices {
    session: 30.0,
    setup_min: 1.0,
    overtime_min: 1.5,
    stale_kg_day: 0.5,
};
/// Minutes that a kilogram put by towards the household's first goal is worth (judgement, no source).
pub const FIRST_GOAL_KG: f64 = 45.0;
/// Minutes that a kilogram put by towards its last goal is worth (judgement, no source).
pub const LAST_GOAL_KG: f64 = 30.0;
/// Minutes by which each alternative of a goal is less wanted than the one before, a kilogram (judgement, no source).
pub const ALTERNATIVE_KG: f64 = 2.0;
/// Place of pot and canner among the appliances of a problem.
const POT: usize = 0;
const CANNER: usize = 1;

/// Food for the sessions: one crop of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurplusLot {
    /// Crop, as an index into the kitchen's crops.
    pub crop: u16,
    /// Day it was or will be picked, counted from the first day of the horizon.
    pub day: i32,
    /// Last day on which it is fit.
    pub last_day: i32,
    /// Amount, kg.
    pub kg: f64,
    /// Whether it must not be canned.
    pub not_canned: bool,
}

/// A planning problem with the way back.
#[derive(Debug, Clone)]
pub struct Bridge {
    /// The problem, food alike merged.
    pub instance: Instance,
    /// Food that some product can take, the oldest first.
    pub lots: Vec<SurplusLot>,
    /// The lots of each bucket, the oldest first.
    pub members: Vec<Vec<usize>>,
    /// Kitchen product of each product.
    pub products: Vec<u16>,
}

/// One product in one session, in the kitchen's terms.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedWork {
    /// Day, counted from the first day of the horizon.
    pub day: u16,
    /// Product, as an index into the kitchen's products.
    pub product: u16,
    /// Lots taken, as indices into the bridge's lots, with amounts, kg.
    pub takes: Vec<(usize, f64)>,
}

/// Finds what a season leaves for the sessions: what comes in and what waits, less what is eaten, the oldest eaten first.
#[must_use]
pub fn surplus(ctx: &Context, season: &SeasonDraw, drawn: &KitchenDraw) -> Vec<SurplusLot> {
    let mut lots: Vec<Vec<SurplusLot>> = vec![Vec::new(); ctx.crops.len()];
    for lot in &ctx.waiting {
        lots[usize::from(lot.crop)].push(SurplusLot {
            crop: lot.crop,
            day: lot.picked,
            last_day: i32::from(lot.last),
            kg: lot.kg,
            not_canned: false,
        });
    }
    // From the eve on which a crop is stripped nothing of it is canned any more.
    let mut stripped = vec![i32::MAX; ctx.crops.len()];
    for ready in &season.ready {
        if ready.kind == ReadyKind::Strip {
            let planting = &ctx.plantings[ready.planting as usize];
            let crop = if ready.second {
                planting.second
            } else {
                planting.main
            };
            let day = &mut stripped[usize::from(crop)];
            *day = (*day).min(i32::from(ready.day));
        }
    }
    for flow in &drawn.flows {
        let crop = usize::from(flow.crop);
        let away = ctx.calendar.presence[usize::from(flow.day)] != Presence::Home;
        let day = i32::from(flow.day);
        match flow.went {
            Went::Picked => match lots[crop].last_mut().filter(|lot| lot.day == day) {
                Some(lot) => lot.kg += flow.kg,
                None => lots[crop].push(SurplusLot {
                    crop: flow.crop,
                    day,
                    last_day: day + i32::from(ctx.crops[crop].last_days),
                    kg: flow.kg,
                    not_canned: day >= stripped[crop],
                }),
            },
            Went::Fresh => take_oldest(&mut lots[crop], day, flow.kg),
            Went::Given | Went::Wasted if away => take_oldest(&mut lots[crop], day, flow.kg),
            _ => {}
        }
    }
    let mut all: Vec<SurplusLot> = lots.into_iter().flatten().filter(|l| l.kg > 1e-3).collect();
    all.sort_by_key(|lot| (lot.day, lot.crop));
    all
}

fn take_oldest(lots: &mut [SurplusLot], day: i32, mut kg: f64) {
    for lot in lots.iter_mut().filter(|lot| lot.last_day >= day) {
        let taken = lot.kg.min(kg);
        lot.kg -= taken;
        kg -= taken;
    }
}

/// Makes the planning problem of a context and its food.
#[must_use]
pub fn bridge(ctx: &Context, lots: &[SurplusLot]) -> Bridge {
    let calendar = &ctx.calendar;
    let mut instance = Instance {
        prices: PRICES,
        kitchen_min: KITCHEN_SETUP_MIN,
        appliances: 2,
        ..Instance::default()
    };
    for day in calendar.start..calendar.days {
        let at = usize::from(day);
        if calendar.open_min[at] > 0.0 {
            instance.sessions.push(Session {
                day: i32::from(day),
                minutes: calendar.open_min[at] / ctx.minutes_factor,
                overtime: 0.0,
                hands: calendar.hands[at],
            });
        }
    }
    let products = add_products(ctx, &mut instance);
    limits::add_goals(ctx, &mut instance, &products);
    limits::add_equipment(ctx, &mut instance, &products);
    let mut used: Vec<SurplusLot> = lots
        .iter()
        .filter(|lot| best_goal(ctx, lot.crop).is_some())
        .copied()
        .collect();
    used.sort_by_key(|lot| (lot.day, lot.crop));
    instance.buckets = used.iter().map(|lot| bucket(ctx, lot)).collect();
    let (instance, members) = instance.merged();
    Bridge {
        instance,
        lots: used,
        members,
        products,
    }
}

/// Returns the place of the most preferred goal that a crop can serve.
fn best_goal(ctx: &Context, crop: u16) -> Option<usize> {
    let choices = &ctx.crops[usize::from(crop)].choices;
    choices.iter().map(|c| usize::from(c.goal)).min()
}

fn bucket(ctx: &Context, lot: &SurplusLot) -> Bucket {
    let crop = &ctx.crops[usize::from(lot.crop)];
    let last = ctx.goals.len().saturating_sub(1).max(1) as f64;
    let rank = best_goal(ctx, lot.crop).unwrap_or(0) as f64 / last;
    Bucket {
        food: usize::from(lot.crop),
        kg: lot.kg,
        day: lot.day,
        best_day: lot.day + i32::from(crop.best_days),
        last_day: lot.last_day,
        loss_per_kg: FIRST_GOAL_KG + (LAST_GOAL_KG - FIRST_GOAL_KG) * rank,
        not_canned: lot.not_canned,
    }
}

/// Adds every product that some goal may take, and their set-up groups; returns the kitchen product of each.
fn add_products(ctx: &Context, instance: &mut Instance) -> Vec<u16> {
    let mut groups: Vec<u16> = Vec::new();
    let mut products = Vec::new();
    for (p, product) in ctx.products.iter().enumerate() {
        let index = u16::try_from(p).unwrap_or(u16::MAX);
        let Some(rank) = rank(ctx, index) else {
            continue;
        };
        let rates = &ctx.rates[p];
        let group = groups
            .iter()
            .position(|&g| g == rates.setup_group)
            .unwrap_or_else(|| {
                groups.push(rates.setup_group);
                instance.groups.push(Group { setup_min: 0.0 });
                groups.len() - 1
            });
        let first = &mut instance.groups[group].setup_min;
        *first = first.max(rates.setup_min - rates.setup_more_min);
        let canner = rates.appliance == Vessels::Canner;
        let pot = rates.appliance == Vessels::Pot;
        let appliance = (pot || canner).then_some(Appliance {
            which: if pot { POT } else { CANNER },
            load_min: rates.clock_min,
            hand_min: rates.per_batch_min,
            whole: canner,
            filled_first: canner,
        });
        let parts = product.parts.iter().map(|part| Part {
            food: usize::from(part.crop),
            least: part.least,
            greatest: part.greatest,
            minutes_per_kg: part.rates.prep_min_per_kg,
            loads_per_kg: if canner {
                1.0 / (rates.load_containers * rates.kg_per_container)
            } else if pot && part.rates.pot_kg > 0.0 {
                1.0 / part.rates.pot_kg
            } else {
                0.0
            },
        });
        let no_load = if appliance.is_none() {
            rates.per_batch_min
        } else {
            0.0
        };
        instance.products.push(Product {
            parts: parts.collect(),
            group,
            setup_min: rates.setup_more_min + no_load,
            appliance,
            container: Container {
                kg: rates.kg_per_container,
                step: if rates.halves { 0.5 } else { 1.0 },
                minutes: rates.per_container_min,
            },
            canned: product.canned,
            least_kg: product.least_lot_kg,
            within_days: product.within_days.map(i32::from),
            until_day: until_day(ctx, index),
            dislike_per_kg: ALTERNATIVE_KG * rank as f64,
        });
        products.push(index);
    }
    products
}

/// Returns how far down its goal's list a product stands; one step below its own product for one that only gathers for it.
fn rank(ctx: &Context, product: u16) -> Option<usize> {
    let direct = (ctx.goals.iter())
        .filter_map(|goal| goal.products.iter().position(|&p| p == product))
        .min();
    direct.or_else(|| {
        let gathers_for = |p: &u16| ctx.products[usize::from(*p)].gathered_by == Some(product);
        (ctx.goals.iter())
            .filter_map(|goal| goal.products.iter().position(gathers_for))
            .map(|rank| rank + 1)
            .min()
    })
}

/// Returns the last day on which making a product serves a goal, none if some goal has no such day.
fn until_day(ctx: &Context, product: u16) -> Option<i32> {
    let mut latest = None;
    for goal in ctx.goals.iter().filter(|g| g.products.contains(&product)) {
        let day = (goal.by? - ctx.calendar.first).num_days();
        latest = latest.max(i32::try_from(day).ok());
    }
    latest
}

impl Bridge {
    /// Returns a plan in the kitchen's terms, each bucket's amount taken from its lots, the oldest first.
    #[must_use]
    pub fn back(&self, plan: &Plan) -> Vec<PlannedWork> {
        let mut left: Vec<f64> = self.lots.iter().map(|lot| lot.kg).collect();
        let mut done = Vec::with_capacity(plan.work.len());
        for work in &plan.work {
            let mut takes = Vec::new();
            for &(bucket, mut kg) in &work.takes {
                for &lot in &self.members[bucket] {
                    let taken = left[lot].min(kg);
                    if taken > 1e-9 {
                        takes.push((lot, taken));
                        left[lot] -= taken;
                        kg -= taken;
                    }
                }
            }
            done.push(PlannedWork {
                day: u16::try_from(self.instance.sessions[work.session].day).unwrap_or(0),
                product: self.products[work.product],
                takes,
            });
        }
        done
    }
}

/// Chooses the season to plan for: the one whose minutes are at least those of a given share of all draws.
///
/// Returns the place of the draw; a share of 0.7 gives the season that 7 in 10 do not pass.
#[must_use]
pub fn chosen_season(minutes_of_draws: &[f64], share: f64) -> Option<usize> {
    let mut order: Vec<usize> = (0..minutes_of_draws.len()).collect();
    order.sort_by(|&a, &b| {
        minutes_of_draws[a]
            .total_cmp(&minutes_of_draws[b])
            .then(a.cmp(&b))
    });
    let last = order.len().checked_sub(1)?;
    let at = (share.clamp(0.0, 1.0) * last as f64).ceil() as usize;
    order.get(at.min(last)).copied()
}

#[cfg(test)]
#[path = "bridge_tests.rs"]
mod tests;
