//! `putby learn`: what the record says the numbers should be, and with `--write` into the garden's own files.

use super::cli::Shared;
use super::setting::{self, Setting};
use super::{Exit, Failure, deliver, learn_minutes};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::{Crop, CropId};
use crate::input::learned::{
    Learned, OF_BEDS, OF_CROPS, Rows, beds_by_hand, built_in_crops, listed, with_learned,
    with_minutes_factor, without_learned,
};
use crate::input::problem::Problem;
use crate::input::render::render_all;
use crate::input::whole::{self, Change, Kept, hold};
use crate::input::{self, Files, sample, sheets};
use crate::learning::learn::{CropNumbers, Field, Numbers, Proposal, Subject, learn};
use crate::learning::seasons::evidence;
use crate::output::report::{Facts, Report};
use crate::output::rounding;
use crate::output::table::{Cell, Column, Table};
use chrono::Datelike;
use clap::Args;
use std::collections::{BTreeMap, BTreeSet};

/// The file that holds the kitchen.
const TOML: &str = "garden.toml";

/// Arguments of `learn`.
#[derive(Debug, Clone, Args)]
pub struct LearnArgs {
    /// Put the proposed numbers into crops.csv, beds.csv and garden.toml of the garden; the copy before is kept, as crops.csv.before
    #[arg(long)]
    write: bool,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &LearnArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "learn")?;
    if shared.sample && arguments.write {
        return Err(Failure::Usage(
            "the sample cannot be written to, it lives in the program; make a copy of it with: putby -g mygarden start --from-sample"
                .into(),
        ));
    }
    let files = if shared.sample {
        sample::files()
    } else {
        input::read_files(&setting::folder(shared)).map_err(|problems| faults(&problems))?
    };
    let setting = Setting::load(shared)?;
    let base = input::load_files(&without_learned(&files)).map_err(|problems| faults(&problems))?;
    let garden = &setting.garden;
    let mut found = evidence(&base, setting.as_of, &setting.draws);
    found.minutes = learn_minutes::evidence(garden, setting.as_of);
    let numbers = numbers(&base, garden, &files);
    let (proposals, stands) = standing(
        learn(&found, &numbers, setting.as_of.year()),
        &numbers.beds_by_hand,
    );
    let changes: Vec<&Proposal> = proposals.iter().filter(|p| p.changes()).collect();
    let mut report = report(garden, &proposals, &changes);
    report.points(stands.iter().map(|p| left_alone(garden, p)).collect());
    if arguments.write {
        let words = if changes.is_empty() {
            "Nothing to write: the numbers in force are these already.".to_owned()
        } else {
            let (new, rest) = contents(&files, &base, &proposals, &changes);
            let mut said = write(shared, &files, &new)?;
            said.extend(rest.map(|words| format!(" {words}")));
            said.trim_start().to_owned()
        };
        report.text(words);
    } else if !changes.is_empty() && !shared.sample {
        report.text("`putby learn --write` puts the proposed numbers into your files.");
    }
    deliver::report(&report, &setting, shared, true)?;
    Ok(Exit::Done)
}

fn faults(problems: &[Problem]) -> Failure {
    Failure::Problems(render_all(problems, false))
}

/// Leaves the factors of beds that the household gave itself as they are; returns apart what would have changed them.
fn standing(proposals: Vec<Proposal>, by_hand: &BTreeSet<BedId>) -> (Vec<Proposal>, Vec<Proposal>) {
    let own = |p: &Proposal| matches!(p.subject, Subject::Bed(bed) if by_hand.contains(&bed));
    let stands = proposals.iter().filter(|p| own(p) && p.changes());
    let stands = stands.cloned().collect();
    let all = proposals.into_iter();
    let left = all.map(|p| if own(&p) { p.standing() } else { p });
    (left.collect(), stands)
}

/// Says that a bed keeps the household's own figure, and what the record says instead.
fn left_alone(garden: &Garden, p: &Proposal) -> String {
    format!(
        "{}: your own yield_factor {} stands and is left alone; the record says {}. To have it learned, empty its cell in beds.csv.",
        whose(garden, p),
        short(p.before, 2),
        short(p.after, 2),
    )
}

/// Gathers the numbers of the built-in crops, as built in and as in force, and those of beds.
fn numbers(base: &Garden, garden: &Garden, files: &Files) -> Numbers {
    let known = built_in_crops();
    let by_hand = beds_by_hand(files, garden.beds.iter().map(|bed| bed.name.as_str()));
    let of = |from: &Garden| -> BTreeMap<CropId, CropNumbers> {
        let pairs = from.crops.iter().zip(&base.crops).enumerate();
        pairs
            .filter(|(_, (_, built_in))| known.contains(&built_in.name))
            .map(|(i, (crop, built_in))| (CropId(i), CropNumbers::of(crop, built_in)))
            .collect()
    };
    Numbers {
        built_in: of(base),
        in_force: of(garden),
        beds: (0..)
            .map(BedId)
            .zip(garden.beds.iter().map(|bed| bed.yield_factor))
            .collect(),
        beds_by_hand: (0..)
            .map(BedId)
            .zip(by_hand)
            .filter_map(|(id, by_hand)| by_hand.then_some(id))
            .collect(),
        minutes: Some(garden.household.kitchen.minutes_factor),
    }
}

