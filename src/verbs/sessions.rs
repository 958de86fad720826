//! `putby sessions`: the coming processing days, what is made in each, and the proof of what cannot be done.
//!
//! `--card` prints one day's work on a page for the cook. No plan is shown that did not pass the checkers.

use super::cli::Shared;
use super::setting::Setting;
use super::{
    Exit, Failure, deliver, kitchen, said, sessions_card, sessions_check, sessions_facts,
    sessions_since, shelf,
};
use crate::garden::units::{Mass, Minutes};
use crate::garden::{Garden, UnitSystem};
use crate::input::plan_file::PlanRow;
use crate::kitchen::context::{self, Context};
use crate::kitchen::plan::dated::dated_food;
use crate::kitchen::plan::solve::{Effort, Stage};
use crate::kitchen::processing::{self, Asked, ProcessingDays, SeasonFood};
use crate::kitchen::unavoidable::DatedStretch;
use crate::output::chart::hours::hours;
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use crate::season::plan::Plan;
use chrono::NaiveDate;
use clap::Args;
use std::path::PathBuf;

/// Most seasons that a plan is chosen from and tested on; more make it no better.
const MOST_SEASONS: u32 = 1000;
/// Weeks planned unless asked otherwise.
pub(super) const WEEKS: u16 = 8;
/// Seasons in ten, of which the hours suffice, unless asked otherwise.
pub(super) const SEASONS_IN_TEN: u8 = 7;
/// Hours that are worth a word.
const LEAST_HOURS: f64 = 0.125;

/// How hard the planner tries for some weeks: fewer nodes than for a whole season, longer stretches in the bound.
const COMING_WEEKS: Effort = Effort {
    first: Stage {
        nodes: 500,
        ..Effort::USUAL.first
    },
    then: [
        Stage {
            nodes: 300,
            sweeps: 2,
            ..Effort::USUAL.then[0]
        },
        Stage {
            sweeps: 0,
            ..Effort::USUAL.then[1]
        },
        Stage {
            nodes: 1000,
            ..Effort::USUAL.then[2]
        },
    ],
    bound_weeks: 5,
    bound_nodes: 400,
    ..Effort::USUAL
};

/// Arguments of `sessions`.
#[derive(Debug, Clone, Args)]
pub struct SessionsArgs {
    /// Plan for the season whose hours suffice in N seasons of 10 [default: 7]
    #[arg(long = "for", value_name = "N", default_value_t = SEASONS_IN_TEN, hide_default_value = true, value_parser = clap::value_parser!(u8).range(1..=9))]
    seasons: u8,
    /// Weeks to plan [default: 8]
    #[arg(long, value_name = "N", default_value_t = WEEKS, hide_default_value = true, value_parser = clap::value_parser!(u16).range(1..=52))]
    weeks: u16,
    /// Print the page for the cook: of the day given, or of the next processing day
    #[arg(long, value_name = "DATE", num_args = 0..=1)]
    card: Option<Option<NaiveDate>>,
    /// Check a plan that was edited by hand, as `--format csv -o FILE` writes it
    #[arg(long, value_name = "FILE", conflicts_with_all = ["card", "since"])]
    check: Option<PathBuf>,
    /// Say what changed since a plan that was kept, and what was missed
    #[arg(long, value_name = "FILE", conflicts_with = "card")]
    since: Option<PathBuf>,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &SessionsArgs) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let mut setting = Setting::load(shared)?;
    if let Some(path) = &arguments.check {
        let (_, ctx, seasons) = live(&setting, arguments.weeks);
        setting.draws.draws = setting.draws.draws.min(MOST_SEASONS);
        let lots = processing::food(&seasons, share(arguments.seasons));
        return sessions_check::run(shared, &setting, path, &dated_food(&ctx, lots));
    }
    let kept = (arguments.since.as_deref())
        .map(|path| sessions_check::plan(&setting, path))
        .transpose()?;
    let (found, heard) = found(&setting, arguments.weeks, arguments.seasons)?;
    setting.draws.draws = setting.draws.draws.min(MOST_SEASONS);
    let answer = match arguments.card {
        Some(date) => sessions_card::report(&setting, &found, date)?,
        None => report(&setting, (&found, heard), arguments, kept.as_deref()),
    };
    deliver::report(&answer, &setting, shared, true)?;
    if charted {
        let (_, forecast) = kitchen::forecast(&setting);
        let chart = kitchen::chart(&setting, &forecast, dates_of(&found));
        deliver::chart(&hours(&chart), shared)?;
    }
    Ok(Exit::Done)
}

