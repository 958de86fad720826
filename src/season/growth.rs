//! How fast a crop grows on a day, and running sums of growth for one run of weather.
//!
//! Growth is counted in growing days: one day at full rate is one day of the crop's days to maturity. The rate is the
//! lesser of what temperature and what daylight allow, not their product: the product counts autumn twice.
//!
//! Sources: linear response above a base temperature (references beside the crops); light: growth of leafy crops nearly
//! stops below ten hours of daylight (Coleman, as quoted by several growers), while crops held in the low 40s °F went on
//! at a moderate rate, hence 0.4 and not 0; full rate from 12.5 h and 8 K above a ceiling to standstill: judgement.
//!
//! Sums are whole numbers of 1/65536, so that differences of sums do not depend on where the horizon begins.

use crate::garden::crop::{Clock, Growth};
use std::ops::Range;

/// Least rate in short days of a crop that day length slows.
const SHORT_DAY_RATE: f64 = 0.4;
/// Hours of daylight at and below which the rate is least.
const SHORT_DAY_HOURS: f64 = 10.0;
/// Hours of daylight from which light slows nothing.
const LONG_DAY_HOURS: f64 = 12.5;
/// Kelvins above the ceiling at which growth stands still.
const CEILING_WIDTH_K: f64 = 8.0;
/// How much warmer the daily mean is in a walk-in tunnel, K (low on purpose; Savage 1980 has the maximum 4.2 K up).
const TUNNEL_WARMER_K: f64 = 2.0;
/// How much warmer than the air the soil is taken where seed lies, K.
const SOIL_WARMER_K: f64 = 2.0;
/// Daily mean under which a day counts as cold for biennials, °C.
const CHILL_BELOW_C: f32 = 8.0;
/// Mean rate of a week under which growth has all but stopped (judgement).
const STANDSTILL_RATE: f64 = 0.15;
/// Days over which that mean is taken.
pub(crate) const STANDSTILL_DAYS: usize = 7;
/// Steps of the running sums in one growing day, or one kelvin-day.
pub(crate) const UNIT: f64 = 65_536.0;

/// Days on which the mean is warmer than outside, first and first no longer; none without such a cover.
pub(crate) type Warmer = Option<(u16, u16)>;

/// Response to temperature and day length, for crops that share it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Whether the crop simply counts calendar days.
    pub(crate) calendar: bool,
    /// Daily mean at which growth begins, °C.
    pub(crate) base_c: f64,
    /// Daily mean from which growth is full, °C.
    pub(crate) full_c: f64,
    /// Daily mean above which heat slows growth, °C.
    pub(crate) ceiling_c: Option<f64>,
    /// Whether short days slow growth.
    pub(crate) day_length: bool,
}

impl Response {
    /// Takes the response of a crop row.
    #[must_use]
    pub fn of(growth: &Growth, clock: Clock) -> Self {
        Self {
            calendar: clock == Clock::Calendar,
            base_c: growth.base.c(),
            full_c: growth.full.c(),
            ceiling_c: growth.ceiling.map(|t| t.c()),
            day_length: growth.day_length,
        }
    }

    /// Returns the growing days of one day, 0 to 1, from its mean temperature and daylight.
    #[must_use]
    pub fn rate(&self, mean_c: f64, hours: f64) -> f64 {
        if self.calendar {
            return 1.0;
        }
        let warmth =
            ((mean_c - self.base_c) / (self.full_c - self.base_c).max(0.1)).clamp(0.0, 1.0);
        let cool = self.ceiling_c.map_or(1.0, |top| {
            (1.0 - (mean_c - top) / CEILING_WIDTH_K).clamp(0.0, 1.0)
        });
        warmth.min(cool).min(self.light(hours))
    }

    /// Returns the rate that daylight allows.
    fn light(&self, hours: f64) -> f64 {
        if self.day_length { light(hours) } else { 1.0 }
    }
}

/// Returns the rate that daylight allows a crop that short days slow.
fn light(hours: f64) -> f64 {
    let part = (hours - SHORT_DAY_HOURS) / (LONG_DAY_HOURS - SHORT_DAY_HOURS);
    (SHORT_DAY_RATE + (1.0 - SHORT_DAY_RATE) * part).clamp(SHORT_DAY_RATE, 1.0)
}

