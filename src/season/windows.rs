//! When each planting is picked, how much it gives, how sure that is and what ends it.
//!
//! Dates are quantiles over the draws that have a harvest, amounts over all draws. Renders nothing.

use chrono::NaiveDate;
use rayon::prelude::*;

use super::draw::EndCause;
use super::ensemble::{Settings, drive};
use super::life::Sheet;
use super::plan::Plan;
use super::quantile::{Spread, of_counts, spread};
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;

/// Marks a draw without a harvest.
const NO_DAY: u16 = u16::MAX;

/// An uncertain date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DateSpread {
    /// One season in ten is earlier.
    pub p10: NaiveDate,
    /// The middle date.
    pub p50: NaiveDate,
    /// One season in ten is later.
    pub p90: NaiveDate,
}

/// What is expected of one planting.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// The planting.
    pub planting: PlantingId,
    /// Its bed.
    pub bed: BedId,
    /// Its crop.
    pub crop: CropId,
    /// First day in its bed.
    pub start: NaiveDate,
    /// Whether it was over before the forecast begins; then everything else is empty.
    pub over: bool,
    /// First picking, over the seasons with a harvest.
    pub first: Option<DateSpread>,
    /// Last day on which there is anything to pick, over the seasons with a harvest.
    pub last: Option<DateSpread>,
    /// Amount ready, kg, over all seasons.
    pub kg: Spread,
    /// Share of seasons with any harvest.
    pub chance_of_harvest: f64,
    /// Share of seasons ended by each cause, in the order of [`EndCause::ALL`].
    pub ended: [f64; 7],
    /// Mean amount lost to each cause, kg, in the order of [`EndCause::ALL`].
    pub kg_lost: [f64; 7],
    /// Mean of all that it could have given, kg.
    pub kg_possible: f64,
    /// Mean amount of the second food, kg.
    pub kg_second: f64,
    /// Mean amount stripped on the eve of killing cold, kg.
    pub kg_strip: f64,
}

impl Window {
    /// Returns the mean amount lost to all causes together, kg.
    #[must_use]
    pub fn kg_lost_all(&self) -> f64 {
        self.kg_lost.iter().sum()
    }
    /// Returns the share of seasons that end by a cause.
    #[must_use]
    pub fn ended_by(&self, cause: EndCause) -> f64 {
        self.ended[cause as usize]
    }
}

/// What one chunk of draws tells of one planting.
#[derive(Debug, Clone)]
struct Tally {
    first: Vec<u16>,
    last: Vec<u16>,
    kg: Vec<f32>,
    ended: [u32; 7],
    lost: [f64; 7],
    possible: f64,
    second: f64,
    strip: f64,
}

impl Tally {
    fn new(draws: usize) -> Self {
        Self {
            first: Vec::with_capacity(draws),
            last: Vec::with_capacity(draws),
            kg: Vec::with_capacity(draws),
            ended: [0; 7],
            lost: [0.0; 7],
            possible: 0.0,
            second: 0.0,
            strip: 0.0,
        }
    }

    fn add(&mut self, sheet: &Sheet) {
        self.first.push(sheet.first.unwrap_or(NO_DAY));
        self.last.push(sheet.last.unwrap_or(NO_DAY));
        self.kg.push(sheet.ready_kg as f32);
        if let Some(cause) = sheet.cause {
            self.ended[cause as usize] += 1;
            self.lost[cause as usize] += sheet.lost_kg;
        }
        self.possible += sheet.possible_kg;
        self.second += sheet.second_kg;
        self.strip += sheet.strip_kg;
    }
}

/// Returns what is expected of every planting, in the garden's order.
#[must_use]
pub fn windows(plan: &Plan, settings: &Settings) -> Vec<Window> {
    let chunks = drive(
        plan,
        settings,
        &vec![true; plan.len()],
        |_| vec![Tally::new(super::ensemble::CHUNK as usize); plan.len()],
        |tallies, _, planting, sheet| tallies[planting].add(sheet),
        |_, _| (),
    );
    (0..plan.len())
        .into_par_iter()
        .map(|planting| {
            window(
                plan,
                planting,
                settings.draws,
                chunks.iter().map(|tallies| &tallies[planting]),
            )
        })
        .collect()
}

/// Summary of one planting from its tallies in the order of the draws.
fn window<'a>(
    plan: &Plan,
    planting: usize,
    draws: u32,
    tallies: impl Iterator<Item = &'a Tally> + Clone,
) -> Window {
    let compiled = &plan.plantings[planting];
    let count = f64::from(draws.max(1));
    let mut kg: Vec<f32> = tallies.clone().flat_map(|t| t.kg.iter().copied()).collect();
    let firsts = tallies.clone().flat_map(|t| t.first.iter().copied());
    let lasts = tallies.clone().flat_map(|t| t.last.iter().copied());
    let harvests = firsts.clone().filter(|day| *day != NO_DAY).count();
    let mut ended = [0.0; 7];
    let mut kg_lost = [0.0; 7];
    let (mut possible, mut second, mut strip) = (0.0, 0.0, 0.0);
    for tally in tallies {
        for (sum, n) in ended.iter_mut().zip(tally.ended) {
            *sum += f64::from(n) / count;
        }
        for (sum, lost) in kg_lost.iter_mut().zip(tally.lost) {
            *sum += lost / count;
        }
        possible += tally.possible / count;
        second += tally.second / count;
        strip += tally.strip / count;
    }
    Window {
        planting: PlantingId(planting),
        bed: compiled.bed,
        crop: compiled.crop_id,
        start: compiled.start,
        over: !compiled.alive,
        first: dates(plan, firsts),
        last: dates(plan, lasts),
        kg: spread(&mut kg),
        chance_of_harvest: u32::try_from(harvests).map_or(0.0, f64::from) / count,
        ended,
        kg_lost,
        kg_possible: possible,
        kg_second: second,
        kg_strip: strip,
    }
}

/// Quantiles of days as dates; halves round up.
fn dates(plan: &Plan, days: impl Iterator<Item = u16>) -> Option<DateSpread> {
    let horizon = plan.horizon();
    let mut counts = vec![0_u32; usize::from(horizon.days) + 1];
    for day in days.filter(|day| *day != NO_DAY) {
        counts[usize::from(day.min(horizon.days))] += 1;
    }
    let date = |p| of_counts(&counts, p).map(|day| horizon.date((day + 0.5).floor() as u16));
    Some(DateSpread {
        p10: date(0.1)?,
        p50: date(0.5)?,
        p90: date(0.9)?,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::print_stdout, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::fixture;
    use crate::season::plan::compile;

    #[test]
    fn look() {
        let plan = compile(&fixture::year(), fixture::date("2026-03-01"));
        println!("{:?} {:?}", plan.horizon(), plan.notes());
        for w in windows(&plan, &Settings { draws: 2000, seed: 1 }) {
            println!("{:?} first {:?} last {:?}\n   kg {:?} of {:.2} chance {:.3} ended {:?} lost {:?} second {:.2} strip {:.2}", w.planting, w.first, w.last, w.kg, w.kg_possible, w.chance_of_harvest, w.ended, w.kg_lost, w.kg_second, w.kg_strip);
        }
    }
}
