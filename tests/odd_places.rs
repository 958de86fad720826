//! Odd places and years: every verb answers there, with the right exit code, without a panic and without a figure that is none;
//! and each place's answer is held to a sentence or two that any grower there would say.
//!
//! The places are invented; their frost dates and monthly means are of the kind found at such latitudes, from memory.

mod common;

use chrono::{Datelike, NaiveDate, Weekday};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};
use tempfile::TempDir;

const HOUSEHOLD: &str = "[household]\npeople = 3\n[kitchen]\nhours = { wed = 1.5, sat = 3 }\nfreezer_ft3 = 5\ncanner_jars = 7\n";
const USUAL_FROST: &str = "[frost]\nlast_spring = \"04-25\"\nfirst_fall = \"10-12\"\n";
/// Every verb that answers without writing to the garden; `why` is asked about a planting and about the day.
const VERBS: [&str; 15] = [
    "check",
    "kitchen",
    "when",
    "forecast",
    "week",
    "sessions",
    "stores",
    "sow by",
    "sow after",
    "sow plan --most 3",
    "report",
    "report --sheets",
    "calendar",
    "compare",
    "learn",
];
/// A verb on a small garden is done by then, built without optimisation on a busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// A garden in a scratch folder.
struct Place {
    folder: TempDir,
    as_of: &'static str,
    crops: Vec<&'static str>,
}

fn place(
    as_of: &'static str,
    latitude: f64,
    climate: &str,
    household: &str,
    rows: &[(&str, &'static str, &str)],
) -> Place {
    let folder = tempfile::tempdir().expect("a scratch folder can be made");
    let toml = format!(
        "as_of = \"{as_of}\"\n[site]\nname = \"an odd place (invented)\"\nlatitude_deg = {latitude:?}\naltitude_ft = 300\n{climate}{household}"
    );
    let mut plantings = String::from("planting,bed,crop,sown,row_ft\n");
    let mut beds: Vec<&str> = Vec::new();
    for (bed, crop, sown) in rows {
        plantings.push_str(&format!("{crop} {sown} {bed},{bed},{crop},{sown},8\n"));
        if !beds.contains(bed) {
            beds.push(bed);
        }
    }
    let lengths: String = beds.iter().map(|bed| format!("{bed},20,4\n")).collect();
    for (file, text) in [
        ("garden.toml", toml.as_str()),
        ("plantings.csv", &plantings),
        ("beds.csv", &format!("bed,length_ft,width_ft\n{lengths}")),
        (
            "needs.csv",
            "food,amount_per_week,unit\ncooking greens,2,lb\n",
        ),
        ("goals.csv", "product,containers\nfrozen beans,20\n"),
    ] {
        fs::write(folder.path().join(file), text).expect("a scratch file can be written");
    }
    Place {
        folder,
        as_of,
        crops: rows.iter().map(|row| row.1).collect(),
    }
}

/// Asks a verb; returns what it wrote.
fn said(folder: &Path, line: &str, format: &str) -> String {
    let draws = if line.starts_with("sow by") { 200 } else { 60 };
    let words = common::words(&format!("{line} --draws {draws} --format {format}"));
    let begun = Instant::now();
    let output = common::putby(folder, &words);
    assert!(begun.elapsed() < PATIENCE, "{line}: {:?}", begun.elapsed());
    let errors = String::from_utf8_lossy(&output.stderr);
    let code = output.status.code();
    let found = line.starts_with("check") && code == Some(1);
    assert!(code == Some(0) || found, "{line}: {code:?}: {errors}");
    assert!(errors.is_empty(), "{line}: {errors}");
    String::from_utf8(output.stdout).expect("text is UTF-8")
}

/// Asks a verb for facts.
fn facts(place: &Place, line: &str) -> Value {
    let text = said(place.folder.path(), line, "json");
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{line}: {error}\n{text}"))
}

fn rows(facts: &Value) -> &Vec<Value> {
    facts["rows"].as_array().expect("facts have rows")
}

/// A text with a word that stands for no figure, or a zero with a sign.
fn no_figure(text: &str) -> Option<&str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '-' || c == '.'))
        .find(|word| ["NaN", "nan", "inf", "-inf", "-NaN", "-0.0", "-0"].contains(word))
}

