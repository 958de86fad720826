//! A small linear or mixed-integer program, and the one door to the solver.
//!
//! Knows nothing of kitchens. The solver is stopped by a count of nodes, never by the clock, so that the same program has
//! the same answer on every machine.

use super::reduce::reduce;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOptions, TerminationReason};

/// Minimise `cost · x` with `lower ≤ x ≤ upper`, whole numbers where asked, and the rows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Lp {
    pub(crate) cost: Vec<f64>,
    pub(crate) lower: Vec<f64>,
    pub(crate) upper: Vec<f64>,
    pub(crate) whole: Vec<bool>,
    pub(crate) rows: Vec<Row>,
}

/// One row: the sum of the terms compared with the right-hand side.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub(crate) terms: Vec<(usize, f64)>,
    pub(crate) sense: Sense,
    pub(crate) rhs: f64,
}

/// How a row's sum is compared with its right-hand side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sense {
    Le,
    Ge,
    Eq,
}

/// When the solver may stop.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Budget {
    /// Most nodes of the search tree.
    pub(crate) nodes: u64,
    /// Relative gap that is good enough.
    pub(crate) gap: f64,
}

/// What the solver found.
#[derive(Debug, Clone)]
pub(crate) struct Answer {
    /// The best point found, if any, with its cost.
    pub(crate) best: Option<(Vec<f64>, f64)>,
    /// A cost that no point undercuts.
    pub(crate) bound: f64,
    /// Whether the best point is the best there is, within the gap asked for.
    pub(crate) proven: bool,
    /// Steps of the simplex method times rows: what the search cost, the same on every machine.
    pub(crate) toil: u64,
}

impl Lp {
    /// Adds a variable and returns its number.
    pub(crate) fn variable(&mut self, cost: f64, upper: f64, whole: bool) -> usize {
        self.cost.push(cost);
        self.lower.push(0.0);
        self.upper.push(upper);
        self.whole.push(whole);
        self.cost.len() - 1
    }

    /// Adds a row; terms of the same variable must not repeat.
    pub(crate) fn row(&mut self, terms: Vec<(usize, f64)>, sense: Sense, rhs: f64) {
        self.rows.push(Row { terms, sense, rhs });
    }

    /// Returns the cost of a point.
    pub(crate) fn cost_of(&self, values: &[f64]) -> f64 {
        self.cost.iter().zip(values).map(|(c, x)| c * x).sum()
    }

    /// Returns a cost that no point undercuts: what every variable could save with no row in its way.
    pub(crate) fn least_cost(&self) -> f64 {
        let of = |i: usize| (self.cost[i] * self.lower[i]).min(self.cost[i] * self.upper[i]);
        (0..self.cost.len())
            .filter(|&i| self.cost[i] != 0.0)
            .map(of)
            .sum()
    }

    /// Solves it within a budget, from the whole-numbered values of a known point if one is given; none if no point fits.
    pub(crate) fn solve(&self, budget: Budget, start: Option<&[f64]>) -> Option<Answer> {
        let reduced = reduce(self)?;
        let start = start.map(|values| reduced.part(values));
        let answer = reduced
            .lp
            .search(budget, start.as_deref(), reduced.settled)?;
        let best = answer.best.map(|(values, _)| {
            let values = reduced.whole(&values);
            let cost = self.cost_of(&values);
            (values, cost)
        });
        Some(Answer { best, ..answer })
    }

    /// Hands the program to the solver. What is settled already is part of every cost, so that relative gaps are of the
    /// whole.
    pub(super) fn search(
        &self,
        budget: Budget,
        start: Option<&[f64]>,
        settled: f64,
    ) -> Option<Answer> {
        if self.cost.is_empty() {
            return Some(Answer {
                best: Some((Vec::new(), settled)),
                bound: settled,
                proven: true,
                toil: 0,
            });
        }
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let variables: Vec<_> = (0..self.cost.len())
            .map(|i| {
                let (low, high) = (self.lower[i], self.upper[i]);
                match (self.whole[i], low == 0.0 && high == 1.0) {
                    (true, true) => problem.add_binary_var(self.cost[i]),
                    (true, false) => {
                        problem.add_integer_var(self.cost[i], (low as i32, high as i32))
                    }
                    _ => problem.add_var(self.cost[i], (low, high)),
                }
            })
            .collect();
        if settled != 0.0 {
            problem.add_var(settled, (1.0, 1.0));
        }
        for row in &self.rows {
            let terms: Vec<_> = row.terms.iter().map(|&(i, a)| (variables[i], a)).collect();
            let op = match row.sense {
                Sense::Le => ComparisonOp::Le,
                Sense::Ge => ComparisonOp::Ge,
                Sense::Eq => ComparisonOp::Eq,
            };
            problem.add_constraint(terms, op, row.rhs);
        }
        let mut options = SolveOptions::default();
        options.node_limit = Some(budget.nodes);
        options.mip_gap = budget.gap;
        options.warm_start = start.map(|values| {
            (0..values.len())
                .filter(|&i| self.whole[i])
                .map(|i| (variables[i], values[i]))
                .collect()
        });
        let outcome = problem.solve_with(options).ok()?;
        let bound = outcome.stats().best_bound.unwrap_or(f64::NEG_INFINITY);
        let toil = outcome.stats().lp_iterations * self.rows.len() as u64;
        let proven = matches!(
            outcome.termination_reason(),
            TerminationReason::ProvenOptimal | TerminationReason::MipGap
        );
        let best = outcome.solution().map(|solution| {
            let values: Vec<f64> = variables.iter().map(|&v| solution.var_value(v)).collect();
            let cost = self.cost_of(&values);
            (values, cost)
        });
        Some(Answer {
            best,
            bound,
            proven,
            toil,
        })
    }

