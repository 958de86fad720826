//! `putby sow after`: what may still follow in each bed when it comes free.

use super::cli::Shared;
use super::{Exit, Failure};
use clap::Args;

/// Arguments of `sow after`.
#[derive(Debug, Clone, Args)]
pub(super) struct AfterArgs {
    /// Bed [default: every bed]
    bed: Option<String>,
}

/// Runs the verb.
pub(super) fn run(_: &Shared, arguments: &AfterArgs) -> Result<Exit, Failure> {
    Err(Failure::Usage(format!("{:?}", arguments.bed)))
}
