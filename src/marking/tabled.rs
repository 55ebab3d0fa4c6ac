//! A whole mark over tests with few outcomes: the rules of the components without a vehicle.
//!
//! What the bay's marking does with simulated readings, this does with tables. It is the small world
//! in which a mark can be computed by hand and in which every rule can be tried against logs at
//! random; the formulas come in from outside, so that a broken one can be tried as well.

use super::claims::{Cited, Claim, rivals, weight_bans};
use super::components::{Match, Severity, diagnosis, economy, justified, procedure, progress, reference_belief};
use super::result::weighted;
use crate::diagnosis::belief::{divergence_bits, grouped};
use crate::diagnosis::tabled::{Policy, Tables};
use crate::diagnosis::worth::{MATERIAL_BITS, wasted_minutes};
use crate::ops;

/// The formulas that a mark is made with.
#[derive(Clone, Copy)]
pub struct Formulas {
    /// Wasted minutes of all steps together.
    pub waste: fn(&[f64]) -> f64,
    /// Whether readings of immaterial tests count in M.
    pub immaterial_readings: bool,
    /// Whether minutes of exempt steps are charged.
    pub exempt_minutes: bool,
    /// G from entropies before, after and after all tests.
    pub progress: fn(f64, f64, f64) -> f64,
    /// C from confidence, justified belief and material readings.
    pub calibration: fn(f64, f64, usize) -> f64,
    /// X from claims and rivals.
    pub cited: fn(&[Claim], &[usize]) -> f64,
    /// J from belief, prior and reference; the last is whether the finding is right, which a sound
    /// formula leaves alone.
    pub justified: fn(f64, f64, f64, bool) -> f64,
    /// Whether a repeat counts as a further independent result.
    pub repeats_count: bool,
    /// Highest total after a critical breach.
    pub critical_cap: f64,
    /// How much of what the mark scheme takes for claims that aren't borne is taken; less than 0 pays for them.
    pub claim_loss: f64,
    /// By how much of what is missing the evidence is taken to be surer of the finding than it is, 0 … 1.
    pub surer: f64,
}

impl Formulas {
    /// Those that marks are made with.
    pub const STANDARD: Self = Self {
        waste: |rho| rho.iter().sum(),
        immaterial_readings: false,
        exempt_minutes: false,
        progress,
        calibration: super::components::calibration,
        cited: super::claims::cited_evidence,
        justified: |p, prior, reference, _| justified(p, prior, reference),
        repeats_count: false,
        critical_cap: super::result::CRITICAL_CAP,
        claim_loss: 1.0,
        surer: 0.0,
    };
}

/// What is marked.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Causes and tests.
    pub tables: Tables,
    /// Belief at which nothing more needs to be measured.
    pub enough: f64,
    /// Price of the right part.
    pub right_price: f64,
    /// Weights of D J X S M P C R.
    pub weights: [f64; 8],
    /// The true cause.
    pub truth: usize,
}

/// Something that was done.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// A test with its outcome, and what its written reading earns in M.
    Test {
        /// Which.
        test: usize,
        /// How it came out.
        outcome: usize,
        /// Share of the written reading, 0 … 1.
        written: f64,
    },
    /// A safety step, a required step of procedure or a preliminary.
    Exempt {
        /// How long it took, min.
        minutes: f64,
    },
    /// A rule was broken.
    Breach(Severity),
    /// A part was replaced although it was sound.
    NeedlessPart {
        /// Its price.
        price: f64,
        /// How long it took, min.
        minutes: f64,
    },
}

/// What was done and concluded.
#[derive(Clone, Debug, PartialEq)]
pub struct Log {
    /// In the order of doing.
    pub events: Vec<Event>,
    /// The finding.
    pub finding: usize,
    /// Stated confidence, 0 … 1.
    pub confidence: f64,
    /// Claims: test cited, for what.
    pub claims: Vec<(usize, Cited)>,
}

/// A test that was made, and what it was worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Which test.
    pub test: usize,
    /// Bits that it could be expected to tell.
    pub bits: f64,
    /// Minutes wasted.
    pub wasted: f64,
    /// Whether it is material.
    pub material: bool,
    /// Belief in the finding's group after it.
    pub belief: f64,
}

/// The mark.
#[derive(Clone, Debug, PartialEq)]
pub struct TableMark {
    /// Shares of D J X S M P C R.
    pub shares: [f64; 8],
    /// Total, points of 100.
    pub total: f64,
    /// Belief in the finding's group at the end.
    pub belief: f64,
    /// Belief that earns full J.
    pub reference: f64,
    /// G.
    pub progress: f64,
    /// Tests in the order of making.
    pub steps: Vec<Step>,
    /// Whether a critical rule was broken.
    pub critical: bool,
}

