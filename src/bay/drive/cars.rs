//! The only file of the drive that touches a [`Vehicle`]: one small method for each thing that is read
//! off a vehicle, moved or changed in it.
//!
//! Today every lane has a vehicle of its own. Vehicles that are advanced together go in here.

use std::sync::PoisonError;

use super::{Drive, Fidelity};
use crate::plant::assemble::Assembly;
use crate::plant::network::{End, Kind, Network};
use crate::plant::step::Work;
use crate::plant::vehicle::Vehicle;
use crate::plant::{Leak, Plant};
use crate::units::Area;

/// Effective opening of a bleed screw, m².
const BLEED_SCREW_M2: f64 = 3e-6;

impl<const L: usize> Drive<L> {
    // ---- time -----------------------------------------------------------------------------------

    /// Simulates every vehicle to `t`; nobody ticks and nobody looks meanwhile.
    pub(in crate::bay) fn reach(&mut self, t: u64) {
        for car in &mut self.cars {
            car.cover(t);
        }
        self.now = t;
    }

    /// Work of the solver at one vehicle.
    pub(crate) fn work(&self, lane: usize) -> Work {
        self.cars[lane].work()
    }

    // ---- what is read off -----------------------------------------------------------------------

    fn assembly(&self, lane: usize) -> &Assembly {
        self.cars[lane].assembly()
    }

    fn net(&self, lane: usize) -> &Network {
        self.cars[lane].net()
    }

    fn state(&self, lane: usize, i: usize) -> f64 {
        self.cars[lane].state_at(self.now, i)
    }

    pub(super) fn states(&self, lane: usize) -> Vec<f64> {
        self.cars[lane].snapshot(self.now)
    }

    /// Speed of the engine now, 1/min.
    pub(in crate::bay) fn rpm(&self, lane: usize) -> f64 {
        self.state(lane, self.net(lane).engine.n).max(0.0)
    }

    /// Share of gas in the pump, 0 … 1.
    pub(super) fn gas_in_pump(&self, lane: usize) -> f64 {
        self.state(lane, self.net(lane).engine.n + 3)
    }

    /// Opening of the tee's valve, 0 … 1; none without a tee.
    pub(in crate::bay) fn valve(&self, lane: usize) -> Option<f64> {
        self.assembly(lane).valve.map(|valve| self.state(lane, valve))
    }

    /// There is a hand primer.
    pub(in crate::bay) fn has_primer(&self, lane: usize) -> bool {
        self.assembly(lane).primer.is_some()
    }

    /// Share of gas in the sight glass, 0 … 1; none without a tee.
    pub(in crate::bay) fn gas_in_glass(&self, lane: usize) -> Option<f64> {
        let tee = self.assembly(lane).tee?;
        Some(self.net(lane).gas_share(tee, &self.states(lane)))
    }

    /// Flow through the sight glass towards the engine, mL/s; none without a tee.
    pub(in crate::bay) fn flow_in_glass(&self, lane: usize) -> Option<f64> {
        let tee = self.assembly(lane).tee?;
        let net = self.net(lane);
        let mut eye = self.eye.lock().unwrap_or_else(PoisonError::into_inner);
        let work = eye.get_or_insert_with(|| net.workspace());
        let flows = net.flows(&self.states(lane), work);
        Some(net.links.iter().zip(&flows).filter(|(link, _)| link.to == End::Inlet(tee)).map(|(_, q)| q).sum())
    }

    /// Share of gas where the bleed screw sits: the pump's inlet, past everything that the primer
    /// fills.
    pub(in crate::bay) fn gas_at_bleed_screw(&self, lane: usize) -> f64 {
        let net = self.net(lane);
        net.gas_share(net.pump.inlet, &self.states(lane))
    }

    /// Pressure that the hand at the primer works against, Pa.
    pub(super) fn back_pressure(&self, lane: usize) -> f64 {
        let net = self.net(lane);
        let y = self.states(lane);
        let pressure = |end| match end {
            End::Inlet(v) | End::Outlet(v) => net.pressure(v, &y),
            _ => net.medium.air,
        };
        net.links
            .iter()
            .find(|link| matches!(link.kind, Kind::Element { .. }))
            .map_or(0.0, |link| pressure(link.to) - pressure(link.from))
    }

    /// How far the tank's air space lies below the air, Pa.
    pub(super) fn depression(&self, lane: usize) -> f64 {
        let net = self.net(lane);
        net.medium.air - net.air_space(&self.states(lane))
    }

    /// What there is to sample at the tee: pressure, mbar gauge, share of gas, speed of the engine.
    pub(super) fn at_tee(&self, lane: usize, scratch: &mut Vec<f64>) -> Option<(f64, f64, f64)> {
        let tee = self.assembly(lane).tee?;
        let net = self.net(lane);
        scratch.resize(net.states(), 0.0);
        self.cars[lane].at(self.now, scratch);
        let ripple = self.ripple(lane, tee, scratch);
        let line_mbar = (net.pressure(tee, scratch) + ripple - net.medium.air) / 100.0;
        Some((line_mbar, net.gas_share(tee, scratch), scratch[net.engine.n]))
    }

