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
    ///
    /// `coldest` is what [`Frost::coldest`] gives for this luck.
    pub(crate) fn dates(
        &self,
        threshold_f: f64,
        luck: &Luck,
        coldest: Coldest,
    ) -> Option<(f64, f64)> {
        let fall = side_date(
            Side::Fall,
            &self.fall,
            threshold_f,
            (luck.fall, luck.deep_fall, luck.lowest_f),
            coldest.fall,
        );
        let spring = side_date(
            Side::Spring,
            &self.spring,
            threshold_f,
            (luck.spring, luck.deep_spring, luck.lowest_f),
            coldest.spring,
        );
        match (fall, spring) {
            (Some(f), Some(s)) if f <= s => Some((f, s)),
            (Some(f), Some(s)) => {
                let day = meeting(f, s, coldest);
                Some((day, day))
            }
            (Some(d), None) | (None, Some(d)) => Some((d, d)),
            (None, None) => None,
        }
    }

    /// Returns the dates of the coldest rows in one cold season, from which those of all colder thresholds are moved.
    pub(crate) fn coldest(&self, luck: &Luck) -> Coldest {
        Coldest {
            fall: coldest_date(Side::Fall, &self.fall, luck.fall),
            spring: coldest_date(Side::Spring, &self.spring, luck.spring),
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
        let at = |chance| {
            let luck = (chance, 0.0, f64::NEG_INFINITY);
            side_date(
                side,
                rows,
                threshold_f,
                luck,
                coldest_date(side, rows, chance),
            )
        };
        if threshold_f < coldest.threshold_f - SAME_F {
            let reached = self.share_reaching(threshold_f).min(coldest.share);
            if chance >= reached {
                return None;
            }
            return at(chance / reached * coldest.share);
        }
        at(chance)
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

/// Dates of the coldest rows in one cold season, days from the warmest day; none where it never gets so cold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Coldest {
    fall: Option<f64>,
    spring: Option<f64>,
}

fn coldest_date(side: Side, rows: &[Row], chance: f64) -> Option<f64> {
    row_date(
        side,
        rows,
        rows.len().checked_sub(1)?,
        chance,
        rows.last()?.share,
    )
}

/// Day on which deep cold comes once, when its first and last day are drawn crosswise: where the two meet on their
/// way from the coldest row, so that colder thresholds never come earlier or end later than warmer ones.
fn meeting(fall: f64, spring: f64, coldest: Coldest) -> f64 {
    match (coldest.fall, coldest.spring) {
        (Some(from), Some(until)) if from < until => {
            let (later, earlier) = ((fall - from).max(0.0), (until - spring).max(0.0));
            from + (until - from) * later / (later + earlier)
        }
        _ => 0.5 * (fall + spring),
    }
}

/// Date of a threshold at one end of the season for one luck: chance, normal number of deep cold, lowest minimum.
///
/// `coldest` is the date of the coldest row for this luck.
fn side_date(
    side: Side,
    rows: &[Row],
    threshold_f: f64,
    (chance, deep, lowest_f): (f64, f64, f64),
    coldest: Option<f64>,
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
        let base = coldest?;
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

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::fixture::frost_row;

    /// Days of year of dates such as "Oct 2" in a year of 365 days.
    fn days(text: &str) -> Vec<f64> {
        text.split(',')
            .map(|part| {
                let (month, day) = part.trim().split_once(' ').unwrap();
                let month = [
                    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov",
                    "Dec",
                ]
                .iter()
                .position(|m| *m == month)
                .unwrap();
                let day = YearDay::from_month_day(month as u32 + 1, day.parse().unwrap()).unwrap();
                f64::from(day.number())
            })
            .collect()
    }

    fn with(side: Side, rows: Vec<Row>) -> Frost {
        let (fall, spring) = match side {
            Side::Fall => (rows, Vec::new()),
            Side::Spring => (Vec::new(), rows),
        };
        Frost {
            fall,
            spring,
            lowest_f: None,
            southern: false,
        }
    }

    /// Mean and standard deviation by least squares of the dates on the normal quantile of their level.
    fn fitted(side: Side, levels: &[f64], dates: &[f64]) -> (f64, f64) {
        let z: Vec<f64> = levels.iter().map(|&p| quantile(side, p, 1.0)).collect();
        let n = z.len() as f64;
        let (mz, md) = (z.iter().sum::<f64>() / n, dates.iter().sum::<f64>() / n);
        let szz: f64 = z.iter().map(|z| (z - mz) * (z - mz)).sum();
        let szd: f64 = z.iter().zip(dates).map(|(z, d)| (z - mz) * (d - md)).sum();
        (md - szd / szz * mz, szd / szz)
    }

    /// Georgetown, Delaware (Moyer, ESSA and University of Maryland 1970) and NOAA 1981-2010 normals of Albia,
    /// Milton-Freewater, Deer Flat Dam and Celo: every printed date comes back within half a day, from mean and
    /// standard deviation alone.
    #[test]
    fn printed_tables_come_back_from_mean_and_deviation() {
        use Side::{Fall, Spring};
        let delaware = [0.1, 0.33, 0.5, 0.67, 0.9];
        let tens = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
        let table: [(Side, &[f64], &str); 20] = [
            (Fall, &delaware, "Oct 2, Oct 11, Oct 16, Oct 21, Oct 30"),
            (Fall, &delaware, "Nov 1, Nov 9, Nov 14, Nov 19, Nov 27"),
            (Fall, &delaware, "Nov 28, Dec 6, Dec 10, Dec 14, Dec 22"),
            (Spring, &delaware, "May 10, Apr 30, Apr 25, Apr 20, Apr 10"),
            (Spring, &delaware, "Apr 9, Apr 1, Mar 27, Mar 22, Mar 14"),
            (Spring, &delaware, "Mar 13, Mar 3, Feb 25, Feb 19, Feb 9"),
            (
                Fall,
                &tens,
                "Sep 20, Sep 24, Sep 27, Sep 30, Oct 2, Oct 4, Oct 7, Oct 10, Oct 14",
            ),
            (
                Fall,
                &tens,
                "Sep 23, Sep 28, Oct 3, Oct 6, Oct 9, Oct 13, Oct 16, Oct 20, Oct 26",
            ),
            (
                Fall,
                &tens,
                "Oct 4, Oct 10, Oct 14, Oct 17, Oct 21, Oct 24, Oct 27, Oct 31, Nov 6",
            ),
            (
                Fall,
                &tens,
                "Oct 17, Oct 23, Oct 27, Oct 30, Nov 2, Nov 5, Nov 9, Nov 13, Nov 18",
            ),
            (
                Fall,
                &tens,
                "Oct 28, Nov 2, Nov 6, Nov 10, Nov 13, Nov 16, Nov 19, Nov 23, Nov 29",
            ),
            (
                Fall,
                &tens,
                "Nov 1, Nov 7, Nov 12, Nov 16, Nov 20, Nov 24, Nov 28, Dec 2, Dec 9",
            ),
            (
                Spring,
                &tens,
                "May 10, May 5, May 1, Apr 27, Apr 24, Apr 20, Apr 17, Apr 13, Apr 7",
            ),
            (
                Spring,
                &tens,
                "Apr 22, Apr 15, Apr 10, Apr 6, Apr 2, Mar 30, Mar 25, Mar 21, Mar 14",
            ),
            (
                Spring,
                &tens,
                "Apr 8, Apr 1, Mar 26, Mar 21, Mar 16, Mar 12, Mar 7, Mar 1, Feb 21",
            ),
            (
                Spring,
                &tens,
                "Jun 9, Jun 1, May 26, May 20, May 15, May 11, May 5, Apr 29, Apr 21",
            ),
            (
                Spring,
                &tens,
                "May 25, May 16, May 9, May 3, Apr 28, Apr 22, Apr 16, Apr 9, Mar 31",
            ),
            (
                Spring,
                &tens,
                "Jun 14, Jun 7, Jun 2, May 28, May 24, May 20, May 16, May 11, May 3",
            ),
            (
                Spring,
                &tens,
                "May 30, May 23, May 18, May 13, May 9, May 5, May 1, Apr 25, Apr 18",
            ),
            (
                Spring,
                &tens,
                "May 13, May 7, May 2, Apr 29, Apr 25, Apr 22, Apr 18, Apr 14, Apr 8",
            ),
        ];
        for (side, levels, text) in table {
            let dates = days(text);
            let (mean, sd) = fitted(side, levels, &dates);
            let frost = with(side, vec![Row::normal(32.0, 1.0, mean, sd)]);
            for (level, want) in levels.iter().zip(dates) {
                let got = frost.offset(side, 32.0, *level).unwrap();
                assert!(
                    (got - want).abs() <= 0.51,
                    "{text} at {level}: {got} for {want}"
                );
            }
        }
    }

    /// Albany, New York, NOAA 1991-2020, and Zanesville, Ohio, observed percentiles (Midwestern Regional Climate Center
    /// 2021): not normal, so the given pairs must come back exactly.
    #[test]
    fn given_pairs_come_back_exactly() {
        let three = [0.1, 0.5, 0.9];
        let tens = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
        let table: [(Side, f64, &[f64], &str); 8] = [
            (Side::Fall, 32.0, &three, "Oct 3, Oct 15, Nov 1"),
            (Side::Fall, 28.0, &three, "Oct 11, Oct 28, Nov 10"),
            (Side::Spring, 32.0, &three, "May 11, Apr 27, Apr 16"),
            (Side::Spring, 28.0, &three, "Apr 28, Apr 16, Apr 3"),
            (
                Side::Fall,
                36.0,
                &tens,
                "Sep 23, Sep 30, Oct 2, Oct 3, Oct 6, Oct 10, Oct 13, Oct 16, Oct 19",
            ),
            (
                Side::Fall,
                32.0,
                &tens,
                "Oct 2, Oct 8, Oct 11, Oct 13, Oct 17, Oct 18, Oct 21, Oct 24, Oct 27",
            ),
            (
                Side::Fall,
                28.0,
                &tens,
                "Oct 11, Oct 17, Oct 19, Oct 25, Oct 29, Oct 30, Nov 2, Nov 2, Nov 9",
            ),
            (
                Side::Fall,
                24.0,
                &tens,
                "Oct 23, Nov 3, Nov 5, Nov 8, Nov 10, Nov 12, Nov 14, Nov 18, Nov 23",
            ),
        ];
        for (side, f, levels, text) in table {
            let mut given = frost_row(f, &[], 12.0);
            given.dates = levels
                .iter()
                .zip(days(text))
                .map(|(&p, d)| (p, YearDay::wrapped(d as i64)))
                .collect();
            let row = Row::new(side, false, &given).unwrap();
            let frost = with(side, vec![row]);
            for (level, (_, day)) in levels.iter().zip(&given.dates) {
                let got = frost.day(side, Temperature::from_f(f), *level).unwrap();
                assert_eq!(got, *day, "{text} at {level}");
                let exact = frost.offset(side, f, *level).unwrap();
                assert!((exact - offset_of(false, *day)).abs() < 1e-9);
            }
        }
    }

    /// Two-part model of Thom (1959) by a reference computation: 12 spring dates, 15 freeze years of 20, 10 of 12 falls.
    #[test]
    fn years_without_frost_have_no_date() {
        let spring = with(
            Side::Spring,
            vec![Row::normal(32.0, 1.0, 114.0, 8.655_003_807_572_294)],
        );
        for (p, want) in [
            (0.9, 102.908_166_32),
            (0.5, 114.0),
            (0.1, 125.091_833_68),
            (0.05, 128.236_214_4),
        ] {
            assert!((spring.offset(Side::Spring, 32.0, p).unwrap() - want).abs() < 1e-6);
        }
        let some = with(
            Side::Spring,
            vec![Row::normal(32.0, 0.75, 71.533_333_33, 9.999_047_573_7)],
        );
        for (p, want) in [
            (0.7, 56.523_903_55),
            (0.5, 67.226_470_58),
            (0.2, 77.761_997_27),
            (0.1, 82.639_991_57),
        ] {
            assert!(
                (some.offset(Side::Spring, 32.0, p).unwrap() - want).abs() < 1e-6,
                "{p}"
            );
        }
        assert_eq!(some.offset(Side::Spring, 32.0, 0.8), None);
        assert_eq!(some.offset(Side::Spring, 32.0, 0.75), None);
        let fall = with(
            Side::Fall,
            vec![Row::normal(32.0, 10.0 / 12.0, 313.9, 10.439_774_369_6)],
        );
        for (p, want) in [(0.1, 301.633_403), (0.5, 316.544_886_6)] {
            assert!((fall.offset(Side::Fall, 32.0, p).unwrap() - want).abs() < 1e-5);
        }
        assert_eq!(fall.offset(Side::Fall, 32.0, 0.9), None);
    }

    /// Clemson, South Carolina, winters 1961-2019 (NOAA GHCN-Daily USC00381770): mean January minimum −0.48 °C; 80, 54 and
    /// 36 % of 59 winters reached 16, 12 and 10 °F as the station reads them, in whole degrees (80, 44 and 34 % if its −11.1 °C
    /// is not taken for 12 °F). The gate gives 80, 54 and 40 %.
    #[test]
    fn deep_cold_does_not_come_every_winter() {
        let lowest = Temperature::from_c(-0.48 - 11.0).f();
        let frost = Frost::new(&FrostTable::default(), false, Some(lowest));
        for (f, gate, record) in [(16.0, 0.80, 0.80), (12.0, 0.54, 0.54), (10.0, 0.40, 0.36)] {
            let share = frost.share_reaching(f);
            assert!((share - gate).abs() < 0.01, "{f}: {share}");
            assert!((share - record).abs() < 0.05, "{f}: {share}");
        }
    }

    fn two_rows() -> Frost {
        let table = FrostTable {
            spring: vec![
                frost_row(32.0, &[(0.5, 4, 25)], 11.7),
                frost_row(24.0, &[(0.5, 3, 27)], 10.3),
            ],
            fall: vec![
                frost_row(32.0, &[(0.5, 10, 16)], 11.0),
                frost_row(24.0, &[(0.5, 11, 14)], 10.3),
            ],
        };
        Frost::new(&table, false, Some(10.0))
    }

    #[test]
    fn thresholds_between_and_beyond_rows() {
        let frost = two_rows();
        let fall = |f| frost.offset(Side::Fall, f, 0.5).unwrap();
        let spring = |f| frost.offset(Side::Spring, f, 0.5).unwrap();
        assert!((fall(28.0) - 0.5 * (fall(32.0) + fall(24.0))).abs() < 1e-9);
        assert!((spring(30.0) - (0.75 * spring(32.0) + 0.25 * spring(24.0))).abs() < 1e-9);
        assert!((fall(35.0) - (fall(32.0) - 9.0)).abs() < 1e-9);
        assert!((spring(35.0) - (spring(32.0) + 9.0)).abs() < 1e-9);
        // Beyond the coldest row three days a degree, among the winters that are so cold.
        let chance = 0.5 * frost.share_reaching(20.0);
        assert!(
            (frost.offset(Side::Fall, 20.0, chance).unwrap() - (fall(24.0) + 12.0)).abs() < 1e-9
        );
        assert_eq!(frost.offset(Side::Fall, 10.0, 0.51), None);
    }

    /// For one luck colder thresholds come later in fall and end earlier in spring, or not at all.
    #[test]
    fn colder_is_later_and_rarer_in_every_season() {
        let frost = two_rows();
        let mut luck = crate::season::streams::Stream::keyed(
            1,
            0,
            "luck",
            crate::season::streams::Purpose::Frost,
        );
        for _ in 0..2_000 {
            let one = Luck {
                fall: luck.uniform(),
                spring: luck.uniform(),
                deep_fall: luck.normal(),
                deep_spring: luck.normal(),
                lowest_f: 10.0 + LOWEST_SD_F * luck.normal(),
            };
            let mut before: Option<(f64, f64)> = Some((f64::NEG_INFINITY, f64::INFINITY));
            for f in (0..40).rev().map(f64::from) {
                let now = frost.dates(f, &one, frost.coldest(&one));
                if let Some((first, last)) = now {
                    let (warm_first, warm_last) = before.expect("colder came without warmer");
                    assert!(
                        first >= warm_first - 1e-9 && last <= warm_last + 1e-9,
                        "{f} {one:?}"
                    );
                    assert!(first <= last);
                }
                before = now;
            }
        }
    }

    #[test]
    fn one_date_alone_mirrors_to_day_402() {
        let table = FrostTable {
            spring: Vec::new(),
            fall: vec![frost_row(32.0, &[(0.5, 10, 15)], 12.0)],
        };
        let frost = Frost::new(&table, false, None);
        let spring = frost
            .day(Side::Spring, Temperature::from_f(32.0), 0.5)
            .unwrap();
        assert_eq!(u32::from(spring.number()), 402 - 288);
        assert!(
            Frost::new(&FrostTable::default(), true, None)
                .day(Side::Fall, Temperature::from_f(32.0), 0.5)
                .is_none()
        );
    }
}
