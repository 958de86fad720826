//! From a point of the program to a plan, and from a plan to a point from which the solver may start.

use super::cost::{loads, whole_loads};
use super::instance::{Instance, Plan, Work};
use super::model::{Column, DUST_KG, Model};

impl Model {
    /// Reads a plan from a point of the program.
    pub(crate) fn plan(&self, values: &[f64]) -> Plan {
        let mut work: Vec<Work> = Vec::new();
        for (column, &kg) in self.columns.iter().zip(values) {
            let Column::Put {
                bucket,
                product,
                session,
            } = *column
            else {
                continue;
            };
            if kg <= DUST_KG {
                continue;
            }
            match work
                .iter_mut()
                .find(|w| w.session == session && w.product == product)
            {
                Some(entry) => entry.takes.push((bucket, kg)),
                None => work.push(Work {
                    session,
                    product,
                    takes: vec![(bucket, kg)],
                }),
            }
        }
        work.sort_by_key(|w| (w.session, w.product));
        for entry in &mut work {
            entry.takes.sort_by_key(|t| t.0);
        }
        Plan { work }
    }

    /// Writes the whole-numbered decisions of a plan as a point of the program, for a start.
    pub(crate) fn point(&self, instance: &Instance, plan: &Plan) -> Vec<f64> {
        let find = |product, session| {
            let mut all = plan.work.iter();
            all.find(|w| w.product == product && w.session == session)
        };
        let value = |column: &Column| match *column {
            Column::Open(k) => plan.work.iter().any(|w| w.session == k),
            Column::Group(g, k) => plan
                .work
                .iter()
                .any(|w| w.session == k && instance.products[w.product].group == g),
            Column::Use(p, k) => find(p, k).is_some(),
            _ => false,
        };
        self.columns
            .iter()
            .map(|column| match *column {
                Column::Loads(p, k) => {
                    find(p, k).map_or(0.0, |work| whole_loads(loads(instance, work)))
                }
                ref other => f64::from(u8::from(value(other))),
            })
            .collect()
    }
}
