//! The rows of a program for pot and canner: a first filling, then one load after another within the session.

use super::cost::part_of;
use super::instance::{Appliance, Instance};
use super::lp::Sense;
use super::model::{Making, Model, Window};

impl Model {
    /// Adds the clock of each appliance: its first filling, then its loads one after another.
    pub(super) fn appliance_rows(
        &mut self,
        instance: &Instance,
        window: Window<'_>,
        k: usize,
        open: usize,
        late: Option<usize>,
        makings: &[Making],
    ) {
        let session = &instance.sessions[k];
        for which in 0..instance.appliances {
            let on: Vec<(&Making, Appliance)> = makings
                .iter()
                .filter_map(|m| Some((m, instance.products[m.product].appliance?)))
                .filter(|(_, a)| a.which == which)
                .collect();
            let mut running = Vec::new();
            for (making, a) in &on {
                if let Some(loads) = making.loads {
                    running.push((loads, a.load_min));
                } else {
                    running.extend(making.puts.iter().filter_map(|&(q, b, _)| {
                        let food = instance.buckets[b].food;
                        let part = part_of(instance, making.product, food)?;
                        Some((q, a.load_min * part.loads_per_kg))
                    }));
                    if !window.bound {
                        running.push((making.used, a.load_min));
                    }
                }
            }
            running.push((open, -session.minutes));
            running.extend(late.map(|late| (late, -1.0)));
            let least_first = on
                .iter()
                .map(|(m, a)| first_filling(instance, m, *a, true))
                .fold(f64::INFINITY, f64::min);
            for (making, a) in &on {
                let first = if window.bound {
                    least_first
                } else {
                    first_filling(instance, making, *a, false)
                };
                let mut terms = running.clone();
                match terms.iter_mut().find(|(v, _)| *v == making.used) {
                    Some(term) => term.1 += first / session.hands,
                    None => terms.push((making.used, first / session.hands)),
                }
                self.lp.row(terms, Sense::Le, 0.0);
            }
        }
    }
}

/// Returns hand minutes until the first load of a product is in: at least for a bound, at most for a plan.
fn first_filling(instance: &Instance, making: &Making, a: Appliance, least: bool) -> f64 {
    let product = &instance.products[making.product];
    let setup = instance.kitchen_min
        + instance.groups[product.group].setup_min
        + product.setup_min
        + a.hand_min;
    if least {
        return setup;
    }
    let container = &product.container;
    let filling = if a.filled_first {
        container.minutes
    } else {
        0.0
    };
    let kg = making.puts.iter().map(|(.., kg)| kg).sum::<f64>();
    // At most one load, and at most all there is; of a mixture the slowest food counts.
    let most = (product.parts.iter())
        .map(|part| {
            let load_kg = 1.0 / part.loads_per_kg.max(1e-9);
            kg.min(load_kg) * (part.minutes_per_kg + filling / container.kg)
        })
        .fold(0.0, f64::max);
    setup + most + filling * container.step
}
