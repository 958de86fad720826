//! How much of a mixed product can be made of what there is.
//!
//! Each crop has a least and a greatest share of the product's garden weight. Pure arithmetic; knows no crops.

/// One ingredient: what there is of it and the shares it may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ingredient {
    /// What there is, kg.
    pub have_kg: f64,
    /// Least share, 0–1.
    pub least: f64,
    /// Greatest share, 0–1.
    pub greatest: f64,
}

/// Computes the greatest total `m` with `least·m ≤ x ≤ min(have, greatest·m)` and `Σ x = m`, at most `cap_kg`.
///
/// With x filled up to its ceilings the sum is concave in m and starts at 0, so the feasible totals form one stretch
/// from 0: its end lies between two of the points where a ceiling passes from a share to an amount.
///
/// Units: kg. Zero when a crop with a least share is missing or the greatest shares do not reach 1.
#[must_use]
pub fn greatest_total(ingredients: &[Ingredient], cap_kg: f64) -> f64 {
    let mut most = cap_kg.min(ingredients.iter().map(|i| i.have_kg).sum());
    for i in ingredients {
        if i.least > 0.0 {
            most = most.min(i.have_kg / i.least);
        }
    }
    let reach = |m: f64| -> f64 {
        ingredients
            .iter()
            .map(|i| i.have_kg.min(i.greatest * m))
            .sum()
    };
    if most <= 0.0 || ingredients.is_empty() {
        return 0.0;
    }
    if reach(most) >= most * (1.0 - 1e-12) {
        return most;
    }
    // Walk the breakpoints have/greatest upwards: between two of them `reach` is a straight line.
    let mut low = 0.0;
    loop {
        let mut high = most;
        for i in ingredients {
            if i.greatest > 0.0 {
                let at = i.have_kg / i.greatest;
                if at > low && at < high {
                    high = at;
                }
            }
        }
        if reach(high) < high * (1.0 - 1e-12) {
            let (r0, r1) = (reach(low) - low, reach(high) - high);
            // r0 ≥ 0 > r1; on a straight line the crossing is exact.
            return if r0 <= 0.0 {
                low
            } else {
                low + (high - low) * r0 / (r0 - r1)
            };
        }
        if high >= most {
            return most;
        }
        low = high;
    }
}

/// Fills a total: every least share first, then the ingredients in the order given, which is the shortest-keeping first.
///
/// Shape: `into` has as many elements as `ingredients`. `total_kg` is at most [`greatest_total`].
pub fn fill(ingredients: &[Ingredient], total_kg: f64, into: &mut [f64]) {
    let mut left = total_kg;
    for (x, i) in into.iter_mut().zip(ingredients) {
        *x = (i.least * total_kg).min(i.have_kg);
        left -= *x;
    }
    for (x, i) in into.iter_mut().zip(ingredients) {
        let more = (i.have_kg.min(i.greatest * total_kg) - *x)
            .max(0.0)
            .min(left.max(0.0));
        *x += more;
        left -= more;
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn i(have_kg: f64, least: f64, greatest: f64) -> Ingredient {
        Ingredient {
            have_kg,
            least,
            greatest,
        }
    }

    /// Worked by hand: a pesto of at least half basil, the rest leaves.
    #[test]
    fn worked_by_hand() {
        let cases = [
            (vec![i(1.0, 0.5, 1.0), i(3.0, 0.0, 0.5)], 2.0),
            (vec![i(1.0, 0.5, 1.0), i(0.2, 0.0, 0.5)], 1.2),
            (vec![i(0.0, 0.5, 1.0), i(3.0, 0.0, 0.5)], 0.0),
            // Radish with a tenth to a quarter of onion.
            (vec![i(4.0, 0.75, 0.9), i(1.0, 0.1, 0.25)], 5.0),
            (vec![i(4.0, 0.75, 0.9), i(0.2, 0.1, 0.25)], 2.0),
            // Greatest shares that do not reach the whole make nothing.
            (vec![i(4.0, 0.0, 0.4), i(4.0, 0.0, 0.4)], 0.0),
            // Three greens in any mixture.
            (
                vec![i(0.3, 0.0, 1.0), i(0.2, 0.0, 1.0), i(0.4, 0.0, 1.0)],
                0.9,
            ),
            // At most half of any: 0.3 + 0.2 + half.
            (
                vec![i(0.3, 0.0, 0.5), i(0.2, 0.0, 0.5), i(9.0, 0.0, 0.5)],
                1.0,
            ),
        ];
        for (ingredients, want) in cases {
            let got = greatest_total(&ingredients, f64::INFINITY);
            assert!(
                (got - want).abs() < 1e-9,
                "{ingredients:?}: {got} for {want}"
            );
        }
        assert_eq!(greatest_total(&[i(5.0, 1.0, 1.0)], 2.0), 2.0);
    }

    proptest! {
        /// Against a plain scan of totals: no greater total is feasible, and the filling obeys every share.
        #[test]
        fn no_greater_total_is_feasible(
            raw in prop::collection::vec((0.0f64..5.0, 0.0f64..0.5, 0.0f64..1.0), 1..5)
        ) {
            let ingredients: Vec<Ingredient> =
                raw.iter().map(|&(h, l, g)| i(h, l.min(g), g)).collect();
            let least: f64 = ingredients.iter().map(|i| i.least).sum();
            prop_assume!(least <= 1.0);
            let feasible = |m: f64| {
                ingredients.iter().all(|i| i.least * m <= i.have_kg + 1e-9)
                    && ingredients.iter().map(|i| i.have_kg.min(i.greatest * m)).sum::<f64>() >= m - 1e-9
            };
            let m = greatest_total(&ingredients, f64::INFINITY);
            prop_assert!(feasible(m));
            for step in 1..200 {
                let larger = m + 1e-3 + f64::from(step) * 0.1;
                prop_assert!(!feasible(larger), "{larger} is feasible above {m}");
            }
            let mut x = vec![0.0; ingredients.len()];
            fill(&ingredients, m, &mut x);
            prop_assert!((x.iter().sum::<f64>() - m).abs() < 1e-9 * (1.0 + m));
            for (x, i) in x.iter().zip(&ingredients) {
                prop_assert!(*x >= i.least * m - 1e-9 && *x <= i.have_kg.min(i.greatest * m) + 1e-9);
            }
        }
    }
}
