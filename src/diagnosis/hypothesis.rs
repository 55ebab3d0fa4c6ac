//! Which vehicles stand behind each candidate.
//!
//! A candidate is one or more bands of a fault at a place; each band gets its own vehicles, evenly
//! spread over its severities. The seeds of the vehicles follow from the job alone, so that the same
//! job always has the same reference set and nobody's vehicle is in it.

use crate::fault::{FaultInstance, Place, by_code};
use crate::random::child_seed;
use crate::scenario::model::{FaultBand, Job};

/// One reference vehicle to be simulated.
#[derive(Clone, Debug, PartialEq)]
pub struct Draw {
    /// Candidate, in the order of the job.
    pub candidate: usize,
    /// Band within the candidate; 0 for "nothing wrong".
    pub band: usize,
    /// Seed of its tolerances.
    pub seed: u64,
    /// What is wrong with it.
    pub faults: Vec<FaultInstance>,
    /// Severity, for the strata; 0 without a fault.
    pub severity: f64,
}

/// Vehicles for every candidate of a job, `each` a candidate (at least 16 a band).
pub fn draws(job: &Job, each: usize) -> Vec<Draw> {
    let mut all = vec![];
    for (candidate, c) in job.candidates.iter().enumerate() {
        let bands: Vec<Option<FaultBand>> = if c.vehicles.is_empty() {
            vec![None]
        } else {
            c.vehicles.iter().flat_map(|b| places(job, b)).map(Some).collect()
        };
        let count = (each / bands.len()).max(16);
        for (band, b) in bands.iter().enumerate() {
            for i in 0..count {
                let seed = child_seed(reference_seed(job), &c.name, (band * 100_000 + i) as u64);
                let severity = b.as_ref().map_or(0.0, |b| {
                    b.severity.0 + (b.severity.1 - b.severity.0) * (i as f64 + 0.5) / count as f64
                });
                let faults = b.iter().flat_map(|b| together(b, i, count)).collect();
                all.push(Draw { candidate, band, seed, faults, severity });
            }
        }
    }
    all
}

/// The faults of the vehicle with this number in a band: the first fault's severities are spread evenly, those of
/// its fellows too, but in another order, so that mild goes with severe as often as with mild.
fn together(band: &FaultBand, i: usize, count: usize) -> Vec<FaultInstance> {
    band.all()
        .enumerate()
        .map(|(k, b)| {
            // 0.618… is the golden section: its multiples fill the unit interval evenly
            let even = (i as f64 + 0.5) / count as f64;
            let share = if k == 0 { even } else { (even + 0.618_033_988_749_894_9 * (i * k) as f64).fract() };
            let severity = b.severity.0 + (b.severity.1 - b.severity.0) * share;
            FaultInstance { modifiers: b.when.clone(), ..FaultInstance::new(&b.fault, &b.at, severity) }
        })
        .collect()
}

/// A band without a place stands for every place that its fault can have.
fn places(job: &Job, band: &FaultBand) -> Vec<FaultBand> {
    let Some(entry) = by_code(&band.fault) else { return vec![] };
    if !band.at.is_empty() || matches!(entry.place, Place::Kit | Place::Nowhere) {
        return vec![band.clone()];
    }
    entry.places(&job.plant).into_iter().map(|at| FaultBand { at, ..band.clone() }).collect()
}

fn reference_seed(job: &Job) -> u64 {
    child_seed(0x6661_756C_7462_6179, &job.plant.name, 1)
}

/// The candidate that has a vehicle with exactly these faults.
pub fn whole_of(job: &Job, faults: &[FaultInstance]) -> Option<usize> {
    job.candidates.iter().position(|c| c.vehicles.iter().any(|b| b.holds(faults)))
}

/// The candidate that these faults belong to: all of them together, else the first by fault and place, else by fault alone. `None` when
/// no candidate covers them.
pub fn candidate_of(job: &Job, faults: &[FaultInstance]) -> Option<usize> {
    let Some(first) = faults.first() else {
        return job.candidates.iter().position(|c| c.vehicles.is_empty());
    };
    if let Some(whole) = whole_of(job, faults) {
        return Some(whole);
    }
    let covers = |exact: bool| {
        job.candidates.iter().position(|c| {
            c.vehicles.iter().filter(|b| b.with.is_empty() || faults.len() > 1).any(|b| {
                b.fault == first.fault && (!exact || b.at == first.at || b.at.is_empty() || first.at.is_empty())
            })
        })
    };
    covers(true).or_else(|| covers(false))
}
