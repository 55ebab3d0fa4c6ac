//! The voltmeter: volts of the red lead against the black one.
//!
//! Shown value = q·round[(G·(u_red − u_black) + σN)/q], G within ±0.5 %, 0.5 s mean so that a motor's ripple
//! doesn't show. A lead that touches nothing picks up some stray millivolt, which is not zero volts.
//!
//! What can be done wrong: voltage drop measured with nothing switched on (no current, no drop, a bad
//! joint looks sound); the leads swapped (the sign); the 60 V range for a drop of tenths.

use super::display::{Doubt, Shown, stepped};
use crate::random::{Purpose, child_seed, normal, normal_within};

/// A range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VoltRange {
    /// ±2 V in millivolts: for drops.
    Two,
    /// ±20 V in hundredths.
    Twenty,
    /// ±60 V in tenths: for 24 V vehicles.
    Sixty,
}

impl VoltRange {
    /// Every range, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::Two, Self::Twenty, Self::Sixty];

    /// The smallest range that a voltage stays well inside of: what the meter chooses by itself.
    pub fn fitting(volts: f64) -> Self {
        Self::ALL.into_iter().find(|range| volts.abs() < 0.98 * range.most()).unwrap_or(Self::Sixty)
    }

    /// Largest reading, V.
    pub const fn most(self) -> f64 {
        match self {
            Self::Two => 2.0,
            Self::Twenty => 20.0,
            Self::Sixty => 60.0,
        }
    }

    /// Smallest step, V.
    pub const fn step(self) -> f64 {
        match self {
            Self::Two => 0.001,
            Self::Twenty => 0.01,
            Self::Sixty => 0.1,
        }
    }
}

/// Standard deviation of the gain.
const GAIN: f64 = 0.002_5;
/// Standard deviation of a reading's noise, in steps.
const NOISE: f64 = 0.5;
/// Spread of what an open lead picks up, V.
const STRAY_V: f64 = 0.03;

/// One voltmeter.
#[derive(Clone, Debug, PartialEq)]
pub struct Voltmeter {
    seed: u64,
    gain: f64,
    /// The range that is switched on.
    pub range: VoltRange,
}

impl Voltmeter {
    /// The voltmeter of a seed.
    pub fn new(seed: u64, range: VoltRange) -> Self {
        let seed = child_seed(seed, "voltmeter", 0);
        Self { seed, gain: 1.0 + GAIN * normal_within(seed, Purpose::Instrument, 0, 2.0), range }
    }

    /// What it shows, V, for the potentials at its two leads, V against the battery's earth; none for a
    /// lead that touches nothing. `sample` counts the samples.
    pub fn read(&self, red: Option<f64>, black: Option<f64>, sample: u64) -> Shown {
        let noise = normal(self.seed, Purpose::ReadingNoise, sample);
        let volts = match (red, black) {
            (Some(red), Some(black)) => self.gain * (red - black) + NOISE * self.range.step() * noise,
            _ => STRAY_V * noise,
        };
        Shown::within(stepped(volts, self.range.step()), -self.range.most(), self.range.most())
    }

    /// How far a reading of a voltage may be off, V.
    pub fn doubt(&self, volts: f64) -> Doubt {
        Doubt { random: NOISE * self.range.step(), bias: GAIN * volts.abs(), step: self.range.step() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn swapped_leads_swap_the_sign_and_an_open_lead_shows_next_to_nothing() {
        let meter = Voltmeter::new(1, VoltRange::Twenty);
        let (there, back) = (meter.read(Some(12.6), Some(0.1), 0), meter.read(Some(0.1), Some(12.6), 0));
        assert!((there.value - 12.5).abs() < 0.1 && (back.value + 12.5).abs() < 0.1);
        let open: Vec<f64> = (0..50).map(|i| meter.read(Some(12.6), None, i).value).collect();
        assert!(open.iter().all(|v| v.abs() < 0.2) && open.iter().any(|v| *v != 0.0));
    }

    #[test]
    fn a_drop_of_tenths_is_read_in_millivolts() {
        assert_eq!(VoltRange::fitting(0.4), VoltRange::Two);
        assert_eq!(VoltRange::fitting(-12.6), VoltRange::Twenty);
        assert_eq!(VoltRange::fitting(27.0), VoltRange::Sixty);
    }

    proptest! {
        #[test]
        fn a_reading_is_good_to_half_a_per_cent_and_three_steps(seed: u64, volts in -60.0..60.0_f64, n: u64) {
            for range in VoltRange::ALL {
                let shown = Voltmeter::new(seed, range).read(Some(volts), Some(0.0), n);
                if volts.abs() > 1.02 * range.most() {
                    prop_assert!(shown.over_range && shown.value.abs() == range.most());
                } else if !shown.over_range {
                    let allowed = 0.005 * volts.abs() + 3.0 * range.step();
                    prop_assert!((shown.value - volts).abs() <= allowed, "{shown:?} for {volts}");
                }
            }
        }
    }
}
