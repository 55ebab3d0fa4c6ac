//! How sure the allowed tests can make one: the median belief in a candidate, over vehicles that have
//! it, after a complete run of every test.
//!
//! The complete run is rehearsed in a bay on a sound vehicle; then the reference vehicles, and fresh
//! ones that have the candidate's fault, are driven through what was done there.

use super::belief::posterior;
use super::ensemble::{Course, Watch, run};
use super::hypothesis::{Draw, draws};
use super::justify::{Reference, evidence_of, prior};
use crate::bay::Bay;
use crate::bay::action::{Action, Key, MINUTE, Micros, Perceived, Reading, SECOND, SafetyStep, State, Verdict};
use crate::random::child_seed;
use crate::scenario::model::Job;
use crate::units::PressureUnit;

/// Reference vehicles a candidate for this purpose.
const VEHICLES: usize = 36;
/// Fresh vehicles that have the candidate's fault.
const FRESH: usize = 11;

/// Does actions one after the other on a vehicle.
struct Rehearsal {
    bay: Bay,
}

impl Rehearsal {
    fn act(&mut self, action: Action) {
        self.bay.act(&action);
    }

    fn wait(&mut self, span: Micros) {
        self.bay.advance_to(self.bay.now() + span);
    }

    fn record(&mut self, state: State) {
        let now = self.bay.now();
        self.act(Action::Record {
            reading: Reading {
                state,
                value: 0.0,
                unit: Some(PressureUnit::Mbar),
                verdict: Verdict::NotProven,
                source: String::new(),
                window: Some((now.saturating_sub(SECOND), now)),
                remark: String::new(),
            },
        });
    }

    fn note(&mut self, what: Perceived, seen: &str) {
        self.act(Action::Note { what, seen: seen.into() });
    }

    /// The standard run at a joint.
    fn run_at(&mut self, joint: &str, dead_head: bool) {
        self.act(Action::FitTee { joint: joint.into(), new_seals: true });
        self.act(Action::Purge);
        self.act(Action::Zero);
        self.wait(5 * SECOND);
        self.record(State::Rest);
        self.act(Action::Key { to: Key::On });
        self.act(Action::Crank { secs: 8.0 });
        self.wait(14 * SECOND / 10);
        self.record(State::Crank);
        self.wait(60 * SECOND);
        self.record(State::Idle);
        self.note(Perceived::Glass, "clear");
        self.act(Action::Speed { rpm: 2500.0 });
        self.wait(30 * SECOND);
        self.record(State::Raised);
        self.note(Perceived::Engine, "steady");
        self.act(Action::Speed { rpm: self.bay.idle_speed() });
        self.wait(15 * SECOND);
        if dead_head {
            self.act(Action::Valve { open: 0.0 });
            self.wait(48 * SECOND / 10);
            self.record(State::DeadHead);
            self.act(Action::Valve { open: 1.0 });
            self.wait(10 * SECOND);
        }
        self.act(Action::Key { to: Key::Off });
        self.wait(MINUTE);
        self.record(State::Hold);
        self.wait(4 * MINUTE);
        self.record(State::Hold);
    }
}

/// Every test of a job, done in order: free checks first, then the standard run at the last and at
/// the first joint.
///
/// # Errors
/// When the job's plant can't be built.
fn complete_run(job: &Job) -> Result<Bay, String> {
    let mut s = Rehearsal { bay: Bay::rehearsal(job)? };
    for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
        s.act(Action::MakeSafe { step });
    }
    s.act(Action::Cap { open: true });
    s.note(Perceived::Cap, "silent");
    s.act(Action::Cap { open: false });
    s.act(Action::Prime { strokes: 12 });
    s.note(Perceived::Primer, "firm");
    let joints = &job.joints;
    if let Some((last, _)) = joints.last() {
        s.run_at(last, true);
    }
    if let Some((first, _)) = joints.first().filter(|_| joints.len() > 1) {
        s.run_at(first, false);
    }
    Ok(s.bay)
}

/// What the complete run makes of vehicles that have a candidate's fault.
#[derive(Clone, Debug, PartialEq)]
pub struct Attainable {
    /// Median belief in that candidate.
    pub median: f64,
    /// Mean belief in every candidate, "none of these" last.
    pub mean: Vec<f64>,
}

/// Belief in a candidate after the complete run, over fresh vehicles that have it.
///
/// # Errors
/// A sentence: cancelled, or a vehicle can't be simulated.
pub fn attainable(job: &Job, candidate: usize, watch: &dyn Watch) -> Result<Attainable, String> {
    let bay = complete_run(job)?;
    let reference_draws = draws(job, VEHICLES);
    let fresh: Vec<Draw> = reference_draws
        .iter()
        .filter(|d| d.candidate == candidate)
        .collect::<Vec<_>>()
        .chunks((reference_draws.iter().filter(|d| d.candidate == candidate).count() / FRESH).max(1))
        .map(|chunk| Draw { seed: child_seed(chunk[0].seed, "fresh", 0), ..chunk[0].clone() })
        .collect();
    let mut all = reference_draws.clone();
    all.extend(fresh.iter().cloned());
    let rows = run(job, &all, &Course::of(&bay, Micros::MAX), watch).ok_or("cancelled")?;
    let (reference_rows, fresh_rows) = rows.split_at(reference_draws.len());
    let like = fresh_rows.iter().flatten().next().ok_or("no vehicle with this fault could be simulated")?;
    let reference = Reference::new(job, &reference_draws, reference_rows, like);
    let weigh = reference.weigher()?;
    let prior = prior(job);
    let beliefs: Vec<Vec<f64>> = fresh_rows
        .iter()
        .flatten()
        .filter_map(|row| weigh.log_likelihoods(&evidence_of(row)).ok())
        .map(|like| posterior(&prior, &like))
        .collect();
    let mut own: Vec<f64> = beliefs.iter().map(|b| b[candidate]).collect();
    own.sort_by(f64::total_cmp);
    let median = own.get(own.len() / 2).copied().ok_or("no vehicle with this fault could be weighed")?;
    let mean = (0..prior.len()).map(|k| beliefs.iter().map(|b| b[k]).sum::<f64>() / beliefs.len() as f64).collect();
    Ok(Attainable { median, mean })
}

#[cfg(test)]
mod tests {
    use super::super::ensemble::drive;
    use super::*;
    use crate::scenario::{Library, load_job};

    #[test]
    fn no_reference_vehicle_of_a_complete_run_gets_stuck() {
        let Ok((job, _)) = load_job(&Library::builtin(), "bypass-puff") else {
            panic!("the built-in job loads");
        };
        let bay = complete_run(&job).unwrap();
        for draw in draws(&job, 24).iter().step_by(7) {
            let work = drive(&job, [draw], &Course::of(&bay, Micros::MAX)).unwrap().work();
            assert_eq!(work.forced, 0, "{draw:?}");
            assert!(work.steps < 6000, "{draw:?}: {work:?}");
        }
    }
}
