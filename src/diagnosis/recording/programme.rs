//! The actions that take a simulated vehicle through the states of a recording, and through the runs that
//! further tests would make. They are done once on a sound vehicle, to get their times.

use crate::analysis::states::{Phase, Stretch};
use crate::bay::Bay;
use crate::bay::action::{Action, GaugeRange, Key, MINUTE, Micros, SECOND, SafetyStep};
use crate::bay::drive::op::Timed;
use crate::scenario::model::Job;

/// Reading of a sound vehicle above which the suction range is too near its end, mbar.
const BEYOND_SUCTION_MBAR: f64 = 2800.0;

/// A run on the vehicle: what the hands do at their times, and where to look.
pub(super) struct Programme {
    pub(super) ops: Vec<Timed>,
    pub(super) probes: Vec<Micros>,
    /// For each run: when it begins, what its stretches are (s from there).
    pub(super) runs: Vec<(Micros, Vec<Stretch>)>,
}

/// Builds the actions on a sound vehicle, to get their times.
struct Builder {
    bay: Bay,
    programme: Programme,
    raised: f64,
    running: bool,
}

impl Builder {
    /// A sound vehicle, made safe.
    fn new(job: &Job, raised: f64) -> Result<Self, String> {
        let programme = Programme { ops: vec![], probes: vec![], runs: vec![] };
        let mut b = Self { bay: Bay::rehearsal(job)?, programme, raised, running: false };
        for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
            b.act(Action::MakeSafe { step });
        }
        Ok(b)
    }

    fn act(&mut self, action: Action) {
        self.bay.act(&action);
    }

    fn fit(&mut self, joint: &str, range: GaugeRange) {
        self.act(Action::FitTee { joint: joint.into(), new_seals: true });
        self.act(Action::Range { range });
        self.act(Action::Purge);
        self.act(Action::Zero);
        self.bay.advance_to(self.bay.now() + 5 * SECOND);
    }

    fn start(&mut self) {
        self.act(Action::Key { to: Key::On });
        self.act(Action::Crank { secs: 8.0 });
        self.running = true;
    }

    fn stop(&mut self) {
        self.act(Action::Key { to: Key::Off });
        self.running = false;
    }

    /// What was gathered.
    fn ended(self) -> Programme {
        let mut p = self.programme;
        p.ops = self.bay.ops().to_vec();
        p.probes.sort_unstable();
        p.probes.dedup();
        p
    }

    /// Goes through stretches; times count from the first.
    fn follow(&mut self, stretches: &[Stretch]) {
        let Some(first) = stretches.first() else { return };
        if matches!(first.phase, Phase::Idle | Phase::Raised | Phase::DeadHead) {
            self.start();
            self.bay.advance_to(self.bay.now() + 45 * SECOND);
        }
        let base = self.bay.now();
        let micros = |t: f64| base + ((t - first.from).max(0.0) * 1e6) as Micros;
        let mut fast = false;
        for s in stretches {
            // who starts without cranking in the table has cranked just before
            let early = if s.phase != Phase::Crank && !self.running { 2 * SECOND } else { 0 };
            let at = micros(s.from);
            match s.phase {
                Phase::Rest | Phase::Other => {}
                Phase::Crank if !self.running => {
                    self.bay.advance_to(at);
                    self.start();
                }
                Phase::Crank => {}
                Phase::Idle | Phase::Raised | Phase::DeadHead => {
                    if !self.running {
                        self.bay.advance_to(at.saturating_sub(early));
                        self.start();
                    }
                    self.bay.advance_to(at);
                    let wants = s.phase == Phase::Raised;
                    if wants != fast {
                        let rpm = if wants { self.raised } else { self.bay.idle_speed() };
                        self.act(Action::Speed { rpm });
                        fast = wants;
                    }
                    if s.phase == Phase::DeadHead {
                        self.act(Action::Valve { open: 0.0 });
                        self.bay.advance_to(micros(s.to));
                        self.act(Action::Valve { open: 1.0 });
                    }
                }
                Phase::RunDown | Phase::Hold => {
                    if self.running {
                        self.bay.advance_to(at);
                        self.stop();
                        fast = false;
                    }
                }
            }
            self.look(micros(s.from), micros(s.to), s.phase);
        }
        let end = micros(stretches[stretches.len() - 1].to);
        self.bay.advance_to(end);
        if self.running {
            self.stop();
            self.bay.advance_to(end + MINUTE);
        }
        self.programme.runs.push((base, stretches.to_vec()));
    }

    /// Where to look in a stretch.
    fn look(&mut self, from: Micros, to: Micros, phase: Phase) {
        let count: u64 = if matches!(phase, Phase::DeadHead | Phase::Hold) { 60 } else { 40 };
        self.programme.probes.extend((0..=count).map(|i| from + (to - from) * i / count));
        if phase == Phase::Hold {
            // the first seconds count, and so does the end
            self.programme.probes.extend((0..20).map(|i| from + i * SECOND / 4).filter(|t| *t <= to));
            let last = (to - from).min(5 * SECOND).min(((to - from) / 20).max(SECOND / 3));
            self.programme.probes.extend((0..12).map(|i| to - last * i / 12));
        }
    }
}

