//! The search against every plan there is, on made-up small problems.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::bound::bound;
use super::ground::{Ground, Stay};
use super::improve::find;
use super::offer::{Field, Limits, Offer, Removal, Sowing};
use super::problem::{Goal, Prices, Problem, Response, Route, Source, Table};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// Problems that are made up.
const CASES: u32 = 300;

/// Every plan there is, one after the other.
///
/// At most one standing planting is there to be cleared.
pub(crate) fn all_there_is(field: Field) -> f64 {
    fn go(
        field: Field,
        removed: Option<&Removal>,
        offer: usize,
        plan: &mut Vec<Sowing>,
        beds: &mut Vec<Ground>,
    ) -> f64 {
        if offer == field.offers.len() {
            let mut table = Table::new(field.problem);
            let mut own = 0.0;
            if let Some(removal) = removed {
                // Nothing goes but for something in its place.
                let stood_until = field.beds[removal.bed].stays[removal.stay].until;
                let follows = |s: &Sowing| {
                    let from = field.offers[s.offer].from;
                    s.bed == removal.bed && (removal.at..stood_until).contains(&from)
                };
                if !plan.iter().any(follows) {
                    return f64::INFINITY;
                }
                table.apply(&removal.changes());
                own += removal.price;
            }
            for s in plan.iter() {
                let o = &field.offers[s.offer];
                table.apply(&o.changes(f64::from(s.units)));
                own += field.problem.prices.sowing
                    + field.problem.prices.ground * o.m2 * f64::from(s.units);
            }
            return table.total() + own;
        }
        let mut best = go(field, removed, offer + 1, plan, beds);
        let o = &field.offers[offer];
        let of_crop = plan
            .iter()
            .filter(|s| field.offers[s.offer].crop == o.crop)
            .count();
        if plan.len() >= field.limits.sowings || of_crop >= field.limits.of_crop[o.crop] {
            return best;
        }
        // The same offer may be sown in another bed too.
        let again = plan.last().filter(|s| s.offer == offer);
        for bed in again.map_or(0, |s| s.bed + 1)..beds.len() {
            if beds[bed].kind != o.kind || !beds[bed].welcomes(&o.stay(1)) {
                continue;
            }
            for units in 1..=field.limits.units {
                let m2 = f64::from(units) * o.m2;
                if beds[bed].room(o.from, o.until) < m2 - 1e-9 {
                    break;
                }
                beds[bed].stays.push(o.stay(units));
                plan.push(Sowing { offer, bed, units });
                best = best.min(go(field, removed, offer, plan, beds));
                plan.pop();
                beds[bed].stays.pop();
            }
        }
        best
    }
    let removals = field.removals.iter().map(Some);
    let costs = [None].into_iter().chain(removals).map(|removed| {
        let mut beds = field.beds.to_vec();
        if let Some(r) = removed {
            let stay = &mut beds[r.bed].stays[r.stay];
            *stay = r.left(stay);
        }
        go(field, removed, 0, &mut Vec::new(), &mut beds)
    });
    costs.fold(f64::INFINITY, f64::min)
}

/// A made-up small problem with goals, hours, two seasons, two crops and two beds, in one of which something stands that
/// may go early.
#[derive(Debug, Clone)]
struct Small {
    problem: Problem,
    offers: Vec<Offer>,
    removals: Vec<Removal>,
    beds: Vec<Ground>,
    limits: Limits,
}

impl Small {
    fn field(&self) -> Field<'_> {
        Field {
            problem: &self.problem,
            offers: &self.offers,
            removals: &self.removals,
            beds: &self.beds,
            limits: &self.limits,
        }
    }
}

