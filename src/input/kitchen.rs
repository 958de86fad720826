//! The kitchen, from `[kitchen]` of `garden.toml`: its hours, cooks and equipment.

use super::cells::Span;
use super::dates::Reading;
use super::household::{WEEKDAYS, stretch, weekday};
use super::keys::{Entry, Section};
use super::problem::{Findings, Kind, Told};
use crate::garden::household::Kitchen;
use crate::garden::units::{Mass, Minutes, Volume};
use crate::garden::week::DateRange;
use chrono::NaiveDate;

const HOURS: Span = Span::between("hours from 0 to 24, such as 1.5", 0.0, 24.0);
const COOKS: Span = Span::between("a number of cooks, such as 2", 0.5, 20.0);
const COUNT: Span = Span::from_zero("a number, such as 2", 1000.0);
const JARS: Span = Span::between("a number of quart jars in one load, such as 7", 1.0, 50.0);
const QUARTS: Span = Span::above_zero("quarts of usable water, such as 8", 200.0);
const POUNDS: Span = Span::above_zero("pounds on one tray, such as 1.5", 50.0);
const FACTOR: Span = Span::between("a factor from 0.2 to 5, such as 1.2", 0.2, 5.0);
const CUBIC_FEET: Span = Span::from_zero("cubic feet, such as 7", 200.0);

const KEYS: [&str; 15] = [
    "hours",
    "closed",
    "extra",
    "hands",
    "pots",
    "pot_quarts",
    "canner_jars",
    "trays",
    "lb_per_tray",
    "dryer_trays",
    "crocks",
    "freezer_ft3",
    "freezer_free_for_garden_ft3",
    "count_picking",
    "minutes_factor",
];

/// Reads the kitchen; what is not given gets a usual value, which is said.
pub(crate) fn read(
    root: &Section<'_>,
    reading: Reading,
    f: &mut Findings,
) -> Result<Kitchen, Told> {
    let Some(entry) = root.get("kitchen") else {
        f.assume("The kitchen is not described; four hours on Saturdays, one cook, one pot of 8 quarts, two trays, one crock and no dryer were taken.");
        return Ok(usual());
    };
    let section = entry.section(f)?;
    section.only(f, &KEYS);
    let minutes = hours(&section, f);
    let closed = section
        .get("closed")
        .map_or(Ok(Vec::new()), |e| closed(&e, reading, f));
    let extra = section
        .get("extra")
        .map_or(Ok(Vec::new()), |e| extra(&e, reading, f));
    let hands = section
        .get("hands")
        .map(|e| hands(&e, reading, f))
        .transpose();
    let pots = section.number(f, "pots", &COUNT);
    let pot = section.number(f, "pot_quarts", &QUARTS);
    let jars = section.number(f, "canner_jars", &JARS);
    let trays = section.number(f, "trays", &COUNT);
    let lb = section.number(f, "lb_per_tray", &POUNDS);
    let dryer = section.number(f, "dryer_trays", &COUNT);
    let crocks = section.number(f, "crocks", &COUNT);
    let freezer = section.number(f, "freezer_ft3", &CUBIC_FEET);
    let free = section.number(f, "freezer_free_for_garden_ft3", &CUBIC_FEET);
    let factor = section.number(f, "minutes_factor", &FACTOR);
    let picking = section.get("count_picking").map(|e| e.yes(f)).transpose();
    let (freezer, free) = (freezer?, free?);
    if let (Some(whole), Some(part)) = (freezer, free)
        && part > whole
    {
        let free = section.get("freezer_free_for_garden_ft3").ok_or(Told)?;
        let problem = free
            .problem(
                Kind::WrongOrder,
                format!("{part} ft³ for the garden are more than the freezer's {whole} ft³"),
            )
            .expected("no more than freezer_ft3");
        return Err(f.tell(problem));
    }
    let base = usual();
    let (hands, hands_on) = hands?.unwrap_or((base.hands, Vec::new()));
    let (pots, pot, jars, trays) = (pots?, pot?, jars?, trays?);
    if pots.is_none() || pot.is_none() {
        f.assume("Pots are not all described; one pot with 8 quarts of usable water was taken where nothing is said.");
    }
    if trays.is_none() {
        f.assume("Freezer trays are not given; two were taken.");
    }
    Ok(Kitchen {
        minutes: minutes?,
        closed: closed?,
        extra: extra?,
        hands_on,
        hands,
        pots: pots.unwrap_or(base.pots),
        pot_volume: pot.map_or(base.pot_volume, Volume::from_qt),
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 1 and 50"
        )]
        canner_jars: jars.map_or(base.canner_jars, |n| n.round() as u32),
        trays: trays.unwrap_or(base.trays),
        mass_per_tray: lb?.map_or(base.mass_per_tray, Mass::from_lb),
        dryer_trays: dryer?.unwrap_or(base.dryer_trays),
        crocks: crocks?.unwrap_or(base.crocks),
        freezer: freezer.map(Volume::from_ft3),
        freezer_free: free.map(Volume::from_ft3),
        count_picking: picking?.unwrap_or(false),
        minutes_factor: factor?.unwrap_or(1.0),
    })
}

