//! The engine's own control: starter, firing, stalling; and what it is useful to know about a turning
//! engine afterwards.
//!
//! Ticks every 0.1 s while the engine turns or is cranked. The ticks look at the vehicle; they make
//! a knot only when a lever moves.

use super::Drive;
use crate::bay::action::{Key, Micros, SECOND};
use crate::plant::Plant;
use crate::plant::component::Component;

pub(super) const TICK: Micros = SECOND / 10;
/// Cranking before the control fires: it must find its place in the cycle.
const SYNC: Micros = 3 * SECOND / 2;

/// What an engine did at a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::bay) enum Turn {
    /// Runs by itself now.
    Runs,
    /// The starter came out; it didn't run.
    StarterOff,
    /// Died by itself.
    Stalls,
}

/// Engine control of one vehicle and its memory.
pub(in crate::bay) struct Control {
    starter: f64,
    pub(in crate::bay) idle: f64,
    pub(in crate::bay) raised: f64,
    pub(super) next_tick: Option<Micros>,
    /// Injection is cut with the key; fuel is held back for a test; the lever stands where either wants it.
    cut: bool,
    held_back: bool,
    fuel_stopped: bool,
    crank_since: Option<Micros>,
    crank_until: Micros,
    fired: bool,
    pub(in crate::bay) running: bool,
    pub(in crate::bay) stalled: bool,
    pub(in crate::bay) asked: f64,
    /// When the engine was seen turning last.
    pub(in crate::bay) last_turned: Option<Micros>,
    /// Speed at the last tick, 1/min.
    pub(in crate::bay) seen_rpm: f64,
    /// What happened at the last tick.
    pub(in crate::bay) turn: Option<Turn>,
    /// Since when the valve is shut under the turning pump.
    pub(in crate::bay) shut_since: Option<Micros>,
    /// When the last dead-head ended.
    pub(in crate::bay) last_dead_head: Option<Micros>,
    /// Ticks at which the pump turned on gas.
    pub(in crate::bay) dry_ticks: u32,
}

impl Control {
    pub(super) fn new(plant: &Plant) -> Result<Self, String> {
        let engine = plant
            .parts
            .iter()
            .find_map(|p| if let Component::Engine(e) = &p.is { Some(e) } else { None })
            .ok_or("the plant has no Engine")?;
        Ok(Self {
            starter: engine.starter.si(),
            idle: engine.idle.si(),
            raised: engine.raised.si(),
            next_tick: None,
            cut: false,
            held_back: false,
            fuel_stopped: false,
            crank_since: None,
            crank_until: 0,
            fired: false,
            running: false,
            stalled: false,
            asked: 0.0,
            last_turned: None,
            seen_rpm: 0.0,
            turn: None,
            shut_since: None,
            last_dead_head: None,
            dry_ticks: 0,
        })
    }

    /// How injection is held: cut with the key, held back, lever.
    pub(super) const fn fuel(&self) -> [bool; 3] {
        [self.cut, self.held_back, self.fuel_stopped]
    }

    /// Holds injection as it was held.
    pub(super) const fn keep_fuel(&mut self, [cut, held_back, fuel_stopped]: [bool; 3]) {
        (self.cut, self.held_back, self.fuel_stopped) = (cut, held_back, fuel_stopped);
    }

    pub(in crate::bay) fn is_cranking(&self) -> bool {
        self.crank_since.is_some()
    }
}

impl<const L: usize> Drive<L> {
    /// When somebody wants to look next: the control of an engine, or whoever looks on whole seconds.
    pub(in crate::bay) fn next_tick(&self) -> Option<Micros> {
        self.lanes.iter().filter_map(|lane| lane.control.next_tick).chain(self.next_mark()).min()
    }

    /// The control of a vehicle looks again in a tenth of a second, if it didn't mean to anyway.
    pub(super) fn keep_ticking(&mut self, lane: usize) {
        let soon = self.now + TICK;
        self.lanes[lane].control.next_tick.get_or_insert(soon);
    }

    /// Whoever is due looks at every vehicle.
    pub(in crate::bay) fn tick(&mut self) {
        self.mark_if_due();
        for lane in 0..L {
            self.lanes[lane].control.turn = None;
            if self.lanes[lane].control.next_tick.is_some_and(|at| at <= self.now) {
                self.tick_of(lane);
            }
        }
    }

    pub(in crate::bay) fn engine_turns(&self, lane: usize) -> bool {
        let control = &self.lanes[lane].control;
        control.running || control.is_cranking() || self.rpm(lane) > 20.0
    }

    fn ask_speed(&mut self, lane: usize, rpm: f64, over: Micros) {
        self.lanes[lane].control.asked = rpm;
        self.move_throttle(lane, rpm, over);
    }

    /// Speed to which the starter pulls the engine with the battery as it is, 1/min.
    pub(super) fn starter_speed(&self, lane: usize) -> f64 {
        self.lanes[lane].control.starter * self.cranks(lane)
    }

    fn turn_starter(&mut self, lane: usize, on: bool) {
        let target = if on { self.starter_speed(lane) } else { 0.0 };
        self.move_starter(lane, target, SECOND / 10);
    }

    /// Turns the key. Off stops every engine; on lets a stalled one forget it.
    pub(super) fn turn_key(&mut self, to: Key) {
        let turned = self.key != to;
        self.key = to;
        for lane in 0..L {
            if to == Key::Off {
                self.stop_engine(lane);
            }
            self.lanes[lane].control.stalled = false;
            if turned {
                self.lanes[lane].control.cut = to == Key::Off;
                self.watch_fuel(lane);
            }
            self.electrics_at_key(lane);
        }
    }

