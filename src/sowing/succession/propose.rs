//! Proposes sowings: searches, tests each a few days either way, lives the garden through with them, and mends the plan
//! where the kitchen would have more to do than without it.

use super::candidates::Candidate;
use super::lived::{Lived, live, seasons_met};
use super::response::{Reply, replies};
use super::search::{Field, Search, Sowing, find};
use super::setup::{Asked, FLAT, Setup, lay_out, trial, with};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::household::Food;
use crate::garden::planting::Planting;
use crate::garden::units::Length;
use crate::garden::week::Week;
use crate::season::ensemble::Settings;
use crate::season::plan::compile;
use crate::sowing::soil::{Fit, Soil, WARMER_K};
use chrono::{Days, NaiveDate};

/// Chance of half a harvest that makes a date the last sensible one.
const SENSIBLE: f64 = 0.8;
/// Days either way that are tested.
pub(crate) const DAYS_EITHER_WAY: i64 = 3;
/// Rounds of taking out what is not flat.
const FLAT_ROUNDS: usize = 4;
/// Rounds of sparing the kitchen.
const KITCHEN_ROUNDS: usize = 3;
/// Mean weeks over that are rounding, not work.
const SAME_WEEKS: f64 = 0.05;
/// Days before or after the best day that a range may reach.
const RANGE_DAYS: i64 = 7;

/// One proposed sowing.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The crop.
    pub crop: CropId,
    /// The bed.
    pub bed: BedId,
    /// Day of sowing, in the bed or in a tray.
    pub sown: NaiveDate,
    /// Day of setting out, if it is raised in a tray.
    pub set_out: Option<NaiveDate>,
    /// Days on either side that do as well; of the day in the bed.
    pub range: (NaiveDate, NaiveDate),
    /// First day on which the soil suits, if that is still ahead.
    pub not_before: Option<NaiveDate>,
    /// Last day with at least half a harvest in 8 seasons of 10.
    pub last: Option<NaiveDate>,
    /// Day on which it should be up, and the last day to sow it again if nothing is.
    pub resow: Option<(NaiveDate, NaiveDate)>,
    /// Length of row.
    pub row: Length,
    /// First picking in the middle of the seasons.
    pub first: Option<NaiveDate>,
    /// Last picking in the middle of the seasons.
    pub last_picking: Option<NaiveDate>,
    /// Share of seasons with at least half a harvest.
    pub chance: f64,
    /// Mean amount for the table within the weeks looked at, kg.
    pub kg: f64,
    /// The same three days earlier and later, as shares of it; none where that day is past.
    pub moved: [Option<f64>; 2],
}

impl Row {
    /// Returns the first day in the bed.
    #[must_use]
    pub fn start(&self) -> NaiveDate {
        self.set_out.unwrap_or(self.sown)
    }
    /// Makes a planting of it.
    #[must_use]
    pub fn planting(&self, garden: &Garden) -> Planting {
        let candidate = Candidate {
            crop: self.crop,
            kind: 0,
            sown: self.sown,
            set_out: self.set_out,
        };
        let name = format!(
            "{} {} {}",
            garden.bed(self.bed).name,
            garden.crop(self.crop).name,
            self.start()
        );
        candidate.planting(name, self.bed, self.row)
    }
}

/// One need in one week.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedWeek {
    /// The week.
    pub week: Week,
    /// Need, kg.
    pub need_kg: f64,
    /// Mean amount eaten without the plan, and with it, kg.
    pub eaten_kg: [f64; 2],
    /// Chance that the need is met without the plan, and with it.
    pub met: [f64; 2],
}

/// One need over the weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// The food.
    pub food: Food,
    /// The weeks in which something is needed.
    pub weeks: Vec<NeedWeek>,
}

/// What the kitchen has to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Mean number of weeks of a season with more work than hours.
    pub weeks_over: f64,
    /// Weeks likely to have more work than hours.
    pub likely: usize,
    /// Mean hours over in a season.
    pub hours_over: f64,
    /// Each week with its mean hours needed, the hours there are, and the chance that it is too much.
    pub weeks: Vec<(Week, f64, f64, f64)>,
}

