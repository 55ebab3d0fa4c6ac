//! The transfer pump: gears or vanes driven by the engine.
//!
//! Laws: swept flow D·n/60; the chambers fill to η = s/(1+s), s = [y/(p_a + p_b(n/1000)²)]^m with
//! y the inlet's pressure above vapour pressure (a starved inlet delivers less; engineering
//! estimate); slip back through the gaps (k·n/(n+60) + k₀)·Δp·μ_ref/μ.
//!
//! Stops being true: ripple is laid over the reading afterwards and doesn't act on the flow.

use serde::{Deserialize, Serialize};

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
}

const fn five() -> f64 {
    5.0
}

const fn nine() -> u8 {
    9
}
