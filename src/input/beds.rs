//! Rows of `beds.csv` as beds.

use super::cells::Span;
use super::dates::{Reading, reading_of};
use super::names::Names;
use super::problem::{Findings, Kind, Read, Told};
use super::rows::{Row, Sheet, Spec};
use super::text::Source;
use super::units;
use crate::garden::DateOrder;
use crate::garden::bed::{Bed, BedId, Protection};
use crate::garden::units::Length;
use crate::garden::week::DateRange;

/// Columns of `beds.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &[
        "bed",
        "length_ft",
        "length_m",
        "width_ft",
        "width_m",
        "protection",
        "from",
        "until",
        "yield_factor",
        "note",
    ],
    required: &["bed"],
    example: "bed,length_ft,width_ft",
    paste_from: 1,
};

const FEET: Span = Span::above_zero("a number of feet, such as 12", 2000.0);
/// What a factor on the usual yield may be.
pub(crate) const FACTOR: Span = Span::above_zero("a factor on the usual yield, such as 0.8", 5.0);
const METRES: Span = Span::above_zero("a number of metres, such as 3.5", 600.0);

/// Makes the beds and the list of their names.
pub(crate) fn read(
    source: &Source,
    order: DateOrder,
    findings: &mut Findings,
) -> Result<(Vec<Bed>, Names<BedId>), Told> {
    let sheet = Sheet::read(source, SPEC, findings).ok_or(Told)?;
    let reading = reading_of(&sheet, &["from", "until"], order, findings);
    let mut names = Names::new();
    let mut beds = Vec::new();
    for row in sheet.rows() {
        let Ok(name) = row.need(findings, "bed", "the name of a bed").cloned() else {
            continue;
        };
        // The name counts even if the rest of the row does not, so that plantings in it draw no complaint.
        if !names.add(&name.text, BedId(beds.len())) {
            findings.tell(
                name.problem(
                    Kind::RepeatedName,
                    format!("there is a bed `{}` already", name.text),
                )
                .expected("a name of its own for each bed"),
            );
            continue;
        }
        beds.push(
            bed(&row, &name.text, reading, findings).unwrap_or_else(|Told| unknown(&name.text)),
        );
    }
    Ok((beds, names))
}

/// Makes a bed of which only the name is known.
pub(crate) fn unknown(name: &str) -> Bed {
    Bed {
        name: name.to_owned(),
        length: None,
        width: None,
        protection: Protection::None,
        protected: DateRange::default(),
        yield_factor: 1.0,
    }
}

fn bed(row: &Row<'_>, name: &str, reading: Reading, f: &mut Findings) -> Result<Bed, Told> {
    let length = side(row, "length", f);
    let width = side(row, "width", f);
    let protection = row.word(f, "protection", &Protection::NAMES);
    let from = row.date(f, "from", reading);
    let until = row.date(f, "until", reading);
    let factor = row.number(f, "yield_factor", &FACTOR);
    let (from, until) = (from?, until?);
    if let (Some(a), Some(b)) = (from, until)
        && b < a
    {
        let problem = row
            .problem_at(
                "until",
                Kind::WrongOrder,
                format!("the cover comes off on {b}, before it goes on on {a}"),
            )
            .hint("exchange the two dates");
        return Err(f.tell(problem));
    }
    Ok(Bed {
        name: name.to_owned(),
        length: length?,
        width: width?,
        protection: protection?.unwrap_or_default(),
        protected: DateRange { from, until },
        yield_factor: factor?.unwrap_or(1.0),
    })
}

fn side(row: &Row<'_>, what: &str, f: &mut Findings) -> Read<Length> {
    let (ft, m) = (format!("{what}_ft"), format!("{what}_m"));
    let feet = row.number(f, &ft, &FEET);
    let metres = row.number(f, &m, &METRES);
    match (feet?, metres?) {
        (Some(_), Some(_)) => {
            let cell = row.need(f, &m, "")?;
            Err(f.tell(
                cell.problem(
                    Kind::TwoSizes,
                    format!("the {what} is given in feet and in metres"),
                )
                .hint(format!("keep one of {ft} and {m}")),
            ))
        }
        (Some(v), None) => Ok(Some(units::length(v, "ft"))),
        (None, v) => Ok(v.map(|v| units::length(v, "m"))),
    }
}
