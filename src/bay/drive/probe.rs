//! What a meter, a stick or a jar shows of one vehicle at one moment.
//!
//! A meter shows steps of its own (0.01 V, 0.1 A, 5 mL, 0.5 K, 1 mm, 1 mbar; training values) where somebody watches;
//! reference vehicles give the number as it is. Meters are taken as true within a step.

use super::{Drive, Fidelity};
use crate::bay::action::{Probe, Quantity};
use crate::instrument::display::stepped;
use crate::units::{PA_PER_MBAR, ZERO_CELSIUS_K};

/// Smallest step of what is shown.
pub const fn step(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Voltage => 0.01,
        Quantity::Current => 0.1,
        Quantity::Volume => 5.0,
        Quantity::Temperature => 0.5,
        Quantity::Level | Quantity::Pressure | Quantity::Duty => 1.0,
        Quantity::Speed => 10.0,
    }
}

impl<const L: usize> Drive<L> {
    /// Reads and keeps the number.
    pub(super) fn probe(&mut self, lane: usize, probe: &Probe) {
        let exact = self.read(lane, probe);
        let step = step(probe.quantity());
        let shown = match self.fidelity {
            Fidelity::Watched => exact.map(|v| stepped(v, step)),
            Fidelity::Reference => exact,
        };
        self.lanes[lane].numbers.push(shown);
    }

    /// The number that belongs to a probe now; none where there is nothing to read.
    pub(in crate::bay) fn read(&self, lane: usize, probe: &Probe) -> Option<f64> {
        match probe {
            Probe::Volts { from, to } => self.volts_between(lane, from, to),
            Probe::Clamp { part } => Some(self.amps(lane, self.pump_index(part)?)),
            Probe::Second => Some(self.gauge_at(lane, self.second.as_deref()?)? / PA_PER_MBAR),
            Probe::Thermometer { place } => Some(self.temperature(lane, self.vessel_of(place)?) - ZERO_CELSIUS_K),
            Probe::Jar => Some(self.in_jar(lane)),
            Probe::Dip => self.dip(lane),
            Probe::OwnSensor => {
                let k = (0..self.net().top.motors.len()).find(|&k| self.own_sensor(lane, k).is_some())?;
                Some(self.own_sensor(lane, k)? / PA_PER_MBAR)
            }
            Probe::Effort => {
                let k = (0..self.net().top.motors.len()).find(|&k| self.effort(lane, k).is_some())?;
                Some(100.0 * self.effort(lane, k)?)
            }
            Probe::Battery => Some(self.battery_volts(lane)),
            Probe::Revs => Some(self.rpm(lane)),
        }
    }

    /// Height of fuel in the first tank, mm.
    fn dip(&self, lane: usize) -> Option<f64> {
        let r = self.net().top.reservoirs.first()?;
        Some(1000.0 * self.state(lane, r.v) / self.net().at(r.area).0[lane])
    }

    /// The numbers read off a vehicle so far, one for each reading; none where there was nothing to read.
    pub(crate) fn numbers(&self, lane: usize) -> &[Option<f64>] {
        &self.lanes[lane].numbers
    }
}
