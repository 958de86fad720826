//! Strings for people: wrapping at a given width, lists in words, and making other people's text harmless.
//!
//! Knows no terminal: the width is an argument.

use unicode_width::UnicodeWidthStr;

/// Returns text in which nothing can steer a terminal or turn the reading direction.
///
/// Line ends and tabs become spaces; other control characters and direction marks become `�`.
#[must_use]
pub fn visible(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
            c if is_steering(c) => '\u{FFFD}',
            c => c,
        })
        .collect()
}

/// Says whether a character steers the reader instead of being read: controls, direction marks, invisible operators.
#[must_use]
pub fn is_steering(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}')
        || matches!(c, '\u{FFFE}' | '\u{FFFF}')
}

/// Escapes text for an attribute or element of XML or HTML, after making it [`visible`].
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in visible(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            c => out.push(c),
        }
    }
    out
}

/// Returns the columns a text fills in a terminal.
#[must_use]
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Wraps a paragraph at a width in terminal columns; a word longer than a line keeps a line of its own.
///
/// Shape: the first line begins with `first`, the others with `rest`; lines are joined by `\n`, without one at the end.
#[must_use]
pub fn wrap(paragraph: &str, columns: usize, first: &str, rest: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut line = first.to_owned();
    let mut line_is_bare = true;
    for word in paragraph.split(' ').filter(|w| !w.is_empty()) {
        if !line_is_bare && width(&line) + 1 + width(word) > columns {
            lines.push(std::mem::replace(&mut line, rest.to_owned()));
            line_is_bare = true;
        }
        if !line_is_bare {
            line.push(' ');
        }
        line.push_str(word);
        line_is_bare = false;
    }
    lines.push(line);
    lines.join("\n")
}

/// Joins words as English does: "beans", "beans and okra", "beans, okra and kale".
#[must_use]
pub fn list<S: AsRef<str>>(words: &[S]) -> String {
    joined(words, "and")
}

/// Joins words that are alternatives: "Sat or Sun".
#[must_use]
pub fn either<S: AsRef<str>>(words: &[S]) -> String {
    joined(words, "or")
}

fn joined<S: AsRef<str>>(words: &[S], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., end] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", most.join(", "), end.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_made_harmless() {
        assert_eq!(
            visible("\u{1b}[2Jbed\u{7}\tA\r\nB"),
            "\u{FFFD}[2Jbed\u{FFFD} A  B"
        );
        assert_eq!(
            visible("a\u{202E}b\u{9b}31mc\u{0}"),
            "a\u{FFFD}b\u{FFFD}31mc\u{FFFD}"
        );
        assert_eq!(
            visible("Möhre, капуста, 白菜, ½"),
            "Möhre, капуста, 白菜, ½"
        );
    }

    #[test]
    fn paragraphs_wrap_by_columns_not_bytes() {
        let wrapped = wrap(
            "pick the beans before they grow tough, all of them",
            20,
            "- ",
            "  ",
        );
        assert_eq!(
            wrapped,
            "- pick the beans\n  before they grow\n  tough, all of them"
        );
        assert!(wrapped.lines().all(|l| width(l) <= 20));
        assert_eq!(wrap("白菜 白菜 白菜", 9, "", ""), "白菜 白菜\n白菜");
        assert_eq!(
            wrap("short incomprehensibilities end", 10, "", ""),
            "short\nincomprehensibilities\nend"
        );
        assert_eq!(wrap("", 10, "", ""), "");
    }

    #[test]
    fn lists_in_words() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["beans"]), "beans");
        assert_eq!(list(&["beans", "okra"]), "beans and okra");
        assert_eq!(list(&["beans", "okra", "kale"]), "beans, okra and kale");
        assert_eq!(either(&["Sat", "Sun"]), "Sat or Sun");
    }
}
