//! Water: condensation, rain through a cap, a bad delivery. As a slug it fills the bore by itself; as
//! an emulsion it is part of a [`super::Blend`].
//!
//! - Density ρ = 1000·[1 − (t − 3.9863)²·(t + 288.9414)/(508929.2·(t + 68.12963))], t in °C, kg/m³ (Gill
//!   1982; within 0.1 kg/m³ of tables for 0 … 80 °C).
//! - Viscosity μ = 2.414·10⁻⁵·10^(247.8/(T − 140)), Pa·s (within 2.5 % for 0 … 100 °C).
//! - Vapour pressure p = 610.94·exp(17.625·t/(t + 243.04)), Pa (Magnus form of Alduchov & Eskridge 1996).
//! - Bulk modulus K = 1.97e9 + 1.365e7·t − 1.6e5·t², Pa (within 2 % of tables for 0 … 60 °C).
//! - Air: Bunsen coefficient 0.0187 at 20 °C, falling with warmth (within 10 % for 0 … 40 °C).
//!
//! Below 0 °C water is ice and blocks; the properties given are then those at 0 °C.

use super::Fuel;
use crate::ops;
use crate::units::Temperature;

/// Temperature at which it freezes.
pub const FREEZES: Temperature = Temperature::from_celsius(0.0);

/// Density, kg/m³, at t °C.
fn density(t: f64) -> f64 {
    let d = t - 3.9863;
    1000.0 * (1.0 - d * d * (t + 288.9414) / (508_929.2 * (t + 68.129_63)))
}

/// Dynamic viscosity, Pa·s, at t °C.
fn viscosity(t: f64) -> f64 {
    2.414e-5 * ops::powf(10.0, 247.8 / (t + 273.15 - 140.0))
}

/// Properties of a slug of water.
pub fn at(t: Temperature) -> Fuel {
    let t = t.celsius().clamp(0.0, 100.0);
    // the slope of the density over a kelvin; below 4 °C water grows when it cools
    let slope = density(t + 0.5) - density(t - 0.5);
    Fuel {
        density: density(t),
        viscosity: viscosity(t),
        viscosity_at_20: viscosity(20.0),
        vapour_pressure: 610.94 * ops::exp(17.625 * t / (t + 243.04)),
        bulk_modulus: 1.97e9 + 1.365e7 * t - 1.6e5 * t * t,
        air_solubility: 0.0201 * ops::exp(-0.0155 * (t - 20.0)),
        expansion: -slope / density(t),
    }
}
