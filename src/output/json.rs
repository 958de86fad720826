//! Facts as JSON: one object that says what made it, with the rows in it.
//!
//! Valid RFC 8259 text, one row a line so that line tools can read it too. Numbers are numbers, a missing value is `null`;
//! not-a-number and infinity cannot occur, because cells turn them into missing values.

use super::report::{Facts, Stamp};
use super::table::{Cell, Fact};
use super::text::is_steering;
use serde_json::Value;

/// Keys of the envelope, which values beside the rows may not take.
const ENVELOPE: [&str; 6] = ["putby", "garden", "as_of", "random_seed", "draws", "rows"];

/// Writes the object; ends with a line end.
///
/// # Panics
/// If a value beside the rows takes a key of the envelope: that is a fault of the program, not of its input.
#[must_use]
pub fn render(facts: &Facts, stamp: &Stamp) -> String {
    let mut top: Vec<(&str, Value)> = vec![
        ("putby", Value::from(stamp.version.as_str())),
        ("garden", Value::from(stamp.garden.as_str())),
        (
            "as_of",
            Value::from(stamp.as_of.format("%Y-%m-%d").to_string()),
        ),
        ("random_seed", Value::from(stamp.random_seed)),
        ("draws", Value::from(stamp.draws)),
    ];
    for (key, value) in &facts.top {
        assert!(
            !ENVELOPE.contains(&key.as_str()),
            "`{key}` is a key of the envelope"
        );
        top.push((key, unsigned_zero(value.clone())));
    }

    let mut text = String::from("{\n");
    for (key, value) in top {
        text.push_str(&format!("{}: {value},\n", Value::from(key)));
    }
    let keys: Vec<String> = facts
        .keys
        .iter()
        .map(|key| Value::from(key.as_str()).to_string())
        .collect();
    let rows: Vec<String> = facts.rows.iter().map(|row| object(&keys, row)).collect();
    text.push_str("\"rows\": [");
    if !rows.is_empty() {
        text.push('\n');
        text.push_str(&rows.join(",\n"));
        text.push('\n');
    }
    text.push_str("]\n}\n");
    harmless(&text)
}

/// Writes characters that steer a terminal as JSON's own escapes: they stand in strings only, and read back as they were.
fn harmless(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c != '\n' && is_steering(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

fn object(keys: &[String], row: &[Cell]) -> String {
    let members: Vec<String> = keys
        .iter()
        .zip(row)
        .map(|(key, cell)| format!("{key}: {}", value(cell)))
        .collect();
    format!("{{{}}}", members.join(", "))
}

/// Writes a zero without a sign, which a sum of nothing has.
fn unsigned_zero(value: Value) -> Value {
    match value {
        Value::Number(n) if n.as_f64() == Some(0.0) && n.is_f64() => Value::from(0.0),
        Value::Array(all) => all.into_iter().map(unsigned_zero).collect(),
        Value::Object(members) => members
            .into_iter()
            .map(|(key, member)| (key, unsigned_zero(member)))
            .collect(),
        other => other,
    }
}

fn value(cell: &Cell) -> Value {
    match cell.for_machines() {
        Fact::Nothing => Value::Null,
        Fact::Text(text) => Value::from(text),
        Fact::Number(number) => Value::from(number),
        Fact::Whole(number) => Value::from(number),
        Fact::Bool(yes) => Value::from(yes),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::units::Mass;

    fn stamp() -> Stamp {
        Stamp {
            version: "0.1.0".into(),
            garden: "Ours \"up\" \u{1b}the hill".into(),
            as_of: "2026-07-01".parse().unwrap(),
            random_seed: Some(u64::MAX),
            draws: None,
        }
    }

    #[test]
    fn the_envelope_in_its_order() {
        let mut facts = Facts::new(&["week", "kg_p50", "note"]);
        facts.push(vec![
            Cell::text("2026-07-06"),
            Cell::Mass(Mass::from_kg(1.5)),
            Cell::Empty,
        ]);
        facts.push(vec![
            Cell::text("=\u{7}"),
            Cell::Number(f64::INFINITY, 1),
            Cell::Bool(true),
        ]);
        facts.beside("status", serde_json::json!("gap"));
        facts.beside("bound", serde_json::json!([{"litres": -0.0}]));
        facts.beside("proof", serde_json::json!([{"from": "2026-07-06"}]));
        let text = render(&facts, &stamp());
        assert!(
            text.chars().all(|c| c == '\n' || !c.is_control()),
            "{text:?}"
        );
        let back: Value = serde_json::from_str(&text).unwrap();
        let keys: Vec<&String> = back.as_object().unwrap().keys().collect();
        assert_eq!(
            keys,
            [
                "putby",
                "garden",
                "as_of",
                "random_seed",
                "draws",
                "status",
                "bound",
                "proof",
                "rows"
            ]
        );
        assert_eq!(back["garden"], "Ours \"up\" \u{1b}the hill");
        assert_eq!(back["random_seed"], u64::MAX);
        assert_eq!(back["draws"], Value::Null);
        assert!(text.contains(r#""bound": [{"litres":0.0}]"#), "{text}");
        assert_eq!(
            back["rows"][0],
            serde_json::json!({"week": "2026-07-06", "kg_p50": 1.5, "note": null})
        );
        assert_eq!(
            back["rows"][1],
            serde_json::json!({"week": "=\u{7}", "kg_p50": null, "note": true})
        );
        assert!(
            text.lines().any(|l| l.starts_with("{\"week\"")),
            "one row a line"
        );
    }

    #[test]
    fn no_rows_is_an_empty_list() {
        let back: Value = serde_json::from_str(&render(&Facts::new(&["week"]), &stamp())).unwrap();
        assert_eq!(back["rows"], serde_json::json!([]));
    }

    #[test]
    #[should_panic(expected = "key of the envelope")]
    fn a_doubled_key_is_our_fault() {
        let mut facts = Facts::new(&[]);
        facts.beside("rows", Value::Null);
        let _ = render(&facts, &stamp());
    }
}
