//! Writing a garden's files as a whole: after any fault, at any moment, all of them are as before or all are as after.
//!
//! New content goes to temporary files in the same folder, synced. Of several files a note is kept while they are renamed
//! into place; where a run is broken off in between, the next one that reads or writes the garden finishes it. A file that
//! changed since it was read is never overwritten. One run at a time holds the folder. Knows no meanings, only bytes.
//! What it cannot do: a file that is a link to another folder is a write of its own.

use super::problem::{Kind, Problem};
use super::unfinished::{self, finish};
use std::fs::{self, File, Permissions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::{Builder, NamedTempFile};

/// What is to become of one file.
#[derive(Debug, Clone, Copy)]
pub struct Change<'a> {
    /// Name in the garden's folder.
    pub file: &'a str,
    /// Content as it was read; none if the file was not there.
    pub known: Option<&'a [u8]>,
    /// Content to write.
    pub content: &'a [u8],
}

/// The copy of a file before it is rewritten, kept beside it with the ending `.before`.
#[derive(Debug)]
pub struct Kept<'a> {
    file: String,
    /// The copy kept so far.
    older: Option<Vec<u8>>,
    own: &'a [u8],
}

impl<'a> Kept<'a> {
    /// Makes a copy of a file's content ready.
    #[must_use]
    pub fn of(folder: &Path, file: &str, own: &'a [u8]) -> Self {
        let file = format!("{file}.before");
        Self {
            older: fs::read(on_disk(folder, &file)).ok(),
            file,
            own,
        }
    }

    /// Returns the copy as one change among others.
    #[must_use]
    pub fn change(&self) -> Change<'_> {
        Change {
            file: &self.file,
            known: self.older.as_deref(),
            content: self.own,
        }
    }
}

/// The right to write in a folder, given back when dropped.
#[derive(Debug)]
pub struct Held(Option<File>);

impl Held {
    /// Says whether really nobody else can be at it.
    pub(super) fn for_sure(&self) -> bool {
        self.0.is_some()
    }
}

/// Waits for other runs to be done with a folder, and holds it.
///
/// A system that knows no such locks, or a run that never ends, does not stop anybody: every write still compares first.
#[must_use]
pub fn hold(folder: &Path) -> Held {
    let Ok(file) = File::open(folder) else {
        return Held(None);
    };
    for _ in 0..250 {
        match file.try_lock() {
            Ok(()) => return Held(Some(file)),
            Err(fs::TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(20)),
            Err(fs::TryLockError::Error(_)) => return Held(None),
        }
    }
    Held(None)
}

/// Writes files, all or none.
///
/// # Errors
/// A file changed since it was read, or something cannot be written; every file then stands as it was.
pub fn write(held: &Held, folder: &Path, changes: &[Change<'_>]) -> Result<(), Box<Problem>> {
    finish(held, folder)?;
    let mut staged = changes
        .iter()
        .map(|change| Staged::of(folder, change))
        .collect::<Result<Vec<_>, _>>()?;
    for one in &staged {
        one.unchanged()?;
    }
    // What the note cannot speak of comes last.
    staged.sort_by_key(|one| one.elsewhere);
    let note = (staged.len() > 1).then(|| folder.join(unfinished::UNFINISHED));
    if let Some(note) = &note {
        put_note(note, &staged).map_err(|error| {
            let _ = fs::remove_file(note);
            cannot(note, &error)
        })?;
    }
    for at in 0..staged.len() {
        if let Err(error) = staged[at].put() {
            let problem = cannot(&staged[at].target, &error);
            return Err(taken_back(staged, at, note.as_deref(), problem));
        }
    }
    let synced = staged
        .iter()
        .try_for_each(|one| sync_folder(&one.target).map_err(|error| unsure(&one.target, &error)));
    if let Some(note) = note {
        // If it stays, the next run finds that all is done.
        let _ = fs::remove_file(note);
    }
    synced
}

/// Finishes what an earlier run began to write.
///
/// # Errors
/// It cannot be finished, or a file was changed by hand in between.
pub fn settle(held: &Held, folder: &Path) -> Result<(), Box<Problem>> {
    finish(held, folder)
}

/// Returns the place of a garden's file on the disk, where its name may stand in capitals.
#[must_use]
pub fn on_disk(folder: &Path, file: &str) -> PathBuf {
    let plain = folder.join(file);
    if plain.symlink_metadata().is_ok() {
        return plain;
    }
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut same = names.map(|entry| entry.path()).filter(|path| {
        path.file_name()
            .is_some_and(|n| n.eq_ignore_ascii_case(file))
    });
    same.next().unwrap_or(plain)
}

/// A change made ready: its new content lies beside its place.
struct Staged<'a> {
    change: Change<'a>,
    /// The file, links followed.
    target: PathBuf,
    /// Whether the target lies in another folder.
    elsewhere: bool,
    /// The new content, until it is in its place.
    temporary: Option<NamedTempFile>,
    permissions: Option<Permissions>,
}

