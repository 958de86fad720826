//! Gardens whose truth is one more draw of the season model: do the bands hold, does learning learn, does the season so
//! far help?
//!
//! Each garden is a handful of the sample's plantings, moved in time and size by chance; what is ready is logged as picked
//! on its day. The short study runs with the tests; with `PUTBY_LONG` set in the environment the long one (200 gardens,
//! three seasons each) runs and prints its figures, `PUTBY_GARDENS` and `PUTBY_DRAWS` changing its size:
//! `PUTBY_LONG=1 cargo test --release --test simulated_seasons -- --nocapture`.
#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "tests")]

use chrono::{Datelike, Duration, NaiveDate};
use putby::garden::Garden;
use putby::garden::bed::BedId;
use putby::garden::crop::CropId;
use putby::garden::planting::{Planting, PlantingId, Size};
use putby::garden::record::{Picked, Record, Use};
use putby::garden::units::{Area, Length, Mass};
use putby::garden::week::Week;
use putby::input::{load_files, sample};
use putby::learning::compare::compare;
use putby::learning::crps;
use putby::learning::draws::WeeklyDraws;
use putby::learning::known_at::known_at;
use putby::learning::learn::{CropNumbers, Field, Numbers, Proposal, Subject, learn};
use putby::learning::pit::evenness;
use putby::learning::record::{LoggedWeeks, WeekEntry, WeekState};
use putby::learning::seasons::evidence;
use putby::learning::this_season::this_season;
use putby::season::ensemble::{self, Settings};
use putby::season::plan::{self, Plan};
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;

const PLANTINGS: usize = 10;
/// Part of the table's yield that the first crop really gives where the truth is off.
const OFF: f64 = 0.7;
const YEARS: [i32; 3] = [2024, 2025, 2026];

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Seeded even numbers, 0–1.
struct Dice(Pcg64Mcg);

impl Dice {
    fn new(seed: u64) -> Self {
        let mut rng = Pcg64Mcg::new(u128::from(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15)) << 1 | 1);
        (0..16).for_each(|_| {
            rng.next_u64();
        });
        Self(rng)
    }
    fn even(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) / 4_503_599_627_370_496.0
    }
    fn below(&mut self, n: usize) -> usize {
        (self.even() * n as f64) as usize
    }
}

/// A garden of some of the sample's plantings of 2026, moved in time and size, repeated in the two years before.
fn made_garden(base: &Garden, dice: &mut Dice) -> Garden {
    let mut garden = base.clone();
    garden.record = Record::default();
    garden.household.away = Vec::new();
    let mut pool: Vec<&Planting> = base
        .plantings
        .iter()
        .filter(|p| p.start().year() == 2026)
        .collect();
    garden.plantings.clear();
    for _ in 0..PLANTINGS {
        let mut planting = pool.swap_remove(dice.below(pool.len())).clone();
        let moved = Duration::days(dice.below(21) as i64 - 10);
        let scale = 0.5 + 1.5 * dice.even();
        planting.sown = planting.sown.map(|d| d + moved);
        planting.set_out = planting.set_out.map(|d| d + moved);
        planting.cleared = None;
        planting.size = match planting.size {
            Size::Row(row) => Size::Row(Length::from_m(row.m() * scale)),
            Size::Area(area) => Size::Area(Area::from_m2(area.m2() * scale)),
            Size::Plants(n) => Size::Plants((n * scale).ceil()),
        };
        for year in YEARS {
            let back = Duration::days(364 * i64::from(2026 - year));
            garden.plantings.push(Planting {
                name: format!("{} of {year}", planting.name),
                sown: planting.sown.map(|d| d - back),
                set_out: planting.set_out.map(|d| d - back),
                ..planting.clone()
            });
        }
    }
    garden
}

/// Plan of the Monday on which the first planting of a year begins.
fn plan_of(garden: &Garden, year: i32) -> (NaiveDate, Plan) {
    let begun = garden.plantings.iter().map(|p| p.sown.unwrap_or(p.start()));
    let first = begun.filter(|day| day.year() == year).min().unwrap();
    let monday = Week::of(first).monday();
    (monday, plan::compile(garden, monday))
}

