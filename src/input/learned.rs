//! Learned numbers in the household's own `crops.csv`, `beds.csv` and `garden.toml`: laid in beside what stands there, or
//! left out.
//!
//! Touches the cells of learned numbers and a remark in `note`, and nothing else. What the numbers should be is not
//! its business, and neither is when they are written.

use super::cleared::formed;
use super::loader::Files;
use super::names::plain;
use super::problem::Findings;
use super::rows::cell_text;
use super::sheets;
use super::split::{guess_separator, split};
use super::tables::CROPS;
use super::text::{Source, decode};
use std::collections::BTreeSet;

/// A file of rows that holds learned numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rows {
    /// Name of the file.
    pub file: &'static str,
    /// Column of the name to which a row belongs.
    key: &'static str,
    /// Columns that hold learned numbers.
    learned: &'static [&'static str],
}

/// Numbers of crops.
pub const OF_CROPS: Rows = Rows {
    file: "crops.csv",
    key: "crop",
    learned: &[
        "lb_per_100ft_low",
        "lb_per_100ft_high",
        "bed_lb_per_sqft_low",
        "bed_lb_per_sqft_high",
        "days_sown",
        "days_set_out",
        "fail_chance",
    ],
};
/// Numbers of beds.
pub const OF_BEDS: Rows = Rows {
    file: "beds.csv",
    key: "bed",
    learned: &["yield_factor"],
};
/// Key of `[kitchen]` that holds the learned factor on minutes.
const FACTOR: &str = "minutes_factor";
/// How a remark on learned numbers begins.
const REMARK: &str = "learned from ";

/// Learned numbers of one crop or bed.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// Name of the crop or bed.
    pub name: String,
    /// Columns with their numbers as written.
    pub cells: Vec<(&'static str, String)>,
    /// The seasons they rest on.
    pub seasons: Vec<i32>,
}

/// Returns the names of the built-in crops.
#[must_use]
pub fn built_in_crops() -> BTreeSet<String> {
    let keys = CROPS.lines().skip(1).filter_map(|l| l.split(',').next());
    keys.map(str::to_owned).collect()
}

/// Returns the files with the built-in numbers in the place of everything that can be learned.
///
/// Crops that are not built in keep their own; beds have nothing built in, so that theirs are left out, but for figures that
/// the household put there itself.
#[must_use]
pub fn without_learned(files: &Files) -> Files {
    let open = sheets::laid_open(files, &mut Findings::default());
    let mut files = open.files.into_owned();
    let known: BTreeSet<String> = built_in_crops()
        .iter()
        .map(|n| plain(n).into_owned())
        .collect();
    let by_hand = by_hand(&files);
    for rows in [OF_CROPS, OF_BEDS] {
        if let Some(own) = files.content.get(rows.file) {
            let blanked = edited(rows, own, |name, column, _| {
                let wanted = if rows == OF_BEDS {
                    !by_hand.contains(plain(name).as_ref())
                } else {
                    known.contains(plain(name).as_ref())
                };
                (wanted && rows.learned.contains(&column)).then(String::new)
            });
            files.content.insert(rows.file.to_owned(), blanked.into());
        }
    }
    files
}

/// Says of each bed whether the household put its factor into the file itself: a learned one has its remark in the note.
#[must_use]
pub fn beds_by_hand<'a>(files: &Files, beds: impl Iterator<Item = &'a str>) -> Vec<bool> {
    let by_hand = by_hand(files);
    beds.map(|bed| by_hand.contains(plain(bed).as_ref()))
        .collect()
}

fn by_hand(files: &Files) -> BTreeSet<String> {
    let open = sheets::laid_open(files, &mut Findings::default());
    let Some(own) = open.files.content.get(OF_BEDS.file) else {
        return BTreeSet::new();
    };
    let parts = parts(OF_BEDS, own);
    let place = |column: &str| parts.names.iter().position(|name| name == column);
    let rows = parts.records.iter().skip(1);
    rows.filter_map(|(_, cells)| {
        let cell = |column: &str| {
            let cell = cells.get(place(column)?)?.clone();
            Some(cell_text(&parts.text[cell]).trim().to_owned())
        };
        let factor = cell("yield_factor").filter(|factor| !factor.is_empty());
        let learned = cell("note").is_some_and(|note| note.contains(REMARK));
        factor.filter(|_| !learned)?;
        cell(OF_BEDS.key).map(|name| plain(&name).into_owned())
    })
    .collect()
}

