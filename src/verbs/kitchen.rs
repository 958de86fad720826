//! `putby kitchen`: hours needed each week against hours you have, how likely it is too much, and what drives it.

use super::cli::Shared;
use super::setting::Setting;
use super::{Exit, Failure, deliver, kitchen_facts, kitchen_relief, said, sessions, shelf};
use crate::garden::Garden;
use crate::garden::units::{Mass, Minutes};
use crate::kitchen::accumulate::Accumulator;
use crate::kitchen::context::{self, Context};
use crate::kitchen::day_by_day::{Scratch, day_by_day};
use crate::kitchen::draw::KitchenDraw;
use crate::kitchen::forecast::{Driver, KitchenForecast, KitchenWeek};
use crate::kitchen::overload::overload;
use crate::kitchen::unavoidable;
use crate::output::chart::Caption;
use crate::output::chart::hours::{HoursChart, HoursWeek, hours};
use crate::output::report::Report;
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use crate::season::draw::SeasonDraw;
use crate::season::ensemble::{self, Settings};
use crate::season::plan::Plan;
use crate::sowing::relief;
use chrono::NaiveDate;
use clap::Args;

/// A week counts as overloaded when it needs more hours than there are in at least this share of seasons.
pub(super) const OVERLOADED: f64 = 0.5;
/// Share of seasons from which a week is worth a word.
const AT_RISK: f64 = 0.2;

/// About so many seasons are looked at for work that cannot be done; more cost time and tell no more.
const CERTIFIED: u32 = 500;

/// Arguments of `kitchen`.
#[derive(Debug, Clone, Args)]
pub struct KitchenArgs {
    /// Show every week, also those that need no kitchen
    #[arg(long)]
    all_weeks: bool,
    /// Try out what would help in the weeks that are too much, and rank it
    #[arg(long)]
    relief: bool,
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &KitchenArgs) -> Result<Exit, Failure> {
    let charted = deliver::chart_wanted(shared)?;
    let mut setting = Setting::load(shared)?;
    if arguments.relief {
        // More seasons are not lived through, and the page must say how many were.
        setting.draws.draws = setting.draws.draws.min(relief::MANY);
        if charted {
            return Err(Failure::Usage(
                "`kitchen --relief` has no chart; `kitchen` has".to_owned(),
            ));
        }
        deliver::report(&kitchen_relief::report(&setting), &setting, shared, true)?;
        return Ok(Exit::Done);
    }
    let (plan, found) = forecast(&setting);
    deliver::report(
        &report(&setting, &plan, &found, arguments),
        &setting,
        shared,
        true,
    )?;
    if charted {
        let planned = sessions::days(&setting, sessions::WEEKS, sessions::SEASONS_IN_TEN)?;
        let chart = chart(&setting, &found, sessions::dates_of(&planned));
        deliver::chart(&hours(&chart), shared)?;
    }
    Ok(Exit::Done)
}

/// Lives through every drawn season in the kitchen.
pub(super) fn forecast(setting: &Setting) -> (Plan, KitchenForecast) {
    let lived = live(setting, |_| (), |(), _, _, _| ());
    (lived.plan, lived.found)
}

/// Every drawn season lived through, and what was gathered beside the season's figures.
pub(super) struct Lived<A> {
    /// The season's plan.
    pub(super) plan: Plan,
    /// The kitchen's context.
    pub(super) ctx: Context,
    /// The season's figures.
    pub(super) found: KitchenForecast,
    /// What else was gathered, one for each chunk of draws, in their order.
    pub(super) beside: Vec<A>,
}

/// Lives through every drawn season in the kitchen and lets the caller gather something beside the season's figures.
pub(super) fn live<A: Send>(
    setting: &Setting,
    init: impl Fn(&Context) -> A + Sync,
    each: impl Fn(&mut A, &Context, &SeasonDraw, &KitchenDraw) + Sync,
) -> Lived<A> {
    let of = (&setting.garden, setting.as_of, &setting.draws);
    live_of(of, setting.plan(), init, each)
}

