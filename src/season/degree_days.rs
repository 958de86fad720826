//! Degree-days of one day, by the methods that published heat-unit figures use; say which one.
//!
//! The forecast itself counts growing days, not these; they are here to be set beside published figures.
//! Sources: single sine, Baskerville and Emin (1969, Ecology 50:514-517, from memory); the 86/50 rule, Iowa State
//! agronomy and the Ohio Agronomy Guide.

use crate::garden::units::{Temperature, kelvins_from_f_degrees};

/// Returns degree-days, K d, of the plain average above a base.
#[must_use]
pub fn simple(min: Temperature, max: Temperature, base: Temperature) -> f64 {
    (0.5 * (min.c() + max.c()) - base.c()).max(0.0)
}

/// Returns degree-days, K d, above a base under a sine through minimum and maximum.
#[must_use]
pub fn single_sine(min: Temperature, max: Temperature, base: Temperature) -> f64 {
    let (low, high, base) = (min.c(), max.c(), base.c());
    let mean = 0.5 * (low + high);
    if low >= base {
        return mean - base;
    }
    if high <= base {
        return 0.0;
    }
    let half_range = 0.5 * (high - low);
    let angle = libm::asin(((base - mean) / half_range).clamp(-1.0, 1.0));
    ((mean - base) * (std::f64::consts::FRAC_PI_2 - angle) + half_range * libm::cos(angle))
        / std::f64::consts::PI
}

/// Returns degree-days, K d, between a base and an upper threshold above which more heat counts no more.
#[must_use]
pub fn single_sine_capped(
    min: Temperature,
    max: Temperature,
    base: Temperature,
    upper: Temperature,
) -> f64 {
    single_sine(min, max, base) - single_sine(min, max, upper)
}

/// Returns growing degree-days of maize, K d: both temperatures held between 50 and 86 °F, then averaged less 50.
#[must_use]
pub fn corn_86_50(min: Temperature, max: Temperature) -> f64 {
    let held = |t: Temperature| t.f().clamp(50.0, 86.0);
    kelvins_from_f_degrees(0.5 * (held(min) + held(max)) - 50.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn f(value: f64) -> Temperature {
        Temperature::from_f(value)
    }
    fn c(value: f64) -> Temperature {
        Temperature::from_c(value)
    }

    /// Wisconsin farm column 2018 (25.5, 11, 6.5), Ohio State 2023 (24.5), a maize page (90/48: 18), and the rule's
    /// worked days of the Ohio Agronomy Guide kind (92/45, 80/55, 48/40).
    #[test]
    fn rule_86_50_as_published() {
        for (max, min, want) in [
            (90.0, 65.0, 25.5),
            (72.0, 46.0, 11.0),
            (63.0, 42.0, 6.5),
            (87.0, 63.0, 24.5),
            (90.0, 48.0, 18.0),
            (92.0, 45.0, 18.0),
            (80.0, 55.0, 17.5),
            (48.0, 40.0, 0.0),
        ] {
            assert!(
                (corn_86_50(f(min), f(max)) * 1.8 - want).abs() < 1e-9,
                "{max}/{min}"
            );
        }
    }

    /// TrenchR manual (7/14 °C above 12: 0.47, exactly 0.4681), and values equal to a numeric integral of the sine.
    #[test]
    fn single_sine_as_published() {
        for (min, max, base, want) in [
            (c(7.0), c(14.0), c(12.0), 0.4681),
            (c(5.0), c(18.0), c(10.0), 2.874_355),
            (c(-3.0), c(11.0), c(10.0), 0.114_259),
            (c(9.4), c(10.6), c(10.0), 0.190_986),
            (c(12.0), c(28.0), c(10.0), 10.0),
            (c(2.0), c(8.0), c(10.0), 0.0),
            (c(10.0), c(10.0), c(10.0), 0.0),
            (c(4.0), c(18.0), c(10.0), 2.750_944_53),
            (f(46.0), f(72.0), f(50.0), 9.6767 / 1.8),
            (f(42.0), f(63.0), f(50.0), 4.6874 / 1.8),
            (f(40.0), f(70.0), f(50.0), 7.5424 / 1.8),
            (f(42.0), f(56.0), f(50.0), 1.7509 / 1.8),
        ] {
            let got = single_sine(min, max, base);
            assert!(
                (got - want).abs() < 1e-4,
                "{} {}: {got} for {want}",
                min.c(),
                max.c()
            );
        }
        for (min, max, want) in [(15.0, 36.0, 14.095_824), (22.0, 34.0, 16.983_020)] {
            assert!((single_sine_capped(c(min), c(max), c(10.0), c(30.0)) - want).abs() < 1e-5);
        }
        assert!(
            (single_sine_capped(f(65.0), f(90.0), f(50.0), f(86.0)) * 1.8 - 26.8095).abs() < 1e-3
        );
    }

    /// Iowa State Agronomy 541 (70/50 above 50: 10) and a dairy column (83/61 above 50: 22).
    #[test]
    fn simple_average_as_published() {
        assert!((simple(f(50.0), f(70.0), f(50.0)) * 1.8 - 10.0).abs() < 1e-9);
        assert!((simple(f(61.0), f(83.0), f(50.0)) * 1.8 - 22.0).abs() < 1e-9);
        assert!((simple(c(4.0), c(18.0), c(10.0)) - 1.0).abs() < 1e-12);
    }
}
