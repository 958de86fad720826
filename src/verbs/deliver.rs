//! Writes results: to the screen, to a file, as a chart. A closed pipe is success, and no file is ever half-written.

use super::cli::{Format, Shared};
use super::setting::{self, Setting};
use super::{Exit, Failure, working};
use crate::input;
use crate::output::chart::Svg;
use crate::output::report::{Facts, Report, Stamp};
use crate::output::text::visible;
use crate::output::xlsx;
use std::ffi::OsStr;
use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::Path;
use std::time::Duration;
use tempfile::NamedTempFile;

/// Names of the temporary files of answers.
const TEMPORARY: (&str, &str) = (".putby-", ".part");
/// Age from which such a file is of a run that was broken off: writing one takes seconds.
const STALE: Duration = Duration::from_secs(3600);

/// Width of a PNG in pixels: enough for an A4 side at 150 dots an inch.
const PNG_WIDTH: u32 = 1200;

/// Renders a report in the wanted form and writes it where it is wanted.
///
/// # Errors
/// If the file of `--output` cannot be written.
pub(super) fn report(
    report: &Report,
    setting: &Setting,
    shared: &Shared,
    drawn: bool,
) -> Result<(), Failure> {
    if let Some(path) = shared.output.as_deref().filter(|p| ending(p) == "xlsx") {
        return workbook(&report.facts, &setting.stamp(drawn), path);
    }
    let text = report.render(
        setting::format(shared),
        &setting.stamp(drawn),
        setting.page(shared),
    );
    text_out(&text, shared)
}

/// Writes a text to the file of `--output`, or to the screen.
///
/// # Errors
/// If the file cannot be written.
pub(super) fn text_out(text: &str, shared: &Shared) -> Result<(), Failure> {
    match &shared.output {
        Some(path) if ending(path) == "xlsx" => Err(no_table(path)),
        Some(path) => whole_file(path, text.as_bytes()),
        None => to_screen(text),
    }
}

/// Returns the options with which a workbook is answered: the rows for machines, which then go into it.
///
/// # Errors
/// The file of `--output` is a workbook that cannot be written, or whose form contradicts `--format`.
pub(super) fn for_workbook(shared: &Shared) -> Result<Shared, Failure> {
    let mut shared = shared.clone();
    let Some(path) = &shared.output else {
        return Ok(shared);
    };
    let no = |why: String| Err(Failure::Usage(format!("-o {}: {why}", path.display())));
    match ending(path).as_str() {
        "xlsx" if shared.format == Format::Json => {
            return no(
                "a workbook is no JSON; leave out --format, or end the name in .json".into(),
            );
        }
        "xlsx" => shared.format = Format::Csv,
        "ods" | "xls" | "xlsm" | "xlsb" => {
            return no("workbooks are written as .xlsx, which every spreadsheet opens; end the name in .xlsx".into());
        }
        _ => {}
    }
    Ok(shared)
}

fn workbook(facts: &Facts, stamp: &Stamp, path: &Path) -> Result<(), Failure> {
    if facts.keys.is_empty() {
        return Err(no_table(path));
    }
    let bytes = xlsx::render(facts, stamp)
        .map_err(|error| Failure::File(format!("{}: {error}", path.display())))?;
    whole_file(path, &bytes)
}

fn no_table(path: &Path) -> Failure {
    Failure::Usage(format!(
        "-o {}: this answer is no table that a workbook could hold; give the file another ending",
        path.display()
    ))
}

/// Says whether a chart is wanted, and refuses an ending that is neither SVG nor PNG before any work is done.
///
/// # Errors
/// If the file's ending is not one of the two.
pub(super) fn chart_wanted(shared: &Shared) -> Result<bool, Failure> {
    let Some(path) = &shared.chart else {
        return Ok(false);
    };
    match ending(path).as_str() {
        "svg" | "png" => Ok(true),
        other => Err(Failure::Usage(format!(
            "--chart {}: `{}` is not a picture I can write; end the name in .svg or .png",
            path.display(),
            visible(other)
        ))),
    }
}

