//! Why a planting is ready when it is: its growth week by week under the usual weather of its place.
//!
//! One run of weather without anomalies, so that a person can follow the sum; the forecast itself draws many runs, and
//! its middle date may differ by some days because growth answers unevenly to warm and cool days. Renders nothing.

use chrono::NaiveDate;

use super::growth::{Daily, Response, Sum, UNIT, reach_growing};
use super::made_years::Air;
use super::plan::Plan;
use crate::garden::planting::PlantingId;
use crate::garden::week::{Week, YearDay};

/// What holds growth back most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeldBy {
    /// Nothing to speak of: nine tenths of full growth or more.
    Nothing,
    /// The air is too cool.
    Cold,
    /// The days are too short.
    ShortDays,
    /// It is too hot.
    Heat,
}

/// Growth of one week.
#[derive(Debug, Clone, PartialEq)]
pub struct GrowthWeek {
    /// The week.
    pub week: Week,
    /// Usual mean of its days outside, °C.
    pub mean_c: f64,
    /// Hours of daylight, mean of its days.
    pub daylight_hours: f64,
    /// Growing days of the week.
    pub growing_days: f64,
    /// Growing days since sowing or setting out.
    pub in_all: f64,
    /// What slows it.
    pub held_by: HeldBy,
}

/// Growth of one planting under usual weather.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// Growing days to the first picking.
    pub needed: f64,
    /// Weeks from its first to the end of the harvest period or of the time it is followed.
    pub weeks: Vec<GrowthWeek>,
    /// Day on which it comes up; none when it is set out or does not come up.
    pub up: Option<NaiveDate>,
    /// Day of the first picking, if it comes.
    pub ready: Option<NaiveDate>,
    /// Expected yield, kg.
    pub expected_kg: f64,
}

/// Follows a planting through usual weather; none if it was over before the forecast begins.
#[must_use]
pub fn growth(plan: &Plan, planting: PlantingId) -> Option<Growth> {
    let compiled = plan.plantings.get(planting.0).filter(|p| p.alive)?;
    let life = &compiled.life;
    let horizon = plan.horizon();
    let air = usual(plan);
    let run = |index: usize| {
        let days = usize::from(horizon.days);
        let mut sums = vec![0; days + 1];
        let sky = Daily {
            mean_c: &air.mean_c,
            daylight: &plan.daylight,
            days: 0..days,
        };
        plan.sums[index].fill(&sky, &mut sums);
        sums
    };
    let Sum::Growth(response, _) = &plan.sums[life.growth] else {
        return None;
    };
    let sums = run(life.growth);
    let (start, limit) = (usize::from(life.start), usize::from(life.limit));
    let need = (life.days * UNIT) as u32;
    let ready = reach_growing(&sums, start, need, limit);
    let up = life
        .up
        .and_then(|(index, need)| super::growth::reach(&run(index), start, need, limit));
    let period = (1.0 / life.period_per_step) as u32;
    let last = ready
        .and_then(|day| reach_growing(&sums, day, period, limit))
        .map_or(limit, |day| day + 1);
    let weeks = (start / 7..last.div_ceil(7))
        .map(|w| week(plan, &air, response, &sums, (start, w)))
        .collect();
    Some(Growth {
        needed: life.days,
        weeks,
        up: up.map(|day| horizon.date(day as u16)),
        ready: ready.map(|day| horizon.date(day as u16)),
        expected_kg: life.expected_kg,
    })
}

/// The usual weather of the place over the horizon.
fn usual(plan: &Plan) -> Air {
    let days = (0..plan.horizon().days).map(|d| {
        let number = usize::from(YearDay::of(plan.horizon().date(d)).number());
        number.clamp(1, 365) - 1
    });
    let climate = plan.climate();
    Air {
        mean_c: days.clone().map(|k| climate.mean_c[k] as f32).collect(),
        min_c: days.map(|k| climate.min_c[k] as f32).collect(),
    }
}

