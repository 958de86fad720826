//! Standing plantings cleared before their time, where what is sown in their place is worth more than what is lost.
//!
//! Those that promise most with the best single sowing behind them are looked at closely: cleared, sown again, and kept
//! cleared if the plan as a whole is better.

use super::offer::Chosen;
use super::search::{LEAST, Search};
use rayon::prelude::*;

/// Most plantings that a plan clears early (judgement: more is another garden than the one that was planned).
const CLEARED: usize = 4;
/// Plantings looked at closely at a time.
const CLOSELY: usize = 3;

/// Clearings up to which all of them are tried with nothing sown yet.
const FEW: usize = 8;

/// Offers times sowings up to which clearing is tried with nothing sown yet too: few offers, or few sowings asked for. With
/// more it gained less than a hundredth and took up to twice the time.
const FROM_BARE: usize = 2_000;

/// What clearing one planting promises.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Hope {
    /// What it saves in all, kg of fresh food missed.
    pub(crate) saves: f64,
    /// The offer that follows.
    pub(crate) offer: usize,
    /// Units of it.
    pub(crate) units: u32,
}

impl Search<'_> {
    /// Clears a standing planting early.
    pub(crate) fn remove(&mut self, removal: usize) {
        let r = &self.field.removals[removal];
        self.table.apply(&r.changes());
        let stay = &mut self.beds[r.bed].stays[r.stay];
        *stay = r.left(stay);
        self.removed.push(removal);
    }

    /// Clears standing plantings, one after the other, as long as that is better.
    pub(crate) fn clear_early(&mut self) {
        while self.removed.len() < CLEARED {
            let mut least = self.cost() - LEAST;
            let mut best = None;
            let mut consider = |other: Self, r: usize| {
                if other.followed(r) && other.cost() < least {
                    least = other.cost() - LEAST;
                    best = Some(other);
                }
            };
            for r in self.promising() {
                let mut other = self.clone();
                other.remove(r);
                other.look_again(self.field.removals[r].bed);
                other.better();
                consider(other, r);
            }
            if self.field.choices() <= FROM_BARE {
                // With nothing sown yet other plantings promise most, and what is sown then may be all different: so above
                // all where no more sowings are allowed than the plan has.
                let bare = Chosen {
                    plan: Vec::new(),
                    removed: self.removed.clone(),
                };
                let bare = Search::again(self.field, &bare, &self.alone);
                for r in bare.promising() {
                    let mut other = bare.clone();
                    other.remove(r);
                    other.look_again(self.field.removals[r].bed);
                    other.better();
                    other.improve();
                    consider(other, r);
                }
            }
            match best {
                Some(best) => *self = best,
                None => break,
            }
        }
        self.let_stand();
    }

    /// Returns the clearings of different plantings that promise most.
    fn promising(&self) -> Vec<usize> {
        let removals = self.field.removals;
        let mut hopes: Vec<(f64, usize)> = (0..removals.len())
            .into_par_iter()
            .filter_map(|r| self.hope(r).map(|hope| (hope.saves, r)))
            .filter(|(saves, _)| *saves > LEAST)
            .collect();
        hopes.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let mut seen: Vec<usize> = Vec::new();
        hopes.retain(|(_, r)| {
            let planting = removals[*r].planting;
            let new = !seen.contains(&planting);
            seen.push(planting);
            new
        });
        // Where there are few, what two sowings together are worth is looked at too, which no single one promises.
        if self.plan.is_empty() && removals.len() <= FEW {
            return (0..removals.len()).filter(|&r| self.stands(r)).collect();
        }
        hopes.truncate(CLOSELY);
        hopes.into_iter().map(|(_, r)| r).collect()
    }

    /// Leaves standing what nothing follows, and what need not go for the sowings there are.
    pub(crate) fn let_stand(&mut self) {
        for removal in self.removed.clone() {
            let mut chosen = self.chosen();
            chosen.removed.retain(|r| *r != removal);
            let other = Search::again(self.field, &chosen, &self.alone);
            let as_well = other.plan.len() == self.plan.len() && other.cost() < self.cost() - LEAST;
            if as_well || !self.followed(removal) {
                *self = other;
            }
        }
    }

    /// Says whether something is sown in the place of what was cleared, before it would have gone by itself.
    pub(crate) fn followed(&self, removal: usize) -> bool {
        let r = &self.field.removals[removal];
        let stood_until = self.field.beds[r.bed].stays[r.stay].until;
        self.plan.iter().any(|s| {
            let from = self.field.offers[s.offer].from;
            s.bed == r.bed && (r.at..stood_until).contains(&from)
        })
    }

    /// Returns what the plan would miss more if a planting that it clears stood, kg: what has no room then is not sown.
    pub(crate) fn worth_clearing(&self, removal: usize) -> f64 {
        let mut chosen = self.chosen();
        chosen.removed.retain(|r| *r != removal);
        Search::again(self.field, &chosen, &self.alone).cost() - self.cost()
    }

    /// Says whether what a removal would clear stands under the plan.
    fn stands(&self, removal: usize) -> bool {
        let removals = self.field.removals;
        let planting = removals[removal].planting;
        !(self.removed.iter()).any(|k| removals[*k].planting == planting)
    }

    /// Returns what clearing a planting promises with the best sowing behind it; none if it is gone or nothing follows.
    pub(crate) fn hope(&self, removal: usize) -> Option<Hope> {
        let removals = self.field.removals;
        let r = &removals[removal];
        if !self.stands(removal) {
            return None;
        }
        let stood_until = self.beds[r.bed].stays[r.stay].until;
        let mut without = self.clone();
        without.remove(removal);
        let loss = without.cost() - self.cost();
        let mut best: Option<(f64, u32, usize)> = None;
        for (o, offer) in self.field.offers.iter().enumerate() {
            let follows =
                offer.kind == self.beds[r.bed].kind && (r.at..stood_until).contains(&offer.from);
            let least = best.map_or(0.0, |b| b.0);
            if follows
                && (self.alone[o] > least || self.crowded_out(o))
                && without.allowed(o)
                && let Some((saves, units)) = without.best_in(o, r.bed)
                && saves > least
            {
                best = Some((saves, units, o));
            }
        }
        best.map(|(saves, units, offer)| Hope {
            saves: saves - loss,
            offer,
            units,
        })
    }

    /// Finds out what offers would save that found no room before a bed got some.
    fn look_again(&mut self, bed: usize) {
        let kind = self.beds[bed].kind;
        let news: Vec<(usize, f64)> = (0..self.field.offers.len())
            .into_par_iter()
            .filter(|&o| self.alone[o] == 0.0 && self.field.offers[o].kind == kind)
            .map(|o| (o, self.best(o).map_or(0.0, |(saves, _)| saves)))
            .collect();
        for (o, saves) in news {
            self.alone[o] = saves;
        }
    }
}
