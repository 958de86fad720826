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

#[cfg(test)]
fn cpu() -> f64 {
    let s = std::fs::read_to_string("/proc/self/task/self/stat").or_else(|_| std::fs::read_to_string("/proc/thread-self/stat")).unwrap();
    let f: Vec<&str> = s.rsplit(')').next().unwrap().split_whitespace().collect();
    (f[11].parse::<f64>().unwrap() + f[12].parse::<f64>().unwrap()) / 100.0
}

#[test]
#[ignore = "experiment"]
fn table() {
    let store: Value = serde_json::from_str(include_str!("../checks/planner.json")).unwrap();
    let only = std::env::var("ONLY").unwrap_or_default();
    let num = |k: &str, d: f64| std::env::var(k).ok().map_or(d, |v| v.parse().unwrap());
    let mut sum = 0.0; let mut total = 0.0;
    for (name, instance) in all().filter(|(n, _)| only.split(',').any(|o| n.contains(o))) {
        let t0 = cpu();
        let mut e = Effort { gap: num("GAP", 0.002), bound_rounds: num("ROUNDS", 0.0) as usize, bound_weeks: num("BWEEKS", 3.0) as i32, bound_nodes: num("BNODES", 1000.0) as u64, ..Effort::default() };
        e.first.nodes = num("N0", 300.0) as u64; e.then[0].nodes = num("N1", 300.0) as u64; e.then[1].nodes = num("N2", 1000.0) as u64; e.then[1].weeks = num("W2", 4.0) as i32; e.then[1].sweeps = num("S2", 2.0) as usize;
        let a = plan(&instance, e);
        let t1 = cpu() - t0;
        let report = putby::kitchen::checker::check(&instance, &a.plan);
        let known = store["problems"][&name]["value"].as_f64().unwrap_or(f64::NAN);
        sum += a.price; total += t1;
        eprintln!("ROW {name}: greedy {:.1} rolling {:.1} price {:.2} ({:.2}) known {known:.2} excess {:.3}% proven {}/{} bound {:?} gap {:.2}% cpu {t1:.1} faults {:?}", a.greedy_price, a.rolling_price, a.price, report.price, 100.0*(a.price/known-1.0), a.proven, a.stretches, a.bound, 100.0*a.gap().unwrap_or(f64::NAN), report.faults.iter().map(|f| f.to_string()).collect::<Vec<_>>());
    }
    eprintln!("ROW sum {sum:.1} cpu {total:.1}");
}
