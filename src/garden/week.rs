//! ISO 8601 weeks named by their Monday, inclusive date ranges, and days of the calendar year.
//!
//! Knows no clock: every date comes in as an argument.

use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::fmt;

/// One ISO 8601 week, named by its Monday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Week(NaiveDate);

impl Week {
    /// Returns the week that holds a date.
    #[must_use]
    pub fn of(date: NaiveDate) -> Self {
        Self(date.week(Weekday::Mon).first_day())
    }
    /// Returns the Monday of the week.
    #[must_use]
    pub const fn monday(self) -> NaiveDate {
        self.0
    }
    /// Returns the Sunday of the week.
    #[must_use]
    pub fn sunday(self) -> NaiveDate {
        self.0 + Days::new(6)
    }
    /// Returns the week that comes `n` weeks later (earlier if negative).
    #[must_use]
    pub fn plus(self, n: i64) -> Self {
        Self(self.0 + chrono::Duration::weeks(n))
    }
    /// Returns how many weeks this one lies after another (negative if before).
    #[must_use]
    pub fn since(self, other: Self) -> i64 {
        (self.0 - other.0).num_days() / 7
    }
    /// Returns the ISO week-year and week number.
    #[must_use]
    pub fn iso(self) -> (i32, u32) {
        let week = self.0.iso_week();
        (week.year(), week.week())
    }
}

impl fmt::Display for Week {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m-%d"))
    }
}

/// A stretch of days, both ends included, either end open if not given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DateRange {
    /// First day that belongs to the stretch; open if none.
    pub from: Option<NaiveDate>,
    /// Last day that belongs to the stretch; open if none.
    pub until: Option<NaiveDate>,
}

impl DateRange {
    /// Says whether a date lies in the stretch, both ends included.
    #[must_use]
    pub fn contains(&self, date: NaiveDate) -> bool {
        self.from.is_none_or(|from| from <= date) && self.until.is_none_or(|until| date <= until)
    }
}

/// A day of the calendar year without its year, 1 to 365; 29 February counts as 28 February.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct YearDay(u16);

/// Days before the first of each month in a year of 365 days.
const BEFORE_MONTH: [u16; 12] = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334];

impl YearDay {
    /// Returns the calendar day of a date.
    #[must_use]
    pub fn of(date: NaiveDate) -> Self {
        let day = if (date.month(), date.day()) == (2, 29) {
            28
        } else {
            date.day()
        };
        Self(BEFORE_MONTH[date.month0() as usize] + u16::try_from(day).unwrap_or(1))
    }
    /// Makes a calendar day from month and day, or nothing if there is no such day (29 February counts as the 28th).
    #[must_use]
    pub fn from_month_day(month: u32, day: u32) -> Option<Self> {
        NaiveDate::from_ymd_opt(2024, month, day).map(Self::of)
    }
    /// Makes a calendar day from its number; numbers outside 1..=365 wrap round the year.
    #[must_use]
    pub fn wrapped(number: i64) -> Self {
        let n = (number - 1).rem_euclid(365) + 1;
        Self(u16::try_from(n).unwrap_or(1))
    }
    /// Returns the number of the day, 1 to 365.
    #[must_use]
    pub const fn number(self) -> u16 {
        self.0
    }
    /// Returns this day's date in a given year.
    #[must_use]
    pub fn in_year(self, year: i32) -> NaiveDate {
        let month0 = BEFORE_MONTH
            .iter()
            .rposition(|&before| before < self.0)
            .unwrap_or(0);
        let day = u32::from(self.0 - BEFORE_MONTH[month0]);
        let month = u32::try_from(month0).unwrap_or(0) + 1;
        NaiveDate::from_ymd_opt(year, month, day)
            .expect("a day of a 365-day year exists in every year")
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// Week dates from ISO 8601 as tabulated in the standard's usual examples; 2026 has 53 weeks.
    #[test]
    fn iso_weeks_at_year_ends() {
        for (day, iso) in [
            ("2005-01-01", (2004, 53)),
            ("2007-12-31", (2008, 1)),
            ("2010-01-03", (2009, 53)),
            ("2024-12-30", (2025, 1)),
            ("2026-12-31", (2026, 53)),
            ("2027-01-03", (2026, 53)),
            ("2032-12-31", (2032, 53)),
        ] {
            assert_eq!(Week::of(date(day)).iso(), iso, "{day}");
        }
        for (monday, year, week) in [
            ("2020-12-28", 2020, 53),
            ("2021-01-04", 2021, 1),
            ("2025-12-29", 2026, 1),
            ("2026-12-28", 2026, 53),
        ] {
            let w = Week::of(date(monday));
            assert_eq!((w.monday(), w.iso()), (date(monday), (year, week)));
        }
    }

    #[test]
    fn years_with_53_weeks() {
        let got: Vec<i32> = (2000..=2050)
            .filter(|&y| {
                Week::of(NaiveDate::from_ymd_opt(y, 12, 28).unwrap())
                    .iso()
                    .1
                    == 53
            })
            .collect();
        assert_eq!(got, [2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]);
    }

    #[test]
    fn year_days_round_trip_and_leap_day_is_the_28th() {
        for n in 1..=365 {
            let day = YearDay::wrapped(n);
            for year in [2024, 2025] {
                assert_eq!(YearDay::of(day.in_year(year)), day);
            }
        }
        assert_eq!(
            YearDay::of(date("2024-02-29")),
            YearDay::of(date("2024-02-28"))
        );
        assert_eq!(YearDay::wrapped(366).number(), 1);
        assert_eq!(YearDay::wrapped(0).number(), 365);
        assert_eq!(YearDay::from_month_day(2, 30), None);
    }

    #[test]
    fn ranges_include_both_ends() {
        let r = DateRange {
            from: Some(date("2026-03-01")),
            until: Some(date("2026-03-03")),
        };
        assert!(r.contains(date("2026-03-01")) && r.contains(date("2026-03-03")));
        assert!(!r.contains(date("2026-02-28")) && !r.contains(date("2026-03-04")));
        assert!(DateRange::default().contains(date("1999-01-01")));
    }
}
