//! Fuels in shares, with water in them: the wrong fuel, a share of biodiesel, winter on top of summer.
//!
//! Shares are by volume at 15 °C. Rules:
//!
//! | property | rule |
//! |---|---|
//! | density | ideal: the masses add up over the volumes |
//! | viscosity | Refutas: blending numbers V = 14.534·ln ln(ν + 0.8) + 10.975 (ν in mm²/s) add up by mass (the standard procedure of ASTM D7152 is a close relative) |
//! | vapour pressure | Raoult: those of the classes by molar share, each class counting as one substance |
//! | bulk modulus | compressibilities add up by volume (Wood) |
//! | air held, expansion | by volume |
//! | cloud point | 20th powers of absolute cloud points add up by volume; a class without wax counts as 0 (the exponent is that of Hu & Burns 1970) |
//! | water, as an emulsion | viscosity × (1 − w)^−2.5 (Brinkman 1952): 1.3 at a tenth; its vapour pressure adds in full, since it doesn't mix; below 0.01 % by volume it is dissolved and adds in proportion |
//!
//! Stops being true: Raoult's rule with one substance a class overstates the pressure that little petrol
//! gives to much diesel by up to some tens of per cent, because light ends go first; flow improvers don't
//! blend by any rule; ν below 0.2 mm²/s lies outside Refutas; water settles and no longer is an
//! emulsion within hours, and above [`MOST_WATER`] it isn't one at all.
//!
//! ```
//! use faultbay::fluid::{Blend, FuelClass};
//! use faultbay::units::Temperature;
//!
//! let wrong = Blend::mix(&[(FuelClass::Diesel, 0.8), (FuelClass::Petrol, 0.2)])?;
//! let (wrong, right) = (wrong.at(Temperature::from_celsius(20.0)), FuelClass::Diesel.at(Temperature::from_celsius(20.0)));
//! // thinner, so it draws with less suction; and it boils where diesel never would
//! assert!(wrong.viscosity < 0.7 * right.viscosity);
//! assert!(wrong.vapour_pressure > 9_000.0);
//! # Ok::<(), faultbay::fluid::BlendError>(())
//! ```

use serde::{Deserialize, Serialize};

use super::class::{WrittenFuel, WrittenPart};
use super::{Fuel, FuelClass, water};
use crate::ops;
use crate::units::Temperature;

/// Largest share of water that fuel carries as an emulsion.
pub const MOST_WATER: f64 = 0.3;
/// Share of water that dissolves, by volume.
const DISSOLVED_WATER: f64 = 1e-4;
/// How far shares may miss 1 by rounding.
const SUM_TOLERANCE: f64 = 1e-6;

/// Fuels in shares by volume.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "WrittenFuel", into = "WrittenFuel")]
pub struct Blend {
    /// Share of each class in all fuel, water left out; sums to 1.
    shares: [f64; FuelClass::ALL.len()],
    /// Share of water in the whole.
    water: f64,
}

/// Why shares make no blend.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum BlendError {
    /// Nothing that burns is in it.
    #[error("a blend needs at least one fuel, such as Blend([(Diesel, 0.9), (Petrol, 0.1)])")]
    NoFuel,
    /// A share is no share.
    #[error("a share of a blend lies between 0 and 1, so {0} can't be one")]
    NoShare(f64),
    /// The shares don't make a whole.
    #[error("the shares of a blend add up to 1; these give {0}")]
    Sum(f64),
    /// More water than fuel carries.
    #[error("fuel carries at most a share of 0.3 of water; {0} would lie at the bottom of the tank")]
    TooMuchWater(f64),
}

impl BlendError {
    /// A sum as a person would say it, without the dust of binary fractions.
    fn sum(sum: f64) -> Self {
        Self::Sum((sum * 1e6).round() / 1e6)
    }
}

