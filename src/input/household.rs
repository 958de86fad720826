//! The household, from `garden.toml`: people, kitchen, what is on hand, absences, sowing days, measures, ways of showing.
//!
//! Needs and goals have their own files; what is not given gets a default that is named when used.

use super::amounts::mass_text;
use super::cells::Span;
use super::dates::Reading;
use super::keys::{Entry, Section};
use super::names::Names;
use super::problem::{Findings, Kind, Told};
use crate::garden::crop::CropId;
use crate::garden::household::{Away, Household, Measure, OnHand};
use crate::garden::units::Mass;
use crate::garden::week::DateRange;
use crate::garden::{DateOrder, Show, UnitSystem};
use chrono::Weekday;

const PEOPLE: Span = Span::above_zero("a number of people, such as 4", 1000.0);
const POUNDS: Span = Span::above_zero("pounds a week, such as 20", 5000.0);
const COUNT: Span = Span::from_zero("a number, such as 24", 100_000.0);

/// People fed when the household does not say.
const USUAL_PEOPLE: f64 = 2.0;
/// Pounds of the garden's vegetables that one person eats fresh in a week at most (judgement).
const USUAL_CEILING_LB: f64 = 5.0;

/// Weekday names; the first three letters count.
pub(crate) const WEEKDAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

/// Returns the weekday that a word names, short or in full.
pub(crate) fn weekday(word: &str) -> Option<Weekday> {
    let word = word.trim().to_lowercase();
    let known = WEEKDAYS.iter().find(|(name, _)| *name == word);
    known
        .map(|(_, day)| *day)
        .or_else(|| word.ends_with("day").then(|| word.parse().ok())?)
}

/// Reads how amounts and dates are shown and typed.
pub(crate) fn show(root: &Section<'_>, findings: &mut Findings) -> Result<Show, Told> {
    let Some(section) = root.section(findings, "show") else {
        return if root.get("show").is_some() {
            Err(Told)
        } else {
            Ok(Show::default())
        };
    };
    section.only(findings, &["units", "dates"]);
    let units = [("us", UnitSystem::Us), ("metric", UnitSystem::Metric)];
    let orders = [
        ("iso", DateOrder::Iso),
        ("mdy", DateOrder::MonthFirst),
        ("dmy", DateOrder::DayFirst),
    ];
    let units = section
        .get("units")
        .map(|e| e.word(findings, &units))
        .transpose();
    let dates = section
        .get("dates")
        .map(|e| e.word(findings, &orders))
        .transpose();
    Ok(Show {
        units: units?.unwrap_or_default(),
        dates: dates?.unwrap_or_default(),
    })
}

/// Reads the household; needs and goals are put in by their own files.
pub(crate) fn read(
    root: &Section<'_>,
    reading: Reading,
    crops: &Names<CropId>,
    findings: &mut Findings,
) -> Result<Household, Told> {
    let people = people(root, findings);
    let kitchen = super::kitchen::read(root, reading, findings);
    let on_hand = on_hand(root, findings);
    let away = away(root, reading, findings);
    let sow_days = sow_days(root, findings);
    let measures = measures(root, crops, findings);
    let (people, ceiling) = people?;
    Ok(Household {
        people,
        ceiling_per_week: ceiling,
        needs: Vec::new(),
        goals: None,
        kitchen: kitchen?,
        on_hand: on_hand?,
        away: away?,
        sow_days: sow_days?,
        measures: measures?,
    })
}

fn people(root: &Section<'_>, f: &mut Findings) -> Result<(f64, Mass), Told> {
    let section = root.get("household").map(|e| e.section(f)).transpose()?;
    let (people, ceiling) = match &section {
        Some(section) => {
            section.only(f, &["people", "ceiling_lb_per_week"]);
            let people = section.number(f, "people", &PEOPLE);
            let ceiling = section.number(f, "ceiling_lb_per_week", &POUNDS);
            (people?, ceiling?)
        }
        None => (None, None),
    };
    if people.is_none() {
        f.assume("The number of people is not given; two were taken.");
    }
    let people = people.unwrap_or(USUAL_PEOPLE);
    if ceiling.is_none() {
        f.assume("How much the household eats fresh in a week at most is not given; 5 lb a person were taken.");
    }
    Ok((
        people,
        Mass::from_lb(ceiling.unwrap_or(USUAL_CEILING_LB * people)),
    ))
}

