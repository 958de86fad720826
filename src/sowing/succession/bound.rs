//! A cost that no plan undercuts: the same problem with lengths that need not be whole and beds of a kind thrown together.
//!
//! The mean of some seasons is never dearer than the mean of their costs, because every cost bends upwards. So seasons that
//! are alike are put together and each group is one mean season of the program: the more groups, the closer the bound and
//! the dearer. With whole lengths and every season by itself it is the problem itself, for checking the search on
//! small ones.

use super::ground::{Ground, Stay};
use super::grouped::grouped;
use super::offer::{Field, Offer};
use crate::kitchen::plan::lp::{Budget, Lp, Sense};

/// Groups of seasons that are thought of.
const GROUPS: [usize; 6] = [25, 12, 8, 5, 3, 1];
/// Weeks in which something is given, times groups by groups, that may be looked at; about a second of work.
const WORK: usize = 1_300_000;
/// Containers beyond which there is no limit.
const PLENTY: f64 = 1e5;

/// A linear program and a cost that no choice changes.
#[derive(Debug, Clone, Default)]
pub(crate) struct Program {
    pub(crate) lp: Lp,
    pub(crate) constant: f64,
}

impl Program {
    fn variable(&mut self, cost: f64, upper: f64, whole: bool) -> usize {
        self.lp.variable(cost, upper, whole)
    }
    fn row(&mut self, terms: Vec<(usize, f64)>, sense: Sense, rhs: f64) {
        self.lp.row(terms, sense, rhs);
    }
}

/// Returns the program of a field, the variable of each offer first; whole lengths if asked for.
#[cfg(test)]
pub(crate) fn program(field: Field, whole: bool) -> Program {
    let all = field.problem.seasons;
    let shares = vec![1.0 / all.max(1) as f64; all];
    program_of(field, &shares, &super::grouped::hours(field.problem), whole)
}

fn program_of(field: Field, shares: &[f64], hours: &[f64], whole: bool) -> Program {
    let p = field.problem;
    let mut lp = Program::default();
    let most = f64::from(field.limits.units);
    let freed = freed(field);
    for offer in field.offers {
        let units = |room: f64| (room / offer.m2 + 1e-9).floor();
        let capacity: f64 = kind_rooms(&freed, offer)
            .map(|room| if offer.m2 > 0.0 { units(room) } else { most })
            .sum();
        let sowing = if whole {
            0.0
        } else {
            p.prices.sowing / units_of(&freed, field, offer)
        };
        lp.variable(p.prices.ground * offer.m2 + sowing, capacity, whole);
    }
    for removal in field.removals {
        lp.variable(removal.price, 1.0, whole);
    }
    rooms(field, &mut lp);
    limits(field, whole, &mut lp);
    for (season, share) in shares.iter().enumerate() {
        live(field, season, *share, hours, &mut lp);
    }
    lp
}

/// Returns how many groups of seasons a field's bound is worked out from; none if it is too large.
pub(crate) fn groups(field: Field) -> Option<usize> {
    let responses = field.offers.iter().flat_map(|o| &o.responses);
    let weeks: usize = responses.map(|r| r.span).sum();
    let size = weeks + field.problem.sources.len() * field.problem.weeks;
    GROUPS
        .into_iter()
        .find(|groups| groups * groups * size <= WORK)
}

/// Returns a cost that no plan of a field undercuts, from so many groups of seasons.
pub(crate) fn bound(field: Field, groups: usize) -> Option<f64> {
    let g = grouped(field, groups);
    let means = Field {
        problem: &g.problem,
        offers: &g.offers,
        removals: &g.removals,
        ..field
    };
    let lp = program_of(means, &g.shares, &g.hours, false);
    lp.lp
        .solve(Budget { nodes: 0, gap: 0.0 }, None)?
        .best
        .map(|b| b.1 + lp.constant)
}

