//! `putby stores`: what is there by date, what will be there against the goals, freezer room, jars and lids.
//!
//! For machines a goal that any of several products may meet stands, with its chance, beside each of them.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, kitchen, said, shelf, stores_facts, stores_room};
use crate::garden::units::Volume;
use crate::kitchen::forecast::{GoalSeason, KitchenForecast, VesselKind, VesselSeason};
use crate::kitchen::keeping::{self, Batch};
use crate::kitchen::make_room::MakeRoom;
use crate::output::chart::Caption;
use crate::output::chart::goals::{GoalBar, GoalsChart, goals};
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use crate::season::plan::Plan;
use chrono::{Days, NaiveDate};

/// Days ahead for which "eat first" looks.
const SOON_DAYS: u64 = 30;

/// Runs the verb.
pub(super) fn run(shared: &Shared) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let setting = Setting::load(shared)?;
    let (plan, found) = kitchen::forecast(&setting);
    let batches = keeping::in_store(&setting.garden, setting.as_of);
    let room = stores_room::look(&setting, &found);
    deliver::report(
        &report(&setting, &plan, &found, &batches, room.as_ref()),
        &setting,
        shared,
        true,
    )?;
    if charted {
        deliver::chart(&goals(&chart(&setting, &found)), shared)?;
    }
    Ok(Exit::Done)
}

/// Lays out the chart of what will be there against the goals.
pub(super) fn chart(setting: &Setting, found: &KitchenForecast) -> GoalsChart {
    let now = |goal: &GoalSeason| -> f64 {
        let of = found
            .products
            .iter()
            .filter(|p| goal.ids.contains(&p.product));
        of.map(|p| p.now).sum()
    };
    let bars = found.goals.iter().filter_map(|goal| {
        Some(GoalBar {
            name: goal.products.join(" or "),
            wanted: goal.wanted?,
            now: now(goal),
            p10: goal.containers.p10,
            p50: goal.containers.p50,
            p90: goal.containers.p90,
            chance: goal.chance?,
        })
    });
    GoalsChart {
        caption: Caption {
            title: "Stores against goals".to_owned(),
            subtitle: format!(
                "Containers by the day each goal is wanted, what is in store today included. {}",
                setting.garden.name
            ),
            footer: said::footer(setting),
            narrow: false,
        },
        goals: bars.collect(),
    }
}

fn report(
    setting: &Setting,
    plan: &Plan,
    found: &KitchenForecast,
    batches: &[Batch],
    room: Option<&MakeRoom>,
) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!(
        "What is put by: {}, {}",
        garden.name,
        dates::with_year(setting.as_of)
    ));
    if batches.is_empty() {
        report.text("Nothing is in store, as far as stores.csv says.");
    } else {
        report.table(there(setting, batches));
    }
    let soon = setting.as_of + Days::new(SOON_DAYS);
    report.points(shelf::getting_old(
        garden,
        batches,
        setting.as_of,
        soon,
        usize::MAX,
    ));
    if !found.goals.is_empty() {
        report.table(shelf::goals(found));
    }
    let later = on_the_shelf(found);
    if !later.rows.is_empty() {
        report.table(later);
    }
    report.text(freezer(setting, found));
    if let Some(room) = room {
        let (full, points) = stores_room::words(setting, room);
        report.text(full);
        report.points(points);
    }
    if let Some(vessels) = vessels(found) {
        report.table(vessels);
    }
    if let Some(sentence) = old_before_eaten(found) {
        report.text(sentence);
    }
    let made = found.products.iter().filter(|p| p.made.p90 >= 0.5);
    report.points(shelf::cautions(garden, made.map(|p| p.product)));
    report.points(said::rests_on(garden, plan, &found.notes));
    report.facts = stores_facts::facts(setting, found, batches, room);
    report
}

/// What is in store, a row a product, what ends soonest first within each store.
pub(super) fn there(setting: &Setting, batches: &[Batch]) -> Table {
    let mut table = Table::new(vec![
        Column::text("store", "Store"),
        Column::text("product", "Product"),
        Column::figure("containers_now", "There now"),
        Column::text("container", "In"),
        Column::figure("oldest", "Oldest made"),
        Column::figure("best_until", "Best until"),
        Column::figure("last_day", "Use up by"),
    ]);
    let mut rows: Vec<(Batch, f64)> = Vec::new();
    for batch in batches {
        match rows.iter_mut().find(|(b, _)| b.product == batch.product) {
            Some((_, containers)) => *containers += batch.containers,
            None => rows.push((*batch, batch.containers)),
        }
    }
    rows.sort_by_key(|(b, _)| (b.store, b.last_day, b.product));
    let date = |d: NaiveDate| said::unbroken(&dates::with_year(d));
    for (oldest, containers) in rows {
        let product = setting.garden.product(oldest.product);
        table.push(vec![
            Cell::text(oldest.store.name()),
            Cell::text(product.name.clone()),
            Cell::text(rounding::half_containers(containers)),
            Cell::text(product.container.clone()),
            date(oldest.made),
            date(oldest.best_until),
            date(oldest.last_day),
        ]);
    }
    table.note("Best until and use up by: of the oldest ones.");
    table
}

