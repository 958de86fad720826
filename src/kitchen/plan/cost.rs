//! What a plan costs and how long its sessions take: the planner's own account.
//!
//! The checker has its own, on purpose.

use super::instance::{Instance, Plan, Work};

/// Rounding slack when loads are counted, in loads.
const LOAD_SLACK: f64 = 1e-6;

/// Minutes of one session.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SessionMinutes {
    /// Work of all hands together.
    pub hand: f64,
    /// Length by the clock.
    pub clock: f64,
}

/// Price of a plan by cause, minutes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cost {
    /// Holding sessions.
    pub sessions: f64,
    /// Setting up and cleaning.
    pub setups: f64,
    /// Overtime.
    pub overtime: f64,
    /// Food used past its best.
    pub stale: f64,
    /// Food made into something less wanted.
    pub dislike: f64,
    /// Food not put by.
    pub lost: f64,
}

impl Cost {
    /// Returns the whole price.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.sessions + self.setups + self.overtime + self.stale + self.dislike + self.lost
    }
}

/// Returns the number of loads an amount takes.
pub(crate) fn loads(kg: f64, load_kg: f64) -> f64 {
    (kg / load_kg - LOAD_SLACK).ceil().max(1.0)
}

/// Returns the hand minutes that a kilogram of a food takes in a product, or none if the product does not take it.
pub(crate) fn minutes_per_kg(instance: &Instance, product: usize, food: usize) -> Option<f64> {
    let product = &instance.products[product];
    let part = product.parts.iter().find(|part| part.food == food)?;
    Some(part.minutes_per_kg + product.minutes_per_kg)
}

/// Returns the minutes of one session with this work.
#[must_use]
pub fn session_minutes(instance: &Instance, session: usize, work: &[&Work]) -> SessionMinutes {
    if work.is_empty() {
        return SessionMinutes::default();
    }
    let hands = instance.sessions[session].hands;
    let mut hand = instance.kitchen_min;
    let mut groups = vec![false; instance.groups.len()];
    let mut first = vec![f64::INFINITY; instance.appliances.len()];
    let mut running = vec![0.0; instance.appliances.len()];
    for entry in work {
        let product = &instance.products[entry.product];
        let group_min = instance.groups[product.group].setup_min;
        if !std::mem::replace(&mut groups[product.group], true) {
            hand += group_min;
        }
        let ready: f64 = entry
            .takes
            .iter()
            .filter_map(|&(bucket, kg)| {
                let food = instance.buckets[bucket].food;
                Some(kg * minutes_per_kg(instance, entry.product, food)?)
            })
            .sum();
        hand += product.setup_min + ready;
        if let Some(a) = product.appliance {
            let kg = entry.kg();
            let loads = loads(kg, a.load_kg);
            hand += loads * a.hand_min;
            running[a.which] += loads * a.load_min / instance.appliances[a.which];
            let first_share = (a.load_kg / kg).min(1.0);
            let filling = instance.kitchen_min
                + group_min
                + product.setup_min
                + a.hand_min
                + ready * first_share;
            first[a.which] = first[a.which].min(filling / hands);
        }
    }
    let clock = (first.iter().zip(&running))
        .filter(|(first, _)| first.is_finite())
        .map(|(first, running)| first + running)
        .fold(hand / hands, f64::max);
    SessionMinutes { hand, clock }
}

/// Returns the price of a plan.
#[must_use]
pub fn cost(instance: &Instance, plan: &Plan) -> Cost {
    let prices = &instance.prices;
    let mut cost = Cost::default();
    let mut left: Vec<f64> = instance.buckets.iter().map(|b| b.kg).collect();
    for work in plan.work.chunk_by(|a, b| a.session == b.session) {
        let session = &instance.sessions[work[0].session];
        let all: Vec<&Work> = work.iter().collect();
        let minutes = session_minutes(instance, work[0].session, &all);
        cost.sessions += prices.session;
        cost.overtime += prices.overtime_min * (minutes.clock - session.minutes).max(0.0);
        let mut setup = instance.kitchen_min;
        let mut groups = vec![false; instance.groups.len()];
        for entry in work {
            let product = &instance.products[entry.product];
            if !std::mem::replace(&mut groups[product.group], true) {
                setup += instance.groups[product.group].setup_min;
            }
            setup += product.setup_min;
            for &(bucket, kg) in &entry.takes {
                let age = (session.day - instance.buckets[bucket].best_day).max(0);
                cost.stale += prices.stale_kg_day * kg * f64::from(age);
                cost.dislike += product.dislike_per_kg * kg;
                left[bucket] -= kg;
            }
        }
        cost.setups += prices.setup_min * setup;
    }
    cost.lost = (instance.buckets.iter().zip(&left))
        .map(|(bucket, left)| bucket.loss_per_kg * left.max(0.0))
        .sum();
    cost
}
