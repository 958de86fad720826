//! Where one season of one group of crops is worked out: what comes, what is put by of it, in which hours.
//!
//! Knows no costs and no plans.

use super::problem::{Change, Problem, Source, Table};

/// Room to work a season out.
pub(crate) struct Desk {
    /// Crops of the group in hand, each with its weeks, kg.
    pub(crate) kg: Vec<f64>,
    /// Hours of each week.
    pub(crate) hours: Vec<f64>,
    /// Containers made of each goal.
    pub(crate) made: Vec<f64>,
}

impl Desk {
    pub(crate) fn new(problem: &Problem) -> Self {
        Self {
            kg: vec![0.0; problem.sources.len() * problem.weeks],
            hours: vec![0.0; problem.weeks],
            made: vec![0.0; problem.goals.len()],
        }
    }

    /// Lays out what the members of a group give, changes included; never less than nothing.
    pub(crate) fn lay(
        &mut self,
        p: &Problem,
        table: &Table,
        members: &[usize],
        season: usize,
        changes: &[Change],
    ) {
        for (k, &source) in members.iter().enumerate() {
            let into = &mut self.kg[k * p.weeks..(k + 1) * p.weeks];
            into.copy_from_slice(table.supply_of(season, source));
            for (response, units) in changes.iter().filter(|(r, _)| r.source == source) {
                let into = &mut into[response.first..response.first + response.span];
                for (kg, more) in into.iter_mut().zip(response.of(season)) {
                    *kg += units * more;
                }
            }
            for kg in into.iter_mut() {
                *kg = kg.max(0.0);
            }
        }
    }

    /// Puts an amount by where it suits; returns what nobody wants.
    pub(crate) fn put_by(&mut self, p: &Problem, source: usize, week: usize, mut kg: f64) -> f64 {
        for route in &p.sources[source].routes {
            let goal = p.goals[route.goal];
            let room = (goal.containers - self.made[route.goal]).max(0.0) * route.kg_per_container;
            if week >= goal.until || room <= 0.0 {
                continue;
            }
            let take = kg.min(room);
            self.made[route.goal] += take / route.kg_per_container;
            self.hours[week] += take * route.hours_per_kg;
            kg -= take;
            if kg <= 0.0 {
                return 0.0;
            }
        }
        kg
    }

    /// Goals that the members of a group serve, each once.
    pub(crate) fn goals_of(&self, p: &Problem, members: &[usize]) -> Vec<usize> {
        let mut goals: Vec<usize> = members
            .iter()
            .flat_map(|c| p.sources[*c].routes.iter().map(|r| r.goal))
            .collect();
        goals.sort_unstable();
        goals.dedup();
        goals
    }
}

/// Sources that share a want or a goal, directly or through others, are in one group.
pub(crate) fn groups(p: &Problem) -> (Vec<usize>, Vec<Vec<usize>>) {
    let mut label: Vec<usize> = (0..p.sources.len()).collect();
    let linked = |a: &Source, b: &Source| {
        a.want == b.want
            || a.routes
                .iter()
                .any(|r| b.routes.iter().any(|q| q.goal == r.goal))
    };
    loop {
        let mut changed = false;
        for a in 0..label.len() {
            for b in 0..a {
                if label[a] != label[b] && linked(&p.sources[a], &p.sources[b]) {
                    let (low, high) = (label[a].min(label[b]), label[a].max(label[b]));
                    for l in &mut label {
                        if *l == high {
                            *l = low;
                        }
                    }
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    let mut names = label.clone();
    names.sort_unstable();
    names.dedup();
    let group_of: Vec<usize> = label
        .iter()
        .map(|l| names.binary_search(l).unwrap_or(0))
        .collect();
    let mut groups = vec![Vec::new(); names.len()];
    for (source, &group) in group_of.iter().enumerate() {
        groups[group].push(source);
    }
    for members in &mut groups {
        members.sort_by_key(|&c| (p.sources[c].want, c));
    }
    (group_of, groups)
}
