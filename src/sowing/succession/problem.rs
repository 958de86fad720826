//! The succession as plain numbers: what is wanted week by week, what is there already, and what a plan costs.
//!
//! A plan is lived through in some drawn seasons at once. In each, a week's food is eaten up to the need, what is left
//! over goes to the goals it suits, and the rest is given away; hours beyond the spare ones cost. Everything is priced in
//! kilograms of fresh food that is missed, so that a plan has one cost. Knows no dates, names or weather.

use super::desk::{Desk, groups};

/// Prices, in kilograms of fresh food missed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Prices {
    /// A kilogram of a need not met.
    pub(crate) short: f64,
    /// A kilogram wanted in store and not there.
    pub(crate) goal: f64,
    /// A kilogram neither eaten nor put by.
    pub(crate) surplus: f64,
    /// An hour beyond the spare ones of a week.
    pub(crate) hour_over: f64,
    /// One more sowing.
    pub(crate) sowing: f64,
    /// A square metre planted.
    pub(crate) ground: f64,
}

/// A way for a crop to go into store.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Route {
    /// Goal it serves.
    pub(crate) goal: usize,
    /// Kilograms in a container.
    pub(crate) kg_per_container: f64,
    /// Kitchen hours for a kilogram.
    pub(crate) hours_per_kg: f64,
}

/// A crop that gives food.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Source {
    /// The want it serves.
    pub(crate) want: usize,
    /// Ways into store, the preferred first.
    pub(crate) routes: Vec<Route>,
}

/// What the household wants to put by of one goal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Goal {
    /// Containers still wanted.
    pub(crate) containers: f64,
    /// Kilograms of a container, for pricing what is missing.
    pub(crate) kg_per_container: f64,
    /// First week in which it is too late.
    pub(crate) until: usize,
    /// Whether what is missing counts; else it is made as food comes, and only takes hours.
    pub(crate) counts: bool,
}

/// What is wanted and what is there.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Problem {
    /// Weeks looked at.
    pub(crate) weeks: usize,
    /// Drawn seasons looked at.
    pub(crate) seasons: usize,
    /// Need of each want in each week, kg.
    pub(crate) wants: Vec<Vec<f64>>,
    /// Crops.
    pub(crate) sources: Vec<Source>,
    /// Goals.
    pub(crate) goals: Vec<Goal>,
    /// What the plantings already there put on the table, kg; seasons × sources × weeks.
    pub(crate) there: Vec<f64>,
    /// Kitchen hours still free beside the plantings already there; seasons × weeks.
    pub(crate) spare_hours: Vec<f64>,
    /// Prices.
    pub(crate) prices: Prices,
}

/// What one unit of something puts on the table of one crop.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Response {
    /// The crop.
    pub(crate) source: usize,
    /// First week with anything.
    pub(crate) first: usize,
    /// Weeks it covers.
    pub(crate) span: usize,
    /// kg; seasons × span.
    pub(crate) kg: Vec<f64>,
}

impl Response {
    /// Returns the mean over all its seasons, each week weighed, kg.
    pub(crate) fn weighed(&self, weights: &[f64]) -> f64 {
        let rows = self.kg.chunks(self.span.max(1));
        let seasons = rows.len().max(1) as f64;
        let row = |kg: &[f64]| -> f64 {
            kg.iter()
                .zip(&weights[self.first..])
                .map(|(kg, w)| kg * w)
                .sum()
        };
        rows.map(row).sum::<f64>() / seasons
    }
    /// Returns the weeks of one season.
    pub(crate) fn of(&self, season: usize) -> &[f64] {
        &self.kg[season * self.span..(season + 1) * self.span]
    }
}

/// A change of what comes to the table: so many units of a response.
pub(crate) type Change<'a> = (&'a Response, f64);

