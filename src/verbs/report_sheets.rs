//! The sheets of `putby report --sheets`: what hangs on the wall, each one printed side.

use super::report::Known;
use super::{sessions_card, sow_by, week, week_lists};
use crate::garden::crop::CropId;
use crate::garden::preserving::ProductId;
use crate::kitchen::fortnight::Pick;
use crate::output::page::{Boxes, Sheet, SheetPiece, Tally, TallyRow};
use crate::output::report::{Page, Part};
use crate::output::{dates, rounding};
use crate::verbs::Failure;
use chrono::{Days, NaiveDate};

/// Columns of text on a printed side, about.
const SIDE: usize = 96;
/// Days on a picking sheet.
const PICKING_DAYS: u64 = 7;
/// Most plantings on a picking sheet.
const MOST_PLANTINGS: usize = 20;
/// Rows without a name on a picking sheet.
const BLANK_ROWS: usize = 5;
/// Most boxes in a row of the tally; beyond, a box stands for several containers.
const MOST_BOXES: usize = 28;
/// Most products on the tally.
const MOST_PRODUCTS: usize = 18;

/// Returns every sheet.
///
/// # Errors
/// If the session card cannot be laid out.
pub(super) fn sheets(known: &Known) -> Result<Vec<Sheet>, Failure> {
    Ok(vec![
        fortnight(known),
        card(known)?,
        picking(known),
        freezer_door(known),
        last_sowings(known),
    ])
}

/// Says when a sheet was made and until when it is good.
fn made(known: &Known, until: NaiveDate, or: &str) -> String {
    format!(
        "{}. Made on {}; good until {}, or until {or}: then run `putby report --sheets` again.",
        known.setting.garden.name,
        dates::with_year(known.setting.as_of),
        dates::day(until)
    )
}

fn parts(report: impl IntoIterator<Item = Part>) -> Vec<SheetPiece> {
    report.into_iter().map(SheetPiece::Part).collect()
}

fn fortnight(known: &Known) -> Sheet {
    let page = Page {
        width: SIDE,
        units: known.setting.garden.show.units,
    };
    let report = week::fitted(&known.screen, page);
    let last = week::last_day(&known.screen.close);
    Sheet {
        id: "fortnight",
        title: format!(
            "This week and next: {}",
            dates::range(known.setting.as_of, last)
        ),
        made: made(known, last, "something is logged"),
        pieces: parts(report.people.into_iter().filter(|part| !heads(part))),
    }
}

const fn heads(part: &Part) -> bool {
    matches!(part, Part::Heading(_))
}

fn card(known: &Known) -> Result<Sheet, Failure> {
    let report = sessions_card::report(known.setting, &known.days, None)?;
    let next = known.days.cards.first();
    Ok(Sheet {
        id: "card",
        title: next.map_or_else(
            || "Processing day".to_owned(),
            |card| format!("Processing day: {}", dates::day(card.date)),
        ),
        // The card itself says when it was planned and until when it is good.
        made: known.setting.garden.name.clone(),
        pieces: parts(report.people.into_iter().filter(|part| !heads(part))),
    })
}

/// Boxes for what is picked in the coming days, bed by bed, as one walks.
fn picking(known: &Known) -> Sheet {
    let (setting, screen) = (known.setting, &known.screen);
    let garden = &setting.garden;
    let days: Vec<NaiveDate> = (0..PICKING_DAYS)
        .map(|n| setting.as_of + Days::new(n))
        .collect();
    let mut picks: Vec<&Pick> = week_lists::picks(screen);
    let left_out = picks.len().saturating_sub(MOST_PLANTINGS);
    picks.truncate(MOST_PLANTINGS);
    picks.sort_by_key(|p| (garden.planting(p.planting).bed, p.planting, p.second));
    let last = days.last().copied().unwrap_or(setting.as_of);
    let rows = picks
        .iter()
        .map(|pick| {
            let bed = &garden.bed(garden.planting(pick.planting).bed).name;
            (week_lists::food(screen, pick), bed.clone())
        })
        .collect();
    let boxes = Boxes {
        title: "What is picked, by planting and day".to_owned(),
        names: "Planting and bed".to_owned(),
        heads: days.iter().map(|day| dates::day(*day)).collect(),
        rows,
        blank: BLANK_ROWS,
    };
    let mut how = "Write the amount with its unit: 2½ lb, 3 bunches, 1 bowl; ~ before it for a guess. Then, crops with commas \
                   between: `putby log picked sat beans 2.5 lb, kale 2 bunches`."
        .to_owned();
    if left_out > 0 {
        how += &format!(
            " {} with less to give on the free rows.",
            rounding::counted(left_out, "planting", "plantings")
        );
    }
    Sheet {
        id: "picking",
        title: format!("Picked, {}", dates::range(setting.as_of, last)),
        made: made(known, last, "something new is ready"),
        pieces: vec![SheetPiece::Boxes(boxes), SheetPiece::Part(Part::Text(how))],
    }
}

