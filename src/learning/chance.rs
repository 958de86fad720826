//! A seeded stream of even numbers for the few places of this room that need chance.
//!
//! Keyed by a seed and a name, so that one use never shifts another. Permuted congruential generator of O'Neill 2014
//! as the crate `rand_pcg` fixes it; key mixing by FNV-1a (64 bits) as its authors publish it.

use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

/// A stream of numbers that depends on seed and name alone.
pub(crate) struct Stream(Pcg64Mcg);

impl Stream {
    /// Starts the stream of a seed and a name.
    pub(crate) fn new(seed: u64, name: &str) -> Self {
        let hash = |start: u64, bytes: &[u8]| {
            bytes.iter().fold(start, |h, &b| {
                (h ^ u64::from(b)).wrapping_mul(0x0000_0100_0000_01b3)
            })
        };
        let low = hash(0xcbf2_9ce4_8422_2325, name.as_bytes());
        let low = hash(low, &seed.to_le_bytes());
        let high = hash(low, b"high");
        let mut rng = Pcg64Mcg::new((u128::from(high) << 64) | u128::from(low));
        // The first outputs of a multiplicative generator still show its key.
        for _ in 0..8 {
            rng.next_u64();
        }
        Self(rng)
    }

    /// Returns the next number, 0 or above and below 1, in steps of 2⁻⁵³.
    pub(crate) fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// Returns the next whole number below `n` (not zero).
    pub(crate) fn below(&mut self, n: usize) -> usize {
        ((self.uniform() * n as f64) as usize).min(n - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_are_repeatable_even_and_apart() {
        let take = |seed, name| {
            let mut s = Stream::new(seed, name);
            (0..20_000).map(|_| s.uniform()).collect::<Vec<f64>>()
        };
        let a = take(1, "beans");
        assert_eq!(a, take(1, "beans"));
        assert_ne!(a[..4], take(2, "beans")[..4]);
        assert_ne!(a[..4], take(1, "kale")[..4]);
        let mean = a.iter().sum::<f64>() / 20_000.0;
        // Standard error 0.002.
        assert!((mean - 0.5).abs() < 0.008, "{mean}");
        assert!(a.iter().all(|u| (0.0..1.0).contains(u)));
    }
}
