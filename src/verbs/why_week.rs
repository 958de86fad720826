//! The figures behind one week: what is ready and where it goes, what the hours go into, its sessions term by term.

use super::setting::Setting;
use super::{Failure, kitchen, said, sessions, sessions_facts};
use crate::garden::units::{Mass, Minutes};
use crate::garden::week::Week;
use crate::kitchen::context::Context;
use crate::kitchen::draw::{KitchenDraw, Went};
use crate::kitchen::forecast::{CropWeek, KitchenWeek};
use crate::kitchen::minutes::{self, Item, KITCHEN_SETUP_MIN};
use crate::kitchen::plan::card::Card;
use crate::kitchen::plan::dated::DatedWork;
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding};
use crate::season::forecast::{self, By, Whose};
use crate::season::plan::Plan;
use chrono::{Days, NaiveDate};

/// Amounts and hours below these are not worth a row.
const LEAST_LB: f64 = 0.125;
const LEAST_HOURS: f64 = 0.04;

/// Lays out everything known of the week of a day.
///
/// # Errors
/// If the forecast does not reach that week, or the plan of its sessions fails its checks.
pub(super) fn report(setting: &Setting, day: NaiveDate) -> Result<Report, Failure> {
    let week = Week::of(day);
    let lived = kitchen::live(
        setting,
        |ctx| vec![0.0; ctx.products.len()],
        |sums: &mut Vec<f64>, ctx, _, draw| add_minutes(sums, ctx, draw, week),
    );
    let Some(found) = lived.found.weeks.iter().find(|w| w.week == week) else {
        return Err(Failure::Usage(format!(
            "the forecast as of {} does not reach the {}",
            dates::with_year(setting.as_of),
            dates::week_of(week)
        )));
    };
    let names = lived.ctx.products.iter().map(|p| p.name.clone());
    let mut minutes: Vec<(String, f64)> = names.map(|name| (name, 0.0)).collect();
    for chunk in &lived.beside {
        for ((_, sum), part) in minutes.iter_mut().zip(chunk) {
            *sum += part / f64::from(setting.draws.draws);
        }
    }
    let mut report = Report::default();
    report.heading(format!("Why: {}", dates::week_of(week)));
    report.text(hours(setting, found));
    report.table(ready(setting, &lived.plan, week));
    report.table(goes(setting, &lived.found.crop_weeks, week));
    report.table(hours_go_into(found, &minutes));
    for (card, work) in planned(setting, week)? {
        report.heading(format!("Session of {}", dates::day(card.date)));
        report.text(length(&card));
        report.table(terms(setting, &work));
    }
    report.points(said::rests_on(&setting.garden, &lived.plan, &[]));
    report.facts = facts(setting, &lived.found.crop_weeks, week);
    Ok(report)
}

/// Adds the minutes that a drawn season gives to each product in the week.
fn add_minutes(sums: &mut [f64], ctx: &Context, draw: &KitchenDraw, week: Week) {
    for task in &draw.tasks {
        let day = draw.sessions[usize::from(task.session)].day;
        if Week::of(ctx.calendar.date(day)) == week {
            sums[usize::from(task.product)] += task.minutes;
        }
    }
}

fn hours(setting: &Setting, week: &KitchenWeek) -> String {
    let open: Vec<String> = (0..7)
        .map(|k| week.week.monday() + Days::new(k))
        .filter(|day| *day >= setting.as_of)
        .map(|day| (day, setting.garden.household.kitchen.minutes_on(day)))
        .filter(|(_, minutes)| minutes.min_value() > 0.0)
        .map(|(day, minutes)| format!("{} {}", day.format("%a"), rounding::hours(minutes)))
        .collect();
    let open = if open.is_empty() {
        "the kitchen is open on no day".to_owned()
    } else {
        format!("the kitchen is open {}", open.join(", "))
    };
    let h = Minutes::from_hours;
    format!(
        "Needed {} in the middle, {} in 8 seasons of 10; {open}. Too much in {}, by {} on average over all seasons.",
        rounding::hours(h(week.hours.p50)),
        rounding::hours_range(h(week.hours.p10), h(week.hours.p90)),
        rounding::seasons_in_ten(week.chance_over),
        rounding::hours(h(week.mean_hours_over)),
    )
}

