//! What the last dates would have given in the recorded falls: in how many they fed the household, and the worst.

use super::dates::{Answer, Question};
use super::dates_tried::{Candidate, garden_of};
use crate::season::plan;
use crate::season::recorded_falls::recorded_falls;
use crate::season::trials::HALF;

/// Recorded falls that are looked at.
const FALLS: usize = 10;

/// How one last date did in the recorded falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fed {
    /// Falls looked at.
    pub falls: usize,
    /// Falls with at least half a harvest in time.
    pub fed: usize,
    /// The worst year.
    pub worst: i32,
    /// Share of a whole harvest in it.
    pub worst_share: f64,
}

/// Returns how the date to keep to of each row did, in the order of the rows; none where baby leaves are all that is
/// promised, and nothing at all without a record.
#[must_use]
pub fn fed(question: &Question, answer: &Answer) -> Vec<Option<Fed>> {
    let candidates: Vec<Candidate> = answer
        .rows
        .iter()
        .map(|row| Candidate {
            crop: row.crop,
            set_out: row.set_out,
            bed: row.bed,
            baby: false,
            date: row.last.date,
            cleared: None,
        })
        .collect();
    let trial = garden_of(question.garden, &question.beds, &candidates);
    let plan = plan::compile(&trial, question.as_of);
    let falls = recorded_falls(&plan, answer.until, FALLS);
    answer
        .rows
        .iter()
        .enumerate()
        .map(|(k, row)| {
            row.half?;
            let worst = falls
                .iter()
                .min_by(|a, b| a.shares[k].total_cmp(&b.shares[k]))?;
            Some(Fed {
                falls: falls.len(),
                fed: falls.iter().filter(|fall| fall.shares[k] >= HALF).count(),
                worst: worst.year,
                worst_share: worst.shares[k],
            })
        })
        .collect()
}
