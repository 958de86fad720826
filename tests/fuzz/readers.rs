//! One reader of putby, led by what its code does with the bytes (libFuzzer, from LLVM).
//!
//! `PUTBY_READER` names the reader; what must hold of whatever it makes of the bytes stands in `tests/every_reader`, which
//! the ordinary tests share. `tests/checks/fuzz.sh` builds and runs it.
#![no_main]

#[path = "../every_reader/mod.rs"]
mod every_reader;

use every_reader::{READERS, Reader};
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static READER: LazyLock<Reader> = LazyLock::new(|| {
    let asked = std::env::var("PUTBY_READER").unwrap_or_default();
    let names: Vec<&str> = READERS.iter().map(|(name, _)| *name).collect();
    let found = READERS.iter().find(|(name, _)| *name == asked);
    let (_, reader) = found.unwrap_or_else(|| panic!("PUTBY_READER is one of {names:?}"));
    *reader
});

fuzz_target!(|bytes: &[u8]| (*READER)(bytes));