/// One draw of the plantings of a year, logged as picked.
fn truth(garden: &Garden, plan: &Plan, year: i32, seed: u64) -> Vec<Picked> {
    let one = Settings { draws: 1, seed };
    let ready = ensemble::run(
        plan,
        &one,
        |_| Vec::new(),
        |all, _, draw| all.extend(draw.ready.clone()),
    );
    let horizon = plan.horizon();
    ready
        .concat()
        .iter()
        .filter_map(|ready| {
            let id = PlantingId(ready.planting as usize);
            let planting = garden.planting(id);
            let crop = garden.crop(planting.crop);
            (planting.start().year() == year).then(|| Picked {
                date: horizon.date(ready.day),
                whole_week: false,
                bed: Some(planting.bed),
                crop: if ready.second {
                    crop.second.as_ref().unwrap().crop
                } else {
                    planting.crop
                },
                planting: Some(id),
                mass: Mass::from_kg(f64::from(ready.kg)),
                guess: false,
                went: Use::Fresh,
                note: None,
            })
        })
        .collect()
}

/// The record of a food of which every week is known, as the truth is.
fn complete(forecast: &WeeklyDraws, rows: &[Picked]) -> LoggedWeeks {
    let weeks = forecast.weeks().map(|week| {
        let own = rows.iter().filter(|r| r.crop == forecast.crop);
        let kg: f64 = own
            .filter(|r| Week::of(r.date) == week)
            .map(|r| r.mass.kg())
            .sum();
        WeekEntry {
            state: if kg > 0.0 {
                WeekState::Picked
            } else {
                WeekState::Nothing
            },
            kg,
            guessed_kg: 0.0,
            away_days: 0,
        }
    });
    LoggedWeeks {
        crop: forecast.crop,
        planting: None,
        first: forecast.first,
        weeks: weeks.collect(),
    }
}

/// The garden with the plantings of one year only.
fn of_year(garden: &Garden, year: i32) -> Garden {
    let mut one = garden.clone();
    one.plantings.retain(|p| p.start().year() == year);
    one
}

/// Scores of the weeks still to come, summed: as forecast, and weighed.
#[derive(Debug, Clone, Default)]
struct Remaining {
    plain: f64,
    weighed: f64,
    weeks: f64,
    /// By how much weighing changed the sum of a garden's season.
    changes: Vec<f64>,
}

impl Remaining {
    fn add(&mut self, plain: f64, weighed: f64, weeks: usize) {
        self.plain += plain;
        self.weighed += weighed;
        self.weeks += weeks as f64;
        self.changes.push(weighed - plain);
    }
    /// Change as a part of the score as forecast, and its standard error.
    fn change(&self) -> (f64, f64) {
        let n = self.changes.len() as f64;
        let middle = self.changes.iter().sum::<f64>() / n;
        let squares: f64 = self.changes.iter().map(|c| (c - middle).powi(2)).sum();
        let error = (squares * n / (n - 1.0).max(1.0)).sqrt();
        (self.weighed / self.plain - 1.0, error / self.plain)
    }
}

/// Scores a forecast's weeks from one on against what came, kg summed by crop.
fn score(forecast: &[WeeklyDraws], rows: &[Picked], from: Week) -> BTreeMap<CropId, (f64, usize)> {
    let mut came: BTreeMap<(CropId, Week), f64> = BTreeMap::new();
    for row in rows {
        *came.entry((row.crop, Week::of(row.date))).or_default() += row.mass.kg();
    }
    forecast
        .iter()
        .map(|food| {
            let mut sum = (0.0, 0);
            for week in food.weeks().filter(|&w| w >= from) {
                let row: Vec<f64> = food
                    .of_week(week)
                    .unwrap()
                    .iter()
                    .map(|&x| f64::from(x))
                    .collect();
                let actual = came.get(&(food.crop, week)).copied().unwrap_or(0.0);
                if actual > 0.0 || row.iter().any(|&x| x > 0.0) {
                    // Plain, not fair: draws taken several times over are not independent.
                    sum.0 += crps::of_draws(&row, actual).unwrap().plain;
                    sum.1 += 1;
                }
            }
            (food.crop, sum)
        })
        .collect()
}

/// What a study found.
#[derive(Default)]
struct Found {
    hits: u64,
    cases: u64,
    ranks: Vec<f64>,
    closed: Vec<(f64, f64)>,
}

