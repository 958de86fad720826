//! Hours needed against hours you have, week by week: bars, whiskers, the part over hatched, the chance above.
//!
//! Does not judge which weeks are overloaded: the caller says so.

use super::Caption;
use super::axis::{Scale, WeekAxis};
use super::frame::{self, SMALL};
use super::key::{self, Sign};
use super::lettering::{Anchor, Type, lines, text_width};
use super::marks;
use super::palette::{BAND, DARK, MEDIUM, SOFT, STRONG, WHITE};
use super::svg::{Area, Canvas, Svg, picture};
use crate::garden::units::Minutes;
use crate::garden::week::Week;
use chrono::NaiveDate;

/// Input of [`hours`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HoursChart {
    /// Words around the chart.
    pub caption: Caption,
    /// Weeks in order; weeks that are missing show nothing.
    pub weeks: Vec<HoursWeek>,
    /// Processing days, marked below the base line; none to leave them out.
    pub processing_days: Vec<NaiveDate>,
}

/// One week of [`HoursChart`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoursWeek {
    /// The week.
    pub week: Week,
    /// Hours needed that 1 season in 10 stays below.
    pub p10: Minutes,
    /// Hours needed in the middle season.
    pub p50: Minutes,
    /// Hours needed that 1 season in 10 goes above.
    pub p90: Minutes,
    /// Hours you have.
    pub capacity: Minutes,
    /// Chance that the week needs more than you have, 0 to 1.
    pub chance_over: f64,
    /// Whether the week is shown as overloaded.
    pub overloaded: bool,
}

/// Height of the plot, in logical pixels.
const PLOT: f64 = 300.0;
/// Room on the right for the name of the capacity line, in logical pixels.
const RIGHT: f64 = 82.0;
/// Room for pegs between base line and ticks, in logical pixels.
const PEGS: f64 = 12.0;
/// Line feed of the sentence above the figures, in logical pixels.
const CHANCE_FEED: f64 = 16.0;
/// Sentence above the figures.
const CHANCE_WORDS: &str = "Seasons in 10 in which the week needs more hours than you have:";
/// Sentence above the figures where single weeks are too narrow for one.
const CHANCE_WORDS_NARROW: &str = "Seasons in 10 in which a week needs more hours than you have, the worst of neighbouring overloaded weeks:";
/// What stands there instead where no week gets a figure.
const NEVER_WORDS: &str = "Hardly ever does a week need more hours than you have.";
/// Chances below this get no figure.
const LEAST_CHANCE: f64 = 0.05;

/// Draws the chart.
#[must_use]
pub fn hours(data: &HoursChart) -> Svg {
    let (Some(first), Some(last)) = (
        data.weeks.iter().map(|w| w.week).min(),
        data.weeks.iter().map(|w| w.week).max(),
    ) else {
        return frame::empty(&data.caption, "No week in this stretch needs the kitchen.");
    };
    let caption = &data.caption;
    let items = key_items(data);
    let head = frame::head_height(caption);
    let pegs = if data.processing_days.is_empty() {
        0.0
    } else {
        PEGS
    };
    let (left, right) = (
        caption.margin() + 34.0,
        if caption.narrow {
            caption.width() - 8.0
        } else {
            caption.width() - RIGHT
        },
    );
    let sentence = lines(
        chance_words(data, (right - left) / spanned(first, last)),
        SMALL,
        caption.words_in(caption.width() - caption.margin() - left),
    );
    let top = head + 42.0 + CHANCE_FEED * sentence.len() as f64;
    let plot = Area::new(left, top, right, top + PLOT);
    let axis = WeekAxis::spanning(first, last, plot.left, plot.right);
    let key_top = plot.bottom + pegs + axis.height() + 12.0;
    let height = key_top + key::height(caption, &items) + 4.0 + frame::foot_height(caption);

    picture(
        caption.width(),
        height,
        &caption.title,
        &description(data),
        |canvas| {
            frame::draw(canvas, caption, height);
            let greatest = data
                .weeks
                .iter()
                .map(|w| w.p90.max(w.capacity).hours())
                .filter(|h| h.is_finite())
                .fold(0.0, f64::max);
            let scale = Scale::new(greatest, plot);

            for run in runs(data) {
                let band = Area::new(
                    axis.week_left(run[0].week),
                    plot.top,
                    axis.week_left(run[run.len() - 1].week.plus(1)),
                    plot.bottom,
                );
                canvas.fill(band, BAND);
            }
            scale.draw(canvas, "hours a week");
            for week in &data.weeks {
                bar(canvas, week, &axis, &scale);
            }
            capacity(canvas, data, &axis, &scale, plot);
            for (i, line) in sentence.iter().rev().enumerate() {
                let at = (plot.left, plot.top - 44.0 - CHANCE_FEED * i as f64);
                canvas.text(at, Anchor::Start, SMALL, line);
            }
            chances(canvas, data, &axis, plot);
            for day in &data.processing_days {
                if axis.holds(Week::of(*day)) {
                    marks::peg(
                        canvas,
                        (axis.x(*day) + axis.step() / 14.0, plot.bottom + 3.0),
                        DARK,
                    );
                }
            }
            if pegs > 0.0 {
                canvas.line(
                    &[(plot.left, plot.bottom), (plot.right, plot.bottom)],
                    DARK,
                    1.0,
                );
            }
            axis.draw(canvas, plot.bottom + pegs);
            if !caption.narrow {
                frame::weeks_start(canvas, (plot.right + 8.0, plot.bottom + pegs + 18.0));
            }
            key::draw(canvas, caption, &items, key_top);
        },
    )
}