/// Lives through the seasons drawn for a garden on a day, as [`live`] does.
pub(super) fn live_of<A: Send>(
    (garden, as_of, draws): (&Garden, NaiveDate, &Settings),
    plan: Plan,
    init: impl Fn(&Context) -> A + Sync,
    each: impl Fn(&mut A, &Context, &SeasonDraw, &KitchenDraw) + Sync,
) -> Lived<A> {
    let horizon = plan.horizon();
    let ctx: Context = context::compile(garden, horizon.first, horizon.days, as_of);
    let every = draws.draws.div_ceil(CERTIFIED).max(1);
    let chunks = ensemble::run(
        &plan,
        draws,
        |_| {
            (
                Accumulator::new(&ctx, ensemble::CHUNK as usize),
                Scratch::new(&ctx),
                init(&ctx),
            )
        },
        |(accumulator, scratch, beside), number, season| {
            let draw = day_by_day(&ctx, season, scratch);
            accumulator.add(&ctx, draw);
            if number % every == 0 {
                accumulator.add_undoable(unavoidable::of_season(&ctx, season, draw));
            }
            each(beside, &ctx, season, draw);
        },
    );
    let (chunks, beside) = chunks
        .into_iter()
        .map(|(accumulator, _, beside)| (accumulator, beside))
        .unzip();
    let found = overload(&ctx, chunks);
    Lived {
        plan,
        ctx,
        found,
        beside,
    }
}

fn report(
    setting: &Setting,
    plan: &Plan,
    found: &KitchenForecast,
    arguments: &KitchenArgs,
) -> Report {
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!("Kitchen hours, week by week: {}", garden.name));
    report.text(summary(garden, found));
    report.table(weeks(found, arguments.all_weeks));
    if found.season.chance_any_over >= 0.05 {
        report.text("`putby kitchen --relief` tries out what would help, and what that costs.");
    }
    if let Some(sentence) = frost_week(found) {
        report.text(sentence);
    }
    report.table(amounts(found));
    if !found.goals.is_empty() {
        report.table(shelf::goals(found));
    }
    let made = found.products.iter().filter(|p| p.made.p90 >= 0.5);
    report.points(shelf::cautions(garden, made.map(|p| p.product)));
    report.points(said::rests_on(garden, plan, &found.notes));
    report.facts = kitchen_facts::facts(found, drivers);
    report
}

/// The answer in two or three sentences.
pub(super) fn summary(garden: &Garden, found: &KitchenForecast) -> String {
    let named = |least: f64, most: f64| -> Vec<String> {
        found
            .weeks
            .iter()
            .filter(|w| w.chance_over >= least && w.chance_over < most)
            .map(|w| dates::short(w.week.monday()))
            .collect()
    };
    let (over, risk) = (named(OVERLOADED, 1.1), named(AT_RISK, OVERLOADED));
    let mut sentences = Vec::new();
    sentences.push(match over.as_slice() {
        [] => "No week is likely to need more hours than you have.".to_owned(),
        [one] => format!("One week is likely to need more hours than you have: the week of {one}."),
        many => format!(
            "{} weeks are likely to need more hours than you have: those of {}.",
            many.len(),
            text::list(many)
        ),
    });
    if !risk.is_empty() {
        let weeks = if risk.len() == 1 {
            "The week of"
        } else {
            "The weeks of"
        };
        let may = if risk.len() == 1 { "may" } else { "may, each," };
        sentences.push(format!(
            "{weeks} {} {may} be too much in 2 to 5 seasons of 10.",
            text::list(&risk)
        ));
    }
    let asked = rounding::hours_range(
        hours_of(found.season.hours.p10),
        hours_of(found.season.hours.p90),
    );
    sentences.push(if found.season.hours.p90 <= 0.0 {
        "Nothing is ahead for the kitchen.".to_owned()
    } else if found.season.chance_any_over > 0.0 {
        format!(
            "In {} at least one week is too much; the season asks for {asked} in all.",
            rounding::seasons_in_ten(found.season.chance_any_over)
        )
    } else {
        format!("The season asks for {asked} in all.")
    });
    sentences.extend(cannot_be_done(garden, found));
    sentences.join(" ")
}

/// Says what cannot be done in time, with the stretch of days that proves it worst.
fn cannot_be_done(garden: &Garden, found: &KitchenForecast) -> Option<String> {
    let cannot = found.unavoidable.as_ref()?;
    let mut sentence = format!(
        "In {} at least {} of work cannot be done in time, however it is ordered",
        rounding::seasons_in_ten(cannot.chance),
        rounding::hours(hours_of(cannot.hours))
    );
    if let Some(worst) = &cannot.worst {
        sentence += &format!(": in such a season, {}", sessions::stretch(garden, worst));
    }
    Some(sentence + ".")
}

fn hours_of(hours: f64) -> Minutes {
    Minutes::from_hours(hours)
}

/// Says when the frost week is likely, and how long it takes.
pub(super) fn frost_week(found: &KitchenForecast) -> Option<String> {
    found.season.frost.as_ref().map(|frost| {
        format!(
            "Frost week: about {}, likeliest in the week of {}; 8 in 10 between {}.",
            rounding::hours(Minutes::from_hours(frost.hours.p50)),
            dates::short(frost.likeliest.monday()),
            dates::range(frost.from, frost.until)
        )
    })
}

