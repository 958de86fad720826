//! Makes a program smaller and tighter before the solver sees it: variables that have one value, rows that say a bound or
//! nothing, whole-numbered switches that need not open so wide.
//!
//! Textbook reductions (Brearley, Mitra and Williams 1975; Savelsbergh 1994, both from memory): none removes the best point.
//! Knows nothing of kitchens.

use super::lp::{Lp, Row, Sense};

/// How far a bound or a row may be missed by the arithmetic.
const SLIP: f64 = 1e-7;

/// A smaller program and what was settled on the way.
pub(super) struct Reduced {
    /// The program of the variables that are left.
    pub(super) lp: Lp,
    /// For each variable of the whole, its place in the smaller program or its value.
    pub(super) place: Vec<Place>,
    /// Cost of what is settled.
    pub(super) settled: f64,
}

/// Where a variable went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    Left(usize),
    Settled(f64),
}

impl Reduced {
    /// Returns what a point of the whole is in the smaller program.
    pub(super) fn part(&self, values: &[f64]) -> Vec<f64> {
        let both = self.place.iter().zip(values);
        both.filter(|(place, _)| matches!(place, Place::Left(_)))
            .map(|(_, value)| *value)
            .collect()
    }

    /// Returns the point of the whole that belongs to a point of the smaller program.
    pub(super) fn whole(&self, values: &[f64]) -> Vec<f64> {
        let of = |place: &Place| match *place {
            Place::Left(at) => values[at],
            Place::Settled(value) => value,
        };
        self.place.iter().map(of).collect()
    }
}

/// The least and the greatest that a row's sum can be.
#[derive(Clone, Copy)]
struct Span {
    least: f64,
    greatest: f64,
}

