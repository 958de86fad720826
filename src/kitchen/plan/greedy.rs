//! A plain plan by rule: hold a session when the first lot meets its last chance, and do all that waits then.
//!
//! The start of every better plan, and the plan that no better one may fall behind.

use super::cost::{cost, session_minutes};
use super::instance::{Instance, Plan, Work};
use super::ties::{most_kg, still_taken};

/// Kilograms too little to plan for.
const DUST_KG: f64 = 1e-6;
/// Halvings when the greatest amount that fits is sought.
const HALVINGS: usize = 40;

/// Adds sessions by rule to a plan that has none from `from` on, up to but without session `to`.
pub(crate) fn fill(instance: &Instance, plan: &mut Plan, from: usize, to: usize) {
    let mut left: Vec<f64> = instance.buckets.iter().map(|b| b.kg).collect();
    for work in &plan.work {
        for &(bucket, kg) in &work.takes {
            left[bucket] -= kg;
        }
    }
    let last_chance: Vec<Option<usize>> = (0..instance.buckets.len())
        .map(|b| last_session(instance, b))
        .collect();
    for session in from..to {
        let due = |b: usize| last_chance[b] == Some(session) && left[b] > DUST_KG;
        if !(0..left.len()).any(due) {
            continue;
        }
        let work = all_that_waits(instance, plan, session, &left, &last_chance);
        if work.is_empty() {
            continue;
        }
        let mut with = plan.clone();
        with.work.extend(work);
        if cost(instance, &with).total() < cost(instance, plan).total() {
            for entry in &with.work[plan.work.len()..] {
                for &(bucket, kg) in &entry.takes {
                    left[bucket] -= kg;
                }
            }
            *plan = with;
        }
    }
}

/// Returns the last session that any product can take a bucket in.
fn last_session(instance: &Instance, bucket: usize) -> Option<usize> {
    let food = &instance.buckets[bucket];
    (instance.products.iter())
        .filter(|p| p.parts.iter().any(|part| part.food == food.food))
        .filter_map(|p| instance.reach(food, p))
        .map(|(_, last)| last)
        .filter(|&k| instance.sessions[k].minutes > 0.0)
        .max()
}

