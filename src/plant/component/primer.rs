//! A hand primer in the line: bulb, plunger or lever with its two valves.
//!
//! Law: while the hand works it adds a head that falls from `stall` at rest to nothing at strokes × volume; otherwise
//! it is a [`Resistance`].
//!
//! Stops being true: the flow of single strokes isn't followed, their mean is.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};
use crate::units::Volume;

/// Parameters of a hand primer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandPrimer {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Volume of a stroke.
    pub stroke: Volume,
    /// Drop when fuel is drawn through it.
    pub open: Resistance,
}

impl HandPrimer {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![Number::new("stroke", "the stroke", self.stroke.si(), Unit::ML, 0.1, 500.0)];
        all.extend(of_resistance("open", &self.open));
        all
    }
}
