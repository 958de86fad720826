//! What may be preserved how: the matrix of crop and method, compiled in and not to be overridden.
//!
//! Three answers stop or warn: refused, not advised, practice. The cells follow the current USDA Complete Guide
//! to Home Canning (AIB 539, Guides 3, 4 and 6), National Center for Home Food Preservation and extension pages named
//! beside the rows. It computes no process time and knows nothing of jars or altitude bands.

use std::fmt;

/// A row of the matrix: crops that share one set of answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(
    missing_docs,
    reason = "each variant is the row of that name in MATRIX"
)]
pub enum SafetyRow {
    Beans,
    CookingGreens,
    AsianGreens,
    Lettuce,
    Basil,
    Herbs,
    Okra,
    SummerSquash,
    Eggplant,
    Tomato,
    Pepper,
    Cucumber,
    Beet,
    Carrot,
    Radish,
    TurnipRoot,
    Rutabaga,
    Cabbage,
    Broccoli,
    Cauliflower,
    BrusselsSprouts,
    Peas,
    EdiblePodPeas,
    SweetCorn,
    WinterSquash,
    OnionAndGarlic,
    Potato,
}

/// A column of the matrix: ways of preserving that share one set of answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SafetyColumn {
    /// Pressure canning.
    PressureCan,
    /// Boiling-water canning without acid.
    WaterBathPlain,
    /// Boiling-water canning of pickles and of tomatoes with added acid.
    WaterBathPickled,
    /// Freezing.
    Freeze,
    /// Drying.
    Dry,
    /// Fermenting.
    Ferment,
    /// Vinegar pickle kept in the refrigerator.
    FridgePickle,
}

impl SafetyColumn {
    /// Every column with the words used for it in `methods.csv`, in the order of the matrix cells.
    pub const NAMES: [(&'static str, Self); 7] = [
        ("pressure can", Self::PressureCan),
        ("water-bath plain", Self::WaterBathPlain),
        ("water-bath pickled", Self::WaterBathPickled),
        ("freeze", Self::Freeze),
        ("dry", Self::Dry),
        ("ferment", Self::Ferment),
        ("fridge pickle", Self::FridgePickle),
    ];

    /// Says whether the column seals jars for the shelf.
    #[must_use]
    pub const fn is_canning(self) -> bool {
        matches!(
            self,
            Self::PressureCan | Self::WaterBathPlain | Self::WaterBathPickled
        )
    }

    /// Returns the words used in `methods.csv`.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, c)| *c == self)
            .map_or("", |(name, _)| name)
    }
}

/// One line of the matrix: name, row, seven cells in the order of [`SafetyColumn::NAMES`], remark.
///
/// Cells: `Y` supported by a tested source; `R` only by a named tested recipe; `p` practice without a published test;
/// `q` poor quality; `N` do not.
type Line = (&'static str, SafetyRow, [char; 7], &'static str);

