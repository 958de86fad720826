//! A price that no plan can undercut: stretches of sessions planned apart, with a price on what they share.
//!
//! The rows that tie stretches together (food that two of them can reach, goals, room on the shelf) are lifted into the
//! objective at prices found first from the relaxation and then by a few steps uphill (Lagrangian relaxation: Held and
//! Karp 1971, from memory; Polyak's step 1969, from memory). Each stretch keeps its own part of such a row where that is
//! implied. Whatever the prices, the total is below the cost of every plan. Knows nothing of kitchens.

use super::lp::{Answer, Budget, Lp, Row, Sense};
use rayon::prelude::*;

/// How hard to try.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Climb {
    /// Budget for each stretch in each round.
    pub(crate) budget: Budget,
    /// Rounds.
    pub(crate) rounds: usize,
}

/// A program cut into stretches.
struct Apart {
    blocks: Vec<Block>,
    /// Rows that tie stretches, by index.
    ties: Vec<usize>,
    /// Variables that belong to no stretch and stand only in tying rows.
    singles: Vec<usize>,
}

/// One stretch: its own program and where its variables stand in the whole.
struct Block {
    lp: Lp,
    variables: Vec<usize>,
    start: Option<Vec<f64>>,
}

/// Returns a lower bound on the cost of the whole program.
///
/// `block_of` gives each variable's stretch, none for those that may go with any; `point` is a known point and `known` its
/// cost.
pub(crate) fn lower_bound(
    lp: &Lp,
    block_of: &[Option<usize>],
    (point, known): (&[f64], f64),
    climb: Climb,
) -> Option<f64> {
    let mut apart = cut(lp, block_of);
    // Any prices give a bound, so that those of parts will do where the whole is too much for the solver.
    let prices = lp
        .row_prices()
        .unwrap_or_else(|| prices_by_parts(lp, &apart, point));
    let price = apart.ties.iter().map(|&row| prices[row]).collect();
    uphill(lp, &mut apart, price, known, climb)
}

/// Climbs from some prices of the tying rows.
fn uphill(
    lp: &Lp,
    apart: &mut Apart,
    mut price: Vec<f64>,
    known: f64,
    climb: Climb,
) -> Option<f64> {
    let mut best = f64::NEG_INFINITY;
    let mut best_price = price.clone();
    let mut step = 1.0;
    for _ in 0..climb.rounds {
        let (value, slope) = evaluate(lp, apart, &price, climb.budget)?;
        if value > best + 1e-9 * known.abs() {
            best = value;
            best_price.clone_from(&price);
        } else {
            step *= 0.5;
        }
        let steepness: f64 = slope.iter().map(|s| s * s).sum();
        let room = known - best;
        if steepness < 1e-12 || room <= 1e-6 * known.abs() {
            break;
        }
        price.clone_from(&best_price);
        let length = step * room / steepness;
        for ((price, slope), &row) in price.iter_mut().zip(&slope).zip(&apart.ties) {
            *price += length * slope;
            match lp.rows[row].sense {
                Sense::Le => *price = price.min(0.0),
                Sense::Ge => *price = price.max(0.0),
                Sense::Eq => {}
            }
        }
    }
    best.is_finite().then_some(best)
}

/// Stretches whose relaxation is solved together where that of all is too much.
const PART: usize = 4;

