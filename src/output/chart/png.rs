//! PNG from the SVG itself, so that both show the same picture. No system font is looked at.

use super::svg::Svg;
use crate::output::font;
use resvg::{tiny_skia, usvg};
use std::sync::Arc;

/// Why a picture could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    /// The SVG text could not be read back: a fault of the program.
    #[error("the picture could not be read back: {0}")]
    Svg(#[from] usvg::Error),
    /// The width asked for is zero or gives a picture too large to hold.
    #[error("a picture {0} pixels wide cannot be made")]
    Size(u32),
    /// The pixels could not be packed.
    #[error("the picture could not be packed as PNG: {0}")]
    Packing(String),
}

/// Widest picture, in pixels: about 1.7 m of paper at 300 dots an inch.
const WIDEST: u32 = 20_000;

impl Svg {
    /// Draws the picture as PNG, so many pixels wide (1200 suits a screen and a page).
    ///
    /// # Errors
    /// If the width is zero or beyond 20,000, or the picture cannot be packed.
    pub fn png(&self, width_px: u32) -> Result<Vec<u8>, PngError> {
        if width_px == 0 || width_px > WIDEST {
            return Err(PngError::Size(width_px));
        }
        let tree = tree(&with_known_letters(self.text()))?;
        let scale = f64::from(width_px) / self.width();
        let height = (f64::from(tree.size().height()) * scale).ceil();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "both factors are positive and small"
        )]
        let mut pixels =
            tiny_skia::Pixmap::new(width_px, height as u32).ok_or(PngError::Size(width_px))?;
        #[allow(clippy::cast_possible_truncation, reason = "a scale near one")]
        let scale = scale as f32;
        pixels.fill(tiny_skia::Color::WHITE);
        resvg::render(
            &tree,
            tiny_skia::Transform::from_scale(scale, scale),
            &mut pixels.as_mut(),
        );
        pixels
            .encode_png()
            .map_err(|error| PngError::Packing(error.to_string()))
    }
}

/// Puts `�` for letters the embedded font lacks, because a gap would hide that something is written there.
fn with_known_letters(svg: &str) -> String {
    svg.chars()
        .map(|c| {
            if c == '\n' || font::holds(c) {
                c
            } else {
                '\u{FFFD}'
            }
        })
        .collect()
}

/// Reads SVG text with the embedded font; text in any other font would silently not be drawn.
pub(crate) fn tree(svg: &str) -> Result<usvg::Tree, usvg::Error> {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::BOLD.to_vec());
    fonts.set_sans_serif_family(font::FAMILY);
    let options = usvg::Options {
        font_family: font::FAMILY.to_owned(),
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(svg, &options)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::lettering::{Anchor, Type};
    use super::super::palette::DARK;
    use super::super::svg::{Area, picture};
    use super::super::trial::ink;
    use super::*;

    #[test]
    fn words_leave_ink_in_both_faces() {
        for bold in [false, true] {
            let kind = Type {
                size: 20.0,
                bold,
                ink: DARK,
            };
            let svg = picture(300.0, 60.0, "t", "d", |c| {
                c.text((10.0, 40.0), Anchor::Start, kind, "Hours – Stunden – часы")
            });
            let png = svg.png(600).unwrap();
            let area = svg.labels()[0].area;
            assert!(ink(&svg, &png, area) > 500);
            assert_eq!(
                ink(&svg, &png, Area::new(0.0, 48.0, 300.0, 60.0)),
                0,
                "no ink outside"
            );
        }
    }

    /// The outside judge is the renderer's own reading of the font: every letter said to be held has an outline.
    #[test]
    fn letters_are_drawn_or_replaced() {
        let outlined = |letter: char, bold| {
            let kind = Type {
                size: 20.0,
                bold,
                ink: DARK,
            };
            let svg = picture(60.0, 60.0, "", "", |c| {
                c.text((30.0, 40.0), Anchor::Start, kind, &letter.to_string())
            });
            let drawn = tree(svg.text()).unwrap();
            texts_drawn(drawn.root())
        };
        for bold in [false, true] {
            for letter in "aZ09Éßłőσжє½⅓¾×−°→↓≤≈€…–\u{FFFD}".chars() {
                assert!(font::holds(letter) && outlined(letter, bold), "{letter}");
            }
        }
        for letter in ['白', '■', '😀'] {
            assert!(!font::holds(letter) && !outlined(letter, false), "{letter}");
        }
        let kind = Type {
            size: 20.0,
            bold: false,
            ink: DARK,
        };
        let svg = picture(300.0, 60.0, "", "", |c| {
            c.text((10.0, 40.0), Anchor::Start, kind, "白菜")
        });
        assert!(svg.text().contains("白菜"), "a browser has other fonts");
        assert!(ink(&svg, &svg.png(600).unwrap(), svg.labels()[0].area) > 100);
    }

    fn texts_drawn(group: &usvg::Group) -> bool {
        group.children().iter().any(|node| match node {
            usvg::Node::Group(inner) => texts_drawn(inner),
            usvg::Node::Text(text) => text.flattened().has_children(),
            _ => false,
        })
    }

    #[test]
    fn width_is_as_asked_and_nonsense_is_refused() {
        let svg = picture(300.0, 60.5, "t", "d", |_| ());
        let pixels = tiny_skia::Pixmap::decode_png(&svg.png(1200).unwrap()).unwrap();
        assert_eq!((pixels.width(), pixels.height()), (1200, 242));
        assert!(matches!(svg.png(0), Err(PngError::Size(0))));
        assert!(matches!(svg.png(u32::MAX), Err(PngError::Size(_))));
    }
}
