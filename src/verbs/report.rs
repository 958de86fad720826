//! `putby report`: one self-contained page of everything the other verbs know; `--sheets`: sides for the wall.
//!
//! Calls what the other verbs call and computes nothing itself. The page loads nothing and runs no script.

use super::cli::{Format, Shared};
use super::sessions;
use super::setting::Setting;
use super::week::{self, Screen};
use super::{Exit, Failure, deliver, report_page, report_sheets, week_since};
use crate::kitchen::processing::ProcessingDays;
use crate::output::dates;
use crate::output::page::{self, Body, Document};
use clap::Args;
use std::io::IsTerminal;

/// Arguments of `report`.
#[derive(Debug, Clone, Args)]
pub struct ReportArgs {
    /// Make sheets to hang up instead, each one printed side: two weeks, session card, picking sheet, freezer door, last sowings
    #[arg(long)]
    sheets: bool,
}

/// What page and sheets tell, before it is words.
pub(super) struct Known<'a> {
    /// Garden and day.
    pub(super) setting: &'a Setting,
    /// This week and the next, and the season's figures.
    pub(super) screen: Screen<'a>,
    /// The coming processing days.
    pub(super) days: ProcessingDays,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &ReportArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "report")?;
    if shared.format != Format::Table {
        return Err(Failure::Usage(
            "`report` writes a page for people; `kitchen`, `forecast`, `when` and the others write csv and json"
                .to_owned(),
        ));
    }
    if shared.output.is_none() && std::io::stdout().is_terminal() {
        return Err(Failure::Usage(
            "say where the page should go: putby report -o report.html".to_owned(),
        ));
    }
    let setting = Setting::load(shared)?;
    let since = week_since::day(setting.as_of, None).map_err(Failure::Usage)?;
    let known = Known {
        setting: &setting,
        screen: week::look(&setting, since),
        days: sessions::days(&setting, sessions::WEEKS, sessions::SEASONS_IN_TEN)?,
    };
    let body = if arguments.sheets {
        Body::Sheets(report_sheets::sheets(&known)?)
    } else {
        Body::Sections(report_page::sections(&known))
    };
    let text = page::render(&document(&setting, body));
    deliver::text_out(&text, shared)?;
    Ok(Exit::Done)
}

fn document(setting: &Setting, body: Body) -> Document {
    let name = &setting.garden.name;
    let day = dates::with_year(setting.as_of);
    let seasons = setting.draws.draws;
    let (title, lead) = match &body {
        Body::Sections(_) => (
            name.clone(),
            format!(
                "What the garden will give and the kitchen can put by, seen from {day} in {seasons} drawn seasons."
            ),
        ),
        Body::Sheets(_) => (
            format!("Sheets to hang up: {name}"),
            format!("Seen from {day}. Print this page: each sheet fits one side of A4 or Letter."),
        ),
    };
    Document {
        title,
        lead: vec![lead],
        body,
        foot: format!(
            "Made by putby {} for {day}; log what you pick and put by, and make it again.",
            env!("CARGO_PKG_VERSION")
        ),
        units: setting.garden.show.units,
    }
}
