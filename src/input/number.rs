//! Numbers as people and spreadsheets write them: halves, mixed numbers, and what to say of the rest.
//!
//! Knows no columns but the unit at the end of a column's name, which it uses to convert in a hint.

use super::problem::{Fault, Kind};
use super::units::{convert, unit_of_column};

/// Characters for fractions with their values.
const FRACTIONS: [(char, f64); 15] = [
    ('½', 0.5),
    ('¼', 0.25),
    ('¾', 0.75),
    ('⅓', 1.0 / 3.0),
    ('⅔', 2.0 / 3.0),
    ('⅛', 0.125),
    ('⅜', 0.375),
    ('⅝', 0.625),
    ('⅞', 0.875),
    ('⅕', 0.2),
    ('⅖', 0.4),
    ('⅗', 0.6),
    ('⅘', 0.8),
    ('⅙', 1.0 / 6.0),
    ('⅚', 5.0 / 6.0),
];

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

/// Reads a number: `12`, `1.5`, `.5`, `1e3`, `1/2`, `1 1/2`, `1-1/2`, `½`, `1½`, with a sign.
///
/// Returns nothing if it is none of these; the caller then asks [`explain`] what it might be.
#[must_use]
pub(crate) fn parse(text: &str) -> Option<f64> {
    let text = text.trim();
    let (sign, body) = match text.chars().next()? {
        '-' | '\u{2212}' | '\u{2013}' => {
            (-1.0, text.trim_start_matches(['-', '\u{2212}', '\u{2013}']))
        }
        '+' => (1.0, &text[1..]),
        _ => (1.0, text),
    };
    if text.chars().count() - body.chars().count() > 1 {
        return None;
    }
    let value = decimal(body).or_else(|| mixed(body))?;
    value.is_finite().then_some(sign * value)
}

fn decimal(text: &str) -> Option<f64> {
    let starts = text.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    let fits = text
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'e' | b'E' | b'+' | b'-'));
    (starts && fits).then(|| text.parse().ok())?
}

fn mixed(text: &str) -> Option<f64> {
    let last = text.chars().last()?;
    if let Some((_, value)) = FRACTIONS.iter().find(|(c, _)| *c == last) {
        let whole = text[..text.len() - last.len_utf8()].trim();
        return if whole.is_empty() {
            Some(*value)
        } else {
            Some(whole_number(whole)? + value)
        };
    }
    let (above, below) = text.split_once(['/', '\u{2044}'])?;
    let below = whole_number(below.trim())?;
    let above = above.trim();
    if below == 0.0 {
        return None;
    }
    match above.rsplit_once([' ', '-']) {
        Some((whole, part)) => {
            let part = whole_number(part.trim())? / below;
            (part < 1.0).then_some(whole_number(whole.trim())? + part)
        }
        None => Some(whole_number(above)? / below),
    }
}

fn whole_number(text: &str) -> Option<f64> {
    (!text.is_empty() && text.len() < 10 && text.bytes().all(|b| b.is_ascii_digit()))
        .then(|| text.parse().ok())?
}

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

/// Cuts a long text for a message.
pub(crate) fn short(text: &str) -> String {
    if text.chars().count() <= 40 {
        text.to_owned()
    } else {
        text.chars().take(37).chain("…".chars()).collect()
    }
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
        return fault(
            format!("`{text}` begins with an apostrophe, a spreadsheet's mark for text"),
            &format!("write {rest}"),
        );
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
            .hint(format!("write {}", tidy(value / 100.0))),
    )
}

fn separators(text: &str) -> Option<Fault> {
    let fault = |hint: String| {
        Some(
            Fault::new(
                Kind::DecimalComma,
                format!("`{text}` is not a number: numbers are written with a point"),
            )
            .hint(hint),
        )
    };
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == ',') {
        return None;
    }
    if !text
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b',' | b'.' | b' ' | b'\'' | b'-'))
    {
        return None;
    }
    let thousands = |c: char| {
        let mut groups = text.trim_start_matches('-').split(c);
        groups
            .next()
            .is_some_and(|g| (1..=3).contains(&g.len()) && g.bytes().all(|b| b.is_ascii_digit()))
            && groups.clone().count() > 0
            && groups.all(|g| {
                g.split('.')
                    .next()
                    .is_some_and(|g| g.len() == 3 && g.bytes().all(|b| b.is_ascii_digit()))
            })
    };
    if let (Some(point), Some(comma)) = (text.rfind('.'), text.rfind(',')) {
        let joined = if comma > point {
            text.replace('.', "").replace(',', ".")
        } else {
            text.replace(',', "")
        };
        return fault(format!("write {}", parse(&joined).map(tidy)?));
    }
    if text.matches(',').count() == 1 {
        let with_point = text.replace(',', ".");
        parse(&with_point)?;
        return if thousands(',') {
            fault(format!(
                "write {} for thousands, or {with_point} if the comma is a decimal comma",
                text.replace(',', "")
            ))
        } else {
            fault(format!("write {with_point}"))
        };
    }
    for c in [',', ' ', '\''] {
        if text.contains(c) && thousands(c) {
            return fault(format!("write {}", text.replace(c, "")));
        }
    }
    None
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
    let value = parse(text[..at].trim().replace(',', ".").as_str())?;
    let unit = text[at..].trim();
    if unit.chars().any(|c| c.is_ascii_digit()) {
        return None;
    }
    let wanted = unit_of_column(column);
    let converted = wanted.and_then(|w| convert(value, unit, w));
    let hint = match (converted, wanted) {
        (Some(v), _) if (v - value).abs() < 1e-9 => {
            format!("write {}: the column's name says the unit", tidy(value))
        }
        (Some(v), Some(w)) => format!("the column is in {w}: write {}", tidy(v)),
        _ => format!("write {} alone", tidy(value)),
    };
    Some(
        Fault::new(
            Kind::UnitInNumber,
            format!("`{text}` has a unit where a bare number belongs"),
        )
        .hint(hint),
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

/// Writes a number with at most two places more than it needs.
#[must_use]
pub(crate) fn tidy(value: f64) -> String {
    let rounded = (value * 1000.0).round() / 1000.0;
    format!("{rounded}")
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_write_them() {
        for (text, want) in [
            ("12", 12.0),
            ("1.5", 1.5),
            (".5", 0.5),
            ("5.", 5.0),
            ("1.2E+01", 12.0),
            ("1/2", 0.5),
            ("1 1/2", 1.5),
            ("1-1/2", 1.5),
            ("3⁄4", 0.75),
            ("½", 0.5),
            ("1½", 1.5),
            ("2 ¾", 2.75),
            ("-3", -3.0),
            ("\u{2212}3", -3.0),
            ("+2", 2.0),
            ("-1 1/2", -1.5),
        ] {
            assert_eq!(parse(text), Some(want), "{text}");
        }
        for text in [
            "", " ", "-", "--3", "1 2", "1/0", "1 3/2", "e5", "1e", "nan", "inf", "1e999", "½½",
            "1.2.3", "/2", "1/",
        ] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

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
}
