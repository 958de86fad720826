//! What a planting puts on the table week by week, drawn season by drawn season.
//!
//! What becomes ready is spread evenly over the days on which it may be eaten: as long as it stands in the bed, and as
//! long as it keeps after that. In the dark weeks, with less than 10 hours of daylight, only a planting counts that had
//! its first picking before they began: what stands then is what there is. Knows no beds, needs or kitchen.

use super::problem::Response;
use crate::garden::Garden;
use crate::kitchen::context::HOLDS_OVER_DAYS;
use crate::season::ensemble::{Settings, drive};
use crate::season::life::{Lot, Sheet};
use crate::season::plan::Plan;

/// Every so many draws one is kept season by season; draws side by side share their weather.
const KEEP_EVERY: u32 = 20;
/// Draws looked at.
const DRAWS: u32 = 500;
/// Share of all it could have given that makes a harvest worth the name.
const HALF: f64 = 0.5;

/// The weeks that are looked at, as days of the season's horizon.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Span {
    /// First day; a Monday's week begins the first week.
    pub(crate) from: u16,
    /// Number of weeks.
    pub(crate) weeks: usize,
    /// Stretches of days, first and last, with less than 10 hours of daylight.
    pub(crate) dark: Vec<(u16, u16)>,
}

impl Span {
    /// Returns the week of a day, if it is looked at.
    fn week(&self, day: u16) -> Option<usize> {
        let week = (day / 7).checked_sub(self.from / 7)?;
        (day >= self.from && usize::from(week) < self.weeks).then_some(usize::from(week))
    }
}

/// What came of one planting over the draws.
#[derive(Debug, Clone, Default)]
pub(crate) struct Reply {
    /// What it puts on the table: main food, second food. Sources are still to be set.
    pub(crate) table: [Response; 2],
    /// Mean of all it puts on the table within the weeks, kg.
    pub(crate) useful_kg: f64,
    /// Share of seasons with at least half of what it could have given.
    pub(crate) chance: f64,
    /// Middle day of the first picking, over the seasons with one.
    pub(crate) first_p50: Option<u16>,
    /// Middle last day on which there is anything to pick.
    pub(crate) last_p50: Option<u16>,
    /// First day on which its ground is free, in nine seasons of ten.
    pub(crate) free_p90: u16,
}

/// Seasons that are kept one by one.
pub(crate) const fn seasons(draws: u32) -> usize {
    draws.div_ceil(KEEP_EVERY) as usize
}

/// Says whether a draw is one of those kept.
pub(crate) const fn is_kept(draw: u32) -> bool {
    draw < DRAWS && draw.is_multiple_of(KEEP_EVERY)
}

/// Returns the draws that are looked at.
pub(crate) fn draws(settings: &Settings) -> Settings {
    Settings {
        draws: settings.draws.min(DRAWS),
        ..*settings
    }
}

#[derive(Default, Clone)]
struct Tally {
    /// Season, week and kg of the main and of the second food.
    entries: [Vec<(u16, u16, f32)>; 2],
    useful: f64,
    half: u32,
    first: Vec<u16>,
    last: Vec<u16>,
    end: Vec<u16>,
}

/// Draws the wanted plantings; a reply for each planting of the plan, empty where it was not wanted.
pub(crate) fn replies(
    garden: &Garden,
    plan: &Plan,
    settings: &Settings,
    span: &Span,
    wanted: &[bool],
) -> Vec<Reply> {
    let settings = draws(settings);
    let chunks = drive(
        plan,
        &settings,
        wanted,
        |_| {
            (
                vec![Tally::default(); plan.len()],
                vec![0.0_f64; span.weeks],
            )
        },
        |(tallies, weeks), draw, planting, sheet: &Sheet| {
            take(
                garden,
                plan,
                span,
                (draw, planting, sheet),
                &mut tallies[planting],
                weeks,
            );
        },
        |_, _| (),
    );
    (0..plan.len())
        .map(|k| {
            let tallies: Vec<&Tally> = chunks.iter().map(|(t, _)| &t[k]).collect();
            reply(&tallies, &settings, span)
        })
        .collect()
}

