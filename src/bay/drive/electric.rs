//! The vehicle's electrics: battery, what switches each electric pump, the pressure that a control asks for, and the
//! trouble codes it stores.
//!
//! Battery (engineering estimates, for 12 V; a 24 V one has twice of everything): 12.0 V empty … 12.7 V full at rest,
//! 0.2 V less with the key on, 2.2 V less under the starter, 13.8 V charging. A second of cranking takes 0.4 % of its
//! charge, an hour of running gives it all back. The starter turns in proportion to what is left above 6 V.
//!
//! Pumps are switched at the ticks of the engine's control (every 0.1 s while the key's pumps run or the engine turns);
//! the main relay holds until the engine stands, so that a line is left under pressure; floats are looked at on whole seconds, whatever the key does. Both look, and make a knot only when something moves.
//!
//! Stops being true: no voltage drop by other consumers, no ageing of the battery.

use super::Drive;
use super::control::TICK;
use crate::bay::action::{Key, Micros, SECOND};
use crate::bay::observation::PumpSound;
use crate::plant::Plant;
use crate::plant::component::{Command, Component, ElectricPump, HEATER_BELOW_C, HEATER_W_PER_K};
use crate::units::ZERO_CELSIUS_K;

/// Time in which a relay's contacts make or break: they bounce for a millisecond or two.
const SWITCHING: Micros = SECOND / 500;
/// Time in which the voltage follows the battery's load.
const SAGGING: Micros = SECOND / 10;
/// Change of voltage, V, and of an asked pressure, Pa, below which nothing is moved.
const NOTICED_V: f64 = 0.05;
const NOTICED_PA: f64 = 5000.0;
/// Speed above which the control knows that the engine turns, 1/min.
const TURNING: f64 = 40.0;
/// Duty at which a pressure control starts, 0 … 1.
const FIRST_DUTY: f64 = 0.5;
/// Deviation of a controlled pressure that is stored, Pa, after so many ticks.
const DEVIATION_PA: f64 = 1e5;
const DEVIATION_TICKS: u32 = 30;
/// Current below which a commanded pump counts as not connected, A, after so many ticks.
const NO_CURRENT: f64 = 0.3;
const NO_CURRENT_TICKS: u32 = 8;
/// Share of the asked speed below which the engine counts as short of fuel, after so many ticks.
const SHORT_OF_SPEED: f64 = 0.9;
const SHORT_TICKS: u32 = 20;
/// Time for which a relay's click is heard.
const CLICK: Micros = SECOND;

/// The battery.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::bay) struct Battery {
    /// Twelfths of its nominal voltage: 1 or 2.
    scale: f64,
    /// 0 empty … 1 full.
    charge: f64,
}

/// Charge above which the starter turns as fast as it can.
const GOOD_CHARGE: f64 = 0.75;

/// What the battery has to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Duty {
    Rest,
    KeyOn,
    Cranking,
    Charged,
}

impl Battery {
    fn new(plant: &Plant) -> Self {
        Self { scale: plant.service.battery.si() / 12.0, charge: 1.0 }
    }

    /// Voltage at its posts, V.
    fn volts(&self, duty: Duty) -> f64 {
        let open = 12.0 + 0.7 * self.charge;
        self.scale
            * match duty {
                Duty::Rest => open,
                Duty::KeyOn => open - 0.2,
                Duty::Cranking => open - 2.2,
                Duty::Charged => 13.8,
            }
    }

    /// Share of its proper speed at which it lets the starter turn.
    fn cranks(&self) -> f64 {
        let good = Self { charge: GOOD_CHARGE, ..*self };
        let above = |battery: &Self| battery.volts(Duty::Cranking) / battery.scale - 6.0;
        (above(self) / above(&good)).clamp(0.0, 1.0)
    }

    fn tick(&mut self, duty: Duty) {
        let seconds = TICK as f64 / SECOND as f64;
        let rate = match duty {
            Duty::Cranking => -0.004,
            Duty::Charged => 1.0 / 3600.0,
            Duty::Rest | Duty::KeyOn => 0.0,
        };
        self.charge = (self.charge + rate * seconds).clamp(0.0, 1.0);
    }
}

