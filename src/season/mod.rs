//! The season: weather, growth and harvest of every planting, drawn many times over.
//!
//! Knows the garden; knows nothing of kitchens, files or text.

pub mod climate;
mod covers;
mod curve;
pub mod daylight;
pub mod degree_days;
pub mod draw;
mod ends;
pub mod ensemble;
pub mod forecast;
pub mod frost;
mod gather;
pub mod growth;
pub mod horizon;
pub mod kept;
pub(crate) mod life;
pub(crate) mod lives;
mod made_years;
mod picking;
mod places;
pub mod plain;
pub mod plan;
pub mod quantile;
pub mod reasons;
pub mod recorded;
pub mod recorded_falls;
mod so_far;
pub(crate) mod streams;
pub mod trials;
mod weather;
pub mod windows;
pub mod yields;

#[cfg(test)]
mod fixture;
