//! The few chance numbers of this room: streams of the season's own kind, keyed by seed and name.
//!
//! Keyed so that one use never shifts another; makes no generator of its own.

use crate::season::streams::{Purpose, Stream};

/// Opens the stream of a seed and a name.
pub(crate) fn stream(seed: u64, name: &str) -> Stream {
    Stream::keyed(seed, 0, name, Purpose::Score)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_are_repeatable_even_and_apart() {
        let take = |seed, name| {
            let mut s = stream(seed, name);
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
