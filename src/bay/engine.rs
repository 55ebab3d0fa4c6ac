//! Key, load and levers: what is done to the running vehicle besides cranking and holding a speed.

use super::Bay;
use super::action::{GaugeRange, Key, MINUTE, SECOND, SafetyStep};
use super::drive::op::Op;
use super::observation::EngineRun;

/// Tenths of a second for which the throttle is floored, and after which the engine ought to have followed.
const FLOORED: u32 = 20;
const FOLLOWED: u32 = 15;

impl Bay {
    /// Turns the key on. Where a pump primes, the line is under pressure again.
    pub(super) fn turn_key_on(&mut self) -> Result<(), String> {
        self.hands(Op::Key { to: Key::On })?;
        if self.drive.pumps() > 0 {
            self.safety.remove(&SafetyStep::PressureAway);
            self.mark("key on");
        }
        Ok(())
    }

    pub(super) fn set_load(&mut self, share: f64) -> Result<String, String> {
        if !self.control().running {
            return Err("The engine doesn't run.".into());
        }
        if !(0.0..=1.0).contains(&share) {
            return Err("Load goes from 0 (none) to 1 (all it can).".into());
        }
        self.hands(Op::Load { share })?;
        self.mark(&if share > 0.0 { format!("load {:.0}", share * 100.0) } else { "load off".to_owned() });
        Ok(if share > 0.0 { format!("Loaded to {:.0} in 100.", share * 100.0) } else { "Load off.".into() })
    }

    pub(super) fn snap(&mut self) -> Result<String, String> {
        if !self.control().running {
            return Err("The engine doesn't run.".into());
        }
        self.hands(Op::Snap { down: true })?;
        self.mark("snap");
        let mut faltered = false;
        for tenth in 0..FLOORED {
            self.advance_to(self.now() + SECOND / 10);
            faltered |= tenth >= FOLLOWED && self.drive.engine_run(0) == EngineRun::Uneven;
        }
        self.hands(Op::Snap { down: false })?;
        self.advance_to(self.now() + 2 * SECOND);
        Ok(match (self.drive.engine_run(0), faltered) {
            (EngineRun::Stalled, _) => "It falters and dies.",
            (EngineRun::Uneven, _) => "It stumbles, and hunts at idle afterwards.",
            (_, true) => "It stumbles, picks up late and falls back to idle.",
            (_, false) => "It picks up cleanly and falls back to idle.",
        }
        .into())
    }

    pub(super) fn move_tap(&mut self, name: &str, open: f64) -> Result<String, String> {
        if self.drive.tap(0, name).is_none() {
            let taps: Vec<&str> = self.drive.taps().collect();
            return Err(if taps.is_empty() {
                "This vehicle has no shut-off valve of its own.".into()
            } else {
                format!("There is no valve \"{name}\". Valves: {}.", taps.join(", "))
            });
        }
        if !(0.0..=1.0).contains(&open) {
            return Err("The lever goes from 0 (shut) to 1 (open).".into());
        }
        self.hands(Op::Tap { part: name.to_owned(), open })?;
        let label = self.job.plant.part(name).map_or(name, |p| p.label.as_str()).to_owned();
        let (word, says) = match open {
            o if o <= 0.0 => ("tap shut", format!("Lever of the {label}: shut.")),
            o if o >= 1.0 => ("tap open", format!("Lever of the {label}: open.")),
            o => ("tap part", format!("Lever of the {label} at {:.0} in 100.", o * 100.0)),
        };
        self.mark(word);
        Ok(says)
    }

    pub(super) fn change_range(&mut self, range: GaugeRange) -> Result<String, String> {
        if range == self.drive.range() {
            return Err("That transducer is on the hose already.".into());
        }
        self.engine_must_stand()?;
        self.spend(MINUTE);
        self.hands(Op::Range { range })?;
        self.zeroed_at = None;
        self.lift_pen();
        self.mark("range");
        Ok(match range {
            GaugeRange::Suction => "The transducer for \u{2212}1 to +3 bar is on the hose. It wants zeroing.",
            GaugeRange::Pressure => "The transducer for 0 to 10 bar is on the hose. It wants zeroing.",
            GaugeRange::Absolute => {
                "The absolute transducer for 0 to 4 bar is on the hose: it shows the air too, until it is zeroed in it."
            }
        }
        .into())
    }
}
