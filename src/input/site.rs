//! The place, from `garden.toml`: `[site]`, `[frost]` and `[climate]`.
//!
//! Reads what the grower or the weather office said; draws and interpolates nothing.

use super::cells::Span;
use super::dates::Reading;
use super::keys::{Entry, Section};
use super::problem::{Findings, Kind, Problem, Told};
use crate::garden::site::{Climate, FrostRow, FrostTable, MonthlyNormals, Site};
use crate::garden::units::{Length, Temperature};
use crate::garden::week::YearDay;

const LATITUDE: Span = Span::between(
    "degrees of latitude, north positive, such as 41.5",
    -90.0,
    90.0,
);
const ALTITUDE_FT: Span = Span::between("feet above the sea, such as 850", -1500.0, 20_000.0);
const ALTITUDE_M: Span = Span::between("metres above the sea, such as 260", -500.0, 6_000.0);
const SD_DAYS: Span = Span::between("a number of days, such as 12", 0.5, 60.0);
const SHARE: Span = Span::between("a share of years from 0.01 to 1", 0.01, 1.0);
const MONTH_F: Span = Span::between("degrees Fahrenheit, such as 46.5", -80.0, 125.0);
const MONTH_C: Span = Span::between("degrees Celsius, such as 8.1", -62.0, 52.0);
const NIGHT_F: Span = Span::between("degrees Fahrenheit, such as 5", -90.0, 80.0);

/// Standard deviation of a frost date when only its middle is known, days (usual range of the published tables: 10–14).
const USUAL_SD_DAYS: f64 = 12.0;
/// Sum of the days of year of middle last and first frost where only one of them is known: both lie about day 201 (or 18, south).
const SPRING_PLUS_FALL: i64 = 402;

/// Reads the place. A weather file, if one is named, is put in later; its name is returned beside the site.
pub(crate) fn read(
    root: &Section<'_>,
    reading: Reading,
    has_weather: bool,
    findings: &mut Findings,
) -> (Result<Site, Told>, Option<String>) {
    let climate = root.section(findings, "climate");
    let weather = climate
        .as_ref()
        .and_then(|c| c.text(findings, "weather").ok().flatten());
    let frost = frost_table(root, reading, has_weather || weather.is_some(), findings);
    let (normals, coldest) = normals(climate.as_ref(), findings);
    let Some(site) = root.get("site") else {
        let told = findings.tell(
            Problem::of_file(
                Kind::MissingKey,
                "garden.toml",
                "the place is not given: there is no [site]",
            )
            .expected("[site] with latitude_deg")
            .hint("add two lines: [site] and latitude_deg = 41.5 (yours, from any map)"),
        );
        return (Err(told), weather);
    };
    (build(&site, frost, normals, coldest, findings), weather)
}

fn build(
    site: &Entry<'_>,
    frost: Result<FrostTable, Told>,
    normals: Result<Climate, Told>,
    coldest: Result<Option<Temperature>, Told>,
    findings: &mut Findings,
) -> Result<Site, Told> {
    let site = site.section(findings)?;
    site.only(
        findings,
        &["name", "latitude_deg", "altitude_ft", "altitude_m"],
    );
    let name = site.text(findings, "name");
    let latitude = match site.number(findings, "latitude_deg", &LATITUDE) {
        Ok(Some(latitude)) => Ok(latitude),
        Ok(None) => Err(findings.tell(
            site.problem(Kind::MissingKey, "the latitude is not given")
                .column("site.latitude_deg")
                .expected(LATITUDE.what),
        )),
        Err(told) => Err(told),
    };
    let feet = site.number(findings, "altitude_ft", &ALTITUDE_FT);
    let metres = site.number(findings, "altitude_m", &ALTITUDE_M);
    let altitude = match (feet?, metres?) {
        (Some(_), Some(_)) => {
            return Err(findings.tell(
                site.problem(
                    Kind::TwoSizes,
                    "the altitude is given in feet and in metres",
                )
                .hint("keep one of altitude_ft and altitude_m"),
            ));
        }
        (Some(ft), None) => Some(Length::from_ft(ft)),
        (None, m) => m.map(Length::from_m),
    };
    let (name, latitude_deg, frost) = (name?.unwrap_or_default(), latitude?, frost?);
    check_order(&site, latitude_deg, &frost, findings)?;
    Ok(Site {
        name,
        latitude_deg,
        altitude,
        frost,
        climate: normals?,
        coldest_night: coldest?,
    })
}

