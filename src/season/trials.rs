//! Trial plantings: how often each reaches a full or half harvest by a day, and how much it gives on average.
//!
//! Many sowing dates of one crop are tried as plantings of one plan that share a name: random numbers are keyed by name,
//! so that all dates live through the same seasons with the same luck and their differences are the date's alone.

use chrono::NaiveDate;

use super::ensemble::{Settings, drive};
use super::life::Sheet;
use super::plan::Plan;
use super::windows::{DateSpread, NO_DAY, dates};
use crate::garden::crop::Pattern;
use crate::garden::planting::PlantingId;

/// Share of what a planting could have given that counts as a full harvest.
pub const FULL: f64 = 0.9;
/// Share that counts as half a harvest.
pub const HALF: f64 = 0.5;

/// What trials of one planting came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// The planting.
    pub planting: PlantingId,
    /// Share of seasons with a full harvest by the last day counted.
    pub full: f64,
    /// Share of seasons with at least half a harvest by that day.
    pub half: f64,
    /// Share of seasons with any harvest by that day.
    pub any: f64,
    /// Share of seasons with at least half a harvest whenever it comes.
    pub half_ever: f64,
    /// Mean amount ready by that day, kg.
    pub kg: f64,
    /// First picking by that day, over the seasons that have one.
    pub first: Option<DateSpread>,
    /// Last day by then on which there is anything to pick, over the same seasons.
    pub last: Option<DateSpread>,
    /// Mean amount ready in each week of the plan's horizon up to that day, kg; empty unless asked for.
    pub kg_by_week: Vec<f64>,
}

/// What one chunk of draws tells of one planting.
#[derive(Debug, Clone, Default)]
struct Tally {
    full: u32,
    half: u32,
    any: u32,
    half_ever: u32,
    kg: f64,
    first: Vec<u16>,
    last: Vec<u16>,
    weeks: Vec<f64>,
}

impl Tally {
    fn add(&mut self, sheet: &Sheet, until: u16, stands: bool) {
        let lots = sheet.lots.iter().filter(|lot| !lot.second);
        let counted = lots.take_while(|lot| lot.day <= until);
        let (mut kg, mut last) = (0.0, NO_DAY);
        for lot in counted {
            kg += lot.kg;
            last = lot.day;
            if let Some(week) = self.weeks.get_mut(usize::from(lot.day / 7)) {
                *week += lot.kg;
            }
        }
        self.kg += kg;
        self.full += u32::from(kg > 0.0 && kg >= FULL * sheet.possible_kg);
        self.half += u32::from(kg > 0.0 && kg >= HALF * sheet.possible_kg);
        self.half_ever +=
            u32::from(sheet.ready_kg > 0.0 && sheet.ready_kg >= HALF * sheet.possible_kg);
        if last == NO_DAY {
            return;
        }
        self.any += 1;
        self.first.push(sheet.first.unwrap_or(last));
        self.last.push(if stands {
            sheet.last.unwrap_or(last).min(until)
        } else {
            last
        });
    }
}

/// Returns what the trials of every planting came to, in the order of the plan; what is ready after `until` counts for
/// nothing but [`Trial::half_ever`].
#[must_use]
pub fn trials(plan: &Plan, settings: &Settings, until: NaiveDate) -> Vec<Trial> {
    over_weeks(plan, settings, until, 0)
}

/// Returns the same with the mean amount of each week.
#[must_use]
pub fn trials_by_week(plan: &Plan, settings: &Settings, until: NaiveDate) -> Vec<Trial> {
    over_weeks(plan, settings, until, usize::from(plan.horizon().weeks()))
}

fn over_weeks(plan: &Plan, settings: &Settings, until: NaiveDate, weeks: usize) -> Vec<Trial> {
    let until = plan.horizon().clamped(until);
    let stands: Vec<bool> = plan
        .plantings
        .iter()
        .map(|p| matches!(p.life.pattern, Pattern::Once | Pattern::Root))
        .collect();
    let chunks = drive(
        plan,
        settings,
        &vec![true; plan.len()],
        |_| {
            let one = Tally {
                weeks: vec![0.0; weeks],
                ..Tally::default()
            };
            vec![one; plan.len()]
        },
        |tallies, _, planting, sheet| tallies[planting].add(sheet, until, stands[planting]),
        |_, _| (),
    );
    let draws = f64::from(settings.draws.max(1));
    (0..plan.len())
        .map(|k| {
            let of = |count: fn(&Tally) -> u32| {
                chunks.iter().map(|t| f64::from(count(&t[k]))).sum::<f64>() / draws
            };
            let days = |which: fn(&Tally) -> &Vec<u16>| {
                dates(
                    plan,
                    chunks.iter().flat_map(|t| which(&t[k]).iter().copied()),
                )
            };
            Trial {
                planting: PlantingId(k),
                full: of(|t| t.full),
                half: of(|t| t.half),
                any: of(|t| t.any),
                half_ever: of(|t| t.half_ever),
                kg: chunks.iter().map(|t| t[k].kg).sum::<f64>() / draws,
                first: days(|t| &t.first),
                last: days(|t| &t.last),
                kg_by_week: (0..weeks)
                    .map(|w| chunks.iter().map(|t| t[k].weeks[w]).sum::<f64>() / draws)
                    .collect(),
            }
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::fixture::{self, date, planting};
    use crate::season::plan::compile;
    use crate::season::windows::windows;

    const SETTINGS: Settings = Settings {
        draws: 1_000,
        seed: 1,
    };

    /// Counted to the end of the horizon, trials say of each planting what the windows say.
    #[test]
    fn trials_agree_with_windows() {
        let garden = fixture::year();
        let plan = compile(&garden, date("2026-03-01"));
        let seen = windows(&plan, &SETTINGS);
        let tried = trials_by_week(&plan, &SETTINGS, plan.horizon().end());
        assert_eq!(seen.len(), tried.len());
        for (window, trial) in seen.iter().zip(&tried) {
            assert!((window.chance_of_harvest - trial.any).abs() < 1e-9);
            assert!((window.kg.mean - trial.kg).abs() < 1e-3 * window.kg.mean.max(0.1));
            assert_eq!(window.first, trial.first);
            assert!((trial.kg_by_week.iter().sum::<f64>() - trial.kg).abs() < 1e-9);
            assert!(trial.full <= trial.half && trial.half <= trial.any);
            assert!((trial.half - trial.half_ever).abs() < 1e-9);
        }
    }

    /// Plantings of one name share their luck: two alike come out alike to the last bit, and of two sown a day apart
    /// the later is never sooner ready.
    #[test]
    fn dates_of_one_name_share_their_seasons() {
        let garden = fixture::garden(
            ["2026-08-01", "2026-08-01", "2026-08-02"]
                .iter()
                .map(|day| planting("trial", 0, day))
                .collect(),
        );
        let plan = compile(&garden, date("2026-07-01"));
        let tried = trials(&plan, &SETTINGS, date("2026-12-31"));
        assert!((tried[0].kg - tried[1].kg).abs() < 1e-15);
        assert_eq!(tried[0].first, tried[1].first);
        let first = |k: usize| tried[k].first.unwrap().p50;
        assert!(first(2) >= first(0));
        assert!(tried[2].full <= tried[0].full + 1e-9);
    }
}