/// A plan with what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// First day looked at.
    pub from: NaiveDate,
    /// Last day on which to sow.
    pub until: NaiveDate,
    /// The sowings, in order of days.
    pub rows: Vec<Row>,
    /// Needs, week by week.
    pub needs: Vec<Need>,
    /// The kitchen without the plan, with it, and with the plan made without a thought for it.
    pub kitchen: [Load; 3],
    /// Sowings of the plan made without a thought for the kitchen.
    pub careless: usize,
    /// What binds, the dearest first.
    pub binds: Vec<super::binds::Bind>,
    /// What clearing a planting early would bring, the best first.
    pub clearings: Vec<super::clearing::Clearing>,
    /// Beds in which nothing more fits on any day looked at.
    pub full_beds: usize,
    /// Share of the seasons in which at least nine tenths of the weeks are met, by need, without and with the plan:
    /// weeks from the first new picking to the first day with less than 10 hours of daylight.
    pub fall: Vec<(Food, usize, [f64; 2])>,
    /// What the plan had to assume.
    pub notes: Vec<String>,
    /// First and last day of the next stretch with less than 10 hours of daylight.
    pub dark: Option<(NaiveDate, NaiveDate)>,
    /// Cost without and with the plan, kilograms of fresh food missed.
    pub cost: [f64; 2],
}

/// Proposes sowings from a day on.
#[must_use]
pub fn propose(garden: &Garden, from: NaiveDate, settings: &Settings, asked: &Asked) -> Proposal {
    let mut setup = lay_out(garden, from, settings, asked);
    let base = live(garden, from, settings, &setup.wants);
    setup.problem.spare_hours = spare(&setup, &base);
    let (careless_plan, alone) = {
        let mut free = setup.problem.clone();
        free.prices.hour_over = 0.0;
        let search = searched(&setup, &free, None);
        (search.plan.clone(), search.alone().to_vec())
    };
    let careless = live_with(&setup, &careless_plan);
    let (plan, lived) = if asked.ignore_kitchen {
        (careless_plan.clone(), careless.clone())
    } else {
        spared(&setup, &base, &alone)
    };
    finish(
        &setup,
        asked,
        (&base, &lived, &careless),
        (&plan, &alone),
        careless_plan.len(),
    )
}

/// Searches with the hours that are left, again with fewer where the plan would overload a week; at last what adds most to
/// such weeks is left out, sowing by sowing.
fn spared(setup: &Setup, base: &Lived, alone: &[f64]) -> (Vec<Sowing>, Lived) {
    let mut problem = setup.problem.clone();
    let mut plan = Vec::new();
    let mut lived = base.clone();
    for _ in 0..KITCHEN_ROUNDS {
        plan = searched(setup, &problem, Some((alone, &plan))).plan;
        lived = live_with(setup, &plan);
        if fits(&lived, base) {
            return (plan, lived);
        }
        let rises = rises(setup, &lived, base);
        for (k, hours) in problem.spare_hours.iter_mut().enumerate() {
            // Food that comes in one week is often put by in the next.
            let near = &rises[k..(k + 2).min(rises.len())];
            if near.iter().any(|rise| *rise > 0.0) {
                *hours = 0.0;
            }
        }
        problem.prices.hour_over *= 2.0;
    }
    while !plan.is_empty() && !fits(&lived, base) {
        let rises = rises(setup, &lived, base);
        let adds = |s: &Sowing| -> f64 {
            let responses = &setup.offers[s.offer].responses;
            let per_unit: f64 = responses.iter().map(|r| r.weighed(&rises)).sum();
            per_unit * f64::from(s.units)
        };
        let worst = (0..plan.len())
            .max_by(|&a, &b| adds(&plan[a]).total_cmp(&adds(&plan[b])).then(b.cmp(&a)));
        plan.remove(worst.expect("the plan is not empty"));
        lived = live_with(setup, &plan);
    }
    (plan, lived)
}

