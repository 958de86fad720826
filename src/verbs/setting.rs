//! What a verb works in: the garden, the day, the draws; and the page it writes on.

use super::Failure;
use super::cli::{self, Shared};
use crate::garden::Garden;
use crate::input;
use crate::input::render::render_all;
use crate::learning::record::with_counted_bags;
use crate::learning::this_season::this_season;
use crate::output::report::{Format, Page, Stamp};
use crate::season::ensemble::Settings;
use crate::season::plan::{self, Plan};
use chrono::{Local, NaiveDate};
use std::io::IsTerminal;
use std::path::PathBuf;

/// Width of a page that goes to no terminal.
const PAGE_WIDTH: usize = 110;
/// Widest page, since long lines are hard to read.
const WIDEST_PAGE: usize = 120;

/// A loaded garden with the day to reckon from and the draws to make.
pub(super) struct Setting {
    /// The garden.
    pub(super) garden: Garden,
    /// Today, as far as the answer is concerned.
    pub(super) as_of: NaiveDate,
    /// Draws and seed.
    pub(super) draws: Settings,
}

impl Setting {
    /// Loads the garden that the command line names.
    ///
    /// # Errors
    /// All faults of its files, as text.
    pub(super) fn load(shared: &Shared) -> Result<Self, Failure> {
        let loaded = if shared.sample {
            input::load_files(&input::sample::files())
        } else {
            input::load(&folder(shared))
        };
        let garden =
            loaded.map_err(|problems| Failure::Problems(render_all(&problems, colours())))?;
        Ok(Self::of(garden, shared))
    }

    /// Takes a garden that is loaded already.
    pub(super) fn of(garden: Garden, shared: &Shared) -> Self {
        let as_of = shared.as_of.or(garden.as_of).unwrap_or_else(today);
        Self {
            garden,
            as_of,
            draws: Settings {
                draws: shared.draws,
                seed: shared.random_seed,
            },
        }
    }

    /// Loads the garden that the command line names, or the sample where there is none: for verbs that show tables.
    ///
    /// # Errors
    /// All faults of its files, as text.
    pub(super) fn load_or_tables(shared: &Shared) -> Result<Self, Failure> {
        let nowhere = shared.garden.is_none() && !folder(shared).join("garden.toml").exists();
        Self::load(&Shared {
            sample: shared.sample || nowhere,
            ..shared.clone()
        })
    }

    /// Makes the garden ready for its drawn seasons, which count as the pickings logged so far say.
    pub(super) fn plan(&self) -> Plan {
        self.plan_of(u32::MAX).0
    }

    /// Makes the garden ready for at most so many drawn seasons; returns with it how to draw them.
    pub(super) fn plan_of(&self, most: u32) -> (Plan, Settings) {
        let few = Settings {
            draws: self.draws.draws.min(most),
            ..self.draws
        };
        (self.ready(&self.garden, &few), few)
    }

    /// Makes a garden with the same record ready for so many drawn seasons, which count as its pickings say.
    pub(super) fn ready(&self, garden: &Garden, settings: &Settings) -> Plan {
        let mut plan = plan::compile(garden, self.as_of);
        let rows = with_counted_bags(garden);
        if let Some(found) = this_season(garden, &rows, &plan, self.as_of, settings) {
            found.place(&mut plan);
        }
        plan
    }

    /// Returns what stamps the output; `drawn` says whether the answer rests on drawn seasons.
    pub(super) fn stamp(&self, drawn: bool) -> Stamp {
        Stamp {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            garden: self.garden.name.clone(),
            as_of: self.as_of,
            random_seed: drawn.then_some(self.draws.seed),
            draws: drawn.then_some(self.draws.draws as usize),
        }
    }

    /// Returns the page for people.
    pub(super) fn page(&self, shared: &Shared) -> Page {
        Page {
            width: page_width(shared),
            units: self.garden.show.units,
        }
    }
}

/// Says whether no garden was named and the current folder holds none.
pub(super) fn no_garden(shared: &Shared) -> bool {
    let here = folder(shared);
    let named = shared.sample || shared.garden.is_some();
    !named && !here.join("garden.toml").exists() && !here.join("plantings.csv").exists()
}

/// Returns the folder of the garden.
pub(super) fn folder(shared: &Shared) -> PathBuf {
    shared.garden.clone().unwrap_or_else(|| PathBuf::from("."))
}

/// Reads the clock: the only place that does.
pub(super) fn today() -> NaiveDate {
    Local::now().date_naive()
}

/// Says whether faults may be shown in colour: on a terminal, and unless `NO_COLOR` is set.
fn colours() -> bool {
    std::io::stderr().is_terminal()
        && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// Returns the form of the answer.
pub(super) fn format(shared: &Shared) -> Format {
    match shared.format {
        cli::Format::Table => Format::Table,
        cli::Format::Csv => Format::Csv,
        cli::Format::Json => Format::Json,
    }
}

/// Returns the width of the page: the terminal's, or a fixed one for files and pipes.
pub(super) fn page_width(shared: &Shared) -> usize {
    if shared.output.is_some() || !std::io::stdout().is_terminal() {
        return PAGE_WIDTH;
    }
    terminal_size::terminal_size().map_or(PAGE_WIDTH, |(width, _)| {
        usize::from(width.0).clamp(60, WIDEST_PAGE)
    })
}
