//! Vehicles under way: network, stepper and the levers that move between two knots.
//!
//! Levers (valve, speed, starter, primer, voltage) are states that move at a constant rate for a while,
//! so the equations stay autonomous; the end of a movement is a knot like any other. L vehicles of one
//! topology go through time together; each lane's levers are its own.

use super::Plant;
use super::assemble::{Assembly, Detail, Rig, assemble};
use super::flaw::Flaw;
use super::network::{Law, Network, Passengers, Topology};
use super::step::{Effort, Stepper, Work};
use crate::lanes::Lanes;

/// A movement that isn't finished.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Ramp {
    lane: usize,
    state: usize,
    target: f64,
    ends: u64,
}

/// L vehicles being simulated.
#[derive(Clone, Debug)]
pub struct Vehicle<const L: usize = 1> {
    assembly: Assembly<L>,
    stepper: Stepper<L>,
    ramps: Vec<Ramp>,
    effort: Effort,
    detail: Detail,
    past_work: Work,
}

/// Joins L plants with their rigs.
fn join<const L: usize>(
    plants: [&Plant; L],
    rigs: [&Rig; L],
    detail: Detail,
) -> Result<(Assembly<L>, Vec<Assembly<1>>), Flaw> {
    let pairs = plants.iter().zip(rigs);
    let singles = pairs.map(|(plant, rig)| assemble(plant, rig, detail)).collect::<Result<Vec<_>, _>>()?;
    let lanes: [&Assembly<1>; L] = core::array::from_fn(|lane| &singles[lane]);
    let joined = Assembly::join(lanes).ok_or(Flaw::Unlike)?;
    Ok((joined, singles))
}

/// Clean fuel but for the water that lies in the tanks.
fn passengers_at_rest<const L: usize>(assembly: &Assembly<L>, singles: &[Assembly<1>]) -> Passengers<L> {
    let mut passengers = Passengers::none(&assembly.net.top);
    passengers.bowls.clone_from(&assembly.handles.bowls);
    for (r, water) in passengers.in_tank.iter_mut().enumerate() {
        *water = Lanes(core::array::from_fn(|lane| singles[lane].handles.water.get(r).copied().unwrap_or(0.0)));
    }
    passengers
}

impl Vehicle<1> {
    /// A vehicle at rest at time 0.
    ///
    /// # Errors
    /// See [`assemble`].
    pub fn new(plant: &Plant, rig: &Rig, detail: Detail, effort: Effort) -> Result<Self, Flaw> {
        Self::side_by_side([plant], [rig], detail, effort)
    }
}

impl<const L: usize> Vehicle<L> {
    /// L vehicles at rest at time 0.
    ///
    /// # Errors
    /// See [`assemble`]; also when the plants differ in more than numbers.
    pub fn side_by_side(
        plants: [&Plant; L],
        rigs: [&Rig; L],
        detail: Detail,
        effort: Effort,
    ) -> Result<Self, Flaw> {
        let (assembly, mut singles) = join(plants, rigs, detail)?;
        let starts: Vec<Vec<Lanes<1>>> = singles.iter_mut().zip(plants).map(|(a, p)| a.at_rest(p)).collect();
        let y =
            (0..assembly.net.states()).map(|i| Lanes(core::array::from_fn(|lane| starts[lane][i].0[0]))).collect();
        let mut stepper = Stepper::new(&assembly.net, y, 0, effort);
        if detail.passengers {
            stepper.board(passengers_at_rest(&assembly, &singles));
        }
        Ok(Self { assembly, stepper, ramps: vec![], effort, detail, past_work: Work::default() })
    }

