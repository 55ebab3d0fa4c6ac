//! The thermometer: a probe with a lag, shown in tenths of a degree.
//!
//! Dipped in fuel it takes some seconds, in air a minute; laid on a pipe it shows something between the
//! pipe and the air around, for good. Offset within ±1 K. Read too soon, it shows where it has been.
//!
//! Estimates for a sheathed probe of 3 mm.

use super::display::{Doubt, Shown, stepped};
use super::lag::Lag;
use crate::random::{Purpose, child_seed, normal, normal_within};
use crate::units::Temperature;

/// Smallest step, K.
pub const STEP_K: f64 = 0.1;

/// Where the probe is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Probe {
    /// Dipped in fuel.
    InFuel,
    /// Laid on a pipe or a filter and held there.
    OnPipe,
    /// In the air.
    InAir,
}

impl Probe {
    /// Time constant, s.
    const fn lag_s(self) -> f64 {
        match self {
            Self::InFuel => 6.0,
            Self::OnPipe => 25.0,
            Self::InAir => 60.0,
        }
    }

    /// Share of the thing's own temperature against that of the air, for good.
    const fn share(self) -> f64 {
        match self {
            Self::InFuel => 1.0,
            Self::OnPipe => 0.85,
            Self::InAir => 0.0,
        }
    }
}

/// Standard deviation of the offset, K.
const OFFSET_K: f64 = 0.4;
/// Standard deviation of a reading's noise, K.
const NOISE_K: f64 = 0.03;
/// Ends of the range, °C.
const LOW_C: f64 = -50.0;
const HIGH_C: f64 = 150.0;

/// What a probe settles at, °C, held to a thing of one temperature in air of another.
pub fn felt(probe: Probe, thing: Temperature, air: Temperature) -> f64 {
    let share = probe.share();
    share * thing.celsius() + (1.0 - share) * air.celsius()
}

/// One thermometer.
#[derive(Clone, Debug, PartialEq)]
pub struct Thermometer {
    seed: u64,
    offset: f64,
    lag: Lag,
}

impl Thermometer {
    /// The thermometer of a seed, which has lain at a temperature until a time, µs.
    pub fn new(seed: u64, lain_at: Temperature, until: u64) -> Self {
        let seed = child_seed(seed, "thermometer", 0);
        Self {
            seed,
            offset: OFFSET_K * normal_within(seed, Purpose::Instrument, 0, 2.5),
            lag: Lag::at_rest(lain_at.celsius(), until),
        }
    }

    /// What it shows, °C, with the probe at a thing of one temperature in air of another; range −50 …
    /// 150 °C. `sample` counts the samples.
    pub fn read(&mut self, at: u64, probe: Probe, thing: Temperature, air: Temperature, sample: u64) -> Shown {
        let lagged = self.lag.follow(at, felt(probe, thing, air), probe.lag_s());
        let noise = NOISE_K * normal(self.seed, Purpose::ReadingNoise, sample);
        Shown::within(stepped(lagged + self.offset + noise, STEP_K), LOW_C, HIGH_C)
    }

    /// How far a reading may be off from what the probe settles at, K.
    pub const fn doubt() -> Doubt {
        Doubt { random: NOISE_K, bias: OFFSET_K, step: STEP_K }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(secs: u64, probe: Probe) -> f64 {
        let (thing, air) = (Temperature::from_celsius(60.0), Temperature::from_celsius(20.0));
        let mut probe_held = Thermometer::new(7, air, 0);
        probe_held.read(secs * 1_000_000, probe, thing, air, 0).value
    }

    #[test]
    fn it_takes_its_time() {
        let step = after(6, Probe::InFuel) - after(0, Probe::InFuel);
        assert!((step / 40.0 - 0.632).abs() < 0.01, "{step}");
        assert!((after(60, Probe::InFuel) - 60.0).abs() < 1.2);
    }

    #[test]
    fn on_a_pipe_it_reads_too_cold_for_good() {
        let shown = after(600, Probe::OnPipe);
        assert!((shown - 54.0).abs() < 1.2, "{shown}");
        assert!((after(600, Probe::InAir) - 20.0).abs() < 1.2);
    }

    #[test]
    fn it_shows_tenths() {
        for i in 0..20 {
            let tenths = after(i, Probe::InFuel) / STEP_K;
            assert!((tenths - tenths.round()).abs() < 1e-6);
        }
    }
}
