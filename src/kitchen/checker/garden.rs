//! The checker of dated plans against the garden itself: safety, keeping, shares, hours, equipment and goals.
//!
//! For plans of the planner and for plans edited by hand. Shares no code with the planner; minutes are those of the
//! kitchen's own rules, amounts come from the garden's tables.

use crate::garden::Garden;
use crate::garden::preserving::{Appliance, Product, Store};
use crate::garden::safety::{SafetyColumn, Verdict};
use crate::garden::units::{KG_PER_LB, L_PER_FT3, Mass};
use crate::kitchen::minutes;
use crate::kitchen::offered::verdict_of;
use crate::kitchen::plan::dated::DatedWork;
use crate::kitchen::wanted::stock_of;
use chrono::{NaiveDate, TimeDelta};
use std::fmt;

/// Slack for amounts: a hundredth.
const SLACK: f64 = 0.01;
/// Slack for the length of a session, minutes.
const MINUTES_SLACK: f64 = 1.0;
/// Pounds a freezer takes for each cubic foot in 24 hours (Penn State and Univ. of Maine Extension).
const INTAKE_LB_PER_FT3: f64 = 2.0;
/// Kilograms in a litre of packed food: a pound a pint (NC State Extension).
const PACKED_KG_PER_L: f64 = KG_PER_LB / 0.473_176_473;

/// One thing wrong with a dated plan.
#[derive(Debug, Clone, PartialEq)]
pub enum GardenFault {
    /// The product is never to be made: its name and why.
    Refused(String, &'static str),
    /// Canning without the altitude of the place.
    NoAltitude(String),
    /// Food that must not be canned: product, crop.
    NotForCanning(String, String),
    /// The product does not take this crop: product, crop.
    WrongCrop(String, String),
    /// A crop's share is out of its bounds: product, crop, day.
    Share(String, String, NaiveDate),
    /// Less than is worth setting up for: product, day.
    TooLittle(String, NaiveDate),
    /// Used before it is picked or after its last day: crop, day.
    NotFit(String, NaiveDate),
    /// An amount that is no amount: product, day.
    Nonsense(String, NaiveDate),
    /// The session is longer than the kitchen is open: day, minutes needed, minutes open.
    TooLong(NaiveDate, f64, f64),
    /// A limit is passed: what, day, needed, there.
    Limit(&'static str, NaiveDate, f64, f64),
    /// More than the goal asks for: product, containers planned, containers wanted.
    OverGoal(String, f64, f64),
}

impl fmt::Display for GardenFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(p, why) => write!(f, "{p} is not to be made: {why}"),
            Self::NoAltitude(p) => write!(f, "{p}: canning needs the altitude of the place"),
            Self::NotForCanning(p, c) => write!(f, "{p}: this {c} must not be canned"),
            Self::WrongCrop(p, c) => write!(f, "{p} does not take {c}"),
            Self::Share(p, c, d) => write!(f, "{d}: share of {c} in {p}"),
            Self::TooLittle(p, d) => write!(f, "{d}: too little for {p}"),
            Self::NotFit(c, d) => write!(f, "{d}: {c} is not picked yet or past its last day"),
            Self::Nonsense(p, d) => write!(f, "{d}: {p} has no proper amount"),
            Self::TooLong(d, need, open) => {
                write!(f, "{d}: {need:.0} minutes needed, {open:.0} open")
            }
            Self::Limit(what, d, need, there) => {
                write!(f, "{d}: {what}: {need:.1} needed, {there:.1} there")
            }
            Self::OverGoal(p, planned, wanted) => {
                write!(f, "{p}: {planned:.1} planned, {wanted:.1} wanted")
            }
        }
    }
}

/// Checks a dated plan as of a day.
#[must_use]
pub fn check(garden: &Garden, work: &[DatedWork], as_of: NaiveDate) -> Vec<GardenFault> {
    let mut faults = Vec::new();
    for w in work {
        one_product(garden, w, &mut faults);
    }
    let mut days: Vec<NaiveDate> = work.iter().map(|w| w.date).collect();
    days.sort_unstable();
    days.dedup();
    for &day in &days {
        one_day(garden, day, work, &mut faults);
    }
    for_good(garden, work, as_of, &mut faults);
    goals(garden, work, as_of, &mut faults);
    faults
}

