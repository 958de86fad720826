//! Chance of a harvest against the sowing date: one small panel for each crop, all on the same dates.

use super::Caption;
use super::axis::WeekAxis;
use super::frame::{self, BODY, MARGIN, SMALL, WIDTH};
use super::key::{self, Sign};
use super::lettering::{Anchor, fitted};
use super::marks;
use super::palette::{BAND, DARK, GRID, SOFT, STRONG};
use super::svg::{Area, Canvas, Svg, picture};
use crate::garden::week::Week;
use chrono::NaiveDate;

/// Panels side by side.
const ACROSS: usize = 3;
/// Height of the plot of a panel, in logical pixels.
const PLOT: f64 = 104.0;
/// Height above and below the plot of a panel, in logical pixels.
const ABOVE: f64 = 38.0;
/// Room left of a plot for its figures.
const FIGURES: f64 = 30.0;
/// Room between panels.
const BETWEEN: f64 = 16.0;
/// Days between two dates over which a line is not drawn: nothing was tried there.
const GAP_DAYS: i64 = 9;

/// What the chart shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChancesChart {
    /// Words around it.
    pub caption: Caption,
    /// First sowing date.
    pub from: NaiveDate,
    /// Last date shown.
    pub until: NaiveDate,
    /// Chance that is wanted.
    pub wanted: f64,
    /// The panels, in order.
    pub curves: Vec<ChanceCurve>,
}

/// One panel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ChanceCurve {
    /// Crop and way.
    pub name: String,
    /// Chance of a full harvest by date, in order.
    pub full: Vec<(NaiveDate, f64)>,
    /// Chance of half a harvest by date, in order.
    pub half: Vec<(NaiveDate, f64)>,
    /// First and last of the best days.
    pub best: Option<(NaiveDate, NaiveDate)>,
    /// Last date for a full harvest.
    pub full_by: Option<NaiveDate>,
    /// Last date for half a harvest.
    pub half_by: Option<NaiveDate>,
}

/// Draws the chart.
#[must_use]
pub fn chances(data: &ChancesChart) -> Svg {
    let shown: Vec<NaiveDate> = data
        .curves
        .iter()
        .flat_map(|curve| curve.half.iter().filter(|(_, chance)| *chance > 0.0))
        .map(|(date, _)| *date)
        .collect();
    let Some(last) = shown.iter().max() else {
        return frame::empty(&data.caption, "Nothing can be sown in time any more.");
    };
    let items: Vec<(Sign, &str)> = vec![
        (Sign::Filled(DARK), "full harvest, seasons in 10"),
        (Sign::Thread, "half a harvest"),
        (Sign::Dashes, "the chance you want"),
        (Sign::Filled(BAND), "best days"),
        (Sign::Peg, "last date for full, for half"),
    ];
    let head = frame::head_height(&data.caption) + 6.0;
    let width = (WIDTH - 2.0 * MARGIN - (ACROSS as f64 - 1.0) * BETWEEN) / ACROSS as f64;
    let (first, last) = (Week::of(data.from), Week::of(*last).plus(1));
    let one = ABOVE + PLOT + WeekAxis::spanning(first, last, 0.0, width).height() + 4.0;
    let rows = data.curves.len().div_ceil(ACROSS) as f64;
    let key_top = head + rows * one + 6.0;
    let height =
        key_top + key::height(&data.caption, &items) + 4.0 + frame::foot_height(&data.caption);
    picture(
        WIDTH,
        height,
        &data.caption.title,
        &description(data),
        |canvas| {
            frame::draw(canvas, &data.caption, height);
            for (k, curve) in data.curves.iter().enumerate() {
                let left = MARGIN + (k % ACROSS) as f64 * (width + BETWEEN);
                let top = head + (k / ACROSS) as f64 * one;
                let plot = Area::new(
                    left + FIGURES,
                    top + ABOVE,
                    left + width,
                    top + ABOVE + PLOT,
                );
                panel(canvas, data, curve, plot, (first, last));
            }
            key::draw(canvas, &data.caption, &items, key_top);
        },
    )
}

