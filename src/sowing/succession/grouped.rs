//! Seasons that are alike put together: a field of a few seasons, each the mean of some.

use super::offer::{Field, Offer, Removal};
use super::problem::{Problem, Response, Table};

/// A field of a few seasons, each the mean of some.
#[derive(Debug, Clone)]
pub(crate) struct Grouped {
    pub(crate) problem: Problem,
    pub(crate) offers: Vec<Offer>,
    pub(crate) removals: Vec<Removal>,
    /// Share of the seasons that each stands for.
    pub(crate) shares: Vec<f64>,
    /// Hours of each week for all food; seasons × weeks.
    pub(crate) hours: Vec<f64>,
}

/// Puts seasons that are alike together, into so many groups at most.
pub(crate) fn grouped(field: Field, groups: usize) -> Grouped {
    let p = field.problem;
    let members = members(field, groups);
    let mean = |kg: &[f64]| -> Vec<f64> {
        let width = kg.len() / p.seasons.max(1);
        let of_group = |group: &Vec<usize>| -> Vec<f64> {
            (0..width)
                .map(|i| {
                    let all = group.iter().map(|s| kg[s * width + i]);
                    all.sum::<f64>() / group.len() as f64
                })
                .collect()
        };
        members.iter().flat_map(of_group).collect()
    };
    let means = |responses: &[Response]| -> Vec<Response> {
        let one = |r: &Response| Response {
            kg: mean(&r.kg),
            ..r.clone()
        };
        responses.iter().map(one).collect()
    };
    Grouped {
        problem: Problem {
            seasons: members.len(),
            there: mean(&p.there),
            spare_hours: mean(&p.spare_hours),
            ..p.clone()
        },
        offers: field
            .offers
            .iter()
            .map(|o| Offer {
                responses: means(&o.responses),
                ..o.clone()
            })
            .collect(),
        removals: field
            .removals
            .iter()
            .map(|r| Removal {
                responses: means(&r.responses),
                ..r.clone()
            })
            .collect(),
        shares: members
            .iter()
            .map(|group| group.len() as f64 / p.seasons.max(1) as f64)
            .collect(),
        hours: mean(&hours(p)),
    }
}

/// Seasons in order of what they give, cut into groups of nearly one size.
fn members(field: Field, groups: usize) -> Vec<Vec<usize>> {
    let p = field.problem;
    let gives = |season: usize| -> f64 {
        let responses = field.offers.iter().flat_map(|o| &o.responses);
        responses.map(|r| r.of(season).iter().sum::<f64>()).sum()
    };
    let mut order: Vec<(f64, usize)> = (0..p.seasons).map(|s| (gives(s), s)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let groups = groups.clamp(1, p.seasons.max(1));
    (0..groups)
        .map(|g| {
            order[g * p.seasons / groups..(g + 1) * p.seasons / groups]
                .iter()
                .map(|(_, s)| *s)
                .collect()
        })
        .collect()
}

/// Hours there are for all food in each week: the spare ones and those that what stands there takes.
pub(crate) fn hours(p: &Problem) -> Vec<f64> {
    let before = Table::new(p);
    let taken = (0..p.seasons * p.weeks).map(|i| before.hours_in(i / p.weeks, i % p.weeks));
    taken.zip(&p.spare_hours).map(|(a, b)| a + b).collect()
}
