//! The session planner on made-up problems of three sizes.

mod synthetic;

use putby::kitchen::plan::solve::{Effort, plan};
use synthetic::{Kind, problem};

#[test]
#[ignore = "prints a table; run by hand in release"]
fn table() {
    for kind in [Kind::Plain, Kind::Full] {
        for (crops, weeks) in [(8, 12), (15, 26), (30, 52)] {
            for seed in 1..=3 {
                let instance = problem(crops, weeks, seed, kind);
                let (merged, _) = instance.merged();
                let start = std::time::Instant::now();
                let mut effort = Effort { bound_rounds: 0, ..Effort::default() };
                let a = plan(&merged, effort);
                let t1 = start.elapsed().as_secs_f64();
                effort.bound_rounds = 6;
                let b = plan(&merged, Effort{ nodes: 1, sweeps: 0, ..effort});
                let t2 = start.elapsed().as_secs_f64();
                eprintln!("{kind:?} {crops}x{weeks} {seed}: buckets {} greedy {:.1} rolling {:.1} price {:.1} bound {:?} gap {:.2}% proven {}/{} t {:.1} +{:.1}",
                    merged.buckets.len(), a.greedy_price, a.rolling_price, a.price, b.bound, 100.0*(1.0 - b.bound.unwrap_or(0.0)/a.price), a.proven, a.stretches, t1, t2-t1);
            }
        }
    }
}
