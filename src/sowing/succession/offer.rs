//! What a search chooses from: sowings that could be made, how many there may be, and in which beds.

use super::ground::{Ground, Stay};
use super::problem::{Change, Problem, Response};

/// A sowing that could be made: one crop on one day in any bed of one kind.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Offer {
    /// Number of its crop.
    pub(crate) crop: usize,
    /// Number of its family.
    pub(crate) family: usize,
    /// Kind of bed it is for.
    pub(crate) kind: usize,
    /// First day in the bed.
    pub(crate) from: i32,
    /// First day on which its ground is free again.
    pub(crate) until: i32,
    /// The same in the middle of the seasons; never later.
    pub(crate) middle: i32,
    /// Ground that one unit of row takes, m².
    pub(crate) m2: f64,
    /// What one unit puts on the table.
    pub(crate) responses: Vec<Response>,
}

impl Offer {
    /// Returns the stay of so many units.
    pub(crate) fn stay(&self, units: u32) -> Stay {
        Stay {
            from: self.from,
            until: self.until,
            middle: self.middle,
            family: self.family,
            m2: f64::from(units) * self.m2,
        }
    }
    /// Returns what so many units change.
    pub(crate) fn changes(&self, units: f64) -> Vec<Change<'_>> {
        self.responses.iter().map(|r| (r, units)).collect()
    }
}

/// A standing planting that could be cleared on a day, before its time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Removal {
    /// Number of the planting; it goes once.
    pub(crate) planting: usize,
    /// The bed.
    pub(crate) bed: usize,
    /// Its place among what stands in the bed.
    pub(crate) stay: usize,
    /// First day on which its ground is free.
    pub(crate) at: i32,
    /// What it costs besides, kg of fresh food missed.
    pub(crate) price: f64,
    /// What comes to the table instead, mostly less.
    pub(crate) responses: Vec<Response>,
}

impl Removal {
    /// Returns what it changes.
    pub(crate) fn changes(&self) -> Vec<Change<'_>> {
        self.responses.iter().map(|r| (r, 1.0)).collect()
    }
    /// Returns the stay that is left of it.
    pub(crate) fn left(&self, stay: &Stay) -> Stay {
        Stay {
            until: stay.until.min(self.at),
            middle: stay.middle.min(self.at),
            ..*stay
        }
    }
}

/// How many sowings there may be.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Limits {
    /// In all.
    pub(crate) sowings: usize,
    /// Of each crop.
    pub(crate) of_crop: Vec<usize>,
    /// Most units in one sowing.
    pub(crate) units: u32,
}

/// A sowing of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Sowing {
    /// The offer.
    pub(crate) offer: usize,
    /// The bed.
    pub(crate) bed: usize,
    /// Units of row.
    pub(crate) units: u32,
}

/// What is done: sowings, and standing plantings cleared for them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Chosen {
    /// The sowings.
    pub(crate) plan: Vec<Sowing>,
    /// The removals.
    pub(crate) removed: Vec<usize>,
}

/// What is sought in: the problem, the offers, the beds and the limits.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field<'p> {
    pub(crate) problem: &'p Problem,
    pub(crate) offers: &'p [Offer],
    /// Standing plantings that could go early.
    pub(crate) removals: &'p [Removal],
    pub(crate) beds: &'p [Ground],
    pub(crate) limits: &'p Limits,
}
