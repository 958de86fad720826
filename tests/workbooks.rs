//! Workbooks as people's spreadsheets save them, and those that try to do harm.
//!
//! The committed workbooks under `tests/problems/book-*` were saved by LibreOffice (`tests/data/workbooks/make.py`); here are
//! the properties that no single file shows. The `csv` crate is the outside reader of the lines made of a sheet.

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use chrono::NaiveDate;
use proptest::prelude::*;
use putby::garden::site::Climate;
use putby::input::problem::{Kind, Problem};
use putby::input::{Files, fix, load_files, sheets, workbook};
use putby::output::report::{Facts, Stamp};
use putby::output::table::Cell;
use putby::output::xlsx;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

const TOML: &str = "[site]\nlatitude_deg = 41.5\n\n[frost]\nfirst_fall = \"10-11\"\n";

fn stamp() -> Stamp {
    Stamp {
        version: "0".to_owned(),
        garden: "any".to_owned(),
        as_of: day(2026, 7, 13),
        random_seed: None,
        draws: None,
    }
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

/// Makes a workbook of one sheet.
fn book(sheet: &str, rows: &[&[&str]]) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let leaf = book.add_worksheet().set_name(sheet).unwrap();
    for (r, row) in (0..).zip(rows) {
        for (c, text) in (0..).zip(*row) {
            leaf.write_string(r, c, *text).unwrap();
        }
    }
    book.save_to_buffer().unwrap()
}

fn garden(files: &[(&str, &[u8])]) -> Files {
    let mut all = Files::default();
    all.content.insert("garden.toml".into(), TOML.into());
    for (name, bytes) in files {
        all.content.insert((*name).to_owned(), bytes.to_vec());
    }
    all
}

fn fixture(name: &str) -> Vec<u8> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/problems");
    std::fs::read(root.join(name)).unwrap()
}

/// Rebuilds a zip file with one part changed.
fn with_part(bytes: &[u8], name: &str, change: impl Fn(Vec<u8>) -> Vec<u8>) -> Vec<u8> {
    let mut old = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..old.len() {
        let mut part = old.by_index(i).unwrap();
        let part_name = part.name().unwrap().into_owned();
        let mut content = Vec::new();
        std::io::copy(&mut part, &mut content).unwrap();
        if part_name == name {
            content = change(content);
        }
        new.start_file(part_name, SimpleFileOptions::default())
            .unwrap();
        new.write_all(&content).unwrap();
    }
    new.finish().unwrap().into_inner()
}

fn kinds(problems: &[Problem]) -> Vec<Kind> {
    problems.iter().map(|p| p.kind).collect()
}

#[test]
fn both_kinds_of_workbook_say_what_the_csv_says() {
    let csv: &[u8] = b"planting,bed,crop,sown,row_ft,yield_factor,note\n\
        beans,North,bush bean,2026-05-20,10,0.85,\nkale,South,kale,2026-07-01,2.4,,\n";
    let beds: &[u8] = b"bed,length_ft,width_ft\nNorth,12,4\nSouth,12.5,4\n";
    let picked: &[u8] = b"date,bed,crop,amount,unit,guess,use\n\
        2026-07-20,North,bush bean,0.3,lb,true,fresh\n2026-07-24,North,bush bean,2,lb,,put_by\n";
    let want = load_files(&garden(&[
        ("plantings.csv", csv),
        ("beds.csv", beds),
        ("picked.csv", picked),
    ]))
    .unwrap();
    for name in ["book-read-xlsx/garden.xlsx", "book-read-ods/garden.ods"] {
        let file = name.split('/').next_back().unwrap();
        let got = load_files(&garden(&[(file, &fixture(name))])).unwrap();
        assert_eq!(got.plantings, want.plantings, "{name}");
        assert_eq!(got.beds, want.beds, "{name}");
        assert_eq!(got.record.picked, want.record.picked, "{name}");
        assert!(got.warnings[0].contains("Seed money"), "{name}");
    }
}

