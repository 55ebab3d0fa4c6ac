//! What a recording from elsewhere says about a vehicle of a known plant: the belief over the catalogue's
//! faults, and which further test would tell more.
//!
//! Vehicles of every fault, severity and tolerance go through the states of the recording at the recorded
//! times; what is then read off them is what is read off the recording, by the same functions. After it
//! each goes through a whole standard run at every joint, which is the worth of tests that weren't made.
//!
//! Where it stops being true: the vehicle is of another plant, fuel or temperature, has two faults, or the tee
//! sits elsewhere. "None of these" then takes the belief, if the difference is large enough to be seen.

mod doubts;
pub mod fit;
mod programme;

use super::belief::{entropy_bits, jackknife_error, jackknife_groups, posterior};
use super::ensemble::{Feature, Row, Watch};
use super::hypothesis::Draw;
use super::justify::PRIOR_OF_NONE;
use super::likelihood::{Evidence, reading_covariance, student_t_log_density};
use super::rows::{Reference, Strata};
use crate::analysis::features::{Signals, StateFeatures, What, features};
use crate::analysis::states::{Phase, Stretch};
use crate::bay::action::Micros;
use crate::bay::drive::op::{Op, Timed};
use crate::bay::drive::{Drive, Fidelity};
use crate::fault::{CATALOGUE, FaultInstance, Group, Place, group_of};
use crate::fluid::FuelClass;
use crate::language::said;
use crate::ops;
use crate::plant::component::Component;
use crate::plant::{Filling, Plant};
use crate::random::child_seed;
use crate::scenario::model::{Candidate, FaultBand, Job, Level, Mode, Secret};
use crate::scenario::{self, Library};
use crate::tell;
use crate::trace::Trace;
use doubts::{GAS_FLOOR, reading, scale};
use programme::{Programme, programme};

/// Vehicles of a band of a fault at a place.
pub const VEHICLES_A_BAND: usize = 18;
/// Share of "nothing wrong" before any reading.
const PRIOR_OF_HEALTHY: f64 = 0.25;
/// Severities of the vehicles.
const SEVERITIES: (f64, f64) = (1.5, 4.5);
/// Shortest stretch of a state that is weighed, s.
const SHORTEST: f64 = 1.0;
/// Beyond so many of its doubts from every vehicle, evidence speaks for none of them: the tails of many readings
/// together would otherwise still rank causes that explain nothing.
const STRANGE: f64 = 10.0;

/// What is weighed of a state.
const WEIGHED: &[(Phase, &[What])] = &[
    (Phase::Rest, &[What::Level]),
    (Phase::Crank, &[What::Level]),
    (Phase::Idle, &[What::Level, What::Slope, What::Gas, What::Current]),
    (Phase::Raised, &[What::Level, What::Slope, What::Gas, What::Current]),
    (Phase::DeadHead, &[What::Peak, What::TimeToHalf]),
    (Phase::Hold, &[What::Start, What::End, What::Gas]),
];

/// What was recorded.
pub struct Recorded<'a> {
    /// States with their features.
    pub states: &'a [StateFeatures],
    /// Node that the tee sits at; the last joint of the plant when `None`.
    pub joint: Option<&'a str>,
    /// Raised speed, 1/min; the plant's when `None`.
    pub raised_rpm: Option<f64>,
}

/// A test that wasn't made.
#[derive(Clone, Debug, PartialEq)]
pub struct Further {
    /// In words.
    pub test: String,
    /// Minutes that it takes.
    pub minutes: f64,
    /// Bits that it is expected to tell.
    pub bits: f64,
}

/// What the recording justifies.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// Candidates with belief before, after, and the standard error of the latter from the number of
    /// vehicles; "none of these" last.
    pub candidates: Vec<(String, f64, f64, f64)>,
    /// What was weighed: state, feature, value, and the usual value of a sound vehicle.
    pub evidence: Vec<(Phase, What, f64, f64)>,
    /// Further tests, the most bits a minute first.
    pub further: Vec<Further>,
    /// Joint at which the tee was taken to sit.
    pub joint: String,
    /// Vehicles simulated.
    pub vehicles: usize,
}

/// Key of a feature of the recorded pattern or of a further test.
type Column = (Phase, What);

