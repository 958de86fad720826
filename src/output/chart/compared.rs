//! Forecast and record, week by week: the band of 8 seasons in 10, its middle, and a dot for what was picked.
//!
//! The whole garden above, the crops that matter below it on the same weeks, each on its own scale. A week without a dot is
//! a week of which nothing is known.

use super::Caption;
use super::axis::{Scale, WeekAxis};
use super::frame::{self, BODY, SMALL};
use super::key::{self, Sign};
use super::lettering::{Anchor, Type, fitted, lines};
use super::palette::{BAND, DARK, SOFT, STRONG, WHITE};
use super::svg::{Area, Canvas, Svg, picture};
use crate::garden::UnitSystem;
use crate::garden::units::Mass;
use crate::garden::week::Week;

/// Input of [`compared`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ComparedChart {
    /// Words around the chart.
    pub caption: Caption,
    /// First week.
    pub first: Option<Week>,
    /// The whole garden, then crops.
    pub panels: Vec<ComparedPanel>,
    /// Units of the scales.
    pub units: UnitSystem,
}

/// One strip of [`ComparedChart`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ComparedPanel {
    /// Whose it is.
    pub name: String,
    /// What is said below the name.
    pub words: String,
    /// The weeks, without gap. Shape: equally many in every panel.
    pub weeks: Vec<ComparedWeek>,
}

/// One week of a panel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ComparedWeek {
    /// Forecast that 1 season in 10 stays below.
    pub p10: Mass,
    /// Middle forecast.
    pub p50: Mass,
    /// Forecast that 1 season in 10 goes above.
    pub p90: Mass,
    /// What was picked; none if that is not known.
    pub picked: Option<Mass>,
}

/// Height of the first strip, in logical pixels.
const FIRST: f64 = 170.0;
/// Height of the others, in logical pixels.
const OTHERS: f64 = 78.0;
/// Distance between strips, in logical pixels.
const GAP: f64 = 24.0;
/// Room on the right for names, in logical pixels.
const RIGHT: f64 = 158.0;

