//! One file a command: arguments, call, render. Here the command line is turned into one call and one exit code.

mod check;
pub mod cli;
mod compare;
mod compare_facts;
mod compare_words;
mod deliver;
mod forecast;
mod kitchen;
mod kitchen_facts;
mod learn;
mod log;
mod said;
mod setting;
mod start;
mod tables;
mod when;

use clap::Parser;
use cli::{Cli, Verb};
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
}

/// Runs the program on its arguments: prints the answer or the faults, and says how it ended.
pub fn run_from(arguments: impl IntoIterator<Item = OsString>) -> Exit {
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => return deliver::command_line(&error),
    };
    let answer = match &cli.verb {
        Verb::Log(arguments) => log::run(&cli.shared, arguments),
        Verb::Kitchen(arguments) => kitchen::run(&cli.shared, arguments),
        Verb::When => when::run(&cli.shared),
        Verb::Forecast(arguments) => forecast::run(&cli.shared, arguments),
        Verb::Start(arguments) => start::run(&cli.shared, arguments),
        Verb::Compare(arguments) => compare::run(&cli.shared, arguments),
        Verb::Learn(arguments) => learn::run(&cli.shared, arguments),
        Verb::Check => check::run(&cli.shared),
        Verb::Tables(arguments) => tables::run(&cli.shared, arguments),
    };
    match answer {
        Ok(exit) => exit,
        Err(Failure::Problems(text)) => deliver::complain(&text, Exit::BadInput),
        Err(Failure::File(text)) => deliver::complain(&text, Exit::BadInput),
        Err(Failure::Usage(text)) => deliver::complain(&text, Exit::WrongCommandLine),
    }
}
