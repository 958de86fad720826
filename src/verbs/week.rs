//! `putby week`, and `putby` alone: one screen for this week and the next.
//!
//! Long lists are cut and say how much is left out; the other verbs and the machine forms have all of it.

use super::cli::Shared;
use super::setting::Setting;
use super::week_since::{self, Firsts, Since};
use super::{Exit, Failure, deliver, kitchen, said, shelf, week_facts, week_lists};
use crate::garden::planting::PlantingId;
use crate::garden::units::Minutes;
use crate::garden::week::Week;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::fortnight::{self, Fortnight, Gathered, WEEKS};
use crate::kitchen::keeping::{self, Batch};
use crate::kitchen::waiting::{self, WaitingLot};
use crate::output::report::{Page, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, terminal};
use chrono::NaiveDate;
use clap::Args;

/// Lines of a screen.
const SCREEN: usize = 40;
/// Longest lists that are tried, then shorter ones until all fits the screen, down to the shortest.
const LISTS: std::ops::RangeInclusive<usize> = 2..=8;
/// Most things of a kind named in what changed.
pub(super) const NAMED: usize = 3;
/// Share of seasons from which a day counts as a kitchen day.
const LIKELY_DAY: f64 = 0.3;

/// Arguments of `week`.
#[derive(Debug, Clone, Default, Args)]
pub struct WeekArgs {
    /// Say what changed since this day, as 2026-07-06 [default: seven days ago]
    #[arg(long, value_name = "DATE")]
    since: Option<NaiveDate>,
}

/// What the screen tells, before it is words.
pub(super) struct Screen<'a> {
    /// Garden and day.
    pub(super) setting: &'a Setting,
    /// The season's figures, for the hours of the weeks.
    pub(super) found: KitchenForecast,
    /// The two weeks.
    pub(super) close: Fortnight,
    /// What waits in the kitchen.
    pub(super) waiting: Vec<WaitingLot>,
    /// What stands in store.
    pub(super) batches: Vec<Batch>,
    /// What is due in the beds, by date.
    pub(super) due: Vec<Due>,
    /// Defaults and assumptions that mattered.
    pub(super) assumed: Vec<String>,
    /// What was heard of this season's pickings.
    pub(super) heard: Option<String>,
    /// What changed since the last look.
    pub(super) since: Since,
}

/// Something to do in a bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Due {
    /// The day.
    pub(super) date: NaiveDate,
    /// What is to do.
    pub(super) what: Work,
    /// With which planting.
    pub(super) planting: PlantingId,
}

/// Work in a bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Work {
    /// Sow.
    Sow,
    /// Set out plants.
    SetOut,
    /// Clear the ground.
    Clear,
}

impl Work {
    /// Returns the work as people read it and as a machine's word.
    pub(super) const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Sow => ("sow", "sow"),
            Self::SetOut => ("set out", "set_out"),
            Self::Clear => ("clear", "clear"),
        }
    }
}

/// Runs the verb.
pub(super) fn run(shared: &Shared, arguments: &WeekArgs) -> Result<Exit, Failure> {
    deliver::no_chart(shared, "week")?;
    let setting = Setting::load(shared)?;
    let since = week_since::day(setting.as_of, arguments.since).map_err(Failure::Usage)?;
    let screen = look(&setting, since);
    let report = fitted(&screen, setting.page(shared));
    deliver::report(&report, &setting, shared, true)?;
    Ok(Exit::Done)
}

/// Looks at this week and the next, and at what changed since a day.
pub(super) fn look(setting: &Setting, since: NaiveDate) -> Screen<'_> {
    let lived = kitchen::live(
        setting,
        |ctx| (Gathered::new(ctx), Firsts::default()),
        |(gathered, firsts), ctx, season, draw| {
            gathered.add(ctx, season, draw);
            firsts.add(season);
        },
    );
    let (garden, as_of) = (&setting.garden, setting.as_of);
    let notes = [lived.plan.notes(), &lived.found.notes].concat();
    let (gathered, firsts): (Vec<Gathered>, Vec<Firsts>) = lived.beside.into_iter().unzip();
    let close = fortnight::sum_up(&lived.ctx, gathered);
    Screen {
        since: week_since::look(setting, since, (&lived.plan, &lived.found, &firsts)),
        due: due(setting, &close),
        waiting: waiting::on_hand(garden, as_of),
        batches: keeping::in_store(garden, as_of),
        assumed: said::assumed(garden, &notes),
        heard: lived.plan.heard().map(str::to_owned),
        found: lived.found,
        close,
        setting,
    }
}

