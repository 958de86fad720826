//! The checker of session plans: re-derives every limit, minute and price from the problem and the plan alone.
//!
//! Shares no code with the planner, on purpose: what it knows of a problem are its plain numbers. A plan is shown only
//! if this finds no fault in it and comes to the same price.

pub mod by_hand;
pub mod card;
pub mod garden;

use super::plan::instance::{Instance, Plan};
use std::fmt;

/// Slack for amounts, kg and shares of them.
const KG_SLACK: f64 = 1e-4;
/// Slack for minutes.
const MINUTES_SLACK: f64 = 1e-3;

/// What the checker found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// Everything that is wrong; none for a plan that can be held.
    pub faults: Vec<Fault>,
    /// Price of the plan, minutes.
    pub price: f64,
    /// Length of each session by the clock, minutes; zero where none is held.
    pub clock_min: Vec<f64>,
}

/// One thing wrong with a plan; sessions, products and buckets by their place in the problem.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// It names a session, product or bucket that does not exist, or an amount that is no amount.
    Nonsense,
    /// The same product stands twice in one session.
    Twice(usize, usize),
    /// The product does not take this food.
    WrongFood(usize, usize),
    /// The food is not there yet.
    NotYet(usize, usize),
    /// The food is past its last day, or too old for the recipe.
    TooOld(usize, usize),
    /// The session comes after the day by which the product is wanted.
    TooLate(usize, usize),
    /// The food must not be canned.
    NotForCanning(usize, usize),
    /// More is taken of a bucket than there is: what is taken and what there is, kg.
    Overdrawn(usize, f64, f64),
    /// A food's share in a product is out of bounds in a session.
    Share(usize, usize, usize),
    /// Less is made than is worth setting up for: session, product, kg.
    TooLittle(usize, usize, f64),
    /// The session is too long: session, minutes needed, minutes there are.
    TooLong(usize, f64, f64),
    /// A limit is passed: its name, the session, what is taken, what there is.
    Limit(String, usize, f64, f64),
    /// A newer lot is used before an older one that could have taken its place: the newer, the older.
    NotOldestFirst(usize, usize),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nonsense => write!(f, "an entry names something that is not there"),
            Self::Twice(s, p) => write!(f, "session {s}: product {p} stands twice"),
            Self::WrongFood(p, b) => write!(f, "product {p} does not take lot {b}"),
            Self::NotYet(s, b) => write!(f, "session {s}: lot {b} is not picked yet"),
            Self::TooOld(s, b) => write!(f, "session {s}: lot {b} is too old"),
            Self::TooLate(s, p) => write!(f, "session {s}: product {p} is wanted earlier"),
            Self::NotForCanning(p, b) => write!(f, "product {p}: lot {b} must not be canned"),
            Self::Overdrawn(b, took, has) => {
                write!(f, "lot {b}: {took:.2} kg are taken, {has:.2} kg are there")
            }
            Self::Share(s, p, food) => {
                write!(f, "session {s}, product {p}: share of food {food}")
            }
            Self::TooLittle(s, p, kg) => {
                write!(f, "session {s}, product {p}: {kg:.2} kg are too little")
            }
            Self::TooLong(s, need, have) => {
                write!(f, "session {s}: {need:.0} minutes needed, {have:.0} there")
            }
            Self::Limit(name, s, took, has) => {
                write!(f, "{name}: {took:.2} of {has:.2} at session {s}")
            }
            Self::NotOldestFirst(new, old) => write!(f, "lot {new} is used before lot {old}"),
        }
    }
}

/// One amount of one bucket in one product in one session.
#[derive(Debug, Clone, Copy)]
struct Take {
    session: usize,
    product: usize,
    bucket: usize,
    kg: f64,
}

/// Checks a plan.
#[must_use]
pub fn check(instance: &Instance, plan: &Plan) -> Report {
    let mut report = Report {
        clock_min: vec![0.0; instance.sessions.len()],
        ..Report::default()
    };
    let Some(takes) = listed(instance, plan) else {
        report.faults.push(Fault::Nonsense);
        return report;
    };
    for pair in plan.work.iter().enumerate() {
        let same = |w: &&_| -> bool {
            let w: &super::plan::instance::Work = w;
            w.session == pair.1.session && w.product == pair.1.product
        };
        if plan.work[..pair.0].iter().any(|w| same(&w)) {
            let fault = Fault::Twice(pair.1.session, pair.1.product);
            report.faults.push(fault);
        }
    }
    food(instance, &takes, &mut report);
    for session in 0..instance.sessions.len() {
        let here: Vec<Take> = takes
            .iter()
            .filter(|t| t.session == session)
            .copied()
            .collect();
        if !here.is_empty() {
            one_session(instance, session, &here, &mut report);
        }
    }
    limits(instance, &takes, &mut report);
    oldest_first(instance, &takes, &mut report);
    report
}

