//! What a cell that should be a number might be instead, and what to write: spreadsheets' debris, commas, percent, dates, units.
//!
//! Where only one number can be meant the fault carries it as its repair. Knows no columns but the unit at the end of
//! a column's name.

use super::number::{FRACTIONS, decimal, parse, short, tidy};
use super::problem::{Fault, Kind};
use super::units::{convert, unit_of_column};

/// Number words that people type.
const WORDS: [(&str, f64); 14] = [
    ("half", 0.5),
    ("a half", 0.5),
    ("one", 1.0),
    ("two", 2.0),
    ("three", 3.0),
    ("four", 4.0),
    ("five", 5.0),
    ("six", 6.0),
    ("seven", 7.0),
    ("eight", 8.0),
    ("nine", 9.0),
    ("ten", 10.0),
    ("eleven", 11.0),
    ("twelve", 12.0),
];

/// Says what a cell that is no number might be, with a remedy where one is known.
#[must_use]
pub(crate) fn explain(text: &str, column: &str) -> Fault {
    spreadsheet_debris(text)
        .or_else(|| not_finite(text))
        .or_else(|| percent(text))
        .or_else(|| separators(text))
        .or_else(|| date_made_of_fraction(text))
        .or_else(|| a_range(text))
        .or_else(|| rough(text))
        .or_else(|| misread(text))
        .or_else(|| with_unit(text, column))
        .unwrap_or_else(|| {
            Fault::new(
                Kind::NotANumber,
                format!("`{}` is not a number", short(text)),
            )
        })
}

/// Recognises what a spreadsheet writes in place of a value: error words, number signs, formulas.
pub(crate) fn spreadsheet_debris(text: &str) -> Option<Fault> {
    let upper = text.to_ascii_uppercase();
    let errors = [
        "#REF!", "#N/A", "#VALUE!", "#NAME?", "#DIV/0!", "#NUM!", "#NULL!", "#SPILL!",
    ];
    let fault =
        |message: String, hint: &str| Some(Fault::new(Kind::SpreadsheetError, message).hint(hint));
    if errors.contains(&upper.as_str()) {
        return fault(
            format!("`{text}` is a spreadsheet's error, not a value"),
            "mend the formula in the spreadsheet and save again",
        );
    }
    if text.len() >= 2 && text.bytes().all(|b| b == b'#') {
        return fault(
            format!(
                "`{}` stands for a value too wide for its column",
                short(text)
            ),
            "widen the column in the spreadsheet and save again",
        );
    }
    if text.starts_with('=') {
        return fault(
            format!("`{}` is a formula, not a value", short(text)),
            "in the spreadsheet copy the column and paste it as values",
        );
    }
    if let Some(rest) = text.strip_prefix(['\'', '\u{2018}', '\u{2019}'])
        && parse(rest).is_some()
    {
        let message = format!("`{text}` begins with an apostrophe, a spreadsheet's mark for text");
        return Some(Fault::new(Kind::SpreadsheetError, message).mend(rest.to_owned()));
    }
    None
}

fn not_finite(text: &str) -> Option<Fault> {
    let lower = text.trim_start_matches(['-', '+']).to_ascii_lowercase();
    let endless = matches!(
        lower.as_str(),
        "nan" | "inf" | "infinity" | "∞" | "1.#inf" | "1.#qnan"
    );
    let huge = decimal(&lower).is_some_and(|v| !v.is_finite());
    (endless || huge).then(|| {
        Fault::new(
            Kind::NotFinite,
            format!("`{text}` is not a number one can count with"),
        )
        .hint("leave the cell empty if the value is not known")
    })
}

fn percent(text: &str) -> Option<Fault> {
    let value = parse(text.strip_suffix('%')?)?;
    Some(
        Fault::new(Kind::PercentInNumber, format!("`{text}` is in percent"))
            .mend(tidy(value / 100.0)),
    )
}

fn separators(text: &str) -> Option<Fault> {
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == ',') {
        return None;
    }
    let fault = Fault::new(
        Kind::DecimalComma,
        format!("`{text}` is not a number: numbers are written with a point"),
    );
    Some(match without_separators(text)? {
        (value, None) => fault.mend(value),
        (thousands, Some(point)) => fault.hint(format!(
            "write {thousands} for thousands, or {point} if the comma is a decimal comma"
        )),
    })
}

