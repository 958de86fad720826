//! Text to garden: reads every file of a garden folder, and reports every fault in one run.