/// What the season so far does for the weeks still to come, as of one day.
#[derive(Default)]
struct SoFar {
    by_crop: BTreeMap<String, Remaining>,
    all: Remaining,
    effective: Vec<f64>,
}

fn study(gardens: u64, draws: u32) -> Found {
    let base = load_files(&sample::files()).unwrap();
    let mut found = Found::default();
    for number in 0..gardens {
        let mut dice = Dice::new(1000 + number);
        let all = made_garden(&base, &mut dice);
        let settings = Settings {
            draws,
            seed: 2 * number + 1,
        };
        let garden = of_year(&all, 2026);
        let (first, plan) = plan_of(&garden, 2026);
        let forecast = known_at(&garden, &[], first, &settings).forecast;
        for season in 0..3 {
            let rows = truth(&garden, &plan, 2026, 1_000_000 + 10 * number + season);
            let record: Vec<LoggedWeeks> = forecast.iter().map(|f| complete(f, &rows)).collect();
            let got = compare(Week::of(first), &forecast, &record, &[], number);
            found.hits += got.overall.coverage.hits;
            found.cases += got.overall.coverage.cases;
            // One rank a season, of a week whose band is not judged: the weeks and crops of a season hang together.
            let ranks: Vec<f64> = got
                .rows
                .iter()
                .filter_map(|row| row.score)
                .filter(|score| score.in_band.is_none())
                .map(|score| score.rank)
                .collect();
            found.ranks.push(ranks[dice.below(ranks.len())]);
        }
        found.closed.extend(closed(&all, &settings));
    }
    found
}

/// Scores what was still to come of seasons on some days, as forecast and as weighed by the pickings so far.
fn so_far(gardens: u64, draws: u32, origins: &[NaiveDate]) -> Vec<SoFar> {
    let base = load_files(&sample::files()).unwrap();
    let mut found: Vec<SoFar> = origins.iter().map(|_| SoFar::default()).collect();
    for number in (0..gardens).map(|n| 4 * n) {
        let all = made_garden(&base, &mut Dice::new(1000 + number));
        let settings = Settings {
            draws,
            seed: 2 * number + 1,
        };
        let garden = of_year(&all, 2026);
        let (_, plan) = plan_of(&garden, 2026);
        let seasons: Vec<Vec<Picked>> = (0..3)
            .map(|season| truth(&garden, &plan, 2026, 1_000_000 + 10 * number + season))
            .collect();
        for (found, &origin) in found.iter_mut().zip(origins) {
            halfway(&garden, &seasons, origin, &settings, found);
        }
    }
    found
}

fn halfway(
    garden: &Garden,
    seasons: &[Vec<Picked>],
    origin: NaiveDate,
    settings: &Settings,
    found: &mut SoFar,
) {
    let from = Week::of(origin);
    let plain = known_at(garden, &[], origin, settings).forecast;
    for rows in seasons {
        let weighed = known_at(garden, rows, origin, settings);
        found.effective.extend(weighed.effective_draws);
        let weighed = score(&weighed.forecast, rows, from);
        let (mut before, mut after, mut weeks) = (0.0, 0.0, 0);
        for (crop, (sum, own)) in score(&plain, rows, from) {
            let name = garden.crop(crop).name.clone();
            let row = found.by_crop.entry(name).or_default();
            row.add(sum, weighed[&crop].0, own);
            before += sum;
            after += weighed[&crop].0;
            weeks += own;
        }
        found.all.add(before, after, weeks);
    }
}

/// What three seasons of a garden teach where some plantings really give less.
fn learned(all: &Garden, less: impl Fn(&Planting) -> bool, settings: &Settings) -> Vec<Proposal> {
    let mut really = all.clone();
    for planting in really.plantings.iter_mut().filter(|p| less(p)) {
        planting.yield_factor *= OFF;
    }
    let mut logged = all.clone();
    for year in YEARS {
        let (_, plan) = plan_of(&really, year);
        let seed = settings.seed + 5_000_000 + u64::try_from(year).unwrap();
        logged
            .record
            .picked
            .extend(truth(&really, &plan, year, seed));
    }
    // Something is noted every week, so that a week without a crop is known to have had none of it.
    let herb = all.crops.iter().position(|c| c.name == "parsley").unwrap();
    let mut week = Week::of(date("2024-01-01"));
    while week.monday() < date("2027-08-01") {
        logged.record.picked.push(Picked {
            date: week.monday(),
            whole_week: false,
            bed: None,
            crop: CropId(herb),
            planting: None,
            mass: Mass::from_kg(0.01),
            guess: false,
            went: Use::Fresh,
            note: None,
        });
        week = week.plus(1);
    }
    let evidence = evidence(&logged, date("2027-08-01"), settings);
    let numbers = |g: &Garden| -> BTreeMap<CropId, CropNumbers> {
        let crops = g.crops.iter().enumerate();
        crops
            .map(|(i, c)| (CropId(i), CropNumbers::of(c, c)))
            .collect()
    };
    let numbers = Numbers {
        built_in: numbers(all),
        in_force: numbers(all),
        ..Numbers::default()
    };
    learn(&evidence, &numbers, 2026)
}

