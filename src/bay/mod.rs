//! One sitting with one vehicle: takes [`Action`]s, gives
//! [`Observation`](observation::Observation)s.
//!
//! Front ends see observations only. The hidden state is private to this room and becomes visible
//! through [`truth::Closed`], which exists only after the vehicle was handed back, and through [`truth::Revealed`],
//! which exists only after an instructor has shown in practice what is wrong.
//!
//! Three clocks meet here and none of them depends on who looks: the stepper's own steps, the
//! control's tick (every 0.1 s while the engine turns) and the logger's samples, which lie on fixed
//! multiples of an interval that grows when nothing is touched.

mod act;
pub mod action;
pub mod draw;
pub(crate) mod drive;
mod engine;
#[cfg(test)]
mod fleet;
mod hint;
pub mod instruct;
mod isolate;
pub mod observation;
pub mod opened;
mod perceive;
mod rules;
mod sheet;
pub mod truth;
pub mod words;
mod work;

use std::collections::{BTreeMap, BTreeSet};

use crate::language::said;
use crate::plant::step::Work;
use crate::random::{Purpose, uniform};
use crate::scenario::model::Job;
use crate::trace::{Beside, Tick, Trace};
use action::{Action, Finding, MINUTE, Micros, Prediction, Probe, SECOND, SafetyStep};
use drive::op::{Op, Timed};
use drive::{Control, Drive, Fidelity, Sample, Turn};
use observation::{Answer, Breach, ReadCode, SheetLine};

pub use drive::probe::Measured;
pub use sheet::{Evidence, EvidenceKind, as_written};
pub use work::look_words;

/// What a rule of safety or procedure says, by its name; for whoever writes a job.
pub fn rule_words(name: &str) -> Option<&'static str> {
    rules::by_name(name).map(|rule| rule.words.said())
}

/// Distance of the instrument's samples while something happens, µs.
const FINE: Micros = SECOND / 50;

/// A sitting under way.
pub struct Bay {
    job: Job,
    drive: Drive<1>,
    ops: Vec<Timed>,
    /// Time that isn't charged (safety steps).
    exempt: Micros,
    credits: f64,
    last_action: Micros,
    trace: Trace,
    beside: Beside,
    /// When the tee was fitted last.
    tee_since: Micros,
    /// Parts that were replaced or cleaned.
    put_right: BTreeMap<String, action::Remedy>,
    zeroed_at: Option<Micros>,
    purged_at: Option<Micros>,
    safety: BTreeSet<SafetyStep>,
    sheet: sheet::Sheet,
    rules: rules::Rules,
    /// What tests showed, oldest first.
    shown: Vec<isolate::Shown>,
    /// Trouble codes as read last.
    codes: Vec<ReadCode>,
    /// Part round whose lead the clamp hangs.
    clamp: Option<String>,
    /// Hints taken, oldest first.
    hints: Vec<(Micros, u8)>,
    /// What an instructor did.
    instructed: instruct::Instructed,
    over: bool,
    /// Kept while an attempt is replayed to be opened.
    film: Option<Box<opened::Film>>,
}

impl Bay {
    /// A fresh vehicle for this job. The same job and seed give the same vehicle to the bit.
    ///
    /// # Errors
    /// A sentence when the job's plant can't be built.
    pub fn new(job: &Job, seed: u64) -> Result<Self, String> {
        let drive = Drive::new(&job.plant, job.stood_s, [(seed, &job.hidden.0)], Fidelity::Watched, vec![])?;
        Ok(Self::with(job, drive))
    }

    /// A sound vehicle at which the tests of a job are rehearsed; simulated as coarsely as the
    /// reference vehicles.
    pub(crate) fn rehearsal(job: &Job) -> Result<Self, String> {
        let drive = Drive::new(&job.plant, job.stood_s, [(0, &[])], Fidelity::Reference, vec![])?;
        Ok(Self::with(job, drive))
    }

    fn with(job: &Job, drive: Drive<1>) -> Self {
        Self {
            job: job.clone(),
            drive,
            ops: vec![],
            exempt: 0,
            credits: 0.0,
            last_action: 0,
            trace: Trace::default(),
            beside: Beside::default(),
            tee_since: 0,
            put_right: BTreeMap::new(),
            zeroed_at: None,
            purged_at: None,
            safety: BTreeSet::new(),
            sheet: sheet::Sheet::default(),
            rules: rules::Rules::default(),
            shown: vec![],
            codes: vec![],
            clamp: None,
            hints: vec![],
            instructed: instruct::Instructed::default(),
            over: false,
            film: None,
        }
    }

    /// Simulated time.
    pub fn now(&self) -> Micros {
        self.drive.now()
    }

    /// The job card and the vehicle card.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Lets time pass until `t` (nothing happens when `t` is in the past). How time is sliced never
    /// changes anything.
    pub fn advance_to(&mut self, t: Micros) {
        if self.over {
            return;
        }
        loop {
            let sample = self.next_sample();
            let tick = self.drive.next_tick();
            let moment = self.film.as_ref().and_then(|f| f.due(self.now(), self.last_action));
            let next = sample.into_iter().chain(tick).chain(moment).min();
            let Some(due) = next.filter(|&due| due <= t) else { break };
            self.drive.reach(due);
            if sample == Some(due) {
                self.take_sample();
            }
            if tick == Some(due) {
                self.tick();
            }
            if moment == Some(due) {
                self.take_moment();
            }
        }
        if t > self.now() {
            self.drive.reach(t);
        }
    }

    /// The control looks at the engine; what it does is written on the chart, what it suffers is judged.
    fn tick(&mut self) {
        self.drive.tick();
        match self.control().turn {
            Some(Turn::Runs) => self.mark("runs"),
            Some(Turn::StarterOff) => self.mark("starter off"),
            Some(Turn::Stalls) => self.mark("stalls"),
            None => {}
        }
        self.while_it_turns();
    }

