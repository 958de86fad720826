//! The season held against the outside: a general climate library on a real record, the same garden on daily records and
//! on normals, and every planting of the sample as a grower would judge it.
//!
//! The library's values stand in `tests/checks/climate.csv` with the versions that made them; `tests/checks/climate.py`
//! makes them anew. The record is Clemson's, South Carolina, 1991-2020 (`tests/data/ORIGIN.md`).
#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use chrono::{Datelike, Days, NaiveDate};
use putby::garden::Garden;
use putby::garden::site::{Climate, DailyWeather, DayRecord, FrostTable};
use putby::garden::units::Temperature;
use putby::input::{load_files, sample};
use putby::season::degree_days::simple;
use putby::season::draw::EndCause;
use putby::season::ensemble::Settings;
use putby::season::forecast::{By, Whose, forecast};
use putby::season::frost::Side;
use putby::season::plan::compile;
use putby::season::recorded::Recorded;
use putby::season::windows::{DateSpread, Window, windows};
use std::collections::BTreeMap;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn sample_garden() -> Garden {
    load_files(&sample::files()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// The day from which the sample is looked at here: midwinter, so that the whole year is still to come.
fn midwinter() -> NaiveDate {
    day("2026-01-05")
}

fn clemson() -> DailyWeather {
    let text =
        std::fs::read_to_string(common::root().join("tests/data/clemson_1991_2020.csv")).unwrap();
    let first = day("1991-01-01");
    let mut days = Vec::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        days.resize(
            (day(cells[0]) - first).num_days() as usize,
            DayRecord::default(),
        );
        let tenths = |cell: &str| cell.parse::<f32>().ok().map(|t| t / 10.0);
        days.push(DayRecord {
            min_c: tenths(cells[1]),
            max_c: tenths(cells[2]),
        });
    }
    DailyWeather {
        source: "Clemson".to_owned(),
        first,
        days,
    }
}

/// Sum of degree-days above 10 °C over some days; days without both values add nothing.
fn degree_days(weather: &DailyWeather, from: NaiveDate, until: NaiveDate) -> f64 {
    let place = |d: NaiveDate| (d - weather.first).num_days() as usize;
    let c = |t: f32| Temperature::from_c(f64::from(t));
    weather.days[place(from)..=place(until)]
        .iter()
        .filter_map(|d| Some(simple(c(d.min_c?), c(d.max_c?), Temperature::from_c(10.0))))
        .sum()
}

/// Every last and first day of five thresholds, every year's degree-days, and the day on which three sums are reached in
/// each of thirty years: equal to the library's, day for day.
#[test]
fn frosts_and_degree_days_equal_a_climate_librarys() {
    let kept = include_str!("checks/climate.csv");
    assert!(kept.starts_with("# xclim "), "versions stand first");
    let weather = clemson();
    let record = Recorded::of(&weather).unwrap();
    let mut ours: BTreeMap<(String, String), BTreeMap<i32, Option<NaiveDate>>> = BTreeMap::new();
    for f in ["36", "32", "28", "24", "20"] {
        for (what, side) in [("last", Side::Spring), ("first", Side::Fall)] {
            let threshold = Temperature::from_f(f.parse().unwrap());
            let days = record.frosts(side, threshold, false).into_iter().collect();
            ours.insert((what.to_owned(), f.to_owned()), days);
        }
    }
    let (mut frosts, mut sums) = (0, 0);
    for line in kept.lines().skip(2) {
        let [what, f, from, reached, sum] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
        if let Some(days) = ours.get(&(what.to_owned(), f.to_owned())) {
            let want = (reached != "none").then(|| day(reached));
            assert_eq!(
                days.get(&from.parse::<i32>().unwrap()),
                Some(&want),
                "{line}"
            );
            frosts += 1;
            continue;
        }
        let (first, last) = if what == "year" {
            let year = from.parse().unwrap();
            let end = |m, d| NaiveDate::from_ymd_opt(year, m, d).unwrap();
            (end(1, 1), end(12, 31))
        } else {
            (day(from), day(reached))
        };
        let want: f64 = sum.parse().unwrap();
        let got = degree_days(&weather, first, last);
        assert!((got - want).abs() < 0.02, "{line}: {got}");
        if let Some(target) = what.strip_prefix("reach ") {
            let before = degree_days(&weather, first, last - Days::new(1));
            assert!(
                before < target.parse().unwrap(),
                "{line}: {before} the day before"
            );
        }
        sums += 1;
    }
    // The library leaves out no year that we keep, and keeps none that we leave out.
    assert_eq!(frosts, ours.values().map(BTreeMap::len).sum::<usize>());
    assert_eq!((frosts, sums), (5 * (28 + 30), 30 + 3 * 30));
}

/// What stands beside a forecast on a real record: its years, and the years left out with why.
#[test]
fn years_left_out_are_named() {
    let mut garden = sample_garden();
    garden.site.climate = Climate::Daily(clemson());
    garden.site.frost = FrostTable::default();
    let plan = compile(&garden, midwinter());
    for said in [
        "Weather is taken from Clemson, based on 30 years.",
        "Frost dates are based on 28 years in spring and 30 years in fall; left out: 2005, 2006 (too few days in spring).",
    ] {
        assert!(
            plan.notes().iter().any(|n| n == said),
            "{said}: {:?}",
            plan.notes()
        );
    }
}

/// Mean absolute difference in days of middle dates, and of how many.
fn differences(
    a: &[Window],
    b: &[Window],
    pick: impl Fn(&Window) -> Option<DateSpread>,
    told: &mut String,
    garden: &Garden,
) -> (f64, usize) {
    let mut all = Vec::new();
    for (a, b) in a.iter().zip(b) {
        let (x, y) = (pick(a), pick(b));
        assert_eq!(
            x.is_some(),
            y.is_some(),
            "{}",
            garden.planting(a.planting).name
        );
        if let (Some(x), Some(y)) = (x, y) {
            let days = (x.p50 - y.p50).num_days();
            *told += &format!(
                "{}: {} {}, {days}\n",
                garden.planting(a.planting).name,
                x.p50,
                y.p50
            );
            all.push(days.abs() as f64);
        }
    }
    (all.iter().sum::<f64>() / all.len() as f64, all.len())
}

/// The whole sample set down at Clemson, once on its daily record and once on the monthly means and the frost table made
/// from it: the middles of first pickings differ by less than 2 days on average, those of last pickings by less than 4.
#[test]
fn daily_record_and_normals_agree_on_the_whole_sample() {
    let record = Recorded::of(&clemson()).unwrap();
    let mut daily = sample_garden();
    daily.site.latitude_deg = 34.7;
    daily.site.coldest_night = None;
    daily.site.frost = FrostTable::default();
    let mut monthly = daily.clone();
    daily.site.climate = Climate::Daily(clemson());
    monthly.site.climate = Climate::Monthly(record.monthly());
    let rows = |side| {
        [36.0, 32.0, 28.0, 24.0, 20.0, 16.0]
            .iter()
            .filter_map(|&f| record.frost_row(side, Temperature::from_f(f), false))
            .collect()
    };
    monthly.site.frost = FrostTable {
        spring: rows(Side::Spring),
        fall: rows(Side::Fall),
    };
    let settings = Settings {
        draws: 4000,
        ..Settings::default()
    };
    let [a, b] = [&daily, &monthly].map(|g| windows(&compile(g, midwinter()), &settings));
    let mut told = String::from("first pickings\n");
    let (first, count) = differences(&a, &b, |w| w.first, &mut told, &daily);
    told += "last pickings\n";
    let (last, _) = differences(&a, &b, |w| w.last, &mut told, &daily);
    // The numbers themselves are kept, so that a change of them is seen.
    let path = common::root().join("tests/data/records_and_normals.txt");
    let text = format!(
        "The sample's plantings at Clemson, middle dates on daily records and on normals with a frost table, and the days between.\nMean absolute difference: first pickings {first:.2} days, last pickings {last:.2} days.\n\n{told}"
    );
    if common::renew() {
        std::fs::write(&path, &text).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    assert!(count > 50, "{count} plantings");
    assert!(first < 2.0 && last < 4.0, "{first} {last}\n{told}");
}

/// The sample's windows from midwinter.
fn sample_windows(garden: &Garden) -> Vec<Window> {
    windows(&compile(garden, midwinter()), &Settings::default())
}

fn cells(spread: Option<DateSpread>) -> [String; 3] {
    spread.map_or_else(Default::default, |s| {
        [s.p10, s.p50, s.p90].map(|d| d.to_string())
    })
}

/// Every planting has its row and its sentence, and the dates that the sentences speak of are the program's.
#[test]
fn the_sample_is_picked_when_its_page_says() {
    let garden = sample_garden();
    let path = common::root().join("tests/data/sample_windows.md");
    let page = std::fs::read_to_string(&path).unwrap();
    let why: BTreeMap<&str, &str> = page
        .lines()
        .filter(|l| l.starts_with("| ") && !l.starts_with("| planting"))
        .map(|l| {
            let cells: Vec<&str> = l.split('|').map(str::trim).collect();
            (cells[1], cells[8])
        })
        .collect();
    let mut out: Vec<String> = page
        .lines()
        .take_while(|l| !l.starts_with("| ") || l.starts_with("| planting"))
        .map(str::to_owned)
        .collect();
    for w in sample_windows(&garden).iter().filter(|w| !w.over) {
        let name = garden.planting(w.planting).name.as_str();
        let sentence = why.get(name).copied().unwrap_or_default();
        assert!(sentence.len() > 40, "{name}: no sentence");
        let [a, b, c] = cells(w.first);
        let [d, e, f] = cells(w.last);
        out.push(format!(
            "| {name} | {a} | {b} | {c} | {d} | {e} | {f} | {sentence} |"
        ));
    }
    let out = out.join("\n") + "\n";
    if common::renew() {
        std::fs::write(&path, out).unwrap();
    } else {
        assert_eq!(page, out);
    }
}

/// What an experienced grower expects of the sample: fall collards are picked into winter, spring bok choy bolts after
/// its picking and not before, okra slows before frost ends it, garlic is pulled in early summer.
#[test]
fn the_sample_behaves_as_a_grower_expects() {
    let mut garden = sample_garden();
    // Left standing, so that bolting shows.
    let bok_choy = garden
        .plantings
        .iter()
        .position(|p| p.name == "bok choy spring")
        .unwrap();
    garden.plantings[bok_choy].cleared = None;
    let plan = compile(&garden, midwinter());
    let settings = Settings::default();
    let found = windows(&plan, &settings);
    let of = |name: &str| {
        found
            .iter()
            .find(|w| garden.planting(w.planting).name == name)
            .unwrap()
    };

    for name in ["collards", "collards 2025"] {
        let last = of(name).last.unwrap().p50;
        assert!(matches!(last.month(), 12 | 1 | 2), "{name}: {last}");
        assert!(of(name).ended_by(EndCause::Cold) > 0.6);
    }

    // Heads are cut in nearly every spring that spares the seedlings; heat and long days take next to none of them before.
    let spring = of("bok choy spring");
    let seedlings_killed = spring.ended_by(EndCause::Cold);
    assert!(
        spring.chance_of_harvest > 0.95 - seedlings_killed,
        "{spring:?}"
    );
    let lost_to_heat = spring.kg_lost[EndCause::ALL
        .iter()
        .position(|c| *c == EndCause::Heat)
        .unwrap()];
    assert!(lost_to_heat < 0.02 * spring.kg_possible, "{lost_to_heat}");

    for name in ["garlic 2025", "garlic 2026"] {
        let first = of(name).first.unwrap();
        assert!(
            first.p10.month() == 6 && first.p90.month() == 6,
            "{name}: {first:?}"
        );
    }

    // Okra: frost ends it, and a fortnight before the middle frost a week gives under half of the best.
    let okra = of("okra");
    assert!(okra.ended_by(EndCause::Cold) > 0.9);
    let weekly = forecast(&plan, &settings, By::Planting);
    let row = weekly
        .rows
        .iter()
        .find(|r| r.whose == Whose::Planting(okra.planting))
        .unwrap();
    let best = row.weeks.iter().map(|s| s.p50).fold(0.0, f64::max);
    let middle_frost = day("2026-10-18");
    let place = weekly
        .weeks
        .iter()
        .position(|w| w.sunday() >= middle_frost)
        .unwrap();
    let late = row.weeks[place - 2].p50;
    assert!(late > 0.0 && late < 0.5 * best, "{late} of {best}");
}
