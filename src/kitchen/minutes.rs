//! How long a session takes: hands and appliances, for any list of work done on one day.
//!
//! A session is as long as the greater of the hands' time and each appliance's: its first filling, then its loads one
//! after another. Attended waiting keeps a person in the house but not at the table, so it is not hand time.
//! Figures of set-up, batch and container are common practice, no source; canner clocks are for planning only.
//! Knows nothing of draws, goals or calendars, so that a planner or a person may ask it too.

use crate::garden::Garden;
use crate::garden::crop::{Crop, FoodGroup};
use crate::garden::household::Kitchen;
use crate::garden::preserving::{Appliance, Method, Product, ProductId};
use crate::garden::units::{KG_PER_LB, Mass};

/// Minutes to clear and clean the kitchen once a session, whatever is done in it (common practice, no source).
pub const KITCHEN_SETUP_MIN: f64 = 15.0;

/// Pounds of leaves that one usable gallon of the pot takes (USDA AIB 410 p. 50: two gallons a pound for leafy greens).
pub const LEAF_LB_PER_GAL: f64 = 0.5;

/// What one product costs in minutes, in force for one household.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rates {
    /// Products with the same group share one set-up in a session.
    pub setup_group: u16,
    /// Minutes for the first product of the group.
    pub setup_min: f64,
    /// Minutes for each further product of the group.
    pub setup_more_min: f64,
    /// Hand minutes for each batch or load.
    pub per_batch_min: f64,
    /// Hand minutes for each container.
    pub per_container_min: f64,
    /// The appliance it occupies.
    pub appliance: Appliance,
    /// Clock minutes of one batch or load on the appliance.
    pub clock_min: f64,
    /// Containers in one full load of the canner.
    pub load_containers: f64,
    /// Garden weight that fills a container, kg.
    pub kg_per_container: f64,
    /// Whether half containers are usual.
    pub halves: bool,
}

/// One product made in a session.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Work {
    /// Index into the slice of [`Rates`].
    pub product: u16,
    /// Garden weight, kg.
    pub kg: f64,
    /// Hand minutes of preparation: the crops' own and the product's steps on top.
    pub prep_min: f64,
    /// Fillings of the pot, fractional; zero when no pot is used.
    pub pot_fills: f64,
    /// Containers filled or begun.
    pub containers: f64,
}

impl Work {
    /// Adds an amount of one crop; `prep_min_per_kg` and `pot_kg` come from [`part_rates`].
    pub fn add(&mut self, kg: f64, part: PartRates) {
        self.kg += kg;
        self.prep_min += kg * part.prep_min_per_kg;
        if part.pot_kg > 0.0 {
            self.pot_fills += kg / part.pot_kg;
        }
    }
}

/// What one crop in one product costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartRates {
    /// Hand minutes of preparation, the product's own steps included.
    pub prep_min_per_kg: f64,
    /// What all pots together take at a time, kg; zero when no pot is used.
    pub pot_kg: f64,
}

/// How long a session takes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SessionTime {
    /// From beginning to end.
    pub minutes: f64,
    /// Work of all hands together.
    pub hand_min: f64,
}

/// Compiles the rates of one product; `setup_group` is any number that stands for the method's group.
#[must_use]
pub fn rates(product: &Product, method: &Method, kitchen: &Kitchen, setup_group: u16) -> Rates {
    let quart = product.container_volume.l() > 0.9;
    let overhead = if quart {
        method.overhead_quart
    } else {
        method.overhead_pint
    };
    let clock_min = match method.appliance {
        Appliance::Pot => {
            product.blanch.map_or(0.0, |m| m.min_value()) + method.batch_extra.min_value()
        }
        // `clock` is the whole load; without it the method's overhead is all that is known, said by the caller.
        Appliance::Canner => product.clock.unwrap_or(overhead).min_value(),
        Appliance::Tray | Appliance::Dryer | Appliance::Crock | Appliance::None => 0.0,
    };
    Rates {
        setup_group,
        setup_min: method.setup.min_value(),
        setup_more_min: method.setup_more.min_value(),
        per_batch_min: method.per_batch.min_value(),
        per_container_min: method.per_container.min_value(),
        appliance: method.appliance,
        clock_min,
        load_containers: load_containers(product, kitchen),
        kg_per_container: product.garden_mass_per_container().kg(),
        halves: product.halves,
    }
}

