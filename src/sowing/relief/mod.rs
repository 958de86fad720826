//! What would help a kitchen that has too much to do: changes tried out by running season and kitchen again, and ranked.
//!
//! Every figure is that of a run with the change made, never an estimate; all runs share their draws, so that what differs
//! is the change and not the luck. Many changes are screened on some draws, the best of each kind ranked on all of them.
//! Knows no words and no files. The choice of what is worth trying is judgement, no source.

mod candidates;
mod change;
mod tried;

pub use change::{Change, Kind};
pub use tried::{Tried, try_out};

use super::beds::{BedFinding, findings};
use crate::garden::Garden;
use crate::garden::preserving::ProductId;
use crate::garden::week::Week;
use crate::kitchen::draw::Went;
use crate::kitchen::forecast::KitchenForecast;
use crate::season::ensemble::Settings;
use crate::season::plan::{self, Plan};
use crate::season::windows::windows;
use chrono::NaiveDate;

/// Most draws that the best are ranked on: what a change takes away is told to a quarter of an hour, and differs by less
/// than that from seasons to seasons, since all share them.
pub const MANY: u32 = 4_000;
/// Draws on which everything is screened; more change the order little and cost time.
const SCREENING_DRAWS: u32 = 250;
/// Draws by which it is told whether a bed would be overfull.
const BED_DRAWS: u32 = 250;
/// Most changes of one kind in the answer.
const MOST_OF_A_KIND: usize = 2;
/// Hours of overload over the season that a change must remove to be worth a word.
const LEAST_HOURS: f64 = 0.1;

/// How overloaded a kitchen is over its season, and what it makes of the food.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Hours beyond what there is, all weeks together, mean over the seasons.
    pub hours_over: f64,
    /// Share of seasons with at least one overloaded week, 0–1.
    pub chance_any_over: f64,
    /// Overloaded weeks in a season, mean.
    pub weeks_over: f64,
    /// Eaten fresh, kg, mean.
    pub fresh_kg: f64,
    /// Given away, pickings given away in the bed included, kg, mean.
    pub given_kg: f64,
    /// Lost or wasted, kg, mean.
    pub lost_kg: f64,
    /// Containers made of each product, mean.
    pub made: Vec<(ProductId, f64)>,
}

/// A change that helps.
#[derive(Debug, Clone, PartialEq)]
pub struct Relieved {
    /// The change.
    pub change: Change,
    /// The season with it made.
    pub after: Figures,
}

/// What would help.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// The season as it is.
    pub before: Figures,
    /// What helps, the most hours removed first.
    pub found: Vec<Relieved>,
    /// Number of changes that were tried.
    pub tried: usize,
    /// Their kinds.
    pub kinds: Vec<Kind>,
}

impl Figures {
    /// Reads the figures off a run.
    #[must_use]
    pub fn of(tried: &Tried) -> Self {
        let KitchenForecast {
            weeks,
            season,
            crops,
            products,
            ..
        } = &tried.found;
        let kg = |kinds: &[Went]| -> f64 {
            let all = crops
                .iter()
                .flat_map(|c| kinds.iter().map(|k| c.kg[*k as usize]));
            all.sum()
        };
        Self {
            hours_over: weeks.iter().map(|w| w.mean_hours_over).sum(),
            chance_any_over: season.chance_any_over,
            weeks_over: season.weeks_over.mean,
            fresh_kg: kg(&[Went::Fresh]),
            given_kg: kg(&[Went::Given]) + tried.gift_kg,
            lost_kg: kg(&[Went::Wasted, Went::LostStanding, Went::LostAway]),
            made: products.iter().map(|p| (p.product, p.made.mean)).collect(),
        }
    }

    /// Returns the containers of a product that were made.
    #[must_use]
    pub fn made_of(&self, product: ProductId) -> f64 {
        let of = self.made.iter().find(|(id, _)| *id == product);
        of.map_or(0.0, |(_, made)| *made)
    }
}

/// Makes a garden ready for so many drawn seasons, as the caller has them count.
pub type Ready<'a> = &'a dyn Fn(&Garden, &Settings) -> Plan;

