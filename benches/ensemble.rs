//! How long `forecast` takes for three numbers of plantings and of draws, and the numbers of one garden for other programs to work with.
//!
//! `cargo bench --bench ensemble -- FOLDER [DRAWS]` times the garden in FOLDER with all, half and a quarter of its
//! plantings; `-- FOLDER DRAWS EXPORT` writes its numbers into the folder EXPORT instead.
#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a bench")]

use putby::garden::Garden;
use putby::season::ensemble::Settings;
use putby::season::forecast::{By, forecast};
use putby::season::{plain, plan};
use std::path::Path;
use std::time::Instant;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|w| !w.starts_with("--"))
        .collect();
    let Some(folder) = words.first() else {
        println!("name the folder of a garden");
        return;
    };
    let draws = words.get(1).map_or(10_000, |w| w.parse().unwrap());
    let garden = putby::input::load(Path::new(folder)).expect("the garden can be read");
    if let Some(export) = words.get(2) {
        write(&garden, draws, Path::new(export));
        return;
    }
    println!("plantings   draws   ns a planting and draw (median of 5)");
    let all = garden.plantings.len();
    for (plantings, draws) in [
        (all, draws),
        (all / 2, draws),
        (all / 4, draws),
        (all, draws / 2),
        (all, draws / 4),
    ] {
        let mut part = garden.clone();
        part.plantings.truncate(plantings);
        let plan = plan::compile(&part, part.as_of.expect("the garden has a day"));
        let mut times: Vec<f64> = (0..5)
            .map(|_| {
                let clock = Instant::now();
                let found = forecast(&plan, &Settings { draws, seed: 1 }, By::Crop);
                assert!(!found.rows.is_empty());
                clock.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let each = times[2] * 1e9 / (plantings as f64 * f64::from(draws));
        println!("{plantings:9} {draws:7}   {each:.0}");
    }
}

/// Writes what another program needs, and the weekly means to compare with.
fn write(garden: &Garden, draws: u32, to: &Path) {
    let plan = plan::compile(garden, garden.as_of.expect("the garden has a day"));
    let settings = Settings { draws, seed: 1 };
    let plain = plain::plain(&plan, &settings);
    std::fs::create_dir_all(to).unwrap();
    let f32s = |values: &[f32]| {
        values
            .iter()
            .flat_map(|v| v.to_le_bytes())
            .collect::<Vec<u8>>()
    };
    std::fs::write(to.join("mean_c.f32"), f32s(&plain.mean_c)).unwrap();
    std::fs::write(to.join("daylight.f32"), f32s(&plain.daylight_hours)).unwrap();
    let days: Vec<u8> = plain
        .cold_days
        .iter()
        .flat_map(|v| v.to_le_bytes())
        .collect();
    std::fs::write(to.join("cold.i32"), days).unwrap();
    std::fs::write(to.join("plantings.csv"), &plain.plantings).unwrap();
    let sizes = format!(
        "{{\"days\":{},\"draws\":{draws},\"thresholds\":{},\"winters\":{}}}\n",
        plain.days, plain.thresholds, plain.winters
    );
    std::fs::write(to.join("sizes.json"), sizes).unwrap();
    let found = forecast(&plan, &settings, By::Crop);
    let mut ours = "crop,week,p10,p50,p90,mean\n".to_owned();
    for row in &found.rows {
        if let putby::season::forecast::Whose::Crop(id) = row.whose {
            for (week, s) in row.weeks.iter().enumerate() {
                ours += &format!("{},{week},{},{},{},{}\n", id.0, s.p10, s.p50, s.p90, s.mean);
            }
        }
    }
    std::fs::write(to.join("ours.csv"), ours).unwrap();
}
