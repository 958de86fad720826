//! Text to garden: reads every file of a garden folder, and reports every fault in one run.

pub mod spoken;
mod spoken_days;
mod spoken_more;
mod spoken_names;
mod spoken_picked;
mod spoken_words;
