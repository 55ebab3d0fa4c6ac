//! States: the vehicle at rest, and what becomes of a state when something is fitted or removed.

use super::Assembly;
use super::layout::TEE;
use super::parts::head;
use crate::lanes::Lanes;
use crate::plant::component::Component;
use crate::plant::network::Network;
use crate::plant::{Place, Plant};
use crate::units::STANDARD_ATMOSPHERE_PA as P0;

/// Fuel at rest holds nearly all the air it can.
const SATURATION: f64 = 0.99;
/// It was stirred under a little more than its own pressure, Pa.
const STIRRED_PA: f64 = 1500.0;

/// Least pressure above that of the vapour with which an opened place is filled, Pa: where fuel boils, air pressure can't
/// be had.
const LEAST_ABOVE_PA: f64 = 500.0;

impl Assembly<1> {
    /// The state before anybody has touched the vehicle: fuel at rest, hydrostatic from the tank that
    /// feeds it; air pressure behind pumps; fuel nearly saturated with air, no bubbles.
    ///
    /// The fuel's properties are those of its temperature then.
    pub fn at_rest(&mut self, plant: &Plant) -> Vec<Lanes<1>> {
        let top = self.net.top.clone();
        let mut y = vec![Lanes::ZERO; self.net.states()];
        let heat = plant.warmth.map_or(0.0, |w| w.at_start);
        y[top.engine.n + 7] = Lanes([heat]);
        for zone in &top.zones {
            y[zone.t] = self.net.at(zone.ambient) + heat * self.net.at(zone.rise_running);
        }
        self.net.follow_temperature(&y);
        let net = &self.net;
        self.fill_reservoirs(plant, &mut y);
        let air = net.at(top.common.air);
        for (v, vessel) in top.vessels.iter().enumerate() {
            let zone = &top.zones[vessel.zone];
            let vapour = net.at(zone.vapour);
            let node = self.node_of(&vessel.name);
            let height = net.at(vessel.height).0[0];
            let density = net.at(zone.density).0[0];
            let under = |outlet: Option<&str>| {
                let (above, level) = self.surface(plant, outlet?, &y)?;
                Some((above + head(density, level - height)).max(vapour.0[0] + 1000.0))
            };
            let fed_by = plant.feeding_tank(node, false);
            let p = under(fed_by).unwrap_or_else(|| {
                // behind pumps the column stands up to its highest point at air pressure; a head opens
                // the valves of a diaphragm pump
                let top = plant.highest_beside(node).unwrap_or(height);
                let column = air.0[0] + head(density, (top - height).max(0.0));
                under(plant.feeding_tank(node, true)).map_or(column, |p| p.max(column))
            });
            y[vessel.x] = net.excess_for(v, Lanes([p]), Lanes::ZERO, &y);
            for cell in &top.cells[vessel.cell_range()] {
                let saturated = ((p + STIRRED_PA - vapour.0[0]) / P0).min(1.0);
                let share = if fed_by.is_some() { saturated } else { (air.0[0] - vapour.0[0]) / P0 };
                y[cell.g + 1] = SATURATION * net.at(zone.solubility) * net.at(cell.volume) * share;
            }
        }
        if let Some(valve) = self.handles.valve {
            y[valve] = Lanes::ONE;
        }
        for (_, state, at) in &self.handles.levers {
            y[*state] = Lanes([*at]);
        }
        y
    }

    fn fill_reservoirs(&self, plant: &Plant, y: &mut [Lanes<1>]) {
        let (net, top) = (&self.net, &*self.net.top);
        let air = net.at(top.common.air).0[0];
        for r in &top.reservoirs {
            let vapour = net.at(top.zones[r.zone].vapour).0[0];
            match plant.part(&r.name).map(|p| &p.is) {
                Some(Component::Tank(tank)) => {
                    let fill = tank.fill.si() * 1e6;
                    y[r.v] = Lanes([fill]);
                    let dry = net.at(r.capacity).0[0] - fill;
                    y[r.m] = Lanes([(air + tank.air_space.si() - vapour) * dry / P0]);
                }
                Some(Component::SwirlPot(pot)) => {
                    // as full as the tank or up to its rim
                    let level = plant.tank_at(&pot.tank).map_or(0.0, |t| t.fill.si() / t.area.si());
                    let fill = (level * pot.area.si()).min(pot.volume.si()) * 1e6;
                    y[r.v] = Lanes([fill.max(1.0)]);
                }
                _ => {}
            }
        }
    }

