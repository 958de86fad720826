//! Which dates are worth trying: a coarse row of them first, then every day about the places where something changes.
//!
//! Decides nothing about the answer but where to look.

use super::dates::{Curve, Question, Tried};
use super::dates_counted::CountBack;
use super::dates_runs::{best, last_baby, last_in, runs};
use super::dates_tried::{Candidate, try_all};
use super::soil::{Fit, Soil};
use crate::garden::bed::Protection;
use crate::garden::crop::{Clock, Crop, FoodGroup, Pattern};
use crate::garden::week::YearDay;
use crate::season::climate::Climate;
use crate::season::daylight;
use crate::season::ensemble::Settings;
use crate::season::growth::Response;
use crate::season::trials::Trial;
use chrono::{Days, NaiveDate};

/// Days between the dates tried first.
pub(super) const STEP: u64 = 4;
/// Daylight in hours under which no bulb forms (bulbs form at 12 to 16 h: Knott's Handbook).
const BULB_HOURS: f64 = 12.0;
/// Growing days, as a share of what baby leaves need, without which no date is tried.
const HOPELESS: f64 = 0.6;
/// Plants killed only at or below this, °F, may stand the winter.
const HARDY_F: f64 = 16.0;

/// Candidates of every curve: wanted dates, each with baby leaves or without.
pub(super) fn candidates(
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
                cleared: None,
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
pub(super) fn lines(question: &Question) -> Vec<Curve> {
    let mut curves = Vec::new();
    for &crop in &question.crops {
        let timing = &question.garden.crop(crop).timing;
        // What the calendar ripens, such as garlic, stands the winter: it has no last date of this kind.
        if timing.clock == Clock::Calendar {
            continue;
        }
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
pub(super) fn hopeful(
    question: &Question,
    climate: &Climate,
    curve: &Curve,
    until: NaiveDate,
) -> Vec<NaiveDate> {
    let crop = question.garden.crop(curve.crop);
    let days = u64::try_from((until - question.as_of).num_days()).unwrap_or(0);
    let garden_latitude = question.garden.site.latitude_deg;
    let hardy = crop.ends.killed_below.is_none_or(|t| t.f() <= HARDY_F);
    (0..days)
        .step_by(STEP as usize)
        .map(|n| question.as_of + Days::new(n))
        .filter(|&date| soil_right(question, climate, curve, date))
        .filter(|&date| bulbs_in_time(garden_latitude, crop, curve.set_out, date))
        .filter(|&date| hardy || grows(question, climate, crop, curve.set_out, date, until))
        .collect()
}

/// Whether a bulb crop started on a date can ripen while days are long enough for bulbs to form; any other crop can.
pub(crate) fn bulbs_in_time(
    latitude_deg: f64,
    crop: &Crop,
    set_out: bool,
    date: NaiveDate,
) -> bool {
    let bulb = crop.group == FoodGroup::Alliums
        && crop.harvest.pattern == Pattern::Once
        && crop.timing.clock == Clock::Growth;
    let ripe = date
        + Days::new(u64::from(
            CountBack::of(crop, set_out, Protection::None).maturity,
        ));
    !bulb || daylight::hours(latitude_deg, ripe) >= BULB_HOURS
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
        let mean_c = climate.mean_c[usize::from(YearDay::of(day).number()) - 1];
        // A little warmth is given, so that no warm year is missed.
        grown += response.rate(
            mean_c + 2.0,
            daylight::hours(question.garden.site.latitude_deg, day),
        );
        grown >= need
    })
}

/// Tries candidates and enters what came of them, in place of what was tried before on the same dates.
pub(super) fn enter(
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
pub(super) fn places_of_change(
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
