//! Rows of the crop table as crops.
//!
//! Keeps what safety rests on as it is; the figures are [`super::crop_figures`]'s.

use super::amounts::mass_text;
use super::cells::{DAYS, SHARE, Span};
use super::crop_figures as figures;
use super::names::Names;
use super::problem::{Findings, Kind, Told};
use super::rows::Row;
use super::tables::Entry;
use crate::garden::crop::{Crop, CropId, FoodGroup, Pattern, SecondFood};
use crate::garden::preserving::{Product, ProductId};
use crate::garden::safety::SafetyRow;
use crate::garden::units::Mass;

/// Makes the crops of the table in force and the list of their names.
pub(crate) fn read(entries: &[Entry<'_>], findings: &mut Findings) -> (Vec<Crop>, Names<CropId>) {
    let mut names = Names::new();
    for (i, entry) in entries.iter().enumerate() {
        names.add(&entry.key, CropId(i));
    }
    for (i, entry) in entries.iter().enumerate() {
        for other in entry.row.list("also_called") {
            names.add_quietly(&other, CropId(i));
        }
    }
    let crops: Vec<_> = entries
        .iter()
        .map(|entry| {
            let safe = keep_safe(entry, findings);
            let crop = crop(entry, &names, findings);
            safe.and(crop)
        })
        .collect();
    // Indices are positions, so one row that cannot be read spoils the list; its problem has been told.
    let all = crops.into_iter().collect::<Result<Vec<_>, Told>>();
    (all.unwrap_or_default(), names)
}

/// Checks that the product every crop usually goes to exists and is made of it, and puts in that product's own name.
pub(crate) fn settle_put_by(
    crops: &mut [Crop],
    entries: &[Entry<'_>],
    products: &[Product],
    names: &Names<ProductId>,
    f: &mut Findings,
) {
    for (i, (crop, entry)) in crops.iter_mut().zip(entries).enumerate() {
        let Some(cell) = entry.row.cell("put_by") else {
            continue;
        };
        let Some(id) = names.find(&cell.text) else {
            let problem = cell.problem(
                Kind::UnknownProduct,
                format!("`{}` is not in the product table", cell.text),
            );
            let problem = problem
                .expected("a product")
                .maybe_hint(names.hint(&cell.text));
            f.tell(problem);
            continue;
        };
        // Products are missing altogether when one of them could not be read.
        let Some(product) = products.get(id.0) else {
            continue;
        };
        if product.parts.iter().all(|part| part.crop != CropId(i)) {
            let problem = cell.problem(
                Kind::UnknownProduct,
                format!("{} is not made of {}", product.name, crop.name),
            );
            f.tell(problem.expected("a product whose crops name this one"));
        }
        crop.put_by = Some(product.name.clone());
    }
}

/// What safety rests on cannot be changed by a household's row.
fn keep_safe(entry: &Entry<'_>, findings: &mut Findings) -> Result<(), Told> {
    let Some(own) = &entry.own else { return Ok(()) };
    let changed = match &entry.built_in {
        Some(_) => entry.changes(&["safety_row", "also"]),
        None => ["safety_row", "also"]
            .into_iter()
            .find(|c| own.cell(c).is_some()),
    };
    let Some(cell) = changed.and_then(|c| own.cell(c)) else {
        return Ok(());
    };
    let (message, hint) = match (cell.column, entry.built_in.is_some()) {
        ("also", _) => (
            "leaves and tops are offered as a second food only from the built-in pairs".to_owned(),
            "leave the cell empty: not every leaf is food",
        ),
        (_, true) => (
            format!("what may be preserved how is fixed for {}", entry.key),
            "leave the cell empty; the built-in answer follows the current USDA guide",
        ),
        (_, false) => (
            "a crop of your own is not in the matrix of tested canning".to_owned(),
            "leave the cell empty: it can be frozen, dried or stored as practice, and ask the extension office before canning it",
        ),
    };
    Err(findings.tell(cell.problem(Kind::SafetyFixed, message).hint(hint)))
}

fn crop(entry: &Entry<'_>, names: &Names<CropId>, f: &mut Findings) -> Result<Crop, Told> {
    let row = &entry.row;
    let group = row
        .need(f, "group", "a food group")
        .cloned()
        .and_then(|c| c.word(f, &FoodGroup::NAMES));
    let safety_row = safety_row(row, f);
    let units = units(row, f);
    let timing = figures::timing(row, f);
    let growth = figures::growth(row, f);
    let harvest = figures::harvest(row, f);
    let ends = figures::ends(row, f);
    let second = second(row, names, f);
    let pattern = harvest.as_ref().map_or(Pattern::Leaf, |h| h.pattern);
    let yields = figures::yields(row, pattern, f);
    let kitchen = figures::kitchen(row, f);
    Ok(Crop {
        name: entry.key.to_lowercase(),
        also_called: row.list("also_called"),
        group: group?,
        family: row.text("family").unwrap_or_default(),
        safety_row: safety_row?,
        put_by: row.text("put_by"),
        units: units?,
        timing: timing?,
        growth: growth?,
        harvest: harvest?,
        ends: ends?,
        second: second?,
        yields: yields?,
        kitchen: kitchen?,
    })
}

fn safety_row(row: &Row<'_>, f: &mut Findings) -> Result<Option<SafetyRow>, Told> {
    let words: Vec<(&str, SafetyRow)> = SafetyRow::names()
        .filter_map(|n| Some((n, SafetyRow::from_name(n)?)))
        .collect();
    row.word(f, "safety_row", &words)
}

/// Reads `bunch=0.5 lb; head=1 lb`.
fn units(row: &Row<'_>, f: &mut Findings) -> Result<Vec<(String, Mass)>, Told> {
    let mut units = Vec::new();
    for item in row.list("units") {
        let pair = item
            .split_once('=')
            .and_then(|(name, mass)| Some((name.trim().to_lowercase(), mass_text(mass)?)));
        match pair {
            Some((name, mass)) if !name.is_empty() && mass.kg() > 0.0 => units.push((name, mass)),
            _ => {
                let cell = row.need(f, "units", "")?;
                let problem = cell
                    .problem(
                        Kind::BadList,
                        format!("`{item}` does not say what one weighs"),
                    )
                    .expected("units with their weight, such as bunch=0.5 lb; head=1 lb");
                return Err(f.tell(problem));
            }
        }
    }
    Ok(units)
}

fn second(
    row: &Row<'_>,
    names: &Names<CropId>,
    f: &mut Findings,
) -> Result<Option<SecondFood>, Told> {
    let Some(cell) = row.cell("also") else {
        return Ok(None);
    };
    let crop = names.find(&cell.text).ok_or_else(|| {
        let problem = cell.problem(
            Kind::UnknownCrop,
            format!("`{}` is not in the crop table", cell.text),
        );
        f.tell(problem.maybe_hint(names.hint(&cell.text)))
    });
    let share = row.need_number(
        f,
        "also_share",
        &Span::above_zero("a share of the main crop, such as 0.25", 5.0),
    );
    let from = row.number(f, "also_from", &SHARE);
    let delay = row.number(f, "also_delay_days", &DAYS);
    Ok(Some(SecondFood {
        crop: crop?,
        share: share?,
        from: from?.unwrap_or(0.6),
        delay_days: delay?.unwrap_or(0.0),
    }))
}
