//! What was read, written the way the program writes it and read again: it must come back the same.

use super::garden;
use putby::garden::Garden;
use putby::garden::record::{Happening, Picked};
use putby::garden::site::{Climate, DailyWeather};
use putby::garden::units::Mass;
use putby::input::load_files;
use putby::input::plan_file::{self, PlanRow};
use putby::input::render::render_all;
use putby::input::spoken::Entry;
use putby::output::csv::render;
use putby::output::report::Facts;
use putby::output::table::Cell;
use std::fmt::Write as _;

/// Days of a daily record that are written and read again.
const MOST_DAYS: usize = 800;

/// No figure of a garden is infinite or none.
pub(crate) fn no_figure_that_is_none(garden: &Garden) {
    let weather = match &garden.site.climate {
        Climate::Daily(weather) => weather.days.len(),
        _ => 0,
    };
    if weather < MOST_DAYS {
        finite(&format!("{:?}", garden.site));
    }
    finite(&format!("{:?}", garden.household));
    finite(&format!("{:?}{:?}", garden.plantings, garden.beds));
    finite(&format!("{:?}", garden.record));
}

/// Looks for numbers that are none outside the texts of a value as it is shown for debugging.
fn finite(shown: &str) {
    let mut text = false;
    let mut escaped = false;
    let mut bare = String::with_capacity(shown.len());
    for c in shown.chars() {
        match c {
            _ if escaped => escaped = false,
            '\\' if text => escaped = true,
            '"' => text = !text,
            c if !text => bare.push(c),
            _ => {}
        }
    }
    let mut words = bare.split(|c: char| !c.is_alphanumeric() && c != '_');
    let bad = words.find(|w| ["NaN", "inf"].contains(w));
    assert!(bad.is_none(), "{shown}");
}

/// The whole table in force, as a household's own file, gives the same table.
pub(crate) fn tables_again(name: &str, read: &Garden) {
    let table = match name {
        "crops.csv" => &read.tables.crops,
        "methods.csv" => &read.tables.methods,
        "products.csv" => &read.tables.products,
        _ => return,
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&table.columns).unwrap();
    for row in &table.rows {
        writer.write_record(&row.cells).unwrap();
    }
    let files = garden::with(name, &writer.into_inner().unwrap());
    let again = load_files(&files).unwrap_or_else(|p| panic!("{}", render_all(&p, false)));
    assert_eq!(again.crops, read.crops);
    assert_eq!(again.methods, read.methods);
    assert_eq!(again.products, read.products);
}

/// A daily record, written as a plain file.
pub(crate) fn daily_again(weather: &DailyWeather) {
    let mut text = "date,tmin_c,tmax_c\n".to_owned();
    let shown = |degrees: Option<f32>| degrees.map_or_else(String::new, |d| d.to_string());
    let days = &weather.days[..weather.days.len().min(MOST_DAYS)];
    for (date, day) in weather.first.iter_days().zip(days) {
        writeln!(text, "{date},{},{}", shown(day.min_c), shown(day.max_c)).unwrap();
    }
    let mut files = garden::small();
    (files.content).insert("weather.csv".to_owned(), text.into_bytes());
    let again = load_files(&files).unwrap_or_else(|p| panic!("{}", render_all(&p, false)));
    let Climate::Daily(again) = again.site.climate else {
        panic!("a written record is not read");
    };
    assert_eq!((again.first, again.days.as_slice()), (weather.first, days));
}

/// What the log wrote down is what it understood.
pub(crate) fn entries_again(garden: &Garden, entries: &[Entry], read: &Garden) {
    let known = &garden.record;
    let mut picked = read.record.picked[known.picked.len()..].iter();
    let mut stores = read.record.stores[known.stores.len()..].iter();
    let mut events = read.record.events[known.events.len()..].iter();
    for entry in entries {
        match entry {
            Entry::Picked(said) => same_picking(garden, said, picked.next().unwrap()),
            Entry::Stores(said) => {
                let row = stores.next().unwrap();
                assert_eq!((row.date, row.product), (said.date, said.product));
                close(row.change, said.change);
                same_note(&row.note, &said.note);
            }
            Entry::Event(said) => {
                let row = events.next().unwrap();
                assert_eq!(row.date, said.date);
                match (&row.what, &said.what) {
                    (Happening::Frost(Some(a)), Happening::Frost(Some(b))) => close(*a, *b),
                    (Happening::Took(a), Happening::Took(b)) => {
                        close(a.min_value(), b.min_value());
                    }
                    (a, b) => assert_eq!(a, b),
                }
            }
        }
    }
    assert!(picked.next().is_none() && stores.next().is_none() && events.next().is_none());
}

fn same_picking(garden: &Garden, said: &Picked, row: &Picked) {
    let bed = said.bed.or(said.planting.map(|p| garden.planting(p).bed));
    assert_eq!((row.date, row.whole_week), (said.date, said.whole_week));
    assert_eq!(
        (row.bed, row.crop, row.planting),
        (bed, said.crop, said.planting)
    );
    assert_eq!((row.guess, row.went), (said.guess, said.went));
    close(row.mass.lb(), said.mass.lb());
    same_note(&row.note, &said.note);
}

/// Amounts are written with three decimals.
fn close(a: f64, b: f64) {
    assert!((a - b).abs() < 0.000_6, "{a} instead of {b}");
}

/// Notes come back but for blanks and what cannot be seen.
fn same_note(a: &Option<String>, b: &Option<String>) {
    let bare = |note: &Option<String>| -> String {
        let seen = |c: &char| {
            !(c.is_whitespace()
                || c.is_control()
                || matches!(
                    c,
                    '\u{200B}'..='\u{200F}' | '\u{FEFF}' | '\u{2060}' | '\u{AD}'
                ))
        };
        note.iter().flat_map(|n| n.chars()).filter(seen).collect()
    };
    assert_eq!(bare(a), bare(b));
}

/// A plan, written as `sessions` writes its own.
pub(crate) fn plan_again(garden: &Garden, rows: &[PlanRow]) {
    // Of rows that differ in their notes alone nothing would be written twice, so each gets its own.
    let mut facts = Facts::new(&["date", "product", "crops", "kg", "note"]);
    for (number, row) in rows.iter().enumerate() {
        let crops: Vec<String> = (row.crops.iter())
            .map(|(crop, kg)| match kg {
                Some(kg) => format!("{} {kg}", garden.crop(*crop).name),
                None => garden.crop(*crop).name.clone(),
            })
            .collect();
        facts.push(vec![
            Cell::Date(row.date),
            Cell::text(garden.product(row.product).name.clone()),
            Cell::text(crops.join("; ")),
            Cell::Mass(Mass::from_kg(row.kg)),
            Cell::text(format!("row {number}")),
        ]);
    }
    let again = plan_file::read(garden, "plan.csv", render(&facts).as_bytes());
    let again = again.unwrap_or_else(|p| panic!("{}", render_all(&p, false)));
    assert_eq!(again.len(), rows.len());
    for (a, b) in again.iter().zip(rows) {
        assert_eq!((a.date, a.product), (b.date, b.product));
        assert_eq!((&a.crops, a.kg), (&b.crops, b.kg));
    }
}
