//! The session planner on made-up problems: against a general solver's stored values, and its checker on every plan.
//!
//! The stored values (`tests/checks/planner.json`) come from SciPy's HiGHS by `tests/checks/planner.py`.

mod synthetic;

use putby::kitchen::plan::instance::Instance;
use putby::kitchen::plan::solve::{Effort, plan};
use serde_json::{Value, json};
use synthetic::{Kind, problem};

/// Sizes as crops, weeks and how many of each.
const SIZES: [(usize, i32, u64); 4] = [(3, 3, 12), (8, 12, 5), (15, 26, 5), (30, 52, 3)];

fn name(kind: Kind, crops: usize, weeks: i32, seed: u64) -> String {
    format!("{kind:?}-{crops}x{weeks}-{seed}").to_lowercase()
}

fn all() -> impl Iterator<Item = (String, Instance)> {
    [Kind::Plain, Kind::Full].into_iter().flat_map(|kind| {
        SIZES.into_iter().flat_map(move |(crops, weeks, seeds)| {
            (1..=seeds).map(move |seed| {
                let (merged, _) = problem(crops, weeks, seed, kind).merged();
                (name(kind, crops, weeks, seed), merged)
            })
        })
    })
}

fn as_json(instance: &Instance) -> Value {
    let p = &instance.prices;
    json!({
        "sessions": instance.sessions.iter().map(|s| json!({
            "day": s.day, "minutes": s.minutes, "overtime": s.overtime, "hands": s.hands,
        })).collect::<Vec<_>>(),
        "buckets": instance.buckets.iter().map(|b| json!({
            "food": b.food, "kg": b.kg, "day": b.day, "best_day": b.best_day,
            "last_day": b.last_day, "loss_per_kg": b.loss_per_kg,
        })).collect::<Vec<_>>(),
        "products": instance.products.iter().map(|p| json!({
            "parts": p.parts.iter().map(|x| json!({
                "food": x.food, "least": x.least, "greatest": x.greatest,
                "minutes_per_kg": x.minutes_per_kg, "loads_per_kg": x.loads_per_kg,
            })).collect::<Vec<_>>(),
            "group": p.group, "setup_min": p.setup_min,
            "least_kg": p.least_kg, "within_days": p.within_days,
            "dislike_per_kg": p.dislike_per_kg,
            "appliance": p.appliance.map(|a| json!({
                "which": a.which, "load_min": a.load_min, "hand_min": a.hand_min,
            })),
        })).collect::<Vec<_>>(),
        "groups": instance.groups.iter().map(|g| g.setup_min).collect::<Vec<_>>(),
        "appliances": instance.appliances,
        "limits": instance.limits.iter().map(|l| json!({
            "amount": l.amount,
            "terms": l.terms.iter().map(|t| json!({
                "product": t.product, "per_kg": t.per_kg, "per_use": t.per_use, "days": t.days,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "prices": {
            "session": p.session, "setup_min": p.setup_min, "overtime_min": p.overtime_min,
            "stale_kg_day": p.stale_kg_day,
        },
        "kitchen_min": instance.kitchen_min,
    })
}

#[test]
#[ignore = "writes the problems for the general solver: PUTBY_PLANNER_DIR"]
fn export() {
    let folder = std::env::var("PUTBY_PLANNER_DIR").unwrap_or("target/planner".into());
    std::fs::create_dir_all(&folder).unwrap();
    for (name, instance) in all() {
        let path = std::path::Path::new(&folder).join(name + ".json");
        std::fs::write(path, as_json(&instance).to_string()).unwrap();
    }
}

#[test]
#[ignore = "experiment"]
fn table() {
    let store: Value = serde_json::from_str(include_str!("../checks/planner.json")).unwrap();
    let only = std::env::var("ONLY").unwrap_or_default();
    for (name, instance) in all().filter(|(n, _)| n.contains(&only)) {
        let start = std::time::Instant::now();
        let a = plan(&instance, Effort { bound_rounds: 0, ..Effort::default() });
        let t1 = start.elapsed().as_secs_f64();
        let report = putby::kitchen::checker::check(&instance, &a.plan);
        let known = store["problems"][&name]["value"].as_f64().unwrap_or(f64::NAN);
        let kb = store["problems"][&name]["bound"].as_f64().unwrap_or(f64::NAN);
        eprintln!("ROW {name}: greedy {:.1} rolling {:.1} price {:.2} ({:.2}) known {known:.2} bound {kb:.1} excess {:.3}% proven {}/{} t {t1:.1} faults {:?}", a.greedy_price, a.rolling_price, a.price, report.price, 100.0*(a.price/known-1.0), a.proven, a.stretches, report.faults.iter().map(|f| f.to_string()).collect::<Vec<_>>());
    }
}
