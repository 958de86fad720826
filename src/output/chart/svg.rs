//! The drawing surface: logical pixels in, SVG text out, and a record of every label's box.
//!
//! Plotters writes whole numbers and divides text sizes by 1.24, so everything is drawn at ten times its size and
//! shrunk by the view box. Every text is measured with the embedded font before it is placed.

use super::lettering::{Anchor, Type, face, register_fonts, text_width};
use super::palette::{Ink, WHITE};
use crate::output::font;
use crate::output::text::{escaped, visible};
use plotters::prelude::{DrawingBackend, RGBColor, SVGBackend, ShapeStyle, TextStyle};
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Drawing units in one logical pixel.
const FINE: f64 = 10.0;
/// What plotters divides text sizes by.
const PLOTTERS_TEXT: f64 = 1.24;
/// What plotters puts between the y of a text and its base line, in em.
const BASELINE_EM: f64 = 0.76;

/// A finished picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Svg {
    text: String,
    /// Width in logical pixels.
    width: f64,
    /// Box of every label, in logical pixels, for tests of crowding.
    #[cfg_attr(not(test), allow(dead_code, reason = "kept for the tests of crowding"))]
    labels: Vec<LabelBox>,
}

impl Svg {
    /// Returns the SVG document.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }
    /// Returns the width in logical pixels.
    pub(crate) const fn width(&self) -> f64 {
        self.width
    }
    /// Returns the boxes of all labels.
    #[cfg(test)]
    pub(crate) fn labels(&self) -> &[LabelBox] {
        &self.labels
    }
}

/// A rectangle in logical pixels; y grows downwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    /// Left edge.
    pub(crate) left: f64,
    /// Upper edge.
    pub(crate) top: f64,
    /// Right edge.
    pub(crate) right: f64,
    /// Lower edge.
    pub(crate) bottom: f64,
}

impl Area {
    /// Makes a rectangle from its edges.
    pub(crate) const fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self {
            left,
            top,
            right,
            bottom,
        }
    }
    /// Says whether two rectangles share any ground.
    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// Where a label stands and what it says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LabelBox {
    /// Its rectangle.
    pub(crate) area: Area,
    /// Its words.
    #[cfg_attr(not(test), allow(dead_code, reason = "named in failing tests"))]
    pub(crate) words: String,
}

/// The surface a chart draws on.
pub(crate) struct Canvas<'a> {
    backend: SVGBackend<'a>,
    labels: Vec<LabelBox>,
}

/// Reason given where drawing into memory is said never to fail.
const IN_MEMORY: &str = "drawing into memory does not fail";

/// Draws a picture of a size in logical pixels; title and description are for readers who do not see it.
pub(crate) fn picture(
    width: f64,
    height: f64,
    title: &str,
    description: &str,
    draw: impl FnOnce(&mut Canvas<'_>),
) -> Svg {
    register_fonts();
    let (fine_width, fine_height) = (fine(width), fine(height));
    let mut body = String::new();
    let labels = {
        let size = (fine_width.unsigned_abs(), fine_height.unsigned_abs());
        let mut canvas = Canvas {
            backend: SVGBackend::with_string(&mut body, size),
            labels: Vec::new(),
        };
        canvas.fill(Area::new(0.0, 0.0, width, height), WHITE);
        draw(&mut canvas);
        canvas.backend.present().expect(IN_MEMORY);
        canvas.labels
    };
    let (title, description) = (escaped(title), escaped(description));
    let head = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {fine_width} {fine_height}\" \
         role=\"img\" aria-label=\"{title}\">\n<title>{title}</title>\n<desc>{description}</desc>"
    );
    let start = body
        .find("<svg")
        .expect("the document begins with its root");
    let end = start + body[start..].find('>').expect("the root tag is closed") + 1;
    body.replace_range(..end, &head);
    // Escaped names cannot hold a quotation mark, so this touches attributes only.
    let family = font::FAMILY;
    let text = body.replace(
        &format!("font-family=\"{family}\""),
        &format!("font-family=\"{family}, sans-serif\""),
    );
    Svg {
        text,
        width,
        labels,
    }
}

