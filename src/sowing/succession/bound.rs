//! A cost that no plan undercuts: the same problem with lengths that need not be whole and beds of a kind thrown together.
//!
//! The mean season is never dearer than the mean of the seasons, because every cost bends upwards; so the bound of the
//! mean season holds for all of them together too, only less closely. With whole lengths it is the problem itself, for
//! checking the search on small ones.

use super::offer::{Field, Offer};
use super::problem::{Problem, Response, Table};
use crate::kitchen::plan::lp::{Budget, Lp, Sense};

/// Returns the problem of the mean season.
pub(crate) fn mean_problem(problem: &Problem) -> Problem {
    let seasons = problem.seasons.max(1);
    let width = problem.sources.len() * problem.weeks;
    let there = (0..width)
        .map(|i| {
            let all = (0..problem.seasons).map(|s| problem.there[s * width + i]);
            all.sum::<f64>() / seasons as f64
        })
        .collect();
    Problem {
        seasons: 1,
        there,
        ..problem.clone()
    }
}

/// Returns the offers as they are in the mean season.
pub(crate) fn mean_offers(offers: &[Offer], seasons: usize) -> Vec<Offer> {
    let mean = |r: &Response| Response {
        kg: (0..r.span)
            .map(|w| {
                let all = (0..seasons).map(|s| r.kg[s * r.span + w]);
                all.sum::<f64>() / seasons.max(1) as f64
            })
            .collect(),
        ..r.clone()
    };
    offers
        .iter()
        .map(|o| Offer {
            responses: o.responses.iter().map(mean).collect(),
            ..o.clone()
        })
        .collect()
}

/// Returns the program of a field, the variable of each offer first; whole lengths if asked for.
pub(crate) fn program(field: Field, whole: bool) -> Lp {
    let p = field.problem;
    let mut lp = Lp::default();
    let most = f64::from(field.limits.units);
    for offer in field.offers {
        let capacity: f64 = kind_rooms(field, offer)
            .map(|room| {
                if offer.m2 > 0.0 {
                    (room / offer.m2 + 1e-9).floor()
                } else {
                    most
                }
            })
            .sum();
        let sowing = if whole { 0.0 } else { p.prices.sowing / most };
        lp.variable(p.prices.ground * offer.m2 + sowing, capacity, whole);
    }
    rooms(field, &mut lp);
    limits(field, whole, &mut lp);
    for season in 0..p.seasons {
        live(field, season, &mut lp);
    }
    lp
}

/// Returns the bound of a field's mean season.
pub(crate) fn bound(field: Field) -> Option<f64> {
    let problem = mean_problem(field.problem);
    let offers = mean_offers(field.offers, field.problem.seasons);
    let mean = Field {
        problem: &problem,
        offers: &offers,
        ..field
    };
    let budget = Budget { nodes: 0, gap: 0.0 };
    program(mean, false).solve(budget, None)?.best.map(|b| b.1)
}

/// Room for an offer in each bed of its kind.
fn kind_rooms<'f>(field: Field<'f>, offer: &'f Offer) -> impl Iterator<Item = f64> + 'f {
    let beds = field.beds.iter().filter(|b| b.kind == offer.kind);
    beds.filter(|b| b.welcomes(&offer.stay(1)))
        .map(|b| b.room(offer.from, offer.until))
}

/// No more ground of a kind than there is, on each day on which something may come.
fn rooms(field: Field, lp: &mut Lp) {
    let mut days: Vec<(usize, i32)> = field.offers.iter().map(|o| (o.kind, o.from)).collect();
    days.sort_unstable();
    days.dedup();
    for (kind, day) in days {
        let beds = field.beds.iter().filter(|b| b.kind == kind);
        let room: f64 = beds.map(|b| b.room(day, day + 1)).sum();
        let offers = field.offers.iter().enumerate();
        let terms: Vec<(usize, f64)> = offers
            .filter(|(_, o)| o.kind == kind && o.from <= day && day < o.until && o.m2 > 0.0)
            .map(|(k, o)| (k, o.m2))
            .collect();
        if room.is_finite() {
            lp.row(terms, Sense::Le, room);
        }
    }
}

