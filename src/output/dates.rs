//! Dates in words: "Mon 14 Sep", "12 Jul – 3 Aug", "week of 14 Sep".
//!
//! Day before month with the month in letters, so that no reader can exchange them. Machine output uses ISO 8601 instead.

use crate::garden::week::Week;
use chrono::{Datelike, NaiveDate};

/// Writes a day with its weekday: "Mon 14 Sep".
#[must_use]
pub fn day(date: NaiveDate) -> String {
    date.format("%a %-d %b").to_string()
}

/// Writes a day without its weekday: "14 Sep".
#[must_use]
pub fn short(date: NaiveDate) -> String {
    date.format("%-d %b").to_string()
}

/// Writes a day with its year: "14 Sep 2026".
#[must_use]
pub fn with_year(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// Writes a day, and its year if it is not the year of `today`.
#[must_use]
pub fn seen_from(date: NaiveDate, today: NaiveDate) -> String {
    if date.year() == today.year() {
        day(date)
    } else {
        date.format("%a %-d %b %Y").to_string()
    }
}

/// Writes a week: "week of 14 Sep".
#[must_use]
pub fn week_of(week: Week) -> String {
    format!("week of {}", short(week.monday()))
}

/// Days from which a stretch needs its years to be understood.
const LONG_DAYS: i64 = 300;

/// Writes a stretch of days, both ends included: "12 Jul – 3 Aug", "3–9 Aug", with years if it is long.
#[must_use]
pub fn range(from: NaiveDate, until: NaiveDate) -> String {
    if from == until {
        short(from)
    } else if (until - from).num_days() > LONG_DAYS {
        format!("{} – {}", with_year(from), with_year(until))
    } else if (from.year(), from.month()) == (until.year(), until.month()) {
        format!("{}–{}", from.day(), short(until))
    } else {
        format!("{} – {}", short(from), short(until))
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn dates_in_words() {
        let d = |text: &str| -> NaiveDate { text.parse().unwrap() };
        assert_eq!(day(d("2026-09-14")), "Mon 14 Sep");
        assert_eq!(seen_from(d("2026-09-14"), d("2026-01-01")), "Mon 14 Sep");
        assert_eq!(
            seen_from(d("2027-01-04"), d("2026-12-31")),
            "Mon 4 Jan 2027"
        );
        assert_eq!(week_of(Week::of(d("2026-09-17"))), "week of 14 Sep");
        for (a, b, text) in [
            ("2026-08-03", "2026-08-03", "3 Aug"),
            ("2026-08-03", "2026-08-09", "3–9 Aug"),
            ("2026-07-12", "2026-08-03", "12 Jul – 3 Aug"),
            ("2026-12-28", "2027-01-03", "28 Dec – 3 Jan"),
            ("2026-01-28", "2027-01-03", "28 Jan 2026 – 3 Jan 2027"),
        ] {
            assert_eq!(range(d(a), d(b)), text);
        }
    }
}
