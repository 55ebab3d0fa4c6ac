//! A vehicle under way: network, stepper and the levers that move between two knots.
//!
//! Levers (valve, speed, starter, primer) are states that move at a constant rate for a while, so
//! the equations stay autonomous; the end of a movement is a knot like any other.

use super::Plant;
use super::assemble::{Assembly, Detail, Rig, assemble};
use super::component::{Component, Tank};
use super::network::Network;
use super::step::{Effort, Stepper, Work};

/// A movement that isn't finished.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Ramp {
    state: usize,
    target: f64,
    ends: u64,
}

/// A vehicle being simulated.
#[derive(Clone, Debug)]
pub struct Vehicle {
    assembly: Assembly,
    stepper: Stepper,
    ramps: Vec<Ramp>,
    effort: Effort,
    detail: Detail,
    past_work: Work,
}

impl Vehicle {
    /// A vehicle at rest at time 0.
    ///
    /// # Errors
    /// See [`assemble`].
    pub fn new(plant: &Plant, rig: &Rig, detail: Detail, effort: Effort) -> Result<Self, String> {
        let assembly = assemble(plant, rig, detail)?;
        let y = assembly.at_rest(tank(plant)?);
        let stepper = Stepper::new(&assembly.net, y, 0, effort);
        Ok(Self { assembly, stepper, ramps: vec![], effort, detail, past_work: Work::default() })
    }

    /// Lets the vehicle stand untouched for so long (µs) before time 0.
    pub fn stand(&mut self, span: u64) {
        self.stepper.cover(&self.assembly.net, span);
        let y = self.stepper.stop_at(&self.assembly.net, span).clone();
        self.past_work = self.stepper.work();
        self.stepper = Stepper::new(&self.assembly.net, y, 0, self.effort);
    }

    /// The network and its handles.
    pub fn assembly(&self) -> &Assembly {
        &self.assembly
    }

    /// The network.
    pub fn net(&self) -> &Network {
        &self.assembly.net
    }

    /// Work done so far, over all rebuilds.
    pub fn work(&self) -> Work {
        let (a, b) = (self.past_work, self.stepper.work());
        Work {
            steps: a.steps + b.steps,
            rejected: a.rejected + b.rejected,
            cut: a.cut + b.cut,
            evaluations: a.evaluations + b.evaluations,
            jacobians: a.jacobians + b.jacobians,
            factorisations: a.factorisations + b.factorisations,
            forced: a.forced + b.forced,
        }
    }

    /// Simulates until `t` (µs) is covered. Never changes the past.
    pub fn cover(&mut self, t: u64) {
        while let Some(end) = self.ramps.iter().map(|r| r.ends).min().filter(|&end| end <= t) {
            self.stepper.stop_at(&self.assembly.net, end);
            self.finish_ramps(end);
        }
        self.stepper.cover(&self.assembly.net, t);
    }

    fn finish_ramps(&mut self, now: u64) {
        let y = self.stepper.stop_at(&self.assembly.net, now);
        for ramp in self.ramps.iter().filter(|r| r.ends <= now) {
            y[ramp.state] = ramp.target;
            for input in &mut self.assembly.net.inputs {
                if input.0 == ramp.state {
                    input.1 = 0.0;
                }
            }
        }
        self.ramps.retain(|r| r.ends > now);
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// Moves a lever from where it is to `target` within `over` µs, starting at `now`.
    pub fn ramp(&mut self, now: u64, state: usize, target: f64, over: u64) {
        self.cover(now);
        let y = self.stepper.stop_at(&self.assembly.net, now);
        let rate = if over == 0 { 0.0 } else { (target - y[state]) / (over as f64 * 1e-6) };
        if over == 0 {
            y[state] = target;
        }
        self.ramps.retain(|r| r.state != state);
        if over > 0 {
            self.ramps.push(Ramp { state, target, ends: now + over });
        }
        for input in &mut self.assembly.net.inputs {
            if input.0 == state {
                input.1 = rate;
            }
        }
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// Makes `now` a knot and lets `change` alter parameters and state.
    pub fn change(&mut self, now: u64, change: impl FnOnce(&mut Network, &mut [f64])) {
        self.cover(now);
        let y = self.stepper.stop_at(&self.assembly.net, now);
        change(&mut self.assembly.net, y);
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// Rebuilds the network for another plant or rig; states carry over by name. Movements that
    /// aren't finished jump to their end. `opened` names a joint that stood open meanwhile.
    ///
    /// # Errors
    /// See [`assemble`].
    pub fn rebuild(&mut self, now: u64, plant: &Plant, rig: &Rig, opened: Option<&str>) -> Result<(), String> {
        let assembly = assemble(plant, rig, self.detail)?;
        self.cover(now);
        let y = self.stepper.stop_at(&self.assembly.net, now);
        for ramp in self.ramps.drain(..) {
            y[ramp.state] = ramp.target;
        }
        let mut fresh = assembly.carry_over(&self.assembly, y, opened);
        // parameters that hold the tank's vent are those of the plant; an open cap stays open
        let mut assembly = assembly;
        assembly.net.tank.cap = self.assembly.net.tank.cap;
        if opened.is_some() && assembly.primer.is_some() {
            // nobody pumps while a joint is open
            if let Some(on) = assembly.primer {
                fresh[on] = 0.0;
            }
        }
        self.past_work = self.work();
        self.stepper = Stepper::new(&assembly.net, fresh, now, self.effort);
        self.assembly = assembly;
        Ok(())
    }

    /// Fills a vessel with a share of gas at air pressure, as a part fitted dry.
    pub fn fill_with_gas(&mut self, now: u64, vessel: &str, gas: f64) {
        self.cover(now);
        let y = self.stepper.stop_at(&self.assembly.net, now);
        if let Some(v) = self.assembly.net.vessel(vessel) {
            self.assembly.fill_with(y, v, gas);
        }
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// State at a covered time.
    pub fn at(&self, t: u64, out: &mut [f64]) {
        self.stepper.at(t, out);
    }

    /// One state at a covered time.
    pub fn state_at(&self, t: u64, i: usize) -> f64 {
        self.stepper.state_at(t, i)
    }

    /// The whole state at a covered time.
    pub fn snapshot(&self, t: u64) -> Vec<f64> {
        let mut y = vec![0.0; self.assembly.net.states()];
        self.stepper.at(t, &mut y);
        y
    }
}

/// The plant's tank.
///
/// # Errors
/// When it has none.
pub fn tank(plant: &Plant) -> Result<&Tank, String> {
    plant
        .parts
        .iter()
        .find_map(|p| if let Component::Tank(t) = &p.is { Some(t) } else { None })
        .ok_or_else(|| format!("the plant \"{}\" has no Tank", plant.name))
}
