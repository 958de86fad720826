//! Monthly temperatures and the coldest night, from `[climate]` of `garden.toml`.
//!
//! What stands there goes before the weather office's files, which [`super::office`] reads; the daily record is
//! [`super::weather`]'s.

use super::cells::Span;
use super::keys::{Entry, Section};
use super::office::Office;
use super::problem::{Findings, Kind, Told};
use crate::garden::site::{Climate, MonthlyNormals};
use crate::garden::units::Temperature;

const MONTH_F: Span = Span::between("degrees Fahrenheit, such as 46.5", -80.0, 125.0);
const MONTH_C: Span = Span::between("degrees Celsius, such as 8.1", -62.0, 52.0);
const NIGHT_F: Span = Span::between("degrees Fahrenheit, such as 5", -90.0, 80.0);

type Normals = (Result<Climate, Told>, Result<Option<Temperature>, Told>);

/// Reads monthly normals, if any, and the coldest night.
pub(crate) fn read(
    climate: Option<&Section<'_>>,
    office: Option<&Office>,
    findings: &mut Findings,
) -> Normals {
    let Some(climate) = climate else {
        return (Ok(Climate::Inferred), Ok(None));
    };
    climate.only(
        findings,
        &[
            "weather",
            "weather_unit",
            "normals",
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
        (None, None) => {
            let months = office.and_then(|o| o.monthly.clone());
            return (
                Ok(months.map_or(Climate::Inferred, Climate::Monthly)),
                coldest,
            );
        }
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
