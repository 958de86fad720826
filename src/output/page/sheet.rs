//! Sheets for the wall: each fits one printed side of A4 or US Letter and says when it was made.
//!
//! Besides what a verb tells people there are boxes to write in and boxes to tick.

use super::{fit, parts};
use crate::garden::UnitSystem;
use crate::output::report::Part;
use crate::output::text::escaped;

/// A printed side.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Its place in the page's address, one word.
    pub id: &'static str,
    /// What it is.
    pub title: String,
    /// When it was made and until when it is good.
    pub made: String,
    /// What stands on it.
    pub pieces: Vec<SheetPiece>,
}

/// One piece of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum SheetPiece {
    /// A heading, a paragraph, points or a table.
    Part(Part),
    /// A table to be written in.
    Boxes(Boxes),
    /// Containers to be ticked.
    Tally(Tally),
}

/// A table to be written in: named rows, headed columns, empty boxes.
#[derive(Debug, Clone, PartialEq)]
pub struct Boxes {
    /// What the table is for.
    pub title: String,
    /// Words above the names.
    pub names: String,
    /// Words above the boxes.
    pub heads: Vec<String>,
    /// Names of the rows, each with a lesser word beside it.
    pub rows: Vec<(String, String)>,
    /// Rows without a name below them.
    pub blank: usize,
}

/// Containers to be ticked, a row a product.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// What the table is for.
    pub title: String,
    /// Words above products, containers there, goal, oldest and boxes.
    pub heads: [&'static str; 5],
    /// Products.
    pub rows: Vec<TallyRow>,
}

/// A product of a [`Tally`].
#[derive(Debug, Clone, PartialEq)]
pub struct TallyRow {
    /// Its name.
    pub name: String,
    /// What it is kept in.
    pub container: String,
    /// Containers there.
    pub there: String,
    /// Containers wanted.
    pub goal: String,
    /// Day on which the oldest was made.
    pub oldest: String,
    /// Boxes that are ticked already.
    pub ticked: usize,
    /// Boxes to be ticked.
    pub open: usize,
    /// Containers a box stands for.
    pub each: usize,
}

/// Least and greatest height of a row to write in, mm.
const WRITE_MM: (f64, f64) = (7.6, 12.0);
/// Sizes of the type of names beside rows to write in, points: the greatest with which a name stays in its row.
const WRITE_PT: [f64; 5] = [11.0, 10.0, 9.0, 8.0, 7.0];
/// Width of the column of names beside rows to write in, mm, less its padding. That of the style.
const NAMES_MM: f64 = 50.0;
/// Width of a box with what parts it from the next, mm; its height is the same. That of the style.
const TICK_MM: f64 = 5.2;
/// Width of the column of boxes, mm. That of the style.
const TICKS_MM: f64 = 73.0;
/// Width of the column of products, mm, less its padding.
const PRODUCT_MM: f64 = 54.0;

/// Writes a sheet.
pub(super) fn render(out: &mut String, sheet: &Sheet, units: UnitSystem) {
    let written: Vec<&Part> = sheet
        .pieces
        .iter()
        .filter_map(|piece| match piece {
            SheetPiece::Part(part) => Some(part),
            SheetPiece::Boxes(_) | SheetPiece::Tally(_) => None,
        })
        .collect();
    let size = fit::size(|pt| {
        let boxes: f64 = sheet.pieces.iter().map(|piece| height_mm(piece, pt)).sum();
        boxes + fit::height_mm(&written, units, pt)
    });
    let left = fit::left_mm(fit::height_mm(&written, units, size));
    let (id, title) = (sheet.id, escaped(&sheet.title));
    out.push_str(&format!(
        "<section class=\"sheet\" id=\"{id}\" aria-labelledby=\"{id}-title\" style=\"font-size:{size}pt\">\n\
         <h2 id=\"{id}-title\">{title}</h2>\n<p class=\"made\">{}</p>\n",
        parts::inline(&sheet.made)
    ));
    for piece in &sheet.pieces {
        match piece {
            SheetPiece::Part(part) => parts::part(out, part, &sheet.title, units),
            SheetPiece::Boxes(boxes) => write_in(out, boxes, left),
            SheetPiece::Tally(tally) => tick(out, tally),
        }
    }
    out.push_str("</section>\n");
}

