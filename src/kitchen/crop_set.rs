//! A set of the kitchen's crops as bits, walked in order of keeping: what keeps least comes first.
//!
//! The kitchen's crops are numbered in that order, so a walk over two sets in common needs no sorting.

/// A set of crops.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CropSet(Vec<u64>);

impl CropSet {
    /// Makes an empty set that has room for so many crops.
    #[must_use]
    pub fn new(crops: usize) -> Self {
        Self(vec![0; crops.div_ceil(64)])
    }

    /// Puts a crop in or takes it out.
    #[inline]
    pub fn set(&mut self, crop: usize, is_in: bool) {
        let (word, bit) = (crop / 64, 1_u64 << (crop % 64));
        if is_in {
            self.0[word] |= bit;
        } else {
            self.0[word] &= !bit;
        }
    }

    /// Says whether two sets have a crop in common.
    #[inline]
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).any(|(a, b)| a & b != 0)
    }

    /// Empties the set.
    pub fn clear(&mut self) {
        self.0.fill(0);
    }

    /// Says whether there is nothing in it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|w| *w == 0)
    }

    /// Returns the first crop from `from` on that is in the set.
    #[inline]
    #[must_use]
    pub fn next(&self, from: usize) -> Option<usize> {
        self.next_where(from, |_| u64::MAX)
    }

    /// Returns the first crop from `from` on that is in both sets.
    #[inline]
    #[must_use]
    pub fn next_in_both(&self, other: &Self, from: usize) -> Option<usize> {
        self.next_where(from, |w| other.0[w])
    }

    #[inline]
    fn next_where(&self, from: usize, mask: impl Fn(usize) -> u64) -> Option<usize> {
        let mut word = from / 64;
        if word >= self.0.len() {
            return None;
        }
        let mut bits = self.0[word] & mask(word) & (u64::MAX << (from % 64));
        loop {
            if bits != 0 {
                return Some(word * 64 + bits.trailing_zeros() as usize);
            }
            word += 1;
            if word >= self.0.len() {
                return None;
            }
            bits = self.0[word] & mask(word);
        }
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
        a.clear();
        assert!(a.is_empty());
    }
}
