//! What changed since the last look at the plan: what was logged since, and where the plan moved.
//!
//! Nothing is written down when somebody looks, so that the same question always has the same answer: the earlier look is made
//! again, as things were known on the morning of its day. Without a day given it is a week ago, for a plan is looked at
//! once a week; whoever looks sooner is told a change twice rather than never. The files are as they stand now: a row that was
//! added since counts as if it had always been planned.

use super::kitchen::{self, Lived, OVERLOADED};
use super::setting::Setting;
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::preserving::ProductId;
use crate::garden::record::Happening;
use crate::garden::units::Mass;
use crate::garden::week::Week;
use crate::kitchen::forecast::KitchenForecast;
use crate::learning::known_at::plan_at;
use crate::learning::record::with_counted_bags;
use crate::output::{dates, rounding, text};
use crate::season::draw::SeasonDraw;
use crate::season::ensemble::Settings;
use crate::season::plan::Plan;
use chrono::{Days, NaiveDate};
use serde_json::{Value, json};

/// Days from one look to the next where nothing else is said.
const USUAL_DAYS: u64 = 7;
/// Longest way back, days.
const LONGEST_DAYS: i64 = 366;
/// Most seasons that are lived through for the earlier look: enough for a middle date and for whether a week is too full.
const SEASONS: u32 = 500;
/// A first picking that moved no more than this stayed where it was, days.
const SAME_DAYS: i64 = 2;
/// A week whose chance changed less than this only trembles about the half.
const SAME_CHANCE: f64 = 0.1;

/// First pickings of every planting, drawn season by drawn season.
#[derive(Debug, Clone, Default)]
pub(super) struct Firsts {
    draws: usize,
    /// Days from the start of the horizon, of the seasons with a harvest; one list a planting.
    days: Vec<Vec<u16>>,
}

impl Firsts {
    /// Adds one season.
    pub(super) fn add(&mut self, season: &SeasonDraw) {
        self.draws += 1;
        if self.days.len() < season.outcomes.len() {
            self.days.resize(season.outcomes.len(), Vec::new());
        }
        for (days, outcome) in self.days.iter_mut().zip(&season.outcomes) {
            days.extend(outcome.first);
        }
    }

    /// Returns the middle first picking of every planting that gives something in at least half of the seasons.
    fn middle(plan: &Plan, chunks: &[Self]) -> Vec<Option<NaiveDate>> {
        let draws: usize = chunks.iter().map(|c| c.draws).sum();
        let plantings = chunks.iter().map(|c| c.days.len()).max().unwrap_or(0);
        (0..plantings)
            .map(|p| {
                let of = chunks.iter().filter_map(|c| c.days.get(p));
                let mut days: Vec<u16> = of.flatten().copied().collect();
                days.sort_unstable();
                let n = days.len();
                (n > 0 && 2 * n >= draws).then(|| {
                    // Halves round up.
                    let twice = u32::from(days[(n - 1) / 2]) + u32::from(days[n / 2]);
                    plan.horizon().date(twice.div_ceil(2) as u16)
                })
            })
            .collect()
    }
}

/// What changed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Since {
    /// Day of the earlier look.
    pub(super) date: NaiveDate,
    /// What was picked since, kg by crop, most first.
    picked: Vec<(CropId, f64)>,
    /// Containers put by since, most first.
    put_by: Vec<(ProductId, f64)>,
    /// Frosts that came, with the minimum in °C if measured.
    frosts: Vec<(NaiveDate, Option<f64>)>,
    /// Plantings that ended.
    ended: Vec<PlantingId>,
    /// Middle first pickings that moved: planting, then, now.
    moved: Vec<(PlantingId, NaiveDate, NaiveDate)>,
    /// Weeks that have become likely to be too much.
    fuller: Vec<Week>,
    /// Weeks that no longer are.
    freer: Vec<Week>,
}

/// Settles the day of the earlier look.
///
/// # Errors
/// It is not before today, or more than a year back.
pub(super) fn day(as_of: NaiveDate, said: Option<NaiveDate>) -> Result<NaiveDate, String> {
    let Some(day) = said else {
        return Ok(as_of
            .checked_sub_days(Days::new(USUAL_DAYS))
            .unwrap_or(NaiveDate::MIN));
    };
    let ago = (as_of - day).num_days();
    if (1..=LONGEST_DAYS).contains(&ago) {
        Ok(day)
    } else {
        Err(format!(
            "--since {day}: say a day before {}, at most a year back",
            dates::with_year(as_of)
        ))
    }
}

