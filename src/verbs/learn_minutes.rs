//! What logged sessions took, beside what the plan would have said of all that was put by on their days.

use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use crate::garden::record::Happening;
use crate::garden::units::Mass;
use crate::kitchen::minutes;
use crate::learning::evidence::MinutesEvidence;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// One product with the amounts of its crops.
type Made = (ProductId, Vec<(CropId, Mass)>);

/// Gathers the sessions up to a day; a session on whose day nothing was put by says nothing.
///
/// Several sessions of one day count as one.
pub(super) fn evidence(garden: &Garden, as_of: NaiveDate) -> Vec<MinutesEvidence> {
    let mut took: BTreeMap<NaiveDate, f64> = BTreeMap::new();
    for event in garden.record.events.iter().filter(|e| e.date <= as_of) {
        if let Happening::Took(time) = event.what {
            *took.entry(event.date).or_default() += time.min_value();
        }
    }
    took.into_iter()
        .filter_map(|(date, took_min)| {
            let made = made_on(garden, date);
            let hands = garden.household.kitchen.hands_on(date).max(0.1);
            let planned_min = minutes::of_list(garden, &made, hands).minutes;
            (planned_min > 0.0).then_some(MinutesEvidence {
                season: date.year(),
                planned_min,
                took_min,
            })
        })
        .collect()
}

/// What was put by on a day; a mixture is split evenly between the least and greatest shares of its crops.
fn made_on(garden: &Garden, date: NaiveDate) -> Vec<Made> {
    let mut containers: BTreeMap<ProductId, f64> = BTreeMap::new();
    for put in &garden.record.stores {
        if put.date == date && put.change > 0.0 {
            *containers.entry(put.product).or_default() += put.change;
        }
    }
    containers
        .into_iter()
        .map(|(id, count)| {
            let product = garden.product(id);
            let all = product.garden_mass_per_container() * count;
            let middle = |least: f64, greatest: f64| f64::midpoint(least, greatest);
            let shares = product.parts.iter().map(|p| middle(p.least, p.greatest));
            let sum: f64 = shares.clone().sum();
            let parts = product.parts.iter().zip(shares);
            let parts = parts.map(|(part, share)| (part.crop, all * (share / sum)));
            (id, parts.filter(|_| sum > 0.0).collect())
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::input::{load_files, sample};

    /// The sample's first logged evening: a quart bag of greens and a jar of radishes; set-up 15, pot and ice 20, brine 20
    /// are 55 minutes before the first leaf is washed.
    #[test]
    fn a_session_is_set_beside_what_was_put_by_that_day() {
        let garden = load_files(&sample::files()).unwrap();
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let all = evidence(&garden, day("2026-07-13"));
        assert_eq!(
            all.iter().map(|e| e.took_min).collect::<Vec<_>>(),
            [115.0, 150.0, 130.0]
        );
        assert!(all.iter().all(|e| e.season == 2026));
        assert!((60.0..180.0).contains(&all[0].planned_min), "{all:?}");
        assert_eq!(evidence(&garden, day("2026-06-30")).len(), 1);
        let made = made_on(&garden, day("2026-05-16"));
        let kg: f64 = made
            .iter()
            .flat_map(|(_, parts)| parts)
            .map(|(_, m)| m.kg())
            .sum();
        let want: f64 = made
            .iter()
            .map(|(id, _)| garden.product(*id).garden_mass_per_container().kg())
            .sum();
        assert!(made.len() == 2 && (kg - want).abs() < 1e-9, "{made:?}");
        // Nothing put by, nothing said.
        let mut bare = garden.clone();
        bare.record.stores.clear();
        assert_eq!(evidence(&bare, day("2026-07-13")), []);
    }
}