/// Makes as much as fits of everything, what is due soonest first.
fn all_that_waits(
    instance: &Instance,
    plan: &Plan,
    session: usize,
    left: &[f64],
    last_chance: &[Option<usize>],
) -> Vec<Work> {
    let mut left = left.to_vec();
    let mut work: Vec<Work> = Vec::new();
    let mut order: Vec<(usize, usize)> = Vec::new();
    for product in 0..instance.products.len() {
        let due = in_reach(instance, session, product, &left)
            .into_iter()
            .filter_map(|b| last_chance[b])
            .min();
        order.extend(due.map(|due| (due, product)));
    }
    order.sort_by(|a, b| {
        let dislike = |p: usize| instance.products[p].dislike_per_kg;
        (a.0.cmp(&b.0)).then(dislike(a.1).total_cmp(&dislike(b.1)))
    });
    for (_, product) in order {
        let fits = |work: &[Work]| {
            let all: Vec<&Work> = work.iter().collect();
            session_minutes(instance, session, &all).clock
                <= instance.sessions[session].minutes + 1e-9
                && within_limits(instance, plan, session, work)
        };
        let made = |kg: f64| -> Option<Work> {
            let takes = take(instance, session, product, kg, &left)?;
            Some(Work {
                session,
                product,
                takes,
            })
        };
        let (mut low, mut high) = (0.0, greatest(instance, session, product, &left));
        high = f64::min(high, most_kg(instance, product));
        let tried = |kg: f64| -> bool {
            made(kg).is_some_and(|entry| {
                let mut all = work.clone();
                all.push(entry);
                fits(&all)
            })
        };
        if high > DUST_KG && tried(high) {
            low = high;
        } else {
            for _ in 0..HALVINGS {
                let middle = f64::midpoint(low, high);
                if tried(middle) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
        }
        let worth: f64 = made(low).map_or(0.0, |entry| {
            (entry.takes.iter())
                .map(|&(b, kg)| kg * instance.buckets[b].loss_per_kg)
                .sum()
        });
        let setup = instance.products[product].setup_min * instance.prices.setup_min;
        if low > DUST_KG && low >= instance.products[product].least_kg && worth > setup {
            let entry = made(low).expect("it was made before");
            for &(bucket, kg) in &entry.takes {
                left[bucket] -= kg;
            }
            work.push(entry);
        }
    }
    work.sort_by_key(|w| w.product);
    work
}

/// Returns the buckets a product can take from in a session, the oldest first.
fn in_reach(instance: &Instance, session: usize, product: usize, left: &[f64]) -> Vec<usize> {
    let product = &instance.products[product];
    let mut found: Vec<usize> = (0..instance.buckets.len())
        .filter(|&b| {
            let bucket = &instance.buckets[b];
            left[b] > DUST_KG
                && product.parts.iter().any(|part| part.food == bucket.food)
                && (instance.reach(bucket, product))
                    .is_some_and(|(first, last)| (first..=last).contains(&session))
        })
        .collect();
    found.sort_by_key(|&b| (instance.buckets[b].day, b));
    found
}

/// Returns what there is of each of a product's foods, in the order of its parts, kg.
fn have(instance: &Instance, session: usize, product: usize, left: &[f64]) -> Vec<f64> {
    let reach = in_reach(instance, session, product, left);
    (instance.products[product].parts.iter())
        .map(|part| {
            (reach
                .iter()
                .filter(|&&b| instance.buckets[b].food == part.food))
            .map(|&b| left[b])
            .sum()
        })
        .collect()
}

/// Returns the greatest amount of a product that its shares and the food in reach allow, kg.
fn greatest(instance: &Instance, session: usize, product: usize, left: &[f64]) -> f64 {
    let parts = &instance.products[product].parts;
    let have = have(instance, session, product, left);
    let allowed = |total: f64| {
        let most: f64 = (parts.iter().zip(&have))
            .map(|(part, have)| have.min(part.greatest * total))
            .sum();
        let least =
            (parts.iter().zip(&have)).all(|(part, have)| part.least * total <= have + 1e-12);
        least && most >= total - 1e-12
    };
    let (mut low, mut high) = (0.0, have.iter().sum());
    if allowed(high) {
        return high;
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if allowed(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Takes an amount of a product from what is left: least shares first, then the shortest-keeping food, the oldest first.
fn take(
    instance: &Instance,
    session: usize,
    product: usize,
    kg: f64,
    left: &[f64],
) -> Option<Vec<(usize, f64)>> {
    let parts = &instance.products[product].parts;
    let have = have(instance, session, product, left);
    let reach = in_reach(instance, session, product, left);
    let mut amounts: Vec<f64> = parts.iter().map(|part| part.least * kg).collect();
    let mut missing = kg - amounts.iter().sum::<f64>();
    let keeps = |part: usize| -> i32 {
        (reach.iter().map(|&b| &instance.buckets[b]))
            .filter(|b| b.food == parts[part].food)
            .map(|b| b.last_day)
            .min()
            .unwrap_or(i32::MAX)
    };
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|&part| keeps(part));
    for part in order {
        let room = have[part].min(parts[part].greatest * kg) - amounts[part];
        let more = missing.min(room).max(0.0);
        amounts[part] += more;
        missing -= more;
    }
    if missing > 1e-9 {
        return None;
    }
    let mut takes = Vec::new();
    for (part, mut wanted) in parts.iter().zip(amounts) {
        for &bucket in reach
            .iter()
            .filter(|&&b| instance.buckets[b].food == part.food)
        {
            let kg = wanted.min(left[bucket]);
            if kg > DUST_KG {
                takes.push((bucket, kg));
            }
            wanted -= kg;
        }
    }
    takes.sort_by_key(|t| t.0);
    Some(takes)
}

/// Says whether the limits that end in a session hold; nothing later is planned yet.
fn within_limits(instance: &Instance, plan: &Plan, session: usize, work: &[Work]) -> bool {
    instance.limits.iter().all(|limit| {
        let taken: f64 = (plan.work.iter().chain(work))
            .filter_map(|w| {
                let term = limit.terms.iter().find(|t| t.product == w.product)?;
                let counts = still_taken(instance, term, w.session, session);
                counts.then(|| term.per_use + term.per_kg * w.kg())
            })
            .sum();
        taken <= limit.amount + 1e-9
    })
}
