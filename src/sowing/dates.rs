//! By when to sow: not before, best days and last days of every crop, found by trying dates in the drawn seasons.
//!
//! A coarse row of dates is tried first, then every day about the places where something changes. Chances need not
//! fall from date to date: a spring and a fall run of good dates are told apart. Harvest counts until the light comes
//! back after winter; what a sowing gives in the spring after is told beside it. Renders nothing.

use super::dates_counted::CountBack;
use super::dates_tried::{Candidate, try_all};
use super::soil::{Fit, Soil};
use crate::garden::Garden;
use crate::garden::bed::{Bed, Protection};
use crate::garden::crop::{Clock, Crop, CropId};
use crate::garden::units::Temperature;
use crate::season::climate::Climate;
use crate::season::daylight;
use crate::season::ensemble::Settings;
use crate::season::frost::Side;
use crate::season::growth::Response;
use crate::season::trials::Trial;
use crate::season::windows::DateSpread;
use chrono::{Datelike, Days, NaiveDate};

/// Days between the dates tried first.
const STEP: u64 = 4;
/// Share of the best expected harvest from which a date counts as best.
const NEAR_BEST: f64 = 0.95;
/// Daylight in hours under which leafy crops hardly grow (Coleman, as quoted by several growers).
const SHORT_DAY_HOURS: f64 = 10.0;
/// Fewest days ahead for which it is worth asking by when to sow; nearer to the end the next year is meant.
const FEWEST_DAYS_AHEAD: i64 = 60;
/// Days after midwinter at which the light is back where no day is under ten hours.
const LIGHT_BACK_DAYS: u64 = 30;
/// Growing days, as a share of what baby leaves need, without which no date is tried.
const HOPELESS: f64 = 0.6;
/// Days before the light comes back in which nothing is sown to stand the winter.
const WINTER_REST_DAYS: u64 = 75;
/// Days by which such a sowing must be later than all others to be told.
const LATER_DAYS: u64 = 10;
/// Plants killed only at or below this, °F, may stand the winter.
const HARDY_F: f64 = 16.0;

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

/// Candidates of every curve: wanted dates, each with baby leaves or without.
fn candidates(
    curves: &[Curve],
    wanted: impl Fn(&Curve) -> Vec<(NaiveDate, bool)>,
) -> Vec<Candidate> {
    let mut all = Vec::new();
    for curve in curves {
        for (date, with_baby) in wanted(curve) {
            let grown_on = Candidate {
                crop: curve.crop,
                set_out: curve.set_out,
                bed: curve.bed,
                baby: false,
                date,
            };
            all.push(grown_on);
            if with_baby {
                all.push(Candidate {
                    baby: true,
                    ..grown_on
                });
            }
        }
    }
    all
}

/// Every crop in every way and under every cover, with nothing tried yet.
fn lines(question: &Question) -> Vec<Curve> {
    let mut curves = Vec::new();
    for &crop in &question.crops {
        let timing = &question.garden.crop(crop).timing;
        for (set_out, possible) in [
            (false, timing.days_sown.is_some()),
            (true, timing.raise_days.is_some()),
        ] {
            for bed in (0..question.beds.len()).filter(|_| possible) {
                curves.push(Curve {
                    crop,
                    set_out,
                    bed,
                    tried: Vec::new(),
                });
            }
        }
    }
    curves
}

/// Whether a crop may go into the bed on a date: anything may be set out, seed needs its soil.
fn soil_right(question: &Question, climate: &Climate, curve: &Curve, date: NaiveDate) -> bool {
    let soil = Soil::new(climate, &question.beds[curve.bed], question.soil_warmer_k);
    curve.set_out || soil.fit(question.garden.crop(curve.crop), date) == Fit::Right
}

/// The coarse dates that are worth trying.
fn hopeful(
    question: &Question,
    climate: &Climate,
    curve: &Curve,
    until: NaiveDate,
) -> Vec<NaiveDate> {
    let crop = question.garden.crop(curve.crop);
    let days = u64::try_from((until - question.as_of).num_days()).unwrap_or(0);
    let hardy = crop.ends.killed_below.is_none_or(|t| t.f() <= HARDY_F);
    (0..days)
        .step_by(STEP as usize)
        .map(|n| question.as_of + Days::new(n))
        .filter(|&date| soil_right(question, climate, curve, date))
        .filter(|&date| hardy || grows(question, climate, crop, curve.set_out, date, until))
        .collect()
}

/// Whether a sowing has any hope of ripening in a usual year.
fn grows(
    question: &Question,
    climate: &Climate,
    crop: &Crop,
    set_out: bool,
    date: NaiveDate,
    until: NaiveDate,
) -> bool {
    let rule = CountBack::of(crop, set_out, Protection::None);
    let need = HOPELESS * crop.timing.baby_at.unwrap_or(0.75) * f64::from(rule.maturity);
    let response = Response::of(&crop.growth, crop.timing.clock);
    let mut grown = 0.0;
    date.iter_days().take_while(|day| *day <= until).any(|day| {
        let mean_c =
            climate.mean_c[usize::from(crate::garden::week::YearDay::of(day).number()) - 1];
        // A little warmth is given, so that no warm year is missed.
        grown += response.rate(
            mean_c + 2.0,
            daylight::hours(question.garden.site.latitude_deg, day),
        );
        grown >= need
    })
}

