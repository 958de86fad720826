//! Rows of `picked.csv`, the yield log, as pickings.

use super::amounts::{split, unit_mass};
use super::cells::Span;
use super::dates::{self, Reading, reading_of, strip_week};
use super::needs::unknown_unit;
use super::number;
use super::plantings::crop_of;
use super::problem::{Findings, Kind, Told};
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

const AMOUNT: Span = Span::above_zero("an amount, such as 2.5", 20_000.0);

/// Makes the pickings.
pub(crate) fn read(
    source: &Source,
    context: Context<'_>,
    f: &mut Findings,
) -> Result<Vec<Picked>, Told> {
    let sheet = Sheet::read(source, SPEC, f).ok_or(Told)?;
    let reading = reading_of(&sheet, &["date"], context.show.dates, f);
    let givers = givers(context);
    let all = sheet.each(f, |row, f| picking(row, context, &givers, reading, f));
    let mut pickings = Vec::with_capacity(sheet.len());
    for picking in all {
        pickings.push(picking?);
    }
    warn_of_strangers(&pickings, context, &givers, f);
    Ok(pickings)
}

/// Tells once of crops that were picked in beds where no planting of them stands in the file.
fn warn_of_strangers(all: &[Picked], context: Context<'_>, givers: &Givers, f: &mut Findings) {
    let Some(planted) = context.plantings.filter(|p| p.complete) else {
        return;
    };
    let stranger = |p: &&Picked| {
        let mut of_crop = of(givers, p.crop).iter();
        !of_crop.any(|&i| p.bed.is_none_or(|bed| planted.plantings[i].bed == bed))
    };
    let crops: BTreeSet<&str> = all
        .iter()
        .filter(stranger)
        .filter_map(|p| Some(context.crops.get(p.crop.0)?.name.as_str()))
        .collect();
    if !crops.is_empty() {
        let names: Vec<&str> = crops.into_iter().collect();
        f.warn(format!(
            "Some pickings are of crops that plantings.csv does not have there, as from an earlier season ({}); they count for the kitchen and for no planting.",
            names.join(", ")
        ));
    }
}

/// For each crop the plantings that give it, as their crop or as their second food.
type Givers = Vec<Vec<usize>>;

/// Returns the plantings that give a crop.
fn of(givers: &Givers, crop: CropId) -> &[usize] {
    givers.get(crop.0).map_or(&[], Vec::as_slice)
}

fn givers(context: Context<'_>) -> Givers {
    let mut givers = Givers::new();
    let mut gives = |crop: CropId, i| {
        givers.resize(givers.len().max(crop.0 + 1), Vec::new());
        givers[crop.0].push(i);
    };
    for (i, p) in context
        .plantings
        .iter()
        .flat_map(|p| p.plantings.iter().enumerate())
    {
        gives(p.crop, i);
        if let Some(second) = context.crops.get(p.crop.0).and_then(|c| c.second.as_ref()) {
            gives(second.crop, i);
        }
    }
    givers
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
    let (date, whole_week) = date?;
    let (crop, bed) = (crop?, bed?);
    let planting = match planting? {
        Some(id) => Some(of_that_planting(
            row, id, crop, date, whole_week, context, givers, f,
        )?),
        None => likely(row, crop, bed, date, whole_week, context, givers, f)?,
    };
    let (mass, rough) = amount?;
    Ok(Picked {
        date,
        whole_week,
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
fn date(row: &Row<'_>, reading: Reading, f: &mut Findings) -> Result<(NaiveDate, bool), Told> {
    let cell = row.need(f, "date", dates::EXPECTED)?;
    let bare = strip_week(&cell.text);
    let in_note = row
        .cell("note")
        .is_some_and(|note| strip_week(&note.text).len() < note.text.len());
    let whole_week = bare.len() < cell.text.len() || in_note;
    let date =
        dates::parse(bare, reading).map_err(|fault| f.tell(cell.fault(fault, dates::EXPECTED)))?;
    Ok((
        if whole_week {
            Week::of(date).monday()
        } else {
            date
        },
        whole_week,
    ))
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
#[allow(
    clippy::too_many_arguments,
    reason = "one row against the whole garden"
)]
fn of_that_planting(
    row: &Row<'_>,
    id: PlantingId,
    crop: CropId,
    date: NaiveDate,
    whole_week: bool,
    context: Context<'_>,
    givers: &Givers,
    f: &mut Findings,
) -> Result<PlantingId, Told> {
    let planting = &context.plantings.ok_or(Told)?.plantings[id.0];
    if !of(givers, crop).contains(&id.0) {
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
    if too_early(date, whole_week, planting.start()) {
        return Err(f.tell(before_sowing(row, date, planting.start(), &planting.name)));
    }
    Ok(id)
}

/// Finds the one planting that can be meant; none if several can.
#[allow(
    clippy::too_many_arguments,
    reason = "one row against the whole garden"
)]
fn likely(
    row: &Row<'_>,
    crop: CropId,
    bed: Option<BedId>,
    date: NaiveDate,
    whole_week: bool,
    context: Context<'_>,
    givers: &Givers,
    f: &mut Findings,
) -> Result<Option<PlantingId>, Told> {
    let Some(planted) = context.plantings else {
        return Ok(None);
    };
    // Looked at one by one and only as far as needed: a long log against a long list stays quick.
    let of_bed = || {
        let list = of(givers, crop).iter().copied();
        list.filter(|&i| bed.is_none_or(|b| planted.plantings[i].bed == b))
    };
    let mut there = of_bed().filter(|&i| {
        let p = &planted.plantings[i];
        !too_early(date, whole_week, p.start()) && p.cleared.is_none_or(|c| date <= c)
    });
    let found = there.next();
    if found.is_some() {
        let unmistakable = there.next().is_none();
        return Ok(found.filter(|_| unmistakable).map(PlantingId));
    }
    let earliest = of_bed().map(|i| planted.plantings[i].start()).min();
    match earliest {
        // A picking long before the first sowing belongs to an earlier season, whose plantings need not be listed any more.
        Some(start)
            if too_early(date, whole_week, start) && (start - date).num_days() > SLIP_DAYS =>
        {
            Ok(None)
        }
        Some(start) if planted.complete && too_early(date, whole_week, start) => {
            Err(f.tell(before_sowing(row, date, start, "the first planting of it")))
        }
        _ => Ok(None),
    }
}

/// Days before a sowing within which a picking is taken for a slip of the pen, not for an earlier season's (judgement).
const SLIP_DAYS: i64 = 60;

fn too_early(date: NaiveDate, whole_week: bool, start: NaiveDate) -> bool {
    let last = if whole_week {
        Week::of(date).sunday()
    } else {
        date
    };
    last < start
}

fn before_sowing(
    row: &Row<'_>,
    date: NaiveDate,
    start: NaiveDate,
    what: &str,
) -> super::problem::Problem {
    row.problem_at(
        "date",
        Kind::WrongOrder,
        format!("picked on {date}, before {what} was in the ground on {start}"),
    )
    .expected("a day after sowing or setting out")
    .hint("check the year of the picking and of the planting")
}
