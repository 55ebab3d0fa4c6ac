//! From a record back to the bay it was made in.

use thiserror::Error;

use super::record::{Attempt, Entry, Event};
use crate::bay::Bay;
use crate::bay::action::Micros;
use crate::bay::observation::Answer;
use crate::bay::opened::Opened;
use crate::scenario::model::Job;

/// Why a record can't be replayed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ReplayError {
    /// The record belongs to another job.
    #[error("The attempt was made at the job “{recorded}”, not at “{given}”.")]
    OtherJob {
        /// Job in the record.
        recorded: String,
        /// Job that was given.
        given: String,
    },
    /// The job was changed since.
    #[error(
        "The job “{job}” was changed since the attempt was made (its hash was {recorded}, now it is {given}). \
         Use the job as it was then."
    )]
    ChangedJob {
        /// Name of the job.
        job: String,
        /// Hash in the record.
        recorded: String,
        /// Hash of the job as given.
        given: String,
    },
    /// The job has no vehicle that can be built.
    #[error("The vehicle can't be built: {0}")]
    NoVehicle(String),
    /// The record claims something at a time when the bay couldn't have taken it.
    #[error(
        "Line {line} of the attempt says that something was done at {at} µs, but the bay was busy until {now} µs. \
         The record doesn't come from this job and this version of the program."
    )]
    OutOfStep {
        /// Line of the file, from 1.
        line: usize,
        /// Time in the record.
        at: Micros,
        /// Time of the bay.
        now: Micros,
    },
    /// The record doesn't end with the hand-back.
    #[error("The vehicle wasn't handed back, so what was wrong stays unknown.")]
    NotOver,
    /// The record goes on after the vehicle was handed back.
    #[error("Line {line} of the attempt comes after the sitting was over. The record was lengthened.")]
    AfterEnd {
        /// Line of the file, from 1.
        line: usize,
    },
}

/// Does everything in the record again, in a fresh bay: the same samples to the bit.
///
/// # Errors
/// When the job isn't the one the record was made at, or the record can't have come from it.
pub fn replay(job: &Job, attempt: &Attempt) -> Result<Bay, ReplayError> {
    replay_each(job, attempt, |_, _, _| ())
}

/// Like [`replay`]; shows each entry with the bay's answer (`None` for a tick) and the bay after it.
///
/// # Errors
/// As [`replay`].
pub fn replay_each(
    job: &Job,
    attempt: &Attempt,
    mut each: impl FnMut(&Entry, Option<&Answer>, &Bay),
) -> Result<Bay, ReplayError> {
    replay_in(job, attempt, Bay::new, &mut each)
}

/// Does everything in the record again and opens the wall: pressure, gas and water along the whole line.
///
/// # Errors
/// As [`replay`], and when the record doesn't end with the hand-back: then the wall stays shut.
pub fn open(job: &Job, attempt: &Attempt) -> Result<Opened, ReplayError> {
    let bay = replay_in(job, attempt, Bay::filmed, &mut |_, _, _| ())?;
    let closed = bay.close().map_err(|_| ReplayError::NotOver)?;
    closed.opened().map_err(ReplayError::NoVehicle)
}

/// Does everything in the record again and opens the wall of a sitting that goes on: what is wrong now, in words, and
/// pressure, gas and water along the whole line so far. For what an instructor has shown in practice.
///
/// # Errors
/// As [`replay`], and when nobody has shown it: then the wall stays shut.
pub fn reveal(job: &Job, attempt: &Attempt) -> Result<(String, Opened), ReplayError> {
    let bay = replay_in(job, attempt, Bay::filmed, &mut |_, _, _| ())?;
    let revealed = bay.revealed().ok_or(ReplayError::NotOver)?;
    let opened = revealed.opened().map_err(ReplayError::NoVehicle)?;
    Ok((revealed.in_words(), opened))
}

fn replay_in(
    job: &Job,
    attempt: &Attempt,
    fresh: impl FnOnce(&Job, u64) -> Result<Bay, String>,
    each: &mut dyn FnMut(&Entry, Option<&Answer>, &Bay),
) -> Result<Bay, ReplayError> {
    let header = attempt.header();
    if header.job != job.name {
        return Err(ReplayError::OtherJob { recorded: header.job.clone(), given: job.name.clone() });
    }
    if header.job_hash != job.hash {
        return Err(ReplayError::ChangedJob {
            job: job.name.clone(),
            recorded: header.job_hash.clone(),
            given: job.hash.clone(),
        });
    }
    let mut bay = fresh(job, header.seed).map_err(ReplayError::NoVehicle)?;
    for (i, entry) in attempt.entries().iter().enumerate() {
        let line = i + 2;
        if bay.is_over() {
            return Err(ReplayError::AfterEnd { line });
        }
        if entry.at < bay.now() {
            return Err(ReplayError::OutOfStep { line, at: entry.at, now: bay.now() });
        }
        bay.advance_to(entry.at);
        let answer = match &entry.event {
            Event::Act(action) => Some(bay.act(action)),
            Event::Class(instruction) => Some(bay.instruct(instruction)),
            Event::Tick => None,
        };
        each(entry, answer.as_ref(), &bay);
    }
    Ok(bay)
}
