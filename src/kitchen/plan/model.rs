//! The planning problem, or a stretch of its sessions, as a mixed-integer program in the strong form.
//!
//! A kilogram of a bucket made in a session needs the product's set-up there (`q[bucket, session] ≤ kg · used`), the
//! product its group's, the group an open session: the facility-location form, whose relaxation is much tighter than that
//! of the form with stock carried from session to session. Loads that need not be whole are counted with care to either
//! side: high for a plan, so that it fits when they are rounded up; low for a bound.

use super::cost::part_of;
use super::instance::{Instance, Plan, Work};
use super::lp::{Lp, Sense};
use super::ties::most_kg;

/// Kilograms below which nothing is planned: dust of the arithmetic.
pub(super) const DUST_KG: f64 = 1e-6;

/// What a model may decide, and what stands already.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Window<'a> {
    /// First session that may be decided.
    pub(crate) from: usize,
    /// First session that may no longer be decided.
    pub(crate) to: usize,
    /// The plan outside the window, which stands; its work inside is ignored.
    pub(crate) fixed: &'a Plan,
    /// Whether food that a session after the window can still reach may be left at no price.
    pub(crate) later_is_free: bool,
    /// Whether loads are counted low, for a bound, instead of high, for a plan.
    pub(crate) bound: bool,
}

/// What a variable decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Column {
    Open(usize),
    Group(usize, usize),
    Use(usize, usize),
    Loads(usize, usize),
    Put {
        bucket: usize,
        product: usize,
        session: usize,
    },
    Overtime(usize),
    Waste(usize),
}

impl Column {
    /// Returns the session the variable belongs to, if to one.
    pub(crate) fn session(self) -> Option<usize> {
        match self {
            Self::Open(k) | Self::Overtime(k) => Some(k),
            Self::Group(_, k) | Self::Use(_, k) | Self::Loads(_, k) => Some(k),
            Self::Put { session, .. } => Some(session),
            Self::Waste(_) => None,
        }
    }
}

/// A program with the meaning of its variables.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    pub(crate) lp: Lp,
    pub(crate) columns: Vec<Column>,
}

/// One product in one session, while the model is built.
pub(super) struct Making {
    pub(super) product: usize,
    pub(super) used: usize,
    pub(super) loads: Option<usize>,
    /// Variable, bucket, most kg.
    pub(super) puts: Vec<(usize, usize, f64)>,
}

/// Builds the program of a window.
pub(crate) fn build(instance: &Instance, window: Window<'_>) -> Model {
    let mut model = Model {
        lp: Lp::default(),
        columns: Vec::new(),
    };
    let left = left_outside(instance, window);
    let mut makings: Vec<(usize, Making)> = Vec::new();
    for session in window.from..window.to {
        let made = model.session(instance, window, session, &left);
        makings.extend(made.into_iter().map(|m| (session, m)));
    }
    model.balance(instance, window, &left);
    model.limits(instance, window, &makings);
    model
}

/// Returns what the fixed work outside the window leaves of each bucket, kg.
fn left_outside(instance: &Instance, window: Window<'_>) -> Vec<f64> {
    let mut left: Vec<f64> = instance.buckets.iter().map(|b| b.kg).collect();
    for work in outside(window) {
        for &(bucket, kg) in &work.takes {
            left[bucket] -= kg;
        }
    }
    left
}

/// Returns the fixed work outside the window.
pub(super) fn outside<'a>(window: Window<'a>) -> impl Iterator<Item = &'a Work> {
    window
        .fixed
        .work
        .iter()
        .filter(move |w| w.session < window.from || w.session >= window.to)
}

impl Model {
    fn add(&mut self, column: Column, cost: f64, upper: f64, whole: bool) -> usize {
        self.columns.push(column);
        self.lp.variable(cost, upper, whole)
    }

