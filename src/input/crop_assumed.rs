//! What is taken for a crop of the household's own where its row leaves cells empty, in one sentence a crop.
//!
//! The built-in crops have their figures and sources in the tables; only a new crop's row rests on usual figures.

use super::problem::Findings;
use super::tables::Entry;
use crate::garden::crop::Crop;

/// Names the figures taken for cells that matter to dates, amounts or hours.
pub(crate) fn tell(crops: &[Crop], entries: &[Entry<'_>], f: &mut Findings) {
    for (crop, entry) in crops.iter().zip(entries) {
        let Some(own) = entry.own.as_ref().filter(|_| entry.built_in.is_none()) else {
            continue;
        };
        let taken: Vec<String> = figures(crop)
            .into_iter()
            .filter(|(column, _)| own.cell(column).is_none())
            .map(|(column, figure)| format!("{column} {figure}"))
            .collect();
        if !taken.is_empty() {
            f.assume(format!(
                "For {}, a crop of your own, these were taken where its row is empty: {}.",
                crop.name,
                taken.join(", ")
            ));
        }
    }
}

/// Columns with a usual figure, and what stands in them now.
fn figures(crop: &Crop) -> [(&'static str, String); 10] {
    let (growth, harvest, kitchen) = (&crop.growth, &crop.harvest, &crop.kitchen);
    let text = |x: f64| super::number::tidy(x);
    let killed = match crop.ends.killed_below {
        Some(t) => text(t.f()),
        None => "never".to_owned(),
    };
    [
        ("full_c", text(growth.full.c())),
        ("up_degree_days_c", text(growth.up_degree_days)),
        ("pick_every_days", text(harvest.pick_every_days)),
        ("holds_days", text(harvest.holds_days)),
        ("killed_below_f", killed),
        ("yield_cv", text(crop.yields.cv)),
        ("fail_chance", text(crop.yields.fail_chance)),
        ("last_days", text(kitchen.last_days)),
        ("prep_min_per_lb", text(kitchen.prep_min_per_lb.min_value())),
        ("pick_min_per_lb", text(kitchen.pick_min_per_lb.min_value())),
    ]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use crate::input::{Files, load_files, sample};

    fn assumed(rows: &str) -> Vec<String> {
        let mut files = Files {
            name: "trial".to_owned(),
            ..sample::files()
        };
        let header = "crop,group,pattern,days_sown,base_c,harvest_days,lb_per_100ft_low,lb_per_100ft_high,in_row_in,between_rows_in,best_days";
        let text = format!("{header}{rows}");
        files
            .content
            .insert("crops.csv".to_owned(), text.into_bytes());
        load_files(&files).unwrap().assumed
    }

    #[test]
    fn a_new_crop_names_what_was_taken_and_a_changed_one_does_not() {
        let usual = assumed("\nbush bean,,,,,,,,,,3\n");
        let with =
            assumed("\nbush bean,,,,,,,,,,3\nsea kale,cooking greens,leaf,90,4,60,40,60,15,18,4\n");
        let new: Vec<&String> = with.iter().filter(|line| !usual.contains(line)).collect();
        assert_eq!(
            new,
            [
                "For sea kale, a crop of your own, these were taken where its row is empty: full_c 17, up_degree_days_c 110, \
              pick_every_days 7, holds_days 2, killed_below_f never, yield_cv 0.3, fail_chance 0.03, last_days 8, \
              prep_min_per_lb 3, pick_min_per_lb 2."
            ]
        );
        let given = assumed(
            ",prep_min_per_lb,pick_min_per_lb,holds_days\nsea kale,cooking greens,leaf,90,4,60,40,60,15,18,4,5,6,9\n",
        );
        let line = given.iter().find(|line| line.contains("sea kale")).unwrap();
        assert!(
            !line.contains("min_per_lb") && !line.contains("holds_days"),
            "{line}"
        );
    }
}
