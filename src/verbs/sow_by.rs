//! `putby sow by`: by when each crop must be sown, beside the count-back rule; one side to pin up.

use super::cli::Shared;
use super::setting::{self, Setting};
use super::{Exit, Failure, deliver, sow_by_facts, sow_by_page};
use crate::garden::Garden;
use crate::garden::bed::{Bed, Protection};
use crate::garden::crop::CropId;
use crate::garden::week::DateRange;
use crate::input;
use crate::input::asked;
use crate::input::render::render_all;
use crate::output::report::Report;
use crate::season::climate::Climate;
use crate::season::ensemble::Settings;
use crate::sowing::dates::{Answer, Question, sow_by};
use crate::sowing::dates_recorded::{Fed, fed};
use crate::sowing::soil::WARMER_K;
use chrono::Days;
use clap::Args;

/// Dates are tried in this part of the seasons that a forecast draws: each of hundreds of dates is a forecast of its own.
const PART_OF_DRAWS: u32 = 10;

/// Share of seasons that must succeed unless asked otherwise.
const CHANCE: f64 = 0.8;

/// Arguments of `sow by`.
#[derive(Debug, Clone, Args)]
pub(super) struct ByArgs {
    /// Crops or groups of crops [default: every crop]
    #[arg(value_name = "CROP")]
    names: Vec<String>,
    /// Seasons in 10 that must succeed [default: 8]
    #[arg(long, value_name = "N", value_parser = seasons_in_ten, default_value = "8", hide_default_value = true)]
    chance: f64,
    /// Cover to reckon with, such as low_tunnel; may be given again [default: those of the beds]
    #[arg(long, value_name = "COVER", value_parser = cover)]
    protection: Vec<Protection>,
    /// Latitude in degrees, south below 0; then no files are read
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true, conflicts_with_all = ["garden", "sample"])]
    latitude: Option<f64>,
    /// Middle date of the first frost of fall, such as 10-05
    #[arg(long, value_name = "DATE", requires = "latitude")]
    first_frost: Option<String>,
    /// Middle date of the last frost of spring, such as 04-25
    #[arg(long, value_name = "DATE", requires = "latitude")]
    last_frost: Option<String>,
    /// How much warmer than the mean of the air your soil is, in kelvins [default: 2]
    #[arg(long, value_name = "K", default_value_t = WARMER_K, hide_default_value = true, allow_negative_numbers = true, value_parser = soil_warmer)]
    soil_warmer: f64,
}

pub(super) fn seasons_in_ten(text: &str) -> Result<f64, String> {
    text.trim()
        .parse::<f64>()
        .ok()
        .filter(|n| (0.5..=9.9).contains(n))
        .map(|n| n / 10.0)
        .ok_or_else(|| "a number of seasons in ten, from 1 to 9.9".to_owned())
}

fn soil_warmer(text: &str) -> Result<f64, String> {
    text.trim()
        .parse::<f64>()
        .ok()
        .filter(|k| (-10.0..=15.0).contains(k))
        .ok_or_else(|| "kelvins, from -10 to 15".to_owned())
}

fn cover(text: &str) -> Result<Protection, String> {
    let word = text.trim().to_lowercase().replace([' ', '-'], "_");
    Protection::NAMES
        .iter()
        .find(|(name, _)| *name == word)
        .map(|(_, protection)| *protection)
        .ok_or_else(|| {
            let names: Vec<&str> = Protection::NAMES.iter().map(|(name, _)| *name).collect();
            format!("one of {}", names.join(", "))
        })
}

