//! The processing days of the coming weeks: seasons lived through, one of them chosen, planned for, checked and dated.
//!
//! What cannot be done is weighed over the whole chosen season; sessions are planned for the coming weeks only and one
//! week further, so that the last of them is not taken for the end. Every plan passes the checkers here or is not given.

use super::certificate::{self, Certificate, WorkLot};
use super::checker;
use super::context::Context;
use super::day_by_day::{Scratch, day_by_day};
use super::plan::bridge::{self, SurplusLot, chosen_season};
use super::plan::card::{Card, card};
use super::plan::dated::{DatedWork, dated};
use super::plan::solve::{self, Effort, Planned};
use super::plan::tested::{SessionTested, tested};
use super::unavoidable::{DatedStretch, dated_stretch, due_in};
use super::undoable;
use crate::garden::Garden;
use crate::season::ensemble::{self, Settings};
use crate::season::plan::Plan;
use chrono::NaiveDate;

/// Days planned beyond the weeks asked for.
const LOOK_AHEAD_DAYS: u16 = 7;
/// Slack between the price of the planner and that of the checker, as a share.
const PRICE_SLACK: f64 = 1e-3;

/// One season as far as sessions are concerned.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonFood {
    /// Minutes of the sessions the kitchen would hold by rule in the coming weeks.
    pub coming_min: f64,
    /// Minutes of the sessions of the whole season.
    pub all_min: f64,
    /// Food for the sessions of the whole season.
    pub lots: Vec<SurplusLot>,
}

/// What is asked of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Share of seasons that need no more hours than the one planned for, 0–1.
    pub share: f64,
    /// Weeks to plan.
    pub weeks: u16,
    /// How hard to try.
    pub effort: Effort,
}

/// The processing days with everything known of them.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcessingDays {
    /// One card a session, in order of days.
    pub cards: Vec<Card>,
    /// What is made in each, as many entries as cards.
    pub work: Vec<Vec<DatedWork>>,
    /// What the seasons make of each, as many entries as cards.
    pub tested: Vec<SessionTested>,
    /// Food that a session should have done and had no time for, kg, mean over the seasons.
    pub late_kg: f64,
    /// The plan's quality.
    pub planned: Planned,
    /// Whether the kitchen is open on any day of the coming weeks.
    pub any_hours: bool,
    /// Hours of work that no order can fit, over the whole season.
    pub undoable_hours: f64,
    /// Stretches that prove it.
    pub proof: Vec<DatedStretch>,
    /// Hours of work in loads longer than any day they could be done on.
    pub no_day_hours: f64,
    /// First day after the weeks planned.
    pub end: NaiveDate,
    /// Session minutes the whole chosen season asks for after that day, by rule.
    pub later_min: f64,
}

/// Lives through every drawn season and keeps its food.
#[must_use]
pub fn seasons(plan: &Plan, ctx: &Context, draws: &Settings, weeks: u16) -> Vec<SeasonFood> {
    let end = end_day(ctx, weeks);
    let chunks = ensemble::run(
        plan,
        draws,
        |_| (Vec::new(), Scratch::new(ctx)),
        |(kept, scratch), _, season| {
            let drawn = day_by_day(ctx, season, scratch);
            let minutes = |until: u16| -> f64 {
                let before = drawn.sessions.iter().filter(|s| s.day < until);
                before.map(|s| s.minutes).sum()
            };
            kept.push(SeasonFood {
                coming_min: minutes(end),
                all_min: minutes(u16::MAX),
                lots: bridge::surplus(ctx, season, drawn),
            });
        },
    );
    chunks.into_iter().flat_map(|(kept, _)| kept).collect()
}

/// Returns the food of the season that needs no more hours in the coming weeks than a share of all seasons do.
#[must_use]
pub fn food(seasons: &[SeasonFood], share: f64) -> &[SurplusLot] {
    let minutes: Vec<f64> = seasons.iter().map(|s| s.coming_min).collect();
    chosen_season(&minutes, share).map_or(&[], |at| &seasons[at].lots)
}

