//! What all the tests of a job can tell: the reference set of the complete run and what follows from
//! it for every mark of the job.
//!
//! Every vehicle is judged by strata that it isn't part of (ten folds), so no number here flatters
//! itself by having seen the answer.

use super::belief::{JACKKNIFE_GROUPS, each_alone, entropy_bits, grouped, jackknife_groups, posterior};
use super::ensemble::{Feature, Row, Watch};
use super::gate::{Calibration, calibration};
use super::hypothesis::{Causes, Draw, draws};
use super::justify::prior;
use super::likelihood::{Evidence, log_likelihoods};
use super::menu::{Menu, Standing, Test, menu};
use super::outlook::Outlook;
use super::rows::{Reference, Strata, evidence, probe};
use super::separable::{SEPARABLE, groups, mistaken};
use super::store::{Store, shown};
use super::tabled::PAR_FACTOR;
use super::worth::{MATERIAL_BITS, charged_minutes};
use crate::language::said;
use crate::scenario::model::Job;
use crate::tell;

/// Vehicles of a candidate with which the greedy policy is tried, and with which it is found out which tests
/// anybody would make.
const POLICY_VEHICLES: usize = 3;
const TRIED_VEHICLES: usize = 2;
/// Belief that ends such a trial, and most tests of one.
const SETTLED: f64 = 0.98;
const MOST_STEPS: usize = 8;
/// Most numbers that "all tests" are weighed by: with many more than there are vehicles in a stratum, a
/// covariance is mostly guesswork.
const MOST_NUMBERS: usize = 32;
/// How far the open bits of a floored belief may lie below those of the branches of a forecast.
pub(super) const BOUND_SLACK: f64 = 1e-3;
/// Raise it when an outcome is worked out otherwise.
const OUTCOME_VERSION: u32 = 8;
/// Fewest held-out vehicles of each of two causes before "can't be told apart" is believed; and share of
/// mistaken ones for places, of which there are fewer.
const FEWEST_TO_JOIN: usize = 40;
const FEWEST_AT_A_PLACE: usize = 12;
const PLACES_ALIKE: f64 = 0.20;

/// The complete run on every reference vehicle.
pub struct Survey {
    /// The tests.
    pub menu: Menu,
    /// The vehicles.
    pub draws: Vec<Draw>,
    /// The causes behind them: candidates at their places.
    pub causes: Causes,
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
    /// Group of each candidate at each place ([`Causes`]), "none of these" last: what a repair needs to know.
    pub places: Vec<usize>,
    /// Median belief in each candidate's group, over vehicles that have it.
    pub attainable: Vec<f64>,
    /// Mean belief by candidate, over vehicles of each candidate.
    pub mean: Vec<Vec<f64>>,
    /// Entropy over places expected after all tests, bits.
    pub entropy_bits: f64,
    /// Par time, min.
    pub par_minutes: f64,
    /// Credits that the par policy spends on seals.
    pub par_credits: f64,
    /// How often two candidates are mistaken for one another.
    pub mistaken: Vec<Vec<f64>>,
    /// Calibration after all tests.
    pub calibration: Calibration,
    /// Lines of the complete run that "all tests" stands for: of the tests that sound work would make on
    /// any of the causes.
    pub core: Vec<usize>,
}

/// Simulates the complete run, or takes it from the store.
///
/// # Errors
/// A sentence: cancelled, or the job's vehicle can't be built.
pub fn survey(job: &Job, vehicles: usize, store: &dyn Store, watch: &dyn Watch) -> Result<Survey, String> {
    let menu = menu(job)?;
    let draws = draws(job, vehicles);
    let rows = shown(job, &draws, &menu.course, store, watch).ok_or(said("diagnosis-cancelled"))?;
    // the lowest seed, not the first: no mark hangs on the order of candidates
    let usable = draws.iter().zip(&rows).filter_map(|(draw, row)| Some((draw.seed, row.as_ref()?)));
    let like =
        usable.min_by_key(|(seed, _)| *seed).map(|(_, row)| row.clone()).ok_or(said("diagnosis-no-reference"))?;
    let causes = Causes::new(&draws, &prior(job));
    Ok(Survey { menu, draws, causes, rows, like })
}

/// A test of a way through a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// In words.
    pub test: String,
    /// Minutes that it takes from where the one before it ends.
    pub minutes: f64,
}

