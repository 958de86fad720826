//! Sowing: what stands where and when, by when to sow, and what may follow.
//!
//! Knows the garden, the season and the kitchen; knows no files and no text output.

pub mod beds;
pub mod dates;
pub mod dates_counted;
pub mod dates_recorded;
mod dates_runs;
mod dates_search;
mod dates_tried;
pub mod follow;
pub mod follow_lack;
pub mod follow_room;
pub mod relief;
pub mod soil;
pub mod succession;
