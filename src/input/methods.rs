//! Rows of the method table as methods, and what a household may not change about them.

use super::cells::Span;
use super::names::Names;
use super::problem::{Findings, Kind, Told};
use super::tables::Entry;
use crate::garden::preserving::{Appliance, Method, MethodId, Store};
use crate::garden::safety::SafetyColumn;
use crate::garden::units::Minutes;

const MINUTES: Span = Span::from_zero("minutes, such as 20", 1000.0);
const HOURS: Span = Span::from_zero("hours, such as 12", 5000.0);
const MONTHS: Span = Span::above_zero("months, such as 10", 120.0);
const POUNDS: Span = Span::above_zero("pounds, such as 1", 200.0);

/// Makes the methods of the table in force and the list of their names.
pub(crate) fn read(
    entries: &[Entry<'_>],
    findings: &mut Findings,
) -> (Vec<Method>, Names<MethodId>) {
    let mut names = Names::new();
    for (i, entry) in entries.iter().enumerate() {
        names.add(&entry.key, MethodId(i));
    }
    let methods: Vec<_> = entries.iter().map(|e| method(e, findings)).collect();
    let all = methods.into_iter().collect::<Result<Vec<_>, Told>>();
    (all.unwrap_or_default(), names)
}

fn method(entry: &Entry<'_>, f: &mut Findings) -> Result<Method, Told> {
    let row = &entry.row;
    let safe = keep_safe(entry, f);
    let safety_column = row.word(f, "safety_column", &SafetyColumn::NAMES);
    let store = row
        .need(f, "store", "where it is kept")
        .cloned()
        .and_then(|c| c.word(f, &Store::NAMES));
    let appliance = row.word(f, "appliance", &Appliance::NAMES);
    let needs_altitude = row.yes(f, "needs_altitude");
    let mut minutes = |column| {
        row.number(f, column, &MINUTES)
            .map(|m| Minutes::from_min(m.unwrap_or(0.0)))
    };
    let setup = minutes("setup_min");
    let setup_more = minutes("setup_more_min");
    let per_batch = minutes("per_batch_min");
    let per_container = minutes("per_container_min");
    let batch_extra = minutes("batch_extra_min");
    let overhead_pint = minutes("overhead_pint_min");
    let overhead_quart = minutes("overhead_quart_min");
    let batch_lb_per_gal = row.number(f, "batch_lb_per_gal", &POUNDS);
    let wait_h = row.number(f, "wait_h", &HOURS);
    let best = row.need_number(f, "best_months", &MONTHS);
    let last = row.number(f, "last_months", &MONTHS);
    let packed = row.number(f, "packed_lb_per_ft3", &POUNDS);
    safe?;
    let (safety_column, store, appliance, best) = (
        safety_column?,
        store?,
        appliance?.unwrap_or(Appliance::None),
        best?,
    );
    keeps_where_it_may(entry, safety_column, store, appliance, f)?;
    Ok(Method {
        name: entry.key.to_lowercase(),
        safety_column,
        store,
        appliance,
        needs_altitude: needs_altitude? || safety_column.is_some_and(SafetyColumn::is_canning),
        setup_group: row.text("setup_group").unwrap_or_else(|| entry.key.clone()),
        setup: setup?,
        setup_more: setup_more?,
        per_batch: per_batch?,
        per_container: per_container?,
        batch_lb_per_gal: batch_lb_per_gal?,
        batch_extra: batch_extra?,
        overhead_pint: overhead_pint?,
        overhead_quart: overhead_quart?,
        wait_h: wait_h?.unwrap_or(0.0),
        best_months: best,
        last_months: last?.unwrap_or(best),
        packed_lb_per_ft3: packed?,
    })
}

/// Safety rests on the column of the matrix, on the store and on the appliance of a built-in method.
fn keep_safe(entry: &Entry<'_>, f: &mut Findings) -> Result<(), Told> {
    let Some(column) = entry.changes(&["safety_column", "store", "appliance", "needs_altitude"])
    else {
        return Ok(());
    };
    let own = entry.own.as_ref().and_then(|own| own.cell(column)).cloned();
    own.map_or(Ok(()), |cell| {
        Err(f.tell(
            cell.problem(
                Kind::SafetyFixed,
                format!(
                    "{column} of {} is fixed: what is safe depends on it",
                    entry.key
                ),
            )
            .hint("leave the cell empty, or make a method of your own under another name"),
        ))
    })
}

/// A method of the household's own must say by which tested way it keeps, and keep its food where that way allows.
fn keeps_where_it_may(
    entry: &Entry<'_>,
    column: Option<SafetyColumn>,
    store: Store,
    appliance: Appliance,
    f: &mut Findings,
) -> Result<(), Told> {
    if entry.built_in.is_some() {
        return Ok(());
    }
    let allowed = match column {
        None => store == Store::Cellar && appliance != Appliance::Canner,
        Some(SafetyColumn::Freeze) => store == Store::Freezer,
        Some(SafetyColumn::Dry) => matches!(store, Store::Pantry | Store::Freezer),
        Some(SafetyColumn::Ferment) => matches!(store, Store::Fridge | Store::Cellar),
        Some(SafetyColumn::FridgePickle) => store == Store::Fridge,
        Some(_) => appliance == Appliance::Canner,
    } && (appliance != Appliance::Canner
        || column.is_some_and(SafetyColumn::is_canning));
    if allowed {
        return Ok(());
    }
    let way = column.map_or("no tested way", SafetyColumn::name);
    Err(f.tell(
        entry
            .row
            .problem_at("safety_column", Kind::Refused, format!("a method by {way} does not keep food in the {}", store.name()))
            .expected("a safety_column that allows this store and appliance")
            .hint("freeze goes to the freezer, fridge pickle to the fridge, ferment to fridge or cellar, dry to the pantry, canning needs a canner"),
    ))
}