/// Returns how many of its containers the household's canner takes: the usual load for a canner of 7 quarts, in proportion.
fn load_containers(product: &Product, kitchen: &Kitchen) -> f64 {
    let usual = f64::from(product.load_containers.unwrap_or(
        if product.container_volume.l() > 0.9 {
            7
        } else {
            9
        },
    ));
    (usual * f64::from(kitchen.canner_jars) / 7.0)
        .floor()
        .max(1.0)
}

/// Compiles what one crop costs in one product.
#[must_use]
pub fn part_rates(crop: &Crop, product: &Product, method: &Method, kitchen: &Kitchen) -> PartRates {
    let per_lb = crop.kitchen.prep_min_per_lb.min_value() + product.extra_min_per_lb.min_value();
    let leaf = matches!(
        crop.group,
        FoodGroup::CookingGreens | FoodGroup::SaladLeaves | FoodGroup::Herbs
    );
    let pot_kg = match (method.appliance, method.batch_lb_per_gal) {
        (Appliance::Pot, Some(lb)) => {
            let lb = if leaf { lb.min(LEAF_LB_PER_GAL) } else { lb };
            lb * KG_PER_LB * kitchen.pot_volume.gal() * kitchen.pots.max(1.0)
        }
        _ => 0.0,
    };
    PartRates {
        prep_min_per_kg: per_lb / KG_PER_LB,
        pot_kg,
    }
}

/// Counts the containers that an amount fills: halves or wholes, the last one begun.
#[must_use]
pub fn containers_begun(kg: f64, rates: &Rates) -> f64 {
    let n = kg / rates.kg_per_container;
    if rates.halves {
        (2.0 * n - 1e-9).ceil() / 2.0
    } else {
        (n - 1e-9).ceil()
    }
}

/// Computes how long a session takes.
///
/// Units: minutes. Shape: `share`, if not empty, has one element for each work and receives its share of the minutes,
/// in proportion to its own hand and appliance time.
#[must_use]
pub fn session(rates: &[Rates], works: &[Work], hands: f64, share: &mut [f64]) -> SessionTime {
    if works.is_empty() {
        return SessionTime::default();
    }
    let mut hand_min = KITCHEN_SETUP_MIN;
    let mut pot = Queue::default();
    let mut canner = Queue::default();
    let mut own_sum = 0.0;
    for (k, work) in works.iter().enumerate() {
        let r = &rates[usize::from(work.product)];
        let terms = terms(rates, &works[..k], work);
        let own_hand = terms.hand_min();
        let (setup, clock) = (terms.setup_min, terms.clock_min);
        hand_min += own_hand;
        let queue = match r.appliance {
            Appliance::Pot => Some(&mut pot),
            Appliance::Canner => Some(&mut canner),
            _ => None,
        };
        if let Some(queue) = queue {
            queue.add(KITCHEN_SETUP_MIN + setup, first_filling(r, work), clock);
        }
        let own = own_hand / hands + clock;
        own_sum += own;
        if let Some(s) = share.get_mut(k) {
            *s = own;
        }
    }
    let minutes = (hand_min / hands)
        .max(pot.minutes(hands))
        .max(canner.minutes(hands));
    if own_sum > 0.0 {
        for s in share.iter_mut() {
            *s *= minutes / own_sum;
        }
    }
    SessionTime { minutes, hand_min }
}

