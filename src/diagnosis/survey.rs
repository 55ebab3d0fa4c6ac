//! What all the tests of a job can tell: the reference set of the complete run and what follows from
//! it for every mark of the job.
//!
//! Every vehicle is judged by strata that it isn't part of (ten folds), so no number here flatters
//! itself by having seen the answer.

use super::belief::{JACKKNIFE_GROUPS, entropy_bits, grouped, posterior, stays};
use super::ensemble::{Row, Watch};
use super::gate::{Calibration, calibration};
use super::hypothesis::{Draw, draws};
use super::justify::{Reference, Strata, evidence, prior, probe};
use super::likelihood::{Evidence, log_likelihoods};
use super::menu::{Menu, Standing, menu};
use super::outlook::Outlook;
use super::separable::{SEPARABLE, groups, mistaken};
use super::store::{Store, shown};
use super::tabled::PAR_FACTOR;
use super::worth::{MATERIAL_BITS, charged_minutes};
use crate::scenario::model::Job;

/// Vehicles of a cause with which the greedy policy is tried.
const POLICY_VEHICLES: usize = 3;
/// Raise it when an outcome is worked out otherwise.
const OUTCOME_VERSION: u32 = 1;
/// Fewest held-out vehicles of each of two causes before "can't be told apart" is believed.
const FEWEST_TO_JOIN: usize = 40;

/// The complete run on every reference vehicle.
pub struct Survey {
    /// The tests.
    pub menu: Menu,
    /// The vehicles.
    pub draws: Vec<Draw>,
    /// What each showed, by line of the complete run.
    pub rows: Vec<Option<Row>>,
    /// A row that stands for all in its uncertainties and vocabularies.
    pub like: Row,
}

/// What follows from a survey.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Outcome {
    /// Group of each candidate, "none of these" last and alone.
    pub groups: Vec<usize>,
    /// Median belief in each candidate's group, over vehicles that have it.
    pub attainable: Vec<f64>,
    /// Mean belief by cause, over vehicles of each candidate.
    pub mean: Vec<Vec<f64>>,
    /// Entropy over groups expected after all tests, bits.
    pub entropy_bits: f64,
    /// Par time, min.
    pub par_minutes: f64,
    /// How often two candidates are mistaken for one another.
    pub mistaken: Vec<Vec<f64>>,
    /// Calibration after all tests.
    pub calibration: Calibration,
}

/// Simulates the complete run, or takes it from the store.
///
/// # Errors
/// A sentence: cancelled, or the job's vehicle can't be built.
pub fn survey(job: &Job, vehicles: usize, store: &dyn Store, watch: &dyn Watch) -> Result<Survey, String> {
    let menu = menu(job)?;
    let draws = draws(job, vehicles);
    let rows = shown(job, &draws, &menu.course, store, watch).ok_or("cancelled")?;
    let like = rows.iter().flatten().next().cloned().ok_or("no reference vehicle could be simulated")?;
    Ok(Survey { menu, draws, rows, like })
}

/// A reference vehicle judged by strata without it.
struct Held<'a> {
    candidate: usize,
    fold: usize,
    row: &'a Row,
    log_like: Vec<f64>,
    belief: Vec<f64>,
}

impl Survey {
    /// [`Self::outcome`] from the store, or worked out and kept.
    ///
    /// # Errors
    /// See [`Self::outcome`].
    pub fn outcome_kept(&self, job: &Job, store: &dyn Store) -> Result<Outcome, String> {
        let r = &job.rubric;
        let work = || self.outcome(job, r.enough_belief, r.minutes_per_credit, r.minutes_per_risk);
        let mut hash = blake3::Hasher::new();
        // what the vehicles showed, the job and the charges decide the outcome
        hash.update(&super::store::encode(&self.rows));
        hash.update(job.hash.as_bytes());
        for x in [r.enough_belief, r.minutes_per_credit, r.minutes_per_risk] {
            hash.update(&x.to_bits().to_le_bytes());
        }
        hash.update(&OUTCOME_VERSION.to_le_bytes());
        let key = format!("outcome-{}", hash.finalize().to_hex());
        let fits =
            |o: &Outcome| o.attainable.len() == job.candidates.len() && o.groups.len() == o.attainable.len() + 1;
        let kept = store.get(&key).and_then(|bytes| super::store::opened(&bytes));
        let kept = kept.and_then(|json| serde_json::from_slice::<Outcome>(&json).ok());
        if let Some(outcome) = kept.filter(fits) {
            return Ok(outcome);
        }
        let outcome = work()?;
        if let Ok(json) = serde_json::to_vec(&outcome) {
            store.put(&key, &super::store::closed(&json));
        }
        Ok(outcome)
    }

