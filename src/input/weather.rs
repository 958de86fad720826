//! Recorded daily weather: `weather.csv` or the file that `garden.toml` names.
//!
//! Reads a plain file itself and leaves the weather office's layouts to [`super::stations`]; gaps and outliers are the season's business.

use super::cells::Span;
use super::dates::{Reading, reading_of};
use super::loader::Files;
use super::office;
use super::problem::{Findings, Kind, Problem, Read, Told};
use super::rows::{Row, Sheet, Spec};
use super::stations;
use super::text::{Source, decode};
use super::weather_unit::Unit;
use crate::garden::DateOrder;
use crate::garden::site::{Climate, DailyWeather, DayRecord, Site};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Columns of a plain weather file.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &["date", "tmin_c", "tmax_c", "tmin_f", "tmax_f", "note"],
    required: &["date"],
    example: "date,tmin_c,tmax_c",
    paste_from: 1,
};

const CELSIUS: Span = Span::between("degrees Celsius, such as 12.5", -90.0, 60.0);
const FAHRENHEIT: Span = Span::between("degrees Fahrenheit, such as 54.5", -130.0, 140.0);
/// Longest calendar a record may span, days; keeps a slip in a year from filling memory.
const LONGEST: i64 = 250 * 366;

/// What `garden.toml` says of the weather file.
#[derive(Debug)]
pub(crate) struct Named {
    /// Its name.
    pub(crate) file: Option<String>,
    /// The unit of its temperatures, for a file that does not say it.
    pub(crate) unit: Read<Unit>,
}

/// Puts recorded weather into the site: the named file, else `weather.csv` if there is one.
pub(crate) fn put_in(
    site: &mut Result<Site, Told>,
    named: &Named,
    files: &Files,
    order: DateOrder,
    f: &mut Findings,
) {
    let Named { file, unit } = named;
    let Ok(unit) = unit else {
        *site = Err(Told);
        return;
    };
    let name = file.as_deref().unwrap_or("weather.csv");
    // A workbook named here has been laid open already.
    let is_sheet = |table| {
        files
            .sheets
            .get(table)
            .is_some_and(|kept| kept.file == name)
    };
    let name = if is_sheet("weather.csv") {
        "weather.csv"
    } else {
        name
    };
    let Some(bytes) = files.content.get(name) else {
        if file.is_some() && !files.unreadable.iter().any(|(n, _)| n == name) {
            *site = Err(f.tell(
                Problem::of_file(
                    Kind::MissingFile,
                    name,
                    format!("the weather file {name} is not there"),
                )
                .expected("the file that garden.toml names under [climate] weather"),
            ));
        }
        return;
    };
    let read = decode(name, bytes, f)
        .ok_or(Told)
        .and_then(|source| read(&source, order, *unit, f));
    match (read, site.as_mut()) {
        (Ok(weather), Ok(site)) => {
            if file.is_none() {
                f.assume("Temperatures and frosts are those of weather.csv.");
            }
            site.climate = Climate::Daily(weather);
        }
        (Err(told), _) => *site = Err(told),
        (Ok(_), Err(_)) => {}
    }
}

/// Reads a weather file.
pub(crate) fn read(
    source: &Source,
    order: DateOrder,
    unit: Option<Unit>,
    f: &mut Findings,
) -> Result<DailyWeather, Told> {
    if let Some(layout) = stations::layout(&source.text) {
        return stations::read(source, layout, unit, f);
    }
    if office::is_normals(&source.text) {
        return Err(f.tell(
            Problem::of_file(
                Kind::BadWeather,
                &source.name,
                format!("{} holds normals, not daily records", source.name),
            )
            .expected("one row a day")
            .hint(format!(
                "name it as normals = \"{}\" under [climate]",
                source.name
            )),
        ));
    }
    let sheet = Sheet::read(source, SPEC, f).ok_or(Told)?;
    let has = |a: &str, b: &str| sheet.has(a) && sheet.has(b);
    let (celsius, fahrenheit) = (has("tmin_c", "tmax_c"), has("tmin_f", "tmax_f"));
    if celsius == fahrenheit {
        let message = if celsius {
            "temperatures are given in Celsius and in Fahrenheit"
        } else {
            "the file lacks the day's minimum or maximum"
        };
        return Err(f.tell(
            Problem::at(
                if celsius {
                    Kind::TwoSizes
                } else {
                    Kind::MissingColumn
                },
                source,
                source.header_span(),
                message,
            )
            .expected("date,tmin_c,tmax_c or date,tmin_f,tmax_f"),
        ));
    }
    let reading = reading_of(&sheet, &["date"], order, f);
    let mut days: BTreeMap<NaiveDate, DayRecord> = BTreeMap::new();
    let mut sound = true;
    for row in sheet.rows() {
        match day(&row, celsius, reading, f) {
            Ok((date, record)) => {
                if days.insert(date, record).is_some() {
                    sound = false;
                    f.tell(
                        row.problem_at(
                            "date",
                            Kind::BadWeather,
                            format!("{date} stands in the file twice"),
                        )
                        .hint("delete one of the two rows"),
                    );
                }
            }
            Err(Told) => sound = false,
        }
    }
    if !sound {
        return Err(Told);
    }
    fill(source, &days, f)
}

fn day(
    row: &Row<'_>,
    celsius: bool,
    reading: Reading,
    f: &mut Findings,
) -> Result<(NaiveDate, DayRecord), Told> {
    let (low, high, span) = if celsius {
        ("tmin_c", "tmax_c", &CELSIUS)
    } else {
        ("tmin_f", "tmax_f", &FAHRENHEIT)
    };
    let date = row
        .need(f, "date", super::dates::EXPECTED)
        .cloned()
        .and_then(|c| c.date(f, reading));
    let min = row.number(f, low, span);
    let max = row.number(f, high, span);
    let (min, max) = (min?, max?);
    if let (Some(a), Some(b)) = (min, max)
        && a > b
    {
        let problem = row
            .problem_at(
                low,
                Kind::WrongOrder,
                format!("the day's minimum {a} is above its maximum {b}"),
            )
            .hint("exchange the two values or the two column names");
        return Err(f.tell(problem));
    }
    #[allow(clippy::cast_possible_truncation, reason = "tenths of a degree fit")]
    let degrees = |v: f64| if celsius { v } else { (v - 32.0) / 1.8 } as f32;
    Ok((
        date?,
        DayRecord {
            min_c: min.map(degrees),
            max_c: max.map(degrees),
        },
    ))
}

/// Makes a calendar without gaps.
pub(crate) fn fill(
    source: &Source,
    days: &BTreeMap<NaiveDate, DayRecord>,
    f: &mut Findings,
) -> Result<DailyWeather, Told> {
    let (Some((&first, _)), Some((&last, _))) = (days.first_key_value(), days.last_key_value())
    else {
        return Err(f.tell(
            Problem::of_file(
                Kind::BadWeather,
                &source.name,
                "the weather file holds no day",
            )
            .expected("one row a day"),
        ));
    };
    if (last - first).num_days() > LONGEST {
        return Err(f.tell(
            Problem::of_file(
                Kind::BadWeather,
                &source.name,
                format!("the days run from {first} to {last}, longer than anybody kept a record"),
            )
            .hint("look for a slip in a year"),
        ));
    }
    Ok(DailyWeather {
        source: source.name.clone(),
        first,
        days: first
            .iter_days()
            .take_while(|d| *d <= last)
            .map(|d| days.get(&d).copied().unwrap_or_default())
            .collect(),
    })
}
