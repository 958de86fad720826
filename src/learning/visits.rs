//! On which days each bed and each crop was picked, and where a planting stood on a day.
//!
//! A gap in the log is nothing picked only if somebody was at the bed and would have written it down.

use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::record::{Happening, Picked};
use crate::garden::week::Week;
use chrono::{Days, NaiveDate};
use std::collections::BTreeSet;

/// Days after a week within which a picking of the bed shows that nothing was missed.
const DAYS_AFTER: u64 = 7;

/// Where and when the household picked, up to a day.
pub(super) struct Visits {
    beds: Vec<BTreeSet<NaiveDate>>,
    crops: Vec<BTreeSet<NaiveDate>>,
    /// Plantings that give each crop, as main or second food.
    giving: Vec<Vec<PlantingId>>,
    /// Day on which each planting was ended, if it was.
    ended: Vec<Option<NaiveDate>>,
}

impl Visits {
    /// Goes through rows of the record up to and including `until`.
    pub(super) fn new(garden: &Garden, rows: &[Picked], until: NaiveDate) -> Self {
        let mut visits = Self {
            beds: vec![BTreeSet::new(); garden.beds.len()],
            crops: vec![BTreeSet::new(); garden.crops.len()],
            giving: vec![Vec::new(); garden.crops.len()],
            ended: vec![None; garden.plantings.len()],
        };
        for (i, planting) in garden.plantings.iter().enumerate() {
            visits.giving[planting.crop.0].push(PlantingId(i));
            if let Some(second) = &garden.crop(planting.crop).second {
                visits.giving[second.crop.0].push(PlantingId(i));
            }
        }
        for event in &garden.record.events {
            if let Happening::Ended(id) = event.what
                && event.date <= until
            {
                let day = &mut visits.ended[id.0];
                *day = Some(day.map_or(event.date, |d| d.min(event.date)));
            }
        }
        for row in rows.iter().filter(|row| row.date <= until) {
            let bed = visits.bed_of(garden, row);
            let first = if row.whole_week {
                Week::of(row.date).monday()
            } else {
                row.date
            };
            let days = if row.whole_week { 7 } else { 1 };
            for day in first.iter_days().take(days) {
                visits.crops[row.crop.0].insert(day);
                if let Some(bed) = bed {
                    visits.beds[bed.0].insert(day);
                }
            }
        }
        visits
    }

    /// Returns the bed of a row: said, its planting's, or the only one in which the crop stands on that day.
    fn bed_of(&self, garden: &Garden, row: &Picked) -> Option<BedId> {
        if let Some(bed) = row.bed.or(row.planting.map(|id| garden.planting(id).bed)) {
            return Some(bed);
        }
        let mut beds = self
            .standing(garden, row.crop, row.date, row.date)
            .map(|id| garden.planting(id).bed);
        let first = beds.next()?;
        beds.all(|bed| bed == first).then_some(first)
    }

    /// Returns the plantings that give a crop.
    pub(super) fn giving(&self, crop: CropId) -> &[PlantingId] {
        &self.giving[crop.0]
    }

    /// Returns the first day on which a planting stands no more, if it was cleared or ended.
    pub(super) fn gone(&self, garden: &Garden, id: PlantingId) -> Option<NaiveDate> {
        let ended = self.ended[id.0].map(|day| day + Days::new(1));
        match (garden.planting(id).cleared, ended) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Says whether a planting was ended by an event.
    pub(super) fn was_ended(&self, id: PlantingId) -> bool {
        self.ended[id.0].is_some()
    }

    /// Returns the plantings giving a crop that stand on any day of a stretch, both ends included.
    pub(super) fn standing<'a>(
        &'a self,
        garden: &'a Garden,
        crop: CropId,
        from: NaiveDate,
        until: NaiveDate,
    ) -> impl Iterator<Item = PlantingId> + 'a {
        self.giving[crop.0].iter().copied().filter(move |&id| {
            garden.planting(id).start() <= until
                && self.gone(garden, id).is_none_or(|day| day > from)
        })
    }

    /// Says whether a bed was picked in a week or in the seven days after it.
    pub(super) fn bed_seen(&self, bed: BedId, week: Week) -> bool {
        seen(&self.beds[bed.0], week.monday(), week.sunday())
    }

    /// Says whether anything was picked in a week or in the seven days after it.
    pub(super) fn any_seen(&self, week: Week) -> bool {
        let beds = self.beds.iter().chain(&self.crops);
        beds.into_iter()
            .any(|days| seen(days, week.monday(), week.sunday()))
    }

    /// Says whether a crop was picked in a week or in the seven days after it.
    pub(super) fn crop_seen(&self, crop: CropId, week: Week) -> bool {
        seen(&self.crops[crop.0], week.monday(), week.sunday())
    }

    /// Says whether a bed was picked in the seven days before a day.
    pub(super) fn bed_seen_before(&self, bed: BedId, day: NaiveDate) -> bool {
        let from = day - Days::new(7);
        self.beds[bed.0].range(from..day).next().is_some()
    }
}

/// Says whether a set holds a day of a stretch or of the seven days after it.
fn seen(days: &BTreeSet<NaiveDate>, from: NaiveDate, until: NaiveDate) -> bool {
    days.range(from..=until + Days::new(DAYS_AFTER))
        .next()
        .is_some()
}
