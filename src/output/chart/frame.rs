//! What surrounds every chart: title and subtitle above, small print below, and the sentence of an empty chart.

use super::Caption;
use super::lettering::{Anchor, Type, lines};
use super::palette::{DARK, SOFT};
use super::svg::{Canvas, Svg, picture};

/// Width of a chart, in logical pixels; printed across A4 upright, small type is then 7 points.
pub(crate) const WIDTH: f64 = 900.0;
/// Width of a narrow one: what a screen of 360 pixels leaves, so that its type is not shrunk.
pub(crate) const NARROW: f64 = 340.0;
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

/// Left and right margin of a narrow chart, in logical pixels.
const NARROW_MARGIN: f64 = 4.0;

impl Caption {
    /// Returns the width of the chart.
    pub(crate) const fn width(&self) -> f64 {
        if self.narrow { NARROW } else { WIDTH }
    }
    /// Returns its left and right margin.
    pub(crate) const fn margin(&self) -> f64 {
        if self.narrow { NARROW_MARGIN } else { MARGIN }
    }
    /// Returns the width between the margins that words may take.
    pub(crate) const fn room(&self) -> f64 {
        self.words_in(self.width() - 2.0 * self.margin())
    }
    /// Returns how much of a width words may take: a phone has its own face, which may be wider than the embedded one.
    pub(crate) const fn words_in(&self, width: f64) -> f64 {
        if self.narrow { width * 0.87 } else { width }
    }
    /// Returns the type of its title.
    const fn title_type(&self) -> Type {
        Type {
            size: if self.narrow { 17.0 } else { TITLE.size },
            ..TITLE
        }
    }
}

/// Returns where what is below title and subtitle may begin.
pub(crate) fn head_height(caption: &Caption) -> f64 {
    let titles = lines(&caption.title, caption.title_type(), caption.room()).len() as f64;
    let sentences = lines(&caption.subtitle, BODY, caption.room()).len() as f64;
    12.0 + 26.0 * titles + FEED * sentences + 6.0
}

/// Returns the height of the small print and the margin below it.
pub(crate) fn foot_height(caption: &Caption) -> f64 {
    let print = lines(&caption.footer, PRINT, caption.room()).len() as f64;
    16.0 * print + 12.0
}

/// Draws title, subtitle and small print of a chart so high.
pub(crate) fn draw(canvas: &mut Canvas<'_>, caption: &Caption, height: f64) {
    let (left, width) = (caption.margin(), caption.room());
    let title = caption.title_type();
    let mut y = 12.0;
    for line in lines(&caption.title, title, width) {
        y += 26.0;
        canvas.text((left, y - 6.0), Anchor::Start, title, &line);
    }
    for line in lines(&caption.subtitle, BODY, width) {
        y += FEED;
        canvas.text((left, y - 3.0), Anchor::Start, BODY, &line);
    }
    let mut y = height - foot_height(caption);
    for line in lines(&caption.footer, PRINT, width) {
        y += 16.0;
        canvas.text((left, y - 3.0), Anchor::Start, PRINT, &line);
    }
}

/// Writes, beside the ends of an axis of weeks, what its ticks are.
pub(crate) fn weeks_start(canvas: &mut Canvas<'_>, (x, y): (f64, f64)) {
    canvas.text((x, y), Anchor::Start, PRINT, "weeks start");
    canvas.text((x, y + 14.0), Anchor::Start, PRINT, "on Monday");
}

/// Draws a chart that has nothing to show and says so.
pub(crate) fn empty(caption: &Caption, sentence: &str) -> Svg {
    let top = head_height(caption);
    let height = top + 120.0 + foot_height(caption);
    let width = caption.width();
    picture(width, height, &caption.title, sentence, |canvas| {
        draw(canvas, caption, height);
        for (i, line) in (0_u8..).zip(lines(sentence, BODY, caption.room())) {
            let at = (width / 2.0, top + 60.0 + FEED * f64::from(i));
            canvas.text(at, Anchor::Middle, BODY, &line);
        }
    })
}