/// Goals and what else is in store, with a box for every container.
fn freezer_door(known: &Known) -> Sheet {
    let (setting, found) = (known.setting, &known.screen.found);
    let mut rows: Vec<TallyRow> = Vec::new();
    let mut told: Vec<ProductId> = Vec::new();
    for goal in &found.goals {
        let wanted = goal.wanted.unwrap_or(goal.containers.p90);
        let row = row(
            known,
            &goal.ids,
            goal.products.join(" or "),
            goal.wanted,
            wanted,
        );
        told.extend(&goal.ids);
        if row.ticked + row.open > 0 {
            rows.push(row);
        }
    }
    for batch in &known.screen.batches {
        if !told.contains(&batch.product) {
            told.push(batch.product);
            let name = setting.garden.product(batch.product).name.clone();
            rows.push(row(known, &[batch.product], name, None, 0.0));
        }
    }
    let left_out = rows.len().saturating_sub(MOST_PRODUCTS);
    rows.truncate(MOST_PRODUCTS);
    let mut how = "× is there already. Tick a box for each container you put in, and strike one out for each you take. \
                   Then: `putby log put 3 frozen beans`, `putby log used 1 frozen beans`."
        .to_owned();
    if left_out > 0 {
        how += &format!(
            " {} more: `putby stores`.",
            rounding::counted(left_out, "product", "products")
        );
    }
    let mut pieces = Vec::new();
    if rows.is_empty() {
        pieces.push(SheetPiece::Part(Part::Text(
            "There are no goals, nothing is in store and nothing is likely to be put by."
                .to_owned(),
        )));
    } else {
        pieces.push(SheetPiece::Part(Part::Text(how)));
        pieces.push(SheetPiece::Tally(Tally {
            title: "Containers there and wanted, by product".to_owned(),
            heads: ["Product", "There", "Goal", "Oldest", "Containers"],
            rows,
        }));
    }
    Sheet {
        id: "door",
        title: "On the freezer door: what is put by".to_owned(),
        made: format!(
            "{}. Made on {}; good as long as every container gets its box.",
            setting.garden.name,
            dates::with_year(setting.as_of)
        ),
        pieces,
    }
}

/// Lays out one row: containers there of any of some products, and boxes up to the number wanted.
fn row(known: &Known, ids: &[ProductId], name: String, goal: Option<f64>, wanted: f64) -> TallyRow {
    let garden = &known.setting.garden;
    let here = || {
        known
            .screen
            .batches
            .iter()
            .filter(|b| ids.contains(&b.product))
    };
    let now: f64 = here().map(|b| b.containers).sum();
    let oldest = here().map(|b| b.made).min();
    let container = ids
        .first()
        .map_or("", |id| garden.product(*id).container.as_str());
    let (ticked, open, each) = boxes(now, wanted);
    TallyRow {
        name,
        container: container.to_owned(),
        there: rounding::half_containers(now),
        goal: goal.map_or_else(|| "–".to_owned(), rounding::containers),
        oldest: oldest.map_or_else(|| "–".to_owned(), dates::with_year),
        ticked,
        open,
        each,
    }
}

/// Returns boxes ticked and open, and how many containers each stands for.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "containers are a small positive number; the cast saturates"
)]
fn boxes(now: f64, wanted: f64) -> (usize, usize, usize) {
    let most = now.max(wanted).ceil();
    let each = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
        .into_iter()
        .find(|each| most / each <= MOST_BOXES as f64)
        .unwrap_or(1000.0);
    let ticked = ((now / each).floor() as usize).min(MOST_BOXES);
    let all = ((most / each).ceil() as usize).min(MOST_BOXES);
    (ticked, all - ticked, each as usize)
}

/// By when to sow every crop that the garden grows.
fn last_sowings(known: &Known) -> Sheet {
    let setting = known.setting;
    let garden = &setting.garden;
    let mut crops: Vec<CropId> = garden.plantings.iter().map(|p| p.crop).collect();
    crops.sort_unstable();
    crops.dedup();
    let report = sow_by::usual(setting, crops);
    let mut pieces = parts(report.people.into_iter().filter_map(|part| match part {
        Part::Heading(_) => None,
        // What was assumed of the household has no place on a sheet about sowing.
        Part::Points(mut points) => {
            points.retain(|point| !known.screen.assumed.contains(point));
            (!points.is_empty()).then_some(Part::Points(points))
        }
        part => Some(part),
    }));
    pieces.push(SheetPiece::Part(Part::Text(
        "Crops of this garden only; for others: `putby sow by`.".to_owned(),
    )));
    Sheet {
        id: "sowings",
        title: format!(
            "Last sowings, seen from {}",
            dates::with_year(setting.as_of)
        ),
        made: format!(
            "{}. Made on {}; make it again when the season turns.",
            garden.name,
            dates::with_year(setting.as_of)
        ),
        pieces,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_for_each_container_until_there_are_too_many() {
        for (now, wanted, want) in [
            (0.0, 0.0, (0, 0, 1)),
            (4.0, 16.0, (4, 12, 1)),
            (4.5, 16.0, (4, 12, 1)),
            (20.0, 16.0, (20, 0, 1)),
            (6.5, 0.0, (6, 1, 1)),
            (10.0, 55.0, (5, 23, 2)),
            (0.0, 100_000.0, (0, 28, 1000)),
        ] {
            assert_eq!(boxes(now, wanted), want, "{now} {wanted}");
        }
    }
}
