//! Temperature zones, and the fuel's properties in them as they follow the temperature.

use super::{Build, Zone};
use crate::fluid::Fuel;
use crate::lanes::Lanes;
use crate::plant::network::{Law, Network};
use crate::plant::{Filling, Place, Plant};
use crate::units::{Temperature, ZERO_CELSIUS_K};

/// Properties are taken anew when the temperature has moved by this much, K.
const NOTICED_K: f64 = 0.1;
/// Fuel passed until most of the wax that can settle has settled, mL.
const WAX_ML: f64 = 4000.0;
/// Time in which wax melts above the cloud point, s.
const MELTING_S: f64 = 120.0;

/// Growth of a fuel's vapour pressure at a temperature, Pa/K.
fn vapour_rise(fuel: impl Fn(Temperature) -> Fuel, kelvin: f64) -> f64 {
    let at = |kelvin: f64| fuel(Temperature::from_celsius(kelvin - ZERO_CELSIUS_K)).vapour_pressure;
    (at(kelvin + NOTICED_K) - at(kelvin - NOTICED_K)) / (2.0 * NOTICED_K)
}

/// Index of a place's zone.
pub(super) fn zone_of(plant: &Plant, place: Place) -> usize {
    if plant.warmth.is_none() {
        return 0;
    }
    match place {
        Place::Tank => 0,
        Place::Line => 1,
        Place::Bonnet => 2,
    }
}

pub(super) fn zones(plant: &Plant, build: &mut Build) -> Vec<Zone> {
    let mut zone = |name: &str, running: f64, stopped: f64, follows_s: f64| {
        let fuel = plant.fuel.at(plant.temperature);
        let start = plant.temperature.kelvin();
        Zone {
            name: name.to_owned(),
            density: build.param(fuel.density),
            viscosity: build.param(fuel.viscosity),
            thick: build.param(fuel.viscosity / fuel.viscosity_at_20),
            vapour: build.param(fuel.vapour_pressure),
            vapour_rise: build.param(vapour_rise(|t| plant.fuel.at(t), start)),
            solubility: build.param(fuel.air_solubility),
            t: build.state(format!("temperature, {name}"), 1e-2),
            t_start: build.param(start),
            ambient: build.param(start),
            rise_running: build.param(running),
            rise_stopped: build.param(stopped),
            follow: build.param(if follows_s > 0.0 { 1.0 / follows_s } else { 0.0 }),
        }
    };
    match plant.warmth {
        None => vec![zone("everywhere", 0.0, 0.0, 0.0)],
        Some(w) => vec![
            zone("tank", w.tank.si(), w.tank.si(), w.tank_follows.si()),
            zone("line", 0.3 * w.tank.si(), 0.3 * w.tank.si(), w.bonnet_follows.si()),
            zone("bonnet", w.running.si(), w.stopped.si(), w.bonnet_follows.si()),
        ],
    }
}

/// Parameters of a filter's wax at a temperature: growth of its resistance, settling, melting.
pub(super) fn wax(filling: &Filling, kelvin: f64) -> [f64; 3] {
    let factor = filling.wax_factor(Temperature::from_celsius(kelvin - ZERO_CELSIUS_K));
    if factor > 1.0 { [factor - 1.0, 1.0 / WAX_ML, 0.0] } else { [0.0, 0.0, 1.0 / MELTING_S] }
}

impl<const L: usize> Network<L> {
    /// Takes the fuel's properties anew where the temperature has moved. A step works with the
    /// properties at its start; temperatures move slowly against steps. Only the vapour pressure follows within a step
    /// ([`Network::vapour`]): a tenth of a kelvin is 3 mbar of petrol's, and with each jump a boiling line would ring.
    pub(in crate::plant) fn follow_temperature(&mut self, y: &[Lanes<L>]) {
        for z in 0..self.top.zones.len() {
            let now = y[self.top.zones[z].t];
            let before = self.taken_at[z];
            for (lane, (now, before)) in now.0.into_iter().zip(before.0).enumerate() {
                if (now - before).abs() > NOTICED_K {
                    self.take_properties(z, lane, now);
                }
            }
        }
    }

    fn take_properties(&mut self, z: usize, lane: usize, kelvin: f64) {
        self.taken_at[z].0[lane] = kelvin;
        let filling = &self.fillings[lane];
        let fuel = filling.at(Temperature::from_celsius(kelvin - ZERO_CELSIUS_K));
        let rise = vapour_rise(|t| filling.at(t), kelvin);
        let top = self.top.clone();
        let zone = &top.zones[z];
        for (param, value) in [
            (zone.density, fuel.density),
            (zone.viscosity, fuel.viscosity),
            (zone.thick, fuel.viscosity / fuel.viscosity_at_20),
            (zone.vapour, fuel.vapour_pressure),
            (zone.vapour_rise, rise),
            (zone.solubility, fuel.air_solubility),
        ] {
            self.params[param.index()].0[lane] = value;
        }
        for link in top.links.iter().filter(|link| link.zone == z) {
            if let Law::Element { wax: Some(_), wax_gain, wax_per_ml, wax_melts, heater, .. } = link.law {
                let warmer = self.params[heater.index()].0[lane];
                let values = wax(&self.fillings[lane], kelvin + warmer);
                for (param, value) in [wax_gain, wax_per_ml, wax_melts].into_iter().zip(values) {
                    self.params[param.index()].0[lane] = value;
                }
            }
        }
    }
}
