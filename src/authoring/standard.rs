//! The standard run on any plant: rest, crank, idle, raised speed, load, the dead-head where the card has
//! one, and the hold. Done once by the bay on a sound vehicle, to get the times; then any vehicle can be
//! driven through it.
//!
//! What the card of the plant lists at the joint says which states there are. The range of the transducer is the
//! one that shows them.

use crate::bay::Bay;
use crate::bay::action::{
    Action, GaugeRange, Key, MINUTE, Micros, Perceived, Reading, SECOND, SafetyStep, State, Verdict,
};
use crate::bay::drive::op::Timed;
use crate::bay::observation::{Answer, EngineRun};
use crate::diagnosis::ensemble::{Course, Unwatched, Watch};
use crate::diagnosis::recording::job_of;
use crate::fault::is_on_return;
use crate::language::{Msg, said};
use crate::msg;
use crate::plant::Plant;
use crate::scenario::model::{Job, Limit};
use crate::scenario::{Library, load_card, load_plant};
use crate::tell;
use crate::units::PressureUnit;

/// How long the vehicle stood before the job, s: long enough for the engine to be left alone.
const STOOD_S: f64 = 600.0;
/// Above this reading the suction range is at its end, mbar.
const RANGE_FROM_MBAR: f64 = 2900.0;
/// A sound vehicle starts within so many tries.
const MOST_STARTS: usize = 12;
/// A reading is the mean of the last second; while cranking, of what there is.
const WINDOW: Micros = SECOND;

/// What is said of a run that was cancelled.
pub const CANCELLED: Msg = msg!("work-cancelled");

/// A reading of the run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Read {
    /// State it is taken in.
    pub state: State,
    /// In words: the state, or the second reading of the hold.
    pub words: &'static str,
    /// Start and end of what is read, µs.
    pub window: (Micros, Micros),
}

/// A mark on the chart: something begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// When, µs.
    pub at: Micros,
    /// What.
    pub word: &'static str,
}

/// The standard run at one joint of a plant.
pub struct Standard {
    pub(crate) job: Job,
    pub(crate) ops: Vec<Timed>,
    pub(crate) course: Course,
    /// Joint at which the tee sits.
    pub joint: String,
    /// In trade words.
    pub label: String,
    /// What the plant's card lists there. Training values.
    pub card: Vec<Limit>,
    /// The readings in their order.
    pub reads: Vec<Read>,
    /// What begins when.
    pub marks: Vec<Mark>,
    /// Range of the transducer.
    pub range: GaugeRange,
    /// The tee is fitted and zeroed; the run begins, µs.
    pub begins: Micros,
    /// The engine is switched off, µs.
    pub stops: Micros,
    /// The run is over, µs.
    pub ends: Micros,
}

impl Standard {
    /// The run on a plant of a library at a joint (its usual one when none is named).
    ///
    /// # Errors
    /// A sentence: no such plant or joint, or a sound vehicle refuses a step.
    pub fn of(library: &Library, plant: &str, joint: Option<&str>) -> Result<Self, String> {
        let (described, _) = load_plant(library, plant).map_err(|report| report.to_string())?;
        let (card, _) = load_card(library, plant).map_err(|report| report.to_string())?;
        Self::on(&described, &card, joint, &Unwatched)
    }

    /// The run on a plant at a joint (its usual one when none is named), with what a card lists there.
    ///
    /// # Errors
    /// A sentence: no such joint, a sound vehicle refuses a step, or it was cancelled.
    pub fn on(described: &Plant, card: &[Limit], joint: Option<&str>, watch: &dyn Watch) -> Result<Self, String> {
        let mut job = job_of(described)?;
        job.stood_s = STOOD_S;
        let joints = described.joints();
        let named = |wanted: &str| {
            let found = joints
                .iter()
                .find(|(name, label)| name.eq_ignore_ascii_case(wanted) || label.eq_ignore_ascii_case(wanted));
            let names: Vec<&str> = joints.iter().map(|j| j.0.as_str()).collect();
            found.ok_or_else(|| tell!("standard-no-such-joint", wanted = wanted, joints = names.join(", ")))
        };
        let here = match joint {
            Some(wanted) => named(wanted)?,
            None => usual(described, &joints).ok_or(said("standard-no-joint"))?,
        };
        let card: Vec<Limit> = card.iter().filter(|l| l.joint == here.0).cloned().collect();
        match rehearse(&job, here, &card, GaugeRange::Suction, watch) {
            Err(Ends::Beyond) => rehearse(&job, here, &card, GaugeRange::Pressure, watch).map_err(Ends::words),
            run => run.map_err(Ends::words),
        }
    }