/// Plans the processing days of the coming weeks for a season whose hours suffice in so many seasons of ten.
///
/// # Errors
/// If a checker finds a fault in the plan.
pub(super) fn days(
    setting: &Setting,
    weeks: u16,
    seasons_in_ten: u8,
) -> Result<ProcessingDays, Failure> {
    Ok(found(setting, weeks, seasons_in_ten)?.0)
}

/// Plans the days, and returns with them what was heard of this season's pickings.
fn found(
    setting: &Setting,
    weeks: u16,
    seasons_in_ten: u8,
) -> Result<(ProcessingDays, Option<String>), Failure> {
    let garden = &setting.garden;
    let (plan, ctx, seasons) = live(setting, weeks);
    let asked = Asked {
        share: share(seasons_in_ten),
        weeks,
        effort: COMING_WEEKS,
    };
    let found = processing::processing_days(garden, &ctx, &seasons, asked).map_err(|faults| {
        Failure::Ours(format!(
            "This plan did not pass the program's own checks and is not shown; that is a fault of the program, \
             not of your files. Please report it with these lines:\n  {}",
            faults.join("\n  ")
        ))
    })?;
    Ok((found, plan.heard().map(str::to_owned)))
}

/// Lives through the drawn seasons and keeps their food.
fn live(setting: &Setting, weeks: u16) -> (Plan, Context, Vec<SeasonFood>) {
    let (plan, draws) = setting.plan_of(MOST_SEASONS);
    let horizon = plan.horizon();
    let ctx = context::compile(&setting.garden, horizon.first, horizon.days, setting.as_of);
    let seasons = processing::seasons(&plan, &ctx, &draws, weeks);
    (plan, ctx, seasons)
}

fn share(seasons_in_ten: u8) -> f64 {
    f64::from(seasons_in_ten) / 10.0
}

/// Returns the planned days.
pub(super) fn dates_of(found: &ProcessingDays) -> Vec<NaiveDate> {
    found.cards.iter().map(|card| card.date).collect()
}

fn report(
    setting: &Setting,
    (found, heard): (&ProcessingDays, Option<String>),
    arguments: &SessionsArgs,
    kept: Option<&[PlanRow]>,
) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("Processing days: {}", garden.name));
    report.text(summary(found, arguments.seasons));
    if !found.cards.is_empty() {
        report.table(table(setting, found));
        report.text(quality(found, garden.show.units));
    }
    if let Some(proof) = proof(garden, found) {
        report.text(proof);
    }
    report.facts = sessions_facts::facts(setting, found);
    if let Some(kept) = kept {
        sessions_since::add(&mut report, setting, kept, found);
    }
    let made = found.work.iter().flatten().map(|w| w.product);
    report.points(shelf::cautions(garden, made));
    report.points(garden.assumed.iter().cloned().chain(heard).collect());
    report
}

/// The answer in two or three sentences.
pub(super) fn summary(found: &ProcessingDays, seasons_in_ten: u8) -> String {
    let until = dates::day(found.end.pred_opt().unwrap_or(found.end));
    let mut sentences = Vec::new();
    if found.cards.is_empty() {
        sentences.push(if found.any_hours {
            format!("Until {until} there is nothing to put by.")
        } else {
            format!("Until {until} the kitchen is open on no day, so no session can be held.")
        });
    } else {
        let minutes: f64 = found.cards.iter().map(|c| c.length.min_value()).sum();
        sentences.push(format!(
            "{} until {until}, {} of work in all; the next is {}.",
            rounding::counted(found.cards.len(), "processing day", "processing days"),
            rounding::hours(Minutes::from_min(minutes)),
            dates::day(found.cards[0].date),
        ));
    }
    sentences.push(format!(
        "Planned for a season that asks for at least as many hours in these weeks as {}.",
        rounding::seasons_in_ten(f64::from(seasons_in_ten) / 10.0)
    ));
    if found.cards.is_empty() && found.later_min > 0.0 {
        sentences.push("Later weeks ask for the kitchen: see `putby kitchen`, or plan further ahead with --weeks.".to_owned());
    }
    sentences.join(" ")
}

