//! Work with the hands: fitting, purging, priming, repairing. What a piece of work needs, costs and may
//! break is said here; what it does to the vehicle is said by its ops.

use std::collections::BTreeSet;

use super::Bay;
use super::action::{Key, MINUTE, Micros, Perceived, Quantity, Remedy, SECOND};
use super::drive::kit::DAMP;
use super::drive::op::Op;
use super::observation::{CapSound, PrimerFeel};
use super::sheet::{Evidence, EvidenceKind};
use crate::instrument::sight::Gas;
use crate::language::{named, said};
use crate::plant::assemble::{PRIMER_STROKES_PER_S, TEE};
use crate::scenario::model::Job;
use crate::tell;

/// Credits for a set of new seals.
pub(super) const SEALS_CREDITS: f64 = 2.0;
/// What a litre of fuel costs, credits.
const FUEL_CREDITS_PER_L: f64 = 1.5;
/// Share of gas below which pushing is left off: a fine mist at the most.
const HARDLY_A_BUBBLE: f64 = 0.01;

/// What of one's own can be looked at.
pub(super) const KIT: [&str; 2] = ["tee", "container"];

/// How fuel came at the end of a line that was bled.
#[derive(Clone, Copy)]
enum Came {
    /// As the glass calls clear.
    Clear,
    /// With fine bubbles at the most.
    Fine,
    /// With air.
    Air,
}

/// What a look at a part or joint shows, after what was done to it last.
pub fn look_words(job: &Job, part: &str, label: &str, put_right: Option<Remedy>) -> String {
    match (put_right, job.looks.iter().find(|l| l.part == part)) {
        // what was written of the old part doesn't hold for it any longer
        (Some(Remedy::Replace), _) => tell!("bay-look-new", label = label),
        (Some(Remedy::Clean), _) => tell!("bay-look-clean", label = label),
        (_, Some(look)) => named(&look.sees).to_owned(),
        (_, None) => tell!("bay-look-nothing", label = label),
    }
}

/// What pushes fuel through a line that is bled.
enum Pusher {
    Primer,
    Electric(String),
    Weight,
}

impl Pusher {
    /// That it was done, and for how long it was done in vain.
    fn words(&self) -> (&'static str, &'static str) {
        match self {
            Self::Primer => (said("bay-bleed-by-primer"), said("bay-bleed-minute-primer")),
            Self::Electric(_) => (said("bay-bleed-by-pump"), said("bay-bleed-minute-pump")),
            Self::Weight => (said("bay-bleed-by-weight"), said("bay-bleed-minute-weight")),
        }
    }
}

/// Whether a line of the sheet could say where a fault sits. How the engine runs and how warm something is says
/// nothing about a part, so it doesn't make changing one sound work.
fn says_where(evidence: &Evidence) -> bool {
    match &evidence.kind {
        EvidenceKind::Level { .. } => true,
        EvidenceKind::Number { probe, .. } => !matches!(probe.quantity(), Quantity::Temperature | Quantity::Speed),
        EvidenceKind::Word { what, .. } => *what != Perceived::Engine,
    }
}

impl Bay {
    /// Actions with open joints need a still engine.
    pub(super) fn engine_must_stand(&self) -> Result<(), String> {
        if self.control().running || self.control().is_cranking() {
            return Err(said("bay-work-engine-turning").into());
        }
        Ok(())
    }

    /// A fuel joint is about to be opened.
    pub(super) fn begin_at_joint(&mut self, joint: &str) -> Result<(), String> {
        self.hands(Op::Stand)?;
        let under = self.drive.gauge_at(0, joint).is_some_and(|pa| pa > super::act::UNDER_PRESSURE_PA);
        self.before_opening(joint);
        if under {
            // it sprays out at once, whoever let it
            self.hands(Op::Relieve)?;
        }
        Ok(())
    }

    pub(super) fn spend(&mut self, span: Micros) {
        self.advance_to(self.now() + span);
    }