/// Reduces a program; none if no point can fit.
pub(super) fn reduce(lp: &Lp) -> Option<Reduced> {
    let mut work = lp.clone();
    let mut gone = vec![false; work.rows.len()];
    loop {
        let mut changed = false;
        for (row, gone) in work.rows.iter_mut().zip(&mut gone) {
            if *gone {
                continue;
            }
            let bounds = Bounds {
                lower: &mut work.lower,
                upper: &mut work.upper,
                whole: &work.whole,
            };
            match look(row, bounds)? {
                Seen::Nothing => {}
                Seen::Tighter => changed = true,
                Seen::Spent => {
                    *gone = true;
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    Some(gather(&work, &gone))
}

/// Puts together what is left.
fn gather(work: &Lp, gone: &[bool]) -> Reduced {
    let mut lp = Lp::default();
    let mut settled = 0.0;
    let mut place = Vec::with_capacity(work.cost.len());
    for i in 0..work.cost.len() {
        place.push(if work.lower[i] == work.upper[i] {
            settled += work.cost[i] * work.lower[i];
            Place::Settled(work.lower[i])
        } else {
            let at = lp.variable(work.cost[i], work.upper[i], work.whole[i]);
            lp.lower[at] = work.lower[i];
            Place::Left(at)
        });
    }
    for (row, _) in work.rows.iter().zip(gone).filter(|(_, gone)| !**gone) {
        let mut rhs = row.rhs;
        let mut terms = Vec::with_capacity(row.terms.len());
        for &(i, a) in &row.terms {
            match place[i] {
                Place::Left(at) => terms.push((at, a)),
                Place::Settled(value) => rhs -= a * value,
            }
        }
        lp.row(terms, row.sense, rhs);
    }
    Reduced { lp, place, settled }
}

/// The bounds of all variables while rows are looked at.
struct Bounds<'a> {
    lower: &'a mut [f64],
    upper: &'a mut [f64],
    whole: &'a [bool],
}

/// What looking at a row brought.
enum Seen {
    Nothing,
    /// A bound or a factor is tighter.
    Tighter,
    /// The row says nothing any more.
    Spent,
}

/// Looks at one row; none if it can never hold.
fn look(row: &mut Row, bounds: Bounds<'_>) -> Option<Seen> {
    let slip = SLIP * (1.0 + row.rhs.abs());
    let span = span(&row.terms, &bounds);
    let below = row.sense != Sense::Ge;
    let above = row.sense != Sense::Le;
    if (below && span.least > row.rhs + slip) || (above && span.greatest < row.rhs - slip) {
        return None;
    }
    let free = |t: &&(usize, f64)| bounds.lower[t.0] != bounds.upper[t.0];
    let mut left = row.terms.iter().filter(free);
    let (first, second) = (left.next().copied(), left.next());
    let Some(first) = first else {
        return Some(Seen::Spent);
    };
    // Rows that always hold, and rows that hold only where every term is at its best.
    let always = (!below || span.greatest <= row.rhs) && (!above || span.least >= row.rhs);
    if always {
        return Some(Seen::Spent);
    }
    if below && span.least >= row.rhs - 1e-12 {
        return Some(settle(row, bounds, true));
    }
    if above && span.greatest <= row.rhs + 1e-12 {
        return Some(settle(row, bounds, false));
    }
    if second.is_none() {
        return bound(row, first, bounds).then_some(Seen::Spent);
    }
    Some(tighten(row, span, bounds))
}

/// Returns what a sum can be within the bounds.
fn span(terms: &[(usize, f64)], bounds: &Bounds<'_>) -> Span {
    let mut span = Span {
        least: 0.0,
        greatest: 0.0,
    };
    for &(i, a) in terms {
        let (low, high) = (a * bounds.lower[i], a * bounds.upper[i]);
        span.least += low.min(high);
        span.greatest += low.max(high);
    }
    span
}

/// Settles every variable of a row where its term is least, or greatest.
fn settle(row: &Row, bounds: Bounds<'_>, least: bool) -> Seen {
    for &(i, a) in &row.terms {
        if (a > 0.0) == least {
            bounds.upper[i] = bounds.lower[i];
        } else {
            bounds.lower[i] = bounds.upper[i];
        }
    }
    Seen::Spent
}

/// Takes the bound that a row with one free variable says; false if it leaves nothing.
fn bound(row: &Row, (i, a): (usize, f64), bounds: Bounds<'_>) -> bool {
    let others: f64 = (row.terms.iter().filter(|t| t.0 != i))
        .map(|&(j, a)| a * bounds.lower[j])
        .sum();
    let at = (row.rhs - others) / a;
    let whole = bounds.whole[i];
    let upper = row.sense == Sense::Eq || (row.sense == Sense::Le) == (a > 0.0);
    let lower = row.sense == Sense::Eq || !upper;
    if upper {
        let at = if whole { (at + SLIP).floor() } else { at };
        bounds.upper[i] = bounds.upper[i].min(at);
    }
    if lower {
        let at = if whole { (at - SLIP).ceil() } else { at };
        bounds.lower[i] = bounds.lower[i].max(at);
    }
    let apart = bounds.lower[i] - bounds.upper[i];
    if apart > 0.0 {
        // Closed by the arithmetic alone, or not at all.
        if apart > SLIP * (1.0 + bounds.lower[i].abs()) || whole {
            return false;
        }
        bounds.upper[i] = bounds.lower[i];
    }
    true
}

/// Closes a switch as far as the rest of its row can ever need it open.
///
/// With `a·y + rest ≤ b`, `y` off or on and `a < 0`: where the rest cannot reach `b − a`, the part of `a` beyond the
/// greatest rest changes nothing for whole numbers and loosens the relaxation.
fn tighten(row: &mut Row, span: Span, bounds: Bounds<'_>) -> Seen {
    if row.sense != Sense::Le || !span.greatest.is_finite() {
        return Seen::Nothing;
    }
    let off_or_on = |i: usize| bounds.whole[i] && bounds.lower[i] == 0.0 && bounds.upper[i] == 1.0;
    for term in &mut row.terms {
        if term.1 < 0.0 && off_or_on(term.0) {
            // At its greatest the switch is off, so that the span is that of the rest.
            let enough = (row.rhs - span.greatest).min(0.0);
            if enough > term.1 + SLIP * (1.0 + term.1.abs()) {
                term.1 = enough;
                return Seen::Tighter;
            }
        }
    }
    Seen::Nothing
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::plan::lp::Budget;
    use proptest::prelude::*;

    #[test]
    fn a_closed_switch_takes_its_row_and_its_food_along() {
        let mut lp = Lp::default();
        let used = lp.variable(10.0, 1.0, true);
        let put = lp.variable(0.5, 4.0, false);
        let lost = lp.variable(7.0, 4.0, false);
        lp.row(vec![(put, 1.0), (used, -4.0)], Sense::Le, 0.0);
        lp.row(vec![(put, 1.0), (lost, 1.0)], Sense::Eq, 4.0);
        lp.upper[used] = 0.0;
        let reduced = reduce(&lp).unwrap();
        assert!(reduced.lp.cost.is_empty() && reduced.lp.rows.is_empty());
        assert_eq!(reduced.whole(&[]), [0.0, 0.0, 4.0]);
        assert_eq!(reduced.settled, 28.0);
    }

    #[test]
    fn a_switch_opens_no_wider_than_its_row_needs() {
        let mut lp = Lp::default();
        let used = lp.variable(10.0, 1.0, true);
        let puts = [lp.variable(0.5, 1.0, false), lp.variable(0.5, 2.0, false)];
        let terms = vec![(puts[0], 10.0), (puts[1], 10.0), (used, -240.0)];
        lp.row(terms, Sense::Le, 0.0);
        let reduced = reduce(&lp).unwrap();
        assert_eq!(reduced.lp.rows[0].terms[2].1, -30.0);
    }

    #[test]
    fn what_cannot_fit_is_told() {
        let mut lp = Lp::default();
        let x = lp.variable(1.0, 1.0, true);
        let y = lp.variable(1.0, 1.0, true);
        lp.row(vec![(x, 1.0), (y, 1.0)], Sense::Ge, 2.5);
        assert!(reduce(&lp).is_none());
    }

    proptest! {
        /// The optimum is that of the solver alone, and the point fits every row of the whole program.
        #[test]
        fn the_optimum_stays(
            cost in proptest::collection::vec(-9_i32..10, 6),
            upper in proptest::collection::vec(0_u32..4, 6),
            whole in proptest::collection::vec(any::<bool>(), 6),
            rows in proptest::collection::vec(
                (proptest::collection::vec(-3_i32..4, 6), 0_u32..3, -4_i32..9), 1..6),
        ) {
            let mut lp = Lp::default();
            for i in 0..6 {
                lp.variable(f64::from(cost[i]), f64::from(upper[i]), whole[i]);
            }
            for (factors, sense, rhs) in rows {
                let terms: Vec<(usize, f64)> = (factors.iter().enumerate())
                    .filter(|(_, a)| **a != 0)
                    .map(|(i, a)| (i, f64::from(*a)))
                    .collect();
                if !terms.is_empty() {
                    let sense = [Sense::Le, Sense::Ge, Sense::Eq][sense as usize];
                    lp.row(terms, sense, f64::from(rhs));
                }
            }
            let exact = Budget { nodes: 100_000, gap: 0.0 };
            let alone = lp.search(exact, None, 0.0).and_then(|a| a.best);
            let reduced = lp.solve(exact, None).and_then(|a| a.best);
            match (alone, reduced) {
                (Some((_, alone)), Some((point, cost))) => {
                    prop_assert!((alone - cost).abs() < 1e-5, "{alone} and {cost}");
                    for row in &lp.rows {
                        let sum: f64 = row.terms.iter().map(|&(i, a)| a * point[i]).sum();
                        prop_assert!(row.sense == Sense::Ge || sum <= row.rhs + 1e-6);
                        prop_assert!(row.sense == Sense::Le || sum >= row.rhs - 1e-6);
                    }
                }
                (None, None) => {}
                (alone, reduced) => prop_assert!(false, "{alone:?} and {reduced:?}"),
            }
        }
    }
}
