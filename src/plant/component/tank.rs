//! The tank: fuel with a free surface, air above it, a vent and a pick-up pipe.
//!
//! Laws: level h = V/A; air space p_u = p_v + p₀·m/(V_tank − V) with m the air in it (mL at p₀ and
//! the tank's temperature); vent flow K·Δp/(Δp²+δ²)^¼. The pick-up draws gas when the level comes
//! near its mouth, over a width of 4 mm, and a share of it above a crack over which the fuel has fallen. Fuel in the tank is saturated with the air above it.
//!
//! Stops being true: the surface is flat; a slope changes the depth at the pick-up and nothing else.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::{Area, GaugePressure, Length, Volume, VolumeFlow};

/// A crack in the pick-up pipe: while it lies above the fuel, part of what is drawn is air.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crack {
    /// Its height above the bottom.
    pub height: Length,
    /// Share of air in what is drawn, 0 … 1.
    pub share: f64,
}

/// Parameters of a tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tank {
    /// Node that stands for the fuel at the bottom of the tank.
    pub outlet: String,
    /// Volume of the tank.
    pub capacity: Volume,
    /// Fuel in it at the start.
    pub fill: Volume,
    /// Area of the surface.
    pub area: Area,
    /// Height of the pick-up's mouth.
    pub pickup: Length,
    /// Air flow through the vent at a difference of 1 mbar.
    pub vent: VolumeFlow,
    /// Height of its bottom; the heights of all nodes count from the same level.
    #[serde(default)]
    pub base: Length,
    /// How far the pick-up lies from the middle of the tank (towards the rear positive).
    #[serde(default)]
    pub off_middle: Length,
    /// Water at its bottom.
    #[serde(default)]
    pub water: Volume,
    /// Volume beyond which fuel runs over into the tank named in `overflows_to`.
    #[serde(default)]
    pub overflows_to: Option<String>,
    /// A crack in its pick-up.
    #[serde(default)]
    pub crack: Option<Crack>,
    /// Pressure in the air space at the start (what happened before the job).
    #[serde(default)]
    pub air_space: GaugePressure,
}

impl Tank {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = vec![
            Number::new("capacity", "the capacity", self.capacity.si(), Unit::L, 0.5, 5000.0),
            Number::new("fill", "the fuel in it", self.fill.si(), Unit::L, 0.0, self.capacity.si() * 1e3),
            Number::new("area", "the surface", self.area.si(), Unit::M2, 1e-3, 20.0),
            Number::new("pickup", "the height of the pick-up", self.pickup.si(), Unit::M, 0.0, 2.0),
            Number::new("vent", "the vent's flow", self.vent.si(), Unit::L_PER_MIN, 0.0, 10_000.0),
            Number::new("base", "the height of its bottom", self.base.si(), Unit::M, -3.0, 5.0),
            Number::new(
                "off_middle",
                "how far the pick-up lies from the middle",
                self.off_middle.si(),
                Unit::M,
                -5.0,
                5.0,
            ),
            Number::new("water", "the water in it", self.water.si(), Unit::L, 0.0, self.capacity.si() * 1e3),
            Number::new(
                "air_space",
                "the pressure in the air space",
                self.air_space.si(),
                Unit::MBAR,
                -400.0,
                400.0,
            ),
        ];
        if let Some(crack) = &self.crack {
            all.extend([
                Number::new("crack.height", "the height of the crack", crack.height.si(), Unit::M, 0.0, 3.0),
                Number::new("crack.share", "the share of air it lets in", crack.share, Unit::NONE, 0.0, 1.0),
            ]);
        }
        all
    }
}
