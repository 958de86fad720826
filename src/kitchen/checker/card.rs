//! The checker of session cards: no number of minutes stands beside a canner step, and every product has its label.

use crate::garden::Garden;
use crate::garden::preserving::Appliance;
use crate::kitchen::plan::card::Card;
use std::fmt;

/// One thing wrong with a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CardFault {
    /// A number of minutes stands at a canner step; the step's words.
    BareMinutes(String),
    /// A product has no label.
    NoLabel(String),
    /// A canner step on a card without the caution for canning.
    NoCaution,
}

impl fmt::Display for CardFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BareMinutes(words) => write!(f, "minutes at a canner step: {words}"),
            Self::NoLabel(product) => write!(f, "no label for {product}"),
            Self::NoCaution => write!(f, "canning without its caution"),
        }
    }
}

/// Checks a card.
#[must_use]
pub fn check(garden: &Garden, card: &Card) -> Vec<CardFault> {
    let mut faults = Vec::new();
    for step in &card.steps {
        let Some(id) = step.step.product else {
            continue;
        };
        let product = garden.product(id);
        if garden.method(product.method).appliance == Appliance::Canner {
            if minutes_stand_in(&step.what) {
                faults.push(CardFault::BareMinutes(step.what.clone()));
            }
            if !card.cautions.iter().any(|c| c.contains("tested recipe")) {
                faults.push(CardFault::NoCaution);
            }
        }
        if !card.labels.iter().any(|l| l.product == id) {
            faults.push(CardFault::NoLabel(product.name.clone()));
        }
    }
    faults
}

/// Says whether a text holds a number followed by a word for minutes.
#[must_use]
pub fn minutes_stand_in(text: &str) -> bool {
    let lower = text.to_lowercase();
    let mut rest = lower.as_str();
    while let Some(at) = rest.find("min") {
        let before = rest[..at].trim_end_matches([' ', '-', '\u{a0}']);
        if before.ends_with(|c: char| c.is_ascii_digit() || "½¼¾".contains(c)) {
            return true;
        }
        rest = &rest[at + 3..];
    }
    false
}