/// Everything that page, facts and chart are made of.
pub(super) struct Asked<'a> {
    /// Garden, day and draws.
    pub(super) setting: &'a Setting,
    /// What was asked.
    pub(super) question: &'a Question<'a>,
    /// Whether crops were named.
    pub(super) named: bool,
    /// The climate in force.
    pub(super) climate: &'a Climate,
    /// The answer.
    pub(super) answer: &'a Answer,
    /// Whether nothing can be sown for this year any more, so that the question and the answer are the next year's.
    pub(super) next_year: bool,
    /// How the last dates did in the recorded falls, one for each row.
    pub(super) fed: Vec<Option<Fed>>,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &ByArgs) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let mut setting = load(shared, arguments)?;
    setting.draws.draws = setting.draws.draws.div_ceil(PART_OF_DRAWS);
    let garden = &setting.garden;
    let named = !arguments.names.is_empty();
    let crops = if named {
        asked::crops(garden, &arguments.names).map_err(Failure::Usage)?
    } else {
        (0..garden.crops.len()).map(CropId).collect()
    };
    let question = Question {
        garden,
        as_of: setting.as_of,
        crops,
        beds: covers(garden, &setting, &arguments.protection),
        chance: arguments.chance,
        soil_warmer_k: arguments.soil_warmer,
        settings: Settings { ..setting.draws },
    };
    answered(&setting, &question, named, |asked| {
        let mut report = sow_by_page::report(asked);
        report.facts = sow_by_facts::facts(asked);
        deliver::report(&report, &setting, shared, true)?;
        if charted {
            deliver::chart(&sow_by_facts::chart(asked), shared)?;
        }
        Ok(Exit::Done)
    })
}

/// Answers a question, for the next year where this one is over, and hands on everything that is known of it.
fn answered<T>(
    setting: &Setting,
    question: &Question,
    named: bool,
    tell: impl FnOnce(&Asked) -> T,
) -> T {
    let climate = Climate::of(&setting.garden.site);
    let mut answer = sow_by(question, &climate);
    let mut later = question.clone();
    if answer.rows.is_empty() {
        later.as_of = answer.until + Days::new(1);
        let next = sow_by(&later, &climate);
        if next.rows.is_empty() {
            later.as_of = question.as_of;
        } else {
            answer = next;
        }
    }
    tell(&Asked {
        setting,
        question: &later,
        named,
        climate: &climate,
        answer: &answer,
        next_year: later.as_of != question.as_of,
        fed: fed(&later, &answer),
    })
}

/// What people read of some crops, asked as the command line asks without options.
pub(super) fn usual(setting: &Setting, crops: Vec<CropId>) -> Report {
    let question = Question {
        garden: &setting.garden,
        as_of: setting.as_of,
        crops,
        beds: covers(&setting.garden, setting, &[]),
        chance: CHANCE,
        soil_warmer_k: WARMER_K,
        settings: Settings {
            draws: setting.draws.draws.div_ceil(PART_OF_DRAWS),
            ..setting.draws
        },
    };
    answered(setting, &question, false, sow_by_page::report)
}

/// The garden that the command line names, or a place that has no files.
fn load(shared: &Shared, arguments: &ByArgs) -> Result<Setting, Failure> {
    let Some(latitude) = arguments.latitude else {
        if setting::no_garden(shared) {
            return Err(Failure::Usage(
                "no garden here. Say where yours is, `putby sow by --latitude 42 --first-frost 10-05`, or name its \
                 folder with -g"
                    .to_owned(),
            ));
        }
        return Setting::load(shared);
    };
    let files = asked::place(
        latitude,
        arguments.first_frost.as_deref(),
        arguments.last_frost.as_deref(),
    )
    .map_err(Failure::Usage)?;
    let garden = input::load_files(&files)
        .map_err(|problems| Failure::Problems(render_all(&problems, false)))?;
    Ok(Setting::of(garden, shared))
}

/// One bed for each kind of cover: those asked for, always on; else those of the garden's beds, on as the beds have them.
fn covers(garden: &Garden, setting: &Setting, asked: &[Protection]) -> Vec<Bed> {
    let bed = |protection: Protection, protected: DateRange| Bed {
        name: protection.name().replace('_', " "),
        length: None,
        width: None,
        protection,
        protected,
        yield_factor: 1.0,
    };
    let mut covers: Vec<Bed> = Vec::new();
    let mut add = |protection, protected: DateRange| {
        let known = |c: &Bed| (c.protection, c.protected) == (protection, protected);
        if !covers.iter().any(known) {
            covers.push(bed(protection, protected));
        }
    };
    for &protection in asked {
        add(protection, DateRange::default());
    }
    if asked.is_empty() {
        add(Protection::None, DateRange::default());
        for known in &garden.beds {
            // Off for good, or of no help against cold, it changes nothing.
            let gone = known
                .protected
                .until
                .is_some_and(|until| until <= setting.as_of);
            if !gone && ![Protection::None, Protection::ShadeCloth].contains(&known.protection) {
                add(known.protection, known.protected);
            }
        }
    }
    covers
}
