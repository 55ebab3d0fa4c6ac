//! What an instructor does to a sitting while a class looks on: puts a fault in, takes every fault out, shows what is
//! wrong. No learner's hands can do it, so it is no [`Action`](super::action::Action); it is written into the attempt
//! like one and replayed like one, to the same bits.
//!
//! Only while practising. A sitting that was changed or shown gives no mark: what was read before belongs to another
//! vehicle than what was read after, and who has seen the answer can't earn it.

use serde::{Deserialize, Serialize};

use super::Bay;
use super::observation::Answer;
use crate::fault::{FaultInstance, Place, by_code};
use crate::language::said;
use crate::scenario::model::Mode;
use crate::tell;

/// Faults that lie in the tank from the start: how full it is, what is in it. Nothing puts them in later.
const FROM_THE_START: [&str; 3] = ["F01", "F05", "F06"];

/// Something an instructor does. Serialised as `{"class": "…", …}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "class", rename_all = "kebab-case")]
pub enum Instruction {
    /// Puts a fault in, beside those that are there.
    Inject {
        /// Code in the catalogue.
        fault: String,
        /// Part or node; empty where there is only one.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        at: String,
        /// Severity, 1 … 5.
        severity: f64,
    },
    /// Takes every fault out, also what the learner's own work has left.
    Clear,
    /// Shows what is wrong, and opens the line.
    Reveal,
}

/// What an instructor did to a sitting.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Instructed {
    /// A fault was put in, or faults were taken out.
    pub changed: bool,
    /// It was shown what is wrong.
    pub revealed: bool,
}

impl Instructed {
    /// Why there is no mark; none when nothing was done.
    pub fn no_mark(self) -> Option<&'static str> {
        match (self.revealed, self.changed) {
            (true, _) => Some(said("bay-instruct-was-revealed")),
            (false, true) => Some(said("bay-instruct-was-changed")),
            (false, false) => None,
        }
    }
}

impl Bay {
    /// What an instructor did so far.
    pub fn instructed(&self) -> Instructed {
        self.instructed
    }

    /// Carries out what an instructor does, now. It takes no simulated time.
    pub fn instruct(&mut self, what: &Instruction) -> Answer {
        let done = self.may_be_instructed().and_then(|()| {
            self.last_action = self.now();
            self.take_moment();
            let done = match what {
                Instruction::Inject { fault, at, severity } => self.inject(fault, at, *severity),
                Instruction::Clear => self.clear(),
                Instruction::Reveal => {
                    self.instructed.revealed = true;
                    Ok(said("bay-instruct-revealed").into())
                }
            };
            self.take_moment();
            done
        });
        match done {
            Ok(says) => Answer::Done { says, breach: None },
            Err(because) => Answer::Refused { because },
        }
    }

    fn may_be_instructed(&self) -> Result<(), String> {
        if self.job.mode == Mode::Assessment {
            return Err(said("bay-instruct-not-in-assessment").into());
        }
        if self.over {
            return Err(said("bay-act-sitting-over").into());
        }
        Ok(())
    }

    fn inject(&mut self, code: &str, at: &str, severity: f64) -> Result<String, String> {
        let entry = by_code(code).ok_or_else(|| tell!("bay-instruct-no-code", code = code))?;
        if FROM_THE_START.contains(&entry.code) {
            return Err(tell!("bay-instruct-from-the-start", name = entry.name));
        }
        if matches!(entry.place, Place::Kit | Place::Nowhere) {
            return Err(tell!("bay-instruct-not-in-vehicle", name = entry.name));
        }
        if !(1.0..=5.0).contains(&severity) {
            return Err(said("bay-instruct-severity").into());
        }
        let put = self.drive.put_in(FaultInstance::new(entry.code, at, severity));
        put.map_err(|why| tell!("bay-instruct-cant-put-in", why = why.trim_end_matches('.')))?;
        self.instructed.changed = true;
        Ok(said("bay-instruct-injected").into())
    }

    fn clear(&mut self) -> Result<String, String> {
        self.drive.take_out()?;
        self.instructed.changed = true;
        Ok(said("bay-instruct-cleared").into())
    }
}

