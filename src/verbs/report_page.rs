//! The sections of `putby report`, in the order in which a household asks: this fortnight first, what was assumed last.

use super::report::Known;
use super::{
    compare, compare_chart, forecast, kitchen, sessions, sessions_facts, shelf, stores,
    stores_room, week, week_lists, week_since, when,
};
use crate::garden::units::Mass;
use crate::learning::known_at::season_start;
use crate::output::chart::{
    compared::compared, goals::goals, harvest::harvest, hours::hours, pickings::pickings,
};
use crate::output::page::Section;
use crate::output::report::{Part, Report};
use crate::output::{dates, rounding};
use chrono::Days;

/// Days ahead for which "eat first" looks.
const SOON_DAYS: u64 = 30;
/// Longest list of the fortnight: long enough for every garden, since a page may scroll.
const ALL: usize = usize::MAX;

/// Returns every section.
pub(super) fn sections(known: &Known) -> Vec<Section> {
    let mut sections = vec![
        fortnight(known),
        kitchen_hours(known),
        picked(known),
        ready(known),
        in_store(known),
    ];
    sections.extend(accuracy(known));
    sections.push(cautions(known));
    let mut assumed = Section::new("assumed", "What was taken for granted");
    assumed.points(known.screen.assumed.clone());
    sections.push(assumed);
    sections.retain(|section| !section.pieces.is_empty());
    sections
}

fn fortnight(known: &Known) -> Section {
    let screen = &known.screen;
    let mut section = Section::new("fortnight", "This week and next");
    section.table(week::hours(screen));
    section.points(week::ahead(screen));
    section.text(week_since::words(known.setting, &screen.since, ALL));
    section.table(week_lists::waits(screen, ALL));
    let picks = week_lists::picks(screen);
    if picks.is_empty() {
        section.text("Nothing is likely to be ready in these two weeks.");
    }
    section.table(week_lists::pick_table(screen, &picks, ALL));
    let makes = week_lists::makes(screen);
    section.table(week_lists::make_table(screen, &makes, ALL));
    let beds = week_lists::beds(screen, ALL);
    if !beds.is_empty() {
        section.heading("In the beds");
        section.points(beds);
    }
    section
}

fn kitchen_hours(known: &Known) -> Section {
    let (setting, found, days) = (known.setting, &known.screen.found, &known.days);
    let mut section = Section::new("kitchen", "Kitchen hours and processing days");
    section.text(kitchen::summary(&setting.garden, found));
    let mut chart = kitchen::chart(setting, found, sessions::dates_of(days));
    let broad = hours(&chart);
    chart.caption.narrow = true;
    let mut behind = vec![kitchen::weeks(found, false).titled("Kitchen hours, week by week")];
    if !days.cards.is_empty() {
        behind.push(sessions::table(setting, days).titled("Processing days"));
    }
    section.figure(broad, hours(&chart), behind);
    section.parts(kitchen::frost_week(found).map(Part::Text));
    section.heading("Processing days");
    section.text(sessions::summary(days, sessions::SEASONS_IN_TEN));
    section.points(day_by_day(known));
    if !days.cards.is_empty() {
        section.text(sessions::quality(days, setting.garden.show.units));
    }
    section.parts(sessions::proof(&setting.garden, days).map(Part::Text));
    section
}

/// What is made on each processing day, a sentence a day.
fn day_by_day(known: &Known) -> Vec<String> {
    let units = known.setting.garden.show.units;
    let rows = sessions_facts::rows(known.setting, &known.days);
    rows.chunk_by(|a, b| a.date == b.date)
        .map(|day| {
            let makes: Vec<String> = day
                .iter()
                .map(|row| {
                    let from: Vec<String> = (row.crops.iter())
                        .map(|(name, kg)| {
                            format!("{name} {}", rounding::mass(Mass::from_kg(*kg), units))
                        })
                        .collect();
                    format!(
                        "{} {} ({})",
                        row.product,
                        sessions_facts::halves(row.containers),
                        from.join(", ")
                    )
                })
                .collect();
            format!(
                "{}, {} of {}: {}.",
                dates::day(day[0].date),
                rounding::hours_figure(day[0].length),
                rounding::hours(day[0].open),
                makes.join(", ")
            )
        })
        .collect()
}

