//! One sitting with one vehicle: takes [`Action`]s, gives
//! [`Observation`](observation::Observation)s.
//!
//! Front ends see observations only. The hidden state is private to this room and becomes visible
//! through [`truth::Closed`], which exists only after the vehicle was handed back.
//!
//! Three clocks meet here and none of them depends on who looks: the stepper's own steps, the
//! control's tick (every 0.1 s while the engine turns) and the logger's samples, which lie on fixed
//! multiples of an interval that grows when nothing is touched.

mod act;
pub mod action;
mod control;
pub mod draw;
pub mod observation;
mod perceive;
mod rules;
mod sheet;
pub mod truth;
pub mod words;
mod work;

use std::collections::BTreeSet;

use crate::instrument::transducer::Transducer;
use crate::plant::assemble::{Detail, Rig};
use crate::plant::step::{Effort, Work};
use crate::plant::vehicle::Vehicle;
use crate::random::child_seed;
use crate::scenario::model::Job;
use crate::trace::{Tick, Trace};
use action::{Action, Finding, Key, MINUTE, Micros, Prediction, SECOND, SafetyStep};
use observation::{Answer, Breach, CapSound, PrimerFeel, SheetLine};
use truth::Hidden;

pub use sheet::{Evidence, EvidenceKind};

/// What is stored of the pressure.
#[derive(Clone, Debug, PartialEq)]
pub enum Watch {
    /// The logger's samples.
    Samples,
    /// Only these times, rising: for vehicles that nobody watches.
    Probes(Vec<Micros>),
}

/// A sitting under way.
pub struct Bay {
    job: Job,
    hidden: Hidden,
    hypothetical: bool,
    car: Vehicle,
    rig: Rig,
    gauge: Transducer,
    now: Micros,
    /// Time that isn't charged (safety steps).
    exempt: Micros,
    credits: f64,
    watch: Watch,
    next_probe: usize,
    samples: u64,
    last_action: Micros,
    trace: Trace,
    scratch: Vec<f64>,
    key: Key,
    control: control::Control,
    cap_open: bool,
    cap: Option<CapSound>,
    primer: Option<(PrimerFeel, u32)>,
    zeroed_at: Option<Micros>,
    purged_at: Option<Micros>,
    safety: BTreeSet<SafetyStep>,
    sheet: sheet::Sheet,
    rules: rules::Rules,
    over: bool,
}

impl Bay {
    /// A fresh vehicle for this job. The same job and seed give the same vehicle to the bit.
    ///
    /// # Errors
    /// A sentence when the job's plant can't be built.
    pub fn new(job: &Job, seed: u64) -> Result<Self, String> {
        let hidden = Hidden::draw(job, seed, &job.hidden.0)?;
        let gauge = Transducer::new(child_seed(seed, "transducer", 0), hidden.kit().offset_mbar, true);
        Self::with(job, hidden, gauge, Watch::Samples, Detail::FULL, Effort::WATCHED)
    }

    /// A vehicle with other faults, of which nothing but readings at the given times is wanted.
    pub(crate) fn hypothetical(
        job: &Job,
        seed: u64,
        faults: &[crate::fault::FaultInstance],
        probes: Vec<Micros>,
    ) -> Result<Self, String> {
        let hidden = Hidden::draw(job, seed, faults)?;
        let gauge = Transducer::new(child_seed(seed, "transducer", 0), hidden.kit().offset_mbar, false);
        let mut bay = Self::with(job, hidden, gauge, Watch::Probes(probes), Detail::COARSE, Effort::ENSEMBLE)?;
        bay.hypothetical = true;
        Ok(bay)
    }

    fn with(
        job: &Job,
        hidden: Hidden,
        gauge: Transducer,
        watch: Watch,
        detail: Detail,
        effort: Effort,
    ) -> Result<Self, String> {
        let rig = Rig::default();
        let mut car = Vehicle::new(hidden.plant(), &rig, detail, effort)?;
        if job.stood_s > 0.0 {
            car.stand((job.stood_s * SECOND as f64) as Micros);
        }
        Ok(Self {
            control: control::Control::new(hidden.plant())?,
            job: job.clone(),
            hidden,
            hypothetical: false,
            car,
            rig,
            gauge,
            now: 0,
            exempt: 0,
            credits: 0.0,
            watch,
            next_probe: 0,
            samples: 0,
            last_action: 0,
            trace: Trace::default(),
            scratch: vec![],
            key: Key::Off,
            cap_open: false,
            cap: None,
            primer: None,
            zeroed_at: None,
            purged_at: None,
            safety: BTreeSet::new(),
            sheet: sheet::Sheet::default(),
            rules: rules::Rules::default(),
            over: false,
        })
    }