/// Draws the chart.
#[must_use]
pub fn compared(data: &ComparedChart) -> Svg {
    let weeks = data.panels.iter().map(|p| p.weeks.len()).max().unwrap_or(0);
    let (Some(first), true) = (data.first, weeks > 0) else {
        return frame::empty(&data.caption, "No week is known yet.");
    };
    let items = [
        (Sign::Band, "forecast: 8 seasons in 10 lie in the band"),
        (Sign::Middle, "its middle"),
        (Sign::Dot, "picked (no dot: not logged, or away)"),
    ];
    let caption = &data.caption;
    let top = frame::head_height(caption) + 30.0;
    let mut bottom = top;
    let left = caption.margin() + 34.0;
    let right = caption.width() - if caption.narrow { 8.0 } else { RIGHT };
    let areas: Vec<Area> = (data.panels.iter().enumerate())
        .map(|(i, panel)| {
            let from = if i == 0 { top } else { bottom + GAP };
            let from = from + words_height(caption, panel);
            bottom = from + if i == 0 { FIRST } else { OTHERS };
            Area::new(left, from, right, bottom)
        })
        .collect();
    let axis = WeekAxis::new(first, weeks, left, right);
    let key_top = bottom + axis.height() + 12.0;
    let height = key_top + key::height(caption, &items) + 4.0 + frame::foot_height(caption);
    let description = format!(
        "Forecast and what was picked over {weeks} weeks, for {}.",
        data.panels
            .iter()
            .map(|p| p.name.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    );
    picture(
        caption.width(),
        height,
        &caption.title,
        &description,
        |canvas| {
            frame::draw(canvas, caption, height);
            for (i, (panel, area)) in data.panels.iter().zip(&areas).enumerate() {
                axis.month_lines(canvas, area.top, area.bottom);
                let unit = match (i, data.units) {
                    (0, UnitSystem::Us) => "pounds a week",
                    (0, UnitSystem::Metric) => "kilograms a week",
                    _ => "",
                };
                strip(canvas, panel, *area, (&axis, first), (data.units, unit));
                let place = if caption.narrow {
                    (caption.margin(), area.top - words_height(caption, panel))
                } else {
                    (area.right + 12.0, area.top)
                };
                strip_words(canvas, panel, place, caption.width() - caption.margin());
            }
            axis.draw(canvas, bottom);
            if !caption.narrow {
                let print = (right + 8.0, bottom + 18.0);
                canvas.text(print, Anchor::Start, frame::PRINT, "weeks start on Monday");
            }
            key::draw(canvas, caption, &items, key_top);
        },
    )
}

/// Words of a strip under its name, in the lines that they fill.
fn under_name(panel: &ComparedPanel, room: f64) -> Vec<String> {
    lines(&panel.words, Type { ink: SOFT, ..SMALL }, room)
}

/// Returns the height of a strip's name and words where they stand above it; nothing where they stand beside it.
fn words_height(caption: &Caption, panel: &ComparedPanel) -> f64 {
    if caption.narrow {
        42.0 + 16.0 * under_name(panel, caption.room()).len() as f64
    } else {
        0.0
    }
}

/// Writes name and words of a strip from an upper left corner on, up to a right edge.
fn strip_words(
    canvas: &mut Canvas<'_>,
    panel: &ComparedPanel,
    (left, top): (f64, f64),
    right: f64,
) {
    let room = right - left;
    let bold = Type { bold: true, ..BODY };
    let name = fitted(&panel.name, bold, room);
    canvas.text((left, top + 12.0), Anchor::Start, bold, &name);
    let soft = Type { ink: SOFT, ..SMALL };
    for (line, words) in (0_u8..).zip(under_name(panel, room)) {
        let at = (left, top + 30.0 + 16.0 * f64::from(line));
        canvas.text(at, Anchor::Start, soft, &words);
    }
}

/// Draws one strip.
fn strip(
    canvas: &mut Canvas<'_>,
    panel: &ComparedPanel,
    area: Area,
    (axis, first): (&WeekAxis, Week),
    (units, unit): (UnitSystem, &str),
) {
    let amount = |mass: Mass| match units {
        UnitSystem::Us => mass.lb(),
        UnitSystem::Metric => mass.kg(),
    };
    let greatest = panel
        .weeks
        .iter()
        .flat_map(|w| [Some(w.p90), w.picked])
        .flatten()
        .map(amount)
        .filter(|a| a.is_finite())
        .fold(0.0, f64::max);
    let scale = Scale::new(greatest, area);
    scale.draw(canvas, unit);
    let place = |week: usize| {
        let left = axis.week_left(first.plus(week as i64));
        (left, left + axis.step())
    };
    let y = |mass: Mass| scale.y(amount(mass));
    let edges = |edge: usize| runs(&panel.weeks, edge, place, y);
    for (low, high) in edges(0).into_iter().zip(edges(2)) {
        let around: Vec<(f64, f64)> = high.into_iter().chain(low.into_iter().rev()).collect();
        canvas.polygon(&around, BAND);
    }
    for (edge, ink, thickness) in [(0, DARK, 1.2), (2, DARK, 1.2), (1, STRONG, 2.4)] {
        for points in edges(edge) {
            canvas.line(&points, ink, thickness);
        }
    }
    canvas.line(
        &[(area.left, area.bottom), (area.right, area.bottom)],
        DARK,
        1.0,
    );
    for (i, week) in panel.weeks.iter().enumerate() {
        // Where nothing was forecast and nothing came, a dot would only be noise.
        if let Some(picked) = week
            .picked
            .filter(|&kg| kg > Mass::ZERO || week.p90 > Mass::ZERO)
        {
            let (left, right) = place(i);
            let at = (f64::midpoint(left, right), y(picked));
            canvas.disc(at, 5.0, WHITE);
            canvas.disc(at, 3.8, DARK);
        }
    }
}

/// Edges of the band as steps, one line for each run of weeks that have anything forecast: low, middle and high are 0 to 2.
fn runs(
    weeks: &[ComparedWeek],
    edge: usize,
    place: impl Fn(usize) -> (f64, f64),
    y: impl Fn(Mass) -> f64,
) -> Vec<Vec<(f64, f64)>> {
    let mut all: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut going = false;
    for (i, week) in weeks.iter().enumerate() {
        if week.p90 <= Mass::ZERO {
            going = false;
            continue;
        }
        if !going {
            all.push(Vec::new());
        }
        going = true;
        let (left, right) = place(i);
        let level = y([week.p10, week.p50, week.p90][edge]);
        if let Some(run) = all.last_mut() {
            run.extend([(left, level), (right, level)]);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::trial;
    use super::*;

    fn data(weeks: usize, panels: usize) -> ComparedChart {
        let week = |i: usize, k: usize| {
            let kg = |x: f64| Mass::from_kg(x);
            let top = (i * 7 % 13) as f64 * (1.0 + k as f64);
            ComparedWeek {
                p10: kg(0.4 * top),
                p50: kg(0.7 * top),
                p90: kg(top),
                picked: (i % 4 != 1).then(|| kg(0.9 * top)),
            }
        };
        ComparedChart {
            caption: trial::caption(),
            first: Some(Week::of(trial::day("2026-03-30"))),
            panels: (0..panels)
                .map(|k| ComparedPanel {
                    name: ["whole garden", "winter radish, the long black one"][k.min(1)].into(),
                    words: "picked 12 lb of 14 lb; bands right 7 of 9".into(),
                    weeks: (0..weeks).map(|i| week(i, k)).collect(),
                })
                .collect(),
            units: UnitSystem::Us,
        }
    }

    #[test]
    fn labels_keep_apart() {
        for weeks in [1, 12, 40, 104] {
            for panels in [1, 2, 6] {
                let mut data = data(weeks, panels);
                trial::assert_tidy(&compared(&data));
                data.caption.narrow = true;
                trial::assert_tidy(&compared(&data));
            }
        }
    }

    #[test]
    fn weeks_that_are_not_known_have_no_dot() {
        let count = |svg: &Svg| svg.text().matches("<circle").count();
        let all = compared(&data(12, 1));
        let mut fewer = data(12, 1);
        fewer.panels[0].weeks[2].picked = None;
        assert_eq!(count(&all), count(&compared(&fewer)) + 2);
    }

    #[test]
    fn nothing_known_says_so() {
        let svg = compared(&ComparedChart {
            caption: trial::caption(),
            ..ComparedChart::default()
        });
        assert!(
            svg.labels()
                .iter()
                .any(|l| l.words == "No week is known yet.")
        );
    }
}