/// Checks one product in one session by itself.
fn one_product(garden: &Garden, w: &DatedWork, faults: &mut Vec<GardenFault>) {
    let product = garden.product(w.product);
    let method = garden.method(product.method);
    let name = || product.name.clone();
    if let Verdict::Refused(why) = verdict_of(garden, product) {
        faults.push(GardenFault::Refused(name(), why));
    }
    if method.needs_altitude && garden.site.altitude.is_none() {
        faults.push(GardenFault::NoAltitude(name()));
    }
    let canned = method.safety_column.is_some_and(SafetyColumn::is_canning);
    let total = w.kg();
    if !(total.is_finite() && w.takes.iter().all(|t| t.kg > 0.0)) || w.takes.is_empty() {
        faults.push(GardenFault::Nonsense(name(), w.date));
        return;
    }
    for t in &w.takes {
        let crop = garden.crop(t.crop);
        let age = (w.date - t.picked).num_days() as f64;
        let too_old_for_recipe = product
            .within_hours
            .is_some_and(|h| age > (h / 24.0).floor());
        if age < 0.0 || w.date > t.last_day || too_old_for_recipe {
            faults.push(GardenFault::NotFit(crop.name.clone(), w.date));
        }
        let keeps = TimeDelta::days(crop.kitchen.last_days.floor() as i64);
        if t.last_day > t.picked + keeps {
            faults.push(GardenFault::NotFit(crop.name.clone(), t.last_day));
        }
        if canned && t.not_canned {
            faults.push(GardenFault::NotForCanning(name(), crop.name.clone()));
        }
    }
    for (crop, kg) in w.by_crop() {
        let crop_name = || garden.crop(crop).name.clone();
        match product.parts.iter().find(|p| p.crop == crop) {
            None => faults.push(GardenFault::WrongCrop(name(), crop_name())),
            Some(part) => {
                let share = kg / total;
                if product.parts.len() > 1
                    && (share < part.least - SLACK || share > part.greatest + SLACK)
                {
                    faults.push(GardenFault::Share(name(), crop_name(), w.date));
                }
            }
        }
    }
    for part in &product.parts {
        if part.least > SLACK && w.takes.iter().all(|t| t.crop != part.crop) {
            let crop = garden.crop(part.crop).name.clone();
            faults.push(GardenFault::Share(name(), crop, w.date));
        }
    }
    if total < product.least_lot.kg() * (1.0 - SLACK) {
        faults.push(GardenFault::TooLittle(name(), w.date));
    }
}

/// Checks hours and what is taken for some days: trays, dryer, crocks, the freezer's intake.
fn one_day(garden: &Garden, day: NaiveDate, work: &[DatedWork], faults: &mut Vec<GardenFault>) {
    let kitchen = &garden.household.kitchen;
    let today = |w: &&DatedWork| w.date == day;
    let list: Vec<_> = (work.iter().filter(today))
        .map(|w| {
            let hair = 1.0 - 1e-5; // an amount planned to the brim is not one load more
            let parts = w.by_crop().into_iter();
            let parts = parts.map(|(crop, kg)| (crop, Mass::from_kg(kg * hair)));
            (w.product, parts.collect())
        })
        .collect();
    let need = minutes::of_list(garden, &list, kitchen.hands_on(day).max(0.1)).minutes
        * kitchen.minutes_factor;
    let away = garden.household.away.iter().any(|a| a.days.contains(day));
    let open = if away {
        0.0
    } else {
        kitchen.minutes_on(day).min_value()
    };
    if need > open + MINUTES_SLACK {
        faults.push(GardenFault::TooLong(day, need, open));
    }
    let appliance = |w: &DatedWork| garden.method(garden.product(w.product).method).appliance;
    let busy_days = |w: &DatedWork| {
        let product = garden.product(w.product);
        let hours = (garden.method(product.method).wait_h)
            .max(product.dry_h.unwrap_or(0.0))
            .max(product.follow_up_h.unwrap_or(0.0));
        (hours / 24.0).ceil().max(1.0) as i64
    };
    let still = |w: &&DatedWork| {
        let since = (day - w.date).num_days();
        since >= 0 && since < busy_days(w)
    };
    let tray_kg = kitchen.mass_per_tray.kg();
    let on_trays: f64 = (work.iter().filter(today))
        .filter(|w| appliance(w) == Appliance::Tray)
        .map(DatedWork::kg)
        .sum();
    let drying: f64 = (work.iter().filter(still))
        .filter(|w| appliance(w) == Appliance::Dryer)
        .map(DatedWork::kg)
        .sum();
    let fermenting = (work.iter().filter(still))
        .filter(|w| appliance(w) == Appliance::Crock)
        .count() as f64;
    let mut limit = |what, need: f64, there: f64| {
        if need > there * (1.0 + SLACK) + 1e-6 {
            faults.push(GardenFault::Limit(what, day, need, there));
        }
    };
    limit("freezer trays, kg", on_trays, kitchen.trays * tray_kg);
    limit("dryer, kg", drying, kitchen.dryer_trays * tray_kg);
    limit("crocks", fermenting, kitchen.crocks.floor());
    if let Some(freezer) = kitchen.freezer {
        let packed: f64 = (work.iter().filter(today))
            .map(|w| containers(garden, w) * packed_kg(garden.product(w.product)))
            .zip(work.iter().filter(today))
            .filter(|(_, w)| store(garden, w) == Store::Freezer)
            .map(|(kg, _)| kg)
            .sum();
        let takes = freezer.l() / L_PER_FT3 * INTAKE_LB_PER_FT3 * KG_PER_LB;
        limit("what the freezer takes in a day, kg", packed, takes);
    }
}

