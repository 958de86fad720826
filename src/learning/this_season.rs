//! The season so far: the drawn seasons put in other places, crop by crop, by the pickings logged before a day.
//!
//! Gathers what every draw says of the weeks before that day and lets [`super::in_season`] weigh the draws of each crop by
//! that crop's pickings alone: what a crop has done says most of its own remaining weeks, and a garden's crops all judged
//! at once leave too few draws that agree (tried on made-up gardens, where it gained a fifth as much). Crops that share
//! plantings, such as turnips and their greens, are judged together. Within a chunk draws go to places in the order of
//! their cold, so that the crops of one place still meet about the same frost.
//!
//! A crop that stands long is picked when it is wanted, not when it is ready, so that its pickings tell little and are left
//! out; so are weeks of a crop of which an earlier planting, no longer followed, may have given.

use super::chance::stream;
use super::gather::Gathered;
use super::in_season::{systematic, weigh_season};
use super::record::{LoggedWeeks, by_crop};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::record::Picked;
use crate::garden::week::Week;
use crate::season::draw::{EndCause, SeasonDraw};
use crate::season::ensemble::{self, CHUNK, Settings};
use crate::season::kept::Kept;
use crate::season::plan::Plan;
use chrono::{Days, NaiveDate};
use rayon::prelude::*;
use std::sync::Arc;

/// Days that a crop may stand ready above which its pickings do not count (judgement: a week's picking is then no longer
/// what became ready in about that week).
pub const MOST_HOLD_DAYS: f64 = 7.0;

/// What the pickings of the season so far say.
#[derive(Debug, Clone, PartialEq)]
pub struct ThisSeason {
    /// Crops that are judged together, and for each place the draw that stands there.
    pub orders: Vec<(Vec<CropId>, Vec<u32>)>,
    /// Number of entries that counted.
    pub pickings: usize,
    /// Number of equal draws that would tell as much, of the crop that has fewest.
    pub effective_draws: f64,
    /// The seasons that were weighed, if they were few enough to be kept.
    kept: Option<Arc<Kept>>,
}

impl ThisSeason {
    /// Puts the draws of the plan that was weighed where the pickings want them.
    pub fn place(self, plan: &mut Plan) {
        plan.move_draws(&self.orders, self.told());
        if let Some(kept) = self.kept {
            plan.keep(kept);
        }
    }

    /// Returns what happened to the forecast, in a sentence for the grower.
    #[must_use]
    pub fn told(&self) -> String {
        let (pickings, count) = match self.pickings {
            1 => ("The picking".to_owned(), "counts"),
            n => (format!("The {n} pickings"), "count"),
        };
        format!(
            "{pickings} logged so far this season {count}: for each crop that was picked, seasons like this one weigh more, \
             as good as {:.0} drawn seasons or more.",
            self.effective_draws
        )
    }
}

/// Weighs the draws of a plan by the pickings logged before a day; none, and no work done, if nothing was logged that
/// counts.
///
/// `rows` are the pickings, as [`super::record::with_counted_bags`] gives them. The plan must be that of the day, with
/// every draw at its own place.
#[must_use]
pub fn this_season(
    garden: &Garden,
    rows: &[Picked],
    plan: &Plan,
    as_of: NaiveDate,
    settings: &Settings,
) -> Option<ThisSeason> {
    let (first, today) = (Week::of(plan.horizon().first), Week::of(as_of));
    let heard_from = |crop: CropId| {
        let holds = garden.crop(crop).harvest.holds_days > MOST_HOLD_DAYS;
        let day = plan.followed_from(crop);
        (!holds).then(|| first.plus(i64::from(day.div_ceil(7))))
    };
    let counts = |row: &&Picked| {
        let week = Week::of(row.date);
        week < today && heard_from(row.crop).is_some_and(|from| from <= week)
    };
    let pickings = rows.iter().filter(counts).count();
    if pickings == 0 {
        return None;
    }
    let weeks = usize::try_from(today.since(first)).unwrap_or(0);
    let (runs, kept) = ensemble::run_and_keep(
        plan,
        settings,
        |_| (Gathered::new(garden, weeks), Vec::new()),
        |(gathered, cold), _, draw| {
            gathered.push(draw);
            cold.push(first_cold(draw, plan.today()));
        },
    );
    let (runs, cold): (Vec<Gathered>, Vec<Vec<u16>>) = runs.into_iter().unzip();
    let record = by_crop(garden, rows, first, as_of - Days::new(1));
    let sets: Vec<(Vec<CropId>, Vec<LoggedWeeks>)> = together(garden)
        .into_iter()
        .map(|crops| {
            let own: Vec<LoggedWeeks> = record
                .iter()
                .filter(|logged| crops.contains(&logged.crop))
                .filter_map(|logged| Some(since(logged, heard_from(logged.crop)?)))
                .filter(|logged| {
                    logged
                        .iter()
                        .any(|(week, _)| logged.known_kg(week).is_some())
                })
                .collect();
            (crops, own)
        })
        .filter(|(_, own)| !own.is_empty())
        .collect();
    let weighed: Vec<_> = sets
        .into_par_iter()
        .filter_map(|(crops, own)| {
            let forecast = Gathered::join_where(&runs, first, |crop| crops.contains(&crop));
            let weighed = weigh_season(&forecast, &own, today)?;
            let name = &garden.crop(crops[0]).name;
            let offset = stream(settings.seed, name).uniform();
            let order = placed(&weighed.weights, &cold, offset);
            Some((weighed.effective, (crops, order)))
        })
        .collect();
    let (effective, orders): (Vec<f64>, Vec<_>) = weighed.into_iter().unzip();
    let found = ThisSeason {
        pickings,
        effective_draws: effective.into_iter().fold(f64::INFINITY, f64::min),
        orders,
        kept: kept.map(Arc::new),
    };
    (!found.orders.is_empty()).then_some(found)
}

