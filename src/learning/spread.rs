//! How much seasons and crops differ in this garden, when it has enough of both to tell.
//!
//! Sources: Bühlmann 1967, ASTIN Bulletin 4:199–207, and Bühlmann and Straub 1970 (unequal numbers of seasons); the
//! season-to-season spread is pooled with the default as in a scaled inverse chi-squared prior (Gelman and others,
//! *Bayesian Data Analysis*; from memory).

use super::calibration::Spread;

/// Seasons that the default spread from season to season weighs as much as (judgement).
pub const SEASONS_OF_DEFAULT: f64 = 4.0;
/// Crops that the default spread of gardens around the table weighs as much as (judgement).
pub const CROPS_OF_DEFAULT: f64 = 6.0;
/// Fewest crops with two seasons or more from which the spread between them is estimated (judgement).
const LEAST_CROPS: usize = 4;

/// Mean squares of groups of unequal size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// Variance within a group.
    pub within: f64,
    /// Variance between the groups; zero or below if they differ no more than chance makes them.
    pub between: f64,
    /// Degrees of freedom of the variance within.
    pub freedom: usize,
}

impl Components {
    /// Returns the weight of a group's own mean with so many members, zero if the groups do not differ.
    #[must_use]
    pub fn weight(&self, members: f64) -> f64 {
        if self.between <= 0.0 {
            0.0
        } else {
            members / (members + self.within / self.between)
        }
    }
}

/// Returns the variance within and between groups; none with fewer than two groups or no group of two.
#[must_use]
pub fn components(groups: &[Vec<f64>]) -> Option<Components> {
    let groups: Vec<&Vec<f64>> = groups.iter().filter(|g| !g.is_empty()).collect();
    let size = |g: &Vec<f64>| g.len() as f64;
    let mean_of = |g: &Vec<f64>| g.iter().sum::<f64>() / size(g);
    let members: f64 = groups.iter().map(|g| size(g)).sum();
    let freedom: usize = groups.iter().map(|g| g.len() - 1).sum();
    if groups.len() < 2 || freedom == 0 {
        return None;
    }
    let within = groups
        .iter()
        .flat_map(|g| g.iter().map(move |x| (x - mean_of(g)) * (x - mean_of(g))))
        .sum::<f64>()
        / freedom as f64;
    let centre = groups.iter().map(|g| size(g) * mean_of(g)).sum::<f64>() / members;
    let between_squares: f64 = groups
        .iter()
        .map(|g| size(g) * (mean_of(g) - centre) * (mean_of(g) - centre))
        .sum();
    let squares: f64 = groups.iter().map(|g| size(g) * size(g)).sum();
    let between =
        (between_squares - (groups.len() - 1) as f64 * within) / (members - squares / members);
    Some(Components {
        within,
        between,
        freedom,
    })
}

/// Returns a variance pooled with a default that weighs as much as `prior_freedom` degrees of freedom.
#[must_use]
pub fn pooled_variance(own: f64, freedom: f64, default: f64, prior_freedom: f64) -> f64 {
    (prior_freedom * default + freedom * own) / (prior_freedom + freedom)
}

