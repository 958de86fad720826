//! The facts of `putby stores` for machines: a row a product; freezer, shelf and what is to be filled beside them.

use super::setting::Setting;
use super::stores::vessel_name;
use super::stores_room;
use crate::garden::units::Volume;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::keeping::Batch;
use crate::kitchen::make_room::MakeRoom;
use crate::output::report::Facts;
use crate::output::table::Cell;
use serde_json::json;

/// A row a product: those that may be made, then what else is in store.
pub(super) fn facts(
    setting: &Setting,
    found: &KitchenForecast,
    batches: &[Batch],
    room: Option<&MakeRoom>,
) -> Facts {
    let garden = &setting.garden;
    let mut facts = Facts::new(&[
        "product",
        "store",
        "containers_now",
        "oldest",
        "containers_p10",
        "containers_p50",
        "containers_p90",
        "goal",
        "chance_of_goal",
        "litres",
        "best_until",
        "last_day",
        "eat_to_make_room",
        "make_room_by",
    ]);
    let to_eat = |id| {
        let (containers, by) = room
            .and_then(|room| stores_room::of_product(room, id))
            .unzip();
        [
            Cell::maybe(containers, Cell::Containers),
            Cell::maybe(by, Cell::Date),
        ]
    };
    let of = |id| batches.iter().filter(move |b| b.product == id);
    for p in &found.products {
        let goal = found.goals.iter().find(|g| g.ids.contains(&p.product));
        let oldest = of(p.product).next();
        let [eat, by] = to_eat(p.product);
        facts.push(vec![
            Cell::text(p.name.clone()),
            Cell::text(p.store.name()),
            Cell::Containers(p.now),
            Cell::maybe(p.oldest, Cell::Date),
            Cell::Containers(p.containers.p10),
            Cell::Containers(p.containers.p50),
            Cell::Containers(p.containers.p90),
            Cell::maybe(goal.and_then(|g| g.wanted), Cell::Containers),
            Cell::maybe(goal.and_then(|g| g.chance), Cell::Chance),
            Cell::Room(Volume::from_l(p.litres)),
            Cell::maybe(oldest, |b| Cell::Date(b.best_until)),
            Cell::maybe(oldest, |b| Cell::Date(b.last_day)),
            eat,
            by,
        ]);
    }
    let mut last = None;
    for oldest in batches {
        let made = found.products.iter().any(|p| p.product == oldest.product);
        if made || last.replace(oldest.product) == Some(oldest.product) {
            continue;
        }
        let now: f64 = of(oldest.product).map(|b| b.containers).sum();
        let litres: f64 = of(oldest.product).map(|b| b.litres).sum();
        let [eat, by] = to_eat(oldest.product);
        facts.push(vec![
            Cell::text(garden.product(oldest.product).name.clone()),
            Cell::text(oldest.store.name()),
            Cell::Containers(now),
            Cell::Date(oldest.made),
            Cell::Containers(now),
            Cell::Containers(now),
            Cell::Containers(now),
            Cell::Empty,
            Cell::Empty,
            Cell::Room(Volume::from_l(litres)),
            Cell::Date(oldest.best_until),
            Cell::Date(oldest.last_day),
            eat,
            by,
        ]);
    }
    let peak = &found.season.freezer_peak_l;
    let free = garden.household.kitchen.freezer_free.map(Volume::l);
    facts.beside(
        "freezer",
        json!({
            "litres_now": found.season.freezer_now_l,
            "litres_peak_p10": peak.p10,
            "litres_peak_p50": peak.p50,
            "litres_peak_p90": peak.p90,
            "litres_for_garden": free,
            "chance_full": room.map(|room| room.chance_full),
            "litres_missing": room.map(|room| room.missing_l),
            "make_room": room.map_or_else(Vec::new, |room| stores_room::steps(setting, room)),
        }),
    );
    let filled: Vec<_> = found
        .season
        .vessels
        .iter()
        .map(|v| {
            json!({
                "what": vessel_name(v.what),
                "filled_p10": v.filled.p10,
                "filled_p50": v.filled.p50,
                "filled_p90": v.filled.p90,
                "on_hand": v.on_hand,
                "chance_used_up": v.chance_used_up,
            })
        })
        .collect();
    facts.beside("to_fill", json!(filled));
    let dates: Vec<_> = (found.shelf_weeks.iter())
        .map(|&w| found.weeks[w].week.sunday().to_string())
        .collect();
    let shelf: Vec<_> = (found.products.iter())
        .flat_map(|p| {
            p.shelf
                .iter()
                .zip(&dates)
                .map(move |(there, date)| (p, there, date))
        })
        .filter(|(_, there, _)| there.p90 > 0.0)
        .map(|(p, there, date)| {
            json!({
                "product": p.name,
                "date": date,
                "containers_p10": there.p10,
                "containers_p50": there.p50,
                "containers_p90": there.p90,
            })
        })
        .collect();
    facts.beside("shelf", json!(shelf));
    facts
}
