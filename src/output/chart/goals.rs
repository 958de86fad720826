//! Stores against goals: a level bar for each goal, what is in store and what will be made, and the goal as an upright line.
//!
//! Every goal has its own scale, parts of the goal, since a bag of beans and a braid of garlic do not compare; the figures
//! stand beside. Does not know what a goal is made of.

use super::Caption;
use super::frame::{self, MARGIN, PRINT, SMALL, WIDTH};
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
/// Greatest part of a goal that the scale shows where some season passes it.
const MOST: f64 = 1.25;

/// Draws the chart.
#[must_use]
pub fn goals(data: &GoalsChart) -> Svg {
    let shown: Vec<&GoalBar> = data.goals.iter().filter(|g| g.wanted > 0.0).collect();
    if shown.is_empty() {
        return frame::empty(&data.caption, "No goal is set for the winter.");
    }
    let passed = shown.iter().any(|g| g.p90 > g.wanted * 1.01);
    let x = |part: f64| place(part, if passed { MOST } else { 1.0 });
    let items = [
        (Sign::Filled(STRONG), "in store today"),
        (
            Sign::Filled(MEDIUM),
            "put by until the day it is wanted, middle season",
        ),
        (Sign::Whisker, "8 seasons in 10 end between"),
    ];
    let head = frame::head_height(&data.caption);
    let top = head + 26.0;
    let bottom = top + ROW * shown.len() as f64;
    let key_top = bottom + 30.0;
    let height = key_top + key::height(&items) + 4.0 + frame::foot_height(&data.caption);
    let description = format!("Containers against the goal, for {} goals.", shown.len());
    picture(WIDTH, height, &data.caption.title, &description, |canvas| {
        frame::draw(canvas, &data.caption, height);
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
            row(canvas, goal, top + ROW * k as f64, &x);
        }
        canvas.line(&[(x(1.0), top - 6.0), (x(1.0), bottom + 3.0)], WHITE, 4.6);
        canvas.line(&[(x(1.0), top - 6.0), (x(1.0), bottom + 3.0)], DARK, 2.2);
        key::draw(canvas, &items, key_top);
    })
}

/// Returns where a part of a goal lies on a scale up to `most`.
fn place(part: f64, most: f64) -> f64 {
    let part = if part.is_finite() {
        part.clamp(0.0, most)
    } else {
        0.0
    };
    LEFT + (RIGHT - LEFT) * part / most
}

fn row(canvas: &mut Canvas<'_>, goal: &GoalBar, top: f64, x: &impl Fn(f64) -> f64) {
    let middle = top + ROW / 2.0;
    let part = |containers: f64| x(containers / goal.wanted);
    let mut names = lines(&goal.name, SMALL, NAMES - MARGIN);
    if names.len() > 2 {
        let rest = names.split_off(1).join(" ");
        names.push(fitted(&rest, SMALL, NAMES - MARGIN));
    }
    let first = middle + 4.0 - 7.5 * (names.len() as f64 - 1.0);
    for (k, name) in names.iter().enumerate() {
        canvas.text((NAMES, first + 15.0 * k as f64), Anchor::End, SMALL, name);
    }
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
    let figures = format!(
        "{} of {}",
        rounding::containers(goal.p50),
        rounding::containers(goal.wanted)
    );
    canvas.text((RIGHT + 14.0, middle - 2.0), Anchor::Start, SMALL, &figures);
    let reached = format!("reached in {}", rounding::in_ten(goal.chance));
    canvas.text(
        (RIGHT + 14.0, middle + 13.0),
        Anchor::Start,
        PRINT,
        &reached,
    );
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
        let data = GoalsChart {
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
    }

    #[test]
    fn without_goals_it_says_so() {
        let svg = goals(&GoalsChart::default());
        assert!(svg.labels().iter().any(|l| l.words.starts_with("No goal")));
    }
}