    /// Judges every vehicle by the others.
    ///
    /// `enough` is the belief at which the policy stops; a credit counts `per_credit` minutes, a unit of
    /// risk `per_risk`.
    ///
    /// # Errors
    /// A sentence when the evidence can't be used.
    pub fn outcome(&self, job: &Job, enough: f64, per_credit: f64, per_risk: f64) -> Result<Outcome, String> {
        let reference = Reference::new(job, &self.draws, &self.rows, &self.like);
        let folds: Vec<Strata> =
            (0..JACKKNIFE_GROUPS).map(|g| reference.strata(Some(g))).collect::<Result<_, _>>()?;
        let prior = prior(job);
        let held = self.held(&folds, &prior)?;
        let n = job.candidates.len();
        let shown: Vec<Vec<Vec<f64>>> = (0..n)
            .map(|c| held.iter().filter(|h| h.candidate == c).map(|h| h.log_like.clone()).collect())
            .collect();
        let mut mistaken = mistaken(&shown);
        for (i, a) in shown.iter().enumerate() {
            for (j, b) in shown.iter().enumerate() {
                if a.len().min(b.len()) < FEWEST_TO_JOIN {
                    // too few vehicles to say so
                    mistaken[i][j] = mistaken[i][j].min(SEPARABLE);
                }
            }
        }
        let groups = groups(&mistaken, SEPARABLE, &[]);
        let mut attainable = vec![];
        let mut mean = vec![];
        let mut entropy = 0.0;
        let named: f64 = prior[..n].iter().sum();
        let mut judged: Vec<(f64, usize, Vec<f64>)> = vec![];
        for c in 0..n {
            let own: Vec<&Held<'_>> = held.iter().filter(|h| h.candidate == c).collect();
            if own.is_empty() {
                return Err(format!("no vehicle with “{}” could be weighed", job.candidates[c].label));
            }
            let by_group: Vec<Vec<f64>> = own.iter().map(|h| grouped(&h.belief, &groups)).collect();
            let mut tops: Vec<f64> = by_group.iter().map(|b| b[groups[c]]).collect();
            tops.sort_by(f64::total_cmp);
            attainable.push(tops[tops.len() / 2]);
            let count = own.len() as f64;
            mean.push((0..=n).map(|k| own.iter().map(|h| h.belief[k]).sum::<f64>() / count).collect());
            entropy += prior[c] / named * by_group.iter().map(|b| entropy_bits(b)).sum::<f64>() / count;
            judged.extend(by_group.into_iter().map(|b| (prior[c] / count, groups[c], b)));
        }
        let views: Vec<(f64, usize, &[f64])> = judged.iter().map(|(w, t, b)| (*w, *t, b.as_slice())).collect();
        let calibration = calibration(&views).ok_or("no reference vehicle could be weighed")?;
        let policy = Policy { enough, per_credit, per_risk, prior: &prior, groups: &groups };
        let par_minutes = PAR_FACTOR * self.greedy_minutes(&folds, &held, &policy)?;
        Ok(Outcome { groups, attainable, mean, entropy_bits: entropy, par_minutes, mistaken, calibration })
    }

