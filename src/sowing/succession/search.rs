//! Finds a succession: the best sowing first, then the next, then each of them bettered until nothing helps.
//!
//! Counts stop it, never the clock, and ties go to the first, so that the same garden has the same plan everywhere.
//! `improve` goes on from there. What comes of it is compared with all there is on small problems, and with the bound of
//! `bound` on large ones.

use super::ground::Ground;
use super::offer::{Chosen, Field, Offer, Sowing};
use super::problem::Table;
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Most rounds of bettering.
const ROUNDS: usize = 4;
/// Most other offers that are tried in the place of one sowing.
const TRIED: usize = 80;
/// An improvement smaller than this, in kilograms of fresh food, is none.
pub(crate) const LEAST: f64 = 1e-6;

/// A plan being made.
#[derive(Debug, Clone)]
pub(crate) struct Search<'p> {
    pub(super) field: Field<'p>,
    pub(super) beds: Vec<Ground>,
    pub(super) table: Table<'p>,
    /// The sowings.
    pub(crate) plan: Vec<Sowing>,
    /// The standing plantings that go early.
    pub(crate) removed: Vec<usize>,
    /// What each offer would save alone at most.
    pub(super) alone: Vec<f64>,
}

/// An offer with what it saves at most.
struct Bid(f64, usize);

impl PartialEq for Bid {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Bid {}
impl PartialOrd for Bid {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Bid {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0).then(other.1.cmp(&self.1))
    }
}

