//! Food that stands in the bed, oldest first, a queue a crop.
//!
//! Amounts with the last day on which they hold and the day on which they come in at the latest. Knows no kitchen.

use super::calendar::NEVER;

/// Food of one planting that became ready on one day and stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Batch {
    pub(super) planting: u32,
    /// Last day on which it holds.
    pub(super) limit: u16,
    /// Day on which it is brought in at the latest, or never when nobody can.
    pub(super) pick_by: u16,
    pub(super) kg: f64,
}

/// Standing food of one crop, oldest first.
#[derive(Debug, Clone)]
pub(super) struct StandQueue {
    batches: Vec<Batch>,
    /// Sum of the batches, kg.
    pub(super) kg: f64,
    /// Earliest day on which something must happen to it.
    pub(super) due: u16,
}

impl Default for StandQueue {
    fn default() -> Self {
        Self {
            batches: Vec::new(),
            kg: 0.0,
            due: NEVER,
        }
    }
}

impl StandQueue {
    pub(super) fn clear(&mut self) {
        self.batches.clear();
        self.kg = 0.0;
        self.due = NEVER;
    }

    pub(super) fn push(&mut self, batch: Batch) {
        self.due = self
            .due
            .min(batch.pick_by)
            .min(batch.limit.saturating_add(1));
        self.kg += batch.kg;
        self.batches.push(batch);
    }

    /// Returns the last day on which the oldest batch holds.
    pub(super) fn oldest_limit(&self) -> u16 {
        self.batches.first().map_or(NEVER, |b| b.limit)
    }

    /// Returns the last day on which the newest batch holds.
    pub(super) fn newest_limit(&self) -> u16 {
        self.batches.last().map_or(0, |b| b.limit)
    }

    /// Takes up to an amount, oldest first, and returns what was taken, kg.
    pub(super) fn take(&mut self, want_kg: f64) -> f64 {
        let mut left = want_kg;
        let mut gone = 0;
        for b in &mut self.batches {
            if left <= 0.0 {
                break;
            }
            let t = b.kg.min(left);
            b.kg -= t;
            left -= t;
            gone += usize::from(b.kg <= 0.0);
        }
        if gone > 0 {
            self.batches.retain(|b| b.kg > 0.0);
        }
        self.recount();
        want_kg - left.max(0.0)
    }

    /// Removes the batches that a test picks out and returns their sum, kg.
    pub(super) fn remove(&mut self, picks_out: impl Fn(&Batch) -> bool) -> f64 {
        let mut sum = 0.0;
        self.batches.retain(|b| {
            let out = picks_out(b);
            if out {
                sum += b.kg;
            }
            !out
        });
        if sum > 0.0 {
            self.recount();
        }
        sum
    }

    fn recount(&mut self) {
        self.kg = self.batches.iter().map(|b| b.kg).sum();
        let dues = self
            .batches
            .iter()
            .map(|b| b.pick_by.min(b.limit.saturating_add(1)));
        self.due = dues.min().unwrap_or(NEVER);
    }
}