fn store(garden: &Garden, w: &DatedWork) -> Store {
    garden.method(garden.product(w.product).method).store
}

fn containers(garden: &Garden, w: &DatedWork) -> f64 {
    w.kg() / garden.product(w.product).garden_mass_per_container().kg()
}

fn packed_kg(product: &Product) -> f64 {
    let by_volume = product.container_volume.l() * PACKED_KG_PER_L;
    product.mass_per_container.kg().min(by_volume)
}

/// Checks what does not come back: jars, lids, bags and room in the freezer.
fn for_good(garden: &Garden, work: &[DatedWork], as_of: NaiveDate, faults: &mut Vec<GardenFault>) {
    let Some(last) = work.iter().map(|w| w.date).max() else {
        return;
    };
    let sum = |test: &dyn Fn(&DatedWork) -> bool| -> f64 {
        let chosen = work.iter().filter(|w| test(w));
        chosen.map(|w| containers(garden, w)).sum()
    };
    let kind = |w: &DatedWork, word: &str| garden.product(w.product).container.contains(word);
    let canned = |w: &DatedWork| {
        let method = garden.method(garden.product(w.product).method);
        method.safety_column.is_some_and(SafetyColumn::is_canning)
    };
    let on_hand = &garden.household.on_hand;
    let counts = [
        ("jars", sum(&|w| kind(w, "jar")), on_hand.jars),
        ("lids", sum(&|w| kind(w, "jar") && canned(w)), on_hand.lids),
        ("bags", sum(&|w| kind(w, "bag")), on_hand.bags),
    ];
    for (what, need, there) in counts {
        if let Some(there) = there.filter(|&there| need > there * (1.0 + SLACK) + 1e-6) {
            faults.push(GardenFault::Limit(what, last, need, there));
        }
    }
    if let Some(room) = garden.household.kitchen.freezer_free {
        let litres = |product: &Product| {
            let method = garden.method(product.method);
            let kg_per_l = method.packed_lb_per_ft3.unwrap_or(30.0) * KG_PER_LB / L_PER_FT3;
            packed_kg(product) / kg_per_l
        };
        let planned: f64 = (work.iter().filter(|w| store(garden, w) == Store::Freezer))
            .map(|w| containers(garden, w) * litres(garden.product(w.product)))
            .sum();
        let now: f64 = (garden.products.iter().enumerate())
            .filter(|(_, p)| garden.method(p.method).store == Store::Freezer)
            .map(|(i, p)| {
                let stock = stock_of(garden, crate::garden::preserving::ProductId(i), as_of);
                stock.iter().map(|(_, n)| n).sum::<f64>() * litres(p)
            })
            .sum();
        // What stands there already is no fault of the plan.
        let there = (room.l() - now).max(0.0);
        if planned > there * (1.0 + SLACK) + 1e-6 {
            let fault = GardenFault::Limit("room in the freezer, l", last, planned, there);
            faults.push(fault);
        }
    }
}

