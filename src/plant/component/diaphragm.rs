//! A mechanical lift pump: a cam pulls the diaphragm down, a spring pushes it up.
//!
//! Laws (means over strokes): swept flow D·n/60; the chamber fills to η = s/(1+s), s = [y/(p_a + p_b(n/1000)²)]^5, y the
//! inlet's pressure above vapour pressure; the spring lifts ½[1 − tanh((p − p_s)/w)] of a stroke against the outlet's
//! gauge pressure p: the *spring* sets the pressure. Pressure from the inlet opens both valves. Worn valves leak
//! g·Δp back. The hand lever adds strokes.
//!
//! Stops being true: single strokes are an overlay on the reading, not a state.

use serde::{Deserialize, Serialize};

use crate::units::{AbsolutePressure, Displacement, PressureDifference, Volume};

/// Parameters of a diaphragm pump.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DiaphragmPump {
    /// Inlet node.
    pub from: String,
    /// Outlet node.
    pub to: String,
    /// Volume swept in a turn of the engine, all of it lifted.
    pub displacement: Displacement,
    /// Outlet gauge pressure at which the spring lifts half a stroke.
    pub spring: PressureDifference,
    /// Width of that transition.
    pub spring_over: PressureDifference,
    /// Pressure above vapour pressure at which the chamber half fills.
    pub filling: AbsolutePressure,
    /// What is added to it at 1000 1/min; grows with the square of speed.
    #[serde(default)]
    pub filling_with_speed: AbsolutePressure,
    /// Coefficient of both valves in a row, mL/s/√Pa.
    #[serde(default = "valves")]
    pub through: f64,
    /// Leak of the valves backwards, mL/s a Pa.
    #[serde(default)]
    pub leak: f64,
    /// Volume of a stroke of the hand lever, if it has one.
    #[serde(default)]
    pub hand_stroke: Option<Volume>,
    /// Strokes in a turn of the engine.
    #[serde(default = "half")]
    pub strokes: f64,
}

const fn valves() -> f64 {
    0.5
}

const fn half() -> f64 {
    0.5
}
