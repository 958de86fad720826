//! Pictures: weekly harvest, kitchen hours, pickings, stores against goals, forecast against pickings and chances of sowing
//! dates, as SVG and as PNG made from that same SVG.
//!
//! Each chart is a function from a plain struct to an [`Svg`]; the verbs fill the struct. Knows no forecast types, no files, no clock.
//! Meaning never hangs on colour alone: texture, place and words say it too, so that a grey print reads the same.

mod axis;
pub mod chances;
pub mod compared;
mod frame;
pub mod goals;
pub mod harvest;
pub mod hours;
mod key;
mod lettering;
mod marks;
mod palette;
pub mod pickings;
mod png;
mod svg;
#[cfg(test)]
mod trial;

pub use palette::dark_rules;
pub use png::PngError;
pub use svg::Svg;

/// Words around a chart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Caption {
    /// What the chart shows, in a few words; also read out by screen readers.
    pub title: String,
    /// One or two sentences under the title: what to see, and for which garden.
    pub subtitle: String,
    /// Small print at the foot: when made, from how many draws.
    pub footer: String,
    /// Whether it is drawn for a phone held upright: names above what they name instead of beside it.
    pub narrow: bool,
}