impl Blend {
    /// A class by itself.
    pub fn of(class: FuelClass) -> Self {
        let mut shares = [0.0; FuelClass::ALL.len()];
        shares[class as usize] = 1.0;
        Self { shares, water: 0.0 }
    }

    /// Classes in shares by volume, which must add up to 1. A class named twice counts with both shares.
    pub fn mix(parts: &[(FuelClass, f64)]) -> Result<Self, BlendError> {
        let mut shares = [0.0; FuelClass::ALL.len()];
        let mut sum = 0.0;
        for &(class, share) in parts {
            is_share(share)?;
            shares[class as usize] += share;
            sum += share;
        }
        if parts.is_empty() {
            return Err(BlendError::NoFuel);
        }
        if (sum - 1.0).abs() > SUM_TOLERANCE {
            return Err(BlendError::sum(sum));
        }
        for share in &mut shares {
            *share /= sum;
        }
        Ok(Self { shares, water: 0.0 })
    }

    /// The same fuel with a share of water in the whole, in place of what water it had.
    pub fn with_water(self, share: f64) -> Result<Self, BlendError> {
        is_share(share)?;
        if share > MOST_WATER {
            return Err(BlendError::TooMuchWater(share));
        }
        Ok(Self { water: share, ..self })
    }

    /// Classes that are in it and their shares in the fuel (water left out), in the classes' order.
    pub fn shares(self) -> impl Iterator<Item = (FuelClass, f64)> {
        FuelClass::ALL.into_iter().zip(self.shares).filter(|(_, share)| *share > 0.0)
    }

    /// Share of water in the whole.
    pub const fn water(self) -> f64 {
        self.water
    }

    /// The class that most of it is: it gives colour and smell.
    pub fn mainly(self) -> FuelClass {
        let first = (FuelClass::Diesel, -1.0);
        self.shares().fold(first, |most, part| if part.1 > most.1 { part } else { most }).0
    }

    /// The only class, when it is one and free of water.
    fn pure(self) -> Option<FuelClass> {
        let mut parts = self.shares();
        let (class, _) = parts.next()?;
        (parts.next().is_none() && self.water == 0.0).then_some(class)
    }

    /// Every property at a temperature.
    pub fn at(self, t: Temperature) -> Fuel {
        if let Some(class) = self.pure() {
            return class.at(t);
        }
        let twenty = Temperature::from_celsius(20.0);
        let dry = self.dry(t);
        let viscosity_at_20 = self.emulsified(self.viscosity(twenty));
        if self.water == 0.0 {
            return Fuel { viscosity: self.viscosity(t), viscosity_at_20, ..dry };
        }
        let (wet, w) = (water::at(t), self.water);
        let by_volume = |fuel: f64, water: f64| (1.0 - w) * fuel + w * water;
        Fuel {
            density: by_volume(dry.density, wet.density),
            viscosity: self.emulsified(self.viscosity(t)),
            viscosity_at_20,
            vapour_pressure: dry.vapour_pressure + wet.vapour_pressure * (w / DISSOLVED_WATER).min(1.0),
            bulk_modulus: 1.0 / by_volume(1.0 / dry.bulk_modulus, 1.0 / wet.bulk_modulus),
            air_solubility: by_volume(dry.air_solubility, wet.air_solubility),
            expansion: by_volume(dry.expansion, wet.expansion),
        }
    }

    /// Properties without water; viscosities are left at 0 for the caller.
    fn dry(self, t: Temperature) -> Fuel {
        let (mut volume, mut compressibility, mut air, mut expansion) = (0.0, 0.0, 0.0, 0.0);
        let (mut mass, mut moles, mut pressure) = (0.0, 0.0, 0.0);
        for (class, share) in self.shares() {
            let (fuel, constants) = (class.at(t), class.constants());
            let kg = share * constants.density_15;
            let v = kg / fuel.density;
            let n = kg / constants.molar_mass;
            mass += kg;
            volume += v;
            compressibility += v / fuel.bulk_modulus;
            air += v * fuel.air_solubility;
            expansion += v * fuel.expansion;
            moles += n;
            pressure += n * fuel.vapour_pressure;
        }
        Fuel {
            density: mass / volume,
            viscosity: 0.0,
            viscosity_at_20: 0.0,
            vapour_pressure: pressure / moles,
            bulk_modulus: volume / compressibility,
            air_solubility: air / volume,
            expansion: expansion / volume,
        }
    }

