//! The garden made ready for the ensemble: every planting as plain numbers on the days of one horizon.
//!
//! Draws nothing. Everything that many draws share is worked out here once.

use chrono::{Days, NaiveDate};

use super::climate::Climate;
use super::curve::HarvestCurve;
use super::daylight;
use super::ends::{BoltNeed, Cover, steps};
use super::growth::{Bolting, Response, Sum, UNIT, Warmer};
use super::horizon::{Horizon, Winter, winters};
use super::life::{Life, Second};
use super::yields::{Basis, LogSpread, expected};
use crate::garden::Garden;
use crate::garden::bed::{Bed, BedId, Protection};
use crate::garden::crop::{Clock, Crop, CropId};
use crate::garden::planting::Planting;
use crate::garden::record::Happening;
use crate::garden::week::Week;

/// Days to maturity where the crop table has none that fits.
const SOME_DAYS: f64 = 60.0;
/// Days in which cold and short days may hold a planting up.
const WINTER_DAYS: f64 = 240.0;
/// Days after which no planting is followed any further.
const LONGEST_DAYS: f64 = 420.0;
/// Degrees Fahrenheit of covering that the grower throws over tender plants in spring.
const SPRING_COVER_F: f64 = 4.0;
/// Plants killed at or above this, °F, are tender (light freeze 29-32 °F kills tender plants: UC Tuolumne).
const TENDER_F: f64 = 29.0;
/// Fewest days over which an early end is spread.
const PEST_SPAN_DAYS: f64 = 14.0;

/// A garden made ready for the ensemble.
#[derive(Debug, Clone)]
pub struct Plan {
    horizon: Horizon,
    today: u16,
    notes: Vec<String>,
    climate: Climate,
    pub(crate) daylight_hours: Vec<f64>,
    pub(crate) winters: Vec<Winter>,
    pub(crate) sums: Vec<Sum>,
    /// Thresholds of cold in use, °F.
    pub(crate) thresholds_f: Vec<f64>,
    pub(crate) plantings: Vec<Compiled>,
    /// Names of the crops in use, which key their yield streams.
    pub(crate) crops: Vec<String>,
}

/// One planting of the plan.
#[derive(Debug, Clone)]
pub(crate) struct Compiled {
    /// Keys its random numbers.
    pub(crate) name: String,
    /// Its bed.
    pub(crate) bed: BedId,
    /// First day in its bed.
    pub(crate) start: NaiveDate,
    /// Index of its crop in the plan.
    pub(crate) crop: usize,
    /// Its crop.
    pub(crate) crop_id: CropId,
    /// The crop of its second food.
    pub(crate) second_crop: Option<CropId>,
    /// Whether it reaches into the horizon.
    pub(crate) alive: bool,
    /// Its numbers.
    pub(crate) life: Life,
}

impl Plan {
    /// Returns the forecast days.
    #[must_use]
    pub const fn horizon(&self) -> Horizon {
        self.horizon
    }
    /// Returns the place of the day from which the forecast looks.
    #[must_use]
    pub const fn today(&self) -> u16 {
        self.today
    }
    /// Returns plain sentences on what the forecast had to assume.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
    /// Returns the climate in force.
    #[must_use]
    pub const fn climate(&self) -> &Climate {
        &self.climate
    }
    /// Returns the number of plantings, dead ones included.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.plantings.len()
    }
    /// Says whether there is no planting at all.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.plantings.is_empty()
    }
}

