//! Writing when something is in the way: a full disk, files that may not be written, other runs, a reader that leaves.
//!
//! Works without any rights of its own. `tests/checks/faults.py` goes through the system calls one by one.
#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::Duration;

const PUTBY: &str = env!("CARGO_BIN_EXE_putby");

fn words(line: &str) -> Vec<String> {
    common::words(line)
}

/// A garden to log to.
fn garden() -> tempfile::TempDir {
    let scratch = tempfile::tempdir().unwrap();
    let run = common::putby(scratch.path(), &words("start --from-sample"));
    assert!(run.status.success(), "{run:?}");
    scratch
}

/// Every file of a folder, hidden ones too.
fn content(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| {
            let name = e.file_name().into_string().unwrap();
            (name, fs::read(e.path()).unwrap())
        })
        .collect()
}

/// Runs the program where no file may grow beyond so many blocks of 512 bytes: what a full disk does, and without rights.
fn cramped(folder: &Path, blocks: u32, told: bool, line: &str) -> Output {
    // Whoever does not ignore the signal is killed by it.
    let ignore = if told { "trap '' XFSZ; " } else { "" };
    let script = format!("{ignore}ulimit -c 0; ulimit -f {blocks}; exec \"$0\" \"$@\"");
    Command::new("sh")
        .args(["-c", &script, PUTBY])
        .args(words(line))
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

const LOG: &str =
    "log picked today okra 1 lb; put 3 frozen beans; frost last night 29 F --as-of 2026-07-13";

#[test]
fn a_full_disk_leaves_the_garden_as_it_was() {
    let undone = garden();
    assert!(common::putby(undone.path(), &words(LOG)).status.success());
    let fresh = garden();
    for (start, line) in [
        (&fresh, LOG),
        (&undone, "log undo"),
        (
            &fresh,
            "when --draws 20 --as-of 2026-07-13 -o when.txt --chart when.svg",
        ),
        (&fresh, "-g new start --all"),
    ] {
        let before = content(start.path());
        for told in [true, false] {
            for blocks in [0, 1] {
                let scratch = tempfile::tempdir().unwrap();
                common::copy_folder(start.path(), scratch.path());
                let run = cramped(scratch.path(), blocks, told, line);
                assert_ne!(run.status.code(), Some(0), "{line}: {blocks}");
                let new = scratch.path().join("new");
                if new.exists() {
                    assert!(!new.join("garden.toml").exists());
                    fs::remove_dir_all(&new).unwrap();
                }
                if told {
                    assert_eq!(run.status.code(), Some(3), "{line}: {run:?}");
                    let said = String::from_utf8(run.stderr).unwrap();
                    assert!(said.contains("File too large"), "{line}: {said}");
                    assert_eq!(content(scratch.path()), before, "{line}: {blocks}");
                }
                let again = common::putby(scratch.path(), &words(line));
                assert!(again.status.success(), "{line}: {again:?}");
                let left: Vec<String> = content_names(scratch.path());
                assert!(!left.iter().any(|n| n.ends_with(".tmp")), "{left:?}");
            }
        }
    }
}

fn content_names(folder: &Path) -> Vec<String> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_device_is_told() {
    let run = common::putby(
        Path::new("."),
        &words("tables crops collards --sample -o /dev/full"),
    );
    assert_eq!(run.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&run.stderr).contains("No space left"));
}

#[test]
fn what_may_not_be_written_stays() {
    let scratch = garden();
    for name in ["picked.csv", "answer.txt"] {
        let path = scratch.path().join(name);
        if !path.exists() {
            fs::write(&path, "mine").unwrap();
        }
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    }
    let before = content(scratch.path());
    for line in [LOG, "tables crops collards -o answer.txt"] {
        let run = common::putby(scratch.path(), &words(line));
        assert_eq!(run.status.code(), Some(3), "{line}: {run:?}");
        assert!(String::from_utf8_lossy(&run.stderr).contains("ermission denied"));
        assert_eq!(content(scratch.path()), before, "{line}");
    }
}

#[test]
fn an_answer_keeps_who_may_read_it_and_where_it_stands() {
    let scratch = tempfile::tempdir().unwrap();
    let (real, link) = (
        scratch.path().join("real.txt"),
        scratch.path().join("link.txt"),
    );
    fs::write(&real, "old").unwrap();
    fs::set_permissions(&real, fs::Permissions::from_mode(0o600)).unwrap();
    std::os::unix::fs::symlink(&real, &link).unwrap();
    let run = common::putby(
        scratch.path(),
        &words("tables crops collards --sample -o link.txt"),
    );
    assert!(run.status.success());
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&real).unwrap().contains("collards"));
    let mode = fs::metadata(&real).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[test]
fn an_answer_is_not_written_over_the_garden() {
    let scratch = garden();
    std::os::unix::fs::symlink("plantings.csv", scratch.path().join("link.csv")).unwrap();
    let before = content(scratch.path());
    for line in [
        "tables crops --format csv -o crops.csv",
        "log okra 1 lb --as-of 2026-07-13 -o picked.csv",
        "check -o ./garden.toml",
        "check -o link.csv",
        "when --draws 20 -o a.svg --chart a.svg",
    ] {
        let run = common::putby(scratch.path(), &words(line));
        assert_eq!(run.status.code(), Some(2), "{line}: {run:?}");
        assert_eq!(content(scratch.path()), before, "{line}");
    }
    let elsewhere = common::putby(
        scratch.path(),
        &words("tables crops --sample --format csv -o beds2.csv"),
    );
    assert!(elsewhere.status.success());
}

#[test]
fn a_reader_that_leaves_has_had_enough() {
    let scratch = garden();
    for line in [
        "tables crops",
        "tables crops --format json",
        "man",
        "--help",
        LOG,
    ] {
        let mut child = Command::new(PUTBY)
            .args(words(line))
            .current_dir(scratch.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let run = child.wait_with_output().unwrap();
        assert_eq!(run.status.code(), Some(0), "{line}: {run:?}");
        assert!(run.stderr.is_empty(), "{line}: {run:?}");
    }
    let events = fs::read_to_string(scratch.path().join("events.csv")).unwrap();
    assert!(events.contains("2026-07-13,frost,,29"), "{events}");
}

#[test]
fn an_interrupted_answer_leaves_the_old_one() {
    let scratch = garden();
    let path = scratch.path().join("answer.txt");
    fs::write(&path, "old").unwrap();
    let mut child = Command::new(PUTBY)
        .args(words(
            "kitchen --draws 1000000 -o answer.txt --as-of 2026-07-13",
        ))
        .current_dir(scratch.path())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(400));
    let signal = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(signal.success());
    assert_eq!(child.wait().unwrap().code(), None, "ended by the signal");
    assert_eq!(fs::read_to_string(&path).unwrap(), "old");
}

#[test]
fn logs_at_the_same_time_all_arrive() {
    let scratch = garden();
    let path = scratch.path().join("picked.csv");
    let before = fs::read_to_string(&path).unwrap();
    let mut children: Vec<_> = (1..=6)
        .map(|n| {
            Command::new(PUTBY)
                .args(words(&format!("log okra {n} lb --as-of 2026-07-13")))
                .current_dir(scratch.path())
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for child in &mut children {
        assert!(child.wait().unwrap().success());
    }
    let after = fs::read_to_string(&path).unwrap();
    let mut amounts: Vec<&str> = after
        .strip_prefix(&before)
        .unwrap()
        .lines()
        .map(|row| row.split(',').nth(4).unwrap())
        .collect();
    amounts.sort_unstable();
    assert_eq!(amounts, ["1", "2", "3", "4", "5", "6"]);
}
