//! The embedded font of every picture: subsets of Noto Sans, regular and bold (SIL Open Font License 1.1; `data/fonts/`).
//!
//! Covers Latin, Greek and Cyrillic letters, fractions and arrows. Knows nothing of charts.

/// Family name by which pictures ask for the font.
pub const FAMILY: &str = "Noto Sans";
/// The regular face, a TrueType file.
pub const REGULAR: &[u8] = include_bytes!("../../data/fonts/NotoSans-Regular-subset.ttf");
/// The bold face, a TrueType file.
pub const BOLD: &[u8] = include_bytes!("../../data/fonts/NotoSans-Bold-subset.ttf");
