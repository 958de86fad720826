//! What cannot be done: the working hours that no plan can fit before the food is past its best, with a proof.
//!
//! In: lots of work, each with the first day it can be done, its last useful day and its hours, and the hours each day
//! offers. Out: the hours that must be left undone whatever the order of work, and the stretches of days that prove it.
//! Work may be split over days except where a lot says how long one piece lasts. Set-up time is left out on purpose: it
//! can only add to what is found here. Knows nothing of crops, products or dates.
//!
//! Method: work with first and last days fits exactly if, for every stretch, the hours that fall due inside it are no
//! more than the hours it has (the processor-demand criterion: Baruah, Rosier and Howell 1990; Horn 1974, Naval Research
//! Logistics Quarterly 21:177–185). What is left over is the largest total excess over stretches that do not overlap
//! (the deficiency form of Hall's theorem for intervals), and doing the earliest last day first leaves over no more
//! (Glover 1967, Naval Research Logistics Quarterly 14:313–316).

/// An amount of work with the days on which it can be done; days are counted from the first day of the calendar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkLot {
    /// First day on which it can be done.
    pub release: usize,
    /// Last day on which doing it is still of use; not before `release`.
    pub last: usize,
    /// Working hours.
    pub hours: f64,
    /// Hours a day must have to hold one piece that may not be split, such as a canner load; zero for work that can be
    /// split at will.
    pub piece_hours: f64,
}

/// A stretch of days in which more falls due than can be done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// First day of the stretch.
    pub first: usize,
    /// Last day of the stretch, included.
    pub last: usize,
    /// Hours of all lots that can only be done inside the stretch.
    pub due_hours: f64,
    /// Hours the days of the stretch have.
    pub have_hours: f64,
}

impl Stretch {
    /// Returns the hours by which the work exceeds the time.
    #[must_use]
    pub fn excess_hours(&self) -> f64 {
        self.due_hours - self.have_hours
    }
}

/// What cannot be done, with its proof.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Certificate {
    /// Hours that no order of work can fit.
    pub undoable_hours: f64,
    /// Stretches that do not overlap, in order; their excess and the hours of `no_day` add to `undoable_hours`.
    pub proof: Vec<Stretch>,
    /// Indices of lots that come in pieces longer than any day they could be done on.
    pub no_day: Vec<usize>,
}

/// Finds the hours that cannot be done and the stretches of days that prove it.
///
/// **Units**: hours; days as indices into `capacity_hours`. Lots that reach beyond the calendar are cut at its end; one
/// that begins after it is left out. O(lots + days²).
#[must_use]
pub fn certify(lots: &[WorkLot], capacity_hours: &[f64]) -> Certificate {
    let days = capacity_hours.len();
    let mut certificate = Certificate::default();
    let mut starting: Vec<Vec<(usize, f64)>> = vec![Vec::new(); days];
    for (index, lot) in lots.iter().enumerate().filter(|(_, l)| l.release < days) {
        match fitted(lot, capacity_hours) {
            Some((release, last)) => starting[release].push((last, lot.hours)),
            None => {
                certificate.undoable_hours += lot.hours;
                certificate.no_day.push(index);
            }
        }
    }
    // best[a]: greatest total excess of stretches inside a..days; chosen[a]: last day of the stretch that begins at a.
    let mut best = vec![0.0; days + 1];
    let mut chosen: Vec<Option<Stretch>> = vec![None; days];
    let mut due_on = vec![0.0; days];
    for first in (0..days).rev() {
        for &(last, hours) in &starting[first] {
            due_on[last] += hours;
        }
        best[first] = best[first + 1];
        if starting[first].is_empty() {
            continue; // a worst stretch begins with a release
        }
        let (mut due_hours, mut have_hours) = (0.0, 0.0);
        for last in first..days {
            due_hours += due_on[last];
            have_hours += capacity_hours[last];
            let total = due_hours - have_hours + best[last + 1];
            if due_on[last] > 0.0 && total > best[first] + 1e-12 {
                best[first] = total;
                chosen[first] = Some(Stretch {
                    first,
                    last,
                    due_hours,
                    have_hours,
                });
            }
        }
    }
    certificate.undoable_hours += best[0];
    let mut day = 0;
    while day < days {
        match chosen[day] {
            Some(stretch) => {
                certificate.proof.push(stretch);
                day = stretch.last + 1;
            }
            None => day += 1,
        }
    }
    certificate
}

