//! A resistance with a laminar and a turbulent share.
//!
//! Law: Δp = a·q + b·q·|q|, with a in Pa·s/mL proportional to viscosity (Darcy) and b in Pa·s²/mL²
//! proportional to density (Forchheimer 1901). Authors don't know a and b; they know a pressure
//! drop at a flow, and how much of it goes with the flow rather than with its square.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::{PressureDifference, VolumeFlow};

/// Pressure drop at a known flow with the plant's fuel at 20 °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Resistance {
    /// Drop at `at`.
    pub drop: PressureDifference,
    /// Flow at which `drop` is meant.
    pub at: VolumeFlow,
    /// Share of the drop that is proportional to the flow, 0 … 1.
    pub laminar: f64,
}

impl Resistance {
    /// From the coefficients of the law: `a` in Pa·s/mL, `b` in Pa·s²/mL².
    pub fn from_coefficients(a: f64, b: f64) -> Self {
        let at_ml_s = 30.0;
        let drop = a * at_ml_s + b * at_ml_s * at_ml_s;
        let laminar = if drop > 0.0 { a * at_ml_s / drop } else { 1.0 };
        Self { drop: PressureDifference::from_si(drop), at: VolumeFlow::from_si(at_ml_s * 1e-6), laminar }
    }

    /// The coefficients a (Pa·s/mL) and b (Pa·s²/mL²).
    pub fn coefficients(&self) -> (f64, f64) {
        let q = self.at.si() * 1e6;
        let drop = self.drop.si();
        (drop * self.laminar / q, drop * (1.0 - self.laminar) / (q * q))
    }

    /// The same resistance with the drop multiplied.
    pub fn times(&self, factor: f64) -> Self {
        Self { drop: PressureDifference::from_si(self.drop.si() * factor), ..*self }
    }
}

impl Resistance {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        vec![
            Number::new("drop", "the drop", self.drop.si(), Unit::PA, 0.1, 1e6),
            Number::new("at", "the flow", self.at.si(), Unit::L_PER_H, 0.1, 10_000.0),
            Number::new("laminar", "the laminar share", self.laminar, Unit::NONE, 0.0, 1.0),
        ]
    }
}