    /// Dynamic viscosity without water, Pa·s.
    fn viscosity(self, t: Temperature) -> f64 {
        let (mut mass, mut number, mut volume) = (0.0, 0.0, 0.0);
        for (class, share) in self.shares() {
            let kg = share * class.constants().density_15;
            mass += kg;
            volume += kg / class.density(t);
            number += kg * blending_number(class.kinematic_viscosity(t));
        }
        of_blending_number(number / mass) * 1e-6 * (mass / volume)
    }

    fn emulsified(self, viscosity: f64) -> f64 {
        if self.water == 0.0 { viscosity } else { viscosity * ops::powf(1.0 - self.water, -2.5) }
    }

    /// Temperature below which wax clouds it; none where nothing in it has wax.
    pub fn cloud_point(self) -> Option<Temperature> {
        if let Some(class) = self.pure() {
            return class.cloud_point();
        }
        let sum: f64 = self
            .shares()
            .filter_map(|(class, share)| Some(share * ops::powi(class.cloud_point()?.kelvin() / 273.15, 20)))
            .sum();
        (sum > 0.0).then(|| Temperature::from_celsius(273.15 * ops::powf(sum, 0.05) - 273.15))
    }
}

fn is_share(share: f64) -> Result<(), BlendError> {
    if (0.0..=1.0).contains(&share) { Ok(()) } else { Err(BlendError::NoShare(share)) }
}

/// Viscosity blending number of a kinematic viscosity, mm²/s (> 0.2).
fn blending_number(nu: f64) -> f64 {
    14.534 * ops::ln(ops::ln(nu + 0.8)) + 10.975
}

/// Kinematic viscosity of a blending number, mm²/s.
fn of_blending_number(number: f64) -> f64 {
    ops::exp(ops::exp((number - 10.975) / 14.534)) - 0.8
}

impl From<FuelClass> for Blend {
    fn from(class: FuelClass) -> Self {
        Self::of(class)
    }
}

impl TryFrom<WrittenFuel> for Blend {
    type Error = BlendError;

    fn try_from(written: WrittenFuel) -> Result<Self, BlendError> {
        let parts = match written.told() {
            Ok(class) => return Ok(Self::of(class)),
            Err(parts) => parts,
        };
        let (mut water, mut sum) = (0.0, 0.0);
        let mut fuels = Vec::new();
        for (part, share) in parts {
            is_share(share)?;
            sum += share;
            match part.class() {
                Some(class) => fuels.push((class, share)),
                None => water += share,
            }
        }
        let fuel: f64 = fuels.iter().map(|(_, share)| share).sum();
        if fuel <= 0.0 {
            return Err(BlendError::NoFuel);
        }
        if (sum - 1.0).abs() > SUM_TOLERANCE {
            return Err(BlendError::sum(sum));
        }
        for (_, share) in &mut fuels {
            *share /= fuel;
        }
        Self::mix(&fuels)?.with_water(water)
    }
}

impl From<Blend> for WrittenFuel {
    fn from(blend: Blend) -> Self {
        if let Some(class) = blend.pure() {
            return class.into();
        }
        let mut parts: Vec<(WrittenPart, f64)> =
            blend.shares().map(|(class, share)| (class.into(), share * (1.0 - blend.water))).collect();
        if blend.water > 0.0 {
            parts.push((WrittenPart::Water, blend.water));
        }
        Self::Blend(parts)
    }
}
