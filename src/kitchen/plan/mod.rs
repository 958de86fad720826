//! The session planner: which days to hold sessions on and what to put by in each.
//!
//! A plan is made on a bare [`instance`]; the checker in the room above re-derives everything from instance and plan
//! alone and shares nothing with this folder but the instance's types.

pub mod bridge;
pub mod card;
pub mod cost;
pub mod dated;
pub mod effort;
pub mod instance;
pub mod order;
pub mod solve;
pub mod tested;

mod appliances;
mod bound;
mod greedy;
mod limits;
pub(crate) mod lp;
mod model;
mod oldest;
mod read;
mod reduce;
mod stretch;
mod ties;
mod words;