fn panel(
    canvas: &mut Canvas<'_>,
    data: &ChancesChart,
    curve: &ChanceCurve,
    plot: Area,
    (first, last): (Week, Week),
) {
    let axis = WeekAxis::spanning(first, last, plot.left, plot.right);
    let y = |chance: f64| plot.bottom - chance.clamp(0.0, 1.0) * (plot.bottom - plot.top);
    let name = fitted(&curve.name, BODY, plot.right - plot.left + FIGURES);
    canvas.text(
        (plot.left - FIGURES, plot.top - 22.0),
        Anchor::Start,
        BODY,
        &name,
    );
    if let Some((from, until)) = curve.best {
        let right = axis.x_inside(until + chrono::Days::new(1));
        canvas.fill(
            Area::new(axis.x_inside(from), plot.top, right, plot.bottom),
            BAND,
        );
    }
    for (chance, figure) in [(0.0, "0"), (0.5, "5"), (1.0, "10")] {
        canvas.line(
            &[(plot.left, y(chance)), (plot.right, y(chance))],
            GRID,
            0.8,
        );
        canvas.text(
            (plot.left - 5.0, y(chance) + 4.0),
            Anchor::End,
            SMALL,
            figure,
        );
    }
    let wanted = y(data.wanted);
    marks::dashed(canvas, (plot.left, wanted), (plot.right, wanted), SOFT, 1.2);
    for (points, ink, thickness) in [(&curve.half, SOFT, 1.2), (&curve.full, DARK, 2.4)] {
        for stretch in stretches(points) {
            let line: Vec<(f64, f64)> = stretch
                .iter()
                .map(|(date, chance)| (axis.x_inside(*date), y(*chance)))
                .collect();
            canvas.line(&line, ink, thickness);
        }
    }
    for (date, ink) in [(curve.half_by, SOFT), (curve.full_by, STRONG)] {
        let Some(date) = date else { continue };
        let x = axis.x_inside(date);
        canvas.line(&[(x, wanted), (x, plot.bottom)], ink, 0.8);
        marks::peg(canvas, (x, plot.bottom + 1.0), DARK);
        let words = date.format("%-d %b").to_string();
        canvas.text_if_free((x, plot.top - 5.0), Anchor::Middle, SMALL, &words);
    }
    canvas.line(
        &[(plot.left, plot.bottom), (plot.right, plot.bottom)],
        DARK,
        1.0,
    );
    axis.months(canvas, plot.bottom + 8.0);
}

/// Points without a gap between them.
fn stretches(points: &[(NaiveDate, f64)]) -> impl Iterator<Item = &[(NaiveDate, f64)]> {
    points.chunk_by(|a, b| (b.0 - a.0).num_days() <= GAP_DAYS)
}

fn description(data: &ChancesChart) -> String {
    let words: Vec<String> = data
        .curves
        .iter()
        .map(|curve| {
            let by = |date: Option<NaiveDate>| {
                date.map_or_else(|| "never".to_owned(), |d| d.format("%-d %b").to_string())
            };
            format!(
                "{}: full by {}, half by {}",
                curve.name,
                by(curve.full_by),
                by(curve.half_by)
            )
        })
        .collect();
    words.join("; ")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::trial;
    use super::*;

    fn curve(name: &str, days: u64) -> ChanceCurve {
        let from = trial::day("2026-07-13");
        let points = |late: u64| -> Vec<(NaiveDate, f64)> {
            (0..days)
                .step_by(4)
                .map(|n| {
                    let over = n.saturating_sub(late) as f64 / 30.0;
                    (from + chrono::Days::new(n), (0.96 - over).max(0.0))
                })
                .collect()
        };
        ChanceCurve {
            name: name.to_owned(),
            full: points(30),
            half: points(50),
            best: Some((from, from + chrono::Days::new(10))),
            full_by: Some(from + chrono::Days::new(34)),
            half_by: Some(from + chrono::Days::new(54)),
        }
    }

    fn data(panels: usize) -> ChancesChart {
        ChancesChart {
            caption: trial::caption(),
            from: trial::day("2026-07-13"),
            until: trial::day("2027-01-20"),
            wanted: 0.8,
            curves: (0..panels)
                .map(|k| curve(&format!("crop {k}, in place"), 120))
                .collect(),
        }
    }

    #[test]
    fn every_panel_names_its_dates_and_nothing_overlaps() {
        for panels in [1, 5, 12] {
            let svg = chances(&data(panels));
            trial::assert_tidy(&svg);
            let named = |words: &str| svg.labels().iter().filter(|l| l.words == words).count();
            assert_eq!(named("16 Aug"), panels);
            assert_eq!(named("5 Sep"), panels);
        }
    }

    #[test]
    fn odd_curves_do_no_harm() {
        let mut odd = data(2);
        odd.curves[0].name =
            "a crop whose name goes on and on for longer than any panel is wide".to_owned();
        odd.curves[0].full[3].1 = f64::NAN;
        odd.curves[1].full.drain(5..15);
        odd.curves[1].half_by = odd.curves[1].full_by;
        odd.curves[1].best = None;
        trial::assert_tidy(&chances(&odd));
        odd.curves.clear();
        let svg = chances(&odd);
        assert!(
            svg.labels()
                .iter()
                .any(|l| l.words.starts_with("Nothing can"))
        );
    }
}
