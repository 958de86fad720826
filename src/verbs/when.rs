//! `putby when`: first and last picking of every planting, how sure, and what ends it.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, said};
use crate::garden::Garden;
use crate::garden::units::{Mass, Temperature};
use crate::garden::week::Week;
use crate::output::chart::Caption;
use crate::output::chart::pickings::{
    FrostBand, PickingWindow, PickingsBed, PickingsChart, PickingsRow, pickings,
};
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::season::draw::EndCause;
use crate::season::frost::Side;
use crate::season::plan::Plan;
use crate::season::windows::{DateSpread, Window, windows};
use chrono::NaiveDate;

/// Machine columns, in order.
const KEYS: [&str; 22] = [
    "planting",
    "bed",
    "crop",
    "sown",
    "set_out",
    "first_p10",
    "first_p50",
    "first_p90",
    "last_p10",
    "last_p50",
    "last_p90",
    "kg_p10",
    "kg_p50",
    "kg_p90",
    "kg_mean",
    "chance_of_harvest",
    "ended_by_cold",
    "ended_by_heat",
    "ended_by_pest",
    "ended_by_clearing",
    "ended_by_horizon",
    "ended_by_finish",
];

/// Runs the verb.
pub(super) fn run(shared: &Shared) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let setting = Setting::load(shared)?;
    let (plan, found) = found(&setting);
    deliver::report(&report(&setting, &plan, &found), &setting, shared, true)?;
    if charted {
        deliver::chart(&pickings(&chart(&setting, &plan, &found)), shared)?;
    }
    Ok(Exit::Done)
}

/// Every planting's pickings, those that begin first before the others.
pub(super) fn found(setting: &Setting) -> (Plan, Vec<Window>) {
    let plan = setting.plan();
    let mut found = windows(&plan, &setting.draws);
    found.sort_by_key(|w| (w.first.map_or(NaiveDate::MAX, |f| f.p50), w.planting));
    (plan, found)
}

fn report(setting: &Setting, plan: &Plan, found: &[Window]) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("When each planting is picked: {}", garden.name));
    let (table, over) = table(setting, found);
    let (doubtful, lost) = doubts(garden, found);
    report.table(table);
    report.points(doubtful);
    report.points(lost);
    if over > 0 {
        let plantings = rounding::counted(over, "planting is", "plantings are");
        report.text(format!("{plantings} over and not shown."));
    }
    report.points(said::rests_on(garden, plan, &[]));
    report.facts = facts(garden, found);
    report
}

/// First and last picking, a row a planting that is not over; and how many are over.
pub(super) fn table(setting: &Setting, found: &[Window]) -> (Table, usize) {
    let garden = &setting.garden;
    let mut table = Table::new(vec![
        Column::text("planting", "Planting"),
        Column::text("bed", "Bed"),
        Column::figure("first_p50", "First picking"),
        Column::text("first", "8 in 10 between"),
        Column::figure("last_p50", "Last picking"),
        Column::text("last", "8 in 10 between"),
        Column::figure("kg", "Ready in all"),
        Column::text("ended", "Mostly ended by"),
    ]);
    let mut over = 0;
    for window in found {
        let planting = garden.planting(window.planting);
        if window.over || window.last.is_some_and(|last| last.p90 < setting.as_of) {
            over += 1;
            continue;
        }
        let (first, last) = (window.first.as_ref(), window.last.as_ref());
        table.push(vec![
            said::unbroken(&planting.name),
            Cell::text(garden.bed(planting.bed).name.clone()),
            Cell::maybe(first, |f| said::unbroken(&dates::short(f.p50))),
            Cell::maybe(first, |f| said::unbroken(&dates::range(f.p10, f.p90))),
            Cell::maybe(last, |l| said::unbroken(&dates::short(l.p50))),
            Cell::maybe(last, |l| said::unbroken(&dates::range(l.p10, l.p90))),
            said::unbroken(&rounding::mass_range(
                Mass::from_kg(window.kg.p10),
                Mass::from_kg(window.kg.p90),
                garden.show.units,
            )),
            Cell::text(mostly(window)),
        ]);
    }
    table.note("Ready in all: over the whole harvest, 8 seasons in 10 between the two figures.");
    (table, over)
}

/// The cause that ends a planting most often, with how often where it is not sure.
fn mostly(window: &Window) -> String {
    let (share, cause) = EndCause::ALL
        .iter()
        .map(|&cause| (window.ended_by(cause), cause))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((0.0, EndCause::Finish));
    let words = said::cause(cause);
    if share > 0.95 {
        words.to_owned()
    } else {
        format!("{words}, {}", rounding::in_ten(share))
    }
}

/// Plantings that may give nothing, and the greatest losses, in words.
pub(super) fn doubts(garden: &Garden, found: &[Window]) -> (Vec<String>, Vec<String>) {
    let doubtful = found
        .iter()
        .filter(|w| !w.over && w.chance_of_harvest < 0.8)
        .map(|w| {
            let name = &garden.planting(w.planting).name;
            if w.chance_of_harvest == 0.0 {
                return format!("{name}: nothing to pick in any season drawn.");
            }
            format!(
                "{name} gives something only in {}.",
                rounding::seasons_in_ten(w.chance_of_harvest)
            )
        })
        .collect();
    let mut lost: Vec<(f64, &Window, EndCause)> = found
        .iter()
        .filter(|w| !w.over)
        .flat_map(|w| {
            EndCause::ALL
                .iter()
                .enumerate()
                .map(move |(i, &cause)| (w.kg_lost[i], w, cause))
        })
        .filter(|(kg, w, cause)| {
            *kg > 0.2 * w.kg_possible
                && Mass::from_kg(*kg).lb() >= 2.0
                && *cause != EndCause::Finish
        })
        .collect();
    lost.sort_by(|a, b| b.0.total_cmp(&a.0));
    let lost = lost
        .iter()
        .take(5)
        .map(|(kg, w, cause)| {
            let name = &garden.planting(w.planting).name;
            let part = rounding::mass(Mass::from_kg(*kg), garden.show.units);
            let whole = rounding::mass(Mass::from_kg(w.kg_possible), garden.show.units);
            match cause {
                EndCause::Clearing => {
                    format!("{name} is cleared with about {part} of {whole} still to come.")
                }
                _ => format!(
                    "{name} loses about {part} of {whole} to {}.",
                    said::cause(*cause)
                ),
            }
        })
        .collect();
    (doubtful, lost)
}

