//! Weekly harvest: a stack of crops for each week, and the band in which the total lies in 8 seasons of 10.
//!
//! Stacks means, because means of crops add up to the mean of the total and quantiles do not.

use super::Caption;
use super::axis::{Scale, WeekAxis};
use super::frame::{self, BODY, SMALL};
use super::key::{self, Sign};
use super::lettering::{Anchor, Type, fitted};
use super::marks;
use super::palette::{BAND, CROPS, DARK, Look, OTHER, SOFT, WHITE};
use super::svg::{Area, Canvas, Svg, picture};
use crate::garden::UnitSystem;
use crate::garden::units::Mass;
use crate::garden::week::Week;

/// Input of [`harvest`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HarvestChart {
    /// Words around the chart.
    pub caption: Caption,
    /// Weeks in order, without gaps.
    pub weeks: Vec<Week>,
    /// Crops, in any order; beyond seven the smallest become "other crops".
    pub crops: Vec<HarvestCrop>,
    /// Total that 1 season in 10 stays below. Shape: one for each week.
    pub total_p10: Vec<Mass>,
    /// Total that 1 season in 10 goes above. Shape: one for each week.
    pub total_p90: Vec<Mass>,
    /// Units of the scale.
    pub units: UnitSystem,
}

/// One crop of [`HarvestChart`].
#[derive(Debug, Clone, PartialEq)]
pub struct HarvestCrop {
    /// Its name.
    pub name: String,
    /// Mean harvest. Shape: one for each week.
    pub mean: Vec<Mass>,
}

/// Height of the plot, in logical pixels.
const PLOT: f64 = 330.0;
/// Line feed of the names of crops, in logical pixels.
const NAME_FEED: f64 = 24.0;
/// What stands over the names.
const NAMES: &str = "average harvest of";
const OVER_NAMES: Type = Type { ink: SOFT, ..SMALL };
/// Room on the right for the names of crops, in logical pixels.
const RIGHT: f64 = 168.0;

/// Draws the chart.
#[must_use]
pub fn harvest(data: &HarvestChart) -> Svg {
    let weeks = data.weeks.len();
    let stack = stacked(data);
    let (Some(&first), false) = (data.weeks.first(), stack.is_empty()) else {
        return frame::empty(&data.caption, "Nothing is ready to pick in these weeks.");
    };
    let items = [(
        Sign::Band,
        "total of the week: 8 seasons in 10 lie between the two lines",
    )];
    let caption = &data.caption;
    let head = frame::head_height(caption);
    let plot = Area::new(
        caption.margin() + 34.0,
        head + 30.0,
        caption.width() - if caption.narrow { 8.0 } else { RIGHT },
        head + 30.0 + PLOT,
    );
    let axis = WeekAxis::new(first, weeks, plot.left, plot.right);
    let names_top = plot.bottom + axis.height() + 12.0;
    let key_top = if caption.narrow {
        names_top + 14.0 + NAME_FEED * stack.len().div_ceil(2) as f64
    } else {
        names_top
    };
    let height = key_top + key::height(caption, &items) + 4.0 + frame::foot_height(caption);
    let amount = |mass: Mass| match data.units {
        UnitSystem::Us => mass.lb(),
        UnitSystem::Metric => mass.kg(),
    };

    picture(
        caption.width(),
        height,
        &caption.title,
        &description(data),
        |canvas| {
            frame::draw(canvas, caption, height);
            let tops =
                (0..weeks).map(|i| stack.iter().map(|(_, _, mean)| at(mean, i)).sum::<Mass>());
            let highs = (0..weeks).map(|i| at(&data.total_p90, i));
            let greatest = tops
                .chain(highs)
                .map(amount)
                .filter(|a| a.is_finite())
                .fold(0.0, f64::max);
            let scale = Scale::new(greatest, plot);
            scale.draw(
                canvas,
                match data.units {
                    UnitSystem::Us => "pounds a week",
                    UnitSystem::Metric => "kilograms a week",
                },
            );

            let edge = |totals: &[Mass]| -> Vec<(f64, f64)> {
                (0..weeks)
                    .flat_map(|i| {
                        let (left, y) = (
                            axis.week_left(first.plus(i as i64)),
                            scale.y(amount(at(totals, i))),
                        );
                        [(left, y), (left + axis.step(), y)]
                    })
                    .collect()
            };
            let (low, high) = (edge(&data.total_p10), edge(&data.total_p90));
            let around: Vec<(f64, f64)> = high
                .iter()
                .copied()
                .chain(low.iter().rev().copied())
                .collect();
            canvas.polygon(&around, BAND);
            for i in 0..weeks {
                let left = axis.week_left(first.plus(i as i64));
                bars(canvas, &stack, i, (left, axis.step()), |mass| {
                    scale.y(amount(mass))
                });
            }
            for line in [&high, &low] {
                canvas.line(line, WHITE, 3.2);
                canvas.line(line, DARK, 1.4);
            }
            axis.draw(canvas, plot.bottom);
            if caption.narrow {
                names_below(canvas, caption, &stack, names_top);
            } else {
                let print = (plot.right + 8.0, plot.bottom + 18.0);
                canvas.text(print, Anchor::Start, frame::PRINT, "weeks start on Monday");
                names(canvas, caption, &stack, plot);
            }
            key::draw(canvas, caption, &items, key_top);
        },
    )
}

