//! What is really wrong: private to the bay while the sitting runs.
//!
//! A running [`Bay`] has no way to this. Only a bay whose vehicle was handed back can be closed, and
//! only a [`Closed`] bay tells.

use super::Bay;
use super::draw;
use super::opened::Opened;
use crate::fault::{FaultInstance, KitFaults, apply_all, by_code};
use crate::plant::component::Component;
use crate::plant::{Leak, Plant};

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
}

impl Closed {
    /// The sitting.
    pub fn bay(&self) -> &Bay {
        &self.bay
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
        let film = self.bay.film.as_ref().ok_or("This sitting wasn't filmed; replay its attempt to open it.")?;
        film.develop(&self.bay.job, self.bay.drive.seed(0), self.bay.ops())
    }

    /// What was wrong, in words.
    pub fn in_words(&self) -> String {
        if self.faults().is_empty() {
            return "Nothing was wrong with the fuel supply.".into();
        }
        let mut words = vec![];
        for fault in self.faults() {
            let name = by_code(&fault.fault).map_or("unknown", |f| f.name);
            let label = self
                .bay
                .job
                .plant
                .part(&fault.at)
                .map(|p| p.label.clone())
                .or_else(|| self.bay.job.plant.node(&fault.at).and_then(|n| n.joint.clone()))
                .unwrap_or_else(|| fault.at.clone());
            words.push(if label.is_empty() {
                format!("{name}, severity {:.1} of 5", fault.severity)
            } else {
                format!("{name} at {label}, severity {:.1} of 5", fault.severity)
            });
        }
        words.join("; ")
    }
}