/// A reference vehicle judged by strata without it.
pub struct Held<'a> {
    /// Candidate that it has.
    pub candidate: usize,
    /// Its cause.
    pub cause: usize,
    /// Strata that don't hold it.
    pub fold: usize,
    /// What it shows.
    pub row: &'a Row,
    /// Log-likelihood by cause after all tests.
    pub log_like: Vec<f64>,
    /// Belief by cause after all tests.
    pub belief: Vec<f64>,
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
        // what the vehicles showed, whose they are, the tests, the weights and the charges decide the outcome: nothing else of
        // the job, so that variants which differ in words or in what is hidden share it
        hash.update(&super::store::encode(&self.rows));
        hash.update(format!("{:?} {:?}", self.menu.tests, self.causes).as_bytes());
        for draw in &self.draws {
            hash.update(format!("{} {} {} {};", draw.candidate, draw.band, draw.seed, draw.severity).as_bytes());
        }
        for x in prior(job).into_iter().chain([r.enough_belief, r.minutes_per_credit, r.minutes_per_risk]) {
            hash.update(&x.to_bits().to_le_bytes());
        }
        hash.update(&OUTCOME_VERSION.to_le_bytes());
        let key = format!("outcome-{}", hash.finalize().to_hex());
        let fits = |o: &Outcome| {
            o.attainable.len() == job.candidates.len()
                && o.groups.len() == o.attainable.len() + 1
                && o.places.len() == self.causes.prior.len()
                && o.core.iter().all(|&l| l < self.like.len())
        };
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

    /// Strata without one tenth of the vehicles each.
    ///
    /// # Errors
    /// A sentence when a cause has no usable vehicle.
    pub fn folds(&self) -> Result<Vec<Strata>, String> {
        let reference = Reference::fine(&self.causes, &self.draws, &self.rows, &self.like);
        in_parallel(&Vec::from_iter(0..JACKKNIFE_GROUPS), |&g| reference.strata(Some(g)))
    }

    /// Judges every vehicle by the others.
    ///
    /// `enough` is the belief at which the policy stops; a credit counts `per_credit` minutes, a unit of
    /// risk `per_risk`.
    ///
    /// # Errors
    /// A sentence when the evidence can't be used.
    pub fn outcome(&self, job: &Job, enough: f64, per_credit: f64, per_risk: f64) -> Result<Outcome, String> {
        let folds = self.folds()?;
        let alone = each_alone(self.causes.prior.len());
        let mut policy =
            Policy { enough: SETTLED, per_credit, per_risk, places: &alone, stop: f64::INFINITY, first: None };
        policy.first = self.first_step(&folds[0], &policy)?;
        let core = self.core(&folds, &policy)?;
        let held = self.held(&folds, &core)?;
        let n = job.candidates.len();
        let (groups, mistaken) = self.told_apart(&held, n);
        let places = self.places(&held);
        let mut attainable = vec![];
        let mut mean = vec![];
        let mut entropy = 0.0;
        let by_candidate = prior(job);
        let named: f64 = by_candidate[..n].iter().sum();
        let mut judged: Vec<(f64, usize, Vec<f64>)> = vec![];
        for c in 0..n {
            let own: Vec<&Held<'_>> = held.iter().filter(|h| h.candidate == c).collect();
            if own.is_empty() {
                return Err(tell!("diagnosis-no-vehicle-weighed", candidate = job.candidates[c].label));
            }
            let beliefs: Vec<Vec<f64>> = own.iter().map(|h| self.causes.by_candidate(&h.belief)).collect();
            let by_group: Vec<Vec<f64>> = beliefs.iter().map(|b| grouped(b, &groups)).collect();
            let mut tops: Vec<f64> = by_group.iter().map(|b| b[groups[c]]).collect();
            tops.sort_by(f64::total_cmp);
            attainable.push(tops[tops.len() / 2]);
            let count = own.len() as f64;
            mean.push((0..=n).map(|k| beliefs.iter().map(|b| b[k]).sum::<f64>() / count).collect());
            let open: f64 = own.iter().map(|h| entropy_bits(&grouped(&h.belief, &places))).sum();
            entropy += by_candidate[c] / named * open / count;
            judged.extend(by_group.into_iter().map(|b| (by_candidate[c] / count, groups[c], b)));
        }
        let views: Vec<(f64, usize, &[f64])> = judged.iter().map(|(w, t, b)| (*w, *t, b.as_slice())).collect();
        let calibration = calibration(&views).ok_or(said("diagnosis-no-reference-weighed"))?;
        let mut policy = Policy { enough, per_credit, per_risk, places: &places, stop: f64::INFINITY, first: None };
        policy.first = self.first_step(&folds[0], &policy)?;
        let (minutes, credits) = self.greedy_price(&folds, &held, &policy, &by_candidate)?;
        Ok(Outcome {
            groups,
            places,
            attainable,
            mean,
            entropy_bits: entropy,
            par_minutes: PAR_FACTOR * minutes,
            par_credits: credits,
            mistaken,
            calibration,
            core,
        })
    }

    /// The way that par times are made of, on one vehicle of a candidate in the middle of its places and severities:
    /// always the material test that tells most a minute, judged by strata without this vehicle.
    ///
    /// # Errors
    /// A sentence when no vehicle of the candidate could be weighed.
    pub fn way(&self, job: &Job, outcome: &Outcome, candidate: usize) -> Result<Vec<Leg>, String> {
        let folds = self.folds()?;
        let held = self.held(&folds, &[])?;
        let own: Vec<&Held<'_>> = held.iter().filter(|h| h.candidate == candidate).collect();
        let typical = own.get(own.len() / 2).ok_or(said("diagnosis-none-weighed"))?;
        let r = &job.rubric;
        let mut policy = Policy {
            enough: r.enough_belief,
            per_credit: r.minutes_per_credit,
            per_risk: r.minutes_per_risk,
            places: &outcome.places,
            stop: f64::INFINITY,
            first: None,
        };
        policy.first = self.first_step(&folds[0], &policy)?;
        let walk = self.walk(&folds[typical.fold], typical.row, &policy)?;
        let mut standing = Standing::default();
        let leg = |&t: &usize| {
            let test = &self.menu.tests[t];
            let minutes = test.minutes(&standing);
            standing = test.leaves(&standing);
            Leg { test: test.words.clone(), minutes }
        };
        Ok(walk.tests.iter().map(leg).collect())
    }

    /// Which candidates can be told apart: their groups and how often two are mistaken.
    fn told_apart(&self, held: &[Held<'_>], candidates: usize) -> (Vec<usize>, Vec<Vec<f64>>) {
        let shown: Vec<Vec<Vec<f64>>> = (0..candidates)
            .map(|c| {
                let own = held.iter().filter(|h| h.candidate == c);
                own.map(|h| self.causes.likelihood_by_candidate(&h.log_like)).collect()
            })
            .collect();
        let mistaken = believed(&shown, FEWEST_TO_JOIN, SEPARABLE);
        (groups(&mistaken, SEPARABLE, &[]), mistaken)
    }

    /// Which causes can be told apart, place by place.
    fn places(&self, held: &[Held<'_>]) -> Vec<usize> {
        let shown: Vec<Vec<Vec<f64>>> = (0..self.causes.named())
            .map(|c| held.iter().filter(|h| h.cause == c).map(|h| h.log_like.clone()).collect())
            .collect();
        groups(&believed(&shown, FEWEST_AT_A_PLACE, PLACES_ALIKE), PLACES_ALIKE, &[])
    }

    /// Every vehicle, judged by some lines and by strata without it.
    ///
    /// # Errors
    /// A sentence when the evidence can't be used.
    pub fn held(&self, folds: &[Strata], lines: &[usize]) -> Result<Vec<Held<'_>>, String> {
        // folds count usable vehicles, as the strata do
        let usable = self.draws.iter().zip(&self.rows).filter_map(|(d, r)| Some((d, r.as_ref()?)));
        let usable: Vec<(&Draw, &Row)> = usable.collect();
        let fold_of = jackknife_groups(usable.iter().map(|(draw, _)| self.causes.of(draw).0));
        let usable: Vec<_> = fold_of.into_iter().zip(usable).collect();
        in_parallel(&usable, |&(fold, (draw, row))| {
            let Strata { causes, pooled } = &folds[fold];
            let log_like = log_likelihoods(causes, pooled, &evidence(row, lines)).map_err(|e| e.to_string())?;
            let belief = posterior(&self.causes.prior, &log_like);
            let cause = self.causes.of(draw).0;
            Ok(Held { candidate: draw.candidate, cause, fold, row, log_like, belief })
        })
    }

    /// Some vehicles of each candidate, evenly over places and severities.
    fn some<'h, 'r>(&self, held: &'h [Held<'r>], each: usize) -> Vec<&'h Held<'r>> {
        let candidates = self.causes.candidate.last().copied().unwrap_or(0);
        let mut picked = vec![];
        for candidate in 0..candidates {
            let own: Vec<&Held<'_>> = held.iter().filter(|h| h.candidate == candidate).collect();
            let step = (own.len() / each).max(1);
            picked.extend(own.into_iter().skip(step / 2).step_by(step).take(each));
        }
        picked
    }

    /// Lines of the tests that the greedy policy makes on any of a few vehicles; those made on most
    /// candidates first, as many as can be weighed together.
    fn core(&self, folds: &[Strata], policy: &Policy<'_>) -> Result<Vec<usize>, String> {
        let held = self.held(folds, &[])?;
        let some = self.some(&held, TRIED_VEHICLES);
        let walks = in_parallel(&some, |h| self.walk(&folds[h.fold], h.row, policy))?;
        let mut made = vec![0_u32; self.menu.tests.len()];
        for walk in &walks {
            for &t in &walk.tests {
                made[t] += 1;
            }
        }
        let mut order: Vec<usize> = (0..made.len()).filter(|&t| made[t] > 0).collect();
        order.sort_by_key(|&t| (core::cmp::Reverse(made[t]), t));
        let numbers = |lines: &[usize]| -> usize {
            lines.iter().flat_map(|&l| &self.like[l]).filter(|f| matches!(f, Feature::Number { .. })).count()
        };
        let mut core: Vec<usize> = vec![];
        for t in order {
            let mut with = core.clone();
            with.extend(&self.menu.tests[t].lines);
            with.sort_unstable();
            with.dedup();
            if numbers(&with) <= MOST_NUMBERS {
                core = with;
            }
        }
        if core.is_empty() {
            // nothing tells anything: then everything tells as much
            core = self.menu.tests.first().map_or_else(Vec::new, |t| t.lines.clone());
        }
        Ok(core)
    }

    /// Mean minutes and credits of the greedy policy over a few vehicles of each candidate, by prior.
    fn greedy_price(
        &self,
        folds: &[Strata],
        held: &[Held<'_>],
        policy: &Policy<'_>,
        by_candidate: &[f64],
    ) -> Result<(f64, f64), String> {
        let some = self.some(held, POLICY_VEHICLES);
        let walks = in_parallel(&some, |h| self.walk(&folds[h.fold], h.row, policy))?;
        let (mut minutes, mut credits, mut whole) = (0.0, 0.0, 0.0);
        for (h, walk) in some.iter().zip(walks) {
            let alike = some.iter().filter(|o| o.candidate == h.candidate).count();
            let share = by_candidate[h.candidate] / alike as f64;
            minutes += share * walk.minutes;
            credits += share * walk.credits;
            whole += share;
        }
        Ok((minutes / whole, credits / whole))
    }

    /// The material test with the most bits a minute at a belief; the first of equals.
    ///
    /// No test tells more than what is open, so with the shortest tried first most needn't be weighed at all.
    fn best(
        &self,
        outlook: &Outlook<'_>,
        standing: &Standing,
        done: &[usize],
        policy: &Policy<'_>,
    ) -> Result<Option<usize>, String> {
        let most = outlook.open_bits(policy.places) + BOUND_SLACK;
        let mut tests: Vec<(f64, usize)> = (0..self.menu.tests.len())
            .filter(|t| !done.contains(t))
            .map(|t| (policy.charged(&self.menu.tests[t], standing), t))
            .collect();
        tests.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut best: Option<(f64, usize)> = None;
        for (minutes, t) in tests {
            if best.is_some_and(|(rate, _)| most / minutes < rate) {
                break;
            }
            let forecast =
                outlook.predict(&probe(&self.like, &self.menu.tests[t].lines)).map_err(|e| e.to_string())?;
            let bits = forecast.gain_roughly(policy.places);
            let rate = bits / minutes;
            let better = best.is_none_or(|(top, first)| rate > top || rate == top && t < first);
            if bits >= MATERIAL_BITS && better {
                best = Some((rate, t));
            }
        }
        Ok(best.map(|(_, t)| t))
    }

    /// What the policy would do first: the same for every vehicle.
    fn first_step(&self, strata: &Strata, policy: &Policy<'_>) -> Result<Option<usize>, String> {
        let outlook = Outlook::new(&strata.causes, &strata.pooled, &self.causes.prior, &Evidence::default())
            .map_err(|e| e.to_string())?;
        self.best(&outlook, &Standing::default(), &[], policy)
    }

    /// The way of the greedy policy on one vehicle.
    fn walk(&self, strata: &Strata, row: &Row, policy: &Policy<'_>) -> Result<Walk, String> {
        let mut standing = Standing::default();
        let mut walk = Walk { tests: vec![], minutes: 0.0, credits: 0.0 };
        let mut lines: Vec<usize> = vec![];
        loop {
            let e = if lines.is_empty() { Evidence::default() } else { evidence(row, &lines) };
            let outlook =
                Outlook::new(&strata.causes, &strata.pooled, &self.causes.prior, &e).map_err(|e| e.to_string())?;
            let sure = grouped(outlook.belief(), policy.places).into_iter().fold(0.0, f64::max);
            if sure >= policy.enough || walk.tests.len() >= MOST_STEPS || walk.minutes >= policy.stop {
                return Ok(walk);
            }
            let first = policy.first.filter(|_| walk.tests.is_empty());
            let next = match first {
                Some(t) => Some(t),
                None => self.best(&outlook, &standing, &walk.tests, policy)?,
            };
            let Some(t) = next else { return Ok(walk) };
            let test = &self.menu.tests[t];
            walk.minutes += policy.charged(test, &standing);
            walk.credits += test.credits(&standing);
            walk.tests.push(t);
            lines.extend(&test.lines);
            lines.sort_unstable();
            lines.dedup();
            standing = test.leaves(&standing);
        }
    }
}

