//! The only file of the drive that touches a [`Vehicle`]: one small method for each thing that is read
//! off a vehicle, moved or changed in it. All lanes go through time together.

use std::sync::PoisonError;

use super::{Drive, Fidelity};
use crate::lanes::Lanes;
use crate::plant::assemble::{Assembly, Rig};
use crate::plant::component::{Component, Stage};
use crate::plant::network::{End, Law, Network, Passengers};
use crate::plant::step::Work;
use crate::plant::vehicle::Vehicle;
use crate::plant::{Leak, Plant};
use crate::units::{Area, STANDARD_ATMOSPHERE_PA as P0};

/// Effective opening of a bleed screw, m².
const BLEED_SCREW_M2: f64 = 3e-6;
/// Temperatures beyond which nobody warms or cools a part, K.
const COLDEST_K: f64 = 243.0;
const HOTTEST_K: f64 = 363.0;

impl<const L: usize> Drive<L> {
    // ---- time -----------------------------------------------------------------------------------

    /// Simulates every vehicle to `t`; nobody ticks and nobody looks meanwhile but a fast record.
    pub(in crate::bay) fn reach(&mut self, t: u64) {
        self.record_until(t);
        self.pass_to(t);
    }

    pub(super) fn pass_to(&mut self, t: u64) {
        self.cars.cover(t);
        self.now = t;
    }

    /// Work of the solver, for all vehicles together.
    pub(crate) fn work(&self) -> Work {
        self.cars.work()
    }

    // ---- what is read off -----------------------------------------------------------------------

    fn assembly(&self) -> &Assembly<L> {
        self.cars.assembly()
    }

    pub(super) fn net(&self) -> &Network<L> {
        self.cars.net()
    }

    pub(super) fn state(&self, lane: usize, i: usize) -> f64 {
        self.cars.state_of(self.now, lane, i)
    }

    pub(super) fn states(&self) -> Vec<Lanes<L>> {
        self.cars.snapshot(self.now)
    }

    /// Speed of the engine now, 1/min.
    pub(in crate::bay) fn rpm(&self, lane: usize) -> f64 {
        self.state(lane, self.net().top.engine.n).max(0.0)
    }

    /// Share of gas in what reaches the engine, 0 … 1.
    pub(super) fn gas_in_pump(&self, lane: usize) -> f64 {
        self.state(lane, self.net().top.engine.n + 3)
    }

    /// Opening of the tee's valve, 0 … 1; none without a tee.
    pub(in crate::bay) fn valve(&self, lane: usize) -> Option<f64> {
        self.assembly().handles.valve.map(|valve| self.state(lane, valve))
    }

    /// There is a hand primer.
    pub(in crate::bay) fn has_primer(&self) -> bool {
        self.assembly().primer().is_some()
    }

    /// Share of gas in the sight glass, 0 … 1; none without a tee.
    pub(in crate::bay) fn gas_in_glass(&self, lane: usize) -> Option<f64> {
        let tee = self.assembly().handles.tee?;
        Some(self.net().gas_share(tee, &self.states()).0[lane])
    }

    /// Flow through the sight glass towards the engine, mL/s; none without a tee.
    pub(in crate::bay) fn flow_in_glass(&self, lane: usize) -> Option<f64> {
        let link = self.assembly().handles.valve_link?;
        let net = self.net();
        let mut eye = self.eye.lock().unwrap_or_else(PoisonError::into_inner);
        let work = eye.get_or_insert_with(|| net.workspace());
        Some(net.flows(&self.states(), work)[link].0[lane])
    }

    /// Share of gas where the bleed screw sits, past everything that the primer fills.
    pub(in crate::bay) fn gas_at_bleed_screw(&self, lane: usize) -> f64 {
        self.net().gas_share(self.bleed_vessel(), &self.states()).0[lane]
    }

