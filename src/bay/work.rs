//! Work with the hands: fitting, purging, priming, repairing.

use super::Bay;
use super::action::{Key, MINUTE, Micros, Remedy, SECOND};
use super::observation::{CapSound, PrimerFeel};
use crate::plant::Leak;
use crate::plant::assemble::{PRIMER_STROKES_PER_S, TEE, TeeFitting};
use crate::plant::component::Component;
use crate::units::Area;

/// Air in a sensing hose that wasn't purged, mL.
const UNPURGED_HOSE_ML: f64 = 12.0;
/// Air that stays in a purged one, mL.
const PURGED_HOSE_ML: f64 = 0.3;
/// Effective hole of a reused seal, m².
const OLD_SEAL_M2: f64 = 0.008e-6;
/// Effective opening of a bleed screw, m².
const BLEED_SCREW_M2: f64 = 3e-6;
/// Credits for a set of new seals.
const SEALS_CREDITS: f64 = 2.0;
/// Flow through the open filler at 1 mbar, mL/s/√Pa.
const OPEN_CAP: f64 = 5000.0;

impl Bay {
    /// Actions with open joints need a still engine.
    pub(super) fn engine_must_stand(&mut self) -> Result<(), String> {
        if self.hypothetical && self.engine_turns() {
            // on another vehicle it would have been switched off first, just as on this one
            self.stop_engine();
        }
        if self.control.running || self.control.is_cranking() {
            return Err("The engine is turning. Switch it off first.".into());
        }
        Ok(())
    }

    fn spend(&mut self, span: Micros) {
        self.advance_to(self.now + span);
    }

    fn rebuild(&mut self, opened: Option<&str>) -> Result<(), String> {
        self.car.rebuild(self.now, self.hidden.plant(), &self.rig, opened)?;
        self.gauge.settle();
        Ok(())
    }

    /// One sample that shows nothing: the pen is lifted.
    fn lift_pen(&mut self) {
        if !self.trace.is_empty() {
            let at = self.now.max(self.trace.at.last().copied().unwrap_or(0) + 1);
            self.trace.at.push(at);
            self.trace.mbar.push(f64::NAN);
            self.trace.gas.push(f64::NAN);
            self.trace.rpm.push(f64::NAN);
        }
    }

    fn joint_label(&self, joint: &str) -> String {
        self.job.joints.iter().find(|(name, _)| name == joint).map_or_else(|| joint.to_owned(), |(_, l)| l.clone())
    }

    fn known_joint(&self, joint: &str) -> Result<(), String> {
        if self.job.joints.iter().any(|(name, _)| name == joint) {
            return Ok(());
        }
        let names: Vec<&str> = self.job.joints.iter().map(|(n, _)| n.as_str()).collect();
        Err(format!("There is no joint \"{joint}\". The tee can be fitted at: {}.", names.join(", ")))
    }

    pub(super) fn fit_tee(&mut self, joint: &str, new_seals: bool) -> Result<String, String> {
        self.known_joint(joint)?;
        self.engine_must_stand()?;
        if self.rig.tee.as_ref().is_some_and(|t| t.joint == joint) {
            return Err("The tee sits there already.".into());
        }
        self.before_opening();
        let moved = self.rig.tee.take();
        if let Some(old) = &moved {
            // the old joint is remade with the same seals
            self.seal(&old.joint.clone(), new_seals);
        }
        self.spend(if moved.is_some() { 12 * MINUTE } else { 15 * MINUTE });
        self.rig.tee = Some(TeeFitting {
            joint: joint.to_owned(),
            hose_air: UNPURGED_HOSE_ML,
            valve_reach: 1.0 - self.hidden.kit().valve_short_of_open,
        });
        self.seal(TEE, new_seals);
        self.zeroed_at = None;
        self.purged_at = None;
        self.gauge.hose_air = UNPURGED_HOSE_ML;
        self.rebuild(Some(joint))?;
        self.lift_pen();
        self.control.set_tee_since(self.now);
        self.mark("tee fitted");
        let label = self.joint_label(joint);
        Ok(format!(
            "The tee is in at the {label}, valve on the tank side, transducer and glass on the engine side. It is full of air."
        ))
    }