    /// One sample that shows nothing: the pen is lifted.
    pub(super) fn lift_pen(&mut self) {
        if !self.trace.is_empty() {
            let at = self.now().max(self.trace.at.last().copied().unwrap_or(0) + 1);
            self.trace.at.push(at);
            self.trace.mbar.push(f64::NAN);
            self.trace.gas.push(f64::NAN);
            self.trace.rpm.push(f64::NAN);
        }
    }

    pub(super) fn joint_label(&self, joint: &str) -> String {
        self.job.joints.iter().find(|(name, _)| name == joint).map_or_else(|| joint.to_owned(), |(_, l)| l.clone())
    }

    pub(super) fn known_joint(&self, joint: &str) -> Result<(), String> {
        if self.job.joints.iter().any(|(name, _)| name == joint) {
            return Ok(());
        }
        let names: Vec<&str> = self.job.joints.iter().map(|(n, _)| n.as_str()).collect();
        Err(tell!("bay-work-no-joint", joint = joint, names = names.join(", ")))
    }

    /// New seals cost; old ones are a breach.
    fn pay_seals(&mut self, new_seals: bool) {
        if new_seals {
            self.credits += SEALS_CREDITS;
        } else {
            self.breach("old-seal");
        }
    }

    /// The instrument was taken off: it wants purging and zeroing again.
    fn instrument_is_off(&mut self) {
        self.zeroed_at = None;
        self.purged_at = None;
    }

    pub(super) fn fit_tee(&mut self, joint: &str, new_seals: bool) -> Result<String, String> {
        self.known_joint(joint)?;
        self.engine_must_stand()?;
        if self.drive.tee() == Some(joint) {
            return Err(said("bay-tee-there-already").into());
        }
        self.begin_at_joint(joint)?;
        let moved = self.drive.tee().is_some();
        if moved {
            self.pay_seals(new_seals);
            self.hands(Op::TakeTee { new_seals })?;
        }
        self.spend(if moved { 12 * MINUTE } else { 15 * MINUTE });
        self.pay_seals(new_seals);
        self.instrument_is_off();
        self.hands(Op::FitTee { joint: joint.to_owned(), new_seals })?;
        self.lift_pen();
        self.tee_since = self.now();
        self.mark("tee fitted");
        let label = self.joint_label(joint);
        let sides = if self.job.plant.is_under_pressure(joint) {
            said("bay-tee-sides-fed")
        } else {
            said("bay-tee-sides-suction")
        };
        Ok(tell!("bay-tee-fitted", label = label, sides = sides))
    }

    pub(super) fn remove_tee(&mut self, new_seals: bool) -> Result<String, String> {
        self.engine_must_stand()?;
        let Some(joint) = self.drive.tee().map(str::to_owned) else { return Err(said("bay-tee-none").into()) };
        self.begin_at_joint(&joint)?;
        self.pay_seals(new_seals);
        self.hands(Op::TakeTee { new_seals })?;
        self.spend(8 * MINUTE);
        self.instrument_is_off();
        let label = self.joint_label(&joint);
        self.hands(Op::Join { joint })?;
        self.lift_pen();
        self.mark("tee out");
        Ok(tell!("bay-tee-out", label = label))
    }

    pub(super) fn zero(&mut self) -> Result<String, String> {
        if self.drive.tee().is_none() {
            return Err(said("bay-zero-no-tee").into());
        }
        if self.drive.engine_turns(0) {
            return Err(said("bay-zero-engine-turning").into());
        }
        if self.drive.pump_turns(0) {
            return Err(said("bay-zero-pump-runs").into());
        }
        self.hands(Op::Stand)?;
        self.spend(MINUTE);
        self.hands(Op::Zero)?;
        self.zeroed_at = Some(self.now());
        self.mark("zeroed");
        Ok(said("bay-zero-done").into())
    }

    fn primer_must_be_there(&self) -> Result<(), String> {
        if self.drive.has_primer() { Ok(()) } else { Err(said("bay-primer-none").into()) }
    }

    /// How fuel is pushed through the line by this plant's method.
    fn pusher(&self) -> Result<Pusher, String> {
        let electric = self.job.plant.electric_pumps().map(|(part, _)| part.name.clone()).next();
        match electric {
            Some(part) => Ok(Pusher::Electric(part)),
            None if self.drive.has_primer() => Ok(Pusher::Primer),
            None if self.fuel_runs_by_itself() => Ok(Pusher::Weight),
            None => Err(said("bay-primer-none").into()),
        }
    }

