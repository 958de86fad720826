//! A write that was broken off while several files were renamed into place, and how the next run finishes it.
//!
//! The note names, for each file, its temporary file and a mark of what it held before. A file that is neither as before
//! nor as it was to become was changed by hand: it stands, and the new content is laid beside it. Names in a note are
//! believed only where they are those of a garden's files in the same folder, for the note may come with a garden from
//! anywhere.

use super::loader::FILE_NAMES;
use super::problem::{Kind, Problem};
use super::whole::{Held, cannot, sync_folder};
use std::fs;
use std::io;
use std::path::Path;

/// Note of the files that are being renamed into place.
pub(super) const UNFINISHED: &str = ".putby-unfinished";
/// First line of that note.
pub(super) const HEAD: &str =
    "# putby was broken off while it wrote; its next run finishes this and removes the note.";
/// Names of temporary files.
pub(super) const TEMPORARY: (&str, &str) = (".putby-", ".tmp");

/// Ends what an earlier run began, and removes what it left lying about.
///
/// # Errors
/// A file was changed by hand in between, told once; or the folder cannot be written.
pub(crate) fn finish(held: &Held, folder: &Path) -> Result<(), Box<Problem>> {
    let note = folder.join(UNFINISHED);
    let mut stood = Vec::new();
    let text = fs::read_to_string(&note).unwrap_or_default();
    // Whatever else bears the note's name is none, and is written over by the next one.
    if let Some(lines) = noted(&text) {
        for line in &lines {
            if !line.finish(folder).map_err(|error| cannot(&note, &error))? {
                stood.push(line.target);
            }
        }
        sync_folder(&note)
            .and_then(|()| fs::remove_file(&note))
            .map_err(|error| cannot(&note, &error))?;
    }
    if held.for_sure() {
        sweep(folder);
    }
    let [first, ..] = stood.as_slice() else {
        return Ok(());
    };
    let problem = Problem::of_file(
        Kind::Unwritable,
        first,
        format!(
            "an earlier run was broken off while it wrote, and {} changed since; it was left as it is",
            stood.join(", ")
        ),
    )
    .hint("look through the files; what was to be written stands beside each with the ending .unfinished");
    Err(Box::new(problem))
}

/// Writes the line of a note for one file: its temporary file, what it held before, and its name.
pub(super) fn line_of(temporary: &str, before: Option<&[u8]>, target: &str) -> String {
    let before = before.map_or_else(|| "-".to_owned(), mark_of);
    format!("{temporary} {before} {target}\n")
}

/// One line of the note.
struct Line<'n> {
    temporary: &'n str,
    before: Option<&'n str>,
    target: &'n str,
}

/// Reads the note; none if it is not one of ours, for names out of it are acted on.
fn noted(text: &str) -> Option<Vec<Line<'_>>> {
    let lines = text.strip_prefix(HEAD)?.strip_prefix('\n')?;
    let line = |line| {
        let [temporary, before, target] = str::splitn(line, 3, ' ')
            .collect::<Vec<_>>()
            .try_into()
            .ok()?;
        let ours = target.to_ascii_lowercase();
        let base = ours.strip_suffix(".before").unwrap_or(&ours);
        let known = FILE_NAMES.contains(&base)
            || ["garden.toml", "readme.txt", ".putby-last"].contains(&base);
        (known && is_temporary(temporary)).then_some(Line {
            temporary,
            before: Some(before).filter(|b| *b != "-"),
            target,
        })
    };
    lines.lines().map(line).collect()
}

impl Line<'_> {
    /// Puts the new content in its place, unless somebody else was there; says whether all is well.
    fn finish(&self, folder: &Path) -> io::Result<bool> {
        let target = folder.join(self.target);
        let plain = !target.symlink_metadata().is_ok_and(|m| m.is_symlink());
        let now = fs::read(&target).ok();
        let as_before = plain && now.as_deref().map(mark_of).as_deref() == self.before;
        let temporary = folder.join(self.temporary);
        let Ok(new) = fs::read(&temporary) else {
            // It is in its place already.
            return Ok(true);
        };
        if as_before {
            fs::rename(&temporary, &target)?;
            return Ok(true);
        }
        if now.as_deref() == Some(&new) {
            fs::remove_file(&temporary)?;
            return Ok(true);
        }
        fs::rename(
            &temporary,
            folder.join(format!("{}.unfinished", self.target)),
        )?;
        Ok(false)
    }
}

/// Removes temporary files of runs that were broken off before they changed anything.
fn sweep(folder: &Path) {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in names.filter(|e| e.file_name().to_str().is_some_and(is_temporary)) {
        // In a folder that may only be read they are in nobody's way.
        let _ = fs::remove_file(entry.path());
    }
}

fn is_temporary(name: &str) -> bool {
    let inner = name
        .strip_prefix(TEMPORARY.0)
        .and_then(|rest| rest.strip_suffix(TEMPORARY.1));
    inner.is_some_and(|i| !i.is_empty() && i.chars().all(|c| c.is_ascii_alphanumeric()))
}

/// Tells one content from another: length and a sum of all bytes (FNV-1a, 64 bits).
fn mark_of(content: &[u8]) -> String {
    let sum = content.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
        (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{}:{sum:016x}", content.len())
}
