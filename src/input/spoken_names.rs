//! Names of the garden in a spoken entry: crops, beds, and amounts in the units a crop has.

use super::spoken_words::{Phrase, name_words, nearest, number, same_word};
use crate::garden::Garden;
use crate::garden::bed::BedId;
use crate::garden::crop::{Crop, CropId};
use crate::garden::units::Mass;

/// What was found of a crop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum CropSaid {
    /// No name of a crop.
    No,
    /// A name and the crops that go by it.
    Found {
        /// The crops.
        crops: Vec<CropId>,
        /// Place of its first word.
        place: usize,
    },
}

/// Finds the first crop named, the longest name that fits, and uses its words up.
///
/// Where no name stands in full, the last word of a planted crop's name is enough: "beans" are bush beans if those grow.
pub(super) fn find_crop(phrase: &mut Phrase, garden: &Garden) -> CropSaid {
    match find_name(phrase, garden, |_, crop| {
        names_of(crop).map(name_words).collect()
    }) {
        CropSaid::No => {
            let planted: Vec<CropId> = garden.plantings.iter().map(|p| p.crop).collect();
            find_name(phrase, garden, |id, crop| {
                let last = |name| name_words(name).into_iter().next_back();
                let shortened = names_of(crop)
                    .filter_map(last)
                    .filter(|word| word.len() > 2);
                let wanted = planted.contains(&id);
                shortened
                    .filter(|_| wanted)
                    .map(|word| vec![word])
                    .collect()
            })
        }
        found => found,
    }
}

/// Finds the first place where one of the crops' names stands, given by their words.
fn find_name(
    phrase: &mut Phrase,
    garden: &Garden,
    names: impl Fn(CropId, &Crop) -> Vec<Vec<String>>,
) -> CropSaid {
    let names: Vec<Vec<Vec<String>>> = garden
        .crops
        .iter()
        .enumerate()
        .map(|(i, crop)| names(CropId(i), crop))
        .collect();
    for place in 0..phrase.words.len() {
        let mut best: (usize, Vec<CropId>) = (0, Vec::new());
        for (i, names) in names.iter().enumerate() {
            let length = names
                .iter()
                .filter(|words| phrase.matches(place, words))
                .map(|words| words.len())
                .max()
                .unwrap_or(0);
            if length > best.0 {
                best = (length, vec![CropId(i)]);
            } else if length > 0 && length == best.0 {
                best.1.push(CropId(i));
            }
        }
        if best.0 > 0 {
            phrase.take(place..place + best.0);
            return CropSaid::Found {
                crops: best.1,
                place,
            };
        }
    }
    CropSaid::No
}

/// Lists the names of crops that are planted, so that they are asked for first.
pub(super) fn standing_words(garden: &Garden) -> impl Iterator<Item = &str> {
    garden
        .plantings
        .iter()
        .flat_map(|planting| names_of(garden.crop(planting.crop)))
}

/// Lists every name of a crop.
pub(super) fn names_of(crop: &Crop) -> impl Iterator<Item = &str> {
    std::iter::once(crop.name.as_str()).chain(crop.also_called.iter().map(String::as_str))
}

/// Says whether a word is a unit of anything.
pub(super) fn is_unit(word: &str, garden: &Garden) -> bool {
    (0..garden.crops.len()).any(|i| unit(word, garden, CropId(i)).is_some())
}

/// Finds a bed and uses its words up; a name of one or two letters needs `in`, `from` or `bed` before it.
pub(super) fn find_bed(phrase: &mut Phrase, garden: &Garden) -> Option<BedId> {
    let mut order: Vec<usize> = (0..garden.beds.len()).collect();
    order.sort_by_key(|&i| std::cmp::Reverse(name_words(&garden.beds[i].name).len()));
    for i in order {
        let name = name_words(&garden.beds[i].name);
        for place in 0..phrase.words.len() {
            if !phrase.matches(place, &name) {
                continue;
            }
            let mut from = place;
            while from > 0
                && matches!(
                    phrase.at(from - 1),
                    Some("in" | "from" | "bed" | "the" | "at")
                )
            {
                from -= 1;
            }
            let short = garden.beds[i].name.chars().count() <= 2;
            // "in a bowl" does not speak of bed A.
            let article = phrase.words[place].raw == "a" && phrase.at(place + 1).is_some();
            if short && (from == place || article) {
                continue;
            }
            let mut until = place + name.len();
            if phrase.at(until) == Some("bed") {
                until += 1;
            }
            phrase.take(from..until);
            return Some(BedId(i));
        }
    }
    None
}

/// Units of weight with what one weighs.
const WEIGHTS: [(&str, Mass); 13] = [
    ("lb", Mass::from_lb(1.0)),
    ("lbs", Mass::from_lb(1.0)),
    ("pound", Mass::from_lb(1.0)),
    ("#", Mass::from_lb(1.0)),
    ("oz", Mass::from_oz(1.0)),
    ("ounce", Mass::from_oz(1.0)),
    ("kg", Mass::from_kg(1.0)),
    ("kilo", Mass::from_kg(1.0)),
    ("kilogram", Mass::from_kg(1.0)),
    ("g", Mass::from_g(1.0)),
    ("gr", Mass::from_g(1.0)),
    ("gram", Mass::from_g(1.0)),
    ("gramme", Mass::from_g(1.0)),
];

