//! One sitting with one vehicle: takes [`Action`](action::Action)s, gives
//! [`Observation`](observation::Observation)s.
//!
//! Front ends see observations only. The hidden state is private to this room and becomes visible
//! through [`Closed`], which exists only after the vehicle was handed back.

pub mod action;
pub mod observation;
pub mod words;

use crate::scenario::model::Job;
use crate::trace::Trace;
use action::{Action, Finding, Micros, Prediction};
use observation::{Answer, Breach, Observation, SheetLine};

/// A sitting under way.
pub struct Bay {}

impl Bay {
    /// A fresh vehicle for this job. The same job and seed give the same vehicle to the bit.
    ///
    /// # Errors
    /// A sentence when the job's plant can't be built.
    pub fn new(_job: &Job, _seed: u64) -> Result<Self, String> {
        unimplemented!()
    }
    /// Simulated time.
    pub fn now(&self) -> Micros {
        unimplemented!()
    }
    /// Lets time pass until `t` (no-op when `t` is in the past). Slicing never changes anything.
    pub fn advance_to(&mut self, _t: Micros) {
        unimplemented!()
    }
    /// Does something, now. The action may take simulated time.
    pub fn act(&mut self, _action: &Action) -> Answer {
        unimplemented!()
    }
    /// What can be perceived now.
    pub fn observe(&self) -> Observation {
        unimplemented!()
    }
    /// The instrument's memory.
    pub fn trace(&self) -> &Trace {
        unimplemented!()
    }
    /// The test sheet.
    pub fn sheet(&self) -> &[SheetLine] {
        unimplemented!()
    }
    /// Predictions made.
    pub fn predictions(&self) -> &[(Micros, Prediction)] {
        unimplemented!()
    }
    /// Points stated last, by candidate in the order of the job.
    pub fn points(&self) -> Option<&[u8]> {
        unimplemented!()
    }
    /// Rules broken.
    pub fn breaches(&self) -> &[Breach] {
        unimplemented!()
    }
    /// The finding, once submitted.
    pub fn finding(&self) -> Option<&Finding> {
        unimplemented!()
    }
    /// The vehicle was handed back: nothing more can be done.
    pub fn is_over(&self) -> bool {
        unimplemented!()
    }
}