impl<'a> Staged<'a> {
    fn of(folder: &Path, change: &Change<'a>) -> Result<Self, Box<Problem>> {
        let path = on_disk(folder, change.file);
        let failed = |error: &io::Error| cannot(&path, error);
        let (mut target, mut permissions) = (path.clone(), None);
        if change.known.is_some() {
            // A link stays a link: what it points to is replaced.
            target = path.canonicalize().map_err(|error| failed(&error))?;
            let now = fs::metadata(&target).map_err(|error| failed(&error))?;
            if now.permissions().readonly() {
                return Err(failed(&ErrorKind::PermissionDenied.into()));
            }
            permissions = Some(now.permissions());
        }
        let temporary = temporary(&target, change.content, permissions.clone())
            .map_err(|error| failed(&error))?;
        let is_link = path.symlink_metadata().is_ok_and(|m| m.is_symlink());
        Ok(Self {
            change: *change,
            target,
            elsewhere: is_link,
            temporary: Some(temporary),
            permissions,
        })
    }

    fn unchanged(&self) -> Result<(), Box<Problem>> {
        let Some(known) = self.change.known else {
            if self.target.symlink_metadata().is_err() {
                return Ok(());
            }
            return Err(there_already(&self.target));
        };
        let now = fs::read(&self.target).map_err(|error| cannot(&self.target, &error))?;
        if now == known {
            return Ok(());
        }
        let name = name(&self.target);
        let message = format!("{name} changed while it was being worked on; nothing was written");
        Err(Box::new(
            Problem::of_file(Kind::Unwritable, &name, message)
                .hint("close it in the editor or spreadsheet and try again"),
        ))
    }

    fn put(&mut self) -> io::Result<()> {
        let Some(file) = self.temporary.take() else {
            return Ok(());
        };
        let put = if self.change.known.is_some() {
            file.persist(&self.target)
        } else {
            file.persist_noclobber(&self.target)
        };
        put.map(drop).map_err(|failed| {
            self.temporary = Some(failed.file);
            failed.error
        })
    }

    /// Puts the old content back.
    fn take_back(&self) -> io::Result<()> {
        match self.change.known {
            None => fs::remove_file(&self.target),
            Some(known) => {
                temporary(&self.target, known, self.permissions.clone())?.persist(&self.target)?;
                Ok(())
            }
        }
    }
}

/// Writes the note of all files that lie in the folder itself.
fn put_note(note: &Path, staged: &[Staged<'_>]) -> io::Result<()> {
    let mut text = format!("{}\n", unfinished::HEAD);
    for one in staged.iter().filter(|one| !one.elsewhere) {
        if let Some(new) = &one.temporary {
            text += &unfinished::line_of(&name(new.path()), one.change.known, &name(&one.target));
        }
    }
    temporary(note, text.as_bytes(), None)?.persist(note)?;
    sync_folder(note)
}

/// Takes back what was put before a fault; where even that fails, the next run goes on forward.
fn taken_back(
    staged: Vec<Staged<'_>>,
    done: usize,
    note: Option<&Path>,
    problem: Box<Problem>,
) -> Box<Problem> {
    let back = staged[..done].iter().rev().try_for_each(Staged::take_back);
    match note {
        Some(note) if back.is_err() => {
            for one in staged {
                if let Some(file) = one.temporary {
                    let _ = file.keep();
                }
            }
            let _ = sync_folder(note);
            Box::new(problem.hint("the next run of putby in this garden finishes the writing"))
        }
        Some(note) => {
            let _ = fs::remove_file(note);
            problem
        }
        None => problem,
    }
}

fn temporary(
    path: &Path,
    content: &[u8],
    permissions: Option<Permissions>,
) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder
        .prefix(unfinished::TEMPORARY.0)
        .suffix(unfinished::TEMPORARY.1);
    #[cfg(unix)]
    let usual = <Permissions as std::os::unix::fs::PermissionsExt>::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(usual);
    let mut file = builder.tempfile_in(parent(path))?;
    file.write_all(content)?;
    if let Some(permissions) = permissions {
        file.as_file().set_permissions(permissions)?;
    }
    file.as_file().sync_all()?;
    Ok(file)
}

