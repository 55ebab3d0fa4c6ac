//! How much air a fuel holds.
//!
//! Ostwald coefficient L: m³ of gas, measured at the fuel's temperature and the gas's own partial
//! pressure, that a m³ of fuel holds when saturated. After ASTM D2779 for petroleum liquids:
//! L = 7.70·(0.980 − ρ₁₅/1000)·0.300·exp[0.639·((700 − T)/T)·ln(3.333·L₀)], L₀ = 0.098 for air, ρ₁₅ in
//! kg/m³ at 15 °C, T in K. Air dissolves *better* in warm fuel; it comes out because its partial
//! pressure falls, not because of heat.
//!
//! Stops being true: outside 0 … 100 °C and 630 … 900 kg/m³, where it is carried on as it is; esters
//! are no petroleum, so biodiesel has its own value at 20 °C and only the run with temperature from here.

use crate::ops;
use crate::units::Temperature;

/// 0.639·ln(3.333·0.098): negative, so that solubility rises with temperature.
fn exponent(t: Temperature) -> f64 {
    0.639 * (700.0 - t.kelvin()) / t.kelvin() * ops::ln(3.333 * 0.098)
}

/// Ostwald coefficient of air in a petroleum liquid of a density at 15 °C (kg/m³). Never below 0.
pub fn ostwald(density_15: f64, t: Temperature) -> f64 {
    7.70 * (0.980 - density_15 / 1000.0).max(0.0) * 0.300 * ops::exp(exponent(t))
}

/// Ostwald coefficient against its own value at 20 °C; exactly 1 there.
pub fn against_20(t: Temperature) -> f64 {
    ops::exp(exponent(t) - exponent(Temperature::from_celsius(20.0)))
}

/// Bunsen coefficient (m³ of gas reduced to 0 °C) from an Ostwald coefficient.
pub fn bunsen(ostwald: f64, t: Temperature) -> f64 {
    ostwald * 273.15 / t.kelvin()
}
