//! What would help the sample's kitchen, each claim against a run of its own: the garden's files written anew with the
//! change in them, read again, and season and kitchen lived through here, beside the program's way.

#![allow(clippy::unwrap_used, reason = "tests")]

use putby::garden::Garden;
use putby::input::load_files;
use putby::input::sample;
use putby::kitchen::accumulate::Accumulator;
use putby::kitchen::context;
use putby::kitchen::day_by_day::{Scratch, day_by_day};
use putby::kitchen::forecast::KitchenForecast;
use putby::kitchen::overload::overload;
use putby::season::ensemble::{self, Settings};
use putby::season::plan::{self, Plan};
use putby::sowing::relief::{Change, Figures, Kind, Relief, relief};
use std::collections::BTreeSet;

/// Enough seasons for the order of the changes; what is compared is the same for any number.
const SETTINGS: Settings = Settings {
    draws: 300,
    seed: 1,
};

/// A garden ready for its drawn seasons, each of which counts alike.
fn as_drawn(garden: &Garden, _: &Settings) -> Plan {
    plan::compile(garden, garden.as_of.unwrap())
}

/// The sample with one text of one file changed.
fn sample_with(file: &str, old: &str, new: &str) -> Garden {
    let mut files = sample::files();
    let (_, bytes) = files
        .content
        .iter_mut()
        .find(|(n, _)| n.as_str() == file)
        .unwrap();
    let text = String::from_utf8(bytes.clone()).unwrap();
    assert_eq!(
        text.matches(old).count(),
        1,
        "`{old}` stands once in {file}"
    );
    *bytes = text.replace(old, new).into_bytes();
    load_files(&files).unwrap_or_else(|problems| panic!("{problems:?}"))
}

/// A row of one of the sample's files, found by how it begins.
fn row_of(file: &str, begins: &str) -> String {
    let files = sample::files();
    let (_, bytes) = files
        .content
        .iter()
        .find(|(n, _)| n.as_str() == file)
        .unwrap();
    let text = String::from_utf8(bytes.clone()).unwrap();
    let row = text.lines().find(|line| line.starts_with(begins)).unwrap();
    row.to_owned()
}

/// The sample with a change written into its files as its household would; none for a gift, which has no file.
fn written(garden: &Garden, change: &Change) -> Option<Garden> {
    let named = |k: usize| garden.plantings[k].name.clone() + ",";
    let planting_row = |k: usize| row_of("plantings.csv", &named(k));
    let dates_moved = |row: &str, cells: &[usize], days: i64| -> String {
        let mut all: Vec<String> = row.split(',').map(str::to_owned).collect();
        for &cell in cells {
            if let Ok(date) = all[cell].parse::<chrono::NaiveDate>() {
                all[cell] = (date + chrono::Duration::days(days)).to_string();
            }
        }
        all.join(",")
    };
    match change {
        Change::Session { date, time } => {
            let hours = garden.household.kitchen.minutes_on(*date).hours() + time.hours();
            let extra = "extra = { \"2026-10-01\" = 1 }";
            let more = format!("extra = {{ \"2026-10-01\" = 1, \"{date}\" = {hours} }}");
            Some(sample_with("garden.toml", extra, &more))
        }
        Change::Sow { planting, days } => {
            let row = planting_row(planting.0);
            let new = dates_moved(&row, &[4, 5], *days);
            Some(sample_with("plantings.csv", &row, &new))
        }
        Change::LeaveStanding { planting, days } => {
            let row = planting_row(planting.0);
            let new = dates_moved(&row, &[11], *days);
            Some(sample_with("plantings.csv", &row, &new))
        }
        Change::SowLess { planting, share } => {
            let row = planting_row(planting.0);
            let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
            for cell in &mut cells[6..9] {
                if let Ok(size) = cell.parse::<f64>() {
                    *cell = (size * share).to_string();
                }
            }
            let whole = garden.plantings[planting.0].size;
            if matches!(whole, putby::garden::planting::Size::Plants(_)) {
                return None;
            }
            Some(sample_with("plantings.csv", &row, &cells.join(",")))
        }
        Change::FewerWanted { goal, containers } => {
            let (row, cells) = goal_row(garden, *goal);
            let mut cells = cells;
            cells[1] = containers.to_string();
            Some(sample_with("goals.csv", &row, &cells.join(",")))
        }
        Change::Quicker {
            goal: Some(goal),
            product,
            instead_of,
        }
        | Change::FreezeWhole {
            goal: Some(goal),
            product,
            instead_of,
        } => {
            let (row, mut cells) = goal_row(garden, *goal);
            let (new, old) = (garden.product(*product), garden.product(*instead_of));
            let mut names: Vec<&str> = cells[0].split('|').collect();
            let known = names.contains(&new.name.as_str());
            names.retain(|n| *n != new.name && *n != old.name);
            names.insert(0, &new.name);
            let names = names.join("|");
            if !known {
                let lb = |p: &putby::garden::preserving::Product| {
                    p.mass_per_container.lb() * (1.0 - p.bought_in_share)
                };
                let wanted: f64 = cells[1].parse().unwrap();
                cells[1] = (wanted * lb(old) / lb(new)).round().to_string();
            }
            cells[0] = names;
            Some(sample_with("goals.csv", &row, &cells.join(",")))
        }
        Change::Cook { from, until } => {
            let old = "hands = 1\n";
            let new =
                format!("hands = [{{ from = \"{from}\", until = \"{until}\", cooks = 2 }}]\n");
            Some(sample_with("garden.toml", old, &new))
        }
        _ => None,
    }
}

