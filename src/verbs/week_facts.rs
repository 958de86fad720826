//! The facts of `putby week` for machines: one flat table, `kind` says what a row is about.

use super::shelf;
use super::week::{Screen, last_day};
use super::week_lists::food;
use super::week_since;
use crate::garden::units::{Mass, Minutes};
use crate::garden::week::Week;
use crate::kitchen::fortnight::WEEKS;
use crate::output::report::Facts;
use crate::output::table::Cell;

/// Columns, in order.
const KEYS: [&str; 14] = [
    "kind",
    "week",
    "what",
    "where",
    "date",
    "best_until",
    "last_day",
    "kg",
    "kg_p10",
    "kg_p90",
    "containers",
    "hours",
    "capacity_hours",
    "chance",
];

/// A row under construction: every column empty but those that are set.
struct Row([Cell; KEYS.len()]);

impl Row {
    fn new(kind: &str, week: Option<Week>, what: impl Into<String>) -> Self {
        let mut row = Self(std::array::from_fn(|_| Cell::Empty));
        row.0[0] = Cell::text(kind);
        row.0[1] = Cell::maybe(week, Cell::Week);
        row.0[2] = Cell::text(what);
        row
    }
    fn with(mut self, key: &str, cell: Cell) -> Self {
        let at = KEYS.iter().position(|k| *k == key);
        self.0[at.expect("the key is one of the columns")] = cell;
        self
    }
}

/// Returns a row for each thing that is to know or to do.
pub(super) fn facts(screen: &Screen) -> Facts {
    let garden = &screen.setting.garden;
    let mut facts = Facts::new(&KEYS);
    facts.beside("since", week_since::facts(garden, &screen.since));
    let mut push = |row: Row| facts.push(row.0.to_vec());
    let hours = |h: f64| Cell::Hours(Minutes::from_hours(h));
    let kg = |kg: f64| Cell::Mass(Mass::from_kg(kg));

    for w in screen.found.weeks.iter().take(WEEKS) {
        push(
            Row::new("hours", Some(w.week), "kitchen")
                .with("hours", hours(w.hours.p50))
                .with("capacity_hours", hours(w.capacity_hours))
                .with("chance", Cell::Chance(w.chance_over)),
        );
    }
    for d in &screen.close.days {
        push(
            Row::new("kitchen_day", Some(Week::of(d.date)), "kitchen")
                .with("date", Cell::Date(d.date))
                .with("hours", hours(d.hours))
                .with("capacity_hours", hours(d.open_hours))
                .with("chance", Cell::Chance(d.chance)),
        );
    }
    for a in &garden.household.away {
        let (from, until) = (a.days.from, a.days.until);
        if from.is_some_and(|d| d > last_day(&screen.close))
            || until.is_some_and(|d| d < screen.setting.as_of)
        {
            continue;
        }
        let picks = if a.neighbour_picks {
            "neighbour"
        } else {
            "nobody"
        };
        push(
            Row::new("away", None, picks)
                .with("date", Cell::maybe(from, Cell::Date))
                .with("last_day", Cell::maybe(until, Cell::Date)),
        );
    }
    for lot in &screen.waiting {
        push(
            Row::new("waiting", None, garden.crop(lot.crop).name.clone())
                .with("date", Cell::Date(lot.picked))
                .with("best_until", Cell::Date(lot.best_by))
                .with("last_day", Cell::Date(lot.last_day))
                .with("kg", kg(lot.kg)),
        );
    }
    for pick in &screen.close.picks {
        let bed = &garden.bed(garden.planting(pick.planting).bed).name;
        let amounts = [("stands", 0, &pick.stands)].into_iter().chain(
            pick.ready
                .iter()
                .enumerate()
                .map(|(week, s)| ("pick", week, s)),
        );
        for (kind, week, spread) in amounts {
            if spread.mean > 0.0 {
                let week = screen.close.week.plus(week as i64);
                push(
                    Row::new(kind, Some(week), food(screen, pick))
                        .with("where", Cell::text(bed.clone()))
                        .with("kg", kg(spread.mean))
                        .with("kg_p10", kg(spread.p10))
                        .with("kg_p90", kg(spread.p90))
                        .with("chance", Cell::Chance(pick.chance)),
                );
            }
        }
    }
    for make in &screen.close.makes {
        for week in 0..WEEKS {
            if make.kg[week] > 0.0 {
                let product = garden.product(make.product);
                push(
                    Row::new(
                        "put_by",
                        Some(screen.close.week.plus(week as i64)),
                        product.name.clone(),
                    )
                    .with(
                        "where",
                        Cell::text(garden.method(product.method).store.name()),
                    )
                    .with("kg", kg(make.kg[week]))
                    .with("containers", Cell::Containers(make.containers[week])),
                );
            }
        }
    }
    for due in &screen.due {
        let planting = garden.planting(due.planting);
        push(
            Row::new(
                due.what.words().1,
                Some(Week::of(due.date)),
                planting.name.clone(),
            )
            .with("where", Cell::text(garden.bed(planting.bed).name.clone()))
            .with("date", Cell::Date(due.date)),
        );
    }
    for b in &screen.batches {
        let soon = last_day(&screen.close);
        if let Some(fate) = shelf::fate(b, screen.setting.as_of, soon) {
            push(
                Row::new(fate.key(), None, garden.product(b.product).name.clone())
                    .with("where", Cell::text(b.store.name()))
                    .with("date", Cell::Date(b.made))
                    .with("best_until", Cell::Date(b.best_until))
                    .with("last_day", Cell::Date(b.last_day))
                    .with("containers", Cell::Containers(b.containers)),
            );
        }
    }
    facts
}
