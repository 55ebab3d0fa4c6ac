//! Which vehicles stand behind each candidate.
//!
//! A candidate is one or more bands of a fault at a place; each band gets its own vehicles, evenly
//! spread over its severities. The seeds of the vehicles follow from the job alone, so that the same
//! job always has the same reference set and nobody's vehicle is in it.

use std::collections::BTreeMap;

use super::belief::grouped;
use super::likelihood::log_sum_exp;
use crate::fault::{FaultInstance, Place, by_code};
use crate::ops;
use crate::random::child_seed;
use crate::scenario::model::{Candidate, FaultBand, Job};

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
        let kind = kind_of(job, c);
        for (band, b) in bands.iter().enumerate() {
            for i in 0..count {
                let seed = child_seed(reference_seed(job), &kind, (band * 100_000 + i) as u64);
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

/// What a candidate is, whatever it is called: the codes of its faults. An author who renames it must not change a mark. Where
/// another has the same, their places and severities, too: twins that differ in nothing else would each be taken for the
/// other, as a vehicle is weighed without itself but not without its twin.
fn kind_of(job: &Job, candidate: &Candidate) -> String {
    let codes = |c: &Candidate| {
        let mut codes: Vec<&str> = c.vehicles.iter().flat_map(FaultBand::all).map(|b| b.fault.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        if codes.is_empty() { "sound".to_owned() } else { codes.join("+") }
    };
    let own = codes(candidate);
    if job.candidates.iter().filter(|c| codes(c) == own).count() < 2 {
        return own;
    }
    let one = |b: &FaultBand| format!("{}@{}:{}-{}", b.fault, b.at, b.severity.0, b.severity.1);
    let mut bands: Vec<String> = candidate.vehicles.iter().flat_map(FaultBand::all).map(one).collect();
    bands.sort_unstable();
    bands.join("+")
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

/// Causes as finely as a repair needs them: each candidate at each place where it may sit.
///
/// A finding names a candidate, and the belief in it is what a mark is about. But "a joint lets air in" can't be
/// put right before it is known which; so the worth of a test is counted over these.
#[derive(Clone, Debug, PartialEq)]
pub struct Causes {
    /// Candidate of each cause; the last, "none of these", comes after the last candidate.
    pub candidate: Vec<usize>,
    /// Place of each named cause; empty where it has none.
    pub place: Vec<String>,
    /// Prior of each, "none of these" last.
    pub prior: Vec<f64>,
    /// Cause, and band within it, by candidate and band of the draws.
    index: BTreeMap<(usize, usize), (usize, usize)>,
}

impl Causes {
    /// The causes behind some draws, with the priors of the candidates, "none of these" last. A candidate's
    /// prior is shared evenly over its bands, as its vehicles are.
    pub fn new(draws: &[Draw], by_candidate: &[f64]) -> Self {
        let mut all = Self { candidate: vec![], place: vec![], prior: vec![], index: BTreeMap::new() };
        let mut bands: Vec<usize> = vec![];
        for draw in draws {
            let key = (draw.candidate, draw.band);
            if all.index.contains_key(&key) {
                continue;
            }
            let place = draw.faults.first().map_or("", |f| f.at.as_str());
            let known = (0..all.place.len()).find(|&c| all.candidate[c] == draw.candidate && all.place[c] == place);
            let cause = known.unwrap_or_else(|| {
                all.candidate.push(draw.candidate);
                all.place.push(place.to_owned());
                bands.push(0);
                all.place.len() - 1
            });
            all.index.insert(key, (cause, bands[cause]));
            bands[cause] += 1;
        }
        let of = |candidate: usize| -> usize {
            (0..bands.len()).filter(|&c| all.candidate[c] == candidate).map(|c| bands[c]).sum()
        };
        all.prior = (0..bands.len())
            .map(|c| by_candidate[all.candidate[c]] * bands[c] as f64 / of(all.candidate[c]) as f64)
            .collect();
        all.prior.push(by_candidate[by_candidate.len() - 1]);
        all.candidate.push(by_candidate.len() - 1);
        all
    }

    /// Number of causes without "none of these".
    pub fn named(&self) -> usize {
        self.place.len()
    }

    /// Cause of a draw, and its band within it.
    pub fn of(&self, draw: &Draw) -> (usize, usize) {
        self.index.get(&(draw.candidate, draw.band)).copied().unwrap_or((0, 0))
    }

    /// A belief over causes as one over candidates, "none of these" last.
    pub fn by_candidate(&self, belief: &[f64]) -> Vec<f64> {
        grouped(belief, &self.candidate)
    }

    /// Log-likelihoods of causes as those of candidates: each a mixture of its places.
    pub fn likelihood_by_candidate(&self, log_like: &[f64]) -> Vec<f64> {
        let last = self.candidate.last().copied().unwrap_or(0);
        (0..=last)
            .map(|candidate| {
                let own = (0..self.candidate.len()).filter(|&c| self.candidate[c] == candidate);
                let whole: f64 = own.clone().map(|c| self.prior[c]).sum();
                let terms: Vec<f64> = own.map(|c| ops::ln(self.prior[c] / whole) + log_like[c]).collect();
                log_sum_exp(&terms)
            })
            .collect()
    }
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
