//! The planner: a plain plan, then four-week stretches solved one after another, then overlapping ones until nothing gains.
//!
//! Every stretch is a mixed-integer program with a limit on nodes, so the same problem has the same plan everywhere. The
//! plan is never worse than the plain one. How good it is, is told by a bound for the whole horizon.

use super::bound::{Climb, lower_bound};
use super::cost::cost;
pub use super::effort::{Effort, Stage};
use super::greedy;
use super::instance::{Instance, Limit, Plan, Work};
use super::lp::Budget;
use super::model::{Column, Model, Window, build};
use super::oldest::oldest_first;
use super::stretch::{Stretch, next};
use super::ties::fits;
use rayon::prelude::*;

/// A plan with what is known of its quality.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The plan.
    pub plan: Plan,
    /// Its price, minutes.
    pub price: f64,
    /// Price of the plain plan by rule, minutes.
    pub greedy_price: f64,
    /// Price after the first passage, minutes.
    pub rolling_price: f64,
    /// A price that no plan can undercut, minutes, if asked for and found.
    pub bound: Option<f64>,
    /// Stretches solved.
    pub stretches: usize,
    /// Stretches of which the best plan was proven, within the gap of the effort.
    pub proven: usize,
    /// What the search cost: steps of the simplex method times rows.
    pub toil: u64,
}

impl Planned {
    /// Returns by what share of its price the plan could be bettered at most, if a bound is known.
    #[must_use]
    pub fn gap(&self) -> Option<f64> {
        let bound = self.bound?;
        Some(if self.price > 0.0 {
            ((self.price - bound) / self.price).max(0.0)
        } else {
            0.0
        })
    }
}

/// Decisions in whole numbers up to which a stretch has all its nodes.
const USUAL_WHOLE: u64 = 150;
/// Plans the sessions.
#[must_use]
pub fn plan(instance: &Instance, effort: Effort) -> Planned {
    let mut plain = Plan::default();
    greedy::fill(instance, &mut plain, 0, instance.sessions.len());
    let greedy_price = cost(instance, &plain).total();
    let mut search = Search {
        instance,
        effort,
        stretches: 0,
        proven: 0,
        toil: 0,
    };
    let rolled = search.roll();
    let rolling_price = cost(instance, &rolled).total();
    let mut plan = if rolling_price < greedy_price {
        rolled
    } else {
        plain
    };
    for stage in effort.then {
        search.improve(&mut plan, stage);
    }
    let plan = oldest_first(instance, plan);
    let price = cost(instance, &plan).total();
    let bound = bound(instance, effort, &plan);
    Planned {
        plan,
        price,
        greedy_price,
        rolling_price,
        bound,
        stretches: search.stretches,
        proven: search.proven,
        toil: search.toil,
    }
}

/// What stands while a stretch is solved.
#[derive(Clone, Copy)]
struct Standing<'a> {
    /// The plan outside the stretch.
    fixed: &'a Plan,
    /// A plan whose work inside the stretch is known to fit.
    start: &'a Plan,
    /// Whether food that a later session can reach may be left at no price.
    later_is_free: bool,
}

struct Search<'a> {
    instance: &'a Instance,
    effort: Effort,
    stretches: usize,
    proven: usize,
    toil: u64,
}