    /// Pressure that the hand at the primer works against, Pa.
    pub(super) fn back_pressure(&self, lane: usize) -> f64 {
        let net = self.net();
        let y = self.states();
        let pressure = |end| match end {
            End::Cell(v, _) | End::Vessel(v) => net.pressure(v, &y).0[lane],
            _ => net.at(net.top.common.air).0[lane],
        };
        let primer = self.assembly().primer();
        let worked = |law: &Law| match *law {
            Law::Element { on, .. } => on.is_some() && on == primer,
            Law::Diaphragm { hand, .. } => Some(hand) == primer,
            _ => false,
        };
        net.top
            .links
            .iter()
            .find(|link| worked(&link.law))
            .map_or(0.0, |link| pressure(link.to) - pressure(link.from))
    }

    /// How far the air space of the tank that has the filler lies below the air, Pa.
    pub(in crate::bay) fn depression(&self, lane: usize) -> f64 {
        let net = self.net();
        net.at(net.top.common.air).0[lane] - net.air_space(0, &self.states()).0[lane]
    }

    /// What there is to sample at the tee: pressure, mbar gauge, share of gas, speed of the engine.
    pub(super) fn at_tee(&self, lane: usize, scratch: &mut Vec<Lanes<L>>) -> Option<(f64, f64, f64)> {
        let tee = self.assembly().handles.tee?;
        let net = self.net();
        scratch.resize(net.states(), Lanes::ZERO);
        self.cars.at(self.now, scratch);
        let ripple = self.ripple(lane, tee, scratch);
        let line_mbar = (net.gauge(tee, scratch).0[lane] + ripple) / 100.0;
        Some((line_mbar, net.gas_share(tee, scratch).0[lane], scratch[net.top.engine.n].0[lane]))
    }

    /// How much fuel a vessel takes for a Pa, mL/Pa: walls, fuel and gas.
    fn give(&self, lane: usize, v: usize, y: &[Lanes<L>]) -> f64 {
        let net = self.net();
        let vessel = &net.top.vessels[v];
        let above = net.pressure(v, y) - net.vapour(vessel.zone, y);
        let gas = net.free_gas(v, y) + net.at(vessel.still_gas);
        (net.at(vessel.compliance) + P0 * gas / (above * above)).0[lane]
    }

    /// Ripple of the pumps at the tee, Pa. Left out where nobody sees single samples.
    fn ripple(&self, lane: usize, tee: usize, y: &[Lanes<L>]) -> f64 {
        if self.fidelity == Fidelity::Reference {
            return 0.0;
        }
        (0..self.net().top.links.len()).map(|link| self.ripple_of(link, lane, tee, y)).sum()
    }

    /// What one pump adds to it. What the engine drives turns slowly enough for the logger; an electric pump pulses many
    /// times between two samples, and the sensor leaves little of it.
    fn ripple_of(&self, link: usize, lane: usize, tee: usize, y: &[Lanes<L>]) -> f64 {
        use crate::instrument::ripple as wave;
        let net = self.net();
        let pump = &net.top.links[link];
        let n = net.top.engine.n;
        let (rpm, turns) = (y[n].0[lane], y[n + 4].0[lane]);
        let (End::Cell(inlet, _) | End::Vessel(inlet)) = pump.from else {
            return if let Law::Electric { .. } = pump.law {
                self.electric_ripple(link, lane, tee, y)
            } else {
                0.0
            };
        };
        match &pump.law {
            Law::Gear { displacement, .. } => {
                let give = self.give(lane, tee, y) + self.give(lane, inlet, y);
                let swept = net.at(*displacement).0[lane] * rpm / 60.0;
                let chipped = match self.lanes[lane].hidden.plant().part(&pump.name).map(|part| &part.is) {
                    Some(Component::GearPump(gear)) => gear.chipped,
                    _ => 0.0,
                };
                wave::damaged_gear(turns, rpm, swept, self.teeth, chipped, give)
            }
            Law::Diaphragm { spring, leak, .. } => {
                let (pushed, other) = self.tee_is_pushed(lane, pump.to, inlet);
                let mean = self.flow_of(link, lane, y).max(0.0);
                let [spring, leak] = [*spring, *leak].map(|param| net.at(param).0[lane]);
                let Some(Component::DiaphragmPump(sound)) = self.proper.part(&pump.name).map(|part| &part.is)
                else {
                    return 0.0;
                };
                let strokes = sound.strokes;
                // the diaphragm gives: by a sound one's stroke over what its spring, tired or not, can hold
                let stroke = 1e6 * sound.displacement.si() / strokes;
                let give = self.give(lane, tee, y) + self.give(lane, other, y) + stroke / spring.max(1.0);
                let back = leak * spring;
                let one_sided = back / (back + mean).max(1e-6);
                // the law counts turns of a crank that makes half a stroke each
                let (turns, rpm) = (2.0 * strokes * turns, 2.0 * strokes * rpm);
                let drawn = wave::diaphragm(turns, rpm, mean, one_sided, give);
                if pushed { -drawn } else { drawn }
            }
            Law::Electric { .. } => self.electric_ripple(link, lane, tee, y),
            _ => 0.0,
        }
    }

