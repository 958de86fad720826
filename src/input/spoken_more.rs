//! Spoken entries other than pickings: the shelf, ends and sowings that came up, frosts, minutes taken.

use super::spoken::Misheard;
use super::spoken_names::{CropSaid, find_bed, find_crop};
use super::spoken_words::{Phrase, name_words, nearest, number, same_word};
use crate::garden::planting::PlantingId;
use crate::garden::preserving::ProductId;
use crate::garden::record::{Event, Happening, StoreChange};
use crate::garden::units::{Minutes, Temperature};
use crate::garden::{Garden, UnitSystem};
use chrono::NaiveDate;

/// Words that carry nothing here.
const FILLERS: [&str; 9] = ["of", "the", "and", "by", "on", "in", "to", "from", "at"];

/// Makes an answer.
fn wrong(phrase: &Phrase, problem: String, nearest: Option<String>) -> Misheard {
    Misheard {
        said: phrase.text(),
        problem,
        nearest,
    }
}

/// Reads containers put on the shelf (`sign` 1) or taken from it (−1).
pub(super) fn stores(
    mut phrase: Phrase,
    garden: &Garden,
    date: NaiveDate,
    sign: f64,
    note: Option<String>,
) -> Result<StoreChange, Misheard> {
    phrase.drop_words(&FILLERS);
    let count = (0..phrase.words.len()).find_map(|i| number(&phrase, i).map(|(n, w)| (i, n, w)));
    let Some((place, count, words)) = count else {
        return Err(wrong(&phrase, "how many? No number was said".into(), None));
    };
    if count <= 0.0 {
        let problem = "a number of containers is more than nothing".to_string();
        return Err(wrong(&phrase, problem, None));
    }
    phrase.take(place..place + words);
    let left: Vec<String> = phrase
        .unused()
        .iter()
        .map(|&i| phrase.words[i].low.clone())
        .collect();
    let crops = match find_crop(&mut phrase.clone(), garden) {
        CropSaid::Found { crops, .. } => crops,
        CropSaid::No => Vec::new(),
    };
    // A product is meant if every word left is of its name, its container or a crop of it.
    let fits = |id: usize, strict: bool| {
        let product = &garden.products[id];
        let name = name_words(&product.name);
        let container = name_words(&product.container);
        let of_crop = product.parts.iter().any(|p| crops.contains(&p.crop));
        let named = name.iter().all(|w| left.iter().any(|l| same_word(l, w)));
        let known = |l: &String| {
            name.iter().chain(&container).any(|w| same_word(l, w))
                || of_crop && crop_words(garden, &crops).any(|w| same_word(l, &w))
        };
        left.iter().all(known) && if strict { named } else { of_crop }
    };
    let all = |strict: bool| -> Vec<usize> {
        (0..garden.products.len())
            .filter(|&id| fits(id, strict))
            .collect()
    };
    let strict = all(true);
    let found = if strict.is_empty() {
        all(false)
    } else {
        strict
    };
    let names = |ids: &[usize]| {
        let names: Vec<&str> = ids
            .iter()
            .map(|&i| garden.products[i].name.as_str())
            .collect();
        names.join(" or ")
    };
    match found[..] {
        [id] => Ok(StoreChange {
            date,
            product: ProductId(id),
            change: sign * count,
            note,
        }),
        [] => {
            let right = garden.products.iter().map(|p| p.name.as_str());
            let said = left.join(" ");
            let near = nearest(&said, right.clone())
                .or_else(|| left.iter().find_map(|word| nearest(word, right.clone())));
            let problem = format!("`{said}` is no product");
            Err(wrong(&phrase, problem, near.map(Into::into)))
        }
        _ => {
            let problem = "several products could be meant".to_string();
            Err(wrong(&phrase, problem, Some(names(&found))))
        }
    }
}

/// Lists the words of some crops' names.
fn crop_words<'a>(
    garden: &'a Garden,
    crops: &'a [crate::garden::crop::CropId],
) -> impl Iterator<Item = String> + 'a {
    crops.iter().flat_map(|&id| {
        let crop = garden.crop(id);
        std::iter::once(&crop.name)
            .chain(&crop.also_called)
            .flat_map(|name| name_words(name))
    })
}

