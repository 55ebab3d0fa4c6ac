//! Can a learner who makes every test be sure of the hidden cause?
//!
//! Simulates vehicles with the hidden cause through the complete run and weighs what they show. Below
//! a median belief of 0.60 a sound learner couldn't reach the gate, so the job would be unfair.

use crate::diagnosis::attainable::attainable;
use crate::diagnosis::ensemble::Watch;
use crate::diagnosis::hypothesis::candidate_of;
use crate::language::said;
use crate::scenario::model::Job;

/// Belief in the hidden cause that a complete run must bear for the job to be fair.
pub const FAIR_BELIEF: f64 = 0.60;

/// The answer for an author.
#[derive(Clone, Debug, PartialEq)]
pub struct Solvable {
    /// Label of the candidate that the hidden cause belongs to.
    pub cause: String,
    /// Belief in it that a complete run bears, median over vehicles.
    pub belief: f64,
    /// The rival that stays likeliest, and its mean belief.
    pub rival: (String, f64),
}

impl Solvable {
    /// A learner who makes every test can reach the gate.
    pub fn is_fair(&self) -> bool {
        self.belief >= FAIR_BELIEF
    }
}

/// Checks one job.
///
/// # Errors
/// A sentence: no candidate covers the hidden cause, the work was cancelled, a vehicle can't be built.
pub fn solvable(job: &Job, watch: &dyn Watch) -> Result<Solvable, String> {
    let candidate = candidate_of(job, &job.hidden.0).ok_or("no candidate covers the hidden cause")?;
    let found = attainable(job, candidate, watch)?;
    let label =
        |k: usize| job.candidates.get(k).map_or_else(|| said("none-of-these").to_owned(), |c| c.label.clone());
    let rival = found
        .mean
        .iter()
        .enumerate()
        .filter(|(k, _)| *k != candidate)
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or_else(|| (String::new(), 0.0), |(k, p)| (label(k), *p));
    Ok(Solvable { cause: label(candidate), belief: found.median, rival })
}
