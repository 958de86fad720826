//! The session card: everything a cook needs who was not there when the session was planned, as values.
//!
//! Short plain sentences and figures; how they are laid out on a page is not known here. Figures of ice, trays and jars:
//! USDA AIB 410 (about a pound of ice for a pound of vegetable) and the National Center for Home Food Preservation (jars
//! rest 12 to 24 hours); trays 2 to 4 hours is common practice, no source.

use super::dated::DatedWork;
use super::order::{Kind, Pause, Step, order, session_length};
use super::words::{amount, clock, words};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::preserving::{Appliance, ProductId, Store};
use crate::garden::safety::SafetyColumn;
use crate::garden::units::Minutes;
use crate::kitchen::minutes;
use chrono::{Days, NaiveDate};

/// Days in a mean Gregorian month.
const MONTH_DAYS: f64 = 365.2425 / 12.0;

/// One printed side for one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Day of the session.
    pub date: NaiveDate,
    /// How long it takes.
    pub length: Minutes,
    /// How long the kitchen is open that day.
    pub open: Minutes,
    /// Cooks.
    pub hands: f64,
    /// What to do the day before.
    pub day_before: Vec<String>,
    /// Order of work.
    pub steps: Vec<CardStep>,
    /// One line for each product's labels.
    pub labels: Vec<Label>,
    /// Food that must not wait beyond a day, the most urgent first.
    pub must_not_wait: Vec<Waits>,
    /// What has to be done afterwards.
    pub follow_ups: Vec<FollowUp>,
    /// Cautions that apply.
    pub cautions: Vec<String>,
}

/// One step with its words.
#[derive(Debug, Clone, PartialEq)]
pub struct CardStep {
    /// Time from the beginning, as hours and minutes.
    pub clock: String,
    /// What to do.
    pub what: String,
    /// Whether one may stop afterwards.
    pub pause: &'static str,
    /// The step itself.
    pub step: Step,
}

/// A label line.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Product.
    pub product: ProductId,
    /// What stands on the label.
    pub name: String,
    /// Number of containers, halves counted as usual for the product.
    pub containers: f64,
    /// Kind of container.
    pub container: String,
    /// What one serves, if said.
    pub portion: Option<String>,
    /// Day it is made.
    pub made_on: NaiveDate,
    /// Day by which it should be used up.
    pub use_by: NaiveDate,
}

/// Food that must not wait.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waits {
    /// Crop.
    pub crop: CropId,
    /// Day it was picked.
    pub picked: NaiveDate,
    /// Last day on which it is fit.
    pub last_day: NaiveDate,
    /// Amount, kg.
    pub kg: f64,
}

/// Something to be done afterwards.
#[derive(Debug, Clone, PartialEq)]
pub struct FollowUp {
    /// Hours after the session.
    pub after_h: f64,
    /// What to do.
    pub what: String,
}

/// Makes the card of one session; all the work must be of one day.
#[must_use]
pub fn card(garden: &Garden, date: NaiveDate, work: &[DatedWork]) -> Card {
    let kitchen = &garden.household.kitchen;
    let hands = kitchen.hands_on(date);
    let in_order = order(garden, work, hands);
    let first_pot = in_order.iter().position(|step| step.kind == Kind::Pot);
    let steps = (in_order.into_iter().enumerate())
        .map(|(at, step)| CardStep {
            clock: clock(step.at_min * kitchen.minutes_factor),
            what: words(
                garden,
                work,
                &step,
                first_pot.is_some_and(|first| first < at),
            ),
            pause: match (step.kind, step.pause) {
                (Kind::Start, _) => "go on",
                (Kind::CleanUp, _) => "done",
                (_, Pause::MayStop) => "may stop here",
                (_, Pause::DoNotStop) => "do not stop",
                (_, Pause::StayInTheHouse) => "stay in the house",
            },
            step,
        })
        .collect();
    let mut must_not_wait: Vec<Waits> = (work.iter().flat_map(|w| &w.takes))
        .map(|t| Waits {
            crop: t.crop,
            picked: t.picked,
            last_day: t.last_day,
            kg: t.kg,
        })
        .collect();
    must_not_wait.sort_by_key(|w| (w.last_day, w.crop, w.picked));
    Card {
        date,
        length: Minutes::from_min(session_length(garden, work, hands) * kitchen.minutes_factor),
        open: kitchen.minutes_on(date),
        hands,
        day_before: day_before(garden, work),
        steps,
        labels: work.iter().map(|w| label(garden, date, w)).collect(),
        must_not_wait,
        follow_ups: follow_ups(garden, work),
        cautions: cautions(garden, work),
    }
}

