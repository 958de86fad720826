//! Stores against goals: a level bar for each goal, what is in store and what will be made, and the goal as an upright line.
//!
//! Every goal has its own scale, parts of the goal, since a bag of beans and a braid of garlic do not compare; the figures
//! stand beside. Does not know what a goal is made of.

use super::Caption;
use super::frame::{self, MARGIN, PRINT, SMALL};
use super::key::{self, Sign};
use super::lettering::{Anchor, Type, fitted, lines};
use super::palette::{BAND, DARK, GRID, MEDIUM, STRONG, WHITE};
use super::svg::{Area, Canvas, Svg, picture};
use crate::output::rounding;

/// Input of [`goals`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GoalsChart {
    /// Words around the chart.
    pub caption: Caption,
    /// Goals in the household's order.
    pub goals: Vec<GoalBar>,
}

/// One goal of [`GoalsChart`].
#[derive(Debug, Clone, PartialEq)]
pub struct GoalBar {
    /// Its products, in words.
    pub name: String,
    /// Containers wanted.
    pub wanted: f64,
    /// Containers in store today.
    pub now: f64,
    /// Containers by its day that 1 season in 10 stays below.
    pub p10: f64,
    /// Containers by its day in the middle season.
    pub p50: f64,
    /// Containers by its day that 1 season in 10 goes above.
    pub p90: f64,
    /// Chance that it is reached, 0 to 1.
    pub chance: f64,
}

/// Right edge of the names, left and right edge of the bars, in logical pixels.
const NAMES: f64 = 240.0;
const LEFT: f64 = 256.0;
const RIGHT: f64 = 700.0;
/// Height of a goal, in logical pixels.
const ROW: f64 = 40.0;
/// The same where its words stand above its bar.
const TALL_ROW: f64 = 66.0;
/// Greatest part of a goal that the scale shows where some season passes it.
const MOST: f64 = 1.25;

/// Draws the chart.
#[must_use]
pub fn goals(data: &GoalsChart) -> Svg {
    let shown: Vec<&GoalBar> = data.goals.iter().filter(|g| g.wanted > 0.0).collect();
    if shown.is_empty() {
        return frame::empty(&data.caption, "No goal is set for the winter.");
    }
    let caption = &data.caption;
    let passed = shown.iter().any(|g| g.p90 > g.wanted * 1.01);
    let (left, right, row_height) = if caption.narrow {
        let most = shown
            .iter()
            .map(|g| name_lines(&g.name, caption.room()).len());
        let more = 15.0 * (most.max().unwrap_or(1).max(1) - 1) as f64;
        (
            caption.margin() + 12.0,
            caption.width() - 30.0,
            TALL_ROW + more,
        )
    } else {
        (LEFT, RIGHT, ROW)
    };
    let x = |part: f64| left + (right - left) * place(part, if passed { MOST } else { 1.0 });
    let items = [
        (Sign::Filled(STRONG), "in store today"),
        (
            Sign::Filled(MEDIUM),
            "put by until the day it is wanted, middle season",
        ),
        (Sign::LevelWhisker, "8 seasons in 10 end between"),
    ];
    let head = frame::head_height(caption);
    let top = head + 26.0;
    let bottom = top + row_height * shown.len() as f64;
    let key_top = bottom + 30.0;
    let height = key_top + key::height(caption, &items) + 4.0 + frame::foot_height(caption);
    let description = format!("Containers against the goal, for {} goals.", shown.len());
    picture(
        caption.width(),
        height,
        &caption.title,
        &description,
        |canvas| {
            frame::draw(canvas, caption, height);
            for (part, words) in [(0.0, "none"), (0.25, "¼"), (0.5, "½"), (0.75, "¾")] {
                canvas.line(&[(x(part), top), (x(part), bottom)], GRID, 1.0);
                canvas.text((x(part), bottom + 16.0), Anchor::Middle, SMALL, words);
            }
            let bold = Type {
                bold: true,
                ..SMALL
            };
            canvas.text((x(1.0), bottom + 16.0), Anchor::Middle, bold, "the goal");
            for (k, goal) in shown.iter().enumerate() {
                let top = top + row_height * k as f64;
                if caption.narrow {
                    words_above(canvas, caption, goal, (top, top + row_height));
                    bar(canvas, goal, top + row_height - 14.0, &x);
                } else {
                    row(canvas, goal, top, &x);
                }
            }
            // Where words stand above the bars, the goal is drawn across each bar only.
            let lines: Vec<(f64, f64)> = if caption.narrow {
                let tops = (1..=shown.len()).map(|k| top + row_height * k as f64);
                tops.map(|end| (end - 27.0, end - 1.0)).collect()
            } else {
                vec![(top - 6.0, bottom + 3.0)]
            };
            for (from, until) in lines {
                canvas.line(&[(x(1.0), from), (x(1.0), until)], WHITE, 4.6);
                canvas.line(&[(x(1.0), from), (x(1.0), until)], DARK, 2.2);
            }
            key::draw(canvas, caption, &items, key_top);
        },
    )
}

/// Returns where a part of a goal lies on a scale up to `most`, 0 to 1.
fn place(part: f64, most: f64) -> f64 {
    let part = if part.is_finite() {
        part.clamp(0.0, most)
    } else {
        0.0
    };
    part / most
}

