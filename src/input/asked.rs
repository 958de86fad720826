//! What is asked for on the command line by name: crops, groups, beds, and a place that has no files.
//!
//! Names are forgiven case, hyphens and plurals as in the files; a wrong one is answered with the nearest right word.

use super::dates::{Reading, parse_year_day};
use super::loader::Files;
use super::names::{Names, plain};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::{CropId, FoodGroup};

/// Finds crops by their names or the name of their group, in the order asked, each once.
///
/// # Errors
/// One plain sentence for the first word that is neither.
pub fn crops(garden: &Garden, words: &[String]) -> Result<Vec<CropId>, String> {
    let mut names = Names::new();
    for (k, crop) in garden.crops.iter().enumerate() {
        names.add(&crop.name, CropId(k));
    }
    for (k, crop) in garden.crops.iter().enumerate() {
        for other in &crop.also_called {
            names.add_quietly(other, CropId(k));
        }
    }
    let mut found = Vec::new();
    for word in words {
        let of_group: Vec<CropId> = FoodGroup::NAMES
            .iter()
            .find(|(name, _)| plain(name) == plain(word))
            .map(|(_, group)| {
                (0..garden.crops.len())
                    .map(CropId)
                    .filter(|&id| garden.crop(id).group == *group)
                    .collect()
            })
            .unwrap_or_default();
        let meant = if of_group.is_empty() {
            // A bare last word such as `lettuce` means every crop that ends in it.
            names
                .find(word)
                .map(|id| vec![id])
                .or_else(|| ending_in(garden, word))
                .ok_or_else(|| unknown(&names, word, "crop or group of crops"))?
        } else {
            of_group
        };
        for id in meant {
            if !found.contains(&id) {
                found.push(id);
            }
        }
    }
    Ok(found)
}

/// Crops whose name ends in a word, as every bean does.
fn ending_in(garden: &Garden, word: &str) -> Option<Vec<CropId>> {
    let word = plain(word);
    let last = super::names::singular(&word);
    let found: Vec<CropId> = (0..garden.crops.len())
        .map(CropId)
        .filter(|&id| {
            plain(&garden.crop(id).name)
                .rsplit(' ')
                .next()
                .is_some_and(|end| super::names::singular(end) == last)
        })
        .collect();
    (!found.is_empty()).then_some(found)
}

/// Finds a bed by its name.
///
/// # Errors
/// One plain sentence if there is no such bed.
pub fn bed(garden: &Garden, word: &str) -> Result<BedId, String> {
    let mut names = Names::new();
    for (k, bed) in garden.beds.iter().enumerate() {
        names.add(&bed.name, BedId(k));
    }
    names
        .find_exact(word)
        .ok_or_else(|| unknown(&names, word, "bed"))
}

/// Says that a word is not known, with the nearest that is.
fn unknown<T: Copy>(names: &Names<T>, word: &str, what: &str) -> String {
    let groups = FoodGroup::NAMES.iter().map(|(name, _)| *name);
    let near = super::names::nearest(
        word,
        names
            .shown()
            .iter()
            .map(String::as_str)
            .chain(groups.filter(|_| what != "bed")),
    );
    let hint = near.map_or_else(String::new, |name| format!("; did you mean `{name}`?"));
    format!("there is no {what} `{}`{hint}", super::text::clean(word))
}

/// Makes the files of a place from nothing but its latitude and frost dates, in the styles that the files accept.
///
/// # Errors
/// One plain sentence on what is wrong with the latitude or a date.
pub fn place(
    latitude_deg: f64,
    first_fall: Option<&str>,
    last_spring: Option<&str>,
) -> Result<Files, String> {
    if !(-90.0..=90.0).contains(&latitude_deg) {
        return Err(format!(
            "--latitude {latitude_deg}: a latitude lies between -90 and 90 degrees, south of the equator below 0"
        ));
    }
    let mut frost = String::new();
    for (key, option, given) in [
        ("first_fall", "--first-frost", first_fall),
        ("last_spring", "--last-frost", last_spring),
    ] {
        let Some(text) = given else { continue };
        let day = parse_year_day(text.trim(), Reading::Unknown).map_err(|fault| {
            let hint = fault
                .hint
                .unwrap_or_else(|| "write month and day as 10-05 or \"5 Oct\"".to_owned());
            format!(
                "{option} {}: {}; {hint}",
                super::text::clean(text),
                fault.message
            )
        })?;
        let date = day.in_year(2026);
        frost.push_str(&format!("{key} = \"{}\"\n", date.format("%m-%d")));
    }
    if frost.is_empty() {
        return Err(
            "--latitude alone is not enough: add --first-frost, the middle date of your first freeze in fall, such as \
             10-05"
                .to_owned(),
        );
    }
    let toml = format!(
        "[site]\nname = \"{}\"\nlatitude_deg = {latitude_deg:?}\n[frost]\n{frost}",
        at(latitude_deg)
    );
    let mut files = Files::default();
    files
        .content
        .insert("garden.toml".to_owned(), toml.into_bytes());
    files.content.insert(
        "plantings.csv".to_owned(),
        b"bed,crop,sown,row_ft\n".to_vec(),
    );
    Ok(files)
}

/// A name for a place of which only the latitude is known.
fn at(latitude_deg: f64) -> String {
    let side = if latitude_deg < 0.0 { "south" } else { "north" };
    format!("{}° {side}", latitude_deg.abs())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::loader::load_files;
    use super::*;

    fn garden() -> Garden {
        load_files(&place(42.0, Some("10-05"), None).unwrap()).unwrap()
    }

    fn names(words: &[&str]) -> Result<Vec<String>, String> {
        let garden = garden();
        let words: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
        Ok(crops(&garden, &words)?
            .iter()
            .map(|&id| garden.crop(id).name.clone())
            .collect())
    }

    #[test]
    fn crops_are_found_by_name_other_name_last_word_and_group() {
        assert_eq!(names(&["Collard"]).unwrap(), ["collards"]);
        assert_eq!(names(&["green beans"]).unwrap(), ["bush bean"]);
        assert_eq!(
            names(&["lettuce", "head lettuce"]).unwrap(),
            ["leaf lettuce", "head lettuce"]
        );
        assert!(names(&["Cooking greens"]).unwrap().len() > 8);
        let wrong = names(&["spinich"]).unwrap_err();
        assert!(
            wrong.contains("`spinich`") && wrong.contains("`spinach`"),
            "{wrong}"
        );
    }

    #[test]
    fn a_place_needs_no_files() {
        for text in ["10-05", "5 Oct", "Oct 5", "2026-10-05"] {
            let garden = load_files(&place(42.0, Some(text), None).unwrap()).unwrap();
            let (_, day) = garden.site.frost.fall[0].dates[0];
            assert_eq!(day.in_year(2026).to_string(), "2026-10-05", "{text}");
            assert_eq!(garden.site.frost.spring.len(), 1);
        }
        for (latitude, fall, says) in [
            (420.0, Some("10-05"), "between -90 and 90"),
            (f64::NAN, Some("10-05"), "between -90 and 90"),
            (42.0, None, "--first-frost"),
            (42.0, Some("31-02"), "--first-frost 31-02"),
            (42.0, Some("05-25-"), "--first-frost"),
            (42.0, Some("25-10"), "10-25"),
        ] {
            let wrong = place(latitude, fall, None).unwrap_err();
            assert!(wrong.contains(says), "{wrong}");
        }
    }
}