/// The beds with all cleared that could be.
fn freed(field: Field) -> Vec<(bool, Ground)> {
    let mut beds: Vec<(bool, Ground)> = field.beds.iter().map(|b| (false, b.clone())).collect();
    for removal in field.removals {
        let (touched, bed) = &mut beds[removal.bed];
        *touched = true;
        let stay: &mut Stay = &mut bed.stays[removal.stay];
        *stay = removal.left(stay);
    }
    beds
}

/// Most units of an offer in one sowing: its price is spread over them.
fn units_of(freed: &[(bool, Ground)], field: Field, offer: &Offer) -> f64 {
    let most = f64::from(field.limits.units);
    let largest = kind_rooms(freed, offer).fold(0.0, f64::max);
    if offer.m2 > 0.0 {
        (largest / offer.m2 + 1e-9).floor().clamp(1.0, most)
    } else {
        most
    }
}

/// Room for an offer in each bed of its kind. What may follow what is not asked where something could be cleared.
fn kind_rooms<'f>(beds: &'f [(bool, Ground)], offer: &'f Offer) -> impl Iterator<Item = f64> + 'f {
    let beds = beds.iter().filter(|(_, b)| b.kind == offer.kind);
    beds.filter(|(touched, b)| *touched || b.welcomes(&offer.stay(1)))
        .map(|(_, b)| b.room(offer.from, offer.until))
}

/// No more ground of a kind than there is, on each day on which something may come.
fn rooms(field: Field, lp: &mut Program) {
    let mut days: Vec<(usize, i32)> = field.offers.iter().map(|o| (o.kind, o.from)).collect();
    days.sort_unstable();
    days.dedup();
    for (kind, day) in days {
        let beds = field.beds.iter().filter(|b| b.kind == kind);
        let room: f64 = beds.map(|b| b.room(day, day + 1)).sum();
        let offers = field.offers.iter().enumerate();
        let mut terms: Vec<(usize, f64)> = offers
            .filter(|(_, o)| o.kind == kind && o.from <= day && day < o.until && o.m2 > 0.0)
            .map(|(k, o)| (k, o.m2))
            .collect();
        for (k, r) in field.removals.iter().enumerate() {
            let stay = &field.beds[r.bed].stays[r.stay];
            if field.beds[r.bed].kind == kind && (r.at..stay.until).contains(&day) {
                terms.push((field.offers.len() + k, -stay.m2));
            }
        }
        if room.is_finite() {
            lp.row(terms, Sense::Le, room);
        }
    }
}

