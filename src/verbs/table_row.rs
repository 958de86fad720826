//! One row of a built-in table for people: what each figure means, what it rests on, what a household changes first.
//!
//! Sources are numbered once and listed below the figures, since many figures share one. Knows no file: the line for the
//! household's own table is shown, never written.

use super::table_words::{self as words, Words};
use crate::garden::tables::{Source, TextRow, TextTable};
use crate::output::report::{Facts, Report};
use crate::output::table::{Cell, Column, Table};
use crate::output::text::visible;

/// Figures that a household knows better than any publication, by table, with how to come by them.
const FIRST: [(&str, &[&str], &[&str]); 3] = [
    (
        "crops",
        &[
            "lb_per_100ft_low",
            "lb_per_100ft_high",
            "days_sown",
            "days_set_out",
            "prep_min_per_lb",
        ],
        &[
            "The yield: weigh what one row gives in a season. Pounds, divided by the feet of row, times 100, go into both cells.",
            "The days: count from sowing, or from setting out, to the first picking of a sowing in good growing weather.",
            "The minutes: time one session's washing, trimming and cutting, and divide by the pounds.",
        ],
    ),
    (
        "methods",
        &["setup_min", "per_batch_min", "per_container_min"],
        &[
            "The set-up: time from clearing the counter to the first batch, and from the last container to the clean sink.",
            "The batch and the container: time a whole evening, and divide by what was made.",
        ],
    ),
    (
        "products",
        &["lb_per_container", "least_lot_lb", "extra_min_per_lb"],
        &[
            "The weight: weigh what goes into one container, as it came from the bed.",
            "The least lot: the smallest amount for which you would get the things out.",
            "The minutes: what this product takes beyond the crop's own washing and cutting, by the pound.",
        ],
    ),
];

/// Widest value that stands in the table of figures; longer ones are told in a line of their own.
const WIDEST: usize = 40;

/// Shows one row with meanings, sources and what to change first.
pub(super) fn report(table: &TextTable, row: &TextRow, sources: &[Source]) -> Report {
    let key = row.cells.first().map_or("", String::as_str);
    let mut report = Report::default();
    report.heading(format!(
        "{}, from the table of {}",
        visible(key),
        table.name
    ));
    report.facts = Facts::new(&["column", "value", "meaning", "unit", "status", "source"]);
    let mut figures = Table::new(vec![
        Column::text("meaning", "What it means"),
        Column::text("value", "Figure"),
        Column::text("status", "How known"),
        Column::figure("source", "Source"),
    ]);
    let mut cited: Vec<&str> = Vec::new();
    let mut told_below: Vec<String> = Vec::new();
    for group in words::groups(&table.name) {
        let mut opened = false;
        for w in &group.words {
            let Some(at) = table.columns.iter().position(|c| c == w.column) else {
                continue;
            };
            let value = row.cells[at].as_str();
            if value.is_empty() || at == 0 {
                continue;
            }
            let (status, source) = known(table, key, row, at, sources);
            report.facts.push(fact(w, value, status, source));
            let shown = with_unit(value, w.unit);
            if crate::output::text::width(&shown) > WIDEST {
                told_below.push(format!("{}: {}", sentence_case(w.means), shown));
                if status.is_empty() {
                    continue;
                }
            }
            if !opened {
                opened = true;
                if !figures.rows.is_empty() {
                    figures.push(vec![Cell::text(""); 4]);
                }
                figures.push(vec![
                    Cell::text(group.name.to_uppercase()),
                    Cell::text(""),
                    Cell::text(""),
                    Cell::text(""),
                ]);
            }
            let number = if source.is_empty() {
                Cell::text("")
            } else {
                let found = cited.iter().position(|s| *s == source);
                let index = found.unwrap_or_else(|| {
                    cited.push(source);
                    cited.len() - 1
                });
                Cell::text((index + 1).to_string())
            };
            let value = if crate::output::text::width(&shown) > WIDEST {
                Cell::text("below")
            } else {
                Cell::text(shown)
            };
            figures.push(vec![
                Cell::text(w.means),
                value,
                Cell::text(words::status(status)),
                number,
            ]);
        }
    }
    report.table(figures);
    report.points(told_below);
    if !cited.is_empty() {
        report.table(rests_on(&cited));
    }
    change_first(table, row, &mut report);
    report
}

/// Returns how a figure is known and what it rests on; nothing for words that need no source.
fn known<'a>(
    table: &TextTable,
    key: &str,
    row: &TextRow,
    at: usize,
    sources: &'a [Source],
) -> (&'a str, &'a str) {
    if row.own.get(at).copied().unwrap_or(false) {
        return ("your own", "");
    }
    let column = &table.columns[at];
    sources
        .iter()
        .find(|s| s.table == table.name && s.row == key && s.column == *column)
        .map_or(("", ""), |s| (s.status.as_str(), s.source.as_str()))
}

