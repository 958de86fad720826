//! What ground is free in each bed on each day, and whether a family may come there.
//!
//! Pure numbers: days counted from one first day, families by number. A family follows itself when what left the bed
//! last before it came, within a year, is of the same family.

/// Days within which a family that comes again into the same bed follows itself (common practice, no source).
const ROTATION_DAYS: i32 = 365;

/// Something that stands in a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stay {
    /// First day.
    pub(crate) from: i32,
    /// First day on which its ground is free again.
    pub(crate) until: i32,
    /// The same in the middle of the seasons, for families only.
    pub(crate) middle: i32,
    /// Its family.
    pub(crate) family: usize,
    /// Ground it takes, m².
    pub(crate) m2: f64,
}

/// A bed with what stands in it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Ground {
    /// All its ground, m².
    pub(crate) m2: f64,
    /// What a sowing meets here: beds of one kind give alike.
    pub(crate) kind: usize,
    /// What stands in it, past and future.
    pub(crate) stays: Vec<Stay>,
}

impl Ground {
    /// Returns the least ground free on any day of a stretch, m².
    pub(crate) fn room(&self, from: i32, until: i32) -> f64 {
        let taken_on = |day: i32| -> f64 {
            self.stays
                .iter()
                .filter(|s| s.from <= day && day < s.until)
                .map(|s| s.m2)
                .sum()
        };
        // Ground is only taken on the days on which something comes.
        let most = self
            .stays
            .iter()
            .map(|s| s.from)
            .filter(|day| (from..until).contains(day))
            .chain([from])
            .map(taken_on)
            .fold(0.0, f64::max);
        (self.m2 - most).max(0.0)
    }

    /// Says whether a family may stand here without following itself or being followed by itself, whether all leave late
    /// or in the middle of their seasons.
    pub(crate) fn welcomes(&self, new: &Stay) -> bool {
        self.welcomes_if(new, |s| s.until) && self.welcomes_if(new, |s| s.middle)
    }

    fn welcomes_if(&self, new: &Stay, left: fn(&Stay) -> i32) -> bool {
        let follows = |stay: &Stay, with_new: bool| {
            let all = self.stays.iter().chain(with_new.then_some(new));
            let gone = all.filter(|s| left(s) <= stay.from && stay.from - left(s) < ROTATION_DAYS);
            let last = gone.clone().map(left).max();
            gone.clone()
                .any(|s| Some(left(s)) == last && s.family == stay.family)
        };
        // What follows itself already is not this sowing's fault.
        !follows(new, false)
            && self
                .stays
                .iter()
                .filter(|s| s.from >= left(new))
                .all(|s| follows(s, false) || !follows(s, true))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stay(from: i32, until: i32, family: usize, m2: f64) -> Stay {
        Stay {
            from,
            until,
            middle: until,
            family,
            m2,
        }
    }

    #[test]
    fn room_is_what_the_fullest_day_leaves() {
        let bed = Ground {
            m2: 10.0,
            kind: 0,
            stays: vec![stay(0, 50, 0, 4.0), stay(40, 80, 1, 5.0)],
        };
        assert_eq!(bed.room(0, 40), 6.0);
        assert_eq!(bed.room(0, 41), 1.0);
        assert_eq!(bed.room(50, 90), 5.0);
        assert_eq!(bed.room(80, 90), 10.0);
    }

    #[test]
    fn families_do_not_follow_themselves() {
        let bed = Ground {
            m2: 10.0,
            kind: 0,
            stays: vec![
                stay(0, 50, 0, 4.0),
                stay(10, 60, 1, 4.0),
                stay(100, 150, 2, 4.0),
            ],
        };
        let welcomes = |family, from, until| bed.welcomes(&stay(from, until, family, 1.0));
        // What left last before day 70 is family 1, before day 55 family 0.
        assert!(welcomes(0, 70, 90) && !welcomes(1, 70, 90));
        assert!(!welcomes(0, 55, 90) && welcomes(1, 55, 90));
        // Family 2 comes on day 100: family 2 may not leave before it as the last, but may stand with it.
        assert!(!welcomes(2, 70, 90) && welcomes(2, 70, 110));
        assert!(welcomes(2, 20, 55));
        // A year later all is forgotten.
        assert!(welcomes(2, 150 + 365, 600));
    }

    #[test]
    fn families_keep_apart_in_the_middle_of_the_seasons_too() {
        // Late, family 0 leaves last; in the middle of the seasons it is family 1.
        let bed = Ground {
            m2: 10.0,
            kind: 0,
            stays: vec![
                Stay {
                    middle: 30,
                    ..stay(0, 50, 0, 4.0)
                },
                stay(0, 40, 1, 4.0),
            ],
        };
        assert!(!bed.welcomes(&stay(60, 90, 0, 1.0)));
        assert!(!bed.welcomes(&stay(60, 90, 1, 1.0)));
        assert!(bed.welcomes(&stay(60, 90, 2, 1.0)));
    }
}
