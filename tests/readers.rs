//! The fuzzing's own bytes through every reader, as ordinary tests: what it found once, and what reaches most of the readers.
//!
//! A file of `tests/found/READER` broke that reader once; a file of `tests/fuzz/corpus/READER` is there because no other one of
//! them reaches what it reaches. To have a new find, copy the file that the fuzzing names into `tests/found/READER`.
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;
mod every_reader;

use std::fs;
use std::path::{Path, PathBuf};

/// Files of a folder, none if there is no such folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut files: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).collect();
    files.sort();
    files
}

fn read_all(folder: &str, least: usize) {
    let mut folders = Vec::new();
    for (name, reader) in every_reader::READERS {
        let files = files(&common::root().join(folder).join(name));
        assert!(files.len() >= least, "{folder}/{name}: {}", files.len());
        for file in &files {
            let bytes = fs::read(file).unwrap();
            let read = std::panic::catch_unwind(|| reader(&bytes));
            assert!(read.is_ok(), "{}", file.display());
        }
        folders.push(name);
    }
    // A folder of another name would never be read.
    for folder in files(&common::root().join(folder)) {
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        assert!(folders.contains(&name.as_str()), "{name}");
    }
}

#[test]
fn what_was_found_once_is_read() {
    read_all("tests/found", 0);
}

#[test]
fn what_reaches_most_is_read() {
    read_all("tests/fuzz/corpus", 5);
}

/// The rules can be broken: a reader that is handed what cannot be says so.
#[test]
fn the_rules_bite() {
    let sound = every_reader::garden();
    assert!(every_reader::check(&sound).is_some());
    let damaged = every_reader::with("picked.csv", b"date,crop,amount\n2026-08-01,kale,nan lb\n");
    assert!(every_reader::check(&damaged).is_none());
}