/// First day from today on that cold ends a planting in a draw; the greatest number where it ends none.
fn first_cold(draw: &SeasonDraw, today: u16) -> u16 {
    let ends = draw.outcomes.iter();
    ends.filter(|o| o.cause == EndCause::Cold && o.end >= today)
        .map(|o| o.end)
        .min()
        .unwrap_or(u16::MAX)
}

/// Crops that plantings of the garden give, those together that one planting gives.
fn together(garden: &Garden) -> Vec<Vec<CropId>> {
    let mut sets: Vec<Vec<CropId>> = Vec::new();
    for planting in &garden.plantings {
        let second = garden.crop(planting.crop).second.as_ref().map(|s| s.crop);
        let mut own: Vec<CropId> = [Some(planting.crop), second]
            .into_iter()
            .flatten()
            .collect();
        sets.retain(|set| {
            let apart = set.iter().all(|crop| !own.contains(crop));
            if !apart {
                own.extend(set);
            }
            apart
        });
        own.sort_unstable();
        own.dedup();
        sets.push(own);
    }
    sets.sort_unstable();
    sets
}

/// The record of a crop from a week on.
fn since(logged: &LoggedWeeks, from: Week) -> LoggedWeeks {
    let before = usize::try_from(from.since(logged.first)).unwrap_or(0);
    LoggedWeeks {
        first: logged.first.plus(before as i64),
        weeks: logged.weeks.get(before..).unwrap_or_default().to_vec(),
        ..*logged
    }
}

/// For each place its draw: chunk by chunk, as often as draws weigh, and in the order of their cold.
fn placed(weights: &[f64], cold: &[Vec<u16>], offset: f64) -> Vec<u32> {
    let mut order: Vec<u32> = (0..weights.len() as u32).collect();
    let mut first = 0;
    for cold in cold {
        let mut by_cold: Vec<usize> = (0..cold.len()).collect();
        by_cold.sort_by_key(|&k| cold[k]);
        let own: Vec<f64> = by_cold.iter().map(|&k| weights[first + k]).collect();
        // Where no draw of a chunk agrees at all, they stay as they are.
        if own.iter().sum::<f64>() > 0.0 {
            for (&place, draw) in by_cold.iter().zip(systematic(&own, offset)) {
                order[first + place] = (first + by_cold[draw as usize]) as u32;
            }
        }
        first += cold.len();
    }
    debug_assert!(cold.iter().all(|c| c.len() <= CHUNK as usize));
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_take_places_of_about_their_cold() {
        // Two chunks; in the first the draws with early and late cold weigh alike, in the second one draw weighs all.
        let cold = vec![vec![30, 10, 20, 40], vec![5, 6]];
        let weights = [0.2, 0.2, 0.0, 0.0, 0.0, 0.1];
        // In the order of cold: 1 (10), 2 (20), 0 (30), 3 (40).
        assert_eq!(placed(&weights, &cold, 0.5), [0, 1, 1, 0, 5, 5]);
        // Hopeless chunks stay as they are.
        assert_eq!(placed(&[0.0; 6], &cold, 0.5), [0, 1, 2, 3, 4, 5]);
    }
}
