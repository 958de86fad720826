//! The plain rule by which growers count back from the first frost, with its terms, to be set beside the drawn dates.
//!
//! Sow on the first frost date less the days to maturity, the days in the tray, the harvest period, a fall factor and,
//! for tender crops, another; the forecast itself does not use it.
//!
//! Sources: Virginia Cooperative Extension 426-334, Fall Vegetable Gardening, as quoted by three extension groups (fall
//! factor and tender factor about 14 days each); Maryland Master Gardeners add the days to come up. Others put one
//! factor of 14 for both fall and harvest (Nebraska), 21 (a magazine) or none (Illinois).

use crate::garden::bed::Protection;
use crate::garden::crop::Crop;
use chrono::{Days, NaiveDate};

/// Days added because days shorten in fall.
const FALL_DAYS: u32 = 14;
/// Days added for a crop that the first frost kills.
const TENDER_DAYS: u32 = 14;
/// Crops killed at or above this, °F, are tender (light freeze 29–32 °F kills tender plants: UC Tuolumne).
const TENDER_F: f64 = 29.0;

/// The terms of one count, in days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CountBack {
    /// Until seedlings are up, where the rule adds it.
    pub coming_up: u32,
    /// In the tray, for crops that are set out.
    pub tray: u32,
    /// To maturity.
    pub maturity: u32,
    /// The harvest period.
    pub harvest: u32,
    /// For shortening days.
    pub fall: u32,
    /// For tenderness.
    pub tender: u32,
}

impl CountBack {
    /// Takes the terms of a crop as it is grown: in place or set out, under a cover or not.
    ///
    /// A cover drops the term for tenderness, since it is there to keep the first frost off.
    #[must_use]
    pub fn of(crop: &Crop, set_out: bool, protection: Protection) -> Self {
        let timing = &crop.timing;
        let raise = timing.raise_days.unwrap_or(0.0);
        let maturity = if set_out {
            timing
                .days_set_out
                .or(timing.days_sown.map(|days| (days - raise).max(0.5 * days)))
        } else {
            timing
                .days_sown
                .or(timing.days_set_out.map(|days| days + raise))
        };
        let tender = protection == Protection::None
            && crop.ends.killed_below.is_some_and(|t| t.f() >= TENDER_F);
        Self {
            coming_up: 0,
            tray: if set_out { whole(raise) } else { 0 },
            maturity: whole(maturity.unwrap_or(0.0)),
            harvest: whole(crop.harvest.harvest_days),
            fall: FALL_DAYS,
            tender: if tender { TENDER_DAYS } else { 0 },
        }
    }

    /// Returns all days to count back.
    #[must_use]
    pub const fn days(&self) -> u32 {
        self.coming_up + self.tray + self.maturity + self.harvest + self.fall + self.tender
    }

    /// Returns the date on which to sow, in place or in the tray.
    #[must_use]
    pub fn sow(&self, first_frost: NaiveDate) -> NaiveDate {
        first_frost - Days::new(u64::from(self.days()))
    }

    /// Returns the date on which to set out, for crops raised in a tray.
    #[must_use]
    pub fn set_out(&self, first_frost: NaiveDate) -> NaiveDate {
        self.sow(first_frost) + Days::new(u64::from(self.tray))
    }

    /// Returns the terms in the order of the rule, leaving out those that are nothing, as `70 + 14 + 60`.
    #[must_use]
    pub fn terms(&self) -> String {
        [
            self.coming_up,
            self.tray,
            self.maturity,
            self.fall,
            self.harvest,
            self.tender,
        ]
        .iter()
        .filter(|days| **days > 0)
        .map(u32::to_string)
        .collect::<Vec<_>>()
        .join("+")
    }
}

/// Whole days.
fn whole(days: f64) -> u32 {
    days.round().clamp(0.0, 1000.0) as u32
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Examples by others who use the rule: Russo, Maryland Master Gardeners (lettuce); Dawling, central Virginia (yellow
    /// squash; its harvest period from memory); Washington State University Grant-Adams (snow peas); Calvert County,
    /// Maryland, Master Gardeners (spinach, two germination times). Days, frost date and sowing date as they have them.
    #[test]
    fn worked_examples_come_out_to_the_day() {
        let count = |coming_up, tray, maturity, harvest, fall, tender| CountBack {
            coming_up,
            tray,
            maturity,
            harvest,
            fall,
            tender,
        };
        for (count, days, frost, sow) in [
            (count(4, 0, 46, 0, 14, 0), 64, "2026-10-23", "2026-08-20"),
            (count(0, 0, 70, 0, 14, 0), 84, "2026-10-15", "2026-07-23"),
            (count(0, 0, 50, 21, 14, 14), 99, "2026-10-14", "2026-07-07"),
            (count(7, 0, 35, 0, 14, 0), 56, "2026-10-19", "2026-08-24"),
            (count(10, 0, 35, 0, 14, 0), 59, "2026-10-19", "2026-08-21"),
            (count(7, 0, 35, 0, 14, 0), 56, "2026-10-26", "2026-08-31"),
            (count(10, 0, 35, 0, 14, 0), 59, "2026-10-26", "2026-08-28"),
        ] {
            assert_eq!(count.days(), days);
            assert_eq!(count.sow(frost.parse().unwrap()), sow.parse().unwrap());
        }
    }

    #[test]
    fn a_raised_plant_is_set_out_when_its_time_in_the_tray_is_over() {
        let count = CountBack {
            tray: 28,
            maturity: 48,
            harvest: 14,
            fall: 14,
            ..CountBack::default()
        };
        let frost = "2026-10-19".parse().unwrap();
        assert_eq!(count.sow(frost), "2026-07-07".parse().unwrap());
        assert_eq!(count.set_out(frost), "2026-08-04".parse().unwrap());
        assert_eq!(count.terms(), "28+48+14+14");
    }
}
