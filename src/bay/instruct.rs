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

/// Something an instructor does. Serialised as `{"class": "…", …}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "class", rename_all = "kebab-case")]
pub enum Instruction {
    /// Puts a fault in, beside those that are there. One that lies in the tank (low fuel, water, wrong fuel) is put in as by
    /// somebody with a can: fuel is let out, water is poured in, another fuel takes the place of what is in the supply.
    Inject {
        /// Code in the catalogue.
        fault: String,
        /// Part or node; empty where there is only one.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        at: String,
        /// Severity, 1 … 5.
        severity: f64,
    },
    /// Takes every fault out, also what the learner's own work has left. What lay in the tank is put right as by somebody with
    /// a can, too: filled up to where the job has it, its water drained, the proper fuel in the whole supply.
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
    use super::super::observation::{EngineRun, SampleLook};
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

    fn inject(bay: &mut Bay, fault: &str, at: &str, severity: f64) {
        let what = Instruction::Inject { fault: fault.into(), at: at.into(), severity };
        let answer = bay.instruct(&what);
        assert!(matches!(answer, Answer::Done { .. }), "{fault}: {answer:?}");
    }

    fn dip(bay: &Bay) -> f64 {
        bay.drive.in_tank(0, "tank").expect("a tank") / 1000.0
    }

    /// Fuel is let out under the pick-up, so the engine dies of air; filled again, it can be started. Across both moments
    /// liquid and air add up with the ledgers, and the air over the fuel keeps its pressure.
    #[test]
    fn low_fuel_comes_and_goes_in_a_running_vehicle_and_the_balances_hold() {
        let job = job();
        let mut bay = running(&job);
        let (full, (liquid, air), depression) = (dip(&bay), bay.drive.balances(0), bay.drive.depression(0));
        inject(&mut bay, "F01", "tank", 5.0);
        let low = dip(&bay);
        assert!(low < 0.2 * full, "{full} l, then {low} l");
        let (liquid_low, air_low) = bay.drive.balances(0);
        assert!(
            (liquid_low - liquid).abs() < 1e-3 && (air_low - air).abs() < 1e-3,
            "{liquid} {liquid_low}, {air} {air_low}"
        );
        assert!((bay.drive.depression(0) - depression).abs() < 1.0);
        bay.advance_to(bay.now() + 90 * SECOND);
        assert!(bay.drive.gas_in_glass(0).unwrap() > 0.05, "air is drawn");
        let (liquid, air) = bay.drive.balances(0);
        assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }));
        assert!(dip(&bay) >= full - 0.5, "{full} l, then {} l", dip(&bay));
        let (liquid_full, air_full) = bay.drive.balances(0);
        assert!((liquid_full - liquid).abs() < 1e-3 && (air_full - air).abs() < 1e-3);
        // a fault elsewhere leaves the tank alone, coming and going
        let now = dip(&bay);
        inject(&mut bay, "F15", "filter", 3.0);
        assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }));
        assert_eq!(dip(&bay), now);
    }

    /// What is poured in is found by a sample and stays all in the vehicle until some of it is burned; drained, nothing is
    /// left, and the tank holds so much less.
    #[test]
    fn water_is_poured_in_and_drained() {
        let job = job();
        let mut bay = running(&job);
        let (before, dry) = (dip(&bay), bay.drive.water(0).expect("water is followed"));
        assert_eq!(dry, (0.0, 0.0));
        inject(&mut bay, "F05", "filter", 4.0);
        let (wet, _) = bay.drive.water(0).unwrap();
        assert!(wet > 500.0 && (dip(&bay) - before - wet / 1000.0).abs() < 1e-6, "{wet} mL");
        bay.advance_to(bay.now() + 60 * SECOND);
        let (inside, gone) = bay.drive.water(0).unwrap();
        assert!((inside + gone - wet).abs() < 1e-3 * wet, "{inside} and {gone} of {wet}");
        assert!(inside < wet, "some of it was drawn");
        say(&job, &mut bay, "key off\nwait 60");
        assert_eq!(bay.drive.sample_now(0), SampleLook::Water);
        assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }));
        assert_eq!(bay.drive.water(0).unwrap().0, 0.0);
        assert!(dip(&bay) < before + 0.01, "{before} l, then {} l", dip(&bay));
        assert_ne!(bay.drive.sample_now(0), SampleLook::Water);
    }

    #[test]
    fn another_fuel_takes_the_place_of_the_proper_one_and_gives_it_back() {
        let job = job();
        let mut bay = running(&job);
        let (sound, level) = (bay.drive.sample_now(0), dip(&bay));
        inject(&mut bay, "F06", "tank", 5.0);
        assert_eq!(bay.drive.sample_now(0), SampleLook::Wrong);
        assert!((dip(&bay) - level).abs() < 1e-6, "a flush leaves the tank as full");
        bay.advance_to(bay.now() + 90 * SECOND);
        assert!(!matches!(bay.observe().engine, EngineRun::Steady), "no engine runs on it");
        assert!(matches!(bay.instruct(&Instruction::Clear), Answer::Done { .. }));
        assert_eq!(bay.drive.sample_now(0), sound);
        say(&job, &mut bay, "crank 8\nwait 60");
        assert_eq!(bay.observe().engine, EngineRun::Steady);
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