/// Hours by week, from the first week that needs any to the last, or all weeks.
pub(super) fn weeks(found: &KitchenForecast, all: bool) -> Table {
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::measured("hours_p50", "Needed"),
        Column::text("range", "8 in 10 between"),
        Column::measured("capacity_hours", "You have"),
        Column::figure("chance_over", "Too much in"),
        Column::measured("mean_hours_over", "Over by"),
        Column::text("drivers", "What fills it when it is too much"),
    ]);
    let needed = |w: &KitchenWeek| all || w.hours.p90 >= 0.125;
    let from = found
        .weeks
        .iter()
        .position(needed)
        .unwrap_or(found.weeks.len());
    let until = found.weeks.iter().rposition(needed).map_or(from, |i| i + 1);
    for w in &found.weeks[from..until] {
        table.push(vec![
            Cell::Week(w.week),
            Cell::Hours(hours_of(w.hours.p50)),
            said::unbroken(&rounding::hours_range(
                hours_of(w.hours.p10),
                hours_of(w.hours.p90),
            )),
            Cell::Hours(hours_of(w.capacity_hours)),
            if w.chance_over >= 0.05 {
                Cell::Chance(w.chance_over)
            } else {
                Cell::Empty
            },
            if w.chance_over >= 0.05 {
                Cell::Hours(over_when_over(w))
            } else {
                Cell::Empty
            },
            if w.chance_over >= 0.05 {
                Cell::text(drivers(&w.drivers))
            } else {
                Cell::Empty
            },
        ]);
    }
    table
        .note("Too much in: seasons in 10. Over by: mean of those seasons. Weeks start on Monday.");
    table
}

/// Mean hours beyond what there is, over the seasons in which the week is too much.
fn over_when_over(week: &KitchenWeek) -> Minutes {
    hours_of(week.mean_hours_over / week.chance_over)
}

fn drivers(drivers: &[Driver]) -> String {
    let named: Vec<String> = drivers
        .iter()
        .take(3)
        .filter(|d| d.share >= 0.15)
        .map(|d| {
            format!(
                "{} {}\u{A0}%",
                d.name,
                rounding::decimals(d.share * 100.0, 0)
            )
        })
        .collect();
    named.join(", ")
}

/// Where the food goes, by stretches of four weeks.
fn amounts(found: &KitchenForecast) -> Table {
    let mut table = Table::new(vec![
        Column::text("weeks", "Four weeks from"),
        Column::measured("kg_picked", "Picked"),
        Column::measured("kg_fresh", "Eaten fresh"),
        Column::measured("kg_put_by", "Put by"),
        Column::measured("kg_to_give", "To give away"),
        Column::measured("kg_lost", "Lost or wasted"),
        Column::measured("picking_hours", "Picking"),
    ])
    .titled("Where the food goes, on average");
    for weeks in found.weeks.chunks(4) {
        let sum = |what: fn(&KitchenWeek) -> f64| weeks.iter().map(what).sum::<f64>();
        let picked = Mass::from_kg(sum(|w| w.kg_picked));
        if picked.lb() < 0.25 {
            continue;
        }
        table.push(vec![
            Cell::Week(weeks[0].week),
            Cell::Mass(picked),
            Cell::Mass(Mass::from_kg(sum(|w| w.kg_fresh))),
            Cell::Mass(Mass::from_kg(sum(|w| w.kg_put_by))),
            Cell::Mass(Mass::from_kg(sum(|w| w.kg_to_give))),
            Cell::Mass(Mass::from_kg(sum(|w| w.kg_lost))),
            Cell::Hours(hours_of(sum(|w| w.picking_hours))),
        ]);
    }
    table
}

/// Lays out the hours chart with processing days marked below.
pub(super) fn chart(
    setting: &Setting,
    found: &KitchenForecast,
    processing_days: Vec<NaiveDate>,
) -> HoursChart {
    let needed = |w: &KitchenWeek| w.hours.p90 >= 0.125;
    let until = found.weeks.iter().rposition(needed).map_or(0, |i| i + 1);
    HoursChart {
        caption: Caption {
            title: "Kitchen hours needed against hours you have".to_owned(),
            subtitle: setting.garden.name.clone(),
            footer: said::footer(setting),
            narrow: false,
        },
        weeks: found.weeks[..until]
            .iter()
            .map(|w| HoursWeek {
                week: w.week,
                p10: hours_of(w.hours.p10),
                p50: hours_of(w.hours.p50),
                p90: hours_of(w.hours.p90),
                capacity: hours_of(w.capacity_hours),
                chance_over: w.chance_over,
                overloaded: w.chance_over >= OVERLOADED,
            })
            .collect(),
        processing_days,
    }
}
