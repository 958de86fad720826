//! What was forecast to be picked, as it was known on an earlier day.
//!
//! Most crops are picked as they become ready. A crop that stands long in its bed is picked when the kitchen wants it, so
//! that its pickings are set beside what the modelled kitchen would have taken, not beside what was ready.

use super::setting::Setting;
use crate::garden::record::Picked;
use crate::garden::week::Week;
use crate::kitchen::context;
use crate::kitchen::day_by_day::{Scratch, day_by_day};
use crate::kitchen::draw::Went;
use crate::learning::draws::WeeklyDraws;
use crate::learning::gather::Gathered;
use crate::learning::known_at::{KnownAt, known_at, plan_at};
use crate::season::ensemble::{self, Settings};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Most drawn seasons that the kitchen lives through here: p10 of a week moves by 1 in 100 seasons at most with more.
const MOST_SEASONS: u32 = 2000;

/// Makes the forecast of pickings as it was known on the morning of a day.
pub(super) fn known(setting: &Setting, rows: &[Picked], origin: NaiveDate) -> KnownAt {
    let garden = &setting.garden;
    let mut known = known_at(garden, rows, origin, &setting.draws);
    let few = Settings {
        draws: setting.draws.draws.min(MOST_SEASONS),
        ..setting.draws
    };
    let (plan, _) = plan_at(garden, rows, origin, &few);
    let horizon = plan.horizon();
    let ctx = context::compile(garden, horizon.first, horizon.days, origin);
    let standing = ctx.crops.iter().filter(|crop| crop.holds).map(|c| c.id);
    let standing: Vec<_> = standing.collect();
    if standing.is_empty() {
        return known;
    }
    let runs = ensemble::run(
        &plan,
        &few,
        |_| {
            let weeks = usize::from(horizon.weeks());
            (Gathered::new(garden, weeks), Scratch::new(&ctx))
        },
        |(gathered, scratch), _, season| {
            let draw = day_by_day(&ctx, season, scratch);
            let picked = draw.flows.iter().filter(|f| f.went == Went::Picked);
            gathered.push_amounts(picked.map(|f| {
                let crop = ctx.crops[usize::from(f.crop)].id;
                (crop, f.day, f.kg as f32)
            }));
        },
    );
    let runs: Vec<Gathered> = runs.into_iter().map(|(gathered, _)| gathered).collect();
    let mut picked: BTreeMap<_, WeeklyDraws> = Gathered::join(&runs, Week::of(horizon.first))
        .into_iter()
        .filter(|draws| standing.contains(&draws.crop))
        .map(|draws| (draws.crop, draws))
        .collect();
    for ready in &mut known.forecast {
        if let Some(picked) = picked.remove(&ready.crop) {
            *ready = picked;
        }
    }
    known
}