/// What brings a crop to bolt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bolting {
    /// Response without the ceiling.
    pub(crate) response: Response,
    /// Daily mean above which heat counts, °C.
    pub(crate) above_c: Option<f64>,
    /// Hours of lengthening daylight above which light counts.
    pub(crate) above_hours: Option<f64>,
}

/// Running sums that one or several plantings look up.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Sum {
    /// Growing days.
    Growth(Response, Warmer),
    /// Kelvin-days of the soil above a base, for coming up.
    Up(f64, Warmer),
    /// Days of cold for biennials.
    Chill(Warmer),
    /// Growing days under heat.
    Heat(Bolting, Warmer),
    /// Growing days under lengthening long days.
    Light(Bolting, Warmer),
    /// Growing days under either.
    HeatOrLight(Bolting, Warmer),
    /// Not a sum: for each day the next one at whose end a week's growth has all but stopped.
    Standstill(Response, Warmer),
}

impl Sum {
    /// Fills the running sum over the horizon: element d is the sum before day d, counted from the first of `days`.
    ///
    /// Only on these days does some planting look it up. Shape: one element more than the horizon has days.
    pub(crate) fn fill(&self, sky: &Daily, out: &mut Vec<u32>) {
        let hours = sky.daylight.hours.as_slice();
        let first = sky.days.start.saturating_sub(1);
        let mut before = hours.get(first).copied().unwrap_or(0.0);
        let mut lengthening = |hours: f64| std::mem::replace(&mut before, hours) < hours;
        match self {
            Self::Growth(response, warmer) => grow(sky, response, warmer, out),
            Self::Standstill(response, warmer) => {
                grow(sky, response, warmer, out);
                next_standstill(&mut out[sky.days.start..=sky.days.end]);
                let start = u32::try_from(sky.days.start).unwrap_or(u32::MAX);
                for day in &mut out[sky.days.start..=sky.days.end] {
                    *day = day.saturating_add(start);
                }
            }
            Self::Up(base_c, warmer) => add_up(sky, hours, warmer, out, |t, _| {
                fixed(lesser(not_negative(t + SOIL_WARMER_K - base_c), 60.0))
            }),
            Self::Chill(warmer) => add_up(sky, hours, warmer, out, |t, _| {
                u32::from(t < f64::from(CHILL_BELOW_C))
            }),
            Self::Heat(bolting, warmer) => add_up(sky, hours, warmer, out, |t, hours| {
                bolting.step(bolting.hot(t), t, hours)
            }),
            Self::Light(bolting, warmer) => add_up(sky, hours, warmer, out, |t, hours| {
                bolting.step(bolting.bright(hours, lengthening(hours)), t, hours)
            }),
            Self::HeatOrLight(bolting, warmer) => add_up(sky, hours, warmer, out, |t, hours| {
                let bright = bolting.bright(hours, lengthening(hours));
                bolting.step(bright || bolting.hot(t), t, hours)
            }),
        }
    }
}

/// Daylight of each day of the horizon.
#[derive(Debug, Clone, Default)]
pub(crate) struct Daylight {
    /// Hours.
    pub(crate) hours: Vec<f64>,
    /// Rate that they allow a crop that short days slow, 0 to 1.
    allows: Vec<f64>,
}

impl Daylight {
    /// Takes the hours of each day.
    pub(crate) fn new(hours: Vec<f64>) -> Self {
        let allows = hours.iter().map(|h| light(*h)).collect();
        Self { hours, allows }
    }
}

/// Temperature and daylight of each day of the horizon, and the days that are wanted.
pub(crate) struct Daily<'a> {
    /// Daily mean, °C.
    pub(crate) mean_c: &'a [f32],
    /// Daylight.
    pub(crate) daylight: &'a Daylight,
    /// Days on which the sum is looked up.
    pub(crate) days: Range<usize>,
}

