//! How much becomes ready week by week, of each crop or of each planting.
//!
//! Quantiles of a sum are taken of the sum, draw by draw, never added up. Says what is ready, not what is picked.

use rayon::prelude::*;

use super::ensemble::{CHUNK, Settings, drive};
use super::life::Sheet;
use super::plan::Plan;
use super::quantile::{Spread, spread};
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::week::Week;

/// Most amounts held in memory at once (four bytes each); more rows are worked in several goes.
const MOST_CELLS: usize = 40_000_000;

/// What a row of the forecast stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// One row a crop; a second food counts with the crop it is.
    Crop,
    /// One row a planting, and one more for its second food.
    Planting,
}

/// Whose amounts a row holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Whose {
    /// A crop's.
    Crop(CropId),
    /// A planting's main food.
    Planting(PlantingId),
    /// A planting's second food.
    Second(PlantingId),
    /// The whole garden's.
    Garden,
}

/// Amounts of one row.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Whose they are.
    pub whose: Whose,
    /// kg of each week of the forecast.
    pub weeks: Vec<Spread>,
    /// kg over the whole forecast.
    pub total: Spread,
}

/// Weekly amounts ready.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The weeks, without gap.
    pub weeks: Vec<Week>,
    /// One row a crop or planting, in the order of the tables.
    pub rows: Vec<Row>,
    /// The whole garden.
    pub garden: Row,
}

/// Returns the weekly amounts ready of every crop or planting.
#[must_use]
pub fn forecast(plan: &Plan, settings: &Settings, by: By) -> Forecast {
    let weeks = usize::from(plan.horizon().weeks());
    let whose = rows_of(plan, by);
    let draws = settings.draws as usize;
    let at_once = (MOST_CELLS / (weeks.max(1) * draws.max(1))).max(1);
    let mut rows: Vec<Row> = Vec::with_capacity(whose.len());
    for some in whose.chunks(at_once) {
        rows.extend(work(plan, settings, some, weeks));
    }
    let garden = work(plan, settings, &[Whose::Garden], weeks)
        .pop()
        .unwrap_or(Row {
            whose: Whose::Garden,
            weeks: Vec::new(),
            total: Spread::default(),
        });
    let first = Week::of(plan.horizon().first);
    let weeks = (0..plan.horizon().weeks())
        .map(|k| first.plus(i64::from(k)))
        .collect();
    Forecast {
        weeks,
        rows,
        garden,
    }
}

/// Rows there are, in the order of the crop table or of the plantings.
fn rows_of(plan: &Plan, by: By) -> Vec<Whose> {
    let alive = plan.plantings.iter().enumerate().filter(|(_, p)| p.alive);
    let mut whose: Vec<Whose> = match by {
        By::Crop => alive
            .flat_map(|(_, p)| [Some(p.crop_id), p.second_crop])
            .flatten()
            .map(Whose::Crop)
            .collect(),
        By::Planting => {
            return alive
                .flat_map(|(k, p)| {
                    let id = PlantingId(k);
                    [
                        Some(Whose::Planting(id)),
                        p.second_crop.map(|_| Whose::Second(id)),
                    ]
                })
                .flatten()
                .collect();
        }
    };
    whose.sort_unstable();
    whose.dedup();
    whose
}

/// Amounts of some rows in one chunk of draws.
struct Cells {
    first_draw: usize,
    /// kg; shape rows × weeks × draws of the chunk.
    kg: Vec<f32>,
}

/// Works out some rows.
fn work(plan: &Plan, settings: &Settings, whose: &[Whose], weeks: usize) -> Vec<Row> {
    let chunk = CHUNK as usize;
    // Row of each planting's main and second food among the wanted ones.
    let place = |w: Whose| {
        whose
            .iter()
            .position(|known| *known == w || *known == Whose::Garden)
    };
    let places: Vec<[Option<usize>; 2]> = plan
        .plantings
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let id = PlantingId(k);
            [
                place(Whose::Crop(p.crop_id)).or(place(Whose::Planting(id))),
                p.second_crop
                    .and_then(|crop| place(Whose::Crop(crop)).or(place(Whose::Second(id)))),
            ]
        })
        .collect();
    let wanted: Vec<bool> = places
        .iter()
        .zip(&plan.plantings)
        .map(|(rows, p)| p.alive && rows.iter().any(Option::is_some))
        .collect();
    let done = drive(
        plan,
        settings,
        &wanted,
        |k| Cells {
            first_draw: k * chunk,
            kg: vec![0.0; whose.len() * weeks * chunk],
        },
        |cells: &mut Cells, draw, planting, sheet: &Sheet| {
            let at = draw as usize - cells.first_draw;
            for lot in &sheet.lots {
                if let Some(row) = places[planting][usize::from(lot.second)] {
                    let week = usize::from(lot.day / 7).min(weeks - 1);
                    cells.kg[(row * weeks + week) * chunk + at] += lot.kg as f32;
                }
            }
        },
        |_, _| (),
    );
    (0..whose.len())
        .into_par_iter()
        .map(|row| summarise(whose[row], &done, row, weeks, settings.draws as usize))
        .collect()
}

/// Quantiles of one row.
fn summarise(whose: Whose, chunks: &[Cells], row: usize, weeks: usize, draws: usize) -> Row {
    let chunk = CHUNK as usize;
    let mut totals = vec![0.0_f32; draws];
    let mut values: Vec<f32> = Vec::with_capacity(draws);
    let weeks = (0..weeks)
        .map(|week| {
            values.clear();
            for cells in chunks {
                let from = (row * weeks + week) * chunk;
                let count = chunk.min(draws - cells.first_draw);
                values.extend_from_slice(&cells.kg[from..from + count]);
            }
            for (total, kg) in totals.iter_mut().zip(&values) {
                *total += kg;
            }
            spread(&mut values)
        })
        .collect();
    Row {
        whose,
        weeks,
        total: spread(&mut totals),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::fixture::{self, date};
    use crate::season::plan::compile;
    use crate::season::windows::windows;

    const SETTINGS: Settings = Settings {
        draws: 700,
        seed: 1,
    };

    #[test]
    fn weeks_add_up_to_totals_and_rows_to_the_garden() {
        let plan = compile(&fixture::year(), date("2026-03-01"));
        let windows = windows(&plan, &SETTINGS);
        let ready: f64 = windows.iter().map(|w| w.kg.mean + w.kg_second).sum();
        for by in [By::Crop, By::Planting] {
            let f = forecast(&plan, &SETTINGS, by);
            for row in f.rows.iter().chain([&f.garden]) {
                assert_eq!(row.weeks.len(), f.weeks.len());
                let sum: f64 = row.weeks.iter().map(|s| s.mean).sum();
                assert!((sum - row.total.mean).abs() < 1e-4 * sum, "{:?}", row.whose);
            }
            let rows: f64 = f.rows.iter().map(|r| r.total.mean).sum();
            assert!((rows - f.garden.total.mean).abs() < 1e-4 * rows);
            assert!((rows - ready).abs() < 1e-4 * rows);
            // A garden is surer than the sum of its crops: quantiles are of the sum.
            let p10s: f64 = f.rows.iter().map(|r| r.total.p10).sum();
            assert!(f.garden.total.p10 > p10s);
        }
        let by_crop = forecast(&plan, &SETTINGS, By::Crop);
        // Turnip leaves count as kale, the crop they are in this garden.
        assert!(by_crop.rows[0].total.mean > windows[3].kg.mean + 0.9 * windows[2].kg_second);
    }
}
