//! The place: latitude, altitude, frost table and what is known of its temperatures.
//!
//! Holds what the grower or the weather office said; interpolation and drawing belong to the season.

use super::units::{Length, Temperature};
use super::week::YearDay;
use chrono::NaiveDate;

/// The place of a garden.
#[derive(Debug, Clone)]
pub struct Site {
    /// Name the household gives the place.
    pub name: String,
    /// Latitude in degrees, north positive, −90 to 90.
    pub latitude_deg: f64,
    /// Height above the sea; none until the household gives it (canning needs it).
    pub altitude: Option<Length>,
    /// Chances of cold by date.
    pub frost: FrostTable,
    /// What is known of the temperatures.
    pub climate: Climate,
    /// The coldest night of a usual winter, if given.
    pub coldest_night: Option<Temperature>,
}

impl Site {
    /// Says whether the site lies south of the equator.
    #[must_use]
    pub fn is_southern(&self) -> bool {
        self.latitude_deg < 0.0
    }
}

/// Chances of cold by date for one or more thresholds, in spring and in fall.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FrostTable {
    /// Last cold of spring, one row a threshold, warmest threshold first.
    pub spring: Vec<FrostRow>,
    /// First cold of fall, one row a threshold, warmest threshold first.
    pub fall: Vec<FrostRow>,
}

/// The dates of one threshold in one season.
#[derive(Debug, Clone, PartialEq)]
pub struct FrostRow {
    /// The minimum temperature that counts as this cold (equality counts).
    pub threshold: Temperature,
    /// Share of years with such a cold, 0–1.
    pub share: f64,
    /// Pairs of chance (0–1) and date. Spring: chance of such a cold *after* the date; fall: *before* it.
    /// Sorted by chance, at least one.
    pub dates: Vec<(f64, YearDay)>,
    /// Standard deviation in days, used when only one date is given.
    pub sd_days: f64,
}

/// What is known of a site's temperatures, best first.
#[derive(Debug, Clone)]
pub enum Climate {
    /// Recorded daily minimum and maximum of several years.
    Daily(DailyWeather),
    /// Monthly means of the daily minimum and maximum.
    Monthly(MonthlyNormals),
    /// Nothing: temperatures are inferred from latitude and frost dates.
    Inferred,
}

/// Monthly mean temperatures, January first.
#[derive(Debug, Clone, PartialEq)]
pub struct MonthlyNormals {
    /// Mean daily minimum of each month.
    pub min: [Temperature; 12],
    /// Mean daily maximum of each month.
    pub max: [Temperature; 12],
}

/// A run of recorded days.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyWeather {
    /// File or station the record came from, as shown to the reader.
    pub source: String,
    /// Date of the first element of `days`.
    pub first: NaiveDate,
    /// One element a day from `first` on, without gaps in the calendar.
    pub days: Vec<DayRecord>,
}

/// Minimum and maximum of one recorded day, in degrees Celsius; none where missing or rejected.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DayRecord {
    /// Minimum of the day, °C.
    pub min_c: Option<f32>,
    /// Maximum of the day, °C.
    pub max_c: Option<f32>,
}