fn on_hand(root: &Section<'_>, f: &mut Findings) -> Result<OnHand, Told> {
    let Some(entry) = root.get("on_hand") else {
        return Ok(OnHand::default());
    };
    let section = entry.section(f)?;
    section.only(f, &["jars", "lids", "bags"]);
    let mut count = |key| section.number(f, key, &COUNT);
    let (jars, lids, bags) = (count("jars"), count("lids"), count("bags"));
    Ok(OnHand {
        jars: jars?,
        lids: lids?,
        bags: bags?,
    })
}

fn away(root: &Section<'_>, reading: Reading, f: &mut Findings) -> Result<Vec<Away>, Told> {
    let Some(entry) = root.get("away") else {
        return Ok(Vec::new());
    };
    // One absence may be written [away], several [[away]].
    let items = if entry.is_list() {
        entry.items(f)?
    } else {
        vec![entry]
    };
    let all: Vec<_> = items
        .iter()
        .map(|item| {
            let section = item.section(f)?;
            section.only(f, &["from", "until", "picked_by"]);
            let days = stretch(&section, reading, f);
            let who = [("nobody", false), ("neighbour", true), ("neighbor", true)];
            let picks = section
                .get("picked_by")
                .map(|e| e.word(f, &who))
                .transpose();
            Ok(Away {
                days: days?,
                neighbour_picks: picks?.unwrap_or(false),
            })
        })
        .collect();
    all.into_iter().collect()
}

/// Reads `from` and `until`, both needed and in order.
pub(crate) fn stretch(
    section: &Section<'_>,
    reading: Reading,
    f: &mut Findings,
) -> Result<DateRange, Told> {
    let mut day = |key: &str| match section.get(key) {
        Some(entry) => entry.date(f, reading),
        None => Err(f.tell(
            section
                .problem(Kind::MissingKey, format!("the day {key} is not given"))
                .column(key)
                .expected("from and until, such as \"2026-08-15\""),
        )),
    };
    let (from, until) = (day("from"), day("until"));
    let (from, until) = (from?, until?);
    if until < from {
        let entry = section.get("until").ok_or(Told)?;
        let problem = entry.problem(
            Kind::WrongOrder,
            format!("the stretch ends on {until}, before it begins on {from}"),
        );
        return Err(f.tell(problem.hint("exchange the two dates")));
    }
    Ok(DateRange {
        from: Some(from),
        until: Some(until),
    })
}

fn sow_days(root: &Section<'_>, f: &mut Findings) -> Result<Vec<Weekday>, Told> {
    let Some(entry) = root.get("sowing") else {
        return Ok(Vec::new());
    };
    let section = entry.section(f)?;
    section.only(f, &["sow_days"]);
    let Some(days) = section.get("sow_days") else {
        return Ok(Vec::new());
    };
    let days: Vec<_> = days
        .items(f)?
        .iter()
        .map(|item| {
            let word = item.text(f)?;
            weekday(&word).map_or_else(|| item.word(f, &WEEKDAYS), Ok)
        })
        .collect();
    days.into_iter().collect()
}

fn measures(
    root: &Section<'_>,
    crops: &Names<CropId>,
    f: &mut Findings,
) -> Result<Vec<Measure>, Told> {
    let Some(entry) = root.get("measures") else {
        return Ok(Vec::new());
    };
    let mut measures = Vec::new();
    let mut sound = true;
    for item in entry.section(f)?.entries() {
        match item.as_section() {
            None => match mass(&item, f) {
                Ok(mass) => measures.push(Measure {
                    name: item.key.clone(),
                    crop: None,
                    mass,
                }),
                Err(Told) => sound = false,
            },
            Some(section) => {
                for one in section.entries() {
                    let crop = crops.find(&one.key).ok_or_else(|| {
                        let problem = one.key_problem(
                            Kind::UnknownCrop,
                            format!("`{}` is not in the crop table", one.key),
                        );
                        f.tell(problem.maybe_hint(crops.hint(&one.key)))
                    });
                    match (crop, mass(&one, f)) {
                        (Ok(crop), Ok(mass)) => measures.push(Measure {
                            name: item.key.clone(),
                            crop: Some(crop),
                            mass,
                        }),
                        _ => sound = false,
                    }
                }
            }
        }
    }
    if sound { Ok(measures) } else { Err(Told) }
}

fn mass(entry: &Entry<'_>, f: &mut Findings) -> Result<Mass, Told> {
    let text = entry.text(f)?;
    mass_text(&text)
        .filter(|m| m.kg() > 0.0 && m.kg() < 1000.0)
        .ok_or_else(|| {
            let problem = entry.problem(
                Kind::BadAmount,
                format!("`{}` is not a weight", super::number::short(&text)),
            );
            f.tell(problem.expected("a weight with its unit, such as \"1.5 lb\""))
        })
}
