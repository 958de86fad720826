//! What every season of the record says, each against the forecast that its first sowing day would have had.
//!
//! A season is the plantings that began in one year. The garden must hold the built-in numbers, so that what was learned
//! before is not learned again. Minutes of the kitchen are not gathered here: they need the kitchen.

use super::calibration::Spread;
use super::evidence::{DaysEvidence, Evidence, YieldEvidence, of_days, of_failures, of_yield};
use super::gather::Gathered;
use super::learn::LEAST_SEASONS_OF_BED;
use super::outcome::{PlantingRecord, plantings};
use super::record::{LoggedWeeks, WeekEntry, WeekState, by_crop, in_bed, with_counted_bags};
use super::visits::Visits;
use crate::garden::Garden;
use crate::garden::planting::PlantingId;
use crate::garden::record::Picked;
use crate::garden::week::Week;
use crate::season::ensemble::{self, Settings};
use crate::season::plan::{self, Plan};
use crate::season::windows::{DateSpread, windows};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Share of a week's forecast from another season's plantings above which the week is left out (judgement).
const MOST_OF_OTHERS: f64 = 0.1;
/// Draws from which the middle forecast of a bed is taken: with a thousand it strays by two in a hundred, which is nothing
/// beside the spread of seasons.
const DRAWS_OF_BEDS: u32 = 1_000;

/// Gathers all that the record says up to a day, season by season.
#[must_use]
pub fn evidence(garden: &Garden, as_of: NaiveDate, settings: &Settings) -> Evidence {
    let rows = with_counted_bags(garden);
    let records: Vec<PlantingRecord> = plantings(garden, &rows, as_of);
    let begun = |record: &&PlantingRecord| garden.planting(record.planting).start() <= as_of;
    let mut found = Evidence::default();
    let seasons: BTreeSet<i32> = records.iter().filter(begun).map(|r| r.season).collect();
    for &season in &seasons {
        let of_season: Vec<PlantingRecord> = records
            .iter()
            .filter(|r| r.season == season)
            .copied()
            .collect();
        let starts = of_season.iter().map(|r| {
            let planting = garden.planting(r.planting);
            planting.sown.unwrap_or_else(|| planting.start())
        });
        let Some(first) = starts.min() else { continue };
        let plan = plan::compile(garden, Week::of(first).monday());
        found.yields.extend(yields(
            garden, &plan, &rows, &of_season, season, as_of, settings,
        ));
        if seasons.len() >= LEAST_SEASONS_OF_BED {
            found.yields.extend(yields_of_beds(
                garden, &plan, &rows, &of_season, season, as_of, settings,
            ));
        }
        // A planting is heard only when even a late one would have been picked: else the early ones alone would speak.
        let windows = windows(&plan, settings);
        let due: Vec<(PlantingRecord, DateSpread)> = of_season
            .iter()
            .filter_map(|record| Some((*record, windows.get(record.planting.0)?.first?)))
            .filter(|(_, first)| first.p90 <= as_of)
            .collect();
        let heard: Vec<PlantingRecord> = due.iter().map(|(record, _)| *record).collect();
        found.failures.extend(of_failures(garden, &heard));
        found.days.extend(days(garden, &due));
    }
    found
}

