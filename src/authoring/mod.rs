//! What authors want to know and only simulation tells: can what is hidden be found, by what way, does the job tell
//! good work from luck, what does a fault show, how much work is a vehicle to the solver, and how far may belief be
//! trusted?
//!
//! Speaks to an author, who knows the answer; nothing here is shown to a learner.

pub mod calibrate;
pub mod diagnosability;
pub mod draft;
pub mod exact;
pub mod field;
pub mod first_job;
pub mod from_recording;
pub mod learners;
mod lints;
pub mod preview;
pub mod readings;
pub mod route;
pub mod silent;
pub mod solvable;
pub mod sound_card;
pub mod standard;
pub mod vary;
pub mod work;