    /// Does something, now. The action may take simulated time.
    pub fn act(&mut self, action: &Action) -> Answer {
        if self.over {
            return Answer::Refused { because: said("bay-act-sitting-over").into() };
        }
        self.last_action = self.now();
        self.take_moment();
        let breaches = self.rules.breaches().len();
        let done = self.perform(action);
        self.last_action = self.now();
        self.take_moment();
        match done {
            Ok(says) => Answer::Done { says, breach: self.rules.breaches().get(breaches).cloned() },
            Err(because) => Answer::Refused { because },
        }
    }

    /// Does one thing to the vehicle and keeps that it was done.
    fn hands(&mut self, op: Op) -> Result<(), String> {
        let done = self.drive.apply(&op);
        self.ops.push(Timed { at: self.now(), op });
        done
    }

    /// What the hands did so far.
    pub(crate) fn ops(&self) -> &[Timed] {
        &self.ops
    }

    fn control(&self) -> &Control {
        self.drive.control(0)
    }

    /// The instrument's memory.
    pub fn trace(&self) -> &Trace {
        &self.trace
    }

    /// What the instruments beside it showed.
    pub fn beside(&self) -> &Beside {
        &self.beside
    }

    /// The test sheet.
    pub fn sheet(&self) -> &[SheetLine] {
        self.sheet.lines()
    }

    /// Predictions made.
    pub fn predictions(&self) -> &[(Micros, Prediction)] {
        self.sheet.predictions()
    }

    /// Points stated last, by candidate in the order of the job.
    pub fn points(&self) -> Option<&[u8]> {
        self.sheet.beliefs().last().map(|(_, points)| points.as_slice())
    }

    /// Every statement of points, with its time.
    pub fn statements(&self) -> &[(Micros, Vec<u8>)] {
        self.sheet.beliefs()
    }

    /// What the recorded lines rest on, for whoever weighs the evidence.
    pub fn evidence(&self) -> &[Evidence] {
        self.sheet.evidence()
    }

    /// Rules broken.
    pub fn breaches(&self) -> &[Breach] {
        self.rules.breaches()
    }

    /// The finding, once submitted.
    pub fn finding(&self) -> Option<&Finding> {
        self.sheet.finding().map(|(_, finding)| finding)
    }

    /// When the finding was submitted.
    pub fn submitted_at(&self) -> Option<Micros> {
        self.sheet.finding().map(|(at, _)| *at)
    }

    /// When the first part was changed, cleaned or resealed.
    pub fn first_repair(&self) -> Option<Micros> {
        self.rules.first_repair()
    }

    /// The vehicle was handed back: nothing more can be done.
    pub fn is_over(&self) -> bool {
        self.over
    }

    /// Work of the solver so far.
    pub fn solver_work(&self) -> Work {
        self.drive.work()
    }

    /// Idle speed on the card, 1/min.
    pub fn idle_speed(&self) -> f64 {
        self.control().idle
    }

    /// Idle and test speed on the card, 1/min.
    pub fn card_speeds(&self) -> (f64, f64) {
        (self.control().idle, self.control().raised)
    }

    /// Simulated minutes charged so far.
    pub fn charged_minutes(&self) -> f64 {
        (self.now() - self.exempt) as f64 / MINUTE as f64
    }

    // ---- the logger -------------------------------------------------------------------------

    /// The clamp hangs on a lead or the second transducer sits somewhere: what they show is kept, tee or not.
    fn has_beside(&self) -> bool {
        self.clamp.is_some() || self.drive.second().is_some()
    }

    /// When the next sample is due: every 20 ms for two minutes after an action, then five a second up to ten minutes,
    /// then one in 5 s. Those lie unevenly: at even distances a pump's ripple would be written as a slow swing.
    fn next_sample(&self) -> Option<Micros> {
        if self.drive.tee().is_none() && !self.has_beside() {
            return None;
        }
        let last = self.trace.at.last().max(self.beside.at.last()).copied().unwrap_or(0).max(self.tee_since);
        // an action shortens the interval from its own time on, not backwards
        let last = last.max(self.last_action);
        let idle = last.saturating_sub(self.last_action);
        let interval = match idle {
            i if i < 2 * MINUTE => return Some((last / FINE + 1) * FINE),
            i if i < 10 * MINUTE => SECOND / 5,
            _ => 5 * SECOND,
        };
        let next = last / interval + 1;
        let aside = (7.0 * uniform(0, Purpose::Sampling, next)) as u64;
        Some(next * interval + aside * FINE)
    }

    fn take_sample(&mut self) {
        if self.drive.tee().is_some() {
            let seen = self.drive.sample(0);
            let number = |read: fn(&Sample) -> f64| seen.as_ref().map_or(f64::NAN, read);
            self.trace.at.push(self.drive.now());
            self.trace.mbar.push(number(|s| s.mbar));
            self.trace.gas.push(number(|s| s.gas));
            self.trace.rpm.push(number(|s| s.rpm));
        }
        if self.has_beside() {
            let part = self.clamp.clone();
            let amps = part.and_then(|part| self.drive.read(0, &Probe::Clamp { part }));
            let second = self.drive.second().and_then(|_| self.drive.read(0, &Probe::Second));
            self.beside.at.push(self.drive.now());
            self.beside.amps.push(amps.map_or(f64::NAN, |m| m.shown.value));
            self.beside.second_mbar.push(second.map_or(f64::NAN, |m| m.shown.value));
        }
    }

    /// A word on the chart's top edge.
    fn mark(&mut self, word: &str) {
        self.trace.ticks.push(Tick { at: self.now(), word: word.to_owned() });
    }
}
