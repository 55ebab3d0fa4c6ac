//! Every test of a job, what it takes, and a complete run of all of them.
//!
//! The complete run is done by the bay on a sound vehicle to get its times (`rehearsal`). Its lines are the
//! features that a test *would* have shown on each reference vehicle; its minutes count from where the
//! learner stands: moving the tee costs what it costs the learner, an engine that runs needn't be started.
//! Purging, zeroing and safety steps are required and cost nothing here, as they cost the learner nothing.
//!
//! What the bay refuses on a sound vehicle of the job (no electric pump to clamp, no primer, petrol under
//! vacuum) isn't in the menu. Wiggling and tilting are there where a candidate's vehicles can be shaken or tilted
//! into showing something; elsewhere they would tell nothing. The back-pressure of a return is the run at its joint.

mod rehearsal;

use super::ensemble::Course;
use crate::bay::action::{Action, Key, MINUTE, Micros, SECOND, State};
use crate::bay::{Bay, EvidenceKind};
use crate::plant::assemble::PRIMER_STROKES_PER_S;
use crate::scenario::model::Job;
use crate::tell;
pub use rehearsal::{line_name, line_words, menu};

/// Minutes for fitting the tee, and for moving it.
const FIT_MIN: f64 = 15.0;
const MOVE_MIN: f64 = 12.0;
/// Minutes for leading the engine's feed back to its tank.
const REJOIN_MIN: f64 = 12.0;
/// Credits for the seals of a joint that was opened.
const SEALS_CREDITS: f64 = 2.0;
/// Most tests of a job; beyond it, single readings at joints between the first and the last are left to
/// the run there.
pub const MOST_TESTS: usize = 40;
/// Strokes of the hand primer in its test.
const STROKES: u32 = 12;
/// Waits of the standard run.
const STARTED: Micros = 60 * SECOND + 14 * SECOND / 10;
const RAISED: Micros = 30 * SECOND;
const LOADED: Micros = 20 * SECOND;
const BACK_AT_IDLE: Micros = 15 * SECOND;
const SHUT: Micros = 48 * SECOND / 10;
const PRIMED: Micros = 2 * SECOND;
const REST: Micros = 5 * SECOND;
const HOLD: Micros = MINUTE;
const LONG_HOLD: Micros = 5 * MINUTE;

/// What a test is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Opening the filler cap.
    Cap,
    /// Working the hand primer.
    Primer,
    /// Dipping the tank and looking at a sample from it.
    Sample,
    /// Battery and cranking speed.
    Battery,
    /// Listening to an electric pump as the key is turned.
    Listen,
    /// What the vehicle's own sensor and control report.
    OwnSensor,
    /// Voltage drops of a running electric pump's feed and earth.
    Volts,
    /// Current of a running electric pump.
    Clamp,
    /// Volume that comes back in half a minute.
    Return,
    /// Volume that a joint delivers into a jar.
    Delivery,
    /// A reading in this state, with a look at what there is to be seen.
    State(State),
    /// The hold after five minutes.
    LongHold,
    /// The standard run at a joint: every state in turn, the hold after a minute at its end.
    Run,
    /// Ten minutes at raised speed, then the filler cap opened while the fault is present.
    CapUnderway,
    /// The closed section drawn down by a hand pump and watched for five minutes.
    Drawdown,
    /// The engine fed from an external container.
    Bypass,
    /// A part warmed by warm air while the engine runs.
    Warm,
    /// A part cooled by a wet cloth while the engine runs.
    Cool,
    /// Volume that a joint delivers through a throttle that keeps about working pressure.
    Throttled,
    /// A second transducer at another joint, read with the tee's in the same states.
    Second,
    /// The hold with a soft hose pinched.
    Pinched,
    /// The pull on the starter against a plug at another joint.
    Plugged,
    /// Air on the closed section, its joints gone over with soapy water.
    Soapy,
    /// A part wiggled while the engine runs.
    Wiggle,
    /// The vehicle on a slope, at raised speed.
    Tilt,
}