fn day_before(garden: &Garden, work: &[DatedWork]) -> Vec<String> {
    let mut list = Vec::new();
    let blanched: f64 = (work.iter())
        .filter(|w| garden.product(w.product).blanch.is_some())
        .map(DatedWork::kg)
        .sum();
    if blanched > 0.0 {
        let ice = amount(garden, blanched);
        list.push(format!("Make or buy ice: about {ice}."));
    }
    let method = |w: &&DatedWork| garden.method(garden.product(w.product).method);
    if work.iter().any(|w| method(&w).store == Store::Freezer) {
        list.push("Clear a shelf of the freezer so that packs lie in one layer.".to_owned());
    }
    for w in work {
        let product = garden.product(w.product);
        let canned = method(&w)
            .safety_column
            .is_some_and(SafetyColumn::is_canning);
        if let Some(food) = &product.bought_in {
            list.push(format!("For {}: {food}.", product.name));
        }
        if canned {
            let recipe = product.recipe.as_deref().unwrap_or("the tested recipe");
            list.push(format!(
                "For {}: read {recipe}; {}check the canner, jars and new lids.",
                product.name,
                (product.fixed_amounts.as_ref())
                    .map_or(String::new(), |a| format!("amounts: {a}; "))
            ));
        }
        if method(&w).safety_column == Some(SafetyColumn::FridgePickle) {
            list.push(format!(
                "For {}: vinegar of 5 % acid, salt, clean jars.",
                product.name
            ));
        }
    }
    list
}

fn label(garden: &Garden, date: NaiveDate, work: &DatedWork) -> Label {
    let product = garden.product(work.product);
    let method = garden.method(product.method);
    let rates = minutes::rates(product, method, &garden.household.kitchen, 0);
    let keeps = (product.last_months * MONTH_DAYS).floor().max(0.0) as u64;
    Label {
        product: work.product,
        name: product.name.clone(),
        containers: minutes::containers_begun(work.kg() * (1.0 - 1e-5), &rates),
        container: product.container.clone(),
        portion: product.portion.clone(),
        made_on: date,
        use_by: date + Days::new(keeps),
    }
}

fn follow_ups(garden: &Garden, work: &[DatedWork]) -> Vec<FollowUp> {
    let mut list = Vec::new();
    for w in work {
        let product = garden.product(w.product);
        let method = garden.method(product.method);
        let name = &product.name;
        let canned = method.safety_column.is_some_and(SafetyColumn::is_canning);
        let own = product.follow_up.as_ref().map(|text| FollowUp {
            after_h: product.follow_up_h.unwrap_or(0.0),
            what: format!("{name}: {text}"),
        });
        let usual = || match method.appliance {
            Appliance::Tray => Some((2.0, "bag what is frozen on the trays after 2 to 4 hours")),
            Appliance::Canner if canned => {
                Some((12.0, "check the seals after 12 to 24 hours of rest"))
            }
            Appliance::Dryer => Some((
                product.dry_h.unwrap_or(8.0),
                "empty the dryer, cool and pack",
            )),
            Appliance::Crock => Some((72.0, "skim, and see that all is under the brine")),
            Appliance::Pot | Appliance::None | Appliance::Canner => None,
        };
        list.extend(own.or_else(|| {
            let (after_h, text) = usual()?;
            Some(FollowUp {
                after_h,
                what: format!("{name}: {text}"),
            })
        }));
        if let Some(later) = &product.finish_as {
            list.push(FollowUp {
                after_h: 24.0 * 7.0,
                what: format!("{name}: finish as {later} in a slack week"),
            });
        }
    }
    list.sort_by(|a, b| a.after_h.total_cmp(&b.after_h).then(a.what.cmp(&b.what)));
    list
}