fn parent(path: &Path) -> &Path {
    path.parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// A rename is safe on the disk only when its folder is; systems that cannot sync a folder do it on their own.
pub(super) fn sync_folder(path: &Path) -> io::Result<()> {
    if cfg!(unix) {
        File::open(parent(path))?.sync_all()?;
    }
    Ok(())
}

fn there_already(path: &Path) -> Box<Problem> {
    let name = name(path);
    let message = format!("{name} is there already and was left as it was");
    let problem = Problem::of_file(Kind::Unwritable, &name, message);
    Box::new(problem.hint("rename or remove it first if a new one is wanted"))
}

pub(super) fn cannot(path: &Path, error: &io::Error) -> Box<Problem> {
    let name = name(path);
    let message = format!("{name} cannot be written: {error}");
    Box::new(
        Problem::of_file(Kind::Unwritable, &name, message).hint(
            "check that the folder and the file may be written and that the disk is not full",
        ),
    )
}

fn unsure(path: &Path, error: &io::Error) -> Box<Problem> {
    let name = name(path);
    let message = format!("{name} was written, but the disk did not confirm it: {error}");
    Box::new(
        Problem::of_file(Kind::Unwritable, &name, message).hint(
            "look whether it is there before you repeat the command, and look after the disk",
        ),
    )
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn change<'a>(file: &'a str, known: Option<&'a str>, content: &'a str) -> Change<'a> {
        Change {
            file,
            known: known.map(str::as_bytes),
            content: content.as_bytes(),
        }
    }

    /// Names and contents, hidden files too.
    fn all(folder: &Path) -> Vec<(String, String)> {
        let mut all: Vec<(String, String)> = fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().path())
            .map(|p| (name(&p), fs::read_to_string(&p).unwrap()))
            .collect();
        all.sort();
        all
    }

    fn made(files: &[(&str, &str)]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for (file, text) in files {
            fs::write(folder.path().join(file), text).unwrap();
        }
        folder
    }

    #[test]
    fn all_or_none() {
        let folder = made(&[("picked.csv", "old"), ("stores.csv", "old")]);
        let path = folder.path();
        let before = all(path);
        let held = hold(path);
        for refused in [
            [
                change("picked.csv", Some("old"), "new"),
                change("stores.csv", Some("older"), "new"),
            ],
            [
                change("picked.csv", Some("old"), "new"),
                change("stores.csv", None, "new"),
            ],
            [
                change("picked.csv", Some("old"), "new"),
                change("beds.csv", Some("old"), "new"),
            ],
        ] {
            assert_eq!(
                write(&held, path, &refused).unwrap_err().kind,
                Kind::Unwritable
            );
            assert_eq!(all(path), before, "{refused:?}");
        }
        let wanted = [
            change("picked.csv", Some("old"), "new"),
            change("beds.csv", None, "new"),
        ];
        write(&held, path, &wanted).unwrap();
        let after = [
            ("beds.csv", "new"),
            ("picked.csv", "new"),
            ("stores.csv", "old"),
        ];
        assert_eq!(all(path), after.map(|(a, b)| (a.to_owned(), b.to_owned())));
    }

    #[test]
    fn a_fault_half_way_is_taken_back() {
        let folder = made(&[("picked.csv", "old"), ("beds.csv", "old")]);
        let path = folder.path();
        let before = all(path);
        let changes = [
            change("picked.csv", Some("old"), "new"),
            change("stores.csv", None, "new"),
            change("beds.csv", Some("old"), "new"),
        ];
        let mut staged: Vec<Staged<'_>> = changes
            .iter()
            .map(|c| Staged::of(path, c).unwrap())
            .collect();
        let note = path.join(unfinished::UNFINISHED);
        put_note(&note, &staged).unwrap();
        staged[0].put().unwrap();
        staged[1].put().unwrap();
        let problem = cannot(path, &ErrorKind::StorageFull.into());
        let told = taken_back(staged, 2, Some(&note), problem);
        assert!(told.message.contains("cannot be written"));
        assert_eq!(all(path), before);
    }

    #[test]
    fn what_was_broken_off_is_finished() {
        for (done, by_hand) in [
            (0, None),
            (1, None),
            (2, None),
            (3, None),
            (1, Some("mine")),
        ] {
            let folder = made(&[("picked.csv", "old"), ("beds.csv", "old")]);
            let path = folder.path();
            let changes = [
                change("stores.csv", None, "new"),
                change("picked.csv", Some("old"), "new"),
                change("beds.csv", Some("old"), "new"),
            ];
            let mut staged: Vec<Staged<'_>> = changes
                .iter()
                .map(|c| Staged::of(path, c).unwrap())
                .collect();
            put_note(&path.join(unfinished::UNFINISHED), &staged).unwrap();
            for one in &mut staged[..done] {
                one.put().unwrap();
            }
            for one in &mut staged {
                if let Some(temporary) = one.temporary.take() {
                    temporary.keep().unwrap();
                }
            }
            if let Some(text) = by_hand {
                fs::write(path.join("picked.csv"), text).unwrap();
            }
            fs::write(path.join(".putby-Ab3.tmp"), "of a run before").unwrap();
            let finished = settle(&hold(path), path);
            let mut want = vec![
                ("beds.csv", "new"),
                ("picked.csv", "new"),
                ("stores.csv", "new"),
            ];
            if by_hand.is_some() {
                assert!(finished.unwrap_err().message.contains("picked.csv changed"));
                want = vec![
                    ("beds.csv", "new"),
                    ("picked.csv", "mine"),
                    ("picked.csv.unfinished", "new"),
                    ("stores.csv", "new"),
                ];
            } else {
                finished.unwrap();
            }
            let want: Vec<(String, String)> = want
                .into_iter()
                .map(|(a, b)| (a.to_owned(), b.to_owned()))
                .collect();
            assert_eq!(all(path), want, "{done} {by_hand:?}");
            settle(&hold(path), path).unwrap();
        }
    }

    #[test]
    fn a_note_from_elsewhere_reaches_nothing() {
        for line in [
            ".putby-a.tmp - ../other.csv",
            ".putby-a.tmp - notes.txt",
            "../picked.csv - beds.csv",
            "picked.csv - beds.csv",
        ] {
            let note = format!("{}\n{line}\n", unfinished::HEAD);
            let folder = made(&[(unfinished::UNFINISHED, &note), ("picked.csv", "mine")]);
            settle(&hold(folder.path()), folder.path()).unwrap();
            let names: Vec<String> = all(folder.path()).into_iter().map(|f| f.0).collect();
            assert_eq!(names, [unfinished::UNFINISHED, "picked.csv"], "{line}");
        }
    }

    #[test]
    fn one_run_at_a_time() {
        let folder = made(&[]);
        let path = folder.path().to_owned();
        let held = hold(&path);
        let other = std::thread::spawn({
            let path = path.clone();
            move || {
                let held = hold(&path);
                (held.for_sure(), path.join("sign").exists())
            }
        });
        std::thread::sleep(Duration::from_millis(60));
        fs::write(path.join("sign"), "").unwrap();
        drop(held);
        assert_eq!(other.join().unwrap(), (true, true));
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let folder = made(&[]);
        let path = folder.path();
        let held = hold(path);
        write(&held, path, &[change("real.csv", None, "one")]).unwrap();
        let (real, link) = (path.join("real.csv"), path.join("picked.csv"));
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_ne!(mode(&real), 0o600, "a new file is as open as any other");
        fs::set_permissions(&real, Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        let both = [
            change("picked.csv", Some("one"), "two"),
            change("stores.csv", None, "two"),
        ];
        write(&held, path, &both).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(
            (fs::read(&real).unwrap(), mode(&real)),
            (b"two".to_vec(), 0o640)
        );
        fs::set_permissions(&real, Permissions::from_mode(0o440)).unwrap();
        let refused = [change("picked.csv", Some("two"), "three")];
        assert!(write(&held, path, &refused).is_err());
        assert_eq!(fs::read(&real).unwrap(), b"two");
    }
}