/// Returns what one of a unit weighs for a crop: weights, the crop's own units, household measures.
fn unit(word: &str, garden: &Garden, crop: CropId) -> Option<Mass> {
    let weight = WEIGHTS.iter().find(|(name, _)| same_word(word, name));
    let own = garden.crop(crop).units.iter();
    let measures = &garden.household.measures;
    let measured = |of: Option<CropId>| {
        measures
            .iter()
            .find(move |m| m.crop == of && same_word(word, &m.name.to_lowercase()))
            .map(|m| m.mass)
    };
    weight
        .map(|(_, mass)| *mass)
        .or_else(|| {
            own.clone()
                .find(|(name, _)| same_word(word, &name.to_lowercase()))
                .map(|(_, mass)| *mass)
        })
        .or_else(|| measured(Some(crop)))
        .or_else(|| measured(None))
}

/// Lists the units in which a crop can be logged, for an answer.
fn units_of(garden: &Garden, crop: CropId) -> Vec<&str> {
    let own = garden
        .crop(crop)
        .units
        .iter()
        .map(|(name, _)| name.as_str());
    let measures = garden
        .household
        .measures
        .iter()
        .filter(|m| m.crop.is_none_or(|of| of == crop))
        .map(|m| m.name.as_str());
    ["lb", "oz", "kg", "g"]
        .into_iter()
        .chain(own)
        .chain(measures)
        .collect()
}

/// Reads the amount of a crop and uses its words up: one number with its unit, or several as in `2 lb 3 oz`.
///
/// # Errors
/// What is wrong, and the right units.
pub(super) fn mass(
    phrase: &mut Phrase,
    garden: &Garden,
    crop: CropId,
) -> Result<Mass, (String, Option<String>)> {
    let units = || Some(units_of(garden, crop).join(", "));
    let name = &garden.crop(crop).name;
    let mut total: Option<Mass> = None;
    let mut last: Option<Mass> = None;
    for place in 0..phrase.words.len() {
        let Some((count, words)) = number(phrase, place) else {
            continue;
        };
        // "2 lb in a bowl": the bowl is no second amount.
        if place > 0 && phrase.at(place - 1) == Some("in") && total.is_some() {
            let end = (place + words + 1).min(phrase.words.len());
            phrase.take(place..end);
            continue;
        }
        let mut at = place + words;
        while phrase
            .at(at)
            .is_some_and(|w| matches!(w, "of" | "a" | "full"))
        {
            at += 1;
        }
        if count < 0.0 {
            return Err(("an amount cannot be less than nothing".into(), None));
        }
        let each = || {
            let own = &garden.crop(crop).units;
            own.iter().find(|(n, _)| n == "each").map(|(_, mass)| *mass)
        };
        let (one, until) = match phrase.at(at) {
            Some(word) if unit(word, garden, crop).is_some() => {
                (unit(word, garden, crop).unwrap_or(Mass::ZERO), at + 1)
            }
            _ if count == 0.0 => (Mass::ZERO, place + words),
            Some(word) if each().is_none() || near_unit(word, garden, crop).is_some() => {
                let near = near_unit(word, garden, crop);
                let measured = garden
                    .household
                    .measures
                    .iter()
                    .find(|m| same_word(word, &m.name.to_lowercase()));
                let problem = match measured.and_then(|m| m.crop) {
                    Some(other) => format!(
                        "a {word} was weighed with {} only, not with {name}",
                        garden.crop(other).name
                    ),
                    None => format!("`{word}` is no unit of {name}"),
                };
                return Err((problem, near.map(Into::into).or_else(units)));
            }
            _ => match each() {
                Some(mass) => (mass, place + words),
                None => {
                    return Err((format!("{count} of what? The unit is missing"), units()));
                }
            },
        };
        let smaller = WEIGHTS.iter().any(|(_, mass)| *mass == one) && last.is_some_and(|l| one < l);
        if total.is_some() && !smaller {
            return Err((format!("two amounts of {name} were said"), None));
        }
        last = Some(one);
        phrase.take(place..until);
        *total.get_or_insert(Mass::ZERO) += one * count;
    }
    total.ok_or_else(|| {
        let figures = phrase.unused().into_iter().map(|i| &phrase.words[i].raw);
        let figures = figures
            .clone()
            .find(|w| w.starts_with(|c: char| c.is_ascii_digit()));
        match figures {
            Some(word) if word.contains(',') => {
                let (point, none) = (word.replace(',', "."), word.replace(',', ""));
                let problem = format!("`{word}` can be read two ways");
                (problem, Some(format!("{none} or {point}")))
            }
            Some(word) => (format!("`{word}` is no number"), None),
            None => (format!("no amount of {name} was said"), units()),
        }
    })
}

/// Returns the unit of a crop that a wrong word is nearest to.
fn near_unit<'a>(word: &str, garden: &'a Garden, crop: CropId) -> Option<&'a str> {
    nearest(
        word,
        units_of(garden, crop).into_iter().filter(|u| u.len() > 2),
    )
}
