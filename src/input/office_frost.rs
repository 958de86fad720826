//! Chances of cold by date in a weather office's annual normals.
//!
//! Gives the rows of a frost table; knows nothing of monthly means. Names of the columns and the meaning of the chances:
//! NOAA, readme of the 1991-2020 by-station normals.

use super::frost::{USUAL_SD_DAYS, runs_with_the_chance};
use super::office_cells::{Table, fewer_years, month_day};
use super::problem::{Findings, Told};
use super::split::Record;
use crate::garden::site::{FrostRow, FrostTable};
use crate::garden::units::Temperature;
use crate::garden::week::YearDay;

/// Thresholds of the office's tables, °F.
const THRESHOLDS_F: [u8; 6] = [36, 32, 28, 24, 20, 16];
/// Reads both ends of the cold season at every threshold.
pub(crate) fn rows(
    table: &Table<'_>,
    row: &Record,
    into: &mut FrostTable,
    years: &mut Option<u32>,
    f: &mut Findings,
) -> Result<(), Told> {
    for threshold in THRESHOLDS_F {
        for (stem, spring) in [("LST", true), ("FST", false)] {
            if let Some(read) = one(table, row, threshold, stem, spring, years, f)? {
                let rows = if spring {
                    &mut into.spring
                } else {
                    &mut into.fall
                };
                rows.push(read);
            }
        }
    }
    Ok(())
}

/// Reads the chances of one threshold; none where such a cold has no dates, because it is too rare or never far.
///
/// The printed chance is that of the last cold on the date or later in spring, of the first on the date or earlier in
/// fall. Levels without a date above the highest with one are years without such a cold; their share lies between the two.
fn one(
    table: &Table<'_>,
    row: &Record,
    threshold: u8,
    stem: &str,
    spring: bool,
    years: &mut Option<u32>,
    f: &mut Findings,
) -> Result<Option<FrostRow>, Told> {
    let mut dates: Vec<(f64, YearDay)> = Vec::new();
    let mut rare_from = None;
    let mut last = 0;
    for percent in (5..=95_u8).step_by(5) {
        let name = format!("ANN-TMIN-PRB{stem}-T{threshold}FP{percent:02}");
        let Some(n) = table.find(&name) else { continue };
        let chance = f64::from(percent) / 100.0;
        if let Some(day) = month_day(table, row, n, f)? {
            dates.push((chance, day));
            rare_from = None;
            last = n;
            fewer_years(table, row, &name, years);
        } else {
            rare_from = rare_from.or(Some(chance));
        }
    }
    let Some(&(highest, _)) = dates.last() else {
        return Ok(None);
    };
    if !runs_with_the_chance(&dates, spring) {
        return Err(f.tell(
            table
                .problem(
                    row,
                    last,
                    format!("the dates of {threshold} °F do not run with their chances"),
                )
                .expected(if spring {
                    "earlier dates for greater chances of a last cold"
                } else {
                    "later dates for greater chances of a first cold"
                })
                .hint("take the file unchanged from the weather office"),
        ));
    }
    Ok(Some(FrostRow {
        threshold: Temperature::from_f(f64::from(threshold)),
        share: rare_from.map_or(1.0, |rare| 0.5 * (highest + rare)),
        dates,
        sd_days: USUAL_SD_DAYS,
    }))
}
