//! The non-return valve: lets fuel pass towards the engine and keeps the column from falling.
//!
//! Law: q = c·[Q(s(Δp − p_c(1−ψ))) − ψ·Q(s(−Δp))] + G·Δp, where Q inverts the resistance, s is a
//! softplus of 25 Pa width, p_c the cracking pressure, ψ how far the valve stands open for good
//! (0 seats, 1 stuck open), c how far it opens (1 free, 0 stuck shut), G the leak of the seat in
//! mL/s/Pa. An exponential softplus is used since algebraic ones leak through at Δp = 0.
//!
//! A valve that sticks needs p_s more than its cracking pressure until it has come loose: p_c + p_s(1 − ξ), where ξ
//! follows q²/(q² + q₀²) of the flow ahead within 50 ms (q₀ = 1 mL/s; engineering estimates). So it opens with a jerk and,
//! once fuel flows, is as any other; it sticks again when it has shut.
//!
//! Stops being true: the ball has no mass, so chatter isn't shown.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};
use crate::units::PressureDifference;

/// Parameters of a non-return valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NonReturnValve {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Difference at which it opens.
    pub cracking: PressureDifference,
    /// Drop above cracking.
    pub open: Resistance,
    /// Leak of the seat, mL/s a Pa of reverse difference.
    #[serde(default)]
    pub seat_leak: f64,
    /// Share that stands open for good, 0 … 1.
    #[serde(default)]
    pub stuck_open: f64,
    /// Share of its lift that it reaches, 1 free … 0 stuck shut.
    #[serde(default = "one")]
    pub lift: f64,
    /// Difference beyond cracking that it takes to come loose from its seat; 0: it doesn't stick.
    #[serde(default)]
    pub sticks: PressureDifference,
}

const fn one() -> f64 {
    1.0
}

impl NonReturnValve {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("cracking", "the cracking pressure", self.cracking.si(), Unit::MBAR, 0.0, 1000.0),
            Number::new("seat_leak", "the leak of the seat", self.seat_leak, Unit::ML_PER_S_PA, 0.0, 1e-2),
            Number::new("stuck_open", "the share stuck open", self.stuck_open, Unit::NONE, 0.0, 1.0),
            Number::new("lift", "the lift", self.lift, Unit::NONE, 0.0, 1.0),
            Number::new("sticks", "what it takes to come loose", self.sticks.si(), Unit::MBAR, 0.0, 1000.0),
        ];
        all.extend(of_resistance("open", &self.open));
        all
    }
}
