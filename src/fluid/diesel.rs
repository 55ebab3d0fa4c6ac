//! Diesel by climate.
//!
//! EN 590 knows temperate grades A … F, sold by season, whose cold filter plugging point is at most
//! +5, 0, −5, −10, −15 and −20 °C, and arctic classes 0 … 4 down to −44 °C with a limit on the cloud
//! point, too. What the standard holds at 15 °C: 820 … 845 kg/m³ temperate, 800 … 845 arctic; at 40 °C
//! 2.0 … 4.5 mm²/s temperate, from 1.2 arctic. Colder grades are cut lighter, hence thinner, and hold a
//! little more air. Which grade a country sells when is its own affair and isn't modelled.
//!
//! Viscosity constants are fitted to typical points of each grade; vapour pressure, bulk modulus and
//! cloud point within a grade are engineering estimates.

use super::class::{Class, Viscosity};

const SMELL: &str = "oily";

/// Grade B: plugging point at most 0 °C.
pub(super) const SUMMER: Class = Class {
    density_15: 835.0,
    expansion_15: 8.5e-4,
    viscosity: Viscosity::Walther { a: 9.428_45, b: 3.886_96 },
    p_38: 200.0,
    vapour_b: 5500.0,
    bulk_modulus_20: 1.45e9,
    air_20: 0.126,
    molar_mass: 0.205,
    cold: Some((3.0, 0.0)),
    colour: "amber",
    smell: SMELL,
};

/// Grade D: plugging point at most −10 °C.
pub(super) const TRANSITION: Class = Class {
    density_15: 830.0,
    expansion_15: 8.6e-4,
    viscosity: Viscosity::Walther { a: 9.4797, b: 3.919_54 },
    p_38: 260.0,
    vapour_b: 5500.0,
    bulk_modulus_20: 1.43e9,
    air_20: 0.128,
    molar_mass: 0.200,
    cold: Some((-4.0, -10.0)),
    colour: "amber",
    smell: SMELL,
};

/// Grade F: plugging point at most −20 °C (with a flow improver: the cloud point lies higher).
pub(super) const WINTER: Class = Class {
    density_15: 825.0,
    expansion_15: 8.7e-4,
    viscosity: Viscosity::Walther { a: 9.645_74, b: 3.999_08 },
    p_38: 330.0,
    vapour_b: 5500.0,
    bulk_modulus_20: 1.40e9,
    air_20: 0.13,
    molar_mass: 0.195,
    cold: Some((-10.0, -20.0)),
    colour: "amber",
    smell: SMELL,
};

/// Arctic class 2: plugging point at most −32 °C, cloud point at most −22 °C.
pub(super) const ARCTIC: Class = Class {
    density_15: 812.0,
    expansion_15: 9.0e-4,
    viscosity: Viscosity::Walther { a: 9.809_02, b: 4.098_56 },
    p_38: 400.0,
    vapour_b: 5400.0,
    bulk_modulus_20: 1.35e9,
    air_20: 0.144,
    molar_mass: 0.180,
    cold: Some((-22.0, -32.0)),
    colour: "straw-coloured",
    smell: SMELL,
};