#[test]
fn a_workbook_is_read_and_never_written_to() {
    let plantings = book(
        "Sheet1",
        &[
            &["bed", "crop", "sown", "row_ft"],
            &["A", "kale", "7/13/2026", "10 ft"],
        ],
    );
    let files = garden(&[("plantings.xlsx", &plantings)]);
    assert!(fix::fix(&files).is_empty(), "only CSV files are rewritten");
    let problems = fix::in_workbooks(&files);
    assert_eq!(kinds(&problems), [Kind::Unwritable]);
    let hint = problems[0].hint.clone().unwrap();
    for words in [
        "save the sheet as plantings.csv",
        "remove plantings.xlsx",
        "`7/13/2026` in row 2, column sown, which is 2026-07-13",
    ] {
        assert!(hint.contains(words), "{hint}");
    }
    assert!(sheets::refusal(&files, "plantings.csv").is_some());
    assert!(sheets::refusal(&files, "picked.csv").is_none());
}

#[test]
fn one_table_in_two_files_is_told_with_the_one_to_remove() {
    let header: &[&str] = &["bed", "crop", "sown", "row_ft"];
    let (a, b, c) = (
        &["A", "kale", "2026-05-20", "10"][..],
        &["B", "kale", "2026-05-20", "10"][..],
        &["C", "kale", "2026-05-20", "10"][..],
    );
    let csv: &[u8] = b"bed,crop,sown,row_ft\nA,kale,2026-05-20,10\nB,kale,2026-05-20,10\n";
    for (rows, remedy) in [
        (&[header, a, b][..], "same rows: remove plantings.xlsx"),
        (&[header, a], "1 more: remove plantings.xlsx"),
        (&[header, c, b, a], "1 more: remove plantings.csv"),
        (&[header, a, c], "plantings.csv has 1 rows"),
    ] {
        let sheet = book("x", rows);
        let files = garden(&[("plantings.csv", csv), ("plantings.xlsx", &sheet)]);
        let problems = load_files(&files).unwrap_err();
        assert_eq!(kinds(&problems), [Kind::KeptTwice]);
        let said = problems[0].hint.clone().unwrap();
        assert!(said.contains(remedy), "{said}");
    }
    let (one, two) = (book("x", &[header, a]), book("plantings", &[header, a]));
    let files = garden(&[("plantings.xlsx", &one), ("garden.xlsx", &two)]);
    assert_eq!(kinds(&load_files(&files).unwrap_err()), [Kind::KeptTwice]);
}

#[test]
fn weather_may_be_a_sheet_and_names_may_stand_in_capitals() {
    let weather = book(
        "records",
        &[&["date", "tmin_c", "tmax_c"], &["2026-01-30", "-5", "1"]],
    );
    let plantings = book(
        "Sheet1",
        &[
            &["bed", "crop", "sown", "row_ft"],
            &["A", "kale", "2026-05-20", "10"],
        ],
    );
    let toml = format!("{TOML}\n[climate]\nweather = \"weather.xlsx\"\n");
    for toml in [TOML, &toml] {
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in [
            ("garden.toml", toml.as_bytes()),
            ("PLANTINGS.XLSX", &plantings),
            ("weather.xlsx", &weather),
            ("~$plantings.xlsx", b"a lock of the spreadsheet"),
            ("garden budget.xlsx", b"not ours"),
        ] {
            std::fs::write(folder.path().join(name), bytes).unwrap();
        }
        let garden = putby::input::load(folder.path()).unwrap();
        assert!(matches!(garden.site.climate, Climate::Daily(_)));
    }
}

#[test]
fn what_unpacks_to_a_flood_is_refused() {
    let mut bomb = ZipWriter::new(Cursor::new(Vec::new()));
    bomb.start_file("xl/workbook.xml", SimpleFileOptions::default())
        .unwrap();
    let zeros = vec![0_u8; 1024 * 1024];
    for _ in 0..258 {
        bomb.write_all(&zeros).unwrap();
    }
    let bomb = bomb.finish().unwrap().into_inner();
    assert!(bomb.len() < 1024 * 1024, "a small file");
    let problem = workbook::read("plantings.xlsx", &bomb).unwrap_err();
    assert_eq!(problem.kind, Kind::SheetTooLarge);
}

