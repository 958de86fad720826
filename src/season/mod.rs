//! The season: weather, growth and harvest of every planting, drawn many times over.
//!
//! Knows the garden; knows nothing of kitchens, files or text.

pub mod draw;