/// Reads that a planting was ended, or that it came up.
pub(super) fn ended_or_up(
    mut phrase: Phrase,
    garden: &Garden,
    date: NaiveDate,
    up: bool,
) -> Result<Event, Misheard> {
    let happening = |id: PlantingId| Event {
        date,
        what: if up {
            Happening::Up(id)
        } else {
            Happening::Ended(id)
        },
    };
    let settled = |id: PlantingId| {
        garden.record.events.iter().any(|event| match event.what {
            Happening::Ended(other) => other == id,
            Happening::Up(other) => up && other == id,
            _ => false,
        })
    };
    let named = (0..garden.plantings.len()).map(PlantingId).find(|&id| {
        let name = name_words(&garden.planting(id).name);
        phrase.unused().len() == name.len()
            && phrase
                .unused()
                .first()
                .is_some_and(|&i| phrase.matches(i, &name))
    });
    if let Some(id) = named {
        return Ok(happening(id));
    }
    let bed = find_bed(&mut phrase, garden);
    let CropSaid::Found { crops, .. } = find_crop(&mut phrase, garden) else {
        let right = garden.crops.iter().map(|c| c.name.as_str());
        let word = phrase
            .unused()
            .first()
            .map(|&i| phrase.words[i].raw.clone());
        let near = word.as_deref().and_then(|word| nearest(word, right));
        let problem = word.as_ref().map_or_else(
            || "no crop was named".to_string(),
            |word| format!("`{word}` is no crop"),
        );
        return Err(wrong(&phrase, problem, near.map(Into::into)));
    };
    phrase.drop_words(&FILLERS);
    if let Some(&place) = phrase.unused().first() {
        let word = phrase.words[place].raw.clone();
        let near = nearest(&word, garden.beds.iter().map(|b| b.name.as_str()));
        let problem = format!("`{word}` is not known");
        return Err(wrong(&phrase, problem, near.map(Into::into)));
    }
    let meant: Vec<PlantingId> = (0..garden.plantings.len())
        .map(PlantingId)
        .filter(|&id| {
            let planting = garden.planting(id);
            crops.contains(&planting.crop)
                && bed.is_none_or(|bed| planting.bed == bed)
                && planting.start() <= date
                && planting.cleared.is_none_or(|day| day >= date)
                && !settled(id)
        })
        .collect();
    let names: Vec<&str> = meant
        .iter()
        .map(|&id| garden.planting(id).name.as_str())
        .collect();
    match meant[..] {
        [id] => Ok(happening(id)),
        [] => Err(wrong(
            &phrase,
            "no such planting stands on that day".into(),
            None,
        )),
        _ => Err(wrong(
            &phrase,
            "several plantings could be meant".into(),
            Some(names.join(" or ")),
        )),
    }
}

/// Reads a frost, with its temperature if it was measured.
pub(super) fn frost(
    mut phrase: Phrase,
    units: UnitSystem,
    date: NaiveDate,
) -> Result<Event, Misheard> {
    phrase.drop_words(&FILLERS);
    phrase.drop_words(&[
        "minimum", "min", "degrees", "light", "hard", "killing", "first",
    ]);
    let mut measured = None;
    for place in 0..phrase.words.len() {
        let Some((value, words)) = number(&phrase, place) else {
            continue;
        };
        let scale = phrase.at(place + words);
        let (of, more): (fn(f64) -> Temperature, usize) = match scale {
            Some("f" | "°f" | "fahrenheit") => (Temperature::from_f, 1),
            Some("c" | "°c" | "celsius") => (Temperature::from_c, 1),
            _ if units == UnitSystem::Us => (Temperature::from_f, 0),
            _ => (Temperature::from_c, 0),
        };
        let degrees = if scale == Some("°") { 1 } else { 0 };
        let temperature = of(value).c();
        if !(-60.0..=5.0).contains(&temperature) {
            let problem = format!("{value} is no temperature of a frost");
            return Err(wrong(&phrase, problem, None));
        }
        measured = Some(temperature);
        phrase.take(place..place + words + more + degrees);
        break;
    }
    if let Some(&place) = phrase.unused().first() {
        let problem = format!("`{}` is not known", phrase.words[place].raw);
        return Err(wrong(&phrase, problem, Some("frost 29 F".into())));
    }
    Ok(Event {
        date,
        what: Happening::Frost(measured),
    })
}

/// Reads how long a session took: `95 min`, `1 h 35`, `1:35`, `an hour and a half`.
pub(super) fn took(mut phrase: Phrase, date: NaiveDate) -> Result<Event, Misheard> {
    let example = || Some("took 95 min, took 1 h 35, took 1:35".to_string());
    let mut minutes = None;
    let mut after_hours = false;
    for place in 0..phrase.words.len() {
        if let Some((hours, rest)) = phrase.at(place).and_then(|w| w.split_once(':')) {
            if let (Ok(hours), Ok(rest)) = (hours.parse::<u32>(), rest.parse::<u32>())
                && rest < 60
            {
                minutes = Some(f64::from(hours) * 60.0 + f64::from(rest));
                phrase.take(place..place + 1);
            }
            continue;
        }
        // "an hour and a half": the half is of the hour.
        let from = if phrase.at(place) == Some("and") {
            place + 1
        } else {
            place
        };
        let Some((count, words)) = number(&phrase, from) else {
            continue;
        };
        let until = from + words;
        let (each, end) = match phrase.at(until) {
            Some("h" | "hr" | "hrs" | "hour" | "hours") => {
                after_hours = true;
                (60.0, until + 1)
            }
            Some("min" | "mins" | "minute" | "minutes" | "m") => (1.0, until + 1),
            _ if after_hours && from > place => (60.0, until),
            _ if after_hours => (1.0, until),
            _ => {
                let problem = format!("{count} of what? Say minutes or hours");
                return Err(wrong(&phrase, problem, example()));
            }
        };
        *minutes.get_or_insert(0.0) += count * each;
        phrase.take(place..end);
    }
    phrase.drop_words(&FILLERS);
    if let Some(&place) = phrase.unused().first() {
        let problem = format!("`{}` is not known", phrase.words[place].raw);
        return Err(wrong(&phrase, problem, example()));
    }
    match minutes {
        Some(minutes) if minutes > 0.0 && minutes <= 24.0 * 60.0 => Ok(Event {
            date,
            what: Happening::Took(Minutes::from_min(minutes)),
        }),
        Some(_) => Err(wrong(
            &phrase,
            "a session takes more than nothing and less than a day".into(),
            example(),
        )),
        None => Err(wrong(
            &phrase,
            "how long? No time was said".into(),
            example(),
        )),
    }
}
