//! Errors of a single number against what came: bias, mean absolute error and their scaled forms.
//!
//! Deliberately without a percentage error by the week: weekly harvests are often zero.
//! Source: Hyndman and Athanasopoulos, *Forecasting: Principles and Practice*, 3rd ed., 5.8; Hyndman and Koehler 2006,
//! International Journal of Forecasting 22:679–688 (scaled errors).
//!
//! Everywhere `actual` and `forecast` are slices of the same length; pairs beyond the shorter one are left out.
//! An error is actual less forecast: positive when more came than was forecast.

/// Iterates over the errors, actual less forecast.
fn errors<'a>(actual: &'a [f64], forecast: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    actual.iter().zip(forecast).map(|(y, f)| y - f)
}

/// Returns the mean of the values, or nothing if there are none.
pub(crate) fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (n, sum) = values.fold((0_usize, 0.0), |(n, sum), v| (n + 1, sum + v));
    (n > 0).then(|| sum / n as f64)
}

/// Returns a quotient, or nothing if the denominator is zero or the result is not finite.
pub(crate) fn ratio(numerator: f64, denominator: f64) -> Option<f64> {
    let value = numerator / denominator;
    (denominator != 0.0 && value.is_finite()).then_some(value)
}

/// Returns the mean error (bias), positive when more came than was forecast.
#[must_use]
pub fn mean_error(actual: &[f64], forecast: &[f64]) -> Option<f64> {
    mean(errors(actual, forecast))
}

/// Returns the sum of errors as a share of all that came; none if nothing came.
#[must_use]
pub fn relative_bias(actual: &[f64], forecast: &[f64]) -> Option<f64> {
    ratio(errors(actual, forecast).sum(), actual.iter().sum())
}

/// Returns the mean absolute error; the median of a forecast makes it least.
#[must_use]
pub fn mean_absolute_error(actual: &[f64], forecast: &[f64]) -> Option<f64> {
    mean(errors(actual, forecast).map(f64::abs))
}

/// Returns the root mean square error; the mean of a forecast makes it least.
#[must_use]
pub fn root_mean_square_error(actual: &[f64], forecast: &[f64]) -> Option<f64> {
    mean(errors(actual, forecast).map(|e| e * e)).map(f64::sqrt)
}

/// Returns the sum of absolute errors as a share of all that came (WAPE); none if nothing came.
#[must_use]
pub fn weighted_error(actual: &[f64], forecast: &[f64]) -> Option<f64> {
    ratio(
        errors(actual, forecast).map(f64::abs).sum(),
        actual.iter().map(|y| y.abs()).sum(),
    )
}

/// Returns the mean absolute step of earlier values from `lag` places before: the scale of [`scaled_error`].
#[must_use]
pub fn absolute_scale(earlier: &[f64], lag: usize) -> Option<f64> {
    let later = earlier.get(lag..)?;
    mean(errors(later, earlier).map(f64::abs))
}

/// Returns the mean absolute error over the mean absolute step of earlier values (MASE); `lag` is 1 or a season.
#[must_use]
pub fn scaled_error(actual: &[f64], forecast: &[f64], earlier: &[f64], lag: usize) -> Option<f64> {
    ratio(
        mean_absolute_error(actual, forecast)?,
        absolute_scale(earlier, lag)?,
    )
}

/// Returns the root mean square error over the root mean square step of earlier values (RMSSE).
#[must_use]
pub fn scaled_square_error(actual: &[f64], forecast: &[f64], earlier: &[f64]) -> Option<f64> {
    let later = earlier.get(1..)?;
    let scale = mean(errors(later, earlier).map(|e| e * e))?;
    let square = mean(errors(actual, forecast).map(|e| e * e))?;
    ratio(square, scale).map(f64::sqrt)
}

/// Logarithms of actual over forecast, summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogRatio {
    /// Pairs in which both are above zero; the others cannot have a logarithm and are left out.
    pub pairs: usize,
    /// Mean of the logarithms.
    pub mean: f64,
    /// Standard deviation of the logarithms (divisor one less than the number); none for a single pair.
    pub sd: Option<f64>,
    /// The factor by which actual and forecast typically differ: the exponential of the mean.
    pub factor: f64,
}

/// Returns the log accuracy ratio over the pairs in which both numbers are above zero.
#[must_use]
pub fn log_accuracy_ratio(actual: &[f64], forecast: &[f64]) -> Option<LogRatio> {
    let logs: Vec<f64> = actual
        .iter()
        .zip(forecast)
        .filter(|&(&y, &f)| y > 0.0 && f > 0.0)
        .map(|(y, f)| libm::log(y / f))
        .collect();
    let centre = mean(logs.iter().copied())?;
    let squares: f64 = logs.iter().map(|r| (r - centre) * (r - centre)).sum();
    Some(LogRatio {
        pairs: logs.len(),
        mean: centre,
        sd: (logs.len() > 1).then(|| (squares / (logs.len() - 1) as f64).sqrt()),
        factor: libm::exp(centre),
    })
}

