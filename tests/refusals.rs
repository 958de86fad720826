//! Every pair of crop and method is put to the loader as a household's own product: what the matrix of safe preserving
//! refuses is refused, whatever the household writes, and nothing else is.
//!
//! The matrix itself is checked against the USDA Complete Guide and extension pages where it stands.

use putby::garden::safety::{Verdict, verdict};
use putby::input::problem::Kind;
use putby::input::{load_files, sample};
use std::fmt::Write as _;

#[test]
fn refused_pairs_are_refused_through_override_tables_too() {
    let garden = load_files(&sample::files()).expect("the sample is sound");
    for (recipe, amounts) in [("", ""), ("ours", "2 lb")] {
        let mut text = String::from(
            "product,method,recipe,fixed_amounts,crops,container,container_qt,lb_per_container\n",
        );
        let mut refused = Vec::new();
        let mut pairs = 0;
        for crop in &garden.crops {
            for method in &garden.methods {
                let name = format!("pair of {} by {}", crop.name, method.name);
                let _ = writeln!(
                    text,
                    "{name},{},{recipe},{amounts},{} 1,pint jar,0.5,1",
                    method.name, crop.name
                );
                let answer = verdict(crop.safety_row, method.safety_column);
                // A recipe that is named opens what is tested by recipe only, and nothing that is refused.
                let closed = match answer {
                    Verdict::Refused(_) => true,
                    Verdict::TestedRecipe => recipe.is_empty(),
                    _ => false,
                };
                if closed {
                    refused.push(name);
                }
                pairs += 1;
            }
        }
        let mut files = sample::files();
        files
            .content
            .insert("products.csv".to_owned(), text.into_bytes());
        // The sample's goals name products that this table does not have.
        files.content.remove("goals.csv");
        files.content.remove("stores.csv");
        let problems = load_files(&files).expect_err("some pairs are refused");
        assert!(
            problems.iter().all(|p| p.kind == Kind::Refused),
            "{problems:#?}"
        );
        let told: Vec<String> = problems
            .iter()
            .map(|p| {
                p.message
                    .split(" is refused")
                    .next()
                    .unwrap_or_default()
                    .to_owned()
            })
            .collect();
        assert_eq!(told, refused);
        assert!(
            pairs >= 160 && refused.len() > 60,
            "{pairs} pairs, {} refused",
            refused.len()
        );
    }
}
