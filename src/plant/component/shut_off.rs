//! A shut-off valve: hand tap, change-over valve or stop solenoid in the line.
//!
//! Law: q = K(θ)·Δp/(Δp²+δ²)^¼ with the equal-percentage curve K(θ) = K_max(30^θ − 1)/29, θ the real
//! opening: the lever's times `reach` (a slipped stem reaches less). Tight at θ = 0 but for `leak`.
//!
//! Stops being true: the curve is that of a plug valve; a gate or a ball is steeper.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};

/// Parameters of a shut-off valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShutOffValve {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Drop when fully open; its laminar share is ignored.
    pub open: Resistance,
    /// Lever at the start, 0 shut … 1 open.
    #[serde(default = "one")]
    pub lever: f64,
    /// Real opening with the lever fully open, 0 … 1.
    #[serde(default = "one")]
    pub reach: f64,
    /// Share of the open coefficient that stays when shut.
    #[serde(default)]
    pub leak: f64,
}

const fn one() -> f64 {
    1.0
}

impl ShutOffValve {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("lever", "where the lever stands", self.lever, Unit::NONE, 0.0, 1.0),
            Number::new("reach", "how far it really opens", self.reach, Unit::NONE, 0.0, 1.0),
            Number::new("leak", "what stays open when shut", self.leak, Unit::NONE, 0.0, 1.0),
        ];
        all.extend(of_resistance("open", &self.open));
        all
    }
}
