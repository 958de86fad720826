//! One change that might relieve the kitchen, and the garden with that change made.
//!
//! A change says in the garden's own terms what the household would do otherwise: a date, a goal, a sowing. All but one are
//! changes of the garden's values; a gift of pickings is taken out of every drawn season instead, since it has no file.

use crate::garden::Garden;
use crate::garden::crop::CropId;
use crate::garden::household::Kitchen;
use crate::garden::planting::{PlantingId, Size};
use crate::garden::preserving::ProductId;
use crate::garden::units::{Area, Length, Minutes};
use crate::garden::week::DateRange;
use chrono::{Duration, NaiveDate};

/// One thing the household could do otherwise.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Clear a planting's ground so many days later, so that it may stand.
    LeaveStanding {
        /// The planting.
        planting: PlantingId,
        /// Days later.
        days: i64,
    },
    /// Hold one more session, or a longer one.
    Session {
        /// Its day.
        date: NaiveDate,
        /// Time beyond what the day has.
        time: Minutes,
    },
    /// One more cook on every kitchen day of a stretch.
    Cook {
        /// First day.
        from: NaiveDate,
        /// Last day.
        until: NaiveDate,
    },
    /// Freeze whole what would be put up otherwise, and finish it in a slack month.
    FreezeWhole {
        /// The goal; none where the household wrote none.
        goal: Option<usize>,
        /// What is made now.
        product: ProductId,
        /// What is made first as things are.
        instead_of: ProductId,
    },
    /// Make a product that takes less time first.
    Quicker {
        /// The goal; none where the household wrote none.
        goal: Option<usize>,
        /// What is made now.
        product: ProductId,
        /// What is made first as things are.
        instead_of: ProductId,
    },
    /// Give away what is picked of some crops in a stretch of days.
    GiveAway {
        /// The crops.
        crops: Vec<CropId>,
        /// First day.
        from: NaiveDate,
        /// Last day.
        until: NaiveDate,
    },
    /// Be content with fewer containers.
    FewerWanted {
        /// The goal.
        goal: usize,
        /// Containers wanted then.
        containers: f64,
    },
    /// Sow, or raise and set out, so many days later; earlier where negative.
    Sow {
        /// The planting.
        planting: PlantingId,
        /// Days later.
        days: i64,
    },
    /// Sow only a share.
    SowLess {
        /// The planting.
        planting: PlantingId,
        /// Share, 0–1.
        share: f64,
    },
}

/// Kinds of change, in the order in which they are named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Leave it standing.
    LeaveStanding,
    /// An extra session.
    Session,
    /// A second cook.
    Cook,
    /// Freeze whole now, finish later.
    FreezeWhole,
    /// A quicker product.
    Quicker,
    /// Give away.
    GiveAway,
    /// Fewer containers.
    FewerWanted,
    /// Sow earlier or later.
    Sow,
    /// Sow less.
    SowLess,
}

impl Kind {
    /// Returns the word for machines.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::LeaveStanding => "leave_standing",
            Self::Session => "extra_session",
            Self::Cook => "second_cook",
            Self::FreezeWhole => "freeze_whole",
            Self::Quicker => "quicker_product",
            Self::GiveAway => "give_away",
            Self::FewerWanted => "fewer_wanted",
            Self::Sow => "sow_another_day",
            Self::SowLess => "sow_less",
        }
    }
}

