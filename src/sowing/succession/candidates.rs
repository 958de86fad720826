//! The sowings that could be made: which crop, in which kind of bed, on which day, sown or set out.
//!
//! Only on the household's sowing days, every three or four days; no seed into soil in which it comes up badly; a plant
//! that is set out was sown in a tray on a sowing day too. Whether it pays is found elsewhere.

use crate::garden::Garden;
use crate::garden::bed::{Bed, BedId, Protection};
use crate::garden::crop::{Crop, CropId, Pattern};
use crate::garden::household::Food;
use crate::garden::planting::{Planting, Size};
use crate::garden::units::Length;
use crate::garden::week::{DateRange, Week};
use crate::kitchen::needs::{effective, serves};
use crate::season::climate::Climate;
use crate::sowing::soil::{Fit, Soil, WARMER_K};
use chrono::{Datelike, Days, NaiveDate};

/// Days between two candidates, at least.
const STEP_DAYS: i64 = 3;
/// Harvest periods from here on make a long cropper, days (common practice, no source).
const LONG_DAYS: f64 = 60.0;
/// Most sowings of a long cropper (common practice, no source).
pub(crate) const LONG_SOWINGS: usize = 2;
/// Days before the first sowing within which an earlier one of a long cropper counts.
const SAME_SEASON_DAYS: u64 = 183;

/// A kind of bed: what a sowing meets there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Kind {
    /// Its cover.
    pub(crate) protection: Protection,
    /// When the cover is on.
    pub(crate) protected: DateRange,
    /// A bed of the kind.
    pub(crate) like: BedId,
}

/// A sowing that could be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Candidate {
    /// The crop.
    pub(crate) crop: CropId,
    /// Number of the kind of bed.
    pub(crate) kind: usize,
    /// Day of sowing, in the bed or in a tray.
    pub(crate) sown: NaiveDate,
    /// Day of setting out, if it is raised in a tray.
    pub(crate) set_out: Option<NaiveDate>,
}

impl Candidate {
    /// Returns the first day in the bed.
    pub(crate) fn start(&self) -> NaiveDate {
        self.set_out.unwrap_or(self.sown)
    }
    /// Returns the same candidate some days later, or earlier if negative.
    pub(crate) fn moved(&self, days: i64) -> Self {
        let by = chrono::Duration::days(days);
        Self {
            sown: self.sown + by,
            set_out: self.set_out.map(|d| d + by),
            ..*self
        }
    }
    /// Makes a planting of it.
    pub(crate) fn planting(&self, name: String, bed: BedId, row: Length) -> Planting {
        Planting {
            name,
            bed,
            crop: self.crop,
            variety: None,
            sown: Some(self.sown),
            set_out: self.set_out,
            size: Size::Row(row),
            days_to_maturity: None,
            yield_factor: 1.0,
            cleared: None,
        }
    }
}

/// Returns the kinds of beds there are, and the kind of each bed.
pub(crate) fn kinds(garden: &Garden) -> (Vec<Kind>, Vec<usize>) {
    let mut kinds: Vec<Kind> = Vec::new();
    let of = garden
        .beds
        .iter()
        .enumerate()
        .map(|(b, bed)| {
            let covered = covers(bed);
            let same = |k: &Kind| {
                k.protection == bed.protection && (!covered || k.protected == bed.protected)
            };
            kinds.iter().position(same).unwrap_or_else(|| {
                kinds.push(Kind {
                    protection: bed.protection,
                    protected: bed.protected,
                    like: BedId(b),
                });
                kinds.len() - 1
            })
        })
        .collect();
    (kinds, of)
}

fn covers(bed: &Bed) -> bool {
    bed.protection != Protection::None
}

/// Returns the days on which the household could sow, three or four days apart.
pub(crate) fn days(garden: &Garden, from: NaiveDate, until: NaiveDate) -> Vec<NaiveDate> {
    let mut days: Vec<NaiveDate> = Vec::new();
    for day in from.iter_days().take_while(|d| *d <= until) {
        let apart = |last: &NaiveDate| (day - *last).num_days() >= STEP_DAYS;
        if sows_on(garden, day) && days.last().is_none_or(apart) {
            days.push(day);
        }
    }
    days
}

