//! The pressure transducer: range −1 … +3 bar gauge, 12 bit, with the offset, gain, lag and noise of
//! a real one.
//!
//! Shown value = q·round[(G·LP(p − p_air) + o − z + σN)/q], cut to the range: q = 4 bar/4096 ≈ 0.98 mbar,
//! G within ±0.5 %, o some millibar as it comes out of the drawer, z what zeroing took off, σ = 0.5 mbar,
//! LP a first-order lag of 8 ms and more with air in the sensing hose.
//!
//! Not modelled: temperature drift during a sitting, hysteresis.

use crate::ops;
use crate::random::{Purpose, normal, normal_within};

/// Lower end of the range, mbar gauge.
pub const RANGE_LOW_MBAR: f64 = -1000.0;
/// Upper end of the range, mbar gauge.
pub const RANGE_HIGH_MBAR: f64 = 3000.0;
/// Smallest step of the display, mbar.
pub const STEP_MBAR: f64 = 4000.0 / 4096.0;
/// Standard deviation of the noise of a sample, mbar.
pub const NOISE_MBAR: f64 = 0.5;
/// Standard deviation of what is left after zeroing, mbar.
pub const ZERO_RESIDUE_MBAR: f64 = 0.4;
/// Standard deviation of the gain.
pub const GAIN_SPREAD: f64 = 0.002_5;
/// Lag without air in the hose, s.
const LAG_S: f64 = 0.008;
/// Further lag for every mL of air in the hose, s.
const LAG_PER_ML: f64 = 0.06;

/// One transducer.
#[derive(Clone, Debug, PartialEq)]
pub struct Transducer {
    seed: u64,
    gain: f64,
    offset: f64,
    zero: f64,
    zeroings: u64,
    noisy: bool,
    /// Output of the lag, mbar gauge, and the time it holds for, µs.
    lagged: Option<(f64, u64)>,
    /// Air in the sensing hose, mL.
    pub hose_air: f64,
}

impl Transducer {
    /// The transducer of a seed, with `extra` mbar of offset on top of its own. Without `noisy` the
    /// random part of each sample and the rounding are left out.
    pub fn new(seed: u64, extra: f64, noisy: bool) -> Self {
        Self {
            seed,
            gain: 1.0 + GAIN_SPREAD * normal_within(seed, Purpose::Instrument, 0, 2.0),
            offset: 5.0 * normal_within(seed, Purpose::Instrument, 1, 2.5) + extra,
            zero: 0.0,
            zeroings: 0,
            noisy,
            lagged: None,
            hose_air: 0.0,
        }
    }

    /// Sets the display to zero with the hose open to the air.
    pub fn set_zero(&mut self) {
        self.zeroings += 1;
        let residue = ZERO_RESIDUE_MBAR * normal_within(self.seed, Purpose::Instrument, 1 + self.zeroings, 3.0);
        self.zero = self.offset + residue;
    }

    /// The line was opened: the lag starts afresh.
    pub fn settle(&mut self) {
        self.lagged = None;
    }

    /// What the display shows for a line pressure (mbar gauge) at a time; `sample` counts the samples.
    pub fn show(&mut self, at: u64, line_mbar: f64, sample: u64) -> f64 {
        let lagged = match self.lagged {
            None => line_mbar,
            Some((last, then)) => {
                let lag = LAG_S + LAG_PER_ML * self.hose_air;
                let keep = ops::exp(-((at - then) as f64) * 1e-6 / lag);
                line_mbar + (last - line_mbar) * keep
            }
        };
        self.lagged = Some((lagged, at));
        let mut shown = self.gain * lagged + self.offset - self.zero;
        if self.noisy {
            shown += NOISE_MBAR * normal(self.seed, Purpose::PressureNoise, sample);
            shown = (shown / STEP_MBAR).round() * STEP_MBAR;
        }
        shown.clamp(RANGE_LOW_MBAR, RANGE_HIGH_MBAR)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeroing_removes_the_offset_but_not_the_gain() {
        let mut gauge = Transducer::new(4, 35.0, false);
        let before = gauge.show(0, 0.0, 0);
        assert!(before.abs() > 15.0, "{before}");
        gauge.set_zero();
        assert!(gauge.show(0, 0.0, 1).abs() < 1.5);
        let far = gauge.show(10_000_000, -600.0, 2);
        assert!((far + 600.0).abs() < 6.0, "{far}");
    }

    #[test]
    fn air_in_the_hose_makes_a_step_late() {
        let step = |air: f64| {
            let mut gauge = Transducer::new(1, 0.0, false);
            gauge.set_zero();
            gauge.hose_air = air;
            gauge.show(0, 0.0, 0);
            gauge.show(200_000, -500.0, 1)
        };
        assert!(step(0.0) < -480.0);
        assert!(step(12.0) > -250.0);
    }

    #[test]
    fn samples_are_steps_and_stay_in_range() {
        let mut gauge = Transducer::new(9, 0.0, true);
        let v = gauge.show(0, -123.4, 5);
        assert!((v / STEP_MBAR - (v / STEP_MBAR).round()).abs() < 1e-9);
        assert_eq!(gauge.show(10_000_000, 9e6, 6), RANGE_HIGH_MBAR);
    }
}