/// What each planting has ready in the week.
fn ready(setting: &Setting, plan: &Plan, week: Week) -> Table {
    let garden = &setting.garden;
    let found = forecast::forecast(plan, &setting.draws, By::Planting);
    let mut table = Table::new(vec![
        Column::text("planting", "Ready from"),
        Column::text("bed", "Bed"),
        Column::text("range", "8 seasons in 10 between"),
        Column::measured("kg_mean", "On average"),
    ]);
    let Some(at) = found.weeks.iter().position(|w| *w == week) else {
        return table;
    };
    let mut rows: Vec<_> = found
        .rows
        .iter()
        .filter(|row| Mass::from_kg(row.weeks[at].mean).lb() >= LEAST_LB)
        .collect();
    rows.sort_by(|a, b| b.weeks[at].mean.total_cmp(&a.weeks[at].mean));
    for row in rows {
        let spread = &row.weeks[at];
        let (id, food) = match row.whose {
            Whose::Planting(id) => (id, None),
            Whose::Second(id) => {
                let second = garden.crop(garden.planting(id).crop).second.as_ref();
                (id, second.map(|s| garden.crop(s.crop).name.clone()))
            }
            Whose::Crop(_) | Whose::Garden => continue,
        };
        let planting = garden.planting(id);
        let name = food.map_or_else(
            || planting.name.clone(),
            |food| format!("{} ({food})", planting.name),
        );
        table.push(vec![
            Cell::text(name),
            Cell::text(garden.bed(planting.bed).name.clone()),
            Cell::text(rounding::mass_range(
                Mass::from_kg(spread.p10),
                Mass::from_kg(spread.p90),
                garden.show.units,
            )),
            Cell::Mass(Mass::from_kg(spread.mean)),
        ]);
    }
    table.note("Ready: ripe in that week; what can stand may be picked later.");
    table
}

/// The crops of the week with their mean amounts.
fn of_week(weeks: &[CropWeek], week: Week) -> Vec<&CropWeek> {
    let mut rows: Vec<&CropWeek> = weeks
        .iter()
        .filter(|w| w.week == week)
        .filter(|w| Mass::from_kg(w.kg.iter().sum()).lb() >= LEAST_LB)
        .collect();
    rows.sort_by(|a, b| b.kg[Went::Picked as usize].total_cmp(&a.kg[Went::Picked as usize]));
    rows
}

const WENT: [(Went, &str, &str); 7] = [
    (Went::Picked, "kg_picked", "Picked"),
    (Went::Fresh, "kg_fresh", "Fresh"),
    (Went::PutBy, "kg_put_by", "Put by"),
    (Went::Given, "kg_to_give", "To give"),
    (Went::Wasted, "kg_wasted", "Spoiled"),
    (Went::LostStanding, "kg_lost_standing", "Lost in bed"),
    (Went::LostAway, "kg_lost_away", "Nobody there"),
];

fn goes(setting: &Setting, weeks: &[CropWeek], week: Week) -> Table {
    let rows = of_week(weeks, week);
    let used: Vec<_> = WENT
        .into_iter()
        .filter(|(went, ..)| {
            let of = |r: &&CropWeek| Mass::from_kg(r.kg[*went as usize]).lb() >= LEAST_LB;
            rows.iter().any(of)
        })
        .collect();
    let mut columns = vec![Column::text("crop", "Where it goes")];
    columns.extend(
        used.iter()
            .map(|(_, key, title)| Column::measured(*key, *title)),
    );
    let mut table = Table::new(columns);
    for row in rows {
        let mut cells = vec![Cell::text(setting.garden.crop(row.crop).name.clone())];
        cells.extend(used.iter().map(|(went, ..)| {
            let mass = Mass::from_kg(row.kg[*went as usize]);
            if mass.lb() >= LEAST_LB {
                Cell::Mass(mass)
            } else {
                Cell::Empty
            }
        }));
        table.push(cells);
    }
    table.note("Means over all seasons. Put by in a week may have been picked in the week before.");
    table
}