fn goal_row(garden: &Garden, goal: usize) -> (String, Vec<String>) {
    let goal = &garden.household.goals.as_ref().unwrap()[goal];
    let row = row_of("goals.csv", &garden.product(goal.products[0]).name);
    let cells = row.split(',').map(str::to_owned).collect();
    (row, cells)
}

/// Season and kitchen lived through here, `Change::GiveAway` as pickings that never come in.
fn lived(garden: &Garden, gift: Option<&Change>) -> KitchenForecast {
    let as_of = garden.as_of.unwrap();
    let plan = plan::compile(garden, as_of);
    let horizon = plan.horizon();
    let ctx = context::compile(garden, horizon.first, horizon.days, as_of);
    let chunks = ensemble::run(
        &plan,
        &SETTINGS,
        |_| (Accumulator::new(&ctx, 250), Scratch::new(&ctx)),
        |(all, scratch), _, season| {
            let mut season = season.clone();
            if let Some(Change::GiveAway { crops, from, until }) = gift {
                season.ready.retain(|r| {
                    let date = horizon.date(r.day);
                    let planting = garden.plantings[r.planting as usize].crop;
                    let second = garden.crop(planting).second.as_ref();
                    let crop = if r.second {
                        second.unwrap().crop
                    } else {
                        planting
                    };
                    !(crops.contains(&crop) && *from <= date && date <= *until)
                });
            }
            all.add(&ctx, day_by_day(&ctx, &season, scratch));
        },
    );
    overload(&ctx, chunks.into_iter().map(|(all, _)| all).collect())
}

fn hours_over(found: &KitchenForecast) -> f64 {
    found.weeks.iter().map(|w| w.mean_hours_over).sum()
}

fn agrees(figures: &Figures, found: &KitchenForecast, what: &dyn std::fmt::Debug) {
    let hours = hours_over(found);
    assert!(
        (figures.hours_over - hours).abs() < 1e-9,
        "{what:?}: {} told, {hours} lived",
        figures.hours_over
    );
    assert!((figures.chance_any_over - found.season.chance_any_over).abs() < 1e-12);
    assert!((figures.weeks_over - found.season.weeks_over.mean).abs() < 1e-9);
    for product in &found.products {
        let told = figures.made_of(product.product);
        assert!((told - product.made.mean).abs() < 1e-6, "{what:?}");
    }
}

#[test]
fn what_helps_the_sample_helps_when_its_files_are_changed() {
    let garden = load_files(&sample::files()).unwrap();
    let found: Relief = relief(&garden, garden.as_of.unwrap(), &SETTINGS, &as_drawn);
    let as_is = lived(&garden, None);
    agrees(&found.before, &as_is, &"as it is");
    assert!(found.found.len() >= 5, "{}", found.found.len());
    let kinds: BTreeSet<Kind> = found.found.iter().map(|r| r.change.kind()).collect();
    assert!(kinds.len() >= 4, "{kinds:?}");
    let mut by_file = 0;
    let mut last = 0.0;
    for r in &found.found {
        let file = written(&garden, &r.change);
        by_file += usize::from(file.is_some());
        let other = match (&file, &r.change) {
            (Some(changed), _) => lived(changed, None),
            (None, gift @ Change::GiveAway { .. }) => lived(&garden, Some(gift)),
            (None, change) => lived(&change.made(&garden), None),
        };
        agrees(&r.after, &other, &r.change);
        assert!(
            r.after.hours_over < found.before.hours_over - 0.09,
            "{:?}",
            r.change
        );
        assert!(
            r.after.hours_over >= last,
            "the most hours removed come first"
        );
        last = r.after.hours_over;
    }
    assert!(by_file >= 5, "{by_file}");
}

/// With hours in plenty there is nothing to try, and nothing is named.
#[test]
fn a_kitchen_with_time_needs_no_relief() {
    let garden = sample_with(
        "garden.toml",
        "hours = { wed = 1.5, sat = 3 }",
        "hours = { mon = 24, tue = 24, wed = 24, thu = 24, fri = 24, sat = 24, sun = 24 }",
    );
    let settings = Settings {
        draws: 50,
        ..SETTINGS
    };
    let found = relief(&garden, garden.as_of.unwrap(), &settings, &as_drawn);
    assert_eq!((found.tried, found.found.len()), (0, 0));
    assert_eq!(found.before.hours_over, 0.0);
}
