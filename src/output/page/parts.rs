//! Paragraphs, points and tables as HTML, everything escaped.

use crate::garden::UnitSystem;
use crate::output::report::Part;
use crate::output::table::{Align, Table};
use crate::output::text::{escaped, width};

/// Columns whose cells are all so short, in letters, do not break: dates, figures, ranges, plain names.
const SHORT: usize = 15;

/// Writes a sentence; what stands between backticks is set as a command.
pub(super) fn inline(sentence: &str) -> String {
    let pieces: Vec<&str> = sentence.split('`').collect();
    // A lone backtick at the end is no command.
    let paired = pieces.len() - (1 - pieces.len() % 2);
    let mut out = String::new();
    for (i, piece) in pieces.iter().enumerate() {
        let piece = escaped(piece);
        if i % 2 == 1 && i < paired {
            out.push_str(&format!("<code>{piece}</code>"));
        } else if i % 2 == 1 {
            out.push_str(&format!("`{piece}"));
        } else {
            out.push_str(&piece);
        }
    }
    out
}

/// Writes one part; `section` names tables that have no title of their own.
pub(super) fn part(out: &mut String, part: &Part, section: &str, units: UnitSystem) {
    match part {
        Part::Heading(words) => out.push_str(&format!("<h3>{}</h3>\n", escaped(words))),
        Part::Text(sentences) => out.push_str(&format!("<p>{}</p>\n", inline(sentences))),
        Part::Points(points) => {
            out.push_str("<ul>\n");
            for point in points {
                out.push_str(&format!("<li>{}</li>\n", inline(point)));
            }
            out.push_str("</ul>\n");
        }
        Part::Table(one) => table(out, one, section, units),
    }
}

/// Writes a table that scrolls in itself where it is wider than the page.
pub(super) fn table(out: &mut String, table: &Table, section: &str, units: UnitSystem) {
    let first = table.columns.first().map_or("", |c| c.heading.as_str());
    let (caption, class) = match &table.title {
        Some(title) => (escaped(title), ""),
        None => (escaped(&format!("{section}: {first}")), " class=\"unseen\""),
    };
    out.push_str(&format!(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{caption}\">\n<table>\n<caption{class}>{caption}</caption>\n"
    ));
    let columns: Vec<(String, Vec<String>)> = (0..table.columns.len())
        .map(|i| table.column_for_people(i, units))
        .collect();
    let class_of = |i: usize| {
        let short = columns[i].1.iter().all(|cell| width(cell) <= SHORT);
        match (table.columns[i].align == Align::Right, short) {
            (true, true) => " class=\"n k\"",
            (true, false) => " class=\"n\"",
            (false, true) => " class=\"k\"",
            (false, false) => "",
        }
    };
    let classes: Vec<&str> = (0..columns.len()).map(class_of).collect();
    out.push_str("<thead>\n<tr>");
    for (i, (heading, _)) in columns.iter().enumerate() {
        out.push_str(&cell("th scope=\"col\"", classes[i], heading));
    }
    out.push_str("</tr>\n</thead>\n<tbody>\n");
    for row in 0..table.rows.len() {
        out.push_str("<tr>");
        for (i, (_, cells)) in columns.iter().enumerate() {
            let kind = if i == 0 { "th scope=\"row\"" } else { "td" };
            out.push_str(&cell(kind, classes[i], &cells[row]));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
    for note in &table.notes {
        out.push_str(&format!("<p class=\"note\">{}</p>\n", inline(note)));
    }
}

/// Writes a cell; one without words heads nothing.
fn cell(kind: &str, class: &str, words: &str) -> String {
    let kind = if words.is_empty() { "td" } else { kind };
    let name = kind.split(' ').next().unwrap_or(kind);
    format!("<{kind}{class}>{}</{name}>", inline(words))
}
