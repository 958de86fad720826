//! Figures as a household uses them: half pounds, quarter hours, whole containers, "7 in 10".
//!
//! For people only; machine output is never rounded. The steps are a choice of this program, not a published rule.

use crate::garden::UnitSystem;
use crate::garden::units::{Mass, Minutes};

/// What people see where there is no figure.
const NONE: &str = "–";

/// Writes a mass with its unit: "12½ lb", "5.6 kg".
#[must_use]
pub fn mass(mass: Mass, units: UnitSystem) -> String {
    format!("{} {}", mass_figure(mass, units), mass_unit(units))
}

/// Writes two masses with one unit: "8–14½ lb"; one figure if both round alike.
#[must_use]
pub fn mass_range(low: Mass, high: Mass, units: UnitSystem) -> String {
    let unit = mass_unit(units);
    format!(
        "{} {unit}",
        span(mass_figure(low, units), mass_figure(high, units))
    )
}

/// Returns the unit in which people read a mass.
#[must_use]
pub const fn mass_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "lb",
        UnitSystem::Metric => "kg",
    }
}

/// Writes a mass without its unit: half pounds, or tenths of a kilogram.
#[must_use]
pub fn mass_figure(mass: Mass, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => stepped(mass.lb(), 2),
        UnitSystem::Metric => {
            let kg = mass.kg();
            if kg > 0.0 && kg < 0.05 {
                "under 0.1".to_owned()
            } else {
                decimals(kg, 1)
            }
        }
    }
}

/// Writes working time in quarter hours: "3¾ h".
#[must_use]
pub fn hours(time: Minutes) -> String {
    format!("{} h", hours_figure(time))
}

/// Writes two stretches of working time: "3–5¼ h"; one figure if both round alike.
#[must_use]
pub fn hours_range(low: Minutes, high: Minutes) -> String {
    format!("{} h", span(hours_figure(low), hours_figure(high)))
}

/// Writes working time in quarter hours, without its unit.
#[must_use]
pub fn hours_figure(time: Minutes) -> String {
    stepped(time.hours(), 4)
}

/// Writes working time in steps of five minutes, at least five unless it is none: "35 min".
#[must_use]
pub fn minutes(time: Minutes) -> String {
    format!("{} min", minutes_figure(time))
}

/// Writes working time in steps of five minutes, without its unit.
#[must_use]
pub fn minutes_figure(time: Minutes) -> String {
    let exact = time.min_value();
    if !exact.is_finite() {
        return NONE.to_owned();
    }
    let fives = (exact / 5.0).round() * 5.0;
    decimals(if exact > 0.0 { fives.max(5.0) } else { fives }, 0)
}

/// Writes a chance as seasons in ten: "7 in 10"; the ends say "under 1 in 10" and "over 9 in 10" unless they are certain.
#[must_use]
pub fn in_ten(chance: f64) -> String {
    match tenths(chance) {
        Tenths::Unknown => NONE.to_owned(),
        Tenths::Never => "0 in 10".to_owned(),
        Tenths::Rarely => "under 1 in 10".to_owned(),
        Tenths::In10(n) => format!("{n} in 10"),
        Tenths::Mostly => "over 9 in 10".to_owned(),
        Tenths::Always => "10 in 10".to_owned(),
    }
}

/// Writes a chance as a number of seasons: "3 seasons in 10", "every season", "no season".
#[must_use]
pub fn seasons_in_ten(chance: f64) -> String {
    match tenths(chance) {
        Tenths::Unknown => NONE.to_owned(),
        Tenths::Never => "no season".to_owned(),
        Tenths::Rarely => "fewer than 1 season in 10".to_owned(),
        Tenths::In10(1) => "1 season in 10".to_owned(),
        Tenths::In10(n) => format!("{n} seasons in 10"),
        Tenths::Mostly => "more than 9 seasons in 10".to_owned(),
        Tenths::Always => "every season".to_owned(),
    }
}

/// Writes containers as whole ones.
#[must_use]
pub fn containers(number: f64) -> String {
    if number > 0.0 && number < 0.5 {
        "under 1".to_owned()
    } else {
        decimals(number, 0)
    }
}

/// Writes containers in halves, for what stands in store: "3½", "under ½".
#[must_use]
pub fn half_containers(number: f64) -> String {
    stepped(number, 2)
}

/// Writes two numbers of containers as whole ones: "3–7"; one figure if both round alike.
#[must_use]
pub fn containers_range(low: f64, high: f64) -> String {
    span(containers(low), containers(high))
}

