//! Pressure relief, overflow valve or regulator: lets fuel go where the difference exceeds its setting.
//!
//! Law: q = g·s(Δp − p_set − p_ref)/(1 + g·R) + g₀·Δp, s a softplus of a stated width, R the resistance of its way
//! out, p_ref the manifold's pressure against the air when the regulator is referenced to it.
//!
//! Stops being true: no hysteresis, no flutter; the manifold's pressure is that of the engine's state.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::PressureDifference;

/// Parameters of a relief valve or regulator.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Relief {
    /// Node it watches.
    pub from: String,
    /// Node that it lets fuel go to; a tank's outlet means: falls into that tank.
    pub to: String,
    /// Difference at which it opens.
    pub opens: PressureDifference,
    /// Flow a Pa above opening, mL/s.
    pub slope: f64,
    /// Leak, mL/s a Pa.
    #[serde(default)]
    pub leak: f64,
    /// Resistance of its way out, Pa·s/mL.
    #[serde(default)]
    pub way_out: f64,
    /// Width of the rounded corner.
    #[serde(default = "corner")]
    pub rounding: PressureDifference,
    /// It is referenced to the engine's manifold.
    #[serde(default)]
    pub manifold: bool,
}

const fn corner() -> PressureDifference {
    PressureDifference::from_si(1500.0)
}

impl Relief {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        vec![
            Number::new("opens", "the opening pressure", self.opens.si(), Unit::BAR, 0.0, 50.0),
            Number::new("slope", "the slope", self.slope, Unit::ML_PER_S_PA, 1e-7, 10.0),
            Number::new("leak", "the leak", self.leak, Unit::ML_PER_S_PA, 0.0, 1.0),
            Number::new("way_out", "the resistance of its way out", self.way_out, Unit::bare("Pa·s/mL"), 0.0, 1e6),
            Number::new("rounding", "the rounding of its corner", self.rounding.si(), Unit::PA, 10.0, 1e5),
        ]
    }
}
