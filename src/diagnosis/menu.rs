//! Every test of a job, what it takes, and a complete run of all of them.
//!
//! The complete run is done by the bay on a sound vehicle to get its times. Its lines are the features
//! that a test *would* have shown on each reference vehicle; its minutes count from where the learner
//! stands: moving the tee costs what it costs the learner, an engine that runs needn't be started.
//! Purging and zeroing are required steps and cost nothing here, as they cost the learner nothing.

use super::ensemble::Course;
use crate::bay::Bay;
use crate::bay::action::{Action, Key, MINUTE, Micros, Perceived, Reading, SECOND, SafetyStep, State, Verdict};
use crate::plant::assemble::PRIMER_STROKES_PER_S;
use crate::scenario::model::Job;
use crate::units::PressureUnit;

/// Minutes for fitting the tee, and for moving it.
const FIT_MIN: f64 = 15.0;
const MOVE_MIN: f64 = 12.0;
/// Credits for the seals of a joint that was opened.
const SEALS_CREDITS: f64 = 2.0;
/// Strokes of the hand primer in its test.
const STROKES: u32 = 12;
/// Waits of the standard run.
const STARTED: Micros = 60 * SECOND + 14 * SECOND / 10;
const RAISED: Micros = 30 * SECOND;
const BACK_AT_IDLE: Micros = 15 * SECOND;
const SHUT: Micros = 48 * SECOND / 10;
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
    /// A reading in this state, with a look at what there is to be seen.
    State(State),
    /// The hold after five minutes.
    LongHold,
    /// The standard run at a joint: every state in turn, the hold after a minute at its end.
    Run,
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
}

/// How things stand when a test is considered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Standing {
    /// Joint at which the tee sits.
    pub tee: Option<String>,
    /// The engine runs.
    pub running: bool,
}

