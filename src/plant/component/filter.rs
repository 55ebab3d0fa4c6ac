//! The filter: a bowl of fuel, a porous element and, perhaps, a hand primer on its head.
//!
//! Law: Darcy–Forchheimer Δp = a·q/(1−s)³ + b·q|q|/(1−s)⁴ with s the clogged share of the element
//! (Darcy 1856, Forchheimer 1901; the exponents are an engineering estimate). A cushion of air in
//! the head never moves. The primer pumps from the bowl to the engine side by hand.
//!
//! A heater in the head takes 12 W for each kelvin that it adds ([`HEATER_W_PER_K`]), while it is fed: with the key
//! on, and only while it is colder at the filter than [`HEATER_BELOW_C`], by its thermostat.
//!
//! Below the cloud point wax settles with the litres passed and multiplies the laminar part.
//!
//! Stops being true: the element clogs evenly; wax melts as a whole.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};
use crate::units::{Volume, Warming};

/// Parameters of a filter.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Filter {
    /// Upstream node: the bowl.
    pub from: String,
    /// Downstream node: the clean side.
    pub to: String,
    /// Drop of a new element.
    pub new: Resistance,
    /// Volume of the bowl.
    pub bowl: Volume,
    /// Volume of the clean side.
    pub clean_side: Volume,
    /// Air caught in the head, at air pressure.
    #[serde(default)]
    pub cushion: Volume,
    /// There is a hand primer; volume of a stroke.
    #[serde(default)]
    pub primer_stroke: Option<Volume>,
    /// Warmer than its surroundings by a heater while the engine runs.
    #[serde(default)]
    pub heater: Warming,
    /// Clogged share of the element, 0 … 1.
    #[serde(default)]
    pub clogged: f64,
}

/// Power of a filter's heater for each kelvin that it adds, W/K. Engineering estimate: ρ·c·q of some 7 mL/s of diesel
/// (830 kg/m³, 2.0 kJ/kg/K), what an engine burns and a little more.
pub const HEATER_W_PER_K: f64 = 12.0;
/// Temperature at the filter above which its thermostat keeps the heater off, °C. Engineering estimate: a little above
/// the cloud points of summer fuel.
pub const HEATER_BELOW_C: f64 = 5.0;

impl Filter {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("bowl", "the bowl", self.bowl.si(), Unit::ML, 1.0, 10_000.0),
            Number::new("clean_side", "the clean side", self.clean_side.si(), Unit::ML, 1.0, 10_000.0),
            Number::new("cushion", "the cushion of air", self.cushion.si(), Unit::ML, 0.0, self.bowl.si() * 1e6),
            Number::new("heater", "what the heater adds", self.heater.si(), Unit::K, 0.0, 60.0),
            Number::new("clogged", "the clogged share", self.clogged, Unit::NONE, 0.0, 0.95),
        ];
        if let Some(stroke) = self.primer_stroke {
            all.push(Number::new("primer_stroke", "the stroke", stroke.si(), Unit::ML, 0.1, 500.0));
        }
        all.extend(of_resistance("new", &self.new));
        all
    }
}
