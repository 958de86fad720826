//! A price that no plan can undercut: stretches of sessions planned apart, with a price on what they share.
//!
//! The rows that tie stretches together (food that two of them can reach, goals, room on the shelf) are lifted into the
//! objective at prices found first from the relaxation and then by a few steps uphill (Lagrangian relaxation: Held and
//! Karp 1971, from memory; Polyak's step 1969, from memory). Each stretch keeps its own part of such a row where that is
//! implied. Whatever the prices, the total is below the cost of every plan. Knows nothing of kitchens.

use super::lp::{Answer, Budget, Lp, Row, Sense};

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
/// `block_of` gives each variable's stretch, none for those that may go with any; `known` is the cost of a known point.
pub(crate) fn lower_bound(
    lp: &Lp,
    block_of: &[Option<usize>],
    known: f64,
    climb: Climb,
) -> Option<f64> {
    let mut apart = cut(lp, block_of);
    let prices = lp.row_prices()?;
    let mut price: Vec<f64> = apart.ties.iter().map(|&row| prices[row]).collect();
    let mut best = f64::NEG_INFINITY;
    let mut best_price = price.clone();
    let mut step = 1.0;
    for _ in 0..climb.rounds {
        let (value, slope) = evaluate(lp, &mut apart, &price, climb.budget)?;
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
    for block in &mut apart.blocks {
        for (cost, &variable) in block.lp.cost.iter_mut().zip(&block.variables) {
            *cost = reduced[variable];
        }
        let Answer { best, bound, .. } = block.lp.solve(budget, block.start.as_deref())?;
        total += bound;
        let (values, _) = best?;
        for (&variable, value) in block.variables.iter().zip(&values) {
            point[variable] = *value;
        }
        block.start = Some(values);
    }
    let slope = (apart.ties.iter())
        .map(|&row| {
            let row = &lp.rows[row];
            row.rhs - row.terms.iter().map(|&(v, a)| a * point[v]).sum::<f64>()
        })
        .collect();
    Some((total, slope))
}