/// How often causes are mistaken, no more than `limit` where there are too few vehicles to say so.
fn believed(shown: &[Vec<Vec<f64>>], fewest: usize, limit: f64) -> Vec<Vec<f64>> {
    let mut mistaken = mistaken(shown);
    for (i, a) in shown.iter().enumerate() {
        for (j, b) in shown.iter().enumerate() {
            if a.len().min(b.len()) < fewest {
                mistaken[i][j] = mistaken[i][j].min(limit);
            }
        }
    }
    mistaken
}

/// Does the same to each, on all cores where the feature `parallel` is on; in their order.
pub(crate) fn in_parallel<T: Sync, R: Send>(
    of: &[T],
    one: impl Fn(&T) -> Result<R, String> + Sync + Send,
) -> Result<Vec<R>, String> {
    #[cfg(feature = "parallel")]
    {
        use rayon::prelude::*;
        of.par_iter().map(one).collect()
    }
    #[cfg(not(feature = "parallel"))]
    of.iter().map(one).collect()
}

/// What the greedy policy did on a vehicle.
struct Walk {
    tests: Vec<usize>,
    minutes: f64,
    credits: f64,
}

struct Policy<'a> {
    enough: f64,
    per_credit: f64,
    per_risk: f64,
    /// Group of each cause.
    places: &'a [usize],
    /// Minutes at which it gives up.
    stop: f64,
    /// What it does first, once that is known.
    first: Option<usize>,
}

