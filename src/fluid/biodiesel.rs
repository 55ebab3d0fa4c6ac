//! Fatty-acid methyl ester, the "B100" of the pump.
//!
//! EN 14214 holds 860 … 900 kg/m³ at 15 °C and 3.5 … 5.0 mm²/s at 40 °C. Expansion as methyl esters have
//! by their equations of state (Huber et al. 2009, Energy Fuels 23:3790: 8.3 … 8.9·10⁻⁴ 1/K). Cloud point
//! and plugging point vary widely with the oil it is made of; these are typical of rapeseed.

use super::class::{Class, Viscosity};

pub(super) const METHYL_ESTER: Class = Class {
    density_15: 883.0,
    expansion_15: 8.3e-4,
    viscosity: Viscosity::Walther { a: 8.403_89, b: 3.425_41 },
    p_38: 1.0,
    vapour_b: 5500.0,
    bulk_modulus_20: 1.55e9,
    air_20: 0.09,
    molar_mass: 0.296,
    cold: Some((-3.0, -10.0)),
    colour: "deep amber",
    smell: "of frying oil",
};
