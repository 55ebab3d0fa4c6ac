//! A sitting under way: the bay, and the record that grows with it.

use super::record::{Attempt, Entry, Event, Header, LONGEST_TIME};
use super::replay::{ReplayError, replay};
use crate::bay::Bay;
use crate::bay::action::{Action, Finding, Micros, Prediction, SECOND};
use crate::bay::observation::{Answer, Breach, Observation, SheetLine};
use crate::bay::truth::Closed;
use crate::scenario::model::Job;
use crate::trace::Trace;

/// A bay whose every action is recorded before anybody sees its effect.
///
/// The owner writes [`take_lines`](Self::take_lines) to its file after every call; a cut then loses
/// at most the action or the second under way.
pub struct Sitting {
    job: Job,
    bay: Bay,
    attempt: Attempt,
    unwritten: Vec<String>,
    /// Time that a replay of the record would reach.
    reached: Micros,
}

impl Sitting {
    /// Hands over the job card.
    ///
    /// # Errors
    /// A sentence when the job's vehicle can't be built.
    pub fn begin(job: Job, seed: u64, name: Option<&str>) -> Result<Self, String> {
        let bay = Bay::new(&job, seed)?;
        let (attempt, line) = Attempt::begin(Header {
            job: job.name.clone(),
            job_hash: job.hash.clone(),
            seed,
            engine: env!("CARGO_PKG_VERSION").to_owned(),
            name: name.map(|name| name.chars().take(200).collect()),
        });
        let reached = bay.now();
        Ok(Self { job, bay, attempt, unwritten: vec![line], reached })
    }

    /// Goes on where a record ends. The lines of the record don't come out of
    /// [`take_lines`](Self::take_lines) again.
    ///
    /// # Errors
    /// As [`replay`].
    pub fn resume(job: Job, attempt: &Attempt) -> Result<Self, ReplayError> {
        let bay = replay(&job, attempt)?;
        let reached = bay.now();
        Ok(Self { job, bay, attempt: attempt.clone(), unwritten: Vec::new(), reached })
    }

    /// Does something, now, and records it; refused actions too, because they happened.
    ///
    /// What couldn't be recorded isn't done: a number that isn't one, a text of absurd length, a
    /// wait past the longest sitting, anything after hand-back.
    pub fn act(&mut self, action: &Action) -> Answer {
        if self.bay.is_over() {
            return refused("The vehicle has been handed back; nothing more can be done.");
        }
        let span = match *action {
            Action::Wait { secs } | Action::Crank { secs } => secs,
            _ => 0.0,
        };
        let left = LONGEST_TIME.saturating_sub(self.bay.now()) as f64 / SECOND as f64;
        if self.bay.now() > LONGEST_TIME || span > left {
            return refused("A sitting ends after 30 days.");
        }
        match self.attempt.push(Entry { at: self.bay.now(), event: Event::Act(action.clone()) }) {
            Ok(line) => self.unwritten.push(line),
            Err(because) => return Answer::Refused { because },
        }
        let answer = self.bay.act(action);
        self.reached = self.bay.now();
        answer
    }

    /// Lets time pass. Every whole second of it leaves a heartbeat, so that less than a second is
    /// lost when the sitting is cut off.
    pub fn advance(&mut self, by: Micros) {
        if self.bay.is_over() {
            return;
        }
        self.bay.advance_to(self.bay.now().saturating_add(by).min(LONGEST_TIME.max(self.bay.now())));
        let whole = self.bay.now().saturating_sub(self.reached) / SECOND * SECOND;
        if whole > 0
            && let Ok(line) = self.attempt.push(Entry { at: self.reached + whole, event: Event::Tick })
        {
            self.unwritten.push(line);
            self.reached += whole;
        }
    }

    /// Lines of the attempt file that weren't taken yet, without line ends; the header comes first.
    pub fn take_lines(&mut self) -> Vec<String> {
        std::mem::take(&mut self.unwritten)
    }

    /// The record so far.
    pub fn attempt(&self) -> &Attempt {
        &self.attempt
    }

    /// The job.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Opens the wall, once the vehicle was handed back: the record, and the bay that knows what was
    /// wrong.
    ///
    /// # Errors
    /// The sitting itself, when it isn't over.
    pub fn close(self) -> Result<(Attempt, Closed), Box<Self>> {
        let Self { job, bay, attempt, unwritten, reached } = self;
        match bay.close() {
            Ok(closed) => Ok((attempt, closed)),
            Err(bay) => Err(Box::new(Self { job, bay: *bay, attempt, unwritten, reached })),
        }
    }

    /// Simulated time.
    pub fn now(&self) -> Micros {
        self.bay.now()
    }

    /// What can be perceived now.
    pub fn observe(&self) -> Observation {
        self.bay.observe()
    }

    /// The instrument's memory.
    pub fn trace(&self) -> &Trace {
        self.bay.trace()
    }

    /// The test sheet.
    pub fn sheet(&self) -> &[SheetLine] {
        self.bay.sheet()
    }

    /// Predictions made.
    pub fn predictions(&self) -> &[(Micros, Prediction)] {
        self.bay.predictions()
    }

    /// Points stated last, by candidate in the order of the job.
    pub fn points(&self) -> Option<&[u8]> {
        self.bay.points()
    }

    /// Rules broken.
    pub fn breaches(&self) -> &[Breach] {
        self.bay.breaches()
    }

    /// The finding, once submitted.
    pub fn finding(&self) -> Option<&Finding> {
        self.bay.finding()
    }

    /// The vehicle was handed back.
    pub fn is_over(&self) -> bool {
        self.bay.is_over()
    }
}

fn refused(because: &str) -> Answer {
    Answer::Refused { because: because.to_owned() }
}
