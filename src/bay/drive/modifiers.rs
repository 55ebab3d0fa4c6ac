//! How much of every fault is there at the moment: conditions are looked at on whole seconds, and a vehicle is built
//! anew when a severity has moved by a tenth.
//!
//! Without modified faults nothing is looked at and nothing is built.

use super::Drive;
use crate::bay::action::{Micros, SECOND};
use crate::fault::{Conditions, effective};
use crate::units::ZERO_CELSIUS_K;

/// Time between two looks.
const MARK: Micros = SECOND;
/// Time between two stored temperatures.
const KEPT_EVERY: Micros = 10 * SECOND;
/// Change of a severity that is worth building a vehicle anew.
const MOVED: f64 = 0.1;
/// Shaking by the engine alone at the raised speed; load and hands add the rest.
const BY_SPEED: f64 = 0.6;

/// What one vehicle remembers for its modified faults.
#[derive(Default)]
pub(super) struct Memory {
    /// Temperatures of the zones, K, with their times, rising.
    past: Vec<(Micros, Vec<f64>)>,
    /// Time that the engine has run.
    ran: Micros,
}

impl Memory {
    /// Time begins anew at 0.
    pub(super) fn begin_here(&mut self) {
        self.past.clear();
    }
}

impl<const L: usize> Drive<L> {
    // ---- whole seconds --------------------------------------------------------------------------

    /// The next whole second, while somebody looks on whole seconds.
    pub(super) fn next_mark(&self) -> Option<Micros> {
        self.next_mark
    }

    fn wants_marks(&self) -> bool {
        self.return_in_jar || self.has_float() || self.is_modified()
    }

    /// Begins to look on whole seconds, where somebody wants to.
    pub(super) fn keep_marks(&mut self) {
        if self.next_mark.is_none() && self.wants_marks() {
            self.last_mark = self.now;
            self.next_mark = Some((self.now / MARK + 1) * MARK);
        }
    }

    /// Looks, when it is time.
    pub(super) fn mark_if_due(&mut self) {
        if self.next_mark.is_none_or(|at| at > self.now) {
            return;
        }
        let since = self.last_mark;
        for lane in 0..L {
            self.look_at_floats(lane);
            self.fill_return_jar(lane, since);
        }
        self.look_at_modifiers();
        self.last_mark = self.now;
        self.next_mark = self.wants_marks().then_some((self.now / MARK + 1) * MARK);
    }

    // ---- modified faults ------------------------------------------------------------------------

    fn is_modified(&self) -> bool {
        self.lanes.iter().any(|lane| lane.hidden.is_modified())
    }

    /// A tick of a running engine passed.
    pub(super) fn count_running(&mut self, lane: usize, span: Micros) {
        self.lanes[lane].memory.ran += span;
    }

    /// Takes every fault's share anew and builds the vehicles anew where one has moved.
    pub(super) fn look_at_modifiers(&mut self) {
        if !self.is_modified() {
            return;
        }
        let mut moved = false;
        for lane in 0..L {
            self.keep_temperatures(lane);
            let severities = self.severities_now(lane);
            let before = self.lanes[lane].hidden.severities();
            let far = |(a, b): (&f64, &f64)| (a - b).abs() >= MOVED || (*a == 0.0) != (*b == 0.0);
            if severities.iter().zip(before).any(far) {
                self.lanes[lane].hidden.set_severities(severities);
                moved = true;
            }
        }
        if moved {
            // the reasons for which a vehicle can't be built don't depend on a severity
            let _ = self.rebuild(None);
        }
    }

    fn keep_temperatures(&mut self, lane: usize) {
        let due = self.lanes[lane].memory.past.last().is_none_or(|(at, _)| self.now - at >= KEPT_EVERY);
        if due {
            let zones = self.net().top.zones.iter().map(|z| self.state(lane, z.t)).collect();
            let now = self.now;
            self.lanes[lane].memory.past.push((now, zones));
        }
    }

    fn severities_now(&self, lane: usize) -> Vec<f64> {
        let Self { now, .. } = *self;
        let vehicle = &self.lanes[lane];
        let control = &vehicle.control;
        let speed = (self.rpm(lane) / control.raised.max(1.0)).clamp(0.0, 1.0);
        let shaken = (BY_SPEED * speed + (1.0 - BY_SPEED) * self.load(lane) * speed).clamp(0.0, 1.0);
        let outlet = vehicle.hidden.plant().tank().map(|t| t.outlet.clone());
        let fuel_share = outlet.and_then(|o| self.filled(lane, &o)).unwrap_or(0.5);
        let standing = control.last_turned.map_or(self.stood + now, |t| now - t);
        let stopped_s = (!control.running).then_some(standing as f64 * 1e-6);
        vehicle
            .hidden
            .present()
            .iter()
            .map(|fault| {
                if fault.modifiers.is_empty() {
                    return fault.severity;
                }
                // a joint of a circuit sits at its pump
                let part = fault.at.split('/').next().unwrap_or_default();
                let zone = self.vessel_of(part).map_or(0, |v| self.net().top.vessels[v].zone);
                let temperature_c = |ago: f64| self.temperature_ago(lane, zone, ago) - ZERO_CELSIUS_K;
                let by_hand = self.wiggled.as_deref().is_some_and(|place| self.is_about(place, part));
                let conditions = Conditions {
                    temperature_c: &temperature_c,
                    fuel_share,
                    attitude_deg: self.slope,
                    running_h: vehicle.memory.ran as f64 / (3600.0 * SECOND as f64),
                    stopped_s,
                    vibration: if by_hand { 1.0 } else { shaken },
                    flex: if by_hand { 1.0 } else { 0.0 },
                };
                effective(fault.severity, &fault.modifiers, &conditions, vehicle.seed, now)
            })
            .collect()
    }

    /// Temperature of a zone so many seconds ago; as it was first, before anything was stored.
    fn temperature_ago(&self, lane: usize, zone: usize, ago: f64) -> f64 {
        let then = self.now.saturating_sub((ago * SECOND as f64) as Micros);
        if then == self.now {
            return self.net().top.zones.get(zone).map_or(ZERO_CELSIUS_K, |z| self.state(lane, z.t));
        }
        let past = &self.lanes[lane].memory.past;
        let i = past.partition_point(|(at, _)| *at <= then).saturating_sub(1);
        past.get(i).and_then(|(_, zones)| zones.get(zone)).copied().unwrap_or(ZERO_CELSIUS_K)
    }

    /// A hand at one place moves what sits at the other: the same, or a part that ends there.
    fn is_about(&self, place: &str, at: &str) -> bool {
        let plant = self.lanes[0].hidden.plant();
        let ends = |name: &str, end: &str| plant.part(name).is_some_and(|p| p.is.ends().contains(&end));
        at.is_empty() || place == at || ends(place, at) || ends(at, place)
    }
}