    /// The tank lies above some joint far enough for fuel to run out of it.
    fn fuel_runs_by_itself(&self) -> bool {
        self.job.joints.iter().any(|(joint, _)| self.drive.gauge_at(0, joint).is_some_and(|pa| pa > 500.0))
    }

    /// Pushes fuel through the line with the bleed screw open for at most a minute, and says how it came in the end.
    fn push_through_bleed(&mut self, by: &Pusher) -> Result<Came, String> {
        self.hands(Op::Stand)?;
        self.hands(Op::BleedScrew { open: true })?;
        self.push(by, true)?;
        let mut gas = 1.0;
        for _ in 0..12 {
            self.advance_to(self.now() + 5 * SECOND);
            gas = self.drive.gas_at_bleed_screw(0).max(self.drive.gas_in_glass(0).unwrap_or(0.0));
            if gas < HARDLY_A_BUBBLE {
                break;
            }
        }
        self.push(by, false)?;
        self.advance_to(self.now() + SECOND / 2);
        self.hands(Op::BleedScrew { open: false })?;
        Ok(match Gas::of_share(gas) {
            Gas::Clear => Came::Clear,
            _ if gas < HARDLY_A_BUBBLE => Came::Fine,
            _ => Came::Air,
        })
    }

    fn push(&mut self, by: &Pusher, on: bool) -> Result<(), String> {
        match by {
            Pusher::Primer => self.hands(Op::Primer { work: on }),
            Pusher::Electric(part) => self.hands(Op::Bridge { part: part.clone(), on }),
            Pusher::Weight => Ok(()),
        }
    }

    pub(super) fn purge(&mut self) -> Result<String, String> {
        if self.drive.tee().is_none() {
            return Err(said("bay-purge-no-tee").into());
        }
        self.engine_must_stand()?;
        let start = self.now();
        let by = self.pusher()?;
        let came = self.push_through_bleed(&by)?;
        self.hands(Op::PurgeHose)?;
        self.advance_to(start + 3 * MINUTE);
        self.purged_at = Some(self.now());
        self.mark("purged");
        let (worked, minute) = by.words();
        Ok(match came {
            Came::Clear => tell!("bay-purge-done", worked = worked),
            Came::Fine => tell!("bay-purge-fine", worked = worked),
            Came::Air => tell!("bay-purge-in-vain", minute = minute),
        })
    }

    pub(super) fn bleed(&mut self) -> Result<String, String> {
        self.engine_must_stand()?;
        let start = self.now();
        let by = self.pusher()?;
        let came = self.push_through_bleed(&by)?;
        self.advance_to(start + 5 * MINUTE);
        self.mark("bled");
        Ok(match came {
            Came::Clear => said("bay-bleed-done"),
            Came::Fine => said("bay-bleed-fine"),
            Came::Air => said("bay-bleed-in-vain"),
        }
        .into())
    }

    pub(super) fn prime(&mut self, strokes: u32) -> Result<String, String> {
        if strokes == 0 || strokes > 200 {
            return Err(said("bay-primer-strokes-span").into());
        }
        self.primer_must_be_there()?;
        self.engine_must_stand()?;
        let stroke = (SECOND as f64 / PRIMER_STROKES_PER_S) as Micros;
        self.hands(Op::Stand)?;
        self.hands(Op::Primer { work: true })?;
        for _ in 0..strokes {
            self.advance_to(self.now() + stroke);
            self.hands(Op::Stroke)?;
        }
        self.hands(Op::Primer { work: false })?;
        self.advance_to(self.now() + stroke);
        Ok(match self.drive.primer(0) {
            Some((PrimerFeel::Firm, 1)) => said("bay-primer-firm-at-once").into(),
            Some((PrimerFeel::Firm, k)) => tell!("bay-primer-firm-after", k = k),
            Some((PrimerFeel::Soft, k)) => tell!("bay-primer-soft-after", k = k),
            _ => tell!("bay-primer-never", strokes = strokes),
        })
    }