/// One week of growth; the first counts from the day of sowing or setting out.
fn week(
    plan: &Plan,
    air: &Air,
    response: &Response,
    sums: &[u32],
    (start, number): (usize, usize),
) -> GrowthWeek {
    let horizon = plan.horizon();
    let (from, until) = (
        (7 * number).max(start),
        (7 * number + 7).min(sums.len() - 1),
    );
    let length = (until - from).max(1) as f64;
    let mean = |of: &dyn Fn(usize) -> f64| (from..until).map(of).sum::<f64>() / length;
    let mean_c = mean(&|d| f64::from(air.mean_c[d]));
    let daylight_hours = mean(&|d| plan.daylight.hours[d]);
    let grown = |a: usize, b: usize| f64::from(sums[b] - sums[a]) / UNIT;
    GrowthWeek {
        week: Week::of(horizon.date(from as u16)),
        mean_c,
        daylight_hours,
        growing_days: grown(from, until),
        in_all: grown(start.min(until), until),
        held_by: held_by(
            response,
            mean_c,
            daylight_hours,
            grown(from, until) / length,
        ),
    }
}

/// Names what allows least, of warmth, light and heat.
fn held_by(response: &Response, mean_c: f64, hours: f64, rate: f64) -> HeldBy {
    if rate >= 0.9 {
        return HeldBy::Nothing;
    }
    let long = response.rate(mean_c, 24.0);
    let lit = response.rate(response.full_c, hours);
    if lit < long {
        HeldBy::ShortDays
    } else if mean_c > response.full_c {
        HeldBy::Heat
    } else {
        HeldBy::Cold
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::input;
    use crate::season::ensemble::Settings;
    use crate::season::plan::compile;
    use crate::season::windows::windows;

    /// The sum by hand: every week's growing days add up, the first picking stands in the week that reaches the need,
    /// and usual weather lies within the drawn seasons for nearly all plantings.
    #[test]
    fn usual_weather_stands_among_the_drawn_seasons() {
        let garden = input::load_files(&input::sample::files()).unwrap();
        let plan = compile(&garden, garden.as_of.unwrap());
        let settings = Settings {
            draws: 500,
            seed: 1,
        };
        let (mut inside, mut all) = (0, 0);
        for window in windows(&plan, &settings) {
            let Some(growth) = growth(&plan, window.planting) else {
                continue;
            };
            let mut sum = 0.0;
            for week in &growth.weeks {
                sum += week.growing_days;
                assert!((sum - week.in_all).abs() < 1e-6);
                assert!(week.growing_days <= 7.0 + 1e-9);
            }
            if let (Some(ready), Some(first)) = (growth.ready, window.first) {
                let at = growth
                    .weeks
                    .iter()
                    .find(|w| w.week == Week::of(ready))
                    .unwrap();
                assert!(at.in_all + 1e-3 >= growth.needed);
                assert!(at.in_all - at.growing_days < growth.needed);
                all += 1;
                let days = |d: i64| chrono::TimeDelta::days(d);
                inside += usize::from(ready >= first.p10 - days(3) && ready <= first.p90 + days(3));
            }
        }
        assert!(all > 30 && inside * 10 >= all * 9, "{inside} of {all}");
    }

    #[test]
    fn the_least_allowance_is_named() {
        let response = Response {
            calendar: false,
            base_c: 4.4,
            full_c: 17.0,
            ceiling_c: Some(22.0),
            day_length: true,
        };
        let named = |mean, hours| held_by(&response, mean, hours, response.rate(mean, hours));
        assert_eq!(named(17.0, 14.0), HeldBy::Nothing);
        assert_eq!(named(8.0, 14.0), HeldBy::Cold);
        assert_eq!(named(15.0, 10.0), HeldBy::ShortDays);
        assert_eq!(named(27.0, 14.0), HeldBy::Heat);
    }
}
