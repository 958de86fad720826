//! `putby why`: every figure behind a planting, or behind a week, its days and its sessions.
//!
//! Finds out what is meant and passes it on; shows no figure that another verb works out differently.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, why_planting, why_week};
use crate::garden::Garden;
use crate::garden::planting::PlantingId;
use crate::output::text::{self, visible};
use chrono::NaiveDate;
use clap::Args;

/// Arguments of `why`.
#[derive(Debug, Clone, Args)]
pub struct WhyArgs {
    /// A planting by its name, a crop with one planting, or a day as 2026-08-12 for its week and its session
    #[arg(value_name = "PLANTING|DATE", required = true, num_args = 1..)]
    what: Vec<String>,
}

/// What is asked about.
enum Subject {
    Planting(PlantingId),
    Day(NaiveDate),
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &WhyArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "why")?;
    let setting = Setting::load(shared)?;
    let what = arguments.what.join(" ");
    let report = match subject(&setting, what.trim())? {
        Subject::Planting(id) => why_planting::report(&setting, id)?,
        Subject::Day(day) => why_week::report(&setting, day)?,
    };
    deliver::report(&report, &setting, shared, true)?;
    Ok(Exit::Done)
}

fn subject(setting: &Setting, what: &str) -> Result<Subject, Failure> {
    if let Ok(day) = what.parse() {
        return Ok(Subject::Day(day));
    }
    let garden = &setting.garden;
    let same = |name: &str| name.to_lowercase() == what.to_lowercase();
    let named = garden.plantings.iter().position(|p| same(&p.name));
    if let Some(place) = named {
        return Ok(Subject::Planting(PlantingId(place)));
    }
    let of_crop: Vec<usize> = (garden.plantings.iter().enumerate())
        .filter(|(_, p)| same(&garden.crop(p.crop).name))
        .map(|(place, _)| place)
        .collect();
    match of_crop.as_slice() {
        [only] => Ok(Subject::Planting(PlantingId(*only))),
        [] => Err(Failure::Usage(unknown(garden, what))),
        several => Err(Failure::Usage(format!(
            "`{}` has {} plantings; ask about one of them: {}",
            visible(what),
            several.len(),
            text::either(&names(garden, several))
        ))),
    }
}

fn names(garden: &Garden, places: &[usize]) -> Vec<String> {
    places
        .iter()
        .map(|&place| format!("`{}`", visible(&garden.plantings[place].name)))
        .collect()
}

/// Says what was not understood, with the planting whose name is nearest.
fn unknown(garden: &Garden, what: &str) -> String {
    let like = |name: &str| strsim::jaro_winkler(&name.to_lowercase(), &what.to_lowercase());
    let nearest = garden
        .plantings
        .iter()
        .max_by(|a, b| like(&a.name).total_cmp(&like(&b.name)));
    let hint = nearest.map_or_else(
        || "there are no plantings".to_owned(),
        |p| format!("the nearest planting is `{}`", visible(&p.name)),
    );
    format!(
        "`{}` is neither a planting nor a day such as {}; {hint}",
        visible(what),
        garden
            .as_of
            .map_or_else(|| "2026-08-12".to_owned(), |d| d.to_string())
    )
}