impl Policy<'_> {
    fn charged(&self, test: &Test, standing: &Standing) -> f64 {
        charged_minutes(test.minutes(standing), test.credits(standing), self.per_credit, test.risk(), self.per_risk)
    }
}

#[cfg(test)]
mod tests {
    use super::super::ensemble::Unwatched;
    use super::super::store::Nowhere;
    use super::*;
    use crate::scenario::{Library, load_job};

    /// What is picked with the bound is what is picked when every test is weighed.
    #[test]
    fn weighing_only_what_may_be_best_picks_the_same_test() {
        let Ok((mut job, _)) = load_job(&Library::builtin(), "bypass-puff") else {
            panic!("the built-in job loads")
        };
        job.candidates.truncate(3);
        let survey = survey(&job, 16, &Nowhere, &Unwatched).unwrap();
        let folds = survey.folds().unwrap();
        let places = each_alone(survey.causes.prior.len());
        let policy =
            Policy { enough: 0.9, per_credit: 0.1, per_risk: 1.0, places: &places, stop: 60.0, first: None };
        let (mut picked, mut weighed) = (vec![], 0);
        for (row, test) in survey.rows.iter().flatten().step_by(11).zip(&survey.menu.tests) {
            let standing = test.leaves(&Standing::default());
            let Strata { causes, pooled } = &folds[0];
            let known = evidence(row, &test.lines);
            let outlook = Outlook::new(causes, pooled, &survey.causes.prior, &known).unwrap();
            let mut best: Option<(usize, f64)> = None;
            for (t, test) in survey.menu.tests.iter().enumerate() {
                let bits = outlook.predict(&probe(&survey.like, &test.lines)).unwrap().gain_roughly(&places);
                let rate = bits / policy.charged(test, &standing);
                if bits >= MATERIAL_BITS && best.is_none_or(|(_, top)| rate > top) {
                    best = Some((t, rate));
                }
                weighed += 1;
            }
            assert_eq!(survey.best(&outlook, &standing, &[], &policy).unwrap(), best.map(|b| b.0));
            picked.extend(best.map(|b| b.0));
        }
        picked.sort_unstable();
        picked.dedup();
        assert!(picked.len() > 1 && weighed > 100, "always the same test is no trial: {picked:?}");
    }
}
