//! How a planting's harvest is spread over its harvest period.
//!
//! The shape is given as shares of equal parts of the period; its running share is piecewise linear. Knows no weather:
//! how far the period has gone comes in as a number from 0 to 1.

/// Running share of the harvest.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HarvestCurve {
    /// Share reached at the end of each part; first 0, last 1.
    reached: Vec<f64>,
    /// Number of parts.
    parts: f64,
}

impl HarvestCurve {
    /// Makes a curve from shares of equal parts; shares that give nothing become one even part.
    pub(crate) fn new(shape: &[f64]) -> Self {
        let total: f64 = shape.iter().filter(|s| s.is_finite() && **s > 0.0).sum();
        let shares: Vec<f64> = if total > 0.0 {
            shape
                .iter()
                .map(|s| {
                    if s.is_finite() {
                        s.max(0.0) / total
                    } else {
                        0.0
                    }
                })
                .collect()
        } else {
            vec![1.0]
        };
        let mut reached = vec![0.0];
        let mut sum = 0.0;
        for share in &shares {
            sum += share;
            reached.push(sum);
        }
        if let Some(last) = reached.last_mut() {
            *last = 1.0;
        }
        let parts = f64::from(u32::try_from(shares.len()).unwrap_or(1));
        Self { reached, parts }
    }

    /// Returns the share reached at the end of each part, from 0 to 1.
    pub(crate) fn reached(&self) -> &[f64] {
        &self.reached
    }

    /// Returns the share of the harvest that is ready at a share of the period.
    #[inline]
    pub(crate) fn at(&self, gone: f64) -> f64 {
        if gone <= 0.0 {
            return 0.0;
        }
        if gone >= 1.0 {
            return 1.0;
        }
        let x = gone * self.parts;
        let k = (x as usize).min(self.reached.len() - 2);
        let low = self.reached[k];
        low + (self.reached[k + 1] - low) * (x - k as f64)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Whole cuts of kale in a winter tunnel, 42/17/21/20 % (New Mexico State University trial).
    #[test]
    fn shares_of_equal_parts_come_back() {
        let kale = HarvestCurve::new(&[0.42, 0.17, 0.21, 0.20]);
        for (gone, share) in [
            (0.25, 0.42),
            (0.5, 0.59),
            (0.75, 0.80),
            (1.0, 1.0),
            (0.125, 0.21),
            (2.0, 1.0),
            (-1.0, 0.0),
        ] {
            assert!((kale.at(gone) - share).abs() < 1e-12, "{gone}");
        }
        assert!((HarvestCurve::new(&[]).at(0.3) - 0.3).abs() < 1e-12);
        assert!((HarvestCurve::new(&[0.0, 0.0]).at(0.3) - 0.3).abs() < 1e-12);
    }
}