fn hours_go_into(week: &KitchenWeek, minutes: &[(String, f64)]) -> Table {
    let mut table = Table::new(vec![
        Column::text("product", "The hours go into"),
        Column::measured("hours_mean", "On average"),
        Column::text("driver", "Where it is too much"),
    ]);
    let mut rows: Vec<(&String, f64)> = (minutes.iter())
        .map(|(name, minutes)| (name, minutes / 60.0))
        .filter(|(_, hours)| *hours >= LEAST_HOURS)
        .collect();
    rows.sort_by(|a, b| b.1.total_cmp(&a.1));
    for (name, hours) in rows {
        let driver = week.drivers.iter().find(|d| d.name == *name);
        table.push(vec![
            Cell::text(name.clone()),
            Cell::Hours(Minutes::from_hours(hours)),
            Cell::maybe(driver, |d| {
                Cell::text(format!(
                    "{} % of the hours",
                    rounding::decimals(100.0 * d.share, 0)
                ))
            }),
        ]);
    }
    table.note("Shares of set-up and clean-up are in.");
    table
}

/// Sessions planned in the week, with their work in the order in which it is done.
fn planned(setting: &Setting, week: Week) -> Result<Vec<(Card, Vec<DatedWork>)>, Failure> {
    let ahead = (week.sunday() - setting.as_of).num_days().div_euclid(7) + 1;
    let Some(weeks) = u16::try_from(ahead).ok().filter(|w| (1..=52).contains(w)) else {
        return Ok(Vec::new());
    };
    let weeks = weeks.max(sessions::WEEKS);
    let found = sessions::days(setting, weeks, sessions::SEASONS_IN_TEN)?;
    Ok(found
        .cards
        .into_iter()
        .zip(found.work)
        .filter(|(card, _)| Week::of(card.date) == week)
        .map(|(card, work)| {
            let order = sessions_facts::in_order(&card);
            let mut work = work;
            work.sort_by_key(|w| order.iter().position(|p| *p == w.product));
            (card, work)
        })
        .collect())
}

fn length(card: &Card) -> String {
    format!(
        "{} of the {} there are: the greater of all hands' minutes{} and of each appliance's, its first filling and \
         its loads one after another.",
        rounding::hours(card.length),
        rounding::hours(card.open),
        if (card.hands - 1.0).abs() < 1e-9 {
            ""
        } else {
            " shared by the cooks"
        },
    )
}

/// Minutes of a session, product by product and term by term.
fn terms(setting: &Setting, work: &[DatedWork]) -> Table {
    let garden = &setting.garden;
    let list: Vec<Item> = work
        .iter()
        .map(|w| {
            let parts = w.by_crop().into_iter();
            (
                w.product,
                parts.map(|(crop, kg)| (crop, Mass::from_kg(kg))).collect(),
            )
        })
        .collect();
    let mut table = Table::new(vec![
        Column::text("product", "Minutes for"),
        Column::figure("kg", "Amount"),
        Column::figure("setup", "Set-up"),
        Column::figure("prep", "Wash and cut"),
        Column::figure("batches", "Batches"),
        Column::figure("containers", "Containers"),
        Column::figure("hands", "Hands in all"),
        Column::figure("clock", "Pot or canner"),
    ]);
    let number = |minutes: f64| Cell::Number(minutes, 0);
    let mut hands = KITCHEN_SETUP_MIN;
    table.push(vec![
        Cell::text("the kitchen itself"),
        Cell::Empty,
        number(KITCHEN_SETUP_MIN),
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        number(KITCHEN_SETUP_MIN),
        Cell::Empty,
    ]);
    let mut clock = 0.0;
    for (w, t) in work.iter().zip(minutes::terms_of_list(garden, &list)) {
        hands += t.hand_min();
        clock += t.clock_min;
        table.push(vec![
            Cell::text(garden.product(w.product).name.clone()),
            Cell::Mass(Mass::from_kg(w.kg())),
            number(t.setup_min),
            number(t.prep_min),
            number(t.batches_min),
            number(t.containers_min),
            number(t.hand_min()),
            number(t.clock_min),
        ]);
    }
    table.push(vec![
        Cell::text("together"),
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        number(hands),
        number(clock),
    ]);
    table.note("Planning minutes, never the time a recipe asks for.");
    table
}

fn facts(setting: &Setting, weeks: &[CropWeek], week: Week) -> Facts {
    let mut keys = vec!["week", "crop"];
    keys.extend(WENT.iter().map(|(_, key, _)| *key));
    let mut facts = Facts::new(&keys);
    for row in of_week(weeks, week) {
        let mut cells = vec![
            Cell::Week(week),
            Cell::text(setting.garden.crop(row.crop).name.clone()),
        ];
        cells.extend(
            WENT.iter()
                .map(|(went, ..)| Cell::Mass(Mass::from_kg(row.kg[*went as usize]))),
        );
        facts.push(cells);
    }
    facts
}