/// Makes the earlier look again and compares it with today's.
pub(super) fn look(
    setting: &Setting,
    since: NaiveDate,
    now: (&Plan, &KitchenForecast, &[Firsts]),
) -> Since {
    let (plan, found, firsts) = now;
    let garden = &setting.garden;
    let few = Settings {
        draws: setting.draws.draws.min(SEASONS),
        ..setting.draws
    };
    let (then, _) = plan_at(garden, &with_counted_bags(garden), since, &few);
    let then: Lived<Firsts> = kitchen::live_of(
        (garden, since, &few),
        then,
        |_| Firsts::default(),
        |firsts, _, season, _| firsts.add(season),
    );
    let was = Firsts::middle(&then.plan, &then.beside);
    // The same seasons are compared, so that chance moves nothing.
    let chunks = firsts.len().min(then.beside.len());
    let is = Firsts::middle(plan, &firsts[..chunks]);
    let (fuller, freer) = weeks(setting.as_of, &then.found, found);
    Since {
        moved: moved(garden, setting.as_of, &was, &is),
        fuller,
        freer,
        ..logged(garden, since, setting.as_of)
    }
}

/// What was logged from a day to another, both included.
fn logged(garden: &Garden, since: NaiveDate, until: NaiveDate) -> Since {
    let during = |date: NaiveDate| (since..=until).contains(&date);
    let mut picked: Vec<(CropId, f64)> = Vec::new();
    for row in garden.record.picked.iter().filter(|r| during(r.date)) {
        add(&mut picked, row.crop, row.mass.kg());
    }
    let mut put_by: Vec<(ProductId, f64)> = Vec::new();
    for row in garden.record.stores.iter().filter(|r| during(r.date)) {
        if row.change > 0.0 {
            add(&mut put_by, row.product, row.change);
        }
    }
    picked.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    put_by.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let (mut frosts, mut ended) = (Vec::new(), Vec::new());
    for event in garden.record.events.iter().filter(|e| during(e.date)) {
        match event.what {
            Happening::Frost(min_c) => frosts.push((event.date, min_c)),
            Happening::Ended(id) => ended.push(id),
            Happening::Up(_) | Happening::Took(_) => {}
        }
    }
    frosts.sort_by_key(|(date, _)| *date);
    Since {
        date: since,
        picked,
        put_by,
        frosts,
        ended,
        moved: Vec::new(),
        fuller: Vec::new(),
        freer: Vec::new(),
    }
}

fn add<K: PartialEq>(all: &mut Vec<(K, f64)>, key: K, amount: f64) {
    match all.iter_mut().find(|(k, _)| *k == key) {
        Some((_, sum)) => *sum += amount,
        None => all.push((key, amount)),
    }
}

/// First pickings still to come that moved, the soonest first.
fn moved(
    garden: &Garden,
    today: NaiveDate,
    was: &[Option<NaiveDate>],
    is: &[Option<NaiveDate>],
) -> Vec<(PlantingId, NaiveDate, NaiveDate)> {
    let mut moved: Vec<(PlantingId, NaiveDate, NaiveDate)> = (was.iter().zip(is).enumerate())
        .filter_map(|(p, (was, is))| Some((PlantingId(p), (*was)?, (*is)?)))
        .filter(|(_, was, is)| (*is - *was).num_days().abs() > SAME_DAYS)
        .filter(|(_, was, is)| today <= *was.max(is))
        .filter(|(id, _, _)| !has_begun(garden, *id, today))
        .collect();
    moved.sort_by_key(|(id, _, is)| (*is, *id));
    moved
}

/// Says whether something of a planting was picked, or whether it has ended.
fn has_begun(garden: &Garden, id: PlantingId, today: NaiveDate) -> bool {
    let planting = garden.planting(id);
    let picked = garden.record.picked.iter().any(|row| {
        let same = row.planting.map_or_else(
            || row.crop == planting.crop && row.bed == Some(planting.bed),
            |p| p == id,
        );
        same && (planting.start()..=today).contains(&row.date)
    });
    let ended =
        |e: &crate::garden::record::Event| e.what == Happening::Ended(id) && e.date <= today;
    picked || garden.record.events.iter().any(ended)
}

/// Whole weeks to come that became too much, and those that ceased to be.
fn weeks(
    today: NaiveDate,
    then: &KitchenForecast,
    now: &KitchenForecast,
) -> (Vec<Week>, Vec<Week>) {
    let (mut fuller, mut freer) = (Vec::new(), Vec::new());
    for week in now.weeks.iter().filter(|w| w.week.monday() >= today) {
        let Some(was) = then.weeks.iter().find(|w| w.week == week.week) else {
            continue;
        };
        let (was, is) = (was.chance_over, week.chance_over);
        if (was - is).abs() < SAME_CHANCE {
            continue;
        }
        match (was >= OVERLOADED, is >= OVERLOADED) {
            (false, true) => fuller.push(week.week),
            (true, false) => freer.push(week.week),
            _ => {}
        }
    }
    (fuller, freer)
}

