//! The session planner on made-up problems: against a general solver's stored values, and its checker on every plan.
//!
//! The stored values (`tests/checks/planner.json`) come from SciPy's HiGHS by `tests/checks/planner.py`.

#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "tests")]

mod synthetic;

use putby::kitchen::checker::check;
use putby::kitchen::plan::instance::Instance;
use putby::kitchen::plan::solve::{self, Effort, Planned, plan};
use serde_json::{Value, json};
use std::time::Instant;
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
fn export() {
    // Writes the problems for the general solver where the variable says; without it there is nothing to do.
    let Ok(folder) = std::env::var("PUTBY_PLANNER_DIR") else {
        return;
    };
    std::fs::create_dir_all(&folder).unwrap();
    for (name, instance) in all() {
        let path = std::path::Path::new(&folder).join(name + ".json");
        std::fs::write(path, as_json(&instance).to_string()).unwrap();
    }
}

/// What the general solver found: its best value, a value that nothing undercuts, and its seconds.
fn stored(name: &str) -> (f64, f64, f64) {
    let store: Value = serde_json::from_str(include_str!("../checks/planner.json")).unwrap();
    let of = |key: &str| store["problems"][name][key].as_f64().unwrap();
    (of("value"), of("bound"), of("seconds"))
}

/// Plans a problem, checks the plan, and compares it with what the general solver found.
fn planned(name: &str, instance: &Instance, effort: Effort) -> Planned {
    let planned = plan(instance, effort);
    let report = check(instance, &planned.plan);
    assert_eq!(report.faults, [], "{name}");
    assert!(
        (report.price - planned.price).abs() < 1e-4 * planned.price,
        "{name}: the checker comes to {}, the planner to {}",
        report.price,
        planned.price
    );
    assert!(planned.price <= planned.greedy_price + 1e-6, "{name}");
    let (value, bound, _) = stored(name);
    assert!(planned.price >= bound - 0.01, "{name}: better than can be");
    if let Some(own) = planned.bound {
        assert!(own <= planned.price + 1e-6, "{name}: bound above the plan");
        // The general solver's value in the full problems is that of a slightly easier one.
        if name.starts_with("plain") {
            assert!(own <= value + 0.01, "{name}: bound above a known plan");
        }
    }
    planned
}

/// Small problems: the optimum of an independent model by SciPy's HiGHS, which is a lower bound for the full ones.
#[test]
fn small_problems_reach_the_optimum() {
    let exact = Effort {
        gap: 0.0,
        ..Effort::USUAL
    };
    let mut same = 0;
    for (name, instance) in all().filter(|(name, _)| name.contains("3x3")) {
        let (value, bound, _) = stored(&name);
        assert!(value - bound < 1e-3, "{name} was solved to the end");
        let planned = planned(&name, &instance, exact);
        let excess = planned.price / value - 1.0;
        if name.starts_with("plain") {
            assert!(excess.abs() < 1e-5, "{name}: {} for {value}", planned.price);
        } else {
            assert!(excess < 0.012, "{name}: {} for {value}", planned.price);
            same += usize::from(excess < 1e-4);
        }
    }
    assert!(
        same >= 8,
        "{same} of the full problems reach the easier optimum"
    );
}

/// Also where stretches are solved at the same time, whatever the number of threads.
#[test]
fn the_same_problem_has_the_same_plan() {
    let instance = problem(4, 16, 3, Kind::Full).merged().0;
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        (pool.build().unwrap()).install(|| plan(&instance, Effort::USUAL))
    };
    let first = on(1);
    assert!(first.stretches > 20, "{}", first.stretches);
    assert_eq!(first, on(3));
}

/// A season of eight products, solved to the end by the general solver.
#[test]
fn a_season_within_a_five_hundredth_of_the_best() {
    let name = "plain-8x12-5";
    let (_, instance) = all().find(|(n, _)| n == name).unwrap();
    let planned = planned(name, &instance, Effort::USUAL);
    let (value, ..) = stored(name);
    assert!(
        planned.price <= 1.002 * value,
        "{} for {value}",
        planned.price
    );
    assert!(planned.gap().unwrap() < 0.02);
}

/// Seconds since a moment by the clock, and seconds all threads have worked, where the system tells; a number of no
/// meaning elsewhere.
fn clock_and_work(since: Instant) -> (f64, f64) {
    let told = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // Fields 14 and 15 of the whole line, in hundredths of a second; the name before the bracket may hold blanks.
    let fields = told.rsplit(')').next().unwrap_or("").split_whitespace();
    let ticks: Vec<f64> = fields
        .skip(11)
        .take(2)
        .filter_map(|t| t.parse().ok())
        .collect();
    (
        since.elapsed().as_secs_f64(),
        ticks.iter().sum::<f64>() / 100.0,
    )
}

/// All sizes: at most 0.2 % above what the general solver found in 60 seconds. Prints the table of the developers' page.
#[test]
fn every_size() {
    // Minutes long: runs in a release build when the variable names some problems, `x` for all.
    let Ok(only) = std::env::var("PUTBY_PLANNER_ONLY") else {
        return;
    };
    let mut worst = 0.0_f64;
    for (name, instance) in all().filter(|(name, _)| name.contains(&only)) {
        let now = Instant::now();
        let begin = clock_and_work(now);
        let apart = Effort {
            bound_rounds: 0,
            ..Effort::USUAL
        };
        let found = planned(&name, &instance, apart);
        let after = clock_and_work(now);
        // Where the relaxation of a whole year is not solved there is no bound, and the table says so.
        let own = solve::bound(&instance, Effort::USUAL, &found.plan).unwrap_or(f64::NAN);
        let bounded = clock_and_work(now);
        let [plan_s, plan_work] = [after.0 - begin.0, after.1 - begin.1];
        let [bound_s, bound_work] = [bounded.0 - after.0, bounded.1 - after.1];
        let (value, bound, seconds) = stored(&name);
        let excess = 100.0 * (found.price / value - 1.0);
        worst = worst.max(if name.contains("3x3") { 0.0 } else { excess });
        eprintln!(
            "| {name} | {:.0} | {:.1} | {own:.1} | {:.2} % | {plan_s:.1} ({plan_work:.1}) | {bound_s:.1} ({bound_work:.1}) | {value:.1} | {bound:.1} | {seconds:.0} | {excess:+.2} % | {}/{} | {} |",
            found.greedy_price,
            found.price,
            100.0 * (1.0 - own / found.price),
            found.proven,
            found.stretches,
            found.toil / 1_000_000,
        );
    }
    assert!(worst <= 0.2, "{worst:.3} % above the general solver");
}
