//! `putby sow after`: what may still follow in each bed when it comes free.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, kitchen, said};
use crate::garden::bed::BedId;
use crate::garden::household::Food;
use crate::garden::units::{Length, Mass};
use crate::input::asked;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::season::ensemble::Settings;
use crate::season::plan::Plan;
use crate::season::windows::windows;
use crate::sowing::dates::light_back;
use crate::sowing::follow::{Follower, Question, follow};
use crate::sowing::follow_lack::lack;
use crate::sowing::follow_room::{Room, rooms};
use crate::sowing::soil::WARMER_K;
use chrono::{Days, NaiveDate};
use clap::Args;

/// Crops told of each room when every bed is asked for, and when one is.
const TOLD: (usize, usize) = (3, 12);
/// Trials need fewer seasons than a forecast.
const PART_OF_DRAWS: u32 = 10;

/// Arguments of `sow after`.
#[derive(Debug, Clone, Args)]
pub(super) struct AfterArgs {
    /// Bed [default: every bed]
    bed: Option<String>,
    /// Seasons in 10 in which half a harvest must be reached [default: 8]
    #[arg(long, value_name = "N", value_parser = super::sow_by::seasons_in_ten, default_value = "8", hide_default_value = true)]
    chance: f64,
}

/// What is told, before it is words.
struct Told<'a> {
    setting: &'a Setting,
    rooms: Vec<Room>,
    followers: Vec<Follower>,
    one: bool,
    until: NaiveDate,
    chance: f64,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &AfterArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "sow after")?;
    let mut setting = Setting::load(shared)?;
    setting.draws.draws = setting.draws.draws.div_ceil(PART_OF_DRAWS);
    let garden = &setting.garden;
    let beds: Vec<BedId> = match &arguments.bed {
        Some(name) => vec![asked::bed(garden, name).map_err(Failure::Usage)?],
        None => (0..garden.beds.len()).map(BedId).collect(),
    };
    let until = light_back(garden.site.latitude_deg, setting.as_of);
    let (plan, found) = kitchen::forecast(&setting);
    let leaves = leaves(&setting, &plan);
    let rooms: Vec<Room> = beds
        .iter()
        .flat_map(|&bed| rooms(garden, bed, &leaves, setting.as_of, until))
        .collect();
    let question = Question {
        garden,
        climate: plan.climate(),
        as_of: setting.as_of,
        chance: arguments.chance,
        soil_warmer_k: WARMER_K,
        settings: Settings { ..setting.draws },
    };
    let lack = lack(garden, &found, setting.as_of, until);
    let told = Told {
        setting: &setting,
        followers: follow(&question, &rooms, &lack),
        rooms,
        one: arguments.bed.is_some(),
        until,
        chance: arguments.chance,
    };
    let mut report = page(&told, &beds);
    report.points(said::rests_on(garden, &plan, &[]));
    report.facts = facts(&told);
    deliver::report(&report, &setting, shared, true)?;
    Ok(Exit::Done)
}

/// First day on which the ground of each planting is free: its clearing date, else the day after the last picking in 9
/// seasons of 10.
fn leaves(setting: &Setting, plan: &Plan) -> Vec<NaiveDate> {
    let garden = &setting.garden;
    windows(plan, &setting.draws)
        .iter()
        .map(|window| {
            let planting = garden.planting(window.planting);
            let last = window.last.map(|last| last.p90 + Days::new(1));
            match (planting.cleared, last) {
                (Some(cleared), Some(last)) => cleared.min(last),
                (Some(day), None) | (None, Some(day)) => day,
                (None, None) => planting.start(),
            }
        })
        .collect()
}

fn page(told: &Told, beds: &[BedId]) -> Report {
    let garden = &told.setting.garden;
    let mut report = Report::default();
    report.heading(format!(
        "What may follow: {}, {}",
        garden.name,
        dates::with_year(told.setting.as_of)
    ));
    let mut table = Table::new(vec![
        Column::text("bed", "Bed"),
        Column::figure("from", "Free from"),
        Column::text("after", "After"),
        Column::text("crop", "May follow"),
        Column::text("sow", "Sow, set out"),
        Column::measured("row", "Row"),
        Column::figure("first", "Picked from"),
        Column::figure("mass", "Gives"),
        Column::text("fills", "Of that lacking"),
    ]);
    let mut empty: Vec<(&String, String)> = Vec::new();
    for (n, room) in told.rooms.iter().enumerate() {
        let all: Vec<&Follower> = told.followers.iter().filter(|f| f.room == n).collect();
        let most = if told.one { TOLD.1 } else { TOLD.0 };
        if all.is_empty() {
            let bed = &garden.bed(room.bed).name;
            if !empty.iter().any(|(known, _)| *known == bed) {
                empty.push((bed, dates::short(room.from)));
            }
        }
        for (k, follower) in all.iter().take(most).enumerate() {
            table.push(cells(told, room, follower, k == 0));
        }
    }
    if !table.rows.is_empty() {
        table.note(format!(
            "Free from: cleared, or picked out in 9 seasons of 10. Each reaches half a harvest by {} in {} or more. Two \
             dates: sow in a tray, and set out.",
            dates::short(told.until),
            rounding::seasons_in_ten(told.chance)
        ));
        table.note(
            "Gives: on average, in a row that fills the room. Of that lacking: what your needs lack in the weeks it is \
             ready, then what your goals lack. The family that leaves does not come again. Each bed is reckoned by itself: what one fills, the next need \
             not.",
        );
        report.table(table);
    }
    if !empty.is_empty() {
        let beds: Vec<String> = empty
            .iter()
            .map(|(bed, from)| format!("{bed} from {from}"))
            .collect();
        report.points(vec![format!(
            "Too late for anything to reach half a harvest by {}: {}.",
            dates::short(told.until),
            beds.join(", ")
        )]);
    }
    let full: Vec<&str> = beds
        .iter()
        .filter(|&&bed| !told.rooms.iter().any(|room| room.bed == bed))
        .map(|&bed| garden.bed(bed).name.as_str())
        .collect();
    if !full.is_empty() {
        report.points(vec![format!(
            "No room to speak of comes free by {} in: {}.",
            dates::short(told.until),
            full.join(", ")
        )]);
    }
    report
}

