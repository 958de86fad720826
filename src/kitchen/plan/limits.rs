//! The limits of a household in a planning problem: what goals still ask for, what is eaten in time, equipment, vessels.
//!
//! Knows no days and no food.

use super::instance::{Instance, Limit, Term};
use crate::garden::preserving::{Appliance as Vessels, Store};
use crate::kitchen::context::Context;
use crate::kitchen::wanted::Vessel;

/// Days in a month of keeping, a mean Gregorian month.
const MONTH_DAYS: f64 = 365.2425 / 12.0;

/// Adds what goals still ask for; goals that share a product are asked for together.
pub(super) fn add_goals(ctx: &Context, instance: &mut Instance, products: &[u16]) {
    let place = |p: u16| products.iter().position(|&q| q == p);
    let mut together: Vec<(Vec<u16>, f64, String)> = Vec::new();
    for goal in &ctx.goals {
        let named = (goal.products.iter())
            .map(|&p| ctx.products[usize::from(p)].name.as_str())
            .collect::<Vec<_>>()
            .join(" or ");
        let mut joined = (goal.products.clone(), goal.to_make, named);
        together.retain(|other| {
            let shares = other.0.iter().any(|p| joined.0.contains(p));
            if shares {
                joined
                    .0
                    .extend(other.0.iter().filter(|p| !goal.products.contains(p)));
                joined.1 += other.1;
            }
            !shares
        });
        together.push(joined);
    }
    for (products, amount, name) in together {
        let mut terms = Vec::new();
        for &p in &products {
            let product = &ctx.products[usize::from(p)];
            if product.rotation.is_some() {
                continue;
            }
            let mut term = |q: u16, kg: f64| {
                terms.extend(place(q).map(|product| Term {
                    product,
                    per_kg: 1.0 / kg,
                    per_use: 0.0,
                    days: None,
                }));
            };
            term(p, product.kg_per_container);
            if let Some(gatherer) = product.gathered_by.filter(|g| !products.contains(g)) {
                term(gatherer, product.kg_per_container);
            }
        }
        push_limit(instance, format!("goal: {name}"), terms, amount);
    }
    for (p, product) in ctx.products.iter().enumerate() {
        let index = u16::try_from(p).unwrap_or(u16::MAX);
        if let (Some(rotation), Some(product_at)) = (product.rotation, place(index)) {
            let term = Term {
                product: product_at,
                per_kg: 1.0 / product.kg_per_container,
                per_use: 0.0,
                days: Some(whole_days(product.last_months * MONTH_DAYS)),
            };
            let name = format!("eaten in time: {}", product.name);
            let room = rotation - product.stock_now();
            push_limit(instance, name, vec![term], room);
        }
    }
}

fn whole_days(days: f64) -> i32 {
    days.ceil().clamp(1.0, 4000.0) as i32
}

fn push_limit(instance: &mut Instance, name: String, terms: Vec<Term>, amount: f64) {
    if amount.is_finite() && !terms.is_empty() {
        instance.limits.push(Limit {
            name,
            terms,
            amount: amount.max(0.0),
        });
    }
}

/// Adds trays, dryer, crocks, the freezer's intake and room, jars, lids and bags.
pub(super) fn add_equipment(ctx: &Context, instance: &mut Instance, products: &[u16]) {
    let e = &ctx.equipment;
    let terms = |of: &dyn Fn(usize) -> Option<(f64, f64, Option<i32>)>| -> Vec<Term> {
        let each = products.iter().enumerate().filter_map(|(product, &p)| {
            let (per_kg, per_use, days) = of(usize::from(p))?;
            Some(Term {
                product,
                per_kg,
                per_use,
                days,
            })
        });
        each.collect()
    };
    let on = |p: usize, a: Vessels| ctx.rates[p].appliance == a;
    let busy = |p: usize| Some(whole_days(ctx.products[p].busy_h / 24.0));
    let frozen = |p: usize| ctx.products[p].store == Store::Freezer;
    let per = |p: usize| ctx.products[p].kg_per_container;
    let vessel = |p: usize, v: Vessel| ctx.products[p].vessel == v;
    let room_taken: f64 = (ctx.products.iter())
        .filter(|p| p.store == Store::Freezer)
        .map(|p| p.stock_now() * p.room_l)
        .sum();
    let rows: [(&str, Vec<Term>, f64); 8] = [
        (
            "freezer trays",
            terms(&|p| on(p, Vessels::Tray).then_some((1.0, 0.0, Some(1)))),
            e.trays_kg,
        ),
        (
            "dryer",
            terms(&|p| on(p, Vessels::Dryer).then_some((1.0, 0.0, busy(p)))),
            e.dryer_kg,
        ),
        (
            "crocks",
            terms(&|p| on(p, Vessels::Crock).then_some((0.0, 1.0, busy(p)))),
            e.crocks as f64,
        ),
        (
            "what the freezer takes in a day",
            terms(&|p| frozen(p).then(|| (ctx.products[p].packed_kg / per(p), 0.0, Some(1)))),
            e.freezer_kg_per_day,
        ),
        (
            "room in the freezer",
            terms(&|p| frozen(p).then(|| (ctx.products[p].room_l / per(p), 0.0, None))),
            e.freezer_l - room_taken,
        ),
        (
            "jars",
            terms(&|p| vessel(p, Vessel::Jar).then(|| (1.0 / per(p), 0.0, None))),
            e.jars,
        ),
        (
            "lids",
            terms(&|p| {
                (vessel(p, Vessel::Jar) && ctx.products[p].canned)
                    .then(|| (1.0 / per(p), 0.0, None))
            }),
            e.lids,
        ),
        (
            "bags",
            terms(&|p| vessel(p, Vessel::Bag).then(|| (1.0 / per(p), 0.0, None))),
            e.bags,
        ),
    ];
    for (name, terms, amount) in rows {
        push_limit(instance, name.to_owned(), terms, amount);
    }
}