    /// What the card says about a reading. The residual pressure of a supply that keeps it isn't read at rest: it was
    /// let out before the tee was fitted.
    pub fn limit(&self, read: &Read) -> Option<&Limit> {
        let is_gone = |l: &Limit| l.state == State::Rest && l.words.contains("residual");
        self.card.iter().find(|l| l.state == read.state && !is_gone(l))
    }
}

/// Where a tee tells most: at the last joint through which fuel is drawn, for what lies behind it all shows there; where
/// a pump in the tank pushes from the start, at the last joint before the engine.
fn usual<'j>(plant: &Plant, joints: &'j [(String, String)]) -> Option<&'j (String, String)> {
    let is_fed = |node: &str| !is_on_return(plant, node);
    let drawn = joints.iter().rfind(|(node, _)| is_fed(node) && !plant.is_under_pressure(node));
    drawn.or_else(|| joints.iter().rfind(|(node, _)| is_fed(node))).or(joints.last())
}

/// Does actions on a sound vehicle.
struct Rehearsal<'w> {
    watch: &'w dyn Watch,
    bay: Bay,
    range: GaugeRange,
    reads: Vec<Read>,
    marks: Vec<Mark>,
    raised: f64,
}

/// Why a rehearsal ends before its time.
enum Ends {
    /// A reading lies beyond the suction range: the other range is wanted, and how this run goes on is of no use.
    Beyond,
    /// A sentence.
    Because(String),
}

impl Ends {
    fn words(self) -> String {
        match self {
            Self::Beyond => said("standard-no-start").to_owned(),
            Self::Because(why) => why,
        }
    }
}

impl From<String> for Ends {
    fn from(why: String) -> Self {
        Self::Because(why)
    }
}

impl From<&str> for Ends {
    fn from(why: &str) -> Self {
        Self::Because(why.to_owned())
    }
}

