//! What the record says next season's numbers should be.
//!
//! Always worked out from the built-in numbers and the whole record, never from what was learned before, so that
//! running it twice changes nothing. Proposes; writing is somebody else's business.

use super::calibration::{Belief, KEPT_PER_SEASON, Spread, belief, forgetting_weight, weighted};
use super::evidence::{Evidence, YieldEvidence};
use super::failure::{FailureBelief, PLANTINGS_OF_BUILT_IN};
use super::spread::spread_of_garden;
use crate::garden::bed::BedId;
use crate::garden::crop::{Crop, CropId};
use std::collections::{BTreeMap, BTreeSet};

/// What a number belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// A crop wherever it grows.
    Crop(CropId),
    /// A bed, whatever grows in it, on top of the crops' own factors.
    Bed(BedId),
    /// The kitchen and all that is made in it.
    Kitchen,
}

/// Numbers that can be learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Factor on the published yield.
    YieldFactor,
    /// Days to maturity from sowing.
    DaysSown,
    /// Days to maturity from setting out.
    DaysSetOut,
    /// Chance that a planting fails altogether.
    FailChance,
    /// Factor on the planned kitchen minutes.
    MinutesFactor,
}

impl Field {
    /// Returns the name of the number in tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::YieldFactor => "yield_factor",
            Self::DaysSown => "days_sown",
            Self::DaysSetOut => "days_set_out",
            Self::FailChance => "fail_chance",
            Self::MinutesFactor => "minutes_factor",
        }
    }
    /// Returns the step to which the number is written; finer is not known.
    #[must_use]
    pub const fn step(self) -> f64 {
        match self {
            Self::YieldFactor | Self::MinutesFactor => 0.01,
            Self::DaysSown | Self::DaysSetOut => 0.5,
            Self::FailChance => 0.005,
        }
    }
}

/// A proposed number.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What it belongs to.
    pub subject: Subject,
    /// The number.
    pub field: Field,
    /// The built-in number from which it was worked out.
    pub built_in: f64,
    /// The number in force.
    pub before: f64,
    /// The number proposed.
    pub after: f64,
    /// What the seasons alone would say, without holding back.
    pub seen: f64,
    /// Weight of the seasons against the built-in number, 0–1.
    pub weight: f64,
    /// The seasons it rests on, oldest first.
    pub seasons: Vec<i32>,
}

impl Proposal {
    /// Leaves the number in force as it is.
    #[must_use]
    pub fn standing(self) -> Self {
        Self {
            after: self.before,
            ..self
        }
    }
    /// Says whether the number in force would change by at least half a step.
    #[must_use]
    pub fn changes(&self) -> bool {
        (self.after - self.before).abs() > 0.5 * self.field.step()
    }
}

/// The numbers of one crop that can be learned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CropNumbers {
    /// Factor on the built-in yield.
    pub yield_factor: f64,
    /// Days to maturity from sowing.
    pub days_sown: Option<f64>,
    /// Days to maturity from setting out.
    pub days_set_out: Option<f64>,
    /// Chance that a planting fails altogether.
    pub fail_chance: f64,
}

impl CropNumbers {
    /// Reads the numbers of a crop in force; the yield factor is taken from the middle of the row yields.
    #[must_use]
    pub fn of(crop: &Crop, built_in: &Crop) -> Self {
        let middle = |c: &Crop| c.yields.row_low.kg_per_m() + c.yields.row_high.kg_per_m();
        let all = middle(built_in);
        Self {
            yield_factor: if all > 0.0 { middle(crop) / all } else { 1.0 },
            days_sown: crop.timing.days_sown,
            days_set_out: crop.timing.days_set_out,
            fail_chance: crop.yields.fail_chance,
        }
    }
}

/// The numbers against which proposals are made.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Numbers {
    /// Built-in numbers of the crops.
    pub built_in: BTreeMap<CropId, CropNumbers>,
    /// Numbers of the crops in force.
    pub in_force: BTreeMap<CropId, CropNumbers>,
    /// Factors of single beds in force; 1 where none.
    pub beds: BTreeMap<BedId, f64>,
    /// Beds whose factor the household gave itself, so that the evidence counts on top of it.
    pub beds_by_hand: BTreeSet<BedId>,
    /// Factor on kitchen minutes in force; 1 where none.
    pub minutes: Option<f64>,
}

/// Fewest seasons from which a bed gets a factor of its own (judgement).
pub const LEAST_SEASONS_OF_BED: usize = 3;