/// Makes a garden ready for the ensemble as it stands on a date.
#[must_use]
pub fn compile(garden: &Garden, as_of: NaiveDate) -> Plan {
    let spans: Vec<(NaiveDate, NaiveDate)> =
        garden.plantings.iter().map(|p| span(garden, p)).collect();
    let horizon = horizon_of(&spans, as_of);
    let climate = Climate::of(&garden.site);
    let mut notes = climate.notes.clone();
    let mut shop = Shop {
        horizon,
        winters: winters(&horizon, garden.site.is_southern()),
        sums: Vec::new(),
        thresholds_f: Vec::new(),
        spring_cover: false,
    };
    let mut crops: Vec<String> = Vec::new();
    let mut rests_on_rows = false;
    let mut plantings = Vec::with_capacity(garden.plantings.len());
    for (planting, &(start, until)) in garden.plantings.iter().zip(&spans) {
        let crop = garden.crop(planting.crop);
        let index = crops
            .iter()
            .position(|name| *name == crop.name)
            .unwrap_or_else(|| {
                crops.push(crop.name.clone());
                crops.len() - 1
            });
        rests_on_rows |= expected(planting, crop).1 == Basis::RowOverGround;
        plantings.push(Compiled {
            name: planting.name.clone(),
            bed: planting.bed,
            start,
            crop: index,
            crop_id: planting.crop,
            second_crop: crop.second.as_ref().map(|second| second.crop),
            alive: until > horizon.first && start >= horizon.first && start < horizon.end(),
            life: shop.life(garden, planting, until),
        });
    }
    if shop.spring_cover {
        notes.push(format!(
            "On cold spring nights {SPRING_COVER_F} °F of covering over tender plants is taken for granted."
        ));
    }
    if rests_on_rows {
        notes.push(
            "Where no raised-bed yield is known, the yield of a row is spread over the bed."
                .to_owned(),
        );
    }
    let beyond = plantings
        .iter()
        .zip(&spans)
        .filter(|(_, (start, _))| *start >= horizon.end())
        .count();
    if beyond > 0 {
        notes.push(format!(
            "{beyond} plantings begin after the 104 weeks that are forecast."
        ));
    }
    Plan {
        horizon,
        today: horizon.clamped(as_of),
        notes,
        climate,
        daylight_hours: (0..horizon.days)
            .map(|d| daylight::hours(garden.site.latitude_deg, horizon.date(d)))
            .collect(),
        winters: shop.winters,
        sums: shop.sums,
        thresholds_f: shop.thresholds_f,
        plantings,
        crops,
    }
}

/// Start of a planting and the first day beyond which it is not followed.
fn span(garden: &Garden, planting: &Planting) -> (NaiveDate, NaiveDate) {
    let crop = garden.crop(planting.crop);
    let (days, harvest) = (
        days_to_maturity(planting, crop),
        crop.harvest.harvest_days.max(0.0),
    );
    let longest = match crop.timing.clock {
        Clock::Calendar => 1.4 * days + harvest + crop.harvest.holds_days + 14.0,
        Clock::Growth => 1.5 * (days + harvest) + WINTER_DAYS,
    }
    .min(LONGEST_DAYS);
    let start = planting.start();
    let mut until = start + Days::new(longest.max(1.0) as u64);
    let ended = garden
        .record
        .events
        .iter()
        .filter_map(|event| match event.what {
            Happening::Ended(id) if garden.planting(id).name == planting.name => Some(event.date),
            _ => None,
        });
    for end in planting.cleared.into_iter().chain(ended) {
        until = until.min(end.max(start));
    }
    (start, until)
}

/// Horizon from the Monday of today or of the earliest unfinished sowing to the last possible picking.
fn horizon_of(spans: &[(NaiveDate, NaiveDate)], as_of: NaiveDate) -> Horizon {
    let monday = Week::of(as_of).monday();
    let unfinished = spans.iter().filter(|(_, until)| *until > monday);
    let first = unfinished
        .clone()
        .map(|(start, _)| Week::of(*start).monday())
        .chain([monday])
        .min()
        .unwrap_or(monday);
    let end = unfinished
        .map(|(_, until)| *until)
        .chain([monday + Days::new(7)])
        .max()
        .unwrap_or(monday);
    let days = (end - first)
        .num_days()
        .clamp(7, i64::from(Horizon::MOST_DAYS));
    let weeks = u16::try_from((days + 6) / 7).unwrap_or(Horizon::MOST_DAYS / 7);
    Horizon {
        first,
        days: (weeks * 7).min(Horizon::MOST_DAYS),
    }
}