/// Says whether the kitchen has no more weeks of too much work than without the plan.
fn fits(lived: &Lived, base: &Lived) -> bool {
    lived.weeks_over() <= base.weeks_over() + SAME_WEEKS
        && lived.likely_over() <= base.likely_over()
}

/// How much more often each week is too much than without the plan.
fn rises(setup: &Setup, lived: &Lived, base: &Lived) -> Vec<f64> {
    let mut rises = vec![0.0; setup.span.weeks];
    let first = Week::of(setup.from);
    for week in &lived.kitchen.weeks {
        let before = base.kitchen.weeks.iter().find(|w| w.week == week.week);
        let rise = week.chance_over - before.map_or(0.0, |w| w.chance_over);
        if rise > 0.01
            && let Ok(k) = usize::try_from(week.week.since(first))
            && k < rises.len()
        {
            rises[k] = rise;
        }
    }
    rises
}

/// Hours left in each week, mean over the seasons, beside the plantings already there.
fn spare(setup: &Setup, base: &Lived) -> Vec<f64> {
    let first = Week::of(setup.from);
    let mut spare = vec![0.0; setup.span.weeks];
    for week in &base.kitchen.weeks {
        if let Ok(k) = usize::try_from(week.week.since(first))
            && k < spare.len()
        {
            spare[k] = (week.capacity_hours - week.hours.mean).max(0.0);
        }
    }
    spare
}

/// Searches, and takes out what is not flat a few days either way.
fn searched<'p>(
    setup: &'p Setup,
    problem: &'p super::problem::Problem,
    known: Option<(&[f64], &[Sowing])>,
) -> Search<'p> {
    let field = Field {
        problem,
        offers: &setup.offers,
        beds: &setup.beds,
        limits: &setup.limits,
    };
    let mut search = match known {
        Some((alone, plan)) => {
            let mut search = Search::again(field, plan, alone);
            search.better();
            search
        }
        None => find(field),
    };
    for _ in 0..FLAT_ROUNDS {
        let tested = tested(setup, &search.plan);
        let steep: Vec<usize> = search
            .plan
            .iter()
            .zip(&tested)
            .filter(|(_, (_, moved))| moved.iter().flatten().any(|share| *share < 1.0 - FLAT))
            .map(|(sowing, _)| sowing.offer)
            .collect();
        if steep.is_empty() {
            break;
        }
        search.forbid(&steep);
        search.better();
    }
    search
}

/// Draws each sowing on its day and three days either way: what it gives, and what the other days give beside it.
fn tested(setup: &Setup, plan: &[Sowing]) -> Vec<(Reply, [Option<f64>; 2])> {
    let days = [0, -DAYS_EITHER_WAY, DAYS_EITHER_WAY];
    let garden = with(
        setup.garden,
        plan.iter().flat_map(|s| {
            let candidate = setup.candidates[setup.of[s.offer]];
            days.map(|d| trial(setup.garden, &setup.kinds, &candidate.moved(d), setup.unit))
        }),
    );
    let season = compile(&garden, setup.from);
    let known = setup.garden.plantings.len();
    let wanted: Vec<bool> = (0..garden.plantings.len()).map(|k| k >= known).collect();
    let mut all = replies(&garden, &season, &setup.settings, &setup.span, &wanted);
    let mut new = all.split_off(known).into_iter();
    plan.iter()
        .map(|s| {
            let candidate = setup.candidates[setup.of[s.offer]];
            let reply = new.next().unwrap_or_default();
            let moved = [-DAYS_EITHER_WAY, DAYS_EITHER_WAY].map(|d| {
                let other = new.next().unwrap_or_default();
                let ahead = candidate.moved(d).sown >= setup.from;
                ahead.then_some(other.useful_kg / reply.useful_kg.max(1e-9))
            });
            (reply, moved)
        })
        .collect()
}

/// Lives the garden through with a plan.
fn live_with(setup: &Setup, plan: &[Sowing]) -> Lived {
    let rows = plan.iter().map(|s| {
        let candidate = setup.candidates[setup.of[s.offer]];
        let name = format!("{} {} {}", s.bed, candidate.crop.0, candidate.start());
        candidate.planting(name, BedId(s.bed), setup.unit * f64::from(s.units))
    });
    let garden = with(setup.garden, rows);
    live(&garden, setup.from, &setup.settings, &setup.wants)
}

