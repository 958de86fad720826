//! Quantities with their units: mass, length, area, volume, temperature and working time.
//!
//! Everything is held in SI and converted at the door. Knows nothing of crops or files.
//! Factors are exact by definition: NIST Handbook 44 Appendix C and NIST SP 811 Appendix B.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// Kilograms in one avoirdupois pound (exact; NIST Handbook 44, Appendix C).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Kilograms in one avoirdupois ounce (exact; NIST Handbook 44, Appendix C).
pub const KG_PER_OZ: f64 = 0.028_349_523_125;
/// Metres in one international foot (exact; NIST SP 811, Appendix B).
pub const M_PER_FT: f64 = 0.3048;
/// Metres in one inch (exact; NIST SP 811, Appendix B).
pub const M_PER_IN: f64 = 0.0254;
/// Litres in one US liquid quart (exact; NIST Handbook 44, Appendix C).
pub const L_PER_QT: f64 = 0.946_352_946;
/// Litres in one cubic foot (exact; NIST SP 811, Appendix B).
pub const L_PER_FT3: f64 = 28.316_846_592;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $per:literal, $( $(#[$udoc:meta])* $from:ident / $get:ident = $factor:expr ),+ $(,)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// The zero quantity.
            pub const ZERO: Self = Self(0.0);
            $(
                $(#[$udoc])*
                #[must_use]
                pub const fn $from(value: f64) -> Self { Self(value * $factor) }
                #[doc = concat!("Returns the value in the unit of [`Self::", stringify!($from), "`].")]
                #[must_use]
                pub const fn $get(self) -> f64 { self.0 / $factor }
            )+
            /// Returns the lesser of the two.
            #[must_use]
            pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// Returns the greater of the two.
            #[must_use]
            pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
        }

        impl Add for $name { type Output = Self; fn add(self, o: Self) -> Self { Self(self.0 + o.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, o: Self) -> Self { Self(self.0 - o.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl AddAssign for $name { fn add_assign(&mut self, o: Self) { self.0 += o.0; } }
        impl SubAssign for $name { fn sub_assign(&mut self, o: Self) { self.0 -= o.0; } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, k: f64) -> Self { Self(self.0 * k) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, k: f64) -> Self { Self(self.0 / k) } }
        impl Div for $name { type Output = f64; fn div(self, o: Self) -> f64 { self.0 / o.0 } }
        impl Sum for $name { fn sum<I: Iterator<Item = Self>>(it: I) -> Self { Self(it.map(|q| q.0).sum()) } }
    };
}

quantity! {
    /// A mass, held in kilograms.
    Mass, "kg",
    /// Makes a mass from kilograms.
    from_kg / kg = 1.0,
    /// Makes a mass from grams.
    from_g / g = 0.001,
    /// Makes a mass from avoirdupois pounds.
    from_lb / lb = KG_PER_LB,
    /// Makes a mass from avoirdupois ounces.
    from_oz / oz = KG_PER_OZ,
}

quantity! {
    /// A length, held in metres.
    Length, "m",
    /// Makes a length from metres.
    from_m / m = 1.0,
    /// Makes a length from feet.
    from_ft / ft = M_PER_FT,
    /// Makes a length from inches.
    from_in / inches = M_PER_IN,
}

quantity! {
    /// An area, held in square metres.
    Area, "m²",
    /// Makes an area from square metres.
    from_m2 / m2 = 1.0,
    /// Makes an area from square feet.
    from_sqft / sqft = M_PER_FT * M_PER_FT,
}

quantity! {
    /// A volume, held in litres.
    Volume, "L",
    /// Makes a volume from litres.
    from_l / l = 1.0,
    /// Makes a volume from US liquid quarts.
    from_qt / qt = L_PER_QT,
    /// Makes a volume from US gallons.
    from_gal / gal = 4.0 * L_PER_QT,
    /// Makes a volume from cubic feet.
    from_ft3 / ft3 = L_PER_FT3,
}

quantity! {
    /// A stretch of working time, held in minutes.
    Minutes, "min",
    /// Makes a stretch of time from minutes.
    from_min / min_value = 1.0,
    /// Makes a stretch of time from hours.
    from_hours / hours = 60.0,
}

/// A mass for each metre of row, held in kilograms a metre.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct RowYield(f64);

impl RowYield {
    /// Makes a row yield from pounds per 100 feet of row.
    #[must_use]
    pub const fn from_lb_per_100ft(value: f64) -> Self {
        Self(value * KG_PER_LB / (100.0 * M_PER_FT))
    }
    /// Returns kilograms per metre of row.
    #[must_use]
    pub const fn kg_per_m(self) -> f64 {
        self.0
    }
    /// Returns what a row of this length gives.
    #[must_use]
    pub fn over(self, row: Length) -> Mass {
        Mass::from_kg(self.0 * row.m())
    }
}

/// A mass for each square metre of bed, held in kilograms a square metre.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct AreaYield(f64);

impl AreaYield {
    /// Makes an area yield from pounds per square foot.
    #[must_use]
    pub const fn from_lb_per_sqft(value: f64) -> Self {
        Self(value * KG_PER_LB / (M_PER_FT * M_PER_FT))
    }
    /// Returns kilograms per square metre.
    #[must_use]
    pub const fn kg_per_m2(self) -> f64 {
        self.0
    }
    /// Returns what this area gives.
    #[must_use]
    pub fn over(self, area: Area) -> Mass {
        Mass::from_kg(self.0 * area.m2())
    }
}

/// A temperature on the Celsius scale.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// Makes a temperature from degrees Celsius.
    #[must_use]
    pub const fn from_c(value: f64) -> Self {
        Self(value)
    }
    /// Makes a temperature from degrees Fahrenheit.
    #[must_use]
    pub const fn from_f(value: f64) -> Self {
        Self((value - 32.0) / 1.8)
    }
    /// Returns degrees Celsius.
    #[must_use]
    pub const fn c(self) -> f64 {
        self.0
    }
    /// Returns degrees Fahrenheit.
    #[must_use]
    pub const fn f(self) -> f64 {
        self.0 * 1.8 + 32.0
    }
    /// Returns this temperature moved by a difference in kelvins.
    #[must_use]
    pub const fn plus_k(self, kelvins: f64) -> Self {
        Self(self.0 + kelvins)
    }
}

/// Converts a difference in degrees Fahrenheit to kelvins.
#[must_use]
pub const fn kelvins_from_f_degrees(difference: f64) -> f64 {
    difference / 1.8
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Handbook 44 Appendix C and SP 811 Appendix B: exact factors.
    #[test]
    fn factors_are_the_defined_ones() {
        let cases: [(f64, f64); 12] = [
            (Mass::from_lb(1.0).kg(), 0.45359237),
            (Mass::from_oz(16.0).kg(), 0.45359237),
            (
                Mass::from_lb(2.0).kg() + Mass::from_oz(6.0).kg(),
                1.077_281_878_75,
            ),
            (Length::from_ft(1.0).m(), 0.3048),
            (Length::from_in(12.0).ft(), 1.0),
            (Area::from_sqft(100.0).m2(), 9.290_304),
            (Area::from_sqft(32.0).m2(), 2.972_897_28),
            (Volume::from_qt(7.0).l(), 6.624_470_622),
            (Volume::from_gal(1.0).l(), 3.785_411_784),
            (Volume::from_ft3(1.0).l(), 28.316_846_592),
            (
                RowYield::from_lb_per_100ft(1.0).kg_per_m(),
                0.014_881_639_435_695_54,
            ),
            (
                AreaYield::from_lb_per_sqft(1.5).kg_per_m2(),
                7.323_641_454_600_5,
            ),
        ];
        for (i, (got, want)) in cases.iter().enumerate() {
            assert!(
                (got - want).abs() <= 1e-9 * want.abs(),
                "case {i}: {got} for {want}"
            );
        }
    }

    #[test]
    fn fahrenheit_and_celsius_agree() {
        for (f, c) in [(32.0, 0.0), (50.0, 10.0), (86.0, 30.0), (40.0, 40.0 / 9.0)] {
            assert!((Temperature::from_f(f).c() - c).abs() < 1e-12);
            assert!((Temperature::from_c(c).f() - f).abs() < 1e-12);
        }
        assert!((kelvins_from_f_degrees(9.0) - 5.0).abs() < 1e-12);
    }
}
