//! What the machine at hand can do at most, to set the ensemble's and the kitchen's time beside it.
//!
//! `cargo bench --bench machine` measures, on one thread and on all: bytes read a second from memory and from the nearest
//! cache, additions and multiplications of f64 a second in independent chains, and loads with an addition whose next
//! address is known only from the last (a look-up at a time). Median of five runs each.
#![allow(clippy::print_stdout, reason = "a bench")]

use std::hint::black_box;
use std::time::Instant;

/// Numbers in a list that no cache holds: 256 MiB of u32.
const MANY: usize = 64 << 20;
/// Numbers in a list that the nearest cache holds: 16 KiB of u32.
const FEW: usize = 4 << 10;

fn main() {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    println!(
        "{:44} {:>10} {:>10}",
        "",
        "1 thread",
        format!("{threads} threads")
    );
    let row = |name: &str, unit: &str, work: &(dyn Fn() -> f64 + Sync)| {
        let one = median(|| rate(1, work));
        let all = median(|| rate(threads, work));
        println!("{name:44} {one:10.2} {all:10.2}  {unit}");
    };
    let many: Vec<u32> = (0..MANY as u32).collect();
    row("read from memory", "10⁹ bytes/s", &|| {
        black_box(sum(&many));
        4e-9 * MANY as f64
    });
    let few: Vec<u32> = (0..FEW as u32).collect();
    row("read from the nearest cache", "10⁹ bytes/s", &|| {
        for _ in 0..20_000 {
            black_box(sum(black_box(&few)));
        }
        4e-9 * 20_000.0 * FEW as f64
    });
    row("f64 multiplied and added, independent", "10⁹/s", &|| {
        let mut x = black_box([1.0_f64; 32]);
        for _ in 0..4_000_000 {
            for v in &mut x {
                *v = *v * 0.999_999_9 + 1e-7;
            }
        }
        black_box(x);
        2e-9 * 32.0 * 4e6
    });
    let next: Vec<u32> = (0..FEW as u32)
        .map(|i| (i * 1_657 + 71) % FEW as u32)
        .collect();
    row("look-ups, each led to by the last", "10⁹/s", &|| {
        let mut at: usize = 0;
        for _ in 0..20_000_000 {
            at = next[at] as usize;
        }
        black_box(at);
        2e-2
    });
}

fn sum(list: &[u32]) -> u32 {
    list.iter().fold(0, |a, b| a.wrapping_add(*b))
}

/// What so many threads, each doing the work once, get done in a second; the work returns how much it is.
fn rate(threads: usize, work: &(dyn Fn() -> f64 + Sync)) -> f64 {
    let clock = Instant::now();
    let done: f64 = std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        let each = running
            .into_iter()
            .map(|thread| thread.join().expect("the work ends"));
        each.sum()
    });
    done / clock.elapsed().as_secs_f64()
}

fn median(measure: impl Fn() -> f64) -> f64 {
    let mut five: Vec<f64> = (0..5).map(|_| measure()).collect();
    five.sort_by(f64::total_cmp);
    five[2]
}
