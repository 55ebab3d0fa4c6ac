//! What the window needs of a sitting. The window knows nothing else of it.

use crate::bay::action::{Action, Finding, Micros, Prediction};
use crate::bay::observation::{Answer, Breach, Observation, SheetLine};
use crate::marking::model::Mark;
use crate::scenario::model::Job;
use crate::trace::Trace;

/// How far the marking is.
#[derive(Clone, Debug, PartialEq)]
pub enum MarkProgress {
    /// Under way; share done, 0 … 1.
    Working(f32),
    /// The mark.
    Done(Box<Mark>),
    /// It couldn't be marked, and why.
    Failed(String),
}

/// A sitting as the window uses it.
pub trait Session {
    /// The job.
    fn job(&self) -> &Job;
    /// What can be perceived now.
    fn observe(&self) -> Observation;
    /// The instrument's memory.
    fn trace(&self) -> &Trace;
    /// The test sheet.
    fn sheet(&self) -> &[SheetLine];
    /// Predictions made.
    fn predictions(&self) -> &[(Micros, Prediction)];
    /// Points stated last, in the order of the job's candidates.
    fn points(&self) -> Option<&[u8]>;
    /// Rules broken.
    fn breaches(&self) -> &[Breach];
    /// The finding, once submitted.
    fn finding(&self) -> Option<&Finding>;
    /// The vehicle was handed back.
    fn is_over(&self) -> bool;
    /// Simulated time.
    fn now(&self) -> Micros;
    /// Does something, now.
    fn act(&mut self, action: &Action) -> Answer;
    /// Lets time pass.
    fn advance(&mut self, by: Micros);
    /// Where the attempt is recorded, in a sentence (empty: nowhere), or why it isn't.
    fn record(&self) -> Result<String, String> {
        Ok(String::new())
    }
    /// Asks for the mark after hand-back. Returns at once; ask again until it is done.
    fn mark(&mut self) -> MarkProgress;
}

/// A job on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// Title.
    pub title: String,
    /// Whose vehicle, and which.
    pub vehicle: String,
    /// The complaint.
    pub complaint: String,
    /// About how long, min.
    pub minutes: f64,
    /// Practice or assessment.
    pub mode: String,
}

/// Where sittings come from: the jobs that can be opened.
pub trait Shelf {
    /// The jobs.
    fn cards(&self) -> Vec<Card>;
    /// Opens one.
    ///
    /// # Errors
    /// A sentence when it can't be opened.
    fn open(&mut self, index: usize) -> Result<Box<dyn Session>, String>;
}
