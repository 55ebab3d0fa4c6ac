//! The belief that the recorded evidence justifies, step by step.

use super::belief::{JACKKNIFE_GROUPS, divergence_bits, entropy_bits, jackknife_error, posterior, stays};
use super::ensemble::{Course, Feature, Row, Watch, run};
use super::hypothesis::{Draw, draws};
use super::likelihood::{Evidence, Reading, log_likelihoods};
use super::reference::{Pooled, Stratum, Vehicle, mixed, pooled, spans, strata, strata_for};
use super::worth::MATERIAL_BITS;
use crate::bay::Bay;
use crate::bay::action::Micros;
use crate::scenario::model::Job;

/// Prior of "none of these".
pub const PRIOR_OF_NONE: f64 = 0.03;
/// Reference vehicles a candidate.
pub const VEHICLES: usize = 72;

/// One step: a line of the sheet and the belief after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Line of the sheet, from 1.
    pub line: usize,
    /// When it was written.
    pub at: Micros,
    /// Belief after it, by candidate, "none of these" last.
    pub belief: Vec<f64>,
    /// Bits that this line was expected to tell.
    pub expected_bits: f64,
    /// Whether it is material: worth something beforehand or telling afterwards.
    pub material: bool,
}

/// The justified belief of an attempt.
#[derive(Clone, Debug, PartialEq)]
pub struct Justified {
    /// Belief before the first test.
    pub prior: Vec<f64>,
    /// One step for every line that counts.
    pub steps: Vec<Step>,
    /// Belief at the end for each tenth of the reference vehicles left out, for error bands.
    pub left_out: Vec<Vec<f64>>,
    /// Reference vehicles used.
    pub vehicles: usize,
}

impl Justified {
    /// Belief after all evidence.
    pub fn end(&self) -> &[f64] {
        self.steps.last().map_or(&self.prior, |s| &s.belief)
    }

    /// Standard error of the final belief in a candidate, from the reference set's size.
    pub fn error(&self, candidate: usize) -> f64 {
        let values: Vec<f64> = self.left_out.iter().map(|b| b[candidate]).collect();
        if values.is_empty() { 0.0 } else { jackknife_error(&values) }
    }
}

/// Priors of a job: its weights, with room for "none of these" at the end.
pub fn prior(job: &Job) -> Vec<f64> {
    let mut prior: Vec<f64> = job.candidates.iter().map(|c| c.weight * (1.0 - PRIOR_OF_NONE)).collect();
    prior.push(PRIOR_OF_NONE);
    prior
}

/// Numbers and words of a row, flattened: continuous features, then categorical ones.
struct Flat {
    numbers: Vec<f64>,
    words: Vec<usize>,
}

fn flatten(row: &Row, lines: usize) -> Flat {
    let mut flat = Flat { numbers: vec![], words: vec![] };
    for feature in row.iter().take(lines).flatten() {
        match feature {
            Feature::Number { value, .. } => flat.numbers.push(*value),
            Feature::Word { index, .. } => flat.words.push(*index),
        }
    }
    flat
}

/// The reference vehicles of a job after a script, ready to weigh evidence.
pub struct Reference {
    vehicles: Vec<(usize, usize, f64, Flat)>,
    candidates: usize,
    vocabulary: Vec<usize>,
}

impl Reference {
    /// From simulated rows; `like` is a row whose words give the vocabularies.
    pub fn new(job: &Job, draws: &[Draw], rows: &[Option<Row>], like: &Row) -> Self {
        let vocabulary = like
            .iter()
            .flatten()
            .filter_map(|f| if let Feature::Word { of, .. } = f { Some(*of) } else { None })
            .collect();
        let vehicles = draws
            .iter()
            .zip(rows)
            .filter_map(|(d, row)| {
                let flat = flatten(row.as_ref()?, usize::MAX);
                flat.numbers.iter().all(|v| v.is_finite()).then_some((d.candidate, d.band, d.severity, flat))
            })
            .collect();
        Self { vehicles, candidates: job.candidates.len(), vocabulary }
    }

