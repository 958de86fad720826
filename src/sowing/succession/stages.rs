//! What it is worth to plan for many drawn seasons at once: such a plan beside plans for one season that stands for all.
//!
//! A sowing is decided before the season is known, eating and putting by after it: a program of two stages. The plans are
//! found in some seasons and held to others. A study for the developers; no verb asks it. The kitchen is not lived through
//! and nothing is cleared early.

use super::grouped::grouped;
use super::improve::find;
use super::lived::live;
use super::mend::{FEW, at_most, spare};
use super::offer::{Field, Offer, Sowing};
use super::problem::{Response, Table};
use super::setup::{Asked, Setup, filled, lay_out};
use crate::garden::Garden;
use crate::season::ensemble::Settings;
use chrono::NaiveDate;

/// Which seasons in ten give less than the poor season that a cautious plan is made for.
const POOR: f64 = 0.2;

/// What three plans save in seasons that none of them was made for, mean kg of fresh food missed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stages {
    /// The plan for many seasons at once.
    pub many: f64,
    /// The plan for the mean season.
    pub mean: f64,
    /// The plan for a season in which every sowing gives what it exceeds in eight seasons of ten.
    pub poor: f64,
}

/// Makes the three plans with one seed and holds them to the seasons of the next.
#[must_use]
pub fn stages(garden: &Garden, from: NaiveDate, settings: &Settings, asked: &Asked) -> Stages {
    let asked = Asked {
        keep: true,
        ..asked.clone()
    };
    let with_hours = |settings: &Settings| {
        let mut setup = lay_out(garden, from, settings, &asked);
        let lived = live(garden, from, &at_most(settings, FEW), &setup.wants);
        setup.problem.spare_hours = spare(&lived);
        setup
    };
    let setup = with_hours(settings);
    let other = with_hours(&Settings {
        seed: settings.seed.wrapping_add(1),
        ..*settings
    });
    let field = setup.field(&setup.problem);
    let mean = grouped(field, 1);
    let mean_field = Field {
        problem: &mean.problem,
        offers: &mean.offers,
        ..field
    };
    let poor = poor_offers(&setup);
    let poor_field = Field {
        offers: &poor,
        ..field
    };
    let nothing = cost(&setup, &other, &[]);
    let saves = |field: Field<'_>| nothing - cost(&setup, &other, &find(field).plan);
    Stages {
        many: saves(field),
        mean: saves(mean_field),
        poor: saves(poor_field),
    }
}

/// Offers that give in every season what they exceed in eight seasons of ten, week by week.
fn poor_offers(setup: &Setup) -> Vec<Offer> {
    let seasons = setup.problem.seasons;
    let poor = |r: &Response| {
        let week = |w: usize| {
            let mut all: Vec<f64> = (0..seasons).map(|s| r.of(s)[w]).collect();
            all.sort_by(f64::total_cmp);
            all[(POOR * (seasons - 1) as f64) as usize]
        };
        let one: Vec<f64> = (0..r.span).map(week).collect();
        Response {
            kg: one.repeat(seasons),
            ..r.clone()
        }
    };
    let offers = setup.offers.iter().map(|o| Offer {
        responses: o.responses.iter().map(poor).collect(),
        ..o.clone()
    });
    offers.collect()
}

/// Cost of a plan in the seasons of another draw.
fn cost(setup: &Setup, other: &Setup, plan: &[Sowing]) -> f64 {
    let mut table = Table::new(&other.problem);
    let prices = other.problem.prices;
    let mut own = 0.0;
    for s in plan {
        let units = f64::from(s.units);
        let reply = &other.replies[setup.of[s.offer]];
        for response in &filled(&reply.table) {
            table.apply(&[(response, units)]);
        }
        own += prices.sowing + prices.ground * setup.offers[s.offer].m2 * units;
    }
    table.total() + own
}
