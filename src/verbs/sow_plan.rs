//! `putby sow plan`: a succession that meets needs and goals with the beds and the kitchen there are.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, sow_plan_page, sow_plan_write};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::output::text;
use crate::sowing::succession::Asked;
use crate::sowing::succession::propose::{MANY, propose};
use chrono::NaiveDate;
use clap::Args;

/// Arguments of `sow plan`.
#[derive(Debug, Clone, Args)]
pub(super) struct PlanArgs {
    /// Crops to choose from [default: those you grow]
    #[arg(value_name = "CROP")]
    crops: Vec<String>,
    /// Last day on which to sow [default: midwinter]
    #[arg(long, value_name = "DATE")]
    until: Option<NaiveDate>,
    /// Most sowings [default: 12]
    #[arg(long, value_name = "N", default_value_t = 12, hide_default_value = true, value_parser = clap::value_parser!(u16).range(1..=500))]
    most: u16,
    /// Plan as if the kitchen had all the hours it wants
    #[arg(long)]
    ignore_kitchen: bool,
    /// Clear nothing early: what stands stays as long as it would
    #[arg(long)]
    keep: bool,
    /// Add the proposed rows to plantings.csv; the copy before is kept as plantings.csv.before
    #[arg(long)]
    write: bool,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &PlanArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "sow plan")?;
    if shared.sample && arguments.write {
        return Err(Failure::Usage(
            "the sample cannot be written to, it lives in the program; make a copy of it with: putby -g mygarden start --from-sample"
                .into(),
        ));
    }
    let mut setting = Setting::load(shared)?;
    // More seasons are not lived through, and the page must say how many were.
    setting.draws.draws = setting.draws.draws.min(MANY);
    let asked = Asked {
        until: arguments.until,
        sowings: usize::from(arguments.most),
        crops: named(&setting.garden, &arguments.crops)?,
        ignore_kitchen: arguments.ignore_kitchen,
        keep: arguments.keep,
    };
    if asked.until.is_some_and(|day| day < setting.as_of) {
        return Err(Failure::Usage("--until lies before today".into()));
    }
    let found = propose(&setting.garden, setting.as_of, &setting.draws, &asked);
    let mut report = sow_plan_page::report(&setting, &found, &asked);
    if arguments.write {
        report.text(sow_plan_write::write(shared, &setting, &found)?);
    } else if !shared.sample && !found.rows.is_empty() {
        let days = if found.cleared.is_empty() {
            ""
        } else {
            ", with the days of clearing"
        };
        report.text(format!(
            "`putby sow plan --write` adds these rows to plantings.csv{days}."
        ));
    }
    deliver::report(&report, &setting, shared, true)?;
    Ok(Exit::Done)
}

/// Finds the crops that are named, by any name the table has.
fn named(garden: &Garden, names: &[String]) -> Result<Vec<CropId>, Failure> {
    names
        .iter()
        .map(|name| {
            let plain = name.trim().to_lowercase();
            let is = |n: &str| n.to_lowercase() == plain;
            let all = garden.crops.iter().enumerate();
            let found = all.clone().find(|(_, c)| is(&c.name)).or_else(|| {
                all.clone()
                    .find(|(_, c)| c.also_called.iter().any(|n| is(n)))
            });
            found.map(|(k, _)| CropId(k)).ok_or_else(|| {
                Failure::Usage(format!(
                    "there is no crop {}; `putby tables crops` lists them",
                    text::visible(name)
                ))
            })
        })
        .collect()
}