fn cells(told: &Told, room: &Room, follower: &Follower, first: bool) -> Vec<Cell> {
    let garden = &told.setting.garden;
    let once = |words: String| {
        if first {
            Cell::text(words)
        } else {
            Cell::text("")
        }
    };
    let after: Vec<String> = room
        .after
        .iter()
        .map(|&p| garden.crop(garden.planting(p).crop).name.clone())
        .collect::<std::collections::BTreeSet<_>>()
        .into_iter()
        .collect();
    let from = match room.until {
        _ if room.from <= told.setting.as_of && room.until.is_none() => "now".to_owned(),
        Some(until) => format!("{} to {}", dates::short(room.from), dates::short(until)),
        None => dates::short(room.from),
    };
    vec![
        once(garden.bed(room.bed).name.clone()),
        once(from.replace(' ', "\u{A0}")),
        once(after.join(", ")),
        said::unbroken(&garden.crop(follower.crop).name),
        said::unbroken(&follower.set_out.map_or_else(
            || dates::short(follower.sow),
            |out| format!("{}, {}", dates::short(follower.sow), dates::short(out)),
        )),
        Cell::Length(whole_feet(follower.row)),
        Cell::maybe(follower.first, |f| said::unbroken(&dates::short(f.p50))),
        said::unbroken(&rounding::mass(follower.mass, garden.show.units)),
        Cell::text(fills(told, follower)),
    ]
}

/// A row is laid in whole feet.
fn whole_feet(row: Length) -> Length {
    Length::from_ft(row.ft().floor().max(1.0))
}

/// What it fills, in words.
fn fills(told: &Told, follower: &Follower) -> String {
    let garden = &told.setting.garden;
    let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), garden.show.units);
    let mut words = Vec::new();
    if let Some(food) = follower.fills.need
        && follower.fills.needs_kg >= 0.2
    {
        let food = match food {
            Food::Crop(id) => garden.crop(id).name.clone(),
            Food::Group(group) => group.name().to_owned(),
        };
        words.push(format!("{} {food}", mass(follower.fills.needs_kg)));
    }
    if let Some(goal) = &follower.fills.goal
        && follower.fills.goals_kg >= 0.2
    {
        words.push(format!("{} for {goal}", mass(follower.fills.goals_kg)));
    }
    if words.is_empty() {
        "–".to_owned()
    } else {
        words
            .join(", ")
            .replace(' ', "\u{A0}")
            .replace(",\u{A0}", ", ")
    }
}

fn facts(told: &Told) -> Facts {
    let garden = &told.setting.garden;
    let mut facts = Facts::new(&[
        "crop",
        "bed",
        "sow",
        "set_out",
        "not_before",
        "last",
        "resow_by",
        "row_m",
        "first_p50",
        "last_p50",
        "chance",
        "free_from",
        "free_until",
        "room_m2",
        "kg_mean",
        "kg_for_needs",
        "kg_for_goals",
    ]);
    for follower in &told.followers {
        let room = &told.rooms[follower.room];
        facts.push(vec![
            Cell::text(garden.crop(follower.crop).name.clone()),
            Cell::text(garden.bed(room.bed).name.clone()),
            Cell::Date(follower.sow),
            Cell::maybe(follower.set_out, Cell::Date),
            Cell::Date(room.from),
            Cell::Empty,
            Cell::Empty,
            Cell::Length(follower.row),
            Cell::maybe(follower.first, |f| Cell::Date(f.p50)),
            Cell::maybe(follower.last, |l| Cell::Date(l.p50)),
            Cell::Chance(follower.chance),
            Cell::Date(room.from),
            Cell::maybe(room.until, Cell::Date),
            Cell::Area(room.area),
            Cell::Mass(follower.mass),
            Cell::Mass(Mass::from_kg(follower.fills.needs_kg)),
            Cell::Mass(Mass::from_kg(follower.fills.goals_kg)),
        ]);
    }
    facts.beside("counted_until", told.until.to_string().into());
    facts.beside("chance_wanted", told.chance.into());
    facts
}
