//! The sample household's kitchen compared with itself after one change: what a cook would expect of it.
//!
//! All seasons are drawn from the same seed, so that two answers differ only by the change. Nothing here is measured
//! anywhere; what is checked are directions, and the frost week against the sample's own frost table.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests")]

use chrono::{Days, NaiveDate};
use putby::garden::week::Week;
use putby::input::{Files, load_files, sample};
use putby::kitchen::accumulate::Accumulator;
use putby::kitchen::context::{HOLDS_OVER_DAYS, compile};
use putby::kitchen::day_by_day::{Scratch, day_by_day};
use putby::kitchen::draw::Went;
use putby::kitchen::forecast::{KitchenForecast, KitchenWeek};
use putby::kitchen::overload::overload;
use putby::season::ensemble::{self, Settings};
use putby::season::plan;

const DRAWS: u32 = 1000;

/// The sample with some words of its files exchanged, lived through.
fn kitchen(changes: &[(&str, &str, &str)]) -> KitchenForecast {
    let mut files = Files {
        name: "trial".to_owned(),
        ..sample::files()
    };
    for (file, old, new) in changes {
        let text = String::from_utf8(files.content[*file].clone()).unwrap();
        assert!(text.contains(old), "{file} has no {old}");
        let text = text.replacen(old, new, 1);
        files.content.insert((*file).to_owned(), text.into_bytes());
    }
    lived(&files)
}

fn lived(files: &Files) -> KitchenForecast {
    let garden = load_files(files).unwrap_or_else(|problems| panic!("{problems:?}"));
    let as_of = garden.as_of.unwrap();
    let plan = plan::compile(&garden, as_of);
    let horizon = plan.horizon();
    let ctx = compile(&garden, horizon.first, horizon.days, as_of);
    let settings = Settings {
        draws: DRAWS,
        ..Settings::default()
    };
    let chunks = ensemble::run(
        &plan,
        &settings,
        |_| (Accumulator::new(&ctx, 250), Scratch::new(&ctx)),
        |(sums, scratch), _, season| sums.add(&ctx, day_by_day(&ctx, season, scratch)),
    );
    let found = overload(&ctx, chunks.into_iter().map(|(sums, _)| sums).collect());
    assert_eq!(found.books_off, 0);
    found
}

fn day(date: &str) -> NaiveDate {
    date.parse().unwrap()
}

fn week<'a>(found: &'a KitchenForecast, monday: &str) -> &'a KitchenWeek {
    let wanted = Week::of(day(monday));
    found.weeks.iter().find(|w| w.week == wanted).unwrap()
}

fn over(found: &KitchenForecast) -> f64 {
    found.weeks.iter().map(|w| w.mean_hours_over).sum()
}

/// Left standing: the goals of what is made of crops that can stand alone are taken away, so that of these crops nothing
/// comes in but what is eaten, and what frost would take.
#[test]
fn overloaded_weeks_stay_so_with_all_that_can_stand_left_standing() {
    let before = kitchen(&[]);
    let mut files = Files {
        name: "trial".to_owned(),
        ..sample::files()
    };
    let garden = load_files(&files).unwrap();
    let stands = |crop: usize| garden.crops[crop].harvest.holds_days > HOLDS_OVER_DAYS;
    let text = String::from_utf8(files.content["goals.csv"].clone()).unwrap();
    let mut taken_away = 0;
    let kept: Vec<&str> = text
        .lines()
        .filter(|line| {
            let mut names = line.split(',').next().unwrap().split('|');
            let all_stand = names.all(|name| {
                let product = garden.products.iter().find(|p| p.name == name);
                product.is_some_and(|p| p.parts.iter().all(|part| stands(part.crop.0)))
            });
            taken_away += usize::from(all_stand);
            !all_stand
        })
        .collect();
    assert!(taken_away >= 5, "{taken_away} goals of what stands");
    files.content.insert(
        "goals.csv".to_owned(),
        (kept.join("\n") + "\n").into_bytes(),
    );
    let standing = lived(&files);
    let put_by = |found: &KitchenForecast| -> f64 {
        let what_stands = found.crops.iter().filter(|c| stands(c.crop.0));
        what_stands.map(|c| c.kg[Went::PutBy as usize]).sum()
    };
    assert!(
        put_by(&standing) < 0.25 * put_by(&before),
        "{} kg of {}",
        put_by(&standing),
        put_by(&before)
    );
    let mut overloaded = 0;
    for (a, b) in before.weeks.iter().zip(&standing.weeks) {
        if a.chance_over >= 0.5 {
            overloaded += 1;
            println!(
                "week of {}: too much in {:.2} of the seasons, {:.2} with all left standing",
                a.week.monday(),
                a.chance_over,
                b.chance_over
            );
            assert!(b.chance_over >= 0.5, "{}", a.week.monday());
            assert!(b.chance_over >= 0.8 * a.chance_over);
        }
    }
    assert!(overloaded >= 3, "{overloaded} overloaded weeks");
}

