//! A garden lived through in every drawn season, with its kitchen: what of each need was met in each week, and the hours.
//!
//! A week's need counts as met when what was eaten fresh comes to nearly all of it.

use super::response::is_kept;
use super::wants::Wants;
use crate::garden::Garden;
use crate::garden::household::Food;
use crate::garden::week::Week;
use crate::kitchen::accumulate::Accumulator;
use crate::kitchen::context;
use crate::kitchen::day_by_day::{Scratch, day_by_day};
use crate::kitchen::draw::Went;
use crate::kitchen::forecast::KitchenForecast;
use crate::kitchen::needs::serves;
use crate::kitchen::overload::overload;
use crate::season::ensemble::{CHUNK, Settings, run};
use crate::season::plan::compile;
use chrono::NaiveDate;

/// Share of a week's need that counts as all of it: the rest is rounding and the last day's supper.
const MET: f64 = 0.9;
/// Chance from which a week is likely to need more hours than there are.
const LIKELY: f64 = 0.5;

/// What came of a garden over the draws.
#[derive(Debug, Clone)]
pub(crate) struct Lived {
    /// The kitchen's figures.
    pub(crate) kitchen: KitchenForecast,
    /// kg eaten fresh, mean; wants × weeks.
    pub(crate) fresh_kg: Vec<Vec<f64>>,
    /// Chance that the week's need is met; wants × weeks, 1 where nothing is needed.
    pub(crate) met: Vec<Vec<f64>>,
    /// Whether met; draws × wants × weeks.
    pub(crate) each: Vec<bool>,
    /// Hours left in the kitchen, or missing if negative, in the seasons that the search looks at; seasons × weeks.
    pub(crate) left_hours: Vec<f64>,
}

impl Lived {
    /// Returns the mean number of weeks of a season with more work than hours.
    pub(crate) fn weeks_over(&self) -> f64 {
        self.kitchen.weeks.iter().map(|w| w.chance_over).sum()
    }
    /// Returns the number of weeks that are likely to need more hours than there are.
    pub(crate) fn likely_over(&self) -> usize {
        let likely = |w: &&crate::kitchen::forecast::KitchenWeek| w.chance_over >= LIKELY;
        self.kitchen.weeks.iter().filter(likely).count()
    }
    /// Returns the hours beyond those there are, mean over the seasons.
    pub(crate) fn hours_over(&self) -> f64 {
        self.kitchen.weeks.iter().map(|w| w.mean_hours_over).sum()
    }
}

/// Share of seasons in which at least a share of some weeks of a want is met.
pub(crate) fn seasons_met(lived: &Lived, want: usize, weeks: &[usize], share: f64) -> f64 {
    let (wants, all) = (lived.met.len(), lived.met.first().map_or(0, Vec::len));
    let draws = lived.each.len() / (wants * all).max(1);
    let enough = (0..draws).filter(|d| {
        let met = |w: &&usize| lived.each[(d * wants + want) * all + **w];
        weeks.iter().filter(met).count() as f64 >= share * weeks.len() as f64 - 1e-9
    });
    enough.count() as f64 / draws.max(1) as f64
}

/// Lives a garden through; `wants` says what is looked at, `from` the day from whose week on.
pub(crate) fn live(garden: &Garden, from: NaiveDate, settings: &Settings, wants: &Wants) -> Lived {
    let plan = compile(garden, from);
    let horizon = plan.horizon();
    let ctx = context::compile(garden, horizon.first, horizon.days, from);
    let foods: Vec<Food> = wants.foods.iter().flatten().copied().collect();
    let weeks = wants.need_kg.first().map_or(0, Vec::len);
    let (first_week, all) = (Week::of(from), foods.len() * weeks);
    let want_of: Vec<Option<usize>> = ctx
        .crops
        .iter()
        .map(|c| foods.iter().position(|f| serves(garden, c.id, *f)))
        .collect();
    let offset = first_week.since(Week::of(horizon.first));
    let chunks = run(
        &plan,
        settings,
        |_| {
            (
                Accumulator::new(&ctx, CHUNK as usize),
                Scratch::new(&ctx),
                Vec::<bool>::new(),
                vec![0.0_f64; all],
                vec![0.0_f64; all],
                Vec::<f64>::new(),
            )
        },
        |(gathered, scratch, each, sums, kg, left), at, season| {
            let draw = day_by_day(&ctx, season, scratch);
            gathered.add(&ctx, draw);
            kg.fill(0.0);
            for flow in draw.flows.iter().filter(|f| f.went == Went::Fresh) {
                let week = i64::from(ctx.calendar.week_of[usize::from(flow.day)]) - offset;
                if let (Some(want), Ok(week)) =
                    (want_of[usize::from(flow.crop)], usize::try_from(week))
                    && week < weeks
                {
                    kg[want * weeks + week] += flow.kg;
                }
            }
            if is_kept(at) {
                let hours = |week: i64| {
                    let week = usize::try_from(week + offset).unwrap_or(usize::MAX);
                    let needed = draw.week_min.get(week);
                    needed.map_or(0.0, |min| (ctx.calendar.week_min[week] - min) / 60.0)
                };
                left.extend((0..weeks as i64).map(hours));
            }
            for (i, (sum, kg)) in sums.iter_mut().zip(kg.iter()).enumerate() {
                *sum += kg;
                each.push(*kg >= MET * wants.need_kg[i / weeks.max(1)][i % weeks.max(1)] - 1e-9);
            }
        },
    );
    let draws = f64::from(settings.draws.max(1));
    let mut fresh = vec![0.0; all];
    let (mut gathered, mut each, mut left_hours) = (Vec::new(), Vec::new(), Vec::new());
    for (chunk, _, met, sums, _, left) in chunks {
        left_hours.extend(left);
        for (into, sum) in fresh.iter_mut().zip(&sums) {
            *into += sum / draws;
        }
        each.extend(met);
        gathered.push(chunk);
    }
    // Counted first and divided once, so that a chance never exceeds 1.
    let mut met = vec![0.0; all];
    for (i, is_met) in each.iter().enumerate() {
        met[i % all.max(1)] += f64::from(u8::from(*is_met));
    }
    met.iter_mut().for_each(|count| *count /= draws);
    let rows = |flat: &[f64]| flat.chunks(weeks.max(1)).map(<[f64]>::to_vec).collect();
    Lived {
        kitchen: overload(&ctx, gathered),
        fresh_kg: rows(&fresh),
        met: rows(&met),
        each,
        left_hours,
    }
}