    pub(super) fn refuel(&mut self, litres: f64) -> Result<String, String> {
        if !(0.5..=200.0).contains(&litres) {
            return Err(said("bay-refuel-span").into());
        }
        self.engine_must_stand()?;
        self.before_open_filler();
        let was_open = self.drive.cap_open();
        if !was_open {
            self.hands(Op::Cap { open: true })?;
        }
        self.spend(5 * MINUTE);
        self.credits += litres * FUEL_CREDITS_PER_L;
        self.hands(Op::Refuel { litres })?;
        self.spend(MINUTE);
        if !was_open {
            self.hands(Op::Cap { open: false })?;
        }
        self.mark("refuelled");
        Ok(tell!("bay-refuel-done", litres = litres))
    }

    pub(super) fn set_cap(&mut self, open: bool) -> Result<String, String> {
        if open == self.drive.cap_open() {
            return Err(tell!("bay-cap-already", state = if open { "open" } else { "shut" }));
        }
        if open {
            self.before_open_filler();
        }
        self.spend(MINUTE / 2);
        self.hands(Op::Cap { open })?;
        self.mark(if open { "cap open" } else { "cap shut" });
        Ok(match self.drive.cap(0).filter(|_| open) {
            Some(CapSound::Hiss) => said("bay-cap-opens-hiss").into(),
            Some(CapSound::Silent) => said("bay-cap-opens-silent").into(),
            None => said("bay-cap-shut").into(),
        })
    }

    pub(super) fn set_container(&mut self, joint: Option<&str>) -> Result<String, String> {
        self.engine_must_stand()?;
        if let Some(joint) = joint {
            self.known_joint(joint)?;
        }
        if self.drive.container() == joint {
            return Err(said("bay-container-already").into());
        }
        let at = joint.or(self.drive.container()).unwrap_or_default().to_owned();
        self.begin_at_joint(&at)?;
        self.spend(12 * MINUTE);
        self.credits += SEALS_CREDITS;
        self.hands(Op::Container { joint: joint.map(str::to_owned) })?;
        self.mark(if joint.is_some() { "container" } else { "tank again" });
        Ok(match joint {
            Some(joint) => tell!("bay-container-feeds", joint = self.joint_label(joint)),
            None => said("bay-container-off").into(),
        })
    }

    /// A look at one's own tee, or at the container and its hose. What is seen to be wrong is put right.
    fn look_at_kit(&mut self, what: &str) -> Result<String, String> {
        let tee = what == KIT[0];
        let (joint, really) = match (tee, self.drive.tee(), self.drive.container()) {
            (true, None, _) => return Err(said("bay-kit-tee-not-fitted").into()),
            (false, _, None) => return Err(said("bay-kit-container-not-connected").into()),
            (true, Some(joint), _) => (joint.to_owned(), self.drive.tee_really_at(0).unwrap_or_default()),
            (false, _, Some(joint)) => (joint.to_owned(), joint.to_owned()),
        };
        self.spend(2 * MINUTE);
        let kit = *self.drive.hidden(0).kit();
        let mut seen = vec![];
        if joint != really {
            seen.push(tell!(
                "bay-kit-other-side",
                really = self.joint_label(&really),
                meant = self.joint_label(&joint)
            ));
        }
        if tee && kit.valve_short_of_open > 0.0 {
            seen.push(said("bay-kit-lever-slipped").into());
        }
        if kit.hose_resistance > 0.0 {
            seen.push(said("bay-kit-hose-narrow").into());
        }
        if !tee && kit.container_up_m > 0.0 {
            let cm = 100.0 * kit.container_up_m;
            seen.push(tell!("bay-kit-container-high", cm = format!("{cm:.0}")));
        }
        if let Some(steps) = (tee && kit.steps_mbar > 0.0).then_some(kit.steps_mbar) {
            let end = kit.clips_at_mbar.unwrap_or(f64::INFINITY);
            seen.push(tell!("bay-kit-coarse-transducer", end = format!("{end:.0}"), steps = format!("{steps:.0}")));
        }
        self.hands(Op::KitRight { tee })?;
        Ok(if seen.is_empty() { said("bay-kit-all-right").into() } else { seen.join(" ") })
    }

