//! A garden's succession as plain numbers: weeks, candidates with what they give, beds with what stands in them.
//!
//! Candidates of a crop share their luck, draw by draw, so that dates are compared and not luck.

use super::candidates::{self, Candidate, Kind};
use super::clearing;
use super::flat;
use super::ground::{Ground, Stay};
use super::offer::{Field, Limits, Offer, Removal};
use super::problem::{Prices, Problem, Response};
use super::response::{Reply, Span, draws, replies, seasons};
use super::rows::SENSIBLE;
use super::wants::{self, Wants};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::{Planting, PlantingId};
use crate::garden::units::Length;
use crate::garden::{UnitSystem, week::Week};
use crate::kitchen::context;
use crate::season::daylight::short_days;
use crate::season::ensemble::Settings;
use crate::season::horizon::Horizon;
use crate::season::plan::{Plan, compile};
use crate::sowing::beds::ground;
use chrono::{Days, NaiveDate};

/// Weeks after the last sowing day that are looked at: what stands then feeds the household until new sowings do.
const WEEKS_AFTER: u64 = 17;
/// Chance of half a harvest below which a sowing is not proposed.
const LEAST_CHANCE: f64 = 0.6;
/// Least length of row in feet, and in metres where the household reckons so (common practice, no source).
const LEAST_ROW_FT: f64 = 2.0;
const LEAST_ROW_M: f64 = 0.5;
/// Longest row of one sowing, in least lengths.
const MOST_UNITS: u32 = 30;
/// Hours of daylight below which growth all but stops (common practice).
const DARK_HOURS: f64 = 10.0;

/// Prices in kilograms of fresh food missed (judgement).
pub(crate) const PRICES: Prices = Prices {
    short: 1.0,
    goal: 0.35,
    surplus: 0.12,
    hour_over: 4.0,
    sowing: 0.6,
    ground: 0.02,
};

/// What a plan is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Last day on which to sow; midwinter if none.
    pub until: Option<NaiveDate>,
    /// Most sowings.
    pub sowings: usize,
    /// Crops to choose from; none means those the household grows.
    pub crops: Vec<CropId>,
    /// Whether the kitchen's hours do not count.
    pub ignore_kitchen: bool,
    /// Whether standing plantings stay as long as they would.
    pub keep: bool,
}

impl Default for Asked {
    fn default() -> Self {
        Self {
            until: None,
            sowings: 12,
            crops: Vec::new(),
            ignore_kitchen: false,
            keep: false,
        }
    }
}

/// Everything a search needs, and what its numbers stand for.
pub(crate) struct Setup<'g> {
    pub(crate) garden: &'g Garden,
    pub(crate) from: NaiveDate,
    pub(crate) until: NaiveDate,
    pub(crate) settings: Settings,
    pub(crate) unit: Length,
    pub(crate) kinds: Vec<Kind>,
    pub(crate) horizon: Horizon,
    pub(crate) span: Span,
    pub(crate) wants: Wants,
    pub(crate) problem: Problem,
    pub(crate) candidates: Vec<Candidate>,
    pub(crate) replies: Vec<Reply>,
    /// What the plantings already there give.
    pub(crate) there: Vec<Reply>,
    pub(crate) offers: Vec<Offer>,
    /// The candidate of each offer.
    pub(crate) of: Vec<usize>,
    pub(crate) beds: Vec<Ground>,
    /// Standing plantings that could go early, and what each leaves.
    pub(crate) removals: Vec<Removal>,
    pub(crate) cut: Vec<Reply>,
    /// Whether a plan may let them go.
    pub(crate) may_clear: bool,
    pub(crate) limits: Limits,
    pub(crate) climate: crate::season::climate::Climate,
}

impl Setup<'_> {
    /// Returns what is sought in, with a problem of its own prices and hours.
    pub(crate) fn field<'p>(&'p self, problem: &'p Problem) -> Field<'p> {
        Field {
            problem,
            offers: &self.offers,
            removals: if self.may_clear { &self.removals } else { &[] },
            beds: &self.beds,
            limits: &self.limits,
        }
    }
}

