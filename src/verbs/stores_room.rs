//! Room in the freezer: what has to be eaten by when, so that what is still to come fits; in words and for machines.
//!
//! Asked only where the freezer may get full, because the seasons are then lived through once more without an end to it.

use super::kitchen;
use super::setting::Setting;
use crate::garden::preserving::ProductId;
use crate::garden::units::Volume;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::make_room::{self, Eat, FITS, Gathered, MakeRoom};
use crate::output::table::Cell;
use crate::output::{dates, rounding, text};
use chrono::{Datelike, NaiveDate};
use serde_json::{Value, json};

/// Most seasons that are lived through once more.
const SEASONS: u32 = 1000;
/// Part of the room from which the freezer may get full.
const NEARLY: f64 = 0.9;

/// Looks for what makes room; none where it is not needed, or no room is given.
pub(super) fn look(setting: &Setting, found: &KitchenForecast) -> Option<MakeRoom> {
    let free_l = setting.garden.household.kitchen.freezer_free?.l();
    let season = &found.season;
    if season.freezer_peak_l.p90 < NEARLY * free_l && season.kg_freezer_refused < 0.05 {
        return None;
    }
    let mut endless = setting.garden.clone();
    endless.household.kitchen.freezer_free = None;
    let (plan, few) = setting.plan_of(SEASONS);
    let lived = kitchen::live_of(
        (&endless, setting.as_of, &few),
        plan,
        Gathered::new,
        |gathered, ctx, _, draw| gathered.add(ctx, draw),
    );
    make_room::sum_up(
        &lived.ctx,
        &setting.garden,
        setting.as_of,
        free_l,
        lived.beside,
    )
}

/// Says it in a sentence or two, and in a point for each day.
pub(super) fn words(setting: &Setting, room: &MakeRoom) -> (String, Vec<String>) {
    let mut full = format!(
        "In {} not all that is to be frozen finds room.",
        rounding::seasons_in_ten(room.chance_full)
    );
    if !room.steps.is_empty() {
        full += &format!(
            " So that it does in {}, eat what is oldest first, beyond what you eat anyway:",
            rounding::seasons_in_ten(FITS)
        );
    }
    let mut points: Vec<String> = (room.steps.iter())
        .map(|step| {
            let all: f64 = step.eat.iter().map(|e| e.containers).sum();
            format!(
                "Eat {} of {} by {}: {}.",
                rounding::half_containers(all),
                whose(setting, &step.eat),
                dates::day(step.by),
                text::list(&named(setting, &step.eat)),
            )
        })
        .collect();
    if room.missing_l > 0.0 {
        let cell = Cell::Room(Volume::from_l(room.missing_l));
        let (figure, unit) = cell.for_people(setting.garden.show.units);
        let even = if room.steps.is_empty() {
            "Nothing old is there to be eaten for it"
        } else {
            "With that the freezer is still too small"
        };
        points.push(format!(
            "{even}: find room for {figure} {} elsewhere, or freeze less.",
            unit.unwrap_or_default()
        ));
    }
    (full, points)
}

/// Names the bags by their year: last year's where all are.
fn whose(setting: &Setting, eat: &[Eat]) -> &'static str {
    let this_year = setting.as_of.year();
    if eat.iter().all(|e| e.made.year() == this_year - 1) {
        "last year's bags"
    } else {
        "the oldest bags"
    }
}

fn named(setting: &Setting, eat: &[Eat]) -> Vec<String> {
    eat.iter()
        .map(|e| {
            format!(
                "{} {} (oldest of {})",
                rounding::half_containers(e.containers),
                setting.garden.product(e.product).name,
                dates::with_year(e.made)
            )
        })
        .collect()
}

/// Containers of a product to be eaten in all, and the first day by which some of them are.
pub(super) fn of_product(room: &MakeRoom, id: ProductId) -> Option<(f64, NaiveDate)> {
    let of = |e: &&Eat| e.product == id;
    let first = room.steps.iter().find(|s| s.eat.iter().any(|e| of(&e)))?;
    let all = room.steps.iter().flat_map(|s| &s.eat).filter(of);
    Some((all.map(|e| e.containers).sum(), first.by))
}

/// Every day and product for machines.
pub(super) fn steps(setting: &Setting, room: &MakeRoom) -> Vec<Value> {
    let of_step = |step: &make_room::Step| {
        let by = step.by;
        step.eat.clone().into_iter().map(move |e| (by, e))
    };
    (room.steps.iter().flat_map(of_step))
        .map(|(by, e)| {
            json!({
                "by": by,
                "product": setting.garden.product(e.product).name,
                "made": e.made,
                "containers": e.containers,
            })
        })
        .collect()
}
