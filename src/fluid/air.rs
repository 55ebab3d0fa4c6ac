//! Air: around the vehicle, and where it has no business.
//!
//! Dry air as an ideal gas, ρ = p/(R·T), R = 287.05 J/(kg·K). Air pressure at a height is
//! [`AbsolutePressure::at_altitude`]. Viscosity after Sutherland: μ = 1.458·10⁻⁶·T^1.5/(T + 110.4), Pa·s
//! (US Standard Atmosphere 1976). Humidity (below 1.5 % of density) is left out.

use crate::units::{AbsolutePressure, Temperature};

/// Gas constant of dry air, J/(kg·K).
pub const GAS_CONSTANT: f64 = 287.05;
/// Ratio of the heat capacities, for flow through a hole.
pub const HEAT_RATIO: f64 = 1.4;

/// Density, kg/m³.
pub const fn density(pressure: AbsolutePressure, t: Temperature) -> f64 {
    pressure.si() / (GAS_CONSTANT * t.kelvin())
}

/// Dynamic viscosity, Pa·s. Range: −60 … 200 °C.
pub fn viscosity(t: Temperature) -> f64 {
    1.458e-6 * t.kelvin() * t.kelvin().sqrt() / (t.kelvin() + 110.4)
}
