//! The check of a whole job: can what is hidden be found, by what, for how much, and does the job tell good work
//! from luck?
//!
//! By simulation of the job's reference vehicles through every test that there is. Speaks to an author, who knows
//! the answer; nothing here reaches a sitting.

use serde::{Deserialize, Serialize};

use super::exact::{Exact, exact};
use super::field::Field;
use super::learners::{Fared, Judge, Kind as Learner, World};
use super::lints::lints;
use super::route::{Route, route};
use super::silent::is_silent;
use crate::diag::id;
use crate::diagnosis::belief::{entropy_bits, grouped};
use crate::diagnosis::ensemble::{Unwatched, Watch};
use crate::diagnosis::hypothesis::{Draw, candidate_of};
use crate::diagnosis::justify::{Part, prior};
use crate::diagnosis::menu::{Kind, Standing};
use crate::diagnosis::outlook::Outlook;
use crate::diagnosis::rows::{Reference, probe};
use crate::diagnosis::separable::{SEPARABLE, mistaken};
use crate::diagnosis::store::{Nowhere, Store, closed, opened};
use crate::diagnosis::survey::{Held, Outcome, Survey, in_parallel, survey};
use crate::diagnosis::tabled::PAR_FACTOR;
use crate::diagnosis::worth::charged_minutes;
use crate::fault::{FaultInstance, by_code};
use crate::language::{said, spoken};
use crate::scenario::model::{FaultBand, Job};

/// Raise it when the check finds something else in the same vehicles.
const CHECK_VERSION: u32 = 15;
/// Sittings of each simulated learner, and of each skill.
const SITTINGS: usize = 200;
const TRIALS: usize = 400;
/// A rival that never has this share of the leader's belief is no rival.
const DEAD: f64 = 0.5;
/// Vehicles of each candidate with which tests that are forbidden or left out are tried.
const TRIED: usize = 24;
/// Steps in which the milder vehicles of two candidates are left out, and how many of each must be left.
const CUT: f64 = 0.25;
const FEWEST_SEVERE: usize = 12;

/// A test as a teacher sees it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TestRow {
    /// In words.
    pub words: String,
    /// Minutes from cold, set-up included, and credits.
    pub minutes: f64,
    /// Credits for seals.
    pub credits: f64,
    /// Bits that it tells before any other.
    pub bits: f64,
    /// Candidates that it tells from a sound supply.
    pub detects: Vec<usize>,
    /// Pairs of candidates that it tells apart by itself.
    pub separates: usize,
    /// It is a run of several readings.
    pub is_run: bool,
}

/// Candidates that all tests together don't tell apart.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Alike {
    /// The two.
    pub pair: (usize, usize),
    /// Share of vehicles mistaken for the other.
    pub mistaken: f64,
    /// A test that the job or its card leaves out and that would tell them apart.
    pub would: Option<String>,
    /// Why, as far as the faults say: both change the same place, or the same kind of thing.
    pub because: String,
    /// Least severity from which on their vehicles are told apart, where only milder ones are alike.
    pub from: Option<f64>,
}

/// A pair of faults beside one of its halves: does the other half show, or is it masked?
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    /// Candidate of the pair.
    pub pair: usize,
    /// Candidate of one half alone; none where the sheet has no such candidate.
    pub single: Option<usize>,
    /// The fault of that half, by its code, and the other's.
    pub faults: (String, String),
    /// Share of vehicles mistaken after all tests.
    pub mistaken: f64,
}

impl Pair {
    /// The other half doesn't show beside this one.
    pub fn is_masked(&self) -> bool {
        self.single.is_some() && self.mistaken > SEPARABLE
    }
}

/// How serious a remark is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Worth a thought.
    Remark,
    /// The job can be practised, but not used to assess.
    NotForAssessment,
    /// The job isn't fair.
    Unfair,
}

/// What an author should know, and what to change.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lint {
    /// Stable name.
    pub name: String,
    /// How serious it is.
    pub weight: Weight,
    /// What is so.
    pub says: String,
    /// What to change.
    pub advice: String,
}