/// What a number is called.
const fn called(p: &Proposal) -> &'static str {
    match p.field {
        Field::YieldFactor if matches!(p.subject, Subject::Bed(_)) => {
            "yield, as part of its crops' usual"
        }
        Field::YieldFactor => "yield, as part of the built-in",
        Field::DaysSown => "days to maturity, sown",
        Field::DaysSetOut => "days to maturity, set out",
        Field::FailChance => "chance that it fails",
        Field::MinutesFactor => "minutes, as part of the planned",
    }
}

const fn places(field: Field) -> usize {
    match field {
        Field::DaysSown | Field::DaysSetOut => 1,
        Field::YieldFactor | Field::MinutesFactor => 2,
        Field::FailChance => 3,
    }
}

/// Returns the file with a row of that name in it that a proposal is about.
fn row_of(garden: &Garden, proposal: &Proposal) -> Option<(Rows, String)> {
    match proposal.subject {
        Subject::Crop(crop) => Some((OF_CROPS, garden.crop(crop).name.clone())),
        Subject::Bed(bed) => Some((OF_BEDS, garden.bed(bed).name.clone())),
        Subject::Kitchen => None,
    }
}

/// Whose number a proposal is, in words.
fn whose(garden: &Garden, proposal: &Proposal) -> String {
    match proposal.subject {
        Subject::Crop(crop) => garden.crop(crop).name.clone(),
        Subject::Bed(bed) => format!("bed {}", garden.bed(bed).name),
        Subject::Kitchen => "the kitchen".to_owned(),
    }
}

fn report(garden: &Garden, proposals: &[Proposal], changes: &[&Proposal]) -> Report {
    let mut report = Report::default();
    report.heading(format!("What your record says: {}", garden.name));
    if proposals.is_empty() {
        report
            .text("Not enough was logged yet to say anything: log what you pick, and look again.");
    } else {
        report.text(format!(
            "Your record speaks of {}; {} would change.",
            rounding::counted(proposals.len(), "number", "numbers"),
            changes.len()
        ));
    }
    if !changes.is_empty() {
        report.table(table(garden, changes));
        report.text("A weight of 0 keeps the built-in number, of 1 believes your seasons alone.");
    }
    let mut facts = Facts::new(&[
        "crop", "field", "built_in", "before", "after", "seen", "weight", "seasons",
    ]);
    for p in proposals {
        let number = |value: f64| Cell::Number(value, places(p.field));
        facts.push(vec![
            Cell::text(whose(garden, p)),
            Cell::text(p.field.name()),
            number(p.built_in),
            number(p.before),
            number(p.after),
            number(p.seen),
            Cell::Number(p.weight, 2),
            Cell::text(years(&p.seasons)),
        ]);
    }
    report.facts = facts;
    report
}

fn years(seasons: &[i32]) -> String {
    let all: Vec<String> = seasons.iter().map(i32::to_string).collect();
    all.join(" ")
}

fn table(garden: &Garden, changes: &[&Proposal]) -> Table {
    let mut table = Table::new(vec![
        Column::text("crop", "Crop"),
        Column::text("field", "Number"),
        Column::figure("before", "Now"),
        Column::figure("after", "Proposed"),
        Column::figure("seen", "Your seasons alone"),
        Column::figure("weight", "Weight"),
        Column::text("seasons", "Seasons"),
    ]);
    for p in changes {
        let number = |value: f64| Cell::Number(value, places(p.field));
        table.push(vec![
            Cell::text(whose(garden, p)),
            Cell::text(called(p)),
            number(p.before),
            number(p.after),
            number(p.seen),
            Cell::Number(p.weight, 2),
            Cell::text(years(&p.seasons)),
        ]);
    }
    table
}

/// Turns proposals into cells of a file: every number of a crop or bed of which one changes.
fn learned(
    file: Rows,
    base: &Garden,
    proposals: &[Proposal],
    changes: &[&Proposal],
) -> Vec<Learned> {
    let mut rows: BTreeMap<Subject, Learned> = BTreeMap::new();
    for p in proposals {
        let changes = changes.iter().any(|c| c.subject == p.subject);
        let Some((_, name)) = row_of(base, p).filter(|(of, _)| changes && *of == file) else {
            continue;
        };
        let row = rows.entry(p.subject).or_insert_with(|| Learned {
            name,
            cells: Vec::new(),
            seasons: Vec::new(),
        });
        row.seasons.extend(&p.seasons);
        row.seasons.sort_unstable();
        row.seasons.dedup();
        row.cells.extend(match p.subject {
            Subject::Crop(crop) => cells(base.crop(crop), p),
            _ => vec![("yield_factor", short(p.after, 2))],
        });
    }
    rows.into_values().collect()
}

