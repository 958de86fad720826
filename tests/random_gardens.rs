//! Gardens made by chance, through every verb: each answers in time, in its form, without a number that is none.
//!
//! The books of food, time and room are balanced inside the program, which ends with a fault of its own where they are not.
//! `PUTBY_RANDOM_GARDENS=200` makes more gardens; `PUTBY_RANDOM_FROM=17` begins with another one.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "tests")]

mod common;
mod every_verb;

use putby::input::{Files, load_files, sample};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Numbers that look like chance and are the same everywhere (SplitMix64, Steele et al. 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
    fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
    /// Says yes so many times in ten.
    fn often(&mut self, in_ten: usize) -> bool {
        self.below(10) < in_ten
    }
    fn date(&mut self, first_year: usize, years: usize) -> String {
        let year = first_year + self.below(years);
        format!("{year}-{:02}-{:02}", 1 + self.below(12), 1 + self.below(28))
    }
    fn amount(&mut self) -> String {
        ["1", "0.25", "2.5", "12", "140"][self.below(5)].to_owned()
    }
}

/// First cells of a built-in table.
fn names(table: &str) -> Vec<String> {
    let text = fs::read_to_string(common::root().join("data").join(table)).unwrap();
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    reader.records().map(|r| r.unwrap()[0].to_owned()).collect()
}

fn settings(c: &mut Chance) -> String {
    let latitude = *c.one(&["0.5", "12", "37.1", "-34", "52", "66.4", "-45"]);
    let mut text = format!(
        "as_of = \"{}\"\n[site]\nname = \"garden of chance\"\nlatitude_deg = {latitude}\naltitude_ft = {}\n",
        c.date(2026, 1),
        c.below(6000)
    );
    text += "[frost]\n";
    if c.often(8) {
        let (spring, fall) = if latitude.starts_with('-') {
            (
                "last_spring = { 10 = \"11-05\", 50 = \"10-20\", 90 = \"10-05\" }",
                "first_fall = \"04-20\"",
            )
        } else {
            (
                "last_spring = { 10 = \"05-14\", 50 = \"04-30\" }",
                "first_fall = { 10 = \"10-05\", 50 = \"10-18\" }",
            )
        };
        text += &format!("{spring}\n{fall}\n");
    } else {
        text += "first_fall = \"12-20\"\n";
    }
    text += &format!(
        "[household]\npeople = {}\n",
        c.one(&["1", "2.5", "4", "11"])
    );
    if c.often(8) {
        text += &format!(
            "[kitchen]\nhours = {{ sat = {}, wed = {} }}\nhands = {}\npots = {}\ntrays = {}\ncrocks = {}\ncount_picking = {}\n",
            c.below(9),
            c.one(&["0", "0.5", "3"]),
            1 + c.below(3),
            c.below(3),
            c.below(5),
            c.below(3),
            c.often(5)
        );
        if c.often(5) {
            text += &format!("freezer_ft3 = {}\n", c.one(&["0.5", "7", "40"]));
        }
    }
    if c.often(5) {
        text += &format!(
            "[on_hand]\njars = {}\nlids = {}\nbags = {}\n",
            c.below(40),
            c.below(40),
            c.below(40)
        );
    }
    if c.often(4) {
        text += "[[away]]\nfrom = \"2026-07-01\"\nuntil = \"2026-07-20\"\npicked_by = \"nobody\"\n";
    }
    text + &format!("[show]\nunits = \"{}\"\n", c.one(&["us", "metric"]))
}

/// Rows of a file: its header and so many lines made by chance.
fn rows(header: &str, count: usize, mut row: impl FnMut() -> String) -> Vec<u8> {
    let lines: Vec<String> = (0..count).map(|_| row()).collect();
    format!("{header}\n{}\n", lines.join("\n")).into_bytes()
}