fn picked(known: &Known) -> Section {
    let setting = known.setting;
    let (plan, found) = when::found(setting);
    let mut section = Section::new("pickings", "First and last pickings");
    let (table, over) = when::table(setting, &found);
    let mut chart = when::chart(setting, &plan, &found);
    let broad = pickings(&chart);
    chart.caption.narrow = true;
    section.figure(
        broad,
        pickings(&chart),
        vec![table.titled("First and last picking of each planting")],
    );
    let (doubtful, lost) = when::doubts(&setting.garden, &found);
    section.points(doubtful);
    section.points(lost);
    if over > 0 {
        let plantings = rounding::counted(over, "planting is", "plantings are");
        section.text(format!("{plantings} over and not shown."));
    }
    section
}

fn ready(known: &Known) -> Section {
    let setting = known.setting;
    let (_, found) = forecast::found(setting, forecast::By::Crop);
    let mut section = Section::new("forecast", "What will be ready");
    let by_week = forecast::by_week(setting, &found, forecast::By::Crop);
    let mut chart = forecast::chart(setting, &found);
    let broad = harvest(&chart);
    chart.caption.narrow = true;
    section.figure(
        broad,
        harvest(&chart),
        vec![by_week.titled("What will be ready, week by week")],
    );
    section.table(
        forecast::totals(setting, &found, forecast::By::Crop).titled("By crop, from this week on"),
    );
    section.points(known.screen.heard.iter().cloned().collect());
    section
}

fn in_store(known: &Known) -> Section {
    let (setting, found, batches) = (known.setting, &known.screen.found, &known.screen.batches);
    let mut section = Section::new("stores", "Stores and goals");
    if !found.goals.is_empty() {
        let mut chart = stores::chart(setting, found);
        let broad = goals(&chart);
        chart.caption.narrow = true;
        section.figure(broad, goals(&chart), vec![shelf::goals(found)]);
    }
    if batches.is_empty() {
        section.text("Nothing is in store, as far as stores.csv says.");
    } else {
        section.table(stores::there(setting, batches).titled("In store now"));
    }
    let soon = setting.as_of + Days::new(SOON_DAYS);
    section.points(shelf::getting_old(
        &setting.garden,
        batches,
        setting.as_of,
        soon,
        ALL,
    ));
    section.text(stores::freezer(setting, found));
    if let Some(room) = stores_room::look(setting, found) {
        let (full, points) = stores_room::words(setting, &room);
        section.text(full);
        section.points(points);
    }
    section
}

/// How good the forecast was, once something of it is known.
fn accuracy(known: &Known) -> Option<Section> {
    let (setting, garden) = (known.setting, &known.setting.garden);
    let origin = season_start(garden, setting.as_of)?;
    let (then, found) = compare::found(setting, &[origin]);
    let ([then], [season]) = (then.as_slice(), found.as_slice()) else {
        return None;
    };
    if season.overall.weeks == 0 {
        return None;
    }
    let mut report = Report::default();
    compare::season(&mut report, garden, season);
    let mut section = Section::new("accuracy", "How good the forecast was so far");
    // The section's own title stands for the first heading.
    let first = usize::from(matches!(report.people.first(), Some(Part::Heading(_))));
    let (tables, words): (Vec<Part>, Vec<Part>) = report
        .people
        .into_iter()
        .skip(first)
        .partition(|part| matches!(part, Part::Table(_)));
    section.parts(words);
    let tables = tables.into_iter().filter_map(|part| match part {
        Part::Table(table) => Some(table),
        _ => None,
    });
    let mut chart = compare_chart::chart(setting, then, season);
    let broad = compared(&chart);
    chart.caption.narrow = true;
    section.figure(broad, compared(&chart), tables.collect());
    Some(section)
}

fn cautions(known: &Known) -> Section {
    let made = known
        .screen
        .found
        .products
        .iter()
        .filter(|p| p.made.p90 >= 0.5);
    let mut section = Section::new("cautions", "Cautions");
    section.points(shelf::cautions(
        &known.setting.garden,
        made.map(|p| p.product),
    ));
    section
}
