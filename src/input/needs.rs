//! Rows of `needs.csv` as needs, and the default needs of a household without the file.

use super::amounts::{unit_mass, units_for};
use super::cells::Span;
use super::dates::{Reading, reading_of};
use super::names::{Names, nearest, plain};
use super::number;
use super::problem::{Findings, Kind, Told};
use super::rows::{Cell, Row, Sheet, Spec};
use super::text::Source;
use crate::garden::DateOrder;
use crate::garden::crop::{Crop, CropId, FoodGroup};
use crate::garden::household::{Food, Measure, Need};

/// Columns of `needs.csv`.
pub(crate) const SPEC: Spec<'_> = Spec {
    columns: &["food", "amount_per_week", "unit", "from", "until", "note"],
    required: &["food", "amount_per_week"],
    example: "food,amount_per_week,unit",
    paste_from: 1,
};

const AMOUNT: Span = Span::above_zero("an amount a week, such as 2", 5000.0);

/// Makes the needs.
pub(crate) fn read(
    source: &Source,
    names: &Names<CropId>,
    crops: &[Crop],
    measures: &[Measure],
    order: DateOrder,
    findings: &mut Findings,
) -> Result<Vec<Need>, Told> {
    let sheet = Sheet::read(source, SPEC, findings).ok_or(Told)?;
    let reading = reading_of(&sheet, &["from", "until"], order, findings);
    let all: Vec<_> = sheet
        .rows()
        .map(|row| need(&row, names, crops, measures, reading, findings))
        .collect();
    all.into_iter().collect()
}

fn need(
    row: &Row<'_>,
    names: &Names<CropId>,
    crops: &[Crop],
    measures: &[Measure],
    reading: Reading,
    f: &mut Findings,
) -> Result<Need, Told> {
    let food = row
        .need(f, "food", "a crop or a food group")
        .cloned()
        .and_then(|cell| food_of(&cell, names, f));
    let amount = row.need_number(f, "amount_per_week", &AMOUNT);
    let unit = row.need(f, "unit", "a unit, such as lb").cloned();
    let from = row.year_day(f, "from", reading);
    let until = row.year_day(f, "until", reading);
    let (food, unit) = (food?, unit?);
    let crop = match food {
        Food::Crop(id) => Some((id, crops.get(id.0).ok_or(Told)?)),
        Food::Group(_) => None,
    };
    let one = unit_mass(&unit.text, crop, measures)
        .ok_or_else(|| f.tell(unknown_unit(&unit, crop, measures)))?;
    Ok(Need {
        food,
        per_week: one * amount?,
        from: from?,
        until: until?,
    })
}

/// Makes the problem of a unit whose weight is not known.
pub(crate) fn unknown_unit(
    unit: &Cell<'_>,
    crop: Option<(CropId, &Crop)>,
    measures: &[Measure],
) -> super::problem::Problem {
    let list = units_for(crop, measures);
    let hint = nearest(&unit.text, list.split(", ")).map_or_else(
        || {
            format!(
                "weigh one and write it under [measures] in garden.toml: {} = \"1 lb\"",
                plain(&unit.text).replace(' ', "_")
            )
        },
        |name| format!("did you mean `{name}`?"),
    );
    let whose = crop.map_or_else(|| "a food group".to_owned(), |(_, c)| c.name.clone());
    unit.problem(
        Kind::UnknownUnit,
        format!(
            "what one `{}` of {whose} weighs is not known",
            number::short(&unit.text)
        ),
    )
    .expected(format!("one of: {list}"))
    .hint(hint)
}

fn food_of(cell: &Cell<'_>, names: &Names<CropId>, f: &mut Findings) -> Result<Food, Told> {
    let wanted = plain(&cell.text);
    if let Some((_, group)) = FoodGroup::NAMES
        .iter()
        .find(|(name, _)| plain(name) == wanted)
    {
        return Ok(Food::Group(*group));
    }
    names.find(&cell.text).map(Food::Crop).ok_or_else(|| {
        let groups = FoodGroup::NAMES.map(|(name, _)| name);
        let hint = nearest(&cell.text, groups)
            .map(|name| format!("did you mean `{name}`?"))
            .or_else(|| names.hint(&cell.text));
        f.tell(
            cell.problem(
                Kind::UnknownFood,
                format!(
                    "`{}` is neither a crop nor a food group",
                    number::short(&cell.text)
                ),
            )
            .expected(format!("a crop, or one of: {}", groups.join(", ")))
            .maybe_hint(hint),
        )
    })
}

/// Returns the needs of a household that states none: the usual amount of every crop it grows.
pub(crate) fn usual(
    crops: &[Crop],
    grown: &[CropId],
    people: f64,
    findings: &mut Findings,
) -> Vec<Need> {
    findings.assume(
        "There is no needs.csv; usual amounts for each person of every crop grown were taken.",
    );
    grown
        .iter()
        .filter_map(|&id| Some((id, crops.get(id.0)?)))
        .filter(|(_, crop)| crop.kitchen.need_per_person_week.kg() > 0.0)
        .map(|(id, crop)| Need {
            food: Food::Crop(id),
            per_week: crop.kitchen.need_per_person_week * people,
            from: None,
            until: None,
        })
        .collect()
}