    /// Pressure over the fuel of the tank with this outlet, and the height of its surface.
    fn surface(&self, plant: &Plant, outlet: &str, y: &[Lanes<1>]) -> Option<(f64, f64)> {
        let top = &*self.net.top;
        let at = |r: &crate::plant::network::Reservoir| {
            self.net.at(r.base).0[0] + y[r.v].0[0] / self.net.at(r.area).0[0]
        };
        let part = plant.parts.iter().find(|p| match &p.is {
            Component::Tank(t) => t.outlet == outlet,
            Component::SwirlPot(p) => p.outlet == outlet,
            _ => false,
        })?;
        let r = top.reservoirs.iter().position(|r| r.name == part.name)?;
        Some((self.net.air_space(r, y).0[0], at(&top.reservoirs[r])))
    }
}

impl<const L: usize> Assembly<L> {
    /// Node whose conditions a vessel starts with: the tee's are those of its joint.
    fn node_of<'n>(&'n self, vessel: &'n str) -> &'n str {
        if vessel == TEE { &self.handles.joint } else { vessel }
    }

    /// Joins vehicles of one topology. `None` when their topologies differ.
    pub fn join(lanes: [&Assembly<1>; L]) -> Option<Self> {
        let nets = lanes.map(|a| &a.net);
        let handles = lanes[0].handles.clone();
        Network::join(nets).map(|net| Self { net, handles })
    }

    /// Carries a state over from another assembly of the same plant, by name. A tee that wasn't
    /// there before comes full of air; a joint that was opened goes to air pressure.
    pub fn carry_over(&mut self, old: &Self, from: &[Lanes<L>], opened: Option<&str>) -> Vec<Lanes<L>> {
        let top = self.net.top.clone();
        let mut y = vec![Lanes::ZERO; self.net.states()];
        for (i, name) in top.names.iter().enumerate() {
            if let Some(j) = old.net.top.names.iter().position(|n| n == name) {
                y[i] = from[j];
            }
        }
        self.net.follow_temperature(&y);
        for (v, vessel) in top.vessels.iter().enumerate() {
            let name = vessel.name.as_str();
            match old.net.top.vessel(name) {
                Some(w) if name != TEE || old.handles.tee.is_some() => self.resample(&mut y, v, old, from, w),
                _ => self.fill_with(&mut y, v, if name == TEE { 0.97 } else { 0.0 }),
            }
            if opened == Some(name) {
                self.open_to_air(&mut y, v);
            }
        }
        if let (Some(valve), None) = (self.handles.valve, old.handles.valve) {
            y[valve] = Lanes::ONE;
        }
        y
    }

    /// Same pressure and gas shares in a vessel that may have another volume or number of cells.
    fn resample(&self, y: &mut [Lanes<L>], v: usize, old: &Self, from: &[Lanes<L>], w: usize) {
        let (new, was) = (&self.net.top.vessels[v], &old.net.top.vessels[w]);
        let p = old.net.pressure(w, from);
        let mut free = Lanes::ZERO;
        for k in 0..new.cells {
            if was.cells == 0 {
                continue;
            }
            let cell = &self.net.top.cells[new.first_cell + k];
            let j = (k * was.cells / new.cells).min(was.cells - 1);
            let source = &old.net.top.cells[was.first_cell + j];
            let scale = self.net.at(cell.volume) / old.net.at(source.volume);
            y[cell.g] = from[source.g] * scale;
            y[cell.g + 1] = from[source.g + 1] * scale;
            free += y[cell.g];
        }
        y[new.x] = self.net.excess_for(v, p, free, y);
    }

    /// Puts a vessel at air pressure with a share of gas in it.
    pub fn fill_with(&self, y: &mut [Lanes<L>], v: usize, gas: f64) {
        let (net, top) = (&self.net, &*self.net.top);
        let vessel = &top.vessels[v];
        let zone = &top.zones[vessel.zone];
        let p = net.at(top.common.air);
        let above = (p - net.vapour(vessel.zone, y)).at_least(LEAST_ABOVE_PA);
        let gas8 = crate::ops::powi(gas, 8);
        let r = gas / (1.0 - gas8).sqrt().sqrt().sqrt();
        let mut free = Lanes::ZERO;
        for cell in &top.cells[vessel.cell_range()] {
            let volume = net.at(cell.volume);
            y[cell.g] = r * above * volume * (1.0 / P0);
            y[cell.g + 1] = net.at(zone.solubility) * volume * (1.0 - gas) * above * (1.0 / P0);
            free += y[cell.g];
        }
        y[vessel.x] = net.excess_for(v, p, free, y);
    }

