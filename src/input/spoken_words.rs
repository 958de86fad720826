//! Words of a spoken entry: cutting a line into words, numbers as people write them, and the nearest right word.
//!
//! Knows no garden.

/// One word: as written and as compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Word {
    /// As written, without quotes.
    pub(super) raw: String,
    /// In lower case.
    pub(super) low: String,
}

/// The words of one entry, each used up by whoever understands it.
#[derive(Debug, Clone)]
pub(super) struct Phrase {
    /// The words in order.
    pub(super) words: Vec<Word>,
    used: Vec<bool>,
}

impl Phrase {
    /// Makes a phrase of words, all unused.
    pub(super) fn new(words: Vec<Word>) -> Self {
        Self {
            used: vec![false; words.len()],
            words,
        }
    }
    /// Returns the text as written.
    pub(super) fn text(&self) -> String {
        let raw: Vec<&str> = self.words.iter().map(|w| w.raw.as_str()).collect();
        raw.join(" ")
    }
    /// Returns a word in lower case if there is one at the place and it is unused.
    pub(super) fn at(&self, place: usize) -> Option<&str> {
        (!*self.used.get(place)?).then(|| self.words[place].low.as_str())
    }
    /// Marks words as used.
    pub(super) fn take(&mut self, places: std::ops::Range<usize>) {
        self.used[places].fill(true);
    }
    /// Returns the places of unused words.
    pub(super) fn unused(&self) -> Vec<usize> {
        (0..self.words.len()).filter(|&i| !self.used[i]).collect()
    }
    /// Says whether unused words from a place on are those of a name.
    pub(super) fn matches(&self, place: usize, name: &[String]) -> bool {
        !name.is_empty()
            && name.iter().enumerate().all(|(i, word)| {
                self.at(place + i)
                    .is_some_and(|spoken| same_word(spoken, word))
            })
    }
    /// Uses up every occurrence of the given words.
    pub(super) fn drop_words(&mut self, words: &[&str]) {
        for place in 0..self.words.len() {
            if self.at(place).is_some_and(|w| words.contains(&w)) {
                self.take(place..place + 1);
            }
        }
    }
}

/// Splits a name into the words by which it is compared.
pub(super) fn name_words(name: &str) -> Vec<String> {
    name.to_lowercase()
        .split([' ', '-', '_'])
        .filter(|w| !w.is_empty())
        .map(Into::into)
        .collect()
}

/// Cuts a text into words: quotes fall away, numbers part from the letters glued to them.
pub(super) fn cut(text: &str) -> Vec<Word> {
    let mut words = Vec::new();
    for piece in text.split_whitespace() {
        let piece = piece.trim_matches(['\'', '"', '‘', '’', '“', '”', '.', ':', '!']);
        let sign = piece.starts_with('-') && piece[1..].starts_with(|c: char| c.is_ascii_digit());
        let dated = piece.matches('-').count() == 2 || piece.matches('/').count() == 2;
        if piece.is_empty() || sign || dated || piece.contains(':') {
            push(&mut words, piece);
            continue;
        }
        let mut part = String::new();
        let mut kind = None;
        for c in piece.chars() {
            let next = match c {
                '0'..='9' | '.' | '/' | ',' => 'n',
                _ if fraction_sign(c).is_some() => 'f',
                '~' | '≈' => '~',
                '-' if kind == Some('n') => '-',
                _ => 'a',
            };
            if kind.is_some_and(|k| k != next) {
                push(&mut words, &part);
                part.clear();
            }
            kind = Some(next);
            part.push(c);
        }
        push(&mut words, &part);
    }
    words
}

/// Appends a word unless it is empty.
fn push(words: &mut Vec<Word>, raw: &str) {
    // "zucchini-2": the dash between name and number is neither's.
    let raw = raw.trim_end_matches('-');
    if !raw.is_empty() {
        words.push(Word {
            raw: raw.into(),
            low: raw.to_lowercase(),
        });
    }
}

/// Returns the value of a fraction written as one character.
fn fraction_sign(c: char) -> Option<f64> {
    Some(match c {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        _ => return None,
    })
}

/// Reads a fraction such as `1/2`, `½` or the word half.
fn fraction(word: &str) -> Option<f64> {
    if let Some(value) = word.chars().next().and_then(fraction_sign) {
        return (word.chars().count() == 1).then_some(value);
    }
    if let Some((above, below)) = word.split_once('/') {
        let (above, below): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
        return (below > 0).then(|| f64::from(above) / f64::from(below));
    }
    match word {
        "half" => Some(0.5),
        "quarter" => Some(0.25),
        _ => None,
    }
}

/// Reads a whole or decimal number or its word.
fn plain(word: &str) -> Option<f64> {
    const NAMES: [&str; 13] = [
        "nothing", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    if word.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == '-') {
        return word.parse().ok().filter(|x: &f64| x.is_finite());
    }
    if let Some(value) = NAMES.iter().zip(0..).find(|(name, _)| **name == word) {
        return Some(f64::from(value.1));
    }
    match word {
        "none" | "no" => Some(0.0),
        "a" | "an" => Some(1.0),
        "couple" => Some(2.0),
        "dozen" => Some(12.0),
        _ => None,
    }
}

