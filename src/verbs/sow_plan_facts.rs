//! The facts of `putby sow plan`, for other programs: everything that the page has and each week by itself.

use super::sow_plan_words::called;
use crate::garden::Garden;
use crate::garden::units::Mass;
use crate::output::report::Facts;
use crate::output::table::Cell;
use crate::sowing::succession::binds::{Bind, Scarce};
use crate::sowing::succession::clearing::Clearing;
use crate::sowing::succession::proposal::{Load, Need, Proposal, Row};
use serde_json::{Value, json};

/// Gathers all that is known of a proposal, for other programs.
pub(super) fn facts(garden: &Garden, found: &Proposal) -> Facts {
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
        "from",
        "until",
        "kg_mean",
        "share_earlier",
        "share_later",
    ]);
    for r in &found.rows {
        facts.push(fact(garden, r));
    }
    let kitchen = |load: &Load| json!({"weeks_over_mean": load.weeks_over, "weeks_likely_over": load.likely, "hours_over_mean": load.hours_over});
    facts.beside("kitchen_without", kitchen(&found.kitchen[0]));
    facts.beside("kitchen_with", kitchen(&found.kitchen[1]));
    facts.beside("kitchen_ignored", kitchen(&found.kitchen[2]));
    let needs: Vec<serde_json::Value> = found
        .needs
        .iter()
        .flat_map(|n| need_facts(garden, n))
        .collect();
    facts.beside("needs", serde_json::Value::Array(needs));
    let worth = found.worth;
    facts.beside(
        "worth",
        json!({
            "missed_kg_without": worth.cost[0],
            "missed_kg": worth.cost[1],
            "missed_kg_least": worth.least,
            "saves_kg": worth.saves_kg(),
            "left_kg": worth.left_kg(),
            "gap": worth.gap(),
        }),
    );
    let cleared = found.cleared.iter().map(|c| clearing(garden, c));
    facts.beside("cleared", serde_json::Value::Array(cleared.collect()));
    let binds = found.binds.iter().map(|b| binding(garden, b));
    facts.beside("binds", serde_json::Value::Array(binds.collect()));
    facts
}

fn need_facts(garden: &Garden, need: &Need) -> Vec<serde_json::Value> {
    need.weeks
        .iter()
        .map(|w| {
            json!({
                "food": called(garden, need.food),
                "week": w.week.to_string(),
                "need_kg": w.need_kg,
                "eaten_kg_without": w.eaten_kg[0],
                "eaten_kg": w.eaten_kg[1],
                "chance_met_without": w.met[0],
                "chance_met": w.met[1],
            })
        })
        .collect()
}

fn fact(garden: &Garden, r: &Row) -> Vec<Cell> {
    let date = |d: Option<chrono::NaiveDate>| Cell::maybe(d, Cell::Date);
    vec![
        Cell::text(garden.crop(r.crop).name.clone()),
        Cell::text(garden.bed(r.bed).name.clone()),
        Cell::Date(r.sown),
        date(r.set_out),
        date(r.not_before),
        date(r.last),
        date(r.resow.map(|(_, last)| last)),
        Cell::Length(r.row),
        date(r.first),
        date(r.last_picking),
        Cell::Chance(r.chance),
        Cell::Date(r.range.0),
        Cell::Date(r.range.1),
        Cell::Mass(Mass::from_kg(r.kg)),
        Cell::maybe(r.moved[0], Cell::Share),
        Cell::maybe(r.moved[1], Cell::Share),
    ]
}

fn clearing(garden: &Garden, c: &Clearing) -> Value {
    let planting = garden.planting(c.planting);
    let follows = c.follows.iter().map(|f| {
        json!({
            "crop": garden.crop(f.crop).name,
            "start": f.start.to_string(),
            "row_m": f.row.m(),
            "kg_mean": f.kg,
        })
    });
    json!({
        "planting": planting.name,
        "bed": garden.bed(planting.bed).name,
        "day": c.day.to_string(),
        "was": planting.cleared.map(|day| day.to_string()),
        "lost_kg": c.lost_kg,
        "gained_kg": c.gained_kg(),
        "saves_kg": c.saves_kg,
        "follows": follows.collect::<Vec<Value>>(),
    })
}

fn binding(garden: &Garden, bind: &Bind) -> Value {
    let (what, bed, more, weeks) = match &bind.more {
        Scarce::Bed(bed, length) => ("bed_m", Some(*bed), length.m(), &[][..]),
        Scarce::Sowing => ("sowings", None, 1.0, &[][..]),
        Scarce::KitchenHours(weeks, hours) => ("kitchen_hours", None, *hours, weeks.as_slice()),
    };
    json!({
        "scarce": what,
        "bed": bed.map(|b| garden.bed(b).name.clone()),
        "more": more,
        "weeks": weeks.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "saves_kg": bind.saves_kg,
        "food": bind.brings.map(|(food, ..)| called(garden, food)),
        "brings_kg": bind.brings.map(|(_, kg, _)| kg),
        "brings_from": bind.brings.map(|(.., week)| week.to_string()),
    })
}
