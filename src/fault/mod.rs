//! The catalogue of faults: what each is called, where it can sit and which physical parameters it
//! changes. A fault never touches a reading.
//!
//! | file | what |
//! |---|---|
//! | `catalogue` | one entry a fault: words, place, remedies, priors, what it is confused with |
//! | `tank`, `line`, `filter`, `pump`, `regulation`, `elsewhere`, `kit` | the families |
//! | `site` | where a fault sits while it is put into a plant |
//! | `rating` | what pumps of a plant give at their working point: severities refer to it |
//! | `modifier` | when a fault shows |
//! | `manual` | the catalogue as a text to read |
//!
//! Severity runs from 1 (trace) over 3 (the customer complains) to 5 (no start). Every map from severity to a
//! parameter is monotone; several faults at the same parameter add or multiply, so that their order doesn't
//! matter. The values are training values.

mod catalogue;
mod elsewhere;
mod filter;
mod kit;
mod line;
mod manual;
pub mod modifier;
mod pump;
mod rating;
mod regulation;
mod site;
mod tank;
pub mod trade_words;

use serde::{Deserialize, Serialize};

use crate::plant::Plant;
pub use catalogue::{
    CATALOGUE, Class, Fault, Fix, Group, Mode, Occasion, Place, Separation, Weights, by_code, group_of,
};
pub use kit::KitFaults;
pub use manual::manual;
pub use modifier::{Conditions, Modifier, effective};
use site::Site;

/// Whether fuel passes a node on its way back to a tank or pot: a tee there sees the return, not the supply.
pub fn is_on_return(plant: &Plant, node: &str) -> bool {
    rating::is_return(plant, node)
}

/// One fault in one vehicle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaultInstance {
    /// Catalogue code.
    pub fault: String,
    /// Name of the part or joint it sits at; may be empty when there is only one place.
    #[serde(default)]
    pub at: String,
    /// 1 … 5.
    pub severity: f64,
    /// When it shows; always, when there is none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub modifiers: Vec<Modifier>,
}

impl FaultInstance {
    /// A fault that always shows.
    pub fn new(fault: &str, at: &str, severity: f64) -> Self {
        Self { fault: fault.to_owned(), at: at.to_owned(), severity, modifiers: vec![] }
    }
}

impl Fault {
    /// Puts the fault into a plant (or the kit).
    ///
    /// # Errors
    /// A sentence for the author when the place doesn't exist or the severity is outside 1 … 5.
    pub fn apply(&self, plant: &mut Plant, kit: &mut KitFaults, instance: &FaultInstance) -> Result<(), String> {
        if !(1.0..=5.0).contains(&instance.severity) {
            return Err(format!("severity {} of {} is outside 1 … 5", instance.severity, self.code));
        }
        let at = site::locate(self, plant, &instance.at)?;
        (self.change)(&mut Site { plant, kit, severity: instance.severity, at })
    }

    /// Names of the places in a plant where the fault can sit.
    pub fn places(&self, plant: &Plant) -> Vec<String> {
        site::places(self, plant)
    }

    /// Whether work on a part with these ends reaches a fault that sits at `at`.
    pub fn is_reached(&self, sound: &Plant, at: &str, part: &str, ends: &[String]) -> bool {
        match self.place {
            Place::Part(kinds) => {
                sound.part(part).is_some_and(|p| kinds.contains(&p.is.kind())) && (at.is_empty() || at == part)
            }
            Place::Circuit => at.split('/').next() == Some(part),
            Place::Node => at == part || ends.iter().any(|end| end == at),
            Place::Kit | Place::Nowhere => false,
        }
    }
}

/// Puts several faults into a plant. They go in by code, place and severity, so that the order in which they
/// are given doesn't matter.
///
/// # Errors
/// See [`Fault::apply`]; also an unknown code.
pub fn apply_all(plant: &mut Plant, faults: &[FaultInstance]) -> Result<KitFaults, String> {
    let mut list: Vec<&FaultInstance> = faults.iter().collect();
    list.sort_by(|a, b| (&a.fault, &a.at).cmp(&(&b.fault, &b.at)).then_with(|| a.severity.total_cmp(&b.severity)));
    let mut kit = KitFaults::default();
    for instance in list {
        let fault = by_code(&instance.fault).ok_or_else(|| format!("no fault has the code {}", instance.fault))?;
        fault.apply(plant, &mut kit, instance)?;
    }
    Ok(kit)
}

/// A value that grows geometrically from `low` at severity 1 to `high` at severity 5.
fn geometric(severity: f64, low: f64, high: f64) -> f64 {
    low * crate::ops::powf(high / low, (severity - 1.0) / 4.0)
}

/// A value that grows linearly from `low` at severity 1 to `high` at severity 5.
fn linear(severity: f64, low: f64, high: f64) -> f64 {
    low + (high - low) * (severity - 1.0) / 4.0
}

/// A value by severity, in straight lines between the whole numbers.
fn table(severity: f64, values: [f64; 5]) -> f64 {
    let s = (severity - 1.0).clamp(0.0, 4.0);
    let i = (s.floor() as usize).min(3);
    values[i] + (values[i + 1] - values[i]) * (s - i as f64)
}