/// Lays a garden's succession out, as asked for, from a day on.
pub(crate) fn lay_out<'g>(
    garden: &'g Garden,
    from: NaiveDate,
    settings: &Settings,
    asked: &Asked,
) -> Setup<'g> {
    let until = asked
        .until
        .unwrap_or_else(|| candidates::midwinter(garden, from));
    let unit = match garden.show.units {
        UnitSystem::Us => Length::from_ft(LEAST_ROW_FT),
        UnitSystem::Metric => Length::from_m(LEAST_ROW_M),
    };
    let (kinds, kind_of) = candidates::kinds(garden);
    let crops = candidates::crops(garden, &asked.crops);
    let climate = crate::season::climate::Climate::of(&garden.site);
    let days = candidates::days(garden, from, until);
    let candidates = candidates::all(garden, &climate, &crops, &kinds, &days);
    let more = with(
        garden,
        candidates.iter().map(|c| trial(garden, &kinds, c, unit)),
    );
    let plan = compile(&more, from);
    let horizon = plan.horizon();
    let end = until + Days::new(7 * WEEKS_AFTER);
    let weeks = usize::try_from(Week::of(end).since(Week::of(from))).unwrap_or(1) + 1;
    let span = Span {
        from: plan.today(),
        weeks: weeks.min(usize::from((horizon.days - plan.today()) / 7) + 1),
        dark: dark(garden, &horizon, from),
    };
    let mut all = replies(&more, &plan, settings, &span, &alive(&plan));
    let ctx = context::compile(&more, horizon.first, horizon.days, from);
    let wants = wants::settle(garden, &ctx, from, span.weeks);
    for (k, reply) in all.iter_mut().enumerate() {
        let p = &plan.plantings[k];
        for (table, crop) in reply.table.iter_mut().zip([Some(p.crop_id), p.second_crop]) {
            table.source = crop.and_then(|c| wants.source(c)).unwrap_or(0);
        }
    }
    let replies = all.split_off(garden.plantings.len());
    let there = all;
    let problem = Problem {
        weeks: span.weeks,
        seasons: seasons(draws(settings).draws),
        wants: wants.need_kg.clone(),
        sources: wants.sources.clone(),
        goals: wants.goals.clone(),
        there: table(&there, wants.sources.len(), span.weeks, settings),
        spare_hours: vec![0.0; seasons(draws(settings).draws) * span.weeks],
        prices: PRICES,
    };
    let families = families(garden);
    let mut offers = Vec::new();
    let mut of = Vec::new();
    for (c, candidate) in candidates.iter().enumerate() {
        let reply = &replies[c];
        if reply.chance < LEAST_CHANCE
            || too_late(&candidates, &replies, c)
            || !flat::worth_trying(&candidates, &replies, c)
        {
            continue;
        }
        let planting = trial(garden, &kinds, candidate, unit);
        let start = horizon.index(candidate.start());
        of.push(c);
        offers.push(Offer {
            crop: candidate.crop.0,
            family: families[candidate.crop.0],
            kind: candidate.kind,
            from: start,
            until: i32::from(reply.free_p90).max(start + 1),
            middle: middle(reply, start),
            m2: ground(&planting, garden.crop(candidate.crop)).m2(),
            responses: filled(&reply.table),
        });
    }
    let limits = Limits {
        sowings: asked.sowings,
        of_crop: (0..garden.crops.len())
            .map(|c| candidates::sowings_left(garden, CropId(c), from))
            .collect(),
        units: MOST_UNITS,
    };
    let beds = beds(garden, &horizon, &there, &plan, &kind_of, &families);
    let mut setup = Setup {
        garden,
        from,
        until,
        settings: *settings,
        unit,
        kinds,
        horizon,
        span,
        wants,
        problem,
        candidates,
        replies,
        there,
        offers,
        of,
        beds,
        removals: Vec::new(),
        cut: Vec::new(),
        may_clear: !asked.keep,
        limits,
        climate,
    };
    (setup.removals, setup.cut) = clearing::removals(&setup);
    setup
}

/// Returns a garden with more plantings.
pub(crate) fn with(garden: &Garden, more: impl Iterator<Item = Planting>) -> Garden {
    let mut with = garden.clone();
    with.plantings.extend(more);
    with
}

/// Makes a planting of one unit; all of a crop have one name and with it one luck.
pub(crate) fn trial(garden: &Garden, kinds: &[Kind], c: &Candidate, unit: Length) -> Planting {
    let name = format!("new {}", garden.crop(c.crop).name);
    c.planting(name, kinds[c.kind].like, unit)
}

fn alive(plan: &Plan) -> Vec<bool> {
    plan.plantings.iter().map(|p| p.alive).collect()
}

/// Returns those foods of a planting of which anything reaches the table.
pub(crate) fn filled(table: &[Response; 2]) -> Vec<Response> {
    table.iter().filter(|r| r.span > 0).cloned().collect()
}