/// Cautions that apply, each once; all defer to the current USDA guide, the NCHFP and the local extension office.
fn cautions(garden: &Garden, work: &[DatedWork]) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    let column = |w: &DatedWork| {
        garden
            .method(garden.product(w.product).method)
            .safety_column
    };
    let any = |test: &dyn Fn(SafetyColumn) -> bool| work.iter().filter_map(column).any(test);
    if any(&SafetyColumn::is_canning) {
        list.push(
            "Canning: only food free of disease and frost, only a tested recipe of the current USDA guide or the National \
             Center for Home Food Preservation for your jar size and altitude; ask the local extension office in doubt."
                .to_owned(),
        );
    }
    if any(&|c| c == SafetyColumn::PressureCan) {
        list.push(
            "Boiling water cannot make plain vegetables safe: pressure canner only.".to_owned(),
        );
    }
    if any(&|c| c == SafetyColumn::FridgePickle) {
        list.push(
            "Refrigerator pickles are not sealed: keep them at 40 °F (4 °C) or below and do not thin the recipe's brine."
                .to_owned(),
        );
    }
    if any(&|c| c == SafetyColumn::Ferment) {
        list.push(
            "Ferments: salt and temperature as in the recipe; discard what is soft, slimy or foul."
                .to_owned(),
        );
    }
    let shorter = |w: &DatedWork| {
        let product = garden.product(w.product);
        let published = product.blanch_published?;
        Some(product.blanch? < published)
    };
    if work.iter().any(|w| shorter(w) == Some(true)) {
        list.push(
            "Blanching shorter than published costs colour and flavour in store, not safety: quality only.".to_owned(),
        );
    }
    for w in work {
        let product = garden.product(w.product);
        if product
            .bought_in
            .as_deref()
            .is_some_and(|b| b.contains("oil"))
        {
            // What the product's own caution says need not be said twice.
            let own = product.caution.as_deref().unwrap_or("");
            let freeze = if own.to_lowercase().contains("same session") {
                ""
            } else {
                "freeze in the same session; "
            };
            list.push(format!(
                "{}: {freeze}never keep herbs or garlic in oil at room temperature.",
                product.name
            ));
        }
        if let Some(caution) = &product.caution {
            list.push(format!("{}: {caution}", product.name));
        }
    }
    let mut once: Vec<String> = Vec::new();
    for caution in list {
        if !once.contains(&caution) {
            once.push(caution);
        }
    }
    once
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::kitchen::checker;
    use crate::kitchen::fixture::{self, monday};
    use crate::kitchen::plan::order::tests::work;

    #[test]
    fn a_card_for_an_evening_of_small_lots() {
        let garden = fixture::garden();
        let evening = [
            work(fixture::RADISH_PICKLE, &[("radish", 3.4), ("onion", 0.6)]),
            work(fixture::FROZEN_GREENS, &[("kale", 2.0)]),
            work(fixture::FROZEN_BEANS, &[("snap bean", 3.0)]),
        ];
        let card = card(&garden, monday(), &evening);
        let told: Vec<String> = (card.steps.iter())
            .map(|s| format!("{} {}", s.clock, s.what))
            .collect();
        assert_eq!(
            told,
            [
                "0:00 Put on the brine of your recipe and a big pot with 3 gal of water; ice in the sink, tables cleared, food out.",
                "0:05 Wash and trim 3 lb of snap bean; blanch in 1 batch, 3 min from when it boils again and as long in the ice; \
                 drain and pack into 2 quart bags (frozen beans).",
                "0:45 Wash and trim 2 lb of kale; blanch in the same water, in 2 batches, each 3 min from when it boils again and as \
                 long in the ice; drain and pack into 1 quart bag (frozen greens).",
                "1:10 Wash and slice 3½ lb of radish and ½ lb of onion, and fill 3 quart jars (radish pickle).",
                "1:45 Pour the hot brine over the jars and close them.",
                "1:45 Clean up and write the labels.",
            ]
        );
        assert_eq!(card.day_before[0], "Make or buy ice: about 5 lb.");
        assert_eq!(card.labels[0].containers, 3.0);
        assert_eq!(card.labels[0].use_by, monday() + Days::new(30));
        assert!(card.cautions.iter().any(|c| c.contains("40 °F")));
        assert_eq!(checker::card::check(&garden, &card), []);
    }

    /// The other evening: raw packs first, zucchini before the oil, and the oil, nuts and garlic named where they go in.
    #[test]
    fn a_card_for_trays_and_processor() {
        let garden = fixture::garden();
        let evening = [
            work(fixture::PESTO, &[("basil", 1.0), ("kale", 0.5)]),
            work(fixture::GRATED_ZUCCHINI, &[("zucchini", 3.0)]),
            work(fixture::FROZEN_OKRA, &[("okra", 1.0)]),
        ];
        let card = card(&garden, monday(), &evening);
        let begins: Vec<&str> = (card.steps.iter())
            .map(|s| s.what.split([',', ';', '.']).next().unwrap())
            .collect();
        assert_eq!(
            begins,
            [
                "Clear the tables",
                "Wash and dry 1 lb of okra",
                "Wash 3 lb of zucchini",
                "Wash 1 lb of basil and ½ lb of kale",
                "Clean up and write the labels",
            ]
        );
        assert!(
            card.steps[3].what.contains("as your recipe says"),
            "{:?}",
            card.steps[3]
        );
        assert!(!card.steps[2].what.contains("recipe"));
        assert_eq!(
            (card.steps[0].pause, card.steps[4].pause),
            ("go on", "done")
        );
        let same = |c: &&String| c.to_lowercase().contains("same session");
        assert_eq!(
            card.cautions.iter().filter(same).count(),
            1,
            "{:?}",
            card.cautions
        );
        assert_eq!(checker::card::check(&garden, &card), []);
    }

    #[test]
    fn a_canner_step_shows_no_bare_minutes() {
        let garden = fixture::garden();
        let day = [work(fixture::CANNED_BEANS, &[("snap bean", 14.0)])];
        let mut card = card(&garden, monday(), &day);
        let step = card.steps.iter().position(|s| s.step.kind == Kind::Canner);
        let step = step.unwrap();
        assert!(
            card.steps[step]
                .what
                .contains("about 1 h 50 of kitchen time")
        );
        assert_eq!(checker::card::check(&garden, &card), []);
        for bare in ["process 25 min", "25 minutes at pressure", "for 25min."] {
            card.steps[step].what = bare.to_owned();
            assert_eq!(checker::card::check(&garden, &card).len(), 1, "{bare}");
        }
    }
}
