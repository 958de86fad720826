//! What surrounds every chart: title and subtitle above, small print below, and the sentence of an empty chart.

use super::Caption;
use super::lettering::{Anchor, Type, lines};
use super::palette::{DARK, SOFT};
use super::svg::{Canvas, Svg, picture};

/// Width of every chart, in logical pixels; printed across A4 upright, small type is then 7 points.
pub(crate) const WIDTH: f64 = 900.0;
/// Left and right margin, in logical pixels.
pub(crate) const MARGIN: f64 = 18.0;

/// Titles.
pub(crate) const TITLE: Type = Type {
    size: 21.0,
    bold: true,
    ink: DARK,
};
/// Sentences and names.
pub(crate) const BODY: Type = Type {
    size: 13.5,
    bold: false,
    ink: DARK,
};
/// Figures on axes.
pub(crate) const SMALL: Type = Type {
    size: 12.0,
    bold: false,
    ink: DARK,
};
/// Small print.
pub(crate) const PRINT: Type = Type {
    size: 11.5,
    bold: false,
    ink: SOFT,
};

/// Line feed of sentences, in logical pixels.
const FEED: f64 = 18.0;

/// Returns where what is below title and subtitle may begin.
pub(crate) fn head_height(caption: &Caption) -> f64 {
    let titles = lines(&caption.title, TITLE, WIDTH - 2.0 * MARGIN).len() as f64;
    let sentences = lines(&caption.subtitle, BODY, WIDTH - 2.0 * MARGIN).len() as f64;
    12.0 + 26.0 * titles + FEED * sentences + 6.0
}

/// Returns the height of the small print and the margin below it.
pub(crate) fn foot_height(caption: &Caption) -> f64 {
    let print = lines(&caption.footer, PRINT, WIDTH - 2.0 * MARGIN).len() as f64;
    16.0 * print + 12.0
}

/// Draws title, subtitle and small print of a chart so high.
pub(crate) fn draw(canvas: &mut Canvas<'_>, caption: &Caption, height: f64) {
    let width = WIDTH - 2.0 * MARGIN;
    let mut y = 12.0;
    for line in lines(&caption.title, TITLE, width) {
        y += 26.0;
        canvas.text((MARGIN, y - 6.0), Anchor::Start, TITLE, &line);
    }
    for line in lines(&caption.subtitle, BODY, width) {
        y += FEED;
        canvas.text((MARGIN, y - 3.0), Anchor::Start, BODY, &line);
    }
    let mut y = height - foot_height(caption);
    for line in lines(&caption.footer, PRINT, width) {
        y += 16.0;
        canvas.text((MARGIN, y - 3.0), Anchor::Start, PRINT, &line);
    }
}

/// Draws a chart that has nothing to show and says so.
pub(crate) fn empty(caption: &Caption, sentence: &str) -> Svg {
    let top = head_height(caption);
    let height = top + 120.0 + foot_height(caption);
    picture(WIDTH, height, &caption.title, sentence, |canvas| {
        draw(canvas, caption, height);
        canvas.text((WIDTH / 2.0, top + 60.0), Anchor::Middle, BODY, sentence);
    })
}
