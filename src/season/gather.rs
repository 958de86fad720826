//! Gathers the plantings of one draw into the form that the kitchen sees.
//!
//! Sorts by day without comparing, since days are few. Decides nothing.

use super::draw::{EndCause, Outcome, Ready, ReadyKind, SeasonDraw, Spoiled};
use super::kept::{KeptChunk, KeptPlanting};
use super::life::Sheet;
use super::plan::Plan;

/// Amounts of a planting for which there is room from the beginning; the sample's have 3 on average.
const AMOUNTS: usize = 4;

/// Gathers the sheets of one draw into the form that the kitchen sees.
pub(crate) struct Gatherer {
    draw: SeasonDraw,
    /// Amounts in the order in which plantings came; those of one planting lie together.
    loose: Vec<Ready>,
    /// Where the amounts of each planting lie.
    spans: Vec<(u32, u32)>,
    starts: Vec<u32>,
}

impl Gatherer {
    /// Makes an empty one for a plan.
    pub(crate) fn new(plan: &Plan) -> Self {
        let plantings = plan.len();
        let amounts = AMOUNTS * plantings;
        Self {
            draw: SeasonDraw {
                ready: Vec::with_capacity(amounts),
                outcomes: Vec::with_capacity(plantings),
                spoiled: Vec::new(),
            },
            loose: Vec::with_capacity(amounts),
            spans: Vec::with_capacity(plantings),
            starts: vec![0; usize::from(plan.horizon().days) + 2],
        }
    }

    /// Takes the sheet of one planting; plantings come in the garden's order.
    pub(crate) fn take(&mut self, planting: usize, sheet: &Sheet) {
        self.begin_with(planting);
        self.take_another(planting, sheet);
    }

    /// Takes one planting of a kept draw; plantings come in the garden's order.
    pub(crate) fn take_kept(&mut self, planting: usize, kept: &KeptPlanting) {
        self.begin_with(planting);
        let from = self.loose.len() as u32;
        self.loose.extend_from_slice(kept.ready);
        self.draw.spoiled.extend_from_slice(kept.spoiled);
        self.draw.outcomes.push(kept.outcome);
        self.spans.push((from, self.loose.len() as u32));
    }

    /// Empties all that is left of an earlier draw when the first planting comes.
    fn begin_with(&mut self, planting: usize) {
        if planting == 0 {
            self.loose.clear();
            self.draw.outcomes.clear();
            self.draw.spoiled.clear();
            self.spans.clear();
        }
    }

    /// Keeps the draw that was taken in the garden's order; must come before it is finished.
    pub(crate) fn keep_in(&self, kept: &mut KeptChunk) {
        let mut spoiled = self.draw.spoiled.as_slice();
        for (planting, (&(from, until), &outcome)) in
            (0..).zip(self.spans.iter().zip(&self.draw.outcomes))
        {
            let own = spoiled.partition_point(|x| x.planting == planting);
            kept.push(
                &self.loose[from as usize..until as usize],
                &spoiled[..own],
                outcome,
            );
            spoiled = &spoiled[own..];
        }
    }

    /// Takes the sheet of one planting; plantings come in any order.
    pub(crate) fn take_another(&mut self, planting: usize, sheet: &Sheet) {
        let id = u32::try_from(planting).unwrap_or(u32::MAX);
        let from = self.loose.len() as u32;
        // Main food first: the day order below keeps this order within a day.
        for second in [false, true] {
            self.loose.extend(
                sheet
                    .lots
                    .iter()
                    .filter(|lot| lot.second == second)
                    .map(|lot| Ready {
                        day: lot.day,
                        planting: id,
                        second,
                        kind: lot.kind,
                        kg: lot.kg as f32,
                    }),
            );
        }
        self.draw.spoiled.extend(
            sheet
                .spoiled
                .iter()
                .map(|&day| Spoiled { day, planting: id }),
        );
        let outcome = outcome(sheet);
        let outcomes = &mut self.draw.outcomes;
        if outcomes.len() <= planting {
            outcomes.resize(planting + 1, outcome);
            self.spans.resize(planting + 1, (0, 0));
        }
        outcomes[planting] = outcome;
        self.spans[planting] = (from, self.loose.len() as u32);
    }

    /// Sorts the draw by day and then planting, in whatever order the plantings came, and returns it.
    pub(crate) fn finish(&mut self) -> &SeasonDraw {
        self.starts.fill(0);
        for ready in &self.loose {
            self.starts[usize::from(ready.day) + 1] += 1;
        }
        for day in 1..self.starts.len() {
            self.starts[day] += self.starts[day - 1];
        }
        let nothing = Ready {
            day: 0,
            planting: 0,
            second: false,
            kind: ReadyKind::Picking,
            kg: 0.0,
        };
        self.draw.ready.clear();
        self.draw.ready.resize(self.loose.len(), nothing);
        let of_planting = |&(from, until): &(u32, u32)| &self.loose[from as usize..until as usize];
        for ready in self.spans.iter().flat_map(of_planting) {
            let slot = &mut self.starts[usize::from(ready.day)];
            self.draw.ready[*slot as usize] = *ready;
            *slot += 1;
        }
        self.draw
            .spoiled
            .sort_unstable_by_key(|spoiled| (spoiled.day, spoiled.planting));
        &self.draw
    }
}

/// Outcome of one sheet.
fn outcome(sheet: &Sheet) -> Outcome {
    Outcome {
        first: sheet.first,
        last: sheet.last,
        end: sheet.end,
        cause: sheet.cause.unwrap_or(EndCause::Finish),
        kg_possible: sheet.possible_kg as f32,
        kg_ready: sheet.ready_kg as f32,
        kg_lost: sheet.lost_kg as f32,
        kg_second: sheet.second_kg as f32,
        kg_strip: sheet.strip_kg as f32,
    }
}
