//! A garden's folder: which files are taken from it, and files whose names are nearly right.
//!
//! The only place that reads the disk; never follows a name out of the folder except to the files that `garden.toml` names under `[climate]`.

use super::loader::{FILE_NAMES, Files};
use super::names::nearest;
use super::problem::{Findings, Kind, Problem};
use super::sheets;
use super::unfinished::finish;
use super::whole::{Held, hold};
use std::path::Path;

/// Files larger than this are no garden's, bytes.
const LARGEST: u64 = 256 * 1024 * 1024;

/// Reads the files of a folder: those with a garden's names in any case, their near misses by name, and the files of weather that `garden.toml` names.
///
/// # Errors
/// One problem if there is no such folder.
pub(crate) fn read(folder: &Path) -> Result<Files, Vec<Problem>> {
    read_held(&hold(folder), folder)
}

/// Reads the files of a folder that is held already; first finishes a write that was broken off.
///
/// # Errors
/// One problem if there is no such folder, or if that write cannot be finished.
pub(crate) fn read_held(held: &Held, folder: &Path) -> Result<Files, Vec<Problem>> {
    finish(held, folder).map_err(|problem| vec![*problem])?;
    let shown = folder.display().to_string();
    let entries = std::fs::read_dir(folder).map_err(|error| {
        vec![
            Problem::of_file(
                Kind::MissingFile,
                &shown,
                format!("the garden's folder cannot be read: {error}"),
            )
            .expected("a folder with garden.toml and plantings.csv")
            .hint("name the folder with -g, or try --sample"),
        ]
    })?;
    let mut files = Files {
        name: folder
            .canonicalize()
            .ok()
            .and_then(|f| Some(f.file_name()?.to_string_lossy().into_owned()))
            .unwrap_or(shown),
        ..Files::default()
    };
    let mut names: Vec<String> = entries
        .flatten()
        .filter_map(|e| e.file_name().into_string().ok())
        .collect();
    names.sort();
    for name in names {
        let lower = name.to_lowercase();
        if name.starts_with(['.', '~']) {
            continue;
        }
        if is_known(&lower) {
            // A name in capitals is the same file to half of the world's machines; the plain name goes first.
            if name == lower || !files.content.contains_key(&lower) {
                take(folder, &name, lower, &mut files);
            }
        } else if nearly(&lower).is_some() {
            files.content.entry(name).or_default();
        }
    }
    for name in named(&files) {
        if files.content.get(&name).is_none_or(Vec::is_empty) {
            take(folder, &name.clone(), name, &mut files);
        }
    }
    Ok(files)
}

/// Says whether a file of this name in lower case is read.
fn is_known(lower: &str) -> bool {
    FILE_NAMES.contains(&lower) || lower == "garden.toml" || sheets::holds(lower).is_some()
}

fn take(folder: &Path, name: &str, key: String, files: &mut Files) {
    let path = folder.join(name);
    let content = std::fs::metadata(&path).and_then(|m| {
        if m.len() > LARGEST {
            return Err(std::io::Error::other("it is larger than any garden's file"));
        }
        std::fs::read(&path)
    });
    match content {
        Ok(bytes) => {
            files.content.insert(key, bytes);
        }
        Err(error) => files.unreadable.push((key, error.to_string())),
    }
}

/// Returns the weather file and the files of normals that `garden.toml` names; a faulty file is complained of later.
fn named(files: &Files) -> Vec<String> {
    let table: Option<toml::Table> = files
        .content
        .get("garden.toml")
        .and_then(|bytes| std::str::from_utf8(bytes).ok())
        .and_then(|text| text.trim_start_matches('\u{FEFF}').parse().ok());
    let climate = table.as_ref().and_then(|t| t.get("climate"));
    let text = |value: &toml::Value| value.as_str().map(str::to_owned);
    let mut names = Vec::new();
    for key in ["weather", "normals"] {
        match climate.and_then(|c| c.get(key)) {
            Some(toml::Value::Array(items)) => names.extend(items.iter().filter_map(text)),
            Some(value) => names.extend(text(value)),
            None => {}
        }
    }
    names
}

/// Returns the file that a name nearly is.
fn nearly(name: &str) -> Option<&'static str> {
    let known = FILE_NAMES.iter().copied().chain(["garden.toml"]);
    // Names such as `plantings (1).csv`, `plantings.csv.txt`, `planting.csv`.
    let stem = name
        .split(['.', ' ', '(', '-', '_'])
        .next()
        .unwrap_or_default();
    let is_table = Path::new(name).extension().is_some_and(|e| {
        ["csv", "txt", "toml", "xlsx", "xls", "ods", "tsv"].contains(&e.to_string_lossy().as_ref())
    });
    if !is_table {
        return None;
    }
    known
        .clone()
        .find(|k| k.split('.').next() == Some(stem))
        .or_else(|| nearest(name, known).filter(|k| strsim::osa_distance(k, name) <= 2))
}