/// Stretches with little daylight about the days looked at.
fn dark(garden: &Garden, horizon: &Horizon, from: NaiveDate) -> Vec<(u16, u16)> {
    let mut dark: Vec<(u16, u16)> = [from - Days::new(150), from + Days::new(200)]
        .into_iter()
        .filter_map(|day| short_days(garden.site.latitude_deg, DARK_HOURS, day))
        .map(|(first, last)| (horizon.clamped(first), horizon.clamped(last)))
        .filter(|(first, last)| first < last)
        .collect();
    dark.dedup();
    dark
}

/// What the plantings already there put on the table; seasons × sources × weeks.
fn table(there: &[Reply], sources: usize, weeks: usize, settings: &Settings) -> Vec<f64> {
    let mut table = vec![0.0; seasons(draws(settings).draws) * sources * weeks];
    for response in there.iter().flat_map(|r| &r.table).filter(|r| r.span > 0) {
        for (season, kg) in response.kg.chunks(response.span).enumerate() {
            let at = (season * sources + response.source) * weeks + response.first;
            for (into, kg) in table[at..].iter_mut().zip(kg) {
                *into += kg;
            }
        }
    }
    table
}

/// Says whether the last sensible day for such a sowing is past.
fn too_late(candidates: &[Candidate], replies: &[Reply], c: usize) -> bool {
    let this = &candidates[c];
    let sensible = |o: &Candidate, reply: &Reply| {
        (o.crop, o.kind, o.set_out.is_some()) == (this.crop, this.kind, this.set_out.is_some())
            && o.start() >= this.start()
            && reply.chance >= SENSIBLE
    };
    let mut all = candidates.iter().zip(replies);
    !all.any(|(o, reply)| sensible(o, reply))
}

/// First day on which its ground is free in the middle of the seasons: the day after the middle last picking, as `check`
/// reckons.
fn middle(reply: &Reply, start: i32) -> i32 {
    let last = reply.last_p50.map(|last| i32::from(last) + 1);
    last.unwrap_or(start)
        .min(i32::from(reply.free_p90))
        .max(start + 1)
}

/// Numbers the families.
fn families(garden: &Garden) -> Vec<usize> {
    let name = |c: usize| &garden.crops[c].family;
    (0..garden.crops.len())
        .map(|c| (0..=c).find(|k| name(*k) == name(c)).unwrap_or(c))
        .collect()
}

/// Beds with all that stands in them, past and future.
fn beds(
    garden: &Garden,
    horizon: &Horizon,
    there: &[Reply],
    plan: &Plan,
    kind_of: &[usize],
    families: &[usize],
) -> Vec<Ground> {
    (0..garden.beds.len())
        .map(|b| {
            let stays: Vec<Stay> = garden
                .plantings
                .iter()
                .enumerate()
                .filter(|(_, p)| p.bed == BedId(b))
                .map(|(k, p)| {
                    let from = horizon.index(p.start());
                    let until = leaves(garden, horizon, there, plan, PlantingId(k));
                    let middle = match p.cleared {
                        Some(day) => horizon.index(day),
                        None if plan.plantings[k].alive => middle(&there[k], from),
                        None => until,
                    };
                    Stay {
                        from,
                        until: until.max(from + 1),
                        middle,
                        family: families[p.crop.0],
                        m2: ground(p, garden.crop(p.crop)).m2(),
                    }
                })
                .collect();
            let mut bed = Ground {
                m2: 0.0,
                kind: kind_of[b],
                stays,
            };
            // A bed whose size nobody wrote down has room for the most that ever stood in it.
            bed.m2 = garden.beds[b].area().map_or_else(
                || {
                    let starts = bed.stays.iter().map(|s| s.from);
                    let taken = |day: i32| -> f64 {
                        let on = |s: &&Stay| s.from <= day && day < s.until;
                        bed.stays.iter().filter(on).map(|s| s.m2).sum()
                    };
                    starts.map(taken).fold(0.0, f64::max)
                },
                |area| area.m2(),
            );
            bed
        })
        .collect()
}

/// First day on which a planting's ground is free: cleared, or over in nine seasons of ten.
fn leaves(garden: &Garden, horizon: &Horizon, there: &[Reply], plan: &Plan, id: PlantingId) -> i32 {
    let planting = garden.planting(id);
    if let Some(cleared) = planting.cleared {
        return horizon.index(cleared);
    }
    if plan.plantings[id.0].alive {
        return i32::from(there[id.0].free_p90);
    }
    let crop = garden.crop(planting.crop);
    let days = crate::season::lives::days_to_maturity(planting, crop) + crop.harvest.harvest_days;
    horizon.index(planting.start() + Days::new(days.max(0.0) as u64))
}
