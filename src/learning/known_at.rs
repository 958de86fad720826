//! The forecast as it was known on an earlier day: made for that day and weighed by the pickings logged before it.
//!
//! Everything later in the record is left out; what is sown later counts as planned, as it then was.

use super::draws::WeeklyDraws;
use super::gather::Gathered;
use super::this_season::this_season;
use crate::garden::Garden;
use crate::garden::record::Picked;
use crate::garden::week::Week;
use crate::season::ensemble::{self, Settings};
use crate::season::plan::{self, Plan};
use chrono::{Datelike, NaiveDate};

/// A forecast as known on a day.
#[derive(Debug, Clone)]
pub struct KnownAt {
    /// The day.
    pub origin: NaiveDate,
    /// One forecast a food.
    pub forecast: Vec<WeeklyDraws>,
    /// Number of equal draws that would tell as much after weighing; none if there was nothing to weigh by.
    pub effective_draws: Option<f64>,
}

/// Makes the garden ready for its drawn seasons as it was known on the morning of a day; returns with it the number of equal
/// draws that would tell as much, if there was anything to weigh by.
///
/// `rows` are the pickings, as [`super::record::with_counted_bags`] gives them.
#[must_use]
pub fn plan_at(
    garden: &Garden,
    rows: &[Picked],
    origin: NaiveDate,
    settings: &Settings,
) -> (Plan, Option<f64>) {
    let mut plan = plan::compile(garden, origin);
    let so_far = this_season(garden, rows, &plan, origin, settings);
    let effective_draws = so_far.as_ref().map(|found| found.effective_draws);
    if let Some(found) = so_far {
        found.place(&mut plan);
    }
    (plan, effective_draws)
}

/// Makes the forecast as it was known on the morning of a day.
///
/// `rows` are the pickings, as [`super::record::with_counted_bags`] gives them.
#[must_use]
pub fn known_at(
    garden: &Garden,
    rows: &[Picked],
    origin: NaiveDate,
    settings: &Settings,
) -> KnownAt {
    let (plan, effective_draws) = plan_at(garden, rows, origin, settings);
    let first = Week::of(plan.horizon().first);
    let weeks = usize::from(plan.horizon().weeks());
    let runs = ensemble::run(
        &plan,
        settings,
        |_| Gathered::new(garden, weeks),
        |gathered, _, draw| gathered.push(draw),
    );
    KnownAt {
        origin,
        forecast: Gathered::join(&runs, first),
        effective_draws,
    }
}

/// Returns the Monday of the first sowing of the season that runs on a day; none before the first sowing of all.
#[must_use]
pub fn season_start(garden: &Garden, on: NaiveDate) -> Option<NaiveDate> {
    let begun = || {
        garden
            .plantings
            .iter()
            .map(|p| p.sown.unwrap_or_else(|| p.start()))
            .filter(|&day| day <= on)
    };
    let season = begun().map(|day| day.year()).max()?;
    let first = begun().filter(|day| day.year() == season).min()?;
    Some(Week::of(first).monday())
}
