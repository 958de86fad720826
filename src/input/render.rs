//! Problems as text for people: place, line, mark, expectation, cure; a long list is cut with its counts told.
//!
//! Knows nothing of how problems are found. Colour is off unless asked for.

use super::problem::{Kind, Problem};
use super::split::split;
use super::workbook::letters;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Problems shown in full before the rest is only counted.
const SHOWN: usize = 20;
/// Problems of one kind in one file shown in full, so that one slip repeated in every row does not hide the others.
const SHOWN_OF_A_KIND: usize = 5;
/// Columns of the picture of a line; longer lines are cut around the mark.
const WIDTH: usize = 100;

/// Renders one problem.
#[must_use]
pub fn render(problem: &Problem, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    }
    .term_width(WIDTH);
    let title = Level::ERROR
        .with_name("problem")
        .primary_title(safe(&problem.message))
        .id(problem.kind.code());
    let label = match (&problem.column, problem.expected.as_str()) {
        (Some(column), "") => safe(column),
        (Some(column), expected) => safe(&format!("{column}: expected {expected}")),
        (None, "") => String::new(),
        (None, expected) => safe(&format!("expected {expected}")),
    };
    let hint = problem
        .hint
        .as_ref()
        .map(|hint| Level::HELP.with_name("hint").message(safe(hint)));
    // Tabs and odd characters become blanks of the same number of bytes, so that the mark stays in its place.
    let text = same_length(&problem.text);
    let text = if text.is_empty() {
        " ".to_owned()
    } else {
        text
    };
    let place = problem.line.and_then(|line| cell(problem, line));
    let group = match problem.line {
        Some(line) => {
            let mark = AnnotationKind::Primary.span(visible(&problem.span, &text));
            let mark = if label.is_empty() {
                mark
            } else {
                mark.label(label)
            };
            let snippet = Snippet::source(text.clone())
                .line_start(line)
                .annotation(mark);
            title.element(snippet.path(safe(place.as_ref().unwrap_or(&problem.file))))
        }
        None => {
            let group = title.element(annotate_snippets::Origin::path(safe(&problem.file)));
            if label.is_empty() {
                group
            } else {
                group.element(
                    Level::NOTE
                        .with_name("expected")
                        .message(label.trim_start_matches("expected ").to_owned()),
                )
            }
        }
    };
    let group = group.elements(hint);
    let mut out = renderer.render(&[group]);
    if let Some(place) = place {
        out = without_counts(&out, &safe(&place));
    }
    out.push('\n');
    out
}

/// Takes line and column away behind a place that names the cell already.
fn without_counts(rendered: &str, place: &str) -> String {
    let Some((before, after)) = rendered.split_once(place) else {
        return rendered.to_owned();
    };
    let after = after.trim_start_matches(|c: char| c == ':' || c.is_ascii_digit());
    format!("{before}{place}{after}")
}

/// Renders a list of problems in the order of the files, cut after the first few, with the rest counted by kind.
#[must_use]
pub fn render_all(problems: &[Problem], colour: bool) -> String {
    let mut out = String::new();
    let mut of_a_kind: BTreeMap<(&str, Kind), usize> = BTreeMap::new();
    let mut left: BTreeMap<(&str, Kind), (usize, usize)> = BTreeMap::new();
    let mut shown = 0;
    for problem in problems {
        let key = (problem.file.as_str(), problem.kind);
        let count = of_a_kind.entry(key).or_default();
        if shown < SHOWN && (*count < SHOWN_OF_A_KIND || problems.len() <= SHOWN) {
            shown += 1;
            *count += 1;
            out.push_str(&render(problem, colour));
            out.push('\n');
        } else {
            let entry = left.entry(key).or_insert((0, problem.line.unwrap_or(1)));
            entry.0 += 1;
        }
    }
    if problems.len() > shown {
        let _ = writeln!(out, "and {} more:", problems.len() - shown);
        for ((file, kind), (n, line)) in &left {
            let _ = writeln!(
                out,
                "  {n} × {} in {}, the first in line {line}: {}",
                kind.code(),
                safe(file),
                kind.about()
            );
        }
    }
    let n = problems.len();
    let _ = writeln!(
        out,
        "{n} problem{}; nothing was changed.",
        if n == 1 { "" } else { "s" }
    );
    out
}

/// Returns the place of a problem with a workbook as its spreadsheet shows it, by cell or by row.
fn cell(problem: &Problem, line: usize) -> Option<String> {
    problem.file.split_once(", sheet ")?;
    let whole = problem.span == (0..problem.text.len());
    let cells = split(&problem.text, 0, b',').cells;
    let place = match cells.iter().position(|c| problem.span.start <= c.end) {
        Some(i) if !whole || cells.len() == 1 => format!("cell {}{line}", letters(i)),
        _ => format!("row {line}"),
    };
    Some(format!("{}, {place}", problem.file))
}

/// Says whether a character moves the cursor, turns the reading direction or cannot be seen.
fn is_odd(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// Replaces what could steer a terminal, so that a file cannot.
fn safe(text: &str) -> String {
    text.chars()
        .map(|c| if is_odd(c) { ' ' } else { c })
        .collect()
}

/// Replaces characters that have no width or would move the cursor by blanks of equal byte length.
fn same_length(text: &str) -> String {
    text.chars()
        .flat_map(|c| {
            let hide = is_odd(c);
            let n = if hide { c.len_utf8() } else { 1 };
            std::iter::repeat_n(if hide { ' ' } else { c }, n)
        })
        .collect()
}

/// Makes sure a mark is at least one character wide and ends on character borders.
fn visible(span: &std::ops::Range<usize>, text: &str) -> std::ops::Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::text::Source;
    use super::*;

    #[test]
    fn a_problem_shows_file_line_column_value_expectation_and_cure() {
        let source = Source::from_text("beds.csv", "bed,length_ft\nÄ 茄,one\n");
        let start = source.text.find("one").unwrap();
        let problem = Problem::at(
            Kind::NotANumber,
            &source,
            start..start + 3,
            "`one` is not a number",
        )
        .column("length_ft")
        .expected("a number of feet, such as 12")
        .hint("write 1");
        let want = "\
problem[not-a-number]: `one` is not a number
 --> beds.csv:2:5
  |
2 | Ä 茄,one
  |      ^^^ length_ft: expected a number of feet, such as 12
  |
  = hint: write 1
";
        assert_eq!(render(&problem, false), want);
        assert!(render(&problem, true).contains('\u{1b}'));
    }

    #[test]
    fn a_long_list_is_cut_and_counted() {
        let source = Source::from_text("beds.csv", "bed\n");
        let problems: Vec<_> = (0..100)
            .map(|_| Problem::at(Kind::NotANumber, &source, 0..3, "x"))
            .collect();
        let text = render_all(&problems, false);
        assert_eq!(text.matches("problem[").count(), SHOWN_OF_A_KIND);
        assert!(text.contains("and 95 more:\n  95 × not-a-number in beds.csv"));
        assert!(text.ends_with("100 problems; nothing was changed.\n"));
    }
}
