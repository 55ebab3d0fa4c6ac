//! The strainer at the pick-up: a coarse gauze, mostly a turbulent resistance.
//!
//! Law: see [`Resistance`]. Stops being true: debris that shifts with flow isn't modelled.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, of_resistance};

/// Parameters of a strainer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strainer {
    /// Upstream node.
    pub from: String,
    /// Downstream node.
    pub to: String,
    /// Drop when clean.
    pub clean: Resistance,
    /// Extra drop by dirt, added to the clean one; 0 in a healthy plant.
    #[serde(default)]
    pub dirt: Option<Resistance>,
}

impl Strainer {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = of_resistance("clean", &self.clean);
        if let Some(dirt) = &self.dirt {
            all.extend(of_resistance("dirt", dirt));
        }
        all
    }
}