/// Returns the skill of a score against a reference's, both the less the better: 1 perfect, 0 no better, negative
/// worse; none if the reference made no error.
#[must_use]
pub fn skill(score: f64, reference: f64) -> Option<f64> {
    ratio(score, reference).map(|share| 1.0 - share)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    const Y: [f64; 6] = [2.0, 3.5, 0.0, 4.0, 5.5, 1.0];
    const F: [f64; 6] = [2.5, 3.0, 1.0, 4.5, 4.0, 1.5];
    const EARLIER: [f64; 5] = [1.0, 3.0, 2.0, 5.0, 4.0];

    /// Made-up series; the values were computed apart from this project, in Python with numpy.
    #[test]
    fn point_measures_of_a_short_series() {
        close(mean_error(&Y, &F), -0.083_333_333_333_333_33);
        close(mean_absolute_error(&Y, &F), 0.75);
        close(root_mean_square_error(&Y, &F), 0.841_625_411_530_173_2);
        close(weighted_error(&Y, &F), 0.28125);
        close(relative_bias(&Y, &F), -0.03125);
        close(absolute_scale(&EARLIER, 1), 1.75);
        close(scaled_error(&Y, &F, &EARLIER, 1), 0.428_571_428_571_428_55);
        close(absolute_scale(&EARLIER, 2), 1.666_666_666_666_666_7);
        close(scaled_error(&Y, &F, &EARLIER, 2), 0.45);
        close(
            scaled_square_error(&Y, &F, &EARLIER),
            0.434_613_493_680_176_6,
        );
        let ratio = log_accuracy_ratio(&Y, &F).unwrap();
        assert_eq!(ratio.pairs, 5);
        close(Some(ratio.mean), -0.054_757_456_826_592_94);
        close(ratio.sd, 0.290_796_818_001_270_7);
        close(Some(ratio.factor), 0.946_714_739_306_633_3);
    }

    /// Quarterly Australian beer production in megalitres, 1992 to the second quarter of 2010, and the errors of four
    /// simple forecasts of the last ten quarters as printed (two decimals) in Hyndman and Athanasopoulos,
    /// *Forecasting: Principles and Practice*, 3rd ed., 5.8. Data and figures from memory; they agree.
    #[test]
    fn beer_table_of_the_textbook() {
        let beer: [f64; 74] = [
            443., 410., 420., 532., 433., 421., 410., 512., 449., 381., 423., 531., 426., 408.,
            416., 520., 409., 398., 398., 507., 432., 398., 406., 526., 428., 397., 403., 517.,
            435., 383., 424., 521., 421., 402., 414., 500., 451., 380., 416., 492., 428., 408.,
            406., 506., 435., 380., 421., 490., 435., 390., 412., 454., 416., 403., 408., 482.,
            438., 386., 405., 491., 427., 383., 394., 473., 420., 390., 410., 488., 415., 398.,
            419., 488., 414., 374.,
        ];
        let (earlier, actual) = beer.split_at(64);
        let last = earlier[63];
        let average = earlier.iter().sum::<f64>() / 64.0;
        let drift = (last - earlier[0]) / 63.0;
        let forecasts: [(&str, Vec<f64>, [f64; 3]); 4] = [
            ("mean", vec![average; 10], [38.45, 34.83, 2.44]),
            ("last value", vec![last; 10], [62.69, 57.40, 4.01]),
            (
                "same quarter of the last year",
                (0..10).map(|h| earlier[60 + h % 4]).collect(),
                [14.31, 13.40, 0.94],
            ),
            (
                "drift",
                (1..=10).map(|h| last + drift * f64::from(h)).collect(),
                [64.90, 58.88, 4.12],
            ),
        ];
        for (name, forecast, printed) in forecasts {
            let got = [
                root_mean_square_error(actual, &forecast).unwrap(),
                mean_absolute_error(actual, &forecast).unwrap(),
                scaled_error(actual, &forecast, earlier, 4).unwrap(),
            ];
            for (g, p) in got.iter().zip(printed) {
                assert!((g - p).abs() < 0.005 + 1e-9, "{name}: {g} for {p}");
            }
        }
    }

    #[test]
    fn skill_is_negative_when_worse_than_the_reference() {
        close(skill(0.75, 1.2), 0.375);
        close(skill(1.5, 1.2), -0.25);
    }

    #[test]
    fn nothing_to_divide_by_gives_nothing() {
        assert_eq!(mean_error(&[], &[]), None);
        assert_eq!(weighted_error(&[0.0, 0.0], &[1.0, 2.0]), None);
        assert_eq!(relative_bias(&[0.0], &[1.0]), None);
        assert_eq!(scaled_error(&Y, &F, &[2.0, 2.0, 2.0], 1), None);
        assert_eq!(scaled_error(&Y, &F, &[2.0], 1), None);
        assert_eq!(scaled_error(&Y, &F, &[], 5), None);
        assert_eq!(scaled_square_error(&Y, &F, &[1.0, 1.0]), None);
        assert_eq!(log_accuracy_ratio(&[0.0, 1.0], &[1.0, 0.0]), None);
        assert_eq!(log_accuracy_ratio(&[2.0], &[1.0]).unwrap().sd, None);
        assert_eq!(skill(1.0, 0.0), None);
    }
}
