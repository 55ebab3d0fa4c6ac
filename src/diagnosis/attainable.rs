//! How sure the allowed tests can make one: the median belief in a candidate, over vehicles that have
//! it, after a complete run of every test.

use super::ensemble::Watch;
use super::store::Nowhere;
use super::survey::survey;
use crate::language::said;
use crate::scenario::model::Job;

/// Reference vehicles a candidate for this purpose.
const VEHICLES: usize = 72;

/// What the complete run makes of vehicles that have a candidate's fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Attainable {
    /// Median belief in that candidate's group.
    pub median: f64,
    /// Mean belief in every candidate, "none of these" last.
    pub mean: Vec<f64>,
}

/// Belief in a candidate after the complete run, over vehicles that have it and weren't used to weigh.
///
/// # Errors
/// A sentence: cancelled, or a vehicle can't be simulated.
pub fn attainable(job: &Job, candidate: usize, watch: &dyn Watch) -> Result<Attainable, String> {
    let rubric = &job.rubric;
    let found = survey(job, VEHICLES, &Nowhere, watch)?.outcome(
        job,
        rubric.enough_belief,
        rubric.minutes_per_credit,
        rubric.minutes_per_risk,
    )?;
    let (Some(&median), Some(mean)) = (found.attainable.get(candidate), found.mean.get(candidate)) else {
        return Err(said("diagnosis-no-such-candidate").into());
    };
    Ok(Attainable { median, mean: mean.clone() })
}
