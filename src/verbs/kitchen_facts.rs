//! The facts of `putby kitchen` for machines: one row a week, goals beside them.

use crate::garden::units::{Mass, Minutes};
use crate::kitchen::forecast::{Driver, GoalSeason, KitchenForecast};
use crate::output::report::Facts;
use crate::output::table::Cell;
use serde_json::json;

/// Returns a row a week, and the goals beside them.
pub(super) fn facts(found: &KitchenForecast, drivers: fn(&[Driver]) -> String) -> Facts {
    let mut facts = Facts::new(&[
        "week",
        "hours_p10",
        "hours_p50",
        "hours_p90",
        "hours_mean",
        "capacity_hours",
        "chance_over",
        "mean_hours_over",
        "sessions_mean",
        "kg_picked",
        "kg_fresh",
        "kg_put_by",
        "kg_standing",
        "kg_to_give",
        "kg_lost",
        "picking_hours",
        "drivers",
    ]);
    for w in &found.weeks {
        let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));
        facts.push(vec![
            Cell::Week(w.week),
            Cell::Hours(Minutes::from_hours(w.hours.p10)),
            Cell::Hours(Minutes::from_hours(w.hours.p50)),
            Cell::Hours(Minutes::from_hours(w.hours.p90)),
            Cell::Hours(Minutes::from_hours(w.hours.mean)),
            Cell::Hours(Minutes::from_hours(w.capacity_hours)),
            Cell::Chance(w.chance_over),
            Cell::Hours(Minutes::from_hours(w.mean_hours_over)),
            Cell::Number(w.sessions, 2),
            kg(w.kg_picked),
            kg(w.kg_fresh),
            kg(w.kg_put_by),
            kg(w.kg_standing),
            kg(w.kg_to_give),
            kg(w.kg_lost),
            Cell::Hours(Minutes::from_hours(w.picking_hours)),
            Cell::text(drivers(&w.drivers)),
        ]);
    }
    facts.beside("chance_any_over", json!(found.season.chance_any_over));
    facts.beside("weeks_over_p50", json!(found.season.weeks_over.p50));
    let cannot = found.unavoidable.as_ref();
    facts.beside(
        "unavoidable_chance",
        json!(cannot.map_or(0.0, |u| u.chance)),
    );
    facts.beside("unavoidable_hours", json!(cannot.map_or(0.0, |u| u.hours)));
    facts.beside(
        "goals",
        serde_json::Value::Array(found.goals.iter().map(goal_fact).collect()),
    );
    facts
}

fn goal_fact(goal: &GoalSeason) -> serde_json::Value {
    json!({
        "products": goal.products,
        "containers_wanted": goal.wanted,
        "containers_p10": goal.containers.p10,
        "containers_p50": goal.containers.p50,
        "containers_p90": goal.containers.p90,
        "chance_of_goal": goal.chance,
    })
}