/// A group of columns that one further test would fill.
struct Test {
    words: String,
    minutes: f64,
    columns: Vec<usize>,
}

/// Whose priors a plant has: by its archetype where its name begins with one, else by its fuel.
pub(crate) fn group(plant: &Plant) -> Group {
    let number = plant.name.strip_prefix('a').and_then(|rest| rest.split('-').next()?.parse().ok());
    let by_fuel = match &plant.fuel {
        Filling::Of(blend) | Filling::InPlaceOf(_, blend)
            if matches!(blend.mainly(), FuelClass::Petrol | FuelClass::WinterPetrol) =>
        {
            Group::Petrol
        }
        _ => Group::LightDiesel,
    };
    number.and_then(group_of).unwrap_or(by_fuel)
}

/// A job that asks which fault of the catalogue a plant has.
pub(crate) fn job_of(plant: &Plant) -> Result<Job, String> {
    let boundary = |node: &str| {
        plant.parts.iter().any(|p| match &p.is {
            Component::Tank(t) => t.outlet == node,
            Component::Engine(e) => e.gallery == node,
            _ => false,
        })
    };
    let group = group(plant);
    let mut candidates = vec![];
    for fault in CATALOGUE {
        let places = match fault.place {
            Place::Kit => vec![String::new()],
            // what lies outside the supply leaves no trace in it
            Place::Nowhere => continue,
            Place::Node => fault.places(plant).into_iter().filter(|n| !boundary(n)).collect(),
            Place::Part(_) | Place::Circuit => fault.places(plant),
        };
        if !places.is_empty() {
            candidates.push(Candidate {
                name: fault.code.to_owned(),
                label: fault.name.said().to_owned(),
                weight: fault.weight(group, &[]),
                vehicles: places
                    .into_iter()
                    .map(|at| FaultBand {
                        fault: fault.code.to_owned(),
                        at,
                        severity: SEVERITIES,
                        when: vec![],
                        with: vec![],
                    })
                    .collect(),
            });
        }
    }
    // nobody is marked, yet a job has a rubric
    let (rubric, _) =
        scenario::load_rubric(&Library::builtin(), "standard").map_err(|report| report.to_string())?;
    let whole: f64 = candidates.iter().map(|c| c.weight).sum();
    candidates.iter_mut().for_each(|c| c.weight *= (1.0 - PRIOR_OF_HEALTHY) / whole);
    candidates.push(Candidate {
        name: "sound".into(),
        label: said("diagnosis-supply-sound").into(),
        weight: PRIOR_OF_HEALTHY,
        vehicles: vec![],
    });
    Ok(Job {
        name: plant.name.clone(),
        title: plant.title.clone(),
        customer: String::new(),
        complaint: String::new(),
        facts: vec![],
        pictures: vec![],
        goals: vec![],
        traps: vec![],
        snares: vec![],
        hints: vec![],
        level: Level::default(),
        minutes: 0.0,
        mode: Mode::Practice,
        plant: plant.clone(),
        questions: vec![],
        looks: vec![],
        limits: vec![],
        joints: plant.joints(),
        candidates,
        rubric,
        lookahead: 1,
        withheld: vec![],
        also_right: vec![],
        fuel_gauge: 0.5,
        codes: vec![],
        vehicle: None,
        stood_s: 0.0,
        hash: String::new(),
        hidden: Secret(vec![]),
    })
}

fn draws(job: &Job, each: usize) -> Vec<Draw> {
    let mut all = vec![];
    for (candidate, c) in job.candidates.iter().enumerate() {
        let bands: Vec<Option<&FaultBand>> =
            if c.vehicles.is_empty() { vec![None] } else { c.vehicles.iter().map(Some).collect() };
        // a fault with one place gets more vehicles at it
        let count = if bands.len() == 1 { 2 * each } else { each };
        for (band, b) in bands.into_iter().enumerate() {
            for i in 0..count {
                let severity = b.map_or(0.0, |b| {
                    b.severity.0 + (b.severity.1 - b.severity.0) * (i as f64 + 0.5) / count as f64
                });
                let faults = b
                    .iter()
                    .map(|b| FaultInstance {
                        fault: b.fault.clone(),
                        at: b.at.clone(),
                        severity,
                        modifiers: vec![],
                    })
                    .collect();
                let seed = child_seed(0x7265_6164, &c.name, (band * 100_000 + i) as u64);
                all.push(Draw { candidate, band, seed, faults, severity });
            }
        }
    }
    all
}