/// Makes a garden; rows that the loader refuses are left out, and what is left loads.
fn made(c: &mut Chance) -> Option<BTreeMap<String, Vec<u8>>> {
    let (crops, products) = (names("crops.csv"), names("products.csv"));
    let beds: Vec<String> = (0..1 + c.below(6)).map(|i| format!("bed {i}")).collect();
    let grown: Vec<String> = (0..1 + c.below(12))
        .map(|_| c.one(&crops).clone())
        .collect();
    let mut files = BTreeMap::new();
    files.insert("garden.toml".to_owned(), settings(c).into_bytes());
    let size = |c: &mut Chance| match c.below(3) {
        0 => format!("{},,", c.one(&["1", "12", "60", "300"])),
        1 => format!(",{},", c.one(&["2", "40", "200"])),
        _ => format!(",,{}", 1 + c.below(40)),
    };
    let count = *c.one(&[0, 1, 6, 25, 60]);
    files.insert(
        "plantings.csv".to_owned(),
        rows(
            "bed,crop,sown,set_out,row_ft,area_sqft,plants,cleared",
            count,
            || {
                let (sown, set_out) = match c.below(3) {
                    0 => (String::new(), c.date(2025, 2)),
                    _ => (c.date(2025, 2), String::new()),
                };
                let (bed, crop) = (c.one(&beds).clone(), c.one(&grown).clone());
                format!("{bed},{crop},{sown},{set_out},{},", size(c))
            },
        ),
    );
    if c.often(6) {
        let mut left = beds.iter();
        files.insert(
            "beds.csv".to_owned(),
            rows(
                "bed,length_ft,width_ft,protection,from,until",
                beds.len(),
                || {
                    let cover = c.one(&[
                        "none,,",
                        "low_tunnel,2026-10-01,2027-03-01",
                        "row_cover,2026-03-01,2026-05-01",
                    ]);
                    format!(
                        "{},{},4,{cover}",
                        left.next().unwrap(),
                        c.one(&["8", "60", "400"])
                    )
                },
            ),
        );
    }
    if c.often(6) {
        files.insert(
            "needs.csv".to_owned(),
            rows("food,amount_per_week,unit", c.below(6), || {
                format!("{},{},lb", c.one(&grown), c.amount())
            }),
        );
    }
    if c.often(6) {
        files.insert(
            "goals.csv".to_owned(),
            rows("product,containers,by,eat_per_week", c.below(8), || {
                format!(
                    "{},{},{},{}",
                    c.one(&products),
                    c.below(60),
                    c.date(2026, 2),
                    c.amount()
                )
            }),
        );
    }
    if c.often(7) {
        files.insert(
            "picked.csv".to_owned(),
            rows("date,crop,amount,unit,use", c.below(80), || {
                format!(
                    "{},{},{},lb,{}",
                    c.date(2025, 2),
                    c.one(&grown),
                    c.amount(),
                    c.one(&["", "fresh", "given"])
                )
            }),
        );
        files.insert(
            "stores.csv".to_owned(),
            rows("date,product,change", c.below(30), || {
                format!(
                    "{},{},{}",
                    c.date(2025, 2),
                    c.one(&products),
                    c.one(&["+3", "-1", "+0.5", "+40"])
                )
            }),
        );
        files.insert(
            "events.csv".to_owned(),
            rows("date,what,value", c.below(8), || {
                let what = c.one(&["frost,", "frost,29", "took,95"]);
                format!("{},{what}", c.date(2025, 2))
            }),
        );
    }
    sound(files)
}

fn loaded(content: &BTreeMap<String, Vec<u8>>) -> Result<(), Vec<(String, Option<usize>)>> {
    let files = Files {
        name: "x".to_owned(),
        content: content.clone(),
        ..Files::default()
    };
    let problems = |all: Vec<putby::input::problem::Problem>| {
        all.into_iter().map(|p| (p.file, p.line)).collect()
    };
    load_files(&files).map(drop).map_err(problems)
}

/// Takes the rows out that the loader complains of, until it is content; none if the fault is in no row.
fn sound(mut files: BTreeMap<String, Vec<u8>>) -> Option<BTreeMap<String, Vec<u8>>> {
    for _ in 0..40 {
        let Err(faults) = loaded(&files) else {
            return Some(files);
        };
        for (file, content) in &mut files {
            let bad: Vec<usize> = faults
                .iter()
                .filter(|f| f.0 == *file)
                .map(|f| f.1.unwrap_or(1))
                .collect();
            if bad.contains(&1) || (file == "garden.toml" && !bad.is_empty()) {
                return None;
            }
            let text = String::from_utf8(content.clone()).unwrap();
            let kept = text
                .lines()
                .enumerate()
                .filter(|(i, _)| !bad.contains(&(i + 1)));
            *content = kept
                .map(|(_, line)| format!("{line}\n"))
                .collect::<String>()
                .into_bytes();
        }
    }
    None
}

