//! Amounts with their units: pounds and kilograms, a crop's bunches and heads, a household's bowls.

use super::names::{plain, singular};
use super::number;
use super::units::mass_of;
use crate::garden::crop::{Crop, CropId};
use crate::garden::household::Measure;
use crate::garden::units::Mass;

/// Reads a mass with its unit, such as `1.5 lb`.
#[must_use]
pub(crate) fn mass_text(text: &str) -> Option<Mass> {
    let (value, unit) = split(text)?;
    Some(mass_of(unit)? * value)
}

/// Splits `2 1/2 bunches` into its number and its unit.
#[must_use]
pub(crate) fn split(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let at = text.find(|c: char| c.is_alphabetic() || c == '#')?;
    let value = number::parse(&text[..at])?;
    Some((value, text[at..].trim()))
}

/// Returns what one of a unit weighs for a crop: units of mass, the crop's own, the household's.
#[must_use]
pub(crate) fn unit_mass(
    unit: &str,
    crop: Option<(CropId, &Crop)>,
    measures: &[Measure],
) -> Option<Mass> {
    if let Some(mass) = mass_of(unit) {
        return Some(mass);
    }
    let wanted = plain(unit);
    let one = singular(&wanted);
    let fits = |name: &str| {
        let name = plain(name);
        name == wanted || name == one || singular(&name) == one
    };
    // What the household weighed itself goes before the table, and what it weighed with this crop before any crop.
    let own = |id: Option<CropId>| {
        measures
            .iter()
            .find(|m| m.crop == id && fits(&m.name))
            .map(|m| m.mass)
    };
    crop.and_then(|(id, _)| own(Some(id)))
        .or_else(|| own(None))
        .or_else(|| {
            crop?
                .1
                .units
                .iter()
                .find(|(name, _)| fits(name))
                .map(|(_, mass)| *mass)
        })
}

/// Lists the units that may be used for a crop, for a hint.
#[must_use]
pub(crate) fn units_for(crop: Option<(CropId, &Crop)>, measures: &[Measure]) -> String {
    let mut list: Vec<String> = ["lb", "oz", "kg", "g"].map(str::to_owned).to_vec();
    list.extend(
        crop.iter()
            .flat_map(|(_, c)| c.units.iter().map(|(n, _)| n.clone())),
    );
    list.extend(
        measures
            .iter()
            .filter(|m| m.crop.is_none() || m.crop == crop.map(|c| c.0))
            .map(|m| m.name.clone()),
    );
    list.dedup();
    list.join(", ")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Pounds and ounces by NIST Handbook 44, Appendix C.
    #[test]
    fn masses_are_read_with_their_units() {
        for (text, kg) in [
            ("1 lb", 0.45359237),
            ("1 1/2 lbs", 0.680388555),
            ("½ pound", 0.226796185),
            ("16 oz", 0.45359237),
            ("250 g", 0.25),
            ("2kg", 2.0),
        ] {
            assert!((mass_text(text).unwrap().kg() - kg).abs() < 1e-9, "{text}");
        }
        for text in ["", "lb", "1", "1 bowl", "one lb"] {
            assert!(mass_text(text).is_none(), "{text}");
        }
    }

    #[test]
    fn household_measures_go_before_the_table() {
        let measure = |crop, lb| Measure {
            name: "bowl".to_owned(),
            crop,
            mass: Mass::from_lb(lb),
        };
        let measures = [measure(None, 2.0), measure(Some(CropId(3)), 1.0)];
        assert!((unit_mass("bowls", None, &measures).unwrap().lb() - 2.0).abs() < 1e-12);
        assert!(unit_mass("bucket", None, &measures).is_none());
    }
}