/// The columns that a list of states fills: of each state its longest stretch.
fn columns(states: &[StateFeatures]) -> Vec<(Column, f64, f64)> {
    let mut out = vec![];
    for (phase, whats) in WEIGHED {
        let of = states.iter().filter(|s| s.stretch.phase == *phase && s.stretch.length() >= SHORTEST);
        let Some(s) = of.max_by(|a, b| a.stretch.length().total_cmp(&b.stretch.length())) else { continue };
        for &what in *whats {
            // no drift can be told from less than half a minute
            if what == What::Slope && s.stretch.length() < 25.0 {
                continue;
            }
            if let Ok(e) = s.get(what) {
                out.push(((*phase, what), e.value, e.error));
            }
        }
    }
    out
}

/// Runs a vehicle through the programme; one list of states for each run.
fn run(job: &Job, draw: &Draw, programme: &Programme) -> Option<Vec<Vec<StateFeatures>>> {
    let vehicle = [(draw.seed, draw.faults.as_slice())];
    let probes = programme.probes.clone();
    let drive = Drive::<1>::new(&job.plant, job.stood_s, vehicle, Fidelity::Reference, probes).ok()?;
    Some(followed(drive, &draw.faults, programme)?.0)
}

/// Takes a vehicle through the programme: one list of states for each run, and all that was looked at.
fn followed(
    mut drive: Drive<1>,
    faults: &[FaultInstance],
    programme: &Programme,
) -> Option<(Vec<Vec<StateFeatures>>, Trace)> {
    drive.watch_current();
    let zeroed = !faults.iter().any(|f| f.fault == "M2");
    let purged = !faults.iter().any(|f| f.fault == "M6");
    for Timed { at, op } in &programme.ops {
        drive.advance_to(*at);
        // who has left the instrument unzeroed or the hose full of air hasn't done these
        if (*op == Op::Zero && !zeroed) || (*op == Op::PurgeHose && !purged) {
            continue;
        }
        drive.apply(op).ok()?;
    }
    drive.advance_to(*programme.probes.last()?);
    let trace = Trace {
        at: drive.looked().to_vec(),
        mbar: drive.levels(0).to_vec(),
        gas: drive.gas_seen(0).to_vec(),
        ..Trace::default()
    };
    let one = |(base, stretches): &(Micros, Vec<Stretch>)| {
        let first = stretches.first().map_or(0.0, |s| s.from);
        let end = stretches.last().map_or(0.0, |s| s.to - first);
        let r = trace.range(*base, base + (end * 1e6) as Micros);
        let t: Vec<f64> = trace.at[r.clone()].iter().map(|&at| (at - base) as f64 * 1e-6 + first).collect();
        let signals = Signals {
            t: &t,
            mbar: &trace.mbar[r.clone()],
            gas: Some(&trace.gas[r.clone()]),
            amps: drive.amps_seen(0).map(|amps| &amps[r]),
            thinned: true,
            ..Signals::default()
        };
        features(&signals, stretches)
    };
    let runs = programme.runs.iter().map(one).collect();
    Some((runs, trace))
}

/// A vehicle's values for the wanted columns of each run, in order; `None` when one is missing.
fn row(runs: &[Vec<StateFeatures>], wanted: &[(usize, Column)]) -> Option<Row> {
    let filled: Vec<Vec<(Column, f64, f64)>> = runs.iter().map(|r| columns(r)).collect();
    wanted
        .iter()
        .map(|(run, column)| {
            let value = filled.get(*run)?.iter().find(|c| c.0 == *column)?.1;
            Some(vec![Feature::Number { value: scale(column.1, value), random: 0.0, resolution: 0.0 }])
        })
        .collect()
}

