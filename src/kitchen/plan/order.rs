//! The order of work in a session, by rule, with a clock.
//!
//! Brine and kettle on first; what runs long on its own next (dryer, canner); raw packs while the pot heats; one pot from
//! the cleanest food to the strongest, so that the water lasts; on one processor what is dry before what is oily; jars
//! sliced and filled; the brine poured last. Common practice, no source. A canner step never carries a number of minutes.

use super::dated::DatedWork;
use crate::garden::Garden;
use crate::garden::crop::FoodGroup;
use crate::garden::preserving::{Appliance, Method, Product, ProductId};
use crate::garden::safety::SafetyColumn;
use crate::kitchen::minutes::{self, KITCHEN_SETUP_MIN, Rates, Work};

/// Of the kitchen's set-up, the minutes that fall at the beginning; the rest is for cleaning (common practice, no source).
const LAY_OUT_MIN: f64 = 5.0;

/// Kinds of steps, in the order in which they are done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Kettle, pot or canner water and brine are put on.
    Start,
    /// Food goes into the dryer.
    Dryer,
    /// Jars are filled and go into the canner.
    Canner,
    /// Food is packed raw for the freezer.
    RawPack,
    /// Food goes through the pot and the ice.
    Pot,
    /// Food goes through the processor.
    Processor,
    /// Food is cut and filled into jars or crocks.
    Jars,
    /// The hot brine is poured.
    PourBrine,
    /// The kitchen is cleaned.
    CleanUp,
}

/// Whether one may stop after a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pause {
    /// One may; what is left keeps in the refrigerator.
    MayStop,
    /// One should not.
    DoNotStop,
    /// Somebody has to stay in the house.
    StayInTheHouse,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Minutes from the beginning of the session.
    pub at_min: f64,
    /// Kind.
    pub kind: Kind,
    /// What is made, if it belongs to one product.
    pub product: Option<ProductId>,
    /// Garden weight, kg; zero for steps without food.
    pub kg: f64,
    /// Batches or loads, if it goes through pot or canner.
    pub batches: Option<f64>,
    /// Whether one may stop afterwards.
    pub pause: Pause,
}

/// One product with what its minutes hang on.
struct Making<'a> {
    work: &'a DatedWork,
    product: &'a Product,
    method: &'a Method,
    kind: Kind,
    rates: Rates,
    minutes: Work,
}

/// Puts the work of one session in order and gives each step its time.
///
/// Shape: the steps in order; the last is the cleaning, and it ends with the session.
#[must_use]
pub fn order(garden: &Garden, work: &[DatedWork], hands: f64) -> Vec<Step> {
    let mut makings: Vec<Making<'_>> = work.iter().map(|w| making(garden, w)).collect();
    if makings.is_empty() {
        return Vec::new();
    }
    makings.sort_by_key(|m| (m.kind, strength(garden, m), oily(m), m.work.product));
    let hands = hands.max(0.1);
    let mut steps = vec![Step {
        at_min: 0.0,
        kind: Kind::Start,
        product: None,
        kg: 0.0,
        batches: None,
        pause: Pause::MayStop,
    }];
    let mut seen: Vec<u16> = Vec::new();
    let mut at = LAY_OUT_MIN / hands;
    let mut busy_until = [0.0_f64; 2];
    for making in &makings {
        let rates = &making.rates;
        let setup = if seen.contains(&rates.setup_group) {
            rates.setup_more_min
        } else {
            seen.push(rates.setup_group);
            rates.setup_min
        };
        let batches = batches(making);
        steps.push(Step {
            at_min: at,
            kind: making.kind,
            product: Some(making.work.product),
            kg: making.minutes.kg,
            batches: matches!(making.kind, Kind::Pot | Kind::Canner).then_some(batches),
            pause: match making.kind {
                Kind::Canner => Pause::StayInTheHouse,
                Kind::Pot | Kind::Jars => Pause::DoNotStop,
                _ => Pause::MayStop,
            },
        });
        let own = setup
            + making.minutes.prep_min
            + rates.per_batch_min * batches
            + rates.per_container_min * making.minutes.containers;
        let begins = at;
        at += own / hands;
        if let Kind::Pot | Kind::Canner = making.kind {
            let queue = &mut busy_until[usize::from(making.kind == Kind::Canner)];
            let first_in = begins + (setup + making.minutes.prep_min / batches) / hands;
            *queue = queue.max(first_in) + batches * rates.clock_min;
        }
    }
    let pours = |m: &Making<'_>| m.method.safety_column == Some(SafetyColumn::FridgePickle);
    let bare = |at_min, kind, pause| Step {
        at_min,
        kind,
        product: None,
        kg: 0.0,
        batches: None,
        pause,
    };
    if makings.iter().any(pours) {
        steps.push(bare(at, Kind::PourBrine, Pause::MayStop));
    }
    let clean = (KITCHEN_SETUP_MIN - LAY_OUT_MIN) / hands;
    let whole = length(&makings, hands);
    let done = at.max(busy_until[0]).max(busy_until[1]);
    let at_min = done.min(whole - clean).max(at);
    steps.push(bare(at_min, Kind::CleanUp, Pause::MayStop));
    steps
}