/// Returns a new file with a row for each name.
#[must_use]
pub fn listed<'a>(rows: Rows, names: impl Iterator<Item = &'a str>) -> String {
    let mut text = format!("{}\n", rows.key);
    for name in names {
        text.push_str(&super::store::quoted(name, ','));
        text.push('\n');
    }
    text
}

/// Returns the content of a file with learned numbers laid in; rows and columns that it lacks are added.
#[must_use]
pub fn with_learned(rows: Rows, own: Option<&[u8]>, learned: &[Learned]) -> String {
    let own = own.unwrap_or(rows.key.as_bytes());
    let grown = grown(rows, own, learned);
    let laid_in = edited(rows, grown.as_bytes(), |name, column, old| {
        let new = learned.iter().find(|l| plain(&l.name) == plain(name))?;
        if column == "note" {
            return Some(remarked(old, &new.seasons));
        }
        let cell = new.cells.iter().find(|(c, _)| *c == column);
        cell.map(|(_, value)| value.clone())
    });
    formed(laid_in, own)
}

/// Returns the content of `garden.toml` with a learned factor on kitchen minutes; none if it has no `[kitchen]` of its own.
#[must_use]
pub fn with_minutes_factor(own: &[u8], factor: &str, seasons: &[i32]) -> Option<String> {
    let text = std::str::from_utf8(own).ok()?;
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let years: Vec<String> = seasons.iter().map(i32::to_string).collect();
    let new = format!("{FACTOR} = {factor} # {REMARK}{}{end}", years.join(" "));
    let mut out = String::with_capacity(text.len() + new.len());
    let (mut inside, mut laid_in) = (false, false);
    for line in text.split_inclusive('\n') {
        let bare = line.trim_start_matches('\u{FEFF}').trim();
        if bare.starts_with('[') {
            let header = bare.split('#').next().unwrap_or_default();
            inside = header.replace([' ', '\t'], "").trim() == "[kitchen]";
        }
        let key = bare.split('=').next().unwrap_or_default().trim();
        if inside && key == FACTOR {
            continue;
        }
        out.push_str(line);
        if inside && bare.starts_with('[') {
            if !line.ends_with('\n') {
                out.push_str(end);
            }
            out.push_str(&new);
            laid_in = true;
        }
    }
    laid_in.then_some(out)
}

/// Puts the remark behind a note, in the place of an earlier one.
fn remarked(note: &str, seasons: &[i32]) -> String {
    let own = note.find(REMARK).map_or(note, |at| &note[..at]);
    let own = own.trim_end_matches([' ', ';']);
    let years: Vec<String> = seasons.iter().map(i32::to_string).collect();
    let remark = format!("{REMARK}{}", years.join(" "));
    if own.is_empty() {
        remark
    } else {
        format!("{own}; {remark}")
    }
}

/// A file of rows taken apart.
struct Parts {
    text: String,
    separator: char,
    names: Vec<String>,
    /// Bytes of each record and of its cells; the header first.
    records: Vec<(std::ops::Range<usize>, Vec<std::ops::Range<usize>>)>,
}

fn parts(rows: Rows, content: &[u8]) -> Parts {
    // Faults were told when the garden was loaded.
    let mut unheard = Findings::default();
    let source = decode(rows.file, content, &mut unheard)
        .unwrap_or_else(|| Source::from_text(rows.file, ""));
    let first = source
        .text
        .lines()
        .find(|l| !l.trim().is_empty() && !l.starts_with('#'))
        .unwrap_or_default();
    let separator = guess_separator(first);
    let found = split(&source.text, 0, separator);
    let records: Vec<_> = found
        .records
        .iter()
        .map(|r| (r.span.clone(), found.cells[r.cells.clone()].to_vec()))
        .collect();
    let names = records.first().map_or_else(Vec::new, |(_, cells)| {
        cells
            .iter()
            .map(|c| plain(&cell_text(&source.text[c.clone()])).replace(' ', "_"))
            .collect()
    });
    Parts {
        text: source.text.into_owned(),
        separator: char::from(separator),
        names,
        records,
    }
}

