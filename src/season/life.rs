//! The life of one planting in one draw: when it is ready, how much, and what ends it.
//!
//! Says what is ready; when a crop that stands is really picked is the kitchen's business. Every kilogram that a planting
//! could have given is accounted for as ready or as lost to one cause.
//!
//! How the harvest falls into pickings is in `picking`; what ends a planting from outside in `ends`.

use super::curve::HarvestCurve;
use super::draw::{EndCause, ReadyKind};
use super::ends::{BoltNeed, Cold, Cover, bolts, first_cold};
use super::growth::{reach, reach_growing};
use super::picking::Course;
use super::yields::LogSpread;
use crate::garden::crop::Pattern;

/// One planting made ready for the ensemble.
#[derive(Debug, Clone)]
pub(crate) struct Life {
    /// First day in its bed.
    pub(crate) start: u16,
    /// First day beyond which it is not followed.
    pub(crate) limit: u16,
    /// First day on which its ground is bare, if planned.
    pub(crate) cleared: Option<u16>,
    /// Day on which it was ended, if that has happened.
    pub(crate) ended: Option<u16>,
    /// Index of its sum of growing days.
    pub(crate) growth: usize,
    /// Index of the sum for coming up and how much it needs; none when it is set out.
    pub(crate) up: Option<(usize, u32)>,
    /// Day on which it was seen to be up, if it was.
    pub(crate) up_on: Option<u16>,
    /// Days to maturity.
    pub(crate) days: f64,
    /// Coefficient of variation of the days to maturity.
    pub(crate) days_cv: f64,
    /// Covers over its life.
    pub(crate) covers: Vec<Cover>,
    /// What makes it bolt.
    pub(crate) bolt: Option<BoltNeed>,
    /// Chance that pests end it.
    pub(crate) pest_chance: f64,
    /// First day on which they may.
    pub(crate) pest_from: u16,
    /// Days over which they may.
    pub(crate) pest_span: f64,
    /// Kind of picking.
    pub(crate) pattern: Pattern,
    /// How its harvest is spread.
    pub(crate) curve: HarvestCurve,
    /// Share of the harvest period in one step of the sum of growing days.
    pub(crate) period_per_step: f64,
    /// Days between pickings.
    pub(crate) pick_every: u16,
    /// Days it stands when ready.
    pub(crate) holds: u16,
    /// Index of its days of standstill, if it can be used before it is full grown.
    pub(crate) standstill: Option<usize>,
    /// Share of the next fortnight's harvest stripped on the eve of killing cold.
    pub(crate) strip_share: f64,
    /// Expected yield, kg.
    pub(crate) expected_kg: f64,
    /// Spread of the yield.
    pub(crate) spread: LogSpread,
    /// Chance that it fails from the beginning.
    pub(crate) fail_chance: f64,
    /// Second food.
    pub(crate) second: Option<Second>,
    /// Days before an absence, on which there is an extra picking.
    pub(crate) eves: Vec<u16>,
}

/// The second food of a planting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Second {
    /// Its amount for each kilogram of the main crop.
    pub(crate) share: f64,
    /// Share of development from which it is taken.
    pub(crate) from: f64,
    /// Days between its pickings.
    pub(crate) pick_every: u16,
    /// Growing days by which taking it delays the main crop.
    pub(crate) delay_days: f64,
}

/// A planting's own luck in one draw.
#[derive(Debug, Clone, Copy)]
pub(crate) struct OwnLuck {
    /// Normal number of the days to maturity.
    pub(crate) days_z: f64,
    /// Normal number of the yield.
    pub(crate) yield_z: f64,
    /// Fails if below the chance of failing.
    pub(crate) fails: f64,
    /// Ends early if below the chance of that.
    pub(crate) pest: f64,
    /// When it ends early, 0 to 1.
    pub(crate) pest_when: f64,
}

/// Weather of one draw as plantings look it up.
pub(crate) struct Sky<'a> {
    /// Running sums.
    pub(crate) sums: &'a [Vec<u32>],
    /// Daily minimum, °C.
    pub(crate) min_c: &'a [f32],
    /// Cold days.
    pub(crate) cold: &'a Cold,
}

/// An amount ready.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lot {
    /// Day.
    pub(crate) day: u16,
    /// Whether of the second food.
    pub(crate) second: bool,
    /// Why.
    pub(crate) kind: ReadyKind,
    /// Amount, kg.
    pub(crate) kg: f64,
}

/// What one life came to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sheet {
    /// Amounts ready, each food in order of days.
    pub(crate) lots: Vec<Lot>,
    /// Days on which what stands is spoiled.
    pub(crate) spoiled: Vec<u16>,
    /// First day of an amount ready.
    pub(crate) first: Option<u16>,
    /// Last day on which there is anything to pick.
    pub(crate) last: Option<u16>,
    /// First day on which nothing can be picked any more.
    pub(crate) end: u16,
    /// What ended it.
    pub(crate) cause: Option<EndCause>,
    /// All it could have given, kg.
    pub(crate) possible_kg: f64,
    /// Ready of the main food, kg.
    pub(crate) ready_kg: f64,
    /// Lost to the cause, kg.
    pub(crate) lost_kg: f64,
    /// Ready of the second food, kg.
    pub(crate) second_kg: f64,
    /// Stripped on the eve of cold, kg.
    pub(crate) strip_kg: f64,
}

impl Sheet {
    /// Empties the sheet, keeping its memory.
    fn clear(&mut self) {
        self.lots.clear();
        self.spoiled.clear();
        let (lots, spoiled) = (
            std::mem::take(&mut self.lots),
            std::mem::take(&mut self.spoiled),
        );
        *self = Self {
            lots,
            spoiled,
            ..Self::default()
        };
    }

