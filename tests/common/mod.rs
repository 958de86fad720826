//! What the integration tests share: scratch folders, running the program, comparing text.

#![allow(
    dead_code,
    unreachable_pub,
    reason = "each test binary uses its own part"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Set this variable to anything to rewrite stored outputs instead of comparing with them.
pub(crate) const RENEW: &str = "PUTBY_RENEW";

/// Says whether stored outputs are to be rewritten.
pub(crate) fn renew() -> bool {
    std::env::var_os(RENEW).is_some()
}

/// The folder of the project.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program in a folder.
pub(crate) fn putby(folder: &Path, arguments: &[String]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_putby"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .output()
        .expect("the program can be started")
}

/// Splits a command line at blanks, honouring double quotes.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let (mut quoted, mut begun) = (false, false);
    for c in line.chars() {
        match c {
            '"' => (quoted, begun) = (!quoted, true),
            c if c.is_whitespace() && !quoted => {
                if begun {
                    words.push(std::mem::take(&mut word));
                }
                begun = false;
            }
            c => {
                word.push(c);
                begun = true;
            }
        }
    }
    if begun {
        words.push(word);
    }
    words
}

/// Copies a folder's files and folders.
pub(crate) fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a scratch folder can be made");
    for entry in fs::read_dir(from).expect("the folder can be read") {
        let path = entry.expect("the folder can be listed").path();
        let target = to.join(path.file_name().expect("an entry has a name"));
        if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            fs::copy(&path, &target).expect("a file can be copied");
        }
    }
}

/// Lists the folders inside a folder, sorted.
pub(crate) fn folders(path: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(path)
        .expect("the folder can be read")
        .filter_map(|entry| Some(entry.ok()?.path()).filter(|p| p.is_dir()))
        .collect();
    found.sort();
    found
}

/// What a run of the program gave, as the text that is stored.
pub(crate) fn as_shown(output: &Output) -> String {
    let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    if !errors.is_empty() {
        text.push_str("--- on the error stream\n");
        text.push_str(&errors);
    }
    text.push_str(&format!(
        "--- exit {}\n",
        output.status.code().unwrap_or(-1)
    ));
    text
}

/// Compares a text with a stored file, or rewrites the file; returns what differs.
pub(crate) fn compare(stored: &Path, got: &str) -> Option<String> {
    if renew() {
        fs::write(stored, got).expect("a stored output can be written");
        return None;
    }
    let want = fs::read_to_string(stored).unwrap_or_default();
    if want == got {
        return None;
    }
    let line = want.lines().zip(got.lines()).position(|(a, b)| a != b);
    let at = line.unwrap_or_else(|| want.lines().count().min(got.lines().count()));
    Some(format!(
        "{} differs at line {}:\n  stored: {:?}\n  now:    {:?}",
        stored.display(),
        at + 1,
        want.lines().nth(at).unwrap_or("(end)"),
        got.lines().nth(at).unwrap_or("(end)")
    ))
}
