//! What is eaten fresh: the need of each day, and who serves it.
//!
//! A seventh of the weekly need each day; within a group what keeps least is eaten first, the oldest lot first,
//! up to the household's weekly ceiling. Knows nothing of products.

use super::calendar::{Calendar, Presence};
use super::crop_set::CropSet;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::{Food, Need};

/// One need, compiled.
#[derive(Debug, Clone)]
pub struct KitchenNeed {
    /// Amount of a day, kg.
    pub per_day_kg: f64,
    /// Crops that serve it, as indices into the kitchen's crops.
    pub crops: CropSet,
    /// Whether it holds, one element a day of the horizon.
    pub holds: Vec<bool>,
}

/// Returns the household's needs, or what its people usually eat of each crop if it gave none.
#[must_use]
pub fn effective(garden: &Garden) -> Vec<Need> {
    if !garden.household.needs.is_empty() {
        return garden.household.needs.clone();
    }
    garden
        .crops
        .iter()
        .enumerate()
        .filter(|(_, c)| c.kitchen.need_per_person_week.kg() > 0.0)
        .map(|(i, c)| Need {
            food: Food::Crop(CropId(i)),
            per_week: c.kitchen.need_per_person_week * garden.household.people,
            from: None,
            until: None,
        })
        .collect()
}

/// Says whether a crop serves a need.
#[must_use]
pub fn serves(garden: &Garden, crop: CropId, food: Food) -> bool {
    match food {
        Food::Crop(id) => id == crop,
        Food::Group(group) => garden.crop(crop).group == group,
    }
}

/// Compiles the needs for the kitchen's crops; single crops come before groups, what keeps least before the rest.
#[must_use]
pub fn compile(
    garden: &Garden,
    crops: &[CropId],
    calendar: &Calendar,
    notes: &mut Vec<String>,
) -> Vec<KitchenNeed> {
    if garden.household.needs.is_empty() {
        notes.push(format!(
            "No needs were given: what {} people usually eat was taken.",
            garden.household.people
        ));
    }
    let mut compiled: Vec<(bool, usize, KitchenNeed)> = Vec::new();
    for need in effective(garden) {
        let mut who = CropSet::new(crops.len());
        for (c, id) in crops.iter().enumerate() {
            who.set(c, serves(garden, *id, need.food));
        }
        let Some(least_keeping) = who.next(0) else {
            continue;
        };
        let holds = (0..calendar.days)
            .map(|d| {
                calendar.presence[usize::from(d)] == Presence::Home
                    && need.holds_on(calendar.date(d))
            })
            .collect();
        compiled.push((
            matches!(need.food, Food::Group(_)),
            least_keeping,
            KitchenNeed {
                per_day_kg: need.per_week.kg() / 7.0,
                crops: who,
                holds,
            },
        ));
    }
    compiled.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(&b.1)));
    compiled.into_iter().map(|(_, _, need)| need).collect()
}

/// Finds which needs hold, one list a day.
#[must_use]
pub fn needs_on(needs: &[KitchenNeed], days: u16) -> Vec<Vec<u16>> {
    let held = |day: usize| (0..).zip(needs).filter(move |(_, need)| need.holds[day]);
    (0..usize::from(days))
        .map(|day| held(day).map(|(n, _)| n).collect())
        .collect()
}

/// Finds which crops serve some need, one set a day.
#[must_use]
pub fn served_on(needs: &[KitchenNeed], crops: usize, days: u16) -> Vec<CropSet> {
    (0..usize::from(days))
        .map(|day| {
            let mut served = CropSet::new(crops);
            for need in needs.iter().filter(|n| n.holds[day]) {
                served.join(&need.crops);
            }
            served
        })
        .collect()
}