/// Narrows a lot's days to those that can hold one piece of it; none if no day can.
fn fitted(lot: &WorkLot, capacity_hours: &[f64]) -> Option<(usize, usize)> {
    let end = capacity_hours.len() - 1;
    let (mut first, mut last) = (lot.release, lot.last.min(end).max(lot.release));
    if lot.piece_hours > 0.0 {
        let holds = |day: usize| capacity_hours[day] >= lot.piece_hours - 1e-9;
        first = (first..=last).find(|&day| holds(day))?;
        last = (first..=last).rfind(|&day| holds(day))?;
    }
    Some((first, last))
}

/// Room for [`undoable_hours`], kept from draw to draw so that nothing is allocated.
#[derive(Debug, Default)]
pub struct Scratch {
    order: Vec<(usize, usize, f64)>,
    left: Vec<f64>,
}

/// Finds the hours that cannot be done by doing the earliest last day first, without the proof: for many draws.
///
/// Same answer as [`certify`]. O(lots log lots + days).
pub fn undoable_hours(lots: &[WorkLot], capacity_hours: &[f64], scratch: &mut Scratch) -> f64 {
    let days = capacity_hours.len();
    let Scratch { order, left } = scratch;
    order.clear();
    left.clear();
    left.resize(days, 0.0);
    let mut undone = 0.0;
    for lot in lots.iter().filter(|l| l.release < days) {
        match fitted(lot, capacity_hours) {
            Some((release, last)) => order.push((release, last, lot.hours)),
            None => undone += lot.hours,
        }
    }
    order.sort_unstable_by_key(|&(release, ..)| release);
    // No work is left outside the days from the earliest last day to the latest.
    let (mut next, mut earliest, mut latest) = (0, 0, 0);
    for (day, &capacity) in capacity_hours.iter().enumerate() {
        while let Some(&(_, last, hours)) = order.get(next).filter(|lot| lot.0 <= day) {
            left[last] += hours;
            earliest = earliest.min(last);
            latest = latest.max(last);
            next += 1;
        }
        let mut free = capacity;
        while earliest <= latest && (free > 0.0 || earliest < day) {
            let done = if earliest < day {
                undone += left[earliest];
                left[earliest]
            } else {
                left[earliest].min(free)
            };
            if earliest >= day {
                free -= done;
            }
            left[earliest] -= done;
            if left[earliest] > 0.0 {
                break;
            }
            earliest += 1;
        }
    }
    undone + left.iter().sum::<f64>()
}

/// One piece of work in a schedule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Day on which it is done.
    pub day: usize,
    /// Index of the lot.
    pub lot: usize,
    /// Hours done.
    pub hours: f64,
}

/// Lays out the work, earliest last day first (ties: the lot listed first), and returns it with what is left of each lot.
#[must_use]
pub fn earliest_last_day_first(lots: &[WorkLot], capacity_hours: &[f64]) -> (Vec<Piece>, Vec<f64>) {
    let mut left: Vec<f64> = lots.iter().map(|lot| lot.hours).collect();
    let mut by_last: Vec<usize> = (0..lots.len()).collect();
    by_last.sort_by_key(|&lot| lots[lot].last);
    let mut pieces = Vec::new();
    let mut due = by_last.as_slice();
    for (day, &capacity) in capacity_hours.iter().enumerate() {
        let mut free = capacity;
        if free <= 0.0 {
            continue;
        }
        due = &due[due.partition_point(|&lot| lots[lot].last < day)..];
        for &lot in due {
            if free <= 0.0 {
                break;
            }
            if lots[lot].release > day {
                continue;
            }
            let hours = left[lot].min(free);
            if hours > 0.0 {
                left[lot] -= hours;
                free -= hours;
                pieces.push(Piece { day, lot, hours });
            }
        }
    }
    (pieces, left)
}

