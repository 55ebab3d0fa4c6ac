//! The pressure transducer, with the offset, gain, lag, noise, steps and range of a real one.
//!
//! Shown value = q·round[(G·LP(p − p_ref) + o − z + σN)/q], cut to the range: q a 4096th of the range (12
//! bit), G within ±0.5 %, o some millibar as it comes out of the drawer, z what zeroing took off, LP a
//! first-order lag of 8 ms and more with air in the sensing hose. p_ref is the air outside, or 0 for
//! an absolute sensor; the latter's reading becomes a gauge pressure when it is zeroed open to the
//! air, which stores the barometer of that place and hour.
//!
//! What can be done wrong, and what it looks like:
//!
//! - *zeroed under pressure*, or under the head of a full hose: the same shift in every state;
//! - *not zeroed*: the same, by the offset of the drawer;
//! - *the pressure range on the suction side*: a flat zero with the over-range mark, steps of 2.4 mbar
//!   where there is pressure; *the suction range on a fed line*: a flat top at +3 bar;
//! - *absolute taken for gauge*: about 1013 mbar too much, with the engine off, too;
//! - *zeroed elsewhere, absolute*: 11.5 mbar for every 100 m of height.
//!
//! An offset shows at rest with the tee open to the air; an error of gain doesn't.
//!
//! Not modelled: temperature drift during a sitting, hysteresis.

use super::display::{Doubt, Shown, stepped};
use super::lag::Lag;
use crate::random::{Purpose, normal, normal_within};
use crate::units::{AbsolutePressure, PA_PER_MBAR, Span};

/// What a sensor measures against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The air outside: gauge pressure.
    Air,
    /// Nothing: absolute pressure.
    Vacuum,
}

/// A range of the transducer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// What stands on the switch.
    pub label: &'static str,
    /// Lower end, mbar.
    pub low_mbar: f64,
    /// Upper end, mbar.
    pub high_mbar: f64,
    /// Standard deviation of the noise of a sample, mbar.
    pub noise_mbar: f64,
    /// Standard deviation of the offset out of the drawer, mbar.
    pub offset_mbar: f64,
    /// Standard deviation of what is left after zeroing, mbar.
    pub residue_mbar: f64,
    /// What it measures against.
    pub against: Against,
}

impl Range {
    /// For the suction side: −1 … +3 bar gauge.
    pub const SUCTION: Self = Self {
        label: "−1 … +3 bar",
        low_mbar: RANGE_LOW_MBAR,
        high_mbar: RANGE_HIGH_MBAR,
        noise_mbar: NOISE_MBAR,
        offset_mbar: 5.0,
        residue_mbar: ZERO_RESIDUE_MBAR,
        against: Against::Air,
    };
    /// For fed lines: 0 … 10 bar gauge.
    pub const FEED: Self = Self {
        label: "0 … 10 bar",
        low_mbar: 0.0,
        high_mbar: 10_000.0,
        noise_mbar: 3.0,
        offset_mbar: 12.0,
        residue_mbar: 2.0,
        against: Against::Air,
    };
    /// Against vacuum: 0 … 4 bar absolute.
    pub const ABSOLUTE: Self = Self {
        label: "0 … 4 bar absolute",
        low_mbar: 0.0,
        high_mbar: 4000.0,
        noise_mbar: 0.5,
        offset_mbar: 5.0,
        residue_mbar: 0.4,
        against: Against::Vacuum,
    };
    /// Every range, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::SUCTION, Self::FEED, Self::ABSOLUTE];

    /// Smallest step of the display, mbar.
    pub const fn step_mbar(self) -> f64 {
        (self.high_mbar - self.low_mbar) / 4096.0
    }

    /// What the sensor sees of a line, mbar against its own reference.
    pub const fn sees(self, line: AbsolutePressure, air: AbsolutePressure) -> f64 {
        match self.against {
            Against::Air => line.to_gauge(air).mbar(),
            Against::Vacuum => line.si() / PA_PER_MBAR,
        }
    }
}

/// Lower end of the suction range, mbar gauge.
pub const RANGE_LOW_MBAR: f64 = -1000.0;
/// Upper end of the suction range, mbar gauge.
pub const RANGE_HIGH_MBAR: f64 = 3000.0;
/// Smallest step of the display in the suction range, mbar.
pub const STEP_MBAR: f64 = 4000.0 / 4096.0;
/// Standard deviation of the noise of a sample in the suction range, mbar.
pub const NOISE_MBAR: f64 = 0.5;
/// Standard deviation of what is left after zeroing in the suction range, mbar.
pub const ZERO_RESIDUE_MBAR: f64 = 0.4;
/// Standard deviation of the gain.
pub const GAIN_SPREAD: f64 = 0.002_5;
/// Lag without air in the hose, s: 20 Hz.
const LAG_S: f64 = 0.008;
/// Further lag for every mL of air in the hose, s.
const LAG_PER_ML: f64 = 0.06;

