//! Which parts were replaced, and whether a new one cured the fault.

use crate::bay::action::{Action, Micros, Remedy};
use crate::bay::truth::Closed;
use crate::diagnosis::justify::Justified;
use crate::diagnosis::moves::Done;
use crate::fault::{FaultInstance, by_code};
use crate::scenario::model::Job;

/// Credits for new seals, the price of a remedy without a part.
const SEALS_CREDITS: f64 = 2.0;

/// A part that was replaced.
pub(super) struct Replaced {
    pub(super) at: Micros,
    pub(super) name: String,
    pub(super) label: String,
    pub(super) price: f64,
    /// It carried no fault that a new one cures.
    pub(super) sound: bool,
    /// It had been new already.
    pub(super) again: bool,
    /// The evidence held it likelier sound than faulty.
    pub(super) early: bool,
}

/// Whether a new part cures a fault: it sits in it or at its ends, and isn't one that stays with the old plug or the fuel.
fn is_cured_by_new(job: &Job, fault: &str, at: &str, part: &str) -> bool {
    let (Some(entry), Some(found)) = (by_code(fault), job.plant.part(part)) else { return false };
    let ends: Vec<String> = found.is.ends().into_iter().map(str::to_owned).collect();
    entry.remedies.contains(&Remedy::Replace) && entry.is_reached(&job.plant, at, part, &ends)
}

/// Parts replaced, in order.
pub(super) fn replaced(job: &Job, closed: &Closed, log: &[Done], justified: &Justified) -> Vec<Replaced> {
    let mut list: Vec<Replaced> = vec![];
    for done in log {
        let Action::Repair { part, remedy: Remedy::Replace } = &done.action else { continue };
        let Some(found) = job.plant.part(part) else { continue };
        let again = list.iter().any(|r| r.name == *part);
        let sound = again || !closed.faults().iter().any(|f| is_cured_by_new(job, &f.fault, &f.at, part));
        let belief = justified.steps.iter().rev().find(|s| s.at <= done.at).map_or(&justified.prior, |s| &s.belief);
        let faulty: f64 = job
            .candidates
            .iter()
            .zip(belief)
            // of a pair each half counts: what is asked is whether a new part would cure one, alone or not
            .filter(|(c, _)| {
                c.vehicles.iter().any(|b| b.all().any(|b| is_cured_by_new(job, &b.fault, &b.at, part)))
            })
            .map(|(_, p)| p)
            .sum();
        list.push(Replaced {
            at: done.at,
            name: part.clone(),
            label: found.label.clone(),
            price: found.price,
            sound,
            again,
            early: faulty < 0.5,
        });
    }
    list
}

/// What putting the vehicle right costs in parts: the part where only a new one helps, else seals; 0
/// where nothing is wrong with it.
pub(super) fn right_price(job: &Job, faults: &[FaultInstance]) -> f64 {
    faults
        .iter()
        .filter_map(|f| {
            let entry = by_code(&f.fault)?;
            if entry.remedies.is_empty() {
                return None;
            }
            if entry.remedies.iter().any(|r| *r != Remedy::Replace) {
                return Some(SEALS_CREDITS);
            }
            let part = job.plant.parts.iter().find(|p| is_cured_by_new(job, &f.fault, &f.at, &p.name))?;
            Some(part.price)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Library, load_job};

    #[test]
    fn a_new_pump_cures_no_plug() {
        let Ok((job, _)) = load_job(&Library::builtin(), "second-pump") else { panic!("the built-in job loads") };
        let at = "fuel pump/module plug feed side";
        assert!(!is_cured_by_new(&job, "F18", at, "fuel pump"), "the plug stays as it is");
        assert!(is_cured_by_new(&job, "F17", "fuel pump", "fuel pump"), "a worn pump goes with the old one");
        assert!(!is_cured_by_new(&job, "F17", "fuel pump", "filter"));
        let plug = FaultInstance { fault: "F18".into(), at: at.into(), severity: 3.0, modifiers: vec![] };
        assert_eq!(right_price(&job, &[plug]), SEALS_CREDITS);
    }
}
