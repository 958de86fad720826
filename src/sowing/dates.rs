//! By when to sow: not before, best days and last days of every crop, found by trying dates in the drawn seasons.
//!
//! A coarse row of dates is tried first, then every day about the places where something changes. Chances need not
//! fall from date to date: a spring and a fall run of good dates are told apart. Harvest counts until the light comes
//! back after winter; what a sowing gives in the spring after is told beside it. Renders nothing.

use super::dates_counted::CountBack;
use super::dates_runs::{best, last_baby, last_in, runs};
use super::dates_search::{candidates, enter, hopeful, lines, places_of_change};
use super::soil::{Fit, Soil};
use crate::garden::Garden;
use crate::garden::bed::Bed;
use crate::garden::crop::{Clock, CropId};
use crate::garden::units::Temperature;
use crate::season::climate::Climate;
use crate::season::daylight;
use crate::season::ensemble::Settings;
use crate::season::frost::Side;
use crate::season::windows::DateSpread;
use chrono::{Datelike, Days, NaiveDate};

/// Daylight in hours under which leafy crops hardly grow (Coleman, as quoted by several growers).
const SHORT_DAY_HOURS: f64 = 10.0;
/// Fewest days ahead for which it is worth asking by when to sow; nearer to the end the next year is meant.
const FEWEST_DAYS_AHEAD: i64 = 60;
/// Days after midwinter at which the light is back where no day is under ten hours.
const LIGHT_BACK_DAYS: u64 = 30;
/// Days before the light comes back in which nothing is sown to stand the winter.
const WINTER_REST_DAYS: u64 = 75;
/// Days by which such a sowing must be later than all others to be told.
const LATER_DAYS: u64 = 10;

/// What is asked.
#[derive(Debug, Clone)]
pub struct Question<'a> {
    /// The garden.
    pub garden: &'a Garden,
    /// The day from which sowing is possible.
    pub as_of: NaiveDate,
    /// The crops.
    pub crops: Vec<CropId>,
    /// The beds, one for each kind of cover.
    pub beds: Vec<Bed>,
    /// Share of seasons that must succeed.
    pub chance: f64,
    /// How much warmer than the mean of the air the soil is, K.
    pub soil_warmer_k: f64,
    /// Draws and seed.
    pub settings: Settings,
}

/// One date tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tried {
    /// First day in the bed.
    pub date: NaiveDate,
    /// Chance of a full harvest.
    pub full: f64,
    /// Chance of half a harvest.
    pub half: f64,
    /// Chance of baby leaves; none for crops not cut so.
    pub baby: Option<f64>,
    /// Chance of half a harvest, spring included.
    pub half_ever: f64,
    /// Expected harvest of a metre of row, kg.
    pub kg_per_m: f64,
    /// First picking.
    pub first: Option<DateSpread>,
    /// Last picking.
    pub last: Option<DateSpread>,
}

/// The answer for one crop, one way of growing it, one cover and one run of good dates.
#[derive(Debug, Clone, PartialEq)]
pub struct SowBy {
    /// The crop.
    pub crop: CropId,
    /// Whether it is set out; else it is sown in place. All dates are first days in the bed.
    pub set_out: bool,
    /// Index of the bed asked for.
    pub bed: usize,
    /// First good date.
    pub not_before: NaiveDate,
    /// What the soil is like just before that date.
    pub soil_before: Option<Fit>,
    /// First and last date within five per cent of the best expected harvest.
    pub best: (NaiveDate, NaiveDate),
    /// Last date for a full harvest.
    pub full: Option<NaiveDate>,
    /// Last date for half a harvest.
    pub half: Option<NaiveDate>,
    /// Last date for baby leaves.
    pub baby: Option<NaiveDate>,
    /// Last date from which it stands the winter and gives half a harvest in spring, if later than all these.
    pub winter: Option<NaiveDate>,
    /// The date of the three to keep to: for a full harvest, else half, else baby leaves.
    pub last: Tried,
    /// Days in the tray before setting out.
    pub tray_days: u32,
    /// Days after which nothing to be seen means sowing again; none for what is set out.
    pub wait_days: Option<u32>,
    /// Last date on which sowing again still gives something.
    pub resow_by: Option<NaiveDate>,
    /// The plain rule and the date it gives for the bed.
    pub rule: CountBack,
    /// Date of the rule; none without a first frost.
    pub rule_date: Option<NaiveDate>,
}

/// Everything tried of one crop, one way and one cover.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The crop.
    pub crop: CropId,
    /// Whether it is set out.
    pub set_out: bool,
    /// Index of the bed.
    pub bed: usize,
    /// The dates tried, in order; only days on which the soil is right.
    pub tried: Vec<Tried>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Last day on which harvest counts.
    pub until: NaiveDate,
    /// The middle date of the first fall frost.
    pub first_frost: Option<NaiveDate>,
    /// One row for each run of good dates, soonest last date first.
    pub rows: Vec<SowBy>,
    /// What the rows rest on.
    pub curves: Vec<Curve>,
}

