//! The log on the disk: whole lines only, taken back only while they stand untouched, and never a row that would not load.
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Logs in a folder and returns the exit code.
fn log(folder: &Path, words: &str) -> i32 {
    let mut arguments = vec!["log".to_owned()];
    arguments.extend(words.split(' ').map(str::to_owned));
    common::putby(folder, &arguments).status.code().unwrap()
}

fn garden(picked: Option<&str>) -> tempfile::TempDir {
    let scratch = tempfile::tempdir().unwrap();
    common::copy_folder(
        &common::root().join("tests/cases/log-misheard"),
        scratch.path(),
    );
    if let Some(text) = picked {
        fs::write(scratch.path().join("picked.csv"), text).unwrap();
    }
    scratch
}

#[test]
fn what_is_taken_back_leaves_the_file_as_it_was() {
    for before in [
        "date,crop,amount\n2026-07-04,bush bean,1 lb\n",
        "\u{FEFF}bed;date;crop;amount;unit;guess\r\n;2026-07-04;bush bean;1 lb;;\r\n",
        "# ours\ndate\tcrop\tamount\tnote\tunit\tbed\n2026-07-04\tbush bean\t1\tx\tlb\t\n",
    ] {
        let scratch = garden(Some(before));
        let path = scratch.path().join("picked.csv");
        assert_eq!(log(scratch.path(), "picked sat beans 2.5 lb, okra 1 lb"), 0);
        let grown = fs::read_to_string(&path).unwrap();
        assert_eq!(grown.lines().count(), before.lines().count() + 2, "{grown}");
        assert!(grown.ends_with('\n'));
        assert_eq!(log(scratch.path(), "undo"), 0);
        // Columns that the log added to the header stay; the rows are as they were.
        let back = fs::read_to_string(&path).unwrap();
        let rows = |text: &str| text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
        if before.starts_with('#') || before.contains("guess") {
            assert_eq!(back, before);
        } else {
            assert_eq!(rows(&back), rows(before));
        }
        assert_eq!(log(scratch.path(), "undo"), 3, "only once");
    }
}

#[test]
fn a_file_that_changed_since_is_left_alone() {
    let scratch = garden(None);
    let path = scratch.path().join("picked.csv");
    assert_eq!(log(scratch.path(), "beans 2 lb"), 0);
    let logged = fs::read_to_string(&path).unwrap();
    for changed in [
        format!("{logged}2026-07-05,south,bush bean,,3,lb,,,\n"),
        logged.replace("2,lb", "7,lb"),
        logged.replace('\n', "\r\n"),
    ] {
        fs::write(&path, &changed).unwrap();
        assert_eq!(log(scratch.path(), "undo"), 3);
        assert_eq!(fs::read_to_string(&path).unwrap(), changed);
    }
    fs::write(&path, &logged).unwrap();
    assert_eq!(log(scratch.path(), "undo"), 0);
    assert_eq!(fs::read_to_string(&path).unwrap().lines().count(), 1);
}

/// Where the answer cannot be written nothing is taken back, and nothing is logged.
#[test]
fn what_cannot_be_answered_is_not_done() {
    let scratch = garden(None);
    let path = scratch.path().join("picked.csv");
    assert_eq!(log(scratch.path(), "beans 2 lb"), 0);
    let logged = fs::read_to_string(&path).unwrap();
    fs::write(scratch.path().join("kept.txt"), "kept").unwrap();
    let mut kept = fs::metadata(scratch.path().join("kept.txt"))
        .unwrap()
        .permissions();
    kept.set_readonly(true);
    fs::set_permissions(scratch.path().join("kept.txt"), kept).unwrap();
    for (words, code) in [
        ("undo -o answer.xlsx", 2),
        ("undo -o missing/answer.txt", 3),
        ("undo -o kept.txt", 3),
        ("undo -o .", 3),
        ("beans 1 lb -o missing/answer.txt", 3),
        ("beans 1 lb -o missing/answer.xlsx", 3),
        ("beans 1 lb -o kept.txt", 3),
    ] {
        assert_eq!(log(scratch.path(), words), code, "{words}");
        assert_eq!(fs::read_to_string(&path).unwrap(), logged, "{words}");
    }
    assert!(!scratch.path().join("answer.xlsx").exists());
    assert_eq!(log(scratch.path(), "undo -o answer.txt"), 0);
    let answer = fs::read_to_string(scratch.path().join("answer.txt")).unwrap();
    assert!(answer.starts_with("Taken back:"), "{answer}");
}

