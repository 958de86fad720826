//! The lists of `putby week`: what waits, what there is to pick and to put by, what is due in the beds.
//!
//! Every list is cut to so many rows and says what is left out.

use super::said;
use super::week::{Screen, span};
use crate::garden::units::Mass;
use crate::kitchen::forecast::Spread;
use crate::kitchen::fortnight::{Make, Pick};
use crate::output::table::{Cell, Column, Table};
use crate::output::{dates, rounding, text};
use chrono::NaiveDate;

/// Names given in one sentence before the rest is only counted.
pub(super) const NAMES: usize = 4;
/// Less than this many containers in both weeks together is not worth a row.
const LEAST_CONTAINERS: f64 = 0.25;

/// What waits in the kitchen, oldest first.
pub(super) fn waits(screen: &Screen, most: usize) -> Table {
    let garden = &screen.setting.garden;
    let today = screen.setting.as_of;
    let mut table = Table::new(vec![
        Column::text("crop", "Waiting in the kitchen"),
        Column::figure("kg", "Amount"),
        Column::figure("picked", "Picked"),
        Column::figure("best_by", "Best until"),
        Column::figure("last_day", "Last day"),
        Column::text("state", ""),
    ]);
    let shown = cut(screen.waiting.len(), most);
    for lot in &screen.waiting[..shown] {
        let state = if lot.last_day < today {
            "too old: throw it out"
        } else if lot.last_day == today {
            "today at the latest"
        } else if lot.best_by < today {
            "past its best"
        } else {
            ""
        };
        table.push(vec![
            Cell::text(garden.crop(lot.crop).name.clone()),
            Cell::Mass(Mass::from_kg(lot.kg)),
            Cell::Date(lot.picked),
            Cell::Date(lot.best_by),
            Cell::Date(lot.last_day),
            Cell::text(state),
        ]);
    }
    let names = screen.waiting[shown..]
        .iter()
        .map(|l| garden.crop(l.crop).name.clone());
    note_rest(&mut table, names);
    table
}

/// Rows that are shown of so many: all, or one less than the most, so that the line about the rest finds room.
const fn cut(rows: usize, most: usize) -> usize {
    if rows > most { most - 1 } else { rows }
}

fn note_rest(table: &mut Table, names: impl Iterator<Item = String>) {
    let names: Vec<String> = names.collect();
    if !names.is_empty() {
        table.note(format!("And {}.", few(&names)));
    }
}

/// Names a few and counts the rest: "a, b and 3 more".
fn few(names: &[String]) -> String {
    if names.len() <= NAMES + 1 {
        return text::list(names);
    }
    let mut shown = names[..NAMES].to_vec();
    shown.push(format!("{} more", names.len() - NAMES));
    text::list(&shown)
}

/// Means of what there is to pick, all together, kg.
fn mean(pick: &Pick) -> f64 {
    pick.stands.mean + pick.ready.iter().map(|r| r.mean).sum::<f64>()
}

/// What is worth a row among the pickings: most first.
pub(super) fn picks<'a>(screen: &'a Screen) -> Vec<&'a Pick> {
    let mut picks: Vec<&Pick> = screen
        .close
        .picks
        .iter()
        .filter(|p| Mass::from_kg(mean(p)).lb() >= 0.25)
        .collect();
    picks.sort_by(|a, b| mean(b).total_cmp(&mean(a)));
    picks
}

/// Name of what a planting gives: its own, and the food's if it is the second.
pub(super) fn food(screen: &Screen, pick: &Pick) -> String {
    let garden = &screen.setting.garden;
    let planting = garden.planting(pick.planting);
    let second = garden.crop(planting.crop).second.as_ref();
    match second.filter(|_| pick.second) {
        Some(s) => format!("{} ({})", planting.name, garden.crop(s.crop).name),
        None => planting.name.clone(),
    }
}