/// What switches one pump.
#[derive(Clone, Copy, Debug, Default)]
struct Switch {
    on: bool,
    volts: f64,
    asked_pa: f64,
    float_closed: bool,
    bridged: bool,
    no_current: u32,
    low: u32,
    high: u32,
}

/// A stored code with what was so when it was stored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::bay) struct Code {
    /// Generic number.
    pub(in crate::bay) number: &'static str,
    /// Our description.
    pub(in crate::bay) words: &'static str,
    /// Speed of the engine then, 1/min.
    pub(in crate::bay) rpm: f64,
}

/// The electrics of one vehicle.
pub(in crate::bay) struct Electrics {
    battery: Battery,
    switches: Vec<Switch>,
    prime_until: Micros,
    pub(super) clicked: Option<Micros>,
    pub(in crate::bay) codes: Vec<Code>,
    short: u32,
    petrol: bool,
}

impl Electrics {
    pub(super) fn new(plant: &Plant) -> Self {
        Self {
            battery: Battery::new(plant),
            switches: plant.electric_pumps().map(|_| Switch::default()).collect(),
            prime_until: 0,
            clicked: None,
            codes: vec![],
            short: 0,
            petrol: plant.is_petrol(),
        }
    }

    /// A pump is fed now.
    pub(super) fn any_on(&self) -> bool {
        self.switches.iter().any(|s| s.on)
    }

    /// Time begins anew at 0.
    pub(super) fn begin_here(&mut self) {
        self.prime_until = 0;
        self.clicked = None;
    }

    fn store(&mut self, number: &'static str, rpm: f64) {
        if !self.codes.iter().any(|c| c.number == number) {
            let words = crate::instrument::codes::find(number).map_or("", |code| code.about.said());
            self.codes.push(Code { number, words, rpm });
        }
    }
}

impl<const L: usize> Drive<L> {
    fn duty_of_battery(&self, lane: usize) -> Duty {
        let control = &self.lanes[lane].control;
        match (control.is_cranking(), control.running, self.key) {
            (true, ..) => Duty::Cranking,
            (_, true, _) => Duty::Charged,
            (_, _, Key::On) => Duty::KeyOn,
            (_, _, Key::Off) => Duty::Rest,
        }
    }

    /// Voltage at the battery's posts now, V.
    pub(in crate::bay) fn battery_volts(&self, lane: usize) -> f64 {
        self.lanes[lane].electrics.battery.volts(self.duty_of_battery(lane))
    }

    /// Share of its proper speed that the starter reaches.
    pub(super) fn cranks(&self, lane: usize) -> f64 {
        self.lanes[lane].electrics.battery.cranks()
    }

    /// The key was turned: pumps prime, or stop.
    pub(super) fn electrics_at_key(&mut self, lane: usize) {
        if self.lanes[lane].electrics.switches.is_empty() {
            return;
        }
        let prime = self.lanes[lane].hidden.plant().electric_pumps().find_map(|(_, pump)| match &pump.command {
            Command::KeyAndEngine { prime } | Command::Demand { prime, .. } => Some(prime.si()),
            Command::Float { .. } => None,
        });
        let span = (prime.unwrap_or(0.0) * SECOND as f64) as Micros;
        self.lanes[lane].electrics.prime_until = if self.key == Key::On { self.now + span } else { self.now };
        self.watch_electrics(lane);
        if self.lanes[lane].electrics.any_on() {
            self.keep_ticking(lane);
        }
    }

    /// A test lead feeds a pump, or is taken off.
    pub(super) fn bridge(&mut self, lane: usize, part: &str, on: bool) {
        let Some(k) = self.lanes[lane].hidden.plant().electric_pumps().position(|(p, _)| p.name == part) else {
            return;
        };
        self.lanes[lane].electrics.switches[k].bridged = on;
        self.watch_electrics(lane);
        if on {
            self.keep_ticking(lane);
        }
    }