/// Says what changed in one short paragraph that names no more than so many of each.
pub(super) fn words(setting: &Setting, since: &Since, most: usize) -> String {
    let garden = &setting.garden;
    let units = garden.show.units;
    let mut log = Vec::new();
    if !since.picked.is_empty() {
        let all = since.picked.iter().map(|(_, kg)| kg).sum();
        let crops = since.picked.iter().map(|(crop, kg)| {
            let figure = rounding::mass_figure(Mass::from_kg(*kg), units);
            format!("{} {figure}", garden.crop(*crop).name)
        });
        log.push(format!(
            "{} picked ({})",
            rounding::mass(Mass::from_kg(all), units),
            few(crops, most).join(", ")
        ));
    }
    if !since.put_by.is_empty() {
        let products = since.put_by.iter().map(|(product, containers)| {
            format!(
                "{} {}",
                rounding::half_containers(*containers),
                garden.product(*product).name
            )
        });
        log.push(format!("{} put by", text::list(&few(products, most))));
    }
    if !since.frosts.is_empty() {
        let days = since.frosts.iter().map(|(date, _)| dates::day(*date));
        log.push(format!("frost {}", text::list(&few(days, most))));
    }
    if !since.ended.is_empty() {
        let names = since
            .ended
            .iter()
            .map(|id| garden.planting(*id).name.clone());
        log.push(format!("{} ended", text::list(&few(names, most))));
    }
    let mut plan = Vec::new();
    let moved = since.moved.iter().map(|(id, was, is)| {
        format!(
            "{} {}{} (was {})",
            garden.planting(*id).name,
            if *is < setting.as_of { "from " } else { "" },
            dates::short(*is),
            dates::short(*was)
        )
    });
    if !since.moved.is_empty() {
        plan.push(format!(
            "first pickings now {}",
            few(moved, most).join(", ")
        ));
    }
    for (weeks, words) in [
        (&since.fuller, "now too full"),
        (&since.freer, "no longer too full"),
    ] {
        let named = few(weeks.iter().map(|w| dates::short(w.monday())), most);
        match named.as_slice() {
            [] => {}
            [one] => plan.push(format!("the week of {one} {words}")),
            many => plan.push(format!("the weeks of {} {words}", text::list(many))),
        }
    }
    format!(
        "Since {}: {}. The plan {}.",
        dates::day(since.date),
        if log.is_empty() {
            "nothing logged".to_owned()
        } else {
            log.join("; ")
        },
        if plan.is_empty() {
            "stands as it did".to_owned()
        } else {
            format!("moved: {}", plan.join("; "))
        }
    )
}

/// The first few of some names, the rest counted.
fn few(names: impl Iterator<Item = String>, most: usize) -> Vec<String> {
    let mut names: Vec<String> = names.collect();
    let rest = names.len().saturating_sub(most);
    // One more name is no longer than "1 more".
    if rest > 1 {
        names.truncate(most);
        names.push(format!("{rest} more"));
    }
    names
}