/// The whole check.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Diagnosability {
    /// Name and title of the job.
    pub job: (String, String),
    /// Labels of the candidates.
    pub labels: Vec<String>,
    /// Candidate of what is hidden; none where no candidate covers it.
    pub truth: Option<usize>,
    /// Belief in the hidden cause that all tests bear, median over vehicles; what they don't tell from it counts as it.
    pub attainable: f64,
    /// Belief in the hidden cause's own candidate, whatever counts as it, mean over vehicles.
    pub alone: f64,
    /// Entropy before any test over the named candidates, bits.
    pub bits: f64,
    /// Every test.
    pub tests: Vec<TestRow>,
    /// What all tests together don't tell apart.
    pub alike: Vec<Alike>,
    /// Groups of candidates by number.
    pub groups: Vec<usize>,
    /// Fewest tests that together tell apart whatever can be told apart by one test.
    pub isolating: Vec<String>,
    /// Pairs of faults in one vehicle beside each of their halves alone.
    pub pairs: Vec<Pair>,
    /// The way of sound work.
    pub route: Route,
    /// The cheapest way over a few tests, exactly.
    pub exact: Exact,
    /// Par time, min, and par cost: seals of that work and the right part, credits.
    pub par: (f64, f64),
    /// Share of sittings that a random, a middling and a greedy learner solve.
    pub skills: [f64; 3],
    /// How learners fare who don't exist.
    pub learners: Vec<Fared>,
    /// Expected calibration error of the belief, and how often "none of these" comes out likeliest.
    pub calibration: (f64, f64),
    /// Reference vehicles.
    pub vehicles: usize,
    /// What to know and to change, the gravest first.
    pub lints: Vec<Lint>,
}

impl Diagnosability {
    /// How hard it is: 1 less the middling's share.
    pub fn difficulty(&self) -> f64 {
        1.0 - self.skills[1]
    }

    /// How well it tells the good from the random.
    pub fn discrimination(&self) -> f64 {
        self.skills[2] - self.skills[0]
    }

    /// Candidates that count as the hidden one, because no test tells them from it or from one another.
    pub fn counts_as_hidden(&self) -> Vec<usize> {
        let Some(truth) = self.truth else { return vec![] };
        (0..self.labels.len()).filter(|&c| c != truth && self.groups[c] == self.groups[truth]).collect()
    }

    /// The gravest remark.
    pub fn gravest(&self) -> Option<Weight> {
        self.lints.iter().map(|l| l.weight).max()
    }
}

/// Checks a job on so many vehicles a candidate; what was found is kept under a hash of everything that it
/// follows from.
///
/// # Errors
/// A sentence: cancelled, or the job's vehicle can't be built.
pub fn check(job: &Job, vehicles: usize, store: &dyn Store, watch: &dyn Watch) -> Result<Diagnosability, String> {
    if let Some(found) = kept(job, vehicles, store) {
        return Ok(found);
    }
    let found = checked(job, vehicles, store, watch, &Learner::ALL)?;
    if let Ok(json) = serde_json::to_vec(&found) {
        store.put(&key(job, vehicles), &closed(&json));
    }
    Ok(found)
}

