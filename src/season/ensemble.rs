//! Runs a plan many times over, on all cores, always with the same result.
//!
//! Draws are worked in chunks of fixed size and merged in fixed order; every random stream is keyed by name and chunk.
//! Draws that share a made run of weather lie together, so that its sums are worked out once and never stored; a planting
//! lives through a handful of draws before the next one has its turn, so that its numbers are at hand.

use rayon::prelude::*;

use super::draw::SeasonDraw;
use super::ends::Cold;
use super::gather::Gatherer;
use super::kept::{Kept, KeptChunk};
use super::life::{OwnLuck, Sheet, Sky, live};
use super::plan::Plan;
use super::streams::{Purpose, Stream, inverse_normals};
use super::weather::{self, Weather};
use super::yields::BETWEEN_CROPS;

/// Draws worked together.
pub(crate) const CHUNK: u32 = 250;
/// Draws that a planting lives through at a time; divides the chunk, and is the draws that share a run by default.
const HANDFUL: u32 = 5;

/// How often to draw and from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Number of draws.
    pub draws: u32,
    /// Seed of all random numbers.
    pub seed: u64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            draws: 10_000,
            seed: 1,
        }
    }
}

/// Runs every draw and hands it to `each`; returns one accumulator a chunk, in the order of the draws.
///
/// The result is the same for any number of threads. Plantings whose draws were moved come as they stand at each place.
pub fn run<A, I, F>(plan: &Plan, settings: &Settings, init: I, each: F) -> Vec<A>
where
    A: Send,
    I: Fn(usize) -> A + Sync,
    F: Fn(&mut A, u32, &SeasonDraw) + Sync,
{
    if !plan.places.untouched() {
        let kept = plan.kept.as_ref().filter(|k| k.settings == *settings);
        return match kept {
            Some(kept) => run_kept(plan, kept, init, each),
            None => run_moved(plan, settings, init, each),
        };
    }
    drive(
        plan,
        settings,
        &vec![true; plan.len()],
        |chunk| {
            let gatherers = (0..HANDFUL).map(|_| Gatherer::new(plan)).collect();
            (init(chunk), gatherers)
        },
        |(_, gatherers): &mut (A, Vec<Gatherer>), draw, planting, sheet| {
            gatherers[(draw % HANDFUL) as usize].take(planting, sheet);
        },
        |(acc, gatherers), draw| each(acc, draw, gatherers[(draw % HANDFUL) as usize].finish()),
    )
    .into_iter()
    .map(|(acc, _)| acc)
    .collect()
}

/// Runs every draw at its own place as [`run`] does, and keeps the seasons if they are few enough.
///
/// The plan must have no moved draws.
pub fn run_and_keep<A, I, F>(
    plan: &Plan,
    settings: &Settings,
    init: I,
    each: F,
) -> (Vec<A>, Option<Kept>)
where
    A: Send,
    I: Fn(usize) -> A + Sync,
    F: Fn(&mut A, u32, &SeasonDraw) + Sync,
{
    debug_assert!(plan.places.untouched(), "kept seasons are those drawn");
    if !Kept::fits(plan, settings) {
        return (run(plan, settings, init, each), None);
    }
    let done = drive(
        plan,
        settings,
        &vec![true; plan.len()],
        |chunk| {
            let gatherers = (0..HANDFUL).map(|_| Gatherer::new(plan)).collect();
            (init(chunk), KeptChunk::default(), gatherers)
        },
        |(_, _, gatherers): &mut (A, KeptChunk, Vec<Gatherer>), draw, planting, sheet| {
            gatherers[(draw % HANDFUL) as usize].take(planting, sheet);
        },
        |(acc, kept, gatherers), draw| {
            let gatherer = &mut gatherers[(draw % HANDFUL) as usize];
            gatherer.keep_in(kept);
            each(acc, draw, gatherer.finish());
        },
    );
    let (done, chunks) = done.into_iter().map(|(acc, kept, _)| (acc, kept)).unzip();
    let kept = Kept {
        settings: *settings,
        chunks,
    };
    (done, Some(kept))
}

