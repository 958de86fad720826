//! Pickings bed by bed: a bar for each planting, solid where picking is sure, hatched where it is in doubt, frost behind.
//!
//! Sure means in at least 9 seasons of 10 that give a harvest: from the latest usual beginning to the earliest usual end.

use super::Caption;
use super::axis::WeekAxis;
use super::frame::{self, BODY, MARGIN, SMALL};
use super::key::{self, Sign};
use super::lettering::{Anchor, Type, fitted, text_width};
use super::marks;
use super::palette::{BAND, DARK, GRID, SOFT, STRONG, WHITE};
use super::svg::{Area, Canvas, Svg, picture};
use crate::garden::week::Week;
use crate::output::rounding::in_ten;
use chrono::NaiveDate;

/// Input of [`pickings`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PickingsChart {
    /// Words around the chart.
    pub caption: Caption,
    /// First week shown; the week of the first sowing or picking if none.
    pub first: Option<Week>,
    /// Last week shown; the week of the last picking if none.
    pub last: Option<Week>,
    /// Beds, from top to bottom.
    pub beds: Vec<PickingsBed>,
    /// Frosts, drawn behind.
    pub frosts: Vec<FrostBand>,
    /// The day the chart is for, drawn as a dashed line.
    pub today: Option<NaiveDate>,
}

/// One bed of [`PickingsChart`].
#[derive(Debug, Clone, PartialEq)]
pub struct PickingsBed {
    /// Its name.
    pub name: String,
    /// Its plantings, from top to bottom.
    pub plantings: Vec<PickingsRow>,
}

/// One planting of [`PickingsChart`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PickingsRow {
    /// Crop.
    pub name: String,
    /// What tells it from its twins, such as the day of sowing; always shown in full.
    pub mark: String,
    /// Day of sowing.
    pub sown: Option<NaiveDate>,
    /// Day of setting out.
    pub set_out: Option<NaiveDate>,
    /// First and last picking; none if there is hardly ever a harvest.
    pub window: Option<PickingWindow>,
    /// Chance of any harvest, 0 to 1; none to leave it out.
    pub chance: Option<f64>,
}

/// When a planting is picked, each end with its doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PickingWindow {
    /// First picking in an early season.
    pub first_p10: NaiveDate,
    /// First picking in a late season.
    pub first_p90: NaiveDate,
    /// Last picking where it ends early.
    pub last_p10: NaiveDate,
    /// Last picking where it ends late.
    pub last_p90: NaiveDate,
}

/// One frost of [`PickingsChart`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FrostBand {
    /// What it is: "last spring frost".
    pub name: String,
    /// The day it comes before in 1 season of 10.
    pub p10: NaiveDate,
    /// The middle day.
    pub p50: NaiveDate,
    /// The day it comes after in 1 season of 10.
    pub p90: NaiveDate,
}

/// Height of a row, in logical pixels.
const ROW: f64 = 18.0;
/// Height of a row where there are many, so that the chart still fits a page.
const LOW_ROW: f64 = 15.5;
/// Plantings from which rows are low.
const MANY: usize = 36;
/// Height of the row with the name of a bed, in logical pixels.
const BED_ROW: f64 = 22.0;
/// Height of a row whose name stands above its bar, in logical pixels.
const TALL_ROW: f64 = 33.0;
/// Part of such a row that the name takes, in logical pixels.
const NAME_ROW: f64 = 15.0;
/// Height of a bar, in logical pixels.
const BAR: f64 = 10.0;
/// Right edge of the names, in logical pixels.
const NAMES: f64 = 222.0;
/// Room on the right for chances, in logical pixels.
const RIGHT: f64 = 106.0;

