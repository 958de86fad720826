//! Whether a sowing day is a safe one: whether it gives nearly as much a few days earlier or later.
//!
//! A day is flat if the days about it lose at most a twentieth. Where no sowing day of a crop is flat for weeks, the least
//! steep may be taken, and the page says so.

use super::candidates::Candidate;
use super::offer::Sowing;
use super::response::Reply;
use super::setup::Setup;

/// What a few days either way may cost at most, as a share.
pub(crate) const FLAT: f64 = 0.05;
/// The same where no sowing day near it is flat.
pub(crate) const STEEP: f64 = 0.10;
/// Days either way that are tested.
pub(crate) const EITHER_WAY: i64 = 3;
/// Days within which a flat day is near.
const NEAR_DAYS: i64 = 14;

/// Says whether a candidate is flat, or as flat as any near it.
pub(crate) fn worth_trying(candidates: &[Candidate], replies: &[Reply], c: usize) -> bool {
    among(candidates, replies, c, FLAT)
        || (among(candidates, replies, c, STEEP)
            && !near(candidates, c).any(|k| among(candidates, replies, k, FLAT)))
}

/// Says whether the candidates a few days either way give nearly as much.
fn among(candidates: &[Candidate], replies: &[Reply], c: usize, most: f64) -> bool {
    let this = &candidates[c];
    near(candidates, c).all(|k| {
        let days = (candidates[k].start() - this.start()).num_days().abs();
        let less = most * days as f64 / EITHER_WAY as f64;
        days > 4 || replies[k].useful_kg >= (1.0 - less) * replies[c].useful_kg
    })
}

/// Candidates of the same crop, kind of bed and manner, within the days that are near.
fn near(candidates: &[Candidate], c: usize) -> impl Iterator<Item = usize> {
    let this = candidates[c];
    let near = move |o: &Candidate| {
        same(o, &this) && (o.start() - this.start()).num_days().abs() <= NEAR_DAYS
    };
    // They stand together, those sown and those set out side by side.
    const WINDOW: usize = 2 * NEAR_DAYS as usize;
    (c.saturating_sub(WINDOW)..(c + WINDOW + 1).min(candidates.len()))
        .filter(move |&k| k != c && near(&candidates[k]))
}

fn same(a: &Candidate, b: &Candidate) -> bool {
    (a.crop, a.kind, a.set_out.is_some()) == (b.crop, b.kind, b.set_out.is_some())
}

/// Says whether shares of what a day gives, earlier and later, are within some loss.
pub(crate) fn within(moved: &[Option<f64>; 2], loss: f64) -> bool {
    moved.iter().flatten().all(|share| *share >= 1.0 - loss)
}

/// Returns the sowings of a plan that are not flat as tested, but for those beside which nothing flatter is on offer.
pub(crate) fn steep(
    setup: &Setup,
    alone: &[f64],
    plan: &[Sowing],
    tested: &[(Reply, [Option<f64>; 2])],
) -> Vec<usize> {
    let fails = |k: usize| !within(&tested[k].1, FLAT);
    let candidate = |offer: usize| setup.candidates[setup.of[offer]];
    let flatter = |offer: usize| {
        let this = candidate(offer);
        (0..setup.offers.len()).any(|o| {
            let other = candidate(o);
            let failed = (0..plan.len()).any(|k| plan[k].offer == o && fails(k));
            !failed
                && alone[o] > f64::NEG_INFINITY
                && same(&other, &this)
                && (other.start() - this.start()).num_days().abs() <= NEAR_DAYS
                && among(&setup.candidates, &setup.replies, setup.of[o], FLAT)
        })
    };
    (0..plan.len())
        .filter(|&k| fails(k) && (!within(&tested[k].1, STEEP) || flatter(plan[k].offer)))
        .map(|k| plan[k].offer)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::garden::crop::CropId;
    use chrono::NaiveDate;

    /// Candidates of one crop on every third day with what each gives.
    fn days(kg: impl Fn(i64) -> f64) -> (Vec<Candidate>, Vec<Reply>) {
        let first = NaiveDate::default();
        (0..12)
            .map(|k| {
                let candidate = Candidate {
                    crop: CropId(0),
                    kind: 0,
                    sown: first + chrono::Duration::days(3 * k),
                    set_out: None,
                };
                let reply = Reply {
                    useful_kg: kg(k),
                    ..Reply::default()
                };
                (candidate, reply)
            })
            .unzip()
    }

    fn tried(kg: impl Fn(i64) -> f64) -> Vec<usize> {
        let (candidates, replies) = days(kg);
        let worth = |c: &usize| worth_trying(&candidates, &replies, *c);
        (0..candidates.len()).filter(worth).collect()
    }

    #[test]
    fn a_twentieth_is_flat_and_a_tenth_only_where_nothing_is_flatter() {
        // Level, or falling by 4 % every three days: all days do.
        assert_eq!(tried(|_| 1.0).len(), 12);
        assert_eq!(tried(|k| 0.96_f64.powi(k as i32)).len(), 12);
        // Level and then falling by a tenth every three days: the edge is left out while level days are near it, and
        // farther on nothing is flat enough.
        let edge = tried(|k| {
            if k < 6 {
                1.0
            } else {
                0.91_f64.powi(k as i32 - 5)
            }
        });
        assert!(
            (0..5).all(|k| edge.contains(&k)) && !edge.contains(&5),
            "{edge:?}"
        );
        // Falling by 9 % every three days from the first: no day is flat, so that all may be taken.
        assert!(tried(|k| 0.91_f64.powi(k as i32)).contains(&3));
        // By 15 %: none may, but the last, after which nothing was tried.
        assert_eq!(tried(|k| 0.85_f64.powi(k as i32)), [11]);
    }
}