#[cfg(test)]
mod tests {
    use super::super::action::{Action, SECOND};
    use super::super::words::{self, Said, Terms};
    use super::*;
    use crate::fault::CATALOGUE;
    use crate::scenario::model::Job;
    use crate::scenario::{Library, load_job};

    fn job() -> Job {
        load_job(&Library::builtin(), "nothing-wrong").expect("a built-in job").0
    }

    fn say(job: &Job, bay: &mut Bay, lines: &str) {
        for line in lines.lines() {
            let Ok(Some(Said::Do(action))) = words::read(line, &Terms::of(job), bay.now()) else {
                panic!("{line}")
            };
            assert!(matches!(bay.act(&action), Answer::Done { .. }), "{line}");
        }
    }

    fn running(job: &Job) -> Bay {
        let mut bay = Bay::new(job, 4).unwrap();
        say(
            job,
            &mut bay,
            "safe pressure-away\nfit pump-in\npurge\nzero\nkey on\ncrank 8\nwait 30\nspeed raised\nwait 20",
        );
        bay
    }

    fn mbar(bay: &Bay) -> f64 {
        bay.observe().gauge.expect("a gauge").mbar
    }

    #[test]
    fn a_fault_comes_and_goes_in_a_running_vehicle() {
        let job = job();
        let mut bay = running(&job);
        let sound = mbar(&bay);
        let plug = Instruction::Inject { fault: "F15".into(), at: "filter".into(), severity: 3.0 };
        assert!(matches!(bay.instruct(&plug), Answer::Done { .. }));
        bay.advance_to(bay.now() + 20 * SECOND);
        let plugged = mbar(&bay);
        assert!(plugged < sound - 40.0, "{sound} then {plugged}");
        assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }));
        bay.advance_to(bay.now() + 40 * SECOND);
        assert!((mbar(&bay) - sound).abs() < 20.0, "{sound} then {}", mbar(&bay));
        assert_eq!(bay.instructed(), Instructed { changed: true, revealed: false });
        assert!(bay.instructed().no_mark().is_some() && Instructed::default().no_mark().is_none());
    }

    #[test]
    fn every_fault_is_put_in_or_refused_with_a_reason_and_the_vehicle_goes_on() {
        let job = job();
        let mut bay = running(&job);
        for fault in CATALOGUE {
            let at = fault.places(&job.plant).first().cloned().unwrap_or_default();
            let change = Instruction::Inject { fault: fault.code.into(), at, severity: 2.0 };
            match bay.instruct(&change) {
                Answer::Done { .. } => {
                    bay.advance_to(bay.now() + 2 * SECOND);
                    assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }), "{}", fault.code);
                }
                Answer::Refused { because } => assert!(because.ends_with('.'), "{}: {because}", fault.code),
            }
        }
    }

    #[test]
    fn nothing_of_it_happens_in_an_assessment_or_after_hand_back() {
        let exam = Job { mode: Mode::Assessment, ..job() };
        let all = [
            Instruction::Inject { fault: "F15".into(), at: "filter".into(), severity: 3.0 },
            Instruction::Clear,
            Instruction::Reveal,
        ];
        let mut bay = Bay::new(&exam, 4).unwrap();
        for what in &all {
            assert!(matches!(bay.instruct(what), Answer::Refused { .. }), "{what:?}");
        }
        assert_eq!(bay.instructed(), Instructed::default());
        assert!(bay.revealed().is_none());
        let mut bay = Bay::new(&job(), 4).unwrap();
        bay.act(&Action::HandBack);
        for what in &all {
            assert!(matches!(bay.instruct(what), Answer::Refused { .. }), "{what:?}");
        }
    }

    #[test]
    fn the_door_opens_only_when_it_was_shown() {
        let job = load_job(&Library::builtin(), "bypass-puff").unwrap().0;
        let mut bay = Bay::new(&job, 4).unwrap();
        assert!(bay.revealed().is_none());
        let more = Instruction::Inject { fault: "F03".into(), at: "strainer".into(), severity: 2.0 };
        bay.instruct(&more);
        assert!(bay.revealed().is_none());
        bay.instruct(&Instruction::Reveal);
        let words = bay.revealed().expect("shown").in_words();
        assert!(words.contains("Filter element plugged") && words.contains("; "), "{words}");
    }
}
