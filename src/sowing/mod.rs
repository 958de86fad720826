//! Sowing: what stands where and when, and what may follow.
//!
//! Knows the garden, the season and the kitchen; knows no files and no text output.

pub mod beds;
pub mod relief;