/// The matrix. Sources beside the rows; where a guide has no entry the cell is `N` for canning.
#[rustfmt::skip]
const MATRIX: [Line; 27] = [
    ("beans",            SafetyRow::Beans,           ['Y','N','R','Y','Y','p','Y'], "USDA Guide 4; dilly beans by the tested recipe"),
    ("cooking greens",   SafetyRow::CookingGreens,   ['Y','N','N','Y','Y','p','N'], "USDA Guide 4: pressure canning is heavy on produce and time; freezing gives the better product"),
    ("asian greens",     SafetyRow::AsianGreens,     ['N','N','N','Y','q','Y','Y'], "no canning process is published; Michigan State Extension"),
    ("lettuce",          SafetyRow::Lettuce,         ['N','N','N','N','N','N','N'], "Kansas State Extension: not suited to any preserving"),
    ("basil",            SafetyRow::Basil,           ['N','N','N','Y','Y','N','N'], "NCHFP: pesto is frozen, never canned"),
    ("herbs",            SafetyRow::Herbs,           ['N','N','N','Y','Y','N','N'], "as basil; NC State Extension: no canning advice for herbs in oil"),
    ("okra",             SafetyRow::Okra,            ['Y','N','R','Y','Y','p','Y'], "USDA Guide 4; pickled by the tested recipe"),
    ("summer squash",    SafetyRow::SummerSquash,    ['N','N','R','Y','Y','q','Y'], "USDA withdrew the canning process; Clemson and Kansas State Extension"),
    ("eggplant",         SafetyRow::Eggplant,        ['N','N','R','Y','q','N','N'], "Penn State Extension 2024: tested relishes only"),
    ("tomato",           SafetyRow::Tomato,          ['R','N','R','Y','Y','N','N'], "USDA Guide 3: only with added acid, in either canner"),
    ("pepper",           SafetyRow::Pepper,          ['Y','N','R','Y','Y','Y','Y'], "USDA Guide 4: pints only"),
    ("cucumber",         SafetyRow::Cucumber,        ['N','N','R','N','q','Y','Y'], "USDA Guide 6"),
    ("beet",             SafetyRow::Beet,            ['Y','N','R','Y','Y','Y','Y'], "USDA Guide 4"),
    ("carrot",           SafetyRow::Carrot,          ['Y','N','R','Y','Y','Y','Y'], "USDA Guide 4"),
    ("radish",           SafetyRow::Radish,          ['N','N','N','N','q','Y','Y'], "Kansas State Extension; no canning process is published"),
    ("turnip root",      SafetyRow::TurnipRoot,      ['N','N','N','Y','q','Y','Y'], "no entry in the current USDA guide; an older extension page allowed canning"),
    ("rutabaga",         SafetyRow::Rutabaga,        ['N','N','N','Y','q','Y','Y'], "not recommended for canning: colour and flavour"),
    ("cabbage",          SafetyRow::Cabbage,         ['N','N','R','Y','Y','Y','Y'], "USDA Guide 6: kraut and relish by the tested recipe"),
    ("broccoli",         SafetyRow::Broccoli,        ['N','N','N','Y','q','q','Y'], "Univ. of Missouri HES134 advises against drying"),
    ("cauliflower",      SafetyRow::Cauliflower,     ['N','N','R','Y','q','Y','Y'], "Univ. of Missouri HES134; pickled by the tested recipe"),
    ("brussels sprouts", SafetyRow::BrusselsSprouts, ['N','N','R','Y','q','q','Y'], "Michigan State Extension; pickled by the tested recipe"),
    ("peas",             SafetyRow::Peas,            ['Y','N','N','Y','Y','N','N'], "USDA Guide 4: shelled peas"),
    ("edible-pod peas",  SafetyRow::EdiblePodPeas,   ['N','N','N','Y','Y','N','N'], "USDA Guide 4: freeze instead of canning"),
    ("sweet corn",       SafetyRow::SweetCorn,       ['Y','N','R','Y','Y','N','N'], "USDA Guide 4; relish by the tested recipe"),
    ("winter squash",    SafetyRow::WinterSquash,    ['Y','N','N','Y','Y','q','N'], "USDA Guide 4: cubes only, never mashed"),
    ("onion and garlic", SafetyRow::OnionAndGarlic,  ['N','N','R','Y','Y','Y','Y'], "no plain process in the current USDA guide"),
    ("potato",           SafetyRow::Potato,          ['Y','N','N','Y','Y','N','N'], "USDA Guide 4: white potatoes; frozen only part-cooked"),
];

impl SafetyRow {
    /// Returns the row of a name used in `crops.csv`, if there is one.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        MATRIX.iter().find(|line| line.0 == name).map(|line| line.1)
    }
    /// Returns every name, in the order of the matrix.
    pub fn names() -> impl Iterator<Item = &'static str> {
        MATRIX.iter().map(|line| line.0)
    }
    /// Returns the name used in `crops.csv`.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.line().0
    }
    /// Returns the remark with its source.
    #[must_use]
    pub fn remark(self) -> &'static str {
        self.line().3
    }
    fn line(self) -> &'static Line {
        MATRIX
            .iter()
            .find(|line| line.1 == self)
            .expect("every row has its line in the matrix")
    }
}

