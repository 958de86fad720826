//! Beds: named pieces of ground with a size and perhaps protection.

use super::units::{Area, Length};
use super::week::DateRange;

/// Index of a bed in its garden.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BedId(pub usize);

/// A named piece of ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// Name as the household writes it.
    pub name: String,
    /// Length, if known; a bed that only `plantings.csv` names has none.
    pub length: Option<Length>,
    /// Width, if known.
    pub width: Option<Length>,
    /// Cover over the bed.
    pub protection: Protection,
    /// Days on which the cover is on; open ends mean always.
    pub protected: DateRange,
    /// Factor on the usual yield of everything that grows in it.
    pub yield_factor: f64,
}

impl Bed {
    /// Returns the area, if both length and width are known.
    #[must_use]
    pub fn area(&self) -> Option<Area> {
        Some(Area::from_m2(self.length?.m() * self.width?.m()))
    }
}

/// Cover over a bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Protection {
    /// No cover.
    #[default]
    None,
    /// Light floating row cover.
    RowCoverLight,
    /// Heavy floating row cover.
    RowCoverHeavy,
    /// Plastic or cloth on low hoops.
    LowTunnel,
    /// Cold frame.
    ColdFrame,
    /// Unheated walk-in tunnel.
    HighTunnel,
    /// Shade cloth.
    ShadeCloth,
}

impl Protection {
    /// Every kind of cover with the word used for it in `beds.csv`.
    pub const NAMES: [(&'static str, Self); 7] = [
        ("none", Self::None),
        ("row_cover_light", Self::RowCoverLight),
        ("row_cover_heavy", Self::RowCoverHeavy),
        ("low_tunnel", Self::LowTunnel),
        ("cold_frame", Self::ColdFrame),
        ("high_tunnel", Self::HighTunnel),
        ("shade_cloth", Self::ShadeCloth),
    ];

    /// Returns the word used in `beds.csv`.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, p)| *p == self)
            .map_or("none", |(name, _)| name)
    }
}
