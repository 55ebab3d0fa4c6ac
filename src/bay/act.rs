//! From an action to what happens.

use super::Bay;
use super::action::{Action, Key, MINUTE, Micros, SafetyStep};
use super::drive::op::Op;
use super::words::print;
use crate::language::{named, said};
use crate::tell;

/// Longest single wait, s: a week.
const LONGEST_WAIT_S: f64 = 604_800.0;
/// Pressure that has to be let out before a joint is opened, Pa.
pub(super) const UNDER_PRESSURE_PA: f64 = 30_000.0;
/// Waiting time after running before a joint is opened.
const COOL_DOWN: Micros = 10 * MINUTE;

impl Bay {
    pub(super) fn perform(&mut self, action: &Action) -> Result<String, String> {
        self.offered(action)?;
        match action {
            Action::MakeSafe { step } => self.make_safe(*step),
            Action::Ask { question } => self.ask(question),
            Action::Look { part } => self.look(part),
            Action::FitTee { joint, new_seals } => self.fit_tee(joint, *new_seals),
            Action::RemoveTee { new_seals } => self.remove_tee(*new_seals),
            Action::Purge => self.purge(),
            Action::Zero => self.zero(),
            Action::Key { to } => self.turn_key(*to),
            Action::Crank { secs } => self.try_crank(*secs),
            Action::Speed { rpm } => self.set_speed(*rpm),
            Action::Load { share } => self.set_load(*share),
            Action::Snap => self.snap(),
            Action::Tap { part, open } => self.move_tap(part, *open),
            Action::Range { range } => self.change_range(*range),
            Action::SecondGauge { joint } => self.second_gauge(joint.as_deref()),
            Action::Sample => self.sample(),
            Action::Codes => self.read_codes(),
            Action::Listen { part } => self.listen(part),
            Action::Battery => self.battery_test(),
            Action::Measure { probe } => self.measure(probe),
            Action::ZeroClamp { large } => self.zero_clamp(*large),
            Action::Capture { part, start } => self.capture(part, *start),
            Action::RecordTest { entry } => self.record_test(entry),
            Action::Pinch { part, on } => self.pinch(part, *on),
            Action::Blank { joint } => self.blank(joint.as_deref()),
            Action::Bridge { part, on } => self.bridge(part, *on),
            Action::Deliver { joint, secs, throttled } => self.deliver(joint, *secs, *throttled),
            Action::ReturnFlow { secs } => self.return_flow(*secs),
            Action::VacuumTest => self.vacuum_test(),
            Action::AirTest => self.air_test(),
            Action::Treat { place, warm } => self.treat(place, *warm),
            Action::Wiggle { place } => self.wiggle(place),
            Action::Tilt { degrees } => self.tilt(*degrees),
            Action::Valve { open } => self.move_valve(*open),
            Action::Refuel { litres } => self.refuel(*litres),
            Action::Cap { open } => self.set_cap(*open),
            Action::Container { joint } => self.set_container(joint.as_deref()),
            Action::Prime { strokes } => self.prime(*strokes),
            Action::Wait { secs } => self.wait(*secs),
            Action::Record { reading } => self.record(reading),
            Action::Amend { line, reading } => self.amend(*line, reading),
            Action::Note { what, seen } => self.note(*what, seen),
            Action::Predict { prediction } => self.predict(prediction),
            Action::Believe { points } => self.believe(points),
            Action::Hint { level } => self.hint(*level),
            Action::Submit { finding } => self.submit(finding),
            Action::Repair { part, remedy } => self.repair(part, *remedy),
            Action::Bleed => self.bleed(),
            Action::LeakCheck => self.leak_check(),
            Action::HandBack => self.hand_back(),
        }
    }

    /// The job may say that this isn't to be had.
    fn offered(&self, action: &Action) -> Result<(), String> {
        if self.job.withheld.is_empty() {
            return Ok(());
        }
        let line = print(action);
        let word = line.split(' ').next().unwrap_or_default();
        // what is undone is always to be had
        let undone = line.ends_with(" off") || line.ends_with(" back") || line == "load 0" || line == "cap shut";
        match self.job.withheld.iter().find(|w| w.word == word && !undone) {
            Some(withheld) => Err(tell!("bay-act-not-in-this-job", because = withheld.because)),
            None => Ok(()),
        }
    }

