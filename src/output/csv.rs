//! Facts as CSV: a header line and flat rows, in SI and in full.
//!
//! RFC 4180 quoting and commas, but lines end in LF alone: the garden's own files and the usual comparing tools expect that,
//! and spreadsheets read it as well. Numbers take the shortest decimal that reads back to the same value.
//! Text that a spreadsheet would take for a formula is kept text by an apostrophe before it; numbers never need one.

use super::report::Facts;
use super::table::{Cell, Fact};
use super::text::is_steering;

/// Writes header and rows.
#[must_use]
pub fn render(facts: &Facts) -> String {
    let mut writer = ::csv::WriterBuilder::new()
        .terminator(::csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    let header: Vec<String> = facts.keys.iter().map(|key| guarded(key)).collect();
    let rows = facts.rows.iter().map(|row| row.iter().map(field).collect());
    for record in std::iter::once(header).chain(rows) {
        writer
            .write_record(&record)
            .expect("rows have one cell for each key, and memory takes every write");
    }
    let bytes = writer.into_inner().expect("memory takes every write");
    String::from_utf8(bytes).expect("fields are UTF-8")
}

fn field(cell: &Cell) -> String {
    match cell.for_machines() {
        Fact::Nothing => String::new(),
        Fact::Text(text) => guarded(&text),
        Fact::Number(number) => number.to_string(),
        Fact::Whole(number) => number.to_string(),
        Fact::Bool(yes) => yes.to_string(),
    }
}

/// Returns text no spreadsheet takes for a formula, and without characters that steer a terminal.
///
/// Text that already begins with apostrophes and a formula sign gets one more, so that [`unguarded`] always finds the way back.
#[must_use]
pub fn guarded(text: &str) -> String {
    let harmless = harmless(text);
    if begins_formula(&harmless) {
        format!("'{harmless}")
    } else {
        harmless
    }
}

/// Returns text without characters that steer a terminal; line ends and tabs stay.
pub(super) fn harmless(text: &str) -> String {
    let steers = |c: char| is_steering(c) && !matches!(c, '\n' | '\r' | '\t');
    let kept = |c| if steers(c) { '\u{FFFD}' } else { c };
    text.chars().map(kept).collect()
}

/// Takes the apostrophe away that [`guarded`] put there.
#[must_use]
pub fn unguarded(field: &str) -> &str {
    match field.strip_prefix('\'') {
        Some(rest) if begins_formula(rest) => rest,
        _ => field,
    }
}

/// Says whether text begins, behind any apostrophes, with a sign that spreadsheets take for a formula; full-width signs included.
fn begins_formula(text: &str) -> bool {
    text.trim_start_matches('\'')
        .starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::garden::units::{Mass, Minutes};
    use proptest::prelude::*;

    #[test]
    fn rows_in_si_and_in_full() {
        let mut facts = Facts::new(&[
            "crop",
            "kg_p50",
            "hours_p50",
            "chance_over",
            "containers",
            "first",
        ]);
        facts.push(vec![
            Cell::text("bean, \"bush\""),
            Cell::Mass(Mass::from_lb(1.0)),
            Cell::Hours(Minutes::from_min(100.0)),
            Cell::Chance(0.1 + 0.2),
            Cell::Count(-3),
            Cell::Empty,
        ]);
        facts.push(vec![
            Cell::text("=1+1"),
            Cell::Number(f64::NAN, 0),
            Cell::Number(-2.5, 0),
            Cell::Bool(false),
            Cell::Empty,
            Cell::Empty,
        ]);
        assert_eq!(
            render(&facts),
            "crop,kg_p50,hours_p50,chance_over,containers,first\n\
             \"bean, \"\"bush\"\"\",0.45359237,1.6666666666666667,0.30000000000000004,-3,\n\
             '=1+1,,-2.5,false,,\n"
        );
    }

    #[test]
    fn an_empty_report_keeps_its_header() {
        assert_eq!(render(&Facts::new(&["week", "crop"])), "week,crop\n");
    }

    #[test]
    fn formula_signs_are_guarded() {
        for text in ["=A1", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", "＝1", "'=1"] {
            assert_eq!(guarded(text), format!("'{text}"));
            assert_eq!(unguarded(&guarded(text)), text);
        }
        for text in ["kale", "'Brandy'", "a=b", "", "1-2", "½"] {
            assert_eq!(guarded(text), text);
            assert_eq!(unguarded(text), text);
        }
    }

    proptest! {
        /// The csv crate is the outside reader; text and numbers come back as they were, but for steering characters.
        #[test]
        fn round_trip(words in prop::collection::vec("[ -~\\n\\t'=+@¼-¾а-я-]{0,12}", 1..6), number in prop::num::f64::NORMAL) {
            let mut facts = Facts::new(&["words", "number"]);
            for word in &words {
                facts.push(vec![Cell::text(word.clone()), Cell::Number(number, 2)]);
            }
            let text = render(&facts);
            let mut reader = ::csv::Reader::from_reader(text.as_bytes());
            let rows: Vec<::csv::StringRecord> = reader.records().map(Result::unwrap).collect();
            prop_assert_eq!(rows.len(), words.len());
            for (row, word) in rows.iter().zip(&words) {
                prop_assert_eq!(unguarded(&row[0]), word.as_str());
                prop_assert_eq!(row[1].parse::<f64>().unwrap(), number);
            }
        }
    }
}
