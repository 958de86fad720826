//! A forecast as learning sees it: kilograms of one food by week and draw.
//!
//! Plain arrays, so that any forecast can be judged: the season's, an older one read back, a naive one.

use super::quantile_of_sorted;
use crate::garden::crop::CropId;
use crate::garden::week::Week;

/// Draws of the weekly amounts of one food.
#[derive(Debug, Clone, PartialEq)]
pub struct WeeklyDraws {
    /// The food.
    pub crop: CropId,
    /// Week of the first row.
    pub first: Week,
    /// Draws in each week; the same place is the same draw in every week and of every food.
    draws: usize,
    /// Amounts, kg, week after week. Shape: weeks × draws.
    kg: Vec<f32>,
}

impl WeeklyDraws {
    /// Makes a forecast from its amounts in kg, week after week; none unless whole weeks of at least one draw.
    ///
    /// Shape: weeks × draws.
    #[must_use]
    pub fn new(crop: CropId, first: Week, draws: usize, kg: Vec<f32>) -> Option<Self> {
        (draws > 0 && kg.len().is_multiple_of(draws)).then_some(Self {
            crop,
            first,
            draws,
            kg,
        })
    }
    /// Returns the number of draws.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }
    /// Returns the weeks forecast, in order.
    pub fn weeks(&self) -> impl Iterator<Item = Week> + '_ {
        (0..self.kg.len() / self.draws).map(|i| self.first.plus(i as i64))
    }
    /// Returns the draws of one week in kg; none outside the forecast.
    #[must_use]
    pub fn of_week(&self, week: Week) -> Option<&[f32]> {
        let place = usize::try_from(week.since(self.first)).ok()?;
        self.kg
            .get(place * self.draws..)
            .and_then(|rest| rest.get(..self.draws))
    }
    /// Returns the draws of one week in kg in rising order; none outside the forecast.
    #[must_use]
    pub fn sorted_week(&self, week: Week) -> Option<Vec<f64>> {
        Some(sorted(self.of_week(week)?.iter().map(|&x| f64::from(x))))
    }
    /// Returns the sum of some weeks in every draw, kg; weeks outside the forecast add nothing.
    #[must_use]
    pub fn total_over(&self, weeks: impl Iterator<Item = Week>) -> Vec<f64> {
        let mut total = vec![0.0; self.draws];
        for week in weeks {
            if let Some(row) = self.of_week(week) {
                for (sum, &x) in total.iter_mut().zip(row) {
                    *sum += f64::from(x);
                }
            }
        }
        total
    }
}

/// Returns values in rising order.
pub(crate) fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut all: Vec<f64> = values.collect();
    all.sort_unstable_by(f64::total_cmp);
    all
}

/// A distribution in four numbers, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Amounts {
    /// One season in ten gives this or less.
    pub p10: f64,
    /// Half of the seasons give this or less.
    pub p50: f64,
    /// One season in ten gives this or more.
    pub p90: f64,
    /// Mean.
    pub mean: f64,
}

impl Amounts {
    /// Sums up draws in rising order; none without draws.
    #[must_use]
    pub fn of_sorted(sorted: &[f64]) -> Option<Self> {
        Some(Self {
            p10: quantile_of_sorted(sorted, 0.1)?,
            p50: quantile_of_sorted(sorted, 0.5)?,
            p90: quantile_of_sorted(sorted, 0.9)?,
            mean: sorted.iter().sum::<f64>() / sorted.len() as f64,
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    #[test]
    fn weeks_are_rows_and_sums_keep_the_draw() {
        let first = Week::of("2026-06-03".parse().unwrap());
        let kg = vec![1.0, 2.0, 3.0, 10.0, 20.0, 30.0];
        let d = WeeklyDraws::new(CropId(0), first, 3, kg).unwrap();
        assert_eq!(d.of_week(first.plus(1)), Some(&[10.0_f32, 20.0, 30.0][..]));
        assert_eq!(d.of_week(first.plus(2)), None);
        assert_eq!(d.of_week(first.plus(-1)), None);
        assert_eq!(d.total_over(d.weeks()), [11.0, 22.0, 33.0]);
        assert_eq!(WeeklyDraws::new(CropId(0), first, 2, vec![1.0; 3]), None);
        assert_eq!(WeeklyDraws::new(CropId(0), first, 0, vec![]), None);
    }

    /// Type 7 of 2, 2, 3, 5, 8, 13 as numpy.quantile gives it.
    #[test]
    fn four_numbers() {
        let a = Amounts::of_sorted(&[2.0, 2.0, 3.0, 5.0, 8.0, 13.0]).unwrap();
        close(Some(a.p10), 2.0);
        close(Some(a.p50), 4.0);
        close(Some(a.p90), 10.5);
        close(Some(a.mean), 5.5);
        assert_eq!(Amounts::of_sorted(&[]), None);
    }
}