    /// Strata of every candidate, leaving out one tenth of the vehicles (or none).
    fn strata(&self, leave_out: Option<usize>) -> Result<(Vec<Vec<Stratum>>, Pooled), String> {
        let kept: Vec<&(usize, usize, f64, Flat)> = self
            .vehicles
            .iter()
            .enumerate()
            .filter(|(i, _)| leave_out.is_none_or(|group| stays(*i, group)))
            .map(|(_, v)| v)
            .collect();
        let rows: Vec<&[f64]> = kept.iter().map(|v| v.3.numbers.as_slice()).collect();
        let spans = spans(&rows);
        let mut causes = vec![];
        for candidate in 0..self.candidates {
            let mut parts = vec![];
            let bands = kept.iter().filter(|v| v.0 == candidate).map(|v| v.1).max().map_or(0, |b| b + 1);
            for band in 0..bands {
                let members: Vec<Vehicle<'_>> = kept
                    .iter()
                    .filter(|v| v.0 == candidate && v.1 == band)
                    .map(|v| Vehicle { severity: v.2, features: &v.3.numbers, categories: &v.3.words })
                    .collect();
                if members.is_empty() {
                    continue;
                }
                let severe = members.iter().any(|m| m.severity > 0.0);
                let count = if severe { strata_for(members.len()).max(2) } else { 1 };
                parts.push((1.0, strata(&members, count, &spans, &self.vocabulary).map_err(|e| e.to_string())?));
            }
            if parts.is_empty() {
                return Err("no reference vehicle of a candidate could be simulated".into());
            }
            causes.push(mixed(parts));
        }
        let weights = vec![1.0; causes.len()];
        let pooled = pooled(&causes, &weights);
        Ok((causes, pooled))
    }
}

/// Strata of all candidates, ready to weigh rows.
pub struct Weigher {
    causes: Vec<Vec<Stratum>>,
    pooled: Pooled,
}

impl Weigher {
    /// Log-likelihood of every candidate, "none of these" last.
    ///
    /// # Errors
    /// When the evidence can't be used.
    pub fn log_likelihoods(&self, evidence: &Evidence) -> Result<Vec<f64>, String> {
        log_likelihoods(&self.causes, &self.pooled, evidence).map_err(|e| e.to_string())
    }
}

impl Reference {
    /// Strata of all candidates.
    ///
    /// # Errors
    /// When a candidate has no usable vehicle.
    pub fn weigher(&self) -> Result<Weigher, String> {
        let (causes, pooled) = self.strata(None)?;
        Ok(Weigher { causes, pooled })
    }
}

/// Evidence of a whole row.
pub fn evidence_of(row: &Row) -> Evidence {
    evidence(row, &(0..row.len()).collect::<Vec<_>>())
}

/// Evidence of some lines of an observed row.
fn evidence(row: &Row, lines: &[usize]) -> Evidence {
    let mut e = Evidence::default();
    let (mut number, mut word) = (0, 0);
    for (i, features) in row.iter().enumerate() {
        for feature in features {
            match *feature {
                Feature::Number { value, random, resolution } => {
                    if lines.contains(&i) {
                        e.readings.push(Reading {
                            feature: number,
                            value,
                            random,
                            resolution,
                            instrument: 0,
                            bias: 0.0,
                            sensitivity: 1.0,
                        });
                    }
                    number += 1;
                }
                Feature::Word { index, .. } => {
                    if lines.contains(&i) {
                        e.categories.push((word, index));
                    }
                    word += 1;
                }
            }
        }
    }
    e
}