    /// Opens a vessel: air comes in (or fuel runs out) until it is at air pressure.
    pub fn open_to_air(&self, y: &mut [Lanes<L>], v: usize) {
        let (net, top) = (&self.net, &*self.net.top);
        let vessel = &top.vessels[v];
        let zone = &top.zones[vessel.zone];
        let p = net.at(top.common.air);
        let above = (p - net.vapour(vessel.zone, y)).at_least(LEAST_ABOVE_PA);
        if vessel.cells > 0 {
            // the amount of gas that makes the closure give air pressure with the fuel that is there
            let still = net.at(vessel.still_gas);
            let warmer = net.at(vessel.expansion) * (y[zone.t] - net.at(zone.t_start));
            let e = y[vessel.x] + warmer - still;
            let gas = (net.at(vessel.compliance) * (p - P0) - e) * above * (1.0 / P0);
            let missing = (gas - still - net.free_gas(v, y)) / vessel.cells as f64;
            for cell in &top.cells[vessel.cell_range()] {
                y[cell.g] += missing.at_least(0.0);
            }
        }
        // above air pressure nothing was missing: fuel runs out instead
        y[vessel.x] = net.excess_for(v, p, net.free_gas(v, y), y);
    }
}

impl Plant {
    /// The tank with this outlet.
    pub(super) fn tank_at(&self, outlet: &str) -> Option<&crate::plant::component::Tank> {
        self.parts.iter().find_map(|p| match &p.is {
            Component::Tank(t) if t.outlet == outlet => Some(t),
            _ => None,
        })
    }

    /// Outlet of the tank or pot from which fuel stands in a node, when no pump lies between (or, if asked,
    /// none but diaphragm pumps).
    pub(super) fn feeding_tank(&self, node: &str, through_diaphragms: bool) -> Option<&str> {
        let outlets: Vec<&str> = self
            .parts
            .iter()
            .filter_map(|p| match &p.is {
                Component::Tank(t) => Some(t.outlet.as_str()),
                Component::SwirlPot(p) => Some(p.outlet.as_str()),
                _ => None,
            })
            .collect();
        let mut seen = vec![node];
        let mut next = 0;
        while next < seen.len() {
            if let Some(outlet) = outlets.iter().find(|o| **o == seen[next]) {
                return Some(outlet);
            }
            for part in &self.parts {
                let pump = match part.is {
                    Component::DiaphragmPump(_) => !through_diaphragms,
                    Component::GearPump(_)
                    | Component::ElectricPump(_)
                    | Component::JetPump(_)
                    | Component::Relief(_) => true,
                    _ => false,
                };
                if let [from, to] = part.is.ends()[..]
                    && to == seen[next]
                    && !pump
                    && !seen.contains(&from)
                {
                    seen.push(from);
                }
            }
            next += 1;
        }
        None
    }

    /// Height of the highest node that shares a column with this one, m: that no pump, relief or
    /// reservoir parts from it.
    fn highest_beside(&self, node: &str) -> Option<f64> {
        let mut seen = vec![node];
        let mut next = 0;
        while next < seen.len() {
            for part in &self.parts {
                let parts_columns = matches!(
                    part.is,
                    Component::GearPump(_)
                        | Component::DiaphragmPump(_)
                        | Component::ElectricPump(_)
                        | Component::JetPump(_)
                        | Component::Relief(_)
                );
                let [from, to] = part.is.ends()[..] else { continue };
                let other = match seen[next] {
                    n if n == from => to,
                    n if n == to => from,
                    _ => continue,
                };
                if !parts_columns && !seen.contains(&other) && !self.is_outlet(other) {
                    seen.push(other);
                }
            }
            next += 1;
        }
        let heights = seen.iter().filter_map(|n| self.node(n)).map(|n| n.height.si());
        heights.reduce(f64::max)
    }

    fn is_outlet(&self, node: &str) -> bool {
        self.parts.iter().any(|p| match &p.is {
            Component::Tank(t) => t.outlet == node,
            Component::SwirlPot(p) => p.outlet == node,
            _ => false,
        })
    }

    /// Place of a node.
    pub fn place(&self, node: &str) -> Place {
        self.node(node).map_or(Place::Line, |n| n.place)
    }
}
