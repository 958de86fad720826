//! `putby sow`: which of the sowing verbs is meant.

use super::cli::Shared;
use super::{Exit, Failure, sow_after, sow_by, sow_plan};
use clap::{Args, Subcommand};

/// Arguments of `sow`.
#[derive(Debug, Clone, Args)]
pub struct SowArgs {
    /// Which question.
    #[command(subcommand)]
    what: Sow,
}

/// The questions about sowing.
#[derive(Debug, Clone, Subcommand)]
enum Sow {
    /// By when each crop must be sown: not before, best days, last days, beside the count-back rule
    #[command(
        after_help = "Examples:\n  putby sow by --sample\n  putby sow by lettuce spinach --sample --chart chance.svg\n  putby sow by --latitude 42 --first-frost 10-05"
    )]
    By(sow_by::ByArgs),
    /// A succession that meets your needs with the beds and the kitchen you have
    #[command(
        after_help = "Examples:\n  putby sow plan --sample\n  putby sow plan --sample --ignore-kitchen\n  putby -g mygarden sow plan --write"
    )]
    Plan(sow_plan::PlanArgs),
    /// What may still follow in each bed when it comes free
    #[command(
        after_help = "Examples:\n  putby sow after --sample\n  putby sow after creek --sample"
    )]
    After(sow_after::AfterArgs),
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &SowArgs) -> Result<Exit, Failure> {
    match &arguments.what {
        Sow::By(arguments) => sow_by::run(shared, arguments),
        Sow::Plan(arguments) => sow_plan::run(shared, arguments),
        Sow::After(arguments) => sow_after::run(shared, arguments),
    }
}