/// Bits that line `i` was expected to tell, given the belief before it: over reference vehicles of
/// each candidate, how far its own showing would move that belief.
fn expected_bits(
    reference: &Reference,
    causes: &[Vec<Stratum>],
    pooled: &Pooled,
    row: &Row,
    i: usize,
    before: &[f64],
) -> f64 {
    const SHOWINGS: usize = 12;
    let h = entropy_bits(before);
    let mut expected = 0.0;
    let mut weight = 0.0;
    for candidate in 0..reference.candidates {
        if before[candidate] < 1e-4 {
            continue;
        }
        let members: Vec<&Flat> = reference.vehicles.iter().filter(|v| v.0 == candidate).map(|v| &v.3).collect();
        let step = (members.len() / SHOWINGS).max(1);
        let shown: Vec<&&Flat> = members.iter().step_by(step).collect();
        for flat in &shown {
            let shown_row = as_row(row, flat);
            let e = evidence(&shown_row, &[i]);
            if let Ok(like) = log_likelihoods(causes, pooled, &e) {
                let share = before[candidate] / shown.len() as f64;
                expected += share * entropy_bits(&posterior(before, &like));
                weight += share;
            }
        }
    }
    if weight > 0.0 { (h - expected / weight).max(0.0) } else { 0.0 }
}

/// A reference vehicle's showing with the uncertainties of the observed row.
fn as_row(like: &Row, flat: &Flat) -> Row {
    let (mut numbers, mut words) = (flat.numbers.iter(), flat.words.iter());
    like.iter()
        .map(|features| {
            features
                .iter()
                .map(|f| match f {
                    Feature::Number { random, resolution, value } => Feature::Number {
                        value: numbers.next().copied().unwrap_or(*value),
                        random: *random,
                        resolution: *resolution,
                    },
                    Feature::Word { of, index } => {
                        Feature::Word { index: words.next().copied().unwrap_or(*index), of: *of }
                    }
                })
                .collect()
        })
        .collect()
}

/// Drives the reference vehicles of a job through what was done in a bay (up to `until`) and weighs
/// what was recorded.
///
/// # Errors
/// A sentence: cancelled, or the evidence can't be used.
pub fn justify(
    job: &Job,
    bay: &Bay,
    until: Micros,
    vehicles: usize,
    watch: &dyn Watch,
) -> Result<Justified, String> {
    let prior = prior(job);
    let observed = super::ensemble::features(bay).ok_or("a recorded window holds no sample")?;
    let counted: Vec<usize> =
        bay.evidence().iter().enumerate().filter(|(_, e)| e.at <= until).map(|(i, _)| i).collect();
    if counted.is_empty() {
        return Ok(Justified { prior, steps: vec![], left_out: vec![], vehicles: 0 });
    }
    let observed: Row = observed[..counted.len()].to_vec();
    let draws = draws(job, vehicles);
    let rows = run(job, &draws, &Course::of(bay, until), watch).ok_or("cancelled")?;
    let reference = Reference::new(job, &draws, &rows, &observed);
    let (causes, pool) = reference.strata(None)?;
    let mut steps: Vec<Step> = vec![];
    let mut used: Vec<usize> = vec![];
    let mut before = prior.clone();
    for &i in &counted {
        let expected_bits = expected_bits(&reference, &causes, &pool, &observed, i, &before);
        let mut with = used.clone();
        with.push(i);
        let like = log_likelihoods(&causes, &pool, &evidence(&observed, &with)).map_err(|e| e.to_string())?;
        let after = posterior(&prior, &like);
        let material = expected_bits >= MATERIAL_BITS || divergence_bits(&after, &before) >= MATERIAL_BITS;
        if material {
            used = with;
            before = after;
        }
        let e = &bay.evidence()[i];
        steps.push(Step { line: e.line, at: e.at, belief: before.clone(), expected_bits, material });
    }
    let mut left_out = vec![];
    let e = evidence(&observed, &used);
    for group in 0..JACKKNIFE_GROUPS {
        let (causes, pool) = reference.strata(Some(group))?;
        let like = log_likelihoods(&causes, &pool, &e).map_err(|e| e.to_string())?;
        left_out.push(posterior(&prior, &like));
    }
    Ok(Justified { prior, steps, left_out, vehicles: reference.vehicles.len() })
}
