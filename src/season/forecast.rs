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

/// Most amounts that may be held at once (four bytes each); more rows are worked in several goes.
const MOST_CELLS: usize = 60_000_000;

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
    /// kg from the week of the day on from which the forecast looks.
    pub ahead: Spread,
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
    let mut bands: Vec<Band> = rows_of(plan, by)
        .into_iter()
        .map(|whose| Band::of(plan, whose))
        .collect();
    let mut rows = Vec::with_capacity(bands.len());
    let draws = settings.draws as usize;
    let mut garden = vec![vec![0.0; draws]; usize::from(plan.horizon().weeks())];
    while !bands.is_empty() {
        let mut cells = 0;
        let fit = bands
            .iter()
            .take_while(|band| {
                cells += band.weeks.len() * draws;
                cells <= MOST_CELLS
            })
            .count();
        let later = bands.split_off(fit.clamp(1, bands.len()));
        rows.extend(work(plan, settings, &bands, &mut garden));
        bands = later;
    }
    let garden = summarise(plan, Whose::Garden, draws, |week, values| {
        values.extend_from_slice(&garden[week]);
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

/// A row and the weeks in which it can have anything.
struct Band {
    whose: Whose,
    weeks: std::ops::Range<usize>,
}

impl Band {
    /// Weeks from the first start to the last day of the plantings that count to a row.
    fn of(plan: &Plan, whose: Whose) -> Self {
        let week = |day: u16| usize::from(day / 7);
        let all = usize::from(plan.horizon().weeks());
        let (mut from, mut until) = (all, 0);
        for (k, p) in plan.plantings.iter().enumerate() {
            if p.alive && owners(plan, k).contains(&Some(whose)) {
                from = from.min(week(p.life.start));
                until = until.max(week(p.life.limit) + 1).min(all);
            }
        }
        let weeks = from.min(until)..until;
        Self { whose, weeks }
    }
}

/// Rows to which a planting's main and second food may count.
fn owners(plan: &Plan, planting: usize) -> [Option<Whose>; 4] {
    let p = &plan.plantings[planting];
    let id = PlantingId(planting);
    [
        Some(Whose::Crop(p.crop_id)),
        Some(Whose::Planting(id)),
        p.second_crop.map(Whose::Crop),
        p.second_crop.map(|_| Whose::Second(id)),
    ]
}

/// Amounts of some rows in one chunk of draws.
struct Cells {
    first_draw: usize,
    /// kg; shape rows × their weeks × draws of the chunk. Weeks that nothing falls into are never touched.
    kg: Vec<f32>,
}

/// Works out some rows, and adds what is in them to the garden.
fn work(plan: &Plan, settings: &Settings, bands: &[Band], garden: &mut [Vec<f32>]) -> Vec<Row> {
    let chunk = CHUNK as usize;
    let last_week = garden.len() - 1;
    // Where each row's first week would lie if its weeks began with the horizon.
    let mut cells = 0;
    let places: Vec<usize> = bands
        .iter()
        .map(|band| {
            cells += band.weeks.len();
            cells - band.weeks.len()
        })
        .collect();
    let row_of = |whose: Option<Whose>| bands.iter().position(|band| Some(band.whose) == whose);
    // For each planting and each of its foods the row and its first week.
    let rows: Vec<[Option<(usize, usize)>; 2]> = (0..plan.len())
        .map(|k| {
            let [crop, main, second_crop, second] = owners(plan, k);
            [
                row_of(crop).or(row_of(main)),
                row_of(second_crop).or(row_of(second)),
            ]
            .map(|row| row.map(|row| (places[row], bands[row].weeks.start)))
        })
        .collect();
    let wanted: Vec<bool> = rows.iter().map(|r| r.iter().any(Option::is_some)).collect();
    let done = drive(
        plan,
        settings,
        &wanted,
        |k| Cells {
            first_draw: k * chunk,
            kg: vec![0.0; cells * chunk],
        },
        |cells: &mut Cells, draw, planting, sheet: &Sheet| {
            for at in plan.places.of(planting, draw) {
                let at = at as usize - cells.first_draw;
                for lot in &sheet.lots {
                    if let Some((place, first)) = rows[planting][usize::from(lot.second)] {
                        let week = usize::from(lot.day / 7).min(last_week);
                        cells.kg[(place + week - first) * chunk + at] += lot.kg as f32;
                    }
                }
            }
        },
        |_, _| (),
    );
    let draws = settings.draws as usize;
    for (band, place) in bands.iter().zip(&places) {
        for (week, sums) in garden[band.weeks.clone()].iter_mut().enumerate() {
            for cells in &done {
                let from = (place + week) * chunk;
                let of_chunk = sums[cells.first_draw..].iter_mut();
                for (sum, kg) in of_chunk.zip(&cells.kg[from..from + chunk]) {
                    *sum += kg;
                }
            }
        }
    }
    (0..bands.len())
        .into_par_iter()
        .map(|row| {
            let Band { whose, weeks } = &bands[row];
            summarise(plan, *whose, draws, |week, values| {
                if weeks.contains(&week) {
                    let place = places[row] + week - weeks.start;
                    for cells in &done {
                        let count = chunk.min(draws - cells.first_draw);
                        values.extend_from_slice(&cells.kg[place * chunk..place * chunk + count]);
                    }
                }
            })
        })
        .collect()
}

/// Quantiles of one row, whose amounts of a week come from `fill`.
fn summarise(plan: &Plan, whose: Whose, draws: usize, fill: impl Fn(usize, &mut Vec<f32>)) -> Row {
    let mut totals = vec![0.0_f32; draws];
    let mut aheads = vec![0.0_f32; draws];
    let mut values: Vec<f32> = Vec::with_capacity(draws);
    let this_week = usize::from(plan.today() / 7);
    let weeks = (0..usize::from(plan.horizon().weeks()))
        .map(|week| {
            values.clear();
            fill(week, &mut values);
            for (total, kg) in totals.iter_mut().zip(&values) {
                *total += kg;
            }
            if week >= this_week {
                for (ahead, kg) in aheads.iter_mut().zip(&values) {
                    *ahead += kg;
                }
            }
            spread(&mut values)
        })
        .collect();
    Row {
        whose,
        weeks,
        total: spread(&mut totals),
        ahead: spread(&mut aheads),
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
                // The forecast looks from its first day here, so all of it is still ahead.
                assert_eq!(row.ahead, row.total);
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

    /// What is ahead is the sum of the weeks from the day's week on.
    #[test]
    fn what_is_ahead_begins_with_the_week_of_the_day() {
        let mut garden = fixture::year();
        garden.plantings.truncate(3);
        let plan = compile(&garden, date("2026-08-05"));
        let f = forecast(&plan, &SETTINGS, By::Planting);
        let from = f
            .weeks
            .iter()
            .position(|w| w.monday() == date("2026-08-03"))
            .unwrap();
        assert!(from > 10);
        for row in f.rows.iter().chain([&f.garden]) {
            let sum: f64 = row.weeks[from..].iter().map(|s| s.mean).sum();
            assert!((sum - row.ahead.mean).abs() <= 1e-4 * sum);
            assert!(row.ahead.p90 <= row.total.p90);
        }
        // Okra is in the middle of bearing.
        let okra = &f.rows[1];
        assert!(
            okra.ahead.mean > 0.2 * okra.total.mean && okra.ahead.mean < 0.95 * okra.total.mean
        );
    }

    /// Rows worked in several goes are the rows worked at once.
    #[test]
    fn rows_do_not_depend_on_each_other() {
        let plan = compile(&fixture::year(), date("2026-03-01"));
        let whole = forecast(&plan, &SETTINGS, By::Planting);
        let mut garden = vec![vec![0.0; 700]; whole.weeks.len()];
        for row in &whole.rows {
            let band = Band::of(&plan, row.whose);
            assert_eq!(
                work(&plan, &SETTINGS, &[band], &mut garden),
                std::slice::from_ref(row)
            );
        }
        let mean = |week: &Vec<f32>| week.iter().map(|kg| f64::from(*kg)).sum::<f64>() / 700.0;
        for (week, spread) in garden.iter().zip(&whole.garden.weeks) {
            assert!((mean(week) - spread.mean).abs() <= 1e-5 * spread.mean);
        }
    }
}
