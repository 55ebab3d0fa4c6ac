//! A mechanical lift pump: a cam pulls the diaphragm down, a spring pushes it up.
//!
//! Laws (means over strokes): swept flow D·n/60; the chamber fills to η = s/(1+s), s = [y/(p_a + p_b(n/1000)²)]^5, y the
//! inlet's pressure above vapour pressure; the spring lifts ½[1 − tanh((p − p_s)/w)] of a stroke against the outlet's
//! gauge pressure p: the *spring* sets the pressure. Pressure from the inlet opens both valves. Worn valves leak
//! g·Δp back. The hand lever adds strokes.
//!
//! Stops being true: single strokes are an overlay on the reading, not a state.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
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

impl DiaphragmPump {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("displacement", "the displacement", self.displacement.si(), Unit::ML_PER_TURN, 0.01, 50.0),
            Number::new("spring", "the spring's pressure", self.spring.si(), Unit::MBAR, 20.0, 3000.0),
            Number::new(
                "spring_over",
                "the width of its transition",
                self.spring_over.si(),
                Unit::MBAR,
                1.0,
                2000.0,
            ),
            Number::new("filling", "the filling pressure", self.filling.si(), Unit::PA, 100.0, 1e5),
            Number::new(
                "filling_with_speed",
                "its growth with speed",
                self.filling_with_speed.si(),
                Unit::PA,
                0.0,
                1e5,
            ),
            Number::new(
                "through",
                "the coefficient of its valves",
                self.through,
                Unit::bare("mL/s/√Pa"),
                1e-3,
                100.0,
            ),
            Number::new("leak", "the leak of its valves", self.leak, Unit::ML_PER_S_PA, 0.0, 1e-2),
            Number::new("strokes", "the strokes in a turn", self.strokes, Unit::NONE, 0.1, 4.0),
        ];
        if let Some(stroke) = self.hand_stroke {
            all.push(Number::new("hand_stroke", "the stroke of the lever", stroke.si(), Unit::ML, 0.1, 100.0));
        }
        all
    }
}
