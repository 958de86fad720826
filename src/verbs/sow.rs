//! `putby sow`: which of the sowing verbs is meant.

use super::cli::Shared;
use super::{Exit, Failure, sow_plan};
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
    /// A succession that meets your needs with the beds and the kitchen you have
    #[command(
        after_help = "Examples:\n  putby sow plan --sample\n  putby sow plan --sample --ignore-kitchen\n  putby -g mygarden sow plan --write"
    )]
    Plan(sow_plan::PlanArgs),
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &SowArgs) -> Result<Exit, Failure> {
    match &arguments.what {
        Sow::Plan(arguments) => sow_plan::run(shared, arguments),
    }
}