fn small() -> impl Strategy<Value = Small> {
    let offer = (
        0..2_usize,
        0..5_usize,
        2..5_usize,
        proptest::collection::vec(0.0..2.0_f64, 8),
    );
    (
        proptest::collection::vec(offer, 5),
        proptest::collection::vec(0.0..2.0_f64, 12),
        (0.0..1.0_f64, 0.0..4.0_f64, 0.0..2.0_f64, 1..4_usize),
        (0.0..0.6_f64, 0.0..1.0_f64),
    )
        .prop_map(
            |(made, needs, (sowing, containers, hours, most), (clearing, share))| {
                let weeks = 6;
                let there: Vec<f64> = needs
                    .iter()
                    .rev()
                    .chain(&needs)
                    .map(|kg| 0.3 * kg)
                    .collect();
                // What stands gives a share of the first crop's food, season by season, and none of it from its day on.
                let less = |from: usize| Response {
                    source: 0,
                    first: from,
                    span: weeks - from,
                    kg: (0..2)
                        .flat_map(|season| {
                            let of_crop = &there[2 * season * weeks..];
                            of_crop[from..weeks]
                                .iter()
                                .map(|kg| -share * kg)
                                .collect::<Vec<_>>()
                        })
                        .collect(),
                };
                let removals = [0, 2].map(|from| Removal {
                    planting: 0,
                    bed: 0,
                    stay: 0,
                    at: 7 * from as i32 - 7,
                    price: clearing,
                    responses: vec![less(from)],
                });
                let offers: Vec<Offer> = made
                    .into_iter()
                    .map(|(crop, first, span, kg)| {
                        let span = span.min(weeks - first);
                        Offer {
                            crop,
                            family: crop,
                            kind: 0,
                            from: 7 * first as i32 - 14,
                            until: 7 * (first + span) as i32,
                            middle: 7 * (first + span) as i32,
                            m2: 1.0,
                            responses: vec![Response {
                                source: crop,
                                first,
                                span,
                                kg: kg.iter().cycle().take(2 * span).copied().collect(),
                            }],
                        }
                    })
                    .collect();
                let route = Route {
                    goal: 0,
                    kg_per_container: 0.5,
                    hours_per_kg: 0.4,
                };
                Small {
                    problem: Problem {
                        weeks,
                        seasons: 2,
                        wants: needs.chunks(weeks).map(<[f64]>::to_vec).collect(),
                        sources: (0..2)
                            .map(|want| Source {
                                want,
                                routes: vec![route],
                            })
                            .collect(),
                        goals: vec![Goal {
                            containers,
                            kg_per_container: 0.5,
                            until: 5,
                            counts: true,
                        }],
                        there: there.clone(),
                        spare_hours: vec![hours; 2 * weeks],
                        prices: Prices {
                            short: 1.0,
                            goal: 0.4,
                            surplus: 0.1,
                            hour_over: 2.0,
                            sowing,
                            ground: 0.01,
                        },
                    },
                    offers,
                    removals: removals.to_vec(),
                    beds: [2.0, 1.0]
                        .map(|m2| Ground {
                            m2,
                            kind: 0,
                            stays: vec![Stay {
                                from: -60,
                                until: 28,
                                middle: 28,
                                family: 9,
                                m2: m2 - 1.0,
                            }],
                        })
                        .to_vec(),
                    limits: Limits {
                        sowings: most,
                        of_crop: vec![2, 2],
                        units: 2,
                    },
                }
            },
        )
}

/// How far the search stays behind the best there is.
#[derive(Debug, Default)]
struct Behind {
    /// Of what the best plan saves, mean share.
    left: f64,
    /// Problems in which that is more than a hundredth.
    off: u32,
    /// Greatest share by which a plan costs more than the best.
    worst: f64,
    /// Plantings cleared.
    cleared: usize,
}

impl Behind {
    fn count(&mut self, field: Field) {
        let best = all_there_is(field);
        let search = find(field);
        let nothing = Table::new(field.problem).total();
        assert!(search.cost() >= best - 1e-9);
        let bounds = [1, 2].map(|groups| bound(field, groups).unwrap());
        assert!(bounds[0] <= bounds[1] + 1e-6 && bounds[1] <= best + 1e-6);
        let share = (search.cost() - best) / (nothing - best).max(1e-6);
        self.left += share / f64::from(CASES);
        self.off += u32::from(share > 0.01);
        self.worst = self.worst.max(search.cost() / best.max(1e-9) - 1.0);
        self.cleared += search.removed.len();
        // The table kept up to date is the table worked out anew.
        let mut anew = Table::new(field.problem);
        for r in &search.removed {
            assert!(search.followed(*r));
            anew.apply(&field.removals[*r].changes());
        }
        for s in &search.plan {
            anew.apply(&field.offers[s.offer].changes(f64::from(s.units)));
        }
        assert!((anew.total() - search.table().total()).abs() < 1e-9);
        assert!(search.plan.len() <= field.limits.sowings);
    }
}

/// On three hundred problems, the search is never better than all there is and the bound never above it. Where nothing may
/// be cleared the search is at the best nearly always; where something may, it sees nearly all of what clearing brings.
#[test]
fn near_the_best_there_is() {
    let mut runner = TestRunner::deterministic();
    let (mut standing, mut clearing) = (Behind::default(), Behind::default());
    for _ in 0..CASES {
        let small = small().new_tree(&mut runner).unwrap().current();
        clearing.count(small.field());
        standing.count(Field {
            removals: &[],
            ..small.field()
        });
    }
    let found = format!("{standing:?} {clearing:?}");
    assert!(
        standing.left <= 0.005 && standing.off <= 15 && standing.worst <= 0.05,
        "{found}"
    );
    assert!(
        clearing.left <= 0.002 && clearing.off <= 10 && clearing.worst <= 0.15,
        "{found}"
    );
    assert!(clearing.cleared >= 15, "{found}");
}