/// What is on the table under a plan, and what that costs, kept up to date change by change.
#[derive(Debug, Clone)]
pub(crate) struct Table<'p> {
    problem: &'p Problem,
    /// Group of each source; sources that share a want or a goal are in one group.
    group_of: Vec<usize>,
    /// Sources of each group, those of one want together.
    groups: Vec<Vec<usize>>,
    /// kg; seasons × sources × weeks.
    supply: Vec<f64>,
    /// Cost; groups × seasons.
    cost: Vec<f64>,
    /// Hours of each group; groups × seasons × weeks.
    hours: Vec<f64>,
    /// Hours of all groups above those of the plantings already there; seasons × weeks.
    more_hours: Vec<f64>,
}

impl<'p> Table<'p> {
    /// Lays the table with what is there already.
    pub(crate) fn new(problem: &'p Problem) -> Self {
        let (group_of, groups) = groups(problem);
        let (s, w, g) = (problem.seasons, problem.weeks, groups.len());
        let mut table = Self {
            problem,
            group_of,
            groups,
            supply: problem.there.clone(),
            cost: vec![0.0; g * s],
            hours: vec![0.0; g * s * w],
            more_hours: vec![0.0; s * w],
        };
        for group in 0..g {
            table.renew(group);
        }
        table.more_hours.fill(0.0);
        table
    }

    /// Returns what a source puts on the table in each week of a season, kg.
    pub(crate) fn supply_of(&self, season: usize, source: usize) -> &[f64] {
        let p = self.problem;
        let row = (season * p.sources.len() + source) * p.weeks;
        &self.supply[row..row + p.weeks]
    }

    /// Returns the mean cost.
    pub(crate) fn total(&self) -> f64 {
        let p = self.problem;
        let over: f64 = (0..p.seasons).map(|s| self.over(s, |_| 0.0)).sum();
        (self.cost.iter().sum::<f64>() + over) / p.seasons.max(1) as f64
    }

    /// Returns what the mean cost would be after some changes, less what it is.
    pub(crate) fn difference(&self, changes: &[Change]) -> f64 {
        let p = self.problem;
        let touched = self.touched(changes);
        let mut desk = Desk::new(p);
        let mut sum = 0.0;
        let mut hours = vec![0.0; p.weeks];
        for season in 0..p.seasons {
            hours.fill(0.0);
            for &group in &touched {
                let before = self.cost[group * p.seasons + season];
                sum += self.live(group, season, changes, &mut desk) - before;
                let old = self.hours_of(group, season);
                for ((h, new), old) in hours.iter_mut().zip(&desk.hours).zip(old) {
                    *h += new - old;
                }
            }
            sum += self.over(season, |w| hours[w]) - self.over(season, |_| 0.0);
        }
        sum / p.seasons.max(1) as f64
    }

    /// Makes some changes.
    pub(crate) fn apply(&mut self, changes: &[Change]) {
        let p = self.problem;
        for &(response, units) in changes {
            for season in 0..p.seasons {
                let row = (season * p.sources.len() + response.source) * p.weeks + response.first;
                let into = &mut self.supply[row..row + response.span];
                for (kg, more) in into.iter_mut().zip(response.of(season)) {
                    *kg += units * more;
                }
            }
        }
        for group in self.touched(changes) {
            self.renew(group);
        }
    }

    /// Returns how much of a want is missed in each week, mean kg.
    pub(crate) fn missed(&self, want: usize) -> Vec<f64> {
        let p = self.problem;
        let serving: Vec<usize> = (0..p.sources.len())
            .filter(|c| p.sources[*c].want == want)
            .collect();
        (0..p.weeks)
            .map(|w| {
                let missed = |s: usize| {
                    let kg = |c: &usize| self.supply[(s * p.sources.len() + c) * p.weeks + w];
                    (p.wants[want][w] - serving.iter().map(kg).sum::<f64>()).max(0.0)
                };
                (0..p.seasons).map(missed).sum::<f64>() / p.seasons.max(1) as f64
            })
            .collect()
    }

