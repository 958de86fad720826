//! A plan's numbers and made weather laid open, so that another program can compute the same ensemble and be compared.
//!
//! Draws nothing of a planting's own luck and writes no file. Places with a daily record are not laid open.

use super::ensemble::{self, Settings};
use super::growth::{Response, Sum, UNIT};
use super::made_years::{self, Air};
use super::plan::Plan;
use crate::garden::crop::Pattern;
use std::fmt::Write as _;

/// What another program needs.
#[derive(Debug, Clone)]
pub struct Plain {
    /// Days of the horizon.
    pub days: usize,
    /// Daily mean, °C; shape made runs × days. Draws that share a run lie together, as many for each.
    pub mean_c: Vec<f32>,
    /// Daylight of each day, hours.
    pub daylight_hours: Vec<f32>,
    /// First and last day of cold; shape draws × thresholds × winters × 2; `first > last` where it never comes.
    pub cold_days: Vec<i32>,
    /// Number of thresholds.
    pub thresholds: usize,
    /// Number of winters.
    pub winters: usize,
    /// Plantings as comma-separated text with a heading.
    pub plantings: String,
}

/// Columns of the planting table.
const HEADING: &str = "crop,second_crop,calendar,base_c,full_c,ceiling_c,day_length,warm_from,warm_until,up_base_c,\
    up_degree_days,start,limit,cleared,days,days_cv,covers,bolt_days,bolt_above_c,bolt_above_hours,bolt_cold_days,\
    pest_chance,pest_from,pest_span,pattern,reached,harvest_days,pick_every,usable_early,strip_share,kg,shared_sd,own_sd,\
    half_variance,fail_chance,second_share,second_from,second_every,second_delay";

/// Lays open a plan's plantings and the weather of its draws.
#[must_use]
pub fn plain(plan: &Plan, settings: &Settings) -> Plain {
    let mut mean_c = Vec::new();
    let mut air = Air::default();
    for run in 0..settings.draws.min(made_years::RUNS) {
        made_years::make(
            plan.climate(),
            &plan.horizon(),
            settings.seed,
            u64::from(run),
            &mut air,
        );
        mean_c.extend_from_slice(&air.mean_c);
    }
    let mut plantings = HEADING.to_owned();
    for planting in 0..plan.len() {
        plantings.push('\n');
        plantings.push_str(&row(plan, planting));
    }
    plantings.push('\n');
    Plain {
        days: usize::from(plan.horizon().days),
        mean_c,
        daylight_hours: plan.daylight.hours.iter().map(|&h| h as f32).collect(),
        cold_days: ensemble::cold_days(plan, settings),
        thresholds: plan.thresholds_f.len(),
        winters: plan.winters.len(),
        plantings,
    }
}

/// One planting's numbers.
fn row(plan: &Plan, planting: usize) -> String {
    let compiled = &plan.plantings[planting];
    let life = &compiled.life;
    let mut out = String::new();
    // Writing to a string cannot fail.
    let mut cell = |value: String| {
        let comma = if out.is_empty() { "" } else { "," };
        let _ = write!(out, "{comma}{value}");
    };
    let some = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
    let (response, warmer) = match &plan.sums[life.growth] {
        Sum::Growth(response, warmer) => (*response, *warmer),
        // A planting's growth is always a sum of growth.
        _ => return String::new(),
    };
    let Response {
        calendar,
        base_c,
        full_c,
        ceiling_c,
        day_length,
    } = response;
    cell(compiled.crop_id.0.to_string());
    cell(some(compiled.second_crop.map(|id| id.0 as f64)));
    cell(u8::from(calendar).to_string());
    cell(base_c.to_string());
    cell(full_c.to_string());
    cell(some(ceiling_c));
    cell(u8::from(day_length).to_string());
    cell(some(warmer.map(|w| f64::from(w.0))));
    cell(some(warmer.map(|w| f64::from(w.1))));
    let up = life.up.map(|(sum, need)| match &plan.sums[sum] {
        Sum::Up(base_c, _) => (*base_c, f64::from(need) / UNIT),
        _ => (0.0, 0.0),
    });
    cell(some(up.map(|u| u.0)));
    cell(some(up.map(|u| u.1)));
    cell(life.start.to_string());
    cell(life.limit.to_string());
    cell(some(life.cleared.map(f64::from)));
    cell(life.days.to_string());
    cell(life.days_cv.to_string());
    let covers = life
        .covers
        .iter()
        .filter_map(|c| Some(format!("{}:{}:{}", c.from, c.until, c.kills?)));
    cell(covers.collect::<Vec<_>>().join(";"));
    let bolting = life.bolt.map(|need| match &plan.sums[need.sums] {
        Sum::Heat(bolting, _) => (need.growing, bolting.above_c, bolting.above_hours),
        _ => (need.growing, None, None),
    });
    cell(some(bolting.map(|b| f64::from(b.0) / UNIT)));
    cell(some(bolting.and_then(|b| b.1)));
    cell(some(bolting.and_then(|b| b.2)));
    let cold_days = life.bolt.and_then(|need| need.after_chill);
    cell(some(cold_days.map(|(_, days)| f64::from(days))));
    cell(life.pest_chance.to_string());
    cell(life.pest_from.to_string());
    cell(life.pest_span.to_string());
    cell(
        match life.pattern {
            Pattern::Once | Pattern::Root => "stand",
            Pattern::Leaf | Pattern::Fruit => "pick",
        }
        .to_owned(),
    );
    let reached = life.curve.reached().iter().map(f64::to_string);
    cell(reached.collect::<Vec<_>>().join(";"));
    cell((1.0 / (life.period_per_step * UNIT)).to_string());
    cell(life.pick_every.to_string());
    cell(u8::from(life.standstill.is_some()).to_string());
    cell(life.strip_share.to_string());
    cell(
        if compiled.alive {
            life.expected_kg
        } else {
            0.0
        }
        .to_string(),
    );
    cell(life.spread.shared.to_string());
    cell(life.spread.own.to_string());
    cell(life.spread.half_variance.to_string());
    cell(life.fail_chance.to_string());
    cell(some(life.second.map(|s| s.share)));
    cell(some(life.second.map(|s| s.from)));
    cell(some(life.second.map(|s| f64::from(s.pick_every))));
    cell(some(life.second.map(|s| s.delay_days)));
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::season::fixture::{self, date};
    use crate::season::plan::compile;

    #[test]
    fn everything_is_laid_open() {
        let settings = Settings { draws: 9, seed: 1 };
        let plan = compile(&fixture::year(), date("2026-03-01"));
        let plain = plain(&plan, &settings);
        assert_eq!(plain.mean_c.len(), 9 * plain.days);
        assert_eq!(
            plain.cold_days.len(),
            9 * plain.thresholds * plain.winters * 2
        );
        let mut lines = plain.plantings.lines();
        let columns = lines.next().unwrap().split(',').count();
        assert_eq!(lines.clone().count(), plan.len());
        assert!(lines.all(|line| line.split(',').count() == columns));
    }
}
