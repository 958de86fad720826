//! Words that several verbs say alike: causes of an end, what was assumed, the small print of charts.

use super::setting::Setting;
use crate::garden::Garden;
use crate::output::dates;
use crate::output::table::Cell;
use crate::season::draw::EndCause;
use crate::season::plan::Plan;

/// Returns what ended a planting, in the grower's words.
pub(super) const fn cause(cause: EndCause) -> &'static str {
    match cause {
        EndCause::Finish => "all picked",
        EndCause::Cold => "cold",
        EndCause::Heat => "bolting",
        EndCause::Pest => "pests",
        EndCause::Clearing => "clearing",
        EndCause::Horizon => "not ripe in time",
        EndCause::Failed => "failure",
    }
}

/// Returns the defaults and assumptions that mattered, the garden's first.
pub(super) fn assumed(garden: &Garden, notes: &[String]) -> Vec<String> {
    garden.assumed.iter().chain(notes).cloned().collect()
}

/// Returns what a forecast rests on: defaults of the garden, this season's pickings, assumptions of the season, and more.
pub(super) fn rests_on(garden: &Garden, plan: &Plan, more: &[String]) -> Vec<String> {
    let heard = plan.heard().map(str::to_owned);
    let own = garden.assumed.iter().cloned().chain(heard);
    own.chain(plan.notes().iter().chain(more).cloned())
        .collect()
}

/// Returns the sentence on this season's pickings without its reasons: what comes before the colon.
pub(super) fn in_short(heard: &str) -> String {
    let short = heard.split_once(": ").map(|(short, _)| format!("{short}."));
    short.unwrap_or_else(|| heard.to_owned())
}

/// Makes a cell whose words stay on one line.
pub(super) fn unbroken(words: &str) -> Cell {
    Cell::text(words.replace(' ', "\u{A0}"))
}

/// Returns the small print of a chart: for which day, from how many seasons.
pub(super) fn footer(setting: &Setting) -> String {
    format!(
        "As of {}, from {} drawn seasons. putby {}",
        dates::with_year(setting.as_of),
        setting.draws.draws,
        env!("CARGO_PKG_VERSION")
    )
}