impl Search<'_> {
    /// Returns the number of weeks the sessions span.
    fn weeks(&self) -> i32 {
        let days = self
            .instance
            .sessions
            .last()
            .map_or(0, |last| last.day - self.instance.sessions[0].day + 1);
        (days + 6) / 7
    }

    /// Returns the first session of a week, counted from the first session's day.
    fn first_of(&self, week: i32) -> usize {
        let sessions = &self.instance.sessions;
        sessions.partition_point(|s| s.day < sessions[0].day + 7 * week)
    }

    /// Goes through the horizon once, settling the first weeks of each stretch.
    fn roll(&mut self) -> Plan {
        let mut settled = Plan::default();
        let all = vec![true; self.instance.products.len()];
        let mut week = 0;
        while week < self.weeks() {
            let stage = self.effort.first;
            let (from, to) = (self.first_of(week), self.first_of(week + stage.weeks));
            let last = week + stage.weeks >= self.weeks();
            let until = if last {
                to
            } else {
                self.first_of(week + stage.step_weeks)
            };
            let mut hint = settled.clone();
            greedy::fill(self.instance, &mut hint, from, to);
            let free = Standing {
                fixed: &settled,
                start: &hint,
                later_is_free: !last,
            };
            let answer = self.solve(from, to, free, stage.nodes, &all);
            if let Some(work) = self.count(answer) {
                settled
                    .work
                    .extend(work.into_iter().filter(|w| w.session < until));
            } else {
                settled.work.extend(
                    hint.work
                        .into_iter()
                        .filter(|w| (from..until).contains(&w.session)),
                );
            }
            if last {
                break;
            }
            week += stage.step_weeks.max(1);
        }
        settled
    }

    /// Solves overlapping stretches again, everything else standing, until a whole sweep gains nothing.
    ///
    /// Stretches that lie apart are solved from the same plan at the same time, and what they change is put together one
    /// after another; where two do not go together after all, the later one is solved again. Which are solved together
    /// hangs on the problem alone, not on the machine.
    fn improve(&mut self, plan: &mut Plan, stage: Stage) {
        let stretches = self.stretches(stage);
        let tied = self.instance.limits.iter().any(lasting);
        let mut stale = vec![true; stretches.len()];
        let mut price = cost(self.instance, plan).total();
        for sweep in 0..stage.sweeps {
            let mut waiting: Vec<usize> = (0..stretches.len()).collect();
            while self.toil <= self.effort.toil {
                let together = next(&stretches, &stale, &mut waiting);
                if together.is_empty() {
                    break;
                }
                let again = |&index: &usize| self.again(plan, stage, sweep, stretches[index]);
                let answers: Vec<Solved> = together.par_iter().map(again).collect();
                let mut moved = false;
                for (index, answer) in together.into_iter().zip(answers) {
                    stale[index] = false;
                    let Some(work) = self.count(answer) else {
                        continue;
                    };
                    let stretch = stretches[index];
                    let changed = plan.with(work, stretch.from, stretch.to);
                    let new_price = cost(self.instance, &changed).total();
                    if new_price >= price - 1e-6 {
                        continue;
                    }
                    if moved && !fits(self.instance, &changed) {
                        stale[index] = true;
                        waiting.push(index);
                        waiting.sort_unstable();
                        continue;
                    }
                    moved = true;
                    *plan = changed;
                    price = new_price;
                    for (other, stale) in stale.iter_mut().enumerate() {
                        let near = !stretch.apart(stretches[other], 1);
                        *stale |= other != index && (tied || near);
                    }
                }
            }
        }
    }

    /// Returns the stretches of a stage, one for each set of products.
    fn stretches(&self, stage: Stage) -> Vec<Stretch> {
        let step = stage.step_weeks.max(1);
        let starts = (0..)
            .map(|i| i * step)
            .take_while(|&w| w == 0 || w + stage.weeks < self.weeks() + step);
        let with_sets = starts.flat_map(|week| {
            (0..stage.sets.max(1)).map(move |set| Stretch {
                week,
                weeks: stage.weeks,
                from: self.first_of(week),
                to: self.first_of(week + stage.weeks),
                set,
            })
        });
        with_sets.collect()
    }

    /// Solves a stretch of a plan again.
    fn again(&self, plan: &Plan, stage: Stage, sweep: usize, stretch: Stretch) -> Solved {
        let standing = Standing {
            fixed: plan,
            start: plan,
            later_is_free: false,
        };
        let free = self.set(stage.sets, stretch.set, sweep);
        self.solve(stretch.from, stretch.to, standing, stage.nodes, &free)
    }

    /// Keeps the books of an answer and returns its work, if it has any.
    fn count(&mut self, answer: Solved) -> Option<Vec<Work>> {
        self.stretches += usize::from(answer.tried);
        self.proven += usize::from(answer.proven);
        self.toil += answer.toil;
        answer.work
    }

    /// Returns which products may be decided anew: in even sweeps neighbours by set-up group, in odd ones a mixture.
    fn set(&self, sets: usize, set: usize, sweep: usize) -> Vec<bool> {
        let products = &self.instance.products;
        let mut order: Vec<usize> = (0..products.len()).collect();
        order.sort_by_key(|&p| (products[p].group, p));
        let mut free = vec![sets <= 1; products.len()];
        for (rank, &p) in order.iter().enumerate() {
            free[p] |= if sweep.is_multiple_of(2) {
                rank * sets / order.len() == set
            } else {
                rank % sets == set
            };
        }
        free
    }

    /// Solves one stretch.
    fn solve(
        &self,
        from: usize,
        to: usize,
        standing: Standing<'_>,
        nodes: u64,
        free: &[bool],
    ) -> Solved {
        let window = Window {
            from,
            to,
            fixed: standing.fixed,
            later_is_free: standing.later_is_free,
            bound: false,
        };
        let mut model = build(self.instance, window);
        if model.columns.is_empty() {
            return Solved {
                work: Some(Vec::new()),
                ..Solved::default()
            };
        }
        // A node of a large stretch is dear: fewer of them, so that the time stays about the same.
        let whole = model.lp.whole.iter().filter(|w| **w).count() as u64;
        let budget = Budget {
            nodes: nodes * USUAL_WHOLE / whole.max(USUAL_WHOLE),
            gap: self.effort.gap,
        };
        let point = model.point(self.instance, standing.start);
        for (variable, column) in model.columns.iter().enumerate() {
            let settled = match *column {
                Column::Use(product, _) | Column::Loads(product, _) => !free[product],
                _ => false,
            };
            if settled {
                model.lp.lower[variable] = point[variable];
                model.lp.upper[variable] = point[variable];
            }
        }
        let Some(answer) = model.lp.solve(budget, Some(&point)) else {
            return Solved::default();
        };
        Solved {
            work: answer.best.map(|(values, _)| model.plan(&values).work),
            tried: true,
            proven: answer.proven,
            toil: answer.toil,
        }
    }
}

