//! The kitchen's books: what came in equals what went out, in every draw.
//!
//! Kept apart from the flows, kilogram by kilogram, so that a forgotten flow shows.

/// Sums of one draw, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Books {
    /// What the season made ready, the past included.
    pub ready: f64,
    /// What waited when the kitchen began.
    pub waiting_before: f64,
    /// What was ready before the kitchen began and is no longer there.
    pub past: f64,
    /// Eaten fresh.
    pub fresh: f64,
    /// Put by.
    pub put_by: f64,
    /// Given away.
    pub given: f64,
    /// Wasted.
    pub wasted: f64,
    /// Lost standing.
    pub lost_standing: f64,
    /// Lost because nobody was there.
    pub lost_away: f64,
    /// Waiting in the kitchen at the end.
    pub on_hand: f64,
    /// Standing at the end.
    pub standing: f64,
}

impl Books {
    /// Returns what came in, kg.
    #[must_use]
    pub fn came_in(&self) -> f64 {
        self.ready + self.waiting_before
    }
    /// Returns what went out or is still there, kg.
    #[must_use]
    pub fn went_out(&self) -> f64 {
        self.past
            + self.fresh
            + self.put_by
            + self.given
            + self.wasted
            + self.lost_standing
            + self.lost_away
            + self.on_hand
            + self.standing
    }
    /// Says whether both sides agree to a billionth.
    #[must_use]
    pub fn balance(&self) -> bool {
        (self.came_in() - self.went_out()).abs() <= 1e-9 * self.came_in().max(1.0)
    }
}
