//! Faultbay: a training simulator for diagnosing the low-pressure fuel supply of vehicles.
//!
//! One idea carries everything: a bay is a deterministic machine. A job, a seed and the actions
//! with their times give every sample of the trace and every point of the mark.

pub mod analysis;
#[cfg(feature = "app")]
pub mod app;
pub mod attempt;
pub mod authoring;
pub mod bay;
pub mod cli;
pub mod diag;
pub mod diagnosis;
pub mod fault;
pub mod fluid;
pub mod instrument;
pub mod lanes;
pub mod language;
pub mod marking;
pub mod ops;
pub mod plant;
pub mod random;
pub mod recording;
pub mod report;
pub mod scenario;
pub mod trace;
pub mod units;
