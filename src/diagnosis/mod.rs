//! What the evidence justifies: how likely each candidate cause makes the readings, the belief
//! that follows, and what a further test would be worth.
//!
//! Pure mathematics over plain numbers. Nothing here knows which cause is the true one, what a
//! learner wrote or what time it is; whoever simulates the reference vehicles hands in their
//! features, whoever marks hands in the readings.

pub mod ahead;
pub mod attainable;
pub mod belief;
pub mod calibration;
pub mod columns;
pub mod ensemble;
pub mod expected;
pub mod gate;
pub mod hypothesis;
pub mod justify;
pub mod likelihood;
pub mod menu;
pub mod moves;
pub mod outlook;
pub mod recording;
pub mod reference;
pub mod rows;
pub mod separable;
pub mod sobol;
pub mod stacking;
pub mod store;
pub mod student;
pub mod survey;
pub mod tabled;
pub mod transform;
pub mod worth;

#[cfg(test)]
pub(crate) mod worked;
