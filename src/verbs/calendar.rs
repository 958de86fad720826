//! `putby calendar`: sowings, first pickings and processing days as an iCalendar file.
//!
//! As a table the answer is the file itself; CSV and JSON list its entries. Processing days are whole days unless `--at`
//! says when they begin, since the garden's files give the kitchen's hours and no time of day.

use super::cli::{Format, Shared};
use super::setting::Setting;
use super::{Exit, Failure, deliver, sessions, sessions_facts};
use crate::garden::planting::{Planting, Size};
use crate::garden::units::{Mass, Minutes};
use crate::kitchen::plan::card::Card;
use crate::kitchen::processing::ProcessingDays;
use crate::output::calendar::{Entry, Time, render};
use crate::output::report::{Facts, Report};
use crate::output::table::Cell;
use crate::output::{dates, rounding, text};
use crate::season::windows::{Window, windows};
use chrono::{Datelike, NaiveDate, NaiveTime, TimeDelta, Weekday};
use clap::Args;

/// Minutes a follow-up takes up in the calendar.
const FOLLOW_UP_MIN: u32 = 15;
const GARDEN: &str = "Garden";
const KITCHEN: &str = "Kitchen";

/// Arguments of `calendar`.
#[derive(Debug, Clone, Args)]
pub struct CalendarArgs {
    /// When processing days begin, as 18:00 or 18:00,sat=9:00 [default: whole days]
    #[arg(long, value_name = "TIMES", value_delimiter = ',', value_parser = beginning)]
    at: Vec<Beginning>,
    /// Weeks of processing days [default: 8]
    #[arg(long, value_name = "N", default_value_t = sessions::WEEKS, hide_default_value = true, value_parser = clap::value_parser!(u16).range(1..=52))]
    weeks: u16,
}

/// When work begins on a weekday, or on every day not named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Beginning {
    weekday: Option<Weekday>,
    time: NaiveTime,
}

fn beginning(words: &str) -> Result<Beginning, String> {
    let (weekday, time) = match words.split_once('=') {
        None => (None, words),
        Some((day, time)) => {
            let weekday: Weekday = (day.trim().parse())
                .map_err(|_| format!("`{}` is not a weekday, such as sat", text::visible(day)))?;
            (Some(weekday), time)
        }
    };
    let time = NaiveTime::parse_from_str(time.trim(), "%H:%M").map_err(|_| {
        format!(
            "`{}` is not a time of day from 0:00 to 23:59, such as 18:00",
            text::visible(time)
        )
    })?;
    Ok(Beginning { weekday, time })
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &CalendarArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "calendar")?;
    let setting = Setting::load(shared)?;
    let mut entries = beds(&setting);
    entries.extend(pickings(&setting));
    let found = sessions::days(&setting, arguments.weeks, sessions::SEASONS_IN_TEN)?;
    entries.extend(kitchen(&setting, &found, &arguments.at));
    entries.sort_by(|a, b| (a.time.start(), &a.key).cmp(&(b.time.start(), &b.key)));
    if shared.format == Format::Table {
        let version = env!("CARGO_PKG_VERSION");
        let file = render(&setting.garden.name, version, setting.as_of, &entries);
        deliver::text_out(&file, shared)?;
    } else {
        deliver::report(&report(&entries), &setting, shared, true)?;
    }
    Ok(Exit::Done)
}

/// What is still to be done in the beds, as the planting list says.
fn beds(setting: &Setting) -> Vec<Entry> {
    let garden = &setting.garden;
    let mut entries = Vec::new();
    for planting in &garden.plantings {
        for (date, what, key) in [
            (planting.sown, "Sow", "sow"),
            (planting.set_out, "Set out", "set-out"),
            (planting.cleared, "Clear", "clear"),
        ] {
            let Some(date) = date.filter(|date| *date >= setting.as_of) else {
                continue;
            };
            let bed = &garden.bed(planting.bed).name;
            let in_tray = key == "sow" && planting.set_out.is_some();
            let place = if in_tray {
                format!("in a tray, for {bed}")
            } else {
                bed.clone()
            };
            entries.push(Entry {
                key: format!("{key} {}", planting.name),
                time: Time::Days(date, date),
                title: format!("{what} {} ({place})", planting_words(setting, planting)),
                more: size(planting, setting),
                category: GARDEN,
            });
        }
    }
    entries
}

