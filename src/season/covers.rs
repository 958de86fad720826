//! Covers over a planting: which cold counts under them, and how much warmer their air is.
//!
//! Gains are low on purpose; on clear still nights a cover can keep off nothing. Knows the bed and the crop, no weather.

use super::ends::Cover;
use super::growth::Warmer;
use super::horizon::Horizon;
use super::lives::Shared;
use crate::garden::bed::{Bed, Protection};
use crate::garden::crop::Crop;
use chrono::Days;

/// Degrees Fahrenheit of covering that the grower throws over tender plants in spring.
pub(crate) const SPRING_COVER_F: f64 = 4.0;
/// Plants killed at or above this, °F, are tender (light freeze 29-32 °F kills tender plants: UC Tuolumne).
const TENDER_F: f64 = 29.0;

/// Covers over a planting's life with the thresholds that count under them.
pub(crate) fn covers(
    shared: &mut Shared,
    crop: &Crop,
    bed: &Bed,
    start: u16,
    limit: u16,
) -> Vec<Cover> {
    let (kills, spoils) = (
        crop.ends.killed_below.map(|t| t.f()),
        crop.ends.spoiled_below.map(|t| t.f()),
    );
    if kills.is_none() && spoils.is_none() {
        return Vec::new();
    }
    let tender = kills.is_some_and(|t| t >= TENDER_F);
    let on = covered(bed, &shared.horizon);
    let springs: Vec<(i32, i32)> = shared
        .winters
        .iter()
        .map(|w| (w.middle(), w.end()))
        .collect();
    let mut cuts: Vec<u16> = [start, limit, on.0, on.1]
        .into_iter()
        .chain(
            springs
                .iter()
                .flat_map(|s| [s.0, s.1])
                .filter_map(|d| u16::try_from(d).ok()),
        )
        .filter(|d| (start..=limit).contains(d))
        .collect();
    cuts.sort_unstable();
    cuts.dedup();
    let mut covers: Vec<Cover> = Vec::new();
    for pair in cuts.windows(2) {
        let (from, until) = (pair[0], pair[1]);
        let gain_f = if from >= on.0 && from < on.1 {
            gain_f(bed.protection)
        } else {
            0.0
        };
        let spring = springs
            .iter()
            .any(|s| i32::from(from) >= s.0 && i32::from(from) < s.1);
        let thrown_f = if tender && spring {
            SPRING_COVER_F
        } else {
            0.0
        };
        shared.spring_cover |= thrown_f > gain_f;
        let next = Cover {
            from,
            until,
            kills: kills.map(|t| shared.threshold(t - gain_f.max(thrown_f))),
            spoils: spoils.map(|t| shared.threshold(t - gain_f)),
        };
        match covers.last_mut() {
            Some(last) if (last.kills, last.spoils) == (next.kills, next.spoils) => {
                last.until = until
            }
            _ => covers.push(next),
        }
    }
    covers
}

/// Days on which a bed's cover is on; an empty stretch without one.
fn covered(bed: &Bed, horizon: &Horizon) -> (u16, u16) {
    if bed.protection == Protection::None {
        return (0, 0);
    }
    let from = bed.protected.from.map_or(0, |date| horizon.clamped(date));
    let until = bed
        .protected
        .until
        .map_or(horizon.days, |date| horizon.clamped(date + Days::new(1)));
    (from, until.max(from))
}

/// Degrees Fahrenheit that a cover keeps off at the minimum, low on purpose; on clear still nights it can be nothing.
///
/// Sources: Colorado State fact sheet 722 (row cover 2-4 °F, plastic on hoops 2-4 °F), Oregon State 1988 (covers at or
/// below ambient on clear nights), Oregon press (insulated cold frame 10 °F or more), Savage 1980 (high tunnel 2.3 °F).
fn gain_f(protection: Protection) -> f64 {
    match protection {
        Protection::None | Protection::ShadeCloth => 0.0,
        Protection::RowCoverLight | Protection::HighTunnel => 2.0,
        Protection::RowCoverHeavy | Protection::LowTunnel => 4.0,
        Protection::ColdFrame => 8.0,
    }
}

/// Days on which a bed's air is warmer than outside.
pub(crate) fn warmer(bed: &Bed, horizon: &Horizon) -> Warmer {
    (bed.protection == Protection::HighTunnel).then(|| covered(bed, horizon))
}