    /// One look of the electrics, at a tick or when something was switched.
    pub(super) fn watch_electrics(&mut self, lane: usize) {
        let n = self.rpm(lane);
        let volts = self.battery_volts(lane);
        let awake = self.key == Key::On;
        let priming = self.now < self.lanes[lane].electrics.prime_until;
        let commands: Vec<Command> =
            self.lanes[lane].hidden.plant().electric_pumps().map(|(_, pump)| pump.command.clone()).collect();
        for (k, command) in commands.iter().enumerate() {
            let switch = self.lanes[lane].electrics.switches[k];
            let by_itself = match command {
                Command::KeyAndEngine { .. } | Command::Demand { .. } => n > TURNING || (awake && priming),
                Command::Float { .. } => switch.float_closed,
            };
            if let Command::Demand { idle, raised, .. } = command {
                self.ask_pressure(lane, k, idle.si(), raised.si());
            }
            self.switch(lane, k, by_itself || switch.bridged, volts);
        }
    }

    /// Charge of the battery and codes; only at ticks, so that it counts them.
    pub(super) fn tick_electrics(&mut self, lane: usize) {
        let duty = self.duty_of_battery(lane);
        self.lanes[lane].electrics.battery.tick(duty);
        self.watch_electrics(lane);
        self.watch_codes(lane);
    }

    fn switch(&mut self, lane: usize, k: usize, on: bool, volts: f64) {
        let motor = &self.net().top.motors[k];
        let (supply, controller) = (motor.i + 2, motor.controller);
        let was = self.lanes[lane].electrics.switches[k];
        let target = if on { volts } else { 0.0 };
        if on == was.on && (target - was.volts).abs() < NOTICED_V {
            return;
        }
        if on
            && !was.on
            && let Some(s) = controller.map(|c| self.net().top.controllers[c].s)
        {
            // the integral part of a control that had nothing to do says nothing
            self.set_state(lane, s, FIRST_DUTY);
        }
        let electrics = &mut self.lanes[lane].electrics;
        electrics.switches[k].on = on;
        electrics.switches[k].volts = target;
        if on != was.on {
            electrics.clicked = Some(self.now);
        }
        self.ramp(lane, supply, target, if on == was.on { SAGGING } else { SWITCHING });
    }

    /// The pressure asked for follows speed and load.
    fn ask_pressure(&mut self, lane: usize, k: usize, idle: f64, raised: f64) {
        let Some(s) = self.net().top.motors[k].controller.map(|c| self.net().top.controllers[c].s) else { return };
        let control = &self.lanes[lane].control;
        let span = (control.raised - control.idle).max(1.0);
        let share = ((self.rpm(lane) - control.idle) / span).max(self.load(lane)).clamp(0.0, 1.0);
        let target = idle + (raised - idle) * share;
        let asked = &mut self.lanes[lane].electrics.switches[k].asked_pa;
        if (target - *asked).abs() > NOTICED_PA {
            *asked = target;
            self.ramp(lane, s + 1, target, SECOND / 5);
        }
    }

    fn watch_codes(&mut self, lane: usize) {
        let n = self.rpm(lane);
        let running = self.lanes[lane].control.running;
        for k in 0..self.lanes[lane].electrics.switches.len() {
            let amps = self.state(lane, self.net().top.motors[k].i).abs();
            let apart = self.own_sensor(lane, k).map_or(0.0, |shown| shown - self.asked_pressure(lane, k));
            let count = |ticks: &mut u32, so: bool| {
                *ticks = if so { *ticks + 1 } else { 0 };
                *ticks
            };
            let electrics = &mut self.lanes[lane].electrics;
            let switch = &mut electrics.switches[k];
            let open = count(&mut switch.no_current, switch.on && amps < NO_CURRENT) == NO_CURRENT_TICKS;
            let low = count(&mut switch.low, running && switch.on && apart < -DEVIATION_PA) == DEVIATION_TICKS;
            let high = count(&mut switch.high, running && switch.on && apart > DEVIATION_PA) == DEVIATION_TICKS;
            for (so, number) in [(open, "P0230"), (low, "P0087"), (high, "P0088")] {
                if so {
                    electrics.store(number, n);
                }
            }
        }
        let short = running && n < SHORT_OF_SPEED * self.lanes[lane].control.asked;
        let electrics = &mut self.lanes[lane].electrics;
        electrics.short = if short { electrics.short + 1 } else { 0 };
        if electrics.short == SHORT_TICKS {
            electrics.store(if electrics.petrol { "P0171" } else { "P0087" }, n);
        }
    }