/// Returns the last day on which a harvest counts for a sowing year: when days pass ten hours again after winter, or a
/// month after midwinter where none is so short.
#[must_use]
pub fn light_back(latitude_deg: f64, as_of: NaiveDate) -> NaiveDate {
    let hours = |day: NaiveDate| daylight::hours(latitude_deg, day);
    let from = as_of + Days::new(FEWEST_DAYS_AHEAD.unsigned_abs());
    let days = (0..366).map(|n| from + Days::new(n));
    if let Some(last) = days
        .clone()
        .find(|&day| hours(day) < SHORT_DAY_HOURS && hours(day + Days::new(1)) >= SHORT_DAY_HOURS)
    {
        return last;
    }
    let shortest = days
        .min_by(|a, b| hours(*a).total_cmp(&hours(*b)))
        .unwrap_or(from);
    shortest + Days::new(LIGHT_BACK_DAYS)
}

/// Returns by when to sow what is asked.
#[must_use]
pub fn sow_by(question: &Question, climate: &Climate) -> Answer {
    let garden = question.garden;
    let until = light_back(garden.site.latitude_deg, question.as_of);
    let first_frost = climate
        .frost
        .day(Side::Fall, Temperature::from_f(32.0), 0.5)
        .map(|day| day.in_year(until.year()))
        .map(|date| {
            if date > until {
                date.with_year(until.year() - 1).unwrap_or(date)
            } else {
                date
            }
        })
        .filter(|date| *date >= question.as_of);
    let mut curves = lines(question);
    let few = Settings {
        draws: (question.settings.draws / 4)
            .max(250)
            .min(question.settings.draws),
        ..question.settings
    };
    let coarse = candidates(&curves, |curve| {
        let baby = garden.crop(curve.crop).timing.baby_at.is_some();
        let dates = hopeful(question, climate, curve, until);
        dates.into_iter().map(|date| (date, baby)).collect()
    });
    enter(&mut curves, question, &coarse, &few, until);
    let fine = candidates(&curves, |curve| places_of_change(question, climate, curve));
    enter(&mut curves, question, &fine, &question.settings, until);
    let mut rows: Vec<SowBy> = curves
        .iter()
        .flat_map(|curve| rows_of(question, climate, curve, (first_frost, until)))
        .collect();
    rows.sort_by_key(|row| {
        (
            row.last.date,
            row.crop,
            row.set_out,
            row.bed,
            row.not_before,
        )
    });
    Answer {
        until,
        first_frost,
        rows,
        curves,
    }
}

/// One row for each run of good dates.
fn rows_of(
    question: &Question,
    climate: &Climate,
    curve: &Curve,
    (first_frost, until): (Option<NaiveDate>, NaiveDate),
) -> Vec<SowBy> {
    let crop = question.garden.crop(curve.crop);
    let bed = &question.beds[curve.bed];
    let soil = Soil::new(climate, bed, question.soil_warmer_k);
    let all = runs(&curve.tried, question.chance);
    let count = all.len();
    let row = |(n, run): (usize, std::ops::Range<usize>)| {
        let good = &curve.tried[run.clone()];
        let not_before = good.first()?.date;
        let full = last_in(good, |t| t.full >= question.chance);
        let half = last_in(good, |t| t.half >= question.chance);
        let baby = last_baby(&curve.tried[run.start..], question.chance);
        let last = *full.or(half).or(baby)?;
        let latest = [full, half, baby]
            .into_iter()
            .flatten()
            .map(|t| t.date)
            .max();
        let sown_by = until - Days::new(WINTER_REST_DAYS);
        let winter = last_in(&curve.tried, |t| {
            t.half_ever >= question.chance && t.date <= sown_by
        })
        .filter(|_| n + 1 == count && crop.timing.clock == Clock::Growth)
        .map(|t| t.date)
        .filter(|date| latest.is_some_and(|l| *date > l + Days::new(LATER_DAYS)));
        let rule = CountBack::of(crop, curve.set_out, bed.protection);
        let before = not_before - Days::new(1);
        Some(SowBy {
            crop: curve.crop,
            set_out: curve.set_out,
            bed: curve.bed,
            not_before,
            soil_before: (!curve.set_out && before >= question.as_of)
                .then(|| soil.fit(crop, before)),
            best: best(good)?,
            full: full.map(|t| t.date),
            half: half.map(|t| t.date),
            baby: baby.map(|t| t.date),
            winter,
            last,
            tray_days: rule.tray,
            wait_days: (!curve.set_out)
                .then(|| soil.days_to_wait(crop, last.date))
                .flatten(),
            resow_by: (!curve.set_out).then_some(latest).flatten(),
            rule,
            rule_date: first_frost.map(|frost| rule.set_out(frost)),
        })
    };
    all.into_iter().enumerate().filter_map(row).collect()
}