/// Lists every amount, or nothing if an entry makes no sense.
fn listed(instance: &Instance, plan: &Plan) -> Option<Vec<Take>> {
    let mut takes = Vec::new();
    for work in &plan.work {
        if work.session >= instance.sessions.len()
            || work.product >= instance.products.len()
            || work.takes.is_empty()
        {
            return None;
        }
        for &(bucket, kg) in &work.takes {
            if bucket >= instance.buckets.len() || !kg.is_finite() || kg <= 0.0 {
                return None;
            }
            takes.push(Take {
                session: work.session,
                product: work.product,
                bucket,
                kg,
            });
        }
    }
    Some(takes)
}

/// Checks what is taken of the food, and prices what is left, stale or made into something less wanted.
fn food(instance: &Instance, takes: &[Take], report: &mut Report) {
    for t in takes {
        let (bucket, product) = (&instance.buckets[t.bucket], &instance.products[t.product]);
        let day = instance.sessions[t.session].day;
        if product.parts.iter().all(|p| p.food != bucket.food) {
            report.faults.push(Fault::WrongFood(t.product, t.bucket));
        }
        if day < bucket.day {
            report.faults.push(Fault::NotYet(t.session, t.bucket));
        }
        let too_old_for_recipe = match product.within_days {
            Some(days) => day - bucket.day > days,
            None => false,
        };
        if day > bucket.last_day || too_old_for_recipe {
            report.faults.push(Fault::TooOld(t.session, t.bucket));
        }
        if product.until_day.is_some_and(|until| day > until) {
            report.faults.push(Fault::TooLate(t.session, t.product));
        }
        if product.canned && bucket.not_canned {
            report
                .faults
                .push(Fault::NotForCanning(t.product, t.bucket));
        }
        if day > bucket.best_day {
            let days = f64::from(day - bucket.best_day);
            report.price += instance.prices.stale_kg_day * days * t.kg;
        }
        report.price += product.dislike_per_kg * t.kg;
    }
    for (index, bucket) in instance.buckets.iter().enumerate() {
        let of_this = takes.iter().filter(|t| t.bucket == index);
        let taken: f64 = of_this.map(|t| t.kg).sum();
        if taken > bucket.kg + KG_SLACK {
            report
                .faults
                .push(Fault::Overdrawn(index, taken, bucket.kg));
        }
        if taken < bucket.kg {
            report.price += bucket.loss_per_kg * (bucket.kg - taken);
        }
    }
}