/// The sample's frost table has the first frost between 5 and 31 October in eight years of ten, the middle one on the 18th;
/// the beds are stripped on the eve.
#[test]
fn the_frost_week_appears_by_itself_on_the_eve_of_the_frost_table() {
    let found = kitchen(&[]);
    let frost = found.season.frost.as_ref().unwrap();
    assert!(frost.chance > 0.9, "{}", frost.chance);
    let near = |date: NaiveDate, wanted: &str| (date - day(wanted)).num_days().abs() <= 2;
    assert!(near(frost.from, "2026-10-04"), "{}", frost.from);
    assert!(near(frost.until, "2026-10-30"), "{}", frost.until);
    let likeliest = frost.likeliest.monday();
    let around = day("2026-10-17") - Days::new(7)..=day("2026-10-17");
    assert!(around.contains(&likeliest), "{likeliest}");
    assert!(frost.hours.p50 > 1.0, "{:?}", frost.hours);

    // Ten days later at every level, the frost week comes ten days later.
    let later = kitchen(&[
        (
            "garden.toml",
            r#"first_fall = { 10 = "10-05", 50 = "10-18", 90 = "10-31" }"#,
            r#"first_fall = { 10 = "10-15", 50 = "10-28", 90 = "11-10" }"#,
        ),
        (
            "garden.toml",
            r#"first_fall = { 10 = "09-25", 50 = "10-08", 90 = "10-20" }"#,
            r#"first_fall = { 10 = "10-05", 50 = "10-18", 90 = "10-30" }"#,
        ),
        (
            "garden.toml",
            r#"first_fall = { 10 = "10-16", 50 = "10-29", 90 = "11-11" }"#,
            r#"first_fall = { 10 = "10-26", 50 = "11-08", 90 = "11-21" }"#,
        ),
        (
            "garden.toml",
            r#"first_fall = { 10 = "10-28", 50 = "11-10", 90 = "11-24" }"#,
            r#"first_fall = { 10 = "11-07", 50 = "11-20", 90 = "12-04" }"#,
        ),
    ]);
    let moved = later.season.frost.as_ref().unwrap();
    let by = (moved.from - frost.from).num_days();
    assert!((8..=12).contains(&by), "{by} days");
}

const CLOSED: &str = r#"closed = ["2026-10-03"]"#;