/// Marks a log.
///
/// # Panics
/// When the log names a test, outcome or cause that the case doesn't have.
pub fn assess(case: &Case, log: &Log, formulas: &Formulas) -> TableMark {
    let tables = &case.tables;
    let group = tables.groups[log.finding];
    let prior = grouped(&tables.prior, &tables.groups)[group];
    let walk = walk(case, log, formulas);
    let belief = grouped(&walk.belief, &tables.groups)[group];
    let reference = reference_belief(tables.attainable(log.finding));
    let g = (formulas.progress)(
        tables.entropy(&tables.prior),
        tables.entropy(&walk.belief),
        tables.entropy_after_all(),
    );
    let right = group == tables.groups[case.truth];
    let materials = walk.steps.iter().filter(|s| s.material).count();
    let j = if materials == 0 { 0.0 } else { (formulas.justified)(belief, prior, reference, right) };
    let par = tables.par_minutes(case.enough);
    let rho: Vec<f64> = walk.steps.iter().map(|s| s.wasted).collect();
    let broken: Vec<Severity> =
        log.events.iter().filter_map(|e| if let Event::Breach(s) = e { Some(*s) } else { None }).collect();
    let needless =
        log.events.iter().map(|e| if let Event::NeedlessPart { price, .. } = e { *price } else { 0.0 }).sum();
    let shares = [
        diagnosis(if right { Match::SameGroup } else { Match::Other }, j),
        j,
        cited(case, log, &walk, formulas),
        super::components::choice(g, (formulas.waste)(&rho), par),
        super::readings::measurement(&walk.written.iter().map(|w| w.1).collect::<Vec<_>>()),
        procedure(&broken),
        (formulas.calibration)(log.confidence, belief, materials),
        economy(g, needless, case.right_price, walk.minutes, par),
    ];
    let critical = broken.contains(&Severity::Critical);
    let earned = weighted(&shares.into_iter().zip(case.weights).collect::<Vec<_>>());
    let total = if critical { earned.min(formulas.critical_cap) } else { earned };
    TableMark { shares, total, belief, reference, progress: g, steps: walk.steps, critical }
}

/// What the events come to.
struct Walk {
    steps: Vec<Step>,
    belief: Vec<f64>,
    minutes: f64,
    /// Last written reading of each test that counts.
    written: Vec<(usize, f64)>,
    results: Vec<(usize, usize)>,
}

fn walk(case: &Case, log: &Log, formulas: &Formulas) -> Walk {
    let tables = &case.tables;
    let group = tables.groups[log.finding];
    let mut w =
        Walk { steps: vec![], belief: tables.prior.clone(), minutes: 0.0, written: vec![], results: vec![] };
    let mut pending = 0.0;
    for event in &log.events {
        let (test, outcome, written) = match event {
            Event::Test { test, outcome, written } => (*test, *outcome, *written),
            Event::Exempt { minutes } => {
                if formulas.exempt_minutes {
                    pending += minutes;
                    w.minutes += minutes;
                }
                continue;
            }
            Event::NeedlessPart { minutes, .. } => {
                w.minutes += minutes;
                continue;
            }
            Event::Breach(_) => continue,
        };
        let done: Vec<usize> =
            if formulas.repeats_count { vec![] } else { w.results.iter().map(|r| r.0).collect() };
        let bits = tables.gain_bits(&w.belief, test, &done);
        let charged = tables.tests[test].minutes + pending;
        pending = 0.0;
        let best = tables.next(&w.belief, &done, Policy::Greedy).map_or(0.0, |(_, _, rate)| rate);
        let after = if formulas.repeats_count {
            let like: Vec<f64> = tables.tests[test].likes.iter().map(|row| ops::ln(row[outcome])).collect();
            crate::diagnosis::belief::posterior(&w.belief, &like)
        } else {
            let mut results = w.results.clone();
            results.push((test, outcome));
            tables.belief(&results)
        };
        let moved = divergence_bits(&grouped(&after, &tables.groups), &grouped(&w.belief, &tables.groups));
        let material = bits >= MATERIAL_BITS || moved >= MATERIAL_BITS;
        let wasted = wasted_minutes(charged, bits / charged, best, material);
        w.minutes += tables.tests[test].minutes;
        if material {
            w.results.push((test, outcome));
            w.belief = after;
        }
        if material || formulas.immaterial_readings {
            w.written.retain(|(t, _)| *t != test || formulas.immaterial_readings);
            w.written.push((test, written));
        }
        let belief = grouped(&w.belief, &tables.groups)[group];
        w.steps.push(Step { test, bits, wasted, material, belief });
    }
    w
}

fn cited(case: &Case, log: &Log, walk: &Walk, formulas: &Formulas) -> f64 {
    let tables = &case.tables;
    let mut claims: Vec<Claim> = vec![];
    for &(test, cited) in &log.claims {
        let bans = walk.results.iter().find(|(t, _)| *t == test).map(|&(_, outcome)| {
            let like: Vec<f64> = tables.tests[test].likes.iter().map(|row| ops::ln(row[outcome])).collect();
            weight_bans(cited, log.finding, &tables.prior, &like)
        });
        // an immaterial result is no evidence either way
        let taken = walk.steps.iter().any(|s| s.test == test);
        let bans = bans.or(taken.then_some(0.0));
        claims.push((test as u32, cited, bans));
    }
    (formulas.cited)(&claims, &rivals(&tables.prior[..tables.prior.len() - 1], log.finding))
}

#[cfg(test)]
mod tests;
