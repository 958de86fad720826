//! What one draw of the kitchen gives: where every kilogram went, and every session held.
//!
//! Plain data, reused from draw to draw. Days are counted from the first day of the horizon; crops, products and goals
//! are indices into the kitchen's context.

use super::books::Books;

/// Where an amount went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Went {
    /// Picked and brought in, or by a neighbour.
    Picked,
    /// Eaten fresh.
    Fresh,
    /// Put by.
    PutBy,
    /// Given away.
    Given,
    /// Wasted in the kitchen.
    Wasted,
    /// Lost standing in the bed: to pests, to cold, or with the planting.
    LostStanding,
    /// Lost in the bed because nobody was there to pick.
    LostAway,
}

impl Went {
    /// Number of kinds.
    pub const COUNT: usize = 7;
}

/// An amount of one crop on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// Day.
    pub day: u16,
    /// Crop.
    pub crop: u16,
    /// Where it went.
    pub went: Went,
    /// Amount, kg.
    pub kg: f64,
}

/// A session held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session {
    /// Day.
    pub day: u16,
    /// From beginning to end, minutes.
    pub minutes: f64,
    /// Work of all hands together, minutes.
    pub hand_min: f64,
}

/// One product made in a session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task {
    /// Session, as an index into the draw's sessions.
    pub session: u16,
    /// Product.
    pub product: u16,
    /// Garden weight, kg.
    pub kg: f64,
    /// Containers, fractional.
    pub containers: f64,
    /// Its share of the session, minutes.
    pub minutes: f64,
}

/// One crop's part in a task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaskPart {
    /// Session, as an index into the draw's sessions.
    pub session: u16,
    /// Product.
    pub product: u16,
    /// Crop.
    pub crop: u16,
    /// Amount, kg.
    pub kg: f64,
}

/// The week in which killing cold makes the household strip its beds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrostEve {
    /// Day on which the beds are stripped.
    pub day: u16,
    /// What came in that day because of it, kg.
    pub kg: f64,
    /// Session minutes of that day and the six after it.
    pub minutes: f64,
}

/// Food of one planting that stood ready in its bed when the kitchen began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stood {
    /// Planting, as an index into the garden's plantings.
    pub planting: u32,
    /// Whether it is the planting's second food.
    pub second: bool,
    /// Amount, kg.
    pub kg: f64,
}

/// One draw of the kitchen.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct KitchenDraw {
    /// What stood ready when the kitchen began; a planting may come several times.
    pub stood: Vec<Stood>,
    /// Every amount, in order of days.
    pub flows: Vec<Flow>,
    /// Sessions in order of days.
    pub sessions: Vec<Session>,
    /// What was made in them.
    pub tasks: Vec<Task>,
    /// Of which crops.
    pub parts: Vec<TaskPart>,
    /// Session minutes of each week, picking included if the household counts it.
    pub week_min: Vec<f64>,
    /// Picking minutes of each week.
    pub week_pick_min: Vec<f64>,
    /// What stands ready at the end of each week, kg.
    pub week_standing_kg: Vec<f64>,
    /// Containers made of each product.
    pub made: Vec<f64>,
    /// Containers made for each goal by its day, refrigerator products left out.
    pub goal_made: Vec<f64>,
    /// Containers on the shelf at the end of each week; product by product, weeks together.
    pub shelf: Vec<f32>,
    /// Containers of each product that passed their keeping time.
    pub past_keeping: Vec<f64>,
    /// Freezer room taken at most, litres.
    pub freezer_peak_l: f64,
    /// The same after the sessions of each week, litres; zero in weeks without any.
    pub freezer_week_l: Vec<f32>,
    /// Freezer room wanted but not there, or intake refused, kg of garden weight.
    pub freezer_refused_kg: f64,
    /// Amount put by after its best days, kg.
    pub past_best_kg: f64,
    /// Frost week, if killing cold brought food in.
    pub frost: Option<FrostEve>,
    /// Where everything went in all.
    pub books: Books,
}