/// How far three seasons close the gap of a crop that is off, and the weight said: both as parts of the whole.
fn closed(all: &Garden, settings: &Settings) -> Option<(f64, f64)> {
    let crop = all.plantings[0].crop;
    let found = learned(all, |p| p.crop == crop, settings)
        .into_iter()
        .find(|p| p.subject == Subject::Crop(crop) && p.field == Field::YieldFactor)?;
    Some((found.after.ln() / OFF.ln(), found.weight))
}

fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    values.clone().sum::<f64>() / values.count() as f64
}

fn print_so_far(found: &[SoFar], origins: &[NaiveDate]) {
    for (found, origin) in found.iter().zip(origins) {
        let (change, error) = found.all.change();
        println!(
            "{origin}: {:.4} kg a crop and week, weighed {:+.2} % (error {:.2}); {:.0} effective draws",
            found.all.plain / found.all.weeks,
            100.0 * change,
            100.0 * error,
            mean(found.effective.iter().copied())
        );
        for (crop, own) in found.by_crop.iter().filter(|(_, own)| own.plain > 0.0) {
            let (change, error) = own.change();
            println!(
                "    {crop}: {:.4} ({:+.2} %, error {:.2}, {} seasons)",
                own.plain / own.weeks,
                100.0 * change,
                100.0 * error,
                own.changes.len()
            );
        }
    }
}

fn print(found: &Found) {
    println!(
        "bands held {} of {}: {:.1} %",
        found.hits,
        found.cases,
        100.0 * found.hits as f64 / found.cases as f64
    );
    println!(
        "ranks of the other weeks {:?}",
        evenness(&found.ranks).unwrap()
    );
    println!(
        "closed {:.3} of the way, weight {:.3}, {} gardens",
        mean(found.closed.iter().map(|c| c.0)),
        mean(found.closed.iter().map(|c| c.1)),
        found.closed.len()
    );
}

fn check(found: &Found, slack: f64) {
    let share = found.hits as f64 / found.cases as f64;
    assert!((0.76 - slack..=0.84 + slack).contains(&share), "{share}");
    let even = evenness(&found.ranks).unwrap();
    assert!(even.chance > 0.01, "{even:?}");
    // Learning goes the part of the way that its weight says, within two and a half standard errors.
    let gap = |c: &(f64, f64)| c.0 - c.1;
    let short = mean(found.closed.iter().map(gap));
    let squares = mean(found.closed.iter().map(|c| (gap(c) - short).powi(2)));
    assert!(
        short > -2.5 * (squares / found.closed.len() as f64).sqrt(),
        "{short}"
    );
}

/// Without pickings, with those of this week alone, or of a crop that stands long, nothing moves; else the sentence says
/// how many counted.
#[test]
fn only_pickings_that_tell_count() {
    let base = load_files(&sample::files()).unwrap();
    let garden = of_year(
        &Garden {
            record: Record::default(),
            ..base.clone()
        },
        2026,
    );
    let settings = Settings {
        draws: 300,
        seed: 1,
    };
    let row = |name: &str, day: &str| {
        let planting = garden.plantings.iter().find(|p| p.name == name).unwrap();
        Picked {
            date: date(day),
            whole_week: false,
            bed: Some(planting.bed),
            crop: planting.crop,
            planting: None,
            mass: Mass::from_lb(2.0),
            guess: false,
            went: Use::Waiting,
            note: None,
        }
    };
    let today = date("2026-07-13");
    let found = |rows: &[Picked]| {
        let plan = plan::compile(&garden, today);
        this_season(&garden, rows, &plan, today, &settings)
    };
    assert_eq!(found(&[]), None);
    assert_eq!(found(&[row("zucchini 2", "2026-07-13")]), None);
    assert_eq!(found(&[row("carrots spring", "2026-06-24")]), None);
    let both = [
        row("zucchini 2", "2026-07-05"),
        row("carrots spring", "2026-06-24"),
    ];
    let some = found(&both).unwrap();
    assert_eq!(some.pickings, 1);
    assert!(
        some.told()
            .starts_with("The picking logged so far this season counts: ")
    );
    assert!(some.effective_draws >= 14.0 && some.effective_draws < 300.0);
    let zucchini = garden
        .plantings
        .iter()
        .find(|p| p.name == "zucchini 2")
        .unwrap();
    assert!(
        some.orders
            .iter()
            .any(|(crops, order)| crops.contains(&zucchini.crop) && order.len() == 300)
    );
}