/// Checks the shares, the smallest lots and the length of one session, and prices its holding, set-ups and overtime.
fn one_session(instance: &Instance, session: usize, takes: &[Take], report: &mut Report) {
    let day = &instance.sessions[session];
    let mut products: Vec<usize> = takes.iter().map(|t| t.product).collect();
    products.sort_unstable();
    products.dedup();
    let mut groups: Vec<usize> = products
        .iter()
        .map(|p| instance.products[*p].group)
        .collect();
    groups.sort_unstable();
    groups.dedup();
    let group_min = |g: usize| instance.groups[g].setup_min;

    let setups: f64 = instance.kitchen_min
        + groups.iter().map(|g| group_min(*g)).sum::<f64>()
        + products
            .iter()
            .map(|p| instance.products[*p].setup_min)
            .sum::<f64>();
    let mut hand_min = setups;
    // For each appliance: minutes until the quickest product's first load is in, and all loads after one another.
    let mut queues: Vec<Option<(f64, f64)>> = vec![None; instance.appliances];
    for &p in &products {
        let product = &instance.products[p];
        let (mut kg, mut prepare, mut loads) = (0.0, 0.0, 0.0);
        for part in &product.parts {
            let of_part = takes
                .iter()
                .filter(|t| t.product == p && instance.buckets[t.bucket].food == part.food);
            let part_kg: f64 = of_part.map(|t| t.kg).sum();
            kg += part_kg;
            prepare += part_kg * part.minutes_per_kg;
            loads += part_kg * part.loads_per_kg;
        }
        if product.parts.len() > 1 {
            for part in &product.parts {
                let of_part = takes
                    .iter()
                    .filter(|t| t.product == p && instance.buckets[t.bucket].food == part.food);
                let part_kg: f64 = of_part.map(|t| t.kg).sum();
                if part_kg < part.least * kg - KG_SLACK || part_kg > part.greatest * kg + KG_SLACK {
                    report.faults.push(Fault::Share(session, p, part.food));
                }
            }
        }
        if kg < product.least_kg - KG_SLACK {
            report.faults.push(Fault::TooLittle(session, p, kg));
        }
        let containers = product.container;
        let steps = (kg / (containers.kg * containers.step) - KG_SLACK)
            .ceil()
            .max(0.0);
        let fill_min = steps * containers.step * containers.minutes;
        hand_min += prepare + fill_min;
        if let Some(a) = &product.appliance {
            let whole = if loads <= 1.0 + KG_SLACK {
                1.0
            } else {
                (loads - KG_SLACK).ceil()
            };
            hand_min += whole * a.hand_min;
            let work_before = if a.filled_first {
                prepare + fill_min
            } else {
                prepare
            };
            // Jars are counted as begun, so the first load's share of them is that of full loads of begun jars.
            let counted = if a.filled_first {
                loads * steps * containers.step * containers.kg / kg
            } else {
                loads
            };
            let share = if counted > 1.0 { 1.0 / counted } else { 1.0 };
            let first = (instance.kitchen_min
                + group_min(product.group)
                + product.setup_min
                + a.hand_min
                + work_before * share)
                / day.hands;
            let queue = queues[a.which].get_or_insert((first, 0.0));
            queue.0 = queue.0.min(first);
            queue.1 += whole * a.load_min;
        }
    }
    let mut clock = hand_min / day.hands;
    for (first, running) in queues.into_iter().flatten() {
        clock = clock.max(first + running);
    }
    report.clock_min[session] = clock;
    if clock > day.minutes + day.overtime + MINUTES_SLACK || day.minutes <= 0.0 {
        let there = day.minutes + day.overtime;
        report.faults.push(Fault::TooLong(session, clock, there));
    }
    report.price += instance.prices.session + instance.prices.setup_min * setups;
    if clock > day.minutes {
        report.price += instance.prices.overtime_min * (clock - day.minutes);
    }
}

/// Checks every limit at every session.
fn limits(instance: &Instance, takes: &[Take], report: &mut Report) {
    for limit in &instance.limits {
        for (now, session) in instance.sessions.iter().enumerate() {
            let mut taken = 0.0;
            for term in &limit.terms {
                for (then, earlier) in instance.sessions[..=now].iter().enumerate() {
                    let gone = term.days.is_some_and(|d| session.day - earlier.day >= d);
                    let mut of_term = takes
                        .iter()
                        .filter(|t| t.session == then && t.product == term.product)
                        .peekable();
                    if gone || of_term.peek().is_none() {
                        continue;
                    }
                    taken += term.per_use + term.per_kg * of_term.map(|t| t.kg).sum::<f64>();
                }
            }
            if taken > limit.amount + KG_SLACK * (1.0 + limit.amount.abs()) {
                let fault = Fault::Limit(limit.name.clone(), now, taken, limit.amount);
                report.faults.push(fault);
            }
        }
    }
}

/// Checks that no older lot is used after a newer one with which it could have changed places; it may be given away.
fn oldest_first(instance: &Instance, takes: &[Take], report: &mut Report) {
    let could = |bucket: usize, product: usize, session: usize| {
        let (b, p) = (&instance.buckets[bucket], &instance.products[product]);
        let day = instance.sessions[session].day;
        b.day <= day
            && day <= b.last_day
            && p.within_days.is_none_or(|days| day - b.day <= days)
            && !(p.canned && b.not_canned)
    };
    for newer in takes.iter().filter(|t| t.kg > 10.0 * KG_SLACK) {
        for (older, bucket) in instance.buckets.iter().enumerate() {
            let new = &instance.buckets[newer.bucket];
            if bucket.food != new.food
                || bucket.day >= new.day
                || !could(older, newer.product, newer.session)
            {
                continue;
            }
            let used_later = takes.iter().any(|t| {
                t.bucket == older
                    && t.session > newer.session
                    && t.kg > 10.0 * KG_SLACK
                    && could(newer.bucket, t.product, t.session)
            });
            if used_later {
                let fault = Fault::NotOldestFirst(newer.bucket, older);
                report.faults.push(fault);
            }
        }
    }
}