fn planting_words(setting: &Setting, planting: &Planting) -> String {
    let crop = &setting.garden.crop(planting.crop).name;
    match &planting.variety {
        Some(variety) => format!("{crop} {variety}"),
        None => crop.clone(),
    }
}

fn size(planting: &Planting, setting: &Setting) -> String {
    use crate::garden::UnitSystem::{Metric, Us};
    let of_units = |us: (f64, &str), metric: (f64, &str)| {
        let (value, unit) = match setting.garden.show.units {
            Us => us,
            Metric => metric,
        };
        format!(
            "{} {unit}",
            rounding::decimals(value, usize::from((value - value.round()).abs() > 0.05))
        )
    };
    let amount = match planting.size {
        Size::Row(row) => format!("{} of row", of_units((row.ft(), "ft"), (row.m(), "m"))),
        Size::Area(area) => of_units((area.sqft(), "sq ft"), (area.m2(), "m²")),
        Size::Plants(plants) => format!("{plants} plants"),
    };
    format!("{}: {amount}.", planting.name)
}

/// The first picking of every planting that is not picked yet, on its middle date.
fn pickings(setting: &Setting) -> Vec<Entry> {
    let garden = &setting.garden;
    let plan = setting.plan();
    let found = windows(&plan, &setting.draws);
    let coming = |w: &&Window| !w.over && w.first.is_some_and(|first| first.p50 >= setting.as_of);
    found
        .iter()
        .filter(coming)
        .filter_map(|window| {
            let (first, last) = (window.first?, window.last?);
            let planting = garden.planting(window.planting);
            let doubt = if window.chance_of_harvest < 0.95 {
                format!(
                    "\nGives something in {}.",
                    rounding::seasons_in_ten(window.chance_of_harvest)
                )
            } else {
                String::new()
            };
            Some(Entry {
                key: format!("pick {}", planting.name),
                time: Time::Days(first.p50, first.p50),
                title: format!(
                    "First picking likely: {} ({})",
                    planting_words(setting, planting),
                    garden.bed(planting.bed).name
                ),
                more: format!(
                    "{}: in 8 seasons of 10 the first picking is {}, the last {}, and {} are ready in all.{doubt}",
                    planting.name,
                    dates::range(first.p10, first.p90),
                    dates::range(last.p10, last.p90),
                    rounding::mass_range(
                        Mass::from_kg(window.kg.p10),
                        Mass::from_kg(window.kg.p90),
                        garden.show.units
                    ),
                ),
                category: GARDEN,
            })
        })
        .collect()
}

/// Processing days with their lots, and what has to be seen to afterwards.
fn kitchen(setting: &Setting, found: &ProcessingDays, at: &[Beginning]) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut place = Place::default();
    for card in &found.cards {
        // Numbered within their week, so that a session moved to another day of it moves in the calendar too.
        let key = place.next(card.date);
        let time = time_of(card, at);
        entries.push(Entry {
            title: format!(
                "Kitchen {}: {}",
                rounding::hours(card.length),
                text::list(&products(setting, found, card))
            ),
            more: session(setting, found, card),
            key: key.clone(),
            time,
            category: KITCHEN,
        });
        for (i, follow_up) in card.follow_ups.iter().enumerate() {
            entries.push(Entry {
                key: format!("{key} follow-up {}", i + 1),
                time: later(time, follow_up.after_h),
                title: format!("After the kitchen: {}", follow_up.what),
                more: format!("From the session of {}.", dates::day(card.date)),
                category: KITCHEN,
            });
        }
    }
    entries
}

/// Numbers sessions within their week.
#[derive(Default)]
struct Place {
    week: Option<(i32, u32)>,
    number: u32,
}

impl Place {
    fn next(&mut self, date: NaiveDate) -> String {
        let week = (date.iso_week().year(), date.iso_week().week());
        self.number = if self.week == Some(week) {
            self.number + 1
        } else {
            1
        };
        self.week = Some(week);
        format!("session {}-W{:02} {}", week.0, week.1, self.number)
    }
}

fn time_of(card: &Card, at: &[Beginning]) -> Time {
    let weekday = Some(card.date.weekday());
    let named = at.iter().rfind(|b| b.weekday == weekday);
    let any = || at.iter().rfind(|b| b.weekday.is_none());
    match named.or_else(any) {
        Some(begin) => {
            let minutes = (card.length.min_value() / 5.0).ceil() * 5.0;
            Time::At(card.date.and_time(begin.time), minutes as u32)
        }
        None => Time::Days(card.date, card.date),
    }
}