/// A test that is allowed.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// What it is.
    pub kind: Kind,
    /// Joint at which the tee sits; empty for tests without it.
    pub joint: String,
    /// In words, such as "hold reading at the filter outlet".
    pub words: String,
    /// Lines of the complete run that it gives.
    pub lines: Vec<usize>,
    /// Minutes beyond set-up that aren't in the table of states: those of the bay.
    pub own_minutes: f64,
    /// Credits for seals besides those of the tee.
    pub own_credits: f64,
}

/// How things stand when a test is considered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Joint at which the tee sits.
    pub tee: Option<String>,
    /// The engine runs.
    pub running: bool,
    /// The engine is fed from an external container.
    pub container: bool,
}

impl Standing {
    /// What an action that was done makes of it.
    pub fn after(&mut self, action: &Action) {
        match action {
            Action::FitTee { joint, .. } => {
                *self = Self { tee: Some(joint.clone()), running: false, container: self.container }
            }
            Action::RemoveTee { .. } => *self = Self { container: self.container, ..Self::default() },
            Action::Container { joint } => (self.container, self.running) = (joint.is_some(), false),
            Action::Crank { .. } => self.running = true,
            Action::Key { to: Key::Off } => self.running = false,
            Action::Purge | Action::Zero | Action::Prime { .. } | Action::Bleed => self.running = false,
            _ => {}
        }
    }
}

fn minutes(span: Micros) -> f64 {
    span as f64 / MINUTE as f64
}

impl Test {
    /// Net minutes of the test from how things stand, set-up included.
    pub fn minutes(&self, standing: &Standing) -> f64 {
        let there = standing.tee.as_deref() == Some(self.joint.as_str());
        let tee = match &standing.tee {
            _ if self.joint.is_empty() || there => 0.0,
            Some(_) => MOVE_MIN,
            None => FIT_MIN,
        };
        let rejoin = if standing.container && self.kind != Kind::Bypass { REJOIN_MIN } else { 0.0 };
        let warm = standing.running && (there || self.joint.is_empty()) && rejoin == 0.0;
        let start = if warm { 0.0 } else { minutes(STARTED) };
        tee + rejoin
            + match self.kind {
                Kind::Cap => 1.0,
                Kind::Primer => (f64::from(STROKES) + 1.0) / PRIMER_STROKES_PER_S / 60.0,
                Kind::State(State::Rest) => minutes(REST),
                Kind::State(State::Crank) => minutes(14 * SECOND / 10),
                Kind::State(State::Idle) => start.max(minutes(BACK_AT_IDLE)),
                Kind::State(State::Prime) => minutes(PRIMED),
                Kind::State(State::Raised) => start + minutes(RAISED),
                Kind::State(State::Load) => start + minutes(LOADED),
                Kind::State(State::DeadHead) => start + minutes(SHUT),
                Kind::State(State::Hold) => start + minutes(HOLD),
                Kind::LongHold => start + minutes(LONG_HOLD),
                Kind::Run => minutes(REST + STARTED + RAISED + BACK_AT_IDLE + SHUT + 10 * SECOND + HOLD),
                Kind::Sample | Kind::Battery | Kind::Listen | Kind::Delivery | Kind::Throttled => self.own_minutes,
                // the engine is started within them, or stands
                Kind::Drawdown | Kind::Soapy | Kind::Second | Kind::Pinched | Kind::Plugged => self.own_minutes,
                Kind::OwnSensor
                | Kind::Volts
                | Kind::Clamp
                | Kind::Return
                | Kind::CapUnderway
                | Kind::Warm
                | Kind::Cool
                | Kind::Wiggle
                | Kind::Tilt => start + self.own_minutes,
                // the feed is led in anew unless it is already
                Kind::Bypass if standing.container => self.own_minutes - REJOIN_MIN,
                Kind::Bypass => self.own_minutes,
            }
    }

    /// Credits that the test costs from how things stand.
    pub fn credits(&self, standing: &Standing) -> f64 {
        let there = self.joint.is_empty() || standing.tee.as_deref() == Some(self.joint.as_str());
        let own = if self.kind == Kind::Bypass && standing.container { 0.0 } else { self.own_credits };
        own + if there { 0.0 } else { SEALS_CREDITS }
    }