/// Hands to `each` what stands at every place, from the seasons that were kept.
fn run_kept<A, I, F>(plan: &Plan, kept: &Kept, init: I, each: F) -> Vec<A>
where
    A: Send,
    I: Fn(usize) -> A + Sync,
    F: Fn(&mut A, u32, &SeasonDraw) + Sync,
{
    kept.chunks
        .par_iter()
        .enumerate()
        .map(|(chunk, seasons)| {
            let mut acc = init(chunk);
            let mut gatherer = Gatherer::new(plan);
            let first = chunk as u32 * CHUNK;
            for place in first..(first + CHUNK).min(kept.settings.draws) {
                for planting in 0..plan.len() {
                    let draw = plan.places.draw_at(planting, place) - first;
                    let own = seasons.at(draw as usize * plan.len() + planting);
                    gatherer.take_kept(planting, &own);
                }
                each(&mut acc, place, gatherer.finish());
            }
            acc
        })
        .collect()
}

/// Runs every draw and hands to `each` what stands at every place: known only when the whole chunk is done.
fn run_moved<A, I, F>(plan: &Plan, settings: &Settings, init: I, each: F) -> Vec<A>
where
    A: Send,
    I: Fn(usize) -> A + Sync,
    F: Fn(&mut A, u32, &SeasonDraw) + Sync,
{
    drive(
        plan,
        settings,
        &vec![true; plan.len()],
        |chunk| {
            let gatherers = (0..CHUNK).map(|_| Gatherer::new(plan)).collect();
            (init(chunk), gatherers)
        },
        |(_, gatherers): &mut (A, Vec<Gatherer>), draw, planting, sheet| {
            for place in plan.places.of(planting, draw) {
                gatherers[(place % CHUNK) as usize].take_another(planting, sheet);
            }
        },
        |(acc, gatherers), draw| {
            if draw + 1 == settings.draws || (draw + 1).is_multiple_of(CHUNK) {
                for place in draw / CHUNK * CHUNK..=draw {
                    each(acc, place, gatherers[(place % CHUNK) as usize].finish());
                }
            }
        },
    )
    .into_iter()
    .map(|(acc, _)| acc)
    .collect()
}

/// Runs every draw of the wanted plantings without gathering them.
///
/// The plantings of a handful of draws come one after the other, each with these draws in order; then the draws are done.
pub(crate) fn drive<A, I, P, D>(
    plan: &Plan,
    settings: &Settings,
    wanted: &[bool],
    init: I,
    planting_done: P,
    draw_done: D,
) -> Vec<A>
where
    A: Send,
    I: Fn(usize) -> A + Sync,
    P: Fn(&mut A, u32, usize, &Sheet) + Sync,
    D: Fn(&mut A, u32) + Sync,
{
    let chunks = settings.draws.div_ceil(CHUNK);
    let recorded = weather::recorded_years(plan, settings.seed);
    (0..chunks)
        .into_par_iter()
        .map(|chunk| {
            let mut acc = init(chunk as usize);
            let mut bench = Bench::new(plan, settings, u64::from(chunk));
            let mut made = MadeDays::new(plan);
            let mut sheet = Sheet::default();
            let last = ((chunk + 1) * CHUNK).min(settings.draws);
            for first in (chunk * CHUNK..last).step_by(HANDFUL as usize) {
                let draws = first..(first + HANDFUL).min(last);
                bench.turn(draws.len());
                if recorded.is_empty() {
                    made.make(plan, settings, draws.clone(), &mut bench.winter_streams);
                }
                let skies: Vec<Sky> = draws
                    .clone()
                    .zip(0..)
                    .map(|(draw, place)| {
                        if recorded.is_empty() {
                            made.sky(place)
                        } else {
                            recorded[draw as usize % recorded.len()].sky()
                        }
                    })
                    .collect();
                for (index, compiled) in plan.plantings.iter().enumerate() {
                    if !wanted[index] {
                        continue;
                    }
                    if !compiled.alive {
                        sheet = Sheet::default();
                        for draw in draws.clone() {
                            planting_done(&mut acc, draw, index, &sheet);
                        }
                        continue;
                    }
                    let lucks = own_luck(&mut bench.planting_streams[index], draws.len());
                    for (k, draw) in draws.clone().enumerate() {
                        let shared_z = bench.crop_z[k][compiled.crop];
                        live(&compiled.life, &skies[k], &lucks[k], shared_z, &mut sheet);
                        planting_done(&mut acc, draw, index, &sheet);
                    }
                }
                for draw in draws {
                    draw_done(&mut acc, draw);
                }
            }
            acc
        })
        .collect()
}

