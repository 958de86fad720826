//! The embedded font of every picture: subsets of Noto Sans, regular and bold (SIL Open Font License 1.1; `data/fonts/`).
//!
//! Covers Latin, Greek and Cyrillic letters, fractions and arrows. Knows nothing of charts.

/// Family name by which pictures ask for the font.
pub const FAMILY: &str = "Noto Sans";
/// The regular face, a TrueType file.
pub const REGULAR: &[u8] = include_bytes!("../../data/fonts/NotoSans-Regular-subset.ttf");
/// The bold face, a TrueType file.
pub const BOLD: &[u8] = include_bytes!("../../data/fonts/NotoSans-Bold-subset.ttf");

/// First and last of each run of letters both faces hold, read from their character maps.
const HELD: [(char, char); 37] = [
    ('\u{20}', '\u{7E}'),
    ('\u{A0}', '\u{17F}'),
    ('\u{192}', '\u{192}'),
    ('\u{218}', '\u{21B}'),
    ('\u{2BB}', '\u{2BC}'),
    ('\u{2C6}', '\u{2C7}'),
    ('\u{2D8}', '\u{2DD}'),
    ('\u{300}', '\u{304}'),
    ('\u{306}', '\u{30C}'),
    ('\u{326}', '\u{328}'),
    ('\u{384}', '\u{38A}'),
    ('\u{38C}', '\u{38C}'),
    ('\u{38E}', '\u{3A1}'),
    ('\u{3A3}', '\u{3CE}'),
    ('\u{400}', '\u{45F}'),
    ('\u{490}', '\u{491}'),
    ('\u{1E80}', '\u{1E85}'),
    ('\u{1E9E}', '\u{1E9E}'),
    ('\u{1EF2}', '\u{1EF3}'),
    ('\u{2010}', '\u{2015}'),
    ('\u{2018}', '\u{201E}'),
    ('\u{2020}', '\u{2022}'),
    ('\u{2026}', '\u{2026}'),
    ('\u{202F}', '\u{2030}'),
    ('\u{2032}', '\u{2033}'),
    ('\u{2039}', '\u{203A}'),
    ('\u{2044}', '\u{2044}'),
    ('\u{20AC}', '\u{20AC}'),
    ('\u{2116}', '\u{2116}'),
    ('\u{2122}', '\u{2122}'),
    ('\u{2150}', '\u{215E}'),
    ('\u{2190}', '\u{2193}'),
    ('\u{2212}', '\u{2212}'),
    ('\u{2248}', '\u{2248}'),
    ('\u{2260}', '\u{2260}'),
    ('\u{2264}', '\u{2265}'),
    ('\u{FFFD}', '\u{FFFD}'),
];

/// Says whether the font holds a letter; what it lacks would silently leave a gap in a PNG.
#[must_use]
pub fn holds(letter: char) -> bool {
    HELD.iter()
        .any(|(first, last)| (*first..=*last).contains(&letter))
}