/// Fills a running sum of growing days; what does not change from day to day is settled before the days are gone through.
fn grow(sky: &Daily, response: &Response, warmer: &Warmer, out: &mut Vec<u32>) {
    let Response { base_c, full_c, .. } = *response;
    let width_k = (full_c - base_c).max(0.1);
    let allows = sky.daylight.allows.as_slice();
    let warmth = |t: f64| lesser(not_negative((t - base_c) / width_k), 1.0);
    let cool = |top: f64, t: f64| lesser(not_negative(1.0 - (t - top) / CEILING_WIDTH_K), 1.0);
    match (response.calendar, response.ceiling_c, response.day_length) {
        (true, ..) => add_up(sky, allows, warmer, out, |_, _| fixed(1.0)),
        (_, None, false) => add_up(sky, allows, warmer, out, |t, _| fixed(warmth(t))),
        (_, None, true) => add_up(sky, allows, warmer, out, |t, light| {
            fixed(lesser(warmth(t), light))
        }),
        (_, Some(top), false) => add_up(sky, allows, warmer, out, |t, _| {
            fixed(lesser(warmth(t), cool(top, t)))
        }),
        (_, Some(top), true) => add_up(sky, allows, warmer, out, |t, light| {
            fixed(lesser(lesser(warmth(t), cool(top, t)), light))
        }),
    }
}

/// The lesser of two numbers that are numbers.
#[inline]
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// A number that is a number, or nothing where it is below.
#[inline]
fn not_negative(x: f64) -> f64 {
    if x > 0.0 { x } else { 0.0 }
}

/// Fills a running sum of what `step` makes of each day's mean and of the number beside it.
#[inline]
fn add_up(
    sky: &Daily,
    beside: &[f64],
    warmer: &Warmer,
    out: &mut Vec<u32>,
    mut step: impl FnMut(f64, f64) -> u32,
) {
    let Range { start, end } = sky.days;
    // Days before and after are never looked up; they keep what stood there.
    out.resize(sky.mean_c.len() + 1, 0);
    out[start] = 0;
    let mut sum = 0_u32;
    let (from, until) = warmer.map_or((end, end), |(from, until)| {
        let within = |day: u16| usize::from(day).clamp(start, end);
        (within(from), within(until).max(within(from)))
    });
    for (days, more_k) in [
        (start..from, 0.0),
        (from..until, TUNNEL_WARMER_K),
        (until..end, 0.0),
    ] {
        let into = out[days.start + 1..=days.end].iter_mut();
        let each = sky.mean_c[days.clone()].iter().zip(&beside[days]);
        for (total, (&mean_c, &other)) in into.zip(each) {
            sum = sum.saturating_add(step(f64::from(mean_c) + more_k, other));
            *total = sum;
        }
    }
}

/// Turns a running sum of growing days into the next day of standstill from each day on; `u32::MAX` where none comes.
fn next_standstill(out: &mut [u32]) {
    let sums = out.to_vec();
    let least = (STANDSTILL_RATE * STANDSTILL_DAYS as f64 * UNIT) as u32;
    let mut next = u32::MAX;
    for day in (0..sums.len()).rev() {
        let week = (day + 1)
            .checked_sub(STANDSTILL_DAYS)
            .and_then(|from| Some(sums.get(day + 1)? - sums[from]));
        if week.is_some_and(|growth| growth < least) {
            next = day as u32;
        }
        out[day] = next;
    }
}

impl Bolting {
    /// Growing days of a day that counts, in steps.
    fn step(&self, counts: bool, mean_c: f64, hours: f64) -> u32 {
        if counts {
            fixed(self.response.rate(mean_c, hours))
        } else {
            0
        }
    }
    /// Says whether a day's heat counts.
    fn hot(&self, mean_c: f64) -> bool {
        self.above_c.is_some_and(|limit| mean_c > limit)
    }
    /// Says whether a day's light counts: only while days lengthen.
    fn bright(&self, hours: f64, lengthening: bool) -> bool {
        lengthening && self.above_hours.is_some_and(|limit| hours > limit)
    }
}

/// Turns an amount into whole steps of the running sums; negative and undefined amounts give nothing.
#[inline]
pub(crate) fn fixed(amount: f64) -> u32 {
    (amount * UNIT + 0.5) as u32
}

