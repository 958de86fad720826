//! What a plan costs and how long its sessions take: the planner's own account.
//!
//! The checker has its own, on purpose.

use super::instance::{Instance, Part, Plan, Work};

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

/// Returns the number of whole loads of a fractional number, at least one.
pub(crate) fn whole_loads(fractional: f64) -> f64 {
    (fractional - LOAD_SLACK).ceil().max(1.0)
}

/// Returns a food's part in a product, if it has one.
pub(crate) fn part_of(instance: &Instance, product: usize, food: usize) -> Option<&Part> {
    let parts = &instance.products[product].parts;
    parts.iter().find(|part| part.food == food)
}

/// Returns the loads of the appliance that one product's work takes, fractional.
pub(crate) fn loads(instance: &Instance, work: &Work) -> f64 {
    sum(instance, work, |part| part.loads_per_kg)
}

fn sum(instance: &Instance, work: &Work, of: impl Fn(&Part) -> f64) -> f64 {
    let each = work.takes.iter().filter_map(|&(bucket, kg)| {
        let part = part_of(instance, work.product, instance.buckets[bucket].food)?;
        Some(kg * of(part))
    });
    each.sum()
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
    let mut first = vec![f64::INFINITY; instance.appliances];
    let mut running = vec![0.0; instance.appliances];
    for entry in work {
        let product = &instance.products[entry.product];
        let group_min = instance.groups[product.group].setup_min;
        if !std::mem::replace(&mut groups[product.group], true) {
            hand += group_min;
        }
        let ready = sum(instance, entry, |part| part.minutes_per_kg);
        let begun = product.container.begun(entry.kg());
        let filling = begun * product.container.minutes;
        hand += product.setup_min + ready + filling;
        if let Some(a) = product.appliance {
            let fractional = loads(instance, entry);
            let loads = whole_loads(fractional);
            hand += loads * a.hand_min;
            running[a.which] += loads * a.load_min;
            let (before, of) = if a.filled_first {
                let as_filled = begun * product.container.kg / entry.kg();
                (ready + filling, fractional * as_filled)
            } else {
                (ready, fractional)
            };
            let setup = instance.kitchen_min + group_min + product.setup_min + a.hand_min;
            let until = setup + before / of.max(1.0);
            first[a.which] = first[a.which].min(until / hands);
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
