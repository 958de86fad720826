//! The figures of one row of the crop table, group by group, with their ranges and what they default to.
//!
//! Where the built-in numbers come from is `data/sources.csv`; how they make a season is the season's business.

use super::cells::{DAYS, SHARE, Span};
use super::problem::{Findings, Kind, Told};
use super::rows::Row;
use crate::garden::crop::{Clock, CropKitchen, Ends, Growth, Harvest, Pattern, Timing, Yields};
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

/// Reads days to maturity and what drives them.
pub(crate) fn timing(row: &Row<'_>, f: &mut Findings) -> Result<Timing, Told> {
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

/// Reads the response to temperature and day length, and coming up.
pub(crate) fn growth(row: &Row<'_>, f: &mut Findings) -> Result<Growth, Told> {
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

/// Reads how and how long it is picked.
pub(crate) fn harvest(row: &Row<'_>, f: &mut Findings) -> Result<Harvest, Told> {
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

/// Reads what ends it.
pub(crate) fn ends(row: &Row<'_>, f: &mut Findings) -> Result<Ends, Told> {
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

/// Reads amounts and spacing.
pub(crate) fn yields(row: &Row<'_>, pattern: Pattern, f: &mut Findings) -> Result<Yields, Told> {
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

/// Reads how long it keeps and the work it makes.
pub(crate) fn kitchen(row: &Row<'_>, f: &mut Findings) -> Result<CropKitchen, Told> {
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
