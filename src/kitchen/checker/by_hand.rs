//! A plan made by hand put to the food there will be: which lots each amount is taken from, and where there is too little.
//!
//! The oldest lot that is fit goes first, day by day and row by row as the plan stands. Shares no code with the planner.

use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use crate::garden::safety::SafetyColumn;
use crate::kitchen::plan::dated::{DatedTake, DatedWork};
use chrono::NaiveDate;

/// An amount that is no work for anybody.
const NOTHING_KG: f64 = 1e-6;
/// What may be short without a word: rounding of the file.
const SLACK_KG: f64 = 0.01;

/// One product of one day as the plan says it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Day.
    pub date: NaiveDate,
    /// Product.
    pub product: ProductId,
    /// Crops with their amounts in proportion; none given means as there is.
    pub crops: Vec<(CropId, Option<f64>)>,
    /// Amount in all, kg.
    pub kg: f64,
}

/// More is wanted of a crop than there is for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Short {
    /// Row of the plan.
    pub row: usize,
    /// Crop; none where none that the product takes is there at all.
    pub crop: Option<CropId>,
    /// Amount wanted, kg.
    pub wanted_kg: f64,
    /// Amount fit on that day and not used before, kg.
    pub there_kg: f64,
}

/// Puts a plan to the food; returns one work a row, in the order of the rows, and what is short.
///
/// `food` holds every lot there will be, with its days.
#[must_use]
pub fn put_to_food(
    garden: &Garden,
    food: &[DatedTake],
    plan: &[Wanted],
) -> (Vec<DatedWork>, Vec<Short>) {
    let mut left = food.to_vec();
    left.sort_by_key(|lot| (lot.picked, lot.crop));
    let mut order: Vec<usize> = (0..plan.len()).collect();
    order.sort_by_key(|&row| (plan[row].date, row));
    let mut works: Vec<DatedWork> = (plan.iter())
        .map(|w| DatedWork {
            date: w.date,
            product: w.product,
            takes: Vec::new(),
        })
        .collect();
    let mut short = Vec::new();
    for row in order {
        let wanted = &plan[row];
        for (crop, kg) in shared_out(garden, wanted, &left) {
            let mut need = kg;
            for lot in left.iter_mut().filter(|lot| lot.crop == crop) {
                if !fit(garden, lot, wanted) || need <= NOTHING_KG {
                    continue;
                }
                let taken = lot.kg.min(need);
                if taken > NOTHING_KG {
                    works[row].takes.push(DatedTake { kg: taken, ..*lot });
                    lot.kg -= taken;
                    need -= taken;
                }
            }
            if need > SLACK_KG {
                short.push(Short {
                    row,
                    crop: Some(crop),
                    wanted_kg: kg,
                    there_kg: kg - need,
                });
            }
        }
        if works[row].takes.is_empty() && short.iter().all(|s| s.row != row) {
            short.push(Short {
                row,
                crop: None,
                wanted_kg: wanted.kg,
                there_kg: 0.0,
            });
        }
    }
    (works, short)
}

/// Says whether a lot is picked, within its last day and within the recipe's hours on the day of the plan.
fn fit(garden: &Garden, lot: &DatedTake, wanted: &Wanted) -> bool {
    let product = garden.product(wanted.product);
    let age = (wanted.date - lot.picked).num_days();
    let column = garden.method(product.method).safety_column;
    let canned = column.is_some_and(SafetyColumn::is_canning);
    age >= 0
        && wanted.date <= lot.last_day
        && product
            .within_hours
            .is_none_or(|hours| age as f64 <= (hours / 24.0).floor())
        && !(canned && lot.not_canned)
}

