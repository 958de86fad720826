//! Which stretches of weeks are solved again, and which of them at the same time.
//!
//! Knows weeks and sessions, not what is made in them.

/// Some weeks, and which set of products is decided anew in them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// First week, counted from the first session's.
    pub(super) week: i32,
    pub(super) weeks: i32,
    /// First session.
    pub(super) from: usize,
    /// First session after it.
    pub(super) to: usize,
    pub(super) set: usize,
}

impl Stretch {
    /// Says whether there are more than so many weeks between two stretches.
    pub(super) fn apart(self, other: Self, weeks: i32) -> bool {
        (self.week - other.week).abs() > self.weeks + weeks
    }
}

/// Most stretches solved at the same time.
const AT_ONCE: usize = 4;

/// Takes from those that wait the next stretches to be solved, all apart from one another.
pub(super) fn next(stretches: &[Stretch], stale: &[bool], waiting: &mut Vec<usize>) -> Vec<usize> {
    let mut chosen: Vec<usize> = Vec::new();
    waiting.retain(|&index| {
        let apart = |&other: &usize| stretches[index].apart(stretches[other], 1);
        let take = stale[index] && chosen.len() < AT_ONCE && chosen.iter().all(apart);
        if take {
            chosen.push(index);
        }
        // What stands before the first and has nothing new is done with for this sweep.
        !take && !chosen.is_empty()
    });
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_solved_together_lies_apart_and_nothing_is_passed_over() {
        let of = |week: i32| Stretch {
            week,
            weeks: 3,
            from: 0,
            to: 0,
            set: 0,
        };
        let stretches: Vec<Stretch> = (0..12).map(of).collect();
        let mut stale = vec![true; 12];
        stale[0] = false;
        let mut waiting: Vec<usize> = (0..12).collect();
        assert_eq!(next(&stretches, &stale, &mut waiting), [1, 6, 11]);
        assert_eq!(waiting, [2, 3, 4, 5, 7, 8, 9, 10]);
        // One that has nothing new waits as long as an earlier one may still bring it something.
        stale[4] = false;
        assert_eq!(next(&stretches, &stale, &mut waiting), [2, 7]);
        assert_eq!(waiting, [3, 4, 5, 8, 9, 10]);
    }
}