/// Draws the chart.
#[must_use]
pub fn pickings(data: &PickingsChart) -> Svg {
    let rows = || data.beds.iter().flat_map(|bed| &bed.plantings);
    let (Some((first, last)), true) = (span(data), rows().next().is_some()) else {
        return frame::empty(
            &data.caption,
            "No planting stands or is picked in these weeks.",
        );
    };
    let caption = &data.caption;
    let items = key_items(data);
    let count = rows().count();
    let row_height = match (caption.narrow, count < MANY) {
        (true, _) => TALL_ROW,
        (false, true) => ROW,
        (false, false) => LOW_ROW,
    };
    let head = frame::head_height(caption);
    let beds = data
        .beds
        .iter()
        .filter(|bed| !bed.plantings.is_empty())
        .count() as f64;
    let (left, right) = if caption.narrow {
        (caption.margin() + 4.0, caption.width() - 10.0)
    } else {
        (NAMES + 10.0, caption.width() - RIGHT)
    };
    let plot = Area::new(
        left,
        head + 46.0,
        right,
        head + 50.0 + beds * BED_ROW + count as f64 * row_height,
    );
    let axis = WeekAxis::spanning(first, last, plot.left, plot.right);
    let key_top = plot.bottom + axis.height() + 10.0;
    let height = key_top + key::height(caption, &items) + 4.0 + frame::foot_height(caption);

    picture(
        caption.width(),
        height,
        &caption.title,
        &description(data),
        |canvas| {
            frame::draw(canvas, caption, height);
            for frost in &data.frosts {
                canvas.fill(
                    Area::new(
                        axis.x_inside(frost.p10),
                        plot.top,
                        axis.x_inside(frost.p90),
                        plot.bottom,
                    ),
                    BAND,
                );
            }
            axis.month_lines(canvas, plot.top, plot.bottom);
            axis.months(canvas, plot.top - 18.0);
            frost_names(canvas, data, &axis, plot);
            if rows().any(|row| row.chance.is_some()) && !caption.narrow {
                let end = caption.width() - MARGIN;
                for (up, words) in [(20.0, "gives a"), (6.0, "harvest in")] {
                    let at = (end, plot.top - up);
                    canvas.text(at, Anchor::End, frame::PRINT, words);
                }
            }
            if let Some(today) = data.today.filter(|day| axis.holds(Week::of(*day))) {
                let x = axis.x(today);
                marks::dashed(canvas, (x, plot.top), (x, plot.bottom), SOFT, 1.2);
            }
            let mut y = plot.top + 4.0;
            for bed in data.beds.iter().filter(|bed| !bed.plantings.is_empty()) {
                bed_name(canvas, caption, &bed.name, y, plot.right);
                y += BED_ROW;
                for row in &bed.plantings {
                    if caption.narrow {
                        name_above(canvas, caption, row, y + NAME_ROW - 3.0);
                        let y = y + NAME_ROW + (row_height - NAME_ROW) / 2.0 - 1.0;
                        draw_spans(canvas, row, &axis, (plot.left, plot.right), y);
                    } else {
                        draw_row(canvas, row, &axis, caption.width(), y + row_height / 2.0);
                    }
                    y += row_height;
                }
            }
            axis.draw(canvas, plot.bottom);
            if !caption.narrow {
                frame::weeks_start(canvas, (plot.right + 8.0, plot.bottom + 18.0));
            }
            key::draw(canvas, caption, &items, key_top);
        },
    )
}

/// Returns the first and last week to show.
fn span(data: &PickingsChart) -> Option<(Week, Week)> {
    let rows = || data.beds.iter().flat_map(|bed| &bed.plantings);
    let begins = |row: &PickingsRow| {
        row.sown
            .into_iter()
            .chain(row.set_out)
            .chain(row.window.map(|w| w.first_p10))
    };
    let ends = |row: &PickingsRow| {
        row.sown
            .into_iter()
            .chain(row.set_out)
            .chain(row.window.map(|w| w.last_p90))
    };
    let first = data
        .first
        .or_else(|| rows().flat_map(begins).min().map(Week::of))?;
    let last = data
        .last
        .or_else(|| rows().flat_map(ends).max().map(Week::of))?;
    Some((first, last.max(first)))
}

fn key_items(data: &PickingsChart) -> Vec<(Sign, &'static str)> {
    let rows = || data.beds.iter().flat_map(|bed| &bed.plantings);
    let mut items = vec![
        (Sign::Filled(STRONG), "picking, sure"),
        (
            Sign::Hatched,
            "picking, in doubt: 8 seasons in 10 begin or end here",
        ),
    ];
    if rows().any(|row| row.sown.is_some()) {
        items.push((Sign::Ring, "sown"));
    }
    if rows().any(|row| row.set_out.is_some()) {
        items.push((Sign::Lozenge, "set out"));
    }
    items.push((Sign::Thread, "growing"));
    if !data.frosts.is_empty() {
        items.push((Sign::Filled(BAND), "frost, 8 seasons in 10"));
    }
    if data.today.is_some() {
        items.push((Sign::Dashes, "the day this was made for"));
    }
    items
}

