//! The kitchen: from what is ready to what is eaten, put by or given away, and the hours it takes.

pub mod certificate;
pub mod plan;