/// Finds a succession, the sowing that saves most first; `improve` goes on from it.
pub(crate) fn find_greedy(field: Field<'_>) -> Search<'_> {
    let mut search = Search::new(field);
    search.better();
    search
}

impl<'p> Search<'p> {
    /// Begins with no sowing.
    pub(crate) fn new(field: Field<'p>) -> Self {
        let mut search = Self::bare(field, Vec::new());
        search.alone = (0..field.offers.len())
            .into_par_iter()
            .map(|o| search.best(o).map_or(0.0, |(saves, ..)| saves))
            .collect();
        search
    }

    fn bare(field: Field<'p>, alone: Vec<f64>) -> Self {
        Self {
            field,
            beds: field.beds.to_vec(),
            table: Table::new(field.problem),
            plan: Vec::new(),
            removed: Vec::new(),
            alone,
        }
    }

    /// Begins with a plan made in a field with the same offers, as far as it fits; `alone` is what that search knew.
    pub(crate) fn again(field: Field<'p>, chosen: &Chosen, alone: &[f64]) -> Self {
        let mut search = Self::bare(field, alone.to_vec());
        for removal in &chosen.removed {
            search.remove(*removal);
        }
        for sowing in &chosen.plan {
            let offer = &field.offers[sowing.offer];
            let bed = &search.beds[sowing.bed];
            let fits = bed.room(offer.from, offer.until) + 1e-9
                >= f64::from(sowing.units) * offer.m2
                && bed.welcomes(&offer.stay(1))
                && search.allowed(sowing.offer);
            if fits {
                search.sow(*sowing);
            }
        }
        search
    }

    /// Adds sowings and betters them until nothing helps.
    pub(crate) fn better(&mut self) {
        self.add_all();
        for _ in 0..ROUNDS {
            let before = self.cost();
            for at in (0..self.plan.len()).rev() {
                self.better_one(at);
            }
            self.add_all();
            if before - self.cost() < LEAST {
                break;
            }
        }
    }

    /// Returns what is done so far.
    pub(crate) fn chosen(&self) -> Chosen {
        Chosen {
            plan: self.plan.clone(),
            removed: self.removed.clone(),
        }
    }

    /// Returns the cost of the plan, its sowings, their ground and what is cleared for them included.
    pub(crate) fn cost(&self) -> f64 {
        let own: f64 = self.plan.iter().map(|s| self.price(s.offer, s.units)).sum();
        let cleared = self.removed.iter().map(|r| self.field.removals[*r].price);
        self.table.total() + own + cleared.sum::<f64>()
    }

    /// Returns the table under the plan.
    pub(crate) const fn table(&self) -> &Table<'p> {
        &self.table
    }

    /// Returns what is sought in.
    pub(crate) const fn field(&self) -> Field<'p> {
        self.field
    }

    /// Returns the plan bettered in a field that differs a little: lengths first, then more sowings.
    pub(crate) fn changed<'q>(&self, field: Field<'q>) -> Search<'q> {
        let mut changed = Search::again(field, &self.chosen(), &self.alone);
        for at in (0..changed.plan.len()).rev() {
            changed.stretch(at);
        }
        changed.add_all();
        changed
    }

    /// Gives one sowing its best length.
    fn stretch(&mut self, at: usize) {
        let old = self.take_out(at);
        let new = self
            .best_in(old.offer, old.bed)
            .map_or(old.units, |(_, units)| units);
        self.sow(Sowing { units: new, ..old });
    }

    /// Returns what each offer would save alone.
    pub(crate) fn alone(&self) -> &[f64] {
        &self.alone
    }

    /// Forbids some offers, and takes them out of the plan.
    pub(crate) fn forbid(&mut self, offers: &[usize]) {
        for &offer in offers {
            self.alone[offer] = f64::NEG_INFINITY;
            while let Some(at) = self.plan.iter().position(|s| s.offer == offer) {
                self.take_out(at);
            }
        }
    }

    /// Returns the beds under the plan.
    pub(crate) fn beds(&self) -> &[Ground] {
        &self.beds
    }

    /// Says whether an offer finds no room in any bed, so that nothing is known of what it would save.
    pub(crate) fn crowded_out(&self, offer: usize) -> bool {
        self.alone[offer] == 0.0 && self.most(offer) == 0
    }

    fn price(&self, offer: usize, units: u32) -> f64 {
        let prices = self.field.problem.prices;
        prices.sowing + prices.ground * self.field.offers[offer].m2 * f64::from(units)
    }

    pub(crate) fn allowed(&self, offer: usize) -> bool {
        let crop = self.field.offers[offer].crop;
        let same = |s: &&Sowing| self.field.offers[s.offer].crop == crop;
        self.plan.len() < self.field.limits.sowings
            && self.plan.iter().filter(same).count() < self.field.limits.of_crop[crop]
    }

    /// Returns the most units there is room for in any bed.
    pub(crate) fn most(&self, offer: usize) -> u32 {
        let o = &self.field.offers[offer];
        let mut most = 0;
        for bed in self.beds.iter().filter(|b| b.kind == o.kind) {
            let units = units_in(bed, o).min(self.field.limits.units);
            if units > most && bed.welcomes(&o.stay(1)) {
                most = units;
            }
        }
        most
    }

    /// Returns the bed with the least room that is enough.
    pub(crate) fn bed_for(&self, offer: usize, units: u32) -> Option<usize> {
        let o = &self.field.offers[offer];
        (0..self.beds.len())
            .filter(|&b| self.beds[b].kind == o.kind)
            .map(|b| (units_in(&self.beds[b], o), b))
            .filter(|&(room, b)| room >= units && self.beds[b].welcomes(&o.stay(1)))
            .min()
            .map(|(_, b)| b)
    }

    /// Returns what an offer saves at its best length, and that length.
    pub(crate) fn best(&self, offer: usize) -> Option<(f64, u32)> {
        if !self.allowed(offer) {
            return None;
        }
        self.best_within(offer, self.most(offer))
    }

    /// Returns the same for one bed, whatever the number of sowings.
    pub(crate) fn best_in(&self, offer: usize, bed: usize) -> Option<(f64, u32)> {
        let (o, bed) = (&self.field.offers[offer], &self.beds[bed]);
        let most = units_in(bed, o).min(self.field.limits.units);
        if !bed.welcomes(&o.stay(1)) {
            return None;
        }
        self.best_within(offer, most)
    }

    /// Returns what so many units of an offer save as a sowing of their own.
    pub(crate) fn saves(&self, offer: usize, units: u32) -> f64 {
        let changes = self.field.offers[offer].changes(f64::from(units));
        -self.table.difference(&changes) - self.price(offer, units)
    }

    fn best_within(&self, offer: usize, most: u32) -> Option<(f64, u32)> {
        let saves = |units: u32| self.saves(offer, units);
        let mut best = (0.0, 0);
        let mut consider = |units: u32| {
            let saved = saves(units);
            let better = saved > best.0 + LEAST;
            if better {
                best = (saved, units);
            }
            better
        };
        // Savings rise and then fall with length: double, then step back and forth.
        let mut units = 1;
        while units <= most {
            if !consider(units) && units > 4 {
                break;
            }
            units = if units < 4 {
                units + 1
            } else {
                units + units / 2
            };
        }
        if units > most && most > 0 {
            consider(most);
        }
        for step in [-1_i64, 1] {
            let mut units = i64::from(best.1) + step;
            while best.1 > 0 && units >= 1 && units <= i64::from(most) {
                let n = u32::try_from(units).unwrap_or(1);
                let saved = saves(n);
                if saved <= best.0 + LEAST {
                    break;
                }
                best = (saved, n);
                units += step;
            }
        }
        (best.1 > 0).then_some(best)
    }

    pub(crate) fn sow(&mut self, sowing: Sowing) {
        let offer = &self.field.offers[sowing.offer];
        self.table.apply(&offer.changes(f64::from(sowing.units)));
        self.beds[sowing.bed].stays.push(offer.stay(sowing.units));
        self.plan.push(sowing);
    }

    /// Returns how many more units one sowing has room for.
    pub(crate) fn units_more(&self, at: usize) -> u32 {
        let sowing = self.plan[at];
        let room = units_in(&self.beds[sowing.bed], &self.field.offers[sowing.offer]);
        room.min(self.field.limits.units.saturating_sub(sowing.units))
    }

    /// Gives one sowing another length.
    pub(crate) fn resize(&mut self, at: usize, units: u32) {
        let old = self.take_out(at);
        self.sow(Sowing { units, ..old });
        let new = self.plan.pop().expect("it was just sown");
        self.plan.insert(at, new);
    }

    pub(crate) fn take_out(&mut self, at: usize) -> Sowing {
        let sowing = self.plan.remove(at);
        let offer = &self.field.offers[sowing.offer];
        self.table.apply(&offer.changes(-f64::from(sowing.units)));
        let stays = &mut self.beds[sowing.bed].stays;
        let m2 = f64::from(sowing.units) * offer.m2;
        if let Some(k) = stays.iter().rposition(|s| {
            (s.from, s.until, s.family) == (offer.from, offer.until, offer.family)
                && (s.m2 - m2).abs() < 1e-12
        }) {
            stays.remove(k);
        }
        sowing
    }

    /// Adds the sowing that saves most, again and again, until none saves anything.
    fn add_all(&mut self) {
        let mut bids: BinaryHeap<Bid> = self
            .alone
            .iter()
            .enumerate()
            .filter(|(_, saves)| **saves > LEAST)
            .map(|(o, saves)| Bid(*saves, o))
            .collect();
        while let Some(Bid(_, offer)) = bids.pop() {
            let Some((saves, units)) = self.best(offer) else {
                continue;
            };
            if bids.peek().is_some_and(|next| next.0 > saves) {
                bids.push(Bid(saves, offer));
            } else if let Some(bed) = self.bed_for(offer, units) {
                self.sow(Sowing { offer, bed, units });
                bids.push(Bid(saves, offer));
            }
        }
    }

    /// Takes one sowing out and puts the best in its place.
    fn better_one(&mut self, at: usize) {
        let cost = self.cost();
        let old = self.take_out(at);
        let kept = cost - self.cost();
        let crop = self.field.offers[old.offer].crop;
        let near = |o: usize| {
            let offer = &self.field.offers[o];
            offer.crop == crop && (offer.from - self.field.offers[old.offer].from).abs() <= 28
        };
        let mut tried: Vec<usize> = (0..self.field.offers.len())
            .filter(|&o| self.alone[o] > f64::NEG_INFINITY && (near(o) || self.alone[o] > -kept))
            .collect();
        tried.sort_by(|&a, &b| {
            near(b)
                .cmp(&near(a))
                .then(self.alone[b].total_cmp(&self.alone[a]))
                .then(a.cmp(&b))
        });
        tried.truncate(TRIED);
        let found: Vec<Option<(f64, u32)>> = tried.par_iter().map(|&o| self.best(o)).collect();
        let mut best: Option<(f64, Sowing)> = None;
        for (&offer, found) in tried.iter().zip(found) {
            let Some((saves, units)) = found else {
                continue;
            };
            if best.is_none_or(|(b, _)| saves > b + LEAST)
                && let Some(bed) = self.bed_for(offer, units)
            {
                best = Some((saves, Sowing { offer, bed, units }));
            }
        }
        // Kept is negative when the sowing saves.
        match best {
            Some((saves, new)) if saves > -kept + LEAST => self.sow(new),
            _ if kept < LEAST => self.sow(old),
            _ => {}
        }
    }
}

fn units_in(bed: &Ground, offer: &Offer) -> u32 {
    if offer.m2 <= 0.0 {
        return u32::MAX;
    }
    let units = (bed.room(offer.from, offer.until) / offer.m2 + 1e-9).floor();
    units.clamp(0.0, 10_000.0) as u32
}