/// Refuses `--chart` for a verb that has none.
///
/// # Errors
/// If a chart was asked for.
pub(super) fn no_chart(shared: &Shared, verb: &str) -> Result<(), Failure> {
    match &shared.chart {
        Some(_) => Err(Failure::Usage(format!(
            "`{verb}` has no chart; `when`, `forecast`, `kitchen`, `sessions`, `stores`, `compare` and `sow by` have"
        ))),
        None => Ok(()),
    }
}

/// Writes a chart to the file of `--chart`, SVG or PNG by its ending.
///
/// # Errors
/// If the picture cannot be made or the file cannot be written.
pub(super) fn chart(picture: &Svg, shared: &Shared) -> Result<(), Failure> {
    let Some(path) = &shared.chart else {
        return Ok(());
    };
    if ending(path) == "png" {
        let bytes = picture
            .png(PNG_WIDTH)
            .map_err(|error| Failure::File(format!("{}: {error}", path.display())))?;
        whole_file(path, &bytes)
    } else {
        whole_file(path, picture.text().as_bytes())
    }
}

fn ending(path: &Path) -> String {
    path.extension()
        .and_then(OsStr::to_str)
        .unwrap_or_default()
        .to_ascii_lowercase()
}

/// Writes a file as a whole: first beside its place, then renamed into it. A device or pipe is written straight.
fn whole_file(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let written = match fs::metadata(path) {
        Ok(there) if !there.is_file() => fs::write(path, bytes),
        _ => renamed_into_place(path, bytes),
    };
    written.map_err(|error| Failure::File(format!("{}: {error}", path.display())))
}

fn renamed_into_place(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = folder_of(path);
    if !folder.is_dir() {
        let words = format!("there is no folder {}", folder.display());
        return Err(io::Error::new(ErrorKind::NotFound, words));
    }
    // What a link points to is replaced, and whoever might read the old file may read the new one.
    let there = fs::metadata(path).ok().map(|m| m.permissions());
    let target = match &there {
        Some(permissions) if permissions.readonly() => {
            return Err(ErrorKind::PermissionDenied.into());
        }
        Some(_) => path.canonicalize()?,
        None => path.to_owned(),
    };
    sweep(folder_of(&target));
    let mut file = temporary(folder_of(&target))?;
    file.write_all(bytes)?;
    if let Some(permissions) = there {
        file.as_file().set_permissions(permissions)?;
    }
    file.as_file().sync_all()?;
    file.persist(&target)?;
    Ok(())
}

fn temporary(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY.0).suffix(TEMPORARY.1);
    // Without this a temporary file is for its owner only, and so would be the result.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