fn key_items(data: &HoursChart) -> Vec<(Sign, &'static str)> {
    let mut items = vec![(Sign::Filled(MEDIUM), "hours needed, middle season")];
    if data.caption.narrow {
        items.push((Sign::Limit, "hours you have"));
    }
    if data.weeks.iter().any(|w| w.p50 > w.capacity) {
        items.push((Sign::Hatched, "part over the hours you have"));
    }
    items.push((Sign::Whisker, "8 seasons in 10 lie between the ends"));
    if data.weeks.iter().any(|w| w.overloaded) {
        items.push((Sign::Filled(BAND), "overloaded week"));
    }
    if !data.processing_days.is_empty() {
        items.push((Sign::Peg, "processing day, as far ahead as planned"));
    }
    items
}

/// Draws the bar of one week: solid up to the hours there are, hatched above them, and the whisker.
fn bar(canvas: &mut Canvas<'_>, week: &HoursWeek, axis: &WeekAxis, scale: &Scale) {
    let (left, step) = (axis.week_left(week.week), axis.step());
    let gap = (step * 0.12).min(4.0);
    let (left, right) = (left + gap, left + step - gap);
    let base = scale.y(0.0);
    let within = scale.y(week.p50.min(week.capacity).hours());
    canvas.fill(Area::new(left, within, right, base), MEDIUM);
    if week.p50 > week.capacity {
        marks::hatched(
            canvas,
            Area::new(left, scale.y(week.p50.hours()), right, within),
            STRONG,
        );
    }
    if week.p90.hours() > 0.0 {
        let half = ((right - left) * 0.3).min(5.0);
        marks::whisker(
            canvas,
            f64::midpoint(left, right),
            scale.y(week.p90.hours()),
            scale.y(week.p10.hours()),
            half,
        );
    }
}

/// Draws the hours you have as a step line with its name at the right end.
fn capacity(
    canvas: &mut Canvas<'_>,
    data: &HoursChart,
    axis: &WeekAxis,
    scale: &Scale,
    plot: Area,
) {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for week in &data.weeks {
        let (left, y) = (axis.week_left(week.week), scale.y(week.capacity.hours()));
        points.extend([(left, y), (left + axis.step(), y)]);
    }
    canvas.line(&points, WHITE, 5.0);
    canvas.line(&points, DARK, 2.4);
    let Some(&(_, end)) = points.last().filter(|_| !data.caption.narrow) else {
        return;
    };
    let kind = Type {
        bold: true,
        ..SMALL
    };
    let first_base = (end - 4.0).clamp(plot.top + 10.0, plot.bottom - 20.0);
    for (i, line) in lines("hours you have", kind, RIGHT - 14.0)
        .iter()
        .enumerate()
    {
        canvas.text(
            (plot.right + 8.0, first_base + 14.0 * i as f64),
            Anchor::Start,
            kind,
            line,
        );
    }
}

