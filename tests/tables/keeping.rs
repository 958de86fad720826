//! Kitchen figures against publications: jars, bags, canner clocks, blanching, keeping.

use crate::{by_name, given};

/// Pounds a quart against pounds and quarts a bushel and pounds a canner load of 7 quarts: USDA Complete Guide to Home
/// Canning (AIB 539), Guides 3, 4 and 6. The bag of potatoes (18-22 quarts) and the load disagree; the load is taken.
const CANNED: [(&str, f64, f64, f64, f64); 11] = [
    ("canned beans", 30.0, 12.0, 20.0, 14.0),
    ("canned greens", 18.0, 3.0, 9.0, 28.0),
    ("canned beets", 52.0, 15.0, 20.0, 21.0),
    ("canned carrots", 50.0, 17.0, 25.0, 17.5),
    ("canned okra", 26.0, 16.0, 18.0, 11.0),
    ("canned peas", 30.0, 5.0, 10.0, 31.5),
    ("canned corn", 35.0, 6.0, 11.0, 31.5),
    ("canned potatoes", 50.0, 17.0, 22.0, 20.0),
    ("canned tomatoes", 53.0, 15.0, 21.0, 21.0),
    ("canned tomato sauce", 53.0, 10.0, 12.0, 35.0),
    ("canned tomato juice", 53.0, 15.0, 18.0, 23.0),
];

#[test]
fn canned_weights_agree_with_bushels_and_loads() {
    let products = by_name("products");
    for (name, bushel, least, most, load) in CANNED {
        let row = &products[name];
        let (lb, jars) = (
            given(row, "lb_per_container"),
            given(row, "load_containers"),
        );
        let quarts = bushel / lb;
        assert!(
            (least..=most).contains(&quarts),
            "{name}: {quarts:.1} quarts a bushel"
        );
        assert!(
            (lb * jars - load).abs() <= 0.5,
            "{name}: {} lb a load against {load}",
            lb * jars
        );
    }
    for (name, pints, lb) in [
        ("canned beans in pints", 9.0, 9.0),
        ("canned peppers", 9.0, 9.0),
    ] {
        let row = &products[name];
        assert_eq!(given(row, "load_containers"), pints, "{name}");
        assert!(
            (given(row, "lb_per_container") * pints - lb).abs() < 1e-9,
            "{name}"
        );
    }
    // Guide 6: 25 lb of cabbage for about 9 quarts. Univ. of Minnesota, from So Easy to Preserve: 2 lb of beans, 4 pints.
    assert!((25.0 / given(&products["sauerkraut"], "lb_per_container") - 9.0).abs() < 0.5);
    assert_eq!(
        2.0 / given(&products["dilly beans"], "lb_per_container"),
        4.0
    );
}

/// Pounds of fresh food and pints they fill, frozen: USDA Home and Garden Bulletin 10 (beans also Penn State 2023,
/// greens also Univ. of Maine 4040: 1 1/4 lb a pint; squash, peppers and winter squash from memory).
const FROZEN: [(&str, f64, f64, f64); 13] = [
    ("frozen beans", 30.0, 30.0, 45.0),
    ("frozen greens", 12.0, 8.0, 12.0),
    ("frozen kale", 18.0, 12.0, 18.0),
    ("frozen spinach", 18.0, 12.0, 18.0),
    ("frozen beet greens", 15.0, 10.0, 15.0),
    ("frozen carrots", 50.0, 32.0, 40.0),
    ("frozen cooked beets", 52.0, 35.0, 42.0),
    ("frozen broccoli", 25.0, 24.0, 25.0),
    ("frozen brussels sprouts", 6.0, 6.0, 6.0),
    ("frozen peas", 30.0, 12.0, 15.0),
    ("frozen corn", 35.0, 14.0, 17.0),
    ("frozen zucchini slices", 40.0, 32.0, 40.0),
    ("frozen squash puree", 3.0, 2.0, 2.0),
];

#[test]
fn frozen_weights_agree_with_the_freezing_bulletin() {
    let products = by_name("products");
    for (name, lb, least, most) in FROZEN {
        let row = &products[name];
        let pints = lb / given(row, "lb_per_container") * given(row, "container_qt") * 2.0;
        assert!(
            (least - 1e-9..=most + 1e-9).contains(&pints),
            "{name}: {pints:.1} pints of {lb} lb"
        );
    }
    // 25 lb of collards at 1 1/4 lb a pint are 20 pints (Univ. of Maine 4040).
    let greens = &products["frozen collards"];
    assert!((25.0 / given(greens, "lb_per_container") * 2.0 - 20.0).abs() < 1e-9);
}

/// Tested minutes at the lowest altitude, jar size of the row: Guides 3, 4 and 6 of AIB 539; So Easy to Preserve (dilly
/// beans). They check the kitchen clock only, which is these and the canner's own time.
const TESTED_MINUTES: [(&str, f64); 15] = [
    ("canned beans", 25.0),
    ("canned beans in pints", 20.0),
    ("canned greens", 90.0),
    ("canned beets", 35.0),
    ("canned carrots", 30.0),
    ("canned corn", 85.0),
    ("canned okra", 40.0),
    ("canned peas", 40.0),
    ("canned peppers", 35.0),
    ("canned potatoes", 40.0),
    ("canned winter squash", 90.0),
    ("canned tomatoes", 45.0),
    ("canned tomato sauce", 40.0),
    ("dill pickles", 10.0),
    ("dilly beans", 5.0),
];

