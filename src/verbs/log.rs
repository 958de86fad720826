//! `putby log`: what was picked, put by, used, ended or measured, said in one breath and added to the record.

use super::cli::Shared;
use super::setting::{self, Setting};
use super::{Exit, Failure, deliver};
use crate::garden::crop::CropId;
use crate::garden::record::{Happening, Picked};
use crate::garden::units::{Mass, Temperature};
use crate::garden::{Garden, UnitSystem};
use crate::input::logbook::{self, TakenBack};
use crate::input::render::render_all;
use crate::input::spoken::{self, Entry, Misheard};
use crate::output::report::{Facts, Report};
use crate::output::table::Cell;
use crate::output::{dates, rounding, text};
use crate::season::ensemble::Settings;
use chrono::{Datelike, NaiveDate};
use clap::Args;
use std::io::Read;

/// Arguments of `log`.
#[derive(Debug, Clone, Args)]
pub struct LogArgs {
    /// What happened, as: picked sat beans 2.5 lb, kale 2 bunches; `undo` takes the last log back; `-` reads lines from standard input
    #[arg(required = true, value_name = "WORDS", allow_negative_numbers = true)]
    words: Vec<String>,
}

/// Longest text read from standard input, bytes.
const LONGEST: u64 = 4 * 1024 * 1024;

/// Runs the verb: some misheard is a finding, and what was understood is kept.
pub(super) fn run(shared: &Shared, arguments: &LogArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "log")?;
    if shared.sample {
        return Err(Failure::Usage(
            "the sample cannot be logged to, it lives in the program; make a copy of it with: putby -g mygarden start --from-sample"
                .into(),
        ));
    }
    let folder = setting::folder(shared);
    if matches!(arguments.words.as_slice(), [one] if one.eq_ignore_ascii_case("undo")) {
        deliver::takes_words(shared)?;
        let back = logbook::undo(&folder)
            .map_err(|problem| Failure::File(render_all(&[*problem], false)))?;
        deliver::text_out(&taken_back(&back), shared).map_err(|failure| {
            but(
                failure,
                "the last log was taken back all the same; `log undo` again finds nothing",
            )
        })?;
        return Ok(Exit::Done);
    }
    deliver::takes_answer(shared)?;
    let words = match arguments.words.as_slice() {
        [one] if one == "-" => standard_input()?,
        words => words.join(" "),
    };
    let book = logbook::open(&folder)
        .map_err(|problems| Failure::Problems(render_all(&problems, false)))?;
    let garden = book.garden.clone();
    let as_of = shared.as_of.or(garden.as_of).unwrap_or_else(setting::today);
    let mut heard = spoken::parse(&words, &garden, as_of);
    if let Some(problem) = logbook::in_a_workbook(&book, &heard.entries) {
        return Err(Failure::File(render_all(&[problem], false)));
    }
    let mut kept = Vec::new();
    for (entry, sound) in heard
        .entries
        .iter()
        .zip(logbook::sound(&book, &heard.entries))
    {
        match sound {
            Ok(()) => kept.push(entry.clone()),
            Err(problem) => heard.misheard.push(Misheard {
                said: tell(&garden, entry),
                problem: problem.message,
                nearest: problem.hint,
            }),
        }
    }
    if kept.is_empty() && heard.misheard.is_empty() {
        return Err(Failure::Usage(
            "nothing was said; try: putby log picked beans 2 lb".into(),
        ));
    }
    if !kept.is_empty() {
        logbook::append(&book, &kept)
            .map_err(|problem| Failure::File(render_all(&[*problem], false)))?;
    }
    let report = report(&garden, &kept, &heard.misheard, &heard.notes);
    let setting = Setting {
        garden,
        as_of,
        draws: Settings {
            draws: shared.draws,
            seed: shared.random_seed,
        },
    };
    let logged = !kept.is_empty();
    deliver::report(&report, &setting, shared, false).map_err(|failure| {
        if logged {
            but(
                failure,
                "what was said is logged all the same; do not say it again",
            )
        } else {
            failure
        }
    })?;
    Ok(if heard.misheard.is_empty() {
        Exit::Done
    } else {
        Exit::Found
    })
}