fn finish(
    setup: &Setup,
    asked: &Asked,
    (base, lived, careless): (&Lived, &Lived, &Lived),
    (plan, alone): (&[Sowing], &[f64]),
    careless_sowings: usize,
) -> Proposal {
    let mut problem = setup.problem.clone();
    if asked.ignore_kitchen {
        problem.prices.hour_over = 0.0;
    }
    let field = Field {
        problem: &problem,
        offers: &setup.offers,
        beds: &setup.beds,
        limits: &setup.limits,
    };
    let nothing = Search::again(field, &[], alone);
    let search = Search::again(field, plan, alone);
    let tests = tested(setup, plan);
    let mut rows: Vec<Row> = plan
        .iter()
        .zip(&tests)
        .map(|(s, (reply, moved))| row(setup, &search, *s, reply, *moved))
        .collect();
    rows.sort_by_key(|r| (r.sown, r.start(), r.bed, r.crop));
    let cost = [nothing.cost(), search.cost()];
    Proposal {
        from: setup.from,
        until: setup.until,
        needs: needs(setup, base, lived),
        kitchen: [load(base), load(lived), load(careless)],
        careless: careless_sowings,
        binds: super::binds::binds(setup, &search),
        clearings: super::clearing::clearings(setup, &search),
        full_beds: setup
            .beds
            .iter()
            .filter(|b| !super::clearing::any_room(setup, b))
            .count(),
        fall: fall(setup, &rows, base, lived),
        notes: notes(setup),
        dark: next_dark(setup),
        rows,
        cost,
    }
}

fn load(lived: &Lived) -> Load {
    Load {
        weeks_over: lived.weeks_over(),
        likely: lived.likely_over(),
        hours_over: lived.hours_over(),
        weeks: lived
            .kitchen
            .weeks
            .iter()
            .map(|w| (w.week, w.hours.mean, w.capacity_hours, w.chance_over))
            .collect(),
    }
}

fn needs(setup: &Setup, base: &Lived, lived: &Lived) -> Vec<Need> {
    let first = Week::of(setup.from);
    let foods = setup.wants.foods.iter().flatten();
    foods
        .enumerate()
        .map(|(k, food)| Need {
            food: *food,
            weeks: (0..setup.span.weeks)
                .filter(|w| setup.wants.need_kg[k][*w] > 1e-9)
                .map(|w| NeedWeek {
                    week: first.plus(w as i64),
                    need_kg: setup.wants.need_kg[k][w],
                    eaten_kg: [base.fresh_kg[k][w], lived.fresh_kg[k][w]],
                    met: [base.met[k][w], lived.met[k][w]],
                })
                .collect(),
        })
        .collect()
}

/// Seasons in which nine weeks of ten are met, between the first new picking and the dark weeks, by need.
fn fall(setup: &Setup, rows: &[Row], base: &Lived, lived: &Lived) -> Vec<(Food, usize, [f64; 2])> {
    let end = next_dark(setup).map_or(setup.until, |(first, _)| first);
    let foods = setup.wants.foods.iter().flatten();
    foods
        .enumerate()
        .filter_map(|(k, food)| {
            let serves = |c: CropId| crate::kitchen::needs::serves(setup.garden, c, *food);
            let first = rows
                .iter()
                .filter(|r| serves(r.crop))
                .filter_map(|r| r.first)
                .min()?;
            let weeks: Vec<usize> = (0..setup.span.weeks)
                .filter(|w| {
                    let monday = Week::of(setup.from).plus(*w as i64).monday();
                    monday >= first && monday < end && setup.wants.need_kg[k][*w] > 1e-9
                })
                .collect();
            (!weeks.is_empty()).then(|| {
                let met = [base, lived].map(|l| seasons_met(l, k, &weeks, 0.9));
                (*food, weeks.len(), met)
            })
        })
        .collect()
}

