//! The kitchen: from what is ready to what is eaten, put by or given away, and the hours it takes.
//!
//! [`context::compile`] settles once what a household needs, wants and has; [`day_by_day::day_by_day`] then lives
//! through one drawn season; [`accumulate::Accumulator`] gathers draws and [`overload::overload`] sums them up.
//! Knows the garden and what the season says is ready; knows nothing of weather, files or text output.

pub mod accumulate;
mod ahead;
mod allocate;
pub mod books;
#[cfg(test)]
mod books_tests;
pub mod calendar;
pub mod certificate;
pub mod checker;
pub mod context;
mod counted;
pub mod crop_set;
pub mod day_by_day;
pub mod draw;
mod fit;
#[cfg(test)]
pub(crate) mod fixture;
#[cfg(test)]
mod fixture_tables;
pub mod forecast;
pub mod fortnight;
#[cfg(test)]
mod household_tests;
mod keep_back;
pub mod keeping;
mod limits;
mod lots;
pub mod make_room;
pub mod minutes;
pub mod mixing;
pub mod needs;
pub mod offered;
pub mod overload;
pub mod plan;
#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod preference_tests;
pub mod processing;
mod scratch;
mod sessions_by_rule;
mod spare;
mod stand_queue;
mod standing;
mod stores;
pub mod unavoidable;
pub mod undoable;
mod vessels;
pub mod waiting;
pub mod wanted;