/// Adds missing columns to the header and missing names at the end.
fn grown(rows: Rows, own: &[u8], learned: &[Learned]) -> String {
    let parts = parts(rows, own);
    let Some((header, _)) = parts.records.first() else {
        return grown(rows, rows.key.as_bytes(), learned);
    };
    let used = learned.iter().flat_map(|l| l.cells.iter().map(|(c, _)| *c));
    let mut missing: Vec<&str> = Vec::new();
    for column in rows.learned {
        if used.clone().any(|u| u == *column) {
            missing.push(column);
        }
    }
    missing.push("note");
    missing.retain(|column| !parts.names.iter().any(|name| name == column));
    let mut out = parts.text[..header.end].to_owned();
    for column in &missing {
        out.push(parts.separator);
        out.push_str(column);
    }
    out.push_str(&parts.text[header.end..]);
    let key = parts.names.iter().position(|n| n == rows.key).unwrap_or(0);
    let there: BTreeSet<String> = parts.records[1..]
        .iter()
        .filter_map(|(_, cells)| {
            Some(plain(&cell_text(&parts.text[cells.get(key)?.clone()])).into_owned())
        })
        .collect();
    for new in learned
        .iter()
        .filter(|l| !there.contains(plain(&l.name).as_ref()))
    {
        if !out.ends_with('\n') {
            out.push('\n');
        }
        let before = parts.separator.to_string().repeat(key);
        let name = super::store::quoted(&new.name, parts.separator);
        out.push_str(&format!("{before}{name}\n"));
    }
    out
}