/// Returns the length of a session, minutes.
#[must_use]
pub fn session_length(garden: &Garden, work: &[DatedWork], hands: f64) -> f64 {
    let makings: Vec<Making<'_>> = work.iter().map(|w| making(garden, w)).collect();
    length(&makings, hands.max(0.1))
}

fn length(makings: &[Making<'_>], hands: f64) -> f64 {
    let rates: Vec<Rates> = makings.iter().map(|m| m.rates).collect();
    let works: Vec<Work> = (makings.iter().zip(0..))
        .map(|(m, product)| Work {
            product,
            ..m.minutes
        })
        .collect();
    minutes::session(&rates, &works, hands, &mut []).minutes
}

fn making<'a>(garden: &'a Garden, work: &'a DatedWork) -> Making<'a> {
    let product = garden.product(work.product);
    let method = garden.method(product.method);
    let kitchen = &garden.household.kitchen;
    let group = minutes::setup_group(garden, &method.setup_group);
    let rates = minutes::rates(product, method, kitchen, group);
    let mut counted = Work::default();
    for (crop, kg) in work.by_crop() {
        let part = minutes::part_rates(garden.crop(crop), product, method, kitchen);
        // A hair less, so that an amount planned to the brim is not counted as one load more.
        counted.add(kg * (1.0 - 1e-5), part);
    }
    counted.containers = minutes::containers_begun(counted.kg, &rates);
    Making {
        work,
        product,
        method,
        kind: kind(method),
        rates,
        minutes: counted,
    }
}

/// Returns the kind of step that a method asks for.
fn kind(method: &Method) -> Kind {
    match (method.appliance, method.safety_column) {
        (Appliance::Dryer, _) => Kind::Dryer,
        (Appliance::Canner, _) => Kind::Canner,
        (Appliance::Pot, _) => Kind::Pot,
        (Appliance::Tray, _) => Kind::RawPack,
        (Appliance::Crock, _) => Kind::Jars,
        (Appliance::None, Some(SafetyColumn::Freeze)) => Kind::Processor,
        (Appliance::None, _) => Kind::Jars,
    }
}

/// Counts batches of the pot or loads of the canner.
fn batches(making: &Making<'_>) -> f64 {
    let fractional = match making.kind {
        Kind::Pot => making.minutes.pot_fills,
        Kind::Canner => making.minutes.containers / making.rates.load_containers,
        _ => 1.0,
    };
    (fractional - 1e-9).ceil().max(1.0)
}

/// Ranks food from clean to strong for one pot of water: pods and fruits, roots, leaves, then onions and their kin.
fn strength(garden: &Garden, making: &Making<'_>) -> u8 {
    let crops = making.work.takes.iter().map(|t| garden.crop(t.crop).group);
    let ranks = crops.map(|group| match group {
        FoodGroup::BeansAndPeas => 0,
        FoodGroup::Fruiting => 1,
        FoodGroup::Roots => 2,
        FoodGroup::SaladLeaves => 3,
        FoodGroup::CookingGreens => 4,
        FoodGroup::Herbs => 5,
        FoodGroup::Alliums => 6,
    });
    ranks.max().unwrap_or(0)
}

/// Says whether a product leaves oil on the processor.
fn oily(making: &Making<'_>) -> bool {
    let bought = making.product.bought_in.as_deref().unwrap_or("");
    bought.contains("oil")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
pub(crate) mod tests {
    use super::*;
    use crate::garden::units::Mass;
    use crate::kitchen::fixture::{self, crop_id, monday};
    use crate::kitchen::plan::dated::DatedTake;

    pub(crate) fn work(product: ProductId, parts: &[(&str, f64)]) -> DatedWork {
        DatedWork {
            date: monday(),
            product,
            takes: parts
                .iter()
                .map(|(crop, lb)| DatedTake {
                    crop: crop_id(crop),
                    picked: monday(),
                    last_day: monday(),
                    kg: Mass::from_lb(*lb).kg(),
                    not_canned: false,
                })
                .collect(),
        }
    }

    fn products(steps: &[Step]) -> Vec<ProductId> {
        steps.iter().filter_map(|s| s.product).collect()
    }

    /// Two evenings of small lots, amounts invented: the order an experienced cook gave.
    #[test]
    fn two_evenings_in_their_order() {
        let garden = fixture::garden();
        let first = [
            work(fixture::RADISH_PICKLE, &[("radish", 3.4), ("onion", 0.6)]),
            work(fixture::FROZEN_GREENS, &[("kale", 2.0)]),
            work(fixture::FROZEN_BEANS, &[("snap bean", 3.0)]),
        ];
        let steps = order(&garden, &first, 1.0);
        assert_eq!(
            products(&steps),
            [
                fixture::FROZEN_BEANS,
                fixture::FROZEN_GREENS,
                fixture::RADISH_PICKLE
            ]
        );
        let kinds: Vec<Kind> = steps.iter().map(|s| s.kind).collect();
        use Kind::{CleanUp, Jars, Pot, PourBrine, Processor, RawPack, Start};
        assert_eq!(kinds, [Start, Pot, Pot, Jars, PourBrine, CleanUp]);
        let second = [
            work(fixture::PESTO, &[("basil", 1.0), ("kale", 0.5)]),
            work(fixture::GRATED_ZUCCHINI, &[("zucchini", 3.0)]),
            work(fixture::FROZEN_OKRA, &[("okra", 1.0)]),
        ];
        let steps = order(&garden, &second, 1.0);
        assert_eq!(
            products(&steps),
            [
                fixture::FROZEN_OKRA,
                fixture::GRATED_ZUCCHINI,
                fixture::PESTO
            ]
        );
        let kinds: Vec<Kind> = steps.iter().map(|s| s.kind).collect();
        assert_eq!(kinds, [Start, RawPack, Processor, Processor, CleanUp]);
        // All of it in one evening: raw packs while the pot heats, the brine last.
        let all = [first.as_slice(), second.as_slice()].concat();
        assert_eq!(
            products(&order(&garden, &all, 1.0)),
            [
                fixture::FROZEN_OKRA,
                fixture::FROZEN_BEANS,
                fixture::FROZEN_GREENS,
                fixture::GRATED_ZUCCHINI,
                fixture::PESTO,
                fixture::RADISH_PICKLE
            ]
        );
        let both = session_length(&garden, &first, 1.0) + session_length(&garden, &second, 1.0);
        assert!((2.75..=4.25).contains(&(both / 60.0)), "{both} min");
    }

    #[test]
    fn the_clock_runs_forward_and_ends_with_the_session() {
        let garden = fixture::garden();
        let all = [
            work(fixture::CANNED_BEANS, &[("snap bean", 28.0)]),
            work(fixture::FROZEN_OKRA, &[("okra", 2.0)]),
            work(fixture::DRIED_OKRA, &[("okra", 2.0)]),
        ];
        for hands in [1.0, 2.0] {
            let steps = order(&garden, &all, hands);
            assert!(steps.windows(2).all(|s| s[0].at_min <= s[1].at_min));
            let last = steps.last().unwrap();
            let ends = last.at_min + (KITCHEN_SETUP_MIN - LAY_OUT_MIN) / hands;
            assert!(ends <= session_length(&garden, &all, hands) + 1e-9);
            assert_eq!(steps[1].kind, Kind::Dryer);
            assert_eq!(steps[2].batches, Some(2.0));
            assert_eq!(steps[2].pause, Pause::StayInTheHouse);
        }
        assert!(order(&garden, &[], 1.0).is_empty());
    }
}