/// Every verb, for people and for machines.
fn every_verb_answers(place: &Place, leave_out: &[&str]) {
    let mut lines: Vec<String> = VERBS.iter().map(|v| (*v).to_owned()).collect();
    lines.push(format!("why {}", place.as_of));
    let windows = facts(place, "when");
    let whole: Vec<&str> = rows(&windows)
        .iter()
        .filter(|row| row["sown"].as_str() >= Some(place.as_of))
        .filter_map(|row| row["planting"].as_str())
        .collect();
    lines.extend(whole.first().map(|name| format!("why \"{name}\"")));
    for line in lines {
        if leave_out.iter().any(|left| line.starts_with(left)) {
            continue;
        }
        for format in ["table", "json"] {
            if format == "json" && line.starts_with("report") {
                continue;
            }
            let text = said(place.folder.path(), &line, format);
            assert!(!text.is_empty(), "{line} --format {format} says nothing");
            assert_eq!(no_figure(&text), None, "{line} --format {format}:\n{text}");
        }
    }
}

/// The one row of `when` of a crop.
fn window<'a>(facts: &'a Value, crop: &str) -> &'a Value {
    rows(facts)
        .iter()
        .find(|row| row["crop"] == crop)
        .unwrap_or_else(|| panic!("no row of {crop}: {facts}"))
}

fn day(value: &Value) -> NaiveDate {
    let text = value
        .as_str()
        .unwrap_or_else(|| panic!("{value} is no day"));
    text.parse().unwrap_or_else(|_| panic!("{text} is no day"))
}

fn on(text: &str) -> NaiveDate {
    text.parse().expect("a day of the test is a day")
}

/// The greatest of a column.
fn most(facts: &Value, key: &str) -> f64 {
    let values = rows(facts).iter().filter_map(|row| row[key].as_f64());
    values.fold(f64::NEG_INFINITY, f64::max)
}

/// The weeks of the kitchen are Mondays, seven days apart, from the week of the day asked.
fn weeks_run_on(place: &Place) {
    let kitchen = facts(place, "kitchen");
    let weeks: Vec<NaiveDate> = rows(&kitchen).iter().map(|row| day(&row["week"])).collect();
    let today = on(place.as_of);
    assert!(weeks[0] <= today && today < weeks[0] + chrono::Days::new(7));
    assert!(weeks.iter().all(|week| week.weekday() == Weekday::Mon));
    assert!(
        weeks.windows(2).all(|w| (w[1] - w[0]).num_days() == 7),
        "{weeks:?}"
    );
}

#[test]
fn the_last_and_the_first_day_of_a_year() {
    for as_of in ["2026-12-31", "2027-01-01"] {
        let rows = [
            ("north", "kale", "2026-08-01"),
            ("south", "bush bean", "2027-05-10"),
        ];
        let place = place(as_of, 41.0, USUAL_FROST, HOUSEHOLD, &rows);
        every_verb_answers(&place, &[]);
        weeks_run_on(&place);
        let beans = facts(&place, "when");
        let first = day(&window(&beans, "bush bean")["first_p50"]);
        assert!(
            (on("2027-06-25")..on("2027-08-01")).contains(&first),
            "beans sown on 10 May are picked in July: {first}"
        );
    }
}

#[test]
fn a_leap_day() {
    for last_spring in ["03-20", "02-29"] {
        let frost = format!("[frost]\nlast_spring = \"{last_spring}\"\nfirst_fall = \"11-10\"\n");
        let rows = [
            ("north", "radish", "2028-02-29"),
            ("south", "pea", "2028-02-29"),
        ];
        let place = place("2028-02-29", 35.0, &frost, HOUSEHOLD, &rows);
        every_verb_answers(&place, &[]);
        weeks_run_on(&place);
        let when = facts(&place, "when");
        let radish = window(&when, "radish");
        assert_eq!(day(&radish["sown"]), on("2028-02-29"));
        let first = day(&radish["first_p50"]);
        assert!(
            (on("2028-03-25")..on("2028-05-10")).contains(&first),
            "radishes of the end of February are picked in April: {first}"
        );
        // A year without a leap day asks the same of the day before.
        assert_eq!(when["as_of"], "2028-02-29");
    }
}

