//! The unit of a weather file that does not say its own.
//!
//! Asks for it, with a hint of what the values look like; never decides by itself.

use super::problem::{Kind, Problem};
use super::text::Source;

/// Unit of the temperatures of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    /// Degrees Fahrenheit.
    Fahrenheit,
    /// Degrees Celsius.
    Celsius,
    /// Tenths of a degree Celsius.
    Tenths,
}

impl Unit {
    /// Words for the units in `garden.toml`.
    pub(crate) const WORDS: [(&'static str, Self); 3] = [
        ("F", Self::Fahrenheit),
        ("C", Self::Celsius),
        ("tenths of C", Self::Tenths),
    ];
    /// Returns how a value becomes degrees Celsius.
    pub(crate) fn converter(self) -> fn(f64) -> f64 {
        match self {
            Self::Fahrenheit => |v| (v - 32.0) / 1.8,
            Self::Celsius => |v| v,
            Self::Tenths => |v| v / 10.0,
        }
    }
}

/// Asks for the unit, with the one that the values look like: decimals as ordered in Celsius, whole numbers that pass 140
/// as tenths, else Fahrenheit.
pub(crate) fn no_unit(source: &Source, decimals: bool, warmest: &mut [f64]) -> Problem {
    warmest.sort_by(f64::total_cmp);
    // One value may be a slip; one in fifty is the season.
    let high = warmest
        .get(warmest.len().saturating_sub(1 + warmest.len() / 50))
        .copied()
        .unwrap_or(0.0);
    let unit = if decimals {
        "C"
    } else if high > 140.0 {
        "tenths of C"
    } else {
        "F"
    };
    Problem::at(
        Kind::MissingKey,
        source,
        source.header_span(),
        "the file does not say in which unit its temperatures are",
    )
    .expected("weather_unit = \"F\", \"C\" or \"tenths of C\" under [climate] of garden.toml")
    .hint(format!(
        "they go up to {high}, which looks like weather_unit = \"{unit}\"; look at a day that you remember"
    ))
}