    fn seal(&mut self, node: &str, new_seals: bool) {
        self.hidden.close_holes(node);
        if new_seals {
            self.credits += SEALS_CREDITS;
        } else {
            self.breach("old-seal");
            self.hidden.add_hole(Leak { node: node.to_owned(), along: 0.5, area: Area::from_si(OLD_SEAL_M2) });
        }
    }

    pub(super) fn remove_tee(&mut self, new_seals: bool) -> Result<String, String> {
        self.engine_must_stand()?;
        let Some(tee) = self.rig.tee.take() else { return Err("No tee is fitted.".into()) };
        self.before_opening();
        self.hidden.close_holes(TEE);
        self.seal(&tee.joint, new_seals);
        self.spend(8 * MINUTE);
        self.zeroed_at = None;
        self.purged_at = None;
        self.rebuild(Some(&tee.joint))?;
        self.lift_pen();
        self.mark("tee out");
        Ok(format!("The tee is out and the {} is joined again.", self.joint_label(&tee.joint)))
    }

    pub(super) fn zero(&mut self) -> Result<String, String> {
        if self.rig.tee.is_none() {
            return Err("The transducer isn't on the vehicle yet. Fit the tee first.".into());
        }
        if self.hypothetical && self.engine_turns() {
            self.stop_engine();
        }
        if self.engine_turns() {
            return Err("With the engine turning the open hose would draw air. Stop it first.".into());
        }
        self.spend(MINUTE);
        self.gauge.set_zero();
        self.zeroed_at = Some(self.now);
        self.mark("zeroed");
        Ok("Hose open to the air at the height of the tapping, display set to zero, hose closed.".into())
    }

    /// The vessel with the bleed screw: the pump's inlet, past everything that the primer fills.
    fn bleed_point(&self) -> Result<String, String> {
        if self.car.assembly().primer.is_none() {
            return Err("This vehicle has no hand primer.".into());
        }
        let net = self.car.net();
        Ok(net.vessels[net.pump.inlet].name.clone())
    }

    /// Works the primer with the bleed screw open for at most a minute; whether fuel came without
    /// bubbles.
    fn pump_through_bleed(&mut self) -> Result<bool, String> {
        let point = self.bleed_point()?;
        let mut plant = self.hidden.plant().clone();
        plant.leaks.push(Leak { node: point.clone(), along: 0.9, area: Area::from_si(BLEED_SCREW_M2) });
        self.car.rebuild(self.now, &plant, &self.rig, None)?;
        self.set_primer(1.0);
        let mut clear = false;
        for _ in 0..12 {
            self.advance_to(self.now + 5 * SECOND);
            let y = self.car.snapshot(self.now);
            let net = self.car.net();
            let gas = |name: &str| net.vessel(name).map_or(0.0, |v| net.gas_share(v, &y));
            clear = gas(&point) < 0.01 && (self.rig.tee.is_none() || gas(TEE) < 0.01);
            if clear {
                break;
            }
        }
        self.set_primer(0.0);
        self.advance_to(self.now + SECOND / 2);
        self.rebuild(None)?;
        Ok(clear)
    }

    fn set_primer(&mut self, on: f64) {
        if let Some(state) = self.car.assembly().primer {
            self.car.ramp(self.now, state, on, SECOND / 10);
        }
    }

    pub(super) fn purge(&mut self) -> Result<String, String> {
        if self.rig.tee.is_none() {
            return Err("There is nothing to purge: the tee isn't fitted.".into());
        }
        self.engine_must_stand()?;
        let start = self.now;
        let clear = self.pump_through_bleed()?;
        let air = PURGED_HOSE_ML + self.hidden.kit().trapped_air_ml;
        if let Some(tee) = &mut self.rig.tee {
            tee.hose_air = air;
        }
        self.gauge.hose_air = air;
        self.rebuild(None)?;
        self.advance_to(start + 3 * MINUTE);
        self.purged_at = Some(self.now);
        self.mark("purged");
        Ok(if clear {
            "Primer worked with the bleed screw open until fuel came without bubbles; hose purged.".into()
        } else {
            "A minute at the primer: air still comes with the fuel. Hose purged as far as it goes.".into()
        })
    }

