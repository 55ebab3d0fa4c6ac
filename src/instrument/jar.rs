//! The measuring jar and the stopwatch: delivery in a measured time.
//!
//! The volume is read to half a graduation with the eye some tenths of one too high or low; the watch is
//! started and stopped by hand. Froth stands on the fuel and is read with it when one doesn't wait. More
//! than the jar holds runs over: then the reading is no measurement, and a spill.

use super::display::{Doubt, Shown, stepped};
use crate::random::{Purpose, child_seed, normal_within};
use crate::units::{Span, Volume, VolumeFlow};

/// Standard deviation of starting and stopping the watch by hand, s.
const WATCH_S: f64 = 0.15;
/// Standard deviation of the eye's height, in graduations.
const EYE: f64 = 0.25;

/// A measuring jar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jar {
    /// What it holds.
    pub holds: Volume,
    /// From one line to the next.
    pub graduation: Volume,
}

impl Jar {
    /// One litre in steps of 10 mL.
    pub const LITRE: Self = Self { holds: Volume::from_si(1e-3), graduation: Volume::from_si(1e-5) };
    /// Two litres in steps of 20 mL.
    pub const TWO_LITRES: Self = Self { holds: Volume::from_si(2e-3), graduation: Volume::from_si(2e-5) };

    /// Reads, mL, what came in a time that the watch was to measure, s: early or late by the hand, read by the eye. More
    /// than it holds runs over. `reading` counts the readings.
    pub fn after(self, seed: u64, ml: f64, watched_s: f64, reading: u64) -> Shown {
        let seed = child_seed(seed, "measuring jar", 0);
        let eye = EYE * self.graduation.si() * normal_within(seed, Purpose::ReadingNoise, 2 * reading, 2.5);
        let late = WATCH_S * normal_within(seed, Purpose::ReadingNoise, 2 * reading + 1, 2.5);
        let stands = ml.max(0.0) * (1.0 + late / watched_s.max(1.0));
        let read = stepped(stands + 1e6 * eye, 0.5e6 * self.graduation.si());
        Shown::within(read, 0.0, 1e6 * self.holds.si())
    }

    /// How far that may be off, mL.
    pub fn doubt(self, ml: f64, watched_s: f64) -> Doubt {
        let (eye, late) = (1e6 * EYE * self.graduation.si(), ml * WATCH_S / watched_s.max(1.0));
        Doubt { random: (eye * eye + late * late).sqrt(), bias: 0.0, step: 0.5e6 * self.graduation.si() }
    }

    /// Reads what was delivered. `delivered`: fuel that came, without gas; `froth`: share of gas that still
    /// stands in it as froth, 0 … 0.9; `took`: how long it ran; `reading` counts the readings.
    pub fn read(self, seed: u64, delivered: Volume, froth: f64, took: Span, reading: u64) -> JarReading {
        let seed = child_seed(seed, "measuring jar", 0);
        let stands = delivered.si().max(0.0) / (1.0 - froth.clamp(0.0, 0.9));
        let eye = EYE * self.graduation.si() * normal_within(seed, Purpose::ReadingNoise, 2 * reading, 2.5);
        let read = stepped(stands + eye, 0.5 * self.graduation.si()).clamp(0.0, self.holds.si());
        let watch = WATCH_S * normal_within(seed, Purpose::ReadingNoise, 2 * reading + 1, 2.5);
        JarReading {
            volume: Volume::from_si(if stands > self.holds.si() { self.holds.si() } else { read }),
            took: Span::from_si(stepped(took.si() + watch, 0.1).max(0.0)),
            spilt: Volume::from_si((stands - self.holds.si()).max(0.0)),
        }
    }
}

/// What jar and watch say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JarReading {
    /// Volume read.
    pub volume: Volume,
    /// Time read.
    pub took: Span,
    /// What ran over; the reading is worth nothing when anything did.
    pub spilt: Volume,
}

impl JarReading {
    /// Delivery; none when the jar ran over or no time passed.
    pub fn flow(self) -> Option<VolumeFlow> {
        (self.spilt.si() == 0.0 && self.took.si() > 0.0)
            .then(|| VolumeFlow::from_si(self.volume.si() / self.took.si()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ml(value: f64) -> Volume {
        Volume::from_si(value * 1e-6)
    }

    proptest! {
        #[test]
        fn thirty_seconds_give_the_flow_to_three_per_cent(seed: u64, flow in 10.0..30.0_f64, n in 0..1000_u64) {
            let read = Jar::LITRE.read(seed, ml(flow * 30.0), 0.0, Span::from_si(30.0), n);
            let found = read.flow().unwrap().si() * 1e6;
            prop_assert!((found / flow - 1.0).abs() < 0.05, "{found} for {flow}");
            let halves = read.volume.si() / (0.5 * Jar::LITRE.graduation.si());
            prop_assert!((halves - halves.round()).abs() < 1e-6);
        }
    }

    #[test]
    fn the_errors_have_the_stated_spread() {
        let n = 2000_u32;
        let errors: Vec<f64> = (0..u64::from(n))
            .map(|i| Jar::LITRE.read(5, ml(500.0), 0.0, Span::from_si(30.0), i).took.si() - 30.0)
            .collect();
        let mean = errors.iter().sum::<f64>() / f64::from(n);
        let variance = errors.iter().map(|e| e * e).sum::<f64>() / f64::from(n);
        assert!(mean.abs() < 0.015, "{mean}");
        // folding beyond 2.5 σ takes a little off
        assert!((variance.sqrt() / WATCH_S - 1.0).abs() < 0.1, "{}", variance.sqrt());
    }

    #[test]
    fn the_stated_doubt_is_the_spread_over_many_readings() {
        for (jar, ml, secs) in [(Jar::LITRE, 600.0, 30.0), (Jar::TWO_LITRES, 1800.0, 15.0)] {
            let n = 2000_u32;
            let square: f64 =
                (0..u64::from(n)).map(|i| jar.after(4, ml, secs, i).value - ml).map(|e| e * e / f64::from(n)).sum();
            let doubt = jar.doubt(ml, secs);
            let stated = (doubt.combined() * doubt.combined() + doubt.step * doubt.step / 12.0).sqrt();
            assert!((square.sqrt() / stated - 1.0).abs() < 0.1, "{} for {stated}", square.sqrt());
        }
        assert!(Jar::LITRE.after(4, 1200.0, 30.0, 0).over_range);
    }

    #[test]
    fn more_than_it_holds_is_a_spill_and_no_measurement() {
        let read = Jar::LITRE.read(1, ml(1200.0), 0.0, Span::from_si(30.0), 0);
        assert_eq!(read.volume, Jar::LITRE.holds);
        assert!((read.spilt.si() * 1e6 - 200.0).abs() < 1e-6);
        assert_eq!(read.flow(), None);
        assert!(Jar::LITRE.read(1, ml(100.0), 0.0, Span::from_si(0.0), 0).took.si() < 1.0);
    }

    #[test]
    fn froth_flatters() {
        let flat = Jar::TWO_LITRES.read(1, ml(800.0), 0.0, Span::from_si(30.0), 0).volume.si();
        let froth = Jar::TWO_LITRES.read(1, ml(800.0), 0.2, Span::from_si(30.0), 0).volume.si();
        assert!((froth / flat - 1.25).abs() < 0.03);
    }
}