/// Tries candidates and enters what came of them, in place of what was tried before on the same dates.
fn enter(
    curves: &mut [Curve],
    question: &Question,
    candidates: &[Candidate],
    settings: &Settings,
    until: NaiveDate,
) {
    if candidates.is_empty() {
        return;
    }
    let trials = try_all(
        question.garden,
        &question.beds,
        question.as_of,
        candidates,
        settings,
        until,
    );
    let mut at = 0;
    for curve in curves {
        let mine =
            |c: &Candidate| (c.crop, c.set_out, c.bed) == (curve.crop, curve.set_out, curve.bed);
        let mut fresh: Vec<Tried> = Vec::new();
        while let Some(candidate) = candidates.get(at).filter(|c| mine(c)) {
            match fresh.last_mut() {
                Some(tried) if candidate.baby => tried.baby = Some(trials[at].any),
                _ => fresh.push(tried(candidate.date, &trials[at])),
            }
            at += 1;
        }
        for new in &mut fresh {
            if let Some(old) = curve.tried.iter().find(|old| old.date == new.date) {
                new.baby = new.baby.or(old.baby);
            }
        }
        curve
            .tried
            .retain(|old| !fresh.iter().any(|new| new.date == old.date));
        curve.tried.extend(fresh);
        curve.tried.sort_by_key(|tried| tried.date);
    }
}

fn tried(date: NaiveDate, trial: &Trial) -> Tried {
    Tried {
        date,
        full: trial.full,
        half: trial.half,
        baby: None,
        half_ever: trial.half_ever,
        kg_per_m: trial.kg,
        first: trial.first,
        last: trial.last,
    }
}

/// Days about the dates at which a run of good dates begins or ends, or the best days do, and whether baby leaves are
/// asked for there.
fn places_of_change(
    question: &Question,
    climate: &Climate,
    curve: &Curve,
) -> Vec<(NaiveDate, bool)> {
    let mut dates: Vec<(NaiveDate, bool)> = Vec::new();
    let step = STEP as i64;
    for run in runs(&curve.tried, question.chance) {
        let good = &curve.tried[run.clone()];
        let best = best(good);
        let full = last_in(good, |t| t.full >= question.chance);
        let baby = last_baby(&curve.tried[run.start..], question.chance);
        // What begins does so up to a step before the first date tried that has it; what ends, up to a step after.
        for (date, begins, with_baby) in [
            (good.first().map(|t| t.date), true, false),
            (best.map(|b| b.0), true, false),
            (good.last().map(|t| t.date), false, false),
            (full.map(|t| t.date), false, false),
            (best.map(|b| b.1), false, false),
            (baby.map(|t| t.date), false, true),
        ] {
            let Some(date) = date else { continue };
            let days = if begins { -step..=1 } else { -1..=step };
            dates.extend(days.map(|n| (date + chrono::Duration::days(n), with_baby)));
        }
    }
    dates
        .retain(|(date, _)| *date >= question.as_of && soil_right(question, climate, curve, *date));
    // Of a date asked for twice the one with baby leaves comes first and is kept.
    dates.sort_unstable_by_key(|(date, with_baby)| (*date, !with_baby));
    dates.dedup_by_key(|(date, _)| *date);
    dates
}

/// Runs of dates, as places in the list, on which at least half a harvest has the chance; where there are none, runs
/// of baby leaves.
fn runs(tried: &[Tried], chance: f64) -> Vec<std::ops::Range<usize>> {
    let half = runs_of(tried, |t| t.half >= chance);
    if half.is_empty() {
        runs_of(tried, |t| t.baby.is_some_and(|baby| baby >= chance))
    } else {
        half
    }
}

fn runs_of(tried: &[Tried], good: impl Fn(&Tried) -> bool) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    for (k, now) in tried.iter().enumerate().filter(|(_, t)| good(t)) {
        match found.last_mut() {
            // A gap of a step or two is chance, or a day between the coarse ones that was not tried.
            Some(run) if (now.date - tried[run.end - 1].date).num_days() <= 2 * STEP as i64 => {
                run.end = k + 1;
            }
            _ => found.push(k..k + 1),
        }
    }
    found
}

fn last_in(tried: &[Tried], good: impl Fn(&Tried) -> bool) -> Option<&Tried> {
    tried.iter().rev().find(|t| good(t))
}

/// Last date of baby leaves without a gap from the first.
fn last_baby(tried: &[Tried], chance: f64) -> Option<&Tried> {
    let run = runs_of(tried, |t| t.baby.is_some_and(|baby| baby >= chance))
        .into_iter()
        .next()?;
    tried.get(run.end - 1)
}

/// First and last date about the best whose expected harvest is near it.
fn best(tried: &[Tried]) -> Option<(NaiveDate, NaiveDate)> {
    let (top, most) = tried
        .iter()
        .enumerate()
        .reduce(|a, b| if b.1.kg_per_m > a.1.kg_per_m { b } else { a })?;
    let near = |t: &&Tried| t.kg_per_m >= NEAR_BEST * most.kg_per_m;
    let from = tried[..=top].iter().rev().take_while(near).last()?;
    let until = tried[top..].iter().take_while(near).last()?;
    Some((from.date, until.date))
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