/// Finds prices of the tying rows from a few stretches at a time, the rest of the known point standing; each row takes that
/// of the part which holds most of it, and none where the solver gives up.
fn prices_by_parts(lp: &Lp, apart: &Apart, point: &[f64]) -> Vec<f64> {
    let mut stretch = vec![None; lp.cost.len()];
    for (b, block) in apart.blocks.iter().enumerate() {
        for &variable in &block.variables {
            stretch[variable] = Some(b);
        }
    }
    let mut prices = vec![0.0; lp.rows.len()];
    let mut held = vec![0; lp.rows.len()];
    let step = PART / 2;
    let parts = apart
        .blocks
        .len()
        .saturating_sub(step)
        .div_ceil(step)
        .max(1);
    for first in (0..parts).map(|part| part * step) {
        let of_part = |v: usize| stretch[v].is_some_and(|b| (first..first + PART).contains(&b));
        let rows: Vec<usize> = (0..lp.rows.len())
            .filter(|&r| lp.rows[r].terms.iter().any(|t| of_part(t.0)))
            .collect();
        let mut small = Lp::default();
        let mut place = vec![None; lp.cost.len()];
        for &r in &rows {
            let row = &lp.rows[r];
            let mut rhs = row.rhs;
            let mut terms = Vec::with_capacity(row.terms.len());
            for &(v, a) in &row.terms {
                if of_part(v) || stretch[v].is_none() {
                    let new = || small.variable(lp.cost[v], lp.upper[v], false);
                    terms.push((*place[v].get_or_insert_with(new), a));
                } else {
                    rhs -= a * point[v];
                }
            }
            small.row(terms, row.sense, rhs);
        }
        for (&r, price) in rows.iter().zip(small.row_prices().unwrap_or_default()) {
            let own = lp.rows[r].terms.iter().filter(|t| of_part(t.0)).count();
            if own > held[r] {
                held[r] = own;
                prices[r] = price;
            }
        }
    }
    prices
}

/// Cuts a program into its stretches.
fn cut(lp: &Lp, block_of: &[Option<usize>]) -> Apart {
    let mut block_of = block_of.to_vec();
    // A variable without a stretch goes with the only stretch its rows touch, if there is only one.
    let touched: Vec<Vec<usize>> = lp
        .rows
        .iter()
        .map(|row| {
            let mut blocks: Vec<usize> = row.terms.iter().filter_map(|t| block_of[t.0]).collect();
            blocks.sort_unstable();
            blocks.dedup();
            blocks
        })
        .collect();
    for (row, blocks) in lp.rows.iter().zip(&touched) {
        if let [block] = blocks[..] {
            for &(variable, _) in &row.terms {
                block_of[variable].get_or_insert(block);
            }
        }
    }
    let count = block_of.iter().flatten().max().map_or(0, |m| m + 1);
    let mut apart = Apart {
        blocks: Vec::with_capacity(count),
        ties: Vec::new(),
        singles: (0..block_of.len())
            .filter(|&v| block_of[v].is_none())
            .collect(),
    };
    let mut place = vec![0; block_of.len()];
    for block in 0..count {
        let mut own = Lp::default();
        let variables: Vec<usize> = (0..block_of.len())
            .filter(|&v| block_of[v] == Some(block))
            .collect();
        for &v in &variables {
            place[v] = own.variable(lp.cost[v], lp.upper[v], lp.whole[v]);
        }
        apart.blocks.push(Block {
            lp: own,
            variables,
            start: None,
        });
    }
    for (index, row) in lp.rows.iter().enumerate() {
        let mut parts: Vec<Vec<(usize, f64)>> = vec![Vec::new(); count];
        let mut tie = false;
        for &(variable, factor) in &row.terms {
            match block_of[variable] {
                Some(block) => parts[block].push((place[variable], factor)),
                None => tie = true,
            }
        }
        tie |= parts.iter().filter(|p| !p.is_empty()).count() > 1;
        let implied = row.sense != Sense::Ge && row.terms.iter().all(|t| t.1 >= 0.0);
        for (block, terms) in parts.into_iter().enumerate() {
            if terms.is_empty() || (tie && !implied) {
                continue;
            }
            let sense = if tie { Sense::Le } else { row.sense };
            let rhs = row.rhs;
            apart.blocks[block].lp.rows.push(Row { terms, sense, rhs });
        }
        if tie {
            apart.ties.push(index);
        }
    }
    apart
}

