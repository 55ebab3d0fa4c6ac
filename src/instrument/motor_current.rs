//! The current of a pump's motor as a clamp sees it: mean, inrush and the ripple of its commutator.
//!
//! A commutator of S segments under two brushes makes N = 2S pulses a turn when S is odd and N = S when it
//! is even. Between two pulses the current follows the crest of a rectified sine, i = î·cos φ with φ a
//! saw-tooth in ±π/N: peak to peak 1 − cos(π/N) of î. Hence f = N·n/60, and the speed can be read from the
//! ripple: n = 60·f/N. A worn segment leaves one deeper notch a turn.
//!
//! Inrush: i(t) = [i∞ + (i₀ − i∞)·e^(−t/τ_m)]·(1 − e^(−t/τ_e)), i₀ the locked-rotor current, i∞ the running one, τ_m
//! the spin-up, τ_e = L/R the winding.
//!
//! Stops being true: with electronic commutation; where brushes bounce.

use core::f64::consts::PI;

use crate::ops;

/// A commutator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Commutator {
    /// Segments, at least 2 (fewer count as 2).
    pub segments: u32,
    /// Depth of the notch of a worn segment, as a share of the current: 0 none … 1.
    pub worn: f64,
}

impl Commutator {
    /// Pulses a turn.
    pub const fn pulses_a_turn(self) -> u32 {
        let s = if self.segments < 2 { 2 } else { self.segments };
        if s % 2 == 1 { 2 * s } else { s }
    }

    /// Factor on the mean current after a number of turns. Its mean is 1; a worn segment takes
    /// worn/(2N) off that.
    pub fn factor(self, turns: f64) -> f64 {
        let n = f64::from(self.pulses_a_turn());
        let pulse = n * (turns - turns.floor());
        let within = pulse - pulse.floor();
        let crest = PI / n / ops::sin(PI / n);
        let bar = crest * ops::cos((2.0 * within - 1.0) * PI / n);
        if pulse >= 1.0 {
            return bar;
        }
        let dip = ops::sin(PI * within);
        bar * (1.0 - self.worn.clamp(0.0, 1.0) * dip * dip)
    }
}

/// Current a time after switching on, A. `locked`: of the motor held still; `running`: settled; `spin_up`
/// and `winding`: the two time constants, s (> 0).
pub fn inrush(since_s: f64, locked: f64, running: f64, spin_up: f64, winding: f64) -> f64 {
    if since_s <= 0.0 {
        return 0.0;
    }
    let slowing = running + (locked - running) * ops::exp(-since_s / spin_up);
    slowing * (1.0 - ops::exp(-since_s / winding))
}

/// Speed of a motor, 1/min, from the frequency of its ripple.
pub fn speed_rpm(ripple_hz: f64, pulses_a_turn: u32) -> f64 {
    ripple_hz * 60.0 / f64::from(pulses_a_turn.max(1))
}

/// Mean, least and most of a record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Mean.
    pub mean: f64,
    /// Least.
    pub least: f64,
    /// Most; the inrush, when the record begins before switching on.
    pub most: f64,
}

impl Extent {
    /// Of a record; none of an empty one.
    pub fn of(samples: &[f64]) -> Option<Self> {
        let first = *samples.first()?;
        let (mut sum, mut least, mut most) = (0.0, first, first);
        for v in samples {
            sum += v;
            least = least.min(*v);
            most = most.max(*v);
        }
        Some(Self { mean: sum / samples.len() as f64, least, most })
    }
}

/// Frequency of a record, Hz, by counting its ways up through the middle between least and most, as a
/// counter does: from the first such crossing to the last. None with fewer than two. A crossing counts
/// after the record has been below the middle by a tenth of the swing, so that noise isn't counted.
pub fn frequency_hz(samples: &[f64], samples_per_s: f64) -> Option<f64> {
    let extent = Extent::of(samples)?;
    let middle = (extent.least + extent.most) / 2.0;
    let below = middle - 0.1 * (extent.most - extent.least);
    let (mut armed, mut crossings) = (false, Vec::new());
    for (i, v) in samples.iter().enumerate() {
        if *v < below {
            armed = true;
        } else if armed && *v >= middle {
            armed = false;
            crossings.push(i);
        }
    }
    let (first, last) = (*crossings.first()?, *crossings.last()?);
    (last > first).then(|| (crossings.len() - 1) as f64 * samples_per_s / (last - first) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record(commutator: Commutator, rpm: f64, amps: f64, samples: u32) -> Vec<f64> {
        (0..samples).map(|i| amps * commutator.factor(0.0007 + f64::from(i) / 1e5 * rpm / 60.0)).collect()
    }

    #[test]
    fn odd_commutators_pulse_twice_a_segment() {
        let pulses = |segments| Commutator { segments, worn: 0.0 }.pulses_a_turn();
        assert_eq!([pulses(7), pulses(8), pulses(0)], [14, 8, 2]);
    }

    #[test]
    fn speed_is_read_from_the_ripple() {
        // eight segments at 5 400 1/min give 720 Hz
        for (segments, rpm, hz) in [(8, 5400.0, 720.0), (7, 6000.0, 1400.0)] {
            let commutator = Commutator { segments, worn: 0.0 };
            let found = frequency_hz(&record(commutator, rpm, 5.0, 20_000), 1e5).unwrap();
            assert!((found / hz - 1.0).abs() < 0.005, "{found}");
            let speed = speed_rpm(found, commutator.pulses_a_turn());
            assert!((speed / rpm - 1.0).abs() < 0.005, "{speed}");
        }
        assert_eq!(frequency_hz(&[1.0; 50], 1e3), None);
    }

    #[test]
    fn the_ripple_is_the_crest_of_a_rectified_sine() {
        let extent = Extent::of(&record(Commutator { segments: 8, worn: 0.0 }, 6000.0, 5.0, 50_000)).unwrap();
        assert!((extent.mean - 5.0).abs() < 0.005);
        let swing = (extent.most - extent.least) / extent.most;
        assert!((swing - (1.0 - ops::cos(PI / 8.0))).abs() < 0.001, "{swing}");
    }

    #[test]
    fn a_worn_segment_leaves_one_notch_a_turn() {
        let wave = record(Commutator { segments: 8, worn: 0.3 }, 6000.0, 5.0, 50_000);
        let found = frequency_hz(&wave, 1e5).unwrap();
        assert!((found - 100.0).abs() < 1.0, "{found}");
        let mean = Extent::of(&wave).unwrap().mean;
        assert!((mean / 5.0 - (1.0 - 0.3 / 16.0)).abs() < 0.003, "{mean}");
    }

    #[test]
    fn inrush_peaks_at_a_few_times_the_running_current() {
        let wave: Vec<f64> = (0..5000_u32).map(|i| inrush(f64::from(i) * 1e-4, 20.0, 5.0, 0.05, 0.0015)).collect();
        let extent = Extent::of(&wave).unwrap();
        assert_eq!(wave[0], 0.0);
        assert!((2.0..=4.0).contains(&(extent.most / 5.0)), "{}", extent.most);
        assert!((wave[4999] - 5.0).abs() < 0.01);
        assert_eq!(Extent::of(&[]), None);
    }
}
