//! Scores of quantiles and bands: pinball loss, interval score, weighted interval score.
//!
//! Judges bands by width and misses together; how often they hold is [`super::coverage`]'s question.
//! Sources: Gneiting and Raftery 2007, Journal of the American Statistical Association 102:359–378; Bracher, Ray,
//! Gneiting and Reich 2021, PLoS Computational Biology 17:e1008618. A fraction is a quantile's; a band is named by the
//! share it leaves *outside*.

/// Returns the pinball loss of one quantile (not doubled): what it costs to have said `quantile` when `actual` came.
///
/// Shape: `fraction` 0–1.
#[must_use]
pub fn pinball(fraction: f64, quantile: f64, actual: f64) -> f64 {
    if actual >= quantile {
        fraction * (actual - quantile)
    } else {
        (1.0 - fraction) * (quantile - actual)
    }
}

/// A score with its three parts, in the unit of what is scored.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Parts {
    /// Part for the width.
    pub width: f64,
    /// Part for more having come than the band allowed.
    pub under: f64,
    /// Part for less having come than the band allowed.
    pub over: f64,
}

impl Parts {
    /// Returns the whole score.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.width + self.under + self.over
    }
}

/// Returns the interval score of one central band that leaves the share `outside` out (0.2 for 8 in 10).
#[must_use]
pub fn interval_score(outside: f64, low: f64, high: f64, actual: f64) -> Parts {
    Parts {
        width: high - low,
        under: 2.0 / outside * (actual - high).max(0.0),
        over: 2.0 / outside * (low - actual).max(0.0),
    }
}

/// One central band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Share of cases that should fall outside, 0–1.
    pub outside: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Returns the weighted interval score of a median and its bands, with its parts.
///
/// With K bands it equals the mean of the doubled pinball losses over the 2K + 1 quantiles. The median's own error is
/// counted to the side on which it lies.
#[must_use]
pub fn weighted_interval_score(median: f64, bands: &[Band], actual: f64) -> Parts {
    let mut sum = Parts {
        width: 0.0,
        under: 0.5 * (actual - median).max(0.0),
        over: 0.5 * (median - actual).max(0.0),
    };
    for band in bands {
        let parts = interval_score(band.outside, band.low, band.high, actual);
        let weight = band.outside / 2.0;
        sum.width += weight * parts.width;
        sum.under += weight * parts.under;
        sum.over += weight * parts.over;
    }
    let all = bands.len() as f64 + 0.5;
    Parts {
        width: sum.width / all,
        under: sum.under / all,
        over: sum.over / all,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::learning::close;

    const BANDS: [Band; 2] = [
        Band {
            outside: 0.2,
            low: 1.0,
            high: 6.5,
        },
        Band {
            outside: 0.5,
            low: 2.0,
            high: 4.5,
        },
    ];

    /// Arithmetic by hand; the last is the worked stock-price example of *Forecasting: Principles and Practice*,
    /// 3rd ed., 5.9, which doubles the loss (4.86; from memory).
    #[test]
    fn pinball_losses() {
        for (fraction, quantile, actual, want) in [
            (0.1, 2.0, 3.0, 0.1),
            (0.1, 2.0, 1.5, 0.45),
            (0.9, 6.0, 7.0, 0.9),
            (0.1, 744.54, 741.84, 2.43),
        ] {
            close(Some(pinball(fraction, quantile, actual)), want);
        }
    }

    #[test]
    fn interval_scores_by_hand() {
        for (actual, want) in [(7.0, 14.0), (1.5, 9.0), (4.0, 4.0)] {
            close(Some(interval_score(0.2, 2.0, 6.0, actual).total()), want);
        }
    }

    /// Values computed apart from this project, in Python, by both definitions.
    #[test]
    fn weighted_interval_scores() {
        for (actual, want) in [(5.0, 1.07), (0.5, 1.77), (3.0, 0.47), (8.0, 3.47)] {
            let score = weighted_interval_score(3.0, &BANDS, actual);
            close(Some(score.total()), want);
            let doubled: f64 = [(0.1, 1.0), (0.25, 2.0), (0.5, 3.0), (0.75, 4.5), (0.9, 6.5)]
                .iter()
                .map(|&(fraction, quantile)| 2.0 * pinball(fraction, quantile, actual))
                .sum();
            close(Some(doubled / 5.0), want);
        }
        let parts = weighted_interval_score(3.0, &BANDS, 5.0);
        close(Some(parts.width), 0.47);
        close(Some(parts.under), 0.6);
        close(Some(parts.over), 0.0);
    }
}