/// Returns the first day from `from` on by whose end a sum has grown by `need`, if it comes before `limit`.
///
/// Looks day by day: for sums that are reached soon.
#[inline]
pub(crate) fn reach(sums: &[u32], from: usize, need: u32, limit: usize) -> Option<usize> {
    let target = sums.get(from)?.checked_add(need)?;
    let later = sums.get(from + 1..=limit)?;
    Some(from + later.iter().position(|&sum| sum >= target)?)
}

/// Like [`reach`], for a sum that grows by no more than one growing day a day.
///
/// What is still missing can take no fewer days than it has growing days, so that the search strides.
#[inline]
pub(crate) fn reach_growing(sums: &[u32], from: usize, need: u32, limit: usize) -> Option<usize> {
    let target = sums.get(from)?.checked_add(need)?;
    // Element `day + 1` is the sum by the end of that day.
    let later = sums.get(..=limit)?;
    let mut place = from + 1;
    loop {
        let missing = target.saturating_sub(*later.get(place)?);
        if missing == 0 {
            return Some(place - 1);
        }
        place += missing.div_ceil(UNIT as u32) as usize;
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
pub(crate) mod tests {
    use super::*;
    use crate::season::made_years::Air;

    /// Running sum and days of standstill of given daily rates.
    pub(crate) fn sums_of_rates(rates: &[f64]) -> [Vec<u32>; 2] {
        let mut sums = vec![0];
        for (day, rate) in rates.iter().enumerate() {
            sums.push(sums[day] + fixed(*rate));
        }
        let mut standstills = sums.clone();
        next_standstill(&mut standstills);
        [sums, standstills]
    }

    fn all_days<'a>(air: &'a Air, daylight: &'a Daylight) -> Daily<'a> {
        Daily {
            mean_c: &air.mean_c,
            daylight,
            days: 0..air.mean_c.len(),
        }
    }

    /// The sum of the days gone through one by one, and of a stretch of them only, is the rate added up.
    #[test]
    fn a_sum_is_the_rate_of_every_day_added_up() {
        let means = (0..120).map(|d| -8.0 + 0.37 * d as f32);
        let air = Air {
            mean_c: means.collect(),
            min_c: vec![0.0; 120],
        };
        let daylight = Daylight::new((0..120).map(|d| 9.0 + 0.05 * f64::from(d)).collect());
        let warm = Response {
            ceiling_c: None,
            day_length: false,
            ..cool()
        };
        let slowed = Response {
            day_length: true,
            ..warm
        };
        let hot = Response {
            ceiling_c: Some(24.0),
            ..warm
        };
        let counted = Response {
            calendar: true,
            ..warm
        };
        for (response, warmer) in [
            (cool(), None),
            (warm, Some((30, 60))),
            (slowed, None),
            (hot, Some((90, 200))),
            (counted, None),
        ] {
            let mut want = vec![0_u32];
            for day in 0..120_u16 {
                let at = usize::from(day);
                let under = warmer.is_some_and(|(a, b)| (a..b).contains(&day));
                let mean_c = f64::from(air.mean_c[at]) + if under { TUNNEL_WARMER_K } else { 0.0 };
                let rate = response.rate(mean_c, daylight.hours[at]);
                want.push(want[at] + fixed(rate));
            }
            let mut sums = Vec::new();
            let sum = Sum::Growth(response, warmer);
            sum.fill(&all_days(&air, &daylight), &mut sums);
            assert_eq!(sums, want, "{response:?}");
            let part = Daily {
                days: 40..100,
                ..all_days(&air, &daylight)
            };
            sum.fill(&part, &mut sums);
            assert_eq!(sums.len(), want.len());
            assert!((40..=100).all(|d| sums[d] == want[d] - want[40]));
        }
    }

    fn cool() -> Response {
        Response {
            calendar: false,
            base_c: 4.4,
            full_c: 17.0,
            ceiling_c: Some(22.0),
            day_length: true,
        }
    }

    #[test]
    fn the_lesser_of_warmth_and_light_counts() {
        let r = cool();
        for (mean, hours, want) in [
            (17.0, 14.0, 1.0),
            (30.0, 14.0, 0.0),
            (26.0, 14.0, 0.5),
            (4.4, 14.0, 0.0),
            (-10.0, 14.0, 0.0),
            (10.7, 14.0, 0.5),
            (17.0, 10.0, 0.4),
            (17.0, 8.0, 0.4),
            (17.0, 11.25, 0.7),
            (5.66, 10.0, 0.1),
        ] {
            assert!(
                (r.rate(mean, hours) - want).abs() < 1e-9,
                "{mean} {hours}: {}",
                r.rate(mean, hours)
            );
        }
        assert!(
            (Response {
                calendar: true,
                ..r
            }
            .rate(-20.0, 0.0)
                - 1.0)
                .abs()
                < 1e-12
        );
    }

    /// A sum includes the sowing day and the day it is asked for, and a crop is mature on the first day that reaches it.
    #[test]
    fn reaching_counts_both_ends() {
        let air = Air {
            mean_c: vec![17.0; 20],
            min_c: vec![11.0; 20],
        };
        let mut sums = Vec::new();
        let daylight = Daylight::new(vec![14.0; 20]);
        Sum::Growth(cool(), None).fill(&all_days(&air, &daylight), &mut sums);
        assert_eq!(sums.len(), 21);
        assert_eq!(reach(&sums, 3, fixed(5.0), 20), Some(7));
        assert_eq!(reach(&sums, 3, fixed(5.0), 7), None);
        assert_eq!(reach(&sums, 3, fixed(5.0), 8), Some(7));
        assert_eq!(reach(&sums, 3, 0, 20), Some(3));
        assert_eq!(reach(&sums, 20, 1, 20), None);
    }

    /// Both searches, wherever they begin and end, beside the plainest one.
    #[test]
    fn striding_finds_what_looking_day_by_day_finds() {
        let rates: Vec<f64> = (0..150).map(|d| f64::from(d * 37 % 11) / 10.0).collect();
        let [sums, _] = sums_of_rates(&rates);
        for from in [0, 1, 7, 100, 140, 149, 150] {
            for tenths in 0..800 {
                let need = fixed(f64::from(tenths) / 10.0);
                for limit in [from, 90, 149, 150] {
                    let plain = (from..limit).find(|&day| sums[day + 1] >= sums[from] + need);
                    assert_eq!(
                        reach(&sums, from, need, limit),
                        plain,
                        "{from} {need} {limit}"
                    );
                    let growing = reach_growing(&sums, from, need, limit);
                    assert_eq!(growing, plain, "{from} {need} {limit}");
                }
            }
        }
    }

    /// Thermal time over a sine year (12 + 11 sin(2π(day − 105)/365) °C, 800 °C d above 4 °C), worked out independently in
    /// Python: sowing day of the year and harvest day, from bunching in spring to a sowing that must wait for next year.
    #[test]
    fn thermal_time_over_a_sine_year() {
        let mean = |day: i32| {
            12.0 + 11.0 * libm::sin(2.0 * std::f64::consts::PI * f64::from(day - 105) / 365.0)
        };
        let air = Air {
            mean_c: (1..=730).map(|d| mean(d) as f32).collect(),
            min_c: Vec::new(),
        };
        // Warmth never passes 24 °C here, so a full rate at 24 °C leaves the response a straight line.
        let linear = Response {
            calendar: false,
            base_c: 4.0,
            full_c: 24.0,
            ceiling_c: None,
            day_length: false,
        };
        let mut sums = Vec::new();
        let daylight = Daylight::new(vec![12.0; 730]);
        Sum::Growth(linear, None).fill(&all_days(&air, &daylight), &mut sums);
        for (sown, harvest) in [
            (75, 157),
            (90, 161),
            (105, 166),
            (120, 174),
            (135, 184),
            (150, 195),
            (165, 209),
            (180, 223),
            (195, 240),
            (210, 259),
            (215, 266),
            (220, 274),
            (225, 283),
            (230, 294),
            (240, 445),
        ] {
            // That computation calls the day after the sum is reached the harvest day; here it is the day itself.
            let got = reach(&sums, sown - 1, fixed(800.0 / 20.0), 730).unwrap() + 2;
            assert_eq!(got, harvest, "sown {sown}");
        }
    }
}
