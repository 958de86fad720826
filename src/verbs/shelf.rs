//! Words and tables about what is put by that several verbs share: goals, cautions, what is getting old.

use crate::garden::Garden;
use crate::garden::preserving::{ProductId, Store};
use crate::garden::safety::SafetyColumn;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::keeping::Batch;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use chrono::NaiveDate;

/// Whom to follow for safe preserving.
const FOLLOW: &str = "follow the current USDA Complete Guide to Home Canning, the National Center for Home Food \
                      Preservation and your local extension office.";

/// Returns the goals in order of preference, with what will be there and the chance of reaching them.
pub(super) fn goals(found: &KitchenForecast) -> Table {
    let mut table = Table::new(vec![
        Column::text("goal", "Goal, in your order"),
        Column::figure("wanted", "Wanted"),
        Column::figure("p50", "Will be there"),
        Column::text("range", "8 in 10 between"),
        Column::figure("chance", "Reached in"),
    ])
    .titled("Containers by the day you want them, what is in store included");
    for goal in &found.goals {
        table.push(vec![
            Cell::text(goal.products.join(" or ")),
            Cell::maybe(goal.wanted, Cell::Containers),
            Cell::Containers(goal.containers.p50),
            Cell::text(rounding::containers_range(
                goal.containers.p10,
                goal.containers.p90,
            )),
            Cell::maybe(goal.chance, Cell::Chance),
        ]);
    }
    table
}

/// Returns the cautions that apply to products that are made, each once.
pub(super) fn cautions(garden: &Garden, made: impl Iterator<Item = ProductId>) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let mut canned = false;
    for product in made {
        let row = garden.product(product);
        canned |= column(garden, product).is_some_and(SafetyColumn::is_canning);
        if let Some(caution) = &row.caution
            && !said.contains(caution)
        {
            said.push(caution.clone());
        }
    }
    if canned {
        said.insert(
            0,
            "Canning: only by a tested recipe, for your jar size and your altitude; the hours here are planning time, \
             never a process time."
                .to_owned(),
        );
    }
    if !said.is_empty() {
        said.push(format!("For safe preserving {FOLLOW}"));
    }
    said
}

/// Returns the caution of one sentence for a page without room for each product's own, if any product has one.
pub(super) fn caution_in_short(
    garden: &Garden,
    made: impl Iterator<Item = ProductId>,
) -> Option<String> {
    let mut any = false;
    let mut canned = false;
    for product in made {
        any |= garden.product(product).caution.is_some();
        canned |= column(garden, product).is_some_and(SafetyColumn::is_canning);
    }
    if canned {
        Some(
            "Can only by a tested recipe, for your jar size and altitude; follow the current USDA guide, the National \
             Center for Home Food Preservation and your extension office."
                .to_owned(),
        )
    } else {
        any.then(|| {
            "For safe preserving follow the current USDA guide, the NCHFP and your extension office."
                .to_owned()
        })
    }
}

fn column(garden: &Garden, product: ProductId) -> Option<SafetyColumn> {
    garden.method(garden.product(product).method).safety_column
}

/// What should become of containers that are getting old.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Fate {
    /// Kept in the refrigerator beyond its time: not to be eaten any more.
    PourAway,
    /// From the cellar and beyond its time: look through it.
    LookThrough,
    /// Beyond its time in freezer or pantry: use it up now.
    UseUp,
    /// Past its best days, or soon: eat it before the rest.
    EatFirst,
}

impl Fate {
    /// Every fate, the most pressing first.
    pub(super) const ALL: [Self; 4] = [
        Self::PourAway,
        Self::LookThrough,
        Self::UseUp,
        Self::EatFirst,
    ];

