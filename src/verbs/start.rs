//! `putby start`: writes the files of a new garden, and never over files that are there.

use super::cli::Shared;
use super::{Exit, Failure, deliver, setting};
use crate::input::problem::Problem;
use crate::input::render::render_all;
use crate::input::sample;
use crate::input::sheets;
use crate::input::whole::{self, Change, hold};
use chrono::{Datelike, NaiveDate};
use clap::Args;
use std::fs;

/// Arguments of `start`.
#[derive(Debug, Clone, Args)]
pub struct StartArgs {
    /// Also write beds.csv, needs.csv and goals.csv
    #[arg(long, conflicts_with = "from_sample")]
    all: bool,
    /// Write the invented sample garden, to try things on
    #[arg(long)]
    from_sample: bool,
}

/// The files to begin with; the first two are enough.
const TEMPLATES: [(&str, &str); 5] = [
    ("garden.toml", include_str!("../../data/start/garden.toml")),
    (
        "plantings.csv",
        include_str!("../../data/start/plantings.csv"),
    ),
    ("beds.csv", include_str!("../../data/start/beds.csv")),
    ("needs.csv", include_str!("../../data/start/needs.csv")),
    ("goals.csv", include_str!("../../data/start/goals.csv")),
];
/// How many of the templates are written without `--all`.
const ENOUGH: usize = 2;

/// Year in which the templates' sowings stand.
const TEMPLATE_YEAR: &str = "2026-";

/// Year of the season to come: this year's until the end of June, then the next one's.
fn season_year(today: NaiveDate) -> i32 {
    if today.month() <= 6 {
        today.year()
    } else {
        today.year() + 1
    }
}

/// Moves a template's dates into a year.
fn in_year(template: &str, year: i32) -> String {
    template.replace(TEMPLATE_YEAR, &format!("{year:04}-"))
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &StartArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "start")?;
    if shared.sample {
        return Err(Failure::Usage(
            "`start` writes into a folder; for the sample's files say: putby start --from-sample"
                .into(),
        ));
    }
    let year = season_year(shared.as_of.unwrap_or_else(setting::today));
    let files: Vec<(String, Vec<u8>)> = if arguments.from_sample {
        sample::files().content.into_iter().collect()
    } else {
        let count = if arguments.all {
            TEMPLATES.len()
        } else {
            ENOUGH
        };
        TEMPLATES[..count]
            .iter()
            .map(|(name, text)| ((*name).to_owned(), in_year(text, year).into_bytes()))
            .collect()
    };
    let folder = setting::folder(shared);
    let failed = |problem: Box<Problem>| Failure::File(render_all(&[*problem], false));
    whole::settle(&hold(&folder), &folder).map_err(failed)?;
    let mut there: Vec<String> = files
        .iter()
        .map(|(name, _)| name.clone())
        .filter(|name| folder.join(name).symlink_metadata().is_ok())
        .collect();
    // A table in a workbook would stand twice.
    let entries = fs::read_dir(&folder).into_iter().flatten().flatten();
    there.extend(
        entries
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|name| sheets::holds(&name.to_lowercase()).is_some()),
    );
    there.sort();
    if !there.is_empty() {
        return Err(Failure::File(format!(
            "{}: {} already there; nothing was written. Start in an empty folder, or move them away.",
            folder.display(),
            match there.as_slice() {
                [one] => format!("{one} is"),
                many => format!("{} are", many.join(", ")),
            }
        )));
    }
    fs::create_dir_all(&folder)
        .map_err(|error| Failure::File(format!("{}: {error}", folder.display())))?;
    let changes: Vec<Change<'_>> = files
        .iter()
        .map(|(name, bytes)| Change {
            file: name,
            known: None,
            content: bytes,
        })
        .collect();
    whole::write(&hold(&folder), &folder, &changes).map_err(failed)?;
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let place = match &shared.garden {
        Some(folder) => format!(" in {}", folder.display()),
        None => String::new(),
    };
    let next = if arguments.from_sample {
        "Everything in them is invented. Try: putby kitchen"
    } else {
        "Put your own latitude, frost dates and plantings in, then: putby check"
    };
    deliver::text_out(
        &format!("Wrote {}{place}.\n{next}\n", names.join(", ")),
        shared,
    )?;
    Ok(Exit::Done)
}