impl Rehearsal<'_> {
    fn act(&mut self, action: Action) -> Result<(), String> {
        if self.watch.cancelled() {
            return Err(CANCELLED.said().to_owned());
        }
        match self.bay.act(&action) {
            Answer::Done { .. } => Ok(()),
            Answer::Refused { because } => Err(tell!("standard-refused", because = because)),
        }
    }

    fn wait(&mut self, span: Micros) {
        let end = self.bay.now() + span;
        // in slices, which change no bit, so that it can be cancelled; the next action tells
        while self.bay.now() < end && !self.watch.cancelled() {
            self.bay.advance_to((self.bay.now() + SECOND).min(end));
        }
    }

    fn mark(&mut self, word: &'static str) {
        self.marks.push(Mark { at: self.bay.now(), word });
    }

    fn read(&mut self, state: State, words: &'static str) -> Result<(), Ends> {
        let now = self.bay.now();
        let window = (now.saturating_sub(WINDOW), now);
        let mbar = self.bay.observe().gauge.map_or(0.0, |g| g.mbar);
        if self.range == GaugeRange::Suction && mbar > RANGE_FROM_MBAR {
            return Err(Ends::Beyond);
        }
        self.act(Action::Record {
            reading: Reading {
                state,
                value: 0.0,
                unit: Some(PressureUnit::Mbar),
                verdict: Verdict::NotProven,
                source: String::new(),
                window: Some(window),
                remark: String::new(),
            },
        })?;
        self.reads.push(Read { state, words, window });
        Ok(())
    }

    fn look(&mut self, what: Perceived, seen: &str) -> Result<(), String> {
        self.act(Action::Note { what, seen: seen.into() })
    }

    /// Tee, range, purged, zeroed.
    fn fit(&mut self, joint: &str) -> Result<(), String> {
        for step in SafetyStep::ALL {
            self.act(Action::MakeSafe { step })?;
        }
        self.act(Action::FitTee { joint: joint.into(), new_seals: true })?;
        if self.range != GaugeRange::Suction {
            self.act(Action::Range { range: self.range })?;
        }
        self.act(Action::Purge)?;
        self.act(Action::Zero)
    }

    /// A minute at idle. Where the engine dies in it, it is cranked again: what the fitting of the tee let in must be
    /// drawn through first.
    fn start(&mut self) -> Result<(), String> {
        for _ in 0..MOST_STARTS {
            self.wait(60 * SECOND);
            if matches!(self.bay.observe().engine, EngineRun::Steady | EngineRun::Uneven) {
                return Ok(());
            }
            self.act(Action::Crank { secs: 8.0 })?;
        }
        Err(said("standard-no-start").into())
    }

    /// From rest to raised speed under load.
    fn run(&mut self, card: &[Limit]) -> Result<(), Ends> {
        let has = |state: State| card.iter().any(|l| l.state == state);
        self.mark("rest");
        self.wait(5 * SECOND);
        self.read(State::Rest, "rest")?;
        self.act(Action::Key { to: Key::On })?;
        if has(State::Prime) {
            self.mark("prime");
            self.wait(5 * SECOND / 2);
            self.read(State::Prime, "prime")?;
        }
        self.mark("crank");
        self.act(Action::Crank { secs: 8.0 })?;
        self.wait(14 * SECOND / 10);
        self.read(State::Crank, "crank")?;
        self.mark("idle");
        self.start()?;
        self.read(State::Idle, "idle")?;
        self.look(Perceived::Glass, "clear")?;
        let raised = self.raised;
        self.mark("raised");
        self.act(Action::Speed { rpm: raised })?;
        self.wait(30 * SECOND);
        self.read(State::Raised, "raised")?;
        self.look(Perceived::Engine, "steady")?;
        if has(State::Load) {
            self.mark("load");
            self.act(Action::Load { share: 1.0 })?;
            self.wait(20 * SECOND);
            self.read(State::Load, "load")?;
            self.act(Action::Load { share: 0.0 })?;
        }
        self.mark("idle");
        self.act(Action::Speed { rpm: self.bay.idle_speed() })?;
        self.wait(15 * SECOND);
        if has(State::DeadHead) {
            self.mark("shut");
            self.act(Action::Valve { open: 0.0 })?;
            self.wait(48 * SECOND / 10);
            self.read(State::DeadHead, "dead-head")?;
            self.act(Action::Valve { open: 1.0 })?;
            self.mark("open");
            self.wait(10 * SECOND);
        }
        Ok(())
    }
}

fn rehearse(
    job: &Job,
    joint: &(String, String),
    card: &[Limit],
    range: GaugeRange,
    watch: &dyn Watch,
) -> Result<Standard, Ends> {
    let raised = job.plant.engine().ok_or(said("standard-no-engine"))?.raised.si();
    let bay = Bay::rehearsal(job)?;
    let mut r = Rehearsal { watch, bay, range, reads: vec![], marks: vec![], raised };
    r.fit(&joint.0)?;
    let begins = r.bay.now();
    r.run(card)?;
    let stops = r.bay.now();
    r.mark("off");
    r.act(Action::Key { to: Key::Off })?;
    r.wait(MINUTE);
    r.read(State::Hold, said("state-hold-1"))?;
    r.wait(4 * MINUTE);
    r.read(State::Hold, said("state-hold-5"))?;
    Ok(Standard {
        ops: r.bay.ops().to_vec(),
        course: Course::of(&r.bay, Micros::MAX),
        joint: joint.0.clone(),
        label: joint.1.clone(),
        card: card.to_vec(),
        reads: r.reads,
        marks: r.marks,
        range,
        begins,
        stops,
        ends: r.bay.now(),
        job: job.clone(),
    })
}
