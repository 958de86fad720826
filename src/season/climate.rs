//! What a garden's temperatures usually are, day by day of the year, and how frost falls there.
//!
//! From monthly means the curve is a periodic spline of their running sum, so that every month's mean comes back
//! exactly; without any temperatures it is inferred from the length of the frost-free season. Draws no weather itself.
//!
//! Sources: the cosine of the inferred curve, its 11.5 K and the 12 °C at the frost dates, and the minimum 6 K under the
//! mean: common practice, no source; poor near coasts. Daily scatter 3.5 K and 1.5 K more in winter, 3 K in maritime
//! winters: judgement after station records.

use super::frost::{Frost, Side};
use super::horizon::southern_shift;
use super::recorded::Recorded;
use crate::garden::site::{Climate as Known, FrostTable, MonthlyNormals, Site};
use crate::garden::units::Temperature;

/// Days of each month in a year of 365 days.
const MONTH_DAYS: [u16; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/// Half the yearly range of an inferred curve, K.
const INFERRED_HALF_RANGE_K: f64 = 11.5;
/// Daily mean at the middle frost dates of an inferred curve, °C.
const MEAN_AT_FROST_C: f64 = 12.0;
/// Warmest daily mean of an inferred curve, °C.
const INFERRED_WARMEST_C: f64 = 27.0;
/// How far the minimum lies below the mean of an inferred curve, K.
const MINIMUM_BELOW_MEAN_K: f64 = 6.0;
/// How far the lowest minimum of a winter lies below the coldest month's mean minimum, K.
const LOWEST_BELOW_MEAN_K: f64 = 11.0;
/// Frost-free days above which inferred temperatures are doubtful.
const LONG_SEASON_DAYS: f64 = 230.0;

/// How much is known of the temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowledge {
    /// Daily records of several years.
    Recorded,
    /// Monthly means and a frost table.
    Monthly,
    /// A frost table and the latitude.
    Inferred,
}

/// The usual year of a garden and its frost.
#[derive(Debug, Clone)]
pub struct Climate {
    /// Where it comes from.
    pub knowledge: Knowledge,
    /// Usual mean of each day of a 365-day year, °C.
    pub mean_c: [f64; 365],
    /// Usual minimum of each day of a 365-day year, °C.
    pub min_c: [f64; 365],
    /// Standard deviation of a day about its usual mean, K.
    pub(crate) scatter_k: [f64; 365],
    /// When cold comes.
    pub frost: Frost,
    /// The daily record, if there is one that can be used.
    pub recorded: Option<Recorded>,
    /// Plain sentences on what was assumed.
    pub(crate) notes: Vec<String>,
}

impl Climate {
    /// Returns plain sentences on what had to be assumed.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Makes the climate of a site from monthly means or from its frost dates.
    #[must_use]
    pub fn of(site: &Site) -> Self {
        let mut notes = Vec::new();
        let southern = site.is_southern();
        let recorded = match &site.climate {
            Known::Daily(weather) => Recorded::of(weather),
            Known::Monthly(_) | Known::Inferred => None,
        };
        let normals = match (&site.climate, &recorded) {
            (Known::Monthly(normals), _) => Some((Knowledge::Monthly, normals.clone())),
            (_, Some(recorded)) => Some((Knowledge::Recorded, recorded.monthly())),
            _ => None,
        };
        if let Some(recorded) = &recorded {
            notes.extend(recorded.notes.iter().cloned());
        } else if matches!(site.climate, Known::Daily(_)) {
            notes.push(
                "The weather record has no year with enough days and is not used.".to_owned(),
            );
        }
        let (knowledge, mean_c, min_c) = match &normals {
            Some((knowledge, normals)) => {
                let (mean, min) = monthly_curves(normals);
                (*knowledge, mean, min)
            }
            None => {
                let (mean, min) = inferred_curves(site, &mut notes);
                (Knowledge::Inferred, mean, min)
            }
        };
        let coldest_min_c = month_means(&min_c)
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        let lowest = site
            .coldest_night
            .unwrap_or_else(|| Temperature::from_c(coldest_min_c - LOWEST_BELOW_MEAN_K));
        let mut table = site.frost.clone();
        if let Some(recorded) = &recorded
            && table.spring.is_empty()
            && table.fall.is_empty()
        {
            table = recorded_table(recorded, southern);
            notes.extend(recorded.frost_years(southern));
        }
        let frost = Frost::new(&table, southern, Some(lowest.f()));
        if recorded.is_none() {
            if frost.is_empty() {
                notes.push(
                    "No frost dates are given, so frost is taken from made-up daily minima alone."
                        .to_owned(),
                );
            } else if table.spring.is_empty() {
                notes.push(
                    "No last spring frost is given; it is taken from the first fall frost."
                        .to_owned(),
                );
            } else if table.fall.is_empty() {
                notes.push(
                    "No first fall frost is given; it is taken from the last spring frost."
                        .to_owned(),
                );
            }
        }
        let scatter_k = scatter(&month_means(&mean_c), southern);
        Self {
            knowledge,
            mean_c,
            min_c,
            scatter_k,
            frost,
            recorded,
            notes,
        }
    }
}

