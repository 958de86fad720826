//! How good forecasts were by how far ahead they looked, over several origins.

use super::compare::{Comparison, Row, Scores, scores};

/// Weeks ahead that are shown together: first and last of each, both included.
const STRETCHES: [(i64, i64); 7] = [
    (0, 0),
    (1, 1),
    (2, 2),
    (3, 4),
    (5, 8),
    (9, 16),
    (17, i64::MAX),
];

/// Scores of all weeks that lay equally far ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct AheadScores {
    /// Fewest weeks ahead; zero is the week in which the forecast was made.
    pub from: i64,
    /// Most weeks ahead that occurred.
    pub until: i64,
    /// The scores.
    pub scores: Scores,
}

/// Returns the scores of several forecasts by weeks ahead, nearest first; distances without a scored week are left out.
#[must_use]
pub fn by_weeks_ahead(comparisons: &[Comparison]) -> Vec<AheadScores> {
    let rows = comparisons.iter().flat_map(|c| &c.rows);
    STRETCHES
        .iter()
        .filter_map(|&(from, last)| {
            let inside = |row: &&Row| (from..=last).contains(&row.weeks_ahead);
            let own = rows.clone().filter(inside);
            let until = own
                .clone()
                .filter(|row| row.score.is_some())
                .map(|row| row.weeks_ahead)
                .max()?;
            Some(AheadScores {
                from,
                until,
                scores: scores(own),
            })
        })
        .collect()
}
