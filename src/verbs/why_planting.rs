//! The figures behind one planting: growth week by week, yield term by term, ends, where the food goes, sources.

use super::setting::Setting;
use super::{Failure, kitchen, said};
use crate::garden::Garden;
use crate::garden::crop::{Clock, Crop, Pattern};
use crate::garden::planting::{Planting, PlantingId, Size};
use crate::garden::units::{Length, Mass, Temperature};
use crate::kitchen::draw::Went;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use crate::season::draw::EndCause;
use crate::season::reasons::{self, Growth, HeldBy};
use crate::season::windows::{Window, windows};
use crate::season::yields::{Basis, expected};

/// Columns of the crop table whose sources are named.
const CITED: [(&str, &str); 9] = [
    ("days_sown", "days from sowing"),
    ("days_set_out", "days from setting out"),
    ("base_c", "growth begins at"),
    ("full_c", "full growth from"),
    ("ceiling_c", "heat slows from"),
    ("lb_per_100ft_low", "yield of a row, low"),
    ("lb_per_100ft_high", "yield of a row, high"),
    ("harvest_days", "length of the harvest"),
    ("killed_below_f", "killed at"),
];

/// Lays out everything known of one planting.
///
/// # Errors
/// If the planting was over before the forecast begins.
pub(super) fn report(setting: &Setting, id: PlantingId) -> Result<Report, Failure> {
    let garden = &setting.garden;
    let planting = garden.planting(id);
    let crop = garden.crop(planting.crop);
    let lived = kitchen::live(setting, |_| (), |(), _, _, _| ());
    let found = windows(&lived.plan, &setting.draws);
    let window = found.iter().find(|w| w.planting == id && !w.over);
    let growth = reasons::growth(&lived.plan, id);
    let (Some(window), Some(growth)) = (window, growth) else {
        return Err(Failure::Usage(format!(
            "`{}` is over: the forecast from {} on does not reach back to it",
            text::visible(&planting.name),
            dates::with_year(setting.as_of)
        )));
    };
    let mut report = Report::default();
    report.heading(format!("Why: {}, {}", planting.name, crop.name));
    report.text(begins(garden, planting, crop, &growth));
    report.table(by_week(&growth));
    report.text(ready(window, &growth));
    report.heading("How much");
    report.points(how_much(setting, planting, crop, window));
    report.heading("What ends it");
    report.points(ends(setting, crop, window));
    report.heading(format!("Where the season's {} goes", crop.name));
    let went = lived.found.crops.iter().find(|c| c.crop == planting.crop);
    report.points(went.map_or_else(Vec::new, |c| goes(setting, &c.kg)));
    report.table(rests_on(garden, crop));
    report.points(said::rests_on(garden, &lived.plan, &[]));
    report.facts = facts(&growth);
    Ok(report)
}

fn begins(garden: &Garden, planting: &Planting, crop: &Crop, growth: &Growth) -> String {
    let bed = &garden.bed(planting.bed).name;
    let from = match (planting.sown, planting.set_out) {
        (_, Some(day)) => format!("Set out {} in {bed}", dates::with_year(day)),
        (Some(day), None) => format!("Sown {} in {bed}", dates::with_year(day)),
        (None, None) => format!("Grows in {bed}"),
    };
    let up = growth.up.map_or_else(String::new, |day| {
        format!(" It comes up about {} in usual weather.", dates::short(day))
    });
    let need = rounding::decimals(growth.needed, 0);
    let counts = if planting.set_out.is_some() {
        "setting out"
    } else {
        "sowing"
    };
    let clock = match crop.timing.clock {
        Clock::Growth => format!(
            "It needs {need} growing days from {counts}; a day counts whole when it is as warm and as long as the crop \
             can use, and in part otherwise."
        ),
        Clock::Calendar => {
            format!("It takes {need} calendar days from {counts}, whatever the weather.")
        }
    };
    format!("{from}.{up} {clock}")
}

fn by_week(growth: &Growth) -> Table {
    let mut table = Table::new(vec![
        Column::text("week", "Week of"),
        Column::figure("mean", "Usual mean"),
        Column::figure("daylight_hours", "Daylight, h"),
        Column::figure("growing_days", "Growing days"),
        Column::figure("in_all", "In all"),
        Column::text("slowed_by", "Slowed by"),
    ]);
    for week in &growth.weeks {
        table.push(vec![
            Cell::Date(week.week.monday()),
            Cell::Temperature(Temperature::from_c(week.mean_c)),
            Cell::Number(week.daylight_hours, 1),
            Cell::Number(week.growing_days, 1),
            Cell::Number(week.in_all, 0),
            Cell::text(slowed(week.held_by)),
        ]);
    }
    table
}

