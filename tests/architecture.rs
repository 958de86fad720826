//! The shape of the house, kept by a test: who may import whom, how long a file may be, and what stays absent.
//!
//! Works on the source text alone.

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms and the rooms each may import, besides itself. `garden` stands on its own.
const MAY_IMPORT: [(&str, &[&str]); 8] = [
    ("garden", &[]),
    ("season", &["garden"]),
    ("kitchen", &["garden", "season"]),
    ("sowing", &["garden", "season", "kitchen"]),
    ("learning", &["garden", "season"]),
    ("input", &["garden"]),
    (
        "output",
        &["garden", "season", "kitchen", "sowing", "learning"],
    ),
    (
        "verbs",
        &[
            "garden", "season", "kitchen", "sowing", "learning", "input", "output",
        ],
    ),
];

/// Longest file, in lines, not counting the test module at its foot.
const LONGEST: usize = 400;

struct Source {
    path: PathBuf,
    room: String,
    /// Everything above the test module at the foot.
    body: String,
}

fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("src can be read") {
            let path = entry.expect("src can be listed").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = fs::read_to_string(&path).expect("sources are UTF-8");
                let body = text
                    .split("\n#[cfg(test)]\n")
                    .next()
                    .unwrap_or_default()
                    .to_owned();
                let inside = path.strip_prefix(&root).expect("it was found below src");
                let room = inside
                    .components()
                    .next()
                    .expect("a file has a name")
                    .as_os_str();
                let room = room.to_string_lossy().trim_end_matches(".rs").to_owned();
                found.push(Source { path, room, body });
            }
        }
    }
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(
        found.len() > 40,
        "the walk over src found only {} files",
        found.len()
    );
    found
}

/// Rooms named by `crate::room` on code lines, whether imported or written in full.
fn rooms_named(body: &str) -> Vec<(usize, String)> {
    let mut named = Vec::new();
    for (number, line) in body.lines().enumerate() {
        let code = line.trim_start();
        if code.starts_with("//") {
            continue;
        }
        for (at, _) in line.match_indices("crate::") {
            let rest = &line[at + "crate::".len()..];
            let heads: Vec<&str> = match rest.strip_prefix('{') {
                Some(group) => group
                    .trim_end_matches(['}', ';'])
                    .split(',')
                    .map(str::trim)
                    .collect(),
                None => vec![rest],
            };
            for head in heads {
                let room: String = head
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                named.push((number + 1, room));
            }
        }
    }
    named
}

#[test]
fn imports_run_one_way() {
    let mut faults = Vec::new();
    for source in sources() {
        let Some((_, allowed)) = MAY_IMPORT.iter().find(|(room, _)| *room == source.room) else {
            assert!(
                matches!(source.room.as_str(), "lib" | "main"),
                "{} is no known room",
                source.path.display()
            );
            continue;
        };
        for (line, room) in rooms_named(&source.body) {
            let known = MAY_IMPORT.iter().any(|(name, _)| *name == room);
            if known && room != source.room && !allowed.contains(&room.as_str()) {
                faults.push(format!(
                    "{}:{line}: {} imports {room}",
                    source.path.display(),
                    source.room
                ));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_file_is_long() {
    let long: Vec<String> = sources()
        .iter()
        .filter(|s| s.body.lines().count() > LONGEST)
        .map(|s| format!("{}: {} lines", s.path.display(), s.body.lines().count()))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn every_file_opens_with_what_it_answers() {
    for source in sources() {
        let first = source.body.lines().next().unwrap_or_default();
        assert!(
            first.starts_with("//! ") && first.len() > 20,
            "{} opens with {first:?}",
            source.path.display()
        );
    }
}

/// Says whether a file holds tests only, by its name.
fn is_test(source: &Source) -> bool {
    source
        .path
        .file_stem()
        .is_some_and(|name| name.to_string_lossy().ends_with("_tests"))
}

/// Lines of code (not comments) that hold one of the words, outside the rooms where it may stand.
fn misplaced(words: &[&str], allowed: &dyn Fn(&Source) -> bool) -> Vec<String> {
    let mut faults = Vec::new();
    for source in sources() {
        if allowed(&source) {
            continue;
        }
        for (number, line) in source.body.lines().enumerate() {
            if !line.trim_start().starts_with("//") && words.iter().any(|w| line.contains(w)) {
                faults.push(format!(
                    "{}:{}: {}",
                    source.path.display(),
                    number + 1,
                    line.trim()
                ));
            }
        }
    }
    faults
}

#[test]
fn only_main_and_verbs_print() {
    let words = [
        "println!",
        "print!(",
        "eprintln!",
        "eprint!(",
        "io::stdout",
        "io::stderr",
    ];
    let faults = misplaced(&words, &|s| matches!(s.room.as_str(), "main" | "verbs"));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn only_verbs_read_the_clock_and_the_environment() {
    let words = [
        "Local::now",
        "Utc::now",
        "SystemTime::now",
        "Instant::now",
        "env::var",
        "env::args",
        "current_dir",
    ];
    let faults = misplaced(&words, &|s| {
        is_test(s) || matches!(s.room.as_str(), "main" | "verbs")
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn only_input_and_verbs_touch_files() {
    let words = ["std::fs", "fs::", "File::", "OpenOptions"];
    let faults = misplaced(&words, &|s| matches!(s.room.as_str(), "input" | "verbs"));
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Randomness has one home, so that every number can be keyed and repeated.
#[test]
fn only_streams_make_random_numbers() {
    let faults = misplaced(&["rand_pcg", "rand_core", "thread_rng"], &|s| {
        let test = s
            .path
            .file_stem()
            .is_some_and(|name| name.to_string_lossy().ends_with("_tests"));
        test || s.path.ends_with("season/streams.rs")
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The project speaks of itself alone.
#[test]
fn nothing_names_a_machine() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut folders = vec![root.join("src"), root.join("tests"), root.join("data")];
    while let Some(folder) = folders.pop() {
        let Ok(entries) = fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries.flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if let Ok(text) = fs::read_to_string(&path) {
                for word in [
                    concat!("/", "work/"),
                    concat!("/home", "/"),
                    concat!("/root", "/"),
                ] {
                    assert!(!text.contains(word), "{} holds {word}", path.display());
                }
            }
        }
    }
}
