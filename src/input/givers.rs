//! Which planting a picking came from, by its crop, its bed and its day.
//!
//! Knows the plantings as far as a picking needs them and tells nothing: what cannot be is the reader's to say.

use super::record::Context;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::week::Week;
use chrono::{NaiveDate, TimeDelta};

/// The plantings that give each crop, as their crop or as their second food.
#[derive(Debug, Default)]
pub(crate) struct Givers {
    /// For each crop those anywhere, then those of each bed that has any, in the order of the beds.
    of_crop: Vec<(There, Vec<(BedId, There)>)>,
}

/// One planting as far as pickings ask for it.
#[derive(Debug, Clone, Copy)]
struct Giver {
    id: PlantingId,
    start: NaiveDate,
    cleared: Option<NaiveDate>,
}

/// The day of a picking, or the Monday of its week.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Day {
    /// The day.
    pub(crate) date: NaiveDate,
    /// Whether it stands for its whole week.
    pub(crate) whole_week: bool,
}

impl Day {
    /// Says whether all of it lies before a start.
    pub(crate) fn is_before(self, start: NaiveDate) -> bool {
        let last = if self.whole_week {
            Week::of(self.date).sunday()
        } else {
            self.date
        };
        last < start
    }
}

/// The day on which the first planting that could be meant was put into the ground: after the picking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TooEarly(pub(crate) NaiveDate);

/// Time before a sowing within which a picking is taken for a slip of the pen, not for an earlier season's (judgement).
const SLIP: TimeDelta = TimeDelta::days(60);

impl Givers {
    /// Lists the plantings of a garden.
    pub(crate) fn of(context: Context<'_>) -> Self {
        let mut givers = Self::default();
        let Some(planted) = context.plantings else {
            return givers;
        };
        let mut gives = |crop: CropId, bed: BedId, giver: Giver| {
            let all = &mut givers.of_crop;
            all.resize_with(all.len().max(crop.0 + 1), Default::default);
            let (anywhere, beds) = &mut all[crop.0];
            anywhere.add(giver, planted.complete);
            let place = beds.binary_search_by_key(&bed.0, |(bed, _)| bed.0);
            let place = place.unwrap_or_else(|place| {
                beds.insert(place, (bed, There::default()));
                place
            });
            beds[place].1.add(giver, planted.complete);
        };
        for (i, p) in planted.plantings.iter().enumerate() {
            let giver = Giver {
                id: PlantingId(i),
                start: p.start(),
                cleared: p.cleared,
            };
            gives(p.crop, p.bed, giver);
            if let Some(second) = context.crops.get(p.crop.0).and_then(|c| c.second.as_ref()) {
                gives(second.crop, p.bed, giver);
            }
        }
        givers
    }

    /// Returns the plantings that give a crop, those of one bed if it is known.
    pub(crate) fn there(&self, crop: CropId, bed: Option<BedId>) -> &There {
        static NOWHERE: There = There {
            givers: Vec::new(),
            first: None,
        };
        let Some((anywhere, beds)) = self.of_crop.get(crop.0) else {
            return &NOWHERE;
        };
        let Some(bed) = bed else {
            return anywhere;
        };
        let place = beds.binary_search_by_key(&bed.0, |(bed, _)| bed.0);
        place.map_or(&NOWHERE, |place| &beds[place].1)
    }

    /// Says whether a planting gives a crop.
    pub(crate) fn gives(&self, planting: PlantingId, crop: CropId) -> bool {
        let all = self.there(crop, None).givers.iter();
        all.map(|giver| giver.id).any(|id| id == planting)
    }
}

/// The plantings that give a crop in one bed, or anywhere.
#[derive(Debug, Default)]
pub(crate) struct There {
    givers: Vec<Giver>,
    /// The first day on which one of them was in the ground, and the day from which on an earlier picking is a slip; none is
    /// while plantings are unread that may have been there.
    first: Option<(NaiveDate, NaiveDate)>,
}

impl There {
    fn add(&mut self, giver: Giver, complete: bool) {
        let start = giver.start;
        if self.first.is_none_or(|(first, _)| start < first) {
            self.first = Some((start, if complete { start - SLIP } else { start }));
        }
        self.givers.push(giver);
    }

    /// Says whether no planting in the file gives the crop there.
    pub(crate) fn is_strange(&self) -> bool {
        self.givers.is_empty()
    }

    /// Finds the one planting that can be meant; none if several can, or those of an earlier season.
    ///
    /// # Errors
    /// Nothing that gives the crop there was in the ground so early.
    pub(crate) fn likely(&self, day: Day) -> Result<Option<PlantingId>, TooEarly> {
        let Some((first, slip)) = self.first else {
            return Ok(None);
        };
        if day.is_before(first) {
            // A picking long before the first sowing belongs to an earlier season, whose plantings need not be listed any more.
            return if slip <= day.date {
                Err(TooEarly(first))
            } else {
                Ok(None)
            };
        }
        let mut grown = self
            .givers
            .iter()
            .filter(|g| !day.is_before(g.start) && g.cleared.is_none_or(|c| day.date <= c));
        let found = grown.next();
        Ok(found.filter(|_| grown.next().is_none()).map(|g| g.id))
    }
}
