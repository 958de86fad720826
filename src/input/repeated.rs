//! Rows that stand in a file twice, as when it was pasted into itself.
//!
//! Compares rows as they are written, whatever they mean.

use super::problem::{Findings, Kind};
use super::rows::{MANY, Sheet};
use rayon::prelude::*;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// The fingerprint of a record that is no row, or whose fingerprint is not known yet.
pub(crate) const NO_PRINT: u64 = 0;

/// Bits of a fingerprint that come from the whole row; those above come from its first ten bytes alone, mostly its date.
const WHOLE: u32 = 44;

/// Returns a record's text as rows are compared: without the blanks and separators at its end.
pub(crate) fn trimmed(record: &str) -> &str {
    record.trim_end_matches([',', ';', '\t', ' '])
}

/// Returns a record of a sheet as rows are compared.
pub(crate) fn row_text<'a>(sheet: &Sheet<'a>, record: usize) -> &'a str {
    trimmed(&sheet.source().text[sheet.record(record)])
}

/// Mixes a row's text into one number; equal texts have equal ones, and none has that of no row.
pub(crate) fn fingerprint(text: &str) -> u64 {
    let mix = |print: u64, part: u64| {
        let wide = u128::from(print ^ part) * 0x9e37_79b9_7f4a_7c15;
        (wide >> 64) as u64 ^ wide as u64
    };
    let bytes = text.as_bytes();
    let (words, rest) = bytes.as_chunks::<8>();
    let mut last = [0; 8];
    last[..rest.len()].copy_from_slice(rest);
    let print = words.iter().fold(text.len() as u64, |print, word| {
        mix(print, u64::from_le_bytes(*word))
    });
    let whole = mix(mix(print, u64::from_le_bytes(last)), 0x5bd1_e995);
    let begin = bytes.get(2..).and_then(|b| b.first_chunk());
    let day = begin.map_or(0, |b| mix(0x5bd1_e995, u64::from_le_bytes(*b)));
    ((day >> WHOLE << WHOLE) | (whole >> (64 - WHOLE))).max(1)
}

/// Tells the rows that stand twice; `prints` holds the fingerprint of every record after the header, if it is a row.
pub(crate) fn tell(sheet: &Sheet<'_>, prints: &[u64], least: usize, findings: &mut Findings) {
    // In nearly every file no two rows share even their fingerprint.
    if any_twice(prints) {
        let rows = (0..prints.len()).filter(|&i| prints[i] != NO_PRINT);
        let repeated = repeated(sheet, rows.map(|i| sheet.first() + i));
        tell_repeated(sheet, &repeated, least, findings);
    }
}

/// Says whether two fingerprints are the same.
///
/// Rows of a long log mostly stand day by day: then those of one day, which begin alike, are compared, and not all with all.
fn any_twice(prints: &[u64]) -> bool {
    let twice = |sorted: &[u64]| sorted.windows(2).any(|pair| pair[0] == pair[1]);
    let day = |print: u64| print >> WHOLE;
    let mut runs: Vec<&[u64]> = Vec::new();
    if prints.len() >= MANY {
        runs.extend(prints.chunk_by(|a, b| day(*a) == day(*b)));
    }
    if runs.is_empty() || runs.len() > prints.len() / 8 {
        let mut all: Vec<u64> = prints.iter().copied().filter(|p| *p != NO_PRINT).collect();
        all.par_sort_unstable();
        return twice(&all);
    }
    runs.sort_unstable_by_key(|run| day(run[0]));
    let days: Vec<&[&[u64]]> = runs.chunk_by(|a, b| day(a[0]) == day(b[0])).collect();
    let in_day = |of_day: &&[&[u64]]| {
        let all = of_day.iter().copied().flatten().copied();
        let mut all: Vec<u64> = all.filter(|p| *p != NO_PRINT).collect();
        all.sort_unstable();
        twice(&all)
    };
    days.par_iter().with_min_len(64).any(in_day)
}

/// Returns the rows that stand twice, each with the first of its kind.
fn repeated(sheet: &Sheet<'_>, rows: impl Iterator<Item = usize>) -> Vec<(usize, usize)> {
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let mut repeated = Vec::new();
    for record in rows {
        match seen.entry(row_text(sheet, record)) {
            Entry::Occupied(first) => repeated.push((record, *first.get())),
            Entry::Vacant(place) => _ = place.insert(record),
        }
    }
    repeated
}

/// Rows that stand twice are told once for each run, since a paste repeats whole blocks; shorter runs than `least` may be meant.
fn tell_repeated(
    sheet: &Sheet<'_>,
    repeated: &[(usize, usize)],
    least: usize,
    findings: &mut Findings,
) {
    let mut i = 0;
    while i < repeated.len() {
        let mut n = 1;
        while repeated
            .get(i + n)
            .is_some_and(|&(record, _)| record == repeated[i].0 + n)
        {
            n += 1;
        }
        let (record, first) = repeated[i];
        i += n;
        if n < least {
            continue;
        }
        let (row, first) = (sheet.row(record), sheet.row(first).line());
        let (message, hint) = if n == 1 {
            (
                format!("this row is the same as line {first}"),
                "delete it if it was pasted twice; if both are meant, tell them apart with a name or a note".to_owned(),
            )
        } else {
            (
                format!("from here on {n} rows are the same as from line {first} on"),
                format!(
                    "it looks pasted twice: delete these {n} rows, or tell them apart with a name or a note"
                ),
            )
        };
        findings.tell(row.problem(Kind::RepeatedRow, message).hint(hint));
    }
}