/// Reads a number that begins at a place; returns its value and how many words it takes.
///
/// Understands `2.5`, `2 1/2`, `2½`, `two and a half`, `half a dozen`, `a couple of`, `a half`.
pub(super) fn number(phrase: &Phrase, place: usize) -> Option<(f64, usize)> {
    let word = |i: usize| phrase.at(place + i);
    let first = word(0)?;
    if let Some(part) = fraction(first) {
        return Some(match (word(1), word(2)) {
            (Some("a" | "an"), Some("dozen")) => (part * 12.0, 3),
            (Some("dozen"), _) => (part * 12.0, 2),
            (Some("a" | "an"), Some(_)) => (part, 2),
            _ => (part, 1),
        });
    }
    let value = plain(first)?;
    if matches!(first, "a" | "an") {
        if let Some(next) = word(1) {
            if let Some(part) = fraction(next) {
                return Some((part, 2));
            }
            if matches!(next, "couple" | "dozen") {
                return Some((plain(next)?, 2));
            }
        }
        return Some((1.0, 1));
    }
    let rest = match (word(1), word(2), word(3)) {
        (Some(next), _, _) if next != "half" && fraction(next).is_some_and(|f| f < 1.0) => {
            (fraction(next)?, 2)
        }
        (Some("and"), Some("a" | "an"), Some(next)) if fraction(next).is_some() => {
            (fraction(next)?, 4)
        }
        (Some("and"), Some(next), _) if fraction(next).is_some() => (fraction(next)?, 3),
        (Some("dozen"), _, _) => (value * 11.0, 2),
        _ => (0.0, 1),
    };
    Some((value + rest.0, rest.1))
}

/// Returns a word without its plural ending.
fn singular(word: &str) -> String {
    let cut = |n: usize, tail: &str| format!("{}{tail}", &word[..word.len() - n]);
    match word {
        _ if !word.is_ascii() || word.len() < 4 => word.into(),
        _ if word.ends_with("ies") => cut(3, "y"),
        _ if word.ends_with("aves") => cut(3, "f"),
        _ if ["ches", "shes", "xes", "sses", "oes"]
            .iter()
            .any(|tail| word.ends_with(tail)) =>
        {
            cut(2, "")
        }
        _ if word.ends_with('s') && !word.ends_with("ss") => cut(1, ""),
        _ => word.into(),
    }
}

/// Says whether two words are the same but for number. Both in lower case.
pub(super) fn same_word(a: &str, b: &str) -> bool {
    a == b || singular(a) == singular(b)
}

/// Returns the nearest of some right words, if any is near enough to be meant.
pub(super) fn nearest<'a>(word: &str, right: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let low = word.to_lowercase();
    let far = |a: &str, b: &str| strsim::damerau_levenshtein(a, b);
    right
        .filter_map(|candidate| {
            let name = candidate.to_lowercase();
            let whole = far(&singular(&low), &singular(&name)).min(far(&low, &name));
            let parts = name
                .split(' ')
                .filter(|part| part.len() > 3)
                .map(|part| far(&singular(&low), &singular(part)) * 2 + 1)
                .min();
            let begun = low.len() >= 3 && name.starts_with(&low);
            let score = (whole * 2).min(parts.unwrap_or(usize::MAX));
            let allowed = match low.chars().count() {
                0..=2 => 0,
                3 | 4 => 1,
                5..=7 => 2,
                _ => 3,
            };
            (begun || score <= allowed * 2 + 1)
                .then_some((if begun { 1 } else { score }, candidate))
        })
        .min_by_key(|(score, _)| *score)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_write_them() {
        for (text, want, words) in [
            ("2.5 lb", 2.5, 1),
            ("2.5lb", 2.5, 1),
            ("2 1/2 lb", 2.5, 2),
            ("2-1/2 lb", 2.5, 2),
            ("2½lb", 2.5, 2),
            ("½ lb", 0.5, 1),
            ("3/4 lb", 0.75, 1),
            ("two and a half lb", 2.5, 4),
            ("2 and 1/2 lb", 2.5, 3),
            ("half a bowl", 0.5, 2),
            ("a half bowl", 0.5, 2),
            ("half a dozen", 6.0, 3),
            ("a dozen", 12.0, 2),
            ("two dozen", 24.0, 2),
            ("a couple of", 2.0, 2),
            ("a bowl", 1.0, 1),
            ("none", 0.0, 1),
        ] {
            let got = number(&Phrase::new(cut(text)), 0).unwrap();
            assert!(
                (got.0 - want).abs() < 1e-12 && got.1 == words,
                "{text}: {got:?}"
            );
        }
        for text in ["beans", "1/0", "2.5.1", "1e999"] {
            assert_eq!(
                number(&Phrase::new(cut(text)), 0).filter(|n| n.1 > 0 && n.0 > 9.0),
                None
            );
        }
    }

    #[test]
    fn plurals_and_nearest_words() {
        for (a, b) in [
            ("bunches", "bunch"),
            ("tomatoes", "tomato"),
            ("leaves", "leaf"),
            ("boxes", "box"),
            ("berries", "berry"),
            ("beans", "bean"),
        ] {
            assert!(same_word(a, b), "{a} {b}");
        }
        assert!(!same_word("grass", "gras") && !same_word("peas", "pear"));
        let right = ["bush beans", "kale", "okra", "zucchini"];
        for (wrong, want) in [
            ("kael", Some("kale")),
            ("beens", Some("bush beans")),
            ("zuchini", Some("zucchini")),
            ("zucc", Some("zucchini")),
            ("tractor", None),
            ("k", None),
        ] {
            assert_eq!(nearest(wrong, right.into_iter()), want, "{wrong}");
        }
    }
}
