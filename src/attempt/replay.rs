//! From a record back to the bay it was made in.

use thiserror::Error;

use super::record::{Attempt, Entry, Event};
use crate::bay::Bay;
use crate::bay::action::Micros;
use crate::bay::observation::Answer;
use crate::bay::opened::Opened;
use crate::language::said;
use crate::scenario::model::Job;
use crate::tell;

/// Why a record can't be replayed.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ReplayError {
    /// The record belongs to another job.
    #[error("{}", other_job(recorded, given))]
    OtherJob {
        /// Job in the record.
        recorded: String,
        /// Job that was given.
        given: String,
    },
    /// The job was changed since.
    #[error("{}", changed_job(job, recorded, given))]
    ChangedJob {
        /// Name of the job.
        job: String,
        /// Hash in the record.
        recorded: String,
        /// Hash of the job as given.
        given: String,
    },
    /// The job has no vehicle that can be built.
    #[error("{}", no_vehicle(.0))]
    NoVehicle(String),
    /// The record claims something at a time when the bay couldn't have taken it.
    #[error("{}", out_of_step(*line, *at, *now))]
    OutOfStep {
        /// Line of the file, from 1.
        line: usize,
        /// Time in the record.
        at: Micros,
        /// Time of the bay.
        now: Micros,
    },
    /// The record doesn't end with the hand-back.
    #[error("{}", said("attempt-not-over"))]
    NotOver,
    /// Whoever waited for it has left.
    #[error("{}", said("attempt-left"))]
    Left,
    /// The record goes on after the vehicle was handed back.
    #[error("{}", after_end(*line))]
    AfterEnd {
        /// Line of the file, from 1.
        line: usize,
    },
}

// what an error says, in the language spoken when it is said

fn other_job(recorded: &str, given: &str) -> String {
    tell!("attempt-other-job", recorded = recorded, given = given)
}

fn changed_job(job: &str, recorded: &str, given: &str) -> String {
    tell!("attempt-changed-job", job = job, recorded = recorded, given = given)
}

fn no_vehicle(why: &str) -> String {
    tell!("attempt-no-vehicle", why = why)
}

fn out_of_step(line: usize, at: Micros, now: Micros) -> String {
    tell!("attempt-out-of-step", line = line.to_string(), at = at.to_string(), now = now.to_string())
}

fn after_end(line: usize) -> String {
    tell!("attempt-after-end", line = line.to_string())
}

/// Is told the share of a replay that is done, 0 … 1, and says whether to go on.
pub type Going<'a> = &'a mut dyn FnMut(f64) -> bool;

/// Of a replay, the share that is told for replaying where a sound vehicle goes through the same hands: on one core all of that
/// comes after it.
const REPLAYED: f64 = 0.5;

/// Entries after which a sound vehicle follows: work takes turns with notes, which take none, and several together take more evenly
/// long.
const AT_A_TIME: usize = 12;

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
    replay_in(job, attempt, Bay::new, &mut each, &mut |_| true)
}

/// Like [`replay`], for somebody who waits.
///
/// # Errors
/// As [`replay`], and when `going` doesn't want to go on.
pub fn replay_watched(job: &Job, attempt: &Attempt, going: Going<'_>) -> Result<Bay, ReplayError> {
    replay_told(job, attempt, &mut |_, _, _| (), going)
}

/// Like [`replay_each`], for somebody who waits.
pub(super) fn replay_told(
    job: &Job,
    attempt: &Attempt,
    each: &mut dyn FnMut(&Entry, Option<&Answer>, &Bay),
    going: Going<'_>,
) -> Result<Bay, ReplayError> {
    replay_in(job, attempt, Bay::new, each, going)
}

/// Does everything in the record again and opens the wall: pressure, gas and water along the whole line.
///
/// # Errors
/// As [`replay`], and when the record doesn't end with the hand-back: then the wall stays shut.
pub fn open(job: &Job, attempt: &Attempt) -> Result<Opened, ReplayError> {
    open_watched(job, attempt, &mut |_| true)
}

