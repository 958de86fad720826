//! What a planting is expected to give in an ordinary season, and the spread about it.
//!
//! The low and high published figures are both kept in the crop table; the middle is used. Knows no weather.
//!
//! Sources: 60 % of the log variance shared by all plantings of a crop, correlation 0.3 between crops: judgement.

use crate::garden::bed::Bed;
use crate::garden::crop::Crop;
use crate::garden::planting::{Planting, Size};
use crate::garden::units::Mass;

/// Share of a crop's log variance that all its plantings have in common.
const SHARED_SHARE: f64 = 0.6;
/// Correlation of two crops' common factors through the garden's year.
pub(crate) const BETWEEN_CROPS: f64 = 0.3;

/// Which published figure an expected yield rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Yield of a length of row.
    Row,
    /// Yield of a raised bed.
    Bed,
    /// Yield of a row, spread over the ground by the distance between rows, for want of a bed figure.
    RowOverGround,
    /// Yield of a row, a plant taking its distance in the row.
    Plants,
}

/// Returns what a planting is expected to give in its bed, and on which figure that rests.
#[must_use]
pub fn expected(planting: &Planting, crop: &Crop, bed: &Bed) -> (Mass, Basis) {
    let y = &crop.yields;
    let per_m = 0.5 * (y.row_low.kg_per_m() + y.row_high.kg_per_m());
    let (kg, basis) = match planting.size {
        Size::Row(length) => (per_m * length.m(), Basis::Row),
        Size::Area(area) => match (y.bed_low, y.bed_high) {
            (Some(low), Some(high)) => (
                0.5 * (low.kg_per_m2() + high.kg_per_m2()) * area.m2(),
                Basis::Bed,
            ),
            (Some(only), None) | (None, Some(only)) => (only.kg_per_m2() * area.m2(), Basis::Bed),
            (None, None) => {
                let between_m = if y.between_rows.m() > 0.0 {
                    y.between_rows.m()
                } else {
                    1.0
                };
                (per_m * area.m2() / between_m, Basis::RowOverGround)
            }
        },
        Size::Plants(count) => (per_m * count * y.in_row.m(), Basis::Plants),
    };
    let kg = kg * planting.yield_factor * bed.yield_factor;
    (
        Mass::from_kg(if kg.is_finite() { kg.max(0.0) } else { 0.0 }),
        basis,
    )
}

/// Spread of a crop's yield on the logarithmic scale.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LogSpread {
    /// Standard deviation of the part that all plantings of the crop share.
    pub(crate) shared: f64,
    /// Standard deviation of a planting's own part.
    pub(crate) own: f64,
    /// Half of the whole variance, taken off so that the factor's mean is 1.
    pub(crate) half_variance: f64,
}

impl LogSpread {
    /// Makes the spread from a coefficient of variation.
    pub(crate) fn from_cv(cv: f64) -> Self {
        let variance = libm::log1p(cv.max(0.0) * cv.max(0.0));
        Self {
            shared: libm::sqrt(SHARED_SHARE * variance),
            own: libm::sqrt((1.0 - SHARED_SHARE) * variance),
            half_variance: 0.5 * variance,
        }
    }
    /// Returns the yield factor of two standard normal numbers.
    pub(crate) fn factor(&self, shared_z: f64, own_z: f64) -> f64 {
        libm::exp(self.shared * shared_z + self.own * own_z - self.half_variance)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::bed::Protection;
    use crate::garden::units::{Area, AreaYield, Length};
    use crate::season::fixture::{bed, cool_leaf, planting};
    use crate::season::streams::{Purpose, Stream};

    /// Kansas State: collards and kale 100 lb per 100 ft of row, so 20 ft give 20 lb.
    #[test]
    fn expected_yields_by_row_bed_and_plants() {
        let mut crop = cool_leaf("kale", 60.0);
        let mut p = planting("p", 0, "2026-04-01");
        let mut ground = bed("A", Protection::None);
        assert!((expected(&p, &crop, &ground).0.lb() - 20.0).abs() < 1e-9);
        p.yield_factor = 0.5;
        assert!((expected(&p, &crop, &ground).0.lb() - 10.0).abs() < 1e-9);
        ground.yield_factor = 0.8;
        assert!((expected(&p, &crop, &ground).0.lb() - 8.0).abs() < 1e-9);
        ground.yield_factor = 1.0;
        p.yield_factor = 1.0;
        p.size = Size::Plants(20.0);
        assert!((expected(&p, &crop, &ground).0.lb() - 20.0).abs() < 1e-9);
        p.size = Size::Area(Area::from_sqft(40.0));
        let (mass, basis) = expected(&p, &crop, &ground);
        assert!((mass.lb() - 20.0).abs() < 1e-9 && basis == Basis::RowOverGround);
        crop.yields.bed_low = Some(AreaYield::from_lb_per_sqft(0.5));
        crop.yields.bed_high = Some(AreaYield::from_lb_per_sqft(1.1));
        let (mass, basis) = expected(&p, &crop, &ground);
        assert!((mass.lb() - 32.0).abs() < 1e-9 && basis == Basis::Bed);
        crop.yields.bed_low = None;
        crop.yields.bed_high = None;
        crop.yields.between_rows = Length::ZERO;
        assert!(expected(&p, &crop, &ground).0.kg().is_finite());
    }

    /// The factor has mean 1 and the given coefficient of variation, and plantings of a crop share 60 % of it.
    #[test]
    fn factors_have_the_spread_they_should() {
        let mut stream = Stream::keyed(1, 0, "factors", Purpose::Yield);
        for cv in [0.3, 0.4, 0.5] {
            let spread = LogSpread::from_cv(cv);
            let n = 200_000;
            let (mut sum, mut squares, mut product) = (0.0, 0.0, 0.0);
            for _ in 0..n {
                let shared = stream.normal();
                let (a, b) = (
                    spread.factor(shared, stream.normal()),
                    spread.factor(shared, stream.normal()),
                );
                sum += a;
                squares += a * a;
                product += libm::log(a) * libm::log(b);
            }
            let mean = sum / f64::from(n);
            let got = libm::sqrt(squares / f64::from(n) - mean * mean) / mean;
            assert!(
                (mean - 1.0).abs() < 0.006 && (got - cv).abs() < 0.012,
                "{mean} {got}"
            );
            let covariance = product / f64::from(n) - spread.half_variance * spread.half_variance;
            assert!((covariance / (2.0 * spread.half_variance) - 0.6).abs() < 0.02);
        }
    }
}
