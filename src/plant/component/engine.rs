//! The engine as the supply sees it: a gallery after the pump, an overflow valve, a demand, a
//! return to the tank, and a speed that sags when fuel is short.
//!
//! Laws: overflow q = g·s(p − p_air − p_set), s a softplus of 3 kPa width; demand
//! (q₀ + q₁·n)·n/(n+20)·S with S = ½[1+tanh((p − p_E)/w_E)] the share served; back-leak c·n/1000·S
//! to the return; speed τ·dn/dt = max(n_starter, n_set·S·H·A) − n, H = ½[1+tanh((n−150)/40)], so that
//! the engine stumbles when S < 1 and stays down below about 150 1/min; A falls from 1 to 0 round
//! the share of gas that the engine can bear.
//!
//! Stops being true: torque and load aren't modelled; a speed that is asked for is reached.

use serde::{Deserialize, Serialize};

use super::number::{Number, Unit};
use crate::units::{AbsolutePressure, PressureDifference, Span, Speed, Volume, VolumeFlow, WallStretch};

/// An overflow valve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Overflow {
    /// Difference at which it opens.
    pub opens: PressureDifference,
    /// Flow a Pa above opening, mL/s.
    pub slope: f64,
    /// Leak, mL/s a Pa.
    #[serde(default)]
    pub leak: f64,
    /// Resistance of its way back to the tank, Pa·s/mL.
    #[serde(default)]
    pub way_out: f64,
}

/// Parameters of an engine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Engine {
    /// Node of the gallery.
    pub gallery: String,
    /// Volume of the gallery.
    pub volume: Volume,
    /// Stretch of its walls.
    pub wall: WallStretch,
    /// Overflow valve at the gallery.
    #[serde(default)]
    pub overflow: Option<Overflow>,
    /// Node that overflow and back-leak go to; none: they fall into the tank.
    #[serde(default)]
    pub returns_to: Option<String>,
    /// Fuel burned at standstill of the speed term.
    pub demand: VolumeFlow,
    /// Fuel burned more for every 1000 1/min.
    pub demand_with_speed: VolumeFlow,
    /// Back-leak of the injectors for every 1000 1/min.
    #[serde(default)]
    pub back_leak: VolumeFlow,
    /// How much more it burns at full load: the demand is multiplied by 1 + this.
    #[serde(default)]
    pub demand_with_load: f64,
    /// Pressure in the manifold against the air at idle (negative); at full load it is nearly nothing.
    #[serde(default)]
    pub manifold: PressureDifference,
    /// Leak of the injectors at rest, mL/s a Pa.
    #[serde(default)]
    pub injectors_drip: f64,
    /// Gas in the gallery is followed (else it passes with the fuel).
    #[serde(default)]
    pub holds_gas: bool,
    /// Gallery pressure (absolute) at which half of the demand is served.
    pub starves_at: AbsolutePressure,
    /// Width of that transition.
    pub starves_over: PressureDifference,
    /// Lag of the speed.
    pub lag: Span,
    /// Speed on the starter.
    pub starter: Speed,
    /// Idle speed.
    pub idle: Speed,
    /// Test speed on the card.
    pub raised: Speed,
    /// Speed that it can't go beyond for reasons outside the supply; none: it reaches what is asked for. Below
    /// its idle speed it doesn't run by itself.
    #[serde(default)]
    pub most: Option<Speed>,
    /// Share of gas in what the pump delivers (at air pressure) that stops it; none: any gas passes.
    #[serde(default)]
    pub stopped_by_gas: Option<f64>,
}

impl Engine {
    /// Its numbers, each with the range that vehicles have.
    pub fn numbers(&self) -> Vec<Number> {
        let mut all = self.fuel_numbers();
        all.extend(self.speed_numbers());
        if let Some(share) = self.stopped_by_gas {
            all.push(Number::new("stopped_by_gas", "the share of gas", share, Unit::NONE, 0.001, 1.0));
        }
        if let Some(most) = self.most {
            all.push(Number::new("most", "the speed it is limited to", most.si(), Unit::RPM, 0.0, 10_000.0));
        }
        if let Some(o) = &self.overflow {
            all.extend([
                Number::new("overflow.opens", "the opening pressure", o.opens.si(), Unit::BAR, 0.0, 50.0),
                Number::new("overflow.slope", "the slope", o.slope, Unit::ML_PER_S_PA, 1e-7, 10.0),
                Number::new("overflow.leak", "the leak", o.leak, Unit::ML_PER_S_PA, 0.0, 1.0),
                Number::new(
                    "overflow.way_out",
                    "the resistance of its way out",
                    o.way_out,
                    Unit::bare("Pa·s/mL"),
                    0.0,
                    1e6,
                ),
            ]);
        }
        all
    }

    fn fuel_numbers(&self) -> Vec<Number> {
        vec![
            Number::new("volume", "the volume", self.volume.si(), Unit::ML, 1.0, 10_000.0),
            Number::new("wall", "the stretch of the wall", self.wall.si(), Unit::PER_PA, 0.0, 1e-6),
            Number::new("demand", "the demand", self.demand.si(), Unit::ML_PER_S, 0.0, 200.0),
            Number::new(
                "demand_with_speed",
                "its growth with speed",
                self.demand_with_speed.si(),
                Unit::ML_PER_S,
                0.0,
                200.0,
            ),
            Number::new("back_leak", "the back-leak", self.back_leak.si(), Unit::ML_PER_S, 0.0, 200.0),
            Number::new("demand_with_load", "its growth with load", self.demand_with_load, Unit::NONE, 0.0, 20.0),
            Number::new("manifold", "the manifold's pressure at idle", self.manifold.si(), Unit::MBAR, -900.0, 0.0),
            Number::new(
                "injectors_drip",
                "the leak of the injectors",
                self.injectors_drip,
                Unit::ML_PER_S_PA,
                0.0,
                1e-3,
            ),
            Number::new("starves_at", "the pressure of starving", self.starves_at.si(), Unit::MBAR, 10.0, 20_000.0),
            Number::new("starves_over", "the width of starving", self.starves_over.si(), Unit::MBAR, 1.0, 10_000.0),
        ]
    }

    fn speed_numbers(&self) -> Vec<Number> {
        vec![
            Number::new("lag", "the lag", self.lag.si(), Unit::S, 0.01, 20.0),
            Number::new("starter", "the starter's speed", self.starter.si(), Unit::RPM, 30.0, 600.0),
            Number::new("idle", "the idle speed", self.idle.si(), Unit::RPM, 200.0, 3000.0),
            Number::new("raised", "the raised speed", self.raised.si(), Unit::RPM, self.idle.si(), 10_000.0),
        ]
    }
}
