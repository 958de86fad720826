//! The rows of a program that tie sessions to one another: limits that run over days or over the whole plan.

use super::instance::{Instance, Plan, Term};
use super::lp::Sense;
use super::model::{Making, Model, Window, outside};

impl Model {
    /// Adds the limits over several sessions, less what the fixed plan outside the window takes of them.
    pub(super) fn limits(
        &mut self,
        instance: &Instance,
        window: Window<'_>,
        makings: &[(usize, Making)],
    ) {
        for limit in &instance.limits {
            let mut before: Vec<usize> = Vec::new();
            let last = instance.sessions.len().saturating_sub(1);
            let ends = if limit.terms.iter().all(|t| t.days.is_none()) {
                last..=last
            } else {
                window.from..=last
            };
            for end in ends {
                let term = |product: usize, session: usize| {
                    (limit.terms.iter())
                        .find(|t| t.product == product)
                        .filter(|t| session <= end && still_taken(instance, t, session, end))
                };
                let taken: f64 = outside(window)
                    .filter_map(|w| {
                        let t = term(w.product, w.session)?;
                        Some(t.per_use + t.per_kg * w.kg())
                    })
                    .sum();
                let mut terms = Vec::new();
                for (session, making) in makings {
                    if let Some(t) = term(making.product, *session) {
                        terms.extend(making.puts.iter().map(|&(q, ..)| (q, t.per_kg)));
                        terms.push((making.used, t.per_use));
                    }
                }
                terms.retain(|(_, factor)| *factor != 0.0);
                let variables: Vec<usize> = terms.iter().map(|(v, _)| *v).collect();
                // A row over the same variables as the one before, with nothing taken outside, says the same.
                if terms.is_empty() || (variables == before && taken == 0.0) {
                    continue;
                }
                before = variables;
                let room = (limit.amount - taken).max(0.0);
                self.lp.row(terms, Sense::Le, room);
            }
        }
    }
}

/// Says whether a plan takes no more of any food than there is and keeps every limit over several sessions.
pub(super) fn fits(instance: &Instance, plan: &Plan) -> bool {
    let slack = |amount: f64| 1e-6 * (1.0 + amount);
    let mut left: Vec<f64> = instance.buckets.iter().map(|b| b.kg).collect();
    for &(bucket, kg) in plan.work.iter().flat_map(|w| &w.takes) {
        left[bucket] -= kg;
    }
    let food = (left.iter().zip(&instance.buckets)).all(|(left, b)| *left >= -slack(b.kg));
    food && instance.limits.iter().all(|limit| {
        (0..instance.sessions.len()).all(|end| {
            let taken = plan.work.iter().filter_map(|w| {
                let term = limit.terms.iter().find(|t| t.product == w.product)?;
                let still = w.session <= end && still_taken(instance, term, w.session, end);
                still.then(|| term.per_use + term.per_kg * w.kg())
            });
            taken.sum::<f64>() <= limit.amount + slack(limit.amount)
        })
    })
}

/// Says whether what a session took of a limit is still taken at another session.
pub(crate) fn still_taken(instance: &Instance, term: &Term, session: usize, end: usize) -> bool {
    let since = instance.sessions[end].day - instance.sessions[session].day;
    term.days.is_none_or(|days| since < days)
}

/// Returns the most that one session could hold of a product by the limits that bind within it, kg.
pub(crate) fn most_kg(instance: &Instance, product: usize) -> f64 {
    let mut most = f64::INFINITY;
    for limit in &instance.limits {
        let found = limit.terms.iter().find(|t| t.product == product);
        if let Some(term) = found {
            let room = limit.amount - term.per_use;
            if room < 0.0 {
                return 0.0;
            }
            if term.per_kg > 0.0 {
                most = most.min(room / term.per_kg);
            }
        }
    }
    most
}