    pub(super) fn look(&mut self, part: &str) -> Result<String, String> {
        if KIT.contains(&part) && self.job.plant.part(part).is_none() {
            return self.look_at_kit(part);
        }
        let label = match (self.job.plant.part(part), self.job.joints.iter().find(|(n, _)| n == part)) {
            (Some(p), _) => p.label.clone(),
            (None, Some((_, label))) => label.clone(),
            (None, None) => {
                let names: Vec<&str> = self.job.plant.parts.iter().map(|p| p.name.as_str()).collect();
                return Err(tell!("bay-look-no-part", part = part, names = names.join(", ")));
            }
        };
        self.spend(2 * MINUTE);
        let told = look_words(&self.job, part, &label, self.put_right.get(part).copied());
        let within = self.drive.clear_lines(0).into_iter().find(|l| l.part == part);
        Ok(within.map_or(told.clone(), |line| format!("{told} {}", line.words())))
    }

    pub(super) fn repair(&mut self, name: &str, remedy: Remedy) -> Result<String, String> {
        self.engine_must_stand()?;
        let part = self.job.plant.part(name);
        let joint = self.job.joints.iter().find(|(n, _)| n == name);
        let (label, price, minutes) = match (part, joint) {
            (Some(p), _) => (p.label.clone(), p.price, p.minutes.max(5.0)),
            (None, Some((_, label))) => (label.clone(), 0.0, 15.0),
            (None, None) => return Err(tell!("bay-repair-no-part", name = name)),
        };
        if part.is_none() && remedy != Remedy::Reseal {
            return Err(said("bay-repair-joint-only-resealed").into());
        }
        let at = part.map_or(name, |p| p.is.ends().last().copied().unwrap_or(name)).to_owned();
        if matches!(remedy, Remedy::Replace) && !self.sheet.evidence().iter().any(says_where) {
            self.breach("evidence-lost");
        }
        self.begin_at_joint(&at)?;
        self.rules.repaired(self.now());
        self.spend((minutes * MINUTE as f64) as Micros);
        self.credits += if remedy == Remedy::Replace { price } else { SEALS_CREDITS };
        self.hands(Op::Remedy { place: name.to_owned(), how: remedy })?;
        if remedy != Remedy::Reseal {
            self.put_right.insert(name.to_owned(), remedy);
        }
        let done = match remedy {
            Remedy::Replace => "replaced",
            Remedy::Clean => "cleaned",
            Remedy::Reseal => "remade with new seals",
        };
        self.mark(done);
        Ok(tell!("bay-repair-done", label = label, done = done))
    }

    pub(super) fn leak_check(&mut self) -> Result<String, String> {
        self.spend(5 * MINUTE);
        self.rules.leak_checked = Some(self.now());
        let own = self.drive.hidden(0).own_holes().iter().map(|l| l.node.clone());
        // a weep that was there before is found too, where fuel comes out of it
        let others = self.drive.wet(0).filter(|(_, flow)| *flow > DAMP).map(|(node, _)| node.to_owned());
        let nodes: BTreeSet<String> = own.chain(others).collect();
        let named = |node: &String| match node.as_str() {
            TEE => said("bay-leak-test-tee").to_owned(),
            node => tell!("bay-place-the", label = self.joint_label(node)),
        };
        let wet: Vec<String> = nodes.iter().map(named).collect();
        Ok(if wet.is_empty() {
            said("bay-leak-none").into()
        } else {
            tell!("bay-leak-found", places = wet.join(said("bay-place-and")))
        })
    }

    pub(super) fn hand_back(&mut self) -> Result<String, String> {
        if self.drive.container().is_some() {
            return Err(said("bay-hand-back-no-supply").into());
        }
        self.engine_must_stand()?;
        self.hands(Op::Key { to: Key::Off })?;
        self.spend(5 * MINUTE);
        // judged as it leaves: a lever moved a moment ago has come to rest by then
        self.at_hand_back();
        self.mark("handed back");
        self.over = true;
        Ok(said("bay-hand-back-done").into())
    }
}
