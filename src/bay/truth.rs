//! What is really wrong: private to the bay while the sitting runs.
//!
//! A running [`Bay`] has no way to this, but for one. A bay whose vehicle was handed back can be closed, and a
//! [`Closed`] bay tells. In practice an instructor can show what is wrong while the sitting goes on; that is written into
//! the attempt, takes the mark away, and gives a [`Revealed`] bay.

use super::Bay;
use super::draw;
use super::opened::Opened;
use crate::fault::{FaultInstance, KitFaults, apply_all, by_code};
use crate::language::said;
use crate::plant::component::Component;
use crate::plant::{Leak, Plant};
use crate::scenario::model::{Job, Mode};
use crate::tell;

/// The hidden side of one vehicle.
pub(super) struct Hidden {
    /// The vehicle with its tolerances, without faults.
    sound: Plant,
    /// As drawn at the start.
    at_start: Vec<FaultInstance>,
    /// Still present.
    present: Vec<FaultInstance>,
    /// How severe each of those is at the moment: 0 for not at all.
    severities: Vec<f64>,
    /// Holes left by the learner's own work.
    own_holes: Vec<Leak>,
    plant: Plant,
    kit: KitFaults,
}

impl Hidden {
    pub(super) fn draw(plant: &Plant, seed: u64, faults: &[FaultInstance]) -> Result<Self, String> {
        Self::of(draw::with_tolerances(plant, seed), faults)
    }

    /// A vehicle whose tolerances are given, in standard deviations.
    pub(super) fn given(plant: &Plant, deviations: &[f64], faults: &[FaultInstance]) -> Result<Self, String> {
        Self::of(draw::with_given(plant, deviations), faults)
    }

    fn of(sound: Plant, faults: &[FaultInstance]) -> Result<Self, String> {
        let mut plant = sound.clone();
        let kit = apply_all(&mut plant, faults)?;
        let severities = faults.iter().map(|f| f.severity).collect();
        let faults = faults.to_vec();
        Ok(Self { sound, at_start: faults.clone(), present: faults, severities, own_holes: vec![], plant, kit })
    }

    /// Faults that aren't put right yet.
    pub(super) fn present(&self) -> &[FaultInstance] {
        &self.present
    }

    /// A fault that is present shows at times only.
    pub(super) fn is_modified(&self) -> bool {
        self.present.iter().any(|f| !f.modifiers.is_empty())
    }

    /// How severe every present fault is taken to be.
    pub(super) fn severities(&self) -> &[f64] {
        &self.severities
    }

    /// Takes every present fault as so severe from now on.
    pub(super) fn set_severities(&mut self, severities: Vec<f64>) {
        self.severities = severities;
        self.refresh();
    }

    pub(super) fn plant(&self) -> &Plant {
        &self.plant
    }

    /// The vehicle as it would be with nothing wrong.
    pub(super) fn sound(&self) -> &Plant {
        &self.sound
    }

    pub(super) fn kit(&self) -> &KitFaults {
        &self.kit
    }

    /// What is opened when a part is put right: its ends, and the node of its bowl.
    pub(super) fn around(&self, part: &str) -> (Vec<String>, Option<String>) {
        let Some(part) = self.sound.part(part) else { return (vec![], None) };
        let ends = part.is.ends().into_iter().map(str::to_owned).collect();
        let bowl = if let Component::Filter(filter) = &part.is { Some(filter.from.clone()) } else { None };
        (ends, bowl)
    }

    pub(super) fn own_holes(&self) -> &[Leak] {
        &self.own_holes
    }

    pub(super) fn add_hole(&mut self, leak: Leak) {
        self.own_holes.push(leak);
        self.refresh();
    }

    pub(super) fn close_holes(&mut self, node: &str) {
        self.own_holes.retain(|l| l.node != node);
        self.refresh();
    }

    /// Removes the faults that this remedy cures.
    pub(super) fn cure(&mut self, part: &str, ends: &[String], remedy: super::action::Remedy) {
        let sound = &self.sound;
        let stays = |f: &FaultInstance| {
            let Some(entry) = by_code(&f.fault) else { return true };
            !(entry.is_reached(sound, &f.at, part, ends) && entry.remedies.contains(&remedy))
        };
        let left: Vec<bool> = self.present.iter().map(stays).collect();
        let mut still = left.iter();
        self.severities.retain(|_| still.next() != Some(&false));
        let mut still = left.iter();
        self.present.retain(|_| still.next() != Some(&false));
        self.refresh();
    }

