//! The stretch of days that is forecast, counted from 0, and the cold seasons that touch it.
//!
//! A cold season runs from the warmest day of one year to the warmest day of the next, so that its first cold (fall)
//! and its last cold (spring) lie on one axis, in the north and in the south. Knows no weather.

use chrono::{Days, Duration, NaiveDate};

use crate::garden::week::YearDay;

/// The forecast days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Horizon {
    /// First day, a Monday.
    pub first: NaiveDate,
    /// Number of days, a whole number of weeks, at most [`Horizon::MOST_DAYS`].
    pub days: u16,
}

impl Horizon {
    /// Greatest length: 104 weeks.
    pub const MOST_DAYS: u16 = 728;

    /// Returns the date of a day.
    #[must_use]
    pub fn date(&self, day: u16) -> NaiveDate {
        self.first + Days::new(u64::from(day))
    }
    /// Returns the place of a date, negative before the horizon.
    #[must_use]
    pub fn index(&self, date: NaiveDate) -> i32 {
        i32::try_from((date - self.first).num_days()).unwrap_or(if date < self.first {
            i32::MIN
        } else {
            i32::MAX
        })
    }
    /// Returns the place of a date moved into the horizon; its end if the date lies beyond.
    #[must_use]
    pub fn clamped(&self, date: NaiveDate) -> u16 {
        u16::try_from(self.index(date).clamp(0, i32::from(self.days))).unwrap_or(self.days)
    }
    /// Returns the number of weeks.
    #[must_use]
    pub const fn weeks(&self) -> u16 {
        self.days.div_ceil(7)
    }
    /// Returns the first day after the horizon.
    #[must_use]
    pub fn end(&self) -> NaiveDate {
        self.first + Duration::days(i64::from(self.days))
    }
}

/// Number of the warmest day of the year: 20 July in the north, half a year away in the south.
pub(crate) const fn warmest_day(southern: bool) -> i64 {
    if southern { 19 } else { 201 }
}

/// Days of year by which fixed seasonal dates move in the south.
pub(crate) const fn southern_shift(southern: bool) -> f64 {
    if southern { 182.5 } else { 0.0 }
}

/// Offset of the middle of the cold season from the warmest day.
pub(crate) const MIDWINTER: usize = 182;

/// One cold season on the days of the horizon.
#[derive(Debug, Clone)]
pub(crate) struct Winter {
    /// Calendar year of the warmest day it starts from; keys its random numbers.
    pub(crate) year: i32,
    /// Place of each day of the season, 0 to 365 days after its warmest day, on the horizon (negative before it).
    pub(crate) day_of: Vec<i32>,
}

impl Winter {
    /// Returns the place on the horizon of the day nearest to an offset.
    pub(crate) fn place(&self, offset: f64) -> i32 {
        self.day_of[nearest(offset)]
    }
    /// Returns the place of its first day.
    pub(crate) fn start(&self) -> i32 {
        self.day_of[0]
    }
    /// Returns the place of its middle, where fall ends and spring begins.
    pub(crate) fn middle(&self) -> i32 {
        self.day_of[MIDWINTER]
    }
    /// Returns the place of the first day after it.
    pub(crate) fn end(&self) -> i32 {
        self.day_of[365]
    }
}

/// Rounds an offset half up to a day of the season.
fn nearest(offset: f64) -> usize {
    (offset + 0.5).floor().clamp(0.0, 364.0) as usize
}

/// Returns the calendar day some days after the warmest day.
pub(crate) fn year_day_after_warmest(southern: bool, offset: f64) -> YearDay {
    YearDay::wrapped(warmest_day(southern) + i64::try_from(nearest(offset)).unwrap_or(0))
}

/// Returns how many days after the warmest day a calendar day comes, 0 to 364.
pub(crate) fn offset_of(southern: bool, day: YearDay) -> f64 {
    let offset = (i64::from(day.number()) - warmest_day(southern)).rem_euclid(365);
    f64::from(i32::try_from(offset).unwrap_or(0))
}

/// Returns the cold seasons that touch a horizon, earliest first.
pub(crate) fn winters(horizon: &Horizon, southern: bool) -> Vec<Winter> {
    use chrono::Datelike;
    let warmest = warmest_day(southern);
    let first_year = horizon.first.year() - 1;
    let last_year = horizon.end().year();
    (first_year..=last_year)
        .map(|year| Winter {
            year,
            day_of: (0..=365)
                .map(|offset| {
                    let over = warmest + offset > 365;
                    let date = YearDay::wrapped(warmest + offset).in_year(year + i32::from(over));
                    horizon.index(date)
                })
                .collect(),
        })
        .filter(|winter| winter.end() > 0 && winter.start() < i32::from(horizon.days))
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn cold_seasons_join_without_gap_in_north_and_south() {
        let horizon = Horizon {
            first: "2027-10-04".parse().unwrap(),
            days: 728,
        };
        for southern in [false, true] {
            let all = winters(&horizon, southern);
            assert!(all.first().unwrap().start() <= 0);
            assert!(all.last().unwrap().end() >= 728);
            for pair in all.windows(2) {
                assert_eq!(pair[0].end(), pair[1].start());
            }
        }
        let north = winters(&horizon, false);
        let frost = north[0].place(offset_of(false, YearDay::from_month_day(10, 15).unwrap()));
        assert_eq!(
            horizon.first + Duration::days(i64::from(frost)),
            "2027-10-15".parse().unwrap()
        );
        let spring = north[0].place(offset_of(false, YearDay::from_month_day(4, 25).unwrap()));
        assert_eq!(
            horizon.first + Duration::days(i64::from(spring)),
            "2028-04-25".parse().unwrap()
        );
        let south = winters(&horizon, true);
        let fall = offset_of(true, YearDay::from_month_day(4, 25).unwrap());
        let spring = offset_of(true, YearDay::from_month_day(10, 15).unwrap());
        assert!(fall < spring);
        assert_eq!(
            year_day_after_warmest(true, spring),
            YearDay::from_month_day(10, 15).unwrap()
        );
        assert_eq!(south[0].year, 2027);
    }
}