#[test]
fn week_fifty_three() {
    let rows = [("north", "collards", "2026-07-20")];
    let place = place("2027-01-03", 41.0, USUAL_FROST, HOUSEHOLD, &rows);
    every_verb_answers(&place, &[]);
    weeks_run_on(&place);
    let kitchen = facts(&place, "kitchen");
    let weeks: Vec<&Value> = self::rows(&kitchen).iter().map(|r| &r["week"]).collect();
    assert_eq!(*weeks[0], "2026-12-28", "the Sunday ends week 53 of 2026");
    assert_eq!(*weeks[1], "2027-01-04", "week 1 of 2027 follows");
}

#[test]
fn the_southern_half() {
    let frost = "[frost]\nlast_spring = \"10-05\"\nfirst_fall = \"04-28\"\n";
    let rows = [
        ("north", "bush bean", "2026-11-20"),
        ("south", "collards", "2027-02-10"),
    ];
    let place = place("2026-12-15", -37.0, frost, HOUSEHOLD, &rows);
    every_verb_answers(&place, &[]);
    let by = facts(&place, "sow by");
    assert_eq!(by["first_frost"], "2027-04-28");
    for crop in ["turnip greens", "mustard greens", "beet greens"] {
        let row = self::rows(&by)
            .iter()
            .find(|row| row["crop"] == crop && row["how"] == "in place")
            .unwrap_or_else(|| panic!("no row of {crop}"));
        let last = day(&row["half_by"]);
        assert!(
            (on("2027-02-01")..on("2027-04-01")).contains(&last),
            "in the south {crop} for fall are sown in February and March: {last}"
        );
    }
    let when = facts(&place, "when");
    let first = day(&window(&when, "bush bean")["first_p50"]);
    assert!(
        (on("2027-01-01")..on("2027-02-10")).contains(&first),
        "{first}"
    );
}

#[test]
fn beyond_the_polar_circle() {
    let frost = "[frost]\nlast_spring = \"06-10\"\nfirst_fall = \"09-01\"\n";
    let rows = [
        ("north", "radish", "2026-06-20"),
        ("south", "kale", "2026-11-20"),
    ];
    let place = place("2026-06-15", 70.0, frost, HOUSEHOLD, &rows);
    every_verb_answers(&place, &[]);
    let when = facts(&place, "when");
    let first = day(&window(&when, "radish")["first_p50"]);
    assert!(
        (on("2026-07-05")..on("2026-08-20")).contains(&first),
        "radishes under the midnight sun: {first}"
    );
    let by = facts(&place, "sow by");
    let last = self::rows(&by)
        .iter()
        .map(|row| day(&row["last"]))
        .max()
        .expect("something can be sown in June");
    assert!(last < on("2026-09-01"), "{last}");
}

#[test]
fn the_poles() {
    let summer = "[frost]\nlast_spring = \"05-01\"\nfirst_fall = \"10-01\"\n";
    let rows = [
        ("north", "radish", "2026-06-15"),
        ("south", "kale", "2026-12-20"),
    ];
    let mild = place("2026-06-15", 90.0, summer, HOUSEHOLD, &rows);
    every_verb_answers(&mild, &[]);
    let why = facts(&mild, "why \"kale 2026-12-20 south\"");
    let dark: Vec<&Value> = self::rows(&why)
        .iter()
        .filter(|row| row["daylight_hours"] == 0.0)
        .collect();
    assert!(dark.len() >= 8, "the night lasts until March: {why}");
    assert!(
        dark.iter().all(|row| row["growing_days"] == 0.0),
        "nothing grows in the polar night: {dark:?}"
    );
    let when = facts(&mild, "when");
    assert!(day(&window(&when, "kale")["first_p10"]) > on("2027-03-20"));

    let ice = "[frost]\nlast_spring = \"06-25\"\nfirst_fall = \"07-25\"\n[climate]\n\
               min_c = [-35, -36, -35, -28, -14, -3, -1, -4, -12, -22, -30, -33]\n\
               max_c = [-29, -30, -29, -21, -8, 1, 2, -1, -7, -16, -24, -27]\n";
    let real = place("2026-06-15", 90.0, ice, HOUSEHOLD, &rows);
    every_verb_answers(&real, &[]);
    let when = facts(&real, "when");
    assert_eq!(most(&when, "kg_mean"), 0.0, "nothing is picked on ice");
    assert!(self::rows(&facts(&real, "sow by")).is_empty());

    let far = [("north", "radish", "2026-12-15")];
    let frost = "[frost]\nlast_spring = \"11-01\"\nfirst_fall = \"03-15\"\n";
    let south = place("2026-12-15", -90.0, frost, HOUSEHOLD, &far);
    every_verb_answers(&south, &[]);
    let when = facts(&south, "when");
    assert_eq!(day(&window(&when, "radish")["first_p50"]).year(), 2027);
}

