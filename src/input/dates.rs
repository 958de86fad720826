//! Dates as people and spreadsheets write them, and which of day and month comes first in a file.
//!
//! Knows the calendar and no clock; a date without a year is refused, never completed.

use super::problem::{Fault, Findings, Kind};
use super::rows::Sheet;
use crate::garden::DateOrder;
use crate::garden::week::YearDay;
use chrono::{Datelike, Days, NaiveDate};

/// Years outside which a garden's date is a slip of the pen.
pub(super) const YEARS: std::ops::RangeInclusive<i32> = 1850..=2149;

/// What a date cell should look like.
pub(crate) const EXPECTED: &str = "a date such as 2026-08-15";

const MONTHS: &str =
    "january february march april may june july august september october november december";

/// Returns a month's number by its English name or its first three letters or more.
#[must_use]
pub(crate) fn month_of_name(text: &str) -> Option<u32> {
    let lower = text.trim_end_matches('.').to_ascii_lowercase();
    if lower.len() < 3 {
        return None;
    }
    let n = MONTHS.split(' ').position(|m| m.starts_with(&lower))?;
    u32::try_from(n + 1).ok()
}

/// In which order day and month of one file stand where a date is not ISO 8601.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reading {
    /// Month first.
    MonthFirst,
    /// Day first.
    DayFirst,
    /// Nothing in the file tells.
    Unknown,
    /// One date says this, another that.
    Mixed,
}

/// Three numbers of a date that is not ISO 8601.
struct Parts {
    first: u32,
    second: u32,
    year: i32,
}

/// Finds the order of day and month in a file's date columns; a stated order counts without looking.
pub(crate) fn reading_of(
    sheet: &Sheet<'_>,
    columns: &[&str],
    stated: DateOrder,
    findings: &mut Findings,
) -> Reading {
    match stated {
        DateOrder::MonthFirst => return Reading::MonthFirst,
        DateOrder::DayFirst => return Reading::DayFirst,
        DateOrder::Iso => {}
    }
    let (mut month_first, mut day_first) = (false, false);
    for cell in sheet.cells_of(columns) {
        if full(cell.text.as_bytes()).is_some() {
            continue;
        }
        if let Some(parts) = slashed(without_time(strip_week(&cell.text))) {
            month_first |= parts.second > 12 && parts.first <= 12;
            day_first |= parts.first > 12 && parts.second <= 12;
        }
    }
    let told = |order: &str| {
        format!(
            "In {} dates are read as {order}, since no other reading fits them all.",
            sheet.source().name
        )
    };
    match (month_first, day_first) {
        (true, true) => Reading::Mixed,
        (true, false) => {
            findings.assume(told("month/day/year"));
            Reading::MonthFirst
        }
        (false, true) => {
            findings.assume(told("day/month/year"));
            Reading::DayFirst
        }
        (false, false) => Reading::Unknown,
    }
}

/// Takes away the words `week of`.
pub(crate) fn strip_week(text: &str) -> &str {
    let has =
        text.len() >= 7 && text.is_char_boundary(7) && text[..7].eq_ignore_ascii_case("week of");
    if has { text[7..].trim_start() } else { text }
}

/// Takes away a time of midnight or any other that a spreadsheet adds.
fn without_time(text: &str) -> &str {
    match text.split_once(['T', ' ']) {
        Some((date, time)) if time.contains(':') && date.bytes().any(|b| b.is_ascii_digit()) => {
            date
        }
        _ => text,
    }
}

/// Reads a date.
pub(crate) fn parse(text: &str, reading: Reading) -> Result<NaiveDate, Fault> {
    if let Some(date) = usual(text.as_bytes()) {
        return Ok(date);
    }
    if let Some(fault) = super::slips::spreadsheet_debris(text) {
        return Err(fault);
    }
    let text = without_time(text);
    let date = if let Some((y, m, d)) = iso(text) {
        day(y, m, d, text)?
    } else if let Some(parts) = slashed(text) {
        by_order(&parts, text, reading)?
    } else if let Some(result) = named(text) {
        result?
    } else {
        return Err(explain(text));
    };
    if YEARS.contains(&date.year()) {
        Ok(date)
    } else {
        Err(Fault::new(
            Kind::AbsurdYear,
            format!("the year {} is far from any garden's record", date.year()),
        ))
    }
}