/// Returns name, look and weekly mean of what is stacked, from the bottom up: the greatest crops first, the rest as one.
fn stacked(data: &HarvestChart) -> Vec<(String, Look, Vec<Mass>)> {
    let total = |crop: &HarvestCrop| crop.mean.iter().copied().sum::<Mass>().kg();
    let mut crops: Vec<&HarvestCrop> = data.crops.iter().filter(|crop| total(crop) > 0.0).collect();
    crops.sort_by(|a, b| {
        total(b)
            .total_cmp(&total(a))
            .then_with(|| a.name.cmp(&b.name))
    });
    // A lone eighth crop keeps its name: "other crops" would hide it for nothing.
    let named = CROPS.len().min(crops.len());
    let (own, rest) = crops.split_at(named);
    let mut stack: Vec<(String, Look, Vec<Mass>)> = own
        .iter()
        .zip(CROPS)
        .map(|(crop, look)| (crop.name.clone(), look, crop.mean.clone()))
        .collect();
    match rest {
        [] => {}
        [one] => stack.push((one.name.clone(), OTHER, one.mean.clone())),
        several => {
            let mean = (0..data.weeks.len())
                .map(|i| several.iter().map(|crop| at(&crop.mean, i)).sum())
                .collect();
            stack.push((format!("{} other crops", several.len()), OTHER, mean));
        }
    }
    stack
}

/// Returns the amount of a week; a week that is missing has none.
fn at(amounts: &[Mass], week: usize) -> Mass {
    amounts
        .get(week)
        .copied()
        .filter(|mass| mass.kg().is_finite())
        .unwrap_or(Mass::ZERO)
}

/// Draws the stack of one week, with white between the crops.
fn bars(
    canvas: &mut Canvas<'_>,
    stack: &[(String, Look, Vec<Mass>)],
    week: usize,
    (left, step): (f64, f64),
    y: impl Fn(Mass) -> f64,
) {
    let gap = (step * 0.12).min(4.0);
    let mut below = Mass::ZERO;
    for (_, look, mean) in stack {
        let above = below + at(mean, week);
        let area = Area::new(left + gap, y(above), left + step - gap, y(below));
        if area.bottom - area.top > 0.3 {
            marks::looked(canvas, area, *look);
        }
        below = above;
    }
}

/// Writes the names of the crops beside the plot, in the order of the stack.
fn names(
    canvas: &mut Canvas<'_>,
    caption: &Caption,
    stack: &[(String, Look, Vec<Mass>)],
    plot: Area,
) {
    let left = plot.right + 16.0;
    let mut y = plot.top + 6.0;
    canvas.text((left, y), Anchor::Start, OVER_NAMES, NAMES);
    for (name, look, _) in stack.iter().rev() {
        y += NAME_FEED;
        named(
            canvas,
            (left, y),
            caption.width() - caption.margin(),
            name,
            *look,
        );
    }
}