    /// Ripple of the pump at the tee, Pa. Left out where nobody sees single samples.
    fn ripple(&self, lane: usize, tee: usize, y: &[f64]) -> f64 {
        if self.fidelity == Fidelity::Reference {
            return 0.0;
        }
        let net = self.net(lane);
        let give: f64 = [tee, net.pump.inlet]
            .into_iter()
            .map(|v| {
                let vessel = &net.vessels[v];
                let above = net.pressure(v, y) - net.medium.vapour;
                let gas: f64 =
                    net.cells[vessel.first_cell..vessel.first_cell + vessel.cells].iter().map(|c| y[c.g]).sum();
                vessel.compliance
                    + crate::units::STANDARD_ATMOSPHERE_PA * (gas + vessel.still_gas) / (above * above)
            })
            .sum();
        let rpm = y[net.engine.n];
        let swept = net.pump.displacement * rpm / 60.0;
        crate::instrument::ripple::ripple(y[net.engine.n + 4], rpm, swept, net.pump.teeth, give)
    }

    // ---- what is moved --------------------------------------------------------------------------

    fn ramp(&mut self, lane: usize, state: usize, target: f64, over: u64) {
        self.cars[lane].ramp(self.now, state, target, over);
    }

    /// Asks for a speed, 1/min, to be reached within `over` µs.
    pub(super) fn move_throttle(&mut self, lane: usize, rpm: f64, over: u64) {
        self.ramp(lane, self.net(lane).engine.n + 1, rpm, over);
    }

    /// Lets the starter pull to a speed, 1/min, or go.
    pub(super) fn move_starter(&mut self, lane: usize, rpm: f64, over: u64) {
        self.ramp(lane, self.net(lane).engine.n + 2, rpm, over);
    }

    /// Moves the lever of the tee's valve, if there is one.
    pub(super) fn move_valve(&mut self, lane: usize, open: f64, over: u64) {
        if let Some(valve) = self.assembly(lane).valve {
            self.ramp(lane, valve, open, over);
        }
    }

    /// Begins (1) or stops (0) to work the primer, if there is one.
    pub(super) fn move_primer(&mut self, lane: usize, on: f64, over: u64) {
        if let Some(primer) = self.assembly(lane).primer {
            self.ramp(lane, primer, on, over);
        }
    }

    // ---- what is changed ------------------------------------------------------------------------

    /// Flow that the filler lets through at 1 Pa, mL/s.
    pub(super) fn set_filler(&mut self, lane: usize, opening: f64) {
        self.cars[lane].change(self.now, |net, _| net.tank.cap = opening);
    }

    /// Puts gas at air pressure into a vessel, as into a part fitted dry.
    pub(super) fn fill_with_gas(&mut self, lane: usize, vessel: &str, gas: f64) {
        self.cars[lane].fill_with_gas(self.now, vessel, gas);
    }

    /// Builds every vehicle anew with its parts, its holes and the kit on it as they are now. `opened`
    /// names a joint that stood open meanwhile.
    ///
    /// # Errors
    /// A sentence. Its reasons (no such joint, a hole in the wrong place) are the same for all
    /// vehicles of a drive.
    pub(super) fn rebuild(&mut self, opened: Option<&str>) -> Result<(), String> {
        *self.eye.get_mut().unwrap_or_else(PoisonError::into_inner) = None;
        for lane in 0..L {
            let rig = self.rig(lane);
            let plant = self.with_bleed_screw(lane);
            let plant = plant.as_ref().unwrap_or(self.lanes[lane].hidden.plant());
            self.cars[lane].rebuild(self.now, plant, &rig, opened)?;
        }
        Ok(())
    }

    /// The plant with its bleed screw open, while it is.
    fn with_bleed_screw(&self, lane: usize) -> Option<Plant> {
        if !self.screw_open {
            return None;
        }
        let net = self.net(lane);
        let node = net.vessels[net.pump.inlet].name.clone();
        let mut plant = self.lanes[lane].hidden.plant().clone();
        plant.leaks.push(Leak { node, along: 0.9, area: Area::from_si(BLEED_SCREW_M2) });
        Some(plant)
    }
}

/// A vehicle at rest, after it stood for so long (µs).
pub(super) fn car_at_rest(
    plant: &Plant,
    rig: &crate::plant::assemble::Rig,
    stood: u64,
    fidelity: Fidelity,
) -> Result<Vehicle, String> {
    let (detail, effort) = fidelity.how();
    let mut car = Vehicle::new(plant, rig, detail, effort)?;
    if stood > 0 {
        car.stand(stood);
    }
    Ok(car)
}
