//! The engine's own control: starter, firing, stalling; and what must be watched while it turns.
//!
//! Ticks every 0.1 s while the engine turns or is cranked. The ticks look at the vehicle; they make
//! a knot only when a lever moves.

use super::Bay;
use super::action::{Key, Micros, SECOND};
use crate::plant::Plant;
use crate::plant::component::Component;

const TICK: Micros = SECOND / 10;
/// Cranking before the control fires: it must find its place in the cycle.
const SYNC: Micros = 3 * SECOND / 2;
/// Longest dead-head allowed on the card, with the time a hand needs.
const DEAD_HEAD_LIMIT: Micros = 5 * SECOND + SECOND / 2;

/// Engine control and its memory.
pub(super) struct Control {
    pub(super) starter: f64,
    pub(super) idle: f64,
    pub(super) raised: f64,
    next_tick: Option<Micros>,
    crank_since: Option<Micros>,
    crank_until: Micros,
    fired: bool,
    pub(super) running: bool,
    pub(super) stalled: bool,
    pub(super) asked: f64,
    pub(super) last_turned: Option<Micros>,
    shut_since: Option<Micros>,
    last_dead_head: Option<Micros>,
    dry_ticks: u32,
    tee_since: Micros,
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
            crank_since: None,
            crank_until: 0,
            fired: false,
            running: false,
            stalled: false,
            asked: 0.0,
            last_turned: None,
            shut_since: None,
            last_dead_head: None,
            dry_ticks: 0,
            tee_since: 0,
        })
    }

    pub(super) fn next_tick(&self) -> Option<Micros> {
        self.next_tick
    }

    pub(super) fn tee_since(&self) -> Micros {
        self.tee_since
    }

    pub(super) fn set_tee_since(&mut self, at: Micros) {
        self.tee_since = at;
    }

    pub(super) fn is_cranking(&self) -> bool {
        self.crank_since.is_some()
    }
}

impl Bay {
    /// Speed of the engine now, 1/min.
    pub(super) fn rpm(&self) -> f64 {
        self.car.state_at(self.now, self.car.net().engine.n).max(0.0)
    }

    pub(super) fn engine_turns(&self) -> bool {
        self.control.running || self.control.is_cranking() || self.rpm() > 20.0
    }

    fn ask_speed(&mut self, rpm: f64, over: Micros) {
        self.control.asked = rpm;
        let state = self.car.net().engine.n + 1;
        self.car.ramp(self.now, state, rpm, over);
    }

    fn turn_starter(&mut self, on: bool) {
        let state = self.car.net().engine.n + 2;
        let target = if on { self.control.starter } else { 0.0 };
        self.car.ramp(self.now, state, target, SECOND / 10);
    }

    /// Puts the starter in for at most `secs`.
    pub(super) fn crank(&mut self, secs: f64) {
        self.control.crank_since = Some(self.now);
        self.control.crank_until = self.now + (secs * SECOND as f64) as Micros;
        self.control.fired = false;
        self.control.stalled = false;
        self.control.next_tick = Some(self.now + TICK);
        self.turn_starter(true);
        self.mark("crank");
    }

    /// Holds a speed.
    pub(super) fn hold_speed(&mut self, rpm: f64) {
        self.ask_speed(rpm, SECOND);
    }

    /// Key off.
    pub(super) fn stop_engine(&mut self) {
        if self.control.is_cranking() {
            self.turn_starter(false);
            self.control.crank_since = None;
        }
        if self.control.asked > 0.0 {
            self.ask_speed(0.0, SECOND / 10);
        }
        if self.control.running {
            self.mark("stop");
        }
        self.control.running = false;
        self.control.stalled = false;
        self.key = Key::Off;
    }

    /// One look of the control at the vehicle.
    pub(super) fn tick(&mut self) {
        let n = self.rpm();
        if n > 20.0 {
            self.control.last_turned = Some(self.now);
        }
        if let Some(since) = self.control.crank_since {
            self.crank_tick(since, n);
        } else if self.control.running && n < 0.3 * self.control.idle {
            self.control.running = false;
            self.control.stalled = true;
            self.ask_speed(0.0, SECOND / 10);
            self.mark("stalls");
        }
        self.watch_valve(n);
        self.watch_dry(n);
        let again = self.control.is_cranking() || self.control.running || n > 5.0;
        self.control.next_tick = again.then_some(self.now + TICK);
    }

    fn crank_tick(&mut self, since: Micros, n: f64) {
        if !self.control.fired && self.now - since >= SYNC {
            self.control.fired = true;
            self.ask_speed(self.control.idle, SECOND / 10);
        }
        let over = self.now >= self.control.crank_until;
        if n > 0.75 * self.control.idle {
            self.control.running = true;
            self.mark("runs");
        } else if over {
            self.ask_speed(0.0, SECOND / 10);
            self.mark("starter off");
        } else {
            return;
        }
        self.control.crank_since = None;
        self.turn_starter(false);
    }

    /// A valve shut under a turning pump: how long, how fast, how often.
    fn watch_valve(&mut self, n: f64) {
        let Some(valve) = self.car.assembly().valve else { return };
        let shut = self.car.state_at(self.now, valve) < 0.05 && n > 60.0;
        match (shut, self.control.shut_since) {
            (true, None) => {
                self.control.shut_since = Some(self.now);
                if self.control.last_dead_head.is_some_and(|t| self.now - t < 60 * SECOND) {
                    self.breach("dead-head-again");
                }
            }
            (true, Some(since)) => {
                if self.now - since > DEAD_HEAD_LIMIT {
                    self.breach("dead-head-long");
                }
                if n > 1.3 * self.control.idle {
                    self.breach("dead-head-fast");
                }
            }
            (false, Some(_)) => {
                self.control.shut_since = None;
                self.control.last_dead_head = Some(self.now);
            }
            (false, None) => {}
        }
    }

    /// Fuel is the pump's lubricant.
    fn watch_dry(&mut self, n: f64) {
        let gas = self.car.state_at(self.now, self.car.net().engine.n + 3);
        if n > 60.0 && gas > 0.5 {
            self.control.dry_ticks += 1;
            if self.control.dry_ticks > 100 {
                self.breach("pump-dry");
            }
        }
    }

    /// How long the valve has been shut under a turning pump.
    pub(super) fn dead_head_for(&self) -> Option<Micros> {
        self.control.shut_since.map(|t| self.now - t)
    }
}
