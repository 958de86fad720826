//! A row of the planting list made into plain numbers, sharing running sums and thresholds with others like it.
//!
//! Knows the garden; draws nothing.

use chrono::NaiveDate;

use super::covers::{covers, warmer};
use super::curve::HarvestCurve;
use super::ends::{BoltNeed, steps};
use super::growth::{Bolting, Response, Sum, UNIT, Warmer};
use super::horizon::{Horizon, Winter};
use super::life::{Life, Second};
use super::yields::{LogSpread, expected};
use crate::garden::Garden;
use crate::garden::crop::Crop;
use crate::garden::planting::{Planting, PlantingId};
use crate::garden::record::Happening;

/// Days to maturity where the crop table has none that fits.
const SOME_DAYS: f64 = 60.0;
/// Fewest days over which an early end is spread.
const PEST_SPAN_DAYS: f64 = 14.0;

/// Days to maturity from setting out if set out, else from sowing.
pub(crate) fn days_to_maturity(planting: &Planting, crop: &Crop) -> f64 {
    let t = &crop.timing;
    let raise = t.raise_days.unwrap_or(0.0);
    let table = if planting.set_out.is_some() {
        t.days_set_out
            .or(t.days_sown.map(|d| (d - raise).max(0.5 * d)))
    } else {
        t.days_sown.or(t.days_set_out.map(|d| d + raise))
    };
    planting
        .days_to_maturity
        .or(table)
        .unwrap_or(SOME_DAYS)
        .max(1.0)
}

/// What plantings share, built up while they are made ready.
pub(crate) struct Shared {
    /// The forecast days.
    pub(crate) horizon: Horizon,
    /// Cold seasons that touch them.
    pub(crate) winters: Vec<Winter>,
    /// Running sums.
    pub(crate) sums: Vec<Sum>,
    /// Thresholds of cold, °F.
    pub(crate) thresholds_f: Vec<f64>,
    /// Whether covering is thrown over any tender plant in spring.
    pub(crate) spring_cover: bool,
}

impl Shared {
    /// Index of a running sum, shared by all plantings that need the same.
    fn sum(&mut self, sum: Sum) -> usize {
        self.sums
            .iter()
            .position(|known| *known == sum)
            .unwrap_or_else(|| {
                self.sums.push(sum);
                self.sums.len() - 1
            })
    }

    /// Index of a threshold of cold, shared likewise.
    pub(crate) fn threshold(&mut self, threshold_f: f64) -> u16 {
        let k = self
            .thresholds_f
            .iter()
            .position(|t| (t - threshold_f).abs() < 1e-9)
            .unwrap_or_else(|| {
                self.thresholds_f.push(threshold_f);
                self.thresholds_f.len() - 1
            });
        u16::try_from(k).unwrap_or(u16::MAX)
    }