    /// Whether a float wants looking at.
    pub(super) fn has_float(&self) -> bool {
        let float = |pump: &ElectricPump| matches!(pump.command, Command::Float { .. });
        self.lanes.iter().any(|lane| lane.hidden.plant().electric_pumps().any(|(_, pump)| float(pump)))
    }

    /// The floats are looked at.
    pub(super) fn look_at_floats(&mut self, lane: usize) {
        let floats: Vec<(usize, bool)> = self.lanes[lane]
            .hidden
            .plant()
            .electric_pumps()
            .enumerate()
            .filter_map(|(k, (_, pump))| match &pump.command {
                Command::Float { tank, low, high, stuck } => {
                    let full = self.filled(lane, tank)?;
                    let was = self.lanes[lane].electrics.switches[k].float_closed;
                    Some((k, !stuck && (full < *low || (was && full < *high))))
                }
                _ => None,
            })
            .collect();
        if floats.is_empty() {
            return;
        }
        for (k, closed) in floats {
            self.lanes[lane].electrics.switches[k].float_closed = closed;
        }
        self.watch_electrics(lane);
    }

    /// How full the tank with this outlet is, 0 … 1.
    pub(super) fn filled(&self, lane: usize, outlet: &str) -> Option<f64> {
        let plant = self.lanes[lane].hidden.plant();
        let part = plant.parts.iter().find(|p| matches!(&p.is, Component::Tank(t) if t.outlet == outlet))?;
        let r = self.net().top.reservoirs.iter().find(|r| r.name == part.name)?;
        Some(self.state(lane, r.v) / self.net().at(r.capacity).0[lane])
    }

    // ---- what can be read -----------------------------------------------------------------------

    /// Index of an electric pump.
    pub(in crate::bay) fn pump_index(&self, part: &str) -> Option<usize> {
        self.net().top.motors.iter().position(|m| m.name == part)
    }

    /// Names of the pumps that a test lead feeds.
    pub(in crate::bay) fn bridged(&self, lane: usize) -> impl Iterator<Item = &str> {
        let switches = self.lanes[lane].electrics.switches.iter();
        switches.zip(&self.net().top.motors).filter(|(s, _)| s.bridged).map(|(_, m)| m.name.as_str())
    }

    /// A test lead feeds a pump.
    pub(in crate::bay) fn is_bridged(&self, lane: usize, k: usize) -> bool {
        self.lanes[lane].electrics.switches.get(k).is_some_and(|s| s.bridged)
    }

    /// Number of electric pumps.
    pub(in crate::bay) fn pumps(&self) -> usize {
        self.net().top.motors.len()
    }

    /// An electric pump is fed now.
    pub(in crate::bay) fn pump_is_fed(&self, lane: usize, k: usize) -> bool {
        self.lanes[lane].electrics.switches.get(k).is_some_and(|s| s.on)
    }

    /// Any electric pump turns now.
    pub(in crate::bay) fn pump_turns(&self, lane: usize) -> bool {
        self.net().top.motors.iter().any(|m| self.state(lane, m.i + 1) > 20.0)
    }

    /// Mean current of a pump, A.
    pub(super) fn amps(&self, lane: usize, k: usize) -> f64 {
        let motor = &self.net().top.motors[k];
        // a clamp round the lead before the control's chopper sees the duty's share
        self.state(lane, motor.i) * self.effort(lane, k).unwrap_or(1.0)
    }

    /// Current in the lead of a part, A: that of an electric pump or of a filter's heater; none where no lead is.
    pub(super) fn lead_amps(&self, lane: usize, part: &str) -> Option<f64> {
        match self.pump_index(part) {
            Some(k) => Some(self.amps(lane, k)),
            None => self.heater_amps(lane, part),
        }
    }

    /// Current of a filter's heater; none where the sound vehicle has no heater.
    fn heater_amps(&self, lane: usize, part: &str) -> Option<f64> {
        let hidden = &self.lanes[lane].hidden;
        let heater = |plant: &Plant| match plant.part(part).map(|p| &p.is) {
            Some(Component::Filter(filter)) => filter.heater.si(),
            _ => 0.0,
        };
        if heater(hidden.sound()) <= 0.0 {
            return None;
        }
        let cold = self.temperature(lane, self.vessel_of(part)?) < HEATER_BELOW_C + ZERO_CELSIUS_K;
        let fed = cold && self.key == Key::On;
        Some(if fed { HEATER_W_PER_K * heater(hidden.plant()) / self.battery_volts(lane) } else { 0.0 })
    }

