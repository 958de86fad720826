//! The household: what it eats, what it wants for winter, and the kitchen it has.

use super::crop::{CropId, FoodGroup};
use super::preserving::ProductId;
use super::units::{Mass, Minutes, Volume};
use super::week::{DateRange, YearDay};
use chrono::{Datelike, NaiveDate, Weekday};

/// The household and its wishes.
#[derive(Debug, Clone)]
pub struct Household {
    /// Number of people who eat.
    pub people: f64,
    /// Most vegetables from the garden that the whole household eats fresh in a week.
    pub ceiling_per_week: Mass,
    /// What it eats fresh in a week.
    pub needs: Vec<Need>,
    /// What it wants put by, in order of preference; none given means everything goes to its usual product.
    pub goals: Option<Vec<Goal>>,
    /// Kitchen hours and equipment.
    pub kitchen: Kitchen,
    /// Jars, lids and bags on hand.
    pub on_hand: OnHand,
    /// Absences.
    pub away: Vec<Away>,
    /// Weekdays on which it sows; empty means any day.
    pub sow_days: Vec<Weekday>,
    /// Household measures that were weighed once, such as a bowl of okra.
    pub measures: Vec<Measure>,
}

/// What is eaten fresh of one food or group.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The food.
    pub food: Food,
    /// Amount in a week.
    pub per_week: Mass,
    /// First calendar day of the year on which it is wanted; all year if none.
    pub from: Option<YearDay>,
    /// Last calendar day on which it is wanted.
    pub until: Option<YearDay>,
}

impl Need {
    /// Says whether the need holds on a date; a range over New Year is allowed.
    #[must_use]
    pub fn holds_on(&self, date: NaiveDate) -> bool {
        let day = YearDay::of(date);
        match (self.from, self.until) {
            (Some(from), Some(until)) if from > until => day >= from || day <= until,
            (from, until) => from.is_none_or(|f| f <= day) && until.is_none_or(|u| day <= u),
        }
    }
}

/// One crop or a whole group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Food {
    /// One crop.
    Crop(CropId),
    /// Any crop of a group.
    Group(FoodGroup),
}

/// What the household wants of a product.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// The product, or alternatives of which any will do, the preferred first.
    pub products: Vec<ProductId>,
    /// Full containers wanted; for a refrigerator product none, since it is made in rotation.
    pub containers: f64,
    /// Day by which they are wanted, if any.
    pub by: Option<NaiveDate>,
    /// Containers eaten in a week.
    pub eat_per_week: Option<f64>,
}

/// Kitchen hours and equipment.
#[derive(Debug, Clone, PartialEq)]
pub struct Kitchen {
    /// Time of each weekday, Monday first; zero means no session that day.
    pub minutes: [Minutes; 7],
    /// Stretches without any session.
    pub closed: Vec<DateRange>,
    /// Time of single days that differs from their weekday's.
    pub extra: Vec<(NaiveDate, Minutes)>,
    /// Cooks by stretch of days; the first stretch that holds the day counts.
    pub hands_on: Vec<(DateRange, f64)>,
    /// Cooks on all other days.
    pub hands: f64,
    /// Number of blanching pots that can be on the stove together.
    pub pots: f64,
    /// Usable water of one pot.
    pub pot_volume: Volume,
    /// Quart jars in one canner load.
    pub canner_jars: u32,
    /// Freezer trays.
    pub trays: f64,
    /// What one tray takes in one layer.
    pub mass_per_tray: Mass,
    /// Trays of the dryer; none means no dryer.
    pub dryer_trays: f64,
    /// Crocks for fermenting.
    pub crocks: f64,
    /// Whole volume of the freezer, for the daily intake; no limit if not given.
    pub freezer: Option<Volume>,
    /// Room in the freezer for the garden's food; no limit if not given.
    pub freezer_free: Option<Volume>,
    /// Whether hours for picking count against the kitchen's hours.
    pub count_picking: bool,
    /// Factor on the planned minutes of all kitchen work, 1 unless given or learned.
    pub minutes_factor: f64,
}

impl Kitchen {
    /// Returns the time that one date offers; zero on closed days and on days without a session.
    #[must_use]
    pub fn minutes_on(&self, date: NaiveDate) -> Minutes {
        if let Some((_, minutes)) = self.extra.iter().find(|(day, _)| *day == date) {
            return *minutes;
        }
        if self.closed.iter().any(|range| range.contains(date)) {
            return Minutes::ZERO;
        }
        self.minutes[date.weekday().num_days_from_monday() as usize]
    }

    /// Returns how many cooks work on a date.
    #[must_use]
    pub fn hands_on(&self, date: NaiveDate) -> f64 {
        self.hands_on
            .iter()
            .find(|(range, _)| range.contains(date))
            .map_or(self.hands, |(_, n)| *n)
    }
}

/// Jars, lids and bags on hand; no limit where not given.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OnHand {
    /// Jars.
    pub jars: Option<f64>,
    /// New lids.
    pub lids: Option<f64>,
    /// Freezer bags.
    pub bags: Option<f64>,
}

/// An absence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Away {
    /// Its days.
    pub days: DateRange,
    /// Whether a neighbour picks and keeps what is ready.
    pub neighbour_picks: bool,
}

/// A household measure weighed once.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Its name, such as `bowl`.
    pub name: String,
    /// The crop it was weighed with; any crop if none.
    pub crop: Option<CropId>,
    /// What one weighs.
    pub mass: Mass,
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_need_may_run_over_new_year() {
        let need = Need {
            food: Food::Group(FoodGroup::Roots),
            per_week: Mass::from_lb(1.0),
            from: YearDay::from_month_day(11, 1),
            until: YearDay::from_month_day(2, 1),
        };
        for (day, holds) in [
            ("2026-11-01", true),
            ("2027-02-01", true),
            ("2027-02-02", false),
            ("2026-10-31", false),
        ] {
            assert_eq!(need.holds_on(day.parse().unwrap()), holds, "{day}");
        }
    }
}