    /// Whether the tee of a vehicle sits behind a pump, and the pump's vessel on that side.
    fn tee_is_pushed(&self, lane: usize, to: End, inlet: usize) -> (bool, usize) {
        let joint = self.tee_really_at(lane).unwrap_or_default();
        match to {
            End::Cell(outlet, _) | End::Vessel(outlet) if self.proper.is_under_pressure(&joint) => (true, outlet),
            _ => (false, inlet),
        }
    }

    fn electric_ripple(&self, link: usize, lane: usize, tee: usize, y: &[Lanes<L>]) -> f64 {
        use crate::instrument::ripple as wave;
        let net = self.net();
        let (Law::Electric { motor, .. }, End::Cell(outlet, _) | End::Vessel(outlet)) =
            (&net.top.links[link].law, net.top.links[link].to)
        else {
            return 0.0;
        };
        let motor = &net.top.motors[*motor];
        let (omega, turns) = (y[motor.i + 1].0[lane], y[motor.i + 3].0[lane]);
        let per_s = omega / (2.0 * core::f64::consts::PI);
        let pump = match self.lanes[lane].hidden.plant().part(&motor.name).map(|part| &part.is) {
            Some(Component::ElectricPump(pump)) if per_s > 1.0 => pump,
            _ => return 0.0,
        };
        let mean = self.flow_of(link, lane, y).max(0.0);
        let give = self.give(lane, tee, y) + self.give(lane, outlet, y);
        let (rpm, lag) = (60.0 * per_s, self.lanes[lane].gauge.lag_s());
        let (pulses, pulse) = match pump.stage {
            Stage::RollerCell => (wave::ROLLERS, wave::roller_cell(turns, rpm, mean, wave::ROLLERS, give)),
            Stage::Turbine => (wave::VANES, wave::turbine(turns, rpm, mean, wave::VANES, give)),
        };
        pulse * wave::left_by_lag(pulses * per_s, lag)
            + wave::uneven_stage(turns, rpm, mean, pump.uneven, give) * wave::left_by_lag(per_s, lag)
    }

    /// Flow through one link, mL/s.
    fn flow_of(&self, link: usize, lane: usize, y: &[Lanes<L>]) -> f64 {
        let mut eye = self.eye.lock().unwrap_or_else(PoisonError::into_inner);
        let work = eye.get_or_insert_with(|| self.net().workspace());
        self.net().flows(y, work)[link].0[lane]
    }

    // ---- what is moved --------------------------------------------------------------------------

    pub(super) fn ramp(&mut self, lane: usize, state: usize, target: f64, over: u64) {
        self.cars.ramp_lane(self.now, lane, state, target, over);
    }

