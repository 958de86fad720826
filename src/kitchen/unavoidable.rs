//! How often, and how much, work cannot be done in time: the certificate of every season looked at, summed up.
//!
//! Knows seasons and stretches of days; how work is weighed stands in [`super::undoable`].

use super::certificate::{self, Stretch, WorkLot, certify};
use super::context::Context;
use super::draw::KitchenDraw;
use super::plan::bridge::{chosen_season, surplus};
use super::undoable::{capacity_hours, work_of_crops};
use crate::garden::crop::CropId;
use crate::season::draw::SeasonDraw;
use chrono::{NaiveDate, TimeDelta};

/// Hours that are worth a word.
const LEAST_HOURS: f64 = 0.25;
/// Most crops named in a stretch.
const MOST_CROPS: usize = 3;
/// Share of a stretch's hours from which a crop is named, and from which the crops named are next to everything.
const LEAST_SHARE: f64 = 0.08;
const NEARLY_ALL: f64 = 0.95;
/// Shares of seasons in which at least so much cannot be done, the first that comes to something being told.
const SHARES: [f64; 3] = [0.5, 0.3, 0.1];

/// What cannot be done in one season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonUndoable {
    /// Hours.
    pub hours: f64,
    /// The stretch with the greatest excess, if any.
    pub worst: Option<Stretch>,
    /// What falls due in it.
    pub due: Due,
}

/// Whose work falls due in a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Due {
    /// The crops with the most hours, the most first.
    pub crops: [Option<CropId>; MOST_CROPS],
    /// Whether next to nothing else falls due.
    pub all: bool,
}

/// What cannot be done, over the seasons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unavoidable {
    /// Share of seasons in which at least so many hours cannot be done.
    pub chance: f64,
    /// Hours.
    pub hours: f64,
    /// The worst stretch of the season that stands just at that share.
    pub worst: Option<DatedStretch>,
}

/// A stretch of days in which more work falls due than can be done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DatedStretch {
    /// First day.
    pub first: NaiveDate,
    /// Last day, included.
    pub last: NaiveDate,
    /// Hours that can only be done in it.
    pub due_hours: f64,
    /// Hours it has.
    pub have_hours: f64,
    /// Whose work it is.
    pub due: Due,
}

/// Puts dates to a stretch.
#[must_use]
pub fn dated_stretch(ctx: &Context, stretch: &Stretch, due: Due) -> DatedStretch {
    let date = |day: usize| ctx.calendar.first + TimeDelta::days(day as i64);
    DatedStretch {
        first: date(stretch.first),
        last: date(stretch.last),
        due_hours: stretch.due_hours,
        have_hours: stretch.have_hours,
        due,
    }
}

/// Finds whose work falls due in a stretch; `crops` holds the crop of each lot, as an index into the kitchen's crops.
#[must_use]
pub fn due_in(ctx: &Context, stretch: &Stretch, lots: &[WorkLot], crops: &[usize]) -> Due {
    let mut hours = vec![0.0; ctx.crops.len()];
    for (lot, &crop) in lots.iter().zip(crops) {
        if lot.release >= stretch.first && lot.last <= stretch.last {
            hours[crop] += lot.hours;
        }
    }
    let all: f64 = hours.iter().sum();
    let mut order: Vec<usize> = (0..hours.len())
        .filter(|&c| hours[c] >= LEAST_SHARE * all && hours[c] > 0.0)
        .collect();
    order.sort_by(|&a, &b| hours[b].total_cmp(&hours[a]).then(a.cmp(&b)));
    order.truncate(MOST_CROPS);
    let mut due = Due {
        all: order.iter().map(|&c| hours[c]).sum::<f64>() >= NEARLY_ALL * all,
        ..Due::default()
    };
    for (named, crop) in due.crops.iter_mut().zip(order) {
        *named = Some(ctx.crops[crop].id);
    }
    due
}

/// Finds what cannot be done in one season.
#[must_use]
pub fn of_season(ctx: &Context, season: &SeasonDraw, drawn: &KitchenDraw) -> SeasonUndoable {
    let (lots, crops) = work_of_crops(ctx, &surplus(ctx, season, drawn));
    let capacity = capacity_hours(ctx);
    let mut scratch = certificate::Scratch::default();
    let hours = certificate::undoable_hours(&lots, &capacity, &mut scratch);
    // The proof takes longer than the hours, and most seasons need none.
    let worst = if hours < LEAST_HOURS {
        None
    } else {
        let proof = certify(&lots, &capacity).proof;
        proof
            .into_iter()
            .max_by(|a, b| a.excess_hours().total_cmp(&b.excess_hours()))
    };
    let due = worst.map_or(Due::default(), |stretch| {
        due_in(ctx, &stretch, &lots, &crops)
    });
    SeasonUndoable { hours, worst, due }
}

/// Sums up the seasons looked at; nothing if it comes to nothing in nine seasons of ten.
#[must_use]
pub fn unavoidable(ctx: &Context, seasons: &[SeasonUndoable]) -> Option<Unavoidable> {
    let hours: Vec<f64> = seasons.iter().map(|s| s.hours).collect();
    SHARES.into_iter().find_map(|chance| {
        let season = &seasons[chosen_season(&hours, 1.0 - chance)?];
        (season.hours >= LEAST_HOURS).then(|| Unavoidable {
            chance,
            hours: season.hours,
            worst: (season.worst).map(|stretch| dated_stretch(ctx, &stretch, season.due)),
        })
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::context::compile;
    use crate::kitchen::fixture::{self, monday};

    /// Ten seasons: six need nothing, four cannot do 1, 2, 3 and 8 hours. In 3 of 10 it is at least 2 hours.
    #[test]
    fn the_share_that_is_told_has_at_least_its_hours() {
        let ctx = compile(&fixture::garden(), monday(), 14, monday());
        let worst = Some(Stretch {
            first: 3,
            last: 6,
            due_hours: 6.0,
            have_hours: 4.0,
        });
        let due = Due::default();
        let season = |hours| SeasonUndoable { hours, worst, due };
        let seasons = [0.0, 3.0, 0.0, 0.0, 1.0, 0.0, 8.0, 0.0, 2.0, 0.0].map(season);
        let found = unavoidable(&ctx, &seasons).unwrap();
        assert_eq!((found.chance, found.hours), (0.3, 2.0));
        let at_least = seasons.iter().filter(|s| s.hours >= found.hours).count();
        assert_eq!(at_least, 3);
        assert_eq!(found.worst.unwrap().first, monday() + TimeDelta::days(3));
        assert_eq!(unavoidable(&ctx, &[season(0.0); 10]), None);
        assert_eq!(unavoidable(&ctx, &[]), None);
    }
}
