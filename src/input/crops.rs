//! Rows of the crop table as crops.
//!
//! Knows which figures a crop needs and what they default to; where the built-in ones come from is `data/sources.csv`.

use super::amounts::mass_text;
use super::cells::{DAYS, SHARE, Span};
use super::names::Names;
use super::problem::{Findings, Kind, Told};
use super::rows::Row;
use super::tables::Entry;
use crate::garden::crop::{
    Clock, Crop, CropId, CropKitchen, Ends, FoodGroup, Growth, Harvest, Pattern, SecondFood,
    Timing, Yields,
};
use crate::garden::safety::SafetyRow;
use crate::garden::units::{AreaYield, Length, Mass, Minutes, RowYield, Temperature};

const CELSIUS: Span = Span::between("degrees Celsius, such as 10", -20.0, 50.0);
const FAHRENHEIT: Span = Span::between("degrees Fahrenheit, such as 28", -60.0, 100.0);
const HARVEST_DAYS: Span = Span::above_zero("a number of days, such as 30", 400.0);
const MATURITY: Span = Span::above_zero("a number of days, such as 55", 400.0);
const SPREAD: Span = Span::between("a spread from 0 to 1.5, such as 0.3", 0.0, 1.5);
const DEGREE_DAYS: Span = Span::from_zero("degree-days Celsius, such as 110", 1000.0);
const HOURS: Span = Span::between("hours of daylight, such as 13", 0.0, 24.0);
const ROW_YIELD: Span = Span::from_zero("pounds for 100 ft of row, such as 80", 2000.0);
const BED_YIELD: Span = Span::from_zero("pounds a square foot, such as 0.5", 50.0);
const INCHES: Span = Span::above_zero("inches, such as 12", 240.0);
const MINUTES: Span = Span::from_zero("minutes a pound, such as 4", 120.0);
const POUNDS: Span = Span::from_zero("pounds, such as 0.5", 50.0);

const CLOCKS: [(&str, Clock); 2] = [("growth", Clock::Growth), ("calendar", Clock::Calendar)];
const PATTERNS: [(&str, Pattern); 4] = [
    ("once", Pattern::Once),
    ("leaf", Pattern::Leaf),
    ("fruit", Pattern::Fruit),
    ("root", Pattern::Root),
];

/// Spread of the days to maturity where none is given (published for lettuce: 0.067).
const USUAL_DAYS_CV: f64 = 0.08;
/// Chance that a planting fails altogether where none is given (common practice, no source).
const USUAL_FAIL_CHANCE: f64 = 0.03;
/// Growing days under heat or light until a crop bolts where none is given (judgement).
const USUAL_BOLT_DAYS: f64 = 15.0;

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
    let timing = timing(row, f);
    let growth = growth(row, f);
    let harvest = harvest(row, f);
    let ends = ends(row, f);
    let second = second(row, names, f);
    let pattern = harvest.as_ref().map_or(Pattern::Leaf, |h| h.pattern);
    let yields = yields(row, pattern, f);
    let kitchen = kitchen(row, f);
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

fn timing(row: &Row<'_>, f: &mut Findings) -> Result<Timing, Told> {
    let days_sown = row.number(f, "days_sown", &MATURITY);
    let days_set_out = row.number(f, "days_set_out", &MATURITY);
    let raise_days = row.number(f, "raise_days", &DAYS);
    let days_cv = row.number(f, "days_cv", &SPREAD);
    let clock = row.word(f, "clock", &CLOCKS);
    let baby_at = row.number(f, "baby_at", &SHARE);
    let (days_sown, days_set_out) = (days_sown?, days_set_out?);
    if days_sown.is_none() && days_set_out.is_none() {
        let problem = row
            .problem_at(
                "days_sown",
                Kind::MissingCell,
                "this crop has no days to maturity",
            )
            .expected("days_sown, days_set_out or both");
        return Err(f.tell(problem));
    }
    Ok(Timing {
        days_sown,
        days_set_out,
        raise_days: raise_days?,
        days_cv: days_cv?.unwrap_or(USUAL_DAYS_CV),
        clock: clock?.unwrap_or(Clock::Growth),
        baby_at: baby_at?,
    })
}