/// What the library would look for without end, make room for or reckon past its figures with, in workbooks that are sound
/// otherwise; each is told with its name and what to do.
#[test]
fn what_would_never_end_or_fill_memory_is_refused_before_it_is_read() {
    let xlsx = ("book-read-xlsx/garden.xlsx", "xl/worksheets/sheet1.xml");
    let texts = ("book-read-xlsx/garden.xlsx", "xl/sharedStrings.xml");
    let ods = ("book-read-ods/garden.ods", "content.xml");
    let says = ("book-read-ods/garden.ods", "mimetype");
    let row = "<table:table-row table:style-name=\"ro1\"><table:table-cell office";
    let many = row.replace(" office", " table:number-columns-repeated=\"1200\" office");
    for ((book, part), (from, to), kind, words) in [
        (
            xlsx,
            ("</sheetData>", ""),
            Kind::NotAWorkbook,
            "damaged inside",
        ),
        (
            xlsx,
            ("r=\"B2\"", "r=\"ZZZZ2\""),
            Kind::NotAWorkbook,
            "outside every sheet",
        ),
        (
            xlsx,
            ("r=\"7\"", "r=\"4294967295\""),
            Kind::NotAWorkbook,
            "outside every sheet",
        ),
        (
            xlsx,
            ("\"A2:G7\"", "\"G7:A2\""),
            Kind::NotAWorkbook,
            "ends before it begins",
        ),
        (
            texts,
            ("uniqueCount=\"27\"", "uniqueCount=\"99999999999\""),
            Kind::NotAWorkbook,
            "fewer texts",
        ),
        (
            ods,
            ("</table:table>", ""),
            Kind::NotAWorkbook,
            "damaged inside",
        ),
        (
            ods,
            ("<text:p>", "<text:p><text:s text:c=\"99999999\"/>"),
            Kind::SheetTooLarge,
            "filled further",
        ),
        (ods, (row, &many), Kind::SheetTooLarge, "filled further"),
        (
            says,
            ("spreadsheet", "text"),
            Kind::NotAWorkbook,
            "no spreadsheet",
        ),
    ] {
        let damaged = with_part(&fixture(book), part, |content| {
            let text = String::from_utf8(content).unwrap();
            assert!(text.contains(from), "{part}: {from}");
            text.replace(from, to).into_bytes()
        });
        let file = book.split('/').next_back().unwrap();
        let problem = workbook::read(file, &damaged).unwrap_err();
        assert_eq!(problem.kind, kind, "{from}: {}", problem.message);
        assert!(problem.message.contains(words), "{}", problem.message);
        assert!(problem.message.starts_with(file) && problem.hint.is_some());
    }
}

/// Only what leads to the cells is unpacked: a damaged picture is no reason to refuse the table beside it.
#[test]
fn parts_that_are_not_read_may_be_damaged() {
    let sound = fixture("book-read-ods/garden.ods");
    let spoilt = with_part(&sound, "styles.xml", |_| b"<no end".to_vec());
    let read = |bytes: &[u8]| workbook::read("garden.ods", bytes).unwrap();
    assert_eq!(read(&spoilt), read(&sound));
}

#[test]
fn a_lone_cell_at_the_far_end_is_refused() {
    let mut far = rust_xlsxwriter::Workbook::new();
    let leaf = far.add_worksheet();
    leaf.write_string(0, 0, "bed").unwrap();
    leaf.write_string(1_048_575, 16_383, "x").unwrap();
    let bytes = far.save_to_buffer().unwrap();
    let problem = workbook::read("beds.xlsx", &bytes).unwrap_err();
    assert_eq!(problem.kind, Kind::SheetTooLarge);
    assert!(
        problem.message.contains("XFD1048576"),
        "{}",
        problem.message
    );
}