/// Writes the names below the plot in two columns, the top of the stack first.
fn names_below(
    canvas: &mut Canvas<'_>,
    caption: &Caption,
    stack: &[(String, Look, Vec<Mass>)],
    top: f64,
) {
    let half = caption.room() / 2.0;
    canvas.text((caption.margin(), top), Anchor::Start, OVER_NAMES, NAMES);
    let rows = stack.len().div_ceil(2);
    for (i, (name, look, _)) in stack.iter().rev().enumerate() {
        let left = caption.margin() + half * (i / rows) as f64;
        let y = top + NAME_FEED * ((i % rows) as f64 + 1.0);
        named(canvas, (left, y), left + half - 6.0, name, *look);
    }
}

/// Draws the sign of a crop and writes its name.
fn named(canvas: &mut Canvas<'_>, (left, y): (f64, f64), right: f64, name: &str, look: Look) {
    let area = Area::new(left, y - 12.0, left + 22.0, y + 3.0);
    marks::looked(canvas, area, look);
    canvas.outline(area, SOFT, 0.6);
    let name = fitted(name, BODY, right - left - 30.0);
    canvas.text((left + 29.0, y), Anchor::Start, BODY, &name);
}

fn description(data: &HarvestChart) -> String {
    format!(
        "Average weekly harvest of {} crops over {} weeks, stacked, with the range of the weekly total.",
        data.crops.len(),
        data.weeks.len()
    )
}

#[cfg(test)]
mod tests {
    use super::super::trial;
    use super::*;

    #[test]
    fn labels_keep_apart_at_every_horizon_and_number_of_crops() {
        for weeks in [1, 12, 40, 53, 104] {
            for crops in [1, 7, 8, 16] {
                let mut data = trial::harvest(weeks, crops);
                trial::assert_tidy(&harvest(&data));
                data.caption.narrow = true;
                trial::assert_tidy(&harvest(&data));
            }
        }
    }

    #[test]
    fn small_crops_become_one_and_nothing_is_lost() {
        let data = trial::harvest(40, 16);
        let stack = stacked(&data);
        assert_eq!(stack.len(), 8);
        assert_eq!(stack[7].0, "9 other crops");
        let before: f64 = data
            .crops
            .iter()
            .flat_map(|c| &c.mean)
            .map(|m| m.kg())
            .sum();
        let after: f64 = stack
            .iter()
            .flat_map(|(_, _, mean)| mean)
            .map(|m| m.kg())
            .sum();
        assert!((before - after).abs() < 1e-9 * before);
        let eight = stacked(&trial::harvest(40, 8));
        assert!(
            eight.iter().all(|(name, ..)| !name.contains("other")),
            "a lone eighth crop keeps its name"
        );
    }

    #[test]
    fn nothing_to_show_says_so() {
        let none = HarvestChart {
            caption: trial::caption(),
            ..HarvestChart::default()
        };
        let bare = HarvestChart {
            crops: Vec::new(),
            ..trial::harvest(10, 1)
        };
        let zero = HarvestChart {
            crops: vec![HarvestCrop {
                name: "okra".into(),
                mean: vec![Mass::ZERO; 10],
            }],
            ..bare.clone()
        };
        for data in [none, bare, zero] {
            let svg = harvest(&data);
            assert!(
                svg.labels()
                    .iter()
                    .any(|l| l.words.starts_with("Nothing is ready"))
            );
            trial::assert_tidy(&svg);
        }
    }

    #[test]
    fn units_only_change_the_scale() {
        let us = trial::harvest(10, 3);
        let metric = HarvestChart {
            units: UnitSystem::Metric,
            ..us.clone()
        };
        let has = |data: &HarvestChart, words: &str| {
            harvest(data).labels().iter().any(|l| l.words == words)
        };
        assert!(
            has(&us, "pounds a week")
                && has(&metric, "kilograms a week")
                && !has(&metric, "pounds a week")
        );
    }
}
