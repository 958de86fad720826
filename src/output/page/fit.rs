//! The size of type with which a sheet fits one printed side of both A4 and US Letter.
//!
//! Sides are the narrower and the shorter of the two (210 mm, ISO 216; 279 mm, ANSI Y14.1), less the margins of the style.
//! Widths and heights of letters are those of a wide face, so that a narrower one only leaves more white.

use crate::garden::UnitSystem;
use crate::output::report::{Page, Part};
use crate::output::terminal;

/// Width there is for text, mm.
const WIDTH_MM: f64 = 186.0;
/// Height there is for text, mm, less some for rounding.
const HEIGHT_MM: f64 = 240.0;
/// Points in a millimetre.
const PT_PER_MM: f64 = 72.0 / 25.4;
/// Mean width of a letter in a wide face, in sizes of type.
const LETTER: f64 = 0.5;
/// Height of a line, in sizes of type; that of the style.
const LINE: f64 = 1.3;
/// Padding of a row of a table and distance between parts, mm; those of the style.
const ROW_MM: f64 = 1.0;
/// Distance between parts, mm.
const PART_MM: f64 = 2.0;
/// Heading, day of making and rule of a sheet, mm.
const HEAD_MM: f64 = 18.0;

/// Sizes of type that are tried, points, from readable at arm's length to small.
const SIZES: [f64; 12] = [
    12.5, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0,
];

/// Returns the greatest size of type, in points, in which a sheet fits one side; `height_mm` tells its height in a size.
pub(super) fn size(height_mm: impl Fn(f64) -> f64) -> f64 {
    SIZES
        .into_iter()
        .find(|&pt| HEAD_MM + height_mm(pt) <= HEIGHT_MM)
        .unwrap_or(SIZES[SIZES.len() - 1])
}

/// Returns the height left below the heading when so much is taken, mm.
pub(super) fn left_mm(taken_mm: f64) -> f64 {
    (HEIGHT_MM - HEAD_MM - taken_mm).max(0.0)
}

/// Returns the height of a cell so wide with so many letters, mm.
pub(super) fn cell_mm(letters: usize, width_mm: f64, pt: f64) -> f64 {
    let lines = (letters as f64 * LETTER * pt / PT_PER_MM / width_mm).ceil();
    lines.max(1.0) * LINE * pt / PT_PER_MM
}

/// Returns the height of parts in a size of type.
pub(super) fn height_mm(parts: &[&Part], units: UnitSystem, pt: f64) -> f64 {
    let letters = WIDTH_MM * PT_PER_MM / (LETTER * pt);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small positive number"
    )]
    let page = Page {
        width: letters as usize,
        units,
    };
    let mut height = 0.0;
    for part in parts {
        let lines = terminal::render(&[(*part).clone()], page).lines().count();
        let rows = match part {
            Part::Table(table) => table.rows.len() + 1,
            Part::Points(points) => points.len(),
            Part::Heading(_) | Part::Text(_) => 0,
        };
        height += lines as f64 * LINE * pt / PT_PER_MM + rows as f64 * ROW_MM + PART_MM;
    }
    height
}