/// No more sowings than there may be.
fn limits(field: Field, whole: bool, lp: &mut Lp) {
    let most = f64::from(field.limits.units);
    let counts: Vec<(usize, f64)> = (0..field.offers.len())
        .map(|k| {
            if whole {
                let sown = lp.variable(field.problem.prices.sowing, 1.0, true);
                let upper = lp.upper[k].min(most);
                lp.row(vec![(k, 1.0), (sown, -upper)], Sense::Le, 0.0);
                (sown, 1.0)
            } else {
                (k, 1.0 / most)
            }
        })
        .collect();
    if field.limits.sowings < usize::MAX {
        lp.row(counts.clone(), Sense::Le, field.limits.sowings as f64);
    }
    for (crop, limit) in field.limits.of_crop.iter().enumerate() {
        let offers = field.offers.iter().zip(&counts);
        let terms: Vec<(usize, f64)> = offers
            .filter(|(o, _)| o.crop == crop)
            .map(|(_, count)| *count)
            .collect();
        if *limit < usize::MAX && !terms.is_empty() {
            lp.row(terms, Sense::Le, *limit as f64);
        }
    }
}

/// One season: what is eaten, put by and given of what there is.
fn live(field: Field, season: usize, lp: &mut Lp) {
    let p = field.problem;
    let share = 1.0 / p.seasons.max(1) as f64;
    let unlimited = f64::INFINITY;
    let mut eaten: Vec<Vec<(usize, f64)>> = vec![Vec::new(); p.wants.len() * p.weeks];
    let mut made: Vec<Vec<(usize, f64)>> = vec![Vec::new(); p.goals.len()];
    let mut hours: Vec<Vec<(usize, f64)>> = vec![Vec::new(); p.weeks];
    let gives: Vec<Vec<Vec<(usize, f64)>>> = given(field, season);
    for (c, source) in p.sources.iter().enumerate() {
        for week in 0..p.weeks {
            let there = p.there[(season * p.sources.len() + c) * p.weeks + week];
            let from = &gives[c][week];
            if there <= 0.0 && from.is_empty() {
                continue;
            }
            let mut balance = from.clone();
            if p.wants[source.want][week] > 0.0 {
                let eat = lp.variable(0.0, unlimited, false);
                eaten[source.want * p.weeks + week].push((eat, 1.0));
                balance.push((eat, -1.0));
            }
            for route in source
                .routes
                .iter()
                .filter(|r| week < p.goals[r.goal].until)
            {
                let put = lp.variable(0.0, unlimited, false);
                made[route.goal].push((put, 1.0 / route.kg_per_container));
                hours[week].push((put, route.hours_per_kg));
                balance.push((put, -1.0));
            }
            let give = lp.variable(share * p.prices.surplus, unlimited, false);
            balance.push((give, -1.0));
            lp.row(balance, Sense::Eq, -there);
        }
    }
    for (i, mut terms) in eaten.into_iter().enumerate() {
        let need = p.wants[i / p.weeks.max(1)][i % p.weeks.max(1)];
        if need > 0.0 {
            terms.push((lp.variable(share * p.prices.short, unlimited, false), 1.0));
            lp.row(terms, Sense::Eq, need);
        }
    }
    for (goal, mut terms) in p.goals.iter().zip(made) {
        let missing = if goal.counts { p.prices.goal } else { 0.0 };
        let price = share * missing * goal.kg_per_container;
        terms.push((lp.variable(price, unlimited, false), 1.0));
        lp.row(terms, Sense::Eq, goal.containers);
    }
    if p.prices.hour_over > 0.0 {
        let before = Table::new(p);
        for (week, mut terms) in hours.into_iter().enumerate() {
            terms.push((
                lp.variable(share * p.prices.hour_over, unlimited, false),
                -1.0,
            ));
            let had = before.hours_in(season, week);
            lp.row(
                terms,
                Sense::Le,
                had + p.spare_hours[season * p.weeks + week],
            );
        }
    }
}

/// What each offer gives of each source in each week of a season.
fn given(field: Field, season: usize) -> Vec<Vec<Vec<(usize, f64)>>> {
    let p = field.problem;
    let mut gives = vec![vec![Vec::new(); p.weeks]; p.sources.len()];
    for (k, offer) in field.offers.iter().enumerate() {
        for response in &offer.responses {
            let kg = &response.kg[season * response.span..(season + 1) * response.span];
            for (w, kg) in kg.iter().enumerate().filter(|(_, kg)| **kg > 0.0) {
                let terms: &mut Vec<(usize, f64)> = &mut gives[response.source][response.first + w];
                match terms.last_mut() {
                    Some(last) if last.0 == k => last.1 += kg,
                    _ => terms.push((k, *kg)),
                }
            }
        }
    }
    gives
}