impl Change {
    /// Returns its kind.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::LeaveStanding { .. } => Kind::LeaveStanding,
            Self::Session { .. } => Kind::Session,
            Self::Cook { .. } => Kind::Cook,
            Self::FreezeWhole { .. } => Kind::FreezeWhole,
            Self::Quicker { .. } => Kind::Quicker,
            Self::GiveAway { .. } => Kind::GiveAway,
            Self::FewerWanted { .. } => Kind::FewerWanted,
            Self::Sow { .. } => Kind::Sow,
            Self::SowLess { .. } => Kind::SowLess,
        }
    }

    /// Returns the planting it touches, if it touches the beds at all: then the seasons have to be drawn anew.
    #[must_use]
    pub const fn planting(&self) -> Option<PlantingId> {
        match self {
            Self::LeaveStanding { planting, .. }
            | Self::Sow { planting, .. }
            | Self::SowLess { planting, .. } => Some(*planting),
            _ => None,
        }
    }

    /// Returns the garden with the change made; a gift of pickings changes nothing there.
    #[must_use]
    pub fn made(&self, garden: &Garden) -> Garden {
        let mut changed = garden.clone();
        let household = &mut changed.household;
        match *self {
            Self::Session { date, time } => extra(&mut household.kitchen, date, time),
            Self::Cook { from, until } => one_more_cook(&mut household.kitchen, from, until),
            Self::FreezeWhole {
                goal,
                product,
                instead_of,
            }
            | Self::Quicker {
                goal,
                product,
                instead_of,
            } => make_first(&mut changed, goal, product, instead_of),
            Self::FewerWanted { goal, containers } => {
                if let Some(goal) = household.goals.as_mut().and_then(|g| g.get_mut(goal)) {
                    goal.containers = containers;
                }
            }
            Self::LeaveStanding { planting, days } => {
                let cleared = &mut changed.plantings[planting.0].cleared;
                *cleared = cleared.map(|day| day + Duration::days(days));
            }
            Self::Sow { planting, days } => {
                let planting = &mut changed.plantings[planting.0];
                let later = |day: NaiveDate| day + Duration::days(days);
                planting.sown = planting.sown.map(later);
                planting.set_out = planting.set_out.map(later);
            }
            Self::SowLess { planting, share } => {
                let size = &mut changed.plantings[planting.0].size;
                *size = match *size {
                    Size::Row(row) => Size::Row(Length::from_m(row.m() * share)),
                    Size::Area(area) => Size::Area(Area::from_m2(area.m2() * share)),
                    Size::Plants(count) => Size::Plants((count * share).round().max(1.0)),
                };
            }
            Self::GiveAway { .. } => {}
        }
        changed
    }
}

fn extra(kitchen: &mut Kitchen, date: NaiveDate, time: Minutes) {
    let all = kitchen.minutes_on(date) + time;
    kitchen.extra.retain(|(day, _)| *day != date);
    kitchen.extra.push((date, all));
}

fn one_more_cook(kitchen: &mut Kitchen, from: NaiveDate, until: NaiveDate) {
    let days: Vec<(DateRange, f64)> = from
        .iter_days()
        .take_while(|day| *day <= until)
        .map(|day| {
            let only = DateRange {
                from: Some(day),
                until: Some(day),
            };
            (only, kitchen.hands_on(day) + 1.0)
        })
        .collect();
    kitchen.hands_on.splice(0..0, days);
}

/// Puts a product before the others of its goal, or makes it the usual product of the crops where there are no goals.
///
/// Containers wanted follow the garden weight in one, so that as much food is wanted as before.
fn make_first(garden: &mut Garden, goal: Option<usize>, product: ProductId, instead_of: ProductId) {
    let (new, old) = (garden.product(product), garden.product(instead_of));
    let ratio = old.garden_mass_per_container().kg() / new.garden_mass_per_container().kg();
    let (new_name, old_name) = (new.name.clone(), old.name.clone());
    let Some(goal) = goal else {
        for crop in &mut garden.crops {
            if crop.put_by.as_deref() == Some(old_name.as_str()) {
                crop.put_by = Some(new_name.clone());
            }
        }
        return;
    };
    let goals = garden.household.goals.as_mut();
    if let Some(goal) = goals.and_then(|goals| goals.get_mut(goal)) {
        if !goal.products.contains(&product) {
            goal.containers = (goal.containers * ratio).round();
        }
        goal.products.retain(|p| *p != product && *p != instead_of);
        goal.products.insert(0, product);
    }
}
