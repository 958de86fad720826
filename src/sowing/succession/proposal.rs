//! A proposed succession with all that is told about it. Plain data for any renderer.

use super::candidates::Candidate;
use super::flat;
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::household::Food;
use crate::garden::planting::Planting;
use crate::garden::units::Length;
use crate::garden::week::Week;
use chrono::NaiveDate;

/// One proposed sowing.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The crop.
    pub crop: CropId,
    /// The bed.
    pub bed: BedId,
    /// Day of sowing, in the bed or in a tray.
    pub sown: NaiveDate,
    /// Day of setting out, if it is raised in a tray.
    pub set_out: Option<NaiveDate>,
    /// Days on either side that do as well; of the day in the bed.
    pub range: (NaiveDate, NaiveDate),
    /// First day on which the soil suits, if that is still ahead.
    pub not_before: Option<NaiveDate>,
    /// Last day with at least half a harvest in 8 seasons of 10.
    pub last: Option<NaiveDate>,
    /// Day on which it should be up, and the last day to sow it again if nothing is.
    pub resow: Option<(NaiveDate, NaiveDate)>,
    /// Length of row.
    pub row: Length,
    /// First picking in the middle of the seasons.
    pub first: Option<NaiveDate>,
    /// Last picking in the middle of the seasons.
    pub last_picking: Option<NaiveDate>,
    /// Share of seasons with at least half a harvest.
    pub chance: f64,
    /// Mean amount for the table within the weeks looked at, kg.
    pub kg: f64,
    /// The same three days earlier and later, as shares of it; none where that day is past.
    pub moved: [Option<f64>; 2],
}

impl Row {
    /// Returns what the worse of the two other days loses, as a share, where that is too much for a safe day: no sowing
    /// day near it is safer then.
    #[must_use]
    pub fn steep(&self) -> Option<f64> {
        (!flat::within(&self.moved, flat::FLAT)).then(|| {
            let shares = self.moved.iter().flatten();
            1.0 - shares.fold(f64::INFINITY, |least, share| least.min(*share))
        })
    }
    /// Returns the first day in the bed.
    #[must_use]
    pub fn start(&self) -> NaiveDate {
        self.set_out.unwrap_or(self.sown)
    }
    /// Makes a planting of it.
    #[must_use]
    pub fn planting(&self, garden: &Garden) -> Planting {
        let candidate = Candidate {
            crop: self.crop,
            kind: 0,
            sown: self.sown,
            set_out: self.set_out,
        };
        let name = format!(
            "{} {} {}",
            garden.bed(self.bed).name,
            garden.crop(self.crop).name,
            self.start()
        );
        candidate.planting(name, self.bed, self.row)
    }
}

/// One need in one week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedWeek {
    /// The week.
    pub week: Week,
    /// Need, kg.
    pub need_kg: f64,
    /// Mean amount eaten without the plan, and with it, kg.
    pub eaten_kg: [f64; 2],
    /// Chance that the need is met without the plan, and with it.
    pub met: [f64; 2],
}

/// One need over the weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The food.
    pub food: Food,
    /// The weeks in which something is needed.
    pub weeks: Vec<NeedWeek>,
}

/// What the kitchen has to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Mean number of weeks of a season with more work than hours.
    pub weeks_over: f64,
    /// Weeks likely to have more work than hours.
    pub likely: usize,
    /// Mean hours over in a season.
    pub hours_over: f64,
    /// Each week with its mean hours needed, the hours there are, and the chance that it is too much.
    pub weeks: Vec<(Week, f64, f64, f64)>,
}

/// A plan with what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// First day looked at.
    pub from: NaiveDate,
    /// Last day on which to sow.
    pub until: NaiveDate,
    /// The sowings, in order of days.
    pub rows: Vec<Row>,
    /// Needs, week by week.
    pub needs: Vec<Need>,
    /// The kitchen without the plan, with it, and with the plan made without a thought for it.
    pub kitchen: [Load; 3],
    /// Sowings of the plan made without a thought for the kitchen.
    pub careless: usize,
    /// What binds, the dearest first.
    pub binds: Vec<super::binds::Bind>,
    /// What it clears early, in order of days.
    pub cleared: Vec<super::clearing::Clearing>,
    /// What clearing another planting early would bring, the best first.
    pub clearings: Vec<super::clearing::Clearing>,
    /// Beds in which nothing more fits on any day looked at.
    pub full_beds: usize,
    /// Share of the seasons in which at least nine tenths of the weeks are met, by need, without and with the plan:
    /// weeks of the need that holds on the first day with less than 10 hours of daylight, from the first that a sowing still
    /// ahead could serve to that day.
    pub fall: Vec<(Food, usize, [f64; 2])>,
    /// What the plan had to assume.
    pub notes: Vec<String>,
    /// First and last day of the next stretch with less than 10 hours of daylight.
    pub dark: Option<(NaiveDate, NaiveDate)>,
    /// What it is worth.
    pub worth: Worth,
}

/// What a plan is worth, in kilograms of fresh food missed: needs and stores not met, food over, hours over, sowings.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Worth {
    /// Missed without and with the plan, mean over the seasons.
    pub cost: [f64; 2],
    /// What no plan can miss less than; none where the garden is too large for that to be worked out.
    pub least: Option<f64>,
}

impl Worth {
    /// Returns what the plan saves.
    #[must_use]
    pub fn saves_kg(&self) -> f64 {
        self.cost[0] - self.cost[1]
    }
    /// Returns by how much any other plan could be better at most, if that is known, kg.
    #[must_use]
    pub fn left_kg(&self) -> Option<f64> {
        self.least.map(|least| (self.cost[1] - least).max(0.0))
    }
    /// Returns the same as a share of what is missed with the plan, 0 to 1.
    #[must_use]
    pub fn gap(&self) -> Option<f64> {
        let missed = self.cost[1].max(1e-9);
        self.left_kg().map(|left| (left / missed).min(1.0))
    }
}
