//! What each op does: at the kit and the key, which all vehicles share, and at every vehicle.

use super::op::Op;
use super::{Drive, Strokes};
use crate::bay::action::{Remedy, SECOND};
use crate::bay::observation::{CapSound, PrimerFeel};
use crate::fault::FaultInstance;
use crate::plant::Leak;
use crate::plant::assemble::TEE;
use crate::units::Area;

/// Air in a sensing hose that wasn't purged, mL.
const UNPURGED_HOSE_ML: f64 = 12.0;
/// Air that stays in a purged one, mL.
const PURGED_HOSE_ML: f64 = 0.3;
/// Effective hole of a reused seal, m².
const OLD_SEAL_M2: f64 = 0.008e-6;
/// Flow through the open filler at 1 mbar, mL/s/√Pa.
const OPEN_CAP: f64 = 5000.0;
/// Depression from which a person hears air rush in, Pa.
const HISS_PA: f64 = 800.0;
/// Pressure at which the primer feels hard, Pa.
const FIRM_PA: f64 = 35_000.0;
/// Share of gas in the bowl of a new element, which goes in dry.
const DRY_BOWL: f64 = 0.6;

/// Share of a tank at which nothing more goes in.
pub(super) const BRIM: f64 = 0.97;

impl<const L: usize> Drive<L> {
    /// Does one thing to all vehicles, now.
    ///
    /// # Errors
    /// A sentence when the vehicles can't be built with the kit where it was put.
    pub(crate) fn apply(&mut self, op: &Op) -> Result<(), String> {
        match op {
            Op::Key { to } => self.turn_key(*to),
            Op::Cap { open } => self.turn_cap(*open),
            Op::TakeTee { new_seals } => self.take_tee(*new_seals),
            Op::FitTee { joint, new_seals } => self.fit_tee(joint, *new_seals)?,
            Op::Join { joint } => self.make_tight(Some(joint))?,
            Op::BleedScrew { open } => self.turn_bleed_screw(*open)?,
            Op::PurgeHose => self.purge_hose()?,
            Op::Container { joint } => self.connect(joint.as_deref())?,
            Op::Remedy { place, how } => self.put_right(place, *how)?,
            Op::SecondGauge { joint } => self.fit_second(joint.as_deref())?,
            Op::Pinch { part, on } => self.pinch(part, *on)?,
            Op::Blank { joint } => self.blank(joint.as_deref())?,
            Op::Jar { joint, throttled } => self.open_into_jar(joint.as_deref(), *throttled)?,
            Op::ReturnJar { on } => self.lead_return(*on),
            Op::Relieve => self.relieve(),
            Op::HandPump { mbar } => self.hand_pump(*mbar),
            Op::Treat { place, kelvin } => self.treat(place, *kelvin),
            Op::Wiggle { place, on } => self.wiggle(place, *on),
            Op::Tilt { degrees } => self.tilt(*degrees),
            Op::ZeroClamp { large } => self.zero_clamp(*large),
            Op::Capture { part } => self.begin_record(part),
            Op::CaptureEnd => self.end_record(),
            Op::KitRight { tee } => self.put_kit_right(*tee)?,
            Op::Refuel { litres } => self.refuel(*litres),
            Op::Load { .. }
            | Op::Snap { .. }
            | Op::Tap { .. }
            | Op::Range { .. }
            | Op::Sample
            | Op::Probe { .. }
            | Op::HoldBack { .. }
            | Op::Bridge { .. }
            | Op::Stand
            | Op::Crank { .. }
            | Op::Speed { .. }
            | Op::Valve { .. }
            | Op::Zero
            | Op::Primer { .. }
            | Op::Stroke
            | Op::Listen { .. }
            | Op::Look { .. } => {
                for lane in 0..L {
                    self.apply_to(lane, op);
                }
            }
        }
        Ok(())
    }

    /// Ops that change nothing which the vehicles share.
    fn apply_to(&mut self, lane: usize, op: &Op) {
        match op {
            Op::Tap { part, open } => return self.move_tap(lane, part, *open),
            Op::Bridge { part, on } => return self.bridge(lane, part, *on),
            Op::Probe { probe } => return self.probe(lane, probe),
            _ => {}
        }
        match *op {
            Op::Load { share } => self.put_load(lane, share, SECOND / 2),
            Op::Snap { down } => self.snap(lane, down),
            Op::Range { range } => self.change_range(lane, range),
            Op::Sample => self.draw_sample(lane),
            Op::HoldBack { on } => self.hold_back(lane, on),
            Op::Stand => self.stop_engine(lane),
            Op::Crank { secs } => self.crank(lane, secs),
            Op::Speed { rpm } => self.hold_speed(lane, rpm),
            Op::Valve { open } => self.move_valve(lane, open, 3 * SECOND / 10),
            Op::Zero => self.zero_gauge(lane),
            Op::Primer { work: true } => self.begin_strokes(lane),
            Op::Primer { work: false } => self.end_strokes(lane),
            Op::Stroke => self.feel_stroke(lane),
            Op::Listen { pump } => self.lanes[lane].heard = Some(self.pump_sound(lane, pump).word()),
            Op::Look { what } => {
                let word = self.perceived(lane, what);
                self.lanes[lane].words.push(word);
            }
            _ => {}
        }
    }