/// The middle of spring's last frost lies before fall's first in the north, after it within a calendar year in the south.
fn check_order(
    site: &Section<'_>,
    latitude: f64,
    frost: &FrostTable,
    findings: &mut Findings,
) -> Result<(), Told> {
    let freezing = |rows: &[FrostRow]| {
        rows.iter()
            .find(|r| (r.threshold.f() - 32.0).abs() < 0.01)
            .map(|r| middle(&r.dates))
    };
    let (Some(spring), Some(fall)) = (freezing(&frost.spring), freezing(&frost.fall)) else {
        return Ok(());
    };
    let wrong = if latitude >= 0.0 {
        spring >= fall
    } else {
        spring <= fall
    };
    if !wrong {
        return Ok(());
    }
    let hint = if latitude >= 0.0 {
        "exchange the two dates; south of the equator latitude_deg is negative"
    } else {
        "exchange the two dates; north of the equator latitude_deg is positive"
    };
    Err(findings.tell(
        site.problem(Kind::WrongOrder, "the last frost of spring does not come before the first frost of fall at this latitude")
            .column("frost.last_spring, frost.first_fall")
            .hint(hint),
    ))
}

/// Returns the date whose chance is nearest to one half.
fn middle(dates: &[(f64, YearDay)]) -> YearDay {
    let nearest = dates
        .iter()
        .min_by(|a, b| (a.0 - 0.5).abs().total_cmp(&(b.0 - 0.5).abs()));
    nearest.map_or(YearDay::wrapped(1), |(_, day)| *day)
}

fn frost_table(
    root: &Section<'_>,
    reading: Reading,
    has_weather: bool,
    findings: &mut Findings,
) -> Result<FrostTable, Told> {
    let Some(entry) = root.get("frost") else {
        if has_weather {
            return Ok(FrostTable::default());
        }
        return Err(findings.tell(
            Problem::of_file(Kind::MissingKey, "garden.toml", "no frost date is given")
                .expected("[frost] with last_spring or first_fall")
                .hint("add [frost] and first_fall = \"10-12\" (the middle date of your first freeze); the extension office or weather service knows it"),
        ));
    };
    let frost = entry.section(findings)?;
    let mut table = FrostTable::default();
    let mut sound = row(
        &frost,
        Temperature::from_f(32.0),
        reading,
        &mut table,
        findings,
    )
    .is_ok();
    for sub in frost.entries() {
        if ["last_spring", "first_fall", "sd_days", "share"].contains(&sub.key.as_str()) {
            continue;
        }
        let threshold = sub
            .key
            .parse::<f64>()
            .ok()
            .filter(|f| (-20.0..=50.0).contains(f));
        match (threshold, sub.as_section()) {
            (Some(f), Some(section)) => {
                sound &= row(
                    &section,
                    Temperature::from_f(f),
                    reading,
                    &mut table,
                    findings,
                )
                .is_ok()
            }
            _ => {
                sound = false;
                findings.tell(
                    sub.problem(Kind::UnknownKey, format!("there is no key `{}` under [frost]", sub.key))
                        .expected("last_spring, first_fall, sd_days, share, or a table for another temperature such as [frost.28]"),
                );
            }
        }
    }
    if !sound {
        return Err(Told);
    }
    complete(&mut table, &frost, has_weather, findings)?;
    for rows in [&mut table.spring, &mut table.fall] {
        rows.sort_by(|a, b| b.threshold.f().total_cmp(&a.threshold.f()));
    }
    Ok(table)
}