    fn make_safe(&mut self, step: SafetyStep) -> Result<String, String> {
        let start = self.now();
        let (span, says) = match step {
            SafetyStep::Protection => (MINUTE / 2, said("bay-safe-protection")),
            SafetyStep::Ventilation => (MINUTE / 2, said("bay-safe-ventilation")),
            SafetyStep::Extinguisher => (MINUTE / 2, said("bay-safe-extinguisher")),
            SafetyStep::Chocks => (MINUTE / 2, said("bay-safe-chocks")),
            SafetyStep::DripTray => (MINUTE / 2, said("bay-safe-drip-tray")),
            SafetyStep::PressureAway => {
                self.engine_must_stand()?;
                let since = self.control().last_turned.map_or(COOL_DOWN, |t| self.now() - t);
                let says = match self.control().last_turned {
                    Some(_) => said("bay-safe-pressure-away"),
                    None => said("bay-safe-pressure-away-stood"),
                };
                (COOL_DOWN.saturating_sub(since).max(MINUTE / 2), says)
            }
        };
        // what was let away may have come back: a line is bled, a pump was run from a lead
        let again = step == SafetyStep::PressureAway && self.drive.highest_pressure(0) > UNDER_PRESSURE_PA;
        if !self.safety.insert(step) && !again {
            return Ok(said("bay-safe-done-already").into());
        }
        let mut says = says.to_owned();
        if step == SafetyStep::PressureAway {
            self.hands(Op::Stand)?;
        }
        self.advance_to(self.now() + span);
        if step == SafetyStep::Ventilation && self.job.plant.is_boat() {
            says += said("bay-safe-bilge");
        }
        if step == SafetyStep::PressureAway && self.drive.highest_pressure(0) > UNDER_PRESSURE_PA {
            self.hands(Op::Key { to: Key::Off })?;
            self.hands(Op::Relieve)?;
            self.mark("relieved");
            says += said("bay-safe-rest-let-out");
        }
        self.exempt += self.now() - start;
        Ok(says)
    }

    fn ask(&mut self, name: &str) -> Result<String, String> {
        let Some(question) = self.job.questions.iter().find(|q| q.name == name) else {
            let names: Vec<&str> = self.job.questions.iter().map(|q| q.name.as_str()).collect();
            return Err(tell!("bay-ask-one-of", names = names.join(", ")));
        };
        let says = named(&question.answer).to_owned();
        self.advance_to(self.now() + MINUTE);
        Ok(says)
    }

    fn turn_key(&mut self, to: Key) -> Result<String, String> {
        if to == self.drive.key() {
            return Err(said("bay-key-stands-there").into());
        }
        match to {
            Key::On => {
                self.turn_key_on()?;
                Ok(if self.drive.clicked(0) { said("bay-key-on-relay").into() } else { said("bay-key-on").into() })
            }
            Key::Off => {
                let ran = self.control().running;
                self.hands(Op::Key { to })?;
                if ran {
                    self.mark("stop");
                }
                Ok(if ran { said("bay-key-off-runs-down").into() } else { said("bay-key-off").into() })
            }
        }
    }

    fn try_crank(&mut self, secs: f64) -> Result<String, String> {
        if !(0.5..=60.0).contains(&secs) {
            return Err(said("bay-crank-span").into());
        }
        if self.drive.key() == Key::Off {
            return Err(said("bay-key-is-off").into());
        }
        if self.control().running {
            return Err(said("bay-crank-would-grind").into());
        }
        if self.control().is_cranking() {
            return Err(said("bay-crank-turning-already").into());
        }
        self.before_cranking(secs);
        self.hands(Op::Crank { secs })?;
        self.mark("crank");
        Ok(said("bay-crank-turns").into())
    }

    fn set_speed(&mut self, rpm: f64) -> Result<String, String> {
        if !self.control().running {
            return Err(said("bay-engine-not-running").into());
        }
        let (low, high) = (self.control().idle, 1.2 * self.control().raised);
        if !(low - 1.0..=high).contains(&rpm) {
            return Err(tell!("bay-engine-speed-between", low = format!("{low:.0}"), high = format!("{high:.0}")));
        }
        self.hands(Op::Speed { rpm })?;
        self.mark(&if rpm <= low + 1.0 { "idle".to_owned() } else { format!("{rpm:.0}") });
        Ok(if rpm <= low + 1.0 {
            said("bay-engine-back-to-idle").into()
        } else {
            tell!("bay-engine-held-at", rpm = format!("{rpm:.0}"))
        })
    }

    fn move_valve(&mut self, open: f64) -> Result<String, String> {
        if self.drive.valve(0).is_none() {
            return Err(said("bay-valve-none").into());
        }
        if !(0.0..=1.0).contains(&open) {
            return Err(said("bay-valve-lever-span").into());
        }
        let turning = self.drive.engine_turns(0) || self.drive.pump_turns(0);
        if open < 0.05 && turning && !self.may_dead_head() {
            self.breach("dead-head-forbidden");
        }
        self.hands(Op::Valve { open })?;
        let (word, says) = match open {
            o if o <= 0.0 => ("valve shut", said("bay-valve-shut").to_owned()),
            o if o >= 1.0 => ("valve open", said("bay-valve-open").to_owned()),
            o => ("valve part", tell!("bay-valve-at", share = format!("{:.0}", o * 100.0))),
        };
        self.mark(word);
        Ok(says)
    }

    fn wait(&mut self, secs: f64) -> Result<String, String> {
        if !(0.0..=LONGEST_WAIT_S).contains(&secs) {
            return Err(said("bay-wait-span").into());
        }
        self.advance_to(self.now() + (secs * 1e6).round() as Micros);
        Ok(match secs {
            s if s >= 120.0 => tell!("bay-wait-minutes", minutes = format!("{:.0}", s / 60.0)),
            s => tell!("bay-wait-seconds", s = format!("{s:.0}")),
        })
    }
}