    /// Units of risk: 1 where the line is shut against a running pump or fuel runs into an open jar.
    pub fn risk(&self) -> f64 {
        let opened = matches!(self.kind, Kind::State(State::DeadHead) | Kind::Delivery | Kind::Throttled);
        if opened { 1.0 } else { 0.0 }
    }

    /// How things stand after it.
    pub fn leaves(&self, before: &Standing) -> Standing {
        let running = match self.kind {
            Kind::State(State::Crank | State::Idle | State::Raised | State::Load | State::DeadHead)
            | Kind::OwnSensor
            | Kind::Volts
            | Kind::Clamp
            | Kind::Return
            | Kind::CapUnderway
            | Kind::Bypass
            | Kind::Second
            | Kind::Wiggle
            | Kind::Tilt
            | Kind::Cool
            | Kind::Warm => true,
            Kind::Cap => before.running,
            // the run ends with its hold
            _ => false,
        };
        let tee = if self.joint.is_empty() { before.tee.clone() } else { Some(self.joint.clone()) };
        Standing { tee, running, container: self.kind == Kind::Bypass }
    }
}

/// The standard run at each joint, made up of the tests there.
fn runs(tests: &[Test], job: &Job) -> Vec<Test> {
    let mut runs: Vec<Test> = vec![];
    for test in tests.iter().filter(|t| matches!(t.kind, Kind::State(_))) {
        if let Some(run) = runs.iter_mut().find(|r| r.joint == test.joint) {
            run.lines.extend(&test.lines);
        } else {
            let label = job.joints.iter().find(|j| j.0 == test.joint).map_or(test.joint.as_str(), |j| &j.1);
            let words = tell!("diagnosis-standard-run-at", label = label);
            runs.push(Test { kind: Kind::Run, words, ..test.clone() });
        }
    }
    runs
}

/// All tests of a job.
#[derive(Clone, Debug)]
pub struct Menu {
    /// The complete run.
    pub course: Course,
    /// The tests, in the order of the run.
    pub tests: Vec<Test>,
    /// Where and in which state the run reads the pressure, and the first line of it: also where the test of its own was
    /// given up for those at the ends.
    pub readings: Vec<(String, State, usize)>,
    /// What each line of the complete run reads: equal names share what is uncertain. Not for people.
    pub names: Vec<String>,
    /// The same for people: "idle reading", "look at the glass".
    pub labels: Vec<String>,
    /// The words that each line may hold; none for a number.
    pub words: Vec<Vec<&'static str>>,
    /// The unit of each line's number; empty for a word.
    pub units: Vec<&'static str>,
}

impl Menu {
    fn new(bay: &Bay, mut tests: Vec<Test>, job: &Job) -> Self {
        let course = Course::of(bay, Micros::MAX);
        let (mut names, mut labels, mut words, mut units) = (vec![], vec![], vec![], vec![]);
        for (line, evidence) in bay.evidence().iter().enumerate() {
            names.push(line_name(&evidence.kind, line));
            labels.push(line_words(&evidence.kind));
            let (said, unit) = match &evidence.kind {
                EvidenceKind::Level { .. } => (vec![], "mbar"),
                EvidenceKind::Number { probe, .. } => (vec![], probe.quantity().unit().symbol()),
                EvidenceKind::Word { what, .. } => (Bay::words_for(*what), ""),
            };
            words.push(said);
            units.push(unit);
        }
        let read = |test: &Test| match test.kind {
            Kind::State(state) => test.lines.first().map(|line| (test.joint.clone(), state, *line)),
            _ => None,
        };
        let readings = tests.iter().filter_map(read).collect();
        let runs = runs(&tests, job);
        tests.extend(runs);
        let ends = [job.joints.first(), job.joints.last()];
        let at_end = |joint: &str| ends.iter().flatten().any(|(name, _)| name == joint);
        for kind in [State::Hold, State::Idle, State::Raised, State::Load] {
            while tests.len() > MOST_TESTS
                && let Some(i) = tests.iter().rposition(|t| t.kind == Kind::State(kind) && !at_end(&t.joint))
            {
                tests.remove(i);
            }
        }
        Self { course, tests, readings, names, labels, words, units }
    }
}

