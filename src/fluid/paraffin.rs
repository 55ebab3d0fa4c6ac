//! Paraffin, which the rest of the world calls kerosene: for lamps, heaters and old tractors, and
//! sometimes in a diesel tank by mistake or to save duty.
//!
//! Typical of middle distillate between petrol and diesel: 775 … 840 kg/m³ at 15 °C, 1 … 2 mm²/s at 40 °C
//! (ASTM D3699 asks for 1.0 … 1.9). Vapour pressure lies between the 0.2 kPa at 37.8 °C that EPA AP-42
//! table 7.1-2 gives for jet kerosene and the 1 kPa or so that tests find with light ends.

use super::class::{Class, Viscosity};

pub(super) const LAMP: Class = Class {
    density_15: 800.0,
    expansion_15: 9.3e-4,
    viscosity: Viscosity::Walther { a: 10.295_25, b: 4.339_17 },
    p_38: 500.0,
    vapour_b: 5200.0,
    bulk_modulus_20: 1.30e9,
    air_20: 0.154,
    molar_mass: 0.165,
    cold: Some((-40.0, -44.0)),
    colour: "water-clear",
    smell: "of lamp oil",
};