/// Beds through which the crops of a made garden go in turn.
const BEDS: usize = 3;

/// A bed that gives less is told from its neighbours when the crops go round, and its crops are blamed little.
#[test]
fn a_poor_bed_is_told_from_its_crops() {
    let base = load_files(&sample::files()).unwrap();
    let (mut poor, mut good, mut weights) = (Vec::new(), Vec::new(), Vec::new());
    for number in 0..number("PUTBY_BEDS", 8) {
        let mut all = made_garden(&base, &mut Dice::new(1000 + number));
        for (i, planting) in all.plantings.iter_mut().enumerate() {
            planting.bed = BedId((i / YEARS.len() + i % YEARS.len()) % BEDS);
        }
        let settings = Settings {
            draws: 500,
            seed: 2 * number + 1,
        };
        for found in learned(&all, |p| p.bed == BedId(0), &settings) {
            match found.subject {
                Subject::Bed(BedId(0)) => {
                    poor.push(found.after.ln() / OFF.ln());
                    weights.push(found.weight);
                }
                Subject::Bed(_) => good.push(found.after.ln()),
                _ => {}
            }
        }
    }
    let of = |all: &[f64]| mean(all.iter().copied());
    println!(
        "a poor bed: {:.3} of the way at weight {:.3} ({} gardens), its neighbours {:+.3}",
        of(&poor),
        of(&weights),
        poor.len(),
        of(&good).exp() - 1.0
    );
    assert!(poor.len() >= 6, "{poor:?}");
    assert!(of(&poor) > 0.4 * of(&weights) && of(&poor) < 1.5 * of(&weights));
    assert!(of(&good).abs() < 0.1, "{good:?}");
}

const ORIGINS: [&str; 3] = ["2026-06-15", "2026-07-13", "2026-08-17"];
/// By what part the weighing lowers the score of what is still to come, as the developers' page states it.
const GAINS: [f64; 3] = [0.007, 0.014, 0.049];

#[test]
fn short_study() {
    check(&study(16, 1000), 0.02);
    // With 10,000 draws, as the verbs make them, less is lost to chance than here.
    let found = so_far(4, 1000, &[date(ORIGINS[2])]);
    assert!(found[0].all.weighed < found[0].all.plain);
}

/// The number in an environment variable.
fn number(name: &str, default: u64) -> u64 {
    std::env::var(name).map_or(default, |n| n.parse().unwrap())
}

#[test]
fn long_study() {
    if std::env::var_os("PUTBY_LONG").is_none() {
        return;
    }
    let found = study(number("PUTBY_GARDENS", 200), 1000);
    print(&found);
    check(&found, 0.0);
}

#[test]
fn long_study_of_the_season_so_far() {
    if std::env::var_os("PUTBY_LONG").is_none() {
        return;
    }
    let origins = ORIGINS.map(date);
    let draws = u32::try_from(number("PUTBY_DRAWS", 4000)).unwrap();
    let found = so_far(number("PUTBY_GARDENS", 200), draws, &origins);
    print_so_far(&found, &origins);
    for (found, gain) in found.iter().zip(GAINS) {
        let (change, error) = found.all.change();
        assert!(change < 2.5 * error - gain, "{change} for {gain}");
        for (crop, own) in &found.by_crop {
            let (change, error) = own.change();
            assert!(
                own.plain == 0.0 || change <= 2.5 * error,
                "{crop}: {change}"
            );
        }
    }
}
