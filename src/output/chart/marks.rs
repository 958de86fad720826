//! Marks every chart shares: hatching, textured areas, whiskers, small signs on a line.

use super::lettering::{Anchor, Type, text_width};
use super::palette::{DARK, Ink, Look, Texture, WHITE};
use super::svg::{Area, Canvas};

/// Distance between hatching lines, in logical pixels.
const HATCH_GAP: f64 = 4.5;
/// Thickness of hatching lines, in logical pixels.
const HATCH_LINE: f64 = 0.9;

/// Half the thickness of what is drawn around hatched areas, in logical pixels.
const EDGE: f64 = 0.5;

/// Half width below which white around a whisker would hide its bar, in logical pixels.
const NARROW_WHISKER: f64 = 3.0;

/// Draws an area that is in doubt or too much: white, hatched and edged in one ink.
pub(crate) fn hatched(canvas: &mut Canvas<'_>, area: Area, ink: Ink) {
    canvas.fill(area, WHITE);
    texture(canvas, area, Texture::Rising, ink);
    canvas.outline(area, ink, 1.0);
}

/// Draws an area in the look of a crop, with white around it to part it from its neighbours.
pub(crate) fn looked(canvas: &mut Canvas<'_>, area: Area, look: Look) {
    canvas.fill(area, look.fill);
    if area.bottom - area.top > 2.0 {
        texture(canvas, area, look.texture, DARK);
        canvas.outline(area, WHITE, 1.0);
    }
}

/// Draws the lines of a texture over an area.
fn texture(canvas: &mut Canvas<'_>, area: Area, texture: Texture, ink: Ink) {
    match texture {
        Texture::Solid => {}
        Texture::Rising => slanted(canvas, area, ink, false),
        Texture::Falling => slanted(canvas, area, ink, true),
        Texture::Crossed => {
            slanted(canvas, area, ink, false);
            slanted(canvas, area, ink, true);
        }
        Texture::Upright => {
            let mut x = area.left + HATCH_GAP * 0.8;
            while x < area.right - HATCH_LINE {
                canvas.line(&[(x, area.top), (x, area.bottom)], ink, HATCH_LINE);
                x += HATCH_GAP * 0.9;
            }
        }
        Texture::Level => {
            let mut y = area.bottom - HATCH_GAP * 0.7;
            while y > area.top + HATCH_LINE {
                canvas.line(&[(area.left, y), (area.right, y)], ink, HATCH_LINE);
                y -= HATCH_GAP * 0.9;
            }
        }
    }
}

/// Draws slanted lines inside a rectangle as one line that runs to and fro along the edges: a tenth of the text of single lines.
fn slanted(canvas: &mut Canvas<'_>, area: Area, ink: Ink, falling: bool) {
    // The way along the edges stays under whatever is drawn around the area.
    let area = Area::new(
        area.left + EDGE,
        area.top + EDGE,
        area.right - EDGE,
        area.bottom - EDGE,
    );
    let (width, height) = (area.right - area.left, area.bottom - area.top);
    if width <= 0.0 || height <= 0.0 {
        return;
    }
    let place = |(x, y): (f64, f64)| {
        let x = if falling { width - x } else { x };
        (area.left + x, area.top + y)
    };
    let gap = HATCH_GAP * std::f64::consts::SQRT_2;
    let mut points = Vec::new();
    let mut reach = gap * 0.6;
    let mut upwards = true;
    let mut before = 0.0;
    while reach < width + height {
        // The line x + y = reach, from the left or lower edge to the upper or right edge.
        let low = (reach - height.min(reach), height.min(reach));
        let high = (width.min(reach), reach - width.min(reach));
        let (from, to, corner, turned) = if upwards {
            (low, high, (0.0, height), before < height && reach > height)
        } else {
            (high, low, (width, 0.0), before < width && reach > width)
        };
        if turned && !points.is_empty() {
            points.push(place(corner));
        }
        points.push(place(from));
        points.push(place(to));
        before = reach;
        reach += gap;
        upwards = !upwards;
    }
    if points.len() > 1 {
        canvas.line(&points, ink, HATCH_LINE);
    }
}

/// Draws an upright whisker with short ends; white around it, unless it is narrow, so that it stands out from hatching.
pub(crate) fn whisker(canvas: &mut Canvas<'_>, x: f64, top: f64, bottom: f64, half_width: f64) {
    let under = (half_width >= NARROW_WHISKER).then_some((WHITE, 3.4));
    for (ink, thickness) in under.into_iter().chain([(DARK, 1.3)]) {
        canvas.line(&[(x, top), (x, bottom)], ink, thickness);
        for y in [top, bottom] {
            canvas.line(&[(x - half_width, y), (x + half_width, y)], ink, thickness);
        }
    }
}

/// Draws a small triangle that points up to `tip`.
pub(crate) fn peg(canvas: &mut Canvas<'_>, (x, y): (f64, f64), ink: Ink) {
    canvas.polygon(&[(x, y), (x + 4.0, y + 7.0), (x - 4.0, y + 7.0)], ink);
}

/// Draws the sign for sowing: an open ring.
pub(crate) fn ring(canvas: &mut Canvas<'_>, centre: (f64, f64), ink: Ink) {
    canvas.disc(centre, 3.4, ink);
    canvas.disc(centre, 1.9, WHITE);
}

/// Draws the sign for setting out: a full square on its corner.
pub(crate) fn lozenge(canvas: &mut Canvas<'_>, (x, y): (f64, f64), ink: Ink) {
    canvas.polygon(
        &[(x, y - 4.6), (x + 4.6, y), (x, y + 4.6), (x - 4.6, y)],
        ink,
    );
}

/// Draws a line as a row of dashes.
pub(crate) fn dashed(
    canvas: &mut Canvas<'_>,
    from: (f64, f64),
    to: (f64, f64),
    ink: Ink,
    thickness: f64,
) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = (dx * dx + dy * dy).sqrt();
    let mut at = 0.0;
    while at < length {
        let end = (at + 4.0).min(length);
        let on = |part: f64| (from.0 + dx * part / length, from.1 + dy * part / length);
        canvas.line(&[on(at), on(end)], ink, thickness);
        at += 7.0;
    }
}

/// Writes a text on white, where bands and lines run behind it.
pub(crate) fn text_on_white(
    canvas: &mut Canvas<'_>,
    at: (f64, f64),
    anchor: Anchor,
    kind: Type,
    words: &str,
) {
    let width = text_width(words, kind) + 4.0;
    let left = if anchor == Anchor::End {
        at.0 - width + 2.0
    } else {
        at.0 - 2.0
    };
    canvas.fill(
        Area::new(left, at.1 - 10.5, left + width, at.1 + 3.5),
        WHITE,
    );
    canvas.text(at, anchor, kind, words);
}
