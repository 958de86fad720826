//! Unit words: which unit a column's name ends in, what people call it, and how one converts to another.
//!
//! Factors are those of [`crate::garden::units`]; a crop's own count units are the amounts' business.

use std::borrow::Cow;

use crate::garden::units::{Area, KG_PER_LB, KG_PER_OZ, L_PER_QT, Length, M_PER_FT, Mass};

/// Unit, the words for it, its kind of quantity and its size in that kind's SI unit.
type Unit = (&'static str, &'static [&'static str], char, f64);

/// Units that may be typed, by the suffix that columns use.
const UNITS: [Unit; 17] = [
    (
        "ft",
        &[
            "ft", "ft.", "foot", "feet", "'", "\u{2019}", "\u{2032}", "lf",
        ],
        'l',
        M_PER_FT,
    ),
    (
        "in",
        &["in", "in.", "inch", "inches", "\"", "\u{201D}", "\u{2033}"],
        'l',
        M_PER_FT / 12.0,
    ),
    (
        "m",
        &["m", "m.", "metre", "metres", "meter", "meters"],
        'l',
        1.0,
    ),
    ("cm", &["cm"], 'l', 0.01),
    ("yd", &["yd", "yard", "yards"], 'l', 3.0 * M_PER_FT),
    (
        "sqft",
        &[
            "sqft",
            "sq ft",
            "sq. ft.",
            "sq.ft.",
            "square feet",
            "ft2",
            "ft²",
        ],
        'a',
        M_PER_FT * M_PER_FT,
    ),
    (
        "m2",
        &["m2", "m²", "sqm", "sq m", "square metres", "square meters"],
        'a',
        1.0,
    ),
    (
        "lb",
        &["lb", "lbs", "lb.", "lbs.", "pound", "pounds", "#"],
        'm',
        KG_PER_LB,
    ),
    ("oz", &["oz", "oz.", "ounce", "ounces"], 'm', KG_PER_OZ),
    (
        "kg",
        &["kg", "kgs", "kg.", "kilo", "kilos", "kilogram", "kilograms"],
        'm',
        1.0,
    ),
    ("g", &["g", "g.", "gr", "gram", "grams"], 'm', 0.001),
    (
        "min",
        &["min", "mins", "min.", "minute", "minutes", "m"],
        't',
        1.0,
    ),
    ("h", &["h", "hr", "hrs", "hour", "hours"], 't', 60.0),
    ("days", &["d", "day", "days"], 'd', 1.0),
    ("weeks", &["wk", "wks", "week", "weeks"], 'd', 7.0),
    ("qt", &["qt", "qt.", "quart", "quarts"], 'v', L_PER_QT),
    ("pt", &["pt", "pt.", "pint", "pints"], 'v', L_PER_QT / 2.0),
];

/// Returns the unit in which a column is written, if its name ends in one.
#[must_use]
pub(crate) fn unit_of_column(column: &str) -> Option<&'static str> {
    let suffix = match column {
        "days_to_maturity" | "harvest_days" | "holds_days" => "days",
        _ => column.rsplit_once('_')?.1,
    };
    match suffix {
        "c" => Some("°C"),
        "f" => Some("°F"),
        _ => UNITS.iter().map(|u| u.0).find(|u| *u == suffix),
    }
}

/// Converts a value with a typed unit to another unit; nothing if the two measure different things.
#[must_use]
pub(crate) fn convert(value: f64, typed: &str, to: &str) -> Option<f64> {
    let typed = typed.to_lowercase();
    let degrees = |unit: &str| {
        unit.trim_start_matches(['°', 'º'])
            .trim_start_matches("deg")
            .trim()
            .chars()
            .next()
    };
    if let "°C" | "°F" = to {
        return match (degrees(&typed)?, to) {
            ('c', "°C") | ('f', "°F") => Some(value),
            ('c', _) => Some(value * 1.8 + 32.0),
            ('f', _) => Some((value - 32.0) / 1.8),
            _ => None,
        };
    }
    let target = UNITS.iter().find(|u| u.0 == to)?;
    let from = UNITS
        .iter()
        .find(|u| u.2 == target.2 && u.1.contains(&typed.as_str()))?;
    Some(value * from.3 / target.3)
}

/// Returns the mass of one of a typed mass unit.
#[must_use]
pub(crate) fn mass_of(unit: &str) -> Option<Mass> {
    let unit: Cow<'_, str> = if unit.bytes().all(|b| b.is_ascii_lowercase()) {
        unit.into()
    } else {
        unit.to_lowercase().into()
    };
    UNITS
        .iter()
        .find(|u| u.2 == 'm' && u.1.contains(&unit.as_ref()))
        .map(|u| Mass::from_kg(u.3))
}

/// Returns a length in a column's unit.
#[must_use]
pub(crate) fn length(value: f64, unit: &str) -> Length {
    if unit == "m" {
        Length::from_m(value)
    } else {
        Length::from_ft(value)
    }
}

/// Returns an area in a column's unit.
#[must_use]
pub(crate) fn area(value: f64, unit: &str) -> Area {
    if unit == "m2" {
        Area::from_m2(value)
    } else {
        Area::from_sqft(value)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// NIST SP 811 Appendix B: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg; Fahrenheit by definition.
    #[test]
    fn typed_units_convert() {
        for (value, typed, to, want) in [
            (1.0, "m", "ft", Some(1.0 / 0.3048)),
            (12.0, "\"", "ft", Some(1.0)),
            (1.0, "kg", "lb", Some(1.0 / 0.45359237)),
            (1.0, "m²", "sqft", Some(1.0 / (0.3048 * 0.3048))),
            (90.0, "min", "h", Some(1.5)),
            (10.0, "°C", "°F", Some(50.0)),
            (50.0, "F", "°C", Some(10.0)),
            (8.0, "weeks", "days", Some(56.0)),
            (1.0, "lb", "ft", None),
            (1.0, "bushels", "lb", None),
        ] {
            let got = convert(value, typed, to);
            match want {
                Some(w) => assert!((got.unwrap() - w).abs() < 1e-9, "{typed}"),
                None => assert_eq!(got, None, "{typed}"),
            }
        }
        assert_eq!(unit_of_column("row_ft"), Some("ft"));
        assert_eq!(unit_of_column("tmin_c"), Some("°C"));
        assert_eq!(unit_of_column("people"), None);
        assert!((mass_of("Pounds").unwrap().kg() - 0.45359237).abs() < 1e-12);
    }
}