/// Reads a day of the year: `MM-DD`, or a whole date of which the year is dropped.
pub(crate) fn parse_year_day(text: &str, reading: Reading) -> Result<YearDay, Fault> {
    let numbers: Vec<&str> = text.split('-').collect();
    if let [m, d] = numbers.as_slice()
        && let (Ok(m), Ok(d)) = (m.trim().parse::<u32>(), d.trim().parse::<u32>())
    {
        return YearDay::from_month_day(m, d).ok_or_else(|| {
            let hint = YearDay::from_month_day(d, m)
                .map(|_| format!("day and month are exchanged: write {d:02}-{m:02}"));
            let fault = Fault::new(Kind::ImpossibleDate, format!("there is no day `{text}`"));
            Fault { hint, ..fault }
        });
    }
    if let Some((month, d)) = month_and_day(text)
        && let Some(day) = YearDay::from_month_day(month, d)
    {
        return Ok(day);
    }
    parse(text, reading).map(YearDay::of)
}

/// Reads `Apr 22` or `22 Apr` in either order.
fn month_and_day(text: &str) -> Option<(u32, u32)> {
    let words: Vec<&str> = text
        .split([' ', '-', ','])
        .filter(|w| !w.is_empty())
        .collect();
    let [a, b] = words.as_slice() else {
        return None;
    };
    match (month_of_name(a), month_of_name(b)) {
        (Some(m), None) => Some((m, b.parse().ok()?)),
        (None, Some(m)) => Some((m, a.parse().ok()?)),
        _ => None,
    }
}

/// Reads a date in the form that nearly all have, `2026-08-15`, in a year of a garden's record; none for any other.
pub(crate) fn usual(bytes: &[u8]) -> Option<NaiveDate> {
    full(bytes).filter(|date| YEARS.contains(&date.year()))
}

/// Reads a date in the form that nearly all have, without looking for another.
fn full(bytes: &[u8]) -> Option<NaiveDate> {
    let &[a, b, c, d, b'-', e, f, b'-', g, h] = bytes else {
        return None;
    };
    let figures = [a, b, c, d, e, f, g, h].map(|b| b.wrapping_sub(b'0'));
    if figures.iter().any(|n| *n > 9) {
        return None;
    }
    let [a, b, c, d, e, f, g, h] = figures.map(u32::from);
    let year = i32::try_from(((a * 10 + b) * 10 + c) * 10 + d).ok()?;
    NaiveDate::from_ymd_opt(year, e * 10 + f, g * 10 + h)
}

fn iso(text: &str) -> Option<(i32, u32, u32)> {
    if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
        return Some((
            text[..4].parse().ok()?,
            text[4..6].parse().ok()?,
            text[6..].parse().ok()?,
        ));
    }
    let parts: Vec<&str> = text
        .split([
            '-', '/', '.', '\u{2010}', '\u{2011}', '\u{2013}', '\u{2212}',
        ])
        .collect();
    let [y, m, d] = parts.as_slice() else {
        return None;
    };
    let sound = y.len() == 4 && [m, d].iter().all(|p| (1..=2).contains(&p.len()));
    sound.then(|| Some((y.parse().ok()?, m.parse().ok()?, d.parse().ok()?)))?
}

fn slashed(text: &str) -> Option<Parts> {
    let parts: Vec<&str> = text.split(['/', '.', '-']).map(str::trim).collect();
    let [a, b, y] = parts.as_slice() else {
        return None;
    };
    let sound = [a, b].iter().all(|p| (1..=2).contains(&p.len())) && matches!(y.len(), 2 | 4);
    if !sound {
        return None;
    }
    let year: i32 = y.parse().ok()?;
    Some(Parts {
        first: a.parse().ok()?,
        second: b.parse().ok()?,
        year: if y.len() == 2 { 2000 + year } else { year },
    })
}

/// Reads `15 Aug 2026`, `Aug 15, 2026`, `15-Aug-26`; nothing if there is no month name in it.
fn named(text: &str) -> Option<Result<NaiveDate, Fault>> {
    let words: Vec<&str> = text
        .split([' ', '-', ',', '/', '.'])
        .filter(|w| !w.is_empty())
        .collect();
    // A leading weekday is told by the date anyway.
    let words = match words.as_slice() {
        [first, rest @ ..]
            if rest.len() >= 2
                && month_of_name(first).is_none()
                && first.bytes().all(|b| b.is_ascii_alphabetic()) =>
        {
            rest
        }
        all => all,
    };
    let number = |w: &str| {
        w.trim_end_matches("st")
            .trim_end_matches("nd")
            .trim_end_matches("rd")
            .trim_end_matches("th")
            .parse::<u32>()
            .ok()
    };
    let year = |w: &str| match w.len() {
        2 => w.parse::<i32>().ok().map(|y| 2000 + y),
        4 => w.parse::<i32>().ok(),
        _ => None,
    };
    match words {
        [a, b, c] => {
            let (month, d) = match (month_of_name(a), month_of_name(b)) {
                (Some(m), _) => (m, number(b)?),
                (None, Some(m)) => (m, number(a)?),
                _ => return None,
            };
            Some(day(year(c)?, month, d, text))
        }
        [a, b] => {
            let (month, other) = match (month_of_name(a), month_of_name(b)) {
                (Some(m), None) => (m, b),
                (None, Some(m)) => (m, a),
                _ => return None,
            };
            other.parse::<u32>().ok()?;
            Some(Err(Fault::new(Kind::SpreadsheetDate, format!("`{text}` has no year")).hint(format!(
                "write the whole date, such as 2026-{month:02}-{}; a spreadsheet drops the year when the column shows only day and month",
                if other.len() <= 2 { format!("{:02}", other.parse::<u32>().unwrap_or(1).clamp(1, 31)) } else { "01".to_owned() }
            ))))
        }
        _ => None,
    }
}

