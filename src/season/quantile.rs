//! Quantiles of a sample, type 7 of Hyndman and Fan (1996): linear between order statistics, as most software has it.
//!
//! An empty sample has no quantile; callers get zero spread only where nothing at all was picked.

/// What a household is told of an uncertain amount.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Spread {
    /// One season in ten gives less.
    pub p10: f64,
    /// As many seasons give less as give more.
    pub p50: f64,
    /// One season in ten gives more.
    pub p90: f64,
    /// Mean over all draws.
    pub mean: f64,
}

/// Returns the type-7 quantile of an ascending sample, or none if it is empty.
#[must_use]
pub fn type7(sorted: &[f64], p: f64) -> Option<f64> {
    let (low, fraction) = place(sorted.len(), p)?;
    let below = sorted[low];
    let above = sorted[(low + 1).min(sorted.len() - 1)];
    Some(below + fraction * (above - below))
}

/// Index below and fraction above of the type-7 quantile in a sample of this size.
fn place(n: usize, p: f64) -> Option<(usize, f64)> {
    let last = n.checked_sub(1)?;
    let h = last as f64 * p.clamp(0.0, 1.0);
    let low = (h.floor() as usize).min(last);
    Some((low, h - low as f64))
}

/// Returns p10, p50, p90 and mean of amounts over all draws; all zero if there is none.
///
/// The order of `values` is changed.
#[must_use]
pub fn spread(values: &mut [f32]) -> Spread {
    if values.is_empty() {
        return Spread::default();
    }
    let mean = values.iter().map(|&v| f64::from(v)).sum::<f64>() / values.len() as f64;
    if values.iter().all(|&v| v == 0.0) {
        return Spread::default();
    }
    Spread {
        p10: select(values, 0.1),
        p50: select(values, 0.5),
        p90: select(values, 0.9),
        mean,
    }
}

/// Returns one type-7 quantile by selection; the sample must not be empty.
fn select(values: &mut [f32], p: f64) -> f64 {
    let Some((low, fraction)) = place(values.len(), p) else {
        return 0.0;
    };
    let (_, &mut below, rest) = values.select_nth_unstable_by(low, f32::total_cmp);
    if fraction <= 0.0 {
        return f64::from(below);
    }
    let above = rest.iter().copied().min_by(f32::total_cmp).unwrap_or(below);
    f64::from(below) + fraction * (f64::from(above) - f64::from(below))
}

/// Returns the type-7 quantile of whole numbers given as counts, or none if all counts are zero.
#[must_use]
pub fn of_counts(counts: &[u32], p: f64) -> Option<f64> {
    let total: usize = counts.iter().map(|&c| c as usize).sum();
    let (low, fraction) = place(total, p)?;
    let below = nth(counts, low)?;
    let above = nth(counts, (low + 1).min(total - 1))?;
    Some(below + fraction * (above - below))
}

/// Value of the n-th smallest number (from 0) of a counted sample.
fn nth(counts: &[u32], n: usize) -> Option<f64> {
    let mut seen = 0;
    for (value, &count) in counts.iter().enumerate() {
        seen += count as usize;
        if seen > n {
            return u32::try_from(value).ok().map(f64::from);
        }
    }
    None
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Hyndman and Fan 1996, type 7 as in numpy 2.x and R: 1..10 and [2,2,3,5,8,13].
    #[test]
    fn type_7_as_published() {
        let ten: Vec<f64> = (1..=10).map(f64::from).collect();
        for (p, want) in [(0.1, 1.9), (0.5, 5.5), (0.9, 9.1)] {
            assert!((type7(&ten, p).unwrap() - want).abs() < 1e-12);
        }
        let six = [2.0, 2.0, 3.0, 5.0, 8.0, 13.0];
        let counts = [0, 0, 2, 1, 0, 1, 0, 0, 1, 0, 0, 0, 0, 1];
        for (p, want) in [
            (0.1, 2.0),
            (0.25, 2.25),
            (0.5, 4.0),
            (0.75, 7.25),
            (0.9, 10.5),
        ] {
            assert!((type7(&six, p).unwrap() - want).abs() < 1e-12);
            assert!((of_counts(&counts, p).unwrap() - want).abs() < 1e-12);
            let mut shuffled = [13.0_f32, 2.0, 8.0, 5.0, 2.0, 3.0];
            assert!((select(&mut shuffled, p) - want).abs() < 1e-6);
        }
        assert_eq!(type7(&[], 0.5), None);
        assert_eq!(of_counts(&[0, 0], 0.5), None);
    }
}