fn facts(garden: &Garden, found: &[Window]) -> Facts {
    let mut keys: Vec<&str> = KEYS.to_vec();
    keys.extend([
        "ended_by_failure",
        "kg_lost",
        "kg_second_mean",
        "kg_strip_mean",
    ]);
    let mut facts = Facts::new(&keys);
    let date = |d: Option<DateSpread>, pick: fn(&DateSpread) -> NaiveDate| {
        Cell::maybe(d.as_ref(), |d| Cell::Date(pick(d)))
    };
    let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));
    for w in found {
        let planting = garden.planting(w.planting);
        facts.push(vec![
            Cell::text(planting.name.clone()),
            Cell::text(garden.bed(planting.bed).name.clone()),
            Cell::text(garden.crop(planting.crop).name.clone()),
            Cell::maybe(planting.sown, Cell::Date),
            Cell::maybe(planting.set_out, Cell::Date),
            date(w.first, |d| d.p10),
            date(w.first, |d| d.p50),
            date(w.first, |d| d.p90),
            date(w.last, |d| d.p10),
            date(w.last, |d| d.p50),
            date(w.last, |d| d.p90),
            kg(w.kg.p10),
            kg(w.kg.p50),
            kg(w.kg.p90),
            kg(w.kg.mean),
            Cell::Chance(w.chance_of_harvest),
            Cell::Chance(w.ended_by(EndCause::Cold)),
            Cell::Chance(w.ended_by(EndCause::Heat)),
            Cell::Chance(w.ended_by(EndCause::Pest)),
            Cell::Chance(w.ended_by(EndCause::Clearing)),
            Cell::Chance(w.ended_by(EndCause::Horizon)),
            Cell::Chance(w.ended_by(EndCause::Finish)),
            Cell::Chance(w.ended_by(EndCause::Failed)),
            kg(w.kg_lost_all()),
            kg(w.kg_second),
            kg(w.kg_strip),
        ]);
    }
    facts
}

/// Lays out the chart of pickings.
pub(super) fn chart(setting: &Setting, plan: &Plan, found: &[Window]) -> PickingsChart {
    let garden = &setting.garden;
    let shown: Vec<&Window> = found
        .iter()
        .filter(|w| !w.over && w.last.is_none_or(|last| last.p90 >= setting.as_of))
        .collect();
    let beds = garden
        .beds
        .iter()
        .enumerate()
        .filter_map(|(b, bed)| {
            let plantings: Vec<PickingsRow> = shown
                .iter()
                .filter(|w| w.bed.0 == b)
                .map(|w| {
                    let planting = garden.planting(w.planting);
                    PickingsRow {
                        name: planting.name.clone(),
                        mark: String::new(),
                        sown: planting.sown,
                        set_out: planting.set_out,
                        window: w.first.zip(w.last).map(|(first, last)| PickingWindow {
                            first_p10: first.p10,
                            first_p90: first.p90,
                            last_p10: last.p10,
                            last_p90: last.p90,
                        }),
                        chance: Some(w.chance_of_harvest).filter(|chance| *chance < 0.9),
                    }
                })
                .collect();
            (!plantings.is_empty()).then(|| PickingsBed {
                name: bed.name.clone(),
                plantings,
            })
        })
        .collect();
    let last = shown
        .iter()
        .filter_map(|w| w.last.map(|l| Week::of(l.p90)))
        .max();
    PickingsChart {
        caption: Caption {
            title: "Pickings, bed by bed".to_owned(),
            subtitle: garden.name.clone(),
            footer: said::footer(setting),
            narrow: false,
        },
        first: Some(Week::of(setting.as_of)),
        last,
        beds,
        frosts: frosts(setting, plan, last),
        today: Some(setting.as_of),
    }
}

/// The first fall and last spring frosts (32 °F) within the picture.
fn frosts(setting: &Setting, plan: &Plan, last: Option<Week>) -> Vec<FrostBand> {
    use chrono::Datelike;
    let Some(last) = last else { return Vec::new() };
    let freezing = Temperature::from_f(32.0);
    let frost = &plan.climate().frost;
    let mut bands = Vec::new();
    for year in setting.as_of.year()..=last.monday().year() {
        for (side, name) in [
            (Side::Spring, "last spring frost"),
            (Side::Fall, "first fall frost"),
        ] {
            // A chance is of cold after a spring date and before a fall date.
            let at = |early: f64| {
                let chance = if side == Side::Spring {
                    1.0 - early
                } else {
                    early
                };
                frost
                    .day(side, freezing, chance)
                    .map(|day| day.in_year(year))
            };
            if let (Some(p10), Some(p50), Some(p90)) = (at(0.1), at(0.5), at(0.9))
                && p10 >= setting.as_of
                && p90 <= last.sunday()
            {
                bands.push(FrostBand {
                    name: name.to_owned(),
                    p10,
                    p50,
                    p90,
                });
            }
        }
    }
    bands
}
