//! The catalogue of faults: what each is called, where it can sit and which physical parameters it
//! changes. A fault never touches a reading.
//!
//! Severity runs from 1 (trace) over 3 (the customer complains) to 5 (no start). Every map from
//! severity to a parameter is monotone; the values are training values.

mod air;
mod flow;
mod kit;
pub mod modifier;

use serde::{Deserialize, Serialize};

use crate::plant::Plant;
pub use modifier::{Conditions, Modifier, effective};

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

/// Where a fault can sit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// At a component of this kind (as [`crate::plant::component::Component::kind`] names it).
    Part(&'static str),
    /// At a joint or any other node.
    Node,
    /// In the tester's own kit.
    Kit,
}

/// What can be wrong with the tester's own kit without being noticed.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct KitFaults {
    /// Offset of the transducer as it comes out of the drawer, mbar. Zeroing removes it.
    pub offset_mbar: f64,
    /// How far the tee's valve really opens when its lever says open, 0 … 1; 0 means fully.
    pub valve_short_of_open: f64,
    /// Air that stays in the sensing hose in spite of purging, mL.
    pub trapped_air_ml: f64,
}

/// An entry of the catalogue.
pub struct Fault {
    /// Code: a stable handle for files and tests.
    pub code: &'static str,
    /// Name in trade words.
    pub name: &'static str,
    /// What it is, in a sentence.
    pub about: &'static str,
    /// Where it can sit.
    pub place: Place,
    /// What puts it right.
    pub remedies: &'static [crate::bay::action::Remedy],
    /// How often it is met, in 1000 jobs on light diesels where the supply is suspected.
    pub weight_light_diesel: f64,
    change: fn(&mut Plant, &mut KitFaults, &FaultInstance) -> Result<(), String>,
}

/// Every fault this version knows, by code.
pub static CATALOGUE: &[Fault] =
    &[flow::F02, flow::F03, air::F09, flow::F13, flow::F15, flow::F26, kit::M2, kit::M4, kit::M6];

/// The entry with this code.
pub fn by_code(code: &str) -> Option<&'static Fault> {
    CATALOGUE.iter().find(|f| f.code == code)
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
        (self.change)(plant, kit, instance)
    }

    /// Names of the places in a plant where the fault can sit.
    pub fn places(&self, plant: &Plant) -> Vec<String> {
        match self.place {
            Place::Part(kind) => {
                plant.parts.iter().filter(|p| p.is.kind() == kind).map(|p| p.name.clone()).collect()
            }
            Place::Node => plant.nodes.iter().map(|n| n.name.clone()).collect(),
            Place::Kit => Vec::new(),
        }
    }
}

/// Puts several faults into a plant, in order.
///
/// # Errors
/// See [`Fault::apply`]; also an unknown code.
pub fn apply_all(plant: &mut Plant, faults: &[FaultInstance]) -> Result<KitFaults, String> {
    let mut kit = KitFaults::default();
    for instance in faults {
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