    /// Adds the variables and rows of one session.
    fn session(
        &mut self,
        instance: &Instance,
        window: Window<'_>,
        k: usize,
        left: &[f64],
    ) -> Vec<Making> {
        let session = &instance.sessions[k];
        if session.minutes + session.overtime <= 0.0 {
            return Vec::new();
        }
        let makings = self.makings(instance, k, left);
        if makings.is_empty() {
            return makings;
        }
        let prices = &instance.prices;
        let open = self.add(
            Column::Open(k),
            prices.session + prices.setup_min * instance.kitchen_min,
            1.0,
            true,
        );
        let late = (session.overtime > 0.0).then(|| {
            let late = self.add(
                Column::Overtime(k),
                prices.overtime_min,
                session.overtime,
                false,
            );
            let terms = vec![(late, 1.0), (open, -session.overtime)];
            self.lp.row(terms, Sense::Le, 0.0);
            late
        });
        let mut hand = vec![(open, instance.kitchen_min - session.hands * session.minutes)];
        hand.extend(late.map(|late| (late, -session.hands)));
        for group in 0..instance.groups.len() {
            let of_group = |m: &&Making| instance.products[m.product].group == group;
            if !makings.iter().any(|m| of_group(&m)) {
                continue;
            }
            let setup = instance.groups[group].setup_min;
            let set = self.add(Column::Group(group, k), prices.setup_min * setup, 1.0, true);
            self.lp.row(vec![(set, 1.0), (open, -1.0)], Sense::Le, 0.0);
            hand.push((set, setup));
            for making in makings.iter().filter(of_group) {
                let terms = vec![(making.used, 1.0), (set, -1.0)];
                self.lp.row(terms, Sense::Le, 0.0);
            }
        }
        for making in &makings {
            self.product_rows(instance, making, &mut hand, window.bound, k);
        }
        self.lp.row(hand, Sense::Le, 0.0);
        self.appliance_rows(instance, window, k, open, late, &makings);
        makings
    }

    /// Adds, for each product with food in reach, its use and what goes into it.
    fn makings(&mut self, instance: &Instance, k: usize, left: &[f64]) -> Vec<Making> {
        let mut makings = Vec::new();
        let prices = &instance.prices;
        for (p, product) in instance.products.iter().enumerate() {
            let most = most_kg(instance, p);
            let takes: Vec<(usize, f64)> = (instance.buckets.iter().enumerate())
                .filter(|(b, bucket)| {
                    left[*b] > DUST_KG
                        && product.parts.iter().any(|part| part.food == bucket.food)
                        && (instance.reach(bucket, product))
                            .is_some_and(|(first, last)| (first..=last).contains(&k))
                })
                .map(|(b, _)| (b, left[b].min(most)))
                .collect();
            let all: f64 = takes.iter().map(|(_, kg)| kg).sum();
            if all < product.least_kg.max(DUST_KG) || most < product.least_kg.max(DUST_KG) {
                continue;
            }
            let used = self.add(
                Column::Use(p, k),
                prices.setup_min * product.setup_min,
                1.0,
                true,
            );
            let loads = product.appliance.filter(|a| a.whole).map(|a| {
                let session = &instance.sessions[k];
                let by_clock = (session.minutes + session.overtime) / a.load_min;
                let per_kg = product.parts.iter().map(|part| part.loads_per_kg);
                let by_food = all.min(most) * per_kg.fold(0.0, f64::max);
                let most_loads = by_food.ceil().min(by_clock.floor()).max(1.0);
                self.add(Column::Loads(p, k), 0.0, most_loads, true)
            });
            let puts = takes
                .into_iter()
                .map(|(bucket, kg)| {
                    let age = (instance.sessions[k].day - instance.buckets[bucket].best_day).max(0);
                    let price = prices.stale_kg_day * f64::from(age) + product.dislike_per_kg;
                    let column = Column::Put {
                        bucket,
                        product: p,
                        session: k,
                    };
                    let put = self.add(column, price, kg, false);
                    self.lp.row(vec![(put, 1.0), (used, -kg)], Sense::Le, 0.0);
                    (put, bucket, kg)
                })
                .collect();
            makings.push(Making {
                product: p,
                used,
                loads,
                puts,
            });
        }
        makings
    }