/// Adds one draw of one planting.
fn take(
    garden: &Garden,
    plan: &Plan,
    span: &Span,
    (draw, planting, sheet): (u32, usize, &Sheet),
    tally: &mut Tally,
    weeks: &mut [f64],
) {
    let compiled = &plan.plantings[planting];
    tally.end.push(sheet.end);
    if let (Some(first), Some(last)) = (sheet.first, sheet.last) {
        tally.first.push(first);
        tally.last.push(last);
    }
    if sheet.possible_kg > 0.0 && sheet.ready_kg >= HALF * sheet.possible_kg {
        tally.half += 1;
    }
    for second in [false, true] {
        let crop = if second {
            compiled.second_crop
        } else {
            Some(compiled.crop_id)
        };
        let Some(crop) = crop.map(|c| garden.crop(c)) else {
            continue;
        };
        weeks.fill(0.0);
        let mut any = false;
        let (holds, keeps) = (crop.harvest.holds_days, crop.kitchen.last_days);
        for lot in sheet.lots.iter().filter(|l| l.second == second) {
            any |= spread(lot, (holds, keeps), sheet, span, weeks);
        }
        if !any {
            continue;
        }
        tally.useful += weeks.iter().sum::<f64>();
        if is_kept(draw) {
            let season = (draw / KEEP_EVERY) as u16;
            let kept = weeks.iter().enumerate().filter(|(_, kg)| **kg > 0.0);
            tally.entries[usize::from(second)]
                .extend(kept.map(|(w, kg)| (season, w as u16, *kg as f32)));
        }
    }
}

/// Spreads an amount over the days on which it may be eaten; says whether any of it falls into the weeks.
fn spread(
    lot: &Lot,
    (holds, keeps): (f64, f64),
    sheet: &Sheet,
    span: &Span,
    weeks: &mut [f64],
) -> bool {
    let grown_in_the_dark = span.dark.iter().any(|&(from, until)| {
        (from..=until).contains(&lot.day) && sheet.first.is_none_or(|first| first > from)
    });
    if grown_in_the_dark {
        return false;
    }
    let stands = if holds > HOLDS_OVER_DAYS { holds } else { 0.0 };
    let stands_until = (lot.day.saturating_add(stands as u16))
        .min(sheet.end.saturating_sub(1))
        .max(lot.day);
    let last = stands_until.saturating_add(keeps.clamp(0.0, 400.0) as u16);
    let share = lot.kg / f64::from(last - lot.day + 1);
    let mut any = false;
    for day in lot.day.max(span.from)..=last {
        match span.week(day) {
            Some(week) => {
                weeks[week] += share;
                any = true;
            }
            None => break,
        }
    }
    any
}

fn reply(tallies: &[&Tally], settings: &Settings, span: &Span) -> Reply {
    let draws = settings.draws.max(1);
    let gathered = |of: fn(&Tally) -> &Vec<u16>| -> Vec<u16> {
        let mut all: Vec<u16> = tallies.iter().flat_map(|t| of(t)).copied().collect();
        all.sort_unstable();
        all
    };
    let at = |days: &[u16], p: f64| -> Option<u16> {
        let place = (p * days.len().saturating_sub(1) as f64 + 0.5) as usize;
        days.get(place).copied()
    };
    let table = [0, 1].map(|food| {
        let entries = || tallies.iter().flat_map(|t| &t.entries[food]);
        let first = entries().map(|e| usize::from(e.1)).min().unwrap_or(0);
        let end = entries().map(|e| usize::from(e.1) + 1).max().unwrap_or(0);
        let width = end.saturating_sub(first);
        let mut kg = vec![0.0; width * seasons(settings.draws)];
        for &(season, week, amount) in entries() {
            kg[usize::from(season) * width + usize::from(week) - first] += f64::from(amount);
        }
        debug_assert!(end <= span.weeks, "only weeks looked at are kept");
        Response {
            source: usize::MAX,
            first,
            span: width,
            kg,
        }
    });
    let ends = gathered(|t| &t.end);
    Reply {
        table,
        useful_kg: tallies.iter().map(|t| t.useful).sum::<f64>() / f64::from(draws),
        chance: f64::from(tallies.iter().map(|t| t.half).sum::<u32>()) / f64::from(draws),
        first_p50: at(&gathered(|t| &t.first), 0.5),
        last_p50: at(&gathered(|t| &t.last), 0.5),
        free_p90: at(&ends, 0.9).unwrap_or(0),
    }
}