/// What the minutes of one work are made of, in minutes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Terms {
    /// Getting things out and putting them away, as far as earlier work has not done it.
    pub setup_min: f64,
    /// Washing, trimming, cutting, and the product's own steps.
    pub prep_min: f64,
    /// Hand minutes of the batches or loads.
    pub batches_min: f64,
    /// Filling and labelling containers.
    pub containers_min: f64,
    /// Clock minutes of the pot or the canner: attended, not worked.
    pub clock_min: f64,
}

impl Terms {
    /// Returns the work of all hands.
    #[must_use]
    pub fn hand_min(&self) -> f64 {
        self.setup_min + self.prep_min + self.batches_min + self.containers_min
    }
}

/// Takes the minutes of one work apart; `earlier` is the work of the same session that shares its set-up.
#[must_use]
pub fn terms(rates: &[Rates], earlier: &[Work], work: &Work) -> Terms {
    let r = &rates[usize::from(work.product)];
    let shared = earlier
        .iter()
        .any(|w| rates[usize::from(w.product)].setup_group == r.setup_group);
    let batches = batches(r, work);
    Terms {
        setup_min: if shared {
            r.setup_more_min
        } else {
            r.setup_min
        },
        prep_min: work.prep_min,
        batches_min: r.per_batch_min * batches,
        containers_min: r.per_container_min * work.containers,
        clock_min: batches * r.clock_min,
    }
}

/// Takes a list of products and amounts of one session apart, straight from a garden's tables.
///
/// Shape: one element for each item of the list, in its order.
#[must_use]
pub fn terms_of_list(garden: &Garden, list: &[Item]) -> Vec<Terms> {
    let (rates, works) = made_ready(garden, list);
    (works.iter().enumerate())
        .map(|(k, work)| terms(&rates, &works[..k], work))
        .collect()
}

/// Counts batches of the pot or loads of the canner; one for work that uses neither.
fn batches(r: &Rates, work: &Work) -> f64 {
    match r.appliance {
        Appliance::Pot => (work.pot_fills - 1e-9).ceil().max(1.0),
        Appliance::Canner => (work.containers / r.load_containers - 1e-9).ceil().max(1.0),
        _ => 1.0,
    }
}

/// Returns the hand minutes until the first batch or load is on: its preparation, and for jars their filling.
fn first_filling(r: &Rates, work: &Work) -> f64 {
    match r.appliance {
        Appliance::Canner => {
            let jars = work.containers.min(r.load_containers);
            let part = if work.containers > 0.0 {
                jars / work.containers
            } else {
                1.0
            };
            r.per_batch_min + work.prep_min * part + r.per_container_min * jars
        }
        _ => r.per_batch_min + work.prep_min / work.pot_fills.max(1.0),
    }
}

/// One appliance: what must be done before its first load is on, and the loads after it.
#[derive(Default)]
struct Queue {
    used: bool,
    setup_min: f64,
    filling_min: f64,
    clock_min: f64,
}

impl Queue {
    /// Adds a product; the cook puts on first what is ready soonest.
    fn add(&mut self, setup_min: f64, filling_min: f64, clock_min: f64) {
        if self.used {
            self.filling_min = self.filling_min.min(filling_min);
        } else {
            self.setup_min = setup_min;
            self.filling_min = filling_min;
        }
        self.clock_min += clock_min;
        self.used = true;
    }
    fn minutes(&self, hands: f64) -> f64 {
        (self.setup_min + self.filling_min) / hands + self.clock_min
    }
}

/// Computes how long a list of products and amounts takes in one go, straight from a garden's tables.
///
/// Each item names a product and the amounts of its crops. Units: minutes.
#[must_use]
pub fn of_list(garden: &Garden, list: &[Item], hands: f64) -> SessionTime {
    let (rates, works) = made_ready(garden, list);
    session(&rates, &works, hands, &mut [])
}

/// A product and the amounts of its crops.
pub type Item = (ProductId, Vec<(crate::garden::crop::CropId, Mass)>);

