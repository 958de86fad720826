//! How fast a long log is read: a million pickings through the loader, beside the csv crate that merely counts their records.
//!
//! `cargo bench --bench loader -- [ROWS]`. The rows are made from the pickings of the sample and go back many years; both
//! sides read the same bytes in memory, in turns. Times are medians of seven, by the clock and of the processors, which says
//! more on a busy machine: counting has one thread, the loader has all. The garden's other files are loaded with the rows and
//! cost what the first line says.
#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a bench")]

use putby::input::{Files, load_files, sample};
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;

/// Rounds of each side.
const ROUNDS: usize = 7;

fn main() {
    let rows = std::env::args()
        .skip(1)
        .find_map(|w| w.parse().ok())
        .unwrap_or(1_000_000);
    let mut files = sample::files();
    let text = pickings(&files, rows);
    files.content.remove("picked.csv");
    let (mut bare, mut loaded, mut counted) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        bare.push(seconds(|| loads(&files, 0)));
        files
            .content
            .insert("picked.csv".to_owned(), text.clone().into_bytes());
        loaded.push(seconds(|| loads(&files, rows)));
        files.content.remove("picked.csv");
        counted.push(seconds(|| assert_eq!(count(text.as_bytes()), rows)));
    }
    println!("by the clock   processors");
    let told = |times: &[[f64; 2]], what: &str| {
        let [clock, processors] = [0, 1].map(|k| middle(times.iter().map(|t| t[k]).collect()));
        println!("{clock:8.4} s     {processors:8.4} s   {what}");
        [clock, processors]
    };
    let megabytes = text.len() as f64 / 1e6;
    told(&bare, "the sample without its pickings is loaded");
    let with = format!("it is loaded with {rows} pickings, {megabytes:.1} MB");
    let loader = told(&loaded, &with);
    let count = told(&counted, "the csv crate counts them");
    println!(
        "{:8.3}       {:8.3}     speed of the loader beside counting",
        count[0] / loader[0],
        count[1] / loader[1]
    );
}

/// Makes rows from the sample's pickings, day by day backwards, no two alike.
fn pickings(files: &Files, rows: usize) -> String {
    let known = String::from_utf8(files.content["picked.csv"].clone()).unwrap();
    let mut lines = known.lines();
    let header = lines.next().unwrap();
    let kinds: Vec<Vec<&str>> = lines
        .filter(|l| l.starts_with("20") && !l.contains('"'))
        .map(|l| l.split(',').collect())
        .collect();
    let columns: Vec<&str> = header.split(',').collect();
    let mut text = format!("{header}\n");
    let last = chrono::NaiveDate::from_ymd_opt(2022, 12, 31).unwrap();
    for k in 0..rows {
        let row = &kinds[k % kinds.len()];
        let date = last - chrono::TimeDelta::days((k / kinds.len()) as i64 % 20_000);
        write!(text, "{date}").unwrap();
        for (i, cell) in row.iter().enumerate().skip(1) {
            text.push(',');
            match columns[i] {
                "amount" => write!(text, "{}.{:03}", 1 + k % 7, k % 1000).unwrap(),
                // Plantings of so long ago are listed no more.
                "planting" => {}
                _ => text.push_str(cell),
            }
        }
        text.push('\n');
    }
    text
}

fn loads(files: &Files, rows: usize) {
    let garden = load_files(files).unwrap_or_else(|problems| panic!("{:?}", problems.first()));
    assert_eq!(black_box(garden).record.picked.len(), rows);
}

/// Counts records as fast as the csv crate can.
fn count(bytes: &[u8]) -> usize {
    let mut reader = csv::Reader::from_reader(bytes);
    let mut record = csv::ByteRecord::new();
    let mut count = 0;
    while reader.read_byte_record(&mut record).unwrap() {
        count += 1;
    }
    count
}

/// Times some work: by the clock, and of all processors together as far as the system says.
fn seconds(work: impl FnOnce()) -> [f64; 2] {
    let (clock, before) = (Instant::now(), processors());
    work();
    [clock.elapsed().as_secs_f64(), processors() - before]
}

/// Returns the processor time that all threads have taken; none on other systems than Linux.
fn processors() -> f64 {
    let Ok(threads) = std::fs::read_dir("/proc/self/task") else {
        return f64::NAN;
    };
    let of_thread = |path: std::path::PathBuf| {
        let said = std::fs::read_to_string(path.join("schedstat")).ok()?;
        said.split(' ').next()?.parse::<f64>().ok()
    };
    let nanoseconds = threads.flatten().filter_map(|t| of_thread(t.path()));
    nanoseconds.sum::<f64>() / 1e9
}

fn middle(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