#[test]
fn canner_clocks_are_tested_minutes_and_the_canners_own() {
    let (products, methods) = (by_name("products"), by_name("methods"));
    for (name, minutes) in TESTED_MINUTES {
        let row = &products[name];
        let own = if row["container"] == "quart jar" {
            "overhead_quart_min"
        } else {
            "overhead_pint_min"
        };
        let clock = given(&methods[&row["method"]], own) + minutes;
        assert_eq!(given(row, "clock_min"), clock, "{name}");
    }
    // Michigan State Extension: 12-15 heat, 10 vent, 5 pressure, 20-60 cool make 47 to 90 minutes.
    for own in ["overhead_pint_min", "overhead_quart_min"] {
        assert!((47.0..=90.0).contains(&given(&methods["pressure can"], own)));
    }
    // One load of beans from basket to shelf: 3 to 4 hours (a garden supplier's article).
    let (crops, beans, can) = (
        by_name("crops"),
        &products["canned beans"],
        &methods["pressure can"],
    );
    let lb = 7.0 * given(beans, "lb_per_container");
    let minutes = lb * given(&crops["bush bean"], "prep_min_per_lb")
        + given(can, "per_batch_min")
        + 7.0 * given(can, "per_container_min")
        + given(beans, "clock_min");
    assert!((180.0..=240.0).contains(&minutes), "{minutes} minutes");
}

/// Minutes of blanching in boiling water: the NCHFP table in extension copies, Michigan State and Univ. of Minnesota
/// Extension for leaves, Penn State 2012 for roots.
#[test]
fn blanching_is_as_published() {
    let products = by_name("products");
    for (name, minutes) in [
        ("frozen beans", 3.0),
        ("frozen collards", 3.0),
        ("frozen kale", 2.0),
        ("frozen chard", 2.0),
        ("frozen spinach", 2.0),
        ("frozen bok choy", 1.5),
        ("frozen okra", 3.0),
        ("frozen zucchini slices", 3.0),
        ("frozen eggplant", 4.0),
        ("frozen carrots", 2.0),
        ("frozen turnips", 2.0),
        ("frozen broccoli", 3.0),
        ("frozen cauliflower", 3.0),
        ("frozen peas", 1.5),
        ("frozen corn", 4.0),
    ] {
        assert_eq!(given(&products[name], "blanch_min"), minutes, "{name}");
    }
}

/// Days in a home refrigerator (low, high) and greatest days in cold storage: extension lists of fresh keeping (Univ. of
/// Nebraska and Georgia, Iowa State, Texas A&M); USDA Handbook 66, UC Davis, New England guide.
const KEEPS: [(&str, f64, f64, f64); 20] = [
    ("bush bean", 2.0, 4.0, 10.0),
    ("collards", 4.0, 5.0, 14.0),
    ("kale", 5.0, 5.0, 21.0),
    ("turnip greens", 1.0, 3.0, 14.0),
    ("mustard greens", 1.0, 3.0, 14.0),
    ("chard", 2.0, 3.0, 14.0),
    ("spinach", 2.0, 3.0, 14.0),
    ("bok choy", 3.0, 4.0, 21.0),
    ("napa cabbage", 7.0, 14.0, 90.0),
    ("leaf lettuce", 3.0, 7.0, 7.0),
    ("basil", 4.0, 5.0, 7.0),
    ("okra", 2.0, 3.0, 10.0),
    ("zucchini", 4.0, 7.0, 14.0),
    ("eggplant", 5.0, 7.0, 7.0),
    ("tomato", 3.0, 5.0, 21.0),
    ("pepper", 7.0, 14.0, 21.0),
    ("carrot", 14.0, 14.0, 270.0),
    ("broccoli", 3.0, 5.0, 14.0),
    ("pea", 2.0, 3.0, 14.0),
    ("sweet corn", 1.0, 2.0, 8.0),
];

#[test]
fn fresh_food_keeps_as_published() {
    let crops = by_name("crops");
    for (crop, low, high, greatest) in KEEPS {
        let best = given(&crops[crop], "best_days");
        assert!(
            (low..=high).contains(&best),
            "{crop}: {best} days against {low}-{high}"
        );
        let last = given(&crops[crop], "last_days");
        assert!(
            last <= greatest,
            "{crop}: {last} days, {greatest} in cold storage"
        );
    }
}

/// Months of good quality: 8-12 frozen (USDA AIB 410, Univ. of Minnesota); a year canned (AIB 539, Guide 1); about 6
/// dried at 60 °F (NCHFP).
#[test]
fn stores_keep_as_published() {
    let methods = by_name("methods");
    for freeze in ["freeze blanched", "freeze raw", "freeze puree"] {
        assert!((8.0..=12.0).contains(&given(&methods[freeze], "best_months")));
        assert_eq!(given(&methods[freeze], "last_months"), 12.0);
    }
    for can in ["boiling-water can", "pressure can"] {
        assert_eq!(given(&methods[can], "best_months"), 12.0);
    }
    assert_eq!(given(&methods["dry"], "best_months"), 6.0);
}