/// As [`check`], without the sittings of the learners who are marked, of which no remark is made: for comparing jobs. Not
/// kept, since somebody else may ask for them.
///
/// # Errors
/// See [`check`].
pub fn check_to_compare(
    job: &Job,
    vehicles: usize,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Diagnosability, String> {
    kept(job, vehicles, store).map_or_else(|| checked(job, vehicles, store, watch, &[]), Ok)
}

/// What an earlier check of this very job found, if it was kept.
pub fn kept(job: &Job, vehicles: usize, store: &dyn Store) -> Option<Diagnosability> {
    let bytes = store.get(&key(job, vehicles))?;
    serde_json::from_slice(&opened(&bytes)?).ok()
}

/// Under which a check is kept.
fn key(job: &Job, vehicles: usize) -> String {
    let mut hash = blake3::Hasher::new();
    // what was found holds sentences, so each language keeps its own
    let said_in = spoken().tag();
    for part in [env!("CARGO_PKG_VERSION"), &job.name, &job.hash, &format!("{vehicles} {CHECK_VERSION} {said_in}")]
    {
        hash.update(&(part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    format!("check-{}", hash.finalize().to_hex())
}

fn checked(
    job: &Job,
    vehicles: usize,
    store: &dyn Store,
    watch: &dyn Watch,
    learners: &[Learner],
) -> Result<Diagnosability, String> {
    let survey = survey(job, vehicles, store, &Part { whole: watch, from: 0.0, span: 0.6 })?;
    let outcome = survey.outcome_kept(job, store)?;
    watch.progress(0.75);
    let sheets = sheets(&survey, job.candidates.len())?;
    watch.progress(0.85);
    let tests = tests(job, &survey, &outcome, &sheets)?;
    let alike = alike(job, &survey, &outcome, store, &Part { whole: watch, from: 0.85, span: 0.05 })?;
    let field = Field::new(job, &survey);
    let enough = job.rubric.enough_belief;
    let exact = exact(&field.coarse(), &outcome.places, enough);
    let route = route(&field, &outcome.places, job.candidates.len(), enough);
    let truth = candidate_of(job, &job.hidden.0);
    let prices: Vec<f64> = (0..job.candidates.len()).map(|c| price(job, c)).collect();
    let by_candidate = prior(job);
    let mut found = Diagnosability {
        job: (job.name.clone(), job.title.clone()),
        labels: job.candidates.iter().map(|c| c.label.clone()).collect(),
        truth,
        attainable: truth.map_or(0.0, |t| outcome.attainable[t]),
        alone: truth.map_or(0.0, |t| outcome.mean[t][t]),
        bits: named_bits(&by_candidate, &outcome.groups),
        alike,
        groups: outcome.groups.clone(),
        isolating: isolating(&tests, &sheets, job.candidates.len()),
        tests,
        par: (outcome.par_minutes, outcome.par_credits + truth.map_or(0.0, |t| prices[t])),
        skills: [0.0; 3],
        learners: vec![],
        calibration: (outcome.calibration.error, outcome.calibration.none),
        vehicles: survey.rows.iter().flatten().count(),
        pairs: pairs(job, &outcome),
        route,
        exact,
        lints: vec![],
    };
    watch.progress(0.92);
    let silent = is_silent(job, &Part { whole: watch, from: 0.92, span: 0.03 })?;
    let mut dead = vec![];
    let mut citable = true;
    if let Some(truth) = truth {
        let judge = Judge::new(&survey)?;
        let world = World {
            field: &field,
            judge: &judge,
            places: &outcome.places,
            groups: &outcome.groups,
            prior: &by_candidate,
            truth,
            cars: standing_in(job, &survey, &field, truth),
            attainable: outcome.attainable[truth],
            par_minutes: PAR_FACTOR * found.route.minutes.max(0.2),
            all_bits: outcome.entropy_bits,
            prices,
            rubric: &job.rubric,
        };
        found.skills = world.skills(TRIALS);
        found.learners = in_parallel(learners, |kind| Ok(world.fares(*kind, SITTINGS)))?;
        let rivalled = world.rivalled(24);
        dead = (0..by_candidate.len() - 1)
            .filter(|&c| {
                outcome.groups[c] != outcome.groups[truth] && by_candidate[c] >= 0.10 && rivalled[c] < DEAD
            })
            .collect();
        citable = world.can_be_cited();
    }
    found.lints = lints(job, &found, &by_candidate, &dead, citable);
    if silent && !found.lints.iter().any(|l| l.name == "unsolvable") {
        let (says, advice) = (said("lint-silent").to_owned(), said("lint-silent-advice").to_owned());
        found
            .lints
            .insert(0, Lint { name: id::SHOWS_NOTHING.name.to_owned(), weight: Weight::Unfair, says, advice });
    }
    watch.progress(1.0);
    Ok(found)
}

/// Entropy over the groups of the named candidates, bits.
fn named_bits(by_candidate: &[f64], groups: &[usize]) -> f64 {
    let n = by_candidate.len() - 1;
    let whole: f64 = by_candidate[..n].iter().sum();
    entropy_bits(&grouped(&by_candidate[..n].iter().map(|p| p / whole).collect::<Vec<_>>(), &groups[..n]))
}

/// Vehicles that resemble what is hidden: same place, nearest in severity.
fn standing_in(job: &Job, survey: &Survey, field: &Field, truth: usize) -> Vec<usize> {
    let hidden = job.hidden.0.first();
    let severity = hidden.map_or(0.0, |f: &FaultInstance| f.severity);
    let at = hidden.map_or("", |f| f.at.as_str());
    let all = || (0..field.cars.len()).filter(|&i| field.cars[i].candidate == truth);
    let placed: Vec<usize> = all().filter(|&i| survey.causes.place[field.cars[i].cause] == at).collect();
    let mut cars = if placed.is_empty() { all().collect() } else { placed };
    let off = |i: usize| (field.cars[i].severity - severity).abs();
    cars.sort_by(|&a, &b| off(a).total_cmp(&off(b)).then(a.cmp(&b)));
    cars.truncate(24);
    cars
}

/// Price of putting a candidate right: its cheapest part, or seals.
fn price(job: &Job, candidate: usize) -> f64 {
    let prices = job.candidates[candidate].vehicles.iter().filter_map(|band| {
        let entry = by_code(&band.fault)?;
        let parts = job.plant.parts.iter().filter(|p| {
            let ends: Vec<String> = p.is.ends().into_iter().map(str::to_owned).collect();
            entry.is_reached(&job.plant, &band.at, &p.name, &ends)
        });
        parts.map(|p| p.price).reduce(f64::min)
    });
    prices.reduce(f64::min).unwrap_or(2.0)
}

/// For each test, how often two candidates are mistaken for one another by it alone.
fn sheets(survey: &Survey, candidates: usize) -> Result<Vec<Vec<Vec<f64>>>, String> {
    let folds = survey.folds()?;
    in_parallel(&survey.menu.tests, |test| {
        let held = survey.held(&folds, &test.lines)?;
        let shown: Vec<Vec<Vec<f64>>> = (0..candidates)
            .map(|c| {
                let own = held.iter().filter(|h| h.candidate == c);
                own.map(|h| survey.causes.likelihood_by_candidate(&h.log_like)).collect()
            })
            .collect();
        Ok(mistaken(&shown))
    })
}

fn tests(job: &Job, survey: &Survey, outcome: &Outcome, sheets: &[Vec<Vec<f64>>]) -> Result<Vec<TestRow>, String> {
    let sound = job.candidates.iter().position(|c| c.vehicles.is_empty());
    let strata = Reference::fine(&survey.causes, &survey.draws, &survey.rows, &survey.like).strata(None)?;
    let nothing = crate::diagnosis::likelihood::Evidence::default();
    let outlook =
        Outlook::new(&strata.causes, &strata.pooled, &survey.causes.prior, &nothing).map_err(|e| e.to_string())?;
    // over candidates, as they are grouped
    let by_group: Vec<usize> = survey.causes.candidate.iter().map(|&c| outcome.groups[c]).collect();
    let n = job.candidates.len();
    let cold = Standing::default();
    let numbered: Vec<usize> = (0..survey.menu.tests.len()).collect();
    in_parallel(&numbered, |&t| {
        let test = &survey.menu.tests[t];
        let forecast = outlook.predict(&probe(&survey.like, &test.lines)).map_err(|e| e.to_string())?;
        let apart = |a: usize, b: usize| a != b && sheets[t][a][b] <= SEPARABLE;
        Ok(TestRow {
            words: test.words.clone(),
            minutes: charged_minutes(test.minutes(&cold), 0.0, 0.0, 0.0, 0.0),
            credits: test.credits(&cold),
            bits: forecast.gain_bits(&by_group),
            detects: sound.map_or_else(Vec::new, |s| (0..n).filter(|&c| apart(c, s)).collect()),
            separates: (0..n).map(|a| (0..a).filter(|&b| apart(a, b)).count()).sum(),
            is_run: test.kind == Kind::Run,
        })
    })
}

/// Fewest tests, picked greedily, that tell apart every pair that one test by itself can.
fn isolating(tests: &[TestRow], sheets: &[Vec<Vec<f64>>], n: usize) -> Vec<String> {
    let mut open: Vec<(usize, usize)> = (0..n).flat_map(|a| (0..a).map(move |b| (a, b))).collect();
    open.retain(|&(a, b)| sheets.iter().any(|s| s[a][b] <= SEPARABLE));
    let mut chosen = vec![];
    while !open.is_empty() {
        let covers = |t: usize| open.iter().filter(|&&(a, b)| sheets[t][a][b] <= SEPARABLE).count();
        let rate = |t: usize| covers(t) as f64 / tests[t].minutes;
        let Some(t) = (0..tests.len()).max_by(|&a, &b| rate(a).total_cmp(&rate(b)).then(b.cmp(&a))) else { break };
        if covers(t) == 0 {
            break;
        }
        open.retain(|&(a, b)| sheets[t][a][b] > SEPARABLE);
        chosen.push(tests[t].words.clone());
    }
    chosen
}

/// Pairs of candidates that all tests together don't tell apart, and the test that would.
fn alike(
    job: &Job,
    survey: &Survey,
    outcome: &Outcome,
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Vec<Alike>, String> {
    let n = job.candidates.len();
    let pairs: Vec<(usize, usize)> = (0..n)
        .flat_map(|b| (0..b).map(move |a| (a, b)))
        .filter(|&(a, b)| outcome.mistaken[a][b] > SEPARABLE)
        .collect();
    if pairs.is_empty() {
        return Ok(vec![]);
    }
    let others = left_out(job, survey, &pairs, store, watch)?;
    let severe = severe(survey, outcome)?;
    Ok(pairs
        .into_iter()
        .map(|(a, b)| Alike {
            pair: (a, b),
            mistaken: outcome.mistaken[a][b],
            would: others.iter().find(|(_, e)| e[a][b] <= SEPARABLE).map(|(words, _)| words.clone()),
            because: because(job, a, b),
            from: told_from(job, &severe, (a, b)),
        })
        .collect())
}

/// Of every vehicle, after all tests: its candidate, its severity, how likely each candidate makes it.
fn severe(survey: &Survey, outcome: &Outcome) -> Result<Vec<(usize, f64, Vec<f64>)>, String> {
    let held = survey.held(&survey.folds()?, &outcome.core)?;
    let usable = survey.draws.iter().zip(&survey.rows).filter(|(_, row)| row.is_some());
    let one = |(h, (draw, _)): (Held<'_>, (&Draw, _))| {
        (h.candidate, draw.severity, survey.causes.likelihood_by_candidate(&h.log_like))
    };
    Ok(held.into_iter().zip(usable).map(one).collect())
}

/// Two candidates that are alike because of their mildest vehicles: the severity from which on they aren't.
fn told_from(job: &Job, severe: &[(usize, f64, Vec<f64>)], (a, b): (usize, usize)) -> Option<f64> {
    let lowest = |c: usize| job.candidates[c].vehicles.iter().map(|v| v.severity.0).reduce(f64::min);
    // where one of them is a sound vehicle it has no severity to be raised
    let low = lowest(a)?.min(lowest(b)?);
    let steps = (0..).map(|i| low + CUT * f64::from(i)).take_while(|s| *s < 5.0);
    steps.skip(1).find(|&cut| {
        let of = |c: usize| -> Vec<Vec<f64>> {
            let own = severe.iter().filter(|(k, s, _)| *k == c && *s >= cut);
            own.map(|(.., like)| vec![like[a], like[b]]).collect()
        };
        let shown = [of(a), of(b)];
        shown.iter().all(|s| s.len() >= FEWEST_SEVERE) && mistaken(&shown)[0][1] <= SEPARABLE
    })
}

/// A test in words, and how often it mistakes each candidate for each other one.
type Mistakes = (String, Vec<Vec<f64>>);

/// Tests that the card forbids or the job leaves out, with how often they mistake candidates. Only those that look alike are
/// put through them: of the others nothing is asked.
fn left_out(
    job: &Job,
    survey: &Survey,
    pairs: &[(usize, usize)],
    store: &dyn Store,
    watch: &dyn Watch,
) -> Result<Vec<Mistakes>, String> {
    let mut free = job.clone();
    (free.plant.service.blocked_inlet, free.plant.service.blocked_outlet) = (true, true);
    free.joints = free.plant.joints();
    free.withheld.clear();
    if free.joints == job.joints && free.plant.service == job.plant.service && job.withheld.is_empty() {
        return Ok(vec![]);
    }
    free.hash = format!("{} with everything allowed", job.hash);
    let asked: Vec<usize> =
        (0..job.candidates.len()).filter(|c| pairs.iter().any(|(a, b)| a == c || b == c)).collect();
    free.candidates = asked.iter().map(|&c| job.candidates[c].clone()).collect();
    let mut wider = crate::diagnosis::survey::survey(&free, TRIED, store, watch)?;
    let known: Vec<&str> = survey.menu.tests.iter().map(|t| t.words.as_str()).collect();
    wider.menu.tests.retain(|t| t.kind != Kind::Run && !known.contains(&t.words.as_str()));
    let all = |few: &Vec<Vec<f64>>| {
        let mut all = vec![vec![1.0; job.candidates.len()]; job.candidates.len()];
        for (i, &a) in asked.iter().enumerate() {
            for (j, &b) in asked.iter().enumerate() {
                all[a][b] = few[i][j];
            }
        }
        all
    };
    let found = sheets(&wider, asked.len())?;
    let mut tests: Vec<Mistakes> =
        wider.menu.tests.iter().map(|t| t.words.clone()).zip(found.iter().map(all)).collect();
    let worst = |e: &[Vec<f64>]| pairs.iter().map(|&(a, b)| e[a][b]).fold(1.0, f64::min);
    tests.sort_by(|a, b| worst(&a.1).total_cmp(&worst(&b.1)));
    Ok(tests)
}

/// Every pair of faults that a candidate stands for, beside each half alone.
fn pairs(job: &Job, outcome: &Outcome) -> Vec<Pair> {
    let mut found: Vec<Pair> = vec![];
    for (c, candidate) in job.candidates.iter().enumerate() {
        for band in candidate.vehicles.iter().filter(|b| b.with.len() == 1) {
            let halves: Vec<_> = band.all().collect();
            for (half, other) in [(halves[0], halves[1]), (halves[1], halves[0])] {
                let alone = |b: &FaultBand| {
                    b.with.is_empty() && b.fault == half.fault && (b.at == half.at || b.at.is_empty())
                };
                let single = (0..job.candidates.len()).find(|&s| job.candidates[s].vehicles.iter().any(alone));
                let faults = (half.fault.clone(), other.fault.clone());
                if found.iter().any(|p| p.pair == c && p.faults == faults) {
                    continue;
                }
                let mistaken = single.map_or(0.0, |s| outcome.mistaken[c][s]);
                found.push(Pair { pair: c, single, faults, mistaken });
            }
        }
    }
    found
}

/// Why two candidates show the same, as far as what they change tells.
fn because(job: &Job, a: usize, b: usize) -> String {
    let places = |c: usize| -> Vec<&str> { job.candidates[c].vehicles.iter().map(|v| v.at.as_str()).collect() };
    let codes = |c: usize| -> Vec<&str> { job.candidates[c].vehicles.iter().map(|v| v.fault.as_str()).collect() };
    if places(a).iter().any(|p| !p.is_empty() && places(b).contains(p)) {
        return said("alike-same-part").into();
    }
    if codes(a).iter().any(|f| codes(b).contains(f)) {
        return said("alike-same-fault").into();
    }
    if job.candidates[a].vehicles.is_empty() || job.candidates[b].vehicles.is_empty() {
        return said("alike-mild").into();
    }
    said("alike-same-readings").into()
}

/// A job's check without anybody watching, nothing kept: for tests.
///
/// # Errors
/// See [`check`].
pub fn check_quietly(job: &Job, vehicles: usize) -> Result<Diagnosability, String> {
    check(job, vehicles, &Nowhere, &Unwatched)
}