/// Writes a count with its noun: "1 jar", "3 jars".
#[must_use]
pub fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Writes a number with so many decimals; a dash if it is not a finite number.
#[must_use]
pub fn decimals(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let text = format!("{value:.decimals$}");
    // "-0" and "-0.0" would puzzle a reader.
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// Joins two figures by a dash, or writes one if they are alike.
fn span(low: String, high: String) -> String {
    if low == high {
        low
    } else {
        format!("{low}–{high}")
    }
}

/// Writes a number in halves (`parts` 2) or quarters (`parts` 4) with fraction signs; "under ½" if it is not nothing but rounds to nothing.
fn stepped(value: f64, parts: u32) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let steps = (value.abs() * f64::from(parts)).round();
    let sign = if value < 0.0 { "−" } else { "" };
    let smallest = if parts == 2 { "½" } else { "¼" };
    if steps == 0.0 {
        return if value > 0.0 {
            format!("under {smallest}")
        } else {
            "0".to_owned()
        };
    }
    let whole = (steps / f64::from(parts)).floor();
    let fraction = match ((steps - whole * f64::from(parts)) * 4.0 / f64::from(parts)) as u8 {
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => "",
    };
    if whole == 0.0 {
        format!("{sign}{fraction}")
    } else {
        format!("{sign}{whole:.0}{fraction}")
    }
}

enum Tenths {
    Unknown,
    Never,
    Rarely,
    In10(u8),
    Mostly,
    Always,
}

/// Sorts a chance into tenths; "0 in 10" and "10 in 10" are kept for never and always.
fn tenths(chance: f64) -> Tenths {
    if !chance.is_finite() {
        Tenths::Unknown
    } else if chance <= 0.0 {
        Tenths::Never
    } else if chance >= 1.0 {
        Tenths::Always
    } else if chance < 0.05 {
        Tenths::Rarely
    } else if chance > 0.95 {
        Tenths::Mostly
    } else {
        Tenths::In10(((chance * 10.0).round() as u8).clamp(1, 9))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_in_half_pounds_or_tenths_of_a_kilogram() {
        for (lb, text) in [
            (0.0, "0 lb"),
            (0.1, "under ½ lb"),
            (0.24, "under ½ lb"),
            (0.25, "½ lb"),
            (0.74, "½ lb"),
            (0.76, "1 lb"),
            (12.3, "12½ lb"),
            (12.2, "12 lb"),
            (101.0, "101 lb"),
            (-1.5, "−1½ lb"),
            (f64::NAN, "– lb"),
        ] {
            assert_eq!(mass(Mass::from_lb(lb), UnitSystem::Us), text, "{lb}");
        }
        for (kg, text) in [(0.0, "0.0 kg"), (0.01, "under 0.1 kg"), (5.649, "5.6 kg")] {
            assert_eq!(mass(Mass::from_kg(kg), UnitSystem::Metric), text, "{kg}");
        }
        let range = |a, b| mass_range(Mass::from_lb(a), Mass::from_lb(b), UnitSystem::Us);
        assert_eq!(range(8.1, 14.4), "8–14½ lb");
        assert_eq!(range(8.1, 8.2), "8 lb");
    }

    #[test]
    fn hours_in_quarters_and_minutes_in_fives() {
        for (min, text) in [
            (0.0, "0 h"),
            (5.0, "under ¼ h"),
            (8.0, "¼ h"),
            (30.0, "½ h"),
            (225.0, "3¾ h"),
            (238.0, "4 h"),
            (52.0, "¾ h"),
            (f64::INFINITY, "– h"),
        ] {
            assert_eq!(hours(Minutes::from_min(min)), text, "{min}");
        }
        for (min, text) in [
            (0.0, "0 min"),
            (1.0, "5 min"),
            (37.4, "35 min"),
            (110.0, "110 min"),
            (f64::NAN, "– min"),
        ] {
            assert_eq!(minutes(Minutes::from_min(min)), text, "{min}");
        }
        assert_eq!(
            hours_range(Minutes::from_hours(3.0), Minutes::from_hours(5.2)),
            "3–5¼ h"
        );
    }

    #[test]
    fn chances_in_tenths_keep_never_and_always_apart() {
        for (p, short, long) in [
            (0.0, "0 in 10", "no season"),
            (0.001, "under 1 in 10", "fewer than 1 season in 10"),
            (0.05, "1 in 10", "1 season in 10"),
            (0.32, "3 in 10", "3 seasons in 10"),
            (0.95, "9 in 10", "9 seasons in 10"),
            (0.951, "over 9 in 10", "more than 9 seasons in 10"),
            (1.0, "10 in 10", "every season"),
            (f64::NAN, "–", "–"),
        ] {
            assert_eq!(
                (in_ten(p).as_str(), seasons_in_ten(p).as_str()),
                (short, long),
                "{p}"
            );
        }
    }

    #[test]
    fn small_things() {
        assert_eq!(
            [
                containers(0.0),
                containers(0.2),
                containers(6.5),
                containers(6.6)
            ],
            ["0", "under 1", "6", "7"]
        );
        assert_eq!(
            [
                half_containers(3.5),
                half_containers(0.5),
                half_containers(2.0)
            ],
            ["3½", "½", "2"]
        );
        assert_eq!(
            [containers_range(3.2, 6.9), containers_range(6.6, 7.4)],
            ["3–7", "7"]
        );
        assert_eq!(
            [counted(1, "jar", "jars"), counted(0, "jar", "jars")],
            ["1 jar", "0 jars"]
        );
        assert_eq!(
            [decimals(-0.04, 1), decimals(-2.0, 0), decimals(2.345, 2)],
            ["0.0", "−2", "2.35"]
        );
    }
}
