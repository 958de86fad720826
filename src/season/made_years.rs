//! Made years: daily weather about the usual curve, drawn for places without a daily record.
//!
//! Each calendar year has its own numbers, whatever the horizon, so that a planting added earlier or later in the file
//! changes no other planting's weather. Sources: first-order autoregression is the usual weather generator for daily
//! temperature (common practice, no source); 0.7 from day to day and 0.5 K from year to year: judgement.

use super::climate::Climate;
use super::horizon::Horizon;
use super::streams::{Purpose, Stream};
use crate::garden::week::YearDay;
use chrono::{Datelike, NaiveDate};

/// Number of different made runs; more draws than this share them evenly.
pub(crate) const RUNS: u32 = 2_000;
/// Correlation of a day's anomaly with the day before.
const DAY_TO_DAY: f64 = 0.7;
/// Standard deviation of a whole year's anomaly, K.
const YEAR_SD_K: f64 = 0.5;
/// Days of the year before from which the anomaly runs in; 0.7 to the 60th is below a billionth.
const RUN_IN_DAYS: u32 = 60;

/// Weather of one run over the horizon.
#[derive(Debug, Clone, Default)]
pub(crate) struct Air {
    /// Daily mean, °C, one a day of the horizon.
    pub(crate) mean_c: Vec<f32>,
    /// Daily minimum before frost is placed, °C, one a day of the horizon.
    pub(crate) min_c: Vec<f32>,
}

/// Fills the weather of one run.
pub(crate) fn make(climate: &Climate, horizon: &Horizon, seed: u64, run: u64, air: &mut Air) {
    air.mean_c.clear();
    air.min_c.clear();
    let fresh = libm::sqrt(1.0 - DAY_TO_DAY * DAY_TO_DAY);
    let end = horizon.end();
    for year in horizon.first.year()..=end.year() {
        let shift_k = YEAR_SD_K * Stream::of_year(seed, run, year, Purpose::Year).normal();
        let mut before = Stream::of_year(seed, run, year - 1, Purpose::Days);
        before.skip(365 - RUN_IN_DAYS);
        let mut anomaly = 0.0;
        for _ in 0..RUN_IN_DAYS {
            anomaly = DAY_TO_DAY * anomaly + fresh * before.normal();
        }
        let mut days = Stream::of_year(seed, run, year, Purpose::Days);
        let Some(mut date) = NaiveDate::from_yo_opt(year, 1) else {
            continue;
        };
        let mut last_number = 0;
        while date.year() == year && date < end {
            let number = usize::from(YearDay::of(date).number());
            // 29 February repeats the 28th.
            if number != last_number {
                anomaly = DAY_TO_DAY * anomaly + fresh * days.normal();
                last_number = number;
            }
            if date >= horizon.first {
                let k = number - 1;
                let departure = shift_k + climate.scatter_k[k] * anomaly;
                push(&mut air.mean_c, climate.mean_c[k] + departure);
                push(&mut air.min_c, climate.min_c[k] + departure);
            }
            let Some(next) = date.succ_opt() else { break };
            date = next;
        }
    }
    // A calendar that ends (year 262143) leaves the rest of the horizon at its last day.
    let full = usize::from(horizon.days);
    for values in [&mut air.mean_c, &mut air.min_c] {
        let last = values.last().copied().unwrap_or(0.0);
        values.resize(full, last);
    }
}

/// Appends a temperature in single precision.
fn push(values: &mut Vec<f32>, value_c: f64) {
    values.push(value_c as f32);
}