    /// A fault is there from now on.
    ///
    /// # Errors
    /// A sentence when it doesn't fit the vehicle; then nothing has changed.
    pub(super) fn put_in(&mut self, fault: FaultInstance) -> Result<(), String> {
        let mut all = self.present.clone();
        all.push(fault.clone());
        apply_all(&mut self.sound.clone(), &all)?;
        self.severities.push(fault.severity);
        self.present = all;
        self.refresh();
        Ok(())
    }

    /// Nothing is wrong from now on, not even what was left by the learner's own work.
    pub(super) fn take_out(&mut self) {
        self.present.clear();
        self.severities.clear();
        self.own_holes.clear();
        self.refresh();
    }

    /// Takes mistakes of the tester's kit away.
    pub(super) fn cure_kit(&mut self, codes: &[&str]) {
        let stays: Vec<bool> = self.present.iter().map(|f| !codes.contains(&f.fault.as_str())).collect();
        let (mut a, mut b) = (stays.iter(), stays.iter());
        self.severities.retain(|_| a.next() != Some(&false));
        self.present.retain(|_| b.next() != Some(&false));
        self.refresh();
    }

    fn refresh(&mut self) {
        let mut plant = self.sound.clone();
        // these faults were applied once without error
        let now: Vec<FaultInstance> = self
            .present
            .iter()
            .zip(&self.severities)
            .filter(|(_, severity)| **severity > 0.0)
            .map(|(fault, severity)| FaultInstance { severity: *severity, ..fault.clone() })
            .collect();
        if let Ok(kit) = apply_all(&mut plant, &now) {
            self.kit = kit;
        }
        plant.leaks.extend(self.own_holes.iter().cloned());
        self.plant = plant;
    }
}

/// A sitting in which an instructor has shown what is wrong; it goes on.
pub struct Revealed<'b> {
    bay: &'b Bay,
}

impl Revealed<'_> {
    /// What is wrong now, in words.
    pub fn in_words(&self) -> String {
        in_words(&self.bay.job, &self.bay.drive.hidden(0).present)
    }

    /// The supply with its wall opened, up to now, beside a sound vehicle that went through the same hands.
    ///
    /// # Errors
    /// A sentence when nobody filmed the sitting.
    pub fn opened(&self) -> Result<Opened, String> {
        opened(self.bay)
    }
}

fn opened(bay: &Bay) -> Result<Opened, String> {
    let film = bay.film.as_ref().ok_or("This sitting wasn't filmed; replay its attempt to open it.")?;
    film.develop()
}

fn in_words(job: &Job, faults: &[FaultInstance]) -> String {
    if faults.is_empty() {
        return said("bay-truth-nothing-wrong").into();
    }
    let mut words = vec![];
    for fault in faults {
        let name = by_code(&fault.fault).map_or(said("bay-truth-unknown"), |f| f.name.said());
        let label = job.place_label(&fault.at);
        words.push(if label.is_empty() {
            tell!("bay-truth-fault", name = name, severity = format!("{:.1}", fault.severity))
        } else {
            tell!("bay-truth-fault-at", name = name, label = label, severity = format!("{:.1}", fault.severity))
        });
    }
    words.join("; ")
}

/// A sitting that is over. The wall is open.
pub struct Closed {
    bay: Bay,
}

impl Bay {
    /// Closes a sitting whose vehicle was handed back; gives the bay back otherwise.
    ///
    /// # Errors
    /// The bay itself, when the sitting isn't over.
    pub fn close(self) -> Result<Closed, Box<Bay>> {
        if self.over { Ok(Closed { bay: self }) } else { Err(Box::new(self)) }
    }

    /// What an instructor has shown: none before, and never in an assessment.
    pub fn revealed(&self) -> Option<Revealed<'_>> {
        (self.instructed.revealed && self.job.mode == Mode::Practice).then_some(Revealed { bay: self })
    }
}

impl Closed {
    /// The sitting.
    pub fn bay(&self) -> &Bay {
        &self.bay
    }

    /// The sitting, to be kept.
    pub fn into_bay(self) -> Bay {
        self.bay
    }

    /// What was wrong when the vehicle came in.
    pub fn faults(&self) -> &[FaultInstance] {
        &self.bay.drive.hidden(0).at_start
    }

    /// What is still wrong.
    pub fn left(&self) -> &[FaultInstance] {
        &self.bay.drive.hidden(0).present
    }

    /// The supply with its wall opened, beside a sound vehicle that went through the same hands.
    ///
    /// # Errors
    /// A sentence when nobody filmed the sitting.
    pub fn opened(&self) -> Result<Opened, String> {
        opened(&self.bay)
    }

    /// What was wrong, in words.
    pub fn in_words(&self) -> String {
        in_words(&self.bay.job, self.faults())
    }
}
