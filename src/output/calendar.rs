//! Entries of a calendar as an iCalendar file that phones and desk calendars read.
//!
//! Knows text, days and times, nothing of gardens. Rules: RFC 5545 (lines end in CR LF and are folded at 75 octets, text is
//! escaped, the end of a whole-day entry is the day after). Times are floating: they show as the same time of day wherever
//! the reader is. Nothing is taken from the clock, so that equal entries make equal files.

use super::text::is_steering;
use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use std::fmt::Write;

/// Octets of a line, its end not counted (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;
/// Day from which revisions are counted; before any day a garden is reckoned from.
const FIRST_REVISION: NaiveDate = NaiveDate::from_ymd_opt(1900, 1, 1).expect("a real day");

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What makes the entry the same one in a later file, unique within the calendar; any text.
    pub key: String,
    /// When it is.
    pub time: Time,
    /// Its line in the calendar.
    pub title: String,
    /// What is read on opening it; lines are kept.
    pub more: String,
    /// The group it belongs to.
    pub category: &'static str,
}

/// When an entry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Time {
    /// Whole days, both ends included.
    Days(NaiveDate, NaiveDate),
    /// A time of day and a length in minutes.
    At(NaiveDateTime, u32),
}

impl Time {
    /// Returns the first moment.
    #[must_use]
    pub fn start(self) -> NaiveDateTime {
        match self {
            Self::Days(first, _) => first.and_time(NaiveTime::MIN),
            Self::At(start, _) => start,
        }
    }
}

/// Writes a calendar of some name as of a day; a later day makes a later revision of the same entries.
#[must_use]
pub fn render(name: &str, version: &str, as_of: NaiveDate, entries: &[Entry]) -> String {
    let mut file = File(String::new());
    file.line("BEGIN:VCALENDAR");
    file.line("VERSION:2.0");
    file.line(&format!("PRODID:-//putby//putby {}//EN", escaped(version)));
    file.line("CALSCALE:GREGORIAN");
    file.line("METHOD:PUBLISH");
    file.line(&format!("X-WR-CALNAME:{}", escaped(name)));
    let stamp = as_of.format("%Y%m%dT000000Z");
    let revision = (as_of - FIRST_REVISION).num_days().max(0);
    for entry in entries {
        file.line("BEGIN:VEVENT");
        file.line(&format!("UID:{}", uid(name, &entry.key)));
        file.line(&format!("DTSTAMP:{stamp}"));
        file.line(&format!("SEQUENCE:{revision}"));
        file.time(entry.time);
        file.line(&format!("SUMMARY:{}", escaped(&entry.title)));
        if !entry.more.is_empty() {
            file.line(&format!("DESCRIPTION:{}", escaped(&entry.more)));
        }
        file.line(&format!("CATEGORIES:{}", escaped(entry.category)));
        file.line("END:VEVENT");
    }
    file.line("END:VCALENDAR");
    file.0
}

struct File(String);

impl File {
    /// Adds a line, folded so that no character is torn apart.
    fn line(&mut self, content: &str) {
        let mut room = LINE_OCTETS;
        for c in content.chars() {
            if c.len_utf8() > room {
                self.0.push_str("\r\n ");
                // The space that begins the next line counts.
                room = LINE_OCTETS - 1;
            }
            room -= c.len_utf8();
            self.0.push(c);
        }
        self.0.push_str("\r\n");
    }

    /// Adds the lines of a time. Whole days leave their reader free, hours do not.
    fn time(&mut self, time: Time) {
        match time {
            Time::Days(first, last) => {
                let end = last.checked_add_days(Days::new(1)).unwrap_or(last);
                self.line(&format!("DTSTART;VALUE=DATE:{}", first.format("%Y%m%d")));
                self.line(&format!("DTEND;VALUE=DATE:{}", end.format("%Y%m%d")));
                self.line("TRANSP:TRANSPARENT");
            }
            Time::At(start, minutes) => {
                let end = start + TimeDelta::minutes(i64::from(minutes));
                self.line(&format!("DTSTART:{}", start.format("%Y%m%dT%H%M%S")));
                self.line(&format!("DTEND:{}", end.format("%Y%m%dT%H%M%S")));
                self.line("TRANSP:OPAQUE");
            }
        }
    }
}

/// Escapes a text value; what could steer a reader becomes `�`, line ends are kept.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            '\\' => escaped.push_str("\\\\"),
            ';' => escaped.push_str("\\;"),
            ',' => escaped.push_str("\\,"),
            '\n' | '\r' => escaped.push_str("\\n"),
            '\t' => escaped.push(' '),
            c if is_steering(c) => escaped.push('\u{FFFD}'),
            c => escaped.push(c),
        }
    }
    escaped
}

