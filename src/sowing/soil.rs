//! Whether the soil is warm or cool enough for seed to come up well, and how long it takes.
//!
//! The soil at seed depth is taken a little warmer than the usual mean of the air, since few gardens measure it. Knows the
//! usual year, not this year's weather.
//!
//! Sources: limits and degree-days stand in the crop table (at least half of the best percentage of normal seedlings,
//! Harrington and Minges 1954); 2 K above the air: judgement.

use crate::garden::bed::{Bed, Protection};
use crate::garden::crop::Crop;
use crate::garden::week::YearDay;
use crate::season::climate::Climate;
use chrono::{Days, NaiveDate};

/// How much warmer than the mean of the air the soil is taken, K, where nothing else is said.
pub const WARMER_K: f64 = 2.0;
/// How much warmer the air of a walk-in tunnel is, K, as in the forecast.
const TUNNEL_K: f64 = 2.0;
/// Longest wait for seedlings that is looked at, days.
const LONGEST_DAYS: u64 = 60;
/// Fewest days before nothing to be seen means nothing will come (judgement).
const FEWEST_WAIT: u32 = 5;

/// The soil of one bed through the usual year.
#[derive(Debug, Clone, Copy)]
pub struct Soil<'a> {
    climate: &'a Climate,
    bed: &'a Bed,
    warmer_k: f64,
}

/// Whether seed of a crop comes up well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Too cold.
    TooCold,
    /// Neither too cold nor too hot.
    Right,
    /// Too hot.
    TooHot,
}

impl<'a> Soil<'a> {
    /// Takes the soil of a bed as so many kelvins warmer than the mean of the air.
    #[must_use]
    pub const fn new(climate: &'a Climate, bed: &'a Bed, warmer_k: f64) -> Self {
        Self {
            climate,
            bed,
            warmer_k,
        }
    }

    /// Returns the usual temperature of the soil on a date, °C.
    #[must_use]
    pub fn c(&self, date: NaiveDate) -> f64 {
        let day = usize::from(YearDay::of(date).number()) - 1;
        let tunnel =
            self.bed.protection == Protection::HighTunnel && self.bed.protected.contains(date);
        self.climate.mean_c[day] + self.warmer_k + if tunnel { TUNNEL_K } else { 0.0 }
    }

    /// Says whether seed of a crop comes up well on a date.
    #[must_use]
    pub fn fit(&self, crop: &Crop, date: NaiveDate) -> Fit {
        let soil_c = self.c(date);
        if crop.growth.soil_max.is_some_and(|most| soil_c > most.c()) {
            Fit::TooHot
        } else if crop.growth.soil_min.is_some_and(|least| soil_c < least.c()) {
            Fit::TooCold
        } else {
            Fit::Right
        }
    }

    /// Returns the usual days from sowing until seedlings are up; none if it takes too long to count on.
    #[must_use]
    pub fn days_until_up(&self, crop: &Crop, sown: NaiveDate) -> Option<u32> {
        let mut warmth = 0.0;
        (0..LONGEST_DAYS).zip(1..).find_map(|(day, count)| {
            warmth += (self.c(sown + Days::new(day)) - crop.growth.up_base.c()).max(0.0);
            (warmth >= crop.growth.up_degree_days).then_some(count)
        })
    }

    /// Returns the days after which a sowing of which nothing is to be seen should be sown again: twice the usual wait,
    /// and five at least (judgement: a cool week, dry soil and a late look are forgiven, a lost row is not).
    #[must_use]
    pub fn days_to_wait(&self, crop: &Crop, sown: NaiveDate) -> Option<u32> {
        self.days_until_up(crop, sown)
            .map(|days| (2 * days).max(FEWEST_WAIT))
    }
}