impl Standing {
    /// What an action that was done makes of it.
    pub fn after(&mut self, action: &Action) {
        match action {
            Action::FitTee { joint, .. } => *self = Self { tee: Some(joint.clone()), running: false },
            Action::RemoveTee { .. } => *self = Self::default(),
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
        let warm = standing.running && (there || self.joint.is_empty());
        let start = if warm { 0.0 } else { minutes(STARTED) };
        tee + match self.kind {
            Kind::Cap => 1.0,
            Kind::Primer => (f64::from(STROKES) + 1.0) / PRIMER_STROKES_PER_S / 60.0,
            Kind::State(State::Rest) => minutes(REST),
            Kind::State(State::Crank) => minutes(14 * SECOND / 10),
            Kind::State(State::Idle) => start.max(minutes(BACK_AT_IDLE)),
            Kind::State(State::Prime) => minutes(REST),
            Kind::State(State::Raised | State::Load) => start + minutes(RAISED),
            Kind::State(State::DeadHead) => start + minutes(SHUT),
            Kind::State(State::Hold) => start + minutes(HOLD),
            Kind::LongHold => start + minutes(LONG_HOLD),
            Kind::Run => minutes(REST + STARTED + RAISED + BACK_AT_IDLE + SHUT + 10 * SECOND + HOLD),
        }
    }

    /// Credits that the test costs from how things stand.
    pub fn credits(&self, standing: &Standing) -> f64 {
        let there = self.joint.is_empty() || standing.tee.as_deref() == Some(self.joint.as_str());
        if there { 0.0 } else { SEALS_CREDITS }
    }

    /// Units of risk: 1 where the line is shut against a running pump.
    pub fn risk(&self) -> f64 {
        if self.kind == Kind::State(State::DeadHead) { 1.0 } else { 0.0 }
    }
}

/// The standard run at each joint, made up of the tests there.
fn runs(tests: &[Test]) -> Vec<Test> {
    let mut runs: Vec<Test> = vec![];
    for test in tests.iter().filter(|t| matches!(t.kind, Kind::State(_))) {
        if let Some(run) = runs.iter_mut().find(|r| r.joint == test.joint) {
            run.lines.extend(&test.lines);
        } else {
            let label = test.words.split_once(" at the ").map_or("", |(_, label)| label);
            let words = format!("standard run at the {label}");
            runs.push(Test { kind: Kind::Run, joint: test.joint.clone(), words, lines: test.lines.clone() });
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
}

/// Does actions one after the other on a sound vehicle.
struct Scripter {
    bay: Bay,
    tests: Vec<Test>,
    lines: usize,
    joint: (String, String),
}

impl Scripter {
    fn act(&mut self, action: Action) {
        self.bay.act(&action);
    }

    fn wait(&mut self, span: Micros) {
        self.bay.advance_to(self.bay.now() + span);
    }

    fn test(&mut self, kind: Kind, words: &str) {
        let (joint, label) = match kind {
            Kind::Cap | Kind::Primer => (String::new(), words.to_owned()),
            _ => (self.joint.0.clone(), format!("{words} at the {}", self.joint.1)),
        };
        self.tests.push(Test { kind, joint, words: label, lines: vec![] });
    }

    fn line(&mut self) {
        let line = self.lines;
        self.lines += 1;
        if let Some(test) = self.tests.last_mut() {
            test.lines.push(line);
        }
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
        self.line();
    }

    fn read(&mut self, state: State) {
        self.test(Kind::State(state), &format!("{} reading", state.word()));
        self.record(state);
    }

    fn note(&mut self, what: Perceived, seen: &str) {
        self.act(Action::Note { what, seen: seen.into() });
        self.line();
    }

    /// The standard run at a joint.
    fn run_at(&mut self, joint: &(String, String), dead_head: bool) {
        self.joint = joint.clone();
        self.act(Action::FitTee { joint: joint.0.clone(), new_seals: true });
        self.act(Action::Purge);
        self.act(Action::Zero);
        self.wait(REST);
        self.read(State::Rest);
        self.act(Action::Key { to: Key::On });
        self.act(Action::Crank { secs: 8.0 });
        self.wait(14 * SECOND / 10);
        self.read(State::Crank);
        self.wait(60 * SECOND);
        self.read(State::Idle);
        self.note(Perceived::Glass, "clear");
        self.act(Action::Speed { rpm: 2500.0 });
        self.wait(RAISED);
        self.read(State::Raised);
        self.note(Perceived::Engine, "steady");
        self.act(Action::Speed { rpm: self.bay.idle_speed() });
        self.wait(BACK_AT_IDLE);
        if dead_head {
            self.act(Action::Valve { open: 0.0 });
            self.wait(SHUT);
            self.read(State::DeadHead);
            self.act(Action::Valve { open: 1.0 });
            self.wait(10 * SECOND);
        }
        self.act(Action::Key { to: Key::Off });
        self.wait(HOLD);
        self.read(State::Hold);
        self.wait(LONG_HOLD - HOLD);
        self.test(Kind::LongHold, "hold reading after five minutes");
        self.record(State::Hold);
    }
}

/// Every test of a job, done in order: free checks first, then the standard run at the last and at
/// the first joint.
///
/// # Errors
/// When the job's plant can't be built.
pub fn menu(job: &Job) -> Result<Menu, String> {
    let bay = Bay::rehearsal(job)?;
    let mut s = Scripter { bay, tests: vec![], lines: 0, joint: Default::default() };
    for step in [SafetyStep::Protection, SafetyStep::Ventilation, SafetyStep::Chocks] {
        s.act(Action::MakeSafe { step });
    }
    s.act(Action::Cap { open: true });
    s.test(Kind::Cap, "opening of the filler cap");
    s.note(Perceived::Cap, "silent");
    s.act(Action::Cap { open: false });
    s.act(Action::Prime { strokes: STROKES });
    s.test(Kind::Primer, "feel of the primer");
    s.note(Perceived::Primer, "firm");
    let joints = &job.joints;
    if let Some(last) = joints.last() {
        s.run_at(last, true);
    }
    if let Some(first) = joints.first().filter(|_| joints.len() > 1) {
        s.run_at(first, false);
    }
    let course = Course::of(&s.bay, Micros::MAX);
    let runs = runs(&s.tests);
    s.tests.extend(runs);
    Ok(Menu { course, tests: s.tests })
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
            assert!(work.steps < 6000, "{draw:?}: {work:?}");
        }
    }
}
