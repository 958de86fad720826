//! Reports as plain text: paragraphs wrapped, tables without boxes so that they read as well in a log as on a screen.
//!
//! The width is an argument; nothing here asks a terminal. No colour and no control character is ever written.

use super::report::{Page, Part};
use super::table::{Align, Table, UnitPlace};
use super::text::{visible, wrap};
use crate::garden::UnitSystem;
use comfy_table::{
    CellAlignment, ColumnConstraint, ContentArrangement, ContentLineStyle, LineStyle, TableStyle,
    Width,
};

/// Narrowest page: below it words would break inside, so lines rather run over.
const NARROWEST: usize = 40;

/// Longest word that may widen a column: longer ones, such as a pasted address, break.
const LONGEST_WORD: usize = 24;

/// Columns two blanks apart, one rule below the headings.
const PLAIN: TableStyle = TableStyle::new()
    .header_lines(ContentLineStyle::none().junction(' '))
    .content_lines(ContentLineStyle::none().junction(' '))
    .header_separator(LineStyle::none().fill('-').junction('-'));

/// Writes the parts one under the other, a blank line between them; ends with a line end unless there is nothing.
#[must_use]
pub fn render(parts: &[Part], page: Page) -> String {
    let blocks: Vec<String> = parts.iter().map(|part| block(part, page)).collect();
    let mut text = String::new();
    for (i, block) in blocks.iter().enumerate() {
        // A heading belongs to what follows it.
        let follows_heading = i > 0 && matches!(parts[i - 1], Part::Heading(_));
        if i > 0 && !follows_heading {
            text.push('\n');
        }
        text.push_str(block);
        text.push('\n');
    }
    text
}

fn block(part: &Part, page: Page) -> String {
    let width = page.width.max(NARROWEST);
    match part {
        Part::Heading(words) => wrap(&visible(words), width, "", ""),
        Part::Text(sentences) => paragraph(sentences, width),
        Part::Points(points) => {
            let points: Vec<String> = points
                .iter()
                .map(|p| wrap(&visible(p), width, "- ", "  "))
                .collect();
            points.join("\n")
        }
        Part::Table(table) => tabled(table, width, page.units),
    }
}

fn paragraph(sentences: &str, width: usize) -> String {
    wrap(&visible(sentences), width, "", "")
}

fn tabled(table: &Table, width: usize, units: UnitSystem) -> String {
    let mut out = comfy_table::Table::new();
    out.load_style(PLAIN)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX));

    let columns: Vec<(String, Vec<String>)> = (0..table.columns.len())
        .map(|i| column_text(table, i, units))
        .collect();
    out.set_header(
        columns
            .iter()
            .map(|(heading, _)| comfy_table::Cell::new(heading)),
    );
    for row in 0..table.rows.len() {
        out.add_row(
            columns
                .iter()
                .map(|(_, cells)| comfy_table::Cell::new(&cells[row])),
        );
    }
    for (i, column) in table.columns.iter().enumerate() {
        let out_column = out.column_mut(i).expect("the header has every column");
        let last = i + 1 == table.columns.len();
        out_column.set_padding((0, u16::from(!last)));
        // A column is never so narrow that a word breaks inside; the page runs over instead.
        let longest = columns[i]
            .1
            .iter()
            .chain([&columns[i].0])
            .flat_map(|text| text.split(' '))
            .map(super::text::width)
            .max()
            .unwrap_or(0)
            .min(LONGEST_WORD);
        let least = u16::try_from(longest).unwrap_or(u16::MAX) + u16::from(!last);
        out_column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least)));
        out_column.set_cell_alignment(match column.align {
            Align::Left => CellAlignment::Left,
            Align::Right => CellAlignment::Right,
        });
    }

    let mut lines: Vec<String> = Vec::new();
    lines.extend(table.title.iter().map(|title| paragraph(title, width)));
    if !table.columns.is_empty() {
        lines.extend(
            out.lines()
                .map(|line| line.replace('\u{A0}', " ").trim_end().to_owned()),
        );
    }
    lines.extend(table.notes.iter().map(|note| paragraph(note, width)));
    lines.join("\n")
}

/// Returns the heading and the cells of one column, figures lined up for a fixed-width page.
fn column_text(table: &Table, index: usize, units: UnitSystem) -> (String, Vec<String>) {
    let (heading, mut cells) = table.column_for_people(index, units);
    let column = &table.columns[index];
    if column.align == Align::Right && column.unit == UnitPlace::Heading {
        line_up_fractions(&mut cells);
    }
    (heading, cells)
}