/// What came of a stretch.
#[derive(Default)]
struct Solved {
    /// Its work, if any was found.
    work: Option<Vec<Work>>,
    tried: bool,
    proven: bool,
    toil: u64,
}

/// Says whether a limit's use never comes back, so that it ties all stretches.
fn lasting(limit: &Limit) -> bool {
    limit.terms.iter().any(|t| t.days.is_none())
}

/// Finds a price that no plan can undercut, with the help of a known plan. None if the effort asks for none.
#[must_use]
pub fn bound(instance: &Instance, effort: Effort, plan: &Plan) -> Option<f64> {
    if effort.bound_rounds == 0 {
        return None;
    }
    let nothing = Plan::default();
    let window = Window {
        from: 0,
        to: instance.sessions.len(),
        fixed: &nothing,
        later_is_free: false,
        bound: true,
    };
    let model = build(instance, window);
    let beyond = out_of_reach(instance, &model);
    if model.columns.is_empty() {
        return Some(beyond);
    }
    let day = |k: usize| instance.sessions[k].day - instance.sessions[0].day;
    let block_of: Vec<Option<usize>> = (model.columns.iter())
        .map(|column| {
            let week = day(column.session()?) / 7;
            usize::try_from(week / effort.bound_weeks.max(1)).ok()
        })
        .collect();
    let climb = Climb {
        budget: Budget {
            nodes: effort.bound_nodes,
            gap: 1e-4,
        },
        rounds: effort.bound_rounds,
    };
    let price = cost(instance, plan).total();
    let known = (model.point(instance, plan), price - beyond);
    Some(beyond + lower_bound(&model.lp, &block_of, (&known.0, known.1), climb)?)
}

/// Returns the price of the food that no session can use, which the program leaves out.
fn out_of_reach(instance: &Instance, model: &Model) -> f64 {
    let mut reached = vec![false; instance.buckets.len()];
    for column in &model.columns {
        if let Column::Put { bucket, .. } = column {
            reached[*bucket] = true;
        }
    }
    (instance.buckets.iter().zip(reached))
        .filter(|(_, reached)| !reached)
        .map(|(bucket, _)| bucket.loss_per_kg * bucket.kg)
        .sum()
}