/// Removes what runs that were broken off left lying in a folder; what is young may be somebody's who is still writing.
fn sweep(folder: &Path) {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    for entry in entries.filter(|e| e.file_name().to_str().is_some_and(is_temporary)) {
        let old = |m: fs::Metadata| {
            let age = m.modified().ok()?.elapsed().ok()?;
            Some(m.is_file() && age > STALE)
        };
        if entry.metadata().ok().and_then(old) == Some(true) {
            // In a folder that may only be read it is in nobody's way.
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn is_temporary(name: &str) -> bool {
    let inner = name.strip_prefix(TEMPORARY.0);
    let inner = inner.and_then(|rest| rest.strip_suffix(TEMPORARY.1));
    inner.is_some_and(|i| !i.is_empty() && i.chars().all(|c| c.is_ascii_alphanumeric()))
}

/// Makes sure, before anything is changed, that an answer in words can be written where it is wanted.
///
/// # Errors
/// It is wanted as a workbook, or its file cannot be written.
pub(super) fn takes_words(shared: &Shared) -> Result<(), Failure> {
    match &shared.output {
        Some(path) if ending(path) == "xlsx" => Err(no_table(path)),
        _ => takes_answer(shared),
    }
}

/// Makes sure, before anything is changed, that an answer can be written where it is wanted.
///
/// # Errors
/// Its file cannot be written.
pub(super) fn takes_answer(shared: &Shared) -> Result<(), Failure> {
    let Some(path) = &shared.output else {
        return Ok(());
    };
    let may = match fs::metadata(path) {
        Ok(there) if there.is_dir() => Err(ErrorKind::IsADirectory.into()),
        Ok(there) if there.permissions().readonly() => Err(ErrorKind::PermissionDenied.into()),
        // A device or a pipe shows what it takes when it is written to.
        Ok(there) if !there.is_file() => Ok(()),
        Ok(_) => (path.canonicalize()).and_then(|real| temporary(folder_of(&real)).map(drop)),
        Err(_) => temporary(folder_of(path)).map(drop),
    };
    may.map_err(|error| Failure::File(format!("{}: {error}; nothing was done", path.display())))
}

fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// Refuses, before anything is done, an answer that would be written over a file of the garden or over its own chart.
///
/// # Errors
/// If `--output` names such a file.
pub(super) fn spares_the_garden(shared: &Shared) -> Result<(), Failure> {
    let Some(path) = &shared.output else {
        return Ok(());
    };
    let place = |path: &Path| {
        let folder = folder_of(path).canonicalize().ok();
        folder.map(|f| f.join(path.file_name().unwrap_or_default()))
    };
    let refused = |why: &str| {
        let words = format!("-o {}: {why}; choose another name", path.display());
        Err(Failure::Usage(words))
    };
    if shared.chart.as_deref().map(place) == Some(place(path)) {
        return refused("the chart goes to the same file");
    }
    if shared.sample {
        return Ok(());
    }
    let folder = setting::folder(shared).canonicalize().ok();
    let really = path.canonicalize().ok();
    let of_garden = really.is_some_and(|file| {
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        file.parent().map(Path::to_path_buf) == folder && input::is_garden_file(&name)
    });
    if of_garden {
        return refused("this is a file of the garden, and answers are not written over it");
    }
    Ok(())
}

/// Prints an answer; a reader that went away has had enough.
#[allow(clippy::print_stdout, reason = "this is the room that prints")]
fn to_screen(text: &str) -> Result<(), Failure> {
    working::end();
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::File(format!("standard output: {error}")))
        }
        _ => Ok(()),
    }
}

/// Prints what is wrong on the error stream and passes the exit on.
pub(super) fn complain(text: &str, exit: Exit) -> Exit {
    working::end();
    let mut text = text.trim_end().to_owned();
    text.push('\n');
    // If the error stream is closed too, there is nobody left to tell.
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
    exit
}

/// Prints what the command-line reader has to say: help and version on the screen, mistakes on the error stream.
pub(super) fn command_line(error: &clap::Error) -> Exit {
    let exit = if error.use_stderr() {
        Exit::WrongCommandLine
    } else {
        Exit::Done
    };
    let _ = error.print();
    exit
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use std::time::SystemTime;

    #[test]
    fn what_a_killed_run_left_is_removed_by_the_next() {
        let folder = tempfile::tempdir().unwrap();
        let hours = |n: u64| SystemTime::now() - Duration::from_secs(3600 * n);
        for (name, age) in [
            (".putby-Ab3dE9.part", 2),
            (".putby-young1.part", 0),
            (".putby-of mine.part", 48),
            (".putby-.part", 48),
            ("putby-Ab3dE9.part", 48),
            (".putby-Ab3dE9.tmp", 48),
        ] {
            let file = fs::File::create(folder.path().join(name)).unwrap();
            file.set_modified(hours(age)).unwrap();
        }
        fs::create_dir(folder.path().join(".putby-folder.part")).unwrap();
        whole_file(&folder.path().join("answer.txt"), b"yes").unwrap();
        let mut left: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        assert_eq!(
            left,
            [
                ".putby-.part",
                ".putby-Ab3dE9.tmp",
                ".putby-folder.part",
                ".putby-of mine.part",
                ".putby-young1.part",
                "answer.txt",
                "putby-Ab3dE9.part",
            ]
        );
    }
}
