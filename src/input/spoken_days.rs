//! Day words of a spoken entry: today, sat, last week, jul 4, 2026-07-04.
//!
//! A day without a year is the latest one that is not still to come.

use super::spoken_words::{Phrase, number};
use crate::garden::DateOrder;
use crate::garden::week::Week;
use chrono::{Datelike, Days, NaiveDate, Weekday};

/// The day of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Day {
    /// The day, or Monday of the week.
    pub(super) date: NaiveDate,
    /// Whether the whole week is meant.
    pub(super) whole_week: bool,
}

impl Day {
    /// Makes a single day.
    pub(super) const fn single(date: NaiveDate) -> Self {
        Self {
            date,
            whole_week: false,
        }
    }
}

/// Day words for asking the nearest.
pub(super) const DAY_WORDS: [&str; 9] = [
    "today",
    "yesterday",
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
];

/// Finds a day in a phrase and uses its words up; the rest of the phrase stays.
///
/// # Errors
/// A sentence saying why a day that was said cannot be meant.
pub(super) fn find_day(
    phrase: &mut Phrase,
    today: NaiveDate,
    order: DateOrder,
) -> Result<Option<Day>, String> {
    for place in 0..phrase.words.len() {
        let Some((day, words)) = day_at(phrase, place, today, order)? else {
            continue;
        };
        if day.date > today {
            return Err(format!("{} is still to come", day.date));
        }
        phrase.take(place..place + words);
        // "on sat": the little word goes with the day.
        if place > 0 && phrase.at(place - 1) == Some("on") {
            phrase.take(place - 1..place);
        }
        return Ok(Some(day));
    }
    Ok(None)
}

/// Reads a day that begins at a place, with the number of its words.
fn day_at(
    phrase: &Phrase,
    place: usize,
    today: NaiveDate,
    order: DateOrder,
) -> Result<Option<(Day, usize)>, String> {
    let word = |i: usize| phrase.at(place + i);
    let Some(first) = word(0) else {
        return Ok(None);
    };
    let back = |days: u64| Day::single(today - Days::new(days));
    let week = |date: NaiveDate| Day {
        date: Week::of(date).monday(),
        whole_week: true,
    };
    let found = match (first, word(1)) {
        ("today" | "tonight", _) => Some((back(0), 1)),
        ("yesterday", _) => Some((back(1), 1)),
        ("this", Some("morning" | "evening" | "afternoon")) => Some((back(0), 2)),
        ("last", Some("night")) => Some((back(1), 2)),
        ("this", Some("week")) => Some((week(today), 2)),
        ("last", Some("week")) => Some((week(today - Days::new(7)), 2)),
        ("week", Some("of")) => {
            day_at(phrase, place + 2, today, order)?.map(|(day, words)| (week(day.date), words + 2))
        }
        ("last", Some(next)) => weekday(next).map(|day| (back(days_since(day, today, 1)), 2)),
        _ => None,
    };
    if found.is_some() {
        return Ok(found);
    }
    if let Some(day) = weekday(first) {
        return Ok(Some((back(days_since(day, today, 0)), 1)));
    }
    if let Some((count, words)) = number(phrase, place)
        && matches!(word(words), Some("day" | "days"))
        && word(words + 1) == Some("ago")
    {
        if count < 0.0 || count.fract() != 0.0 || count > 3650.0 {
            return Err(format!("{count} days ago is not a day"));
        }
        return Ok(Some((back(count as u64), words + 2)));
    }
    if let Some(found) = month_and_day(first, word(1), today)? {
        // "july 4th": the ending was cut off the number.
        let ending = matches!(word(2), Some("st" | "nd" | "rd" | "th"));
        return Ok(Some((Day::single(found), if ending { 3 } else { 2 })));
    }
    written(phrase, place, today, order)
}

/// Reads a month's name and a day, in either order.
fn month_and_day(
    first: &str,
    second: Option<&str>,
    today: NaiveDate,
) -> Result<Option<NaiveDate>, String> {
    let Some(second) = second else {
        return Ok(None);
    };
    let (month, day) = match (month(first), month(second)) {
        (Some(month), None) => (month, second.parse().ok()),
        (None, Some(month)) => (month, first.parse().ok()),
        _ => return Ok(None),
    };
    let Some(day) = day else {
        return Ok(None);
    };
    latest(month, day, today).map(Some)
}