/// When something is due so many hours after a session; by the day where no time is known.
fn later(session: Time, after_h: f64) -> Time {
    match session {
        Time::Days(_, day) => {
            let due = day + TimeDelta::days((after_h / 24.0).round() as i64);
            Time::Days(due, due)
        }
        Time::At(start, minutes) => {
            let after = f64::from(minutes) + after_h * 60.0;
            Time::At(
                start + TimeDelta::minutes(after.round() as i64),
                FOLLOW_UP_MIN,
            )
        }
    }
}

/// The products of a day in the order of work.
fn products(setting: &Setting, found: &ProcessingDays, card: &Card) -> Vec<String> {
    sessions_facts::rows(setting, found)
        .into_iter()
        .filter(|row| row.date == card.date)
        .map(|row| row.product)
        .collect()
}

fn session(setting: &Setting, found: &ProcessingDays, card: &Card) -> String {
    let garden = &setting.garden;
    let mut lines = vec![format!(
        "Takes {} of the {} there are.",
        rounding::hours(card.length),
        rounding::hours(card.open)
    )];
    for row in sessions_facts::rows(setting, found) {
        if row.date == card.date {
            let from: Vec<String> = (row.crops.iter())
                .map(|(crop, kg)| {
                    format!(
                        "{} {crop}",
                        rounding::mass(Mass::from_kg(*kg), garden.show.units)
                    )
                })
                .collect();
            let label = card.labels.iter().find(|l| l.name == row.product);
            let container = label.map_or("", |l| l.container.as_str());
            let fill = sessions_facts::halves(row.containers);
            lines.push(format!(
                "{}: {fill} × {container} from {}.",
                row.product,
                text::list(&from)
            ));
        }
    }
    if !card.day_before.is_empty() {
        lines.push(format!("The day before: {}", card.day_before.join(" ")));
    }
    lines.push(format!(
        "The page for the cook: putby sessions --card {}",
        card.date
    ));
    lines.join("\n")
}

fn report(entries: &[Entry]) -> Report {
    let mut facts = Facts::new(&["date", "until", "at", "minutes", "what", "category", "more"]);
    for entry in entries {
        let (first, last, at, minutes) = match entry.time {
            Time::Days(first, last) => (first, last, Cell::Empty, Cell::Empty),
            Time::At(start, minutes) => (
                start.date(),
                start.date(),
                Cell::text(start.format("%H:%M").to_string()),
                Cell::Minutes(Minutes::from_min(f64::from(minutes))),
            ),
        };
        facts.push(vec![
            Cell::Date(first),
            Cell::Date(last),
            at,
            minutes,
            Cell::text(entry.title.clone()),
            Cell::text(entry.category),
            Cell::text(entry.more.clone()),
        ]);
    }
    Report {
        facts,
        ..Report::default()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn beginnings_are_read_or_refused() {
        let read = |words: &str| beginning(words).map(|b| (b.weekday, b.time.to_string()));
        assert_eq!(read("18:00"), Ok((None, "18:00:00".to_owned())));
        assert_eq!(
            read("sat=9:30"),
            Ok((Some(Weekday::Sat), "09:30:00".to_owned()))
        );
        assert!(read("25:00").unwrap_err().contains("time of day"));
        assert!(read("satt=9:00").unwrap_err().contains("weekday"));
    }

    #[test]
    fn sessions_are_numbered_within_their_week() {
        let mut place = Place::default();
        let named: Vec<String> = ["2026-12-30", "2027-01-02", "2027-01-04"]
            .iter()
            .map(|d| place.next(d.parse().unwrap()))
            .collect();
        assert_eq!(
            named,
            [
                "session 2026-W53 1",
                "session 2026-W53 2",
                "session 2027-W01 1"
            ]
        );
    }

    #[test]
    fn what_follows_comes_by_the_hour_or_by_the_day() {
        let day: NaiveDate = "2026-08-01".parse().unwrap();
        let evening = Time::At(day.and_hms_opt(18, 0, 0).unwrap(), 90);
        let at = |h| later(evening, h).start().to_string();
        assert_eq!(at(3.0), "2026-08-01 22:30:00");
        assert_eq!(at(12.0), "2026-08-02 07:30:00");
        let whole = |h| later(Time::Days(day, day), h).start().date().day();
        assert_eq!([whole(3.0), whole(12.0), whole(72.0)], [1, 2, 4]);
    }
}
