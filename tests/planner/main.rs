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
                "minutes_per_kg": x.minutes_per_kg,
            })).collect::<Vec<_>>(),
            "group": p.group, "setup_min": p.setup_min, "minutes_per_kg": p.minutes_per_kg,
            "least_kg": p.least_kg, "within_days": p.within_days,
            "dislike_per_kg": p.dislike_per_kg,
            "appliance": p.appliance.map(|a| json!({
                "which": a.which, "load_kg": a.load_kg, "load_min": a.load_min,
                "hand_min": a.hand_min,
            })),
        })).collect::<Vec<_>>(),
        "groups": instance.groups.iter().map(|g| g.setup_min).collect::<Vec<_>>(),
        "appliances": instance.appliances,
        "limits": instance.limits.iter().map(|l| json!({
            "days": l.days, "amount": l.amount,
            "terms": l.terms.iter().map(|t| json!({
                "product": t.product, "per_kg": t.per_kg, "per_use": t.per_use,
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
fn bounds() {
    let price = [7886.3, 10525.6, 7230.5];
    for seed in 1..=3 {
        let (merged, _) = problem(15, 26, seed, Kind::Plain).merged();
        for weeks in [3, 4, 6] { for rounds in [1, 6] {
            let start = std::time::Instant::now();
            let b = plan(&merged, Effort{ nodes: 1, sweeps: 0, bound_weeks: weeks, bound_rounds: rounds, ..Effort::default()});
            eprintln!("Plain {seed} weeks {weeks} rounds {rounds}: {:.1} gap {:.2} t {:.1}", b.bound.unwrap(), 100.0*(1.0-b.bound.unwrap()/price[seed as usize-1]), start.elapsed().as_secs_f64());
        }}
    }
}