/// The same for machines.
pub(super) fn facts(garden: &Garden, since: &Since) -> Value {
    let weeks = |all: &[Week]| all.iter().map(|w| w.monday()).collect::<Vec<_>>();
    json!({
        "date": since.date,
        "picked": (since.picked.iter())
            .map(|(crop, kg)| json!({ "crop": garden.crop(*crop).name, "kg": kg }))
            .collect::<Vec<_>>(),
        "put_by": (since.put_by.iter())
            .map(|(id, n)| json!({ "product": garden.product(*id).name, "containers": n }))
            .collect::<Vec<_>>(),
        "frosts": (since.frosts.iter())
            .map(|(date, min_c)| json!({ "date": date, "min_c": min_c }))
            .collect::<Vec<_>>(),
        "ended": (since.ended.iter())
            .map(|id| garden.planting(*id).name.clone())
            .collect::<Vec<_>>(),
        "first_pickings": (since.moved.iter())
            .map(|(id, was, is)| {
                json!({ "planting": garden.planting(*id).name, "was": was, "now": is })
            })
            .collect::<Vec<_>>(),
        "weeks_now_too_much": weeks(&since.fuller),
        "weeks_no_longer_too_much": weeks(&since.freer),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::week;
    use super::*;
    use crate::garden::record::Event;
    use crate::input;

    fn day_of(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn sample(as_of: &str) -> Setting {
        Setting {
            garden: input::load_files(&input::sample::files()).unwrap(),
            as_of: day_of(as_of),
            draws: Settings {
                draws: 500,
                seed: 1,
            },
        }
    }

    #[test]
    fn the_usual_day_is_a_week_ago_and_others_lie_before_today() {
        let today = day_of("2026-07-13");
        assert_eq!(day(today, None), Ok(day_of("2026-07-06")));
        for (said, fits) in [
            ("2026-07-12", true),
            ("2025-07-12", true),
            ("2026-07-13", false),
            ("2026-07-20", false),
            ("2024-07-13", false),
        ] {
            assert_eq!(day(today, Some(day_of(said))).is_ok(), fits, "{said}");
        }
    }

    #[test]
    fn what_was_logged_is_added_up_by_hand() {
        let setting = sample("2026-07-13");
        let since = day_of("2026-07-06");
        let found = logged(&setting.garden, since, setting.as_of);
        let rows = || {
            let all = setting.garden.record.picked.iter();
            all.filter(|r| r.date >= since && r.date <= setting.as_of)
        };
        let all: f64 = rows().map(|r| r.mass.kg()).sum();
        assert!(rows().count() > 5);
        assert!((found.picked.iter().map(|(_, kg)| kg).sum::<f64>() - all).abs() < 1e-9);
        assert!(found.picked.windows(2).all(|p| p[0].1 >= p[1].1));
    }

    /// Frost on two nights of October: the plan as of the week before did not know it, and everything tender has ended since.
    #[test]
    fn a_frost_and_an_ended_planting_are_told() {
        let mut setting = sample("2026-10-12");
        let okra = (setting.garden.plantings.iter())
            .position(|p| p.name == "okra")
            .unwrap();
        for (date, what) in [
            ("2026-10-08", Happening::Frost(Some(-2.5))),
            ("2026-10-09", Happening::Ended(PlantingId(okra))),
            ("2026-09-01", Happening::Frost(None)),
        ] {
            let date = day_of(date);
            setting.garden.record.events.push(Event { date, what });
        }
        let screen = week::look(&setting, day_of("2026-10-05"));
        let said = words(&setting, &screen.since, 3);
        assert!(said.contains("frost Thu 8 Oct; okra ended"), "{said}");
        assert!(!said.contains("1 Sep"), "{said}");
        let facts = facts(&setting.garden, &screen.since);
        assert_eq!(facts["frosts"][0]["min_c"], -2.5);
        assert_eq!(facts["ended"][0], "okra");
    }

    /// Of two weeks' change only what passes the half and moves by a tenth is a change.
    #[test]
    fn weeks_that_tremble_about_the_half_did_not_change() {
        let setting = sample("2026-07-13");
        let screen = week::look(&setting, day_of("2026-07-06"));
        let today = setting.as_of;
        let changed = |at: usize, was: f64, is: f64| {
            let (mut then, mut now) = (screen.found.clone(), screen.found.clone());
            (then.weeks[at].chance_over, now.weeks[at].chance_over) = (was, is);
            let (fuller, freer) = weeks(today, &then, &now);
            (fuller.len(), freer.len())
        };
        assert_eq!(changed(3, 0.45, 0.52), (0, 0));
        assert_eq!(changed(3, 0.3, 0.6), (1, 0));
        assert_eq!(changed(3, 0.6, 0.3), (0, 1));
        assert_eq!(changed(3, 0.6, 0.9), (0, 0));
    }

    #[test]
    fn first_pickings_that_moved_are_those_still_to_come() {
        let setting = sample("2026-07-13");
        let garden = &setting.garden;
        let at = |name: &str| {
            garden
                .plantings
                .iter()
                .position(|p| p.name == name)
                .unwrap()
        };
        let mut was = vec![None; garden.plantings.len()];
        let mut is = was.clone();
        for (name, then, now) in [
            ("tomatoes 1", "2026-07-30", "2026-08-03"),
            ("peppers", "2026-08-03", "2026-08-05"),
            // Picked already, whatever the model thinks.
            ("okra", "2026-07-20", "2026-07-30"),
            // Both days are over.
            ("chard", "2026-06-10", "2026-06-20"),
        ] {
            was[at(name)] = Some(day_of(then));
            is[at(name)] = Some(day_of(now));
        }
        let found = moved(garden, setting.as_of, &was, &is);
        let names: Vec<&str> = (found.iter())
            .map(|(id, _, _)| garden.planting(*id).name.as_str())
            .collect();
        assert_eq!(names, ["tomatoes 1"]);
    }

    #[test]
    fn few_names_leave_no_single_one_out() {
        let names = |n: usize| few((1..=n).map(|k| k.to_string()), 3);
        assert_eq!(names(3), ["1", "2", "3"]);
        assert_eq!(names(4), ["1", "2", "3", "4"]);
        assert_eq!(names(5), ["1", "2", "3", "2 more"]);
    }
}
