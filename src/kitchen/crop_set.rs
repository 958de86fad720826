//! A set of the kitchen's crops as bits, walked in order of keeping: what keeps least comes first.
//!
//! The kitchen's crops are numbered in that order, so a walk over two sets in common needs no sorting. Few gardens grow
//! more than 64 crops: the first word lies in the set itself, so that asking it touches no other memory.

/// A set of crops.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CropSet {
    first: u64,
    rest: Vec<u64>,
}

/// Crops in one word.
const WORD: usize = 64;

impl CropSet {
    /// Makes an empty set that has room for so many crops.
    #[must_use]
    pub fn new(crops: usize) -> Self {
        Self {
            first: 0,
            rest: vec![0; crops.div_ceil(WORD).saturating_sub(1)],
        }
    }

    /// Puts a crop in or takes it out.
    #[inline]
    pub fn set(&mut self, crop: usize, is_in: bool) {
        let word = match crop.checked_sub(WORD) {
            None => &mut self.first,
            Some(beyond) => &mut self.rest[beyond / WORD],
        };
        let at = crop % WORD;
        *word = *word & !(1 << at) | u64::from(is_in) << at;
    }

    /// Says whether two sets have a crop in common.
    #[inline]
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.first & other.first != 0 || (!self.rest.is_empty() && self.rest_meets(other))
    }

    /// Says whether a set has a crop in common with one of two others.
    #[inline]
    #[must_use]
    pub fn meets_either(&self, a: &Self, b: &Self) -> bool {
        self.first & (a.first | b.first) != 0
            || (!self.rest.is_empty() && (self.rest_meets(a) || self.rest_meets(b)))
    }

    #[cold]
    fn rest_meets(&self, other: &Self) -> bool {
        self.rest.iter().zip(&other.rest).any(|(a, b)| a & b != 0)
    }

    /// Puts in all that is in another set.
    pub fn join(&mut self, other: &Self) {
        self.first |= other.first;
        for (word, more) in self.rest.iter_mut().zip(&other.rest) {
            *word |= more;
        }
    }

    /// Empties the set.
    pub fn clear(&mut self) {
        self.first = 0;
        self.rest.fill(0);
    }

    /// Says whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.first == 0 && self.rest.iter().all(|w| *w == 0)
    }

    /// Returns the first crop from `from` on that is in the set.
    #[inline]
    #[must_use]
    pub fn next(&self, from: usize) -> Option<usize> {
        self.next_where(self.first, None, from)
    }

    /// Returns the first crop from `from` on that is in both sets.
    #[inline]
    #[must_use]
    pub fn next_in_both(&self, other: &Self, from: usize) -> Option<usize> {
        self.next_where(self.first & other.first, Some(other), from)
    }

    #[inline]
    fn next_where(&self, first: u64, other: Option<&Self>, from: usize) -> Option<usize> {
        if from < WORD {
            let bits = first & (u64::MAX << from);
            if bits != 0 {
                return Some(bits.trailing_zeros() as usize);
            }
        }
        if self.rest.is_empty() {
            return None;
        }
        self.next_in_rest(other, from)
    }

    #[cold]
    fn next_in_rest(&self, other: Option<&Self>, from: usize) -> Option<usize> {
        let from = from.saturating_sub(WORD);
        for word in from / WORD..self.rest.len() {
            let mut bits = self.rest[word] & other.map_or(u64::MAX, |o| o.rest[word]);
            if word == from / WORD {
                bits &= u64::MAX << (from % WORD);
            }
            if bits != 0 {
                return Some((word + 1) * WORD + bits.trailing_zeros() as usize);
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn walk(set: &CropSet) -> Vec<usize> {
        let mut all = Vec::new();
        let mut from = 0;
        while let Some(c) = set.next(from) {
            all.push(c);
            from = c + 1;
        }
        all
    }

    #[test]
    fn sets_are_walked_in_order_across_words() {
        let mut a = CropSet::new(130);
        let mut b = CropSet::new(130);
        assert!(a.is_empty() && walk(&a).is_empty());
        for c in [0, 5, 63, 64, 127, 128, 129] {
            a.set(c, true);
        }
        a.set(5, false);
        assert_eq!(walk(&a), [0, 63, 64, 127, 128, 129]);
        b.set(64, true);
        b.set(129, true);
        assert_eq!(a.next_in_both(&b, 0), Some(64));
        assert_eq!(a.next_in_both(&b, 65), Some(129));
        assert_eq!(a.next_in_both(&b, 130), None);
        assert_eq!(CropSet::new(0).next(0), None);
        assert!(a.meets(&b));
        b.set(64, false);
        b.set(129, false);
        b.set(1, true);
        assert!(!a.meets(&b));
        assert!(!a.meets_either(&b, &b) && a.meets_either(&b, &a) && a.meets_either(&a, &b));
        b.join(&a);
        assert_eq!(walk(&b), [0, 1, 63, 64, 127, 128, 129]);
        a.clear();
        assert!(a.is_empty());
    }
}
