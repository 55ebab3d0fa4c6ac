//! A narrowing: an orifice, a union, a banjo bolt, anything whose drop at a flow is known.
//!
//! Law: [`Resistance`].
//!
//! Stops being true: cavitation in the narrowest section isn't modelled.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, of_resistance};

/// Parameters of a narrowing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Restriction {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Its drop.
    pub drop: Resistance,
}

impl Restriction {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        of_resistance("drop", &self.drop)
    }
}