/// Writes the chances above the plot: in words where weeks are wide, as figures where they are narrow, one for each run where they are narrower still.
fn chances(canvas: &mut Canvas<'_>, data: &HoursChart, axis: &WeekAxis, plot: Area) {
    let figure = |chance: f64| format!("{:.0}", (chance * 10.0).round().clamp(1.0, 10.0));
    let kind = |overloaded| Type {
        bold: overloaded,
        ink: if overloaded { DARK } else { SOFT },
        ..SMALL
    };
    let base = plot.top - 26.0;
    if crowded(axis.step()) {
        for run in runs(data) {
            let worst = run.iter().map(|w| w.chance_over).fold(0.0, f64::max);
            let middle = f64::midpoint(
                axis.week_left(run[0].week),
                axis.week_left(run[run.len() - 1].week.plus(1)),
            );
            canvas.text_if_free((middle, base), Anchor::Middle, kind(true), &figure(worst));
        }
        return;
    }
    for week in data.weeks.iter().filter(|w| w.chance_over >= LEAST_CHANCE) {
        let middle = axis.week_left(week.week) + axis.step() / 2.0;
        let long = format!("{} in 10", figure(week.chance_over));
        let kind = kind(week.overloaded);
        let words = if text_width("10 in 10", kind) + 4.0 <= axis.step() {
            long
        } else {
            figure(week.chance_over)
        };
        canvas.text((middle, base), Anchor::Middle, kind, &words);
    }
}

/// Says whether weeks so wide are too narrow for a figure each.
fn crowded(step: f64) -> bool {
    let bold = Type {
        bold: true,
        ..SMALL
    };
    step < text_width("10", bold) + 1.0
}

/// Returns the number of weeks from one to another, both included.
fn spanned(first: Week, last: Week) -> f64 {
    (last.since(first) + 1).max(1) as f64
}

/// Returns the sentence above the figures, for weeks so wide.
fn chance_words(data: &HoursChart, step: f64) -> &'static str {
    let never = |w: &HoursWeek| !w.overloaded && w.chance_over < LEAST_CHANCE;
    if data.weeks.iter().all(never) {
        NEVER_WORDS
    } else if crowded(step) {
        CHANCE_WORDS_NARROW
    } else {
        CHANCE_WORDS
    }
}

/// Returns the runs of neighbouring overloaded weeks.
fn runs(data: &HoursChart) -> Vec<&[HoursWeek]> {
    data.weeks
        .chunk_by(|a, b| a.overloaded && b.overloaded && b.week == a.week.plus(1))
        .filter(|run| run[0].overloaded)
        .collect()
}

fn description(data: &HoursChart) -> String {
    let over = data.weeks.iter().filter(|w| w.overloaded).count();
    format!(
        "Hours of kitchen work in each of {} weeks beside the hours there are; {over} weeks are overloaded.",
        data.weeks.len()
    )
}

#[cfg(test)]
mod tests {
    use super::super::trial;
    use super::*;

    #[test]
    fn labels_keep_apart_at_every_horizon() {
        for weeks in [1, 4, 12, 40, 53, 104] {
            let mut data = trial::hours(weeks);
            trial::assert_tidy(&hours(&data));
            data.caption.narrow = true;
            trial::assert_tidy(&hours(&data));
        }
    }

    #[test]
    fn the_part_over_is_hatched_only_where_there_is_one() {
        let mut data = trial::hours(40);
        let over = data.weeks.iter().filter(|w| w.p50 > w.capacity).count();
        // Each part over, and its sign in the key, is hatched and edged in the strong ink.
        let strong = |data: &HoursChart| hours(data).text().matches("stroke=\"#3F607D\"").count();
        assert!(over > 3);
        assert_eq!(strong(&data), 2 * (over + 1));
        for week in &mut data.weeks {
            week.capacity = Minutes::from_hours(100.0);
        }
        assert_eq!(strong(&data), 0);
    }

    #[test]
    fn every_chance_of_five_in_a_hundred_or_more_is_written() {
        let data = trial::hours(40);
        let written = data
            .weeks
            .iter()
            .filter(|w| w.chance_over >= LEAST_CHANCE)
            .count();
        let base = hours(&HoursChart {
            weeks: data
                .weeks
                .iter()
                .map(|w| HoursWeek {
                    chance_over: 0.0,
                    ..*w
                })
                .collect(),
            ..data.clone()
        });
        assert_eq!(hours(&data).labels().len() - base.labels().len(), written);
        assert!(written > 3);
    }

    #[test]
    fn nothing_to_show_says_so() {
        let svg = hours(&HoursChart {
            caption: trial::caption(),
            ..HoursChart::default()
        });
        assert!(svg.labels().iter().any(|l| l.words.starts_with("No week")));
        trial::assert_tidy(&svg);
    }

    #[test]
    fn odd_weeks_do_no_harm() {
        let mut data = trial::hours(3);
        data.weeks[0].p90 = Minutes::from_hours(f64::NAN);
        data.weeks[1].capacity = Minutes::ZERO;
        data.weeks[2].p50 = Minutes::ZERO;
        data.weeks.remove(1);
        trial::assert_tidy(&hours(&data));
    }
}
