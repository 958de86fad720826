//! Hours of daylight, sunrise to sunset, for a latitude and a date.
//!
//! Source: the solar equations of the US National Oceanic and Atmospheric Administration's calculator (after Meeus,
//! Astronomical Algorithms, low precision), with one declination a day and the sun's centre 0.833° below the
//! horizon at rise and set. Geometric formulas without refraction shift the ten-hour dates by about a week.

use chrono::{Datelike, Days, NaiveDate};

/// Zenith of the sun's centre at rise and set: refraction and half the disk, degrees.
const ZENITH_DEG: f64 = 90.833;

/// Day of the common era of 1 January 2000, whose noon is the epoch J2000.
const J2000_DAY: i32 = 730_120;

/// Hours after 12:00 UTC for which the sun is taken: between noon in Europe and noon in America, so that at 0-60° both
/// stay within a hundredth of an hour.
const HOURS_AFTER_NOON: f64 = 1.5;

/// Returns the sun's declination on a date, in radians.
fn declination_rad(date: NaiveDate) -> f64 {
    let days = f64::from(date.num_days_from_ce() - J2000_DAY) + HOURS_AFTER_NOON / 24.0;
    let t = days / 36_525.0;
    let mean_longitude = 280.46646 + t * (36000.76983 + 0.0003032 * t);
    let anomaly = (357.52911 + t * (35999.05029 - 0.0001537 * t)).to_radians();
    let centre = libm::sin(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + libm::sin(2.0 * anomaly) * (0.019993 - 0.000101 * t)
        + 0.000289 * libm::sin(3.0 * anomaly);
    let omega = (125.04 - 1934.136 * t).to_radians();
    let longitude = (mean_longitude + centre - 0.00569 - 0.00478 * libm::sin(omega)).to_radians();
    let obliquity = (23.439291 - 0.0130042 * t + 0.00256 * libm::cos(omega)).to_radians();
    libm::asin(libm::sin(obliquity) * libm::sin(longitude))
}

/// Returns the hours from sunrise to sunset; 24 in polar day and 0 in polar night.
#[must_use]
pub fn hours(latitude_deg: f64, date: NaiveDate) -> f64 {
    let latitude = latitude_deg.clamp(-90.0, 90.0).to_radians();
    let declination = declination_rad(date);
    let cos_hour_angle = libm::cos(ZENITH_DEG.to_radians())
        / (libm::cos(latitude) * libm::cos(declination))
        - libm::tan(latitude) * libm::tan(declination);
    if cos_hour_angle >= 1.0 {
        0.0
    } else if cos_hour_angle > -1.0 {
        libm::acos(cos_hour_angle).to_degrees() * 2.0 / 15.0
    } else {
        24.0
    }
}

/// Returns the first and last of consecutive days with less than some hours of daylight, searched over the year from a
/// date on; none if no day is so short or every day is.
#[must_use]
pub fn short_days(
    latitude_deg: f64,
    limit_hours: f64,
    from: NaiveDate,
) -> Option<(NaiveDate, NaiveDate)> {
    let days: Vec<NaiveDate> = (0..366).map(|n| from + Days::new(n)).collect();
    let short = |day: &NaiveDate| hours(latitude_deg, *day) < limit_hours;
    let start = days.iter().position(|day| !short(day))?;
    let first = start + days[start..].iter().position(short)?;
    let last = first
        + days[first..]
            .iter()
            .position(|day| !short(day))
            .unwrap_or(days.len() - first)
        - 1;
    Some((days[first], days[last]))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// PyEphem 4.2.1, horizon −0:50 of the sun's centre, no atmosphere, 2026, on the meridian where noon is 12 UTC.
    #[test]
    fn within_a_hundredth_of_an_hour_from_60_n_to_60_s() {
        let days = [
            "2026-01-15",
            "2026-03-20",
            "2026-05-05",
            "2026-06-21",
            "2026-08-10",
            "2026-09-23",
            "2026-11-08",
            "2026-12-21",
        ];
        let table: [(f64, [f64; 8]); 13] = [
            (
                0.0,
                [
                    12.1217, 12.1083, 12.1148, 12.1226, 12.1137, 12.1078, 12.1162, 12.1249,
                ],
            ),
            (
                10.0,
                [
                    11.6043, 12.1090, 12.5117, 12.7095, 12.4885, 12.1050, 11.7151, 11.5423,
                ],
            ),
            (
                20.0,
                [
                    11.0555, 12.1133, 12.9395, 13.3428, 12.8925, 12.1057, 11.2911, 10.9233,
                ],
            ),
            (
                30.0,
                [
                    10.4295, 12.1221, 13.4338, 14.0791, 13.3591, 12.1103, 10.8102, 10.2146,
                ],
            ),
            (
                40.0,
                [
                    9.6511, 12.1373, 14.0535, 15.0164, 13.9434, 12.1203, 10.2183, 9.3276,
                ],
            ),
            (
                50.0,
                [
                    8.5649, 12.1630, 14.9178, 16.3715, 14.7562, 12.1391, 9.4082, 8.0728,
                ],
            ),
            (
                60.0,
                [
                    6.7345, 12.2091, 16.3380, 18.8679, 16.0816, 12.1745, 8.1084, 5.8698,
                ],
            ),
            (
                -10.0,
                [
                    12.6433, 12.1110, 11.7217, 11.5401, 11.7427, 12.1140, 12.5213, 12.7119,
                ],
            ),
            (
                -20.0,
                [
                    13.2056, 12.1175, 11.3062, 10.9211, 11.3509, 12.1242, 12.9577, 13.3453,
                ],
            ),
            (
                -30.0,
                [
                    13.8576, 12.1288, 10.8354, 10.2126, 10.9073, 12.1397, 13.4621, 14.0817,
                ],
            ),
            (
                -40.0,
                [
                    14.6824, 12.1470, 10.2561, 9.3257, 10.3626, 12.1631, 14.0948, 15.0192,
                ],
            ),
            (
                -50.0,
                [
                    15.8569, 12.1768, 9.4642, 8.0711, 9.6201, 12.1998, 14.9781, 16.3744,
                ],
            ),
            (
                -60.0,
                [
                    17.9095, 12.2292, 8.1969, 5.8683, 8.4400, 12.2628, 16.4338, 18.8711,
                ],
            ),
        ];
        for (latitude, row) in table {
            for (day, want) in days.iter().zip(row) {
                let got = hours(latitude, date(day));
                assert!(
                    (got - want).abs() < 0.01,
                    "{latitude} {day}: {got} for {want}"
                );
            }
        }
    }

    /// Skyfield 1.55 (DE421) and PyEphem 4.2.1 at 35° N 83° W in 2026, which agree to 0.0001 h.
    #[test]
    fn within_a_hundredth_of_an_hour_at_35_n() {
        for (day, want) in [
            ("2026-03-20", 12.1372),
            ("2026-06-21", 14.5135),
            ("2026-09-23", 12.1061),
            ("2026-10-23", 11.0382),
            ("2026-11-23", 10.1336),
            ("2026-12-21", 9.8015),
        ] {
            assert!((hours(35.0, date(day)) - want).abs() < 0.01, "{day}");
        }
    }

    /// Published day lengths: Omaha class note (almanac), Boston garden journal, a June-solstice table to the minute.
    #[test]
    fn within_two_minutes_of_published_tables() {
        for (latitude, day, h, m) in [
            (41.26, "1995-10-01", 11.0, 46.0),
            (41.26, "1995-10-08", 11.0, 27.0),
            (42.36, "2015-11-10", 9.0, 59.0),
            (43.3, "2025-09-01", 13.0, 9.0),
            (40.0, "2019-06-21", 15.0, 1.0),
            (60.0, "2019-06-21", 18.0, 52.0),
            (0.0, "2019-06-21", 12.0, 7.0),
        ] {
            let got = hours(latitude, date(day));
            assert!(
                (got - (h + m / 60.0)).abs() <= 2.2 / 60.0,
                "{latitude} {day}: {got}"
            );
        }
    }

    /// First and last day under ten hours, winter 2025-26, from the same equations computed independently in Python;
    /// 35° N in 2026-27 also by PyEphem 4.2.1, pvlib 0.16.1 and astral 3.2.
    #[test]
    fn ten_hour_dates_within_a_day() {
        for (latitude, from, first, last) in [
            (34.0, "2025-07-01", "2025-12-05", "2026-01-06"),
            (35.0, "2025-07-01", "2025-11-30", "2026-01-11"),
            (35.0, "2026-07-01", "2026-11-30", "2027-01-11"),
            (36.0, "2025-07-01", "2025-11-26", "2026-01-15"),
            (38.0, "2025-07-01", "2025-11-19", "2026-01-21"),
            (40.0, "2025-07-01", "2025-11-14", "2026-01-26"),
            (42.0, "2025-07-01", "2025-11-10", "2026-01-30"),
            (44.0, "2025-07-01", "2025-11-06", "2026-02-03"),
            (46.0, "2025-07-01", "2025-11-03", "2026-02-06"),
            (48.0, "2025-07-01", "2025-10-31", "2026-02-09"),
            (50.0, "2025-07-01", "2025-10-28", "2026-02-12"),
        ] {
            let (a, b) = short_days(latitude, 10.0, date(from)).unwrap();
            assert!((a - date(first)).num_days().abs() <= 1, "{latitude} {a}");
            assert!((b - date(last)).num_days().abs() <= 1, "{latitude} {b}");
        }
        assert_eq!(short_days(30.0, 10.0, date("2025-07-01")), None);
        assert_eq!(short_days(32.0, 10.0, date("2025-07-01")), None);
    }

    #[test]
    fn polar_days_and_nights_are_whole_and_never_nan() {
        for latitude in [-90.0, -80.0, -66.6, 66.6, 80.0, 90.0] {
            for n in 0..366 {
                let h = hours(latitude, date("2026-01-01") + Days::new(n));
                assert!((0.0..=24.0).contains(&h), "{latitude} {n} {h}");
            }
        }
        assert!((hours(80.0, date("2026-06-21")) - 24.0).abs() < 1e-12);
        assert!(hours(80.0, date("2026-12-21")).abs() < 1e-12);
        assert!(hours(-80.0, date("2026-06-21")).abs() < 1e-12);
    }
}