/// No more sowings than there may be, and each planting cleared once.
fn limits(field: Field, whole: bool, lp: &mut Program) {
    let most = f64::from(field.limits.units);
    let counts: Vec<(usize, f64)> = (0..field.offers.len())
        .map(|k| {
            if whole {
                let sown = lp.variable(field.problem.prices.sowing, 1.0, true);
                let upper = lp.lp.upper[k].min(most);
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
    let mut plantings: Vec<usize> = field.removals.iter().map(|r| r.planting).collect();
    plantings.dedup();
    for planting in plantings {
        let same = field.removals.iter().enumerate();
        let terms: Vec<(usize, f64)> = same
            .filter(|(_, r)| r.planting == planting)
            .map(|(k, _)| (field.offers.len() + k, 1.0))
            .collect();
        if terms.len() > 1 {
            lp.row(terms, Sense::Le, 1.0);
        }
    }
}

/// One season: what is eaten, put by and given of what there is.
///
/// Food that can only be eaten or given away is balanced against its want as a whole; where nothing of it is wanted either,
/// it is given away and costs what that costs.
fn live(field: Field, season: usize, share: f64, hours_of: &[f64], lp: &mut Program) {
    let p = field.problem;
    let unlimited = f64::INFINITY;
    let mut made: Vec<Vec<(usize, f64)>> = vec![Vec::new(); p.goals.len()];
    let mut hours: Vec<Vec<(usize, f64)>> = vec![Vec::new(); p.weeks];
    let gives = given(field, season);
    let there = |c: usize, w: usize| p.there[(season * p.sources.len() + c) * p.weeks + w];
    for (want, needs) in p.wants.iter().enumerate() {
        let sources: Vec<usize> = (0..p.sources.len())
            .filter(|c| p.sources[*c].want == want)
            .collect();
        if sources.is_empty() {
            continue;
        }
        for (week, need) in needs.iter().enumerate() {
            // What may be eaten of the want, as terms and as a constant.
            let mut terms: Vec<(usize, f64)> = Vec::new();
            let mut constant = 0.0;
            for &c in &sources {
                let routes = p.sources[c].routes.iter();
                let open = routes.filter(|r| week < p.goals[r.goal].until);
                let puts: Vec<(usize, f64, f64)> = open
                    .map(|r| (r.goal, 1.0 / r.kg_per_container, r.hours_per_kg))
                    .collect();
                if puts.is_empty() {
                    terms.extend_from_slice(&gives[c][week]);
                    constant += there(c, week);
                    continue;
                }
                if there(c, week) <= 0.0 && gives[c][week].is_empty() {
                    continue;
                }
                let mut balance = gives[c][week].clone();
                for (goal, containers, hours_per_kg) in puts {
                    let put = lp.variable(0.0, unlimited, false);
                    made[goal].push((put, containers));
                    hours[week].push((put, hours_per_kg));
                    balance.push((put, -1.0));
                }
                // The rest is eaten or given away.
                let rest = lp.variable(0.0, unlimited, false);
                balance.push((rest, -1.0));
                lp.row(balance, Sense::Eq, -there(c, week));
                terms.push((rest, 1.0));
            }
            let surplus = share * p.prices.surplus;
            if *need > 0.0 {
                let mut terms = summed(terms);
                terms.push((lp.variable(share * p.prices.short, unlimited, false), 1.0));
                terms.push((lp.variable(surplus, unlimited, false), -1.0));
                lp.row(terms, Sense::Eq, need - constant);
            } else {
                lp.constant += surplus * constant;
                for (variable, kg) in terms {
                    lp.lp.cost[variable] += surplus * kg;
                }
            }
        }
    }
    let routes = || p.sources.iter().flat_map(|s| &s.routes);
    for (g, (goal, mut terms)) in p.goals.iter().zip(made).enumerate() {
        // What no crop alone can make is not the plan's business.
        if goal.counts && routes().any(|r| r.goal == g) {
            let price = share * p.prices.goal * goal.kg_per_container;
            terms.push((lp.variable(price, unlimited, false), 1.0));
            lp.row(terms, Sense::Eq, goal.containers);
        } else if goal.containers < PLENTY && !terms.is_empty() {
            lp.row(terms, Sense::Le, goal.containers);
        }
    }
    if p.prices.hour_over > 0.0 {
        for (week, mut terms) in hours.into_iter().enumerate() {
            if !terms.is_empty() {
                let price = share * p.prices.hour_over;
                terms.push((lp.variable(price, unlimited, false), -1.0));
                lp.row(terms, Sense::Le, hours_of[season * p.weeks + week]);
            }
        }
    }
}

/// Puts terms of the same variable together.
fn summed(mut terms: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    terms.sort_by_key(|t| t.0);
    terms.dedup_by(|later, first| {
        let same = later.0 == first.0;
        if same {
            first.1 += later.1;
        }
        same
    });
    terms
}

/// What each offer gives of each source in each week of a season, and what each removal changes.
fn given(field: Field, season: usize) -> Vec<Vec<Vec<(usize, f64)>>> {
    let p = field.problem;
    let mut gives = vec![vec![Vec::new(); p.weeks]; p.sources.len()];
    let offers = field.offers.iter().map(|o| &o.responses);
    let all = offers.chain(field.removals.iter().map(|r| &r.responses));
    for (k, responses) in all.enumerate() {
        for response in responses {
            let kg = response.of(season);
            for (w, kg) in kg.iter().enumerate().filter(|(_, kg)| **kg != 0.0) {
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