/// One transducer.
#[derive(Clone, Debug, PartialEq)]
pub struct Transducer {
    seed: u64,
    range: Range,
    gain: f64,
    offset: f64,
    zero: f64,
    /// What it saw when it was zeroed, mbar: the range of what is shown moves by as much.
    zeroed_at: f64,
    zeroings: u64,
    noisy: bool,
    lag: Lag,
    /// Air in the sensing hose, mL.
    pub hose_air: f64,
}

impl Transducer {
    /// The transducer of a seed in the suction range, with `extra` mbar of offset on top of its own.
    /// Without `noisy` the random part of each sample and the rounding are left out.
    pub fn new(seed: u64, extra: f64, noisy: bool) -> Self {
        Self::in_range(Range::SUCTION, seed, extra, noisy)
    }

    /// The transducer of a seed in a range; see [`Transducer::new`].
    pub fn in_range(range: Range, seed: u64, extra: f64, noisy: bool) -> Self {
        Self {
            seed,
            range,
            gain: 1.0 + GAIN_SPREAD * normal_within(seed, Purpose::Instrument, 0, 2.0),
            offset: range.offset_mbar * normal_within(seed, Purpose::Instrument, 1, 2.5) + extra,
            zero: 0.0,
            zeroed_at: 0.0,
            zeroings: 0,
            noisy,
            lag: Lag::new(),
            hose_air: 0.0,
        }
    }

    /// The same with an error of gain on top of its own, such as 0.03 for 3 % too much.
    pub fn with_gain_error(mut self, extra: f64) -> Self {
        self.gain += extra;
        self
    }

    /// Its range.
    pub const fn range(&self) -> Range {
        self.range
    }

    /// Sets the display to zero with the hose open to the air. For an absolute sensor use
    /// [`Transducer::zero_at`] with the air pressure.
    pub fn set_zero(&mut self) {
        self.zero_at(0.0);
    }

    /// Sets the display to zero while the sensor sees a pressure, mbar against its own reference. Right
    /// for an absolute sensor open to the air; a mistake for a gauge sensor under pressure.
    pub fn zero_at(&mut self, seen_mbar: f64) {
        self.zeroings += 1;
        let residue =
            self.range.residue_mbar * normal_within(self.seed, Purpose::Instrument, 1 + self.zeroings, 3.0);
        self.zero = self.offset + residue + self.gain * seen_mbar;
        self.zeroed_at = seen_mbar;
    }

    /// How far a reading may be off once it was zeroed, mbar.
    pub fn doubt(&self, mbar: f64) -> Doubt {
        let (residue, gain) = (self.range.residue_mbar, GAIN_SPREAD * mbar);
        Doubt {
            random: self.range.noise_mbar,
            bias: (residue * residue + gain * gain).sqrt(),
            step: self.range.step_mbar(),
        }
    }

    /// Time constant of sensor and hose, s.
    pub fn lag_s(&self) -> f64 {
        LAG_S + LAG_PER_ML * self.hose_air
    }

    /// The line was opened: the lag starts afresh.
    pub fn settle(&mut self) {
        self.lag.settle();
    }

    /// What the display shows, mbar, for a pressure (mbar against the sensor's reference) at a time,
    /// µs; `sample` counts the samples.
    pub fn show(&mut self, at: u64, line_mbar: f64, sample: u64) -> f64 {
        self.read(at, line_mbar, sample).value
    }

    /// What the display shows, mbar, with the mark for the end of the range; see [`Transducer::show`].
    ///
    /// Air in the hose makes it late by 0.06 s/mL, about what 1 m of 2.2 mm bore does at the standard
    /// atmosphere; [`Transducer::read_behind`] takes the lag of any hose.
    pub fn read(&mut self, at: u64, line_mbar: f64, sample: u64) -> Shown {
        self.read_behind(at, line_mbar, Span::from_si(LAG_PER_ML * self.hose_air), sample)
    }