/// Returns the least height of what is written in or ticked in a size of type; parts have none here.
fn height_mm(piece: &SheetPiece, pt: f64) -> f64 {
    match piece {
        SheetPiece::Part(_) => 0.0,
        SheetPiece::Boxes(boxes) => WRITE_MM.0 * rows(boxes),
        SheetPiece::Tally(tally) => {
            let rows = tally.rows.iter().map(|row| {
                let ticks = (row.ticked + row.open) as f64 * TICK_MM / TICKS_MM;
                let each = if row.each > 1 {
                    fit::cell_mm(1, TICKS_MM, pt)
                } else {
                    0.0
                };
                let letters = row.name.chars().count() + row.container.chars().count() + 1;
                let name = fit::cell_mm(letters, PRODUCT_MM, pt);
                name.max(ticks.ceil().max(1.0) * TICK_MM + each) + 2.2
            });
            rows.sum::<f64>() + fit::cell_mm(1, TICKS_MM, pt) + 3.0
        }
    }
}

/// Returns the rows to write in, with that of the headings, which is higher.
fn rows(boxes: &Boxes) -> f64 {
    (boxes.rows.len() + boxes.blank) as f64 + 1.5
}

fn write_in(out: &mut String, boxes: &Boxes, room_mm: f64) {
    let row = (room_mm / rows(boxes)).clamp(WRITE_MM.0, WRITE_MM.1);
    let title = escaped(&boxes.title);
    out.push_str(&format!(
        "<table class=\"boxes\" style=\"--row:{row:.1}mm\">\n<caption class=\"unseen\">{title}</caption>\n<thead>\n<tr><th scope=\"col\">{}</th>",
        escaped(&boxes.names)
    ));
    for head in &boxes.heads {
        out.push_str(&format!("<th scope=\"col\">{}</th>", escaped(head)));
    }
    out.push_str("</tr>\n</thead>\n<tbody>\n");
    let empty = "<td></td>".repeat(boxes.heads.len());
    for (name, beside) in &boxes.rows {
        let letters = name.chars().count() + beside.chars().count() + 1;
        let size = WRITE_PT
            .into_iter()
            .find(|&pt| fit::cell_mm(letters, NAMES_MM, pt) <= WRITE_MM.0)
            .unwrap_or(WRITE_PT[WRITE_PT.len() - 1]);
        out.push_str(&format!(
            "<tr><th scope=\"row\"><div style=\"font-size:{size}pt\">{} <small>{}</small></div></th>{empty}</tr>\n",
            escaped(name),
            escaped(beside)
        ));
    }
    for _ in 0..boxes.blank {
        out.push_str(&format!("<tr><td></td>{empty}</tr>\n"));
    }
    out.push_str("</tbody>\n</table>\n");
}

fn tick(out: &mut String, tally: &Tally) {
    let title = escaped(&tally.title);
    out.push_str(&format!(
        "<table class=\"tally\">\n<caption class=\"unseen\">{title}</caption>\n<thead>\n<tr>"
    ));
    for (head, class) in tally
        .heads
        .iter()
        .zip(["", " class=\"n\"", " class=\"n\"", "", ""])
    {
        out.push_str(&format!("<th scope=\"col\"{class}>{}</th>", escaped(head)));
    }
    out.push_str("</tr>\n</thead>\n<tbody>\n");
    for row in &tally.rows {
        let boxes = format!(
            "{}{}",
            "<span class=\"box\">×</span>".repeat(row.ticked),
            "<span class=\"box\"></span>".repeat(row.open)
        );
        let each = if row.each > 1 {
            format!(" <small>a box is {} of them</small>", row.each)
        } else {
            String::new()
        };
        out.push_str(&format!(
            "<tr><th scope=\"row\">{} <small>{}</small></th><td class=\"n\">{}</td><td class=\"n\">{}</td>\
             <td class=\"k\">{}</td><td><span class=\"ticks\" aria-hidden=\"true\">{boxes}</span>{each}</td></tr>\n",
            escaped(&row.name),
            escaped(&row.container),
            escaped(&row.there),
            escaped(&row.goal),
            escaped(&row.oldest),
        ));
    }
    out.push_str("</tbody>\n</table>\n");
}