/// Tests that a recording leaves open, with the columns of the standard runs that they fill.
fn tests(job: &Job, joint: &str, recorded: &[Stretch], wanted: &[(usize, Column)]) -> Vec<Test> {
    let fills = |run: usize, phases: &[Phase]| {
        (0..wanted.len()).filter(|&k| wanted[k].0 == run && phases.contains(&wanted[k].1.0)).collect::<Vec<_>>()
    };
    let has = |phase: Phase, least: f64| recorded.iter().any(|s| s.phase == phase && s.length() >= least);
    let mut list = vec![];
    for (phase, least, minutes, words) in [
        (Phase::Rest, 2.0, 2.0, said("diagnosis-record-rest")),
        (Phase::Crank, 1.0, 2.0, said("diagnosis-record-crank")),
        (Phase::Idle, 10.0, 4.0, said("diagnosis-record-idle")),
        (Phase::Raised, 8.0, 4.0, said("diagnosis-record-raised")),
        (Phase::DeadHead, 1.0, 3.0, said("diagnosis-record-dead-head")),
        (Phase::Hold, 200.0, 7.0, said("diagnosis-record-hold")),
    ] {
        if !has(phase, least) {
            list.push(Test { words: words.to_owned(), minutes, columns: fills(1, &[phase]) });
        }
    }
    let others = job.joints.iter().filter(|(name, _)| name != joint);
    for (k, (_, label)) in others.enumerate() {
        let phases = [Phase::Rest, Phase::Idle, Phase::Raised, Phase::Hold];
        list.push(Test {
            words: tell!("diagnosis-move-tee", label = label),
            minutes: 22.0,
            columns: fills(2 + k, &phases),
        });
    }
    list.retain(|t| !t.columns.is_empty());
    list
}

/// Weighs a recording against the faults of the catalogue on a plant, with `each` vehicles a band.
///
/// # Errors
/// A sentence: the joint isn't one of the plant's, the recording holds no state that can be weighed, or the
/// work was cancelled.
pub fn weigh(plant: &Plant, recorded: &Recorded<'_>, each: usize, watch: &dyn Watch) -> Result<Weighed, String> {
    let job = job_of(plant)?;
    let joint = joint_of(&job, recorded.joint)?;
    let stretches: Vec<Stretch> = recorded.states.iter().map(|s| s.stretch).collect();
    let observed = observed_of(recorded, plant)?;
    let raised = recorded.raised_rpm.unwrap_or_else(|| raised_of(plant)).clamp(900.0, 4000.0);
    let programme = programme(&job, &joint, &stretches, raised)?;
    let all = draws(&job, each.max(3));
    let simulated = simulate(&job, &all, &programme, watch).ok_or(said("diagnosis-cancelled"))?;
    let like = simulated.iter().flatten().last().ok_or("no vehicle could be simulated")?;
    // what the last vehicle (a sound one) shows of a run is what is asked of all
    let mut wanted: Vec<(usize, Column)> = observed.iter().map(|o| (0, o.0)).collect();
    for (run, states) in like.iter().enumerate().skip(1) {
        // a further test is a run with the tee, not with the clamp
        let with_tee = columns(states).into_iter().filter(|c| c.0.1 != What::Current);
        wanted.extend(with_tee.map(|c| (run, c.0)));
    }
    let rows: Vec<Option<Row>> = simulated.iter().map(|s| row(s.as_ref()?, &wanted)).collect();
    let evidence = evidence(&observed, &stretches);
    let mut prior: Vec<f64> = job.candidates.iter().map(|c| c.weight * (1.0 - PRIOR_OF_NONE)).collect();
    prior.push(PRIOR_OF_NONE);
    let like_row = rows.iter().flatten().last().ok_or("no vehicle shows what was recorded")?;
    let weigher = Reference::new(&job, &all, &rows, like_row).strata(None)?;
    let mut after = posterior(&prior, &weigher.log_likelihoods(&evidence)?);
    if strangeness(&evidence, &rows) > STRANGE {
        after.fill(0.0);
        after[prior.len() - 1] = 1.0;
    }
    let errors = errors(&job, &all, &rows, &prior, &evidence);
    let tests = tests(&job, &joint, &stretches, &wanted);
    let further = further(&weigher, &prior, &after, &evidence, &all, &rows, tests, &wanted);
    let labels = job.candidates.iter().map(|c| c.label.clone()).chain([said("marking-none-of-these").to_owned()]);
    let candidates = labels
        .enumerate()
        .map(|(k, label)| (label, prior[k], after[k], errors.get(k).copied().unwrap_or(0.0)))
        .collect();
    let sound = usual(&job, &all, &rows, observed.len());
    let shown = observed
        .iter()
        .zip(sound)
        .map(|((column, value, _), usual)| {
            let usual = if column.1 == What::Gas { (ops::exp(usual) - GAS_FLOOR).max(0.0) } else { usual };
            (column.0, column.1, *value, usual)
        })
        .collect();
    Ok(Weighed { candidates, evidence: shown, further, joint, vehicles: rows.iter().flatten().count() })
}