    /// One planting as plain numbers.
    pub(crate) fn life(
        &mut self,
        garden: &Garden,
        id: PlantingId,
        until: NaiveDate,
        as_of: NaiveDate,
    ) -> Life {
        let planting = garden.planting(id);
        let crop = garden.crop(planting.crop);
        let bed = garden.bed(planting.bed);
        let horizon = self.horizon;
        let start = horizon.clamped(planting.start());
        let limit = horizon.clamped(until).max(start);
        let days = days_to_maturity(planting, crop);
        let warmer = warmer(bed, &horizon);
        let response = Response::of(&crop.growth, crop.timing.clock);
        let growth = self.sum(Sum::Growth(response, warmer));
        let up = planting.set_out.is_none().then(|| {
            let sum = self.sum(Sum::Up(crop.growth.up_base.c(), warmer));
            (sum, steps(crop.growth.up_degree_days))
        });
        let pest_from = crop.ends.early_end_from_days.max(0.0);
        let harvest_days = crop.harvest.harvest_days.max(1.0);
        let ended = logged(garden, as_of, ended, id);
        let picked = garden
            .record
            .picked
            .iter()
            .filter(|p| p.planting == Some(id) && p.date <= as_of);
        let up_on = logged(garden, as_of, came_up, id).or(picked.map(|p| p.date).min());
        Life {
            start,
            limit,
            cleared: planting
                .cleared
                .map(|date| horizon.clamped(date))
                .filter(|day| *day <= limit),
            ended: ended.map(|date| horizon.clamped(date)),
            growth,
            up,
            up_on: up_on.map(|date| horizon.clamped(date).max(start)),
            days,
            days_cv: crop.timing.days_cv.max(0.0),
            covers: covers(self, crop, bed, start, limit),
            bolt: self.bolting(crop, response, warmer),
            pest_chance: crop.ends.early_end_chance,
            pest_from: start.saturating_add(pest_from as u16),
            pest_span: (days + harvest_days - pest_from).max(PEST_SPAN_DAYS),
            pattern: crop.harvest.pattern,
            curve: HarvestCurve::new(&crop.harvest.shape),
            period_per_step: 1.0 / (harvest_days * UNIT),
            pick_every: (crop.harvest.pick_every_days.round() as u16).max(1),
            holds: crop.harvest.holds_days.round() as u16,
            standstill: crop
                .harvest
                .usable_early
                .then(|| self.sum(Sum::Standstill(response, warmer))),
            strip_share: crop.ends.strip_share.clamp(0.0, 1.0),
            expected_kg: expected(planting, crop, garden.bed(planting.bed)).0.kg(),
            spread: LogSpread::from_cv(crop.yields.cv),
            fail_chance: crop.yields.fail_chance,
            second: crop.second.as_ref().map(|second| Second {
                share: second.share.max(0.0),
                from: second.from,
                pick_every: (garden.crop(second.crop).harvest.pick_every_days.round() as u16)
                    .max(1),
                delay_days: second.delay_days.max(0.0),
            }),
            eves: eves(garden, &horizon),
        }
    }

    /// What makes a crop bolt, if anything does.
    fn bolting(&mut self, crop: &Crop, response: Response, warmer: Warmer) -> Option<BoltNeed> {
        let ends = &crop.ends;
        if ends.bolts_above.is_none() && ends.bolts_above_hours.is_none() {
            return None;
        }
        let bolting = Bolting {
            response: Response {
                ceiling_c: None,
                ..response
            },
            above_c: ends.bolts_above.map(|t| t.c()),
            above_hours: ends.bolts_above_hours,
        };
        let triple = [
            Sum::Heat(bolting, warmer),
            Sum::Light(bolting, warmer),
            Sum::HeatOrLight(bolting, warmer),
        ];
        let sums = self
            .sums
            .iter()
            .position(|known| *known == triple[0])
            .unwrap_or_else(|| {
                self.sums.extend(triple);
                self.sums.len() - 3
            });
        let after_chill = ends
            .bolts_after_cold_days
            .map(|days| (self.sum(Sum::Chill(warmer)), days.max(0.0).round() as u32));
        Some(BoltNeed {
            sums,
            growing: steps(ends.bolt_growing_days),
            after_chill,
        })
    }
}

/// First day up to `as_of` on which an event of a planting was logged.
pub(crate) fn logged(
    garden: &Garden,
    as_of: NaiveDate,
    is_it: impl Fn(&Happening) -> Option<PlantingId>,
    id: PlantingId,
) -> Option<NaiveDate> {
    let events = garden
        .record
        .events
        .iter()
        .filter(|event| event.date <= as_of);
    events
        .filter(|event| is_it(&event.what) == Some(id))
        .map(|event| event.date)
        .min()
}

/// The planting that an event ended.
pub(crate) fn ended(what: &Happening) -> Option<PlantingId> {
    if let Happening::Ended(id) = what {
        Some(*id)
    } else {
        None
    }
}

/// The planting that an event saw come up.
fn came_up(what: &Happening) -> Option<PlantingId> {
    if let Happening::Up(id) = what {
        Some(*id)
    } else {
        None
    }
}

/// Days before absences, on which there is an extra picking.
fn eves(garden: &Garden, horizon: &Horizon) -> Vec<u16> {
    let mut eves: Vec<u16> = garden
        .household
        .away
        .iter()
        .filter_map(|away| u16::try_from(horizon.index(away.days.from?) - 1).ok())
        .filter(|day| *day < horizon.days)
        .collect();
    eves.sort_unstable();
    eves.dedup();
    eves
}
