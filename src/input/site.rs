//! The place, from `garden.toml`: `[site]`, and what [`super::frost`] and [`super::normals`] read beside it.
//!
//! Checks that the frost dates fit the side of the equator; draws and interpolates nothing.

use super::cells::Span;
use super::dates::Reading;
use super::keys::{Entry, Section};
use super::problem::{Findings, Kind, Problem, Told};
use super::{frost, normals};
use crate::garden::site::{Climate, FrostRow, FrostTable, Site};
use crate::garden::units::{Length, Temperature};

const LATITUDE: Span = Span::between(
    "degrees of latitude, north positive, such as 41.5",
    -90.0,
    90.0,
);
const ALTITUDE_FT: Span = Span::between("feet above the sea, such as 850", -1500.0, 20_000.0);
const ALTITUDE_M: Span = Span::between("metres above the sea, such as 260", -500.0, 6_000.0);

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
    let frost = frost::table(root, reading, has_weather || weather.is_some(), findings);
    let (normals, coldest) = normals::read(climate.as_ref(), findings);
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
    let entry = root.get("frost");
    (
        build(&site, entry.as_ref(), frost, normals, coldest, findings),
        weather,
    )
}

fn build(
    site: &Entry<'_>,
    frost_entry: Option<&Entry<'_>>,
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
    if let Some(entry) = frost_entry {
        check_order(entry, latitude_deg, &frost, findings)?;
    }
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
    entry: &Entry<'_>,
    latitude: f64,
    frost: &FrostTable,
    findings: &mut Findings,
) -> Result<(), Told> {
    let freezing = |rows: &[FrostRow]| {
        rows.iter()
            .find(|r| (r.threshold.f() - 32.0).abs() < 0.01)
            .map(|r| frost::middle(&r.dates))
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
        entry
            .key_problem(
                Kind::WrongOrder,
                "the last frost of spring does not come before the first frost of fall at this latitude",
            )
            .expected("dates that fit the side of the equator")
            .hint(hint),
    ))
}
