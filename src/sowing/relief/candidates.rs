//! What is worth trying for the weeks that are too much: a list of changes, not yet tried.
//!
//! Which days, shares and shifts are tried is judgement, no source; whether they help is for the runs to say.

use super::change::Change;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::{Planting, PlantingId};
use crate::garden::preserving::{Product, ProductId, Store};
use crate::garden::safety::Verdict;
use crate::garden::units::Minutes;
use crate::garden::week::Week;
use crate::kitchen::context::HOLDS_OVER_DAYS;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::offered::verdict_of;
use chrono::{Datelike, Duration, NaiveDate, Weekday};

/// A week is looked at when it is too much in at least this share of seasons.
const AT_RISK: f64 = 0.2;
/// Most weeks looked at, the worst first.
const MOST_WEEKS: usize = 5;
/// A product is looked at when it takes at least this share of the hours of an overloaded week.
const DRIVES: f64 = 0.1;
/// Hours of one more session: on a day without the household's work, and on a weekday evening.
const FREE_DAY_H: f64 = 3.0;
const EVENING_H: f64 = 2.0;
/// Days by which sowings are tried later and earlier; brought to the nearest sowing day.
const SHIFTS: [i64; 6] = [-14, -10, -7, 7, 10, 14];
/// Shares of a sowing that are tried.
const SHARES: [f64; 2] = [0.5, 0.75];
/// Shares of a goal that are tried.
const GOAL_SHARES: [f64; 2] = [0.5, 0.75];
/// Days that ground is cleared later.
const STANDS_DAYS: i64 = 14;

/// Lists what is worth trying.
pub(super) fn candidates(
    garden: &Garden,
    as_of: NaiveDate,
    as_is: &KitchenForecast,
) -> Vec<Change> {
    let mut weeks: Vec<_> = (as_is.weeks.iter())
        .filter(|w| w.chance_over >= AT_RISK)
        .collect();
    weeks.sort_by(|a, b| {
        let worse = b.mean_hours_over.total_cmp(&a.mean_hours_over);
        worse.then(a.week.cmp(&b.week))
    });
    weeks.truncate(MOST_WEEKS);
    let drivers = |names: &[crate::kitchen::forecast::Driver]| -> Vec<ProductId> {
        let driving = names.iter().filter(|d| d.share >= DRIVES);
        driving
            .filter_map(|d| garden.products.iter().position(|p| p.name == d.name))
            .map(ProductId)
            .collect()
    };
    let mut driving: Vec<ProductId> = weeks.iter().flat_map(|w| drivers(&w.drivers)).collect();
    driving.sort_unstable();
    driving.dedup();
    let mut bad: Vec<Week> = weeks.iter().map(|w| w.week).collect();
    bad.sort_unstable();

    let mut all = Vec::new();
    for w in &weeks {
        sessions(garden, as_of, w.week, &mut all);
        for product in drivers(&w.drivers) {
            gifts(garden, as_of, product, w.week, w.week, &mut all);
        }
    }
    for (from, until) in bad.iter().map(|w| (*w, *w)).chain(runs(&bad)) {
        all.push(Change::Cook {
            from: from.monday().max(as_of),
            until: until.sunday(),
        });
        if from < until {
            for product in &driving {
                gifts(garden, as_of, *product, from, until, &mut all);
            }
        }
    }
    for product in &driving {
        other_products(garden, *product, &mut all);
        fewer(garden, *product, &mut all);
    }
    plantings(garden, as_of, &driving, &mut all);
    all.dedup();
    all
}

/// Runs of weeks that follow on one another, the whole stretch of all of them at the end.
fn runs(weeks: &[Week]) -> Vec<(Week, Week)> {
    let mut found: Vec<(Week, Week)> = weeks
        .chunk_by(|a, b| b.since(*a) == 1)
        .filter(|run| run.len() > 1)
        .map(|run| (run[0], run[run.len() - 1]))
        .collect();
    if let [first, .., last] = weeks {
        found.push((*first, *last));
    }
    found.dedup();
    found
}

/// One more session on each day of a week on which somebody is at home and the kitchen was not said to be closed.
fn sessions(garden: &Garden, as_of: NaiveDate, week: Week, all: &mut Vec<Change>) {
    let household = &garden.household;
    for date in week.monday().iter_days().take(7) {
        let away = household.away.iter().any(|a| a.days.contains(date));
        let closed = household.kitchen.closed.iter().any(|c| c.contains(date));
        if date < as_of || away || closed {
            continue;
        }
        let free = matches!(date.weekday(), Weekday::Sat | Weekday::Sun);
        let hours = if free { FREE_DAY_H } else { EVENING_H };
        all.push(Change::Session {
            date,
            time: Minutes::from_hours(hours),
        });
    }
}

/// The pickings of a product's crops in some weeks given away; what holds in the bed is left there anyway.
fn gifts(
    garden: &Garden,
    as_of: NaiveDate,
    product: ProductId,
    from: Week,
    until: Week,
    all: &mut Vec<Change>,
) {
    let parts = &garden.product(product).parts;
    if parts.len() > 1 && parts.iter().any(|part| part.least > 0.0) {
        return; // Giving away a part of a mixture is for its own product to propose.
    }
    let grown = |crop: CropId| garden.plantings.iter().any(|p| p.crop == crop);
    let crops: Vec<CropId> = (parts.iter())
        .map(|part| part.crop)
        .filter(|&c| grown(c) && garden.crop(c).harvest.holds_days <= HOLDS_OVER_DAYS)
        .collect();
    if !crops.is_empty() {
        all.push(Change::GiveAway {
            crops,
            from: from.monday().max(as_of),
            until: until.sunday(),
        });
    }
}

