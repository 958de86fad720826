//! The place, from `garden.toml`: `[site]`, and what [`super::frost`] and [`super::normals`] read beside it.
//!
//! Checks that the frost dates fit the side of the equator; draws and interpolates nothing.

use super::cells::Span;
use super::dates::Reading;
use super::keys::{Entry, Section};
use super::loader::Files;
use super::office::{self, Office};
use super::problem::{Findings, Kind, Problem, Told};
use super::weather::Named;
use super::weather_unit::Unit;
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

/// Degrees of latitude, about 200 miles, beyond which a station's climate is another.
const FARTHEST_DEG: f64 = 3.0;

/// Reads the place. A weather file, if one is named, is put in later; what is said of it is returned beside the site.
pub(crate) fn read(
    root: &Section<'_>,
    reading: Reading,
    files: &Files,
    findings: &mut Findings,
) -> (Result<Site, Told>, Named) {
    let climate = root.section(findings, "climate");
    let key = |key: &str| climate.as_ref().and_then(|c| c.get(key));
    let weather = Named {
        file: key("weather").and_then(|e| e.text(findings).ok()),
        unit: key("weather_unit")
            .map(|e| e.word(findings, &Unit::WORDS))
            .transpose(),
    };
    let named = climate.as_ref().and_then(|c| c.get("normals"));
    let office = named
        .as_ref()
        .map(|entry| office::read(entry, files, findings))
        .transpose();
    let has_weather = weather.file.is_some() || files.content.contains_key("weather.csv");
    let known = office.as_ref().ok().and_then(Option::as_ref);
    // Normals that cannot be read are told; that frost dates are missing then is no fault of its own.
    let frost = match (&office, root.get("frost")) {
        (Err(Told), None) => Err(Told),
        _ => frost::table(root, reading, has_weather, known, findings),
    };
    let (normals, coldest) = normals::read(climate.as_ref(), known, findings);
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
    let mut site = build(&site, entry.as_ref(), frost, normals, coldest, findings);
    if let (Some(named), Ok(Some(office)), Ok(built)) = (&named, &office, &site) {
        site = near(named, office, built.latitude_deg, findings).and(site);
    }
    (office.and(site), weather)
}

/// The station lies near the garden.
fn near(
    named: &Entry<'_>,
    office: &Office,
    latitude: f64,
    findings: &mut Findings,
) -> Result<(), Told> {
    match office.latitude_deg {
        Some(deg) if (deg - latitude).abs() > FARTHEST_DEG => Err(findings.tell(
            named
                .problem(
                    Kind::OutOfRange,
                    format!("{} lies at {deg}°, the garden at {latitude}°", office.place),
                )
                .expected("a station near the garden")
                .hint("take the station nearest to you, or mend latitude_deg"),
        )),
        _ => Ok(()),
    }
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