fn number(variable: &str, usual: u64) -> u64 {
    std::env::var(variable)
        .ok()
        .map_or(usual, |text| text.parse().unwrap())
}

#[test]
fn every_verb_answers() {
    let (count, from) = (
        number("PUTBY_RANDOM_GARDENS", 2),
        number("PUTBY_RANDOM_FROM", 1),
    );
    let (mut seed, mut tried, mut refused, mut calls, mut wrong) = (from, 0, 0, 0, Vec::new());
    while tried < count {
        let mut c = Chance(seed);
        let Some(files) = made(&mut c) else {
            refused += 1;
            assert!(
                refused <= 4 * (tried + 5),
                "gardens of chance are mostly refused"
            );
            seed += 1;
            continue;
        };
        let scratch = tempfile::tempdir().unwrap();
        write(scratch.path(), &files);
        let (n, found) = every_verb::faults(scratch.path(), 20, &[]);
        if !found.is_empty()
            && let Some(keep) = std::env::var_os("PUTBY_KEEP")
        {
            common::copy_folder(scratch.path(), &Path::new(&keep).join(seed.to_string()));
        }
        calls += n;
        wrong.extend(found.into_iter().map(|f| format!("garden {seed}: {f}")));
        tried += 1;
        seed += 1;
    }
    println!(
        "{tried} gardens, {calls} calls, {refused} gardens refused, {} faults",
        wrong.len()
    );
    assert!(
        calls > 0 && wrong.is_empty(),
        "{} of {calls}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

fn write(folder: &Path, files: &BTreeMap<String, Vec<u8>>) {
    for (name, content) in files {
        fs::write(folder.join(name), content).unwrap();
    }
}

/// What a sync service, an editor or a spreadsheet leaves beside the files changes nothing, and a lost copy is told.
#[test]
fn copies_beside_the_files_change_nothing() {
    let scratch = tempfile::tempdir().unwrap();
    let files = sample::files().content;
    write(scratch.path(), &files);
    let show = |line: &str| common::as_shown(&common::putby(scratch.path(), &common::words(line)));
    let before = show("week --draws 20");
    for name in [
        "picked (conflicted copy 2026-07-12).csv",
        "plantings.sync-conflict-20260712-101500-ABCDEFG.csv",
        "~$plantings.csv",
        ".~lock.picked.csv#",
        ".plantings.csv.swp",
        "picked.csv~",
        "picked.csv.before",
        "Copy of goals.csv",
        "plantings - Copy.csv",
    ] {
        fs::write(scratch.path().join(name), "half, a row\n\"").unwrap();
    }
    assert_eq!(show("week --draws 20"), before);
    let check = show("check --draws 20");
    for lost in [
        "picked (conflicted copy 2026-07-12).csv",
        "plantings.sync-conflict-20260712",
    ] {
        assert!(check.contains(lost), "{lost}:\n{check}");
    }
    assert!(!check.contains("swp") && !check.contains("lock"), "{check}");
}

/// A row that is still being typed is read or told with its place; the rest of the garden does not fall with it.
#[test]
fn rows_half_typed_are_read_or_told() {
    let all = sample::files().content;
    let (mut read, mut told) = (0, 0);
    for name in [
        "plantings.csv",
        "picked.csv",
        "stores.csv",
        "goals.csv",
        "needs.csv",
        "beds.csv",
        "events.csv",
        "products.csv",
    ] {
        let text = String::from_utf8(all[name].clone()).unwrap();
        let text = text.trim_end();
        let begin = text.rfind('\n').unwrap() + 1;
        let line = text[..begin].lines().count() + 1;
        for until in (begin..text.len()).filter(|i| text.is_char_boundary(*i)) {
            let mut files = all.clone();
            files.insert(name.to_owned(), text.as_bytes()[..until].to_vec());
            match loaded(&files) {
                Ok(()) => read += 1,
                Err(faults) => {
                    told += 1;
                    // What other files name is missed there as well.
                    let named = ["plantings.csv", "beds.csv", "products.csv"].contains(&name);
                    let here = |f: &(String, Option<usize>)| {
                        (f.0 == name && f.1.is_none_or(|l| l == line)) || (named && f.1.is_some())
                    };
                    assert!(faults.iter().all(here), "{name} up to {until}: {faults:?}");
                }
            }
        }
    }
    assert!(read > 20 && told > 100, "{read} read, {told} told");
}