/// Other products of the same food: frozen whole to be finished later, or anything else that the matrix allows.
fn other_products(garden: &Garden, instead_of: ProductId, all: &mut Vec<Change>) {
    let old = garden.product(instead_of);
    if garden.method(old.method).store == Store::Fridge {
        return; // Made as it is eaten; nothing that lasts takes its place.
    }
    let goals: Vec<Option<usize>> = match &garden.household.goals {
        None => vec![None],
        Some(goals) => (0..goals.len())
            .filter(|&g| goals[g].products.first() == Some(&instead_of))
            .map(Some)
            .collect(),
    };
    for goal in goals {
        let wanted: Vec<ProductId> =
            match goal.and_then(|g| garden.household.goals.as_ref()?.get(g)) {
                Some(goal) => goal.products.clone(),
                None => vec![instead_of],
            };
        for (p, product) in garden.products.iter().enumerate() {
            let id = ProductId(p);
            if id == instead_of || !takes_the_same(product, old) || !may_stand_in(garden, product) {
                continue;
            }
            let finishes = product
                .finish_as
                .as_ref()
                .is_some_and(|finish| wanted.iter().any(|w| garden.product(*w).name == *finish));
            all.push(if finishes {
                Change::FreezeWhole {
                    goal,
                    product: id,
                    instead_of,
                }
            } else {
                Change::Quicker {
                    goal,
                    product: id,
                    instead_of,
                }
            });
        }
    }
}

/// Says whether a product can be made of the crops of another, whichever of them there are.
fn takes_the_same(product: &Product, old: &Product) -> bool {
    let takes = |crop: CropId| product.parts.iter().any(|part| part.crop == crop);
    let needs_more =
        |product: &Product| product.parts.len() > 1 && product.parts.iter().any(|p| p.least > 0.0);
    !needs_more(product) && !needs_more(old) && old.parts.iter().all(|part| takes(part.crop))
}

/// Says whether a product may stand in for one that lasts the winter.
fn may_stand_in(garden: &Garden, product: &Product) -> bool {
    let method = garden.method(product.method);
    let allowed = matches!(
        verdict_of(garden, product),
        Verdict::Tested | Verdict::Practice | Verdict::TestedRecipe
    );
    allowed
        && method.store != Store::Fridge
        && !(method.needs_altitude && garden.site.altitude.is_none())
}

fn fewer(garden: &Garden, product: ProductId, all: &mut Vec<Change>) {
    for (goal, wanted) in garden.household.goals.iter().flatten().enumerate() {
        if wanted.products.contains(&product) && wanted.containers.is_finite() {
            for share in GOAL_SHARES {
                let containers = (wanted.containers * share).round();
                if containers < wanted.containers {
                    all.push(Change::FewerWanted { goal, containers });
                }
            }
        }
    }
}

/// Plantings of the crops that fill the weeks: sown on another day or less of them, or left to stand longer.
fn plantings(garden: &Garden, as_of: NaiveDate, driving: &[ProductId], all: &mut Vec<Change>) {
    let fills = |crop: CropId| {
        let parts = driving.iter().flat_map(|p| &garden.product(*p).parts);
        parts.into_iter().any(|part| part.crop == crop)
    };
    for (p, planting) in garden.plantings.iter().enumerate() {
        let id = PlantingId(p);
        let second = garden.crop(planting.crop).second.as_ref();
        if !fills(planting.crop) && !second.is_some_and(|s| fills(s.crop)) {
            continue;
        }
        if planting.cleared.is_some_and(|day| day > as_of) {
            all.push(Change::LeaveStanding {
                planting: id,
                days: STANDS_DAYS,
            });
        }
        if !not_yet_sown(planting, as_of) {
            continue;
        }
        let mut days: Vec<i64> = SHIFTS
            .into_iter()
            .filter_map(|days| to_a_sowing_day(garden, planting, days, as_of))
            .collect();
        days.sort_unstable();
        days.dedup();
        all.extend(
            days.into_iter()
                .map(|days| Change::Sow { planting: id, days }),
        );
        all.extend(SHARES.map(|share| Change::SowLess {
            planting: id,
            share,
        }));
    }
}

/// Says whether nothing of a planting is in the ground or in a tray yet.
fn not_yet_sown(planting: &Planting, as_of: NaiveDate) -> bool {
    planting.start() > as_of && planting.sown.is_none_or(|sown| sown > as_of)
}

/// Brings a shift to the household's nearest sowing day; none if that is the day it is sown anyway, or past.
fn to_a_sowing_day(
    garden: &Garden,
    planting: &Planting,
    days: i64,
    as_of: NaiveDate,
) -> Option<i64> {
    let first = planting.sown.unwrap_or_else(|| planting.start());
    let sows = &garden.household.sow_days;
    let right = |day: NaiveDate| sows.is_empty() || sows.contains(&day.weekday());
    let near = [0, 1, -1, 2, -2, 3, -3].map(|by| days + by);
    let days = near
        .into_iter()
        .find(|by| right(first + Duration::days(*by)))?;
    let before_clearing = |day: NaiveDate| planting.cleared.is_none_or(|cleared| day < cleared);
    let start = planting.start() + Duration::days(days);
    (days != 0 && first + Duration::days(days) >= as_of && before_clearing(start)).then_some(days)
}