/// Returns the cells of the first sheet as the `csv` crate reads its lines.
fn read_back(bytes: &[u8]) -> Vec<Vec<String>> {
    let leaves = workbook::read("any.xlsx", bytes).unwrap();
    let text = leaves[0].laid().text;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes());
    reader
        .records()
        .map(|r| r.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

/// What has to be eaten to make room stands in the sheet too, as numbers and days.
#[test]
fn what_makes_room_is_in_the_workbook() {
    let scratch = tempfile::tempdir().unwrap();
    let case = common::root().join("tests/cases/full-freezer");
    common::copy_folder(&case, scratch.path());
    let words = common::words("stores --draws 200 -o stores.xlsx");
    assert!(common::putby(scratch.path(), &words).status.success());
    let rows = read_back(&std::fs::read(scratch.path().join("stores.xlsx")).unwrap());
    let at = |key: &str| rows[0].iter().position(|k| k == key).unwrap();
    let eat: f64 = (rows[1..].iter())
        .filter_map(|row| row[at("eat_to_make_room")].parse::<f64>().ok())
        .sum();
    assert!(eat >= 1.0, "{rows:?}");
    let by = |row: &Vec<String>| row[at("make_room_by")].starts_with("2026-");
    assert!(rows[1..].iter().any(by), "{rows:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// What we write we read: texts but for outer blanks and line ends, numbers of up to fifteen digits, days.
    #[test]
    fn any_table_comes_back(
        rows in prop::collection::vec(
            ("[ -~äßé½–,;\"'=#\\n]{0,12}", -99_999_999_i64..99_999_999, 0_i32..7, 0_u64..110_000, any::<bool>()),
            1..12,
        ),
    ) {
        let mut facts = Facts::new(&["id", "words", "number", "day", "sure"]);
        let mut want = vec![facts.keys.clone()];
        for (i, (words, digits, places, days, sure)) in rows.iter().enumerate() {
            let number = *digits as f64 / 10_f64.powi(*places);
            let day = day(1901, 1, 1) + chrono::Days::new(*days);
            facts.push(vec![
                Cell::Count(i as i64),
                Cell::text(words.clone()),
                Cell::Number(number, 0),
                Cell::Date(day),
                Cell::Bool(*sure),
            ]);
            want.push(vec![
                i.to_string(),
                words.replace('\n', " ").trim().to_owned(),
                (number + 0.0).to_string(),
                day.to_string(),
                sure.to_string().to_uppercase(),
            ]);
        }
        prop_assert_eq!(read_back(&xlsx::render(&facts, &stamp()).unwrap()), want);
    }

    /// The last bit of a sum does not show: a tenth more or less in the sixteenth digit is the number that was meant.
    #[test]
    fn dust_is_wiped_off(digits in 1_i64..99_999, places in 0_i32..4, parts in 2_i32..9) {
        let meant = digits as f64 / 10_f64.powi(places);
        let dusty: f64 = (0..parts).map(|_| meant / f64::from(parts)).sum();
        let mut facts = Facts::new(&["number"]);
        facts.push(vec![Cell::Number(dusty, 0)]);
        let got = read_back(&xlsx::render(&facts, &stamp()).unwrap());
        prop_assert_eq!(&got[1][0], &meant.to_string());
    }

    /// Whatever becomes of a workbook, reading it ends with an answer.
    #[test]
    fn damaged_workbooks_are_answered(
        ods in any::<bool>(),
        inside in any::<bool>(),
        at in any::<prop::sample::Index>(),
        bytes in prop::collection::vec(any::<u8>(), 0..6),
        cut in 0_usize..8,
    ) {
        let (name, part) = if ods {
            ("book-read-ods/garden.ods", "content.xml")
        } else {
            ("book-read-xlsx/garden.xlsx", "xl/worksheets/sheet1.xml")
        };
        let damage = |mut content: Vec<u8>| {
            let at = at.index(content.len());
            let end = (at + cut).min(content.len());
            content.splice(at..end, bytes.iter().copied());
            content
        };
        let sound = fixture(name);
        let damaged = if inside { with_part(&sound, part, damage) } else { damage(sound) };
        let file = name.split('/').next_back().unwrap();
        if let Err(problems) = load_files(&garden(&[(file, &damaged)])) {
            prop_assert!(!problems.is_empty());
        }
    }
}
