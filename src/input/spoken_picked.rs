//! Spoken entries of pickings: crop, amount, bed and where it went, in any order.

use super::spoken::{Entry, Misheard, Spoken};
use super::spoken_days::{DAY_WORDS, Day};
use super::spoken_names::{CropSaid, find_bed, find_crop, is_unit, mass, names_of, standing_words};
use super::spoken_words::{Phrase, Word, nearest, number};
use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::planting::PlantingId;
use crate::garden::record::{Picked, Use};
use chrono::NaiveDate;

/// Words for where a picking went.
const USES: [(&str, Use); 15] = [
    ("fresh", Use::Fresh),
    ("eaten", Use::Fresh),
    ("ate", Use::Fresh),
    ("frozen", Use::PutBy),
    ("froze", Use::PutBy),
    ("freezer", Use::PutBy),
    ("canned", Use::PutBy),
    ("dried", Use::PutBy),
    ("pickled", Use::PutBy),
    ("given", Use::Given),
    ("gave", Use::Given),
    ("away", Use::Given),
    ("wasted", Use::Wasted),
    ("compost", Use::Wasted),
    ("composted", Use::Wasted),
];

/// Words that carry nothing.
const FILLERS: [&str; 16] = [
    "of", "the", "some", "and", "from", "for", "to", "in", "with", "picked", "garden", "bed",
    "more", "another", "by", "put",
];

/// Words that mark a guess.
const GUESSES: [&str; 8] = [
    "~", "≈", "about", "around", "roughly", "maybe", "approx", "guess",
];

/// Reads a part that tells of pickings, of one crop or of several named one after another.
pub(super) fn picked(
    phrase: Phrase,
    garden: &Garden,
    day: Day,
    note: Option<String>,
    spoken: &mut Spoken,
) {
    let left: Vec<usize> = phrase.unused();
    if left.is_empty() {
        return;
    }
    let words: Vec<Word> = left.iter().map(|&i| phrase.words[i].clone()).collect();
    for words in by_crop(words, garden) {
        match one_picking(Phrase::new(words), garden, day, note.clone()) {
            Ok((row, better)) => {
                spoken.entries.push(Entry::Picked(row));
                spoken.notes.extend(better);
            }
            Err(misheard) => spoken.misheard.push(misheard),
        }
    }
}

/// Cuts words in which several crops are named without a comma.
fn by_crop(words: Vec<Word>, garden: &Garden) -> Vec<Vec<Word>> {
    let mut rest = Phrase::new(words.clone());
    let mut crops = Vec::new();
    while let CropSaid::Found { place, .. } = find_crop(&mut rest, garden) {
        crops.push(place);
    }
    crops.sort_unstable();
    if crops.len() < 2 {
        return vec![words];
    }
    let all = Phrase::new(words.clone());
    let amounts: Vec<usize> = (0..words.len())
        .filter(|&i| number(&all, i).is_some() || GUESSES.contains(&words[i].low.as_str()))
        .collect();
    let amount_first = amounts.first().is_some_and(|&amount| amount < crops[0]);
    let starts: Vec<usize> = crops
        .windows(2)
        .map(|pair| {
            if amount_first {
                amounts
                    .iter()
                    .copied()
                    .find(|&amount| amount > pair[0] && amount < pair[1])
                    .unwrap_or(pair[1])
            } else {
                pair[1]
            }
        })
        .collect();
    let mut pieces = Vec::new();
    let mut from = 0;
    for start in starts {
        pieces.push(words[from..start].to_vec());
        from = start;
    }
    pieces.push(words[from..].to_vec());
    pieces
}

