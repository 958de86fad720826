//! The sample garden held against publications: what its rows could give, and what may be made of it.
//!
//! The yields were copied from the publications named beside them, not from the tables, so that a slip in the tables or
//! in the arithmetic from feet of row to kilograms cannot hide.

#![allow(clippy::unwrap_used, reason = "tests")]

mod common;

use putby::garden::Garden;
use putby::garden::planting::Size;
use putby::garden::safety::{SafetyColumn, Verdict, verdict};
use putby::garden::units::KG_PER_LB;
use putby::input::problem::Kind;
use putby::input::{Files, load_files, sample};
use putby::season::ensemble::Settings;
use putby::season::plan;
use putby::season::windows::windows;
use putby::sowing::beds::{BedFinding, findings};
use std::collections::BTreeMap;

/// One crop: low and high pounds in 100 ft of row, inches between rows, publication.
type Published = (&'static str, f64, f64, f64, &'static str);

/// Pounds in 100 ft of row: K Kansas State Univ. MF315 (Marr), U Univ. of Maine planting chart (Stack), Y Univ. of Kentucky
/// ID-128, T Texas A&M E-502 (from memory), m from memory with no publication named. Inches between rows: the middle of
/// the Univ. of Maine and Univ. of Georgia C963 charts, else from memory.
const YIELDS: [Published; 25] = [
    ("bush bean", 80.0, 120.0, 30.0, "U 80, K 120"),
    ("pole bean", 120.0, 150.0, 36.0, "U 120, K 150"),
    ("okra", 100.0, 100.0, 27.0, "K"),
    ("zucchini", 150.0, 150.0, 48.0, "K U"),
    ("tomato", 100.0, 480.0, 36.0, "K 100, U 8 lb a plant"),
    ("basil", 30.0, 60.0, 18.0, "m"),
    ("collards", 100.0, 100.0, 36.0, "K"),
    ("kale", 100.0, 100.0, 21.0, "K"),
    ("turnip", 50.0, 250.0, 15.0, "K 50-100, U 250"),
    ("winter radish", 100.0, 200.0, 15.0, "m"),
    ("bok choy", 75.0, 100.0, 18.0, "m"),
    ("leaf lettuce", 50.0, 50.0, 15.0, "T"),
    ("spinach", 40.0, 50.0, 15.0, "K U"),
    ("carrot", 100.0, 100.0, 15.0, "K U"),
    ("beet", 100.0, 150.0, 15.0, "U 100, K 150"),
    ("garlic", 40.0, 40.0, 15.0, "T Y"),
    ("mustard greens", 100.0, 100.0, 18.0, "K"),
    ("chard", 75.0, 75.0, 21.0, "K"),
    ("cucumber", 120.0, 120.0, 60.0, "K"),
    ("pepper", 60.0, 60.0, 27.0, "K"),
    ("onion", 100.0, 100.0, 15.0, "K"),
    ("pea", 20.0, 100.0, 27.0, "K 20 shelled, U 100 in the pod"),
    (
        "radish",
        40.0,
        75.0,
        10.5,
        "K 100 bunches, weight from memory",
    ),
    ("cilantro", 20.0, 40.0, 12.0, "m"),
    ("green onion", 30.0, 50.0, 10.5, "m"),
];

/// A raised bed bore 1.24 lb a square foot where a row garden bore 0.60 (Ohio State Univ. HYG-1641, Lane).
const RAISED_BED: f64 = 1.24 / 0.60;

/// Means of drawn seasons stray this far: three standard errors of a spread of 0.4 over the draws made here.
const STRAYS: f64 = 0.025;
const DRAWS: u32 = 4000;