/// Checks that no goal that stands alone for its products is passed; refrigerator products are made in rotation.
fn goals(garden: &Garden, work: &[DatedWork], as_of: NaiveDate, faults: &mut Vec<GardenFault>) {
    let Some(goals) = &garden.household.goals else {
        return;
    };
    for goal in goals {
        let shared = goals
            .iter()
            .filter(|g| g.products.iter().any(|p| goal.products.contains(p)))
            .count();
        if shared > 1 || !goal.containers.is_finite() {
            continue;
        }
        let (mut planned, mut stock, mut name) = (0.0, 0.0, String::new());
        for &id in &goal.products {
            let product = garden.product(id);
            if garden.method(product.method).store == Store::Fridge {
                continue;
            }
            name.clone_from(&product.name);
            let made = work.iter().filter(|w| w.product == id);
            planned += made.map(|w| containers(garden, w)).sum::<f64>();
            stock += stock_of(garden, id, as_of)
                .iter()
                .map(|(_, n)| n)
                .sum::<f64>();
        }
        let wanted = (goal.containers - stock).max(0.0);
        if planned > wanted * (1.0 + SLACK) + SLACK {
            faults.push(GardenFault::OverGoal(name, planned, wanted));
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::preserving::Part;
    use crate::garden::units::Minutes;
    use crate::kitchen::fixture::{self, crop_id, monday};
    use crate::kitchen::plan::order::tests::work;

    /// The Saturday of the fixture, when the kitchen is open four hours.
    fn saturday(mut w: DatedWork) -> DatedWork {
        w.date = monday() + TimeDelta::days(5);
        for t in &mut w.takes {
            t.picked = w.date;
            t.last_day = w.date;
        }
        w
    }

    fn garden() -> Garden {
        let mut garden = fixture::garden();
        garden.household.goals = None;
        garden
    }

    #[test]
    fn a_good_day_has_no_fault() {
        let day = [
            saturday(work(fixture::FROZEN_BEANS, &[("snap bean", 3.0)])),
            saturday(work(fixture::PESTO, &[("basil", 1.0), ("kale", 0.5)])),
        ];
        assert_eq!(check(&garden(), &day, monday()), []);
    }

    #[test]
    fn canning_is_refused_where_it_is_not_safe() {
        let mut garden = garden();
        let beans = [saturday(work(fixture::CANNED_BEANS, &[("snap bean", 8.0)]))];
        assert_eq!(check(&garden, &beans, monday()), []);
        garden.site.altitude = None;
        let name = || "canned beans".to_owned();
        assert_eq!(
            check(&garden, &beans, monday()),
            [GardenFault::NoAltitude(name())]
        );
        // A canned mixture of the household's own.
        let mut garden = super::tests::garden();
        let product = &mut garden.products[fixture::CANNED_BEANS.0];
        product.parts.push(Part {
            crop: crop_id("carrot"),
            least: 0.0,
            greatest: 0.5,
        });
        product.recipe = None;
        assert!(matches!(
            check(&garden, &beans, monday())[..],
            [GardenFault::Refused(..)]
        ));
        // A crop outside the matrix.
        let mut garden = super::tests::garden();
        garden.crops[crop_id("snap bean").0].safety_row = None;
        assert!(matches!(
            check(&garden, &beans, monday())[..],
            [GardenFault::Refused(..)]
        ));
        // Frost-killed food.
        let mut killed = beans.clone();
        killed[0].takes[0].not_canned = true;
        assert_eq!(
            check(&super::tests::garden(), &killed, monday()),
            [GardenFault::NotForCanning(name(), "snap bean".to_owned())]
        );
    }

    #[test]
    fn every_limit_is_seen() {
        type Change = fn(&mut Garden, &mut Vec<DatedWork>);
        let cases: [(&str, Change); 8] = [
            ("too long", |g, _| {
                g.household.kitchen.minutes = [Minutes::from_min(30.0); 7];
            }),
            ("trays", |g, _| g.household.kitchen.trays = 0.0),
            ("bags", |g, _| g.household.on_hand.bags = Some(1.0)),
            ("old", |_, w| {
                w[0].takes[0].picked = monday() - TimeDelta::days(9)
            }),
            ("before picking", |_, w| {
                w[1].takes[0].picked = monday() + TimeDelta::days(9)
            }),
            ("share", |_, w| w[2].takes[1].kg *= 20.0),
            ("too little", |_, w| w[0].takes[0].kg *= 0.1),
            ("freezer", |g, _| {
                g.household.kitchen.freezer = Some(crate::garden::units::Volume::from_ft3(1.0));
            }),
        ];
        let day = [
            saturday(work(fixture::FROZEN_BEANS, &[("snap bean", 3.0)])),
            saturday(work(fixture::FROZEN_OKRA, &[("okra", 2.0)])),
            saturday(work(fixture::PESTO, &[("basil", 1.0), ("kale", 0.5)])),
        ];
        assert_eq!(check(&garden(), &day, monday()), []);
        for (what, change) in cases {
            let (mut garden, mut work) = (garden(), day.to_vec());
            change(&mut garden, &mut work);
            assert!(!check(&garden, &work, monday()).is_empty(), "{what}");
        }
    }
}