/// The next stretch with less than 10 hours of daylight.
fn next_dark(setup: &Setup) -> Option<(NaiveDate, NaiveDate)> {
    let dark = setup.span.dark.iter();
    let mut ahead = dark.filter(|(first, _)| *first > setup.span.from);
    ahead
        .next()
        .map(|&(first, last)| (setup.horizon.date(first), setup.horizon.date(last)))
}

fn row(
    setup: &Setup,
    search: &Search,
    sowing: Sowing,
    reply: &Reply,
    moved: [Option<f64>; 2],
) -> Row {
    let at = setup.of[sowing.offer];
    let candidate = setup.candidates[at];
    let crop = setup.garden.crop(candidate.crop);
    let day = |d: u16| setup.horizon.date(d);
    let soil = Soil::new(
        &setup.climate,
        setup.garden.bed(BedId(sowing.bed)),
        WARMER_K,
    );
    let direct = candidate.set_out.is_none();
    let alike = |k: &&usize| {
        let c = setup.candidates[**k];
        (c.crop, c.kind, c.set_out.is_some()) == (candidate.crop, candidate.kind, !direct)
    };
    let all: Vec<usize> = (0..setup.candidates.len()).collect();
    let last = all
        .iter()
        .filter(alike)
        .filter(|k| setup.replies[**k].chance >= SENSIBLE)
        .map(|k| setup.candidates[*k].start())
        .max();
    let up = soil.days_to_wait(crop, candidate.sown).filter(|_| direct);
    Row {
        crop: candidate.crop,
        bed: BedId(sowing.bed),
        sown: candidate.sown,
        set_out: candidate.set_out,
        range: range(setup, search, sowing),
        not_before: (direct && soil.fit(crop, setup.from) != Fit::Right)
            .then(|| first_fit(&soil, crop, setup.from))
            .flatten(),
        last,
        resow: up
            .map(|days| candidate.sown + Days::new(u64::from(days)))
            .zip(last)
            .filter(|(look, last)| look <= last),
        row: setup.unit * f64::from(sowing.units),
        first: reply.first_p50.map(day),
        last_picking: reply.last_p50.map(day),
        chance: reply.chance,
        kg: reply.useful_kg * f64::from(sowing.units),
        moved,
    }
}

fn first_fit(soil: &Soil, crop: &crate::garden::crop::Crop, from: NaiveDate) -> Option<NaiveDate> {
    let days = from.iter_days().take(366);
    days.into_iter()
        .find(|day| soil.fit(crop, *day) == Fit::Right)
}

/// Days in the bed that do as well as the chosen one and for which the ground is free.
fn range(setup: &Setup, search: &Search, sowing: Sowing) -> (NaiveDate, NaiveDate) {
    let at = setup.of[sowing.offer];
    let this = setup.candidates[at];
    let offer = &setup.offers[sowing.offer];
    let needed = offer.m2 * f64::from(sowing.units);
    let bed = &search.beds()[sowing.bed];
    let mut range = (this.start(), this.start());
    for (k, other) in setup.candidates.iter().enumerate() {
        let days = (other.start() - this.start()).num_days();
        let same = (other.crop, other.kind, other.set_out.is_some())
            == (this.crop, this.kind, this.set_out.is_some());
        if !same || days.abs() > RANGE_DAYS {
            continue;
        }
        let well = setup.replies[k].useful_kg >= (1.0 - FLAT) * setup.replies[at].useful_kg;
        let start = setup.horizon.index(other.start());
        let room = start >= offer.from || bed.room(start, offer.from) >= needed - 1e-9;
        if well && room {
            range = (range.0.min(other.start()), range.1.max(other.start()));
        }
    }
    range
}

fn notes(setup: &Setup) -> Vec<String> {
    let mut notes: Vec<String> = setup.climate.notes.clone();
    let unknown: Vec<&str> = setup
        .garden
        .beds
        .iter()
        .filter(|b| b.area().is_none())
        .map(|b| b.name.as_str())
        .collect();
    if !unknown.is_empty() {
        notes.push(format!(
            "No size is known of {}: it is taken to hold the most that was ever planted there at once.",
            unknown.join(", ")
        ));
    }
    notes
}
