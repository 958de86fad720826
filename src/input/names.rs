//! Finding a thing by the name people write for it: case, plural and hyphens forgiven, the nearest name for a wrong one.

use std::borrow::Cow;
use std::collections::HashMap;

/// Returns a name as it is compared: lower case, single blanks, straight apostrophes, no hyphens or underscores.
pub(crate) fn plain(text: &str) -> Cow<'_, str> {
    // Most names are plain already; long files hold hundreds of thousands of them.
    let mut blank = false;
    let mut bare = |b: u8| {
        let twice = blank && b == b' ';
        blank = b == b' ';
        !twice && (b.is_ascii_lowercase() || b.is_ascii_digit() || blank)
    };
    if text.bytes().all(&mut bare) {
        return text.trim_ascii().into();
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let c = match c {
            '\u{2018}' | '\u{2019}' | '\u{02BC}' | '`' => '\'',
            '-' | '_' | '\u{2010}'..='\u{2015}' => ' ',
            c if c.is_whitespace() => ' ',
            c => c,
        };
        if c == ' ' && (out.is_empty() || out.ends_with(' ')) {
            continue;
        }
        out.extend(c.to_lowercase());
    }
    out.truncate(out.trim_end().len());
    out.into()
}

/// Returns the last word's singular by the plain rules of English; enough for vegetables.
pub(crate) fn singular(name: &str) -> Cow<'_, str> {
    let cut = |ending: &str, put: &str| {
        let stem = name.strip_suffix(ending)?;
        let left = name.len() - ending.len() + put.len();
        Some(match name.get(..left) {
            Some(whole) if whole.ends_with(put) => Cow::from(whole),
            _ => Cow::from(format!("{stem}{put}")),
        })
    };
    cut("leaves", "leaf")
        .or_else(|| cut("ies", "y"))
        .or_else(|| cut("toes", "to"))
        .or_else(|| cut("ches", "ch"))
        .or_else(|| cut("shes", "sh"))
        .or_else(|| {
            if name.ends_with("ss") || name.ends_with("us") {
                None
            } else {
                cut("s", "")
            }
        })
        .unwrap_or_else(|| name.into())
}

/// Returns the known name nearest to a wrong one, if one is near enough to be meant.
pub(crate) fn nearest<'n>(text: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let text = plain(text);
    if text.is_empty() || text.len() > 60 {
        return None;
    }
    let allowed = text.chars().count().div_ceil(3).clamp(1, 3);
    let one = singular(&text);
    let farness = |name: &str| {
        let name = plain(name);
        let distance = strsim::osa_distance(&text, &name);
        if distance <= allowed {
            return Some(distance);
        }
        // Half a name, or a name with something around it, is near too.
        let part = one.len() >= 3
            && name.len() >= 3
            && (name.contains(one.as_ref()) || text.contains(name.as_ref()));
        part.then_some(allowed + 1 + text.len().abs_diff(name.len()))
    };
    // Of names equally far the one that begins alike is meant.
    let unlike = |name: &str| 1.0 - strsim::jaro_winkler(&text, &plain(name));
    known
        .into_iter()
        .filter_map(|name| Some((farness(name)?, unlike(name), name)))
        .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))
        .map(|(_, _, name)| name)
}

/// Names of one kind of thing, each leading to a value.
#[derive(Debug, Clone)]
pub(crate) struct Names<T> {
    exact: HashMap<String, T>,
    /// Singulars, asked only when no name fits exactly.
    singular: HashMap<String, T>,
    shown: Vec<String>,
}

impl<T: Copy> Names<T> {
    /// Makes the empty list.
    pub(crate) fn new() -> Self {
        Self {
            exact: HashMap::new(),
            singular: HashMap::new(),
            shown: Vec::new(),
        }
    }
    /// Adds a name; returns false if it was there already.
    pub(crate) fn add(&mut self, name: &str, value: T) -> bool {
        let key = plain(name).into_owned();
        if self.exact.contains_key(&key) {
            return false;
        }
        self.singular
            .entry(singular(&key).into_owned())
            .or_insert(value);
        self.exact.insert(key, value);
        self.shown.push(name.to_owned());
        true
    }
    /// Adds another name for a thing, unless the name is taken.
    pub(crate) fn add_quietly(&mut self, name: &str, value: T) {
        let key = plain(name).into_owned();
        self.singular
            .entry(singular(&key).into_owned())
            .or_insert(value);
        if !self.exact.contains_key(&key) {
            self.shown.push(name.to_owned());
            self.exact.insert(key, value);
        }
    }
    /// Finds a value by a name, forgiving case, hyphens and plural.
    pub(crate) fn find(&self, text: &str) -> Option<T> {
        let key = plain(text);
        self.exact
            .get(key.as_ref())
            .or_else(|| self.singular.get(singular(&key).as_ref()))
            .copied()
    }
    /// Finds a value by a name, forgiving case and hyphens but not the plural: bed A is not bed As.
    pub(crate) fn find_exact(&self, text: &str) -> Option<T> {
        self.exact.get(plain(text).as_ref()).copied()
    }
    /// Returns a hint for a name that was not found.
    pub(crate) fn hint(&self, text: &str) -> Option<String> {
        nearest(text, self.shown.iter().map(String::as_str))
            .map(|name| format!("did you mean `{name}`?"))
    }
    /// Returns the names as they are shown.
    pub(crate) fn shown(&self) -> &[String] {
        &self.shown
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_as_people_write_them() {
        let mut names = Names::new();
        for (i, name) in [
            "bush bean",
            "tomato",
            "bok choy",
            "kale",
            "brussels sprouts",
            "lamb's lettuce",
            "swiss chard",
        ]
        .iter()
        .enumerate()
        {
            assert!(names.add(name, i));
        }
        for (text, want) in [
            ("Bush Beans", Some(0)),
            ("bush-bean", Some(0)),
            ("TOMATOES", Some(1)),
            ("bok  choy", Some(2)),
            ("Brussels sprout", Some(4)),
            ("lamb\u{2019}s lettuce", Some(5)),
            ("swiss chard", Some(6)),
            ("kael", None),
        ] {
            assert_eq!(names.find(text), want, "{text}");
        }
        assert!(!names.add("Kale", 9));
        assert_eq!(names.hint("kael").unwrap(), "did you mean `kale`?");
        assert_eq!(names.hint("chard").unwrap(), "did you mean `swiss chard`?");
        assert_eq!(names.hint("xyz"), None);
    }
}