    /// Asks for a speed, 1/min, to be reached within `over` µs.
    pub(super) fn move_throttle(&mut self, lane: usize, rpm: f64, over: u64) {
        self.ramp(lane, self.net().top.engine.n + 1, rpm, over);
    }

    /// Lets the starter pull to a speed, 1/min, or go.
    pub(super) fn move_starter(&mut self, lane: usize, rpm: f64, over: u64) {
        self.ramp(lane, self.net().top.engine.n + 2, rpm, over);
    }

    /// Moves the lever of the tee's valve, if there is one.
    pub(super) fn move_valve(&mut self, lane: usize, open: f64, over: u64) {
        if let Some(valve) = self.assembly().handles.valve {
            self.ramp(lane, valve, open, over);
        }
    }

    /// What the fuel carries, where that is followed.
    pub(super) fn passengers(&self) -> Option<Passengers<L>> {
        self.cars.passengers(self.now)
    }

    /// Pressure of the air outside, mbar.
    pub(super) fn air_mbar(&self, lane: usize) -> f64 {
        self.net().at(self.net().top.common.air).0[lane] / 100.0
    }

    /// Load on the engine, 0 … 1.
    pub(in crate::bay) fn load(&self, lane: usize) -> f64 {
        self.state(lane, self.net().top.engine.n + 5)
    }

    /// Puts load on the engine.
    pub(super) fn move_load(&mut self, lane: usize, share: f64, over: u64) {
        self.ramp(lane, self.net().top.engine.n + 5, share, over);
    }

    /// Holds the engine's fuel back, or lets it go.
    pub(super) fn move_fuel(&mut self, lane: usize, held: bool) {
        self.ramp(lane, self.net().top.engine.n + 6, if held { 1.0 } else { 0.0 }, 0);
    }

    /// Where the lever of a shut-off valve of the vehicle stands, 0 … 1.
    pub(in crate::bay) fn tap(&self, lane: usize, part: &str) -> Option<f64> {
        let lever = self.assembly().handles.levers.iter().find(|(name, ..)| name == part)?;
        Some(self.state(lane, lever.1))
    }

    /// Names of the vehicle's shut-off valves.
    pub(in crate::bay) fn taps(&self) -> impl Iterator<Item = &str> {
        self.assembly().handles.levers.iter().map(|(name, ..)| name.as_str())
    }

    /// Moves the lever of one of the vehicle's shut-off valves, if there is one of that name.
    pub(super) fn move_tap(&mut self, lane: usize, part: &str, open: f64) {
        let lever = self.assembly().handles.levers.iter().find(|(name, ..)| name == part).map(|l| l.1);
        if let Some(lever) = lever {
            self.ramp(lane, lever, open, 3 * crate::bay::action::SECOND / 10);
        }
    }

    /// Begins (1) or stops (0) to work the primer, if there is one.
    pub(super) fn move_primer(&mut self, lane: usize, on: f64, over: u64) {
        if let Some(primer) = self.assembly().primer() {
            self.ramp(lane, primer, on, over);
        }
    }

    // ---- what is changed ------------------------------------------------------------------------

    /// Puts a state where it is told.
    pub(super) fn set_state(&mut self, lane: usize, state: usize, value: f64) {
        self.cars.change(self.now, |_, y| y[state].0[lane] = value);
    }

    /// Brings a vessel of every vehicle to a pressure, Pa gauge, by taking fuel out or putting it in.
    pub(super) fn bring_to(&mut self, vessel: usize, gauge: f64) {
        self.cars.change(self.now, |net, y| {
            let p = net.at(net.top.common.air) + gauge;
            let gas = net.free_gas(vessel, y);
            y[net.top.vessels[vessel].x] = net.excess_for(vessel, p, gas, y);
        });
    }

    /// Vessel of the tee, when fitted.
    pub(super) fn tee_vessel(&self) -> Option<usize> {
        self.assembly().handles.tee
    }