/// Shares a row's amount out over its crops: as the row says, else as there is of what the product takes.
fn shared_out(garden: &Garden, wanted: &Wanted, left: &[DatedTake]) -> Vec<(CropId, f64)> {
    let there = |crop: CropId| -> f64 {
        let of = left
            .iter()
            .filter(|l| l.crop == crop && fit(garden, l, wanted));
        of.map(|lot| lot.kg).sum()
    };
    let crops: Vec<(CropId, Option<f64>)> = if wanted.crops.is_empty() {
        let parts = garden.product(wanted.product).parts.iter();
        parts.map(|part| (part.crop, None)).collect()
    } else {
        wanted.crops.clone()
    };
    if let [(only, _)] = crops.as_slice() {
        return vec![(*only, wanted.kg)];
    }
    let said: f64 = crops.iter().filter_map(|(_, kg)| *kg).sum();
    if said > 0.0 {
        let each = crops.iter().filter_map(|(crop, kg)| Some((*crop, (*kg)?)));
        return each
            .map(|(crop, kg)| (crop, wanted.kg * kg / said))
            .collect();
    }
    let all: f64 = crops.iter().map(|(crop, _)| there(*crop)).sum();
    (crops.iter())
        .map(|(crop, _)| (*crop, wanted.kg * there(*crop) / all.max(NOTHING_KG)))
        .filter(|(_, kg)| *kg > NOTHING_KG)
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::fixture::{self, crop_id, monday};
    use chrono::{Days, TimeDelta};

    fn lot(crop: &str, day: u64, kg: f64) -> DatedTake {
        DatedTake {
            crop: crop_id(crop),
            picked: monday() + Days::new(day),
            last_day: monday() + Days::new(day + 3),
            kg,
            not_canned: false,
        }
    }

    /// Beans of days 0, 2 and 4, each fit three days more: on day 5 the first is gone, and the second goes first.
    #[test]
    fn the_oldest_that_is_fit_goes_first_and_what_is_short_is_told() {
        let garden = fixture::garden();
        let food = [
            lot("snap bean", 4, 1.0),
            lot("snap bean", 2, 1.0),
            lot("snap bean", 0, 1.0),
        ];
        let row = |day: i64, kg: f64| Wanted {
            date: monday() + TimeDelta::days(day),
            product: fixture::FROZEN_BEANS,
            crops: Vec::new(),
            kg,
        };
        let (works, short) = put_to_food(&garden, &food, &[row(5, 1.5)]);
        assert_eq!(short, []);
        let taken: Vec<(NaiveDate, f64)> =
            works[0].takes.iter().map(|t| (t.picked, t.kg)).collect();
        let days = [2, 4].map(|day| monday() + Days::new(day));
        assert_eq!(taken, [(days[0], 1.0), (days[1], 0.5)]);

        // An earlier row, written later, has first call.
        let (works, short) = put_to_food(&garden, &food, &[row(5, 2.0), row(3, 1.5)]);
        assert_eq!(works[1].takes.len(), 2);
        assert_eq!(short.len(), 1);
        assert!((short[0].there_kg - 1.5).abs() < 1e-12, "{short:?}");
        let (_, none) = put_to_food(&garden, &food, &[row(20, 1.0)]);
        assert_eq!((none[0].row, none[0].there_kg), (0, 0.0));
    }

    /// A row that gives no amounts takes of each crop as there is; one that gives them, in that proportion.
    #[test]
    fn mixtures_are_shared_out() {
        let garden = fixture::garden();
        let food = [lot("basil", 0, 3.0), lot("kale", 0, 1.0)];
        let mut row = Wanted {
            date: monday(),
            product: fixture::PESTO,
            crops: vec![(crop_id("basil"), None), (crop_id("kale"), None)],
            kg: 2.0,
        };
        let kg = |row: &Wanted| -> Vec<f64> {
            let (works, _) = put_to_food(&garden, &food, std::slice::from_ref(row));
            works[0].takes.iter().map(|t| t.kg).collect()
        };
        assert_eq!(kg(&row), [1.5, 0.5]);
        row.crops = vec![(crop_id("basil"), Some(0.6)), (crop_id("kale"), Some(0.4))];
        assert_eq!(kg(&row), [1.2, 0.8]);
    }
}