/// A device that takes nothing shows it only when it is written to: then it is said what was done.
#[cfg(target_os = "linux")]
#[test]
fn what_was_done_without_an_answer_is_told() {
    let scratch = garden(None);
    let told = |words: &str| {
        let output = common::putby(scratch.path(), &common::words(&format!("log {words}")));
        assert_eq!(output.status.code(), Some(3), "{words}");
        String::from_utf8(output.stderr).unwrap()
    };
    let logged = told("beans 2 lb -o /dev/full");
    assert!(logged.contains("logged all the same"), "{logged}");
    let back = told("undo -o /dev/full");
    assert!(back.contains("taken back all the same"), "{back}");
    let again = told("undo");
    assert!(again.contains("nothing to take back"), "{again}");
}

#[test]
fn a_note_that_names_another_file_is_refused() {
    let scratch = garden(None);
    assert_eq!(log(scratch.path(), "beans 2 lb"), 0);
    let note = scratch.path().join(".putby-last");
    let text = fs::read_to_string(&note).unwrap();
    fs::write(&note, text.replace("picked.csv", "../garden.toml")).unwrap();
    assert_eq!(log(scratch.path(), "undo"), 3);
}

#[test]
fn the_garden_still_loads_after_every_log() {
    let scratch = garden(None);
    for words in [
        "picked yesterday beans 1 lb, okra ~2 lb, chard 1 bunch",
        "beans 1 lb; chard 1 lb north given",
        "put 2 frozen beans, 1 frozen okra",
        "frost last night 29 F, took 95 min",
        "up late chard",
    ] {
        let exit = log(scratch.path(), words);
        assert!(exit == 0, "{words}: {exit}");
        let check = common::putby(scratch.path(), &["check".to_owned()]);
        assert!(check.status.code().unwrap() <= 1, "{words}");
    }
}

/// Starts a log without waiting for it; words as on a command line, and what stands on its standard input.
fn start(folder: &Path, words: &str, input: Option<&str>) -> std::process::Child {
    let mut child = Command::new(env!("CARGO_BIN_EXE_putby"))
        .arg("log")
        .args(words.split(' '))
        .current_dir(folder)
        .stdin(if input.is_some() {
            Stdio::piped()
        } else {
            Stdio::null()
        })
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    if let Some(text) = input {
        child
            .stdin
            .take()
            .unwrap()
            .write_all(text.as_bytes())
            .unwrap();
    }
    child
}

/// A pasted list, with the ends of lines and marks that a message brings along, is logged as one.
#[test]
fn a_pasted_list_is_logged_from_standard_input() {
    let scratch = garden(None);
    let list =
        "picked sat beans 2.5 lb\r\nokra ~1 lb\n\n  chard 2 bunches north\nput 2 frozen beans\n";
    let output = start(scratch.path(), "-", Some(list))
        .wait_with_output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    let picked = fs::read_to_string(scratch.path().join("picked.csv")).unwrap();
    assert_eq!(picked.lines().count(), 4, "{picked}");
    let stores = fs::read_to_string(scratch.path().join("stores.csv")).unwrap();
    assert!(
        stores.ends_with("\n") && stores.contains("frozen beans"),
        "{stores}"
    );
}

