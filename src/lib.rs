//! Putby forecasts what a home garden will give, week by week, and whether the kitchen can put it by.
//!
//! In: a folder of plain text files (a planting list, a place, and as much of the household as it cares to tell).
//! Out: harvest windows, weekly amounts with their uncertainty, kitchen hours needed against hours there are.
//!
//! The rooms, and which may know which, from the ground up:
//!
//! - [`garden`]: the nouns. Knows nobody.
//! - `season`: weather, growth, harvest. Knows the garden.
//! - `kitchen`: from harvest to working hours. Knows garden and season.
//! - [`learning`]: the record against the forecast. Knows garden and season.
//! - `input`: text to garden. Knows the garden.
//! - `output`: values to text and pictures. Knows the garden and the rooms' result values.
//! - `verbs`: one file a command: arguments, call, render. Knows everybody.

pub mod garden;
pub mod input;
pub mod kitchen;
pub mod learning;
pub mod output;
pub mod season;
pub mod sowing;
pub mod verbs;