/// Keeps whole digits under whole digits where some figures of a column end in a fraction sign.
fn line_up_fractions(cells: &mut [String]) {
    let ends_in_fraction = |cell: &String| cell.ends_with(['¼', '½', '¾']);
    if cells.iter().any(ends_in_fraction) {
        for cell in cells.iter_mut().filter(|cell| !ends_in_fraction(cell)) {
            // A no-break space, because ordinary ones are trimmed from cells; it becomes ordinary in the finished line.
            cell.push('\u{A0}');
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::table::{Cell, Column};
    use super::super::text;
    use super::*;
    use crate::garden::units::{Mass, Minutes};
    use crate::garden::week::Week;

    fn sample() -> Table {
        let mut table = Table::new(vec![
            Column::figure("week", "Week of"),
            Column::measured("hours_p50", "Hours needed"),
            Column::measured("capacity_hours", "Hours you have"),
            Column::figure("chance_over", "Over"),
            Column::text("drivers", "Mostly"),
        ])
        .titled("Hours needed against hours you have");
        let monday: chrono::NaiveDate = "2026-08-03".parse().unwrap();
        for (i, (need, have, over, why)) in [
            (3.7, 5.5, 0.1, "green bean"),
            (8.0, 5.5, 0.82, "tomato, green bean"),
            (0.0, 5.5, 0.0, ""),
        ]
        .into_iter()
        .enumerate()
        {
            table.push(vec![
                Cell::Week(Week::of(monday).plus(i64::try_from(i).unwrap())),
                Cell::Hours(Minutes::from_hours(need)),
                Cell::Hours(Minutes::from_hours(have)),
                Cell::Chance(over),
                if why.is_empty() {
                    Cell::Empty
                } else {
                    Cell::text(why)
                },
            ]);
        }
        table.note("Demo figures, invented.");
        table
    }

    fn us(width: usize) -> Page {
        Page {
            width,
            units: UnitSystem::Us,
        }
    }

    #[test]
    fn a_table_reads_like_this() {
        let parts = [
            Part::Heading("Kitchen".into()),
            Part::Table(sample()),
            Part::Points(vec!["First.".into(), "Second.".into()]),
        ];
        let text = render(&parts, us(80));
        let want = "\
Kitchen
Hours needed against hours you have
Week of  Hours needed (h)  Hours you have (h)     Over  Mostly
--------------------------------------------------------------------------
  3 Aug                3¾                  5½  1 in 10  green bean
 10 Aug                8                   5½  8 in 10  tomato, green bean
 17 Aug                0                   5½  0 in 10  –
Demo figures, invented.

- First.
- Second.
";
        assert_eq!(text, want, "\n{text}");
    }

    #[test]
    fn metric_units_stand_in_cells_or_heading() {
        let mut table = Table::new(vec![
            Column::text("crop", "Crop"),
            Column::figure("kg", "Ready"),
            Column::measured("kg2", "Lost"),
        ]);
        table.push(vec![
            Cell::text("okra"),
            Cell::Mass(Mass::from_kg(2.0)),
            Cell::Mass(Mass::from_kg(0.5)),
        ]);
        let metric = render(
            &[Part::Table(table.clone())],
            Page {
                width: 80,
                units: UnitSystem::Metric,
            },
        );
        assert!(
            metric.contains("Lost (kg)") && metric.contains("2.0 kg") && !metric.contains("0.5 kg"),
            "{metric}"
        );
    }

    #[test]
    fn lines_keep_to_the_page_and_wide_letters_line_up() {
        for width in [40, 60, 80, 132] {
            let text = render(
                &[Part::Table(sample()), Part::Text("many words ".repeat(40))],
                us(width),
            );
            for line in text.lines() {
                assert!(text::width(line) <= width, "{width}: {line}");
            }
        }
        let mut table = Table::new(vec![Column::text("bed", "Bed"), Column::text("x", "Crop")]);
        for bed in ["白菜畑", "грядка", "Möhre"] {
            table.push(vec![Cell::text(bed), Cell::text("|")]);
        }
        let text = render(&[Part::Table(table)], us(80));
        let columns: Vec<usize> = text
            .lines()
            .skip(2)
            .map(|l| text::width(&l[..l.find('|').unwrap()]))
            .collect();
        assert_eq!(columns, [8, 8, 8], "{text}");
    }

    #[test]
    fn no_control_character_reaches_the_screen() {
        let mut table = Table::new(vec![Column::text("bed", "Bed\u{1b}[31m")]).titled("a\u{9b}b");
        table.push(vec![Cell::text("A\u{1b}]0;gone\u{7}\nB")]);
        table.note("\u{202E}note");
        let parts = [
            Part::Table(table),
            Part::Heading("\u{1b}c".into()),
            Part::Points(vec!["\u{8}".into()]),
            Part::Text("\r\u{1b}".into()),
        ];
        let text = render(&parts, us(80));
        assert!(
            text.chars().all(|c| c == '\n' || !text::is_steering(c)),
            "{text:?}"
        );
    }

    #[test]
    fn nothing_is_nothing() {
        assert_eq!(render(&[], us(80)), "");
        assert_eq!(render(&[Part::Table(Table::default())], us(80)), "\n");
    }
}