/// Returns what one season says of yields.
fn yields(
    garden: &Garden,
    plan: &Plan,
    rows: &[Picked],
    of_season: &[PlantingRecord],
    season: i32,
    as_of: NaiveDate,
    settings: &Settings,
) -> Vec<YieldEvidence> {
    let ids: BTreeSet<PlantingId> = of_season.iter().map(|r| r.planting).collect();
    let first = Week::of(plan.horizon().first);
    let weeks = usize::from(plan.horizon().weeks());
    let runs = ensemble::run(
        plan,
        settings,
        |_| (Gathered::new(garden, weeks), Gathered::new(garden, weeks)),
        |(own, others), _, draw| {
            own.push_where(draw, |id| ids.contains(&id));
            others.push_where(draw, |id| !ids.contains(&id));
        },
    );
    let (own, others): (Vec<_>, Vec<_>) = runs.into_iter().unzip();
    let own = Gathered::join(&own, first);
    let others = Gathered::join(&others, first);
    let logged = by_crop(garden, rows, first, as_of);
    let visits = Visits::new(garden, rows, as_of);
    own.iter()
        .zip(&others)
        .filter_map(|(own, others)| {
            let mut logged: LoggedWeeks = logged.iter().find(|l| l.crop == own.crop)?.clone();
            let mean = |kg: &[f32]| kg.iter().map(|&x| f64::from(x)).sum::<f64>() / kg.len() as f64;
            let alone = |week: Week| {
                let of = |draws: &super::draws::WeeklyDraws| draws.of_week(week).map_or(0.0, mean);
                of(others) <= MOST_OF_OTHERS * (of(own) + of(others))
            };
            settle(&mut logged, &visits, alone);
            for (i, entry) in (0_i64..).zip(&mut logged.weeks) {
                if !alone(logged.first.plus(i)) {
                    entry.state = WeekState::Unlogged;
                }
            }
            of_yield(own, &logged, None, season, Spread::YIELD.season).ok()
        })
        .collect()
}

/// Returns what one season says of the yields of single beds, crop by crop.
fn yields_of_beds(
    garden: &Garden,
    plan: &Plan,
    rows: &[Picked],
    of_season: &[PlantingRecord],
    season: i32,
    as_of: NaiveDate,
    settings: &Settings,
) -> Vec<YieldEvidence> {
    let ids: BTreeSet<PlantingId> = of_season.iter().map(|r| r.planting).collect();
    let first = Week::of(plan.horizon().first);
    let weeks = usize::from(plan.horizon().weeks());
    let (places, empty) = Gathered::by_bed(garden, weeks);
    let few = Settings {
        draws: settings.draws.min(DRAWS_OF_BEDS),
        ..*settings
    };
    let runs = ensemble::run(
        plan,
        &few,
        |_| empty.clone(),
        |own, _, draw| own.push_where(draw, |id| ids.contains(&id)),
    );
    let visits = Visits::new(garden, rows, as_of);
    places
        .iter()
        .zip(Gathered::join(&runs, first))
        .filter_map(|(&place, forecast)| {
            let logged = in_bed(garden, rows, &visits, &ids, place, (first, as_of));
            of_yield(
                &forecast,
                &logged,
                Some(place.0),
                season,
                Spread::YIELD.season,
            )
            .ok()
        })
        .collect()
}

/// Takes weeks in which nothing of a crop was logged for weeks in which it gave nothing, if anything at all was picked in
/// the garden then and the crop was picked at some time.
///
/// What stands in a week that was let pass is in the next picking, so that the season's sum is right. Left out on both
/// sides, only weeks that gave something would be set against the forecast, and every crop would seem to give more than
/// it does.
fn settle(logged: &mut LoggedWeeks, visits: &Visits, own: impl Fn(Week) -> bool) {
    let picked = |(week, entry): (Week, &WeekEntry)| entry.state == WeekState::Picked && own(week);
    if !logged.iter().any(picked) {
        return;
    }
    for (i, entry) in (0_i64..).zip(&mut logged.weeks) {
        if entry.state == WeekState::Unlogged && visits.any_seen(logged.first.plus(i)) {
            entry.state = WeekState::Nothing;
        }
    }
}

/// Returns what one season's first pickings say of days to maturity, beside the days on which they were forecast.
fn days(garden: &Garden, due: &[(PlantingRecord, DateSpread)]) -> Vec<DaysEvidence> {
    due.iter()
        .filter_map(|(record, forecast)| {
            let planting = garden.planting(record.planting);
            let since = |day: NaiveDate| (day - planting.start()).num_days() as f64;
            of_days(
                planting.crop,
                record,
                since(forecast.p50),
                since(record.first?.date),
            )
        })
        .collect()
}