impl Canvas<'_> {
    /// Fills a rectangle.
    pub(crate) fn fill(&mut self, area: Area, ink: Ink) {
        if area.right > area.left && area.bottom > area.top {
            let (from, to) = (
                point((area.left, area.top)),
                point((area.right, area.bottom)),
            );
            self.backend
                .draw_rect(from, to, &shape(ink, 0.0), true)
                .expect(IN_MEMORY);
        }
    }
    /// Draws a line through points.
    pub(crate) fn line(&mut self, points: &[(f64, f64)], ink: Ink, thickness: f64) {
        self.backend
            .draw_path(points.iter().copied().map(point), &shape(ink, thickness))
            .expect(IN_MEMORY);
    }
    /// Fills a polygon.
    pub(crate) fn polygon(&mut self, points: &[(f64, f64)], ink: Ink) {
        self.backend
            .fill_polygon(points.iter().copied().map(point), &shape(ink, 0.0))
            .expect(IN_MEMORY);
    }
    /// Draws the edge of a rectangle, inside it.
    pub(crate) fn outline(&mut self, area: Area, ink: Ink, thickness: f64) {
        let half = thickness / 2.0;
        let (l, t, r, b) = (
            area.left + half,
            area.top + half,
            area.right - half,
            area.bottom - half,
        );
        self.line(
            &[(l, t), (r, t), (r, b), (l, b), (l, t), (r, t)],
            ink,
            thickness,
        );
    }
    /// Draws a filled circle.
    pub(crate) fn disc(&mut self, centre: (f64, f64), radius: f64, ink: Ink) {
        self.backend
            .draw_circle(
                point(centre),
                fine(radius).unsigned_abs(),
                &shape(ink, 0.0),
                true,
            )
            .expect(IN_MEMORY);
    }

    /// Writes a text with its base line at y, and keeps its box.
    pub(crate) fn text(&mut self, at: (f64, f64), anchor: Anchor, kind: Type, words: &str) {
        let words = visible(words);
        if words.trim().is_empty() {
            return;
        }
        let area = text_area(at, anchor, kind, &words);
        let horizontal = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let Ink(r, g, b) = kind.ink;
        let color = RGBColor(r, g, b);
        let style = TextStyle::from(face(kind, kind.size * FINE * PLOTTERS_TEXT))
            .color(&color)
            .pos(Pos::new(horizontal, VPos::Top));
        let at = point((at.0, at.1 - BASELINE_EM * kind.size));
        self.backend.draw_text(&words, &style, at).expect(IN_MEMORY);
        self.labels.push(LabelBox { area, words });
    }
    /// Writes a text unless it would touch one already written; says whether it did.
    pub(crate) fn text_if_free(
        &mut self,
        at: (f64, f64),
        anchor: Anchor,
        kind: Type,
        words: &str,
    ) -> bool {
        let area = text_area(at, anchor, kind, words);
        let free = self.labels.iter().all(|label| !label.area.overlaps(&area));
        if free {
            self.text(at, anchor, kind, words);
        }
        free
    }
}

/// Returns the box of a text: from the tops of capitals to the feet of descenders.
fn text_area((x, y): (f64, f64), anchor: Anchor, kind: Type, words: &str) -> Area {
    let width = text_width(words, kind);
    let left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    Area::new(
        left,
        y - 0.76 * kind.size,
        left + width,
        y + 0.23 * kind.size,
    )
}

fn shape(Ink(r, g, b): Ink, thickness: f64) -> ShapeStyle {
    let color = plotters::style::Color::to_rgba(&RGBColor(r, g, b));
    ShapeStyle {
        color,
        filled: true,
        stroke_width: fine(thickness).unsigned_abs(),
    }
}

fn point((x, y): (f64, f64)) -> (i32, i32) {
    (fine(x), fine(y))
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "pictures are a few thousand pixels wide; the cast saturates"
)]
fn fine(value: f64) -> i32 {
    (value * FINE).round() as i32
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::palette::DARK;
    use super::*;
    use resvg::usvg;

    const BODY: Type = Type {
        size: 13.0,
        bold: false,
        ink: DARK,
    };

    fn texts(svg: &Svg) -> Vec<(String, usvg::Rect)> {
        let tree = super::super::png::tree(svg.text()).unwrap();
        fn walk(group: &usvg::Group, found: &mut Vec<(String, usvg::Rect)>) {
            for node in group.children() {
                match node {
                    usvg::Node::Group(inner) => walk(inner, found),
                    usvg::Node::Text(text) => {
                        let words = text.chunks().iter().map(|c| c.text().to_owned()).collect();
                        found.push((words, text.abs_bounding_box()));
                    }
                    _ => {}
                }
            }
        }
        let mut found = Vec::new();
        walk(tree.root(), &mut found);
        found
    }

    /// The outside measure is usvg's own shaping of the same text.
    #[test]
    fn measured_boxes_are_where_the_renderer_draws() {
        for bold in [false, true] {
            let kind = Type { bold, ..BODY };
            for (anchor, x) in [
                (Anchor::Start, 20.0),
                (Anchor::Middle, 300.0),
                (Anchor::End, 580.0),
            ] {
                let words = "Kitchen hours, Möhre, капуста 12½ − 3";
                let svg = picture(600.0, 60.0, "t", "d", |c| {
                    c.text((x, 30.0), anchor, kind, words)
                });
                let ours = svg.labels()[0].area;
                let (drawn, theirs) = &texts(&svg)[0];
                assert_eq!(drawn.trim(), words);
                let (left, right) = (f64::from(theirs.left()), f64::from(theirs.right()));
                assert!(
                    (left - ours.left).abs() < 3.0 && (right - ours.right).abs() < 3.0,
                    "{anchor:?} {ours:?} {theirs:?}"
                );
            }
        }
    }

    #[test]
    fn hostile_names_stay_text() {
        let name =
            "</text><script>alert(\"1\")</script> & font-family=\"Noto Sans\" \u{1b}\u{0}\u{FFFF}";
        let svg = picture(600.0, 60.0, name, name, |c| {
            c.text((10.0, 30.0), Anchor::Start, BODY, name)
        });
        assert!(!svg.text().contains("<script"));
        let document = usvg::roxmltree::Document::parse(svg.text()).unwrap();
        let texts: Vec<_> = document
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .collect();
        assert_eq!(texts[0].text().unwrap().trim(), visible(name));
        assert_eq!(document.root_element().attribute("role"), Some("img"));
        assert_eq!(
            document.root_element().attribute("aria-label"),
            Some(visible(name).as_str())
        );
    }

    #[test]
    fn a_text_that_would_touch_another_is_left_out() {
        let svg = picture(200.0, 60.0, "", "", |c| {
            assert!(c.text_if_free((10.0, 30.0), Anchor::Start, BODY, "first"));
            assert!(!c.text_if_free((20.0, 32.0), Anchor::Start, BODY, "second"));
            assert!(c.text_if_free((100.0, 30.0), Anchor::Start, BODY, "third"));
        });
        assert_eq!(svg.labels().len(), 2);
    }
}