/// Writes a goal's name, and in the line below its figures, over its bar at the foot of its row.
fn words_above(
    canvas: &mut Canvas<'_>,
    caption: &Caption,
    goal: &GoalBar,
    (top, bottom): (f64, f64),
) {
    let left = caption.margin();
    let white = Area::new(left, top + 3.0, caption.width(), bottom - 29.0);
    canvas.fill(white, WHITE);
    let names = name_lines(&goal.name, caption.room());
    let first = bottom - 51.0 - 15.0 * (names.len() as f64 - 1.0);
    for (k, name) in names.iter().enumerate() {
        let at = (left, first + 15.0 * k as f64);
        canvas.text(at, Anchor::Start, SMALL, name);
    }
    let words = format!("{}, {}", figures(goal), reached(goal));
    canvas.text((left, bottom - 35.0), Anchor::Start, PRINT, &words);
}

/// Breaks a name into two lines at most.
fn name_lines(name: &str, room: f64) -> Vec<String> {
    let mut names = lines(name, SMALL, room);
    if names.len() > 2 {
        let rest = names.split_off(1).join(" ");
        names.push(fitted(&rest, SMALL, room));
    }
    names
}

fn figures(goal: &GoalBar) -> String {
    format!(
        "{} of {}",
        rounding::containers(goal.p50),
        rounding::containers(goal.wanted)
    )
}

fn reached(goal: &GoalBar) -> String {
    format!("reached in {}", rounding::in_ten(goal.chance))
}

fn row(canvas: &mut Canvas<'_>, goal: &GoalBar, top: f64, x: &impl Fn(f64) -> f64) {
    let middle = top + ROW / 2.0;
    let names = name_lines(&goal.name, NAMES - MARGIN);
    let first = middle + 4.0 - 7.5 * (names.len() as f64 - 1.0);
    for (k, name) in names.iter().enumerate() {
        canvas.text((NAMES, first + 15.0 * k as f64), Anchor::End, SMALL, name);
    }
    bar(canvas, goal, middle, x);
    let at = (RIGHT + 14.0, middle - 2.0);
    canvas.text(at, Anchor::Start, SMALL, &figures(goal));
    let at = (RIGHT + 14.0, middle + 13.0);
    canvas.text(at, Anchor::Start, PRINT, &reached(goal));
}

/// Draws the bar of a goal; `middle` is its middle.
fn bar(canvas: &mut Canvas<'_>, goal: &GoalBar, middle: f64, x: &impl Fn(f64) -> f64) {
    let part = |containers: f64| x(containers / goal.wanted);
    let (above, below) = (middle - 9.0, middle + 9.0);
    canvas.fill(Area::new(x(0.0), above, x(1.0), below), BAND);
    let (now, then) = (part(goal.now), part(goal.p50.max(goal.now)));
    canvas.fill(Area::new(now, above, then, below), MEDIUM);
    canvas.fill(Area::new(x(0.0), above, now, below), STRONG);
    let ends = [part(goal.p10), part(goal.p90)];
    for (ink, thickness) in [(WHITE, 3.4), (DARK, 1.3)] {
        canvas.line(&[(ends[0], middle), (ends[1], middle)], ink, thickness);
        for end in ends {
            canvas.line(&[(end, middle - 4.0), (end, middle + 4.0)], ink, thickness);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial;
    use super::*;

    fn bar(name: &str, wanted: f64, now: f64, p50: f64) -> GoalBar {
        GoalBar {
            name: name.to_owned(),
            wanted,
            now,
            p10: p50 * 0.7,
            p50,
            p90: p50 * 1.4,
            chance: 0.4,
        }
    }

    #[test]
    fn names_of_any_length_keep_apart_and_odd_figures_do_no_harm() {
        let long =
            "canned tomatoes or canned tomato sauce or frozen whole tomatoes or dried tomatoes";
        let mut data = GoalsChart {
            caption: trial::caption(),
            goals: vec![
                bar("frozen beans", 55.0, 5.5, 41.0),
                bar(long, 36.0, 2.0, 36.0),
                bar("pesto", 12.0, 0.0, 120.0),
                bar("nothing", 8.0, 0.0, f64::NAN),
                bar("made as eaten", 0.0, 0.0, 3.0),
            ],
        };
        let svg = goals(&data);
        trial::assert_tidy(&svg);
        let said = |words: &str| svg.labels().iter().filter(|l| l.words == words).count();
        assert_eq!((said("41 of 55"), said("the goal")), (1, 1));
        assert_eq!(said("made as eaten"), 0);
        assert_eq!(
            svg.labels()
                .iter()
                .filter(|l| l.words.starts_with("reached"))
                .count(),
            4
        );
        data.caption.narrow = true;
        let svg = goals(&data);
        trial::assert_tidy(&svg);
        let with = |words: &str| svg.labels().iter().any(|l| l.words.starts_with(words));
        assert!(with("41 of 55, reached in 4 in 10") && !with("made as eaten"));
    }

    #[test]
    fn without_goals_it_says_so() {
        let svg = goals(&GoalsChart::default());
        assert!(svg.labels().iter().any(|l| l.words.starts_with("No goal")));
    }
}
