//! The key of a chart: a sign and its meaning, side by side, on as many lines as they need.

use super::frame::{MARGIN, SMALL, WIDTH};
use super::lettering::{Anchor, text_width};
use super::marks;
use super::palette::{BAND, DARK, Ink, MEDIUM, SOFT, STRONG};
use super::svg::{Area, Canvas};

/// A sign that a key explains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sign {
    /// A plain area in an ink.
    Filled(Ink),
    /// A hatched area.
    Hatched,
    /// A whisker.
    Whisker,
    /// Two thin lines with a pale band between.
    Band,
    /// A triangle below the axis.
    Peg,
    /// The sign for sowing.
    Ring,
    /// The sign for setting out.
    Lozenge,
    /// A thin line: growing.
    Thread,
    /// A dashed line.
    Dashes,
    /// A thick level line: the middle.
    Middle,
    /// A dot with white around it.
    Dot,
}

/// Width of a sign, in logical pixels.
const SIGN: f64 = 22.0;
/// Height of a line of the key, in logical pixels.
const FEED: f64 = 20.0;

/// Returns the height of a key.
pub(crate) fn height(items: &[(Sign, &str)]) -> f64 {
    places(items)
        .last()
        .map_or(0.0, |(_, line)| (*line as f64 + 1.0) * FEED)
}

/// Draws a key from its upper edge.
pub(crate) fn draw(canvas: &mut Canvas<'_>, items: &[(Sign, &str)], top: f64) {
    for ((sign, words), (x, line)) in items.iter().zip(places(items)) {
        let middle = top + (line as f64 + 0.5) * FEED;
        draw_sign(
            canvas,
            *sign,
            Area::new(x, middle - 6.5, x + SIGN, middle + 6.5),
        );
        canvas.text((x + SIGN + 6.0, middle + 4.3), Anchor::Start, SMALL, words);
    }
}

/// Returns left edge and line of each item.
fn places(items: &[(Sign, &str)]) -> Vec<(f64, usize)> {
    let (mut x, mut line) = (MARGIN, 0);
    let mut places = Vec::with_capacity(items.len());
    for (_, words) in items {
        let width = SIGN + 6.0 + text_width(words, SMALL);
        if x > MARGIN && x + width > WIDTH - MARGIN {
            x = MARGIN;
            line += 1;
        }
        places.push((x, line));
        x += width + 20.0;
    }
    places
}

fn draw_sign(canvas: &mut Canvas<'_>, sign: Sign, area: Area) {
    let (x, y) = (
        f64::midpoint(area.left, area.right),
        f64::midpoint(area.top, area.bottom),
    );
    let level = [(area.left, y), (area.right, y)];
    match sign {
        Sign::Filled(ink) => canvas.fill(area, ink),
        Sign::Hatched => marks::hatched(canvas, area, STRONG),
        Sign::Whisker => marks::whisker(canvas, x, area.top, area.bottom, 4.0),
        Sign::Band => {
            canvas.fill(area, BAND);
            for y in [area.top, area.bottom] {
                canvas.line(&[(area.left, y), (area.right, y)], DARK, 1.2);
            }
        }
        Sign::Peg => marks::peg(canvas, (x, y - 3.5), DARK),
        Sign::Ring => marks::ring(canvas, (x, y), STRONG),
        Sign::Lozenge => marks::lozenge(canvas, (x, y), STRONG),
        Sign::Thread => canvas.line(&level, SOFT, 1.0),
        Sign::Dashes => marks::dashed(canvas, level[0], level[1], SOFT, 1.2),
        Sign::Middle => canvas.line(&level, STRONG, 2.4),
        Sign::Dot => canvas.disc((x, y), 3.8, DARK),
    }
    if sign == Sign::Filled(BAND) || sign == Sign::Filled(MEDIUM) {
        canvas.outline(area, SOFT, 0.6);
    }
}