    /// Everything is tight again; `opened` names a joint that stood open meanwhile.
    pub(super) fn make_tight(&mut self, opened: Option<&str>) -> Result<(), String> {
        self.rebuild(opened)?;
        for lane in &mut self.lanes {
            lane.gauge.settle();
        }
        Ok(())
    }

    /// Fuel is poured into the first tank of every vehicle, as far as it goes in.
    fn refuel(&mut self, litres: f64) {
        let Some((v, capacity)) = self.net().top.reservoirs.first().map(|r| (r.v, r.capacity)) else { return };
        for lane in 0..L {
            let most = BRIM * self.net().at(capacity).0[lane];
            let before = self.state(lane, v);
            self.set_state(lane, v, (before + 1000.0 * litres).min(most).max(before));
        }
    }

    fn seal(&mut self, node: &str, new_seals: bool) {
        for lane in &mut self.lanes {
            lane.hidden.close_holes(node);
            if !new_seals {
                let area = Area::from_si(OLD_SEAL_M2);
                lane.hidden.add_hole(Leak { node: node.to_owned(), along: 0.5, area });
            }
        }
    }

    fn take_tee(&mut self, new_seals: bool) {
        if let Some(joint) = self.tee.take() {
            self.seal(TEE, true);
            self.seal(&joint, new_seals);
        }
    }

    fn fit_tee(&mut self, joint: &str, new_seals: bool) -> Result<(), String> {
        self.tee = Some(joint.to_owned());
        self.tee_fittings += 1;
        self.seal(TEE, new_seals);
        for lane in &mut self.lanes {
            lane.gauge.hose_air = UNPURGED_HOSE_ML;
        }
        self.make_tight(Some(joint))
    }

    /// The joint fed from the container, or the one that was, stands open meanwhile.
    fn connect(&mut self, joint: Option<&str>) -> Result<(), String> {
        let before = std::mem::replace(&mut self.container, joint.map(str::to_owned));
        self.make_tight(joint.or(before.as_deref()))
    }

    fn turn_bleed_screw(&mut self, open: bool) -> Result<(), String> {
        self.screw_open = open;
        if open { self.rebuild(None) } else { self.make_tight(None) }
    }

    fn purge_hose(&mut self) -> Result<(), String> {
        for lane in &mut self.lanes {
            lane.gauge.hose_air = PURGED_HOSE_ML + lane.hidden.kit().trapped_air_ml;
        }
        self.make_tight(None)
    }

    fn turn_cap(&mut self, open: bool) {
        self.cap_open = open;
        if open {
            for lane in 0..L {
                let hisses = self.depression(lane) > HISS_PA;
                self.lanes[lane].cap = Some(if hisses { CapSound::Hiss } else { CapSound::Silent });
            }
        }
        self.set_filler(if open { OPEN_CAP } else { 0.0 });
    }

    fn begin_strokes(&mut self, lane: usize) {
        self.lanes[lane].strokes = Strokes::default();
        self.move_primer(lane, 1.0, SECOND / 10);
    }

    fn feel_stroke(&mut self, lane: usize) {
        let firm = self.back_pressure(lane) > FIRM_PA;
        let strokes = &mut self.lanes[lane].strokes;
        strokes.done += 1;
        strokes.firm = firm;
        if firm && strokes.firm_after.is_none() {
            strokes.firm_after = Some(strokes.done);
        }
    }

    /// The hand lets go; what it felt stays, if it felt for anything.
    fn end_strokes(&mut self, lane: usize) {
        self.move_primer(lane, 0.0, SECOND / 10);
        let Strokes { done, firm_after, firm } = self.lanes[lane].strokes;
        if done == 0 {
            return;
        }
        let feel = match firm_after {
            Some(k) if k <= 6 && firm => PrimerFeel::Firm,
            Some(_) => PrimerFeel::Soft,
            None => PrimerFeel::Slack,
        };
        self.lanes[lane].primer = Some((feel, firm_after.unwrap_or(done)));
    }

    /// A fault is there from now on, in every vehicle.
    pub(in crate::bay) fn put_in(&mut self, fault: FaultInstance) -> Result<(), String> {
        let before = self.described();
        for lane in &mut self.lanes {
            lane.hidden.put_in(fault.clone())?;
        }
        self.rebuild(None)?;
        self.tend_tanks(&before);
        self.keep_marks();
        Ok(())
    }

    /// Nothing is wrong from now on.
    pub(in crate::bay) fn take_out(&mut self) -> Result<(), String> {
        let before = self.described();
        for lane in &mut self.lanes {
            lane.hidden.take_out();
        }
        self.rebuild(None)?;
        self.tend_tanks(&before);
        Ok(())
    }

    fn put_right(&mut self, place: &str, how: Remedy) -> Result<(), String> {
        let (mut ends, mut bowl) = (vec![], None);
        for lane in &mut self.lanes {
            (ends, bowl) = lane.hidden.around(place);
            for node in ends.iter().map(String::as_str).chain([place]) {
                lane.hidden.close_holes(node);
                // wiped when it is made; if it still weeps, it is wet again
                lane.wet.remove(node);
            }
            lane.hidden.cure(place, &ends, how);
        }
        let opened = bowl.as_deref().or(ends.last().map(String::as_str)).unwrap_or(place);
        self.make_tight(Some(opened))?;
        if let (Some(bowl), Remedy::Replace) = (&bowl, how) {
            self.fill_with_gas(bowl, DRY_BOWL);
        }
        Ok(())
    }
}