/// Pickings by planting, in words.
pub(super) fn pick_table(screen: &Screen, picks: &[&Pick], most: usize) -> Table {
    let garden = &screen.setting.garden;
    let mut table = Table::new(vec![
        Column::text("planting", "Pick"),
        Column::text("bed", "Bed"),
        Column::text("stands", "Stands ready"),
        Column::text("this", span(screen, 0)),
        Column::text("next", span(screen, 1)),
    ]);
    let range = |s: &Spread| {
        if Mass::from_kg(s.p90).lb() < 0.25 {
            return Cell::Empty;
        }
        said::unbroken(&rounding::mass_range(
            Mass::from_kg(s.p10),
            Mass::from_kg(s.p90),
            garden.show.units,
        ))
    };
    let shown = cut(picks.len(), most);
    for pick in &picks[..shown] {
        table.push(vec![
            Cell::text(food(screen, pick)),
            Cell::text(garden.bed(garden.planting(pick.planting).bed).name.clone()),
            range(&pick.stands),
            range(&pick.ready[0]),
            range(&pick.ready[1]),
        ]);
    }
    note_rest(&mut table, picks[shown..].iter().map(|p| food(screen, p)));
    table
}

/// What is worth a row among the products: most first.
pub(super) fn makes<'a>(screen: &'a Screen) -> Vec<&'a Make> {
    let sum = |m: &Make| m.containers.iter().sum::<f64>();
    let mut makes: Vec<&Make> = screen
        .close
        .makes
        .iter()
        .filter(|m| sum(m) >= LEAST_CONTAINERS)
        .collect();
    makes.sort_by(|a, b| sum(b).total_cmp(&sum(a)));
    makes
}

/// Products to be made, in words.
pub(super) fn make_table(screen: &Screen, makes: &[&Make], most: usize) -> Table {
    let garden = &screen.setting.garden;
    let mut table = Table::new(vec![
        Column::text("product", "Put by, on average"),
        Column::figure("this", span(screen, 0)),
        Column::figure("next", span(screen, 1)),
        Column::text("container", "In"),
    ]);
    let shown = cut(makes.len(), most);
    for make in &makes[..shown] {
        let product = garden.product(make.product);
        table.push(vec![
            Cell::text(product.name.clone()),
            Cell::Containers(make.containers[0]),
            Cell::Containers(make.containers[1]),
            Cell::text(product.container.clone()),
        ]);
    }
    let rest = makes[shown..].iter();
    note_rest(
        &mut table,
        rest.map(|m| garden.product(m.product).name.clone()),
    );
    table
}

/// What is due in the beds, a line a day.
pub(super) fn beds(screen: &Screen, most: usize) -> Vec<String> {
    let garden = &screen.setting.garden;
    let mut days: Vec<(NaiveDate, Vec<String>)> = Vec::new();
    for due in &screen.due {
        let planting = garden.planting(due.planting);
        let words = format!(
            "{} {} ({})",
            due.what.words().0,
            planting.name,
            garden.bed(planting.bed).name
        );
        match days.last_mut().filter(|(date, _)| *date == due.date) {
            Some((_, all)) => all.push(words),
            None => days.push((due.date, vec![words])),
        }
    }
    let shown = cut(days.len(), most);
    let mut lines: Vec<String> = days[..shown]
        .iter()
        .map(|(date, all)| {
            let was = if *date < screen.setting.as_of {
                ", was due"
            } else {
                ""
            };
            format!("{}{was}: {}.", dates::day(*date), few(all))
        })
        .collect();
    if shown < days.len() {
        let rest: Vec<String> = days[shown..]
            .iter()
            .flat_map(|(_, all)| all.clone())
            .collect();
        lines.push(format!("{} on: {}.", dates::day(days[shown].0), few(&rest)));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_leave_a_line_for_the_rest() {
        assert_eq!([cut(3, 3), cut(4, 3), cut(0, 3)], [3, 2, 0]);
        let names = |n: usize| (1..=n).map(|k| k.to_string()).collect::<Vec<_>>();
        assert_eq!(few(&names(2)), "1 and 2");
        assert_eq!(few(&names(5)), "1, 2, 3, 4 and 5");
        assert_eq!(few(&names(9)), "1, 2, 3, 4 and 5 more");
    }
}
