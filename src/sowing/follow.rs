//! What may follow in a bed when it comes free, best first.
//!
//! Every crop is tried in the room that comes free, on the first sowing day on which it may go in; what cannot reach half a
//! harvest in time is left out, and so is the family that leaves. Ranked by what the household lacks. Renders nothing.

use super::dates::light_back;
use super::dates_search::bulbs_in_time;
use super::dates_tried::{Candidate, garden_of};
use super::follow_lack::{Filled, Lack};
use super::follow_room::Room;
use super::soil::{Fit, Soil};
use crate::garden::Garden;
use crate::garden::crop::{Clock, CropId};
use crate::garden::units::{Length, Mass};
use crate::garden::week::Week;
use crate::season::climate::Climate;
use crate::season::ensemble::Settings;
use crate::season::plan;
use crate::season::trials::trials_by_week;
use crate::season::windows::DateSpread;
use chrono::{Datelike, Days, NaiveDate};

/// Longest wait, days, for soil that is right or for a tray to be raised.
const LONGEST_WAIT: u64 = 30;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The garden.
    pub garden: &'a Garden,
    /// Its climate.
    pub climate: &'a Climate,
    /// Today.
    pub as_of: NaiveDate,
    /// Share of seasons that must succeed.
    pub chance: f64,
    /// How much warmer than the mean of the air the soil is, K.
    pub soil_warmer_k: f64,
    /// Draws and seed.
    pub settings: Settings,
}

/// A crop that may follow.
#[derive(Debug, Clone, PartialEq)]
pub struct Follower {
    /// Index of the room among those asked about.
    pub room: usize,
    /// The crop.
    pub crop: CropId,
    /// Date of sowing, in place or in a tray.
    pub sow: NaiveDate,
    /// Date of setting out, if it is raised in a tray.
    pub set_out: Option<NaiveDate>,
    /// Row that fills the room.
    pub row: Length,
    /// Chance of half a harvest.
    pub chance: f64,
    /// First picking.
    pub first: Option<DateSpread>,
    /// Last picking.
    pub last: Option<DateSpread>,
    /// Expected harvest of the whole row.
    pub mass: Mass,
    /// What of it the household lacks.
    pub fills: Filled,
}

impl Follower {
    /// Returns what it fills of needs and goals together, kg.
    #[must_use]
    pub fn filled_kg(&self) -> f64 {
        self.fills.needs_kg + self.fills.goals_kg
    }
}

/// Returns all that may follow in each room, best first within a room.
#[must_use]
pub fn follow(question: &Question, rooms: &[Room], lack: &Lack) -> Vec<Follower> {
    let garden = question.garden;
    let until = light_back(garden.site.latitude_deg, question.as_of);
    let mut candidates = Vec::new();
    let mut meant = Vec::new();
    for (n, room) in rooms.iter().enumerate() {
        for crop in (0..garden.crops.len()).map(CropId) {
            for set_out in [false, true] {
                if let Some((sow, date)) = day(question, room, crop, set_out) {
                    candidates.push(Candidate {
                        crop,
                        set_out,
                        bed: room.bed.0,
                        baby: false,
                        date,
                        cleared: room.until,
                    });
                    meant.push((n, sow));
                }
            }
        }
    }
    if candidates.is_empty() {
        return Vec::new();
    }
    let trial = garden_of(garden, &garden.beds, &candidates);
    let plan = plan::compile(&trial, question.as_of);
    let first = Week::of(plan.horizon().first);
    let tried = trials_by_week(&plan, &question.settings, until);
    let mut found: Vec<Follower> = tried
        .iter()
        .zip(candidates.iter().zip(meant))
        .filter(|(trial, _)| trial.half >= question.chance)
        .map(|(trial, (candidate, (room, sow)))| {
            let between = garden.crop(candidate.crop).yields.between_rows.m();
            let row_m = rooms[room].area.m2() / between.max(0.05);
            let weeks: Vec<f64> = trial.kg_by_week.iter().map(|kg| kg * row_m).collect();
            Follower {
                room,
                crop: candidate.crop,
                sow,
                set_out: candidate.set_out.then_some(candidate.date),
                row: Length::from_m(row_m),
                chance: trial.half,
                first: trial.first,
                last: trial.last,
                mass: Mass::from_kg(trial.kg * row_m),
                fills: lack.filled(garden, candidate.crop, (first, &weeks)),
            }
        })
        .collect();
    found.sort_by(|a, b| {
        let filled = b.filled_kg().total_cmp(&a.filled_kg());
        a.room
            .cmp(&b.room)
            .then(filled)
            .then(b.mass.kg().total_cmp(&a.mass.kg()))
            .then(a.crop.cmp(&b.crop))
    });
    // Of a crop sown and set out the better stays.
    let mut seen: Vec<(usize, CropId)> = Vec::new();
    found.retain(|follower| {
        let new = !seen.contains(&(follower.room, follower.crop));
        seen.push((follower.room, follower.crop));
        new
    });
    found
}

/// First day on which a crop may go into a room, and its day of sowing; none if it may not follow there.
fn day(
    question: &Question,
    room: &Room,
    crop: CropId,
    set_out: bool,
) -> Option<(NaiveDate, NaiveDate)> {
    let garden = question.garden;
    let row = garden.crop(crop);
    // What the calendar drives does not ripen before winter.
    if row.timing.clock == Clock::Calendar {
        return None;
    }
    let same_family = |&p: &crate::garden::planting::PlantingId| {
        garden.crop(garden.planting(p).crop).family == row.family
    };
    if room.after.iter().any(same_family) {
        return None;
    }
    let soil = Soil::new(
        question.climate,
        garden.bed(room.bed),
        question.soil_warmer_k,
    );
    let latitude = garden.site.latitude_deg;
    let from = room.from.max(question.as_of);
    let mut days = (0..=LONGEST_WAIT)
        .map(|n| from + Days::new(n))
        .filter(|day| sow_day(garden, *day));
    if set_out {
        row.timing.days_set_out?;
        let raise = Days::new(row.timing.raise_days?.round().max(0.0) as u64);
        let date = days.find(|&day| day - raise >= question.as_of)?;
        bulbs_in_time(latitude, row, true, date).then_some((date - raise, date))
    } else {
        row.timing.days_sown?;
        let date = days.find(|&day| soil.fit(row, day) == Fit::Right)?;
        bulbs_in_time(latitude, row, false, date).then_some((date, date))
    }
}

/// Whether the household sows on a day.
fn sow_day(garden: &Garden, day: NaiveDate) -> bool {
    let days = &garden.household.sow_days;
    days.is_empty() || days.contains(&day.weekday())
}