#[test]
fn where_it_never_freezes() {
    let equator = "[frost]\nshare = 0\n[climate]\n\
                   min_c = [22, 22, 22, 23, 23, 22, 22, 22, 22, 22, 22, 22]\n\
                   max_c = [30, 31, 31, 31, 30, 30, 29, 30, 30, 30, 30, 30]\n";
    let subtropics = "[frost]\nshare = 0\n[climate]\n\
                      min_c = [14, 15, 17, 19, 22, 24, 25, 25, 24, 22, 19, 16]\n\
                      max_c = [24, 25, 27, 29, 31, 32, 33, 33, 32, 30, 27, 25]\n";
    let rows = [
        ("north", "okra", "2026-03-12"),
        ("south", "collards", "2026-10-01"),
    ];
    for (latitude, climate) in [(0.0, equator), (26.0, subtropics)] {
        let place = place("2026-03-10", latitude, climate, HOUSEHOLD, &rows);
        every_verb_answers(&place, &[]);
        let when = facts(&place, "when");
        assert_eq!(most(&when, "ended_by_cold"), 0.0, "{latitude}: {when}");
        assert!(window(&when, "okra")["kg_mean"].as_f64() > Some(0.5));
        assert_eq!(facts(&place, "sow by")["first_frost"], Value::Null);
    }
}

#[test]
fn frost_in_every_month() {
    let climate = "[frost]\nlast_spring = \"07-20\"\nfirst_fall = \"07-25\"\n[climate]\n\
                   min_c = [-12, -11, -8, -4, -1, 0, 1, 0, -2, -5, -9, -11]\n\
                   max_c = [-3, -2, 2, 6, 10, 13, 15, 14, 10, 5, 0, -3]\n";
    let rows = [
        ("north", "bush bean", "2026-06-05"),
        ("south", "radish", "2026-06-05"),
    ];
    let place = place("2026-06-01", 52.0, climate, HOUSEHOLD, &rows);
    every_verb_answers(&place, &[]);
    let when = facts(&place, "when");
    assert!(
        window(&when, "bush bean")["chance_of_harvest"].as_f64() < Some(0.1),
        "no beans where July freezes: {when}"
    );
    let by = facts(&place, "sow by \"bush bean\" tomato");
    assert!(self::rows(&by).is_empty(), "{by}");
}

#[test]
fn a_list_across_two_years() {
    let rows = [
        ("south", "kale", "2026-08-01"),
        ("north", "garlic", "2026-10-15"),
        ("south", "bush bean", "2027-05-10"),
        ("north", "tomato", "2027-07-10"),
        ("south", "collards", "2027-08-01"),
    ];
    let place = place("2026-09-01", 38.0, USUAL_FROST, HOUSEHOLD, &rows);
    every_verb_answers(&place, &[]);
    weeks_run_on(&place);
    let when = facts(&place, "when");
    for (crop, from, until) in [
        ("kale", "2026-09-10", "2026-11-01"),
        ("garlic", "2027-05-15", "2027-07-20"),
        ("bush bean", "2027-06-25", "2027-08-05"),
        ("collards", "2027-09-15", "2027-11-15"),
    ] {
        let row = window(&when, crop);
        let first = day(&row["first_p50"]);
        assert!((on(from)..on(until)).contains(&first), "{crop}: {first}");
        assert!(
            row["ended_by_horizon"].as_f64() < Some(0.1),
            "{crop}: {row}"
        );
    }
    assert_eq!(
        window(&when, "tomato")["chance_of_harvest"],
        0.0,
        "tomatoes sown in place in July do not ripen"
    );
    let kitchen = facts(&place, "kitchen");
    let last = self::rows(&kitchen).last().expect("there are weeks");
    assert!(day(&last["week"]) > on("2027-12-01"), "{last}");
}