fn made_ready(garden: &Garden, list: &[Item]) -> (Vec<Rates>, Vec<Work>) {
    let kitchen = &garden.household.kitchen;
    let mut all_rates = Vec::with_capacity(list.len());
    let mut works = Vec::with_capacity(list.len());
    for (k, (id, parts)) in list.iter().enumerate() {
        let product = garden.product(*id);
        let method = garden.method(product.method);
        let r = rates(
            product,
            method,
            kitchen,
            setup_group(garden, &method.setup_group),
        );
        let mut work = Work {
            product: u16::try_from(k).unwrap_or(u16::MAX),
            ..Work::default()
        };
        for (crop, mass) in parts {
            work.add(
                mass.kg(),
                part_rates(garden.crop(*crop), product, method, kitchen),
            );
        }
        work.containers = containers_begun(work.kg, &r);
        all_rates.push(r);
        works.push(work);
    }
    (all_rates, works)
}

/// Returns the number that stands for a set-up group: the first method that names it.
#[must_use]
pub fn setup_group(garden: &Garden, name: &str) -> u16 {
    let index = garden.methods.iter().position(|m| m.setup_group == name);
    index
        .and_then(|i| u16::try_from(i).ok())
        .unwrap_or(u16::MAX)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::fixture::{self, crop_id};

    fn hours(list: &[(ProductId, &[(&str, f64)])], hands: f64) -> f64 {
        let garden = fixture::garden();
        let list: Vec<_> = list
            .iter()
            .map(|(product, parts)| {
                let parts = parts
                    .iter()
                    .map(|(c, lb)| (crop_id(c), Mass::from_lb(*lb)))
                    .collect();
                (*product, parts)
            })
            .collect();
        of_list(&garden, &list, hands).minutes / 60.0
    }

    /// Amounts invented, times common practice: the range in which an experienced cook would place the two evenings.
    #[test]
    fn two_evenings_of_small_lots() {
        let first = hours(
            &[
                (fixture::FROZEN_BEANS, &[("snap bean", 3.0)]),
                (fixture::FROZEN_GREENS, &[("kale", 2.0)]),
                (fixture::RADISH_PICKLE, &[("radish", 3.4), ("onion", 0.6)]),
            ],
            1.0,
        );
        let second = hours(
            &[
                (fixture::FROZEN_OKRA, &[("okra", 1.0)]),
                (fixture::GRATED_ZUCCHINI, &[("zucchini", 3.0)]),
                (fixture::PESTO, &[("basil", 1.0), ("kale", 0.5)]),
            ],
            1.0,
        );
        let both = first + second;
        assert!(
            (2.75..=4.25).contains(&both),
            "{first} + {second} = {both} h"
        );
    }

    /// Two loads share the set-up and the second is prepared while the first runs: not twice 3 h 33.
    #[test]
    fn two_canner_loads_in_one_go() {
        let two = hours(&[(fixture::CANNED_BEANS, &[("snap bean", 28.0)])], 1.0);
        assert!((5.25..=5.75).contains(&two), "{two} h");
    }

    /// One load of seven quarts of beans: 14 lb × 5 + 20 + 7 × 2 + 109 = 213 minutes, inside the 3 to 4 hours that a
    /// garden-products company's article gives for a batch; the kitchen's own set-up comes on top.
    #[test]
    fn one_canner_load_of_beans() {
        let one = hours(&[(fixture::CANNED_BEANS, &[("snap bean", 14.0)])], 1.0) * 60.0;
        assert!((one - KITCHEN_SETUP_MIN - 213.0).abs() < 1e-9, "{one} min");
    }

    /// USDA Guide 4 (beans 14 lb a load of 7 quarts, greens 4 lb a quart), Univ. of Maine Extension (greens 1 1/4 lb a
    /// frozen pint), Penn State Extension (beans 2/3 to 1 lb a frozen pint).
    #[test]
    fn published_conversions() {
        let garden = fixture::garden();
        let containers = |id: ProductId, lb: f64| {
            Mass::from_lb(lb) / garden.product(id).garden_mass_per_container()
        };
        assert!((containers(fixture::CANNED_BEANS, 14.0) - 7.0).abs() < 1e-9);
        assert!((2.0 * containers(fixture::FROZEN_GREENS, 25.0) - 20.0).abs() < 1e-9);
        assert!((containers(fixture::CANNED_GREENS, 25.0) - 6.25).abs() < 1e-9);
        let bags = containers(fixture::FROZEN_BEANS, 2.0);
        assert!((4.0 / 3.0 - 1e-9..=1.5).contains(&bags), "{bags}");
        let product = garden.product(fixture::FROZEN_BEANS);
        let method = garden.method(product.method);
        let r = rates(product, method, &garden.household.kitchen, 0);
        assert_eq!(containers_begun(Mass::from_lb(2.0).kg(), &r), 1.5);
    }

    /// An eight-hour day at 174 clock minutes a load holds two loads of greens, 14 quarts, once both are filled.
    #[test]
    fn greens_by_the_load() {
        let two = hours(&[(fixture::CANNED_GREENS, &[("collards", 56.0)])], 3.0);
        let three = hours(&[(fixture::CANNED_GREENS, &[("collards", 84.0)])], 3.0);
        assert!(two < 8.0 && three > 8.0, "{two} {three}");
    }

    #[test]
    fn a_second_cook_helps_the_hands_and_not_the_canner() {
        let list: &[(ProductId, &[(&str, f64)])] =
            &[(fixture::GRATED_ZUCCHINI, &[("zucchini", 10.0)])];
        assert!((hours(list, 2.0) - hours(list, 1.0) / 2.0).abs() < 1e-9);
        let canned: &[(ProductId, &[(&str, f64)])] =
            &[(fixture::CANNED_BEANS, &[("snap bean", 28.0)])];
        let (one, two) = (hours(canned, 1.0), hours(canned, 2.0));
        assert!(two < one && two > 2.0 * 109.0 / 60.0, "{one} {two}");
    }

    #[test]
    fn one_pot_serves_two_crops_with_one_set_up() {
        let together = hours(
            &[
                (fixture::FROZEN_BEANS, &[("snap bean", 3.0)]),
                (fixture::FROZEN_GREENS, &[("kale", 2.0)]),
            ],
            1.0,
        );
        let apart = hours(&[(fixture::FROZEN_BEANS, &[("snap bean", 3.0)])], 1.0)
            + hours(&[(fixture::FROZEN_GREENS, &[("kale", 2.0)])], 1.0);
        // One kitchen set-up and one of the pot less, five minutes more for the change of crop; and nobody waits for the
        // pot while there is another crop to cut.
        let saved = (apart - together) * 60.0;
        assert!((25.0..=40.0).contains(&saved), "{apart} {together}");
    }

    #[test]
    fn shares_add_up_to_the_session() {
        let garden = fixture::garden();
        let kitchen = &garden.household.kitchen;
        let mut all = Vec::new();
        let mut works = Vec::new();
        for (k, id) in [fixture::FROZEN_BEANS, fixture::CANNED_BEANS, fixture::PESTO]
            .into_iter()
            .enumerate()
        {
            let p = garden.product(id);
            let m = garden.method(p.method);
            all.push(rates(p, m, kitchen, setup_group(&garden, &m.setup_group)));
            let mut work = Work {
                product: k as u16,
                ..Work::default()
            };
            work.add(3.0, part_rates(garden.crop(p.parts[0].crop), p, m, kitchen));
            work.containers = containers_begun(work.kg, &all[k]);
            works.push(work);
        }
        let mut share = [0.0; 3];
        let time = session(&all, &works, 1.5, &mut share);
        assert!((share.iter().sum::<f64>() - time.minutes).abs() < 1e-9);
        assert!(share.iter().all(|s| *s > 0.0));
        assert_eq!(session(&all, &[], 1.0, &mut []), SessionTime::default());
    }
}
