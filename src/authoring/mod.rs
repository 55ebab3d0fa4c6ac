//! Checks of a job that need simulation: can what is hidden be found with the tests that there are?
//!
//! Speaks to an author, who knows the answer; nothing here is shown to a learner. Par routes,
//! variation and sealing aren't in this version.

pub mod solvable;
