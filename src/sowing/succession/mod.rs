//! A succession of sowings that feeds the household week after week from the beds and with the kitchen it has.
//!
//! [`propose::propose`] lays every possible sowing out as plain numbers, searches for the cheapest plan in some drawn
//! seasons at once, and then lives the garden with that plan through in all of them, kitchen included.
//! Knows the garden, the season and the kitchen; knows no files and no text output.

pub mod binds;
mod bound;
mod candidates;
mod clear;
pub mod clearing;
mod desk;
#[cfg(test)]
mod exhaustive;
mod flat;
mod ground;
mod grouped;
mod improve;
mod lived;
mod mend;
mod offer;
mod problem;
pub mod proposal;
pub mod propose;
mod response;
mod rows;
mod search;
mod setup;
pub mod stages;
#[cfg(test)]
mod vectors;
mod wants;

pub use setup::Asked;