/// Finds how many hours of each lot to do when an hour of one is worth more than an hour of another.
///
/// Lots are taken in falling value per hour, each given as many hours as still fit beside those before it. That is best
/// because the hours that fit together form a polymatroid (Edmonds 1970, from memory; checked against a linear program).
#[must_use]
pub fn most_valuable_hours(
    lots: &[WorkLot],
    value_per_hour: &[f64],
    capacity_hours: &[f64],
) -> Vec<f64> {
    let mut order: Vec<usize> = (0..lots.len()).collect();
    order.sort_by(|&a, &b| value_per_hour[b].total_cmp(&value_per_hour[a]));
    let mut scratch = Scratch::default();
    let mut taken: Vec<WorkLot> = Vec::with_capacity(lots.len());
    let mut done = vec![0.0; lots.len()];
    let mut total = 0.0;
    for lot in order {
        taken.push(lots[lot]);
        let asked: f64 = taken.iter().map(|l| l.hours).sum();
        let fits = asked - undoable_hours(&taken, capacity_hours, &mut scratch);
        done[lot] = (fits - total).max(0.0);
        total = fits;
        if let Some(last) = taken.last_mut() {
            last.hours = done[lot];
        }
    }
    done
}

/// Finds the least time per day, the same every day, with which nothing would be left undone.
#[must_use]
pub fn least_daily_hours(lots: &[WorkLot]) -> f64 {
    let Some(end) = lots.iter().map(|lot| lot.last).max() else {
        return 0.0;
    };
    let mut due_on = vec![0.0; end + 1];
    let mut most = 0.0_f64;
    for first in (0..=end).rev() {
        for lot in lots.iter().filter(|lot| lot.release == first) {
            due_on[lot.last] += lot.hours;
        }
        let mut due = 0.0;
        for (length, hours) in due_on[first..].iter().enumerate() {
            due += hours;
            most = most.max(due / (length + 1) as f64);
        }
    }
    most
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Builds lots from (first day, last day, hours) with days counted from 1.
    fn lots(rows: &[(usize, usize, f64)]) -> Vec<WorkLot> {
        rows.iter()
            .map(|&(release, last, hours)| WorkLot {
                release: release - 1,
                last: last - 1,
                hours,
                piece_hours: 0.0,
            })
            .collect()
    }

    fn stretches(c: &Certificate) -> Vec<(usize, usize, f64, f64)> {
        c.proof
            .iter()
            .map(|s| (s.first + 1, s.last + 1, s.due_hours, s.have_hours))
            .collect()
    }

    /// Four jobs, three hours a day: worked by hand and by a linear program; every stretch's demand and capacity listed.
    #[test]
    fn one_stretch_proves_one_hour() {
        let jobs = lots(&[(1, 3, 4.0), (2, 3, 5.0), (2, 5, 3.0), (4, 5, 4.0)]);
        let found = certify(&jobs, &[3.0; 5]);
        assert_eq!(found.undoable_hours, 1.0);
        assert_eq!(stretches(&found), [(1, 5, 16.0, 15.0)]);
        let (pieces, left) = earliest_last_day_first(&jobs, &[3.0; 5]);
        assert_eq!(left, [0.0, 0.0, 0.0, 1.0]);
        let told: Vec<_> = pieces.iter().map(|p| (p.day + 1, p.lot, p.hours)).collect();
        let want = [
            (1, 0, 3.0),
            (2, 0, 1.0),
            (2, 1, 2.0),
            (3, 1, 3.0),
            (4, 2, 3.0),
            (5, 3, 3.0),
        ];
        assert_eq!(told, want);
        assert!((least_daily_hours(&jobs) - 3.2).abs() < 1e-12);
    }

    /// Two peaks: the worst single stretch shows 3 hours too many, the truth is 5.
    #[test]
    fn a_single_stretch_would_understate_two_peaks() {
        let jobs = lots(&[(1, 2, 8.0), (5, 6, 9.0), (1, 6, 2.0)]);
        let found = certify(&jobs, &[3.0; 6]);
        assert_eq!(found.undoable_hours, 5.0);
        assert_eq!(stretches(&found), [(1, 2, 8.0, 6.0), (5, 6, 9.0, 6.0)]);
        let worst = found.proof.iter().map(Stretch::excess_hours);
        assert_eq!(worst.fold(0.0, f64::max), 3.0);
        assert_eq!(
            undoable_hours(&jobs, &[3.0; 6], &mut Scratch::default()),
            5.0
        );
    }

    /// First come first served across crops would lose 3 hours here; earliest last day first loses none.
    #[test]
    fn what_came_first_is_not_always_due_first() {
        let jobs = lots(&[(1, 6, 3.0), (2, 2, 3.0)]);
        let capacity = [0.0, 3.0, 3.0, 3.0, 3.0, 3.0];
        assert_eq!(certify(&jobs, &capacity).undoable_hours, 0.0);
        let (_, left) = earliest_last_day_first(&jobs, &capacity);
        assert_eq!(left, [0.0, 0.0]);
    }

    /// Beans 2 lb an hour, tomatoes 5, cucumbers 3: 39 lb can be saved; earliest last day first saves 30.
    #[test]
    fn dearer_work_first_where_an_hour_is_worth_more() {
        let jobs = lots(&[(1, 1, 3.0), (1, 2, 6.0), (2, 4, 4.0)]);
        let (value, capacity) = ([2.0, 5.0, 3.0], [3.0, 3.0, 2.0, 1.0]);
        assert_eq!(certify(&jobs, &capacity).undoable_hours, 4.0);
        let worth =
            |hours: &[f64]| -> f64 { hours.iter().zip(value).map(|(hours, v)| hours * v).sum() };
        let done = most_valuable_hours(&jobs, &value, &capacity);
        assert_eq!(done, [0.0, 6.0, 3.0]);
        assert_eq!(worth(&done), 39.0);
        let (_, left) = earliest_last_day_first(&jobs, &capacity);
        let plain: Vec<f64> = jobs.iter().zip(left).map(|(j, l)| j.hours - l).collect();
        assert_eq!(worth(&plain), 30.0);
    }

    #[test]
    fn no_hours_at_all_is_a_proof_not_an_error() {
        let jobs = lots(&[(1, 2, 2.0), (3, 3, 1.5)]);
        let found = certify(&jobs, &[0.0; 4]);
        assert_eq!(found.undoable_hours, 3.5);
        assert_eq!(stretches(&found), [(1, 2, 2.0, 0.0), (3, 3, 1.5, 0.0)]);
        assert_eq!(certify(&jobs, &[]), Certificate::default());
        assert_eq!(certify(&[], &[1.0]).undoable_hours, 0.0);
    }

    #[test]
    fn a_canner_load_counts_only_against_days_that_hold_it() {
        let load = WorkLot {
            release: 0,
            last: 3,
            hours: 2.5,
            piece_hours: 2.5,
        };
        let short = certify(&[load], &[2.0, 2.0, 1.0, 2.0]);
        assert_eq!((short.undoable_hours, short.no_day), (2.5, vec![0]));
        let capacity = [1.0, 3.0, 1.0, 1.0];
        assert_eq!(certify(&[load], &capacity).undoable_hours, 0.0);
        let two = certify(&[load, load], &capacity);
        assert_eq!(two.undoable_hours, 2.0);
        assert_eq!(stretches(&two), [(2, 2, 5.0, 3.0)]);
    }

    /// Most value that can be done, by a general linear-programming solver.
    fn by_linear_program(lots: &[WorkLot], value: &[f64], capacity: &[f64]) -> f64 {
        use microlp::{ComparisonOp, OptimizationDirection, Problem};
        let mut lp = Problem::new(OptimizationDirection::Maximize);
        let mut on_day = vec![Vec::new(); capacity.len()];
        for (lot, value) in lots.iter().zip(value) {
            let vars: Vec<_> = (lot.release..=lot.last)
                .map(|day| (day, lp.add_var(*value, (0.0, lot.hours))))
                .collect();
            vars.iter().for_each(|&(day, v)| on_day[day].push((v, 1.0)));
            let all: Vec<_> = vars.iter().map(|&(_, v)| (v, 1.0)).collect();
            lp.add_constraint(all, ComparisonOp::Le, lot.hours);
        }
        for (terms, &hours) in on_day.into_iter().zip(capacity) {
            lp.add_constraint(terms, ComparisonOp::Le, hours);
        }
        lp.solve().unwrap().solution().unwrap().objective()
    }

    fn cases() -> impl Strategy<Value = (Vec<WorkLot>, Vec<f64>, Vec<f64>)> {
        (2_usize..14, 1_usize..12).prop_flat_map(|(days, n)| {
            let lot =
                (0..days, 0_usize..5, 0_u32..25).prop_map(move |(release, wait, h)| WorkLot {
                    release,
                    last: (release + wait).min(days - 1),
                    hours: f64::from(h) / 4.0,
                    piece_hours: 0.0,
                });
            (
                proptest::collection::vec(lot, n),
                proptest::collection::vec((1_u32..20).prop_map(f64::from), n),
                proptest::collection::vec((0_u32..13).prop_map(|q| f64::from(q) / 4.0), days),
            )
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(600))]

        /// Three ways to the same hours: stretches, earliest last day first, and a linear program.
        #[test]
        fn stretches_schedule_and_linear_program_agree((lots, value, capacity) in cases()) {
            let asked: f64 = lots.iter().map(|l| l.hours).sum();
            let found = certify(&lots, &capacity);
            let done = by_linear_program(&lots, &vec![1.0; lots.len()], &capacity);
            prop_assert!((found.undoable_hours - (asked - done)).abs() < 1e-7);
            let fast = undoable_hours(&lots, &capacity, &mut Scratch::default());
            prop_assert!((fast - found.undoable_hours).abs() < 1e-9);
            let (pieces, left) = earliest_last_day_first(&lots, &capacity);
            prop_assert!((left.iter().sum::<f64>() - fast).abs() < 1e-9);
            let worked: f64 = pieces.iter().map(|p| p.hours).sum();
            prop_assert!((worked + fast - asked).abs() < 1e-9);

            // The proof stands by itself: recount each stretch from the lots.
            let mut total = 0.0;
            let mut free_from = 0;
            for s in &found.proof {
                prop_assert!(s.first >= free_from && s.last >= s.first);
                free_from = s.last + 1;
                let due: f64 = lots.iter()
                    .filter(|l| l.release >= s.first && l.last <= s.last)
                    .map(|l| l.hours).sum();
                let have: f64 = capacity[s.first..=s.last].iter().sum();
                prop_assert!((due - s.due_hours).abs() < 1e-9 && (have - s.have_hours).abs() < 1e-9);
                total += due - have;
            }
            prop_assert!((total - found.undoable_hours).abs() < 1e-9);

            let hours = most_valuable_hours(&lots, &value, &capacity);
            let worth: f64 = hours.iter().zip(&value).map(|(h, v)| h * v).sum();
            prop_assert!((worth - by_linear_program(&lots, &value, &capacity)).abs() < 1e-6);
        }

        /// The least daily time leaves nothing undone, and a little less leaves something.
        #[test]
        fn least_daily_hours_are_least((lots, _, capacity) in cases()) {
            let hours = least_daily_hours(&lots);
            let enough = certify(&lots, &vec![hours; capacity.len()]);
            prop_assert!(enough.undoable_hours < 1e-9);
            if hours > 0.1 {
                let short = certify(&lots, &vec![hours - 0.01; capacity.len()]);
                prop_assert!(short.undoable_hours > 0.0);
            }
        }
    }
}
