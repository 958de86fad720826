//! The weather of one draw: daily temperatures, running sums and the days of cold.
//!
//! Made years are filled anew for each run; recorded years are worked out once and shared by all draws that take them.

use rayon::prelude::*;

use super::ends::{Cold, ColdSpan};
use super::ensemble::Settings;
use super::frost::{LOWEST_SD_F, Luck};
use super::growth::Daily;
use super::life::Sky;
use super::made_years::{self, Air};
use super::plan::Plan;
use super::recorded::{HALF_STEP_K, Recorded};
use super::so_far::Waiting;
use super::streams::{Purpose, Stream};

/// Weather of one draw.
#[derive(Debug, Clone)]
pub(crate) struct Weather {
    /// Made run that it holds, if any.
    run: Option<u64>,
    /// Daily temperatures.
    pub(crate) air: Air,
    /// Running sums in the order of the plan.
    pub(crate) sums: Vec<Vec<u32>>,
    /// Days of cold.
    pub(crate) cold: Cold,
}

impl Weather {
    /// Makes an empty one for a plan.
    pub(crate) fn new(plan: &Plan) -> Self {
        let slack_k = if plan.climate().recorded.is_some() {
            HALF_STEP_K
        } else {
            0.0
        };
        Self {
            run: None,
            air: Air::default(),
            sums: vec![Vec::new(); plan.sums.len()],
            cold: Cold {
                winters: plan.winters.len(),
                spans: vec![ColdSpan::NEVER; plan.thresholds_f.len() * plan.winters.len()],
                thresholds_c: plan
                    .thresholds_f
                    .iter()
                    .map(|f| ((f - 32.0) / 1.8 + slack_k) as f32)
                    .collect(),
                past_min_c: plan.so_far.past_min_c.clone(),
            },
        }
    }

    /// Fills in a made run, unless it holds it already.
    pub(crate) fn make(&mut self, plan: &Plan, settings: &Settings, run: u64) {
        if self.run != Some(run) {
            made_years::make(
                plan.climate(),
                &plan.horizon(),
                settings.seed,
                run,
                &mut self.air,
            );
            self.add_up(plan);
            self.run = Some(run);
        }
    }

    /// Returns it as plantings look it up.
    pub(crate) fn sky(&self) -> Sky<'_> {
        Sky {
            sums: &self.sums,
            min_c: &self.air.min_c,
            cold: &self.cold,
        }
    }

    /// Works out the running sums.
    fn add_up(&mut self, plan: &Plan) {
        for ((sum, days), out) in plan.sums.iter().zip(&plan.sum_days).zip(&mut self.sums) {
            if days.end == 0 {
                continue;
            }
            let sky = Daily {
                mean_c: &self.air.mean_c,
                daylight: &plan.daylight,
                days: days.clone(),
            };
            sum.fill(&sky, out);
        }
    }

    /// Draws first and last cold of each winter at each threshold, or takes them from the minima where no frost is known.
    pub(crate) fn draw_frost(&self, plan: &Plan, streams: &mut [Stream], cold: &mut Cold) {
        let frost = &plan.climate().frost;
        if frost.is_empty() {
            read_frost(plan, &self.air.min_c, cold);
            return;
        }
        for (w, (winter, stream)) in plan.winters.iter().zip(streams).enumerate() {
            let mut luck = Luck {
                fall: stream.uniform(),
                spring: stream.uniform(),
                deep_fall: stream.normal(),
                deep_spring: stream.normal(),
                lowest_f: frost.lowest_f.unwrap_or(f64::NEG_INFINITY)
                    + LOWEST_SD_F * stream.normal(),
            };
            let waiting = plan.so_far.waiting.filter(|waiting| waiting.winter == w);
            if let Some(waiting) = waiting {
                luck.fall = waiting.passed + (1.0 - waiting.passed) * luck.fall;
            }
            let coldest = frost.coldest(&luck);
            for (t, &threshold_f) in plan.thresholds_f.iter().enumerate() {
                let span = frost.dates(threshold_f, &luck, coldest).map_or(
                    ColdSpan::NEVER,
                    |(first, last)| ColdSpan {
                        first: winter.place(first),
                        last: winter.place(last),
                    },
                );
                cold.spans[t * plan.winters.len() + w] =
                    not_before_today(span, threshold_f, waiting);
            }
        }
    }
}

/// Says which made run a draw takes; draws that share a run lie together.
pub(crate) fn run_of(settings: &Settings, draw: u32) -> u64 {
    let runs = settings.draws.min(made_years::RUNS);
    u64::from(draw) * u64::from(runs) / u64::from(settings.draws.max(1))
}

/// Takes first and last cold of each winter from the daily minima.
fn read_frost(plan: &Plan, min_c: &[f32], cold: &mut Cold) {
    for (w, winter) in plan.winters.iter().enumerate() {
        for (t, &threshold_c) in cold.thresholds_c.iter().enumerate() {
            cold.spans[t * plan.winters.len() + w] =
                coldest_days(min_c, threshold_c, winter.start(), winter.end());
        }
    }
}

/// A span of cold that has not begun yet begins today at the earliest.
fn not_before_today(span: ColdSpan, threshold_f: f64, waiting: Option<Waiting>) -> ColdSpan {
    match waiting {
        Some(w) if threshold_f <= w.threshold_f && span.first <= span.last => ColdSpan {
            first: span.first.max(w.today),
            last: span.last.max(w.today),
        },
        _ => span,
    }
}

/// Returns the weather of every recorded year that a draw may start from, in a seeded order; empty without a record.
pub(crate) fn recorded_years(plan: &Plan, seed: u64) -> Vec<Weather> {
    let Some(recorded) = &plan.climate().recorded else {
        return Vec::new();
    };
    let mut starts = recorded.starts();
    let mut stream = Stream::keyed(seed, 0, "", Purpose::Order);
    for k in (1..starts.len()).rev() {
        starts.swap(k, stream.below(k + 1));
    }
    starts
        .into_par_iter()
        .map(|start| recorded_year(plan, recorded, start))
        .collect()
}

/// Weather of the horizon when this year is taken to be a recorded one; past days as they were.
pub(super) fn recorded_year(plan: &Plan, recorded: &Recorded, start: usize) -> Weather {
    use chrono::Datelike;
    let horizon = plan.horizon();
    let this_year = horizon.date(plan.today()).year();
    let mut weather = Weather::new(plan);
    for day in 0..horizon.days {
        let date = horizon.date(day);
        let past = if day < plan.today() {
            recorded.fact(date)
        } else {
            None
        };
        let (min, max) = past.unwrap_or_else(|| recorded.stand_in(date, start, this_year));
        weather.air.min_c.push(min);
        weather.air.mean_c.push(0.5 * (min + max));
    }
    weather.add_up(plan);
    read_frost(plan, &weather.air.min_c, &mut weather.cold);
    weather
}

/// First and last day with a minimum at or below a threshold within one cold season.
fn coldest_days(min_c: &[f32], threshold_c: f32, start: i32, end: i32) -> ColdSpan {
    let from = usize::try_from(start).unwrap_or(0).min(min_c.len());
    let until = usize::try_from(end).unwrap_or(0).clamp(from, min_c.len());
    let days = &min_c[from..until];
    let place = |k: usize| i32::try_from(from + k).unwrap_or(i32::MAX);
    match (
        days.iter().position(|&t| t <= threshold_c),
        days.iter().rposition(|&t| t <= threshold_c),
    ) {
        (Some(first), Some(last)) => ColdSpan {
            first: place(first),
            last: place(last),
        },
        _ => ColdSpan::NEVER,
    }
}
