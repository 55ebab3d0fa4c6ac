//! What ears and eyes get of one vehicle now.

use super::Drive;
use crate::bay::observation::ClearLine;
use crate::instrument::sight::{InTube, Sight, look};
use crate::instrument::sounds::{PumpSound as Hum, Sources};
use crate::lanes::Lanes;
use crate::language::said;
use crate::plant::component::{Component, Line};
use crate::plant::network::{End, Passengers};
use crate::plant::{Part, Plant};
use crate::units::{Temperature, ZERO_CELSIUS_K};

/// Share of the battery's nominal voltage that a sound pump's motor turns against at rated state.
const RATED: f64 = 0.7;
/// Wax that is taken to float in fuel below its cloud point: a haze.
const HAZE: f64 = 0.1;

/// Colour of a vehicle's fuel, a word before "fuel".
fn colour(plant: &Plant) -> &'static str {
    match plant {
        p if p.service.dyed => said("bay-sight-dyed"),
        p if p.is_petrol() => said("bay-sight-pale"),
        _ => said("bay-sight-amber"),
    }
}

impl<const L: usize> Drive<L> {
    /// Share of gas at a pump's inlet, 0 … 1.
    pub(super) fn gas_at_inlet(&self, lane: usize, k: usize) -> f64 {
        let net = self.net();
        match net.top.links[net.top.motors[k].link].from {
            End::Cell(_, cell) => net.cell_gas(cell, &self.states()).0[lane],
            End::Pickup(p) => {
                let pickup = &net.top.pickups[p];
                let r = &net.top.reservoirs[pickup.reservoir];
                let level = self.state(lane, r.v) / net.at(r.area).0[lane] + net.at(pickup.tilt).0[lane];
                let over = (level - net.at(pickup.height).0[lane]) / net.at(pickup.width).0[lane];
                0.5 * (1.0 - crate::ops::tanh(over))
            }
            _ => 0.0,
        }
    }

    /// Everything that may sound now.
    pub(in crate::bay) fn sources(&self, lane: usize) -> Sources {
        let net = self.net();
        let motors = 0..net.top.motors.len();
        let loud = motors.clone().find(|&k| self.pump_is_fed(lane, k)).or(motors.last());
        let pump = loud.map(|k| {
            let motor = &net.top.motors[k];
            let against = net.at(motor.constant).0[lane] * self.state(lane, motor.i + 1);
            Hum {
                volts: self.state(lane, motor.i + 2),
                speed: against / (RATED * self.proper.service.battery.si()),
                inlet_gas: self.gas_at_inlet(lane, k),
            }
        });
        let run = self.engine_run(lane);
        let cranking = run == super::EngineRun::Cranking;
        Sources {
            pump,
            // a starter sounds as it will turn, from its first moment on
            engine_rpm: self.rpm(lane).max(if cranking { self.starter_speed(lane) } else { 0.0 }),
            cranking,
            uneven: run == super::EngineRun::Uneven,
            injected_air: self.gas_in_pump(lane),
            relay: self.clicked(lane),
            cap_opened_over: None,
            leaking: self.oozing(lane).iter().map(|(_, flow)| flow).sum(),
            valve_flow: 0.0,
        }
    }

    /// What is seen in the glass. Where passengers aren't carried, gas counts as come out of the fuel.
    pub(in crate::bay) fn sight(&self, lane: usize, speed_m_s: f64) -> Option<Sight> {
        let vessel = self.tee_vessel()?;
        let (net, y) = (self.net(), self.states());
        let cell = net.top.vessels[vessel].first_cell;
        let load = self.passengers();
        let share = |of: &dyn Fn(&Passengers<L>) -> Lanes<L>| load.as_ref().map_or(0.0, |l| of(l).0[lane]);
        let plant = self.lanes[lane].hidden.plant();
        let t = Temperature::from_celsius(self.temperature(lane, vessel) - ZERO_CELSIUS_K);
        let tube = InTube {
            gas: self.gas_in_glass(lane)?,
            from_outside: share(&|l| net.foreign_share(l, cell, &y)),
            vapour: net.vapour_share(vessel, &y).0[lane],
            wax: if plant.fuel.wax_factor(t) > 1.0 { HAZE } else { 0.0 },
            water: share(&|l| net.water_share(l, cell, &y)),
            speed_m_s,
            colour: colour(plant),
        };
        Some(look(tube))
    }

    /// What is seen in the vehicle's own lines that are transparent.
    pub(in crate::bay) fn clear_lines(&self, lane: usize) -> Vec<ClearLine> {
        let plant = self.lanes[lane].hidden.plant();
        let clear = plant.parts.iter().filter_map(|p| match &p.is {
            Component::Line(line) if line.clear => Some((p, line)),
            _ => None,
        });
        clear.filter_map(|(part, line)| self.clear_line(lane, part, line)).collect()
    }

    fn clear_line(&self, lane: usize, part: &Part, line: &Line) -> Option<ClearLine> {
        let net = self.net();
        let link = net.top.links.iter().find(|l| l.name == part.name)?;
        let bore_mm = line.bore.si() * 1e3;
        // mL/s over mm² is m/s
        let speed_m_s =
            self.flow_through(lane, &[part.name.as_str()]) / (core::f64::consts::FRAC_PI_4 * bore_mm * bore_mm);
        let seen = |end: End| {
            let gas = match end {
                End::Cell(_, cell) => net.cell_gas(cell, &self.states()).0[lane],
                _ => 0.0,
            };
            (self.sight_in(lane, end, gas, speed_m_s), gas)
        };
        Some(ClearLine {
            part: part.name.clone(),
            label: part.label.clone(),
            ends: [link.from, link.to].map(seen),
            speed_m_s,
        })
    }

    /// What is seen at the end of a line.
    fn sight_in(&self, lane: usize, end: End, gas: f64, speed_m_s: f64) -> Sight {
        let (net, y) = (self.net(), self.states());
        let plant = self.lanes[lane].hidden.plant();
        let load = self.passengers();
        let (vessel, cell) = match end {
            End::Cell(v, cell) => (Some(v), Some(cell)),
            End::Vessel(v) => (Some(v), None),
            _ => (None, None),
        };
        let share = |of: &dyn Fn(&Passengers<L>, usize) -> Lanes<L>| {
            load.as_ref().zip(cell).map_or(0.0, |(l, c)| of(l, c).0[lane])
        };
        let t = vessel
            .map_or(plant.temperature, |v| Temperature::from_celsius(self.temperature(lane, v) - ZERO_CELSIUS_K));
        look(InTube {
            gas,
            from_outside: share(&|l, c| net.foreign_share(l, c, &y)),
            vapour: vessel.map_or(0.0, |v| net.vapour_share(v, &y).0[lane]),
            wax: if plant.fuel.wax_factor(t) > 1.0 { HAZE } else { 0.0 },
            water: share(&|l, c| net.water_share(l, c, &y)),
            speed_m_s,
            colour: colour(plant),
        })
    }
}
