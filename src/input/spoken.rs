//! Spoken entries: what a person says in one breath, turned into rows of the record.
//!
//! `picked sat beans 2.5 lb, kale 2 bunches, okra '1 bowl'`. Every part that cannot be understood is answered with the
//! nearest right word, and the other parts are kept. Writes nothing: appending is done elsewhere. Days, words and
//! numbers are read in the files beside this one.

use super::spoken_days::{Day, find_day};
use super::spoken_more::{ended_or_up, frost, stores, took};
use super::spoken_names::{CropSaid, find_crop, standing_words};
use super::spoken_picked::picked;
use super::spoken_words::{Phrase, cut, nearest, number};
use crate::garden::Garden;
use crate::garden::record::{Event, Picked, StoreChange};
use chrono::NaiveDate;

/// One entry understood.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// A picking.
    Picked(Picked),
    /// Containers put on the shelf or taken from it.
    Stores(StoreChange),
    /// Something that happened.
    Event(Event),
}

/// One part that was not understood; nothing of it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misheard {
    /// The part as it was said.
    pub said: String,
    /// What is wrong with it, in a plain sentence without a full stop.
    pub problem: String,
    /// The nearest right word, or the right words if there are only a few.
    pub nearest: Option<String>,
}

/// What became of a line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spoken {
    /// What was understood, in the order said.
    pub entries: Vec<Entry>,
    /// What was not.
    pub misheard: Vec<Misheard>,
    /// What was kept but could be said better, in plain sentences without a full stop.
    pub notes: Vec<String>,
}

/// What a line begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Verb {
    Picked,
    Put,
    Used,
    Ended,
    Up,
    Frost,
    Took,
}

const VERBS: [(&str, Verb); 11] = [
    ("picked", Verb::Picked),
    ("pick", Verb::Picked),
    ("harvested", Verb::Picked),
    ("dug", Verb::Picked),
    ("cut", Verb::Picked),
    ("put", Verb::Put),
    ("used", Verb::Used),
    ("ended", Verb::Ended),
    ("up", Verb::Up),
    ("frost", Verb::Frost),
    ("took", Verb::Took),
];

/// Reads what was said, on one line or several, as of a day.
///
/// Parts are parted by commas, semicolons, line ends, or by naming the next crop. A verb and a day hold until another is
/// said; without a verb something was picked, without a day it was today.
#[must_use]
pub fn parse(text: &str, garden: &Garden, today: NaiveDate) -> Spoken {
    let mut spoken = Spoken::default();
    let (mut verb, mut day) = (Verb::Picked, Day::single(today));
    for part in parts(text) {
        let (words, note) = part_and_note(&part);
        let mut phrase = Phrase::new(cut(&words));
        if phrase.words.is_empty() {
            continue;
        }
        if let Some((_, said)) = VERBS.iter().find(|(name, _)| phrase.at(0) == Some(name)) {
            verb = *said;
            phrase.take(0..1);
        } else if let Some(wrong) = wrong_verb(&phrase, garden, today) {
            spoken.misheard.push(wrong);
            continue;
        }
        let last_night = (0..phrase.words.len())
            .any(|i| phrase.at(i) == Some("last") && phrase.at(i + 1) == Some("night"));
        match find_day(&mut phrase, today, garden.show.dates) {
            Ok(Some(said)) => day = said,
            Ok(None) => {}
            Err(problem) => {
                spoken.misheard.push(Misheard {
                    said: phrase.text(),
                    problem,
                    nearest: None,
                });
                continue;
            }
        }
        let date = day.date;
        let entry = match verb {
            Verb::Picked => {
                picked(phrase, garden, day, note, &mut spoken);
                continue;
            }
            Verb::Put => stores(phrase, garden, date, 1.0, note).map(Entry::Stores),
            Verb::Used => stores(phrase, garden, date, -1.0, note).map(Entry::Stores),
            Verb::Ended => ended_or_up(phrase, garden, date, false).map(Entry::Event),
            Verb::Up => ended_or_up(phrase, garden, date, true).map(Entry::Event),
            // The frost of a night is measured in the morning that ends it.
            Verb::Frost => {
                let date = if last_night { today } else { date };
                frost(phrase, garden.show.units, date).map(Entry::Event)
            }
            Verb::Took => took(phrase, date).map(Entry::Event),
        };
        match entry {
            Ok(entry) => spoken.entries.push(entry),
            Err(misheard) => spoken.misheard.push(misheard),
        }
    }
    spoken
}

/// Splits a text at line ends, semicolons and commas; a comma between figures is a decimal comma, unless three figures
/// follow: that can be read two ways and is left for the reader of numbers to refuse.
fn parts(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let digit = |place: usize| chars.get(place).is_some_and(char::is_ascii_digit);
    let mut parts = vec![String::new()];
    let mut depth = 0_i32;
    for (i, &c) in chars.iter().enumerate() {
        depth += i32::from(c == '(') - i32::from(c == ')');
        let current = parts.last_mut().expect("there is always a last part");
        match c {
            ',' if i > 0 && digit(i - 1) && digit(i + 1) => {
                let three = digit(i + 2) && digit(i + 3) && !digit(i + 4);
                current.push(if three { ',' } else { '.' });
            }
            '\n' | '\r' => {
                depth = 0;
                parts.push(String::new());
            }
            ',' | ';' if depth <= 0 => parts.push(String::new()),
            _ => current.push(c),
        }
    }
    parts
}

/// Takes a note in parentheses out of a part.
fn part_and_note(part: &str) -> (String, Option<String>) {
    match (part.find('('), part.rfind(')')) {
        (Some(open), Some(close)) if open < close => {
            let note = part[open + 1..close].trim();
            let words = format!("{} {}", &part[..open], &part[close + 1..]);
            (words, (!note.is_empty()).then(|| note.into()))
        }
        _ => (part.into(), None),
    }
}

/// Answers a first word that is nearly a verb and nothing else that could begin a part.
fn wrong_verb(phrase: &Phrase, garden: &Garden, today: NaiveDate) -> Option<Misheard> {
    let first = phrase.at(0)?;
    let right = nearest(first, VERBS.iter().map(|(name, _)| *name))?;
    let known = number(phrase, 0).is_some()
        || first.len() < 3
        || matches!(
            find_day(&mut phrase.clone(), today, garden.show.dates),
            Ok(Some(_))
        ) && phrase.words.len() < 3
        || !matches!(find_crop(&mut phrase.clone(), garden), CropSaid::No)
            && number(phrase, 1).is_some()
        || nearest(first, standing_words(garden)).is_some();
    (!known).then(|| Misheard {
        said: phrase.text(),
        problem: format!("`{first}` is not known"),
        nearest: Some(right.into()),
    })
}