/// The joint that is meant; the plant's last where none is named.
fn joint_of(job: &Job, wanted: Option<&str>) -> Result<String, String> {
    let Some(wanted) = wanted else {
        return Ok(job.joints.last().ok_or("the plant has no joint for a tee")?.0.clone());
    };
    let meant =
        |(name, label): &&(String, String)| name.eq_ignore_ascii_case(wanted) || label.eq_ignore_ascii_case(wanted);
    job.joints.iter().find(meant).map(|(name, _)| name.clone()).ok_or_else(|| {
        let names: Vec<&str> = job.joints.iter().map(|j| j.0.as_str()).collect();
        format!("the plant has no joint \"{wanted}\"; it has {}", names.join(", "))
    })
}

/// What is weighed of a recording.
fn observed_of(recorded: &Recorded<'_>, plant: &Plant) -> Result<Vec<(Column, f64, f64)>, String> {
    let mut observed = columns(recorded.states);
    // a current that no pump of the plant draws can't be held against anything
    let has_pump = plant.electric_pumps().next().is_some();
    observed.retain(|o| has_pump || o.0.1 != What::Current);
    if observed.is_empty() {
        return Err(
            "the recording holds no state that can be weighed: none of rest, crank, idle, raised, dead-head, hold"
                .into(),
        );
    }
    Ok(observed)
}

/// How far the evidence lies from the vehicle that comes nearest, in its own doubts, as a mean over readings.
fn strangeness(evidence: &Evidence, rows: &[Option<Row>]) -> f64 {
    let apart = |row: &Row| {
        let squares = evidence.readings.iter().map(|r| {
            let off = (r.value - value(row, r.feature)) / r.random;
            off * off
        });
        (squares.sum::<f64>() / evidence.readings.len() as f64).sqrt()
    };
    rows.iter().flatten().map(apart).fold(f64::INFINITY, f64::min)
}

fn raised_of(plant: &Plant) -> f64 {
    let engine = plant.parts.iter().find_map(|p| if let Component::Engine(e) = &p.is { Some(e) } else { None });
    engine.map_or(2500.0, |e| e.raised.si())
}

fn evidence(observed: &[(Column, f64, f64)], stretches: &[Stretch]) -> Evidence {
    let length =
        |phase: Phase| stretches.iter().filter(|s| s.phase == phase).map(Stretch::length).fold(0.0, f64::max);
    let readings = observed
        .iter()
        .enumerate()
        .map(|(k, (column, value, error))| reading(k, *column, *value, *error, length(column.0)))
        .collect();
    Evidence { readings, categories: vec![] }
}

/// Mean of the first `count` columns over sound vehicles.
fn usual(job: &Job, all: &[Draw], rows: &[Option<Row>], count: usize) -> Vec<f64> {
    let sound = job.candidates.len() - 1;
    let of: Vec<&Row> =
        all.iter().zip(rows).filter(|(d, _)| d.candidate == sound).filter_map(|(_, r)| r.as_ref()).collect();
    (0..count).map(|k| of.iter().map(|r| value(r, k)).sum::<f64>() / of.len().max(1) as f64).collect()
}

fn value(row: &Row, column: usize) -> f64 {
    match row.get(column).and_then(|f| f.first()) {
        Some(Feature::Number { value, .. }) => *value,
        _ => f64::NAN,
    }
}

