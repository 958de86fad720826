//! When cold of a given degree first comes in fall and last comes in spring.
//!
//! Takes the chances and dates that a weather office prints, at any thresholds and levels. Dates are counted in days
//! from the warmest day of the year; a level at or above the share of years with such a cold has no date.
//!
//! Sources: two-part model of Thom (1959, Monthly Weather Review 87:136-144); tables so made are normal to the day
//! (NOAA 1981-2010), newer ones are not, so between three or more given levels the dates are interpolated in the
//! normal quantile. About 3.0 days per °F between thresholds: rule of thumb from published tables (2.3 to 3.6 in fall,
//! 2.5 to 4.2 in spring). Spread of the lowest minimum of a winter 5.6 °F and its default 11 K under the coldest month's
//! mean minimum: fitted to Clemson, South Carolina, 1961-2019.

use super::horizon::{offset_of, year_day_after_warmest};
use super::streams::inverse_normal;
use crate::garden::site::{FrostRow, FrostTable};
use crate::garden::units::Temperature;
use crate::garden::week::YearDay;

/// Days by which cold comes later in fall, and ends earlier in spring, for each °F that it is colder.
pub(crate) const DAYS_PER_F: f64 = 3.0;
/// Threshold, °F, below which dates moved from a warmer row get a spread of their own.
const DEEP_F: f64 = 28.0;
/// Standard deviation of the lowest minimum of a winter, °F.
pub(crate) const LOWEST_SD_F: f64 = 5.6;
/// Two thresholds nearer than this, °F, are one.
const SAME_F: f64 = 0.01;

/// Which end of the cold season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// First cold.
    Fall,
    /// Last cold.
    Spring,
}

/// Dates of one threshold at one end of the cold season.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// Threshold, °F.
    pub(crate) threshold_f: f64,
    /// Share of years with such a cold.
    pub(crate) share: f64,
    /// Normal quantile and days from the warmest day, ascending in both, of the years that have such a cold.
    points: Vec<(f64, f64)>,
    /// Standard deviation in days when there is only one point.
    sd_days: f64,
}

impl Row {
    /// Makes a row from the mean and standard deviation of the years with such a cold.
    #[cfg(test)]
    pub(crate) fn normal(threshold_f: f64, share: f64, mean_days: f64, sd_days: f64) -> Self {
        Self {
            threshold_f,
            share,
            points: vec![(0.0, mean_days)],
            sd_days,
        }
    }

    /// Makes a row from what the site says.
    pub(crate) fn new(side: Side, southern: bool, given: &FrostRow) -> Option<Self> {
        let share = given.share.clamp(0.0, 1.0);
        if share <= 0.0 {
            return None;
        }
        let middle = offset_of(southern, given.dates.get(given.dates.len() / 2)?.1);
        let mut points: Vec<(f64, f64)> = given
            .dates
            .iter()
            .filter(|(chance, _)| *chance > 0.0 && *chance < share)
            .map(|&(chance, day)| {
                // A date more than half a year from the middle one lies on the other side of the warmest day.
                let mut days = offset_of(southern, day);
                if days - middle > 182.5 {
                    days -= 365.0;
                } else if middle - days > 182.5 {
                    days += 365.0;
                }
                (quantile(side, chance, share), days)
            })
            .collect();
        if points.is_empty() {
            points.push((0.0, middle));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        points.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9);
        let mut latest = f64::NEG_INFINITY;
        for point in &mut points {
            latest = latest.max(point.1);
            point.1 = latest;
        }
        Some(Self {
            threshold_f: given.threshold.f(),
            share,
            points,
            sd_days: given.sd_days.max(0.0),
        })
    }

