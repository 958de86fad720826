//! `data/schemas`: what every verb writes with `--format json` is what its schema says, no key more and none less.
//!
//! Understands the part of JSON Schema (draft 2020-12) that the schemas use and refuses any other word; `tests/checks/schemas.py`
//! asks a general library the same.

mod common;

use chrono::NaiveDate;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;

/// Words that say nothing of what is valid, or that only the general library checks.
const SILENT: [&str; 5] = ["$schema", "title", "description", "$defs", "pattern"];

/// Schema, command line.
const ASKED: [(&str, &str); 22] = [
    ("calendar", "calendar --weeks 2"),
    ("check", "check"),
    ("compare", "compare"),
    ("forecast", "forecast"),
    ("forecast", "forecast --by planting"),
    ("kitchen", "kitchen"),
    ("kitchen", "kitchen --relief"),
    ("learn", "learn"),
    ("sessions", "sessions --weeks 4"),
    ("sessions", "sessions --weeks 4 --card"),
    ("sow_after", "sow after"),
    ("sow_by", "sow by"),
    ("sow_plan", "sow plan --most 2"),
    ("stores", "stores"),
    ("tables", "tables crops"),
    ("tables", "tables methods"),
    ("tables", "tables products"),
    ("tables", "tables crops okra"),
    ("tables", "tables products pesto"),
    ("week", "week"),
    ("when", "when"),
    ("why", "why 2026-08-12"),
];

fn schemas() -> BTreeMap<String, Value> {
    fs::read_dir(common::root().join("data/schemas"))
        .expect("there are schemas")
        .map(|entry| {
            let path = entry.expect("the folder can be listed").path();
            let name = path.file_stem().expect("a schema has a name");
            let text = fs::read_to_string(&path).expect("a schema can be read");
            let schema = serde_json::from_str(&text)
                .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            (name.to_string_lossy().into_owned(), schema)
        })
        .collect()
}

fn is_type(value: &Value, name: &str) -> bool {
    match name {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        other => panic!("`{other}` is no type"),
    }
}

/// Collects where a value is not as the schema says.
fn faults(root: &Value, schema: &Value, value: &Value, at: &str, found: &mut Vec<String>) {
    let Some(words) = schema.as_object() else {
        panic!("{at}: a schema is an object");
    };
    for (word, said) in words {
        let holds = match word.as_str() {
            "$ref" => {
                let place = said.as_str().expect("a reference is text");
                let part = root.pointer(place.trim_start_matches('#'));
                faults(
                    root,
                    part.expect("the reference leads somewhere"),
                    value,
                    at,
                    found,
                );
                true
            }
            "anyOf" => {
                let tried = said.as_array().expect("anyOf is a list").iter().map(|one| {
                    let mut own = Vec::new();
                    faults(root, one, value, at, &mut own);
                    own
                });
                found.extend(tried.min_by_key(Vec::len).unwrap_or_default());
                true
            }
            "type" => match said {
                Value::String(name) => is_type(value, name),
                names => names.as_array().is_some_and(|all| {
                    all.iter()
                        .any(|name| is_type(value, name.as_str().unwrap_or("")))
                }),
            },
            "enum" => said.as_array().is_some_and(|all| all.contains(value)),
            "format" => {
                assert_eq!(said, "date", "{at}: only dates have a format");
                let day = |text: &str| text.len() == 10 && text.parse::<NaiveDate>().is_ok();
                value.as_str().is_none_or(day)
            }
            "minimum" => value.as_f64().is_none_or(|v| Some(v) >= said.as_f64()),
            "maximum" => value.as_f64().is_none_or(|v| Some(v) <= said.as_f64()),
            "required" => {
                let keys = said.as_array().expect("required is a list");
                let key = |k: &Value| value.get(k.as_str().unwrap_or("")).is_some();
                value.is_null() || keys.iter().all(key)
            }
            "properties" => {
                for (key, part) in said.as_object().expect("properties are an object") {
                    if let Some(member) = value.get(key) {
                        faults(root, part, member, &format!("{at}/{key}"), found);
                    }
                }
                true
            }
            "additionalProperties" => {
                let known = |key: &str| schema["properties"].get(key).is_some();
                let more = value
                    .as_object()
                    .into_iter()
                    .flatten()
                    .filter(|(k, _)| !known(k));
                let more: Vec<_> = more.collect();
                if *said == Value::Bool(false) {
                    more.is_empty()
                } else {
                    for (key, member) in more {
                        faults(root, said, member, &format!("{at}/{key}"), found);
                    }
                    true
                }
            }
            "items" => {
                for (k, item) in value.as_array().into_iter().flatten().enumerate() {
                    faults(root, said, item, &format!("{at}/{k}"), found);
                }
                true
            }
            silent => {
                assert!(
                    SILENT.contains(&silent),
                    "{at}: `{silent}` is not understood"
                );
                true
            }
        };
        if !holds {
            let shown: String = value.to_string().chars().take(80).collect();
            found.push(format!("{at}: {word} {said}: {shown}"));
        }
    }
}