/// Sowings, settings-out and clearings whose day lies in the two weeks.
fn due(setting: &Setting, close: &Fortnight) -> Vec<Due> {
    let (from, until) = (close.week.monday(), last_day(close));
    let mut due = Vec::new();
    for (i, planting) in setting.garden.plantings.iter().enumerate() {
        for (date, what) in [
            (planting.sown, Work::Sow),
            (planting.set_out, Work::SetOut),
            (planting.cleared, Work::Clear),
        ] {
            if let Some(date) = date.filter(|d| (from..=until).contains(d)) {
                due.push(Due {
                    date,
                    what,
                    planting: PlantingId(i),
                });
            }
        }
    }
    due.sort();
    due
}

/// Last day of the two weeks.
pub(super) fn last_day(close: &Fortnight) -> NaiveDate {
    close.week.plus(WEEKS as i64 - 1).sunday()
}

/// The report with the longest lists that still fit one screen.
pub(super) fn fitted(screen: &Screen, page: Page) -> Report {
    let fits = |report: &Report| terminal::render(&report.people, page).lines().count() <= SCREEN;
    LISTS
        .rev()
        .map(|most| report(screen, most))
        .find(fits)
        .unwrap_or_else(|| report(screen, *LISTS.start()))
}

/// The report with no list longer than `most` rows.
fn report(screen: &Screen, most: usize) -> Report {
    let setting = screen.setting;
    let garden = &setting.garden;
    let mut report = Report::default();
    report.heading(format!(
        "This week and next: {}, {}",
        garden.name,
        dates::with_year(setting.as_of)
    ));
    report.table(hours(screen));
    report.points(ahead(screen));
    if !screen.waiting.is_empty() {
        report.table(week_lists::waits(screen, most));
    }
    let picks = week_lists::picks(screen);
    if picks.is_empty() {
        report.text("Nothing is likely to be ready in these two weeks.");
    } else {
        report.table(week_lists::pick_table(screen, &picks, most));
    }
    let makes = week_lists::makes(screen);
    if !makes.is_empty() {
        report.table(week_lists::make_table(screen, &makes, most));
    }
    let mut points = week_lists::beds(screen, most);
    points.extend(shelf::getting_old(
        garden,
        &screen.batches,
        setting.as_of,
        last_day(&screen.close),
        week_lists::NAMES.min(most),
    ));
    points.extend(shelf::caution_in_short(
        garden,
        makes.iter().map(|m| m.product),
    ));
    points.push(week_since::words(setting, &screen.since, NAMED.min(most)));
    points.extend(screen.heard.as_deref().map(said::in_short));
    if !screen.assumed.is_empty() {
        points.push(format!(
            "{} taken for granted; `putby kitchen` names {}.",
            rounding::counted(screen.assumed.len(), "thing was", "things were"),
            if screen.assumed.len() == 1 {
                "it"
            } else {
                "them"
            }
        ));
    }
    report.points(points);
    report.facts = week_facts::facts(screen);
    report
}

/// Days of a week in words, from today on.
pub(super) fn span(screen: &Screen, week: usize) -> String {
    let week = screen.close.week.plus(week as i64);
    dates::range(week.monday().max(screen.setting.as_of), week.sunday())
}

/// Hours needed and hours there are, a row a week.
pub(super) fn hours(screen: &Screen) -> Table {
    let mut table = Table::new(vec![
        Column::text("week", "Kitchen"),
        Column::measured("hours_p50", "Needed"),
        Column::text("range", "8 in 10 between"),
        Column::measured("capacity_hours", "You have"),
        Column::figure("chance_over", "Too much in"),
    ]);
    for (i, w) in screen.found.weeks.iter().take(WEEKS).enumerate() {
        let hours = Minutes::from_hours;
        table.push(vec![
            said::unbroken(&span(screen, i)),
            Cell::Hours(hours(w.hours.p50)),
            said::unbroken(&rounding::hours_range(
                hours(w.hours.p10),
                hours(w.hours.p90),
            )),
            Cell::Hours(hours(w.capacity_hours)),
            if w.chance_over >= 0.05 {
                Cell::Chance(w.chance_over)
            } else {
                Cell::Empty
            },
        ]);
    }
    table
}

/// Likely kitchen days and absences, in words.
pub(super) fn ahead(screen: &Screen) -> Vec<String> {
    let mut words: Vec<String> = (0..WEEKS).filter_map(|week| days(screen, week)).collect();
    words.extend(away(screen));
    words
}