/// Returns first and last day of cold of every draw of made weather.
///
/// Shape: draws × thresholds × winters × 2.
pub(crate) fn cold_days(plan: &Plan, settings: &Settings) -> Vec<i32> {
    let mut days = Vec::new();
    let mut made = MadeDays::new(plan);
    for first in (0..settings.draws).step_by(CHUNK as usize) {
        let mut bench = Bench::new(plan, settings, u64::from(first / CHUNK));
        for draw in first..settings.draws.min(first + CHUNK) {
            made.make(plan, settings, draw..draw + 1, &mut bench.winter_streams);
            let spans = &made.colds[0].spans;
            days.extend(spans.iter().flat_map(|span| [span.first, span.last]));
        }
    }
    days
}

/// Made weather of a handful of draws.
struct MadeDays {
    weathers: Vec<Weather>,
    /// Which of these each draw takes.
    places: Vec<usize>,
    colds: Vec<Cold>,
}

impl MadeDays {
    fn new(plan: &Plan) -> Self {
        let weather = Weather::new(plan);
        let handful = HANDFUL as usize;
        Self {
            places: vec![0; handful],
            colds: vec![weather.cold.clone(); handful],
            weathers: vec![weather; handful],
        }
    }

    /// Makes the days of some draws; draws of the same run share them, but each has its own frost.
    fn make(
        &mut self,
        plan: &Plan,
        settings: &Settings,
        draws: std::ops::Range<u32>,
        winter_streams: &mut [Stream],
    ) {
        let first = weather::run_of(settings, draws.start);
        let mut before = (first, 0);
        for (draw, k) in draws.zip(0..) {
            let run = weather::run_of(settings, draw);
            if run != before.0 {
                before = (run, k);
            }
            self.places[k] = before.1;
            self.weathers[before.1].make(plan, settings, run);
            self.weathers[before.1].draw_frost(plan, winter_streams, &mut self.colds[k]);
        }
    }

    /// The sky of one of these draws.
    fn sky(&self, k: usize) -> Sky<'_> {
        Sky {
            cold: &self.colds[k],
            ..self.weathers[self.places[k]].sky()
        }
    }
}

/// Random streams of one chunk.
struct Bench {
    /// Crop years of each draw of the handful.
    crop_z: Vec<Vec<f64>>,
    winter_streams: Vec<Stream>,
    garden_stream: Stream,
    crop_streams: Vec<Stream>,
    planting_streams: Vec<Stream>,
}

impl Bench {
    fn new(plan: &Plan, settings: &Settings, chunk: u64) -> Self {
        let seed = settings.seed;
        let named = |name: &str, purpose| Stream::keyed(seed, chunk, name, purpose);
        let year = |year| Stream::of_year(seed, chunk, year, Purpose::Frost);
        Self {
            crop_z: vec![vec![0.0; plan.crops.len()]; HANDFUL as usize],
            winter_streams: plan
                .winters
                .iter()
                .map(|winter| year(winter.year))
                .collect(),
            garden_stream: named("", Purpose::Yield),
            crop_streams: plan
                .crops
                .iter()
                .map(|crop| named(crop, Purpose::Yield))
                .collect(),
            planting_streams: plan
                .plantings
                .iter()
                .map(|p| named(&p.name, Purpose::Planting))
                .collect(),
        }
    }

    /// Turns to the next draws: their garden years and crop years.
    fn turn(&mut self, draws: usize) {
        for crop_z in &mut self.crop_z[..draws] {
            let garden_z = self.garden_stream.normal();
            for (z, stream) in crop_z.iter_mut().zip(&mut self.crop_streams) {
                *z = libm::sqrt(BETWEEN_CROPS) * garden_z
                    + libm::sqrt(1.0 - BETWEEN_CROPS) * stream.normal();
            }
        }
    }
}