    /// Returns the date at a normal quantile, in days from the warmest day.
    fn at(&self, z: f64) -> f64 {
        match self.points.as_slice() {
            [] => 0.0,
            [(z0, d0)] => d0 + self.sd_days * (z - z0),
            many => {
                let k = many[1..many.len() - 1]
                    .iter()
                    .take_while(|p| p.0 <= z)
                    .count();
                let ((z0, d0), (z1, d1)) = (many[k], many[k + 1]);
                d0 + (d1 - d0) * (z - z0) / (z1 - z0)
            }
        }
    }
}

/// Normal quantile of the date that belongs to a printed chance.
fn quantile(side: Side, chance: f64, share: f64) -> f64 {
    let conditional = chance / share;
    match side {
        Side::Fall => inverse_normal(conditional),
        Side::Spring => inverse_normal(1.0 - conditional),
    }
}

/// The luck of one cold season: it drives all thresholds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Luck {
    /// Chance that the first cold comes earlier.
    pub(crate) fall: f64,
    /// Chance that the last cold comes later.
    pub(crate) spring: f64,
    /// Normal number of dates of deep cold in fall.
    pub(crate) deep_fall: f64,
    /// Normal number of dates of deep cold in spring.
    pub(crate) deep_spring: f64,
    /// Lowest minimum of the winter, °F.
    pub(crate) lowest_f: f64,
}

/// Dates of cold at every threshold.
#[derive(Debug, Clone, Default)]
pub struct Frost {
    /// Rows of fall, warmest threshold first.
    pub(crate) fall: Vec<Row>,
    /// Rows of spring, warmest threshold first.
    pub(crate) spring: Vec<Row>,
    /// Mean lowest minimum of a winter, °F; none where nothing is known of winter.
    pub(crate) lowest_f: Option<f64>,
    /// Whether the site lies in the south.
    pub(crate) southern: bool,
}

impl Frost {
    /// Makes the model from the site's table; an end of the season that is not given mirrors the other about midwinter.
    ///
    /// Source of the mirror: the two middle dates add up to day 402 of the year (common practice, no source).
    pub(crate) fn new(table: &FrostTable, southern: bool, lowest_f: Option<f64>) -> Self {
        let rows = |side, given: &[FrostRow]| {
            let mut rows: Vec<Row> = given
                .iter()
                .filter_map(|r| Row::new(side, southern, r))
                .collect();
            rows.sort_by(|a, b| b.threshold_f.total_cmp(&a.threshold_f));
            rows.dedup_by(|a, b| (a.threshold_f - b.threshold_f).abs() < SAME_F);
            rows
        };
        let mut frost = Self {
            fall: rows(Side::Fall, &table.fall),
            spring: rows(Side::Spring, &table.spring),
            lowest_f,
            southern,
        };
        if frost.spring.is_empty() {
            frost.spring = frost.fall.iter().map(mirrored).collect();
        } else if frost.fall.is_empty() {
            frost.fall = frost.spring.iter().map(mirrored).collect();
        }
        frost
    }

    /// Says whether nothing is known of frost.
    pub(crate) fn is_empty(&self) -> bool {
        self.fall.is_empty()
    }

    /// Returns first and last day of a threshold in one cold season, days from the warmest day; none if it never comes.
    pub(crate) fn dates(&self, threshold_f: f64, luck: &Luck) -> Option<(f64, f64)> {
        let fall = side_date(
            Side::Fall,
            &self.fall,
            threshold_f,
            luck.fall,
            luck.deep_fall,
            luck.lowest_f,
        );
        let spring = side_date(
            Side::Spring,
            &self.spring,
            threshold_f,
            luck.spring,
            luck.deep_spring,
            luck.lowest_f,
        );
        match (fall, spring) {
            (Some(f), Some(s)) if f <= s => Some((f, s)),
            // Drawn crosswise: such a cold comes once, in the middle of the two.
            (Some(f), Some(s)) => Some(((f + s) / 2.0, (f + s) / 2.0)),
            (Some(d), None) | (None, Some(d)) => Some((d, d)),
            (None, None) => None,
        }
    }