/// Solves every stretch at given prices; returns the bound and, for each tying row, how far it is from holding.
fn evaluate(lp: &Lp, apart: &mut Apart, price: &[f64], budget: Budget) -> Option<(f64, Vec<f64>)> {
    let mut reduced = lp.cost.clone();
    let mut total = 0.0;
    for (&row, price) in apart.ties.iter().zip(price) {
        total += price * lp.rows[row].rhs;
        for &(variable, factor) in &lp.rows[row].terms {
            reduced[variable] -= price * factor;
        }
    }
    let mut point = vec![0.0; lp.cost.len()];
    for &variable in &apart.singles {
        if reduced[variable] < 0.0 {
            point[variable] = lp.upper[variable];
            total += reduced[variable] * lp.upper[variable];
        }
    }
    let solve = |block: &mut Block| {
        for (cost, &variable) in block.lp.cost.iter_mut().zip(&block.variables) {
            *cost = reduced[variable];
        }
        block.lp.solve(budget, block.start.as_deref())
    };
    let answers: Vec<Option<Answer>> = apart.blocks.par_iter_mut().map(solve).collect();
    for (block, answer) in apart.blocks.iter_mut().zip(answers) {
        // Where the solver gives up, what every variable can save by itself is a bound still.
        let (best, bound) = answer.map_or((None, f64::NEG_INFINITY), |a| (a.best, a.bound));
        total += bound.max(block.lp.least_cost());
        let values = best
            .map(|(values, _)| values)
            .or_else(|| block.start.take())
            .unwrap_or_else(|| vec![0.0; block.variables.len()]);
        for (&variable, value) in block.variables.iter().zip(&values) {
            point[variable] = *value;
        }
        block.start = Some(values);
    }
    if !total.is_finite() {
        return None;
    }
    let slope = (apart.ties.iter())
        .map(|&row| {
            let row = &lp.rows[row];
            row.rhs - row.terms.iter().map(|&(v, a)| a * point[v]).sum::<f64>()
        })
        .collect();
    Some((total, slope))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const EXACT: Budget = Budget {
        nodes: 100_000,
        gap: 0.0,
    };

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(16))]

        /// Days on which a set-up opens room for a food that lasts two days, one store for all: whatever the prices come
        /// from, no bound is above the optimum of the whole, and prices of the parts do about as well as those of the whole.
        #[test]
        fn bounds_stay_below_the_optimum(
            setup in proptest::collection::vec(1_u32..20, 8),
            food in proptest::collection::vec(1_u32..9, 8),
            room in 5_u32..30,
        ) {
            let mut lp = Lp::default();
            let mut block_of = Vec::new();
            let mut store = Vec::new();
            for (day, (&setup, &kg)) in setup.iter().zip(&food).enumerate() {
                let lost = lp.variable(7.0, f64::from(kg), false);
                block_of.push(None);
                let mut balance = vec![(lost, 1.0)];
                for at in day..(day + 2).min(8) {
                    let open = lp.variable(f64::from(setup), 1.0, true);
                    let put = lp.variable(0.1, f64::from(kg), false);
                    block_of.extend([Some(at / 2); 2]);
                    lp.row(vec![(put, 1.0), (open, -f64::from(kg))], Sense::Le, 0.0);
                    balance.push((put, 1.0));
                    store.push((put, 1.0));
                }
                lp.row(balance, Sense::Eq, f64::from(kg));
            }
            lp.row(store, Sense::Le, f64::from(room));
            let (point, best) = lp.solve(EXACT, None).unwrap().best.unwrap();
            let climb = Climb { budget: EXACT, rounds: 4 };
            let from = |prices: Vec<f64>| {
                let mut apart = cut(&lp, &block_of);
                let price = apart.ties.iter().map(|&row| prices[row]).collect();
                uphill(&lp, &mut apart, price, best, climb).unwrap()
            };
            let whole = from(lp.row_prices().unwrap());
            let parts = from(prices_by_parts(&lp, &cut(&lp, &block_of), &point));
            let nothing = from(vec![0.0; lp.rows.len()]);
            for bound in [whole, parts, nothing] {
                prop_assert!(bound <= best + 1e-6 * (1.0 + best), "{bound} above {best}");
            }
            prop_assert!(parts >= 0.8 * whole, "{parts} by parts, {whole} of the whole");
        }
    }
}