const fn slowed(by: HeldBy) -> &'static str {
    match by {
        HeldBy::Nothing => "",
        HeldBy::Cold => "cold",
        HeldBy::ShortDays => "short days",
        HeldBy::Heat => "heat",
    }
}

fn ready(window: &Window, growth: &Growth) -> String {
    let usual = growth.ready.map_or_else(
        || "In usual weather it is not ready before it is given up.".to_owned(),
        |day| {
            format!(
                "In usual weather the sum is reached on {}.",
                dates::day(day)
            )
        },
    );
    let Some((first, last)) = window.first.zip(window.last) else {
        return format!("{usual} In no drawn season is anything picked.");
    };
    format!(
        "{usual} Over the drawn seasons, each with its own warm and cold days and a variety that is not quite on time, \
         the first picking is {} in 8 seasons of 10, in the middle {}; the last {}, in the middle {}.",
        dates::range(first.p10, first.p90),
        dates::day(first.p50),
        dates::range(last.p10, last.p90),
        dates::day(last.p50),
    )
}

fn how_much(setting: &Setting, planting: &Planting, crop: &Crop, window: &Window) -> Vec<String> {
    let units = setting.garden.show.units;
    let mass = |kg: f64| rounding::mass(Mass::from_kg(kg), units);
    let bed = setting.garden.bed(planting.bed);
    let (expected_mass, basis) = expected(planting, crop, bed);
    let y = &crop.yields;
    let hundred = Length::from_ft(100.0);
    let row = format!(
        "{} per 100 ft of row",
        rounding::mass_range(y.row_low.over(hundred), y.row_high.over(hundred), units)
    );
    let rests = match basis {
        Basis::Row => format!("the middle of {row}"),
        Basis::Bed => "the middle of the yield of a raised bed".to_owned(),
        Basis::RowOverGround => {
            format!("the middle of {row}, spread over the bed by the distance of rows")
        }
        Basis::Plants => format!("the middle of {row}, a plant taking its place in the row"),
    };
    let amount = match planting.size {
        Size::Row(length) => format!("{} ft of row", rounding::decimals(length.ft(), 0)),
        Size::Area(area) => format!("{} sq ft", rounding::decimals(area.sqft(), 0)),
        Size::Plants(plants) => format!("{} plants", rounding::decimals(plants, 0)),
    };
    let times = |factor: f64, why: &str| {
        let other = (factor - 1.0).abs() > 1e-9;
        let words = || format!(", times {} {why}", rounding::decimals(factor, 2));
        other.then(words).unwrap_or_default()
    };
    let factor = times(planting.yield_factor, "as your list says")
        + &times(
            bed.yield_factor,
            &format!("for bed {}, as beds.csv says", bed.name),
        );
    let mut points = vec![
        format!(
            "{amount} at {rests}{factor}: {} in an ordinary season.",
            rounding::mass(expected_mass, units)
        ),
        format!(
            "Seasons differ by about {} % up or down, three fifths of it for all {} alike; 8 seasons in 10 give {}.",
            rounding::decimals(100.0 * y.cv, 0),
            crop.name,
            rounding::mass_range(
                Mass::from_kg(window.kg.p10),
                Mass::from_kg(window.kg.p90),
                units
            )
        ),
    ];
    if y.fail_chance > 0.0 {
        points.push(format!(
            "It fails from the beginning in {}.",
            rounding::seasons_in_ten(y.fail_chance)
        ));
    }
    points.push(picked(crop));
    if window.kg_lost_all() > 0.1 {
        points.push(format!(
            "Of {} that the season could give on average, {} never become ready.",
            mass(window.kg_possible),
            mass(window.kg_lost_all())
        ));
    }
    points
}

fn picked(crop: &Crop) -> String {
    let harvest = &crop.harvest;
    let days = |n: f64| rounding::decimals(n, 0);
    match harvest.pattern {
        Pattern::Once | Pattern::Root => format!(
            "Picked once ripe; it stands ready for {} days.",
            days(harvest.holds_days)
        ),
        Pattern::Leaf | Pattern::Fruit => {
            let shape: Vec<String> = (harvest.shape.iter())
                .map(|share| format!("{} %", rounding::decimals(100.0 * share, 0)))
                .collect();
            format!(
                "Picked every {} days over {} {}, in equal parts of which it gives {}.",
                days(harvest.pick_every_days),
                days(harvest.harvest_days),
                match crop.timing.clock {
                    Clock::Growth => "growing days",
                    Clock::Calendar => "days",
                },
                text::list(&shape)
            )
        }
    }
}

