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
pub(super) const NO_DAY: u16 = u16::MAX;

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
        |tallies, draw, planting, sheet| {
            for _ in plan.places.of(planting, draw) {
                tallies[planting].add(sheet);
            }
        },
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
pub(super) fn dates(plan: &Plan, days: impl Iterator<Item = u16>) -> Option<DateSpread> {
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
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::garden::crop::Pattern;
    use crate::season::fixture::{self, date, planting};
    use crate::season::plan::compile;

    const SETTINGS: Settings = Settings {
        draws: 2_000,
        seed: 1,
    };

    /// Median days from sowing to harvest of a cool-season crop that nothing ends.
    fn days_to_harvest(days: f64, sown: &[&str]) -> Vec<i64> {
        let mut crop = fixture::cool_leaf("crop", days);
        crop.harvest.pattern = Pattern::Once;
        crop.harvest.usable_early = false;
        crop.ends.killed_below = None;
        crop.ends.spoiled_below = None;
        crop.ends.bolts_above_hours = None;
        crop.yields.fail_chance = 0.0;
        let mut garden: Garden =
            fixture::garden(sown.iter().map(|day| planting(day, 0, day)).collect());
        garden.crops = vec![crop];
        let plan = compile(&garden, date("2026-01-05"));
        let all = windows(&plan, &SETTINGS);
        all.iter()
            .zip(sown)
            .map(|(w, day)| (w.first.unwrap().p50 - date(day)).num_days())
            .collect()
    }

    /// A 65-day crop takes closer to 80 days in autumn (McDaniel, Virginia Tech), and its own days in summer.
    #[test]
    fn autumn_stretches_a_65_day_crop_towards_80() {
        let days = days_to_harvest(65.0, &["2026-08-15", "2026-06-15"]);
        assert!((75..=83).contains(&days[0]), "{days:?}");
        assert!((60..=67).contains(&days[1]), "{days:?}");
    }

    /// Sowings of early September move their harvest 1.7 to 4 days a day, spring ones 0.25 to 0.6. Published for a colder
    /// place under cover: 2 to 3.5, and 0.26 to 0.5 (Coleman; ATTRA).
    #[test]
    fn sowings_spread_in_autumn_and_bunch_in_spring() {
        let sown = ["2026-09-01", "2026-09-10", "2026-03-01", "2026-04-01"];
        let days = days_to_harvest(50.0, &sown);
        let autumn = (9 + days[1] - days[0]) as f64 / 9.0;
        let spring = (31 + days[3] - days[2]) as f64 / 31.0;
        assert!((1.7..=4.0).contains(&autumn), "{autumn} {days:?}");
        assert!((0.25..=0.6).contains(&spring), "{spring} {days:?}");
    }

    #[test]
    fn quantiles_are_ordered_and_shares_add_up() {
        let plan = compile(&fixture::year(), date("2026-03-01"));
        for w in windows(&plan, &SETTINGS) {
            assert!(w.kg.p10 <= w.kg.p50 && w.kg.p50 <= w.kg.p90, "{w:?}");
            for d in [w.first.unwrap(), w.last.unwrap()] {
                assert!(d.p10 <= d.p50 && d.p50 <= d.p90);
            }
            assert!(w.first.unwrap().p50 <= w.last.unwrap().p50);
            assert!((w.ended.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            assert!((w.kg.mean + w.kg_lost_all() - w.kg_possible).abs() < 1e-5 * w.kg_possible);
        }
    }

    /// Invented garden at 37.5° N; what a grower would expect of each planting.
    #[test]
    fn a_grower_would_believe_these_windows() {
        let plan = compile(&fixture::year(), date("2026-03-01"));
        let all = windows(&plan, &SETTINGS);
        let between = |got: NaiveDate, from: &str, until: &str| {
            assert!(
                date(from) <= got && got <= date(until),
                "{got} not in {from}..{until}"
            );
        };
        // Okra bears from midsummer and slows before frost ends it.
        between(all[1].first.unwrap().p50, "2026-07-01", "2026-07-25");
        between(all[1].last.unwrap().p50, "2026-09-15", "2026-10-25");
        // Fall kale is picked from October into winter.
        between(all[3].first.unwrap().p50, "2026-10-05", "2026-10-31");
        between(all[3].last.unwrap().p90, "2026-12-20", "2027-05-15");
        assert!(all[3].ended_by(EndCause::Heat) < 0.2);
        // Garlic planted in October is pulled in early summer.
        between(all[4].first.unwrap().p50, "2027-06-01", "2027-07-01");
        // Turnips give leaves before the roots.
        assert!(all[2].kg_second > 0.3 * 0.4 * all[2].kg.mean);
    }

    /// The same garden half a year and half the globe away does the same, half a year later.
    #[test]
    fn the_south_mirrors_the_north() {
        let north = fixture::year();
        let mut south = north.clone();
        let half_year = |day: u16| crate::garden::week::YearDay::wrapped(i64::from(day) + 183);
        south.site.latitude_deg = -37.5;
        for row in south
            .site
            .frost
            .spring
            .iter_mut()
            .chain(&mut south.site.frost.fall)
        {
            for (_, day) in &mut row.dates {
                *day = half_year(day.number());
            }
        }
        if let crate::garden::site::Climate::Monthly(normals) = &mut south.site.climate {
            normals.min.rotate_left(6);
            normals.max.rotate_left(6);
        }
        for p in &mut south.plantings {
            p.sown = p.sown.map(|day| day + chrono::Duration::days(183));
        }
        let a = windows(&compile(&north, date("2026-03-01")), &SETTINGS);
        let b = windows(&compile(&south, date("2026-08-31")), &SETTINGS);
        for (k, (n, s)) in a.iter().zip(&b).enumerate() {
            let (n_first, s_first) = (n.first.unwrap().p50, s.first.unwrap().p50);
            // The lettuce stands on a knife's edge of day length, and southern springs are three days shorter.
            let days = (s_first - n_first).num_days() - 183;
            assert!(days.abs() <= 5, "{n_first} {s_first}");
            assert!(
                k == 0 || (n.kg.mean - s.kg.mean).abs() < 0.12 * n.kg.mean,
                "{:?} {:?}",
                n.kg,
                s.kg
            );
        }
    }

    /// Cover over a bed carries a tender crop past frosts and loses less to cold.
    #[test]
    fn covers_lose_less_to_cold() {
        let mut garden = fixture::garden(vec![
            planting("open", 1, "2026-07-15"),
            planting("framed", 1, "2026-07-15"),
        ]);
        garden.beds[1].protection = crate::garden::bed::Protection::ColdFrame;
        garden.plantings[1].bed = BedId(1);
        let all = windows(&compile(&garden, date("2026-07-01")), &SETTINGS);
        let cold = EndCause::Cold as usize;
        assert!(
            all[1].kg_lost[cold] < 0.9 * all[0].kg_lost[cold],
            "{:?}",
            all
        );
        assert!(all[1].last.unwrap().p90 > all[0].last.unwrap().p90);
    }
}
