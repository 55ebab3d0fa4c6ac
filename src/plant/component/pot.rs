//! A swirl pot: a small pot in the tank that keeps the pick-up covered on slopes and in bends.
//!
//! Laws: level V/A; shares the tank's air space; a flap lets tank fuel in while the tank's level is higher; what comes over
//! the rim falls back into the tank.
//!
//! Stops being true: no sloshing inside.

use serde::{Deserialize, Serialize};

use super::Resistance;
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