/// Writes the name of each frost above its band, where it is on the chart and does not touch another.
fn frost_names(canvas: &mut Canvas<'_>, data: &PickingsChart, axis: &WeekAxis, plot: Area) {
    for frost in data
        .frosts
        .iter()
        .filter(|frost| axis.holds(Week::of(frost.p50)))
    {
        let half = text_width(&frost.name, SMALL) / 2.0;
        let x = (axis.x(frost.p50).min(plot.right - half)).max(plot.left + half);
        canvas.text_if_free((x, plot.top - 24.0), Anchor::Middle, SMALL, &frost.name);
    }
}

/// Writes the name of a bed at the top of its rows, over the plot if it is long.
fn bed_name(canvas: &mut Canvas<'_>, caption: &Caption, name: &str, top: f64, right: f64) {
    let kind = Type { bold: true, ..BODY };
    let left = caption.margin();
    let name = fitted(name, kind, right - left);
    let level = top + 2.5;
    let rule = [(left, level), (caption.width() - left, level)];
    canvas.line(&rule, GRID, 0.8);
    let end = left + text_width(&name, kind) + 6.0;
    let plot = if caption.narrow { left } else { NAMES };
    if end > plot {
        canvas.fill(Area::new(plot, top + 3.5, end, top + BED_ROW), WHITE);
    }
    canvas.text((left, top + BED_ROW - 5.0), Anchor::Start, kind, &name);
}

/// Writes name and chance of a planting in a line of their own.
fn name_above(canvas: &mut Canvas<'_>, caption: &Caption, row: &PickingsRow, base: f64) {
    let (left, right) = (caption.margin() + 4.0, caption.width() - caption.margin());
    let mut room = right - left;
    if let Some(chance) = row.chance {
        let words = format!("in {}", in_ten(chance));
        room -= text_width(&words, chance_type(chance)) + 8.0;
        marks::text_on_white(
            canvas,
            (right, base),
            Anchor::End,
            chance_type(chance),
            &words,
        );
    }
    let name = if row.mark.is_empty() {
        row.name.clone()
    } else {
        format!("{} {}", row.name, row.mark)
    };
    let name = fitted(&name, SMALL, room);
    marks::text_on_white(canvas, (left, base), Anchor::Start, SMALL, &name);
}

/// Returns the type of a chance: a doubtful one stands out.
const fn chance_type(chance: f64) -> Type {
    let doubtful = chance < 0.75;
    Type {
        ink: if doubtful { DARK } else { SOFT },
        bold: doubtful,
        ..SMALL
    }
}

/// Draws one planting: name, signs, growing thread, bar and chance; `y` is the middle of its row.
fn draw_row(canvas: &mut Canvas<'_>, row: &PickingsRow, axis: &WeekAxis, width: f64, y: f64) {
    let base = y + 4.3;
    let mark = fitted(&row.mark, SMALL, (NAMES - MARGIN) / 2.0);
    let room = NAMES - MARGIN - 12.0 - text_width(&mark, SMALL) - 8.0;
    canvas.text(
        (MARGIN + 12.0, base),
        Anchor::Start,
        SMALL,
        &fitted(&row.name, SMALL, room),
    );
    canvas.text((NAMES, base), Anchor::End, SMALL, &mark);
    draw_spans(canvas, row, axis, (NAMES + 6.0, width - RIGHT + 6.0), y);
    if let Some(chance) = row.chance {
        let kind = chance_type(chance);
        canvas.text(
            (width - MARGIN, y + 4.3),
            Anchor::End,
            kind,
            &in_ten(chance),
        );
    }
}

