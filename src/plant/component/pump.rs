//! The transfer pump: gears or vanes driven by the engine.
//!
//! Laws: swept flow D·n/60; the chambers fill to η = s/(1+s), s = [y/(p_a + p_b(n/1000)²)]^m with
//! y the inlet's pressure above vapour pressure (a starved inlet delivers less; engineering
//! estimate); slip back through the gaps (k·n/(n+60) + k₀)·Δp·μ_ref/μ.
//!
//! Stops being true: ripple is laid over the reading afterwards and doesn't act on the flow.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::{AbsolutePressure, Displacement};

/// Parameters of a gear or vane pump.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GearPump {
    /// Inlet node.
    pub from: String,
    /// Outlet node.
    pub to: String,
    /// Volume swept in a turn of the engine.
    pub displacement: Displacement,
    /// Slip while turning, mL/s a Pa.
    pub slip: f64,
    /// Slip at standstill, mL/s a Pa.
    pub slip_at_rest: f64,
    /// Pressure above vapour pressure at which the chambers half fill at standstill.
    pub filling: AbsolutePressure,
    /// What is added to it at 1000 1/min; grows with the square of speed.
    pub filling_with_speed: AbsolutePressure,
    /// Steepness of the filling curve.
    #[serde(default = "five")]
    pub filling_steepness: f64,
    /// Teeth or vanes, for the ripple.
    #[serde(default = "nine")]
    pub teeth: u8,
    /// How far one tooth is broken off, 0 … 1: shown by the ripple only.
    #[serde(default)]
    pub chipped: f64,
}

const fn five() -> f64 {
    5.0
}

const fn nine() -> u8 {
    9
}

impl GearPump {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        vec![
            Number::new("displacement", "the displacement", self.displacement.si(), Unit::ML_PER_TURN, 0.01, 200.0),
            Number::new("slip", "the slip", self.slip, Unit::ML_PER_S_PA, 0.0, 1e-2),
            Number::new("slip_at_rest", "the slip at rest", self.slip_at_rest, Unit::ML_PER_S_PA, 0.0, 1e-2),
            Number::new("filling", "the filling pressure", self.filling.si(), Unit::PA, 100.0, 1e5),
            Number::new(
                "filling_with_speed",
                "its growth with speed",
                self.filling_with_speed.si(),
                Unit::PA,
                0.0,
                1e5,
            ),
            Number::new("filling_steepness", "the steepness", self.filling_steepness, Unit::NONE, 1.0, 20.0),
            Number::new("teeth", "the number of teeth", f64::from(self.teeth), Unit::NONE, 2.0, 60.0),
            Number::new("chipped", "the damage of a tooth", self.chipped, Unit::NONE, 0.0, 1.0),
        ]
    }
}