    /// Returns the calendar day at which the chance of cold before it (fall) or after it (spring) is as given; none if
    /// too few years have such a cold.
    #[must_use]
    pub fn day(&self, side: Side, threshold: Temperature, chance: f64) -> Option<YearDay> {
        self.offset(side, threshold.f(), chance)
            .map(|offset| year_day_after_warmest(self.southern, offset))
    }

    /// Days from the warmest day at a chance; deep cold without its own spread, gated by its share of winters.
    pub(crate) fn offset(&self, side: Side, threshold_f: f64, chance: f64) -> Option<f64> {
        let rows = match side {
            Side::Fall => &self.fall,
            Side::Spring => &self.spring,
        };
        let coldest = rows.last()?;
        if threshold_f < coldest.threshold_f - SAME_F {
            let reached = self.share_reaching(threshold_f).min(coldest.share);
            if chance >= reached {
                return None;
            }
            return side_date(
                side,
                rows,
                threshold_f,
                chance / reached * coldest.share,
                0.0,
                f64::NEG_INFINITY,
            );
        }
        side_date(side, rows, threshold_f, chance, 0.0, f64::NEG_INFINITY)
    }

    /// Share of winters whose lowest minimum reaches a threshold.
    pub(crate) fn share_reaching(&self, threshold_f: f64) -> f64 {
        self.lowest_f
            .map_or(1.0, |w| normal_cdf((threshold_f - w) / LOWEST_SD_F))
    }
}

/// Standard normal distribution function.
fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// A row of the other end of the season, mirrored about midwinter.
fn mirrored(row: &Row) -> Row {
    let mut points: Vec<(f64, f64)> = row.points.iter().map(|&(z, d)| (-z, 365.0 - d)).collect();
    points.reverse();
    Row {
        points,
        ..row.clone()
    }
}

/// Date of a threshold at one end of the season for one luck.
fn side_date(
    side: Side,
    rows: &[Row],
    threshold_f: f64,
    chance: f64,
    deep: f64,
    lowest_f: f64,
) -> Option<f64> {
    // Fall dates move later with colder thresholds, spring dates earlier.
    let later = match side {
        Side::Fall => 1.0,
        Side::Spring => -1.0,
    };
    let (first, last) = (rows.first()?, rows.last()?);
    let below = last.threshold_f - threshold_f;
    if below > SAME_F {
        if lowest_f > threshold_f {
            return None;
        }
        let base = row_date(side, rows, rows.len() - 1, chance, last.share)?;
        let deep_f = (last.threshold_f.min(DEEP_F) - threshold_f).max(0.0);
        // Never past the row it came from.
        return Some(base + later * (DAYS_PER_F * below + deep * deep_f).max(0.0));
    }
    let above = threshold_f - first.threshold_f;
    if above >= -SAME_F {
        return Some(
            row_date(side, rows, 0, chance, first.share)? - later * DAYS_PER_F * above.max(0.0),
        );
    }
    let k = rows
        .iter()
        .position(|r| r.threshold_f <= threshold_f + SAME_F)?;
    let (warm, cold) = (&rows[k - 1], &rows[k]);
    let part =
        ((warm.threshold_f - threshold_f) / (warm.threshold_f - cold.threshold_f)).clamp(0.0, 1.0);
    let share = warm.share + part * (cold.share - warm.share);
    let warm_date = row_date(side, rows, k - 1, chance, share)?;
    let cold_date = row_date(side, rows, k, chance, share)?;
    Some(warm_date + part * (cold_date - warm_date))
}

/// Date of one row at a chance among a share of years; rows that cross in the tails are held in order.
fn row_date(side: Side, rows: &[Row], k: usize, chance: f64, share: f64) -> Option<f64> {
    if chance >= share {
        return None;
    }
    let z = quantile(side, chance, share);
    let dates = rows[..=k].iter().map(|row| row.at(z));
    match side {
        Side::Fall => dates.reduce(f64::max),
        Side::Spring => dates.reduce(f64::min),
    }
}
