//! The garden made ready for the ensemble: every planting as plain numbers on the days of one horizon.
//!
//! Draws nothing. Everything that many draws share is worked out here once.

use chrono::{Days, NaiveDate};

use super::climate::Climate;
use super::covers::SPRING_COVER_F;
use super::daylight;
use super::growth::{Daylight, Sum};
use super::horizon::{Horizon, Winter, winters};
use super::kept::Kept;
use super::life::Life;
use super::lives::{Shared, days_to_maturity, ended, logged};
use super::picking::STRIP_DAYS;
use super::places::Places;
use super::so_far::SoFar;
use super::yields::{Basis, expected};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::{Clock, CropId};
use crate::garden::planting::PlantingId;
use crate::garden::week::Week;
use std::ops::Range;
use std::sync::Arc;

/// Days in which cold and short days may hold a planting up.
const WINTER_DAYS: f64 = 240.0;
/// Days after which no planting is followed any further.
const LONGEST_DAYS: f64 = 420.0;

/// A garden made ready for the ensemble.
#[derive(Debug, Clone)]
pub struct Plan {
    horizon: Horizon,
    today: u16,
    notes: Vec<String>,
    heard: Option<String>,
    climate: Climate,
    pub(crate) daylight: Daylight,
    pub(crate) winters: Vec<Winter>,
    pub(crate) so_far: SoFar,
    pub(crate) sums: Vec<Sum>,
    /// Days on which living plantings look each of them up; none for those that only dead ones would.
    pub(crate) sum_days: Vec<Range<usize>>,
    /// Thresholds of cold in use, °F.
    pub(crate) thresholds_f: Vec<f64>,
    pub(crate) plantings: Vec<Compiled>,
    /// Names of the crops in use, which key their yield streams.
    pub(crate) crops: Vec<String>,
    /// Where the draws of each planting stand.
    pub(crate) places: Places,
    /// Its seasons, if they were drawn before.
    pub(crate) kept: Option<Arc<Kept>>,
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
    /// Returns the sentence on what the forecast heard of this season's pickings, if it heard any.
    #[must_use]
    pub fn heard(&self) -> Option<&str> {
        self.heard.as_deref()
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
    /// Returns the first day from which every planting that gives a crop is followed; what was picked of it before may have
    /// come from a planting that is over.
    #[must_use]
    pub fn followed_from(&self, crop: CropId) -> u16 {
        let over = self.plantings.iter().filter(|p| !p.alive);
        over.filter(|p| p.start < self.horizon.first)
            .filter(|p| p.crop_id == crop || p.second_crop == Some(crop))
            .map(|p| p.life.limit)
            .max()
            .unwrap_or(0)
    }
    /// Puts draws of some crops at other places, and says why in a sentence.
    ///
    /// Shape: for each place its draw, from the same chunk; whatever is run on the plan must make as many draws.
    pub fn move_draws(&mut self, orders: &[(Vec<CropId>, Vec<u32>)], why: String) {
        for (crops, order) in orders {
            let wanted = self.plantings.iter().map(|p| crops.contains(&p.crop_id));
            self.places.shift(wanted, order);
        }
        self.heard = Some(why);
    }
    /// Keeps the seasons that were drawn of this plan, so that its moved draws need not be drawn anew.
    pub fn keep(&mut self, seasons: Arc<Kept>) {
        self.kept = Some(seasons);
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
    let spans: Vec<(NaiveDate, NaiveDate)> = (0..garden.plantings.len())
        .map(|k| span(garden, PlantingId(k), as_of))
        .collect();
    let horizon = horizon_of(&spans, as_of);
    let climate = Climate::of(&garden.site);
    let mut notes = climate.notes.clone();
    let mut shared = Shared {
        horizon,
        winters: winters(&horizon, garden.site.is_southern()),
        sums: Vec::new(),
        thresholds_f: Vec::new(),
        spring_cover: false,
    };
    let mut crops: Vec<String> = Vec::new();
    let mut rests_on_rows = false;
    let mut plantings = Vec::with_capacity(garden.plantings.len());
    for (k, (planting, &(start, until))) in garden.plantings.iter().zip(&spans).enumerate() {
        let crop = garden.crop(planting.crop);
        let index = crops
            .iter()
            .position(|name| *name == crop.name)
            .unwrap_or_else(|| {
                crops.push(crop.name.clone());
                crops.len() - 1
            });
        rests_on_rows |=
            expected(planting, crop, garden.bed(planting.bed)).1 == Basis::RowOverGround;
        plantings.push(Compiled {
            name: planting.name.clone(),
            bed: planting.bed,
            start,
            crop: index,
            crop_id: planting.crop,
            second_crop: crop.second.as_ref().map(|second| second.crop),
            alive: until > horizon.first && start >= horizon.first && start < horizon.end(),
            life: shared.life(garden, PlantingId(k), until, as_of),
        });
    }
    if shared.spring_cover {
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
    let so_far = SoFar::of(
        &horizon,
        as_of,
        &garden.record.events,
        climate.recorded.as_ref(),
        &shared.winters,
        &climate.frost,
    );
    Plan {
        horizon,
        today: horizon.clamped(as_of),
        notes,
        heard: None,
        climate,
        daylight: Daylight::new(
            (0..horizon.days)
                .map(|d| daylight::hours(garden.site.latitude_deg, horizon.date(d)))
                .collect(),
        ),
        winters: shared.winters,
        so_far,
        sum_days: sum_days(&horizon, shared.sums.len(), &plantings),
        sums: shared.sums,
        thresholds_f: shared.thresholds_f,
        plantings,
        crops,
        places: Places::default(),
        kept: None,
    }
}

/// Days on which living plantings look up each running sum.
fn sum_days(horizon: &Horizon, sums: usize, plantings: &[Compiled]) -> Vec<Range<usize>> {
    let mut days = vec![0..0; sums];
    for life in plantings.iter().filter(|p| p.alive).map(|p| &p.life) {
        let start = usize::from(life.start);
        // A strip on the eve of cold looks ahead at what the days after it would have given.
        let end = (usize::from(life.limit) + STRIP_DAYS + 1).min(usize::from(horizon.days));
        let bolt = life.bolt.as_ref();
        let of_bolt = bolt.map_or(0..0, |b| b.sums..b.sums + 3);
        let single = [
            Some(life.growth),
            life.up.map(|(sum, _)| sum),
            life.standstill,
            bolt.and_then(|b| b.after_chill).map(|(sum, _)| sum),
        ];
        for sum in single.into_iter().flatten().chain(of_bolt) {
            let known = &mut days[sum];
            *known = if known.end == 0 {
                start..end
            } else {
                known.start.min(start)..known.end.max(end)
            };
        }
    }
    days
}

/// Start of a planting and the first day beyond which it is not followed.
fn span(garden: &Garden, id: PlantingId, as_of: NaiveDate) -> (NaiveDate, NaiveDate) {
    let planting = garden.planting(id);
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
    for end in planting
        .cleared
        .into_iter()
        .chain(logged(garden, as_of, ended, id))
    {
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
