//! Lettering: how wide a text is in the embedded font, and how it is shortened or broken to a width.
//!
//! Measures with the same font files the pictures are drawn with, so that a label's box is where its ink is.

use super::palette::Ink;
use crate::output::font;
use crate::output::text::visible;
use plotters::prelude::{FontDesc, FontFamily, FontStyle};
use plotters::style::register_font;
use unicode_width::UnicodeWidthChar;

/// Ascent minus descent of the embedded font, in em; the measuring library takes sizes by this height.
const FONT_HEIGHT_EM: f64 = 1.362;

/// Size, weight and ink of a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Type {
    /// Em in logical pixels.
    pub(crate) size: f64,
    /// Bold face.
    pub(crate) bold: bool,
    /// Colour.
    pub(crate) ink: Ink,
}

/// Which end of a text stands at its x.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    /// Text runs to the right of x.
    Start,
    /// Text is centred on x.
    Middle,
    /// Text ends at x.
    End,
}

/// Returns the width of a text in logical pixels.
pub(crate) fn text_width(words: &str, kind: Type) -> f64 {
    register_fonts();
    // East Asian letters are not in the embedded font; other fonts draw them one em wide.
    let (wide, own): (Vec<char>, Vec<char>) = words.chars().partition(|c| c.width() == Some(2));
    let own: String = own.into_iter().collect();
    let measured = face(kind, 1000.0)
        .layout_box(&own)
        .map_or(0, |(_, (width, _))| width);
    (f64::from(measured) / 1000.0 * FONT_HEIGHT_EM + wide.len() as f64) * kind.size
}

/// Shortens a text to a width, with an ellipsis where something is missing.
pub(crate) fn fitted(words: &str, kind: Type, width: f64) -> String {
    let words = visible(words);
    if text_width(&words, kind) <= width {
        return words;
    }
    let mut kept: Vec<char> = words.chars().collect();
    while kept.pop().is_some() {
        let short: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if text_width(&short, kind) <= width {
            return short;
        }
    }
    String::new()
}

/// Breaks a paragraph into lines of a width; a word too long for a line is shortened.
pub(crate) fn lines(paragraph: &str, kind: Type, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let paragraph = visible(paragraph);
    for word in paragraph.split(' ').filter(|word| !word.is_empty()) {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer {
            Some(longer) if text_width(&longer, kind) <= width => {
                lines.pop();
                lines.push(longer);
            }
            _ => lines.push(fitted(word, kind, width)),
        }
    }
    lines
}

/// Returns the face of a text at a size in drawing units.
pub(crate) fn face(kind: Type, size: f64) -> FontDesc<'static> {
    let style = if kind.bold {
        FontStyle::Bold
    } else {
        FontStyle::Normal
    };
    FontDesc::new(FontFamily::Name(font::FAMILY), size, style)
}

/// Makes the font known to plotters, once for each face; measuring and drawing both need it.
pub(crate) fn register_fonts() {
    static ONCE: std::sync::Once = std::sync::Once::new();
    ONCE.call_once(|| {
        for (style, bytes) in [
            (FontStyle::Normal, font::REGULAR),
            (FontStyle::Bold, font::BOLD),
        ] {
            let registered = register_font(font::FAMILY, style, bytes);
            assert!(registered.is_ok(), "the embedded font is a font");
        }
    });
}

#[cfg(test)]
mod tests {
    use super::super::frame::BODY;
    use super::*;

    #[test]
    fn texts_are_shortened_and_broken_to_a_width() {
        assert_eq!(fitted("short", BODY, 200.0), "short");
        let long = "The long bed behind the shed by the old apple tree";
        let cut = fitted(long, BODY, 100.0);
        assert!(
            cut.ends_with('…') && text_width(&cut, BODY) <= 100.0 && cut.len() > 10,
            "{cut}"
        );
        assert_eq!(fitted(long, BODY, 1.0), "");
        let broken = lines(long, BODY, 100.0);
        assert!(broken.len() > 2 && broken.iter().all(|l| text_width(l, BODY) <= 100.0));
        assert_eq!(broken.join(" "), long);
    }
}