/// Reads one picking.
fn one_picking(
    mut phrase: Phrase,
    garden: &Garden,
    day: Day,
    note: Option<String>,
) -> Result<(Picked, Option<String>), Misheard> {
    let said = phrase.text();
    let wrong = |problem: String, nearest: Option<String>| Misheard {
        said: said.clone(),
        problem,
        nearest,
    };
    let bed = find_bed(&mut phrase, garden);
    let crop = match find_crop(&mut phrase, garden) {
        CropSaid::Found { crops, .. } => crops,
        CropSaid::No => {
            let names: Vec<&str> = standing_words(garden)
                .chain(garden.crops.iter().flat_map(names_of))
                .collect();
            let near = |i: usize| nearest(&phrase.words[i].raw, names.iter().copied());
            let unknown: Vec<usize> = phrase
                .unused()
                .into_iter()
                .filter(|&i| {
                    let low = phrase.words[i].low.as_str();
                    let known = FILLERS.contains(&low) || GUESSES.contains(&low);
                    !known && number(&phrase, i).is_none() && !is_unit(low, garden)
                })
                .collect();
            let likely = unknown.iter().copied().find(|&i| near(i).is_some());
            let (problem, near) = match likely.or(unknown.first().copied()) {
                Some(i) => {
                    let word = phrase.words[i].raw.as_str();
                    (format!("`{word}` is no crop"), near(i).map(Into::into))
                }
                None => ("no crop was named".to_string(), None),
            };
            return Err(wrong(problem, near));
        }
    };
    let growing = |crop: CropId| growing(garden, crop, day.date);
    let (crop, plantings) = choose(&crop, growing, garden).map_err(|(p, n)| wrong(p, n))?;
    let went = find_use(&mut phrase);
    let mut guess = false;
    for place in phrase.unused() {
        if phrase.at(place).is_some_and(|w| GUESSES.contains(&w)) {
            guess = true;
            phrase.take(place..place + 1);
        }
    }
    let mass = mass(&mut phrase, garden, crop).map_err(|(p, n)| wrong(p, n))?;
    phrase.drop_words(&FILLERS);
    if let Some(&place) = phrase.unused().first() {
        let word = phrase.words[place].raw.as_str();
        let beds = garden.beds.iter().map(|b| b.name.as_str());
        let right: Vec<&str> = beds
            .chain(USES.iter().map(|(word, _)| *word))
            .chain(DAY_WORDS)
            .collect();
        let near = nearest(word, right.into_iter()).map(Into::into);
        return Err(wrong(format!("`{word}` is not known"), near));
    }
    let names = |ids: &[PlantingId]| {
        let mut beds: Vec<&str> = ids
            .iter()
            .map(|&id| garden.bed(garden.planting(id).bed).name.as_str())
            .collect();
        beds.dedup();
        beds.join(" and ")
    };
    let name = &garden.crop(crop).name;
    let here: Vec<PlantingId> = plantings
        .iter()
        .copied()
        .filter(|&id| bed.is_none_or(|bed| garden.planting(id).bed == bed))
        .collect();
    if let (Some(bed), true) = (bed, here.is_empty()) {
        let bed = &garden.bed(bed).name;
        let problem = format!("there is no planting of {name} in {bed}");
        return Err(wrong(problem, Some(names(&plantings))));
    }
    let beds: std::collections::BTreeSet<_> =
        here.iter().map(|&id| garden.planting(id).bed).collect();
    let row = Picked {
        date: day.date,
        whole_week: day.whole_week,
        bed: bed.or_else(|| beds.first().copied().filter(|_| beds.len() == 1)),
        crop,
        planting: here.first().copied().filter(|_| here.len() == 1),
        mass,
        guess,
        went,
        note,
    };
    let better = (row.bed.is_none()).then(|| {
        format!(
            "{name}: planted in {}; add `in` and the bed to say which",
            names(&here)
        )
    });
    Ok((row, better))
}

/// Returns the plantings that could have given a crop on a day: begun, and not cleared more than a week ago.
fn growing(garden: &Garden, crop: CropId, date: NaiveDate) -> Vec<PlantingId> {
    (0..garden.plantings.len())
        .map(PlantingId)
        .filter(|&id| {
            let planting = garden.planting(id);
            let second = &garden.crop(planting.crop).second;
            let gives = planting.crop == crop || second.as_ref().is_some_and(|s| s.crop == crop);
            let gone = planting
                .cleared
                .is_some_and(|day| (date - day).num_days() > 7);
            gives && planting.start() <= date && !gone
        })
        .collect()
}

/// Chooses among the crops that a name can mean the one that is growing.
fn choose(
    crops: &[CropId],
    growing: impl Fn(CropId) -> Vec<PlantingId>,
    garden: &Garden,
) -> Result<(CropId, Vec<PlantingId>), (String, Option<String>)> {
    let alive: Vec<(CropId, Vec<PlantingId>)> = crops
        .iter()
        .map(|&crop| (crop, growing(crop)))
        .filter(|(_, plantings)| !plantings.is_empty())
        .collect();
    let names = |ids: &mut dyn Iterator<Item = CropId>| {
        let names: Vec<&str> = ids.map(|id| garden.crop(id).name.as_str()).collect();
        names.join(" or ")
    };
    match alive.as_slice() {
        [one] => Ok(one.clone()),
        [] => Err((
            format!(
                "no planting of {} is growing on that day",
                names(&mut crops.iter().copied())
            ),
            None,
        )),
        several => Err((
            "two crops go by that name".into(),
            Some(names(&mut several.iter().map(|(crop, _)| *crop))),
        )),
    }
}

/// Finds the words for where a picking went.
fn find_use(phrase: &mut Phrase) -> Use {
    for place in phrase.unused() {
        if phrase.at(place) == Some("put") && phrase.at(place + 1) == Some("by") {
            phrase.take(place..place + 2);
            return Use::PutBy;
        }
        if let Some((_, went)) = USES.iter().find(|(w, _)| phrase.at(place) == Some(w)) {
            phrase.take(place..place + 1);
            if phrase.at(place + 1) == Some("away") {
                phrase.take(place + 1..place + 2);
            }
            return *went;
        }
    }
    Use::Waiting
}
