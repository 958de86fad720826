//! The two axes: weeks from Monday to Monday with a band of months below, and a plain scale of amounts.

use super::frame::SMALL;
use super::lettering::{Anchor, Type, text_width};
use super::palette::{DARK, GRID, SOFT};
use super::svg::{Area, Canvas};
use crate::garden::week::Week;
use chrono::{Datelike, Months, NaiveDate};

/// Height of the ticks, day numbers and months below a week axis, in logical pixels.
const HEIGHT: f64 = 44.0;
/// Height of a row of months or years, in logical pixels.
const ROW: f64 = 18.0;

/// A run of weeks laid out from left to right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WeekAxis {
    first: Week,
    weeks: usize,
    left: f64,
    right: f64,
}

impl WeekAxis {
    /// Lays out at least one week between two edges.
    pub(crate) fn new(first: Week, weeks: usize, left: f64, right: f64) -> Self {
        Self {
            first,
            weeks: weeks.max(1),
            left,
            right,
        }
    }
    /// Lays out the weeks from the first to the last given.
    pub(crate) fn spanning(first: Week, last: Week, left: f64, right: f64) -> Self {
        let weeks = usize::try_from(last.since(first) + 1).unwrap_or(1);
        Self::new(first, weeks, left, right)
    }
    /// Returns the width of a week.
    pub(crate) fn step(&self) -> f64 {
        (self.right - self.left) / self.weeks as f64
    }
    /// Returns where a day begins, perhaps outside the axis.
    pub(crate) fn x(&self, day: NaiveDate) -> f64 {
        self.left + (day - self.first.monday()).num_days() as f64 / 7.0 * self.step()
    }
    /// Returns where a day begins, moved to the nearer edge if it lies outside.
    pub(crate) fn x_inside(&self, day: NaiveDate) -> f64 {
        self.x(day).clamp(self.left, self.right)
    }
    /// Returns where a week begins.
    pub(crate) fn week_left(&self, week: Week) -> f64 {
        self.x(week.monday())
    }
    /// Says whether a week is on the axis.
    pub(crate) fn holds(&self, week: Week) -> bool {
        (0..self.weeks as i64).contains(&week.since(self.first))
    }

    /// Draws the base line, a tick each Monday, day numbers where there is room, and the months; `y` is the base line.
    pub(crate) fn draw(&self, canvas: &mut Canvas<'_>, y: f64) {
        canvas.line(&[(self.left, y), (self.right, y)], DARK, 1.0);
        let every = self.numbered_every();
        for i in 0..=self.weeks {
            let week = self.first.plus(i as i64);
            let x = self.week_left(week);
            let numbered = every.is_some_and(|n| i % n == 0) && i < self.weeks;
            canvas.line(
                &[(x, y), (x, y + if numbered { 6.0 } else { 4.0 })],
                DARK,
                0.8,
            );
            if numbered {
                let number = week.monday().day().to_string();
                canvas.text((x, y + 18.0), Anchor::Middle, SMALL, &number);
            }
        }
        self.months(canvas, y + 23.0);
        if self.crosses_new_year() {
            self.years(canvas, y + 23.0 + ROW);
        }
    }

    /// Returns the height of everything below the base line.
    pub(crate) fn height(&self) -> f64 {
        HEIGHT + if self.crosses_new_year() { ROW } else { 0.0 }
    }
    /// Draws month names between dividers, all in the same form; `y` is the upper edge of the band.
    pub(crate) fn months(&self, canvas: &mut Canvas<'_>, y: f64) {
        // Four weeks is the shortest month, "Aug" and "Nov" are the widest names.
        let short = 4.0 * self.step() < text_width("Aug", SMALL) + 2.0;
        let mut year_wanted = !self.crosses_new_year();
        for (from, until) in self.periods(Months::new(1), self.first.monday().with_day(1)) {
            let name = from.format("%b").to_string();
            let name = if short {
                name.chars().take(1).collect()
            } else {
                name
            };
            let with_year = format!("{name} {}", from.year());
            let room = self.x_inside(until) - self.x_inside(from);
            let long = year_wanted && text_width(&with_year, SMALL) + 8.0 <= room;
            year_wanted &= !long;
            self.named_period(
                canvas,
                y,
                (from, until),
                if long { &with_year } else { &name },
            );
        }
    }
    /// Draws years between dividers; `y` is the upper edge of the band.
    fn years(&self, canvas: &mut Canvas<'_>, y: f64) {
        let first = self
            .first
            .monday()
            .with_day(1)
            .and_then(|day| day.with_month(1));
        for (from, until) in self.periods(Months::new(12), first) {
            self.named_period(canvas, y, (from, until), &from.year().to_string());
        }
    }
    /// Draws the divider before a period, and its name if it fits.
    fn named_period(
        &self,
        canvas: &mut Canvas<'_>,
        y: f64,
        (from, until): (NaiveDate, NaiveDate),
        name: &str,
    ) {
        let (left, right) = (self.x_inside(from), self.x_inside(until));
        if from > self.first.monday() {
            canvas.line(&[(left, y), (left, y + 16.0)], SOFT, 0.8);
        }
        if text_width(name, SMALL) + 1.0 <= right - left {
            canvas.text(
                (f64::midpoint(left, right), y + 13.0),
                Anchor::Middle,
                SMALL,
                name,
            );
        }
    }
    /// Draws a pale line at the beginning of each month.
    pub(crate) fn month_lines(&self, canvas: &mut Canvas<'_>, top: f64, bottom: f64) {
        for (from, _) in self
            .periods(Months::new(1), self.first.monday().with_day(1))
            .into_iter()
            .skip(1)
        {
            let x = self.x(from);
            canvas.line(&[(x, top), (x, bottom)], GRID, 0.8);
        }
    }