/// Fills in the missing one of spring and fall at freezing, and says so.
fn complete(
    table: &mut FrostTable,
    frost: &Section<'_>,
    has_weather: bool,
    findings: &mut Findings,
) -> Result<(), Told> {
    let freezing = |rows: &[FrostRow]| {
        rows.iter()
            .find(|r| (r.threshold.f() - 32.0).abs() < 0.01)
            .cloned()
    };
    let other = |row: &FrostRow| FrostRow {
        dates: vec![(
            0.5,
            YearDay::wrapped(SPRING_PLUS_FALL - i64::from(middle(&row.dates).number())),
        )],
        ..row.clone()
    };
    match (freezing(&table.spring), freezing(&table.fall)) {
        (Some(_), Some(_)) => {}
        (Some(spring), None) => {
            findings.assume("The first frost of fall is not given; it was set opposite the last frost of spring in the year.");
            table.fall.push(other(&spring));
        }
        (None, Some(fall)) => {
            findings.assume("The last frost of spring is not given; it was set opposite the first frost of fall in the year.");
            table.spring.push(other(&fall));
        }
        (None, None) if has_weather => {}
        (None, None) => {
            return Err(findings.tell(
                frost
                    .problem(Kind::MissingKey, "no frost date is given")
                    .column("frost")
                    .expected("last_spring or first_fall, such as \"04-22\""),
            ));
        }
    }
    Ok(())
}

fn row(
    section: &Section<'_>,
    threshold: Temperature,
    reading: Reading,
    table: &mut FrostTable,
    findings: &mut Findings,
) -> Result<(), Told> {
    if (threshold.f() - 32.0).abs() > 0.01 {
        section.only(findings, &["last_spring", "first_fall", "sd_days", "share"]);
    }
    let sd_days = section.number(findings, "sd_days", &SD_DAYS);
    let share = section.number(findings, "share", &SHARE);
    let spring = section
        .get("last_spring")
        .map(|e| pairs(&e, reading, true, findings))
        .transpose();
    let fall = section
        .get("first_fall")
        .map(|e| pairs(&e, reading, false, findings))
        .transpose();
    let make = |dates| FrostRow {
        threshold,
        share: 1.0,
        dates,
        sd_days: USUAL_SD_DAYS,
    };
    let (sd_days, share) = (sd_days?.unwrap_or(USUAL_SD_DAYS), share?.unwrap_or(1.0));
    let finish = |row: FrostRow| FrostRow {
        share,
        sd_days,
        ..row
    };
    table.spring.extend(spring?.map(make).map(finish));
    table.fall.extend(fall?.map(make).map(finish));
    Ok(())
}