/// Draws a planting's own luck in some draws; always the same count of numbers for each, so that draws stay aligned.
fn own_luck(stream: &mut Stream, draws: usize) -> [OwnLuck; HANDFUL as usize] {
    const N: usize = HANDFUL as usize;
    let nothing = OwnLuck {
        days_z: 0.0,
        yield_z: 0.0,
        fails: 0.0,
        pest: 0.0,
        pest_when: 0.0,
    };
    let mut lucks = [nothing; N];
    let mut chances = [0.5; 2 * N];
    for (k, luck) in lucks[..draws].iter_mut().enumerate() {
        chances[2 * k] = stream.uniform();
        chances[2 * k + 1] = stream.uniform();
        luck.fails = stream.uniform();
        luck.pest = stream.uniform();
        luck.pest_when = stream.uniform();
    }
    let normals = inverse_normals(chances);
    for (k, luck) in lucks.iter_mut().enumerate() {
        luck.days_z = normals[2 * k];
        luck.yield_z = normals[2 * k + 1];
    }
    lucks
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::garden::bed::Protection;
    use crate::garden::planting::Planting;
    use crate::garden::site::{Climate as Known, FrostTable};
    use crate::garden::units::Temperature;
    use crate::garden::week::DateRange;
    use crate::season::draw::EndCause;
    use crate::season::fixture::{self, bed, date, planting};
    use crate::season::plan::compile;
    use proptest::prelude::*;

    /// All draws of a garden as one value.
    fn all(garden: &Garden, settings: &Settings) -> Vec<SeasonDraw> {
        let plan = compile(garden, date("2026-03-01"));
        run(
            &plan,
            settings,
            |_| Vec::new(),
            |list: &mut Vec<SeasonDraw>, _, draw| list.push(draw.clone()),
        )
        .concat()
    }

    #[test]
    fn same_bytes_for_any_number_of_threads() {
        let settings = Settings {
            draws: 1_003,
            seed: 7,
        };
        let garden = fixture::year();
        let with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap();
            pool.install(|| all(&garden, &settings))
        };
        let one = with(1);
        assert_eq!(one.len(), 1_003);
        for threads in [2, 4] {
            assert!(one == with(threads), "{threads} threads");
        }
        assert!(
            one != all(
                &garden,
                &Settings {
                    seed: 8,
                    ..settings
                }
            )
        );
    }

    /// One draw of one planting: amounts by date, what was lost, what ended it.
    type OneDraw = (Vec<(chrono::NaiveDate, bool, f32)>, f32, EndCause);

    /// What one planting gets in every draw.
    fn of_one(garden: &Garden, settings: &Settings, name: &str) -> Vec<OneDraw> {
        let plan = compile(garden, date("2026-03-01"));
        let k = garden
            .plantings
            .iter()
            .position(|p| p.name == name)
            .unwrap();
        run(
            &plan,
            settings,
            |_| Vec::new(),
            |list, _, draw: &SeasonDraw| {
                let ready = draw
                    .ready
                    .iter()
                    .filter(|r| r.planting as usize == k)
                    .map(|r| (plan.horizon().date(r.day), r.second, r.kg))
                    .collect();
                list.push((ready, draw.outcomes[k].kg_lost, draw.outcomes[k].cause));
            },
        )
        .concat()
    }

    #[test]
    fn other_plantings_change_nothing() {
        let settings = Settings {
            draws: 600,
            seed: 3,
        };
        let garden = fixture::year();
        let mut more = garden.clone();
        // Earlier, in another year, of a crop that needs other thresholds, and the rest in another order.
        let mut early = planting("early kale", 0, "2025-10-01");
        early.bed = crate::garden::bed::BedId(1);
        more.plantings.insert(0, early);
        more.plantings.push(planting("late okra", 1, "2027-06-01"));
        more.plantings.swap(1, 4);
        for name in [
            "spring lettuce",
            "okra",
            "fall turnip",
            "fall kale",
            "garlic",
        ] {
            assert!(
                of_one(&garden, &settings, name) == of_one(&more, &settings, name),
                "{name}"
            );
        }
    }

    #[test]
    fn draws_are_sorted_and_complete() {
        let garden = fixture::year();
        for draw in all(
            &garden,
            &Settings {
                draws: 300,
                seed: 1,
            },
        ) {
            assert!(
                draw.ready
                    .is_sorted_by_key(|r| (r.day, r.planting, r.second))
            );
            assert!(draw.spoiled.is_sorted_by_key(|s| s.day));
            assert_eq!(draw.outcomes.len(), garden.plantings.len());
        }
    }

    /// Books of every draw: what was possible is ready or lost, and what is ready is in the list.
    fn check_books(garden: &Garden, settings: &Settings) {
        let plan = compile(garden, date("2026-03-01"));
        let days = plan.horizon().days;
        drive(
            &plan,
            settings,
            &vec![true; plan.len()],
            |_| (),
            |(), _, _, sheet: &Sheet| {
                let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
                assert!(sheet.possible_kg.is_finite() && sheet.possible_kg >= 0.0);
                assert!(
                    near(sheet.possible_kg, sheet.ready_kg + sheet.lost_kg),
                    "{sheet:?}"
                );
                let sum = |second: bool| {
                    sheet
                        .lots
                        .iter()
                        .filter(|l| l.second == second)
                        .map(|l| l.kg)
                        .sum::<f64>()
                };
                assert!(near(sum(false), sheet.ready_kg), "{sheet:?}");
                assert!(near(sum(true), sheet.second_kg), "{sheet:?}");
                assert!(sheet.strip_kg <= sheet.ready_kg * (1.0 + 1e-9));
                for lot in &sheet.lots {
                    assert!(
                        lot.kg > 0.0 && lot.day < days && lot.day < sheet.end,
                        "{sheet:?}"
                    );
                }
                assert!(sheet.first <= sheet.last && sheet.first.is_some() == sheet.last.is_some());
            },
            |(), _| (),
        );
        run(
            &plan,
            settings,
            |_| (),
            |(), _, draw: &SeasonDraw| {
                for o in &draw.outcomes {
                    assert!(
                        (o.kg_possible - o.kg_ready - o.kg_lost).abs()
                            <= 1e-5 * o.kg_possible.max(1e-6),
                        "{o:?}"
                    );
                }
            },
        );
    }

    fn any_planting(k: usize) -> impl Strategy<Value = Planting> {
        (
            0..5_usize,
            -200..500_i64,
            any::<bool>(),
            0..3_usize,
            proptest::option::of(0..200_i64),
            1.0..200.0_f64,
        )
            .prop_map(move |(crop, day, set_out, bed, cleared, days)| {
                let start = date("2026-03-01") + chrono::Duration::days(day);
                let mut p = planting(&format!("p{k}"), crop, "2026-03-01");
                (p.sown, p.set_out) = if set_out {
                    (None, Some(start))
                } else {
                    (Some(start), None)
                };
                p.bed = crate::garden::bed::BedId(bed);
                p.cleared = cleared.map(|n| start + chrono::Duration::days(n));
                p.days_to_maturity = (days > 100.0).then_some(days - 95.0);
                p
            })
    }

    fn any_garden() -> impl Strategy<Value = Garden> {
        let plantings =
            (0..6_usize).prop_flat_map(|n| (0..n).map(any_planting).collect::<Vec<_>>());
        (
            plantings,
            -90.0..=90.0_f64,
            0..4_usize,
            0.0..=1.0_f64,
            0..7_usize,
        )
            .prop_map(|(plantings, latitude, climate, share, cover)| {
                let mut garden = fixture::garden(plantings);
                garden.site.latitude_deg = latitude;
                garden.beds.push(bed("covered", Protection::NAMES[cover].1));
                garden.beds[2].protected = DateRange {
                    from: Some(date("2026-10-01")),
                    until: Some(date("2027-04-01")),
                };
                for row in garden
                    .site
                    .frost
                    .spring
                    .iter_mut()
                    .chain(&mut garden.site.frost.fall)
                {
                    row.share = share;
                }
                match climate {
                    0 => garden.site.climate = Known::Inferred,
                    1 => garden.site.frost = FrostTable::default(),
                    2 => {
                        garden.site.frost = FrostTable::default();
                        garden.site.climate = Known::Inferred;
                    }
                    _ => {}
                }
                garden.site.coldest_night = (share > 0.9).then(|| Temperature::from_f(-40.0));
                garden
            })
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

        /// Any garden at any latitude, with and without frost: no panic, and the books balance in every draw.
        #[test]
        fn books_balance_in_every_draw(garden in any_garden()) {
            check_books(&garden, &Settings { draws: 30, seed: 5 });
            let plan = compile(&garden, date("2026-03-01"));
            let windows = crate::season::windows::windows(&plan, &Settings { draws: 30, seed: 5 });
            let forecast = crate::season::forecast::forecast(&plan, &Settings { draws: 30, seed: 5 }, crate::season::forecast::By::Planting);
            for w in &windows {
                prop_assert!(w.kg.p10 <= w.kg.p50 && w.kg.p50 <= w.kg.p90);
            }
            for row in &forecast.rows {
                for s in row.weeks.iter().chain([&row.total]) {
                    prop_assert!(s.p10 <= s.p50 && s.p50 <= s.p90 && s.p10 >= 0.0);
                }
            }
        }
    }

    #[test]
    fn no_plantings_and_no_draws_are_fine() {
        let garden = fixture::garden(Vec::new());
        assert_eq!(all(&garden, &Settings { draws: 10, seed: 1 }).len(), 10);
        assert!(all(&fixture::year(), &Settings { draws: 0, seed: 1 }).is_empty());
    }
}
