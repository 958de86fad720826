//! Sowing: what stands where and when, what may follow, and a succession that feeds the household.
//!
//! Knows the garden, the season and the kitchen; knows no files and no text output.

pub mod beds;
pub mod soil;
pub mod succession;