    /// Voltage between two named points of the circuits, V.
    pub(super) fn volts_between(&self, lane: usize, from: &str, to: &str) -> Option<f64> {
        let battery = self.battery_volts(lane);
        let plant = self.lanes[lane].hidden.plant();
        if let (Some(a), Some(b)) = (post(from, battery), post(to, battery)) {
            return Some(a - b);
        }
        plant.electric_pumps().enumerate().find_map(|(k, (_, pump))| {
            let motor = &self.net().top.motors[k];
            let supply = self.state(lane, motor.i + 2);
            let points = pump.potentials(supply, self.state(lane, motor.i));
            let at = |name: &str| {
                let found = points.iter().find(|(n, _)| n == name).map(|(_, v)| *v);
                post(name, battery).or(found)
            };
            Some(at(from)? - at(to)?)
        })
    }

    /// Names of the points at which leads can be held.
    pub(in crate::bay) fn points(&self, lane: usize) -> Vec<String> {
        let mut names: Vec<String> = vec!["battery +".into(), "battery −".into()];
        for (_, pump) in self.lanes[lane].hidden.plant().electric_pumps() {
            names.extend(pump.feed.iter().chain(&pump.earth).map(|j| j.name.clone()));
        }
        names.dedup();
        names
    }

    /// Pressure that the control of a pump asks for, Pa gauge.
    pub(in crate::bay) fn asked_pressure(&self, lane: usize, k: usize) -> f64 {
        self.lanes[lane].electrics.switches[k].asked_pa
    }

    /// Pressure that the sensor of a pump's control reports, Pa gauge.
    pub(in crate::bay) fn own_sensor(&self, lane: usize, k: usize) -> Option<f64> {
        let net = self.net();
        let c = &net.top.controllers[net.top.motors.get(k)?.controller?];
        Some(net.gauge(c.vessel, &self.states()).0[lane] + net.at(c.bias).0[lane])
    }

    /// How hard that control works, 0 … 1.
    pub(in crate::bay) fn effort(&self, lane: usize, k: usize) -> Option<f64> {
        let net = self.net();
        let c = &net.top.controllers[net.top.motors.get(k)?.controller?];
        let short = self.state(lane, c.s + 1) - self.own_sensor(lane, k)?;
        let u = net.at(c.gain).0[lane] * short + self.state(lane, c.s);
        // the same curve as the control's own: ½[1 + tanh(2u − 1)]
        Some(0.5 * (1.0 + crate::ops::tanh(2.0 * u - 1.0)))
    }

    /// How a pump sounds now.
    pub(in crate::bay) fn pump_sound(&self, lane: usize, k: usize) -> PumpSound {
        let net = self.net();
        let motor = &net.top.motors[k];
        let [amps, omega, supply] = [0, 1, 2].map(|i| self.state(lane, motor.i + i));
        if omega < 20.0 {
            return if amps > 1.0 { PumpSound::Stuck } else { PumpSound::Silent };
        }
        let gas = self.gas_at_inlet(lane, k);
        let against = net.at(motor.constant).0[lane] * omega / supply.max(1.0);
        match gas {
            g if g > 0.3 => PumpSound::Whining,
            g if g > 0.02 => PumpSound::Ragged,
            _ if against < 0.3 => PumpSound::Labouring,
            _ => PumpSound::Even,
        }
    }

    /// A relay was heard a moment ago.
    pub(in crate::bay) fn clicked(&self, lane: usize) -> bool {
        self.lanes[lane].electrics.clicked.is_some_and(|t| self.now - t < CLICK)
    }

    /// Codes stored.
    pub(in crate::bay) fn codes(&self, lane: usize) -> &[Code] {
        &self.lanes[lane].electrics.codes
    }
}

/// Voltage of a post of the battery against its minus.
fn post(name: &str, volts: f64) -> Option<f64> {
    match name {
        "battery +" => Some(volts),
        "battery −" | "battery -" => Some(0.0),
        _ => None,
    }
}