/// Standard errors of the belief, with a tenth of the vehicles left out in turn.
fn errors(job: &Job, all: &[Draw], rows: &[Option<Row>], prior: &[f64], evidence: &Evidence) -> Vec<f64> {
    let mut left_out: Vec<Vec<f64>> = vec![];
    let groups = jackknife_groups(all.iter().map(|draw| draw.candidate));
    for group in 0..super::belief::JACKKNIFE_GROUPS {
        let kept: Vec<Option<Row>> =
            rows.iter().zip(&groups).map(|(r, own)| r.clone().filter(|_| *own != group)).collect();
        let Some(like) = kept.iter().flatten().last() else { continue };
        let Ok(weigher) = Reference::new(job, all, &kept, like).strata(None) else { continue };
        if let Ok(l) = weigher.log_likelihoods(evidence) {
            left_out.push(posterior(prior, &l));
        }
    }
    (0..prior.len()).map(|k| jackknife_error(&left_out.iter().map(|b| b[k]).collect::<Vec<_>>())).collect()
}

fn simulate(
    job: &Job,
    all: &[Draw],
    programme: &Programme,
    watch: &dyn Watch,
) -> Option<Vec<Option<Vec<Vec<StateFeatures>>>>> {
    let done = std::sync::atomic::AtomicUsize::new(0);
    let one = |draw: &Draw| {
        if watch.cancelled() {
            return None;
        }
        let states = run(job, draw, programme);
        let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        if so_far.is_multiple_of(16) {
            watch.progress(so_far as f64 / all.len() as f64);
        }
        states
    };
    #[cfg(feature = "parallel")]
    let states: Vec<_> = {
        use rayon::prelude::*;
        all.par_iter().map(one).collect()
    };
    #[cfg(not(feature = "parallel"))]
    let states: Vec<_> = all.iter().map(one).collect();
    (!watch.cancelled()).then_some(states)
}

/// What further tests would tell: over the vehicles of each candidate that look most like the recording, how far
/// what they would show would sharpen the belief.
#[expect(clippy::too_many_arguments, reason = "everything that was computed on the way, used once")]
fn further(
    weigher: &Strata,
    prior: &[f64],
    after: &[f64],
    evidence: &Evidence,
    all: &[Draw],
    rows: &[Option<Row>],
    tests: Vec<Test>,
    wanted: &[(usize, Column)],
) -> Vec<Further> {
    const LIKE: usize = 10;
    let now = entropy_bits(after);
    let noise = reading_covariance(&evidence.readings);
    let mut chosen: Vec<(f64, &Row)> = vec![];
    for (candidate, &belief) in after.iter().enumerate().take(after.len() - 1) {
        if belief < 0.005 {
            continue;
        }
        let mut near: Vec<(f64, &Row)> = all
            .iter()
            .zip(rows)
            .filter(|(d, _)| d.candidate == candidate)
            .filter_map(|(_, r)| {
                let r = r.as_ref()?;
                let off: Vec<f64> = evidence.readings.iter().map(|e| e.value - value(r, e.feature)).collect();
                Some((student_t_log_density(&off, &noise).ok()?, r))
            })
            .collect();
        near.sort_by(|a, b| b.0.total_cmp(&a.0));
        near.truncate(LIKE);
        let top = near.first().map_or(0.0, |n| n.0);
        let whole: f64 = near.iter().map(|n| ops::exp(n.0 - top)).sum();
        chosen.extend(near.iter().map(|(l, r)| (belief * ops::exp(l - top) / whole, *r)));
    }
    let weight: f64 = chosen.iter().map(|c| c.0).sum();
    let mut list: Vec<Further> = tests
        .into_iter()
        .map(|test| {
            let mut later = 0.0;
            for (share, row) in &chosen {
                let mut with = evidence.clone();
                with.readings.extend(test.columns.iter().map(|&k| {
                    let (_, column) = wanted[k];
                    let shown = value(row, k);
                    // the scale is that of the row already
                    let plain = if column.1 == What::Gas { ops::exp(shown) - GAS_FLOOR } else { shown };
                    reading(k, column, plain, 0.0, 30.0)
                }));
                later +=
                    share * weigher.log_likelihoods(&with).map_or(now, |l| entropy_bits(&posterior(prior, &l)));
            }
            let bits = if weight > 0.0 { (now - later / weight).clamp(0.0, now) } else { 0.0 };
            Further { test: test.words, minutes: test.minutes, bits }
        })
        .collect();
    list.sort_by(|a, b| (b.bits / b.minutes).total_cmp(&(a.bits / a.minutes)));
    list
}

#[cfg(test)]
mod tests;