/// One season's logarithm with its weight before forgetting.
#[derive(Debug, Clone, Copy)]
struct Seen {
    season: i32,
    log: f64,
    weight: f64,
}

/// Works out every number on which the record has something to say, in the order of crops, beds, the kitchen.
///
/// `this_season` is the newest season: its evidence has age zero.
#[must_use]
pub fn learn(evidence: &Evidence, numbers: &Numbers, this_season: i32) -> Vec<Proposal> {
    let mut proposals = Vec::new();
    let yields = grouped(evidence.yields.iter().filter(|e| e.bed.is_none()), |e| {
        (e.crop, e.season, e.log_ratio, e.weight)
    });
    let logs: Vec<Vec<f64>> = yields
        .values()
        .map(|seen| seen.iter().map(|s| s.log).collect())
        .collect();
    let (spread, _) = spread_of_garden(&logs, Spread::YIELD);
    let mut crop_logs = BTreeMap::new();
    for (&crop, seen) in &yields {
        if let Some((belief, mean)) = believe(seen, spread, this_season) {
            crop_logs.insert(crop, belief.log_mean);
            let before = numbers.in_force.get(&crop).map_or(1.0, |n| n.yield_factor);
            proposals.push(factor(
                Subject::Crop(crop),
                Field::YieldFactor,
                (1.0, before),
                (belief, mean),
                seen,
            ));
        }
    }
    let days = grouped(evidence.days.iter(), |e| {
        (e.crop, e.season, e.log_ratio, e.weight)
    });
    for (&crop, seen) in &days {
        let Some(built_in) = numbers.built_in.get(&crop) else {
            continue;
        };
        let in_force = numbers.in_force.get(&crop).unwrap_or(built_in);
        let both = [
            (Field::DaysSown, built_in.days_sown, in_force.days_sown),
            (
                Field::DaysSetOut,
                built_in.days_set_out,
                in_force.days_set_out,
            ),
        ];
        for (field, from, before) in both {
            if let (Some(from), Some(believed)) = (from, believe(seen, Spread::DAYS, this_season)) {
                let before = before.unwrap_or(from);
                proposals.push(factor(
                    Subject::Crop(crop),
                    field,
                    (from, before),
                    believed,
                    seen,
                ));
            }
        }
    }
    proposals.extend(failures(evidence, numbers, this_season));
    proposals.extend(beds(evidence, numbers, &crop_logs, this_season));
    let minutes = grouped(
        evidence
            .minutes
            .iter()
            .filter(|e| e.planned_min > 0.0 && e.took_min > 0.0),
        |e| {
            let log = libm::log(e.took_min / e.planned_min);
            (Subject::Kitchen, e.season, log, 1.0)
        },
    );
    for (&kitchen, seen) in &minutes {
        if let Some(believed) = believe(seen, Spread::MINUTES, this_season) {
            let before = numbers.minutes.unwrap_or(1.0);
            proposals.push(factor(
                kitchen,
                Field::MinutesFactor,
                (1.0, before),
                believed,
                seen,
            ));
        }
    }
    proposals.sort_by_key(|p| (p.subject, p.field));
    proposals
}

/// Gathers evidence by what it is about.
fn grouped<'a, E: 'a, K: Ord>(
    evidence: impl Iterator<Item = &'a E>,
    read: impl Fn(&E) -> (K, i32, f64, f64),
) -> BTreeMap<K, Vec<Seen>> {
    let mut groups: BTreeMap<K, Vec<Seen>> = BTreeMap::new();
    for item in evidence {
        let (key, season, log, weight) = read(item);
        groups.entry(key).or_default().push(Seen {
            season,
            log,
            weight,
        });
    }
    groups
}

/// Returns the age of a season in seasons.
fn age(season: i32, this_season: i32) -> u32 {
    u32::try_from(this_season - season).unwrap_or(0)
}

/// Returns what is believed after the seasons seen, and their own mean logarithm.
fn believe(seen: &[Seen], spread: Spread, this_season: i32) -> Option<(Belief, f64)> {
    let pairs: Vec<(f64, f64)> = seen
        .iter()
        .map(|s| {
            let kept = forgetting_weight(KEPT_PER_SEASON, age(s.season, this_season));
            (s.log, kept * s.weight)
        })
        .collect();
    let sum = weighted(&pairs)?;
    Some((belief(sum.seasons, sum.mean, spread), sum.mean))
}

