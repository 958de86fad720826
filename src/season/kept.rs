//! Seasons that were drawn once and are kept, so that they can be put in other places without being drawn anew.
//!
//! Weighing the draws by pickings needs every season before anybody lives through one; what it needed then serves again.
//! Keeps what became ready and how plantings ended, nothing of the weather. Decides nothing.

use super::draw::{Outcome, Ready, Spoiled};
use super::ensemble::Settings;
use super::plan::Plan;

/// Plantings times draws above which seasons are drawn anew rather than kept: about a hundred megabytes.
const MOST: usize = 1_500_000;

/// Every season of a plan, chunk by chunk.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub(crate) settings: Settings,
    pub(crate) chunks: Vec<KeptChunk>,
}

impl Kept {
    /// Says whether so many seasons of a plan are few enough to be kept.
    pub(crate) fn fits(plan: &Plan, settings: &Settings) -> bool {
        plan.len().saturating_mul(settings.draws as usize) <= MOST
    }
}

/// The draws of one chunk, planting by planting in the garden's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct KeptChunk {
    ready: Vec<Ready>,
    spoiled: Vec<Spoiled>,
    /// Shape: draws × plantings, as the following.
    outcomes: Vec<Outcome>,
    /// Where the amounts and the spoiled days of each planting end; they begin where those before it end.
    ends: Vec<(u32, u32)>,
}

/// One planting in one kept draw.
pub(crate) struct KeptPlanting<'a> {
    pub(crate) ready: &'a [Ready],
    pub(crate) spoiled: &'a [Spoiled],
    pub(crate) outcome: Outcome,
}

impl KeptChunk {
    /// Keeps the next planting.
    pub(crate) fn push(&mut self, ready: &[Ready], spoiled: &[Spoiled], outcome: Outcome) {
        self.ready.extend_from_slice(ready);
        self.spoiled.extend_from_slice(spoiled);
        self.outcomes.push(outcome);
        self.ends
            .push((self.ready.len() as u32, self.spoiled.len() as u32));
    }

    /// Returns a planting by its number among all of the chunk: draw times plantings, and its own.
    pub(crate) fn at(&self, number: usize) -> KeptPlanting<'_> {
        let start = number.checked_sub(1).map_or((0, 0), |n| self.ends[n]);
        let end = self.ends[number];
        KeptPlanting {
            ready: &self.ready[start.0 as usize..end.0 as usize],
            spoiled: &self.spoiled[start.1 as usize..end.1 as usize],
            outcome: self.outcomes[number],
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::draw::SeasonDraw;
    use crate::season::ensemble::{run, run_and_keep};
    use crate::season::fixture::{self, date};
    use crate::season::plan::compile;
    use std::sync::Arc;

    /// Kept or drawn anew, moved or not: the same seasons.
    #[test]
    fn kept_seasons_are_those_drawn_anew() {
        let garden = fixture::year();
        let settings = Settings {
            draws: 303,
            seed: 4,
        };
        let list = |list: &mut Vec<SeasonDraw>, _, draw: &SeasonDraw| list.push(draw.clone());
        let mut plan = compile(&garden, date("2026-03-01"));
        let drawn = run(&plan, &settings, |_| Vec::new(), list).concat();
        let (chunks, kept) = run_and_keep(&plan, &settings, |_| Vec::new(), list);
        assert!(chunks.concat() == drawn);

        let order: Vec<u32> = (0..303)
            .map(|i| if i < 250 { 249 - i } else { 251 })
            .collect();
        let crop = garden.plantings[1].crop;
        plan.move_draws(&[(vec![crop], order)], String::new());
        let anew = run(&plan, &settings, |_| Vec::new(), list).concat();
        assert!(anew != drawn);
        assert!(
            anew.iter().any(|draw| !draw.spoiled.is_empty()),
            "some cold to sort"
        );
        plan.keep(Arc::new(kept.unwrap()));
        assert!(run(&plan, &settings, |_| Vec::new(), list).concat() == anew);

        // Other draws than those kept are drawn.
        let fewer = Settings {
            draws: 200,
            ..settings
        };
        assert_eq!(run(&plan, &fewer, |_| Vec::new(), list).concat().len(), 200);
    }
}
