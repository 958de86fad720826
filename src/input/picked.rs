//! Rows of `picked.csv`, the yield log, as pickings.

use super::amounts::{split, unit_mass};
use super::cells::Span;
use super::dates::{self, Reading, reading_of, strip_week};
use super::givers::{Day, Givers, TooEarly};
use super::needs::unknown_unit;
use super::number;
use super::picked_plain::{self, Plain};
use super::plantings::crop_of;
use super::problem::{Findings, Kind, Problem, Told};
use super::record::Context;
use super::rows::{Row, Sheet, Spec};
use super::text::Source;
use crate::garden::bed::BedId;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::record::{Picked, Use};
use crate::garden::units::Mass;
use crate::garden::week::Week;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Columns of `picked.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &[
        "date", "bed", "crop", "planting", "amount", "unit", "guess", "use", "note",
    ],
    required: &["date", "crop", "amount"],
    example: "date,crop,amount,unit",
    paste_from: 1,
};

/// What an amount may be.
pub(crate) const AMOUNT: Span = Span::above_zero("an amount, such as 2.5", 20_000.0);

/// Makes the pickings.
pub(crate) fn read(
    source: &Source,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<Vec<Picked>, Told> {
    read_after(source, context, picked_plain::read, f)
}

/// Makes the pickings of the rows that a quick lane leaves and puts them between those that it has read.
pub(super) fn read_after(
    source: &Source,
    context: Context<'_>,
    lane: impl Fn(&Sheet<'_>, Context<'_>, &Givers) -> Plain,
    f: &mut Findings,
) -> Result<Vec<Picked>, Told> {
    let mut sheet = Sheet::begun(source, SPEC, f).ok_or(Told)?;
    let givers = Givers::of(context);
    let Plain {
        mut pickings,
        prints,
        mut strangers,
    } = lane(&sheet, context, &givers);
    let left = sheet.look_at_rows(prints, SPEC, f);
    let reading = reading_of(&sheet, &["date"], context.show.dates, f);
    let odd = sheet.each(f, |row, f| picking(row, context, &givers, reading, f));
    for (&record, picking) in sheet.row_records().iter().zip(odd) {
        let picking = picking?;
        if givers.there(picking.crop, picking.bed).is_strange() {
            strangers.push(picking.crop);
        }
        pickings[record - sheet.first()] = picking;
    }
    if sheet.len() < left {
        pickings.retain(|p| *p != picked_plain::left());
    }
    warn_of_strangers(&strangers, context, f);
    Ok(pickings)
}

/// Tells once of crops that were picked in beds where no planting of them stands in the file.
fn warn_of_strangers(strangers: &[CropId], context: Context<'_>, f: &mut Findings) {
    if context.plantings.is_none_or(|p| !p.complete) {
        return;
    }
    let crops: BTreeSet<&str> = strangers
        .iter()
        .filter_map(|crop| Some(context.crops.get(crop.0)?.name.as_str()))
        .collect();
    if !crops.is_empty() {
        let names: Vec<&str> = crops.into_iter().collect();
        f.warn(format!(
            "Some pickings are of crops that plantings.csv does not have there, as from an earlier season ({}); they count for the kitchen and for no planting.",
            names.join(", ")
        ));
    }
}

fn picking(
    row: &Row<'_>,
    context: Context<'_>,
    givers: &Givers,
    reading: Reading,
    f: &mut Findings,
) -> Result<Picked, Told> {
    let date = date(row, reading, f);
    let crop = row
        .need(f, "crop", "a crop of the crop table")
        .cloned()
        .and_then(|cell| crop_of(&cell, context.crop_names, f));
    let bed = row
        .cell("bed")
        .map(|cell| bed_of(cell, context, f))
        .transpose();
    let planting = row
        .cell("planting")
        .map(|cell| context.planting(cell, f))
        .transpose();
    let amount = crop.and_then(|crop| amount(row, crop, context, f));
    let guess = row.yes(f, "guess");
    let went = row.word(f, "use", &Use::NAMES);
    let day = date?;
    let (crop, bed) = (crop?, bed?);
    let planting = match planting? {
        Some(id) => Some(of_that_planting(row, id, crop, day, context, givers, f)?),
        None => {
            let likely = givers.there(crop, bed).likely(day);
            likely.map_err(|TooEarly(start)| {
                f.tell(before_sowing(row, day, start, "the first planting of it"))
            })?
        }
    };
    let (mass, rough) = amount?;
    Ok(Picked {
        date: day.date,
        whole_week: day.whole_week,
        bed,
        crop,
        planting,
        mass,
        guess: guess? || rough,
        went: went?.unwrap_or_default(),
        note: row.text("note"),
    })
}

/// Reads the date, which may stand for a week: `week of 2026-08-03` here or at the head of the note.
fn date(row: &Row<'_>, reading: Reading, f: &mut Findings) -> Result<Day, Told> {
    let cell = row.need(f, "date", dates::EXPECTED)?;
    let bare = strip_week(&cell.text);
    let in_note = row
        .cell("note")
        .is_some_and(|note| strip_week(&note.text).len() < note.text.len());
    let whole_week = bare.len() < cell.text.len() || in_note;
    let date =
        dates::parse(bare, reading).map_err(|fault| f.tell(cell.fault(fault, dates::EXPECTED)))?;
    Ok(Day {
        date: if whole_week {
            Week::of(date).monday()
        } else {
            date
        },
        whole_week,
    })
}

fn bed_of(
    cell: &super::rows::Cell<'_>,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<BedId, Told> {
    context.bed_names.find_exact(&cell.text).ok_or_else(|| {
        if context.plantings.is_none_or(|p| !p.complete) {
            return Told;
        }
        let problem = cell.problem(
            Kind::UnknownBed,
            format!("there is no bed `{}`", number::short(&cell.text)),
        );
        let hint = context.bed_names.hint(&cell.text).unwrap_or_else(|| {
            format!(
                "the beds are {}",
                super::plantings::some(context.bed_names.shown())
            )
        });
        f.tell(problem.expected("a bed").hint(hint))
    })
}

/// Reads amount and unit; the unit may stand with the amount if its own cell is empty, and `~` makes it a guess.
fn amount(
    row: &Row<'_>,
    crop: CropId,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<(Mass, bool), Told> {
    let cell = row.need(f, "amount", AMOUNT.what)?;
    let bare = cell.text.trim_start_matches(['~', '≈']).trim();
    let rough = bare.len() < cell.text.len();
    let mut number_cell = cell.clone();
    if rough {
        number_cell.text = bare.to_owned().into();
    }
    let mut unit_cell = row.cell("unit").cloned();
    if unit_cell.is_none()
        && let Some((_, unit)) = split(bare)
    {
        let unit = unit.to_owned();
        number_cell.text = bare[..bare.len() - unit.len()].trim().to_owned().into();
        unit_cell = Some({
            let mut c = cell.clone();
            c.text = unit.into();
            c
        });
    }
    let value = number_cell.number(f, &AMOUNT);
    let Some(unit_cell) = unit_cell else {
        row.need(f, "unit", "a unit, such as lb or bunch")?;
        return Err(Told);
    };
    let known = (crop, context.crops.get(crop.0).ok_or(Told)?);
    let one = unit_mass(&unit_cell.text, Some(known), context.measures)
        .ok_or_else(|| f.tell(unknown_unit(&unit_cell, Some(known), context.measures)))?;
    Ok((one * value?, rough))
}

/// Checks that a named planting gives this crop and was there.
fn of_that_planting(
    row: &Row<'_>,
    id: PlantingId,
    crop: CropId,
    day: Day,
    context: Context<'_>,
    givers: &Givers,
    f: &mut Findings,
) -> Result<PlantingId, Told> {
    let planting = &context.plantings.ok_or(Told)?.plantings[id.0];
    if !givers.gives(id, crop) {
        let grows = context
            .crops
            .get(planting.crop.0)
            .map_or("another crop", |c| c.name.as_str());
        let problem = row
            .problem_at(
                "planting",
                Kind::NoPlanting,
                format!("the planting {} grows {grows}", planting.name),
            )
            .expected("a planting of this crop")
            .hint("mend the crop or the planting; empty, the planting is found by bed and crop");
        return Err(f.tell(problem));
    }
    if day.is_before(planting.start()) {
        return Err(f.tell(before_sowing(row, day, planting.start(), &planting.name)));
    }
    Ok(id)
}

fn before_sowing(row: &Row<'_>, day: Day, start: NaiveDate, what: &str) -> Problem {
    row.problem_at(
        "date",
        Kind::WrongOrder,
        format!(
            "picked on {}, before {what} was in the ground on {start}",
            day.date
        ),
    )
    .expected("a day after sowing or setting out")
    .hint("check the year of the picking and of the planting")
}
