//! What stands in store by the day it was made, and how long it keeps.
//!
//! Changes of the store so far, the oldest taken first. Months of keeping come from the product; they are about taste and
//! texture in freezer and pantry, about fitness in the refrigerator. Knows nothing of what is still to come.

use super::offered::packed;
use super::wanted::stock_of;
use crate::garden::Garden;
use crate::garden::preserving::{ProductId, Store};
use chrono::{Days, NaiveDate};

/// Days in a mean Gregorian month.
const DAYS_PER_MONTH: f64 = 365.2425 / 12.0;

/// Less than this is a rest of rounding, not a container.
const NOTHING: f64 = 1e-6;

/// Containers of one product made on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// The product.
    pub product: ProductId,
    /// Where it is kept.
    pub store: Store,
    /// Day it was made.
    pub made: NaiveDate,
    /// Containers left.
    pub containers: f64,
    /// Last day at its best.
    pub best_until: NaiveDate,
    /// Day by which it should be used up.
    pub last_day: NaiveDate,
    /// Room it takes in its store, litres.
    pub litres: f64,
}

/// Lists what stands in store on the evening of a day: products in the order of the table, the oldest of each first.
#[must_use]
pub fn in_store(garden: &Garden, as_of: NaiveDate) -> Vec<Batch> {
    let mut batches = Vec::new();
    for (i, product) in garden.products.iter().enumerate() {
        let id = ProductId(i);
        let room_l = packed(garden, product).1;
        for (made, containers) in stock_of(garden, id, as_of) {
            if containers <= NOTHING {
                continue;
            }
            batches.push(Batch {
                product: id,
                store: garden.method(product.method).store,
                made,
                containers,
                best_until: after_months(made, product.best_months),
                last_day: after_months(made, product.last_months),
                litres: containers * room_l,
            });
        }
    }
    batches
}

/// Returns the day so many months after another, whole days.
fn after_months(day: NaiveDate, months: f64) -> NaiveDate {
    let days = (months.max(0.0) * DAYS_PER_MONTH).round();
    day.checked_add_days(Days::new(days as u64))
        .unwrap_or(NaiveDate::MAX)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::fixture::{self, monday};
    use super::*;
    use crate::garden::record::StoreChange;

    #[test]
    fn the_oldest_is_taken_first_and_months_are_counted_from_its_day() {
        let mut g = fixture::garden();
        let mut change = |date: &str, change: f64| {
            g.record.stores.push(StoreChange {
                date: date.parse().unwrap(),
                product: fixture::FROZEN_BEANS,
                change,
                note: None,
            });
        };
        change("2025-07-01", 4.0);
        change("2025-08-01", 3.0);
        change("2026-01-10", -5.0);
        change("2026-06-02", 9.0); // Not yet known on the first of June.
        let product = g.products.get_mut(fixture::FROZEN_BEANS.0).unwrap();
        (product.best_months, product.last_months) = (10.0, 12.0);
        let found = in_store(&g, monday());
        assert_eq!(found.len(), 1);
        let batch = found[0];
        assert_eq!(batch.made, "2025-08-01".parse().unwrap());
        assert!((batch.containers - 2.0).abs() < 1e-9);
        // Twelve months are a year of 365 days; ten are 304.
        assert_eq!(batch.last_day, "2026-08-01".parse().unwrap());
        assert_eq!(batch.best_until, "2026-06-01".parse().unwrap());
        assert!(batch.litres > 0.5);
    }
}