/// Adds to a failure to write the answer what was done nevertheless.
fn but(failure: Failure, done: &str) -> Failure {
    match failure {
        Failure::File(text) => Failure::File(format!("{}; {done}", text.trim_end())),
        other => other,
    }
}

fn standard_input() -> Result<String, Failure> {
    let mut words = String::new();
    std::io::stdin()
        .lock()
        .take(LONGEST)
        .read_to_string(&mut words)
        .map_err(|error| Failure::File(format!("standard input: {error}")))?;
    Ok(words)
}

/// Says what was taken back.
fn taken_back(back: &[TakenBack]) -> String {
    let mut out = String::from("Taken back:\n");
    for file in back {
        for row in &file.rows {
            out.push_str(&format!("  {}: {}\n", file.file, text::visible(row)));
        }
    }
    out
}

fn report(garden: &Garden, kept: &[Entry], misheard: &[Misheard], notes: &[String]) -> Report {
    let mut report = Report::default();
    if kept.is_empty() {
        report.text("Nothing was logged.");
    } else {
        report.text("Logged:");
        report.points(kept.iter().map(|entry| tell(garden, entry)).collect());
    }
    let totals = season_totals(garden, kept);
    let so_far: Vec<String> = totals
        .iter()
        .map(|&(crop, year, mass)| {
            format!(
                "{} {} in {year}",
                garden.crop(crop).name,
                rounding::mass(mass, garden.show.units)
            )
        })
        .collect();
    if !so_far.is_empty() {
        report.text(format!("With that: {}.", so_far.join("; ")));
    }
    if !misheard.is_empty() {
        report.text("Not understood, and not logged:");
        report.points(misheard.iter().map(answer).collect());
    }
    report.points(notes.iter().map(|note| format!("{note}.")).collect());
    report.facts = facts(garden, kept, misheard, &totals);
    report
}

fn answer(misheard: &Misheard) -> String {
    let mut words = format!("`{}`: {}", misheard.said, misheard.problem);
    if let Some(nearest) = &misheard.nearest {
        words.push_str(&format!(" – {nearest}?"));
    }
    words
}

/// Says an entry as it was understood.
fn tell(garden: &Garden, entry: &Entry) -> String {
    let on = |date| dates::day(date);
    match entry {
        Entry::Picked(row) => tell_picked(garden, row),
        Entry::Stores(row) => {
            let product = &garden.product(row.product).name;
            let verb = if row.change > 0.0 { "put by" } else { "used" };
            let number = rounding::decimals(row.change.abs(), halves(row.change));
            format!("{verb} {}: {product}, {number}", on(row.date))
        }
        Entry::Event(event) => {
            let name = |id| garden.planting(id).name.as_str();
            let date = on(event.date);
            match event.what {
                Happening::Frost(None) => format!("frost {date}"),
                Happening::Frost(Some(c)) => {
                    let cell = Cell::Temperature(Temperature::from_c(c));
                    let (figure, unit) = cell.for_people(garden.show.units);
                    format!("frost {date}: {figure} {}", unit.unwrap_or_default())
                }
                Happening::Ended(id) => format!("ended {date}: {}", name(id)),
                Happening::Up(id) => format!("up {date}: {}", name(id)),
                Happening::Took(time) => format!("took {date}: {}", rounding::minutes(time)),
            }
        }
    }
}

fn tell_picked(garden: &Garden, row: &Picked) -> String {
    let when = if row.whole_week {
        format!("the week of {}", dates::day(row.date))
    } else {
        dates::day(row.date)
    };
    let about = if row.guess { "about " } else { "" };
    let bed = row.bed.or(row.planting.map(|p| garden.planting(p).bed));
    let place = bed.map_or_else(String::new, |b| format!(", bed {}", garden.bed(b).name));
    let (amount, unit) = match garden.show.units {
        UnitSystem::Us => (row.mass.lb(), "lb"),
        UnitSystem::Metric => (row.mass.kg(), "kg"),
    };
    format!(
        "picked {when}: {}, {about}{} {unit}{place}",
        garden.crop(row.crop).name,
        trimmed(amount)
    )
}

