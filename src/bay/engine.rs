//! Key, load and levers: what is done to the running vehicle besides cranking and holding a speed.

use super::Bay;
use super::action::{GaugeRange, Key, MINUTE, SECOND, SafetyStep};
use super::drive::op::Op;
use super::observation::EngineRun;
use crate::language::said;
use crate::tell;

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
            return Err(said("bay-engine-not-running").into());
        }
        if !(0.0..=1.0).contains(&share) {
            return Err(said("bay-engine-load-span").into());
        }
        self.hands(Op::Load { share })?;
        self.mark(&if share > 0.0 {
            tell!("bay-tick-load", share = format!("{:.0}", share * 100.0))
        } else {
            said("bay-offer-load-off").to_owned()
        });
        Ok(if share > 0.0 {
            tell!("bay-engine-loaded", share = format!("{:.0}", share * 100.0))
        } else {
            said("bay-engine-load-off").into()
        })
    }

    pub(super) fn snap(&mut self) -> Result<String, String> {
        if !self.control().running {
            return Err(said("bay-engine-not-running").into());
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
            (EngineRun::Stalled, _) => said("bay-snap-dies"),
            (EngineRun::Uneven, _) => said("bay-snap-hunts"),
            (_, true) => said("bay-snap-late"),
            (_, false) => said("bay-snap-clean"),
        }
        .into())
    }

    pub(super) fn move_tap(&mut self, name: &str, open: f64) -> Result<String, String> {
        if self.drive.tap(0, name).is_none() {
            let taps: Vec<&str> = self.drive.taps().collect();
            return Err(if taps.is_empty() {
                said("bay-tap-none").into()
            } else {
                tell!("bay-tap-unknown", name = name, taps = taps.join(", "))
            });
        }
        if !(0.0..=1.0).contains(&open) {
            return Err(said("bay-valve-lever-span").into());
        }
        self.hands(Op::Tap { part: name.to_owned(), open })?;
        let label = self.job.plant.part(name).map_or(name, |p| p.label.as_str()).to_owned();
        let (word, says) = match open {
            o if o <= 0.0 => ("tap shut", tell!("bay-tap-shut", label = label)),
            o if o >= 1.0 => ("tap open", tell!("bay-tap-open", label = label)),
            o => ("tap part", tell!("bay-tap-at", label = label, share = format!("{:.0}", o * 100.0))),
        };
        self.mark(word);
        Ok(says)
    }

    pub(super) fn change_range(&mut self, range: GaugeRange) -> Result<String, String> {
        if range == self.drive.range() {
            return Err(said("bay-range-there-already").into());
        }
        self.engine_must_stand()?;
        self.spend(MINUTE);
        self.hands(Op::Range { range })?;
        self.zeroed_at = None;
        self.lift_pen();
        self.mark("range");
        Ok(match range {
            GaugeRange::Suction => said("bay-range-suction"),
            GaugeRange::Pressure => said("bay-range-pressure"),
            GaugeRange::Absolute => said("bay-range-absolute"),
        }
        .into())
    }
}
