//! What authors want to know and only simulation tells: can what is hidden be found, what does a fault show, and how
//! far may belief be trusted?
//!
//! Speaks to an author, who knows the answer; nothing here is shown to a learner. Par routes,
//! variation and sealing aren't in this version.

pub mod calibrate;
pub mod preview;
pub mod solvable;
pub mod standard;
