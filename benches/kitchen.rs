//! Where the time of `kitchen` goes: the seasons alone, lived through in the kitchen, and with their figures gathered.
//!
//! `cargo bench --bench kitchen -- [FOLDER [DRAWS]]` times the garden in FOLDER, or the sample, on one thread and on all.
//! The last two lines hold the line before them. Times are medians of five.
#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a bench")]

use putby::garden::Garden;
use putby::input;
use putby::kitchen::accumulate::Accumulator;
use putby::kitchen::context::{Context, compile};
use putby::kitchen::day_by_day::{Scratch, day_by_day};
use putby::kitchen::overload::overload;
use putby::learning::record::with_counted_bags;
use putby::learning::this_season::this_season;
use putby::season::ensemble::{self, Settings};
use putby::season::plan::{self, Plan};
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|w| !w.starts_with("--"))
        .collect();
    let loaded = match words.first() {
        Some(folder) => input::load(Path::new(folder)),
        None => input::load_files(&input::sample::files()),
    };
    let garden = loaded.expect("the garden can be read");
    let draws = words.get(1).map_or(10_000, |w| w.parse().unwrap());
    let settings = Settings { draws, seed: 1 };
    for threads in [1, 0] {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| time(&garden, &settings));
    }
}

/// Times the parts on the threads of the pool that it is called in.
fn time(garden: &Garden, settings: &Settings) {
    let as_of = garden.as_of.expect("the garden has a day");
    let mut plan = plan::compile(garden, as_of);
    let horizon = plan.horizon();
    let ctx = compile(garden, horizon.first, horizon.days, as_of);
    let rows = with_counted_bags(garden);
    println!("threads: {}", rayon::current_num_threads());
    told("seasons alone", || seasons(&plan, settings));
    let so_far = || this_season(garden, &rows, &plan, as_of, settings);
    told("seasons weighed by the pickings so far", || {
        black_box(so_far());
    });
    if let Some(found) = so_far() {
        plan.move_draws(&found.orders, found.told());
    }
    told("weighed seasons", || seasons(&plan, settings));
    told("lived through in the kitchen", || {
        days(&plan, &ctx, settings)
    });
    told("with the figures gathered", || whole(&plan, &ctx, settings));
}

fn told(what: &str, work: impl Fn()) {
    let mut times: Vec<f64> = (0..5)
        .map(|_| {
            let clock = Instant::now();
            work();
            clock.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!("{:8.3} s   {what}", times[2]);
}

fn seasons(plan: &Plan, settings: &Settings) {
    ensemble::run(
        plan,
        settings,
        |_| (),
        |(), _, season| {
            black_box(season);
        },
    );
}

fn days(plan: &Plan, ctx: &Context, settings: &Settings) {
    ensemble::run(
        plan,
        settings,
        |_| Scratch::new(ctx),
        |scratch, _, season| {
            black_box(day_by_day(ctx, season, scratch));
        },
    );
}

fn whole(plan: &Plan, ctx: &Context, settings: &Settings) {
    let chunks = ensemble::run(
        plan,
        settings,
        |_| (Accumulator::new(ctx, 250), Scratch::new(ctx)),
        |(accumulator, scratch), _, season| {
            accumulator.add(ctx, day_by_day(ctx, season, scratch));
        },
    );
    black_box(overload(ctx, chunks.into_iter().map(|(a, _)| a).collect()));
}
