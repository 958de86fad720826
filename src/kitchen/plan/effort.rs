//! How hard the planner tries: kinds of stretches, their nodes and sweeps. Counts only, never seconds.

/// How hard to try.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// The first passage, in which each stretch settles its first weeks.
    pub first: Stage,
    /// Sweeps of overlapping stretches, one kind after the other.
    pub then: [Stage; 3],
    /// Relative gap at which a stretch counts as solved.
    pub gap: f64,
    /// Steps of the simplex method times rows after which stretches are not solved again: about as many seconds on every
    /// size of problem, and the same plan on every machine.
    pub toil: u64,
    /// Weeks planned apart in the bound.
    pub bound_weeks: i32,
    /// Most nodes for one stretch of the bound.
    pub bound_nodes: u64,
    /// Rounds of the bound; none for no bound.
    pub bound_rounds: usize,
}

/// One kind of stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Weeks in a stretch.
    pub weeks: i32,
    /// Weeks by which the next stretch begins later.
    pub step_weeks: i32,
    /// Most nodes for one stretch.
    pub nodes: u64,
    /// Most sweeps.
    pub sweeps: usize,
    /// Into how many sets the products are split, of which one at a time is decided anew; one for all together.
    pub sets: usize,
}

impl Effort {
    /// The usual effort: good plans of a season in seconds.
    pub const USUAL: Self = Self {
        first: Stage {
            weeks: 4,
            step_weeks: 2,
            nodes: 1000,
            sweeps: 1,
            sets: 1,
        },
        then: [
            Stage {
                weeks: 3,
                step_weeks: 1,
                nodes: 500,
                sweeps: 3,
                sets: 1,
            },
            Stage {
                weeks: 8,
                step_weeks: 4,
                nodes: 300,
                sweeps: 2,
                sets: 3,
            },
            Stage {
                weeks: 4,
                step_weeks: 2,
                nodes: 3000,
                sweeps: 1,
                sets: 1,
            },
        ],
        gap: 0.002,
        toil: 295_000_000,
        bound_weeks: 3,
        bound_nodes: 1000,
        bound_rounds: 6,
    };
}

impl Default for Effort {
    fn default() -> Self {
        Self::USUAL
    }
}
