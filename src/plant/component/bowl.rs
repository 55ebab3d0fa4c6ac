//! A sediment bowl or water separator without an element: fuel passes slowly, water and dirt stay.
//!
//! Law: a [`Resistance`] into a volume that mixes. Water that arrives settles until the bowl is full.
//!
//! Stops being true: every drop settles as long as there is room.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};
use crate::units::Volume;

/// Parameters of a sediment bowl.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SedimentBowl {
    /// Upstream node.
    pub from: String,
    /// Downstream node: the bowl.
    pub to: String,
    /// Volume of the bowl.
    pub bowl: Volume,
    /// Drop when clean.
    pub clean: Resistance,
}

impl SedimentBowl {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![Number::new("bowl", "the bowl", self.bowl.si(), Unit::ML, 1.0, 10_000.0)];
        all.extend(of_resistance("clean", &self.clean));
        all
    }
}