    /// Lets the pressure above the air's out of every vessel.
    pub(super) fn relieve(&mut self) {
        self.cars.change(self.now, |net, y| {
            let air = net.at(net.top.common.air);
            for v in 0..net.top.vessels.len() {
                let p = net.pressure(v, y);
                let gas = net.free_gas(v, y);
                let level = net.excess_for(v, air, gas, y);
                let x = net.top.vessels[v].x;
                for lane in 0..L {
                    if p.0[lane] > air.0[lane] {
                        y[x].0[lane] = level.0[lane];
                    }
                }
            }
        });
    }

    /// Highest gauge pressure anywhere in the line, Pa.
    pub(in crate::bay) fn highest_pressure(&self, lane: usize) -> f64 {
        let (net, y) = (self.net(), self.states());
        (0..net.top.vessels.len()).map(|v| net.gauge(v, &y).0[lane]).fold(f64::MIN, f64::max)
    }

    /// Gauge pressure at a node, Pa; none where it is no vessel of its own.
    pub(in crate::bay) fn gauge_at(&self, lane: usize, node: &str) -> Option<f64> {
        let net = self.net();
        Some(net.gauge(net.top.vessel(node)?, &self.states()).0[lane])
    }

    /// A hose can be led out of a node: gas and liquid are followed there.
    pub(in crate::bay) fn can_open(&self, node: &str) -> bool {
        let top = &self.net().top;
        top.vessel(node).is_some_and(|v| top.vessels[v].cells > 0)
    }

    /// Vessel at which the bleed screw is worked.
    fn bleed_vessel(&self) -> usize {
        let (top, handles) = (&self.net().top, &self.assembly().handles);
        if top.vessels[handles.bleed].cells > 0 {
            return handles.bleed;
        }
        // gas isn't followed in that gallery: the screw nearest to it
        handles.tee.unwrap_or_else(|| top.vessels.iter().rposition(|v| v.cells > 0).unwrap_or(handles.bleed))
    }

    /// Shifts the temperature of the zone in which a vessel lies.
    pub(super) fn shift_temperature(&mut self, vessel: usize, kelvin: f64) {
        self.cars.change(self.now, |net, y| {
            let t = net.top.zones[net.top.vessels[vessel].zone].t;
            for lane in &mut y[t].0 {
                *lane = (*lane + kelvin).clamp(COLDEST_K, HOTTEST_K);
            }
        });
    }

    /// Temperature at a vessel, K.
    pub(super) fn temperature(&self, lane: usize, vessel: usize) -> f64 {
        let top = &self.net().top;
        self.state(lane, top.zones[top.vessels[vessel].zone].t)
    }

    /// Temperature of the air around a vessel, K.
    pub(super) fn air_around(&self, lane: usize, vessel: usize) -> f64 {
        let net = self.net();
        net.at(net.top.zones[net.top.vessels[vessel].zone].ambient).0[lane]
    }

    /// Raises the fuel at every pick-up by what a slope does there: offset from the middle × tan of the slope.
    pub(super) fn set_slope(&mut self, rises: &[f64]) {
        self.cars.change(self.now, |net, _| {
            let tilts: Vec<_> = net.top.pickups.iter().map(|p| p.tilt).collect();
            for (tilt, rise) in tilts.into_iter().zip(rises) {
                net.params[tilt.index()] = Lanes::all(*rise);
            }
        });
    }

    /// Fuel that left through holes and jars so far, mL.
    pub(super) fn lost(&self, lane: usize) -> f64 {
        self.state(lane, self.net().top.ledgers.lost)
    }

    /// Flow through the links of these names, mL/s.
    pub(super) fn flow_through(&self, lane: usize, names: &[&str]) -> f64 {
        let net = self.net();
        let mut eye = self.eye.lock().unwrap_or_else(PoisonError::into_inner);
        let work = eye.get_or_insert_with(|| net.workspace());
        let flows = net.flows(&self.states(), work);
        let links = net.top.links.iter().zip(&flows);
        links.filter(|(link, _)| names.contains(&link.name.as_str())).map(|(_, flow)| flow.0[lane]).sum()
    }