/// Frost table of a record at the usual thresholds.
fn recorded_table(recorded: &Recorded, southern: bool) -> FrostTable {
    let rows = |side| {
        [36.0, 32.0, 28.0, 24.0, 20.0, 16.0]
            .into_iter()
            .filter_map(|f| recorded.frost_row(side, Temperature::from_f(f), southern))
            .collect()
    };
    FrostTable {
        spring: rows(Side::Spring),
        fall: rows(Side::Fall),
    }
}

/// Mean of each month of a daily curve.
fn month_means(daily: &[f64; 365]) -> [f64; 12] {
    let mut means = [0.0; 12];
    let mut day = 0;
    for (mean, &days) in means.iter_mut().zip(&MONTH_DAYS) {
        let next = day + usize::from(days);
        *mean = daily[day..next].iter().sum::<f64>() / f64::from(days);
        day = next;
    }
    means
}

/// Standard deviation of a day's temperature about the usual one, for each day of the year.
fn scatter(means: &[f64; 12], southern: bool) -> [f64; 365] {
    let coldest = means.iter().copied().fold(f64::INFINITY, f64::min);
    let warmest = means.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let maritime = coldest > 4.0 && warmest - coldest < 16.0;
    // Two kelvins in summer; five in winter, three where the sea is near.
    let (level, swing) = if maritime { (2.5, 0.5) } else { (3.5, 1.5) };
    daily(|day| level + swing * yearly_wave(day - 15.0 - southern_shift(southern)))
}

/// Cosine of the year.
fn yearly_wave(days: f64) -> f64 {
    libm::cos(2.0 * std::f64::consts::PI * days / 365.0)
}

/// Makes a curve from a function of the day of the year, 1 to 365.
fn daily(value: impl Fn(f64) -> f64) -> [f64; 365] {
    let mut out = [0.0; 365];
    let mut day = 1.0;
    for slot in &mut out {
        *slot = value(day);
        day += 1.0;
    }
    out
}

/// Mean and minimum curves from monthly means.
fn monthly_curves(normals: &MonthlyNormals) -> ([f64; 365], [f64; 365]) {
    let min = spline_through_months(&normals.min.map(Temperature::c));
    let max = spline_through_months(&normals.max.map(Temperature::c));
    let mut mean = min;
    for (m, x) in mean.iter_mut().zip(&max) {
        *m = 0.5 * (*m + x);
    }
    (mean, min)
}

/// Daily values whose monthly means are exactly the given ones: steps of a periodic cubic spline through the running
/// sum of the monthly means.
fn spline_through_months(means: &[f64; 12]) -> [f64; 365] {
    let days = MONTH_DAYS.map(f64::from);
    let year_mean = means.iter().zip(&days).map(|(m, d)| m * d).sum::<f64>() / 365.0;
    // Running sum less its trend: the same at both ends of the year, hence periodic.
    let mut knots = [0.0; 13];
    let mut sums = [0.0; 13];
    for m in 0..12 {
        knots[m + 1] = knots[m] + days[m];
        sums[m + 1] = sums[m] + (means[m] - year_mean) * days[m];
    }
    sums[12] = sums[0];
    let bend = periodic_second_derivatives(&days, &sums);
    let value = |x: f64| {
        let k = knots[1..12].iter().take_while(|&&knot| knot <= x).count();
        let h = days[k];
        let (a, b) = ((knots[k + 1] - x) / h, (x - knots[k]) / h);
        a * sums[k]
            + b * sums[k + 1]
            + ((a * a * a - a) * bend[k] + (b * b * b - b) * bend[(k + 1) % 12]) * h * h / 6.0
    };
    daily(|day| year_mean + value(day) - value(day - 1.0))
}

