//! Draws gathered: sums where a mean will do, single values where quantiles are asked.
//!
//! One accumulator a chunk of draws; chunks are merged in their order, so the sums do not depend on threads.

use super::context::Context;
use super::draw::{KitchenDraw, Went};
use super::forecast::{SHELF_LOOKS, SHELF_STEP};
use super::unavoidable::SeasonUndoable;

/// Hours beyond the capacity that count as overload: rounding, not work.
pub(super) const OVER_MIN: f64 = 1e-6;

/// Draws of one chunk.
#[derive(Debug, Clone)]
pub struct Accumulator {
    /// Draws added.
    pub(super) draws: usize,
    /// Minutes of each week; draw by draw, weeks together.
    pub(super) week_min: Vec<f32>,
    /// Containers made; draw by draw, products together.
    pub(super) made: Vec<f32>,
    /// Containers made for each goal; draw by draw, goals together.
    pub(super) goal_made: Vec<f32>,
    /// Overloaded weeks of each draw.
    pub(super) weeks_over: Vec<u16>,
    /// Sessions of each draw.
    pub(super) sessions: Vec<u16>,
    /// Greatest room taken in the freezer of each draw, litres.
    pub(super) freezer_peak_l: Vec<f32>,
    /// Weeks at whose end the shelf is looked at, as places in the calendar's weeks.
    pub(super) looks: Vec<usize>,
    /// Containers on the shelf at these looks; draw by draw, products together.
    pub(super) shelf: Vec<f32>,
    /// Frost eve of each draw that has one: day and minutes.
    pub(super) frost: Vec<(u16, f32)>,
    /// What cannot be done, of the draws that were looked at for it.
    pub(super) undoable: Vec<SeasonUndoable>,
    /// Sums over the draws.
    pub(super) sums: Sums,
    week_product_min: Vec<f64>,
}

/// Sums over draws.
#[derive(Debug, Clone, Default)]
pub(super) struct Sums {
    /// kg by week, crop and use.
    pub(super) flows: Vec<f64>,
    /// Draws in which each week is overloaded.
    pub(super) over_draws: Vec<f64>,
    /// Minutes over by week.
    pub(super) over_min: Vec<f64>,
    /// Minutes by week.
    pub(super) minutes: Vec<f64>,
    /// Sessions by week.
    pub(super) sessions: Vec<f64>,
    /// Picking minutes by week.
    pub(super) pick_min: Vec<f64>,
    /// Picking minutes by week in overloaded draws.
    pub(super) over_pick_min: Vec<f64>,
    /// Standing kg by week.
    pub(super) standing: Vec<f64>,
    /// Minutes by week and product in overloaded draws.
    pub(super) over_product_min: Vec<f64>,
    /// Minutes by product.
    pub(super) product_min: Vec<f64>,
    /// Containers on the shelf by product and week.
    pub(super) shelf: Vec<f64>,
    /// Containers past their keeping time by product.
    pub(super) past_keeping: Vec<f64>,
    /// Put by after the best days, kg.
    pub(super) past_best: f64,
    /// Not taken by the freezer, kg.
    pub(super) freezer_refused: f64,
    /// Draws whose books do not balance.
    pub(super) books_off: usize,
}

/// Finds the weeks at whose end the shelf is looked at: every sixth from the first on.
fn looks(ctx: &Context) -> Vec<usize> {
    let first = first_week(ctx);
    (1..=SHELF_LOOKS)
        .map(|k| first + k * SHELF_STEP - 1)
        .take_while(|w| *w < ctx.calendar.weeks.len())
        .collect()
}

/// Finds the week in which the kitchen begins, or the number of weeks if it never does.
pub(super) fn first_week(ctx: &Context) -> usize {
    let cal = &ctx.calendar;
    if cal.start < cal.days {
        usize::from(cal.week_of[usize::from(cal.start)])
    } else {
        cal.weeks.len()
    }
}

impl Accumulator {
    /// Makes an accumulator for a chunk of so many draws.
    #[must_use]
    pub fn new(ctx: &Context, draws_in_chunk: usize) -> Self {
        let (w, p, g) = (
            ctx.calendar.weeks.len(),
            ctx.products.len(),
            ctx.goals.len(),
        );
        let n = draws_in_chunk;
        let looks = looks(ctx);
        Self {
            draws: 0,
            week_min: Vec::with_capacity(n * w),
            made: Vec::with_capacity(n * p),
            goal_made: Vec::with_capacity(n * g),
            weeks_over: Vec::with_capacity(n),
            sessions: Vec::with_capacity(n),
            freezer_peak_l: Vec::with_capacity(n),
            shelf: Vec::with_capacity(n * p * looks.len()),
            looks,
            frost: Vec::with_capacity(n),
            undoable: Vec::new(),
            week_product_min: vec![0.0; w * p],
            sums: Sums {
                flows: vec![0.0; w * ctx.crops.len() * Went::COUNT],
                over_draws: vec![0.0; w],
                over_min: vec![0.0; w],
                minutes: vec![0.0; w],
                sessions: vec![0.0; w],
                pick_min: vec![0.0; w],
                over_pick_min: vec![0.0; w],
                standing: vec![0.0; w],
                over_product_min: vec![0.0; w * p],
                product_min: vec![0.0; p],
                shelf: vec![0.0; w * p],
                past_keeping: vec![0.0; p],
                ..Sums::default()
            },
        }
    }