    /// Returns the price of each row in the relaxation without whole numbers, by solving the dual program.
    ///
    /// A price times the right-hand side, summed, never exceeds the cost of any point.
    pub(crate) fn row_prices(&self) -> Option<Vec<f64>> {
        // Maximise b·y − u·s (+ l·t) with Aᵀy − s + t = c; here written as a minimisation.
        let mut dual = Lp::default();
        for row in &self.rows {
            let price = dual.variable(-row.rhs, f64::INFINITY, false);
            match row.sense {
                Sense::Ge => {}
                Sense::Le => {
                    dual.lower[price] = f64::NEG_INFINITY;
                    dual.upper[price] = 0.0;
                }
                Sense::Eq => dual.lower[price] = f64::NEG_INFINITY,
            }
        }
        let mut columns: Vec<Vec<(usize, f64)>> = vec![Vec::new(); self.cost.len()];
        for (index, row) in self.rows.iter().enumerate() {
            for &(variable, factor) in &row.terms {
                columns[variable].push((index, factor));
            }
        }
        for (variable, mut terms) in columns.into_iter().enumerate() {
            if self.upper[variable].is_finite() {
                let slack = dual.variable(self.upper[variable], f64::INFINITY, false);
                terms.push((slack, -1.0));
            }
            dual.row(terms, Sense::Le, self.cost[variable]);
        }
        let budget = Budget { nodes: 0, gap: 0.0 };
        let (values, _) = dual.solve(budget, None)?.best?;
        Some(values[..self.rows.len()].to_vec())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const EXACT: Budget = Budget {
        nodes: 1_000_000,
        gap: 0.0,
    };

    fn knapsack(values: &[f64], weights: &[f64], room: f64) -> Lp {
        let mut lp = Lp::default();
        let terms = values
            .iter()
            .zip(weights)
            .map(|(v, w)| (lp.variable(-v, 1.0, true), *w))
            .collect();
        lp.row(terms, Sense::Le, room);
        lp
    }

    proptest! {
        /// Against trying every choice.
        #[test]
        fn whole_numbers_as_by_trying_all(
            values in proptest::collection::vec(1_u32..50, 1..9),
            weights in proptest::collection::vec(1_u32..30, 9),
            room in 1_u32..120,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let weights: Vec<f64> = weights[..values.len()].iter().map(|&w| f64::from(w)).collect();
            let room = f64::from(room);
            let mut best = 0.0_f64;
            for choice in 0..1_usize << values.len() {
                let sum = |of: &[f64]| -> f64 {
                    of.iter().enumerate().filter(|(i, _)| choice >> i & 1 == 1).map(|(_, x)| x).sum()
                };
                if sum(&weights) <= room {
                    best = best.max(sum(&values));
                }
            }
            let answer = knapsack(&values, &weights, room).solve(EXACT, None).unwrap();
            prop_assert!(answer.proven);
            prop_assert!((answer.best.unwrap().1 + best).abs() < 1e-6);
            prop_assert!((answer.bound + best).abs() < 1e-5);
        }

        /// Strong duality: the row prices and the bounds give back the cost of the relaxation.
        #[test]
        fn row_prices_add_to_the_cost(
            values in proptest::collection::vec(1_u32..50, 3..9),
            weights in proptest::collection::vec(1_u32..30, 9),
            room in 1_u32..120,
        ) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let weights: Vec<f64> = weights[..values.len()].iter().map(|&w| f64::from(w)).collect();
            let mut lp = knapsack(&values, &weights, f64::from(room));
            lp.row(vec![(0, 1.0), (1, 1.0)], Sense::Ge, 0.25);
            lp.row(vec![(1, 1.0), (2, -1.0)], Sense::Eq, 0.0);
            lp.whole.fill(false);
            if let Some(answer) = lp.solve(EXACT, None) {
                let prices = lp.row_prices().unwrap();
                let mut total: f64 = lp.rows.iter().zip(&prices).map(|(r, y)| r.rhs * y).sum();
                for i in 0..lp.cost.len() {
                    let reduced: f64 = lp.cost[i] - lp.rows.iter().zip(&prices)
                        .flat_map(|(r, y)| r.terms.iter().filter(|t| t.0 == i).map(move |t| t.1 * y))
                        .sum::<f64>();
                    total += reduced.min(0.0) * lp.upper[i];
                }
                prop_assert!((total - answer.best.unwrap().1).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn nothing_fits_is_no_answer() {
        let mut lp = knapsack(&[1.0], &[1.0], 1.0);
        lp.row(vec![(0, 1.0)], Sense::Ge, 2.0);
        assert!(lp.solve(EXACT, None).is_none());
    }
}