/// The days and what is made in each, in order.
pub(super) fn table(setting: &Setting, found: &ProcessingDays) -> Table {
    let mut table = Table::new(vec![
        Column::text("date", "Day"),
        Column::measured("minutes", "Takes"),
        Column::measured("capacity_minutes", "There is"),
        Column::figure("chance_over", "Too long in"),
        Column::text("product", "Make, in this order"),
        Column::text("crops", "From"),
        Column::figure("containers", "Fill"),
        Column::text("best_by", "Best by"),
        Column::text("last_day", "Last day"),
    ]);
    for row in sessions_facts::rows(setting, found) {
        let first = row.order == 1;
        let once = |cell: Cell| if first { cell } else { Cell::text("") };
        let units = setting.garden.show.units;
        table.push(vec![
            once(Cell::Date(row.date)),
            once(Cell::Hours(row.length)),
            once(Cell::Hours(row.open)),
            once(if row.chance_over >= 0.05 {
                Cell::Chance(row.chance_over)
            } else {
                Cell::Empty
            }),
            Cell::text(row.product),
            Cell::text(sessions_facts::amounts(&row.crops, units)),
            Cell::text(sessions_facts::halves(row.containers)),
            said::unbroken(&dates::short(row.best_by)),
            said::unbroken(&dates::short(row.last_day)),
        ]);
    }
    table.note(
        "Too long in: seasons in 10 that bring more for that day than it has time for. Best by and last day: of the \
         food that was picked first.",
    );
    table
}

/// Says how good the plan is, and no more than the bound tells.
pub(super) fn quality(found: &ProcessingDays, units: UnitSystem) -> String {
    let planned = &found.planned;
    let mut sentences = vec![match planned.bound.map(|bound| planned.price - bound) {
        Some(gap) if gap <= sessions_facts::BEST_MIN => {
            "This plan is the best possible.".to_owned()
        }
        Some(gap) => format!(
            "This plan is within {} minutes of the best possible; waste and stale food count as minutes too.",
            rounding::decimals((gap / 5.0).ceil() * 5.0, 0)
        ),
        None => "How far this plan is from the best possible is not known.".to_owned(),
    }];
    sentences.push(format!(
        "{} of {} stretches of weeks solved on the way were proven best.",
        planned.proven, planned.stretches
    ));
    let late = Mass::from_kg(found.late_kg);
    if late.lb() >= 0.25 {
        sentences.push(format!(
            "Over all seasons {} on average would come to these days and find no time.",
            rounding::mass(late, units)
        ));
    }
    sentences.join(" ")
}

/// What cannot be done, stretch by stretch.
pub(super) fn proof(garden: &Garden, found: &ProcessingDays) -> Option<String> {
    if found.undoable_hours < LEAST_HOURS {
        return None;
    }
    let figure = |hours: f64| rounding::hours(Minutes::from_hours(hours));
    let worth = |s: &&DatedStretch| s.due_hours - s.have_hours >= LEAST_HOURS;
    let mut reasons: Vec<String> = (found.proof.iter().filter(worth))
        .map(|s| stretch(garden, s))
        .collect();
    if reasons.is_empty() {
        reasons.extend(found.proof.iter().map(|s| stretch(garden, s)));
    }
    if found.no_day_hours >= LEAST_HOURS {
        reasons.push(format!(
            "{} of canning come in loads longer than any day they could be done on",
            figure(found.no_day_hours)
        ));
    }
    Some(format!(
        "In such a season {} of work cannot be done in time, however it is ordered: {}.",
        figure(found.undoable_hours),
        reasons.join("; ")
    ))
}

/// Says a stretch in words: "from Mon 14 Sep to Sun 27 Sep 11½ h of bean and okra fall due and 7 h exist".
pub(super) fn stretch(garden: &Garden, s: &DatedStretch) -> String {
    let figure = |hours: f64| rounding::hours(Minutes::from_hours(hours));
    let crops: Vec<&str> = (s.due.crops.iter().flatten())
        .map(|crop| garden.crop(*crop).name.as_str())
        .collect();
    let of = match (crops.is_empty(), s.due.all) {
        (true, _) => String::new(),
        (false, true) => format!(" of {}", text::list(&crops)),
        (false, false) => format!(", mostly of {},", text::list(&crops)),
    };
    let due = figure(s.due_hours) + &of;
    let have = if s.have_hours > 0.0 {
        format!("{} exist", figure(s.have_hours))
    } else {
        "none exist".to_owned()
    };
    if s.first == s.last {
        format!("on {} {due} fall due and {have}", dates::day(s.first))
    } else {
        format!(
            "from {} to {} {due} fall due and {have}",
            dates::day(s.first),
            dates::day(s.last)
        )
    }
}

/// Says which days are planned, for a message.
pub(super) fn named_days(found: &ProcessingDays) -> String {
    let days: Vec<String> = found.cards.iter().map(|c| dates::day(c.date)).collect();
    text::list(&days)
}