fn growth(row: &Row<'_>, f: &mut Findings) -> Result<Growth, Told> {
    let base = row.need_number(f, "base_c", &CELSIUS);
    let full = row.number(f, "full_c", &CELSIUS);
    let ceiling = row.number(f, "ceiling_c", &CELSIUS);
    let day_length = row.yes(f, "day_length");
    let up_base = row.number(f, "up_base_c", &CELSIUS);
    let up_degree_days = row.number(f, "up_degree_days_c", &DEGREE_DAYS);
    let soil_min = row.number(f, "soil_min_c", &CELSIUS);
    let soil_max = row.number(f, "soil_max_c", &CELSIUS);
    let base = base?;
    // Cool-season crops grow at full rate from 17 °C, the others ten degrees above their base.
    let full = full?.unwrap_or(if base < 7.0 { 17.0 } else { base + 10.0 });
    let ceiling = ceiling?;
    if full <= base || ceiling.is_some_and(|c| c < full) {
        let problem = row
            .problem_at(
                "full_c",
                Kind::WrongOrder,
                format!(
                    "growth starts at {base} °C, is full at {full} °C and must rise in between"
                ),
            )
            .expected("base_c below full_c, and ceiling_c not below full_c");
        return Err(f.tell(problem));
    }
    Ok(Growth {
        base: Temperature::from_c(base),
        full: Temperature::from_c(full),
        ceiling: ceiling.map(Temperature::from_c),
        day_length: day_length?,
        up_base: Temperature::from_c(up_base?.unwrap_or(base)),
        up_degree_days: up_degree_days?.unwrap_or(110.0),
        soil_min: soil_min?.map(Temperature::from_c),
        soil_max: soil_max?.map(Temperature::from_c),
    })
}

fn harvest(row: &Row<'_>, f: &mut Findings) -> Result<Harvest, Told> {
    let pattern = row
        .need(f, "pattern", "how it is picked")
        .cloned()
        .and_then(|c| c.word(f, &PATTERNS));
    let harvest_days = row.need_number(f, "harvest_days", &HARVEST_DAYS);
    let pick_every = row.number(f, "pick_every_days", &HARVEST_DAYS);
    let shape = shape(row, f);
    let holds = row.number(f, "holds_days", &DAYS);
    let usable_early = row.yes(f, "usable_early");
    Ok(Harvest {
        pattern: pattern?,
        harvest_days: harvest_days?,
        pick_every_days: pick_every?.unwrap_or(7.0),
        shape: shape?,
        holds_days: holds?.unwrap_or(2.0),
        usable_early: usable_early?,
    })
}

/// Reads `25; 35; 22; 12; 6`: percent that add up to 100.
fn shape(row: &Row<'_>, f: &mut Findings) -> Result<Vec<f64>, Told> {
    let Some(cell) = row.cell("shape") else {
        return Ok(vec![1.0]);
    };
    let parts: Option<Vec<f64>> = row
        .list("shape")
        .iter()
        .map(|p| super::number::parse(p).filter(|v| *v >= 0.0))
        .collect();
    match parts {
        Some(parts) if !parts.is_empty() && (parts.iter().sum::<f64>() - 100.0).abs() < 0.5 => {
            let sum: f64 = parts.iter().sum();
            Ok(parts.iter().map(|p| p / sum).collect())
        }
        Some(parts) if !parts.is_empty() => {
            let sum = super::number::tidy(parts.iter().sum());
            Err(f.tell(
                cell.problem(Kind::BadShares, format!("the shares add up to {sum}"))
                    .expected("percent that add up to 100, such as 25; 35; 22; 12; 6"),
            ))
        }
        _ => Err(f.tell(
            cell.problem(
                Kind::BadList,
                format!("`{}` is not a list of percent", cell.text),
            )
            .expected("percent that add up to 100, such as 25; 35; 22; 12; 6"),
        )),
    }
}