/// Reads a date written in figures.
fn written(
    phrase: &Phrase,
    place: usize,
    today: NaiveDate,
    order: DateOrder,
) -> Result<Option<(Day, usize)>, String> {
    let Some(first) = phrase.at(place) else {
        return Ok(None);
    };
    let dashes = first.matches('-').count();
    if dashes == 2 && first.chars().all(|c| c.is_ascii_digit() || c == '-') {
        return match first.parse() {
            Ok(date) => Ok(Some((Day::single(date), 1))),
            Err(_) => Err(format!("{first} is no date; write 2026-07-04")),
        };
    }
    let parts: Vec<Option<u32>> = first.split('/').map(|p| p.parse().ok()).collect();
    let (a, b, year) = match parts[..] {
        [Some(a), Some(b)] => (a, b, None),
        [Some(a), Some(b), Some(year)] => (a, b, Some(year)),
        _ => return Ok(None),
    };
    let (month, day) = match order {
        DateOrder::MonthFirst => (a, b),
        DateOrder::DayFirst => (b, a),
        DateOrder::Iso if year.is_some() => {
            return Err(format!("{first} can be read two ways; write 2026-07-04"));
        }
        DateOrder::Iso => return Ok(None),
    };
    if let Some(year) = year {
        let year = if year < 100 { 2000 + year } else { year };
        return i32::try_from(year)
            .ok()
            .and_then(|year| NaiveDate::from_ymd_opt(year, month, day))
            .map(|date| Some((Day::single(date), 1)))
            .ok_or_else(|| format!("{first} is no date"));
    }
    // Half a pound is not the second of January: a fraction follows a number or comes before a measure.
    let after_number = place > 0 && number(phrase, place - 1).is_some_and(|n| n.1 > 1);
    let more = (0..phrase.words.len()).any(|i| i != place && number(phrase, i).is_some());
    if after_number || !more {
        return Ok(None);
    }
    latest(month, day, today).map(|date| Some((Day::single(date), 1)))
}

/// Returns the latest such day that is not still to come.
fn latest(month: u32, day: u32, today: NaiveDate) -> Result<NaiveDate, String> {
    (0..5)
        .filter_map(|back| NaiveDate::from_ymd_opt(today.year() - back, month, day))
        .find(|&date| date <= today)
        .ok_or_else(|| format!("month {month} has no day {day}"))
}

/// Returns how many days ago a weekday was, at least so many.
fn days_since(day: Weekday, today: NaiveDate, least: u64) -> u64 {
    let ago = u64::from(today.weekday().days_since(day));
    if ago < least { ago + 7 } else { ago }
}

/// Reads a weekday's name or its short form.
fn weekday(word: &str) -> Option<Weekday> {
    const NAMES: [(&str, Weekday); 7] = [
        ("monday", Weekday::Mon),
        ("tuesday", Weekday::Tue),
        ("wednesday", Weekday::Wed),
        ("thursday", Weekday::Thu),
        ("friday", Weekday::Fri),
        ("saturday", Weekday::Sat),
        ("sunday", Weekday::Sun),
    ];
    begun(word, 3, &NAMES)
}

/// Reads a month's name or its short form.
fn month(word: &str) -> Option<u32> {
    const NAMES: [(&str, u32); 12] = [
        ("january", 1),
        ("february", 2),
        ("march", 3),
        ("april", 4),
        ("may", 5),
        ("june", 6),
        ("july", 7),
        ("august", 8),
        ("september", 9),
        ("october", 10),
        ("november", 11),
        ("december", 12),
    ];
    begun(word, 3, &NAMES)
}

/// Returns what belongs to the name that a word begins.
fn begun<T: Copy>(word: &str, least: usize, names: &[(&str, T)]) -> Option<T> {
    names
        .iter()
        .find(|(name, _)| word.len() >= least && name.starts_with(word))
        .map(|(_, value)| *value)
}
