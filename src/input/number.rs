//! Numbers as people write them: decimals, halves, mixed numbers, and how a number is written back.
//!
//! What is no number is left to [`super::slips`] to explain.

/// Characters for fractions with their values.
pub(crate) const FRACTIONS: [(char, f64); 15] = [
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

/// Reads a number: `12`, `1.5`, `.5`, `1e3`, `1/2`, `1 1/2`, `1-1/2`, `½`, `1½`, with a sign.
///
/// Returns nothing if it is none of these; the caller then asks [`super::slips::explain`] what it might be.
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
    if text.len() > body.len() && text.chars().count() - body.chars().count() > 1 {
        return None;
    }
    let value = decimal(body).or_else(|| mixed(body))?;
    value.is_finite().then_some(sign * value)
}

/// Reads a plain decimal; huge exponents give infinity.
pub(crate) fn decimal(text: &str) -> Option<f64> {
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

/// Cuts a long text for a message.
pub(crate) fn short(text: &str) -> String {
    if text.chars().count() <= 40 {
        text.to_owned()
    } else {
        text.chars().take(37).chain("…".chars()).collect()
    }
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
}