fn ends(row: &Row<'_>, f: &mut Findings) -> Result<Ends, Told> {
    let killed = row.number(f, "killed_below_f", &FAHRENHEIT);
    let spoiled = row.number(f, "spoiled_below_f", &FAHRENHEIT);
    let bolts_above = row.number(f, "bolts_above_c", &CELSIUS);
    let bolts_hours = row.number(f, "bolts_above_hours", &HOURS);
    let cold_days = row.number(f, "bolts_after_cold_days", &DAYS);
    let bolt_days = row.number(f, "bolt_growing_days", &DAYS);
    let early = row.number(f, "early_end_chance", &SHARE);
    let early_from = row.number(f, "early_end_from_days", &DAYS);
    let strip = row.number(f, "strip_share", &SHARE);
    Ok(Ends {
        killed_below: killed?.map(Temperature::from_f),
        spoiled_below: spoiled?.map(Temperature::from_f),
        bolts_above: bolts_above?.map(Temperature::from_c),
        bolts_above_hours: bolts_hours?,
        bolts_after_cold_days: cold_days?,
        bolt_growing_days: bolt_days?.unwrap_or(USUAL_BOLT_DAYS),
        early_end_chance: early?.unwrap_or(0.0),
        early_end_from_days: early_from?.unwrap_or(0.0),
        strip_share: strip?.unwrap_or(0.0),
    })
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

fn yields(row: &Row<'_>, pattern: Pattern, f: &mut Findings) -> Result<Yields, Told> {
    let low = row.need_number(f, "lb_per_100ft_low", &ROW_YIELD);
    let high = row.need_number(f, "lb_per_100ft_high", &ROW_YIELD);
    let bed_low = row.number(f, "bed_lb_per_sqft_low", &BED_YIELD);
    let bed_high = row.number(f, "bed_lb_per_sqft_high", &BED_YIELD);
    let in_row = row.need_number(f, "in_row_in", &INCHES);
    let between = row.need_number(f, "between_rows_in", &INCHES);
    let bed_spacing = row.number(f, "bed_spacing_in", &INCHES);
    let cv = row.number(f, "yield_cv", &SPREAD);
    let fail = row.number(f, "fail_chance", &SHARE);
    let (low, high, bed_low, bed_high) = (low?, high?, bed_low?, bed_high?);
    let crossed = bed_low.zip(bed_high).is_some_and(|(l, h)| l > h);
    if low > high || crossed {
        let problem = row
            .problem_at(
                if crossed {
                    "bed_lb_per_sqft_low"
                } else {
                    "lb_per_100ft_low"
                },
                Kind::WrongOrder,
                "the low yield is above the high one",
            )
            .hint("exchange the two");
        return Err(f.tell(problem));
    }
    // Judgement, and said so in the sources: leaves and roots vary least, heading crops cut once most.
    let usual_cv = if pattern == Pattern::Fruit { 0.4 } else { 0.3 };
    Ok(Yields {
        row_low: RowYield::from_lb_per_100ft(low),
        row_high: RowYield::from_lb_per_100ft(high),
        bed_low: bed_low.map(AreaYield::from_lb_per_sqft),
        bed_high: bed_high.map(AreaYield::from_lb_per_sqft),
        in_row: Length::from_in(in_row?),
        between_rows: Length::from_in(between?),
        bed_spacing: bed_spacing?.map(Length::from_in),
        cv: cv?.unwrap_or(usual_cv),
        fail_chance: fail?.unwrap_or(USUAL_FAIL_CHANCE),
        seed_per_100ft: row.text("seed_per_100ft"),
    })
}

fn kitchen(row: &Row<'_>, f: &mut Findings) -> Result<CropKitchen, Told> {
    let best = row.need_number(f, "best_days", &DAYS);
    let last = row.number(f, "last_days", &DAYS);
    let prep = row.number(f, "prep_min_per_lb", &MINUTES);
    let pick = row.number(f, "pick_min_per_lb", &MINUTES);
    let need = row.number(f, "need_lb_per_person_week", &POUNDS);
    let best = best?;
    let last = last?.unwrap_or(2.0 * best);
    if last < best {
        let problem = row
            .problem_at(
                "last_days",
                Kind::WrongOrder,
                "the last day comes before the best days are over",
            )
            .expected("last_days not below best_days");
        return Err(f.tell(problem));
    }
    Ok(CropKitchen {
        best_days: best,
        last_days: last,
        prep_min_per_lb: Minutes::from_min(prep?.unwrap_or(3.0)),
        pick_min_per_lb: Minutes::from_min(pick?.unwrap_or(2.0)),
        need_per_person_week: Mass::from_lb(need?.unwrap_or(0.0)),
    })
}
