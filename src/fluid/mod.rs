//! Properties of the fuel against temperature.
//!
//! Density after ASTM D1250 / API MPMS 11.1: ρ(T) = ρ₁₅·exp[−αΔt(1 + 0.8αΔt)], Δt = T − 288.15 K.
//! Viscosity after ASTM D341 (Walther): lg lg(ν + 0.7) = A − B·lg T, ν in mm²/s; petrol, which lies
//! below the range of that short form, after Andrade: ln ν = a + b/T. Vapour pressure
//! ln p_v = ln p₃₈ − B(1/T − 1/310.95). Constants are fitted to the classes named; they are typical
//! of a class, not data of any fuel on sale.
//!
//! Stops being true: outside −20 … 80 °C, below the cloud point (no wax yet), above 10 bar (pressure
//! changes viscosity and stiffness by more than 1.5 %).

use serde::{Deserialize, Serialize};

use crate::ops;
use crate::units::Temperature;

/// A class of fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum FuelClass {
    /// Diesel as EN 590 describes it, summer.
    Diesel,
    /// Diesel of a winter class.
    WinterDiesel,
    /// Fatty-acid methyl ester as EN 14214 describes it.
    Biodiesel,
    /// Petrol as EN 228 describes it.
    Petrol,
}

/// A fuel at one temperature, in the units of the solver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuel {
    /// Density, kg/m³.
    pub density: f64,
    /// Dynamic viscosity, Pa·s.
    pub viscosity: f64,
    /// Dynamic viscosity of the same fuel at 20 °C, Pa·s: what resistances on the card refer to.
    pub viscosity_at_20: f64,
    /// Vapour pressure, Pa absolute.
    pub vapour_pressure: f64,
    /// Bulk modulus, Pa.
    pub bulk_modulus: f64,
    /// Thermal expansion of the volume, 1/K.
    pub expansion: f64,
    /// Ostwald coefficient: m³ of air dissolved at its partial pressure a m³ of fuel.
    pub air_solubility: f64,
}

enum Viscosity {
    Walther { a: f64, b: f64 },
    Andrade { a: f64, b: f64 },
}

struct Class {
    density_15: f64,
    expansion: f64,
    viscosity: Viscosity,
    p_38: f64,
    vapour_b: f64,
    bulk_modulus_20: f64,
    air_solubility: f64,
}

impl FuelClass {
    const fn constants(self) -> Class {
        match self {
            Self::Diesel => Class {
                density_15: 835.0,
                expansion: 8.5e-4,
                viscosity: Viscosity::Walther { a: 9.428_45, b: 3.886_96 },
                p_38: 200.0,
                vapour_b: 5500.0,
                bulk_modulus_20: 1.45e9,
                air_solubility: 0.126,
            },
            Self::WinterDiesel => Class {
                density_15: 825.0,
                expansion: 8.7e-4,
                viscosity: Viscosity::Walther { a: 9.645_74, b: 3.999_08 },
                p_38: 330.0,
                vapour_b: 5500.0,
                bulk_modulus_20: 1.40e9,
                air_solubility: 0.13,
            },
            Self::Biodiesel => Class {
                density_15: 883.0,
                expansion: 8.3e-4,
                viscosity: Viscosity::Walther { a: 8.403_89, b: 3.425_41 },
                p_38: 1.0,
                vapour_b: 5500.0,
                bulk_modulus_20: 1.55e9,
                air_solubility: 0.09,
            },
            Self::Petrol => Class {
                density_15: 750.0,
                expansion: 1.21e-3,
                viscosity: Viscosity::Andrade { a: -3.719, b: 950.0 },
                p_38: 55_120.0,
                vapour_b: 2970.0,
                bulk_modulus_20: 1.05e9,
                air_solubility: 0.20,
            },
        }
    }

    /// Kinematic viscosity, mm²/s.
    pub fn kinematic_viscosity(self, t: Temperature) -> f64 {
        match self.constants().viscosity {
            Viscosity::Walther { a, b } => {
                let lg = ops::powf(10.0, a - b * ops::log10(t.kelvin()));
                ops::powf(10.0, lg) - 0.7
            }
            Viscosity::Andrade { a, b } => ops::exp(a + b / t.kelvin()),
        }
    }

    /// Density, kg/m³.
    pub fn density(self, t: Temperature) -> f64 {
        let class = self.constants();
        let e = class.expansion * (t.kelvin() - 288.15);
        class.density_15 * ops::exp(-e * (1.0 + 0.8 * e))
    }

    /// Every property at a temperature.
    pub fn at(self, t: Temperature) -> Fuel {
        let class = self.constants();
        let twenty = Temperature::from_celsius(20.0);
        Fuel {
            density: self.density(t),
            viscosity: self.kinematic_viscosity(t) * 1e-6 * self.density(t),
            viscosity_at_20: self.kinematic_viscosity(twenty) * 1e-6 * self.density(twenty),
            vapour_pressure: class.p_38 * ops::exp(-class.vapour_b * (1.0 / t.kelvin() - 1.0 / 310.95)),
            // dK/dT ≈ −7 MPa/K, fitted to n-dodecane
            bulk_modulus: class.bulk_modulus_20 - 7e6 * (t.celsius() - 20.0),
            expansion: class.expansion,
            air_solubility: class.air_solubility,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn viscosity_follows_the_table_of_each_class() {
        // mm²/s at −10, 0, 20, 40 and 80 °C
        for (class, table) in [
            (FuelClass::Diesel, [10.5, 7.40, 4.20, 2.72, 1.46]),
            (FuelClass::WinterDiesel, [7.75, 5.59, 3.30, 2.20, 1.23]),
            (FuelClass::Biodiesel, [19.2, 13.2, 7.20, 4.50, 2.28]),
            (FuelClass::Petrol, [0.90, 0.79, 0.62, 0.50, 0.36]),
        ] {
            for (t, expected) in [-10.0, 0.0, 20.0, 40.0, 80.0].into_iter().zip(table) {
                let nu = class.kinematic_viscosity(Temperature::from_celsius(t));
                assert!((nu / expected - 1.0).abs() < 0.015, "{class:?} at {t} °C: {nu} against {expected}");
            }
        }
    }

    #[test]
    fn petrol_boils_where_its_class_says() {
        let p = FuelClass::Petrol.at(Temperature::from_celsius(20.0)).vapour_pressure;
        assert!((p - 30_800.0).abs() < 600.0, "{p}");
    }
}