/// The standard run, s.
pub(super) fn standard(dead_head: bool) -> Vec<Stretch> {
    let mut list = vec![];
    let mut at = 0.0;
    let mut add = |phase, length: f64| {
        list.push(Stretch { phase, from: at, to: at + length });
        at += length;
    };
    add(Phase::Rest, 5.0);
    add(Phase::Crank, 2.5);
    add(Phase::Idle, 50.0);
    add(Phase::Raised, 25.0);
    add(Phase::Idle, 15.0);
    if dead_head {
        add(Phase::DeadHead, 4.8);
        add(Phase::Idle, 10.0);
    }
    add(Phase::RunDown, 2.0);
    add(Phase::Hold, 300.0);
    list
}

/// The recorded states, then what further tests would make.
pub(super) fn programme(job: &Job, joint: &str, recorded: &[Stretch], raised: f64) -> Result<Programme, String> {
    let mut b = begun(job, joint, recorded, raised)?;
    b.bay.advance_to(b.bay.now() + 2 * MINUTE);
    b.follow(&standard(true));
    for (other, _) in job.joints.iter().filter(|(name, _)| name != joint) {
        b.bay.advance_to(b.bay.now() + 2 * MINUTE);
        b.fit(other, range_for(job, other, raised)?);
        b.follow(&standard(false));
    }
    Ok(b.ended())
}

/// The recorded states alone; `closely` looks often enough for a picture.
pub(super) fn only(
    job: &Job,
    joint: &str,
    recorded: &[Stretch],
    raised: f64,
    closely: bool,
) -> Result<Programme, String> {
    let mut p = begun(job, joint, recorded, raised)?.ended();
    if let Some((base, last)) =
        p.runs.first().and_then(|(base, list)| Some((*base, list.last()?))).filter(|_| closely)
    {
        let first = recorded.first().map_or(0.0, |s| s.from);
        let whole = ((last.to - first).max(0.0) * 1e6) as Micros;
        p.probes.extend((0..=1200).map(|i| base + whole * i / 1200));
        p.probes.sort_unstable();
        p.probes.dedup();
    }
    Ok(p)
}

/// A range whose end a sound vehicle doesn't reach at a joint: whoever recorded there will have had one.
fn range_for(job: &Job, joint: &str, raised: f64) -> Result<GaugeRange, String> {
    if !job.plant.is_under_pressure(joint) {
        return Ok(GaugeRange::Suction);
    }
    let mut b = Builder::new(job, raised)?;
    b.fit(joint, GaugeRange::Pressure);
    b.start();
    b.act(Action::Speed { rpm: raised });
    b.bay.advance_to(b.bay.now() + 20 * SECOND);
    let highest = b.bay.trace().mbar.iter().copied().fold(0.0, f64::max);
    Ok(if highest > BEYOND_SUCTION_MBAR { GaugeRange::Pressure } else { GaugeRange::Suction })
}

fn begun(job: &Job, joint: &str, recorded: &[Stretch], raised: f64) -> Result<Builder, String> {
    let mut b = Builder::new(job, raised)?;
    b.fit(joint, range_for(job, joint, raised)?);
    b.follow(recorded);
    Ok(b)
}
