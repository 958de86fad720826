//! Gathers the plantings of one draw into the form that the kitchen sees.
//!
//! Sorts by day without comparing, since days are few. Decides nothing.

use super::draw::{EndCause, Outcome, Ready, ReadyKind, SeasonDraw, Spoiled};
use super::life::Sheet;
use super::plan::Plan;

/// Gathers the sheets of one draw into the form that the kitchen sees.
pub(crate) struct Gatherer {
    draw: SeasonDraw,
    loose: Vec<Ready>,
    starts: Vec<u32>,
}

impl Gatherer {
    /// Makes an empty one for a plan.
    pub(crate) fn new(plan: &Plan) -> Self {
        Self {
            draw: SeasonDraw::default(),
            loose: Vec::new(),
            starts: vec![0; usize::from(plan.horizon().days) + 2],
        }
    }

    /// Takes the sheet of one planting; plantings come in the garden's order.
    pub(crate) fn take(&mut self, planting: usize, sheet: &Sheet) {
        if planting == 0 {
            self.loose.clear();
            self.draw.outcomes.clear();
            self.draw.spoiled.clear();
        }
        self.take_another(planting, sheet);
    }

    /// Takes the sheet of one planting; plantings come in any order.
    pub(crate) fn take_another(&mut self, planting: usize, sheet: &Sheet) {
        let id = u32::try_from(planting).unwrap_or(u32::MAX);
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
        }
        outcomes[planting] = outcome;
    }

    /// Sorts the draw by day and then planting, and returns it.
    pub(crate) fn finish_unsorted(&mut self) -> &SeasonDraw {
        self.loose
            .sort_by_key(|ready| (ready.planting, ready.second));
        self.draw.spoiled.sort_by_key(|spoiled| spoiled.planting);
        self.finish()
    }

    /// Sorts the draw by day and returns it.
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
        for ready in &self.loose {
            let slot = &mut self.starts[usize::from(ready.day)];
            self.draw.ready[*slot as usize] = *ready;
            *slot += 1;
        }
        self.draw.spoiled.sort_by_key(|spoiled| spoiled.day);
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