/// Makes a proposal out of a factor.
fn factor(
    subject: Subject,
    field: Field,
    (built_in, before): (f64, f64),
    (belief, mean): (Belief, f64),
    seen: &[Seen],
) -> Proposal {
    Proposal {
        subject,
        field,
        built_in,
        before,
        after: rounded(built_in * belief.factor(), field),
        seen: built_in * libm::exp(mean),
        weight: belief.weight,
        seasons: seasons(seen.iter().map(|s| s.season)),
    }
}

/// Rounds a number to the step to which it is written.
fn rounded(value: f64, field: Field) -> f64 {
    // Dividing by a whole number keeps short decimals short.
    let steps_per_unit = (1.0 / field.step()).round();
    (value * steps_per_unit).round() / steps_per_unit
}

/// Lists seasons once each, oldest first.
fn seasons(all: impl Iterator<Item = i32>) -> Vec<i32> {
    all.collect::<BTreeSet<i32>>().into_iter().collect()
}

/// Proposes chances of failing.
fn failures(evidence: &Evidence, numbers: &Numbers, this_season: i32) -> Vec<Proposal> {
    let groups = grouped(evidence.failures.iter(), |e| {
        (e.crop, e.season, f64::from(u8::from(e.failed)), 1.0)
    });
    groups
        .iter()
        .filter_map(|(&crop, seen)| {
            let built_in = numbers.built_in.get(&crop)?.fail_chance;
            let before = numbers
                .in_force
                .get(&crop)
                .map_or(built_in, |n| n.fail_chance);
            let weight = |s: &Seen| forgetting_weight(KEPT_PER_SEASON, age(s.season, this_season));
            let tried: f64 = seen.iter().map(weight).sum();
            let failed: f64 = seen.iter().map(|s| weight(s) * s.log).sum();
            let belief =
                FailureBelief::from_built_in(built_in, PLANTINGS_OF_BUILT_IN).after(failed, tried);
            Some(Proposal {
                subject: Subject::Crop(crop),
                field: Field::FailChance,
                built_in,
                before,
                after: rounded(belief.chance(), Field::FailChance),
                seen: failed / tried,
                weight: tried / (tried + PLANTINGS_OF_BUILT_IN),
                seasons: seasons(seen.iter().map(|s| s.season)),
            })
        })
        .collect()
}

/// Proposes factors of single beds on top of the factors of the crops that grew there.
///
/// Heard are crops known in two beds or more: where a crop grows nowhere else, its own factor has said all already. What a
/// season says of a bed is the mean of its crops there, which counts as one season however many they were: they had
/// the same weather and the same log.
fn beds(
    evidence: &Evidence,
    numbers: &Numbers,
    crop_logs: &BTreeMap<CropId, f64>,
    this_season: i32,
) -> Vec<Proposal> {
    let mut grown: BTreeMap<CropId, BTreeSet<BedId>> = BTreeMap::new();
    for (crop, bed) in evidence
        .yields
        .iter()
        .filter_map(|e| Some((e.crop, e.bed?)))
    {
        grown.entry(crop).or_default().insert(bed);
    }
    let mut heard: BTreeMap<BedId, BTreeMap<i32, Vec<(f64, f64)>>> = BTreeMap::new();
    let in_several = |e: &&YieldEvidence| grown.get(&e.crop).is_some_and(|beds| beds.len() > 1);
    for e in evidence.yields.iter().filter(in_several) {
        if let (Some(bed), Some(centre)) = (e.bed, crop_logs.get(&e.crop)) {
            let seasons = heard.entry(bed).or_default();
            let crops = seasons.entry(e.season).or_default();
            crops.push((e.log_ratio - centre, e.weight));
        }
    }
    heard
        .into_iter()
        .filter(|(_, seasons)| seasons.len() >= LEAST_SEASONS_OF_BED)
        .filter_map(|(bed, seasons)| {
            let seen: Vec<Seen> = seasons
                .into_iter()
                .filter_map(|(season, crops)| {
                    let sum = weighted(&crops)?;
                    Some(Seen {
                        season,
                        log: sum.mean,
                        weight: sum.seasons / crops.len() as f64,
                    })
                })
                .collect();
            let believed = believe(&seen, Spread::BED, this_season)?;
            let before = numbers.beds.get(&bed).copied().unwrap_or(1.0);
            let by_hand = numbers.beds_by_hand.contains(&bed);
            Some(factor(
                Subject::Bed(bed),
                Field::YieldFactor,
                (if by_hand { before } else { 1.0 }, before),
                believed,
                &seen,
            ))
        })
        .collect()
}

#[cfg(test)]
#[path = "learn_tests.rs"]
mod tests;
