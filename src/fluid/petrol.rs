//! Petrol by season.
//!
//! EN 228 sells petrol by volatility: the dry vapour pressure equivalent (DVPE, at 37.8 °C, of a sample
//! saturated with air) is 45 … 60 kPa in summer and 60 … 90 kPa in winter; 720 … 775 kg/m³ at 15 °C. The
//! true vapour pressure is a little above the DVPE. Slopes after the correlation for refined stocks of
//! EPA AP-42 chapter 7.1 with a distillation slope of 3.0.

use super::class::{Class, Viscosity};
use crate::ops;
use crate::units::{AbsolutePressure, Temperature};

const SMELL: &str = "sharp, of petrol";

/// DVPE 52 kPa.
pub(super) const SUMMER: Class = Class {
    density_15: 750.0,
    expansion_15: 1.21e-3,
    viscosity: Viscosity::Andrade { a: -3.719, b: 950.0 },
    p_38: 55_120.0,
    vapour_b: 2970.0,
    bulk_modulus_20: 1.05e9,
    air_20: 0.20,
    molar_mass: 0.095,
    cold: None,
    colour: "pale yellow",
    smell: SMELL,
};

/// DVPE 80 kPa.
pub(super) const WINTER: Class = Class {
    density_15: 735.0,
    expansion_15: 1.24e-3,
    viscosity: Viscosity::Andrade { a: -3.78, b: 950.0 },
    p_38: 85_100.0,
    vapour_b: 2850.0,
    bulk_modulus_20: 1.00e9,
    air_20: 0.21,
    molar_mass: 0.088,
    cold: None,
    colour: "pale yellow",
    smell: SMELL,
};

/// Vapour pressure of a petrol of any DVPE, after EPA AP-42 chapter 7.1 (refined petroleum stocks,
/// slope of the 10 % distillate 3 °F a percent): p = exp(A − B/T) in psi with T in °R,
/// A = 15.64 − 1.854·√S − (0.8742 − 0.3280·√S)·ln R, B = 8742 − 1042·√S − (1049 − 179.4·√S)·ln R,
/// R the DVPE in psi. Range: DVPE 35 … 105 kPa, −10 … 60 °C.
pub fn vapour_pressure(dvpe: AbsolutePressure, t: Temperature) -> AbsolutePressure {
    const PSI: f64 = 6_894.757_293_168;
    let ln_r = ops::ln((dvpe.si() / PSI).max(1.0));
    let root_s = 3.0_f64.sqrt();
    let a = 15.64 - 1.854 * root_s - (0.8742 - 0.3280 * root_s) * ln_r;
    let b = 8742.0 - 1042.0 * root_s - (1049.0 - 179.4 * root_s) * ln_r;
    AbsolutePressure::from_si(PSI * ops::exp(a - b / (1.8 * t.kelvin())))
}
