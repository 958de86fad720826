//! One file a command: arguments, call, render. Here the command line is turned into one call and one exit code.

mod calendar;
mod check;
pub mod cli;
mod compare;
mod compare_chart;
mod compare_facts;
mod compare_picked;
mod compare_words;
mod deliver;
mod fault;
mod forecast;
mod kitchen;
mod kitchen_facts;
mod kitchen_relief;
mod learn;
mod learn_minutes;
mod log;
mod report;
mod report_page;
mod report_sheets;
mod said;
mod sessions;
mod sessions_breaches;
mod sessions_card;
mod sessions_check;
mod sessions_facts;
mod sessions_since;
mod setting;
mod shelf;
mod shell;
mod sow;
mod sow_after;
mod sow_by;
mod sow_by_facts;
mod sow_by_page;
mod sow_plan;
mod sow_plan_facts;
mod sow_plan_page;
mod sow_plan_words;
mod sow_plan_write;
mod start;
mod stores;
mod stores_facts;
mod stores_room;
mod table_row;
mod table_words;
mod tables;
mod week;
mod week_facts;
mod week_lists;
mod week_since;
mod when;
mod why;
mod why_planting;
mod why_week;
mod working;

use cli::Verb;
pub use fault::guarded;
use std::ffi::OsString;

/// How a run ended, in the terms of the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// The verb did its work.
    Done,
    /// A check found something.
    Found,
    /// The command line was wrong.
    WrongCommandLine,
    /// Files of the garden were wrong or missing.
    BadInput,
    /// The program failed.
    OurFault,
}

/// Why a verb could not answer.
#[derive(Debug)]
enum Failure {
    /// The files have faults; the text names each.
    Problems(String),
    /// The command line asks for something that does not go.
    Usage(String),
    /// A file or folder could not be read or written.
    File(String),
    /// The program caught itself in a fault.
    Ours(String),
}

/// Runs the program on its arguments: prints the answer or the faults, and says how it ended.
pub fn run_from(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let cli = match cli::read(arguments) {
        Ok(cli) => cli,
        Err(error) => return deliver::command_line(&error),
    };
    if let Err(refused) = deliver::spares_the_garden(&cli.shared) {
        return ended(Err(refused));
    }
    let shared = match deliver::for_workbook(&cli.shared) {
        Ok(shared) => shared,
        Err(failure) => return ended(Err(failure)),
    };
    working::begin();
    let Some(verb) = &cli.verb else {
        return ended(alone(&shared));
    };
    ended(match verb {
        Verb::Week(arguments) => week::run(&shared, arguments),
        Verb::Stores => stores::run(&shared),
        Verb::Log(arguments) => log::run(&shared, arguments),
        Verb::Kitchen(arguments) => kitchen::run(&shared, arguments),
        Verb::Sessions(arguments) => sessions::run(&shared, arguments),
        Verb::When => when::run(&shared),
        Verb::Why(arguments) => why::run(&shared, arguments),
        Verb::Calendar(arguments) => calendar::run(&shared, arguments),
        Verb::Forecast(arguments) => forecast::run(&shared, arguments),
        Verb::Sow(arguments) => sow::run(&shared, arguments),
        Verb::Start(arguments) => start::run(&shared, arguments),
        Verb::Check(arguments) => check::run(&shared, arguments),
        Verb::Compare(arguments) => compare::run(&shared, arguments),
        Verb::Learn(arguments) => learn::run(&shared, arguments),
        Verb::Report(arguments) => report::run(&shared, arguments),
        Verb::Tables(arguments) => tables::run(&shared, arguments),
        Verb::Completions(arguments) => shell::completions(&shared, arguments),
        Verb::Man => shell::man(&shared),
    })
}

/// Answers `putby` alone: this week and next, or the help where there is no garden yet.
fn alone(shared: &cli::Shared) -> Result<Exit, Failure> {
    if setting::no_garden(shared) {
        return Err(Failure::Usage(cli::help()));
    }
    week::run(shared, &week::WeekArgs::default())
}

fn ended(answer: Result<Exit, Failure>) -> Exit {
    working::end();
    match answer {
        Ok(exit) => exit,
        Err(Failure::Problems(text)) => deliver::complain(&text, Exit::BadInput),
        Err(Failure::File(text)) => deliver::complain(&text, Exit::BadInput),
        Err(Failure::Usage(text)) => deliver::complain(&text, Exit::WrongCommandLine),
        Err(Failure::Ours(text)) => deliver::complain(&text, Exit::OurFault),
    }
}