    pub(super) fn bleed(&mut self) -> Result<String, String> {
        self.engine_must_stand()?;
        let start = self.now;
        let clear = self.pump_through_bleed()?;
        self.advance_to(start + 5 * MINUTE);
        self.mark("bled");
        Ok(if clear {
            "Primed until fuel came from the bleed screw without bubbles; screw closed.".into()
        } else {
            "A minute of priming: air still comes at the bleed screw.".into()
        })
    }

    pub(super) fn prime(&mut self, strokes: u32) -> Result<String, String> {
        if strokes == 0 || strokes > 200 {
            return Err("Between 1 and 200 strokes.".into());
        }
        if self.car.assembly().primer.is_none() {
            return Err("This vehicle has no hand primer.".into());
        }
        self.engine_must_stand()?;
        let stroke = (SECOND as f64 / PRIMER_STROKES_PER_S) as Micros;
        self.set_primer(1.0);
        let mut firm_after = None;
        for k in 1..=strokes {
            self.advance_to(self.now + stroke);
            if firm_after.is_none() && self.primer_back_pressure() > 35_000.0 {
                firm_after = Some(k);
            }
        }
        let firm_now = self.primer_back_pressure() > 35_000.0;
        self.set_primer(0.0);
        self.advance_to(self.now + stroke);
        let feel = match firm_after {
            Some(k) if k <= 6 && firm_now => PrimerFeel::Firm,
            Some(_) => PrimerFeel::Soft,
            None => PrimerFeel::Slack,
        };
        self.primer = Some((feel, firm_after.unwrap_or(strokes)));
        Ok(match (feel, firm_after) {
            (PrimerFeel::Firm, Some(1)) => "The primer is firm at the first stroke.".into(),
            (PrimerFeel::Firm, Some(k)) => format!("The primer is firm after {k} strokes."),
            (_, Some(k)) => format!("The primer gets firm, but only after {k} strokes."),
            _ => format!("{strokes} strokes and the primer never gets firm."),
        })
    }

    /// Pressure that the hand works against, Pa.
    fn primer_back_pressure(&self) -> f64 {
        let net = self.car.net();
        let y = self.car.snapshot(self.now);
        net.links
            .iter()
            .find(|l| matches!(l.kind, crate::plant::network::Kind::Element { .. }))
            .map(|l| {
                let p = |end| match end {
                    crate::plant::network::End::Inlet(v) | crate::plant::network::End::Outlet(v) => {
                        net.pressure(v, &y)
                    }
                    _ => net.medium.air,
                };
                p(l.to) - p(l.from)
            })
            .unwrap_or(0.0)
    }

    pub(super) fn set_cap(&mut self, open: bool) -> Result<String, String> {
        if open == self.cap_open {
            return Err(format!("The filler cap is {} already.", if open { "open" } else { "shut" }));
        }
        self.spend(MINUTE / 2);
        let y = self.car.snapshot(self.now);
        let net = self.car.net();
        let depression = net.medium.air - net.air_space(&y);
        self.car.change(self.now, |net, _| net.tank.cap = if open { OPEN_CAP } else { 0.0 });
        self.cap_open = open;
        self.mark(if open { "cap open" } else { "cap shut" });
        if !open {
            return Ok("Filler cap shut.".into());
        }
        // a person hears air rush in from about 8 mbar
        let sound = if depression > 800.0 { CapSound::Hiss } else { CapSound::Silent };
        self.cap = Some(sound);
        Ok(match sound {
            CapSound::Hiss => "The cap comes off with a hiss of air going in.".into(),
            CapSound::Silent => "The cap comes off without a sound.".into(),
        })
    }

    pub(super) fn set_container(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if let Some(joint) = joint {
            self.known_joint(joint)?;
        }
        if self.rig.container.as_deref() == joint {
            return Err("It is connected like that already.".into());
        }
        self.before_opening();
        let opened = joint.map(str::to_owned).or_else(|| self.rig.container.clone());
        self.spend(12 * MINUTE);
        self.credits += SEALS_CREDITS;
        self.rig.container = joint.map(str::to_owned);
        self.rebuild(opened.as_deref())?;
        self.mark(if joint.is_some() { "container" } else { "tank again" });
        Ok(match joint {
            Some(joint) => format!(
                "The engine is fed from the container at the {}; the way from the tank is blanked.",
                self.joint_label(joint)
            ),
            None => "The vehicle's own line is joined again.".into(),
        })
    }

