//! A swirl pot: a small pot in the tank that keeps the pick-up covered on slopes and in bends.
//!
//! Laws: level V/A; shares the tank's air space; a flap lets tank fuel in while the tank's level is higher; what comes over
//! the rim falls back into the tank.
//!
//! Stops being true: no sloshing inside.

use serde::{Deserialize, Serialize};

use super::Resistance;
use super::number::{Number, Unit, of_resistance};
use crate::units::{Area, Length, Volume};

/// Parameters of a swirl pot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SwirlPot {
    /// Node that stands for the fuel at its pick-up.
    pub outlet: String,
    /// Outlet node of the tank it stands in.
    pub tank: String,
    /// Volume up to the rim.
    pub volume: Volume,
    /// Area of its surface.
    pub area: Area,
    /// Height of the pick-up's mouth above its bottom.
    pub pickup: Length,
    /// Drop of the flap that fills it from the tank.
    pub flap: Resistance,
}

impl SwirlPot {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("volume", "the volume", self.volume.si(), Unit::L, 0.05, 20.0),
            Number::new("area", "the surface", self.area.si(), Unit::M2, 1e-4, 1.0),
            Number::new("pickup", "the height of the pick-up", self.pickup.si(), Unit::M, 0.0, 1.0),
        ];
        all.extend(of_resistance("flap", &self.flap));
        all
    }
}