fn fact(w: &Words, value: &str, status: &str, source: &str) -> Vec<Cell> {
    [w.column, value, w.means, w.unit, status, source]
        .into_iter()
        .map(|text| {
            if text.is_empty() {
                Cell::Empty
            } else {
                Cell::text(text)
            }
        })
        .collect()
}

/// Writes a value with its unit; temperatures on both scales.
fn with_unit(value: &str, unit: &str) -> String {
    let minus = |text: String| text.replace('-', "−");
    match (unit, value.parse::<f64>().ok()) {
        ("", _) => value.to_owned(),
        ("°C", Some(c)) => minus(format!("{value} °C ({:.0} °F)", c * 1.8 + 32.0)),
        ("°F", Some(f)) => minus(format!("{value} °F ({:.0} °C)", (f - 32.0) / 1.8)),
        _ => format!("{value} {unit}"),
    }
}

fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn rests_on(cited: &[&str]) -> Table {
    let mut table = Table::new(vec![
        Column::figure("source", "Source"),
        Column::text("words", "What it is"),
    ]);
    for (i, source) in cited.iter().enumerate() {
        table.push(vec![Cell::text((i + 1).to_string()), Cell::text(*source)]);
    }
    table
}

/// Adds what a household would change first, and the lines for its own table.
fn change_first(table: &TextTable, row: &TextRow, report: &mut Report) {
    let Some((_, _, advice)) = FIRST.iter().find(|(name, ..)| *name == table.name) else {
        return;
    };
    let file = format!("{}.csv", table.name);
    report.heading("What a household would change first");
    report.points(advice.iter().map(|s| (*s).to_owned()).collect());
    report.text(format!(
        "Two lines make {file} in the garden's folder, with your own figures in place of these; only columns that differ are needed:"
    ));
    for line in own_lines(table, row) {
        report.text(line);
    }
}

/// Returns the header and the row for the household's own table, with the figures in force.
fn own_lines(table: &TextTable, row: &TextRow) -> [String; 2] {
    let wanted = FIRST
        .iter()
        .find(|(name, ..)| *name == table.name)
        .map_or(&[][..], |(_, columns, _)| columns);
    let mut header = vec![table.columns[0].clone()];
    let mut cells = vec![row.cells[0].clone()];
    for column in wanted {
        let at = table.columns.iter().position(|c| c == column);
        let value = at.map_or("", |at| row.cells[at].as_str());
        // A crop that is never set out has no days from setting out to change.
        if !value.is_empty() {
            header.push((*column).to_owned());
            cells.push(value.to_owned());
        }
    }
    [header.join(","), cells.join(",")]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::UnitSystem;
    use crate::input::{load_files, sample};
    use crate::output::report::Page;
    use crate::output::terminal::render;

    #[test]
    fn temperatures_are_shown_on_both_scales() {
        assert_eq!(with_unit("4.4", "°C"), "4.4 °C (40 °F)");
        assert_eq!(with_unit("12", "°F"), "12 °F (−11 °C)");
        assert_eq!(with_unit("14", "days"), "14 days");
        assert_eq!(with_unit("-1.1", "°C"), "−1.1 °C (30 °F)");
        assert_eq!(with_unit("basil 0.5-1", ""), "basil 0.5-1");
    }

    /// Every row of every table fits the page, cites what it rests on, and its two lines are read back without a fault.
    #[test]
    fn every_row_can_be_shown_and_its_lines_taken_over() {
        let mut files = sample::files();
        files.content.remove("crops.csv");
        files.content.remove("goals.csv");
        files.content.remove("products.csv");
        let tables = load_files(&files).unwrap().tables;
        let page = Page {
            width: 110,
            units: UnitSystem::Us,
        };
        for table in [&tables.crops, &tables.methods, &tables.products] {
            for row in &table.rows {
                let name = &row.cells[0];
                let shown = render(&report(table, row, tables.sources).people, page);
                for line in shown.lines() {
                    assert!(crate::output::text::width(line) <= 110, "{name}: {line}");
                }
                let lines = own_lines(table, row);
                assert!(
                    lines.iter().all(|line| shown.contains(line.as_str())),
                    "{name}: {lines:?}\n{shown}"
                );
                let mut own = files.clone();
                // As it is copied from the screen, with the blank line between.
                let text = format!("{}\n\n{}\n", lines[0], lines[1]);
                own.content
                    .insert(format!("{}.csv", table.name), text.into_bytes());
                let taken = load_files(&own);
                assert!(taken.is_ok(), "{name}: {:?}", taken.err());
            }
        }
    }
}
