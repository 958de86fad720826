//! The key of a chart: a sign and its meaning, side by side, on as many lines as they need.

use super::Caption;
use super::frame::SMALL;
use super::lettering::{Anchor, lines, text_width};
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
    /// A whisker that lies level.
    LevelWhisker,
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
    /// A thick dark line: a limit.
    Limit,
    /// A dot with white around it.
    Dot,
}

/// Width of a sign, in logical pixels.
const SIGN: f64 = 22.0;
/// Height of a line of the key, in logical pixels.
const FEED: f64 = 20.0;

/// Returns the height of a key.
pub(crate) fn height(caption: &Caption, items: &[(Sign, &str)]) -> f64 {
    let placed = placed(caption, items);
    placed.last().map_or(0.0, |item| {
        (item.line + item.words.len().max(1)) as f64 * FEED
    })
}

/// Draws a key from its upper edge.
pub(crate) fn draw(canvas: &mut Canvas<'_>, caption: &Caption, items: &[(Sign, &str)], top: f64) {
    for ((sign, _), item) in items.iter().zip(placed(caption, items)) {
        let (x, middle) = (item.x, top + (item.line as f64 + 0.5) * FEED);
        let area = Area::new(x, middle - 6.5, x + SIGN, middle + 6.5);
        draw_sign(canvas, *sign, area);
        for (i, words) in item.words.iter().enumerate() {
            let at = (x + SIGN + 6.0, middle + 4.3 + i as f64 * FEED);
            canvas.text(at, Anchor::Start, SMALL, words);
        }
    }
}

/// Where an item of the key stands, and its words line by line.
struct Placed {
    x: f64,
    line: usize,
    words: Vec<String>,
}

/// Lays the items out side by side, as many as a line holds; words too long for a line go on below.
fn placed(caption: &Caption, items: &[(Sign, &str)]) -> Vec<Placed> {
    let left = caption.margin();
    let right = left + caption.room();
    let (mut x, mut line, mut high) = (left, 0, 1);
    let mut all = Vec::with_capacity(items.len());
    for (_, words) in items {
        let width = SIGN + 6.0 + text_width(words, SMALL);
        if x > left && x + width > right {
            x = left;
            line += high;
            high = 1;
        }
        let words = if x + width > right {
            lines(words, SMALL, right - x - SIGN - 6.0)
        } else {
            vec![(*words).to_owned()]
        };
        high = high.max(words.len());
        all.push(Placed { x, line, words });
        x += width + 20.0;
    }
    all
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
        Sign::LevelWhisker => {
            canvas.line(&level, DARK, 1.3);
            for x in [area.left, area.right] {
                canvas.line(&[(x, y - 4.0), (x, y + 4.0)], DARK, 1.3);
            }
        }
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
        Sign::Limit => canvas.line(&level, DARK, 2.4),
        Sign::Dot => canvas.disc((x, y), 3.8, DARK),
    }
    if sign == Sign::Filled(BAND) || sign == Sign::Filled(MEDIUM) {
        canvas.outline(area, SOFT, 0.6);
    }
}
