//! Checks of a job that need simulation: can what is hidden be found with the tests that there are, by what way, and
//! does the job tell good work from luck?
//!
//! Speaks to an author, who knows the answer; nothing here is shown to a learner. Variation and sealing aren't in
//! this version.

pub mod diagnosability;
pub mod field;
pub mod learners;
pub mod route;
pub mod solvable;
