//! Random numbers that belong to a thing: every stream is keyed by seed, place in the ensemble, name and purpose.
//!
//! Adding, removing or reordering plantings therefore changes nobody else's numbers, and the number of threads changes
//! nothing at all. Knows nothing of plantings or weather.
//!
//! Sources: generator PCG64-MCG (O'Neill 2014, crate `rand_pcg`); name hash FNV-1a (Fowler, Noll and Vo, from memory,
//! checked against known answers); key spreading SplitMix64 (Steele, Lea and Flood 2014, from memory, checked
//! likewise); inverse normal AS 241 (Wichura 1988, Applied Statistics 37:477-484, from memory, checked likewise).

use rand_core::Rng;
use rand_pcg::Pcg64Mcg;

/// What a stream is used for; part of its key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u64)]
pub(crate) enum Purpose {
    /// Daily weather of one made year.
    Days = 1,
    /// The whole-year anomaly of one made year.
    Year = 2,
    /// Frost dates and deep cold of one cold season.
    Frost = 3,
    /// Yield factor of a crop or of the whole garden.
    Yield = 4,
    /// A planting's own luck.
    Planting = 5,
    /// Order in which recorded years are taken.
    Order = 6,
    /// Ranks, resampling and bootstraps of the scores.
    Score = 7,
}

/// FNV-1a offset basis for 64 bits.
const FNV_OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
/// FNV prime for 64 bits.
const FNV_PRIME: u64 = 0x0000_0100_0000_01b3;

/// Continues a FNV-1a hash over some bytes.
fn fnv1a(mut hash: u64, bytes: &[u8]) -> u64 {
    for &byte in bytes {
        hash = (hash ^ u64::from(byte)).wrapping_mul(FNV_PRIME);
    }
    hash
}