    /// What the display shows behind a hose of a time constant, such as [`super::hose::time_constant`]
    /// gives; see [`Transducer::read`].
    pub fn read_behind(&mut self, at: u64, line_mbar: f64, hose: Span, sample: u64) -> Shown {
        let lagged = self.lag.follow(at, line_mbar, LAG_S + hose.si());
        let mut shown = self.gain * lagged + self.offset - self.zero;
        if self.noisy {
            shown += self.range.noise_mbar * normal(self.seed, Purpose::PressureNoise, sample);
            shown = stepped(shown, self.range.step_mbar());
        }
        Shown::within(shown, self.range.low_mbar - self.zeroed_at, self.range.high_mbar - self.zeroed_at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::hose::time_constant;
    use crate::units::{Length, STANDARD_ATMOSPHERE_PA, Volume};

    #[test]
    fn zeroing_removes_the_offset_but_not_the_gain() {
        let mut gauge = Transducer::new(4, 35.0, false);
        let before = gauge.show(0, 0.0, 0);
        assert!(before.abs() > 15.0, "{before}");
        gauge.set_zero();
        assert!(gauge.show(0, 0.0, 1).abs() < 1.5);
        let far = gauge.show(10_000_000, -600.0, 2);
        assert!((far + 600.0).abs() < 6.0, "{far}");
        let mut off = Transducer::new(4, 0.0, false).with_gain_error(0.05);
        off.set_zero();
        assert!(off.show(0, 0.0, 0).abs() < 1.5);
        assert!((off.show(10_000_000, -600.0, 1) / far - 1.05).abs() < 0.005);
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
        // the fixed lag for a mL is that of a usual hose
        let usual = time_constant(
            Volume::from_si(1e-6),
            AbsolutePressure::from_si(STANDARD_ATMOSPHERE_PA),
            Length::from_si(0.0022),
            Length::from_si(1.0),
            0.0035,
        );
        assert!((usual.si() / LAG_PER_ML - 1.0).abs() < 0.05, "{}", usual.si());
        let mut gauge = Transducer::new(1, 0.0, false);
        gauge.read_behind(0, 0.0, Span::from_si(0.992), 0);
        let rest = gauge.read_behind(1_000_000, -500.0, Span::from_si(0.992), 1).value + gauge.zero - gauge.offset;
        assert!((rest / gauge.gain + 500.0 * (1.0 - 1.0 / core::f64::consts::E)).abs() < 1e-6, "{rest}");
    }

    #[test]
    fn samples_are_steps_and_stay_in_range() {
        for range in Range::ALL {
            let mut gauge = Transducer::in_range(range, 9, 0.0, true);
            let v = gauge.show(0, 1230.4, 5);
            assert!((v / range.step_mbar() - (v / range.step_mbar()).round()).abs() < 1e-9);
            let top = gauge.read(10_000_000, 9e6, 6);
            assert_eq!(top, Shown { value: range.high_mbar, over_range: true });
        }
        assert_eq!(Range::SUCTION.step_mbar(), STEP_MBAR);
    }

    #[test]
    fn the_noise_of_samples_has_the_spread_of_the_range() {
        for range in [Range::SUCTION, Range::FEED] {
            let mut gauge = Transducer::in_range(range, 31, 0.0, true);
            let n = 4000_u32;
            let values: Vec<f64> = (0..n).map(|i| gauge.show(u64::from(i) * 20_000, 500.0, u64::from(i))).collect();
            let mean = values.iter().sum::<f64>() / f64::from(n);
            let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / f64::from(n - 1);
            // rounding to steps adds q²/12; the standard error of a variance is √(2/n) = 2.2 % of it
            let expected = range.noise_mbar * range.noise_mbar + range.step_mbar() * range.step_mbar() / 12.0;
            assert!((variance / expected - 1.0).abs() < 0.08, "{variance} against {expected}");
        }
    }

    #[test]
    fn zeroing_under_pressure_shifts_every_reading_alike() {
        let mut gauge = Transducer::new(2, 0.0, false);
        gauge.zero_at(-95.0);
        let mut at = 0;
        for line in [-95.0, 0.0, -600.0] {
            at += 10_000_000;
            let shown = gauge.show(at, line, 0);
            assert!((shown - (line + 95.0)).abs() < 5.0, "{line}: {shown}");
        }
    }

    #[test]
    fn the_wrong_range_shows_flat() {
        let mut feed = Transducer::in_range(Range::FEED, 2, 0.0, true);
        feed.set_zero();
        assert_eq!(feed.read(0, -285.0, 0), Shown { value: 0.0, over_range: true });
        let mut suction = Transducer::new(2, 0.0, true);
        suction.set_zero();
        assert_eq!(suction.read(0, 3900.0, 0), Shown { value: RANGE_HIGH_MBAR, over_range: true });
    }

    #[test]
    fn an_absolute_sensor_reads_gauge_only_where_it_was_zeroed() {
        let air = |m: f64| AbsolutePressure::at_altitude(Length::from_si(m));
        let range = Range::ABSOLUTE;
        let line = |m: f64, gauge_mbar: f64| AbsolutePressure::from_si(air(m).si() + gauge_mbar * 100.0);
        let mut sensor = Transducer::in_range(range, 6, 0.0, false);
        let raw = sensor.show(0, range.sees(line(0.0, -100.0), air(0.0)), 0);
        assert!((raw - (STANDARD_ATMOSPHERE_PA / 100.0 - 100.0)).abs() < 20.0, "{raw}");
        sensor.settle();
        sensor.zero_at(range.sees(air(0.0), air(0.0)));
        let here = sensor.show(0, range.sees(line(0.0, -100.0), air(0.0)), 1);
        assert!((here + 100.0).abs() < 3.0, "{here}");
        let higher = sensor.show(10_000_000, range.sees(line(300.0, -100.0), air(300.0)), 2);
        assert!((higher - here + 3.0 * 11.8).abs() < 1.5, "{higher}");
        let gauge = Range::SUCTION.sees(line(300.0, -100.0), air(300.0));
        assert!((gauge + 100.0).abs() < 1e-9);
    }
}