/// A small kitchen with one free half-day (common practice, no source).
fn usual() -> Kitchen {
    let mut minutes = [Minutes::ZERO; 7];
    minutes[5] = Minutes::from_hours(4.0);
    Kitchen {
        minutes,
        closed: Vec::new(),
        extra: Vec::new(),
        hands_on: Vec::new(),
        hands: 1.0,
        pots: 1.0,
        pot_volume: Volume::from_qt(8.0),
        canner_jars: 7,
        trays: 2.0,
        mass_per_tray: Mass::from_lb(1.5),
        dryer_trays: 0.0,
        crocks: 1.0,
        freezer: None,
        freezer_free: None,
        count_picking: false,
        minutes_factor: 1.0,
    }
}

fn hours(kitchen: &Section<'_>, f: &mut Findings) -> Result<[Minutes; 7], Told> {
    let Some(entry) = kitchen.get("hours") else {
        f.assume("Kitchen hours are not given; four hours on Saturdays were taken.");
        return Ok(usual().minutes);
    };
    let section = entry.section(f)?;
    let mut minutes = [Minutes::ZERO; 7];
    let mut sound = true;
    for day in section.entries() {
        let Some(weekday) = weekday(&day.key) else {
            sound = false;
            let hint = super::rows::did_you_mean(&day.key, WEEKDAYS.iter().map(|(name, _)| *name));
            f.tell(
                day.key_problem(
                    Kind::UnknownKey,
                    format!("`{}` is not a day of the week", day.key),
                )
                .expected("mon, tue, wed, thu, fri, sat or sun")
                .maybe_hint(hint),
            );
            continue;
        };
        match day.number(f, &HOURS) {
            Ok(hours) => {
                minutes[weekday.num_days_from_monday() as usize] = Minutes::from_hours(hours)
            }
            Err(Told) => sound = false,
        }
    }
    if sound { Ok(minutes) } else { Err(Told) }
}

/// Reads a list of dates and of tables with from and until.
fn closed(entry: &Entry<'_>, reading: Reading, f: &mut Findings) -> Result<Vec<DateRange>, Told> {
    let all: Vec<_> = entry
        .items(f)?
        .iter()
        .map(|item| match item.as_section() {
            Some(section) => {
                section.only(f, &["from", "until"]);
                stretch(&section, reading, f)
            }
            None => item.date(f, reading).map(|day| DateRange {
                from: Some(day),
                until: Some(day),
            }),
        })
        .collect();
    all.into_iter().collect()
}

/// Reads `{ "2026-08-15" = 3 }`.
fn extra(
    entry: &Entry<'_>,
    reading: Reading,
    f: &mut Findings,
) -> Result<Vec<(NaiveDate, Minutes)>, Told> {
    let section = entry.section(f)?;
    let all: Vec<_> = section
        .entries()
        .iter()
        .map(|item| {
            let day = super::dates::parse(&item.key, reading).map_err(|fault| {
                f.tell(
                    item.key_problem(fault.kind, fault.message)
                        .expected(super::dates::EXPECTED)
                        .maybe_hint(fault.hint),
                )
            });
            let hours = item.number(f, &HOURS);
            Ok((day?, Minutes::from_hours(hours?)))
        })
        .collect();
    all.into_iter().collect()
}

type Hands = (f64, Vec<(DateRange, f64)>);

/// Reads a number of cooks, or a list of stretches with their cooks; on other days there is one.
fn hands(entry: &Entry<'_>, reading: Reading, f: &mut Findings) -> Result<Hands, Told> {
    if !entry.is_list() {
        return Ok((entry.number(f, &COOKS)?, Vec::new()));
    }
    let all: Vec<_> = entry
        .items(f)?
        .iter()
        .map(|item| {
            let section = item.section(f)?;
            section.only(f, &["from", "until", "cooks"]);
            let days = stretch(&section, reading, f);
            let cooks = match section.get("cooks") {
                Some(cooks) => cooks.number(f, &COOKS),
                None => Err(f.tell(
                    section
                        .problem(Kind::MissingKey, "the number of cooks is not given")
                        .column("cooks")
                        .expected(COOKS.what),
                )),
            };
            Ok((days?, cooks?))
        })
        .collect();
    Ok((1.0, all.into_iter().collect::<Result<_, Told>>()?))
}