/// Reads one middle date or a table of percent and date.
fn pairs(
    entry: &Entry<'_>,
    reading: Reading,
    spring: bool,
    findings: &mut Findings,
) -> Result<Vec<(f64, YearDay)>, Told> {
    let Some(section) = entry.as_section() else {
        return Ok(vec![(0.5, entry.year_day(findings, reading)?)]);
    };
    let mut pairs = Vec::new();
    let mut sound = true;
    for item in section.entries() {
        let chance = item
            .key
            .trim_end_matches('%')
            .parse::<f64>()
            .ok()
            .filter(|p| (0.5..=99.5).contains(p));
        match (chance, item.year_day(findings, reading)) {
            (Some(percent), Ok(day)) => pairs.push((percent / 100.0, day)),
            (Some(_), Err(Told)) => sound = false,
            (None, _) => {
                sound = false;
                findings.tell(
                    item.problem(
                        Kind::OutOfRange,
                        format!("`{}` is not a chance in percent", item.key),
                    )
                    .expected("a percent from 1 to 99 before each date, such as 50 = \"04-22\""),
                );
            }
        }
    }
    if !sound {
        return Err(Told);
    }
    if pairs.is_empty() {
        return Err(findings.tell(
            entry
                .problem(Kind::MissingKey, format!("{} holds no date", entry.name))
                .expected("at least 50 = \"04-22\""),
        ));
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Steps between neighbours, the short way round the year: a winter's dates may cross New Year.
    let step = |w: &[(f64, YearDay)]| {
        (i32::from(w[1].1.number()) - i32::from(w[0].1.number()) + 182).rem_euclid(365) - 182
    };
    if pairs
        .windows(2)
        .any(|w| if spring { step(w) > 0 } else { step(w) < 0 })
    {
        let message = if spring {
            "the smaller the chance of a later frost in spring, the later its date must be"
        } else {
            "the smaller the chance of an earlier frost in fall, the earlier its date must be"
        };
        return Err(findings.tell(
            entry
                .problem(Kind::WrongOrder, message)
                .hint("check whether percent and dates were exchanged"),
        ));
    }
    Ok(pairs)
}

type Normals = (Result<Climate, Told>, Result<Option<Temperature>, Told>);

fn normals(climate: Option<&Section<'_>>, findings: &mut Findings) -> Normals {
    let Some(climate) = climate else {
        return (Ok(Climate::Inferred), Ok(None));
    };
    climate.only(
        findings,
        &[
            "weather",
            "min_f",
            "max_f",
            "min_c",
            "max_c",
            "coldest_night_f",
        ],
    );
    let coldest = climate
        .number(findings, "coldest_night_f", &NIGHT_F)
        .map(|f| f.map(Temperature::from_f));
    let fahrenheit = climate.get("min_f").or_else(|| climate.get("max_f"));
    let celsius = climate.get("min_c").or_else(|| climate.get("max_c"));
    let (keys, first) = match (fahrenheit, celsius) {
        (None, None) => return (Ok(Climate::Inferred), coldest),
        (Some(entry), Some(_)) => {
            let problem = entry
                .problem(
                    Kind::TwoSizes,
                    "monthly temperatures are given in Fahrenheit and in Celsius",
                )
                .hint("keep min_f and max_f, or min_c and max_c");
            return (Err(findings.tell(problem)), coldest);
        }
        (Some(entry), None) => (["min_f", "max_f"], entry),
        (None, Some(entry)) => (["min_c", "max_c"], entry),
    };
    let (Some(min), Some(max)) = (climate.get(keys[0]), climate.get(keys[1])) else {
        let problem = first
            .problem(
                Kind::MissingKey,
                format!(
                    "{} and {} belong together and one is missing",
                    keys[0], keys[1]
                ),
            )
            .expected("twelve monthly means of the daily minimum and twelve of the maximum");
        return (Err(findings.tell(problem)), coldest);
    };
    (
        months(&min, &max, keys[0].ends_with('f'), findings),
        coldest,
    )
}

fn months(
    min_entry: &Entry<'_>,
    max_entry: &Entry<'_>,
    fahrenheit: bool,
    findings: &mut Findings,
) -> Result<Climate, Told> {
    let mut twelve = |entry: &Entry<'_>| -> Result<[f64; 12], Told> {
        let items = entry.items(findings)?;
        let span = if fahrenheit { &MONTH_F } else { &MONTH_C };
        let values: Vec<_> = items.iter().map(|i| i.number(findings, span)).collect();
        let values = values.into_iter().collect::<Result<Vec<f64>, Told>>()?;
        values.try_into().map_err(|v: Vec<f64>| {
            let problem = entry
                .problem(
                    Kind::OutOfRange,
                    format!("{} has {} values", entry.name, v.len()),
                )
                .expected("twelve values, January first");
            findings.tell(problem)
        })
    };
    let (min, max) = (twelve(min_entry), twelve(max_entry));
    let (min, max) = (min?, max?);
    if let Some(m) = (0..12).find(|&m| min[m] > max[m]) {
        let items = min_entry.items(findings)?;
        return Err(findings.tell(
            items[m]
                .problem(
                    Kind::WrongOrder,
                    format!(
                        "in month {} the mean minimum {} is above the mean maximum {}",
                        m + 1,
                        min[m],
                        max[m]
                    ),
                )
                .hint("exchange the two lists, or mend the value"),
        ));
    }
    let warmest = max.iter().copied().fold(f64::MIN, f64::max);
    if fahrenheit && warmest < 46.0 {
        return Err(findings.tell(
            max_entry
                .problem(
                    Kind::OutOfRange,
                    format!("no month is warmer than {warmest} °F"),
                )
                .expected("degrees Fahrenheit")
                .hint("these look like degrees Celsius: name the keys min_c and max_c"),
        ));
    }
    let degree = |v: f64| {
        if fahrenheit {
            Temperature::from_f(v)
        } else {
            Temperature::from_c(v)
        }
    };
    Ok(Climate::Monthly(MonthlyNormals {
        min: min.map(degree),
        max: max.map(degree),
    }))
}