/// Steps a SplitMix64 state and returns its next output.
fn splitmix64(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Turns 64 random bits into a number strictly between 0 and 1: (k + ½) / 2⁵³.
fn open_unit(bits: u64) -> f64 {
    ((bits >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
}

/// One stream of random numbers.
#[derive(Debug, Clone)]
pub(crate) struct Stream(Pcg64Mcg);

impl Stream {
    /// Opens the stream of a thing at a place of the ensemble (chunk of draws, or made run) for a purpose.
    pub(crate) fn keyed(seed: u64, place: u64, name: &str, purpose: Purpose) -> Self {
        let mut hash = fnv1a(FNV_OFFSET, &seed.to_le_bytes());
        hash = fnv1a(hash, &place.to_le_bytes());
        hash = fnv1a(hash, name.as_bytes());
        // A byte that UTF-8 never holds ends the name, so that no name runs into the purpose.
        hash = fnv1a(hash, &[0xff]);
        hash = fnv1a(hash, &(purpose as u64).to_le_bytes());
        let high = splitmix64(&mut hash);
        let low = splitmix64(&mut hash);
        Self(Pcg64Mcg::new((u128::from(high) << 64) | u128::from(low)))
    }

    /// Opens the stream of a numbered year.
    pub(crate) fn of_year(seed: u64, place: u64, year: i32, purpose: Purpose) -> Self {
        let mut hash = fnv1a(FNV_OFFSET, &seed.to_le_bytes());
        hash = fnv1a(hash, &place.to_le_bytes());
        hash = fnv1a(hash, &year.to_le_bytes());
        hash = fnv1a(hash, &[0xfe]);
        hash = fnv1a(hash, &(purpose as u64).to_le_bytes());
        let high = splitmix64(&mut hash);
        let low = splitmix64(&mut hash);
        Self(Pcg64Mcg::new((u128::from(high) << 64) | u128::from(low)))
    }

    /// Skips some numbers.
    pub(crate) fn skip(&mut self, count: u32) {
        self.0.advance(u128::from(count));
    }

    /// Draws a number strictly between 0 and 1.
    #[inline]
    pub(crate) fn uniform(&mut self) -> f64 {
        open_unit(self.0.next_u64())
    }

    /// Draws a standard normal number from one uniform, so that streams stay aligned.
    #[inline]
    pub(crate) fn normal(&mut self) -> f64 {
        inverse_normal(self.uniform())
    }

    /// Draws a whole number below a bound.
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        // The bias of the remainder is below bound / 2⁶⁴.
        let bound64 = u64::try_from(bound.max(1)).unwrap_or(u64::MAX);
        usize::try_from(self.0.next_u64() % bound64).unwrap_or(0)
    }
}

/// Evaluates a polynomial of degree 7 whose coefficients are given from the constant term up, in pairs, so that the
/// processor need not wait for one term after the other.
#[inline]
fn poly(c: [f64; 8], x: f64) -> f64 {
    let x2 = x * x;
    let low = (c[0] + c[1] * x) + (c[2] + c[3] * x) * x2;
    let high = (c[4] + c[5] * x) + (c[6] + c[7] * x) * x2;
    low + high * (x2 * x2)
}

/// Probabilities farther than this from one half lie in a tail.
const CENTRE: f64 = 0.425;

/// Returns the standard normal quantile of a probability; infinite at 0 and 1.
///
/// Source: algorithm PPND16 of AS 241, relative accuracy about 1e-16.
#[inline]
pub(crate) fn inverse_normal(p: f64) -> f64 {
    if (p - 0.5).abs() <= CENTRE {
        central(p)
    } else {
        tail(p)
    }
}

/// Turns probabilities into standard normal quantiles, each the same as by [`inverse_normal`]; all are first taken to lie
/// in the centre, so that the processor can work them side by side.
#[inline]
pub(crate) fn inverse_normals<const N: usize>(p: [f64; N]) -> [f64; N] {
    let mut z = p.map(central);
    for (z, p) in z.iter_mut().zip(p) {
        if (p - 0.5).abs() > CENTRE {
            *z = tail(p);
        }
    }
    z
}

/// Quantile in the centre.
#[allow(clippy::excessive_precision, reason = "coefficients as published")]
#[inline]
fn central(p: f64) -> f64 {
    let q = p - 0.5;
    let r = 0.180625 - q * q;
    q * poly(
        [
            3.3871328727963666080e0,
            1.3314166789178437745e2,
            1.9715909503065514427e3,
            1.3731693765509461125e4,
            4.5921953931549871457e4,
            6.7265770927008700853e4,
            3.3430575583588128105e4,
            2.5090809287301226727e3,
        ],
        r,
    ) / poly(
        [
            1.0,
            4.2313330701600911252e1,
            6.8718700749205790830e2,
            5.3941960214247511077e3,
            2.1213794301586595867e4,
            3.9307895800092710610e4,
            2.8729085735721942674e4,
            5.2264952788528545610e3,
        ],
        r,
    )
}

/// Quantile in a tail.
#[allow(clippy::excessive_precision, reason = "coefficients as published")]
fn tail(p: f64) -> f64 {
    let q = p - 0.5;
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    let r = libm::sqrt(-libm::log(tail));
    let z = if r <= 5.0 {
        let s = r - 1.6;
        poly(
            [
                1.42343711074968357734e0,
                4.63033784615654529590e0,
                5.76949722146069140550e0,
                3.64784832476320460504e0,
                1.27045825245236838258e0,
                2.41780725177450611770e-1,
                2.27238449892691845833e-2,
                7.74545014278341407640e-4,
            ],
            s,
        ) / poly(
            [
                1.0,
                2.05319162663775882187e0,
                1.67638483018380384940e0,
                6.89767334985100004550e-1,
                1.48103976427480074590e-1,
                1.51986665636164571966e-2,
                5.47593808499534494600e-4,
                1.05075007164441684324e-9,
            ],
            s,
        )
    } else {
        let s = r - 5.0;
        poly(
            [
                6.65790464350110377720e0,
                5.46378491116411436990e0,
                1.78482653991729133580e0,
                2.96560571828504891230e-1,
                2.65321895265761230930e-2,
                1.24266094738807843860e-3,
                2.71155556874348757815e-5,
                2.01033439929228813265e-7,
            ],
            s,
        ) / poly(
            [
                1.0,
                5.99832206555887937690e-1,
                1.36929880922735805310e-1,
                1.48753612908506148525e-2,
                7.86869131145613259100e-4,
                1.84631831751005468180e-5,
                1.42151175831644588870e-7,
                2.04426310338993978564e-15,
            ],
            s,
        )
    };
    if q < 0.0 { -z } else { z }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, Normal};

    /// Known answers of the two algorithms as printed in many public test suites.
    #[test]
    fn hashes_give_the_known_answers() {
        for (text, want) in [
            ("", 0xcbf2_9ce4_8422_2325),
            ("a", 0xaf63_dc4c_8601_ec8c),
            ("foobar", 0x8594_4171_f739_67e8_u64),
        ] {
            assert_eq!(fnv1a(FNV_OFFSET, text.as_bytes()), want, "{text}");
        }
        let mut zero = 0;
        let got: Vec<u64> = (0..3).map(|_| splitmix64(&mut zero)).collect();
        assert_eq!(
            got,
            [
                0xe220_a839_7b1d_cdaf,
                0x6e78_9e6a_a1b9_65f4,
                0x06c4_5d18_8009_454f
            ]
        );
        let mut other = 1_234_567;
        let got: Vec<u64> = (0..3).map(|_| splitmix64(&mut other)).collect();
        assert_eq!(
            got,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423
            ]
        );
    }

    /// AS 241's own check values, the usual table of the normal distribution, and the crate statrs over a grid.
    #[test]
    fn inverse_normal_agrees_with_published_values() {
        for (p, z) in [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_813),
            (1e-20, -9.262_340_089_798_409),
            (0.05, -1.644_853_626_951_472_9),
            (0.1, -1.281_551_565_544_600_4),
            (0.5, 0.0),
            (0.9, 1.281_551_565_544_600_4),
        ] {
            assert!(
                (inverse_normal(p) - z).abs() < 1e-13,
                "{p}: {}",
                inverse_normal(p)
            );
        }
        let normal = Normal::new(0.0, 1.0).unwrap();
        for k in 1..1000 {
            let p = f64::from(k) / 1000.0;
            assert!(
                (inverse_normal(p) - normal.inverse_cdf(p)).abs() < 1e-9,
                "{p}"
            );
        }
        let many = [0.0, 1e-9, 0.01, 0.074, 0.076, 0.3, 0.5, 0.92, 0.93, 1.0];
        assert_eq!(inverse_normals(many), many.map(inverse_normal));
        assert_eq!(inverse_normal(0.0), f64::NEG_INFINITY);
        assert_eq!(inverse_normal(1.0), f64::INFINITY);
    }

    #[test]
    fn streams_differ_in_every_part_of_their_key() {
        let first = |mut s: Stream| s.uniform();
        let base = first(Stream::keyed(1, 0, "bean", Purpose::Planting));
        assert!((base - first(Stream::keyed(1, 0, "bean", Purpose::Planting))).abs() == 0.0);
        for other in [
            Stream::keyed(2, 0, "bean", Purpose::Planting),
            Stream::keyed(1, 1, "bean", Purpose::Planting),
            Stream::keyed(1, 0, "beans", Purpose::Planting),
            Stream::keyed(1, 0, "bean", Purpose::Yield),
        ] {
            assert!((base - first(other)).abs() > 0.0);
        }
        let mut a = Stream::of_year(1, 7, 2026, Purpose::Days);
        let mut b = a.clone();
        for _ in 0..5 {
            a.uniform();
        }
        b.skip(5);
        assert!((a.uniform() - b.uniform()).abs() == 0.0);
    }
}