    /// Makes the state at a covered time `t` (µs) the start: time begins anew at 0.
    pub fn begin_here(&mut self, t: u64) {
        let y = self.stop_at(t).clone();
        self.past_work = self.work();
        let passengers = self.passengers(t);
        self.stepper = Stepper::new(&self.assembly.net, y, 0, self.effort);
        if let Some(passengers) = passengers {
            self.stepper.board(passengers);
        }
        for ramp in &mut self.ramps {
            ramp.ends = ramp.ends.saturating_sub(t);
        }
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// Lets the vehicles stand untouched for so long (µs) before time 0.
    pub fn stand(&mut self, span: u64) {
        self.cover(span);
        self.begin_here(span);
    }

    /// The network and its handles.
    pub fn assembly(&self) -> &Assembly<L> {
        &self.assembly
    }

    /// The network.
    pub fn net(&self) -> &Network<L> {
        &self.assembly.net
    }

    /// Memory held for all lanes together, bytes: states, stages, factors and scratch. What vehicles of one structure
    /// share (its description, patterns, lists) is there once for all and isn't counted.
    pub fn bytes(&self) -> usize {
        size_of::<Self>()
            + self.assembly.net.bytes()
            + self.stepper.bytes()
            + self.ramps.capacity() * size_of::<Ramp>()
    }

    /// Work done so far, over all rebuilds.
    pub fn work(&self) -> Work {
        self.past_work.and(self.stepper.work())
    }

    fn stop_at(&mut self, t: u64) -> &mut Vec<Lanes<L>> {
        self.stepper.stop_at(&mut self.assembly.net, t)
    }

    fn restart(&mut self) {
        self.stepper.restart(self.ramps.iter().map(|r| r.ends).min());
    }

    /// Lets the vehicle go on from `now` (µs, no earlier than what was covered) until nothing moves any
    /// more, at most for `limit` µs. Returns the time at which it stood still.
    ///
    /// Nothing moves: within the later half of the time since `now`, no pressure has moved by 5 Pa, no flow
    /// in a line by 0.01 mL/s, no share of gas by 0.001, no engine by 0.5 1/min, no motor by 0.01 A. So a
    /// slow approach isn't taken for its end, but what takes hours to show (a tank that empties, air that
    /// dissolves) is.
    ///
    /// # Errors
    /// When something still moves at the limit: a sentence that says what.
    pub fn settle(&mut self, now: u64, limit: u64) -> Result<u64, String> {
        let mut span = 1_000_000;
        loop {
            self.cover(now + span / 2);
            let mut before = self.quiet_readings(now + span / 2);
            let mut moves = None;
            // four looks, so that no oscillation is met in the same phase twice
            for eighths in [5, 6, 7, 8] {
                let t = now + span * eighths / 8 - span * (8 - eighths) / 41;
                self.cover(t);
                let after = self.quiet_readings(t);
                let far =
                    before.iter().zip(&after).position(|(b, a)| (b.1 - a.1).any(|d| d.abs() >= a.2 || d.is_nan()));
                moves = moves.or(far.map(|i| after[i].0.clone()));
                before = after;
            }
            self.cover(now + span);
            match moves {
                None if self.ramps.is_empty() => return Ok(now + span),
                _ if span < limit => span = (2 * span).min(limit),
                Some(what) => return Err(format!("{what} still moves after {} s", span as f64 * 1e-6)),
                None => return Err("a lever still moves".to_owned()),
            }
        }
    }

    /// What is looked at to tell whether anything moves: name, value, how far it may move.
    fn quiet_readings(&self, t: u64) -> Vec<(String, Lanes<L>, f64)> {
        let (net, y) = (self.net(), self.snapshot(t));
        let top = &net.top;
        let mut list = vec![("the speed of the engine".to_owned(), y[top.engine.n], 0.5)];
        for (v, vessel) in top.vessels.iter().enumerate() {
            list.push((format!("the pressure at \"{}\"", vessel.name), net.pressure(v, &y), 5.0));
            list.push((format!("the gas at \"{}\"", vessel.name), net.gas_share(v, &y), 1e-3));
        }
        for link in &top.links {
            if let Law::Pipe { q, .. } = link.law {
                list.push((format!("the flow in \"{}\"", link.name), y[q], 0.01));
            }
        }
        for motor in &top.motors {
            list.push((format!("the current of \"{}\"", motor.name), y[motor.i], 0.01));
        }
        list
    }

    /// Simulates until `t` (µs) is covered. Never changes the past.
    pub fn cover(&mut self, t: u64) {
        while let Some(end) = self.ramps.iter().map(|r| r.ends).min().filter(|&end| end <= t) {
            self.stop_at(end);
            self.finish_ramps(end);
        }
        self.stepper.cover(&mut self.assembly.net, t);
    }

    fn set_rate(&mut self, lane: usize, state: usize, rate: f64) {
        let net = &mut self.assembly.net;
        for (&input, rates) in net.top.inputs.iter().zip(&mut net.rates) {
            if input == state {
                rates.0[lane] = rate;
            }
        }
    }

    fn finish_ramps(&mut self, now: u64) {
        let done: Vec<Ramp> = self.ramps.iter().copied().filter(|r| r.ends <= now).collect();
        let y = self.stepper.stop_at(&mut self.assembly.net, now);
        for ramp in &done {
            y[ramp.state].0[ramp.lane] = ramp.target;
        }
        for ramp in done {
            self.set_rate(ramp.lane, ramp.state, 0.0);
        }
        self.ramps.retain(|r| r.ends > now);
        self.restart();
    }

    /// Moves a lever of every lane from where it is to `target` within `over` µs, starting at `now`.
    pub fn ramp(&mut self, now: u64, state: usize, target: f64, over: u64) {
        for lane in 0..L {
            self.ramp_lane(now, lane, state, target, over);
        }
    }

    /// Moves a lever of one lane.
    pub fn ramp_lane(&mut self, now: u64, lane: usize, state: usize, target: f64, over: u64) {
        self.cover(now);
        let at = &mut self.stop_at(now)[state].0[lane];
        let rate = if over == 0 { 0.0 } else { (target - *at) / (over as f64 * 1e-6) };
        if over == 0 {
            *at = target;
        }
        self.ramps.retain(|r| r.state != state || r.lane != lane);
        if over > 0 {
            self.ramps.push(Ramp { lane, state, target, ends: now + over });
        }
        self.set_rate(lane, state, rate);
        self.restart();
    }

    /// Makes `now` a knot and lets `change` alter parameters and state.
    pub fn change(&mut self, now: u64, change: impl FnOnce(&mut Network<L>, &mut [Lanes<L>])) {
        self.cover(now);
        let y = self.stepper.stop_at(&mut self.assembly.net, now);
        change(&mut self.assembly.net, y);
        self.restart();
    }

    /// Makes `now` a knot and lets `change` alter what the fuel carries, where that is followed.
    pub fn change_passengers(&mut self, now: u64, change: impl FnOnce(&Topology, &mut Passengers<L>)) {
        self.cover(now);
        self.stop_at(now);
        if let Some(mut load) = self.passengers(now) {
            change(&self.assembly.net.top, &mut load);
            self.stepper.board(load);
        }
        self.restart();
    }

    /// Rebuilds the network for other plants or another rig; states carry over by name. Movements that
    /// aren't finished jump to their end. `opened` names a joint that stood open meanwhile.
    ///
    /// # Errors
    /// See [`Self::side_by_side`].
    pub fn rebuild(
        &mut self,
        now: u64,
        plants: [&Plant; L],
        rigs: [&Rig; L],
        opened: Option<&str>,
    ) -> Result<(), Flaw> {
        let (mut assembly, _) = join(plants, rigs, self.detail)?;
        self.cover(now);
        let ramps = std::mem::take(&mut self.ramps);
        let y = self.stepper.stop_at(&mut self.assembly.net, now);
        for ramp in ramps {
            y[ramp.state].0[ramp.lane] = ramp.target;
        }
        let mut fresh = assembly.carry_over(&self.assembly, y, opened);
        // an open cap stays open
        for (new, old) in assembly.net.top.clone().reservoirs.iter().zip(&self.assembly.net.top.reservoirs) {
            assembly.net.params[new.cap.index()] = self.assembly.net.at(old.cap);
        }
        if opened.is_some() {
            // nobody pumps while a joint is open
            for (_, on) in &assembly.handles.primers {
                fresh[*on] = Lanes::ZERO;
            }
        }
        self.past_work = self.work();
        let bowls = assembly.handles.bowls.clone();
        let passengers =
            self.passengers(now).map(|p| p.carried_over(&self.assembly.net.top, &assembly.net.top, &fresh, bowls));
        self.stepper = Stepper::new(&assembly.net, fresh, now, self.effort);
        if let Some(passengers) = passengers {
            self.stepper.board(passengers);
        }
        self.assembly = assembly;
        Ok(())
    }

    /// Fills a vessel with a share of gas at air pressure, as a part fitted dry.
    pub fn fill_with_gas(&mut self, now: u64, vessel: &str, gas: f64) {
        self.cover(now);
        let y = self.stepper.stop_at(&mut self.assembly.net, now);
        if let Some(v) = self.assembly.net.top.vessel(vessel) {
            self.assembly.fill_with(y, v, gas);
        }
        self.restart();
    }

    /// What the fuel carries at a covered time; none when the detail leaves it out.
    pub fn passengers(&self, t: u64) -> Option<Passengers<L>> {
        self.stepper.passengers_at(&self.assembly.net, t)
    }

    /// State at a covered time.
    pub fn at(&self, t: u64, out: &mut [Lanes<L>]) {
        self.stepper.at(t, out);
    }

    /// One state of one lane at a covered time.
    pub fn state_of(&self, t: u64, lane: usize, i: usize) -> f64 {
        self.stepper.state_at(t, i).0[lane]
    }

    /// The whole state at a covered time.
    pub fn snapshot(&self, t: u64) -> Vec<Lanes<L>> {
        let mut y = vec![Lanes::ZERO; self.assembly.net.states()];
        self.stepper.at(t, &mut y);
        y
    }
}

impl Vehicle<1> {
    /// One state at a covered time.
    pub fn state_at(&self, t: u64, i: usize) -> f64 {
        self.state_of(t, 0, i)
    }
}
