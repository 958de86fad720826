//! The command line: shared options and the verbs, with their help.

use chrono::NaiveDate;
use clap::{Args, Command, CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum};
use std::ffi::OsString;
use std::path::PathBuf;

/// Verbs in the groups in which the help lists them.
const VERBS_BY_SEASON: &str = "\
every day
  (none) or week  this week and next on one screen: waiting, pick, put by, sow, getting old
  log             write down what was picked, put by, used or ended
each week
  kitchen         hours the kitchen needs each week against the hours you have
  sessions        the coming processing days: what to put by on which, and what cannot be done
  stores          what is put by, what will be, against your goals; freezer room, jars and lids
each season
  sow by          by when to sow each crop: not before, best days, last days; needs no files
  sow plan        a succession that meets your needs with the beds and the kitchen you have
  sow after       what may still follow in each bed when it comes free
  when            first and last picking of every planting, and what ends it
  forecast        what will be ready, week by week, per crop
each winter
  compare         forecast against what was picked
  learn           what your record says the numbers should be
any time
  why             every figure behind a planting, a week and its sessions
  calendar        sowings, first pickings and processing days as a file for your calendar
  start           write the files of a new garden
  check           find every fault in the files at once
  report          one page of all this to read or print; sheets to hang up
  tables          crops, methods and products in force, each number with its source
  completions     what a shell needs to complete verbs and options; `man` prints the manual page";

/// The help of a verb: an example first, then what there is to say.
const EXAMPLE_FIRST: &str = "{about}{after-help}\n\n{usage-heading} {usage}\n\n{all-args}";

/// Forecasts what a home garden will give, and whether the kitchen can put it by.
#[derive(Debug, Parser)]
#[command(
    name = "putby",
    version,
    about,
    after_help = VERBS_BY_SEASON,
    disable_help_subcommand = true,
    help_template = "{about}\n\nTry it: putby --sample\n{usage-heading} {usage}{after-help}\n\n{options}",
    override_usage = "putby [-g DIR | --sample] [OPTIONS] [VERB]"
)]
pub struct Cli {
    /// Options that every verb takes.
    #[command(flatten)]
    pub shared: Shared,
    /// What to do; this week's screen if nothing is said.
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// Reads a command line.
///
/// # Errors
/// What is wrong with it, or the help or version that was asked for.
pub(super) fn read(arguments: impl IntoIterator<Item = OsString>) -> Result<Cli, clap::Error> {
    let mut command = example_first(Cli::command());
    let matches = command.try_get_matches_from_mut(arguments)?;
    Cli::from_arg_matches(&matches).map_err(|error| error.format(&mut command))
}

/// Lets the help of every verb begin with its example.
fn example_first(command: Command) -> Command {
    command.mut_subcommands(|verb| example_first(verb.help_template(EXAMPLE_FIRST)))
}

/// Returns the help as text.
pub(super) fn help() -> String {
    Cli::command().render_help().to_string()
}

/// Options that every verb takes.
#[derive(Debug, Clone, Args)]
pub struct Shared {
    /// Folder of the garden [default: the current folder]
    #[arg(short, long, value_name = "DIR", global = true)]
    pub garden: Option<PathBuf>,
    /// Use the invented sample garden that the program carries
    #[arg(long, global = true, conflicts_with = "garden")]
    pub sample: bool,
    /// Day to reckon from, as 2026-07-13 [default: of garden.toml, else today]
    #[arg(long, value_name = "DATE", global = true)]
    pub as_of: Option<NaiveDate>,
    /// Number of seasons drawn [default: 10000]
    #[arg(long, value_name = "N", global = true, default_value_t = 10_000, hide_default_value = true, value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub draws: u32,
    /// Number that fixes which seasons are drawn [default: 1]
    #[arg(
        long,
        value_name = "N",
        global = true,
        default_value_t = 1,
        hide_default_value = true
    )]
    pub random_seed: u64,
    /// Form of the answer: table for people, csv or json [default: table]
    #[arg(long, value_enum, global = true, default_value_t = Format::Table, hide_default_value = true, hide_possible_values = true)]
    pub format: Format,
    /// Write the answer to a file; as a workbook if its name ends in .xlsx
    #[arg(short, long, value_name = "FILE", global = true)]
    pub output: Option<PathBuf>,
    /// Also draw a chart, SVG or PNG by its ending
    #[arg(long, value_name = "FILE", global = true)]
    pub chart: Option<PathBuf>,
}