    /// Adds what cannot be done in one draw.
    pub fn add_undoable(&mut self, undoable: SeasonUndoable) {
        self.undoable.push(undoable);
    }

    /// Adds one draw. Draws of a chunk are added in their order.
    pub fn add(&mut self, ctx: &Context, draw: &KitchenDraw) {
        self.draws += 1;
        let crops = ctx.crops.len();
        let products = ctx.products.len();
        let week_of = &ctx.calendar.week_of;
        let s = &mut self.sums;
        for f in &draw.flows {
            let w = usize::from(week_of[usize::from(f.day)]);
            s.flows[(w * crops + usize::from(f.crop)) * Went::COUNT + f.went as usize] += f.kg;
        }
        for session in &draw.sessions {
            s.sessions[usize::from(week_of[usize::from(session.day)])] += 1.0;
        }
        for task in &draw.tasks {
            let day = draw.sessions[usize::from(task.session)].day;
            let w = usize::from(week_of[usize::from(day)]);
            self.week_product_min[w * products + usize::from(task.product)] += task.minutes;
            s.product_min[usize::from(task.product)] += task.minutes;
        }
        let mut weeks_over = 0;
        for (w, &minutes) in draw.week_min.iter().enumerate() {
            self.week_min.push(minutes as f32);
            s.minutes[w] += minutes;
            s.pick_min[w] += draw.week_pick_min[w];
            s.standing[w] += draw.week_standing_kg[w];
            let over = minutes - ctx.calendar.week_min[w];
            let row = w * products..(w + 1) * products;
            if over > OVER_MIN {
                weeks_over += 1;
                s.over_draws[w] += 1.0;
                s.over_min[w] += over;
                s.over_pick_min[w] += draw.week_pick_min[w];
                for (sum, m) in s.over_product_min[row.clone()]
                    .iter_mut()
                    .zip(&self.week_product_min[row.clone()])
                {
                    *sum += m;
                }
            }
            if minutes > 0.0 {
                self.week_product_min[row].fill(0.0);
            }
        }
        self.weeks_over.push(weeks_over);
        self.sessions.push(draw.sessions.len() as u16);
        self.made.extend(draw.made.iter().map(|x| *x as f32));
        self.goal_made
            .extend(draw.goal_made.iter().map(|x| *x as f32));
        self.freezer_peak_l.push(draw.freezer_peak_l as f32);
        if let Some(frost) = draw.frost {
            self.frost.push((frost.day, frost.minutes as f32));
        }
        for of_product in draw.shelf.chunks_exact(ctx.calendar.weeks.len().max(1)) {
            self.shelf.extend(self.looks.iter().map(|w| of_product[*w]));
        }
        for (sum, x) in s.shelf.iter_mut().zip(&draw.shelf) {
            *sum += f64::from(*x);
        }
        for (sum, x) in s.past_keeping.iter_mut().zip(&draw.past_keeping) {
            *sum += x;
        }
        s.past_best += draw.past_best_kg;
        s.freezer_refused += draw.freezer_refused_kg;
        s.books_off += usize::from(!draw.books.balance());
    }

    /// Appends a later chunk.
    pub(super) fn append(&mut self, mut later: Self) {
        self.draws += later.draws;
        self.week_min.append(&mut later.week_min);
        self.made.append(&mut later.made);
        self.goal_made.append(&mut later.goal_made);
        self.weeks_over.append(&mut later.weeks_over);
        self.sessions.append(&mut later.sessions);
        self.freezer_peak_l.append(&mut later.freezer_peak_l);
        self.shelf.append(&mut later.shelf);
        self.frost.append(&mut later.frost);
        self.undoable.append(&mut later.undoable);
        let (a, b) = (&mut self.sums, &later.sums);
        for (into, from) in [
            (&mut a.flows, &b.flows),
            (&mut a.over_draws, &b.over_draws),
            (&mut a.over_min, &b.over_min),
            (&mut a.minutes, &b.minutes),
            (&mut a.sessions, &b.sessions),
            (&mut a.pick_min, &b.pick_min),
            (&mut a.over_pick_min, &b.over_pick_min),
            (&mut a.standing, &b.standing),
            (&mut a.over_product_min, &b.over_product_min),
            (&mut a.product_min, &b.product_min),
            (&mut a.shelf, &b.shelf),
            (&mut a.past_keeping, &b.past_keeping),
        ] {
            for (x, y) in into.iter_mut().zip(from) {
                *x += y;
            }
        }
        a.past_best += b.past_best;
        a.freezer_refused += b.freezer_refused;
        a.books_off += b.books_off;
    }
}