fn garden() -> Garden {
    load_files(&sample::files()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

#[test]
fn every_crop_gives_what_is_published_for_its_feet_of_row() {
    let garden = garden();
    let settings = Settings {
        draws: DRAWS,
        ..Settings::default()
    };
    // From midwinter every planting of the year still stands or is yet to be sown.
    let plan = plan::compile(&garden, "2026-01-05".parse().unwrap());
    let mut totals: BTreeMap<&str, (f64, f64, f64)> = BTreeMap::new();
    for window in windows(&plan, &settings).iter().filter(|w| !w.over) {
        let planting = garden.planting(window.planting);
        let crop = garden.crop(planting.crop);
        let (_, low, high, rows_in, _) = YIELDS
            .iter()
            .find(|y| y.0 == crop.name)
            .unwrap_or_else(|| panic!("no published yield of {} stands here", crop.name));
        let (low, high) = match planting.size {
            Size::Row(row) => (low / 100.0 * row.ft(), high / 100.0 * row.ft()),
            // Plants stand in a row at the crop's distance.
            Size::Plants(n) => {
                let feet = n * crop.yields.in_row.ft();
                (low / 100.0 * feet, high / 100.0 * feet)
            }
            Size::Area(area) => {
                let per_row_foot = rows_in / 12.0;
                let feet = area.sqft() / per_row_foot;
                (low / 100.0 * feet, high / 100.0 * feet * RAISED_BED)
            }
        };
        let total = totals.entry(&crop.name).or_default();
        total.0 += window.kg_possible / KG_PER_LB;
        total.1 += low;
        total.2 += high;
    }
    assert_eq!(totals.len(), YIELDS.len(), "a crop is not grown any more");
    for (crop, (lb, low, high)) in totals {
        assert!(
            lb >= low * (1.0 - STRAYS) && lb <= high * (1.0 + STRAYS),
            "{crop}: {lb:.1} lb a season against {low:.1}-{high:.1} published"
        );
    }
}

#[test]
fn the_sample_has_no_fault_and_its_size_is_a_real_garden() {
    let garden = garden();
    assert!(garden.warnings.is_empty(), "{:?}", garden.warnings);
    assert!((12..=14).contains(&garden.beds.len()));
    let as_of = garden.as_of.unwrap();
    let this_year = garden
        .plantings
        .iter()
        .filter(|p| p.cleared.is_none_or(|c| c > "2026-01-05".parse().unwrap()))
        .count();
    assert!(
        (45..=60).contains(&this_year),
        "{this_year} plantings a year"
    );
    let plan = plan::compile(&garden, as_of);
    let settings = Settings {
        draws: 500,
        ..Settings::default()
    };
    let mut leaves: Vec<_> = garden
        .plantings
        .iter()
        .map(|p| p.cleared.unwrap_or(p.start()))
        .collect();
    for w in windows(&plan, &settings) {
        if let (None, Some(last)) = (garden.planting(w.planting).cleared, w.last) {
            leaves[w.planting.0] = last.p50.succ_opt().unwrap();
        }
    }
    let found = findings(&garden, &leaves);
    // Beans after peas is deliberate, and its note says so.
    let [BedFinding::SameFamily { before, after, .. }] = found.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(garden.planting(*before).name, "peas");
    assert_eq!(garden.planting(*after).name, "pole beans 2");
}

/// Spring and fall plantings that the record says were picked are likely to be: an empty window beside a logged picking
/// would make the sample look careless.
#[test]
fn what_the_record_says_was_picked_could_be_picked() {
    let garden = garden();
    let plan = plan::compile(&garden, "2026-01-05".parse().unwrap());
    let settings = Settings {
        draws: 1000,
        ..Settings::default()
    };
    for w in windows(&plan, &settings) {
        let planting = garden.planting(w.planting);
        let picked = garden
            .record
            .picked
            .iter()
            .find(|p| p.planting == Some(w.planting) && p.crop == planting.crop);
        let Some(picked) = picked.filter(|_| !w.over) else {
            continue;
        };
        assert!(
            w.chance_of_harvest >= 0.7,
            "{}: {}",
            planting.name,
            w.chance_of_harvest
        );
        let early = (w.first.unwrap().p10 - picked.date).num_days();
        // Last fall's sowings were picked before the forecast begins; onions are pulled small for supper.
        if planting.start() > "2025-12-01".parse().unwrap() {
            assert!(
                early <= 14,
                "{} was picked {early} days before one season in ten would allow",
                planting.name
            );
        }
    }
}

/// Every crop with every method, as a product of the household's own: the door refuses exactly what the matrix refuses.
#[test]
fn every_pair_that_the_matrix_refuses_is_turned_away_at_the_door() {
    let garden = garden();
    let mut rows = String::from("product,method,crops,container,container_qt,lb_per_container\n");
    let mut wanted = Vec::new();
    for crop in &garden.crops {
        for method in &garden.methods {
            let refused = match verdict(crop.safety_row, method.safety_column) {
                Verdict::Refused(_) => true,
                // Only by a tested recipe, and a row of one's own names none.
                Verdict::TestedRecipe => true,
                _ => false,
            };
            let mashed_in_jars = method.safety_column.is_some_and(SafetyColumn::is_canning)
                && method.name.contains("puree");
            rows.push_str(&format!(
                "trial {},{},{} 1,pint jar,0.5,1\n",
                wanted.len(),
                method.name,
                crop.name
            ));
            wanted.push(refused || mashed_in_jars);
        }
    }
    assert!(wanted.len() >= 43 * 9, "{} pairs", wanted.len());
    let mut files = Files {
        name: "trial".to_owned(),
        ..sample::files()
    };
    replace(&mut files, "products.csv", &rows);
    replace(
        &mut files,
        "goals.csv",
        "product,containers\nfrozen beans,9\n",
    );
    let problems = load_files(&files).expect_err("some pairs are refused");
    let mut got = vec![false; wanted.len()];
    for p in problems {
        assert_eq!(p.kind, Kind::Refused, "{p:?}");
        got[p.line.unwrap() - 2] = true;
    }
    let differ: Vec<&str> = rows
        .lines()
        .skip(1)
        .zip(wanted.iter().zip(&got))
        .filter(|(_, (wanted, got))| wanted != got)
        .map(|(row, _)| row)
        .collect();
    assert!(differ.is_empty(), "{differ:?}");
}

fn replace(files: &mut Files, name: &str, text: &str) {
    files
        .content
        .insert(name.to_owned(), text.as_bytes().to_vec());
}

/// Ways that the USDA Complete Guide to Home Canning (2015), the National Center for Home Food Preservation or the
/// extension pages named in the matrix warn of in so many words, whatever the matrix says.
const NEVER: [(&str, &str); 14] = [
    ("bush bean", "water-bath plain"),
    ("carrot", "water-bath plain"),
    ("beet", "water-bath plain"),
    ("okra", "water-bath plain"),
    ("tomato", "water-bath plain"),
    ("sweet corn", "water-bath plain"),
    ("zucchini", "pressure can"),
    ("eggplant", "pressure can"),
    ("cabbage", "pressure can"),
    ("broccoli", "pressure can"),
    ("cauliflower", "pressure can"),
    ("brussels sprouts", "pressure can"),
    ("basil", "pressure can"),
    ("leaf lettuce", "freeze"),
];

#[test]
fn no_product_row_offers_a_pair_that_is_refused() {
    let garden = garden();
    let (mut tried, mut offered) = (0, 0);
    for product in &garden.products {
        let column = garden.method(product.method).safety_column;
        for (i, crop) in garden.crops.iter().enumerate() {
            tried += 1;
            if !product.parts.iter().any(|p| p.crop.0 == i) {
                continue;
            }
            offered += 1;
            let answer = verdict(crop.safety_row, column);
            assert!(
                !matches!(answer, Verdict::Refused(_)),
                "{} of {}: {answer}",
                product.name,
                crop.name
            );
            if answer == Verdict::TestedRecipe {
                assert!(
                    product.recipe.is_some() && product.fixed_amounts.is_some(),
                    "{}",
                    product.name
                );
            }
            let words = column.map_or("", SafetyColumn::name);
            assert!(
                !NEVER.contains(&(crop.name.as_str(), words)),
                "{} of {}",
                product.name,
                crop.name
            );
        }
    }
    assert!(tried >= 43 * 40, "{tried} pairs tried");
    assert!(offered >= 100, "{offered} pairs offered");
}

/// What the sample is for: a real glut in late summer and a tight fortnight in fall, while other weeks fit.
#[test]
fn the_kitchen_has_a_glut_and_a_tight_fortnight() {
    let words = common::words("kitchen --sample --draws 2000 --format json");
    let output = common::putby(common::root(), &words);
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let weeks: Vec<(String, f64)> = answer["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            (
                row["week"].as_str().unwrap().to_owned(),
                row["chance_over"].as_f64().unwrap(),
            )
        })
        .collect();
    let many = |from: &str, until: &str, least: f64, most: f64| {
        weeks
            .iter()
            .filter(|(week, _)| from <= week.as_str() && week.as_str() <= until)
            .filter(|(_, chance)| (least..=most).contains(chance))
            .count()
    };
    let glut = many("2026-08-17", "2026-09-28", 0.5, 1.0);
    assert!((2..=5).contains(&glut), "{glut} weeks of glut: {weeks:?}");
    let tight = many("2026-09-21", "2026-10-26", 0.2, 0.65);
    assert!((2..=4).contains(&tight), "{tight} tight weeks: {weeks:?}");
    let fits = many("2026-07-13", "2026-12-28", 0.0, 0.2);
    assert!(fits >= 12, "{fits} weeks that fit: {weeks:?}");
}