/// Writes an amount with two decimals at most, as it goes into the log.
fn trimmed(amount: f64) -> String {
    let text = format!("{amount:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn halves(change: f64) -> usize {
    usize::from(change.fract() != 0.0)
}

/// Adds up what was picked of every crop just logged, in the year of its entry.
fn season_totals(garden: &Garden, kept: &[Entry]) -> Vec<(CropId, i32, Mass)> {
    let new = || {
        kept.iter().filter_map(|entry| match entry {
            Entry::Picked(row) => Some(row),
            _ => None,
        })
    };
    let mut keys: Vec<(CropId, i32)> = new().map(|row| (row.crop, row.date.year())).collect();
    keys.sort_unstable();
    keys.dedup();
    keys.into_iter()
        .map(|(crop, year)| {
            let own = |row: &&Picked| row.crop == crop && row.date.year() == year;
            let rows = garden.record.picked.iter().chain(new()).filter(own);
            (
                crop,
                year,
                Mass::from_kg(rows.map(|row| row.mass.kg()).sum()),
            )
        })
        .collect()
}

fn facts(
    garden: &Garden,
    kept: &[Entry],
    misheard: &[Misheard],
    totals: &[(CropId, i32, Mass)],
) -> Facts {
    let mut facts = Facts::new(&[
        "what",
        "date",
        "bed",
        "crop",
        "kg",
        "guess",
        "product",
        "containers",
        "planting",
        "value",
        "season_kg",
    ]);
    for entry in kept {
        facts.push(fact(garden, entry, totals));
    }
    let wrong = misheard
        .iter()
        .map(|m| serde_json::json!({"said": m.said, "problem": m.problem, "nearest": m.nearest}))
        .collect::<Vec<_>>();
    facts.beside("misheard", serde_json::Value::Array(wrong));
    facts
}

fn fact(garden: &Garden, entry: &Entry, totals: &[(CropId, i32, Mass)]) -> Vec<Cell> {
    let start = |what: &str, date: NaiveDate| vec![Cell::text(what), Cell::Date(date)];
    let mut cells;
    match entry {
        Entry::Picked(row) => {
            cells = start("picked", row.date);
            let of = |t: &&(CropId, i32, Mass)| (t.0, t.1) == (row.crop, row.date.year());
            cells.extend([
                Cell::maybe(row.bed, |b| Cell::text(garden.bed(b).name.clone())),
                Cell::text(garden.crop(row.crop).name.clone()),
                Cell::Mass(row.mass),
                Cell::Bool(row.guess),
                Cell::Empty,
                Cell::Empty,
                Cell::maybe(row.planting, |p| {
                    Cell::text(garden.planting(p).name.clone())
                }),
                Cell::Empty,
                Cell::maybe(totals.iter().find(of), |t| Cell::Mass(t.2)),
            ]);
        }
        Entry::Stores(row) => {
            cells = start(if row.change > 0.0 { "put" } else { "used" }, row.date);
            cells.extend(vec![Cell::Empty; 4]);
            cells.extend([
                Cell::text(garden.product(row.product).name.clone()),
                Cell::Containers(row.change),
                Cell::Empty,
                Cell::Empty,
                Cell::Empty,
            ]);
        }
        Entry::Event(event) => {
            let name = |id| Cell::text(garden.planting(id).name.clone());
            let (what, planting, value) = match event.what {
                Happening::Frost(c) => {
                    ("frost", Cell::Empty, Cell::maybe(c, |c| Cell::Number(c, 1)))
                }
                Happening::Ended(id) => ("ended", name(id), Cell::Empty),
                Happening::Up(id) => ("up", name(id), Cell::Empty),
                Happening::Took(time) => ("took", Cell::Empty, Cell::Number(time.min_value(), 0)),
            };
            cells = start(what, event.date);
            cells.extend(vec![Cell::Empty; 6]);
            cells.extend([planting, value, Cell::Empty]);
        }
    }
    cells
}
