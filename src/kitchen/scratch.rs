//! Working storage of one draw, made once and used again, so that a day costs no allocation.

use super::allocate::Allocation;
use super::context::Context;
use super::crop_set::CropSet;
use super::draw::KitchenDraw;
use super::limits::Limits;
use super::lots::LotQueue;
use super::stand_queue::StandQueue;
use super::stores::Shelf;

/// Working storage of the kitchen for one thread.
#[derive(Debug, Clone)]
pub struct Scratch {
    /// Waiting lots, a queue a crop.
    pub(super) lots: Vec<LotQueue>,
    /// Standing food, a queue a crop.
    pub(super) standing: Vec<StandQueue>,
    /// Day from which a crop's lots must not be canned any more after killing cold, or never.
    pub(super) cold_end: Vec<u16>,
    /// Ends of plantings, sorted by day.
    pub(super) ends: Vec<(u16, u32)>,
    /// Containers still to be made for each goal.
    pub(super) goals_left: Vec<f64>,
    /// Gathered by freezing whole for each product, kg.
    pub(super) gathered_kg: Vec<f64>,
    /// Eaten fresh in this week, kg.
    pub(super) eaten_week_kg: f64,
    /// Crops eaten fresh this week.
    pub(super) fresh_this_week: CropSet,
    /// Brought in today because of killing cold, kg.
    pub(super) frost_today_kg: f64,
    /// Crops with waiting lots.
    pub(super) waiting_set: CropSet,
    /// Crops with standing food.
    pub(super) standing_set: CropSet,
    /// Crops of which something was ready before the kitchen begins.
    pub(super) past_set: CropSet,
    /// No waiting lot has an earlier last day.
    pub(super) next_last: u16,
    /// No standing food is due earlier.
    pub(super) next_due: u16,
    /// Earliest trigger of any waiting lot.
    pub(super) next_trigger: u16,
    /// Equipment in use.
    pub(super) limits: Limits,
    /// Containers on the shelf.
    pub(super) shelf: Shelf,
    /// The session being put together.
    pub(super) allocation: Allocation,
    /// The result.
    pub(super) out: KitchenDraw,
}

impl Scratch {
    /// Makes working storage for a context.
    #[must_use]
    pub fn new(ctx: &Context) -> Self {
        let (crops, products, goals) = (ctx.crops.len(), ctx.products.len(), ctx.goals.len());
        let weeks = ctx.calendar.weeks.len();
        Self {
            lots: vec![LotQueue::default(); crops],
            standing: vec![StandQueue::default(); crops],
            cold_end: vec![0; crops],
            ends: Vec::with_capacity(ctx.plantings.len()),
            goals_left: vec![0.0; goals],
            gathered_kg: vec![0.0; products],
            eaten_week_kg: 0.0,
            fresh_this_week: CropSet::new(crops),
            frost_today_kg: 0.0,
            waiting_set: CropSet::new(crops),
            standing_set: CropSet::new(crops),
            past_set: CropSet::new(crops),
            next_last: u16::MAX,
            next_due: u16::MAX,
            next_trigger: u16::MAX,
            limits: Limits::new(ctx),
            shelf: Shelf::new(products),
            allocation: Allocation::new(ctx),
            out: KitchenDraw {
                week_min: vec![0.0; weeks],
                week_pick_min: vec![0.0; weeks],
                week_standing_kg: vec![0.0; weeks],
                made: vec![0.0; products],
                goal_made: vec![0.0; goals],
                shelf: vec![0.0; products * weeks],
                past_keeping: vec![0.0; products],
                freezer_week_l: vec![0.0; weeks],
                ..KitchenDraw::default()
            },
        }
    }

    /// Keeps the set of crops that wait in step with a queue that changed.
    #[inline]
    pub(super) fn waiting_changed(&mut self, crop: usize) {
        self.waiting_set.set(crop, self.lots[crop].kg > 0.0);
    }

    /// Keeps the set of crops that stand in step with a queue that changed.
    #[inline]
    pub(super) fn standing_changed(&mut self, crop: usize) {
        self.standing_set.set(crop, self.standing[crop].kg > 0.0);
    }

    /// Empties everything for the next draw.
    pub(super) fn reset(&mut self, ctx: &Context) {
        self.lots.iter_mut().for_each(LotQueue::clear);
        self.standing.iter_mut().for_each(StandQueue::clear);
        self.cold_end.fill(u16::MAX);
        self.ends.clear();
        for (left, goal) in self.goals_left.iter_mut().zip(&ctx.goals) {
            *left = goal.to_make;
        }
        self.gathered_kg.fill(0.0);
        self.eaten_week_kg = 0.0;
        self.fresh_this_week.clear();
        self.frost_today_kg = 0.0;
        self.waiting_set.clear();
        self.standing_set.clear();
        self.next_last = u16::MAX;
        self.next_due = u16::MAX;
        self.next_trigger = u16::MAX;
        self.limits.reset(ctx);
        self.shelf.reset(ctx);
        let out = &mut self.out;
        out.stood.clear();
        out.flows.clear();
        out.sessions.clear();
        out.tasks.clear();
        out.parts.clear();
        out.week_min.fill(0.0);
        out.week_pick_min.fill(0.0);
        out.week_standing_kg.fill(0.0);
        out.made.fill(0.0);
        out.goal_made.fill(0.0);
        out.shelf.fill(0.0);
        out.past_keeping.fill(0.0);
        out.freezer_peak_l = 0.0;
        out.freezer_week_l.fill(0.0);
        out.freezer_refused_kg = 0.0;
        out.past_best_kg = 0.0;
        out.frost = None;
        out.books = super::books::Books::default();
    }
}