/// Makes the name of an entry that stays the same from file to file: two FNV-1a sums of calendar and key.
///
/// Source: the FNV hash, RFC 9923; the domain is one that never exists (RFC 2606).
fn uid(calendar: &str, key: &str) -> String {
    let mut uid = String::new();
    for start in ["a", "b"] {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in start
            .bytes()
            .chain(calendar.bytes())
            .chain([0])
            .chain(key.bytes())
        {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        let _ = write!(uid, "{hash:016x}");
    }
    uid + "@putby.invalid"
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn folded(content: &str) -> Vec<usize> {
        let mut file = File(String::new());
        file.line(content);
        file.0.trim_end().split("\r\n").map(str::len).collect()
    }

    /// Octets a line by hand from RFC 5545, 3.1: a continuation's leading space counts, no character is split.
    #[test]
    fn lines_fold_by_octets() {
        let line = |text: String| folded(&format!("SUMMARY:{text}"));
        assert_eq!(line("x".repeat(67)), [75]);
        assert_eq!(line("x".repeat(68)), [75, 2]);
        assert_eq!(line("é".repeat(40)), [74, 15]);
        assert_eq!(line("🍅".repeat(40)), [72, 73, 25]);
    }

    /// RFC 5545, 3.3.11.
    #[test]
    fn text_is_escaped() {
        assert_eq!(
            escaped("Beans, 3 lb; C:\\jam\ndone"),
            "Beans\\, 3 lb\\; C:\\\\jam\\ndone"
        );
        assert_eq!(escaped("a\r\nEND:VEVENT\u{7}"), "a\\nEND:VEVENT\u{FFFD}");
    }

    /// RFC 5545, 3.6.1: the end of whole days is the day after the last.
    #[test]
    fn an_entry_of_whole_days_and_one_of_hours() {
        let entry = |time| Entry {
            key: "k".to_owned(),
            time,
            title: "Sow kale".to_owned(),
            more: String::new(),
            category: "Garden",
        };
        let text = render(
            "Plot",
            "1",
            day("2026-07-13"),
            &[
                entry(Time::Days(day("2025-05-04"), day("2025-05-06"))),
                entry(Time::At(
                    day("2026-08-01").and_hms_opt(23, 0, 0).unwrap(),
                    90,
                )),
            ],
        );
        for line in [
            "DTSTART;VALUE=DATE:20250504",
            "DTEND;VALUE=DATE:20250507",
            "DTSTART:20260801T230000",
            "DTEND:20260802T003000",
            "DTSTAMP:20260713T000000Z",
        ] {
            assert!(text.contains(&format!("\r\n{line}\r\n")), "{line}\n{text}");
        }
    }

    /// Undoes folding and escaping by the rules of RFC 5545, written apart from the writer.
    fn read_back(file: &str) -> Vec<(String, String)> {
        let joined = file.replace("\r\n ", "");
        let mut lines = Vec::new();
        for line in joined.split_terminator("\r\n") {
            let (name, value) = line.split_once(':').unwrap();
            let mut text = String::new();
            let mut chars = value.chars();
            while let Some(c) = chars.next() {
                match c {
                    '\\' => match chars.next().unwrap() {
                        'n' => text.push('\n'),
                        c => text.push(c),
                    },
                    c => text.push(c),
                }
            }
            lines.push((name.to_owned(), text));
        }
        lines
    }

    proptest! {
        #[test]
        fn any_text_comes_back(title in "[^\\p{C}\\u2028\\u2029]{0,90}", more in "([^\\p{C}\\u2028\\u2029]|\\n){0,200}", key in "\\PC{0,20}") {
            let entry = Entry {
                key, title: title.clone(), more: more.clone(), category: "Garden",
                time: Time::Days(day("2026-08-01"), day("2026-08-01")),
            };
            let file = render("Plot", "1", day("2026-07-13"), &[entry]);
            for line in file.split_terminator("\r\n") {
                prop_assert!(line.len() <= LINE_OCTETS);
                prop_assert!(!line.contains(['\r', '\n']));
            }
            let lines = read_back(&file);
            let value = |name: &str| lines.iter().find(|(n, _)| n == name).map(|(_, v)| v.clone());
            prop_assert_eq!(value("SUMMARY").unwrap(), title);
            prop_assert_eq!(value("DESCRIPTION").unwrap_or_default(), more);
            prop_assert_eq!(lines.iter().filter(|(n, _)| n == "BEGIN").count(), 2);
        }
    }

    #[test]
    fn names_of_entries_stay_and_differ() {
        assert_eq!(uid("Plot", "sow kale"), uid("Plot", "sow kale"));
        assert_ne!(uid("Plot", "sow kale"), uid("Plot", "sow kale-2"));
        assert_ne!(uid("Plot", "sow kale"), uid("Plots", "ow kale"));
    }
}
