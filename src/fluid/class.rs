//! The laws that all classes of fuel share.
//!
//! - Density after ASTM D1250 / API MPMS 11.1: ρ(T) = ρ₁₅·exp[−αΔt(1 + 0.8αΔt)], Δt = T − 288.15 K,
//!   kg/m³; hence the expansion −(dρ/dT)/ρ = α(1 + 1.6αΔt), 1/K.
//! - Viscosity after ASTM D341 (Walther): lg lg(ν + 0.7) = A − B·lg T, ν in mm²/s; petrol, which lies
//!   below the range of that short form, after Andrade: ln ν = a + b/T.
//! - Vapour pressure ln p_v = ln p₃₈ − B(1/T − 1/310.95), Pa (Clausius and Clapeyron).
//! - Bulk modulus K(T) = K₂₀ − 7 MPa/K·(T − 293.15 K), the slope fitted to n-dodecane.
//! - Air: the value at 20 °C times the run of ASTM D2779, see [`super::dissolved_air`].
//!
//! Stops being true: outside −20 … 80 °C (classes for frost: −40 … 80 °C); below the cloud point a
//! diesel is no longer a simple liquid, which shows at filters first ([`super::wax`]).

use serde::{Deserialize, Serialize};

use super::{Fuel, biodiesel, diesel, dissolved_air, paraffin, petrol};
use crate::ops;
use crate::units::Temperature;

/// How a class's kinematic viscosity runs with temperature.
pub(super) enum Viscosity {
    Walther { a: f64, b: f64 },
    Andrade { a: f64, b: f64 },
}

/// The constants of a class.
pub(super) struct Class {
    /// Density at 15 °C, kg/m³.
    pub(super) density_15: f64,
    /// α at 15 °C, 1/K.
    pub(super) expansion_15: f64,
    pub(super) viscosity: Viscosity,
    /// Vapour pressure at 37.8 °C, Pa.
    pub(super) p_38: f64,
    /// Slope of the vapour pressure's logarithm, K.
    pub(super) vapour_b: f64,
    /// Bulk modulus at 20 °C, Pa.
    pub(super) bulk_modulus_20: f64,
    /// Ostwald coefficient of air at 20 °C.
    pub(super) air_20: f64,
    /// Mean molar mass, kg/mol: for shares of vapour pressure in blends.
    pub(super) molar_mass: f64,
    /// Cloud point and cold filter plugging point, °C.
    pub(super) cold: Option<(f64, f64)>,
    /// Colour in a clear jar.
    pub(super) colour: &'static str,
    /// Smell of a sample.
    pub(super) smell: &'static str,
}

/// Defines the classes, and beside them the words that a file may use for a fuel and for a part of
/// a blend, so that the three lists can't drift apart.
macro_rules! classes {
    ($($(#[$doc:meta])* $name:ident = $constants:path,)*) => {
        /// A class of fuel.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum FuelClass {
            $($(#[$doc])* $name,)*
        }

        impl FuelClass {
            /// Every class.
            pub const ALL: [Self; [$(stringify!($name)),*].len()] = [$(Self::$name),*];

            pub(super) const fn constants(self) -> &'static Class {
                match self {
                    $(Self::$name => &$constants,)*
                }
            }
        }

        /// What a file may say for a fuel: the word of a class, or a blend.
        #[derive(Serialize, Deserialize)]
        #[serde(rename = "Fuel")]
        pub(super) enum WrittenFuel {
            $($name,)*
            Blend(Vec<(WrittenPart, f64)>),
        }

        /// What a file may name as part of a blend.
        #[derive(Clone, Copy, Serialize, Deserialize)]
        #[serde(rename = "BlendPart")]
        pub(super) enum WrittenPart {
            $($name,)*
            Water,
        }

        impl From<FuelClass> for WrittenFuel {
            fn from(class: FuelClass) -> Self {
                match class { $(FuelClass::$name => Self::$name,)* }
            }
        }

        impl From<FuelClass> for WrittenPart {
            fn from(class: FuelClass) -> Self {
                match class { $(FuelClass::$name => Self::$name,)* }
            }
        }

        impl WrittenFuel {
            /// The class, or the parts of the blend.
            pub(super) fn told(self) -> Result<FuelClass, Vec<(WrittenPart, f64)>> {
                match self {
                    $(Self::$name => Ok(FuelClass::$name),)*
                    Self::Blend(parts) => Err(parts),
                }
            }
        }

        impl WrittenPart {
            /// The class; none for water.
            pub(super) const fn class(self) -> Option<FuelClass> {
                match self {
                    $(Self::$name => Some(FuelClass::$name),)*
                    Self::Water => None,
                }
            }
        }
    };
}

classes! {
    /// Diesel as EN 590 describes it, summer.
    Diesel = diesel::SUMMER,
    /// Diesel of a winter class of the temperate climate.
    WinterDiesel = diesel::WINTER,
    /// Fatty-acid methyl ester as EN 14214 describes it.
    Biodiesel = biodiesel::METHYL_ESTER,
    /// Petrol as EN 228 describes it, summer volatility.
    Petrol = petrol::SUMMER,
    /// Diesel of the months between summer and winter.
    TransitionDiesel = diesel::TRANSITION,
    /// Diesel of an arctic class.
    ArcticDiesel = diesel::ARCTIC,
    /// Petrol of winter volatility.
    WinterPetrol = petrol::WINTER,
    /// Paraffin (kerosene) for lamps, heaters and old tractors.
    Paraffin = paraffin::LAMP,
}

impl FuelClass {
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
        let e = class.expansion_15 * (t.kelvin() - 288.15);
        class.density_15 * ops::exp(-e * (1.0 + 0.8 * e))
    }

    /// Volumetric expansion, 1/K.
    pub fn expansion(self, t: Temperature) -> f64 {
        let alpha = self.constants().expansion_15;
        alpha * (1.0 + 1.6 * alpha * (t.kelvin() - 288.15))
    }

    /// Vapour pressure, Pa absolute.
    pub fn vapour_pressure(self, t: Temperature) -> f64 {
        let class = self.constants();
        class.p_38 * ops::exp(-class.vapour_b * (1.0 / t.kelvin() - 1.0 / 310.95))
    }

    /// Temperature below which wax clouds it; none where there is none to speak of.
    pub fn cloud_point(self) -> Option<Temperature> {
        self.constants().cold.map(|(cloud, _)| Temperature::from_celsius(cloud))
    }

    /// Cold filter plugging point (EN 116), the limit of the class.
    pub fn filter_plugging_point(self) -> Option<Temperature> {
        self.constants().cold.map(|(_, plugging)| Temperature::from_celsius(plugging))
    }

    /// Colour in a clear jar, as a word before "fuel".
    pub const fn colour(self) -> &'static str {
        self.constants().colour
    }

    /// Smell of a sample, as words after "smells".
    pub const fn smell(self) -> &'static str {
        self.constants().smell
    }

    /// Every property at a temperature.
    pub fn at(self, t: Temperature) -> Fuel {
        let class = self.constants();
        let twenty = Temperature::from_celsius(20.0);
        Fuel {
            density: self.density(t),
            viscosity: self.kinematic_viscosity(t) * 1e-6 * self.density(t),
            viscosity_at_20: self.kinematic_viscosity(twenty) * 1e-6 * self.density(twenty),
            vapour_pressure: self.vapour_pressure(t),
            bulk_modulus: class.bulk_modulus_20 - 7e6 * (t.celsius() - 20.0),
            air_solubility: class.air_20 * dissolved_air::against_20(t),
            expansion: self.expansion(t),
        }
    }
}