fn ends(setting: &Setting, crop: &Crop, window: &Window) -> Vec<String> {
    let units = setting.garden.show.units;
    let mut causes: Vec<(f64, EndCause)> = (EndCause::ALL.iter())
        .map(|&cause| (window.ended_by(cause), cause))
        .filter(|(share, _)| *share >= 0.005)
        .collect();
    causes.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut points: Vec<String> = (causes.into_iter())
        .map(|(share, cause)| {
            let lost = Mass::from_kg(window.kg_lost[cause as usize]);
            let losing = if lost.lb() >= 0.25 && cause != EndCause::Finish {
                format!(
                    ", {} lost on average over all seasons",
                    rounding::mass(lost, units)
                )
            } else {
                String::new()
            };
            format!(
                "{}: {}{losing}.",
                said::cause(cause),
                rounding::seasons_in_ten(share)
            )
        })
        .collect();
    if let Some(killed) = crop.ends.killed_below {
        points.push(format!(
            "Unprotected it dies at {} °F ({} °C).",
            rounding::decimals(killed.f(), 0),
            rounding::decimals(killed.c(), 0)
        ));
    }
    points
}

/// Where the crop's food goes, all its plantings together, mean over the seasons.
fn goes(setting: &Setting, kg: &[f64; Went::COUNT]) -> Vec<String> {
    let units = setting.garden.show.units;
    [
        (Went::Picked, "picked and brought in"),
        (Went::Fresh, "eaten fresh"),
        (Went::PutBy, "put by"),
        (Went::Given, "to give away"),
        (Went::Wasted, "spoiled in the kitchen"),
        (Went::LostStanding, "lost in the bed after it was ready"),
        (Went::LostAway, "lost because nobody was there to pick"),
    ]
    .into_iter()
    .map(|(went, words)| (Mass::from_kg(kg[went as usize]), words))
    .filter(|(mass, _)| mass.lb() >= 0.125)
    .map(|(mass, words)| format!("{} {words}", rounding::mass(mass, units)))
    .collect()
}

/// Figures of the crop's row with what they rest on.
fn rests_on(garden: &Garden, crop: &Crop) -> Table {
    let mut table = Table::new(vec![
        Column::text("figure", "Figure"),
        Column::figure("value", "Is"),
        Column::text("source", "Rests on"),
    ]);
    let crops = &garden.tables.crops;
    let row = crops.row(&crop.name);
    for (column, means) in CITED {
        let (Some(row), Some(at)) = (row, crops.columns.iter().position(|c| c == column)) else {
            continue;
        };
        let value = row.cells.get(at).map_or("", String::as_str);
        if value.is_empty() {
            continue;
        }
        let own = row.own.get(at).copied().unwrap_or(false);
        let source = if own {
            "your own table of crops"
        } else {
            (garden.tables.sources.iter())
                .find(|s| s.table == crops.name && s.row == crop.name && s.column == column)
                .map_or("", |s| s.source.as_str())
        };
        table.push(vec![
            Cell::text(means),
            Cell::text(value),
            Cell::text(source),
        ]);
    }
    table.note(format!(
        "All figures of the crop: putby tables crops \"{}\"",
        crop.name
    ));
    table
}

fn facts(growth: &Growth) -> Facts {
    let mut facts = Facts::new(&[
        "week",
        "mean_c",
        "daylight_hours",
        "growing_days",
        "growing_days_in_all",
        "growing_days_needed",
        "slowed_by",
    ]);
    for week in &growth.weeks {
        let slow = slowed(week.held_by).replace(' ', "_");
        facts.push(vec![
            Cell::Week(week.week),
            Cell::Temperature(Temperature::from_c(week.mean_c)),
            Cell::Number(week.daylight_hours, 2),
            Cell::Number(week.growing_days, 2),
            Cell::Number(week.in_all, 2),
            Cell::Number(growth.needed, 1),
            if slow.is_empty() {
                Cell::Empty
            } else {
                Cell::text(slow)
            },
        ]);
    }
    facts
}