/// The answer of the matrix.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Supported by a tested source.
    Tested,
    /// Supported only by a tested recipe that must be named, with its fixed amounts.
    TestedRecipe,
    /// Common practice without a published test.
    Practice,
    /// Allowed, but the quality is poor.
    NotAdvised(&'static str),
    /// Unsafe, or canning without a tested source: never offered.
    Refused(&'static str),
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tested => write!(f, "supported by a tested source"),
            Self::TestedRecipe => write!(f, "only by a named tested recipe"),
            Self::Practice => write!(f, "practice: no published test"),
            Self::NotAdvised(why) => write!(f, "not advised: {why}"),
            Self::Refused(why) => write!(f, "refused: {why}"),
        }
    }
}

/// Answers for one crop and one way of preserving.
///
/// A crop that is not in the matrix is refused for canning and is practice for the rest;
/// a method without a column (cure and store) is practice.
#[must_use]
pub fn verdict(row: Option<SafetyRow>, column: Option<SafetyColumn>) -> Verdict {
    let Some(column) = column else {
        return Verdict::Practice;
    };
    let Some(row) = row else {
        return if column.is_canning() {
            Verdict::Refused("the crop is not in the matrix of tested canning")
        } else {
            Verdict::Practice
        };
    };
    let index = SafetyColumn::NAMES
        .iter()
        .position(|(_, c)| *c == column)
        .expect("every column is named");
    match row.line().2[index] {
        'Y' => Verdict::Tested,
        'R' => Verdict::TestedRecipe,
        'p' => Verdict::Practice,
        'q' => Verdict::NotAdvised(row.remark()),
        _ if column == SafetyColumn::WaterBathPlain => {
            Verdict::Refused("boiling water cannot make plain vegetables safe")
        }
        _ if matches!(column, SafetyColumn::Freeze | SafetyColumn::Dry) => {
            Verdict::NotAdvised(row.remark())
        }
        _ => Verdict::Refused(row.remark()),
    }
}

/// What a product says of itself, as far as its safety depends on it.
#[derive(Debug, Clone, Copy)]
pub struct Claim<'a> {
    /// Rows of its crops.
    pub rows: &'a [Option<SafetyRow>],
    /// Column of its method.
    pub column: Option<SafetyColumn>,
    /// Whether it names a tested recipe with fixed amounts.
    pub names_recipe: bool,
    /// Whether it is a built-in row, not one of the household's own.
    pub built_in: bool,
    /// Whether it is mashed or puréed.
    pub mashed: bool,
}