/// Draws signs, growing thread and bar of one planting on a pale line between two edges.
fn draw_spans(
    canvas: &mut Canvas<'_>,
    row: &PickingsRow,
    axis: &WeekAxis,
    (left, right): (f64, f64),
    y: f64,
) {
    let ends = |day: Option<NaiveDate>| day.map(|day| axis.x_inside(day));
    let begins = row.sown.or(row.set_out);
    let picked = row.window.map(|w| w.first_p10);
    // A pale line leads the eye from the name to what happens, and on to the chance.
    canvas.line(&[(left, y), (right, y)], GRID, 0.8);
    if let (Some(from), Some(until)) = (ends(begins), ends(picked.or(row.set_out))) {
        canvas.line(&[(from, y), (until, y)], SOFT, 1.1);
    }
    if let Some(window) = row.window {
        bar(canvas, &window, axis, y);
    }
    let shown = |day: &NaiveDate| axis.holds(Week::of(*day));
    if let Some(day) = row.sown.filter(shown) {
        marks::ring(canvas, (axis.x(day), y), STRONG);
    }
    if let Some(day) = row.set_out.filter(shown) {
        marks::lozenge(canvas, (axis.x(day), y), STRONG);
    }
}

/// Draws the bar of a window: hatched, solid, hatched; hatched throughout if no day is sure.
fn bar(canvas: &mut Canvas<'_>, window: &PickingWindow, axis: &WeekAxis, y: f64) {
    let after = |day: NaiveDate| axis.x_inside(day + chrono::Days::new(1));
    let (top, bottom) = (y - BAR / 2.0, y + BAR / 2.0);
    let whole = Area::new(
        axis.x_inside(window.first_p10),
        top,
        after(window.last_p90),
        bottom,
    );
    if whole.right - whole.left < 0.5 {
        return;
    }
    marks::hatched(canvas, whole, STRONG);
    let sure = Area::new(
        axis.x_inside(window.first_p90),
        top,
        after(window.last_p10),
        bottom,
    );
    canvas.fill(sure, STRONG);
}

fn description(data: &PickingsChart) -> String {
    let plantings: usize = data.beds.iter().map(|bed| bed.plantings.len()).sum();
    format!(
        "First and last pickings of {plantings} plantings in {} beds, with how sure each is.",
        data.beds.len()
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::trial;
    use super::*;

    #[test]
    fn labels_keep_apart_with_few_and_many_plantings() {
        for plantings in [1, 20, 60] {
            for weeks in [26, 53, 104] {
                let mut data = trial::pickings(plantings);
                data.last = data.first.map(|first| first.plus(weeks - 1));
                trial::assert_tidy(&pickings(&data));
                data.caption.narrow = true;
                trial::assert_tidy(&pickings(&data));
            }
        }
    }

    #[test]
    fn a_window_without_a_sure_day_is_hatched_throughout() {
        let day = |text: &str| text.parse().unwrap();
        let row = |first_p90: &str, last_p10: &str| PickingsRow {
            name: "okra".into(),
            window: Some(PickingWindow {
                first_p10: day("2026-07-01"),
                first_p90: day(first_p90),
                last_p10: day(last_p10),
                last_p90: day("2026-09-01"),
            }),
            ..PickingsRow::default()
        };
        let solid = |row: PickingsRow| {
            let data = PickingsChart {
                beds: vec![PickingsBed {
                    name: "A".into(),
                    plantings: vec![row],
                }],
                ..PickingsChart::default()
            };
            pickings(&data).text().matches("fill=\"#3F607D\"").count()
        };
        // One solid area is the sign in the key.
        assert_eq!(solid(row("2026-07-20", "2026-08-10")), 2);
        assert_eq!(solid(row("2026-08-10", "2026-07-20")), 1);
    }

    #[test]
    fn windows_outside_the_weeks_shown_are_cut_at_the_edge() {
        let mut data = trial::pickings(20);
        data.last = data.first;
        trial::assert_tidy(&pickings(&data));
    }

    #[test]
    fn nothing_to_show_says_so() {
        let bare = PickingsChart {
            caption: trial::caption(),
            beds: vec![PickingsBed {
                name: "A".into(),
                plantings: vec![],
            }],
            ..PickingsChart::default()
        };
        let svg = pickings(&bare);
        assert!(
            svg.labels()
                .iter()
                .any(|l| l.words.starts_with("No planting"))
        );
        trial::assert_tidy(&svg);
    }
}
