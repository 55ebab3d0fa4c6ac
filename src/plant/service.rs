//! What the vehicle's card says about working on it. Training values; a real machine has its maker's data.

use serde::{Deserialize, Serialize};

use crate::units::Voltage;

/// What is fitted and what is permitted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Service {
    /// Nominal voltage of the battery: 12 or 24 V.
    pub battery: Voltage,
    /// The valve may be shut under the running engine on the suction side (at idle, five seconds).
    pub blocked_inlet: bool,
    /// The valve may be shut under a running pump on its pressure side (at idle, ten seconds).
    pub blocked_outlet: bool,
    /// The centre has switched on the test with compressed air on emptied diesel lines.
    pub air_decay: bool,
    /// The fuel is dyed red, as fuel for engines off the road is in many places.
    pub dyed: bool,
}

impl Default for Service {
    fn default() -> Self {
        Self {
            battery: Voltage::from_si(12.0),
            blocked_inlet: true,
            blocked_outlet: true,
            air_decay: false,
            dyed: false,
        }
    }
}
