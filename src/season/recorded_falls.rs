//! What plantings would have given in each recorded year: the same sowing under the weather that was.
//!
//! The days to maturity are the usual ones and nothing fails or is eaten, so that years differ by their weather alone.

use super::life::{OwnLuck, Sheet, live};
use super::plan::Plan;
use super::weather::recorded_year;
use chrono::NaiveDate;

/// One recorded year.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedFall {
    /// The calendar year that stood for this one.
    pub year: i32,
    /// Share of what each planting could have given that was ready by the last day counted, in the order of the plan.
    pub shares: Vec<f64>,
}

/// Nothing out of the ordinary.
const USUAL: OwnLuck = OwnLuck {
    days_z: 0.0,
    yield_z: 0.0,
    fails: 1.0,
    pest: 1.0,
    pest_when: 0.0,
};

/// Returns the latest recorded years, oldest first, each living through this year from its first day; none without a
/// record.
#[must_use]
pub fn recorded_falls(plan: &Plan, until: NaiveDate, most: usize) -> Vec<RecordedFall> {
    let Some(recorded) = &plan.climate().recorded else {
        return Vec::new();
    };
    let until = plan.horizon().clamped(until);
    let starts = recorded.starts();
    let latest = starts.len().saturating_sub(most);
    let mut sheet = Sheet::default();
    starts[latest..]
        .iter()
        .map(|&start| {
            let weather = recorded_year(plan, recorded, start);
            let sky = weather.sky();
            let shares = plan
                .plantings
                .iter()
                .map(|planting| {
                    if !planting.alive {
                        return 0.0;
                    }
                    live(&planting.life, &sky, &USUAL, 0.0, &mut sheet);
                    let ready: f64 = sheet
                        .lots
                        .iter()
                        .filter(|lot| !lot.second && lot.day <= until)
                        .map(|lot| lot.kg)
                        .sum();
                    ready / sheet.possible_kg.max(f64::MIN_POSITIVE)
                })
                .collect();
            RecordedFall {
                year: recorded.years()[start],
                shares,
            }
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::site::{Climate, DailyWeather, DayRecord};
    use crate::season::fixture::{self, date, planting};
    use crate::season::plan::compile;
    use chrono::{Datelike, Days};

    /// Four made-up years that are all alike but for one cold August and September: that year's fall gives less, the
    /// last year starts none since it has none after it.
    #[test]
    fn a_cold_fall_gives_less() {
        let mut garden = fixture::garden(vec![planting("fall greens", 0, "2026-08-20")]);
        let first = date("2020-01-01");
        let days = (0..4 * 365 + 1)
            .map(|n| {
                let day = first + Days::new(n);
                let cold = day.year() == 2021 && (8..=10).contains(&day.month());
                let mean = fixture::MEANS_C[day.month0() as usize] - if cold { 7.0 } else { 0.0 };
                DayRecord {
                    min_c: Some(mean as f32 - 5.0),
                    max_c: Some(mean as f32 + 5.0),
                }
            })
            .collect();
        garden.site.climate = Climate::Daily(DailyWeather {
            source: "made up".to_owned(),
            first,
            days,
        });
        let plan = compile(&garden, date("2026-08-01"));
        let falls = recorded_falls(&plan, date("2027-01-20"), 10);
        let years: Vec<i32> = falls.iter().map(|fall| fall.year).collect();
        assert_eq!(years, [2020, 2021, 2022]);
        let share = |k: usize| falls[k].shares[0];
        assert!(share(1) < 0.8 * share(0), "{falls:?}");
        assert!((share(0) - share(2)).abs() < 0.02, "{falls:?}");
        assert_eq!(recorded_falls(&plan, date("2027-01-20"), 2).len(), 2);
        assert!(
            recorded_falls(
                &compile(&fixture::year(), date("2026-03-01")),
                date("2027-01-20"),
                5
            )
            .is_empty()
        );
    }
}
