//! Fuels, water and air against temperature and pressure. Knows no vehicle.
//!
//! | file | what |
//! |---|---|
//! | `class` | the laws that all classes of fuel share |
//! | `diesel`, `petrol`, `paraffin`, `biodiesel` | the constants of each family |
//! | `blend` | fuels in shares, with water in them |
//! | `dissolved_air` | how much air a fuel holds |
//! | `wax` | what a filter suffers below the cloud point |
//! | `water`, `air` | the two strangers in the system |
//!
//! Constants are fitted to classes of open standards; they are typical of a class, not data of any
//! fuel on sale.

use crate::units::{AbsolutePressure, STANDARD_ATMOSPHERE_PA};

pub mod air;
mod biodiesel;
mod blend;
mod class;
mod diesel;
pub mod dissolved_air;
mod paraffin;
pub mod petrol;
pub mod water;
pub mod wax;

pub use blend::{Blend, BlendError};
pub use class::FuelClass;

/// A liquid at one temperature, in the units of the solver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuel {
    /// Density, kg/m³.
    pub density: f64,
    /// Dynamic viscosity, Pa·s.
    pub viscosity: f64,
    /// Dynamic viscosity at 20 °C of the fuel that resistances on the card refer to, Pa·s: of this
    /// fuel itself unless [`Fuel::in_place_of`] says otherwise.
    pub viscosity_at_20: f64,
    /// Vapour pressure, Pa absolute.
    pub vapour_pressure: f64,
    /// Isothermal bulk modulus, Pa.
    pub bulk_modulus: f64,
    /// Ostwald coefficient: m³ of air dissolved at its partial pressure a m³ of fuel.
    pub air_solubility: f64,
    /// Volumetric expansion, 1/K.
    pub expansion: f64,
}

impl Fuel {
    /// This fuel where a vehicle's card means `usual`: resistances are then scaled by the ratio of
    /// the two viscosities. Without it a thick fuel would flow as easily as the usual one.
    pub const fn in_place_of(self, usual: Self) -> Self {
        Self { viscosity_at_20: usual.viscosity_at_20, ..self }
    }

    /// The same at a pressure other than the standard atmosphere.
    ///
    /// ρ(1 + (p − p₀)/K); μ·exp(10⁻⁸(p − p₀)) after Barus 1893; K + 11(p − p₀), fitted to
    /// n-dodecane. Below 10 bar none of them moves by more than 1.5 %, so the network leaves it
    /// out. Range: 0 … 100 bar.
    pub fn under(self, pressure: AbsolutePressure) -> Self {
        let over_pa = pressure.si() - STANDARD_ATMOSPHERE_PA;
        Self {
            density: self.density * (1.0 + over_pa / self.bulk_modulus),
            viscosity: self.viscosity * crate::ops::exp(1e-8 * over_pa),
            bulk_modulus: self.bulk_modulus + 11.0 * over_pa,
            ..self
        }
    }
}

#[cfg(test)]
mod tests;
