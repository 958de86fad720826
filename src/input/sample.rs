//! The sample garden, embedded, so that every verb runs on a machine that has nothing but the program.
//!
//! Its household and its records are invented and its files say so.

use super::loader::Files;

/// Makes an embedded file from its name in `data/sample`.
macro_rules! files {
    ($($name:literal),+ $(,)?) => { [ $( ($name, include_bytes!(concat!("../../data/sample/", $name)).as_slice()) ),+ ] };
}

/// Returns the files of the sample garden.
#[must_use]
pub fn files() -> Files {
    Files {
        name: "sample".to_owned(),
        content: files![
            "README.txt",
            "beds.csv",
            "crops.csv",
            "events.csv",
            "garden.toml",
            "goals.csv",
            "needs.csv",
            "picked.csv",
            "plantings.csv",
            "products.csv",
            "stores.csv",
        ]
        .into_iter()
        .map(|(name, bytes)| (name.to_owned(), bytes.to_vec()))
        .collect(),
        ..Files::default()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::loader::load_files;
    use super::super::render::render_all;

    #[test]
    fn the_sample_holds_every_file_of_its_folder() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data/sample");
        let mut names: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        let held: Vec<String> = super::files().content.into_keys().collect();
        assert_eq!(held, names, "name every file in the list above");
    }

    #[test]
    fn the_sample_is_a_sound_garden_with_a_fixed_day() {
        match load_files(&super::files()) {
            Ok(garden) => {
                assert!(garden.as_of.is_some());
                assert!(!garden.plantings.is_empty());
                assert!(garden.crops.len() >= 16 && garden.products.len() >= 14);
                assert!(garden.tables.sources.len() > 100);
            }
            Err(problems) => panic!("{}", render_all(&problems, false)),
        }
    }
}