/// Finds what would relieve the kitchen of a garden, from the given day on.
#[must_use]
pub fn relief(garden: &Garden, as_of: NaiveDate, settings: &Settings, ready: Ready) -> Relief {
    let screening = Settings {
        draws: settings.draws.min(SCREENING_DRAWS),
        ..*settings
    };
    let as_is = try_out(garden, as_of, &[None], &screening, ready).remove(0);
    let changes = candidates::candidates(garden, as_of, &as_is.found);
    let wanted: Vec<Option<&Change>> = changes.iter().map(Some).collect();
    let screened = try_out(garden, as_of, &wanted, &screening, ready);
    let before = Figures::of(&as_is).hours_over;
    let mut order: Vec<(f64, &Change)> = screened
        .iter()
        .zip(&changes)
        .filter(|(tried, change)| holds_true(garden, &as_is, change, tried))
        .map(|(tried, change)| (before - Figures::of(tried).hours_over, change))
        .filter(|(removed, _)| *removed >= LEAST_HOURS / 2.0)
        .collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let best = best_of_each_kind(garden, as_of, &order, &screening);

    let mut last: Vec<Option<&Change>> = vec![None];
    last.extend(best.iter().map(|change| Some(*change)));
    let mut ranked = try_out(garden, as_of, &last, settings, ready).into_iter();
    let before = Figures::of(&ranked.next().expect("the garden as it is comes first"));
    let mut found: Vec<Relieved> = ranked
        .zip(best)
        .map(|(tried, change)| Relieved {
            change: change.clone(),
            after: Figures::of(&tried),
        })
        .filter(|r| before.hours_over - r.after.hours_over >= LEAST_HOURS)
        .collect();
    found.sort_by(|a, b| a.after.hours_over.total_cmp(&b.after.hours_over));
    let mut kinds: Vec<Kind> = changes.iter().map(Change::kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    Relief {
        before,
        found,
        tried: changes.len(),
        kinds,
    }
}

/// Takes the best of each kind that the beds have room for, of changes that are alike only the best.
fn best_of_each_kind<'a>(
    garden: &Garden,
    as_of: NaiveDate,
    order: &[(f64, &'a Change)],
    settings: &Settings,
) -> Vec<&'a Change> {
    let beds = Settings {
        draws: settings.draws.min(BED_DRAWS),
        ..*settings
    };
    let mut overfull_before = None;
    let mut best: Vec<&Change> = Vec::new();
    for (_, change) in order {
        let of_kind = best.iter().filter(|b| b.kind() == change.kind());
        if of_kind.count() >= MOST_OF_A_KIND || best.iter().any(|b| alike(b, change)) {
            continue;
        }
        if change.planting().is_some() && change.kind() != Kind::SowLess {
            let before = *overfull_before.get_or_insert_with(|| overfull(garden, as_of, &beds));
            if overfull(&change.made(garden), as_of, &beds) > before {
                continue;
            }
        }
        best.push(change);
    }
    best
}

/// Says whether two changes are so alike that one of them is enough.
fn alike(a: &Change, b: &Change) -> bool {
    use Change::{Cook, FewerWanted, GiveAway, Quicker, Session};
    // Of stretches the best week and the best longer one.
    let both_weeks = |a: (NaiveDate, NaiveDate), b: (NaiveDate, NaiveDate)| {
        let is_week = |(from, until): (NaiveDate, NaiveDate)| (until - from).num_days() < 7;
        is_week(a) == is_week(b)
    };
    match (a, b) {
        (FewerWanted { goal: a, .. }, FewerWanted { goal: b, .. }) => a == b,
        (Quicker { instead_of: a, .. }, Quicker { instead_of: b, .. }) => a == b,
        (Session { date: a, .. }, Session { date: b, .. }) => Week::of(*a) == Week::of(*b),
        (
            GiveAway { from, until, .. },
            GiveAway {
                from: f, until: u, ..
            },
        )
        | (Cook { from, until }, Cook { from: f, until: u }) => {
            both_weeks((*from, *until), (*f, *u))
        }
        _ => a.kind() == b.kind() && a.planting().is_some() && a.planting() == b.planting(),
    }
}

/// Says whether a trial is what it claims: a product in place of another must take less time for a pound.
fn holds_true(garden: &Garden, as_is: &Tried, change: &Change, tried: &Tried) -> bool {
    let Change::Quicker {
        product,
        instead_of,
        ..
    } = change
    else {
        return true;
    };
    let hours_per_kg = |run: &Tried, id: ProductId| -> Option<f64> {
        let of = run.found.products.iter().find(|p| p.product == id)?;
        let kg = of.made.mean * garden.product(id).garden_mass_per_container().kg();
        (kg > 0.0).then(|| of.hours / kg)
    };
    let (new, old) = (
        hours_per_kg(tried, *product),
        hours_per_kg(as_is, *instead_of),
    );
    new.zip(old).is_some_and(|(new, old)| new < old)
}

/// Counts the stretches in which a bed holds more than it has room for.
fn overfull(garden: &Garden, as_of: NaiveDate, settings: &Settings) -> usize {
    let plan = plan::compile(garden, as_of);
    let mut leaves: Vec<NaiveDate> = (garden.plantings.iter())
        .map(|p| p.cleared.unwrap_or(p.start()))
        .collect();
    for window in windows(&plan, settings) {
        let planting = garden.planting(window.planting);
        if let (None, Some(last)) = (planting.cleared, window.last) {
            leaves[window.planting.0] = last.p50.succ_opt().unwrap_or(last.p50);
        }
    }
    let found = findings(garden, &leaves);
    let too_full = found
        .iter()
        .filter(|f| matches!(f, BedFinding::Overfull { .. }));
    too_full.count()
}