    fn held(&self, folds: &[Strata], prior: &[f64]) -> Result<Vec<Held<'_>>, String> {
        let lines: Vec<usize> = (0..self.like.len()).collect();
        let mut held = vec![];
        // folds count usable vehicles, as the strata do
        let usable = self.draws.iter().zip(&self.rows).filter_map(|(d, r)| Some((d, r.as_ref()?)));
        for (index, (draw, row)) in usable.enumerate() {
            let fold = (0..JACKKNIFE_GROUPS).find(|&g| !stays(index, g)).unwrap_or(0);
            let Strata { causes, pooled } = &folds[fold];
            let log_like = log_likelihoods(causes, pooled, &evidence(row, &lines)).map_err(|e| e.to_string())?;
            let belief = posterior(prior, &log_like);
            held.push(Held { candidate: draw.candidate, fold, row, log_like, belief });
        }
        Ok(held)
    }

    /// Mean minutes of the greedy policy over a few vehicles of each cause, weighed by prior.
    fn greedy_minutes(&self, folds: &[Strata], held: &[Held<'_>], policy: &Policy<'_>) -> Result<f64, String> {
        let mut picked: Vec<(f64, &Held<'_>)> = vec![];
        for candidate in 0..policy.prior.len() - 1 {
            let own: Vec<&Held<'_>> = held.iter().filter(|h| h.candidate == candidate).collect();
            let step = (own.len() / POLICY_VEHICLES).max(1);
            let some: Vec<&Held<'_>> = own.into_iter().skip(step / 2).step_by(step).collect();
            let share = policy.prior[candidate] / some.len() as f64;
            picked.extend(some.into_iter().map(|h| (share, h)));
        }
        let one = |(share, h): &(f64, &Held<'_>)| -> Result<(f64, f64), String> {
            Ok((*share, self.walk(&folds[h.fold], h.row, policy)?))
        };
        #[cfg(feature = "parallel")]
        let walks: Vec<Result<(f64, f64), String>> = {
            use rayon::prelude::*;
            picked.par_iter().map(one).collect()
        };
        #[cfg(not(feature = "parallel"))]
        let walks: Vec<Result<(f64, f64), String>> = picked.iter().map(one).collect();
        let (mut sum, mut whole) = (0.0, 0.0);
        for walk in walks {
            let (share, minutes) = walk?;
            sum += share * minutes;
            whole += share;
        }
        Ok(sum / whole)
    }

    /// Minutes that the greedy policy takes on one vehicle.
    fn walk(&self, strata: &Strata, row: &Row, policy: &Policy<'_>) -> Result<f64, String> {
        let mut standing = Standing::default();
        let (mut lines, mut done, mut minutes): (Vec<usize>, Vec<usize>, f64) = (vec![], vec![], 0.0);
        loop {
            let e = if lines.is_empty() { Evidence::default() } else { evidence(row, &lines) };
            let outlook =
                Outlook::new(&strata.causes, &strata.pooled, policy.prior, &e).map_err(|e| e.to_string())?;
            let sure = grouped(outlook.belief(), policy.groups).into_iter().fold(0.0, f64::max);
            if sure >= policy.enough {
                return Ok(minutes);
            }
            let mut best: Option<(usize, f64, f64)> = None;
            for (t, test) in self.menu.tests.iter().enumerate().filter(|(t, _)| !done.contains(t)) {
                let forecast = outlook.predict(&probe(&self.like, &test.lines)).map_err(|e| e.to_string())?;
                let bits = forecast.gain_roughly(policy.groups);
                let charged = charged_minutes(
                    test.minutes(&standing),
                    test.credits(&standing),
                    policy.per_credit,
                    test.risk(),
                    policy.per_risk,
                );
                if bits >= MATERIAL_BITS && best.is_none_or(|(_, rate, _)| bits / charged > rate) {
                    best = Some((t, bits / charged, charged));
                }
            }
            let Some((t, _, charged)) = best else { return Ok(minutes) };
            minutes += charged;
            done.push(t);
            let test = &self.menu.tests[t];
            lines.extend(&test.lines);
            lines.sort_unstable();
            lines.dedup();
            standing = stands_after(test, &standing);
        }
    }
}

/// How things stand after a test.
fn stands_after(test: &super::menu::Test, before: &Standing) -> Standing {
    use super::menu::Kind;
    use crate::bay::action::State;
    // the run ends with its hold
    let running = matches!(test.kind, Kind::State(State::Crank | State::Idle | State::Raised | State::DeadHead));
    if test.joint.is_empty() {
        return Standing { running: before.running && test.kind == Kind::Cap, ..before.clone() };
    }
    Standing { tee: Some(test.joint.clone()), running }
}

struct Policy<'a> {
    enough: f64,
    per_credit: f64,
    per_risk: f64,
    prior: &'a [f64],
    groups: &'a [usize],
}