/// Answers for a whole product: the worst answer of its crops, and the rules for mixtures and purées.
///
/// A canned product of several crops must be a built-in row that names its tested recipe.
#[must_use]
pub fn product_verdict(claim: Claim<'_>) -> Verdict {
    let canned = claim.column.is_some_and(SafetyColumn::is_canning);
    if canned && claim.mashed {
        return Verdict::Refused("mashed or puréed vegetables are never canned");
    }
    if canned && claim.rows.len() > 1 && !(claim.built_in && claim.names_recipe) {
        return Verdict::Refused("a canned mixture must follow a tested recipe with fixed amounts");
    }
    let worst = claim
        .rows
        .iter()
        .map(|&row| verdict(row, claim.column))
        .max_by_key(|v| match v {
            Verdict::Tested => 0,
            Verdict::TestedRecipe => 1,
            Verdict::Practice => 2,
            Verdict::NotAdvised(_) => 3,
            Verdict::Refused(_) => 4,
        });
    match worst {
        Some(Verdict::TestedRecipe) if !claim.names_recipe => {
            Verdict::Refused("it is safe only by a tested recipe, and none is named")
        }
        Some(verdict) => verdict,
        None => Verdict::Practice,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Row by row after the USDA Complete Guide to Home Canning (AIB 539), Guides 3, 4 and 6, and the extension pages
    /// named in the remarks: T tested, R named recipe only, p practice, q not advised, - refused.
    #[test]
    fn every_row_of_the_matrix() {
        let expected = [
            ("beans", "T-RTTpT"),
            ("cooking greens", "T--TTp-"),
            ("asian greens", "---TqTT"),
            ("lettuce", "---qq--"),
            ("basil", "---TT--"),
            ("herbs", "---TT--"),
            ("okra", "T-RTTpT"),
            ("summer squash", "--RTTqT"),
            ("eggplant", "--RTq--"),
            ("tomato", "R-RTT--"),
            ("pepper", "T-RTTTT"),
            ("cucumber", "--RqqTT"),
            ("beet", "T-RTTTT"),
            ("carrot", "T-RTTTT"),
            ("radish", "---qqTT"),
            ("turnip root", "---TqTT"),
            ("rutabaga", "---TqTT"),
            ("cabbage", "--RTTTT"),
            ("broccoli", "---TqqT"),
            ("cauliflower", "--RTqTT"),
            ("brussels sprouts", "--RTqqT"),
            ("peas", "T--TT--"),
            ("edible-pod peas", "---TT--"),
            ("sweet corn", "T-RTT--"),
            ("winter squash", "T--TTq-"),
            ("onion and garlic", "--RTTTT"),
            ("potato", "T--TT--"),
        ];
        assert_eq!(expected.len(), MATRIX.len());
        for (name, cells) in expected {
            let row = SafetyRow::from_name(name);
            assert!(row.is_some(), "{name}");
            for ((column_name, column), want) in SafetyColumn::NAMES.iter().zip(cells.chars()) {
                let got = match verdict(row, Some(*column)) {
                    Verdict::Tested => 'T',
                    Verdict::TestedRecipe => 'R',
                    Verdict::Practice => 'p',
                    Verdict::NotAdvised(_) => 'q',
                    Verdict::Refused(_) => '-',
                };
                assert_eq!(got, want, "{name} × {column_name}");
            }
        }
    }

    #[test]
    fn no_plain_vegetable_goes_into_boiling_water() {
        for line in &MATRIX {
            assert!(matches!(
                verdict(Some(line.1), Some(SafetyColumn::WaterBathPlain)),
                Verdict::Refused(_)
            ));
        }
    }

    #[test]
    fn strangers_to_the_matrix_are_never_canned() {
        for (_, column) in SafetyColumn::NAMES {
            let answer = verdict(None, Some(column));
            assert_eq!(matches!(answer, Verdict::Refused(_)), column.is_canning());
        }
        assert_eq!(verdict(None, None), Verdict::Practice);
    }

    #[test]
    fn mixtures_and_purees_are_canned_only_by_built_in_recipe() {
        let rows = [Some(SafetyRow::Beans), Some(SafetyRow::Carrot)];
        let claim = Claim {
            rows: &rows,
            column: Some(SafetyColumn::PressureCan),
            names_recipe: true,
            built_in: false,
            mashed: false,
        };
        assert!(matches!(product_verdict(claim), Verdict::Refused(_)));
        assert_eq!(
            product_verdict(Claim {
                built_in: true,
                ..claim
            }),
            Verdict::Tested
        );
        let squash = [Some(SafetyRow::WinterSquash)];
        let mashed = Claim {
            rows: &squash,
            mashed: true,
            ..claim
        };
        assert!(matches!(product_verdict(mashed), Verdict::Refused(_)));
        assert_eq!(
            product_verdict(Claim {
                column: Some(SafetyColumn::Freeze),
                ..mashed
            }),
            Verdict::Tested
        );
        let tomato = [Some(SafetyRow::Tomato)];
        let plain = Claim {
            rows: &tomato,
            names_recipe: false,
            ..claim
        };
        assert!(matches!(product_verdict(plain), Verdict::Refused(_)));
    }
}