/// Rewrites a number with commas, blanks or apostrophes in it; two readings if the comma may stand for a point or for thousands.
fn without_separators(text: &str) -> Option<(String, Option<String>)> {
    let fits = |b: u8| b.is_ascii_digit() || matches!(b, b',' | b'.' | b' ' | b'\'' | b'-');
    if !text.bytes().all(fits) {
        return None;
    }
    let digits = |g: &str| g.bytes().all(|b| b.is_ascii_digit());
    let thousands = |c: char| {
        let mut groups = text.trim_start_matches('-').split(c);
        let first = groups.next().unwrap_or_default();
        let three = |g: &str| {
            g.split('.')
                .next()
                .is_some_and(|g| g.len() == 3 && digits(g))
        };
        (1..=3).contains(&first.len()) && digits(first) && text.contains(c) && groups.all(three)
    };
    let certain = |joined: String| parse(&joined).map(|v| (tidy(v), None));
    if let (Some(point), Some(comma)) = (text.rfind('.'), text.rfind(',')) {
        return certain(if comma > point {
            text.replace('.', "").replace(',', ".")
        } else {
            text.replace(',', "")
        });
    }
    if text.matches(',').count() == 1 {
        let with_point = text.replace(',', ".");
        parse(&with_point)?;
        return Some(if thousands(',') {
            (text.replace(',', ""), Some(with_point))
        } else {
            (with_point, None)
        });
    }
    let c = [',', ' ', '\''].into_iter().find(|c| thousands(*c))?;
    certain(text.replace(c, ""))
}

/// Recognises `2-Jan`, `Jan-26` and whole dates that a spreadsheet makes of 1/2 or 1-26.
fn date_made_of_fraction(text: &str) -> Option<Fault> {
    let parts: Vec<&str> = text
        .split(['-', '/', ' ', '.'])
        .filter(|p| !p.is_empty())
        .collect();
    let (mut numbers, mut month) = (Vec::new(), None);
    for part in &parts {
        if let Ok(n) = part.parse::<u32>() {
            numbers.push(n);
        } else {
            month = Some(super::dates::month_of_name(part)?);
        }
    }
    let (a, b) = match (month, numbers.as_slice()) {
        (Some(m), [n] | [n, _]) if *n > 0 && numbers.get(1).is_none_or(|y| *y >= 1900) => (m, *n),
        (None, [y, m, d]) if *y > 1900 && *m <= 12 => (*m, *d),
        (None, [m, d, y]) if *y > 1900 && *m > 0 && *d > 0 => (*m, *d),
        _ => return None,
    };
    let (less, more) = (a.min(b), a.max(b));
    let hint = if less == more || less == 0 || more > 16 {
        "write the number again and set the column's format to text or number before typing"
            .to_owned()
    } else {
        format!(
            "a spreadsheet makes this of {less}/{more}: write {} and set the column's format to text or number before typing",
            tidy(f64::from(less) / f64::from(more))
        )
    };
    Some(
        Fault::new(
            Kind::SpreadsheetDate,
            format!("`{text}` is a date where a number belongs"),
        )
        .hint(hint),
    )
}

fn a_range(text: &str) -> Option<Fault> {
    let (low, high) = text
        .split_once(['-', '\u{2013}', '\u{2014}'])
        .or_else(|| text.split_once(" to "))?;
    let (low, high) = (parse(low)?, parse(high)?);
    Some(
        Fault::new(Kind::NotANumber, format!("`{text}` is two numbers")).hint(format!(
            "write one of them, or {} in the middle",
            tidy(f64::midpoint(low, high))
        )),
    )
}

fn rough(text: &str) -> Option<Fault> {
    let lower = text.to_ascii_lowercase();
    let rest = [
        "~", "≈", "about ", "approx ", "approx. ", "ca. ", "ca ", "c. ", ">", "<", "±",
    ]
    .iter()
    .find_map(|p| lower.strip_prefix(p))
    .or_else(|| lower.strip_suffix('?'))?;
    let value = parse(rest)?;
    Some(
        Fault::new(
            Kind::NotANumber,
            format!("`{text}` is more than a bare number"),
        )
        .hint(format!("write {}; doubt belongs in the note", tidy(value))),
    )
}

fn with_unit(text: &str, column: &str) -> Option<Fault> {
    let at = text.find(|c: char| {
        let of_a_number = c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '/' | '-');
        !(of_a_number || FRACTIONS.iter().any(|(f, _)| *f == c))
    })?;
    let (bare, unit) = (text[..at].trim(), text[at..].trim());
    if unit.chars().any(|c| c.is_ascii_digit()) {
        return None;
    }
    let fault = Fault::new(
        Kind::UnitInNumber,
        format!("`{text}` has a unit where a bare number belongs"),
    );
    let value = match parse(bare) {
        Some(value) => value,
        None => match without_separators(bare)? {
            (value, None) => parse(&value)?,
            (thousands, Some(point)) => {
                return Some(fault.hint(format!(
                    "write {thousands} or {point} alone, whichever is meant"
                )));
            }
        },
    };
    let wanted = unit_of_column(column);
    Some(
        match (wanted.and_then(|w| convert(value, unit, w)), wanted) {
            (Some(v), _) if (v - value).abs() < 1e-9 => fault.mend(tidy(value)).hint(format!(
                "write {}: the column's name says the unit",
                tidy(value)
            )),
            (Some(v), Some(w)) => fault
                .mend(tidy(v))
                .hint(format!("the column is in {w}: write {}", tidy(v))),
            _ => fault.hint(format!("write {} alone", tidy(value))),
        },
    )
}

