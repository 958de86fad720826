//! What one draw of the season gives: amounts becoming ready by day, and how each planting ended.
//!
//! This is all that the kitchen sees of the season. A draw says what is *ready* and when; when a crop that holds is
//! really picked is the kitchen's decision, and so are losses while it stands and while nobody is at home. The season only
//! offers an extra picking on the eve of an absence. Days are counted from the first day of the horizon.

/// One draw of the whole garden.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeasonDraw {
    /// Amounts becoming ready, sorted by day, then planting, then main food before second food.
    pub ready: Vec<Ready>,
    /// One outcome for each planting, in the garden's order.
    pub outcomes: Vec<Outcome>,
    /// Days on which what stands in a planting is lost to cold while the plant lives, sorted by day.
    pub spoiled: Vec<Spoiled>,
}

/// An amount of one food that becomes ready in one planting on one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ready {
    /// Day, counted from the first day of the horizon.
    pub day: u16,
    /// Index of the planting in the garden.
    pub planting: u32,
    /// Whether it is the planting's second food.
    pub second: bool,
    /// Why it is ready on that day.
    pub kind: ReadyKind,
    /// Amount, kg.
    pub kg: f32,
}

/// Why an amount is ready on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadyKind {
    /// An ordinary picking.
    Picking,
    /// Taken before full size because growth has all but stopped.
    Early,
    /// The last picking on the day before an end.
    LastPicking,
    /// Stripped from a tender crop on the eve of killing cold.
    Strip,
}

/// Standing food of one planting that cold spoils on one day: all that became ready up to that day and is not yet picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spoiled {
    /// Day, counted from the first day of the horizon.
    pub day: u16,
    /// Index of the planting in the garden.
    pub planting: u32,
}

/// How one planting went in one draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Day of the first amount ready, if any.
    pub first: Option<u16>,
    /// Last day on which there is anything to pick: of a crop picked again and again the last amount ready, of one that is
    /// ready all at once the last day on which it may still stand.
    pub last: Option<u16>,
    /// First day on which nothing can be picked any more; what stands then is lost. Once everything is ready this is the
    /// end of standing, or an earlier end by cold, heat, pests or clearing.
    pub end: u16,
    /// What ended it; `Finish` when everything was ready before any other end, however it stood afterwards.
    pub cause: EndCause,
    /// All that the planting could have given, kg.
    pub kg_possible: f32,
    /// What became ready of it, kg.
    pub kg_ready: f32,
    /// What was lost to the end, to failure or never ripened, kg.
    pub kg_lost: f32,
    /// What became ready of the second food, kg; not part of `kg_possible`.
    pub kg_second: f32,
    /// What the frost-eve strip gave, kg; part of `kg_ready`.
    pub kg_strip: f32,
}

/// What ended a planting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EndCause {
    /// Everything it had was ready.
    Finish,
    /// Cold killed it.
    Cold,
    /// It bolted.
    Heat,
    /// Pests or disease.
    Pest,
    /// The ground was cleared.
    Clearing,
    /// The horizon ended first.
    Horizon,
    /// It failed from the beginning.
    Failed,
}

impl EndCause {
    /// Every cause, in the order in which tables show them.
    pub const ALL: [Self; 7] = [
        Self::Finish,
        Self::Cold,
        Self::Heat,
        Self::Pest,
        Self::Clearing,
        Self::Horizon,
        Self::Failed,
    ];
}