/// Like [`open`], for somebody who waits.
///
/// # Errors
/// As [`open`], and when `going` doesn't want to go on.
pub fn open_watched(job: &Job, attempt: &Attempt, going: Going<'_>) -> Result<Opened, ReplayError> {
    let bay = replay_filmed(job, attempt, &mut |_, _, _| (), going)?;
    let closed = bay.close().map_err(|_| ReplayError::NotOver)?;
    closed.opened().map_err(ReplayError::NoVehicle)
}

/// Replayed in a filmed bay, a sound vehicle beside it.
fn replay_filmed(
    job: &Job,
    attempt: &Attempt,
    each: &mut dyn FnMut(&Entry, Option<&Answer>, &Bay),
    going: Going<'_>,
) -> Result<Bay, ReplayError> {
    let mut bay = replay_in(job, attempt, Bay::filmed, each, &mut |share| going(REPLAYED * share))?;
    let goes = bay.sound_catches_up(&mut |share| going(REPLAYED + (1.0 - REPLAYED) * share));
    if goes { Ok(bay) } else { Err(ReplayError::Left) }
}

/// Like [`replay_each`], and opens the wall in the same pass where the record ends with the hand-back.
///
/// # Errors
/// As [`replay`], and when `going` doesn't want to go on.
pub fn replay_opened(
    job: &Job,
    attempt: &Attempt,
    mut each: impl FnMut(&Entry, Option<&Answer>, &Bay),
    going: Going<'_>,
) -> Result<(Bay, Option<Opened>), ReplayError> {
    match replay_filmed(job, attempt, &mut each, going)?.close() {
        Ok(closed) => {
            // a page without the picture is better than none
            let opened = closed.opened().ok();
            Ok((closed.into_bay(), opened))
        }
        Err(bay) => Ok((*bay, None)),
    }
}

/// Does everything in the record again and opens the wall of a sitting that goes on: what is wrong now, in words, and
/// pressure, gas and water along the whole line so far. For what an instructor has shown in practice.
///
/// # Errors
/// As [`replay`], and when nobody has shown it: then the wall stays shut.
pub fn reveal(job: &Job, attempt: &Attempt) -> Result<(String, Opened), ReplayError> {
    reveal_watched(job, attempt, &mut |_| true)
}

/// Like [`reveal`], for somebody who waits.
///
/// # Errors
/// As [`reveal`], and when `going` doesn't want to go on.
pub fn reveal_watched(job: &Job, attempt: &Attempt, going: Going<'_>) -> Result<(String, Opened), ReplayError> {
    let bay = replay_filmed(job, attempt, &mut |_, _, _| (), going)?;
    let revealed = bay.revealed().ok_or(ReplayError::NotOver)?;
    let opened = revealed.opened().map_err(ReplayError::NoVehicle)?;
    Ok((revealed.in_words(), opened))
}

fn replay_in(
    job: &Job,
    attempt: &Attempt,
    fresh: impl FnOnce(&Job, u64) -> Result<Bay, String>,
    each: &mut dyn FnMut(&Entry, Option<&Answer>, &Bay),
    going: Going<'_>,
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
    let entries: Vec<(usize, &Entry)> = attempt.entries().iter().enumerate().collect();
    for some in entries.chunks(AT_A_TIME) {
        bay.while_sound_follows(|bay| {
            some.iter().try_for_each(|&(i, entry)| {
                if !going(i as f64 / entries.len() as f64) {
                    return Err(ReplayError::Left);
                }
                again(bay, i + 2, entry, each)
            })
        })?;
    }
    Ok(bay)
}

/// Does one entry of the record again.
fn again(
    bay: &mut Bay,
    line: usize,
    entry: &Entry,
    each: &mut dyn FnMut(&Entry, Option<&Answer>, &Bay),
) -> Result<(), ReplayError> {
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
    each(entry, answer.as_ref(), bay);
    Ok(())
}