fn misread(text: &str) -> Option<Fault> {
    let lower = text.to_lowercase();
    if let Some((_, value)) = WORDS.iter().find(|(w, _)| *w == lower) {
        return Some(
            Fault::new(Kind::NotANumber, format!("`{text}` is not a number"))
                .hint(format!("write {}", tidy(*value))),
        );
    }
    let digits: String = text
        .chars()
        .map(|c| match c {
            'O' | 'o' => '0',
            'l' | 'I' => '1',
            c => c,
        })
        .collect();
    let value = (text.contains(|c: char| c.is_ascii_digit()) && digits != text)
        .then(|| parse(&digits))??;
    Some(
        Fault::new(
            Kind::NotANumber,
            format!("`{text}` has a letter among its digits"),
        )
        .hint(format!("write {} if that is meant", tidy(value))),
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_explained() {
        for (text, column, kind, hint) in [
            ("12,5", "row_ft", Kind::DecimalComma, "write 12.5"),
            (
                "1,200",
                "row_ft",
                Kind::DecimalComma,
                "write 1200 for thousands, or 1.200 if the comma is a decimal comma",
            ),
            ("1.200,5", "row_ft", Kind::DecimalComma, "write 1200.5"),
            ("1,200.5", "row_ft", Kind::DecimalComma, "write 1200.5"),
            ("1 200", "row_ft", Kind::DecimalComma, "write 1200"),
            ("1'200", "row_ft", Kind::DecimalComma, "write 1200"),
            (
                "12 ft",
                "row_ft",
                Kind::UnitInNumber,
                "write 12: the column's name says the unit",
            ),
            (
                "12'",
                "row_ft",
                Kind::UnitInNumber,
                "write 12: the column's name says the unit",
            ),
            (
                "4 m",
                "row_ft",
                Kind::UnitInNumber,
                "the column is in ft: write 13.123",
            ),
            (
                "6 in",
                "row_ft",
                Kind::UnitInNumber,
                "the column is in ft: write 0.5",
            ),
            ("3 plants", "plants", Kind::UnitInNumber, "write 3 alone"),
            (
                "2-Jan",
                "amount",
                Kind::SpreadsheetDate,
                "a spreadsheet makes this of 1/2: write 0.5 and set the column's format to text or number before typing",
            ),
            (
                "4-Mar",
                "amount",
                Kind::SpreadsheetDate,
                "a spreadsheet makes this of 3/4: write 0.75 and set the column's format to text or number before typing",
            ),
            (
                "1/2/2026",
                "amount",
                Kind::SpreadsheetDate,
                "a spreadsheet makes this of 1/2: write 0.5 and set the column's format to text or number before typing",
            ),
            ("85%", "yield_factor", Kind::PercentInNumber, "write 0.85"),
            (
                "NaN",
                "row_ft",
                Kind::NotFinite,
                "leave the cell empty if the value is not known",
            ),
            (
                "-inf",
                "row_ft",
                Kind::NotFinite,
                "leave the cell empty if the value is not known",
            ),
            (
                "1e999",
                "row_ft",
                Kind::NotFinite,
                "leave the cell empty if the value is not known",
            ),
            (
                "#DIV/0!",
                "row_ft",
                Kind::SpreadsheetError,
                "mend the formula in the spreadsheet and save again",
            ),
            (
                "####",
                "row_ft",
                Kind::SpreadsheetError,
                "widen the column in the spreadsheet and save again",
            ),
            (
                "=A2*2",
                "row_ft",
                Kind::SpreadsheetError,
                "in the spreadsheet copy the column and paste it as values",
            ),
            ("'12", "row_ft", Kind::SpreadsheetError, "write 12"),
            (
                "5-6",
                "row_ft",
                Kind::NotANumber,
                "write one of them, or 5.5 in the middle",
            ),
            (
                "~5",
                "row_ft",
                Kind::NotANumber,
                "write 5; doubt belongs in the note",
            ),
            ("two", "row_ft", Kind::NotANumber, "write 2"),
            (
                "1O",
                "row_ft",
                Kind::NotANumber,
                "write 10 if that is meant",
            ),
        ] {
            let fault = explain(text, column);
            assert_eq!(
                (fault.kind, fault.hint.as_deref()),
                (kind, Some(hint)),
                "{text}"
            );
        }
        assert_eq!(explain("many", "row_ft").hint, None);
    }

    /// Only what can be read in one way is repaired without asking.
    #[test]
    fn repairs_are_made_only_where_one_number_can_be_meant() {
        for (text, column, want) in [
            ("12,5", "row_ft", Some("12.5")),
            ("1,200", "row_ft", None),
            ("1,200.5", "row_ft", Some("1200.5")),
            ("12 ft", "row_ft", Some("12")),
            ("4,5 m", "row_ft", Some("14.764")),
            ("1,200 ft", "row_ft", None),
            ("3 plants", "plants", None),
            ("85%", "yield_factor", Some("0.85")),
            ("'12", "row_ft", Some("12")),
            ("2-Jan", "amount", None),
            ("~5", "row_ft", None),
            ("1O", "row_ft", None),
        ] {
            assert_eq!(explain(text, column).repair.as_deref(), want, "{text}");
        }
    }
}
