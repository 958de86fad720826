//! Inks and textures: one ink family for most charts, and eight colours with textures where crops must be told apart.
//!
//! Colours: M. Okabe and K. Ito, "Color Universal Design: how to make figures and presentations that are friendly to colorblind people",
//! 2002, revised 2008 (values from memory of the published palette). Textures are added so that they also differ in grey.

/// An opaque colour: red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Ink(pub(crate) u8, pub(crate) u8, pub(crate) u8);

/// Paper.
pub(crate) const WHITE: Ink = Ink(255, 255, 255);
/// Words, whiskers, lines that matter.
pub(crate) const DARK: Ink = Ink(0x1C, 0x26, 0x30);
/// Small print and ticks.
pub(crate) const SOFT: Ink = Ink(0x55, 0x5F, 0x68);
/// Strong areas.
pub(crate) const STRONG: Ink = Ink(0x3F, 0x60, 0x7D);
/// Areas that carry a whisker or a label.
pub(crate) const MEDIUM: Ink = Ink(0x9D, 0xB4, 0xC8);
/// Bands behind the data.
pub(crate) const BAND: Ink = Ink(0xEA, 0xEC, 0xEE);
/// Gridlines.
pub(crate) const GRID: Ink = Ink(0xDC, 0xDF, 0xE2);

/// How an area is filled besides its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Texture {
    /// Colour alone.
    Solid,
    /// Lines that rise to the right.
    Rising,
    /// Lines that fall to the right.
    Falling,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
    /// Rising and falling lines.
    Crossed,
}

/// How one crop is told from another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Look {
    /// Colour of the area.
    pub(crate) fill: Ink,
    /// Lines over it.
    pub(crate) texture: Texture,
}

/// Looks of crops, in the order in which they are given out: neighbours differ most.
pub(crate) const CROPS: [Look; 7] = [
    look(0x00, 0x72, 0xB2, Texture::Solid),
    look(0xE6, 0x9F, 0x00, Texture::Rising),
    look(0x00, 0x9E, 0x73, Texture::Level),
    look(0xCC, 0x79, 0xA7, Texture::Solid),
    look(0x56, 0xB4, 0xE9, Texture::Falling),
    look(0xD5, 0x5E, 0x00, Texture::Crossed),
    look(0xF0, 0xE4, 0x42, Texture::Solid),
];

/// Look of all crops that got no colour of their own.
pub(crate) const OTHER: Look = look(0xC9, 0xC9, 0xC9, Texture::Upright);

/// Inks of a chart on paper, each with the ink that takes its place on a dark screen. Looks of crops stay as they are.
const ON_DARK: [(Ink, Ink); 7] = [
    (WHITE, Ink(0x16, 0x1B, 0x20)),
    (DARK, Ink(0xE8, 0xEC, 0xF0)),
    (SOFT, Ink(0xB4, 0xBD, 0xC6)),
    (STRONG, Ink(0x9F, 0xC3, 0xE3)),
    (MEDIUM, Ink(0x4C, 0x66, 0x80)),
    (BAND, Ink(0x2C, 0x34, 0x3C)),
    (GRID, Ink(0x3A, 0x43, 0x4C)),
];

/// Returns style rules that turn charts inside a page dark; the page says when they hold.
#[must_use]
pub fn dark_rules() -> String {
    ON_DARK
        .iter()
        .map(|(Ink(r, g, b), Ink(dr, dg, db))| {
            let (paper, dark) = (
                format!("#{r:02X}{g:02X}{b:02X}"),
                format!("#{dr:02X}{dg:02X}{db:02X}"),
            );
            format!(
                "svg [fill=\"{paper}\"] {{ fill: {dark}; }}\nsvg [stroke=\"{paper}\"] {{ stroke: {dark}; }}\n"
            )
        })
        .collect()
}

const fn look(red: u8, green: u8, blue: u8, texture: Texture) -> Look {
    Look {
        fill: Ink(red, green, blue),
        texture,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance by the usual weights of ITU-R BT.709, on the values as stored.
    fn grey(Ink(r, g, b): Ink) -> f64 {
        0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b)
    }

    #[test]
    fn any_two_crops_differ_without_colour() {
        let looks: Vec<Look> = CROPS.iter().copied().chain([OTHER]).collect();
        for (i, a) in looks.iter().enumerate() {
            for b in &looks[i + 1..] {
                assert!(
                    a.texture != b.texture || (grey(a.fill) - grey(b.fill)).abs() > 25.0,
                    "{a:?} {b:?}"
                );
            }
        }
    }
}