/// Makes the cells of one proposal from the built-in crop.
fn cells(crop: &Crop, p: &Proposal) -> Vec<(&'static str, String)> {
    const LB_PER_100FT: f64 = 0.453_592_37 / 30.48;
    const LB_PER_SQFT: f64 = 0.453_592_37 / (0.3048 * 0.3048);
    match p.field {
        Field::YieldFactor => {
            let row = |kg_per_m: f64| short(kg_per_m / LB_PER_100FT * p.after, 2);
            let bed = |kg_per_m2: f64| short(kg_per_m2 / LB_PER_SQFT * p.after, 3);
            let yields = &crop.yields;
            let mut cells = vec![
                ("lb_per_100ft_low", row(yields.row_low.kg_per_m())),
                ("lb_per_100ft_high", row(yields.row_high.kg_per_m())),
            ];
            if let (Some(low), Some(high)) = (yields.bed_low, yields.bed_high) {
                cells.push(("bed_lb_per_sqft_low", bed(low.kg_per_m2())));
                cells.push(("bed_lb_per_sqft_high", bed(high.kg_per_m2())));
            }
            cells
        }
        Field::DaysSown => vec![("days_sown", short(p.after, 1))],
        Field::DaysSetOut => vec![("days_set_out", short(p.after, 1))],
        Field::FailChance => vec![("fail_chance", short(p.after, 3))],
        Field::MinutesFactor => Vec::new(),
    }
}

fn short(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Content of the files that learned numbers change, by name; what stands in no file is said in words.
fn contents(
    files: &Files,
    base: &Garden,
    proposals: &[Proposal],
    changes: &[&Proposal],
) -> (Vec<(&'static str, String)>, Option<String>) {
    let mut new = Vec::new();
    let own = |name: &str| files.content.get(name).map(Vec::as_slice);
    // Once there is a list of beds it must name all of them.
    let beds = listed(OF_BEDS, base.beds.iter().map(|bed| bed.name.as_str()));
    for (rows, otherwise) in [(OF_CROPS, None), (OF_BEDS, Some(beds.as_bytes()))] {
        let found = learned(rows, base, proposals, changes);
        if !found.is_empty() {
            let own = own(rows.file).or(otherwise);
            new.push((rows.file, with_learned(rows, own, &found)));
        }
    }
    let kitchen = changes.iter().find(|p| p.subject == Subject::Kitchen);
    let Some(kitchen) = kitchen else {
        return (new, None);
    };
    let factor = short(kitchen.after, 2);
    let laid_in = own(TOML).and_then(|own| with_minutes_factor(own, &factor, &kitchen.seasons));
    match laid_in {
        Some(content) => new.push((TOML, content)),
        None => {
            let words = format!(
                "garden.toml has no [kitchen] to write to; put minutes_factor = {factor} there yourself."
            );
            return (new, Some(words));
        }
    }
    (new, None)
}

/// Writes the files, after making sure that the garden loads with them; returns what was done.
fn write(
    shared: &Shared,
    files: &Files,
    new: &[(&'static str, String)],
) -> Result<String, Failure> {
    let mut after = files.clone();
    let refusal = new
        .iter()
        .find_map(|(name, _)| sheets::refusal(files, name));
    if let Some(problem) = refusal {
        return Err(Failure::File(render_all(&[problem], false)));
    }
    for (name, content) in new {
        let content = content.clone().into_bytes();
        after.content.insert((*name).to_owned(), content);
    }
    input::load_files(&after).map_err(|problems| faults(&problems))?;
    let folder = setting::folder(shared);
    let mut kept = Vec::new();
    for (name, _) in new {
        if let Some(own) = files.content.get(*name) {
            kept.push(Kept::of(&folder, name, own));
        }
    }
    let mut changes: Vec<Change<'_>> = kept.iter().map(Kept::change).collect();
    changes.extend(new.iter().map(|(name, content)| Change {
        file: name,
        known: files.content.get(*name).map(Vec::as_slice),
        content: content.as_bytes(),
    }));
    whole::write(&hold(&folder), &folder, &changes)
        .map_err(|problem| Failure::File(render_all(&[*problem], false)))?;
    let done = new.iter().map(|(name, _)| {
        if files.content.contains_key(*name) {
            format!("Wrote {name}; the copy before is {name}.before.")
        } else {
            format!("Wrote {name}.")
        }
    });
    Ok(done.collect::<Vec<_>>().join(" "))
}