/// Rewrites cells: `change` gets the name, the column and the content, and returns the new content if there is one.
fn edited(
    rows: Rows,
    content: &[u8],
    change: impl Fn(&str, &str, &str) -> Option<String>,
) -> String {
    let parts = parts(rows, content);
    let key = parts.names.iter().position(|n| n == rows.key).unwrap_or(0);
    let mut out = String::with_capacity(parts.text.len());
    let mut at = 0;
    for (span, cells) in parts.records.iter().skip(1) {
        let old: Vec<&str> = cells.iter().map(|c| &parts.text[c.clone()]).collect();
        let name = old
            .get(key)
            .map_or_else(String::new, |c| cell_text(c).into_owned());
        let mut new: Vec<String> = old.iter().map(|&c| c.to_owned()).collect();
        let mut touched = false;
        for (i, column) in parts.names.iter().enumerate() {
            let text = old
                .get(i)
                .map_or_else(String::new, |c| cell_text(c).into_owned());
            if let Some(value) = change(&name, column, &text).filter(|value| *value != text) {
                touched = true;
                if new.len() <= i {
                    new.resize(i + 1, String::new());
                }
                new[i] = super::store::quoted(&value, parts.separator);
            }
        }
        if touched {
            out.push_str(&parts.text[at..span.start]);
            out.push_str(&new.join(&parts.separator.to_string()));
            at = span.end;
        }
    }
    out.push_str(&parts.text[at..]);
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn okra(low: &str) -> Learned {
        Learned {
            name: "okra".into(),
            cells: vec![("lb_per_100ft_low", low.into()), ("days_sown", "58".into())],
            seasons: vec![2025, 2026],
        }
    }

    #[test]
    fn learned_numbers_join_what_stands_there() {
        for (own, want) in [
            (
                None,
                "crop,lb_per_100ft_low,days_sown,note\nokra,120,58,learned from 2025 2026\n",
            ),
            (
                Some("# ours\ncrop,note,days_sown\n\"okra\",\"dry, slow\"\nkale,,50\n"),
                "# ours\ncrop,note,days_sown,lb_per_100ft_low\n\"okra\",\"dry, slow; learned from 2025 2026\",58,120\nkale,,50\n",
            ),
            (
                Some("\u{FEFF}crop;days_sown\r\nkale;50"),
                "\u{FEFF}crop;days_sown;lb_per_100ft_low;note\r\nkale;50\r\nokra;58;120;learned from 2025 2026\r\n",
            ),
        ] {
            let got = with_learned(OF_CROPS, own.map(str::as_bytes), &[okra("120")]);
            assert_eq!(got, want);
            let twice = with_learned(OF_CROPS, Some(got.as_bytes()), &[okra("120")]);
            assert_eq!(twice, got);
        }
    }

    #[test]
    fn a_factor_of_a_bed_joins_its_row_and_keeps_the_header() {
        let learned = [Learned {
            name: "by the wall, low".into(),
            cells: vec![("yield_factor", "0.85".into())],
            seasons: vec![2024, 2025, 2026],
        }];
        let fresh = listed(OF_BEDS, ["ridge", "by the wall, low"].into_iter());
        for (own, want) in [
            (
                fresh.as_str(),
                "bed,yield_factor,note\nridge\n\"by the wall, low\",0.85,learned from 2024 2025 2026\n",
            ),
            (
                "note;bed;length_ft\r\nshady;by the wall, low;12\r\n;ridge;8\r\n",
                "note;bed;length_ft;yield_factor\r\n\"shady; learned from 2024 2025 2026\";by the wall, low;12;0.85\r\n;ridge;8\r\n",
            ),
        ] {
            let got = with_learned(OF_BEDS, Some(own.as_bytes()), &learned);
            assert_eq!(got, want);
            assert_eq!(with_learned(OF_BEDS, Some(got.as_bytes()), &learned), got);
            let mut files = Files::default();
            files.content.insert("beds.csv".into(), got.into_bytes());
            let without = without_learned(&files);
            assert!(!String::from_utf8_lossy(&without.content["beds.csv"]).contains("0.85"));
        }
    }

    #[test]
    fn a_factor_put_there_by_hand_is_no_learned_one() {
        let mut files = Files::default();
        let own = "bed,yield_factor,note\nridge,0.8,shady\nWest,0.9,learned from 2024 2025 2026\nhollow,,\n";
        files.content.insert("beds.csv".into(), own.into());
        let by_hand = beds_by_hand(&files, ["Ridge", "West", "hollow"].into_iter());
        assert_eq!(by_hand, [true, false, false]);
        assert_eq!(
            String::from_utf8_lossy(&without_learned(&files).content["beds.csv"]),
            own.replace("0.9", "")
        );
    }

    #[test]
    fn left_out_only_for_built_in_crops() {
        let mut files = Files::default();
        files.content.insert(
            "crops.csv".into(),
            b"crop,days_sown,group\nokra,58,\nyacon,150,roots\n".to_vec(),
        );
        assert_eq!(
            without_learned(&files).content["crops.csv"],
            b"crop,days_sown,group\nokra,,\nyacon,150,roots\n"
        );
    }

    #[test]
    fn a_factor_is_laid_into_the_kitchen_once() {
        let own =
            "as_of = 2026-07-13\r\n[ kitchen ] # ours\r\nhours = { wed = 2 }\r\n\r\n[show]\r\n";
        let once = with_minutes_factor(own.as_bytes(), "1.2", &[2025, 2026]).unwrap();
        let line = "minutes_factor = 1.2 # learned from 2025 2026\r\n";
        assert_eq!(
            once,
            own.replace("# ours\r\n", &format!("# ours\r\n{line}"))
        );
        let twice = with_minutes_factor(once.as_bytes(), "1.2", &[2025, 2026]).unwrap();
        assert_eq!(twice, once);
        let other = with_minutes_factor(once.as_bytes(), "0.9", &[2026]).unwrap();
        assert!(
            !other.contains("1.2")
                && other.contains("minutes_factor = 0.9 # learned from 2026\r\n")
        );
        // A key of that name in another table is not ours, and without a kitchen there is no place for it.
        assert_eq!(
            with_minutes_factor(b"[show]\nminutes_factor = 3\n", "1.2", &[2026]),
            None
        );
    }
}