/// Second derivatives at the knots of a periodic cubic spline, by Gaussian elimination of the twelve equations.
fn periodic_second_derivatives(steps: &[f64; 12], sums: &[f64; 13]) -> [f64; 12] {
    let mut rows = [[0.0; 13]; 12];
    for k in 0..12 {
        let before = (k + 11) % 12;
        let (h0, h1) = (steps[before], steps[k]);
        let slope_before = (sums[before + 1] - sums[before]) / h0;
        let slope_after = (sums[k + 1] - sums[k]) / h1;
        rows[k][before] += h0 / 6.0;
        rows[k][k] += (h0 + h1) / 3.0;
        rows[k][(k + 1) % 12] += h1 / 6.0;
        rows[k][12] = slope_after - slope_before;
    }
    // Diagonally dominant, so no pivoting is needed.
    for k in 0..12 {
        let pivot = rows[k];
        for row in &mut rows[k + 1..] {
            let factor = row[k] / pivot[k];
            for (value, above) in row.iter_mut().zip(pivot) {
                *value -= factor * above;
            }
        }
    }
    let mut out = [0.0; 12];
    for k in (0..12).rev() {
        let known: f64 = (k + 1..12).map(|c| rows[k][c] * out[c]).sum();
        out[k] = (rows[k][12] - known) / rows[k][k];
    }
    out
}

/// Mean and minimum curves inferred from the frost-free season.
fn inferred_curves(site: &Site, notes: &mut Vec<String>) -> ([f64; 365], [f64; 365]) {
    let southern = site.is_southern();
    let frost = Frost::new(&site.frost, southern, None);
    let free = match (
        frost.offset(Side::Fall, 32.0, 0.5),
        frost.offset(Side::Spring, 32.0, 0.5),
    ) {
        (Some(fall), Some(spring)) => (365.0 - (spring - fall)).clamp(20.0, 365.0),
        // Frost in fewer than half of the years, or none given.
        _ => usual_frost_free_days(site.latitude_deg),
    };
    notes.push(
        "Temperatures are inferred from the frost dates and the latitude; near a coast they are poor. Monthly means of \
         minimum and maximum make a better forecast."
            .to_owned(),
    );
    if free > LONG_SEASON_DAYS {
        notes.push(format!(
            "With {free:.0} frost-free days the inferred temperatures are doubtful: give monthly means."
        ));
    }
    let c = libm::cos(std::f64::consts::PI * free / 365.0);
    let mut half_range = INFERRED_HALF_RANGE_K;
    if MEAN_AT_FROST_C - half_range * c + half_range > INFERRED_WARMEST_C {
        half_range = (INFERRED_WARMEST_C - MEAN_AT_FROST_C) / (1.0 - c);
    }
    let level = MEAN_AT_FROST_C - half_range * c;
    let mean =
        daily(|day| level + half_range * yearly_wave(day - 201.0 - southern_shift(southern)));
    (mean, mean.map(|t| t - MINIMUM_BELOW_MEAN_K))
}