#[cfg(test)]
mod tests {
    use super::super::ensemble::drive;
    use super::super::hypothesis::draws;
    use super::*;
    use crate::scenario::{Library, load_job};

    fn built_in() -> Job {
        match load_job(&Library::builtin(), "bypass-puff") {
            Ok((job, _)) => job,
            Err(_) => panic!("the built-in job loads"),
        }
    }

    #[test]
    fn every_line_of_the_run_belongs_to_one_test() {
        let menu = menu(&built_in()).unwrap();
        let single = menu.tests.iter().filter(|t| t.kind != Kind::Run);
        let lines: Vec<usize> = single.flat_map(|t| t.lines.clone()).collect();
        assert_eq!(lines, (0..lines.len()).collect::<Vec<_>>());
        assert_eq!(menu.course.lines(), lines.len());
        assert!(menu.tests.iter().any(|t| t.words == "opening of the filler cap"));
        let run = menu.tests.iter().find(|t| t.kind == Kind::Run).unwrap();
        assert_eq!(run.lines.len(), 8);
        // all at one fitting takes less than each by itself
        let cold = Standing::default();
        let each: f64 =
            menu.tests.iter().filter(|t| matches!(t.kind, Kind::State(_))).map(|t| t.minutes(&cold)).sum();
        assert!(run.minutes(&cold) < 0.5 * each);
    }

    #[test]
    fn set_up_that_stands_costs_nothing() {
        let menu = menu(&built_in()).unwrap();
        let idle = menu.tests.iter().find(|t| t.kind == Kind::State(State::Idle)).unwrap();
        let mut standing = Standing::default();
        let cold = idle.minutes(&standing);
        standing.after(&Action::FitTee { joint: idle.joint.clone(), new_seals: true });
        let fitted = idle.minutes(&standing);
        standing.after(&Action::Crank { secs: 8.0 });
        assert!((cold - fitted - FIT_MIN).abs() < 1e-12);
        assert_eq!(idle.minutes(&standing), 0.25);
        assert_eq!([idle.credits(&Standing::default()), idle.credits(&standing)], [SEALS_CREDITS, 0.0]);
        standing.after(&Action::FitTee { joint: "elsewhere".into(), new_seals: true });
        assert!((idle.minutes(&standing) - fitted - MOVE_MIN).abs() < 1e-12);
    }

    #[test]
    fn no_reference_vehicle_of_a_complete_run_gets_stuck() {
        let job = built_in();
        let menu = menu(&job).unwrap();
        for draw in draws(&job, 24).iter().step_by(7) {
            let work = drive(&job, [draw], &menu.course).unwrap().work();
            assert_eq!(work.forced, 0, "{draw:?}");
            // some two hours of work, of which the vehicle stands for half
            assert!(work.steps < 30_000, "{draw:?}: {work:?}");
        }
    }

    /// A plugged or pinched part leaves a pipe's flow to hang around nothing, where a law without a slope has no stable step.
    #[test]
    fn nor_does_one_at_a_boat_of_which_everything_may_be_plugged() {
        let Ok((mut job, _)) = load_job(&Library::builtin(), "stops-when-she-heels") else { panic!("it loads") };
        (job.plant.service.blocked_inlet, job.plant.service.blocked_outlet) = (true, true);
        job.joints = job.plant.joints();
        job.withheld.clear();
        let menu = menu(&job).unwrap();
        let weak = draws(&job, 16).into_iter().filter(|d| d.faults.iter().any(|f| f.fault == "F20"));
        for draw in weak.step_by(5) {
            let work = drive(&job, [&draw], &menu.course).unwrap().work();
            assert_eq!(work.forced, 0, "{draw:?}");
            assert!(work.steps + work.rejected < 10_000, "{draw:?}: {work:?}");
        }
    }
}