#[test]
fn one_bed_and_nothing_else() {
    let rows = [("only", "bush bean", "2026-05-12")];
    let bare = place("2026-05-01", 40.0, USUAL_FROST, "", &rows);
    for file in ["beds.csv", "needs.csv", "goals.csv"] {
        fs::remove_file(bare.folder.path().join(file)).expect("a scratch file can be removed");
    }
    every_verb_answers(&bare, &[]);
    let small = place("2026-05-01", 40.0, USUAL_FROST, HOUSEHOLD, &rows);
    every_verb_answers(&small, &[]);
    let after = facts(&small, "sow after");
    assert!(!self::rows(&after).is_empty());
    assert!(self::rows(&after).iter().all(|row| row["bed"] == "only"));
}

#[test]
fn nothing_planted_and_nothing_written_down() {
    let empty = place(
        "2026-05-01",
        40.0,
        USUAL_FROST,
        "[household]\npeople = 1\n",
        &[],
    );
    for (file, header) in [
        ("picked.csv", "date,bed,crop,amount,unit\n"),
        ("stores.csv", "date,product,change\n"),
        ("events.csv", "date,what,planting,value\n"),
        ("goals.csv", "product,containers\n"),
        ("needs.csv", "food,amount_per_week,unit\n"),
    ] {
        fs::write(empty.folder.path().join(file), header).expect("a scratch file can be written");
    }
    every_verb_answers(&empty, &[]);
    assert!(self::rows(&facts(&empty, "learn")).is_empty());
    assert!(self::rows(&facts(&empty, "when")).is_empty());
    assert!(!self::rows(&facts(&empty, "sow by")).is_empty());
}

#[test]
fn no_hours_in_the_kitchen() {
    let rows = [("north", "bush bean", "2026-05-12")];
    let none = "[household]\npeople = 2\n[kitchen]\nhours = { }\n";
    let place = place("2026-07-01", 40.0, USUAL_FROST, none, &rows);
    every_verb_answers(&place, &[]);
    assert_eq!(most(&facts(&place, "kitchen"), "capacity_hours"), 0.0);
    let sessions = facts(&place, "sessions");
    assert_eq!(sessions["status"], "infeasible");
    assert!(self::rows(&sessions).is_empty());
}

#[test]
fn a_thousand_beds() {
    const CROPS: [&str; 8] = [
        "kale",
        "bush bean",
        "collards",
        "okra",
        "zucchini",
        "carrot",
        "beet",
        "chard",
    ];
    let garden = |beds: usize| {
        let names: Vec<(String, String)> = (0..beds)
            .map(|n| (format!("b{n}"), format!("2026-05-{:02}", 10 + n / 8 % 15)))
            .collect();
        let rows: Vec<(&str, &'static str, &str)> = names
            .iter()
            .enumerate()
            .map(|(n, (bed, sown))| (bed.as_str(), CROPS[n % 8], sown.as_str()))
            .collect();
        place("2026-05-01", 38.0, USUAL_FROST, HOUSEHOLD, &rows)
    };
    let (many, few) = (garden(1000), garden(120));
    // A succession for a thousand beds takes about a minute where nothing is optimised; it is no garden for that question.
    every_verb_answers(&many, &["sow plan"]);
    let (when, less) = (facts(&many, "when"), facts(&few, "when"));
    assert_eq!(self::rows(&when).len(), 1000);
    let total = |facts: &Value| -> f64 {
        let kg = self::rows(facts)
            .iter()
            .filter_map(|r| r["kg_mean"].as_f64());
        kg.sum()
    };
    let times = total(&when) / total(&less);
    assert!(
        (times / (1000.0 / 120.0) - 1.0).abs() < 0.15,
        "as much from a bed in both gardens: {times}"
    );
    assert_eq!(many.crops.len(), 1000);
}
