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

/// What is sought in: the problem, the offers, the beds and the limits.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field<'p> {
    pub(crate) problem: &'p Problem,
    pub(crate) offers: &'p [Offer],
    pub(crate) beds: &'p [Ground],
    pub(crate) limits: &'p Limits,
}
