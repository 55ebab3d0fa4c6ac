//! The vehicle's own low-pressure sensor, as its control unit and a reader of live data see it.
//!
//! A slow, coarse gauge: G = 1, a bias that may have crept in, a lag of some tenths of a second, steps of
//! a few kilopascal. It can also stand still. Right answer to a suspicious value: an independent gauge
//! at the same place, the command and the current beside it.

use super::display::{Doubt, Shown, stepped};
use super::lag::Lag;
use crate::random::{Purpose, child_seed, normal};
use crate::units::{GaugePressure, PressureDifference, Span};

/// How a sensor of a kind is built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Build {
    /// Lower end of its range.
    pub low: GaugePressure,
    /// Upper end of its range.
    pub high: GaugePressure,
    /// Step of the value sent.
    pub step: PressureDifference,
    /// Time constant.
    pub lag: Span,
    /// Standard deviation of the bias that a sound one has.
    pub spread: PressureDifference,
}

impl Build {
    /// For a fed low-pressure line: 0 … 10 bar in steps of 40 mbar, 0.15 s.
    pub const FEED: Self = Self {
        low: GaugePressure::from_si(0.0),
        high: GaugePressure::from_si(10e5),
        step: PressureDifference::from_si(4e3),
        lag: Span::from_si(0.15),
        spread: PressureDifference::from_si(4e3),
    };
}

/// Standard deviation of what it sends, in steps.
const NOISE: f64 = 0.25;

/// One sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct VehicleSensor {
    seed: u64,
    build: Build,
    bias_pa: f64,
    lag: Lag,
    /// The value at which it stands still, whatever the pressure.
    pub stuck: Option<GaugePressure>,
}

impl VehicleSensor {
    /// The sensor of a seed. Its bias, a sound one's ([`Build::spread`]) or a fault's, belongs to the vehicle: the
    /// control holds its pressure by what the sensor shows.
    pub fn new(seed: u64, build: Build, bias: PressureDifference) -> Self {
        let seed = child_seed(seed, "vehicle's pressure sensor", 0);
        Self { seed, build, bias_pa: bias.si(), lag: Lag::new(), stuck: None }
    }

    /// What it tells, Pa gauge, at a time, µs; `sample` counts the samples.
    pub fn read(&mut self, at: u64, line: GaugePressure, sample: u64) -> Shown {
        let lagged = self.lag.follow(at, line.si(), self.build.lag.si());
        let noise = NOISE * self.build.step.si() * normal(self.seed, Purpose::ReadingNoise, sample);
        let value = self.stuck.map_or(lagged + self.bias_pa + noise, GaugePressure::si);
        Shown::within(stepped(value, self.build.step.si()), self.build.low.si(), self.build.high.si())
    }

    /// How far what it tells may be off from what it feels, bias included, Pa.
    pub const fn doubt(build: Build) -> Doubt {
        Doubt { random: NOISE * build.step.si(), bias: 0.0, step: build.step.si() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(value: f64) -> GaugePressure {
        GaugePressure::from_si(value * 1e5)
    }

    #[test]
    fn a_bias_is_the_same_in_every_state() {
        let fault = PressureDifference::from_si(-0.6e5);
        let mut sound = VehicleSensor::new(3, Build::FEED, PressureDifference::from_si(0.0));
        let mut biased = VehicleSensor::new(3, Build::FEED, fault);
        for (i, p) in [1.0, 4.0, 6.0].into_iter().enumerate() {
            let (at, n) = (i as u64 * 5_000_000, i as u64);
            let difference = biased.read(at, bar(p), n).value - sound.read(at, bar(p), n).value;
            assert!((difference - fault.si()).abs() <= Build::FEED.step.si());
        }
    }

    #[test]
    fn it_lags_and_tells_whole_steps() {
        let mut sensor = VehicleSensor::new(3, Build::FEED, PressureDifference::from_si(0.0));
        sensor.read(0, bar(0.0), 0);
        let soon = sensor.read(150_000, bar(5.0), 1).value;
        assert!((soon / 5e5 - 0.632).abs() < 0.04, "{soon}");
        assert_eq!(soon % Build::FEED.step.si(), 0.0);
        assert_eq!(sensor.read(9_000_000, bar(14.0), 2), Shown { value: 10e5, over_range: true });
    }

    #[test]
    fn stuck_it_tells_one_value() {
        let mut sensor = VehicleSensor::new(3, Build::FEED, PressureDifference::from_si(0.0));
        sensor.stuck = Some(bar(4.2));
        assert_eq!(sensor.read(0, bar(0.0), 0).value, sensor.read(9_000_000, bar(6.0), 1).value);
    }
}