    /// Every hole of the vehicle itself with the liquid that comes out of it now, mL/s.
    pub(in crate::bay) fn oozing(&self, lane: usize) -> Vec<(String, f64)> {
        let leaks = &self.lanes[lane].hidden.plant().leaks;
        if leaks.is_empty() {
            return vec![];
        }
        let (net, y) = (self.net(), self.states());
        leaks
            .iter()
            .filter_map(|leak| {
                let v = net.top.vessel(&leak.node)?;
                let over = net.gauge(v, &y).0[lane].max(0.0);
                let density = net.at(net.top.zones[net.top.vessels[v].zone].density).0[lane];
                let wet = 1.0 - net.gas_share(v, &y).0[lane];
                Some((leak.node.clone(), leak.area.si() * 1e6 * (2.0 * over / density).sqrt() * wet))
            })
            .collect()
    }

    /// Fuel in a tank, water in it included, mL.
    pub(in crate::bay) fn in_tank(&self, lane: usize, tank: &str) -> Option<f64> {
        let r = self.net().top.reservoirs.iter().find(|r| r.name == tank)?;
        Some(self.state(lane, r.v))
    }

    /// Brings a tank to a volume, mL, by a can and with its filler open meanwhile: the air over the fuel keeps its pressure.
    /// What comes from outside or goes there stands in the ledgers.
    pub(super) fn bring_tank_to(&mut self, lane: usize, tank: &str, ml: f64) {
        self.cars.change(self.now, |net, y| {
            let top = net.top.clone();
            let Some(r) = top.reservoirs.iter().find(|r| r.name == tank) else { return };
            let dry = |fuel: f64| (net.at(r.capacity).0[lane] - fuel).max(1.0);
            let (fuel, air) = (y[r.v].0[lane], y[r.m].0[lane]);
            let air_then = air * dry(ml) / dry(fuel);
            y[r.v].0[lane] = ml;
            y[r.m].0[lane] = air_then;
            y[top.ledgers.container].0[lane] += fuel - ml;
            y[top.ledgers.air_in].0[lane] += air_then - air;
        });
    }

    /// Pours water into a tank, mL, where water is followed.
    pub(super) fn pour_water(&mut self, lane: usize, tank: &str, ml: f64) {
        self.cars.change_passengers(self.now, |top, load| {
            for (r, water) in top.reservoirs.iter().zip(&mut load.in_tank) {
                if r.name == tank {
                    water.0[lane] += ml;
                }
            }
        });
    }

    /// Drains a tank's water down to what is left, mL, and where none is left that of lines and bowls. Returns how much
    /// came out of the tank, mL: `else_ml` where water isn't followed.
    pub(super) fn drain_water(&mut self, lane: usize, tank: &str, left: f64, else_ml: f64) -> f64 {
        let mut out = else_ml;
        self.cars.change_passengers(self.now, |top, load| {
            for (r, water) in top.reservoirs.iter().zip(&mut load.in_tank) {
                if r.name == tank {
                    out = (water.0[lane] - left).max(0.0);
                    water.0[lane] -= out;
                }
            }
            if left <= 0.0 {
                load.water.iter_mut().chain(&mut load.settled).for_each(|water| water.0[lane] = 0.0);
            }
        });
        out
    }

    /// Liquid and air of a vehicle with its ledgers, mL: neither changes, whatever happens.
    #[cfg(test)]
    pub(in crate::bay) fn balances(&self, lane: usize) -> (f64, f64) {
        let (net, y) = (self.net(), self.states());
        (net.liquid_balance(&y).0[lane], net.air_balance(&y).0[lane])
    }

    /// Water that is followed in a vehicle, mL: in tanks, lines and bowls, and what left it.
    #[cfg(test)]
    pub(in crate::bay) fn water(&self, lane: usize) -> Option<(f64, f64)> {
        let load = self.passengers()?;
        let inside = load.in_tank.iter().chain(&load.water).chain(&load.settled).map(|w| w.0[lane]).sum();
        Some((inside, load.gone.0[lane]))
    }