/// Form of an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Table,
    /// For spreadsheets
    Csv,
    /// For programs
    Json,
}

/// The verbs.
#[derive(Debug, Clone, Subcommand)]
pub enum Verb {
    /// Show this week and next on one screen: waiting, pick, put by, sow, getting old, what changed
    #[command(after_help = "Example:\n  putby week --sample --since 2026-07-01")]
    Week(super::week::WeekArgs),
    /// Show what is put by, what will be against your goals, freezer room, jars and lids
    #[command(after_help = "Example:\n  putby stores --sample")]
    Stores,
    /// Write down what was picked, put by, used, ended or measured
    #[command(
        after_help = "Examples:\n  putby log picked sat beans 2.5 lb, kale 2 bunches, okra '1 bowl'\n  putby log put 3 frozen beans\n  putby log ended zucchini\n  putby log frost last night 29 F\n  putby log took 95 min\n  putby log undo"
    )]
    Log(super::log::LogArgs),
    /// Show hours the kitchen needs each week against the hours you have
    #[command(after_help = "Example:\n  putby kitchen --sample --chart hours.svg")]
    Kitchen(super::kitchen::KitchenArgs),
    /// Plan the coming processing days, and prove what cannot be done
    #[command(after_help = "Example:\n  putby sessions --sample --card")]
    Sessions(super::sessions::SessionsArgs),
    /// Answer when to sow: `sow by`, `sow plan`, `sow after`
    #[command(after_help = "Example:\n  putby sow by --sample")]
    Sow(super::sow::SowArgs),
    /// Show first and last picking of every planting, how sure, and what ends it
    #[command(after_help = "Example:\n  putby when --sample --chart pickings.svg")]
    When,
    /// Show what will be ready, week by week
    #[command(after_help = "Example:\n  putby forecast --by planting --sample")]
    Forecast(super::forecast::ForecastArgs),
    /// Show what was forecast against what was picked
    #[command(after_help = "Example:\n  putby compare --sample --origin 2026-03-02,2026-06-01")]
    Compare(super::compare::CompareArgs),
    /// Show what your record says the numbers should be
    #[command(after_help = "Example:\n  putby learn --sample")]
    Learn(super::learn::LearnArgs),
    /// Show every figure behind a planting, or behind the week of a day and its sessions
    #[command(
        after_help = "Examples:\n  putby why --sample \"bush beans 3\"\n  putby why --sample 2026-08-12"
    )]
    Why(super::why::WhyArgs),
    /// Write sowings, first pickings and processing days as a file for a phone's or a desk calendar
    #[command(
        after_help = "Times float: they show as the same time of day wherever you are. Entries of a later file take the place of \
                      the same ones of an earlier file.\n\nExample:\n  putby calendar --sample --at 18:00,sat=9:00 -o putby.ics"
    )]
    Calendar(super::calendar::CalendarArgs),
    /// Write the files of a new garden; never over existing ones
    #[command(after_help = "Example:\n  putby -g mygarden start")]
    Start(super::start::StartArgs),
    /// Find every fault in the files at once
    #[command(after_help = "Example:\n  putby -g mygarden check")]
    Check(super::check::CheckArgs),
    /// Write one page of everything to read or print, or sheets to hang up
    #[command(
        after_help = "Examples:\n  putby report --sample -o report.html\n  putby report --sample --sheets -o sheets.html"
    )]
    Report(super::report::ReportArgs),
    /// Show crops, methods or products in force, each number with its source
    #[command(after_help = "Example:\n  putby tables crops collards")]
    Tables(super::tables::TablesArgs),
    /// Print what a shell needs to complete verbs and options
    #[command(
        after_help = "Example:\n  putby completions bash > ~/.local/share/bash-completion/completions/putby"
    )]
    Completions(super::shell::CompletionsArgs),
    /// Print the manual page
    #[command(after_help = "Example:\n  putby man > ~/.local/share/man/man1/putby.1")]
    Man,
}