/// Frost-free days by latitude, used only where nothing at all is known (common practice, no source).
fn usual_frost_free_days(latitude_deg: f64) -> f64 {
    (365.0 - 9.5 * (latitude_deg.abs() - 20.0)).clamp(45.0, 365.0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Near the sea a winter's days differ less: 3 K where the coldest month is above 4 °C and the year spans less than 16 K,
    /// else 5 K; each condition alone is not enough, and the south has its winter in July.
    #[test]
    fn days_differ_less_near_the_sea() {
        let months = |coldest: f64, warmest: f64| -> [f64; 12] {
            let (middle, half) = (0.5 * (coldest + warmest), 0.5 * (warmest - coldest));
            std::array::from_fn(|m| middle - half * yearly_wave(m as f64 * 365.0 / 12.0))
        };
        let winter = |means: &[f64; 12]| scatter(means, false)[14];
        assert!((winter(&months(5.0, 17.0)) - 3.0).abs() < 1e-9, "mild");
        assert!((winter(&months(3.5, 17.0)) - 5.0).abs() < 1e-9, "too cold");
        assert!((winter(&months(5.0, 22.0)) - 5.0).abs() < 1e-9, "too wide");
        let south = scatter(&months(5.0, 17.0), true);
        let (july, january) = (south[196], south[14]);
        assert!(july > 2.99 && january < 2.01, "{july} {january}");
    }

    #[test]
    fn monthly_means_come_back_exactly() {
        let means = [
            2.5, 4.0, 8.5, 14.0, 19.0, 23.5, 26.0, 25.0, 21.5, 15.0, 9.5, 4.5,
        ];
        let daily = spline_through_months(&means);
        for (got, want) in month_means(&daily).iter().zip(means) {
            assert!((got - want).abs() < 1e-9, "{got} for {want}");
        }
        // Smooth over New Year and nowhere far outside the means.
        assert!((daily[0] - daily[364]).abs() < 0.2);
        assert!(daily.iter().all(|t| (1.5..27.0).contains(t)));
    }

    /// A cosine year is a fair stand-in for a station: the spline follows it within a tenth of a kelvin.
    #[test]
    fn spline_follows_a_smooth_year() {
        let smooth = daily(|d| 12.0 + 11.0 * yearly_wave(d - 201.0));
        let back = spline_through_months(&month_means(&smooth));
        for (a, b) in smooth.iter().zip(&back) {
            assert!((a - b).abs() < 0.1, "{a} {b}");
        }
    }

    /// Clemson, South Carolina (NOAA GHCN-Daily USC00381770, 1961-2019, middle frosts 30 March and 3 November) and
    /// Lebanon, New Hampshire (NOAA 1991-2020 normals of USW00094765, 9 May and 6 October): in the growing months, April
    /// to October, the inferred curve stays within 3 K of the record; winters of the interior are colder than that.
    #[test]
    fn inferred_temperatures_are_fair_in_the_growing_months() {
        use crate::season::fixture::{frost_row, site};
        let clemson_min = [
            -0.48, 0.87, 4.58, 8.96, 13.67, 18.0, 20.01, 19.66, 16.38, 9.68, 4.5, 1.11,
        ];
        let clemson_max = [
            11.32, 13.59, 17.95, 22.77, 26.71, 30.35, 32.12, 31.38, 28.45, 23.22, 17.83, 12.87,
        ];
        let lebanon = [
            -6.78, -5.33, -0.06, 6.83, 13.72, 18.39, 21.28, 20.33, 15.94, 9.22, 2.89, -2.89,
        ];
        let mut clemson = [0.0; 12];
        for (m, mean) in clemson.iter_mut().enumerate() {
            *mean = 0.5 * (clemson_min[m] + clemson_max[m]);
        }
        for (latitude, spring, fall, record) in [
            (34.7, (3, 30), (11, 3), clemson),
            (43.6, (5, 9), (10, 6), lebanon),
        ] {
            let mut place = site();
            place.latitude_deg = latitude;
            place.climate = Known::Inferred;
            place.frost.spring = vec![frost_row(32.0, &[(0.5, spring.0, spring.1)], 12.0)];
            place.frost.fall = vec![frost_row(32.0, &[(0.5, fall.0, fall.1)], 12.0)];
            let climate = Climate::of(&place);
            assert_eq!(climate.knowledge, Knowledge::Inferred);
            assert!(climate.notes[0].contains("inferred"));
            for (m, (got, want)) in month_means(&climate.mean_c).iter().zip(record).enumerate() {
                let allowed = if (3..10).contains(&m) { 3.0 } else { 6.0 };
                assert!(
                    (got - want).abs() < allowed,
                    "{latitude} month {}: {got} for {want}",
                    m + 1
                );
            }
        }
    }

    #[test]
    fn long_seasons_are_doubted() {
        use crate::season::fixture::{frost_row, site};
        let mut place = site();
        place.climate = Known::Inferred;
        place.frost.fall = vec![frost_row(32.0, &[(0.5, 12, 15)], 12.0)];
        assert!(
            Climate::of(&place)
                .notes
                .iter()
                .any(|n| n.contains("244 frost-free days"))
        );
    }
}
