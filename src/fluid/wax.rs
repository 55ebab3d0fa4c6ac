//! Wax: what a filter suffers below the cloud point.
//!
//! Below the cloud point T_c the linear resistance of a filter grows by exp((T_c − T)/τ), τ = 5 K, at
//! most thirtyfold: then a path through the crystals stays open. Wax gathers with the fuel that has
//! passed: share of the full effect 1 − exp(−V/V_w), V_w some litres. So an engine starts in frost, runs
//! some minutes and dies. Warmed above the cloud point the filter is as before.
//!
//! Engineering estimates throughout. Not modelled: flow improvers (they move the plugging point more
//! than the cloud point), settling of wax in the tank.

use crate::ops;
use crate::units::{Temperature, Volume};

/// Kelvin below the cloud point for a factor of e.
pub const STEEPNESS_K: f64 = 5.0;
/// Largest factor.
pub const MOST: f64 = 30.0;
/// Fuel that passes while 63 % of the wax gathers; 2 … 10 L occur.
pub const GATHERING: Volume = Volume::from_si(5e-3);

/// Factor on a filter's linear resistance when all wax has gathered, 1 … [`MOST`].
pub fn factor(t: Temperature, cloud_point: Option<Temperature>) -> f64 {
    match cloud_point {
        Some(cloud) if cloud > t => ops::exp((cloud.kelvin() - t.kelvin()) / STEEPNESS_K).min(MOST),
        _ => 1.0,
    }
}

/// Share of the wax that has gathered after `passed` fuel, 0 … 1, with the volume constant `gathering`.
/// As a rate for a solver: d(share)/dV = (1 − share)/`gathering`.
pub fn gathered(passed: Volume, gathering: Volume) -> f64 {
    if gathering.si() <= 0.0 {
        return 1.0;
    }
    1.0 - ops::exp(-passed.si().max(0.0) / gathering.si())
}

/// Factor on a filter's linear resistance when a share of the wax has gathered.
pub fn factor_at(t: Temperature, cloud_point: Option<Temperature>, share: f64) -> f64 {
    1.0 + (factor(t, cloud_point) - 1.0) * share.clamp(0.0, 1.0)
}
