//! Values to text and pictures: one table model for terminal, CSV, JSON and workbooks, and charts as SVG and PNG.
//!
//! A verb makes a [`report::Report`] (what people read, and the same facts for machines) and, where it has a picture,
//! one of the plain structs of [`chart`]. Knows the ground floor of the garden only: no files, no clock, no forecast types.

pub mod calendar;
pub mod chart;
pub mod csv;
pub mod dates;
pub mod font;
pub mod json;
pub mod page;
pub mod report;
pub mod rounding;
pub mod table;
pub mod terminal;
pub mod text;
pub mod xlsx;