    /// Simulated time.
    pub fn now(&self) -> Micros {
        self.now
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
            let tick = self.control.next_tick();
            let due = sample.unwrap_or(Micros::MAX).min(tick.unwrap_or(Micros::MAX));
            if due > t {
                break;
            }
            self.now = due;
            self.car.cover(due);
            if sample == Some(due) {
                self.take_sample();
            }
            if tick == Some(due) {
                self.tick();
            }
        }
        if t > self.now {
            self.now = t;
            self.car.cover(t);
        }
    }

    /// Does something, now. The action may take simulated time.
    pub fn act(&mut self, action: &Action) -> Answer {
        if self.over {
            return Answer::Refused { because: "The vehicle was handed back: the sitting is over.".into() };
        }
        self.last_action = self.now;
        let breaches = self.rules.breaches().len();
        let done = self.perform(action);
        self.last_action = self.now;
        match done {
            Ok(says) => Answer::Done { says, breach: self.rules.breaches().get(breaches).cloned() },
            Err(because) => Answer::Refused { because },
        }
    }

    /// The instrument's memory.
    pub fn trace(&self) -> &Trace {
        &self.trace
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
        self.car.work()
    }

    /// Idle speed on the card, 1/min.
    pub fn idle_speed(&self) -> f64 {
        self.control.idle
    }

    /// Simulated minutes charged so far.
    pub fn charged_minutes(&self) -> f64 {
        (self.now - self.exempt) as f64 / MINUTE as f64
    }

    // ---- the logger -------------------------------------------------------------------------

    /// When the next sample is due: every 20 ms for two minutes after an action, every 0.2 s up to
    /// ten minutes, then every 5 s.
    fn next_sample(&self) -> Option<Micros> {
        self.rig.tee.as_ref()?;
        match &self.watch {
            Watch::Probes(times) => times[self.next_probe..].first().copied().map(|t| t.max(self.now)),
            Watch::Samples => {
                let last = self.trace.at.last().copied().unwrap_or(0).max(self.purge_of_samples());
                // an action shortens the interval from its own time on, not backwards
                let last = last.max(self.last_action);
                let idle = last.saturating_sub(self.last_action);
                let interval = match idle {
                    i if i < 2 * MINUTE => SECOND / 50,
                    i if i < 10 * MINUTE => SECOND / 5,
                    _ => 5 * SECOND,
                };
                Some((last / interval + 1) * interval)
            }
        }
    }

    /// Time before which nothing is sampled: when the tee was fitted last.
    fn purge_of_samples(&self) -> Micros {
        self.control.tee_since()
    }

    fn take_sample(&mut self) {
        let net = self.car.net();
        self.scratch.resize(net.states(), 0.0);
        self.car.at(self.now, &mut self.scratch);
        let Some(tee) = self.car.assembly().tee else { return };
        let ripple = self.ripple(tee);
        let line = (net.pressure(tee, &self.scratch) + ripple - net.medium.air) / 100.0;
        let gas = net.gas_share(tee, &self.scratch);
        let rpm = self.scratch[net.engine.n];
        let shown = self.gauge.show(self.now, line, self.samples);
        self.samples += 1;
        if let Watch::Probes(times) = &self.watch {
            while self.next_probe < times.len() && times[self.next_probe] <= self.now {
                self.next_probe += 1;
            }
        }
        self.trace.at.push(self.now);
        self.trace.mbar.push(shown);
        self.trace.gas.push(gas);
        self.trace.rpm.push(rpm);
    }

    /// Ripple of the pump at the tee, Pa.
    fn ripple(&self, tee: usize) -> f64 {
        if self.hypothetical {
            return 0.0;
        }
        let net = self.car.net();
        let y = &self.scratch;
        let give: f64 = [tee, net.pump.inlet]
            .into_iter()
            .map(|v| {
                let vessel = &net.vessels[v];
                let above = net.pressure(v, y) - net.medium.vapour;
                let gas: f64 =
                    net.cells[vessel.first_cell..vessel.first_cell + vessel.cells].iter().map(|c| y[c.g]).sum();
                vessel.compliance
                    + crate::units::STANDARD_ATMOSPHERE_PA * (gas + vessel.still_gas) / (above * above)
            })
            .sum();
        let rpm = y[net.engine.n];
        let swept = net.pump.displacement * rpm / 60.0;
        crate::instrument::ripple::ripple(y[net.engine.n + 4], rpm, swept, net.pump.teeth, give)
    }

    /// A word on the chart's top edge.
    fn mark(&mut self, word: &str) {
        self.trace.ticks.push(Tick { at: self.now, word: word.to_owned() });
    }
}
