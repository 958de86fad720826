//! One self-contained page of HTML from values: sections of paragraphs, tables and charts, or sheets for the printer.
//!
//! No script, no outside file, no font and no picture from elsewhere; a policy in the head forbids them. Every text is
//! escaped here and nowhere else. Marks and roles follow the HTML Living Standard and WAI-ARIA. Knows no files and no clock.

mod fit;
mod parts;
mod sheet;

pub use sheet::{Boxes, Sheet, SheetPiece, Tally, TallyRow};

use super::chart::{Svg, dark_rules};
use super::report::Part;
use super::table::Table;
use super::text::escaped;
use crate::garden::UnitSystem;

/// The style of both kinds of page.
const STYLE: &str = include_str!("style.css");

/// What the page may load: nothing but the style in its own head and pictures written out in it.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";

/// A page before it is text.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Its one first heading.
    pub title: String,
    /// Sentences under it.
    pub lead: Vec<String>,
    /// What it holds, from top to bottom.
    pub body: Body,
    /// Small print at the end.
    pub foot: String,
    /// Units of amounts.
    pub units: UnitSystem,
}

/// What a page holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// Sections to be read on a screen or printed one after another.
    Sections(Vec<Section>),
    /// Sheets to hang up, each on a printed side of its own.
    Sheets(Vec<Sheet>),
}

/// A section of a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Its place in the page's address, one word.
    pub id: &'static str,
    /// Its heading.
    pub title: String,
    /// What it holds.
    pub pieces: Vec<Piece>,
}

impl Section {
    /// Makes an empty section.
    #[must_use]
    pub fn new(id: &'static str, title: &str) -> Self {
        Self {
            id,
            title: title.to_owned(),
            pieces: Vec::new(),
        }
    }
    /// Adds a lower heading.
    pub fn heading(&mut self, words: &str) {
        self.pieces
            .push(Piece::Part(Part::Heading(words.to_owned())));
    }
    /// Adds a paragraph.
    pub fn text(&mut self, sentences: impl Into<String>) {
        self.pieces.push(Piece::Part(Part::Text(sentences.into())));
    }
    /// Adds points; nothing if there are none.
    pub fn points(&mut self, points: Vec<String>) {
        if !points.is_empty() {
            self.pieces.push(Piece::Part(Part::Points(points)));
        }
    }
    /// Adds a table; nothing if it has no rows.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.pieces.push(Piece::Part(Part::Table(table)));
        }
    }
    /// Adds a chart, drawn broad and narrow, with the tables behind it.
    pub fn figure(&mut self, broad: Svg, narrow: Svg, behind: Vec<Table>) {
        self.pieces.push(Piece::Figure {
            broad,
            narrow,
            behind,
        });
    }
    /// Adds all parts of what a verb tells people.
    pub fn parts(&mut self, parts: impl IntoIterator<Item = Part>) {
        self.pieces.extend(parts.into_iter().map(Piece::Part));
    }
}

/// One piece of a section.
#[derive(Debug, Clone, PartialEq)]
pub enum Piece {
    /// A heading, a paragraph, points or a table.
    Part(Part),
    /// A chart and the same in figures.
    Figure {
        /// The chart for a desk and for paper.
        broad: Svg,
        /// The same for a phone.
        narrow: Svg,
        /// The tables behind it.
        behind: Vec<Table>,
    },
}

/// Writes a page.
#[must_use]
pub fn render(page: &Document) -> String {
    let mut out = String::new();
    let title = escaped(&page.title);
    let kind = match &page.body {
        Body::Sections(_) => "page",
        Body::Sheets(_) => "sheets",
    };
    out.push_str(&format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"robots\" content=\"noindex\">\n\
         <title>{title}</title>\n<style>\n{STYLE}@media screen and (prefers-color-scheme: dark) {{\n{}}}\n</style>\n\
         </head>\n<body class=\"{kind}\">\n<a class=\"skip\" href=\"#main\">To the contents</a>\n<header>\n<h1>{title}</h1>\n",
        dark_rules()
    ));
    for sentence in &page.lead {
        out.push_str(&format!("<p>{}</p>\n", parts::inline(sentence)));
    }
    out.push_str("</header>\n");
    let contents: Vec<(&str, &str)> = match &page.body {
        Body::Sections(all) => all.iter().map(|s| (s.id, s.title.as_str())).collect(),
        Body::Sheets(all) => all.iter().map(|s| (s.id, s.title.as_str())).collect(),
    };
    out.push_str("<nav aria-label=\"On this page\">\n<ul>\n");
    for (id, title) in contents {
        out.push_str(&format!(
            "<li><a href=\"#{id}\">{}</a></li>\n",
            escaped(title)
        ));
    }
    out.push_str("</ul>\n</nav>\n<main id=\"main\">\n");
    match &page.body {
        Body::Sections(all) => all.iter().for_each(|s| section(&mut out, s, page.units)),
        Body::Sheets(all) => all
            .iter()
            .for_each(|s| sheet::render(&mut out, s, page.units)),
    }
    out.push_str(&format!(
        "</main>\n<footer>\n<p>{}</p>\n</footer>\n</body>\n</html>\n",
        parts::inline(&page.foot)
    ));
    out
}

fn section(out: &mut String, section: &Section, units: UnitSystem) {
    let (id, title) = (section.id, escaped(&section.title));
    out.push_str(&format!(
        "<section id=\"{id}\" aria-labelledby=\"{id}-title\">\n<h2 id=\"{id}-title\">{title}</h2>\n"
    ));
    for piece in &section.pieces {
        match piece {
            Piece::Part(part) => parts::part(out, part, &section.title, units),
            Piece::Figure {
                broad,
                narrow,
                behind,
            } => figure(out, [broad, narrow], behind, &section.title, units),
        }
    }
    out.push_str("</section>\n");
}

/// Writes both drawings of a chart: the style shows the one that the screen has room for, and hides the other from everybody.
fn figure(
    out: &mut String,
    [broad, narrow]: [&Svg; 2],
    behind: &[Table],
    section: &str,
    units: UnitSystem,
) {
    let section = escaped(section);
    out.push_str("<figure>\n");
    for (class, svg) in [("broad", broad), ("narrow", narrow)] {
        let svg = svg.text().trim_end();
        out.push_str(&format!("<div class=\"chart {class}\">\n{svg}\n</div>\n"));
    }
    out.push_str("<details>\n<summary>The chart in figures</summary>\n");
    for table in behind {
        parts::table(out, table, &section, units);
    }
    out.push_str("</details>\n</figure>\n");
}