    /// Holds the engine's fuel back for a test, or lets it go.
    pub(super) fn hold_back(&mut self, lane: usize, on: bool) {
        self.lanes[lane].control.held_back = on;
        self.watch_fuel(lane);
    }

    /// Injection is cut with the key, so that an engine that runs down burns nothing; or it is held back.
    fn watch_fuel(&mut self, lane: usize) {
        let control = &self.lanes[lane].control;
        let stopped = control.cut || control.held_back;
        if control.fuel_stopped != stopped {
            self.lanes[lane].control.fuel_stopped = stopped;
            self.move_fuel(lane, stopped);
        }
    }

    /// Puts the starter in for at most `secs`. One that turns already, or a running engine, is left
    /// alone.
    pub(super) fn crank(&mut self, lane: usize, secs: f64) {
        let now = self.now;
        let control = &mut self.lanes[lane].control;
        if control.running || control.is_cranking() {
            return;
        }
        control.crank_since = Some(now);
        control.crank_until = now + (secs * SECOND as f64) as Micros;
        control.fired = false;
        control.stalled = false;
        control.next_tick = Some(now + TICK);
        self.turn_starter(lane, true);
        self.watch_electrics(lane);
    }

    /// Holds a speed, where the engine runs.
    pub(super) fn hold_speed(&mut self, lane: usize, rpm: f64) {
        if self.lanes[lane].control.running {
            self.ask_speed(lane, rpm, SECOND);
        }
    }

    /// Puts load on a running engine; takes it off whatever the engine does.
    pub(super) fn put_load(&mut self, lane: usize, share: f64, over: Micros) {
        if self.lanes[lane].control.running || share == 0.0 {
            self.move_load(lane, share, over);
        }
    }

    /// Floors the throttle or lets it go.
    pub(super) fn snap(&mut self, lane: usize, down: bool) {
        let control = &self.lanes[lane].control;
        let rpm = if down { control.raised } else { control.idle };
        if control.running {
            self.ask_speed(lane, rpm, 2 * SECOND / 5);
        }
        self.put_load(lane, if down { 1.0 } else { 0.0 }, SECOND / 10);
    }

    /// Switches an engine off where it runs or is being cranked.
    pub(super) fn stop_engine(&mut self, lane: usize) {
        if self.lanes[lane].control.is_cranking() {
            self.turn_starter(lane, false);
            self.lanes[lane].control.crank_since = None;
        }
        if self.lanes[lane].control.asked > 0.0 {
            self.ask_speed(lane, 0.0, SECOND / 10);
        }
        if self.load(lane) > 0.0 {
            self.put_load(lane, 0.0, SECOND / 10);
        }
        self.lanes[lane].control.running = false;
    }

    /// One look of the control at the vehicle.
    fn tick_of(&mut self, lane: usize) {
        let (n, now) = (self.rpm(lane), self.now);
        let control = &mut self.lanes[lane].control;
        control.turn = None;
        control.seen_rpm = n;
        if n > 20.0 {
            control.last_turned = Some(now);
        }
        if let Some(since) = control.crank_since {
            self.crank_tick(lane, since, n);
        } else if control.running && n < 0.3 * control.idle {
            control.running = false;
            control.stalled = true;
            control.turn = Some(Turn::Stalls);
            self.ask_speed(lane, 0.0, SECOND / 10);
        }
        if self.lanes[lane].control.running {
            self.count_running(lane, TICK);
        }
        self.tick_electrics(lane);
        self.watch_valve(lane, n);
        self.watch_dry(lane, n);
        self.watch_wet(lane);
        let fed = self.lanes[lane].electrics.any_on();
        let control = &mut self.lanes[lane].control;
        let again = control.is_cranking() || control.running || n > 5.0 || fed;
        control.next_tick = again.then_some(now + TICK);
    }

    fn crank_tick(&mut self, lane: usize, since: Micros, n: f64) {
        let now = self.now;
        let (idle, until) = (self.lanes[lane].control.idle, self.lanes[lane].control.crank_until);
        if !self.lanes[lane].control.fired && now - since >= SYNC {
            self.lanes[lane].control.fired = true;
            self.ask_speed(lane, idle, SECOND / 10);
        }
        if n > 0.75 * idle {
            self.lanes[lane].control.running = true;
            self.lanes[lane].control.turn = Some(Turn::Runs);
        } else if now >= until {
            self.ask_speed(lane, 0.0, SECOND / 10);
            self.lanes[lane].control.turn = Some(Turn::StarterOff);
        } else {
            return;
        }
        self.lanes[lane].control.crank_since = None;
        self.turn_starter(lane, false);
    }

    /// A valve shut under a turning pump: since when.
    fn watch_valve(&mut self, lane: usize, n: f64) {
        let Some(open) = self.valve(lane) else { return };
        let shut = open < 0.05 && (n > 60.0 || self.pump_turns(lane));
        let now = self.now;
        let control = &mut self.lanes[lane].control;
        match (shut, control.shut_since) {
            (true, None) => control.shut_since = Some(now),
            (false, Some(_)) => {
                control.shut_since = None;
                control.last_dead_head = Some(now);
            }
            _ => {}
        }
    }

    /// Fuel is the pump's lubricant.
    fn watch_dry(&mut self, lane: usize, n: f64) {
        if n > 60.0 && self.gas_in_pump(lane) > 0.5 {
            self.lanes[lane].control.dry_ticks += 1;
        }
    }
}
