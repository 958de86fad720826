//! Frost dates, from `[frost]` of `garden.toml`: a middle date, or a table of chances as the weather office prints it.
//!
//! Fills in the missing one of spring and fall and says so; interpolation and drawing belong to the season.

use super::cells::Span;
use super::dates::Reading;
use super::keys::{Entry, Section};
use super::office::Office;
use super::problem::{Findings, Kind, Problem, Told};
use crate::garden::site::{FrostRow, FrostTable};
use crate::garden::units::Temperature;
use crate::garden::week::YearDay;

const SD_DAYS: Span = Span::between("a number of days, such as 12", 0.5, 60.0);
const SHARE: Span = Span::between(
    "a share of years from 0 to 1, 0 where it never freezes",
    0.0,
    1.0,
);
/// Standard deviation of a frost date when only its middle is known, days (usual range of the published tables: 10–14).
pub(crate) const USUAL_SD_DAYS: f64 = 12.0;
/// Sum of the days of year of middle last and first frost where only one of them is known: both lie about day 201 (or 18, south).
const SPRING_PLUS_FALL: i64 = 402;

/// Reads the frost table; it may be missing where there is recorded weather.
pub(crate) fn table(
    root: &Section<'_>,
    reading: Reading,
    has_weather: bool,
    office: Option<&Office>,
    findings: &mut Findings,
) -> Result<FrostTable, Told> {
    let Some(entry) = root.get("frost") else {
        if let Some(office) = office
            .filter(|o| freezing(&o.frost.fall).is_some() || freezing(&o.frost.spring).is_some())
        {
            let mut table = office.frost.clone();
            complete(&mut table, None, has_weather, findings)?;
            return Ok(table);
        }
        if has_weather {
            return Ok(FrostTable::default());
        }
        if let Some(office) = office {
            return Err(findings.tell(no_freezing(office)));
        }
        return Err(findings.tell(
            Problem::of_file(Kind::MissingKey, "garden.toml", "no frost date is given")
                .expected("[frost] with last_spring or first_fall")
                .hint("add [frost] and first_fall = \"10-12\" (the middle date of your first freeze); the extension office or weather service knows it"),
        ));
    };
    let frost = entry.section(findings)?;
    let mut table = FrostTable::default();
    let freezes = row(
        &frost,
        Temperature::from_f(32.0),
        reading,
        &mut table,
        findings,
    );
    let mut sound = freezes.is_ok();
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
    if let Some(office) = office {
        add(&mut table.spring, &office.frost.spring);
        add(&mut table.fall, &office.frost.fall);
    }
    // Where it never freezes no date is missing.
    let settled = has_weather || freezes == Ok(0.0);
    complete(&mut table, Some(&frost), settled, findings)?;
    for rows in [&mut table.spring, &mut table.fall] {
        rows.sort_by(|a, b| b.threshold.f().total_cmp(&a.threshold.f()));
    }
    Ok(table)
}

/// Adds the weather office's rows at thresholds that the household does not give itself.
fn add(own: &mut Vec<FrostRow>, office: &[FrostRow]) {
    let given = own.len();
    for row in office {
        if own[..given]
            .iter()
            .all(|r| (r.threshold.f() - row.threshold.f()).abs() > 0.01)
        {
            own.push(row.clone());
        }
    }
}

/// Says that a station has no dates at freezing.
fn no_freezing(office: &Office) -> Problem {
    let (message, hint) = if office.frost.fall.is_empty() && office.frost.spring.is_empty() {
        (
            format!(
                "no frost date is given, and the normals of {} hold none",
                office.place
            ),
            "name the station's annual/seasonal file beside the other under [climate] normals, or add [frost] with first_fall = \"10-12\"",
        )
    } else {
        (
            format!("the normals of {} have no dates at 32 °F", office.place),
            "such a cold is too rare there, or comes in any month: add [frost] with your own dates, and share if it does not come every year",
        )
    };
    Problem::of_file(Kind::MissingKey, "garden.toml", message)
        .expected("[frost] with last_spring or first_fall")
        .hint(hint)
}

/// Returns the row at 32 °F.
fn freezing(rows: &[FrostRow]) -> Option<FrostRow> {
    rows.iter()
        .find(|r| (r.threshold.f() - 32.0).abs() < 0.01)
        .cloned()
}

/// Fills in the missing one of spring and fall at freezing, and says so; `settled` says that both may be missing.
fn complete(
    table: &mut FrostTable,
    frost: Option<&Section<'_>>,
    settled: bool,
    findings: &mut Findings,
) -> Result<(), Told> {
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
        (None, None) if settled => {}
        (None, None) => {
            let problem = match frost {
                Some(frost) => frost.problem(Kind::MissingKey, "no frost date is given"),
                None => Problem::of_file(Kind::MissingKey, "garden.toml", "no frost date is given"),
            };
            return Err(findings.tell(
                problem
                    .column("frost")
                    .expected("last_spring or first_fall, such as \"04-22\""),
            ));
        }
    }
    Ok(())
}

/// Reads the dates of one threshold into the table; returns the share of years with such a cold.
fn row(
    section: &Section<'_>,
    threshold: Temperature,
    reading: Reading,
    table: &mut FrostTable,
    findings: &mut Findings,
) -> Result<f64, Told> {
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
    Ok(share)
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
                    item.key_problem(
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
    if !runs_with_the_chance(&pairs, spring) {
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

/// Says whether dates in the order of their chances run the right way: in spring backward, in fall forward.
pub(crate) fn runs_with_the_chance(pairs: &[(f64, YearDay)], spring: bool) -> bool {
    // Steps between neighbours, the short way round the year: a winter's dates may cross New Year.
    let step = |w: &[(f64, YearDay)]| {
        (i32::from(w[1].1.number()) - i32::from(w[0].1.number()) + 182).rem_euclid(365) - 182
    };
    pairs
        .windows(2)
        .all(|w| if spring { step(w) <= 0 } else { step(w) >= 0 })
}

/// Returns the date whose chance is nearest to one half.
pub(crate) fn middle(dates: &[(f64, YearDay)]) -> YearDay {
    let nearest = dates
        .iter()
        .min_by(|a, b| (a.0 - 0.5).abs().total_cmp(&(b.0 - 0.5).abs()));
    nearest.map_or(YearDay::wrapped(1), |(_, day)| *day)
}