#[test]
fn a_week_away_has_no_hours_presses_on_the_days_before_and_costs_food() {
    let home = kitchen(&[]);
    let absence = |picked_by: &str| {
        let away = format!(
            "[[away]]\nfrom = \"2026-08-31\"\nuntil = \"2026-09-06\"\npicked_by = \"{picked_by}\"\n\n[sowing]"
        );
        kitchen(&[("garden.toml", "[sowing]", &away)])
    };
    let (nobody, neighbour) = (absence("nobody"), absence("neighbour"));
    let (there, gone) = (week(&home, "2026-08-31"), week(&nobody, "2026-08-31"));
    assert!(there.hours.p50 > 3.0 && gone.hours.p90 == 0.0, "{gone:?}");
    assert_eq!(gone.capacity_hours, 0.0);
    assert!(gone.kg_lost > there.kg_lost + 1.0, "{}", gone.kg_lost);
    // What would not keep until the return is done before leaving.
    let (a, b) = (week(&home, "2026-08-24"), week(&nobody, "2026-08-24"));
    assert!(
        b.hours.mean > a.hours.mean,
        "{} {}",
        a.hours.mean,
        b.hours.mean
    );
    assert!(nobody.season.hours.mean < home.season.hours.mean);
    // A neighbour picks and keeps it: only what was left in the kitchen spoils, and more is given.
    let given = week(&neighbour, "2026-08-31");
    assert!(
        given.kg_lost < 0.5 * gone.kg_lost,
        "{} {}",
        given.kg_lost,
        gone.kg_lost
    );
    assert!(
        given.kg_to_give > there.kg_to_give + 1.0,
        "{}",
        given.kg_to_give
    );
    println!(
        "week of 31 Aug: {:.2} h at home, {:.2} away; the week before {:.2} h, then {:.2}; lost {:.1} kg, then {:.1}",
        there.hours.mean, gone.hours.mean, a.hours.mean, b.hours.mean, there.kg_lost, gone.kg_lost
    );
}

#[test]
fn a_second_cook_shortens_sessions_and_does_the_same_work() {
    let one = kitchen(&[]);
    let two = kitchen(&[("garden.toml", "hands = 1", "hands = 2")]);
    let ratio = two.season.hours.mean / one.season.hours.mean;
    // Two cooks halve the hands' work, never the pot's; and hours won bring in more of what stands.
    assert!((0.45..=0.9).contains(&ratio), "{ratio}");
    assert!(
        over(&two) < 0.4 * over(&one),
        "{} {}",
        over(&one),
        over(&two)
    );
    for (a, b) in one.weeks.iter().zip(&two.weeks) {
        assert!(b.chance_over <= a.chance_over + 0.02, "{}", a.week.monday());
    }
    let put_by = |found: &KitchenForecast| found.weeks.iter().map(|w| w.kg_put_by).sum::<f64>();
    assert!(put_by(&two) > 0.97 * put_by(&one));
    println!(
        "season: {:.1} h with one cook, {:.1} with two; over by {:.2} h, then {:.2}",
        one.season.hours.mean,
        two.season.hours.mean,
        over(&one),
        over(&two)
    );
}

#[test]
fn an_extra_session_relieves_its_week_and_a_closed_day_burdens_it() {
    let usual = kitchen(&[]);
    let extra = kitchen(&[(
        "garden.toml",
        r#"extra = { "2026-10-01" = 1 }"#,
        r#"extra = { "2026-10-01" = 1, "2026-09-10" = 2.5 }"#,
    )]);
    let (a, b) = (week(&usual, "2026-09-07"), week(&extra, "2026-09-07"));
    assert!((b.capacity_hours - a.capacity_hours - 2.5).abs() < 1e-9);
    assert!(
        b.chance_over < 0.6 * a.chance_over,
        "{} {}",
        a.chance_over,
        b.chance_over
    );
    assert!(b.mean_hours_over < a.mean_hours_over);
    // Other weeks long before it are as they were.
    let (before, same) = (week(&usual, "2026-08-24"), week(&extra, "2026-08-24"));
    assert!((before.hours.mean - same.hours.mean).abs() < 1e-9);
    println!(
        "week of 7 Sep: too much in {:.2} of the seasons, {:.2} with 2½ h more",
        a.chance_over, b.chance_over
    );

    let closed = kitchen(&[(
        "garden.toml",
        CLOSED,
        r#"closed = ["2026-10-03", "2026-09-12"]"#,
    )]);
    let c = week(&closed, "2026-09-07");
    assert!((a.capacity_hours - c.capacity_hours - 3.0).abs() < 1e-9);
    assert!(
        c.chance_over > a.chance_over,
        "{} {}",
        a.chance_over,
        c.chance_over
    );
}