fn told(schema: &Value, value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    faults(schema, schema, value, "", &mut found);
    found
}

fn answer(line: &str) -> Value {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    for case in ["one-file-garden", "missed-session"] {
        let from = common::root().join("tests/cases").join(case);
        common::copy_folder(&from, &folder.path().join(case));
    }
    let words = common::words(&format!("{line} --draws 60 --format json"));
    let output = common::putby(folder.path(), &words);
    let code = output.status.code();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(matches!(code, Some(0 | 1)), "{line}: {errors}");
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{line}: {error}"))
}

#[test]
fn every_answer_is_as_its_schema_says() {
    let schemas = schemas();
    let mut asked = Vec::new();
    for garden in ["--sample", "-g one-file-garden", "-g missed-session"] {
        for (name, line) in ASKED {
            asked.push((name, format!("{line} {garden}")));
        }
    }
    asked.push(("why", "why \"bush beans 3\" --sample".to_owned()));
    asked.push((
        "log",
        "-g one-file-garden log picked 2026-04-30 beans 2 lb, xyzzy 1 lb".to_owned(),
    ));
    for (name, line) in asked {
        let schema = schemas.get(name).expect("a verb has a schema");
        let found = told(schema, &answer(&line));
        assert!(found.is_empty(), "{line}:\n{}", found.join("\n"));
    }
    let asked: Vec<&str> = ASKED.iter().map(|(name, _)| *name).chain(["log"]).collect();
    for name in schemas.keys() {
        assert!(
            asked.contains(&name.as_str()),
            "no answer is held to {name}"
        );
    }
}

/// A key too many, one too few, a word where a number stands, a day that is none: each is told.
#[test]
fn a_wrong_answer_is_told() {
    let schema = &schemas()["when"];
    let right = answer("when -g one-file-garden");
    assert_eq!(told(schema, &right), Vec::<String>::new());
    let wrong = |change: &dyn Fn(&mut Value)| {
        let mut value = right.clone();
        change(&mut value);
        told(schema, &value).len()
    };
    assert_eq!(wrong(&|v| v["more"] = Value::from(1)), 1);
    assert_eq!(wrong(&|v| v["rows"][0]["more"] = Value::Null), 1);
    assert_eq!(wrong(&|v| v["rows"][0]["kg_mean"] = Value::from("2")), 1);
    assert_eq!(wrong(&|v| v["rows"][0]["kg_mean"] = Value::from(-1.0)), 1);
    assert_eq!(
        wrong(&|v| v["rows"][0]["first_p50"] = Value::from("31 July")),
        1
    );
    let drop = |v: &mut Value| {
        let row = v["rows"][0].as_object_mut().expect("a row is an object");
        row.remove("crop");
    };
    assert_eq!(wrong(&drop), 1);
}

/// Every object names all its keys, and everything has a description.
#[test]
fn schemas_are_strict_and_described() {
    fn walk(at: &str, schema: &Value) {
        if schema.get("$ref").is_some() {
            return;
        }
        if schema.get("properties").is_some() {
            assert_eq!(schema["additionalProperties"], Value::Bool(false), "{at}");
            assert!(schema["required"].is_array(), "{at}");
        }
        let parts = |key: &str| {
            schema
                .get(key)
                .and_then(Value::as_object)
                .into_iter()
                .flatten()
        };
        for (key, part) in parts("properties") {
            let described = part["description"].as_str().is_some_and(|d| d.len() > 2);
            assert!(described || part.get("$ref").is_some(), "{at}/{key}");
        }
        for (key, part) in parts("properties").chain(parts("$defs")) {
            walk(&format!("{at}/{key}"), part);
        }
        for key in ["items", "additionalProperties"] {
            if let Some(part) = schema.get(key).filter(|part| part.is_object()) {
                walk(&format!("{at}/{key}"), part);
            }
        }
    }
    let all = schemas();
    assert!(all.len() >= 16);
    for (name, schema) in all {
        assert_eq!(
            schema["$schema"], "https://json-schema.org/draft/2020-12/schema",
            "{name}"
        );
        walk(&name, &schema);
    }
}