fn by_order(parts: &Parts, text: &str, reading: Reading) -> Result<NaiveDate, Fault> {
    let &Parts {
        first,
        second,
        year,
    } = parts;
    let month_first = NaiveDate::from_ymd_opt(year, first, second);
    let day_first = NaiveDate::from_ymd_opt(year, second, first);
    match (reading, month_first, day_first) {
        (Reading::MonthFirst, Some(date), _) | (Reading::DayFirst, _, Some(date)) => Ok(date),
        (Reading::MonthFirst, None, Some(date)) => Err(Fault::new(Kind::ImpossibleDate, format!("there is no month {first} in `{text}`")).hint(format!(
            "other dates here have the month first: write {date} if day and month are exchanged"
        ))),
        (Reading::DayFirst, Some(date), None) => Err(Fault::new(Kind::ImpossibleDate, format!("there is no month {second} in `{text}`")).hint(format!(
            "other dates here have the day first: write {date} if day and month are exchanged"
        ))),
        (_, None, None) => Err(Fault::new(Kind::ImpossibleDate, format!("there is no day `{text}`"))),
        (Reading::Mixed, a, b) => {
            let date = a.or(b).map(|d| d.to_string()).unwrap_or_default();
            let hint = match (a, b) {
                (Some(a), Some(b)) if a != b => format!("write {a} or {b}"),
                _ => format!("write {date}"),
            };
            Err(Fault::new(Kind::MixedDates, format!("`{text}`: some dates of this file have the month first, others the day")).hint(hint))
        }
        (_, Some(a), Some(b)) if a == b => Ok(a),
        (_, Some(a), Some(b)) => Err(Fault::new(Kind::AmbiguousDate, format!("`{text}` may be {a} or {b}")).hint(
            "write it as year-month-day, or set dates = \"mdy\" or \"dmy\" under [show] in garden.toml".to_owned(),
        )),
        (_, Some(date), None) | (_, None, Some(date)) => Ok(date),
    }
}

fn day(year: i32, month: u32, day: u32, text: &str) -> Result<NaiveDate, Fault> {
    NaiveDate::from_ymd_opt(year, month, day).ok_or_else(|| {
        let exchanged = NaiveDate::from_ymd_opt(year, day, month);
        let fault = Fault::new(Kind::ImpossibleDate, format!("there is no day `{text}`"));
        match exchanged {
            Some(date) if month > 12 => {
                fault.hint(format!("day and month are exchanged: write {date}"))
            }
            _ if (1..=12).contains(&month) && day > 28 => fault.hint(last_day(year, month)),
            _ => fault,
        }
    })
}

fn last_day(year: i32, month: u32) -> String {
    let last = (28..=31)
        .filter_map(|d| NaiveDate::from_ymd_opt(year, month, d))
        .next_back();
    last.map(|d| format!("the month ends on {d}"))
        .unwrap_or_default()
}

/// Says what a cell that is no date might be.
fn explain(text: &str) -> Fault {
    if let Ok(serial) = text.parse::<f64>()
        && (20_000.0..80_000.0).contains(&serial)
        && let Some(date) = from_serial(serial)
    {
        return Fault::new(
            Kind::SpreadsheetDate,
            format!("`{text}` is a spreadsheet's day number"),
        )
        .mend(date.to_string())
        .hint(format!(
            "it stands for {date}: format the column as a date, year-month-day, and save again"
        ));
    }
    let parts: Vec<&str> = text.split(['/', '-']).collect();
    if let [a, b] = parts.as_slice()
        && a.parse::<u32>().is_ok()
        && b.parse::<u32>().is_ok()
    {
        return Fault::new(Kind::NotADate, format!("`{text}` has no year"))
            .hint("write the whole date, such as 2026-08-15");
    }
    let lower = text.to_ascii_lowercase();
    if ["today", "yesterday", "now", "tomorrow"].contains(&lower.as_str()) {
        return Fault::new(
            Kind::NotADate,
            format!("`{text}` is another day each time it is read"),
        )
        .hint("write the date itself");
    }
    Fault::new(
        Kind::NotADate,
        format!("`{}` is not a date", super::number::short(text)),
    )
}