    /// Returns what a want gets in each week, mean kg.
    #[cfg(test)]
    pub(crate) fn supplied(&self, want: usize) -> Vec<f64> {
        let p = self.problem;
        let mut sums = vec![0.0; p.weeks];
        for (row, kg) in self.supply.chunks(p.weeks).enumerate() {
            if p.sources[row % p.sources.len()].want == want {
                for (sum, kg) in sums.iter_mut().zip(kg) {
                    *sum += kg / p.seasons as f64;
                }
            }
        }
        sums
    }

    /// Returns the hours for all food in a week of a season.
    pub(crate) fn hours_in(&self, season: usize, week: usize) -> f64 {
        let groups = 0..self.groups.len();
        groups.map(|g| self.hours_of(g, season)[week]).sum()
    }

    fn touched(&self, changes: &[Change]) -> Vec<usize> {
        let mut touched: Vec<usize> = changes
            .iter()
            .map(|(response, _)| self.group_of[response.source])
            .collect();
        touched.sort_unstable();
        touched.dedup();
        touched
    }

    fn hours_of(&self, group: usize, season: usize) -> &[f64] {
        let p = self.problem;
        let at = (group * p.seasons + season) * p.weeks;
        &self.hours[at..at + p.weeks]
    }

    /// Works one group out anew.
    fn renew(&mut self, group: usize) {
        let p = self.problem;
        let mut desk = Desk::new(p);
        for season in 0..p.seasons {
            self.cost[group * p.seasons + season] = self.live(group, season, &[], &mut desk);
            let at = (group * p.seasons + season) * p.weeks;
            for (w, new) in desk.hours.iter().enumerate() {
                self.more_hours[season * p.weeks + w] += new - self.hours[at + w];
                self.hours[at + w] = *new;
            }
        }
    }

    /// Cost of the hours beyond the spare ones in a season, some added in each week.
    fn over(&self, season: usize, added: impl Fn(usize) -> f64) -> f64 {
        let p = self.problem;
        if p.prices.hour_over == 0.0 {
            return 0.0;
        }
        let of_season = season * p.weeks..(season + 1) * p.weeks;
        let hours = self.more_hours[of_season.clone()].iter();
        let spare = &p.spare_hours[of_season];
        let over = |(w, (more, spare)): (usize, (&f64, &f64))| (more + added(w) - spare).max(0.0);
        p.prices.hour_over * hours.zip(spare).enumerate().map(over).sum::<f64>()
    }

    /// Lives through a season of one group, with changes: eaten, put by, given. Returns its cost, hours left on the desk.
    fn live(&self, group: usize, season: usize, changes: &[Change], desk: &mut Desk) -> f64 {
        let p = self.problem;
        let members = &self.groups[group];
        desk.hours.fill(0.0);
        desk.lay(p, self, members, season, changes);
        let mut cost = 0.0;
        for &source in members {
            for route in &p.sources[source].routes {
                desk.made[route.goal] = 0.0;
            }
        }
        for w in 0..p.weeks {
            let mut at = 0;
            while at < members.len() {
                let want = p.sources[members[at]].want;
                let same = members[at..]
                    .iter()
                    .take_while(|c| p.sources[**c].want == want)
                    .count();
                let food: f64 = (at..at + same).map(|k| desk.kg[k * p.weeks + w]).sum();
                let need = p.wants[want][w];
                if food < need {
                    cost += p.prices.short * (need - food);
                } else if food > need {
                    let left = (food - need) / food;
                    for (k, &source) in members.iter().enumerate().skip(at).take(same) {
                        let kg = left * desk.kg[k * p.weeks + w];
                        if kg > 0.0 {
                            cost += p.prices.surplus * desk.put_by(p, source, w, kg);
                        }
                    }
                }
                at += same;
            }
        }
        for goal in desk.goals_of(p, members) {
            let wanted = p.goals[goal];
            if !wanted.counts {
                continue;
            }
            cost += p.prices.goal
                * wanted.kg_per_container
                * (wanted.containers - desk.made[goal]).max(0.0);
        }
        cost
    }
}