/// Returns the spread to use: the default, unless enough crops have two seasons or more; says whether it is the
/// garden's own.
///
/// Shape: one list of logarithms a crop. The spread of the crops is measured from the built-in number (a logarithm of
/// zero), not from their common mean: a garden that runs low in everything is far from the table. It is pooled with the
/// default, since a handful of crops can hardly tell.
#[must_use]
pub fn spread_of_garden(groups: &[Vec<f64>], default: Spread) -> (Spread, bool) {
    let many: Vec<Vec<f64>> = groups.iter().filter(|g| g.len() > 1).cloned().collect();
    let Some(found) = components(&many).filter(|_| many.len() >= LEAST_CROPS) else {
        return (default, false);
    };
    let within = pooled_variance(
        found.within,
        found.freedom as f64,
        default.season * default.season,
        SEASONS_OF_DEFAULT,
    );
    let (mut squares, mut seasons) = (0.0, 0.0);
    for group in &many {
        let n = group.len() as f64;
        let mean = group.iter().sum::<f64>() / n;
        squares += n * mean * mean;
        seasons += n;
    }
    let crops = many.len() as f64;
    // A mean of n seasons strays by the variance within over n even where the table is right.
    let from_table = ((squares - crops * within) / seasons).max(0.0);
    let garden = pooled_variance(
        from_table,
        crops,
        default.garden * default.garden,
        CROPS_OF_DEFAULT,
    );
    let spread = Spread {
        season: within.sqrt(),
        garden: garden.sqrt(),
    };
    (spread, true)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::learning::close;

    /// Textbook-type example of three groups of three (from memory); arithmetic repeated in Python with numpy.
    #[test]
    fn equal_groups() {
        let got = components(&[
            vec![750.0, 800.0, 650.0],
            vec![625.0, 600.0, 675.0],
            vec![900.0, 950.0, 850.0],
        ])
        .unwrap();
        close(Some(got.within), 3_263.888_888_888_889);
        close(Some(got.between), 17_060.185_185_185_186);
        close(Some(got.weight(3.0)), 0.940_051_020_408_163_3);
    }

    /// Made-up groups; values computed apart from this project, in Python with numpy (ten digits).
    #[test]
    fn unequal_groups() {
        let got = components(&[
            vec![0.05, -0.10, 0.20],
            vec![-0.40, -0.30],
            vec![0.25, 0.10, 0.15, 0.30],
        ])
        .unwrap();
        close(Some(got.within), 0.0125);
        assert!((got.between - 0.065_865_384_62).abs() < 1e-10);
        assert!((got.weight(3.0) - 0.940_503_432_5).abs() < 1e-9);
        assert!((got.weight(2.0) - 0.913_333_333_3).abs() < 1e-9);
    }

    #[test]
    fn groups_that_do_not_differ_have_no_weight() {
        let got = components(&[vec![0.0, 2.0], vec![1.0, 1.0], vec![0.5, 1.5]]).unwrap();
        assert!(got.between < 0.0);
        assert_eq!(got.weight(5.0), 0.0);
        assert_eq!(components(&[vec![1.0, 2.0]]), None);
        assert_eq!(components(&[vec![1.0], vec![2.0]]), None);
    }

    /// Made-up seasons −0.3, 0.1, −0.2 pooled with 0.4 at four degrees of freedom; by Python with numpy (ten digits).
    #[test]
    fn pooling_with_a_default() {
        let own = 0.208_166_599_9_f64.powi(2);
        let pooled = pooled_variance(own, 2.0, 0.16, 4.0).sqrt();
        assert!((pooled - 0.348_010_217).abs() < 1e-9);
    }

    #[test]
    fn few_crops_keep_the_default() {
        let (spread, own) = spread_of_garden(&[vec![0.1, 0.2], vec![0.4]], Spread::YIELD);
        assert_eq!((spread, own), (Spread::YIELD, false));
        // Six crops as tabled: five seasons each, variance within 0.00625.
        let alike = vec![vec![0.1, -0.1, 0.0, 0.05, -0.05]; 6];
        let (spread, own) = spread_of_garden(&alike, Spread::YIELD);
        assert!(own);
        close(
            Some(spread.season.powi(2)),
            (4.0 * 0.16 + 24.0 * 0.006_25) / 28.0,
        );
        close(Some(spread.garden.powi(2)), 0.045);
        // The same, but everything runs at 0.6 of the table: the spread between crops is nothing, that from the table not.
        let low: Vec<Vec<f64>> = alike
            .iter()
            .map(|g| g.iter().map(|x| x - 0.5).collect())
            .collect();
        let (low, _) = spread_of_garden(&low, Spread::YIELD);
        assert!(low.garden > 0.4, "{low:?}");
        close(Some(low.season), spread.season);
    }
}