/// Returns the date of a spreadsheet's day number counted from 1899-12-30.
#[must_use]
pub(crate) fn from_serial(serial: f64) -> Option<NaiveDate> {
    if !(1.0..=200_000.0).contains(&serial) {
        return None;
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked above"
    )]
    let days = serial.floor() as u64;
    NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_days(Days::new(days))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn dates_as_people_and_spreadsheets_write_them() {
        for text in [
            "2026-08-05",
            "2026-8-5",
            "2026/08/05",
            "20260805",
            "2026-08-05 00:00:00",
            "2026-08-05T00:00:00",
            "5 Aug 2026",
            "5-Aug-2026",
            "5-Aug-26",
            "Aug 5, 2026",
            "August 5th 2026",
            "Wed, Aug 5, 2026",
            "2026.08.05",
        ] {
            assert_eq!(
                parse(text, Reading::Unknown).unwrap().to_string(),
                "2026-08-05",
                "{text}"
            );
        }
        for (text, reading, want) in [
            ("8/5/2026", Reading::MonthFirst, "2026-08-05"),
            ("8/5/26", Reading::MonthFirst, "2026-08-05"),
            ("5.8.2026", Reading::DayFirst, "2026-08-05"),
            ("05/08/26", Reading::DayFirst, "2026-08-05"),
            ("8/8/2026", Reading::Unknown, "2026-08-08"),
        ] {
            assert_eq!(parse(text, reading).unwrap().to_string(), want, "{text}");
        }
    }

    #[test]
    fn what_is_no_date_is_explained() {
        for (text, reading, kind, hint) in [
            (
                "2026-15-08",
                Reading::Unknown,
                Kind::ImpossibleDate,
                Some("day and month are exchanged: write 2026-08-15"),
            ),
            (
                "2026-02-30",
                Reading::Unknown,
                Kind::ImpossibleDate,
                Some("the month ends on 2026-02-28"),
            ),
            (
                "15/8/2026",
                Reading::MonthFirst,
                Kind::ImpossibleDate,
                Some(
                    "other dates here have the month first: write 2026-08-15 if day and month are exchanged",
                ),
            ),
            (
                "3/4/2026",
                Reading::Mixed,
                Kind::MixedDates,
                Some("write 2026-03-04 or 2026-04-03"),
            ),
            (
                "46249",
                Reading::Unknown,
                Kind::SpreadsheetDate,
                Some(
                    "it stands for 2026-08-15: format the column as a date, year-month-day, and save again",
                ),
            ),
            ("2206-08-15", Reading::Unknown, Kind::AbsurdYear, None),
            ("soon", Reading::Unknown, Kind::NotADate, None),
            ("", Reading::Unknown, Kind::NotADate, None),
        ] {
            let fault = parse(text, reading).unwrap_err();
            assert_eq!((fault.kind, fault.hint.as_deref()), (kind, hint), "{text}");
        }
        assert_eq!(
            parse("3/4/2026", Reading::Unknown).unwrap_err().kind,
            Kind::AmbiguousDate
        );
        assert_eq!(
            parse("15-Aug", Reading::Unknown).unwrap_err().kind,
            Kind::SpreadsheetDate
        );
    }

    /// Day 1 of the 1900 system is 1 January 1900 for serials after February 1900; 43831 is 2020-01-01 in every spreadsheet's manual.
    #[test]
    fn day_numbers_of_spreadsheets() {
        assert_eq!(from_serial(43831.0).unwrap().to_string(), "2020-01-01");
        assert_eq!(from_serial(43831.75).unwrap().to_string(), "2020-01-01");
        assert_eq!(from_serial(f64::NAN), None);
    }

    #[test]
    fn days_of_the_year() {
        for text in ["04-22", "4-22", "Apr 22", "22 April", "2026-04-22"] {
            assert_eq!(
                parse_year_day(text, Reading::Unknown).unwrap(),
                YearDay::from_month_day(4, 22).unwrap(),
                "{text}"
            );
        }
        assert_eq!(
            parse_year_day("22-04", Reading::Unknown)
                .unwrap_err()
                .hint
                .unwrap(),
            "day and month are exchanged: write 04-22"
        );
    }
}