/// Likely kitchen days of a week with the hours of a session, in one sentence.
fn days(screen: &Screen, week: usize) -> Option<String> {
    let monday = screen.close.week.plus(week as i64);
    let likely = screen
        .close
        .days
        .iter()
        .filter(|d| d.chance >= LIKELY_DAY && Week::of(d.date) == monday);
    let mut words = [Vec::new(), Vec::new()];
    for d in likely {
        let day = d.date.format("%a");
        let needed = Minutes::from_hours(d.hours);
        if d.open_hours > 0.0 {
            let open = rounding::hours(Minutes::from_hours(d.open_hours));
            words[0].push(format!(
                "{day} {} of {open}",
                rounding::hours_figure(needed)
            ));
        } else {
            words[1].push(format!("{day} {}", rounding::hours(needed)));
        }
    }
    let [open, closed] = words;
    let closed = (!closed.is_empty()).then(|| {
        format!(
            "{}no kitchen day before it spoils: {}",
            if open.is_empty() { "" } else { "some has " },
            closed.join(", ")
        )
    });
    let all: Vec<String> = [(!open.is_empty()).then(|| open.join(", ")), closed]
        .into_iter()
        .flatten()
        .collect();
    (!all.is_empty()).then(|| format!("Likely days {}: {}.", span(screen, week), all.join("; ")))
}

/// Absences that touch the two weeks, in words.
fn away(screen: &Screen) -> Vec<String> {
    let (from, until) = (screen.setting.as_of, last_day(&screen.close));
    screen
        .setting
        .garden
        .household
        .away
        .iter()
        .filter(|a| a.days.from.is_none_or(|d| d <= until))
        .filter(|a| a.days.until.is_none_or(|d| from <= d))
        .map(|a| {
            let days = match (a.days.from, a.days.until) {
                (Some(from), Some(until)) => dates::range(from, until),
                (Some(from), None) => format!("from {} on", dates::short(from)),
                (None, Some(until)) => format!("until {}", dates::short(until)),
                (None, None) => "all the time".to_owned(),
            };
            let picks = if a.neighbour_picks {
                "a neighbour picks and keeps what is ready"
            } else {
                "nobody picks"
            };
            format!("Away {days}: {picks}.")
        })
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::input;
    use crate::season::ensemble::Settings;
    use crate::season::forecast::{self, By, Whose};

    fn sample(as_of: &str) -> Setting {
        Setting {
            garden: input::load_files(&input::sample::files()).unwrap(),
            as_of: as_of.parse().unwrap(),
            draws: Settings {
                draws: 500,
                seed: 1,
            },
        }
    }

    /// Quiet and busy times of the sample's year, a Thursday and a Sunday among them, before and after all plantings.
    #[test]
    fn it_fits_one_screen_all_year() {
        for as_of in [
            "2026-01-05",
            "2026-05-07",
            "2026-06-22",
            "2026-07-13",
            "2026-08-10",
            "2026-08-27",
            "2026-09-06",
            "2026-10-12",
            "2026-12-31",
            "2028-02-29",
        ] {
            let setting = sample(as_of);
            let since = week_since::day(setting.as_of, None).unwrap();
            let screen = look(&setting, since);
            let page = Page {
                width: 100,
                units: setting.garden.show.units,
            };
            let text = terminal::render(&fitted(&screen, page).people, page);
            assert!(text.lines().count() <= 40, "{as_of}\n{text}");
        }
    }

    /// From a Monday on, what is ready by planting is what the forecast by planting says of the same seasons.
    #[test]
    fn amounts_agree_with_the_forecast() {
        let setting = sample("2026-08-10");
        let screen = look(&setting, "2026-08-03".parse().unwrap());
        let plan = setting.plan();
        let far = forecast::forecast(&plan, &setting.draws, By::Planting);
        let first = far
            .weeks
            .iter()
            .position(|w| *w == screen.close.week)
            .unwrap();
        assert!(screen.close.picks.len() > 8);
        let mut compared = 0;
        for pick in &screen.close.picks {
            let whose = if pick.second {
                Whose::Second(pick.planting)
            } else {
                Whose::Planting(pick.planting)
            };
            let row = far.rows.iter().find(|r| r.whose == whose).unwrap();
            for week in 0..WEEKS {
                let (a, b) = (&pick.ready[week], &row.weeks[first + week]);
                compared += usize::from(b.mean > 0.01);
                for (a, b) in [
                    (a.mean, b.mean),
                    (a.p10, b.p10),
                    (a.p50, b.p50),
                    (a.p90, b.p90),
                ] {
                    assert!((a - b).abs() < 1e-4 * (1.0 + b), "{whose:?} {a} {b}");
                }
            }
        }
        assert!(compared > 10);
    }
}