/// Tells files that have nearly, but not quite, a garden file's name, where the file itself is missing.
pub(crate) fn check_names(files: &Files, findings: &mut Findings) {
    let missing = |name: &str| {
        !files.content.contains_key(name)
            && !files.sheets.contains_key(name)
            && !files.unreadable.iter().any(|(n, _)| n == name)
    };
    let mut meant = Vec::new();
    let named = named(files);
    for name in files.content.keys().filter(|n| !named.contains(n)) {
        let lower = name.to_lowercase();
        if is_known(&lower) {
            continue;
        }
        let Some(known) = nearly(&lower) else {
            continue;
        };
        // A sync service keeps both sides where two machines wrote; what only the copy holds would be missed in silence.
        if lower.contains("conflict") && !missing(known) {
            findings.warn(format!(
                "{name} lies beside {known} and is not read: take over what only it holds, then remove it."
            ));
        }
        if missing(known) {
            meant.push(known);
            let stem = known.trim_end_matches(".csv").trim_end_matches(".toml");
            let book = [".xlsx", ".ods"].into_iter().find(|e| lower.ends_with(e));
            // Any workbook may be called after the garden; it is asked for only where the plantings are missing.
            if book.is_some() && stem == "garden" && !missing("plantings.csv") {
                continue;
            }
            let (right, hint) = match book {
                Some(ending) => (
                    format!("{stem}{ending}"),
                    format!("rename it to {stem}{ending}"),
                ),
                None if lower.ends_with(".xls") => (
                    format!("{stem}.xlsx"),
                    format!("in the spreadsheet choose Save As and the name {stem}.xlsx"),
                ),
                None => (known.to_owned(), format!("rename it to {known}")),
            };
            findings.tell(
                Problem::of_file(
                    Kind::MisnamedFile,
                    name,
                    format!("{name} is not read: the file's name is {right}"),
                )
                .hint(hint),
            );
        }
    }
    let books: Vec<&str> = files
        .sheets
        .values()
        .map(|kept| kept.file.as_str())
        .collect();
    let garden_book = books
        .iter()
        .find(|b| sheets::holds(b) == Some(sheets::Holds::Any));
    if let Some(book) = garden_book.filter(|_| missing("plantings.csv")) {
        findings.tell(
            Problem::of_file(
                Kind::MissingFile,
                book,
                format!("{book} has no sheet named plantings, and there is no plantings.csv"),
            )
            .expected("a sheet whose first row is bed, crop, sown, row_ft")
            .hint("add the sheet, or name the right one `plantings`"),
        );
    } else if missing("plantings.csv") && !meant.contains(&"plantings.csv") {
        findings.tell(
            Problem::of_file(
                Kind::MissingFile,
                "plantings.csv",
                "there is no plantings.csv",
            )
            .expected("a file whose first line is bed,crop,sown,row_ft")
            .hint("run `putby start` in the garden's folder to get one to begin with"),
        );
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::loader::load;
    use super::super::problem::Kind;

    const TOML: &str =
        "[site]\nlatitude_deg = 41.5\n[climate]\nweather = \"years/weather 2.csv\"\n";

    #[test]
    fn a_folder_is_read_whatever_the_case_of_its_names() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::create_dir(at("years")).unwrap();
        for (name, text) in [
            ("Garden.toml", TOML),
            (
                "PLANTINGS.CSV",
                "bed,crop,sown,row_ft\nA,kale,2026-05-20,10\n",
            ),
            (
                "years/weather 2.csv",
                "date,tmin_c,tmax_c\n2026-01-01,-5,1\n",
            ),
            ("forecast.csv", "not,ours\n"),
            ("~plantings.csv", "a lock of an editor"),
        ] {
            std::fs::write(at(name), text).unwrap();
        }
        let garden = load(folder.path()).unwrap();
        let folder_name = folder
            .path()
            .canonicalize()
            .unwrap()
            .file_name()
            .unwrap()
            .to_string_lossy()
            .into_owned();
        assert_eq!((garden.plantings.len(), garden.name), (1, folder_name));
        std::fs::remove_file(at("years/weather 2.csv")).unwrap();
        let problems = load(folder.path()).unwrap_err();
        assert_eq!(
            (problems.len(), problems[0].kind),
            (1, Kind::UnreadableFile)
        );
    }

    #[test]
    fn what_cannot_be_read_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let problems = load(&folder.path().join("nowhere")).unwrap_err();
        assert_eq!(problems[0].kind, Kind::MissingFile);
        std::fs::create_dir(folder.path().join("plantings.csv")).unwrap();
        let kinds: Vec<Kind> = load(folder.path())
            .unwrap_err()
            .iter()
            .map(|p| p.kind)
            .collect();
        assert_eq!(kinds, [Kind::MissingFile, Kind::UnreadableFile]);
    }
}