    /// Returns the fate as a machine's word.
    pub(super) const fn key(self) -> &'static str {
        match self {
            Self::PourAway => "pour_away",
            Self::LookThrough => "look_through",
            Self::UseUp => "use_up",
            Self::EatFirst => "eat_first",
        }
    }

    /// Returns the words that open its sentence.
    const fn words(self) -> &'static str {
        match self {
            Self::PourAway => "Pour away, too old for the refrigerator",
            Self::LookThrough => "Look through, and throw out what is soft or sprouting",
            Self::UseUp => "Past its time, use up now",
            Self::EatFirst => "Eat first",
        }
    }
}

/// Says what should become of a batch, if it is past its best or will be by a day.
pub(super) fn fate(batch: &Batch, today: NaiveDate, soon: NaiveDate) -> Option<Fate> {
    if batch.last_day < today {
        Some(match batch.store {
            Store::Fridge => Fate::PourAway,
            Store::Cellar => Fate::LookThrough,
            Store::Freezer | Store::Pantry => Fate::UseUp,
        })
    } else {
        (batch.best_until <= soon).then_some(Fate::EatFirst)
    }
}

/// Containers of one product that share a fate.
struct Old {
    product: ProductId,
    last_day: NaiveDate,
    oldest: NaiveDate,
    batches: usize,
    containers: f64,
}

/// Returns one sentence a fate, naming up to so many products, those that end soonest first.
pub(super) fn getting_old(
    garden: &Garden,
    batches: &[Batch],
    today: NaiveDate,
    soon: NaiveDate,
    most: usize,
) -> Vec<String> {
    let mut sentences = Vec::new();
    for wanted in Fate::ALL {
        let mut rows: Vec<Old> = Vec::new();
        for b in batches {
            if fate(b, today, soon) != Some(wanted) {
                continue;
            }
            match rows.iter_mut().find(|row| row.product == b.product) {
                Some(row) => {
                    row.batches += 1;
                    row.containers += b.containers;
                }
                // The oldest of a product comes first.
                None => rows.push(Old {
                    product: b.product,
                    last_day: b.last_day,
                    oldest: b.made,
                    batches: 1,
                    containers: b.containers,
                }),
            }
        }
        if rows.is_empty() {
            continue;
        }
        rows.sort_by_key(|row| (row.last_day, row.product));
        let mut named: Vec<String> = rows
            .iter()
            .take(most)
            .map(|row| {
                format!(
                    "{} {} ({} {})",
                    garden.product(row.product).name,
                    rounding::half_containers(row.containers),
                    if row.batches > 1 { "oldest" } else { "made" },
                    dates::with_year(row.oldest)
                )
            })
            .collect();
        if rows.len() > most {
            named.push(format!("and {} more", rows.len() - most));
        }
        sentences.push(format!("{}: {}.", wanted.words(), named.join(", ")));
    }
    sentences
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn batch(store: Store) -> Batch {
        Batch {
            product: ProductId(0),
            store,
            made: "2026-01-01".parse().unwrap(),
            containers: 1.0,
            best_until: "2026-03-01".parse().unwrap(),
            last_day: "2026-04-01".parse().unwrap(),
            litres: 1.0,
        }
    }

    #[test]
    fn only_the_refrigerator_is_poured_away() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        for (store, today, soon, want) in [
            (Store::Fridge, "2026-02-01", "2026-02-14", None),
            (
                Store::Fridge,
                "2026-02-20",
                "2026-03-01",
                Some(Fate::EatFirst),
            ),
            (
                Store::Fridge,
                "2026-04-01",
                "2026-04-14",
                Some(Fate::EatFirst),
            ),
            (
                Store::Fridge,
                "2026-04-02",
                "2026-04-14",
                Some(Fate::PourAway),
            ),
            (
                Store::Freezer,
                "2026-04-02",
                "2026-04-14",
                Some(Fate::UseUp),
            ),
            (Store::Pantry, "2026-04-02", "2026-04-14", Some(Fate::UseUp)),
            (
                Store::Cellar,
                "2026-04-02",
                "2026-04-14",
                Some(Fate::LookThrough),
            ),
        ] {
            let got = fate(&batch(store), day(today), day(soon));
            assert_eq!(got, want, "{store:?} {today}");
        }
    }
}
