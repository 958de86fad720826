//! From the household's files to a garden: text to rows and keys, rows to nouns, nouns to a checked whole.
//!
//! Either everything is well and there is a garden, or every problem found is returned in one go. The only room
//! that reads or appends to the garden's files; knows nothing of forecasts or output.

mod amounts;
pub mod asked;
mod base;
mod beds;
mod cells;
mod checks;
pub mod cleared;
mod contained;
mod crop_assumed;
mod crop_figures;
mod crops;
mod dates;
mod events;
pub mod fix;
mod folder;
mod frost;
mod givers;
mod goals;
mod header;
mod household;
mod keys;
mod kitchen;
pub mod learned;
pub mod loader;
pub mod logbook;
mod methods;
mod names;
mod needs;
mod normals;
mod number;
mod office;
mod office_cells;
mod office_frost;
mod picked;
mod picked_plain;
pub mod plan_file;
mod planting_names;
mod plantings;
pub mod problem;
mod products;
mod record;
mod refusals;
pub mod render;
mod repeated;
mod rows;
pub mod sample;
pub mod sheets;
mod sheets_broken;
mod sheets_twice;
mod site;
mod slips;
mod spellings;
mod split;
pub mod spoken;
mod spoken_days;
mod spoken_more;
mod spoken_names;
mod spoken_picked;
mod spoken_words;
mod stations;
pub mod store;
mod stores;
mod tables;
pub mod text;
mod unfinished;
mod units;
mod weather;
mod weather_unit;
pub mod whole;
pub mod workbook;
mod workbook_ods;
mod workbook_parts;
mod workbook_xlsx;
mod workbook_xml;

pub use loader::{Files, load, load_files};

/// Reads the files of a folder without understanding them.
///
/// # Errors
/// One problem if there is no such folder.
pub fn read_files(folder: &std::path::Path) -> Result<Files, Vec<problem::Problem>> {
    folder::read(folder)
}

/// Says whether a file of this name, in any case, is read as one of the garden's.
#[must_use]
pub fn is_garden_file(name: &str) -> bool {
    let name = name.to_lowercase();
    name == "garden.toml" || loader::FILE_NAMES.contains(&name.as_str())
}
