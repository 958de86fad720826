//! The tables agree with each other, and with the safety matrix.

use crate::{by_name, given, number, parts, read};
use putby::garden::safety::{Claim, SafetyColumn, SafetyRow, Verdict, product_verdict};
use std::collections::BTreeSet;

#[test]
fn rows_agree_with_each_other() {
    let (crops, methods, products) = (by_name("crops"), by_name("methods"), by_name("products"));
    assert!(crops.len() >= 43 && methods.len() == 9 && products.len() >= 40);
    let mut names = BTreeSet::new();
    for (name, row) in &crops {
        let others = row["also_called"]
            .split("; ")
            .filter(|other| !other.is_empty());
        for called in others.chain([name.as_str()]) {
            assert!(names.insert(called.to_owned()), "{called} means two crops");
        }
        let shape: f64 = row["shape"]
            .split("; ")
            .map(|s| s.parse::<f64>().unwrap())
            .sum();
        assert!(
            (shape - 100.0).abs() < 1e-9,
            "{name}: shape adds to {shape}"
        );
        for (low, high) in [
            ("lb_per_100ft_low", "lb_per_100ft_high"),
            ("bed_lb_per_sqft_low", "bed_lb_per_sqft_high"),
            ("best_days", "last_days"),
            ("base_c", "full_c"),
        ] {
            assert!(given(row, low) <= given(row, high), "{name}: {low}");
        }
        assert!(
            number(row, "days_sown")
                .or(number(row, "days_set_out"))
                .is_some(),
            "{name} has no days to maturity"
        );
        if let (Some(sown), Some(set_out)) = (number(row, "days_sown"), number(row, "days_set_out"))
        {
            assert!(set_out < sown, "{name}: setting out must save days");
        }
        let bolts = number(row, "bolts_above_c").or(number(row, "bolts_above_hours"));
        assert_eq!(
            bolts.is_some(),
            !row["bolt_growing_days"].is_empty(),
            "{name}"
        );
        for share in [
            "baby_at",
            "early_end_chance",
            "strip_share",
            "also_share",
            "fail_chance",
        ] {
            assert!(
                number(row, share).is_none_or(|s| s > 0.0 && s <= 1.0),
                "{name}: {share}"
            );
        }
        assert!(
            row["also"].is_empty() || crops.contains_key(&row["also"]),
            "{name}"
        );
        if !row["put_by"].is_empty() {
            let product = &products[&row["put_by"]];
            assert!(
                parts(product).iter().any(|(crop, ..)| crop == name),
                "{name} is not in its product"
            );
        }
    }
    for (name, row) in &products {
        let method = &methods[&row["method"]];
        let parts = parts(row);
        for (crop, least, greatest) in &parts {
            assert!(crops.contains_key(crop), "{name}: no crop {crop}");
            assert!(
                0.0 <= *least && least <= greatest && *greatest <= 1.0,
                "{name}: {crop}"
            );
        }
        assert!(
            parts.iter().map(|p| p.1).sum::<f64>() <= 1.0 + 1e-9,
            "{name}"
        );
        assert!(
            parts.iter().map(|p| p.2).sum::<f64>() >= 1.0 - 1e-9,
            "{name}"
        );
        let months = |column| number(row, column).unwrap_or_else(|| given(method, column));
        assert!(months("best_months") <= months("last_months"), "{name}");
        assert!(
            row["finish_as"].is_empty() || products.contains_key(&row["finish_as"]),
            "{name}"
        );
        assert_eq!(
            row["bought_in"].is_empty(),
            row["bought_in_share"].is_empty(),
            "{name}"
        );
        assert_eq!(
            method["appliance"] == "pot",
            !row["blanch_min"].is_empty() && row["method"] != "dry",
            "{name}"
        );
        assert_eq!(
            method["appliance"] == "canner",
            !row["load_containers"].is_empty(),
            "{name}"
        );
    }
}

#[test]
fn nothing_the_matrix_refuses_or_advises_against_is_offered() {
    let (crops, methods) = (by_name("crops"), by_name("methods"));
    for (name, row) in &crops {
        let known =
            row["safety_row"].is_empty() || SafetyRow::from_name(&row["safety_row"]).is_some();
        assert!(known, "{name}: unknown row {}", row["safety_row"]);
    }
    let mut pairs = 0;
    for product in read("products") {
        let column_name = &methods[&product["method"]]["safety_column"];
        let column = SafetyColumn::NAMES
            .iter()
            .find(|(n, _)| n == column_name)
            .map(|(_, c)| *c);
        assert_eq!(
            column.is_none(),
            column_name.is_empty(),
            "unknown column {column_name}"
        );
        let canned = column.is_some_and(SafetyColumn::is_canning);
        assert!(!canned || !product["caution"].is_empty(), "{product:?}");
        let rows: Vec<Option<SafetyRow>> = parts(&product)
            .iter()
            .map(|(crop, ..)| SafetyRow::from_name(&crops[crop]["safety_row"]))
            .collect();
        for row in rows
            .iter()
            .copied()
            .map(|row| vec![row])
            .chain([rows.clone()])
        {
            let claim = Claim {
                rows: &row,
                column,
                names_recipe: !product["recipe"].is_empty() && !product["fixed_amounts"].is_empty(),
                built_in: true,
                mashed: product["method"] == "freeze puree",
            };
            pairs += 1;
            let answer = product_verdict(claim);
            assert!(
                matches!(
                    answer,
                    Verdict::Tested | Verdict::TestedRecipe | Verdict::Practice
                ),
                "{}: {answer}",
                product["product"]
            );
            assert!(
                !canned || answer != Verdict::Practice,
                "{} is canned by practice only",
                product["product"]
            );
        }
    }
    assert!(pairs > 150, "only {pairs} pairs tried");
}

/// Canned rows name the guide that tested them: pressure by Guide 4 of the USDA Complete Guide to Home Canning,
/// boiling water by Guide 3 (tomatoes, with acid), Guide 6, or the pickle recipes of NCHFP and So Easy to Preserve.
#[test]
fn canned_rows_name_their_tested_recipe() {
    let mut canned = 0;
    for (name, row) in by_name("products") {
        let guides: &[&str] = match row["method"].as_str() {
            "pressure can" => &["Guide 4"],
            "boiling-water can" if row["crops"].starts_with("tomato") => &["Guide 3"],
            "boiling-water can" => &["Guide 6", "National Center", "So Easy to Preserve"],
            _ => continue,
        };
        canned += 1;
        assert!(
            guides.iter().any(|guide| row["recipe"].contains(guide)),
            "{name}: {}",
            row["recipe"]
        );
        let acid = row["caution"].contains("lemon juice or citric acid");
        assert_eq!(acid, row["crops"].starts_with("tomato"), "{name}");
        assert!(row["caution"].contains("your altitude"), "{name}");
    }
    assert!(canned >= 15, "only {canned} canned rows");
}