    /// Enters an amount of the main food.
    pub(crate) fn enter(&mut self, day: usize, kind: ReadyKind, kg: f64) {
        if kg > 0.0 {
            let day = short(day);
            self.lots.push(Lot {
                day,
                second: false,
                kind,
                kg,
            });
            self.ready_kg += kg;
            if kind == ReadyKind::Strip {
                self.strip_kg += kg;
            }
            // Amounts come in the order of days.
            self.first = self.first.or(Some(day));
            self.last = Some(day);
        }
    }

    /// Enters an amount of the second food.
    pub(crate) fn enter_second(&mut self, day: usize, kind: ReadyKind, kg: f64) {
        if kg > 0.0 {
            self.lots.push(Lot {
                day: short(day),
                second: true,
                kind,
                kg,
            });
            self.second_kg += kg;
        }
    }

    /// Closes the books: what did not become ready is lost to the cause.
    fn close(&mut self, end: usize, cause: EndCause) {
        self.end = short(end);
        self.cause = Some(cause);
        self.lost_kg = (self.possible_kg - self.ready_kg).max(0.0);
        debug_assert!(
            (self.possible_kg - self.ready_kg - self.lost_kg).abs() <= 1e-9 * self.possible_kg,
            "more became ready than there was"
        );
    }
}

/// Brings a day of the horizon to its stored size.
pub(crate) fn short(day: usize) -> u16 {
    u16::try_from(day).unwrap_or(u16::MAX)
}

/// Lives through one draw and writes what came of it.
pub(crate) fn live(life: &Life, sky: &Sky, luck: &OwnLuck, shared_z: f64, sheet: &mut Sheet) {
    sheet.clear();
    sheet.possible_kg = life.expected_kg * life.spread.factor(shared_z, luck.yield_z);
    let start = usize::from(life.start);
    let limit = usize::from(life.limit);
    if start >= limit {
        sheet.close(start, EndCause::Horizon);
        return;
    }
    if life.up_on.is_none() && luck.fails < life.fail_chance {
        sheet.close(start, EndCause::Failed);
        return;
    }
    let delay = life.second.map_or(0.0, |s| s.delay_days);
    let maturity =
        super::ends::steps(life.days * (1.0 + life.days_cv * luck.days_z).max(0.5) + delay).max(1);
    let growth = &sky.sums[life.growth];
    let course = Course {
        life,
        growth,
        standstills: life.standstill.map(|index| sky.sums[index].as_slice()),
        start,
        maturity,
        mature: reach_growing(growth, start, maturity, limit),
    };
    let (end, cause) = end_of(&course, sky, luck, limit);
    let (end, cause) = match life.pattern {
        Pattern::Once | Pattern::Root => course.stand(end, cause, sheet),
        Pattern::Leaf | Pattern::Fruit => course.pick(end, cause, sheet),
    };
    if let Some(second) = &life.second {
        course.pick_second(second, end, cause, sheet);
    }
    spoil(life, sky, end, sheet);
    sheet.close(end, cause);
}

/// First end that comes from outside, and its cause.
fn end_of(course: &Course, sky: &Sky, luck: &OwnLuck, limit: usize) -> (usize, EndCause) {
    let life = course.life;
    let mut end = (limit, EndCause::Horizon);
    let mut sooner = |day: Option<usize>, cause| {
        if let Some(day) = day
            && (day < end.0 || (day == end.0 && end.1 == EndCause::Horizon))
        {
            end = (day.max(course.start), cause);
        }
    };
    sooner(killed(course, sky, limit), EndCause::Cold);
    sooner(
        life.bolt.as_ref().and_then(|need| {
            bolts(
                need,
                sky.sums,
                course.growth,
                course.start,
                course.maturity,
                limit,
            )
        }),
        EndCause::Heat,
    );
    if luck.pest < life.pest_chance {
        let day = usize::from(life.pest_from) + (luck.pest_when * life.pest_span) as usize;
        // Pests that would have come already have not.
        sooner(
            (day >= sky.cold.past_min_c.len()).then_some(day),
            EndCause::Pest,
        );
    }
    sooner(life.ended.map(usize::from), EndCause::Pest);
    sooner(life.cleared.map(usize::from), EndCause::Clearing);
    end
}

/// First day of killing cold once it is up.
fn killed(course: &Course, sky: &Sky, limit: usize) -> Option<usize> {
    let life = course.life;
    let since = |day: usize| first_cold(&life.covers, |c| c.kills, sky.cold, sky.min_c, day, limit);
    match (life.up_on, life.up) {
        (Some(day), _) => since(usize::from(day)),
        (None, None) => since(course.start),
        (None, Some((sum, need))) => {
            // Most often there is no cold after sowing, or it is long up when cold comes.
            let day = since(course.start)?;
            let up = &sky.sums[sum];
            if up[day] - up[course.start] >= need {
                Some(day)
            } else {
                since(reach(up, course.start, need, limit)?)
            }
        }
    }
}

/// Notes the days on which what has become ready and may still stand is spoiled by cold.
fn spoil(life: &Life, sky: &Sky, end: usize, sheet: &mut Sheet) {
    if life.covers.iter().all(|c| c.spoils.is_none()) {
        return;
    }
    let mut from = match sheet.lots.iter().find(|lot| !lot.second) {
        Some(lot) => usize::from(lot.day),
        None => return,
    };
    while let Some(day) = first_cold(&life.covers, |c| c.spoils, sky.cold, sky.min_c, from, end) {
        sheet.spoiled.push(short(day));
        let Some(lot) = sheet
            .lots
            .iter()
            .find(|lot| !lot.second && usize::from(lot.day) > day)
        else {
            return;
        };
        from = usize::from(lot.day);
    }
}
