//! Oldest first: which lots a plan's amounts are taken from.

use super::instance::{Instance, Plan};

/// Gives every session the oldest of the food that is put by at all, amounts unchanged.
///
/// Food of one kind keeps alike, so an older lot can change places with a newer one that is used before it, and no more
/// is stale for it. Where that fails, because some lots must not be canned, the plan stays as it is.
pub(crate) fn oldest_first(instance: &Instance, plan: Plan) -> Plan {
    let mut left = vec![0.0; instance.buckets.len()];
    for &(bucket, kg) in plan.work.iter().flat_map(|w| &w.takes) {
        left[bucket] += kg;
    }
    let mut changed = plan.clone();
    for entry in &mut changed.work {
        let product = &instance.products[entry.product];
        let mut oldest: Vec<usize> = (0..instance.buckets.len())
            .filter(|&b| {
                (instance.reach(&instance.buckets[b], product))
                    .is_some_and(|(first, last)| (first..=last).contains(&entry.session))
            })
            .collect();
        oldest.sort_by_key(|&b| (instance.buckets[b].day, b));
        let mut takes = Vec::new();
        for part in &product.parts {
            let of_part = |b: &usize| instance.buckets[*b].food == part.food;
            let mut wanted: f64 = (entry.takes.iter())
                .filter(|(b, _)| of_part(b))
                .map(|(_, kg)| kg)
                .sum();
            for &bucket in oldest.iter().filter(|b| of_part(b)) {
                let kg = left[bucket].min(wanted);
                if kg > 1e-9 {
                    takes.push((bucket, kg));
                    left[bucket] -= kg;
                    wanted -= kg;
                }
            }
            if wanted > 1e-6 {
                return plan;
            }
        }
        takes.sort_by_key(|t| t.0);
        entry.takes = takes;
    }
    changed
}