    /// Adds a product's own rows in one session and its share of the hand minutes.
    fn product_rows(
        &mut self,
        instance: &Instance,
        making: &Making,
        hand: &mut Vec<(usize, f64)>,
        bound: bool,
        k: usize,
    ) {
        let product = &instance.products[making.product];
        let food = |bucket: usize| instance.buckets[bucket].food;
        let part = |bucket: usize| part_of(instance, making.product, food(bucket));
        let mut fixed = product.setup_min;
        if !bound {
            fixed += product.container.step * product.container.minutes;
        }
        let mut per_load = 0.0;
        if let Some(a) = product.appliance {
            if let Some(loads) = making.loads {
                hand.push((loads, a.hand_min));
                let mut terms: Vec<_> = (making.puts.iter())
                    .filter_map(|&(q, b, _)| Some((q, part(b)?.loads_per_kg)))
                    .collect();
                terms.push((loads, -1.0));
                self.lp.row(terms, Sense::Le, 0.0);
                self.lp
                    .row(vec![(loads, -1.0), (making.used, 1.0)], Sense::Le, 0.0);
            } else {
                per_load = a.hand_min;
                fixed += if bound { 0.0 } else { a.hand_min };
            }
        }
        hand.push((making.used, fixed));
        let filling = product.container.minutes / product.container.kg;
        let rates: Vec<(usize, f64)> = (making.puts.iter())
            .filter_map(|&(q, bucket, _)| {
                let part = part(bucket)?;
                let rate = part.minutes_per_kg + filling + per_load * part.loads_per_kg;
                Some((q, rate))
            })
            .collect();
        hand.extend(&rates);
        // No more than the session holds beside the set-ups this product alone needs.
        let session = &instance.sessions[k];
        let room = session.hands * (session.minutes + session.overtime)
            - instance.kitchen_min
            - instance.groups[product.group].setup_min
            - fixed;
        let most: f64 = (rates.iter().zip(&making.puts))
            .map(|((_, rate), (.., kg))| rate * kg)
            .sum();
        if most > room {
            let mut terms = rates;
            terms.push((making.used, -room.max(0.0)));
            self.lp.row(terms, Sense::Le, 0.0);
        }
        if product.least_kg > 0.0 {
            let mut terms: Vec<_> = making.puts.iter().map(|&(q, ..)| (q, 1.0)).collect();
            terms.push((making.used, -product.least_kg));
            self.lp.row(terms, Sense::Ge, 0.0);
        }
        if product.parts.len() > 1 {
            for part in &product.parts {
                let share = |limit: f64| -> Vec<(usize, f64)> {
                    let factor = |bucket| f64::from(u8::from(food(bucket) == part.food)) - limit;
                    let terms = making.puts.iter().map(|&(q, b, _)| (q, factor(b)));
                    terms.filter(|(_, factor)| *factor != 0.0).collect()
                };
                if part.least > 0.0 {
                    self.lp.row(share(part.least), Sense::Ge, 0.0);
                }
                if part.greatest < 1.0 {
                    self.lp.row(share(part.greatest), Sense::Le, 0.0);
                }
            }
        }
    }

    /// Adds what becomes of each bucket: put by in the window, or lost, or left for later.
    fn balance(&mut self, instance: &Instance, window: Window<'_>, left: &[f64]) {
        let mut takes: Vec<Vec<(usize, f64)>> = vec![Vec::new(); instance.buckets.len()];
        for (variable, column) in self.columns.iter().enumerate() {
            if let Column::Put { bucket, .. } = column {
                takes[*bucket].push((variable, 1.0));
            }
        }
        for (bucket, mut terms) in takes.into_iter().enumerate() {
            if terms.is_empty() {
                continue;
            }
            let food = &instance.buckets[bucket];
            let later = window.later_is_free
                && instance.products.iter().any(|product| {
                    product.parts.iter().any(|part| part.food == food.food)
                        && (instance.reach(food, product))
                            .is_some_and(|(_, last)| last >= window.to)
                });
            let price = if later { 0.0 } else { food.loss_per_kg };
            let kg = left[bucket];
            let waste = self.add(Column::Waste(bucket), price, kg, false);
            terms.push((waste, 1.0));
            self.lp.row(terms, Sense::Eq, kg);
        }
    }
}