    pub(super) fn look(&mut self, part: &str) -> Result<String, String> {
        let label = match (self.job.plant.part(part), self.job.joints.iter().find(|(n, _)| n == part)) {
            (Some(p), _) => p.label.clone(),
            (None, Some((_, label))) => label.clone(),
            (None, None) => {
                let names: Vec<&str> = self.job.plant.parts.iter().map(|p| p.name.as_str()).collect();
                return Err(format!("There is no \"{part}\" here. Parts: {}.", names.join(", ")));
            }
        };
        self.spend(2 * MINUTE);
        Ok(self
            .job
            .looks
            .iter()
            .find(|l| l.part == part)
            .map_or_else(|| format!("Nothing to remark at the {label}."), |l| l.sees.clone()))
    }

    pub(super) fn repair(&mut self, name: &str, remedy: Remedy) -> Result<String, String> {
        self.engine_must_stand()?;
        let part = self.job.plant.part(name);
        let joint = self.job.joints.iter().find(|(n, _)| n == name);
        let (label, price, minutes, ends, bowl) = match (part, joint) {
            (Some(p), _) => {
                let ends: Vec<String> = p.is.ends().into_iter().map(str::to_owned).collect();
                let bowl = if let Component::Filter(f) = &p.is { Some(f.from.clone()) } else { None };
                (p.label.clone(), p.price, p.minutes.max(5.0), ends, bowl)
            }
            (None, Some((_, label))) => (label.clone(), 0.0, 15.0, vec![], None),
            (None, None) => return Err(format!("There is no \"{name}\" to put right.")),
        };
        if part.is_none() && remedy != Remedy::Reseal {
            return Err("A joint can only be remade with new seals.".into());
        }
        if matches!(remedy, Remedy::Replace) && self.sheet.evidence().is_empty() {
            self.breach("evidence-lost");
        }
        self.before_opening();
        self.rules.repaired(self.now);
        self.spend((minutes * MINUTE as f64) as Micros);
        self.credits += if remedy == Remedy::Replace { price } else { SEALS_CREDITS };
        for node in ends.iter().map(String::as_str).chain([name]) {
            self.hidden.close_holes(node);
        }
        self.hidden.cure(name, &ends, remedy);
        let opened = bowl.clone().or_else(|| ends.last().cloned()).unwrap_or_else(|| name.to_owned());
        self.rebuild(Some(&opened))?;
        if let (Some(bowl), Remedy::Replace) = (&bowl, remedy) {
            // a new element goes in dry
            self.car.fill_with_gas(self.now, bowl, 0.6);
        }
        let done = match remedy {
            Remedy::Replace => "replaced",
            Remedy::Clean => "cleaned",
            Remedy::Reseal => "remade with new seals",
        };
        self.mark(done);
        Ok(format!("The {label} is {done}. There is air in the line now: it wants bleeding."))
    }

    pub(super) fn leak_check(&mut self) -> Result<String, String> {
        self.spend(5 * MINUTE);
        self.rules.leak_checked = Some(self.now);
        let mut wet: Vec<String> = self
            .hidden
            .own_holes()
            .iter()
            .map(|l| {
                if l.node == TEE { "the test tee".to_owned() } else { format!("the {}", self.joint_label(&l.node)) }
            })
            .collect();
        wet.dedup();
        Ok(if wet.is_empty() {
            "Every disturbed joint is dry, with soapy water no bubbles.".into()
        } else {
            format!("A film of fuel and, with soapy water, bubbles at {}.", wet.join(" and "))
        })
    }

    pub(super) fn hand_back(&mut self) -> Result<String, String> {
        if self.rig.container.is_some() {
            return Err("The vehicle would leave without its own supply. Connect the tank again first.".into());
        }
        self.engine_must_stand()?;
        self.key = Key::Off;
        self.spend(5 * MINUTE);
        // judged as it leaves: a lever moved a moment ago has come to rest by then
        self.at_hand_back();
        self.mark("handed back");
        self.over = true;
        Ok("The vehicle is handed back with your written finding.".into())
    }
}