    /// Returns first day and first day after, for every period that is on the axis, the first beginning on a day given.
    fn periods(&self, length: Months, first: Option<NaiveDate>) -> Vec<(NaiveDate, NaiveDate)> {
        let end = self.first.plus(self.weeks as i64).monday();
        let mut periods = Vec::new();
        let mut from = first;
        while let Some(start) = from.filter(|start| *start < end) {
            let next = start.checked_add_months(length);
            periods.extend(next.map(|next| (start, next)));
            from = next;
        }
        periods
    }
    /// Says whether a year begins on the axis.
    fn crosses_new_year(&self) -> bool {
        // A few days of January in the last week are not worth a row of years.
        let last = self.first.plus(self.weeks as i64 - 1).monday();
        last.year() > self.first.monday().year()
    }
    /// Returns how many weeks lie between two day numbers; none if there is no room for any.
    fn numbered_every(&self) -> Option<usize> {
        let needed = text_width("28", SMALL) + 5.0;
        [1, 2, 4]
            .into_iter()
            .find(|&n| n as f64 * self.step() >= needed)
    }
}

/// A scale of amounts from zero upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    step: f64,
    top: f64,
    area: Area,
}

impl Scale {
    /// Lays a scale that holds `greatest` along the left side of an area.
    pub(crate) fn new(greatest: f64, area: Area) -> Self {
        let greatest = if greatest.is_finite() && greatest > 0.0 {
            greatest
        } else {
            1.0
        };
        let rough = greatest / 5.0;
        let power = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 2.5, 5.0, 10.0]
            .into_iter()
            .map(|nice| nice * power)
            .find(|nice| *nice >= rough * 0.999)
            .unwrap_or(rough);
        let top = (greatest / step).ceil() * step;
        Self { step, top, area }
    }
    /// Returns where an amount lies.
    pub(crate) fn y(&self, amount: f64) -> f64 {
        let part = if amount.is_finite() {
            amount / self.top
        } else {
            0.0
        };
        self.area.bottom - part * (self.area.bottom - self.area.top)
    }
    /// Draws gridlines with their figures, and the unit above them.
    pub(crate) fn draw(&self, canvas: &mut Canvas<'_>, unit: &str) {
        let decimals = if self.step >= 1.0 && self.step.fract() == 0.0 {
            0
        } else {
            1 + usize::from(self.step < 0.2)
        };
        let mut i = 0.0;
        while i * self.step <= self.top * 1.000_001 {
            let y = self.y(i * self.step);
            canvas.line(&[(self.area.left, y), (self.area.right, y)], GRID, 0.8);
            let figure = format!("{:.decimals$}", i * self.step);
            canvas.text((self.area.left - 7.0, y + 4.3), Anchor::End, SMALL, &figure);
            i += 1.0;
        }
        let kind = Type { ink: SOFT, ..SMALL };
        canvas.text(
            (self.area.left - 32.0, self.area.top - 12.0),
            Anchor::Start,
            kind,
            unit,
        );
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn days_lie_in_their_weeks() {
        let first = Week::of("2026-12-28".parse().unwrap());
        let axis = WeekAxis::new(first, 53, 100.0, 630.0);
        assert_eq!(axis.step(), 10.0);
        assert_eq!(axis.x("2027-01-04".parse().unwrap()), 110.0);
        assert_eq!(axis.x_inside("2020-01-01".parse().unwrap()), 100.0);
        assert!(
            axis.holds(first.plus(52))
                && !axis.holds(first.plus(53))
                && !axis.holds(first.plus(-1))
        );
        let months = axis.periods(Months::new(1), first.monday().with_day(1));
        assert!(
            axis.crosses_new_year()
                && !WeekAxis::new(first.plus(1), 51, 0.0, 1.0).crosses_new_year()
        );
        assert_eq!(months.len(), 14, "December to January of the year after");
        assert_eq!(months[1].0, "2027-01-01".parse().unwrap());
    }

    #[test]
    fn scales_end_on_a_round_figure_above_the_greatest() {
        let area = Area::new(0.0, 0.0, 10.0, 100.0);
        for (greatest, step, top) in [
            (9.3, 2.0, 10.0),
            (0.0, 0.2, 1.0),
            (47.0, 10.0, 50.0),
            (110.0, 25.0, 125.0),
            (0.34, 0.1, 0.4),
            (f64::NAN, 0.2, 1.0),
        ] {
            let scale = Scale::new(greatest, area);
            assert!(
                (scale.step - step).abs() < 1e-9 && (scale.top - top).abs() < 1e-9,
                "{greatest}: {scale:?}"
            );
        }
        let scale = Scale::new(10.0, area);
        assert_eq!(
            [scale.y(0.0), scale.y(5.0), scale.y(10.0), scale.y(f64::NAN)],
            [100.0, 50.0, 0.0, 100.0]
        );
    }
}