/// Says whether the household sows on a day: one of its weekdays, and at home.
pub(crate) fn sows_on(garden: &Garden, day: NaiveDate) -> bool {
    let household = &garden.household;
    let weekday = household.sow_days.is_empty() || household.sow_days.contains(&day.weekday());
    weekday && !household.away.iter().any(|a| a.days.contains(day))
}

/// Returns the crops worth thinking of: what the household grows, or, for a need nothing it grows serves, all that would.
pub(crate) fn crops(garden: &Garden, only: &[CropId]) -> Vec<CropId> {
    if !only.is_empty() {
        return only.to_vec();
    }
    let grown = |c: CropId| garden.plantings.iter().any(|p| p.crop == c);
    let all = (0..garden.crops.len()).map(CropId);
    let mut found: Vec<CropId> = all.clone().filter(|c| grown(*c)).collect();
    for need in effective(garden) {
        let serve = |c: &CropId| serves(garden, *c, need.food);
        if !found.iter().any(serve) {
            found.extend(all.clone().filter(|c| {
                serve(c) && (matches!(need.food, Food::Crop(_)) || yields(garden.crop(*c)))
            }));
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn yields(crop: &Crop) -> bool {
    crop.yields.row_high.kg_per_m() > 0.0
}

/// Says whether a crop is picked for so long that two sowings do.
pub(crate) fn is_long(crop: &Crop) -> bool {
    crop.harvest.harvest_days >= LONG_DAYS && !matches!(crop.harvest.pattern, Pattern::Root)
}

/// Returns how many more sowings of a crop there may be.
pub(crate) fn sowings_left(garden: &Garden, crop: CropId, from: NaiveDate) -> usize {
    if !is_long(garden.crop(crop)) {
        return usize::MAX;
    }
    let since = from - Days::new(SAME_SEASON_DAYS);
    let there = |p: &&Planting| p.crop == crop && p.start() >= since;
    LONG_SOWINGS.saturating_sub(garden.plantings.iter().filter(there).count())
}

/// Returns every sowing that could be made.
pub(crate) fn all(
    garden: &Garden,
    climate: &Climate,
    crops: &[CropId],
    kinds: &[Kind],
    days: &[NaiveDate],
) -> Vec<Candidate> {
    let mut all = Vec::new();
    for &crop in crops {
        if !yields(garden.crop(crop)) {
            continue;
        }
        for (kind, like) in kinds.iter().enumerate() {
            let soil = Soil::new(climate, garden.bed(like.like), WARMER_K);
            for &day in days {
                if garden.crop(crop).timing.days_sown.is_some()
                    && soil.fit(garden.crop(crop), day) == Fit::Right
                {
                    all.push(Candidate {
                        crop,
                        kind,
                        sown: day,
                        set_out: None,
                    });
                }
                if let Some(sown) = tray(garden, crop, day).filter(|sown| *sown >= days[0]) {
                    all.push(Candidate {
                        crop,
                        kind,
                        sown,
                        set_out: Some(day),
                    });
                }
            }
        }
    }
    all
}

/// Returns the sowing day for a tray that is set out on a day, for crops that the household raises or that must be raised.
fn tray(garden: &Garden, id: CropId, set_out: NaiveDate) -> Option<NaiveDate> {
    let crop = garden.crop(id);
    let raise = crop.timing.raise_days?;
    crop.timing.days_set_out?;
    let raises = |p: &Planting| p.crop == id && p.set_out.is_some();
    if crop.timing.days_sown.is_some() && !garden.plantings.iter().any(raises) {
        return None;
    }
    let about = set_out - Days::new(raise.max(0.0) as u64);
    // The sowing day nearest before the day that the table gives, within a week.
    (0..7)
        .map(|back| about - Days::new(back))
        .find(|day| sows_on(garden, *day))
}

/// Returns the next midwinter that is not too near: sowings are planned up to there.
pub(crate) fn midwinter(garden: &Garden, from: NaiveDate) -> NaiveDate {
    /// Weeks that a plan reaches ahead at least.
    const LEAST_WEEKS: i64 = 8;
    let (month, day) = if garden.site.is_southern() {
        (6, 21)
    } else {
        (12, 21)
    };
    let this = NaiveDate::from_ymd_opt(from.year(), month, day).unwrap_or(from);
    let next = NaiveDate::from_ymd_opt(from.year() + 1, month, day).unwrap_or(from);
    if Week::of(this).since(Week::of(from)) >= LEAST_WEEKS {
        this
    } else {
        next
    }
}