    /// Flow that the filler lets through at 1 Pa, mL/s.
    pub(super) fn set_filler(&mut self, opening: f64) {
        self.cars.change(self.now, |net, _| {
            let cap = net.top.reservoirs[0].cap;
            net.params[cap.index()] = Lanes::all(opening);
        });
    }

    /// Puts gas at air pressure into a vessel, as into a part fitted dry.
    pub(super) fn fill_with_gas(&mut self, vessel: &str, gas: f64) {
        self.cars.fill_with_gas(self.now, vessel, gas);
    }

    /// Builds every vehicle anew with its parts, its holes and the kit on it as they are now. `opened`
    /// names a joint that stood open meanwhile.
    ///
    /// # Errors
    /// A sentence. Its reasons (no such joint, a hole in the wrong place) are the same for all
    /// vehicles of a drive.
    pub(super) fn rebuild(&mut self, opened: Option<&str>) -> Result<(), String> {
        *self.eye.get_mut().unwrap_or_else(PoisonError::into_inner) = None;
        let screws: [Option<Plant>; L] = core::array::from_fn(|lane| self.with_hands_on(lane));
        let rigs: [Rig; L] = core::array::from_fn(|lane| self.rig(lane));
        let plants = core::array::from_fn(|lane| screws[lane].as_ref().unwrap_or(self.lanes[lane].hidden.plant()));
        self.cars.rebuild(self.now, plants, rigs.each_ref(), opened)?;
        if self.container.is_some() {
            self.hang_container();
        }
        Ok(())
    }

    /// A container that hangs too high, on a hose that is too long, as the kit has it.
    fn hang_container(&mut self) {
        let kits: [(f64, f64); L] = core::array::from_fn(|lane| {
            let kit = self.lanes[lane].hidden.kit();
            (kit.container_up_m, kit.hose_resistance)
        });
        self.cars.change(self.now, |net, _| {
            let hoses: Vec<_> = net.top.links.iter().map(|link| (link.from, link.law.clone())).collect();
            for (from, law) in hoses {
                let (End::Container(level), Law::Resistance { a, .. }) = (from, law) else { continue };
                for (lane, (up, resistance)) in kits.iter().enumerate() {
                    net.params[level.index()].0[lane] += up;
                    net.params[a.index()].0[lane] += resistance;
                }
            }
        });
    }

    /// The plant with what hands hold open or shut at it, while they do.
    fn with_hands_on(&self, lane: usize) -> Option<Plant> {
        let shut = self.shut_parts();
        if !self.screw_open && self.jar.is_none() && shut.is_empty() {
            return None;
        }
        let mut plant = self.lanes[lane].hidden.plant().clone();
        if self.screw_open {
            let node = self.net().top.vessels[self.bleed_vessel()].name.clone();
            plant.leaks.push(Leak { node, along: 0.9, area: Area::from_si(BLEED_SCREW_M2) });
        }
        if let Some(jar) = &self.jar {
            plant.leaks.push(Leak { node: jar.joint.clone(), along: 0.9, area: Area::from_si(jar.area_m2) });
        }
        for part in &mut plant.parts {
            if shut.contains(&part.name) {
                super::kit::close(&mut part.is);
            }
        }
        Some(plant)
    }
}

/// Vehicles at rest, after they stood for so long (µs).
pub(super) fn cars_at_rest<const L: usize>(
    plants: [&Plant; L],
    stood: u64,
    fidelity: Fidelity,
) -> Result<Vehicle<L>, String> {
    let (detail, effort) = fidelity.how();
    let rig = Rig::default();
    let mut cars = Vehicle::side_by_side(plants, [&rig; L], detail, effort)?;
    if stood > 0 {
        cars.stand(stood);
    }
    Ok(cars)
}
