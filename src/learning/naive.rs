//! Two forecasts that need no model, for comparison.
//!
//! (a) The same ISO week of last season; (b) the planting's usual yield spread evenly over the days that the seed
//! packet gives. A forecast that does not beat them is not worth its trouble, and [`super::compare`] says so.

use super::record::LoggedWeeks;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::{Planting, Size};
use crate::garden::units::{Length, Mass};
use crate::garden::week::Week;
use chrono::{Days, NaiveDate, Weekday};

/// Returns what was picked in the same ISO week one year before, kg; none if that is not known.
///
/// Week 53 is compared with week 52 of a year that has none.
#[must_use]
pub fn same_week_last_season(record: &LoggedWeeks, week: Week) -> Option<f64> {
    let (year, number) = week.iso();
    let monday = NaiveDate::from_isoywd_opt(year - 1, number, Weekday::Mon)
        .or_else(|| NaiveDate::from_isoywd_opt(year - 1, 52, Weekday::Mon))?;
    record.known_kg(Week::of(monday))
}

/// A planting's usual yield and the days over which it is spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EvenWindow {
    /// The crop.
    pub crop: CropId,
    /// First day of picking.
    pub first: NaiveDate,
    /// Last day of picking.
    pub last: NaiveDate,
    /// The whole yield.
    pub total: Mass,
}

/// Returns the even windows of a garden's plantings.
///
/// From sowing (or setting out) plus the days to maturity as printed, for the days of the harvest period as tabled; the
/// middle of the published yields times the factors of the planting and its bed. Weather does not come into it.
#[must_use]
pub fn even_windows(garden: &Garden) -> Vec<EvenWindow> {
    garden
        .plantings
        .iter()
        .filter_map(|planting| {
            let crop = garden.crop(planting.crop);
            let days = printed_days(garden, planting)?;
            let first = planting.start() + Days::new(days.round().max(0.0) as u64);
            let span = crop.harvest.harvest_days.round().max(1.0) as u64 - 1;
            let yields = &crop.yields;
            let of_row = |row: Length| (yields.row_low.over(row) + yields.row_high.over(row)) / 2.0;
            let usual = match planting.size {
                Size::Row(row) => of_row(row),
                Size::Plants(plants) => of_row(yields.in_row * plants),
                Size::Area(area) => match (yields.bed_low, yields.bed_high) {
                    (Some(low), Some(high)) => (low.over(area) + high.over(area)) / 2.0,
                    // Without a bed figure the area is read as rows at the usual distance.
                    _ => of_row(Length::from_m(
                        area.m2() / yields.between_rows.m().max(0.01),
                    )),
                },
            };
            Some(EvenWindow {
                crop: planting.crop,
                first,
                last: first + Days::new(span),
                total: usual * (planting.yield_factor * garden.bed(planting.bed).yield_factor),
            })
        })
        .collect()
}

/// Returns the days to maturity as the packet or the table gives them.
pub(super) fn printed_days(garden: &Garden, planting: &Planting) -> Option<f64> {
    let timing = &garden.crop(planting.crop).timing;
    let tabled = if planting.set_out.is_some() {
        timing.days_set_out.or(timing.days_sown)
    } else {
        timing.days_sown.or(timing.days_set_out)
    };
    planting.days_to_maturity.or(tabled)
}

/// Returns what even windows give of a crop in a week, kg; none if the crop has no window at all.
#[must_use]
pub fn spread_evenly(windows: &[EvenWindow], crop: CropId, week: Week) -> Option<f64> {
    let mut own = windows.iter().filter(|w| w.crop == crop).peekable();
    own.peek()?;
    Some(
        own.map(|window| {
            let from = window.first.max(week.monday());
            let until = window.last.min(week.sunday());
            let inside = ((until - from).num_days() + 1).max(0) as f64;
            let all = (window.last - window.first).num_days() as f64 + 1.0;
            window.total.kg() * inside / all
        })
        .sum(),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::record::{WeekEntry, WeekState};
    use super::*;
    use crate::learning::close;

    fn week(day: &str) -> Week {
        Week::of(day.parse().unwrap())
    }

    #[test]
    fn last_season_is_the_same_iso_week() {
        let first = week("2025-12-15");
        let record = LoggedWeeks {
            crop: CropId(0),
            planting: None,
            first,
            weeks: (0..60)
                .map(|i| WeekEntry {
                    state: if i == 5 {
                        WeekState::Unlogged
                    } else {
                        WeekState::Picked
                    },
                    kg: f64::from(i),
                    guessed_kg: 0.0,
                    away_days: 0,
                })
                .collect(),
        };
        // 2026 has 53 weeks, 2025 and 2027 have 52: ISO 8601.
        for (day, want) in [
            ("2026-12-14", Some(0.0)),
            ("2026-12-28", Some(1.0)),
            ("2027-01-04", Some(2.0)),
            ("2027-01-18", Some(4.0)),
            ("2027-01-25", None),
            ("2025-12-15", None),
        ] {
            assert_eq!(same_week_last_season(&record, week(day)), want, "{day}");
        }
    }

    #[test]
    fn an_even_window_adds_up_to_its_total() {
        let windows = [EvenWindow {
            crop: CropId(1),
            first: "2026-07-03".parse().unwrap(),
            last: "2026-07-22".parse().unwrap(),
            total: Mass::from_kg(10.0),
        }];
        let first = week("2026-06-22");
        let weeks: Vec<f64> = (0..6)
            .map(|i| spread_evenly(&windows, CropId(1), first.plus(i)).unwrap())
            .collect();
        // Friday 3 July to Wednesday 22 July: 3, 7, 7 and 3 of 20 days.
        assert_eq!(weeks, [0.0, 1.5, 3.5, 3.5, 1.5, 0.0]);
        close(Some(weeks.iter().sum()), 10.0);
        assert_eq!(spread_evenly(&windows, CropId(0), first), None);
    }
}