/// Days to maturity from setting out if set out, else from sowing.
fn days_to_maturity(planting: &Planting, crop: &Crop) -> f64 {
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

/// What is being built up while plantings are compiled.
struct Shop {
    horizon: Horizon,
    winters: Vec<Winter>,
    sums: Vec<Sum>,
    thresholds_f: Vec<f64>,
    spring_cover: bool,
}

impl Shop {
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
    fn threshold(&mut self, threshold_f: f64) -> u16 {
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
    fn life(&mut self, garden: &Garden, planting: &Planting, until: NaiveDate) -> Life {
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
        let ended = planting_end(garden, planting);
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
            days,
            days_cv: crop.timing.days_cv.max(0.0),
            covers: self.covers(crop, bed, start, limit),
            bolt: self.bolting(crop, response, warmer),
            pest_chance: crop.ends.early_end_chance,
            pest_from: start.saturating_add(pest_from as u16),
            pest_span: (days + harvest_days - pest_from).max(PEST_SPAN_DAYS),
            pattern: crop.harvest.pattern,
            curve: HarvestCurve::new(&crop.harvest.shape),
            period_per_step: 1.0 / (harvest_days * UNIT),
            pick_every: (crop.harvest.pick_every_days.round() as u16).max(1),
            holds: crop.harvest.holds_days.round() as u16,
            usable_early: crop.harvest.usable_early,
            strip_share: crop.ends.strip_share.clamp(0.0, 1.0),
            expected_kg: expected(planting, crop).0.kg(),
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

    /// Covers over a planting's life with the thresholds that count under them.
    fn covers(&mut self, crop: &Crop, bed: &Bed, start: u16, limit: u16) -> Vec<Cover> {
        let (kills, spoils) = (
            crop.ends.killed_below.map(|t| t.f()),
            crop.ends.spoiled_below.map(|t| t.f()),
        );
        if kills.is_none() && spoils.is_none() {
            return Vec::new();
        }
        let tender = kills.is_some_and(|t| t >= TENDER_F);
        let on = covered(bed, &self.horizon);
        let springs: Vec<(i32, i32)> = self.winters.iter().map(|w| (w.middle(), w.end())).collect();
        let mut cuts: Vec<u16> = [start, limit, on.0, on.1]
            .into_iter()
            .chain(
                springs
                    .iter()
                    .flat_map(|s| [s.0, s.1])
                    .filter_map(|d| u16::try_from(d).ok()),
            )
            .filter(|d| (start..=limit).contains(d))
            .collect();
        cuts.sort_unstable();
        cuts.dedup();
        let mut covers: Vec<Cover> = Vec::new();
        for pair in cuts.windows(2) {
            let (from, until) = (pair[0], pair[1]);
            let gain_f = if from >= on.0 && from < on.1 {
                gain_f(bed.protection)
            } else {
                0.0
            };
            let spring = springs
                .iter()
                .any(|s| i32::from(from) >= s.0 && i32::from(from) < s.1);
            let thrown_f = if tender && spring {
                SPRING_COVER_F
            } else {
                0.0
            };
            self.spring_cover |= thrown_f > gain_f;
            let next = Cover {
                from,
                until,
                kills: kills.map(|t| self.threshold(t - gain_f.max(thrown_f))),
                spoils: spoils.map(|t| self.threshold(t - gain_f)),
            };
            match covers.last_mut() {
                Some(last) if (last.kills, last.spoils) == (next.kills, next.spoils) => {
                    last.until = until
                }
                _ => covers.push(next),
            }
        }
        covers
    }
}

/// Day on which a planting was ended by an event.
fn planting_end(garden: &Garden, planting: &Planting) -> Option<NaiveDate> {
    let events = garden.record.events.iter();
    let ends = events.filter_map(|event| match event.what {
        Happening::Ended(id) if garden.planting(id).name == planting.name => Some(event.date),
        _ => None,
    });
    ends.min()
}

/// Days on which a bed's cover is on; an empty stretch without one.
fn covered(bed: &Bed, horizon: &Horizon) -> (u16, u16) {
    if bed.protection == Protection::None {
        return (0, 0);
    }
    let from = bed.protected.from.map_or(0, |date| horizon.clamped(date));
    let until = bed
        .protected
        .until
        .map_or(horizon.days, |date| horizon.clamped(date + Days::new(1)));
    (from, until.max(from))
}

/// Degrees Fahrenheit that a cover keeps off at the minimum, low on purpose; on clear still nights it can be nothing.
///
/// Sources: Colorado State fact sheet 722 (row cover 2-4 °F, plastic on hoops 2-4 °F), Oregon State 1988 (covers at or
/// below ambient on clear nights), Oregon press (insulated cold frame 10 °F or more), Savage 1980 (high tunnel 2.3 °F).
fn gain_f(protection: Protection) -> f64 {
    match protection {
        Protection::None | Protection::ShadeCloth => 0.0,
        Protection::RowCoverLight | Protection::HighTunnel => 2.0,
        Protection::RowCoverHeavy | Protection::LowTunnel => 4.0,
        Protection::ColdFrame => 8.0,
    }
}

/// Days on which a bed's air is warmer than outside.
fn warmer(bed: &Bed, horizon: &Horizon) -> Warmer {
    (bed.protection == Protection::HighTunnel).then(|| covered(bed, horizon))
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