fn end_day(ctx: &Context, weeks: u16) -> u16 {
    let length = weeks.saturating_mul(7);
    ctx.calendar
        .start
        .saturating_add(length)
        .min(ctx.calendar.days)
}

/// Chooses a season and plans its coming sessions.
///
/// # Errors
/// If a checker finds a fault in the plan: always a fault of the program.
pub fn processing_days(
    garden: &Garden,
    ctx: &Context,
    seasons: &[SeasonFood],
    asked: Asked,
) -> Result<ProcessingDays, Vec<String>> {
    let end = end_day(ctx, asked.weeks);
    let minutes: Vec<f64> = seasons.iter().map(|s| s.coming_min).collect();
    let nothing = SeasonFood {
        coming_min: 0.0,
        all_min: 0.0,
        lots: Vec::new(),
    };
    let chosen = chosen_season(&minutes, asked.share).map_or(&nothing, |at| &seasons[at]);

    let near = near_context(ctx, end);
    let within = |lots: &[SurplusLot]| -> Vec<SurplusLot> {
        let last = i32::from(near.calendar.days);
        lots.iter().filter(|l| l.day < last).copied().collect()
    };
    let crossed = bridge::bridge(&near, &within(&chosen.lots));
    let planned = solve::plan(&crossed.instance, asked.effort);
    let back = crossed.back(&planned.plan);
    let all_work = dated(&near, &crossed, &back);
    let mut faults = price_faults(&crossed.instance, &planned);
    let as_of = ctx.calendar.date(ctx.calendar.start);
    let found = checker::garden::check(garden, &all_work, as_of);
    faults.extend(found.iter().map(ToString::to_string));

    let told = tested(
        &near,
        &back,
        &crossed.lots,
        seasons.iter().map(|s| within(&s.lots)),
    );
    let end_date = ctx.calendar.date(end);
    let mut cards = Vec::new();
    let mut work = Vec::new();
    for of_day in all_work.chunk_by(|a, b| a.date == b.date) {
        let made = card(garden, of_day[0].date, of_day);
        let found = checker::card::check(garden, &made);
        faults.extend(found.iter().map(ToString::to_string));
        if made.date < end_date {
            cards.push(made);
            work.push(of_day.to_vec());
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let (lots, crops) = undoable::work_of_crops(ctx, &chosen.lots);
    let certificate = certificate::certify(&lots, &undoable::capacity_hours(ctx));
    let first_days = usize::from(ctx.calendar.start)..usize::from(end);
    Ok(ProcessingDays {
        tested: told.sessions.into_iter().take(cards.len()).collect(),
        late_kg: told.late_kg,
        cards,
        work,
        planned,
        any_hours: ctx.calendar.open_min[first_days].iter().any(|m| *m > 0.0),
        undoable_hours: certificate.undoable_hours,
        proof: (certificate.proof.iter())
            .map(|stretch| dated_stretch(ctx, stretch, due_in(ctx, stretch, &lots, &crops)))
            .collect(),
        no_day_hours: no_day_hours(&certificate, &lots),
        end: end_date,
        later_min: chosen.all_min - chosen.coming_min,
    })
}

/// Returns the context of the coming weeks alone, with a little beyond.
fn near_context(ctx: &Context, end: u16) -> Context {
    let mut near = ctx.clone();
    near.calendar.days = end.saturating_add(LOOK_AHEAD_DAYS).min(ctx.calendar.days);
    near
}

fn no_day_hours(certificate: &Certificate, lots: &[WorkLot]) -> f64 {
    certificate.no_day.iter().map(|&lot| lots[lot].hours).sum()
}

/// Checks the plan on the bare problem: its limits, and that planner and checker come to the same price.
fn price_faults(instance: &super::plan::instance::Instance, planned: &Planned) -> Vec<String> {
    let report = checker::check(instance, &planned.plan);
    let mut faults: Vec<String> = report.faults.iter().map(ToString::to_string).collect();
    if (report.price - planned.price).abs() > PRICE_SLACK * (1.0 + planned.price) {
        faults.push(format!(
            "the plan costs {:.2} by the planner and {:.2} by the checker",
            planned.price, report.price
        ));
    }
    faults
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::context::compile;
    use crate::kitchen::fixture::{self, monday};

    const ASKED: Asked = Asked {
        share: 0.7,
        weeks: 2,
        effort: Effort::USUAL,
    };

    fn beans() -> Garden {
        let mut garden = fixture::garden();
        fixture::plant(&mut garden, "snap bean");
        fixture::goal(&mut garden, &[fixture::FROZEN_BEANS], 200.0);
        garden
    }

    /// Beans picked on a day and fit for three more.
    fn season(coming_min: f64, pickings: &[(i32, f64)]) -> SeasonFood {
        let lot = |&(day, kg): &(i32, f64)| SurplusLot {
            crop: 0,
            day,
            last_day: day + 3,
            kg,
            not_canned: false,
        };
        SeasonFood {
            coming_min,
            all_min: coming_min,
            lots: pickings.iter().map(lot).collect(),
        }
    }

    fn planned(garden: &Garden, seasons: &[SeasonFood], asked: Asked) -> ProcessingDays {
        let ctx = compile(garden, monday(), 56, monday());
        processing_days(garden, &ctx, seasons, asked).unwrap()
    }

    /// Saturdays are days 5, 12, 19, 26: food of days 4 and 11 is done on them, that of day 25 is beyond two weeks.
    #[test]
    fn only_the_weeks_asked_for_are_shown() {
        let garden = beans();
        let food = [season(200.0, &[(4, 4.0), (11, 5.0), (25, 6.0)])];
        let kg = |found: &ProcessingDays| -> Vec<f64> {
            let sums = found.work.iter();
            sums.map(|w| w.iter().map(DatedWork::kg).sum::<f64>().round())
                .collect()
        };
        let two = planned(&garden, &food, ASKED);
        assert_eq!(kg(&two), [4.0, 5.0]);
        assert_eq!(two.cards[0].date, monday() + chrono::Days::new(5));
        assert_eq!((two.tested.len(), two.undoable_hours), (2, 0.0));
        let four = planned(&garden, &food, Asked { weeks: 4, ..ASKED });
        assert_eq!(kg(&four), [4.0, 5.0, 6.0]);
    }

    /// Of three seasons, the middle one by hours is planned for at a share of one half, the greatest at nine tenths.
    #[test]
    fn the_season_is_chosen_by_its_hours() {
        let garden = beans();
        let seasons = [(90.0, 9.0), (30.0, 3.0), (60.0, 6.0)].map(|(m, kg)| season(m, &[(4, kg)]));
        for (share, kg) in [(0.5, 6.0), (0.9, 9.0), (0.0, 3.0)] {
            let found = planned(&garden, &seasons, Asked { share, ..ASKED });
            assert!((found.work[0][0].kg() - kg).abs() < 1e-6, "{share}");
        }
    }

    #[test]
    fn no_kitchen_hours_give_a_proof_and_no_error() {
        let mut garden = beans();
        garden.household.kitchen.minutes = [crate::garden::units::Minutes::ZERO; 7];
        let found = planned(&garden, &[season(0.0, &[(4, 4.0)])], ASKED);
        assert!(!found.any_hours && found.cards.is_empty());
        assert!(found.undoable_hours > 0.5);
        assert_eq!(found.proof[0].have_hours, 0.0);
        assert_eq!(found.proof[0].first, monday() + chrono::Days::new(4));
        let nothing = planned(&garden, &[], ASKED);
        assert_eq!(nothing.undoable_hours, 0.0);
    }
}