/// A long list in which a few lines stand twice is logged without them, and without a look at the whole garden for each line.
#[test]
fn a_long_list_with_a_few_slips_is_logged_in_time() {
    let scratch = garden(None);
    let mut list: Vec<String> = (0..3000)
        .map(|k| format!("picked sat okra {}.{:03} lb", 1 + k / 1000, k % 1000))
        .collect();
    for (at, again) in [(2900, 7), (1500, 1499), (40, 3)] {
        list.insert(at, list[again].clone());
    }
    let begun = Instant::now();
    let output = start(scratch.path(), "-", Some(&list.join("\n")))
        .wait_with_output()
        .unwrap();
    let took = begun.elapsed();
    assert_eq!(output.status.code(), Some(1), "three lines were not kept");
    let picked = fs::read_to_string(scratch.path().join("picked.csv")).unwrap();
    assert_eq!(picked.lines().count(), 1 + 3000);
    // One look for each line took minutes.
    assert!(took < Duration::from_secs(60), "{took:?}");
}

/// Asserts that what one call added is four whole rows or nothing, and something if it said that it was done.
fn whole_lines(before: &str, after: &str, header: &str, done: bool) {
    let mut tail = after.strip_prefix(before).unwrap();
    if before.is_empty() && !tail.is_empty() {
        tail = tail
            .strip_prefix(header)
            .unwrap()
            .strip_prefix('\n')
            .unwrap();
    }
    let whole = |line: &str| line.matches(',').count() == header.matches(',').count();
    assert!(tail.is_empty() || tail.ends_with('\n'), "{tail:?}");
    assert!(tail.lines().all(whole), "{tail:?}");
    assert!([0, 4].contains(&tail.lines().count()), "{tail:?}");
    assert!(!done || !tail.is_empty(), "said done, but is not there");
}

/// Kills logs at moments spread over their whole run, and looks at what stands: the rows of a call are all there, each
/// whole, or none of them is. The rows are long, so that a torn write would show.
#[test]
fn a_kill_at_any_moment_leaves_whole_lines() {
    let words = |step: u32| {
        let amount = |k: u32| f64::from(step * 4 + k) / 100.0 + 0.5;
        let [a, b, c, d] = [amount(0), amount(1), amount(2), amount(3)];
        format!("picked sat beans {a} lb, okra {b} lb, chard {c} lb north given, chard {d} lb east")
    };
    let scratch = garden(None);
    let path = scratch.path().join("picked.csv");
    let header = "date,bed,crop,planting,amount,unit,guess,use,note";
    let (mut whole_run, mut killed, mut step) = (Duration::ZERO, 0, 0_u32);
    for round in 0..8 {
        for eighths in 0..10 {
            // What the last call had begun and not ended is finished first by whatever reads the garden next.
            if scratch.path().join(".putby-unfinished").exists() {
                let check = common::putby(scratch.path(), &["check".to_owned()]);
                assert!(check.status.code().unwrap() <= 1, "{check:?}");
            }
            // In the second half the call has to begin the file.
            if round >= 4 {
                let _ = fs::remove_file(&path);
            }
            let before = fs::read_to_string(&path).unwrap_or_default();
            let begun = Instant::now();
            let mut child = start(scratch.path(), &words(step), None);
            step += 1;
            // The first call of a round runs to its end and shows how long a run takes at present.
            let in_time = eighths > 0 && {
                std::thread::sleep(whole_run.mul_f64(f64::from(eighths - 1) / 8.0));
                child.kill().is_ok()
            };
            let ended = child.wait().unwrap();
            if eighths == 0 {
                whole_run = begun.elapsed().min(Duration::from_secs(1));
                assert!(ended.success());
            }
            killed += u32::from(in_time && !ended.success());
            let after = fs::read_to_string(&path).unwrap_or_default();
            whole_lines(&before, &after, header, ended.success());
        }
    }
    // At the very beginning at least every call is cut off.
    assert!(killed >= 8, "{killed} killed");
    let check = common::putby(scratch.path(), &["check".to_owned()]);
    assert!(check.status.code().unwrap() <= 1, "{check:?}");
}