/// Containers on the shelf every few weeks, after what is eaten.
fn on_the_shelf(found: &KitchenForecast) -> Table {
    let mut columns = vec![Column::text("product", "Product")];
    columns.extend(found.shelf_weeks.iter().map(|&w| {
        let sunday = found.weeks[w].week.sunday();
        Column::figure(sunday.to_string(), dates::short(sunday))
    }));
    let mut table = Table::new(columns)
        .titled("On the shelf at these dates in 8 seasons of 10, after what you eat by then");
    for product in &found.products {
        if product.shelf.iter().all(|there| there.p90 < 0.5) {
            continue;
        }
        let mut row = vec![Cell::text(product.name.clone())];
        row.extend(
            product
                .shelf
                .iter()
                .map(|there| said::unbroken(&rounding::containers_range(there.p10, there.p90))),
        );
        table.push(row);
    }
    table
}

/// The freezer in one or two sentences.
pub(super) fn freezer(setting: &Setting, found: &KitchenForecast) -> String {
    let garden = &setting.garden;
    let room = |litres: f64| {
        let (figure, unit) = Cell::Room(Volume::from_l(litres)).for_people(garden.show.units);
        format!("{figure} {}", unit.unwrap_or(""))
    };
    let season = &found.season;
    let peak = &season.freezer_peak_l;
    let fullest = found
        .weeks
        .iter()
        .max_by(|a, b| a.freezer_l.total_cmp(&b.freezer_l))
        .filter(|w| w.freezer_l > season.freezer_now_l + 1.0)
        .map_or(String::new(), |w| {
            format!(", about the {}", dates::week_of(w.week))
        });
    let taken = format!(
        "Freezer: about {} taken by the garden's food now, {} at the fullest{fullest} (8 in 10 between {} and {})",
        room(season.freezer_now_l),
        room(peak.p50),
        room(peak.p10),
        room(peak.p90),
    );
    match garden.household.kitchen.freezer_free {
        Some(free) => {
            let refused = if season.kg_freezer_refused > 0.5 {
                let mass = crate::garden::units::Mass::from_kg(season.kg_freezer_refused);
                format!(
                    " On average {} find no room in it, or more than it freezes in a day.",
                    rounding::mass(mass, garden.show.units)
                )
            } else {
                String::new()
            };
            format!("{taken}; {} are there for it.{refused}", room(free.l()))
        }
        None => format!("{taken}. How much room there is for it is not given."),
    }
}

/// Jars, lids and bags to fill, if there are any to fill.
fn vessels(found: &KitchenForecast) -> Option<Table> {
    let mut table = Table::new(vec![
        Column::text("what", "To fill to the end of the season"),
        Column::figure("filled_p50", "Number"),
        Column::text("range", "8 in 10 between"),
        Column::figure("on_hand", "On hand"),
        Column::figure("used_up", "All used in"),
    ]);
    for vessel in &found.season.vessels {
        if vessel.filled.p90 < 0.5 {
            continue;
        }
        table.push(vec![
            Cell::text(vessel_name(vessel.what)),
            Cell::Containers(vessel.filled.p50),
            Cell::text(rounding::containers_range(
                vessel.filled.p10,
                vessel.filled.p90,
            )),
            Cell::maybe(vessel.on_hand, Cell::Containers),
            Cell::maybe(vessel.chance_used_up, Cell::Chance),
        ]);
    }
    let jars = |v: &VesselSeason| v.what == VesselKind::Jar && v.filled.p90 >= 0.5;
    if found.season.vessels.iter().any(jars) {
        table.note("Jars that you empty meanwhile come on top of those on hand; a lid seals once.");
    }
    (!table.rows.is_empty()).then_some(table)
}

pub(super) const fn vessel_name(kind: VesselKind) -> &'static str {
    match kind {
        VesselKind::Jar => "jars",
        VesselKind::Lid => "lids",
        VesselKind::Bag => "bags",
    }
}

/// What passes its time before it is eaten, in one sentence; nothing if nothing does.
fn old_before_eaten(found: &KitchenForecast) -> Option<String> {
    let named: Vec<String> = found
        .products
        .iter()
        .filter(|p| p.past_keeping >= 0.5)
        .map(|p| format!("{} {}", p.name, rounding::half_containers(p.past_keeping)))
        .collect();
    (!named.is_empty()).then(|| {
        format!(
            "On average these pass their time before they are eaten: {}.",
            text::list(&named)
        )
    })
}
