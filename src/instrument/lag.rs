//! First-order lag, dy/dt = (x − y)/τ, updated a sample at a time.
//!
//! Between two samples the input counts as constant at its newer value, so the exponential is exact
//! and the time between samples may vary.

use crate::ops;

/// The state of a lag.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lag {
    /// Output, and the time that it holds for, µs.
    last: Option<(f64, u64)>,
}

impl Lag {
    /// A lag that takes its first input as it comes.
    pub const fn new() -> Self {
        Self { last: None }
    }

    /// A lag that stands at a value since a time, µs.
    pub const fn at_rest(value: f64, since: u64) -> Self {
        Self { last: Some((value, since)) }
    }

    /// Forgets: the next input is taken as it comes.
    pub const fn settle(&mut self) {
        self.last = None;
    }

    /// Output at a time (µs, not before the last one) for an input and a time constant, s. Without a
    /// time constant (≤ 0) it is the input.
    pub fn follow(&mut self, at: u64, input: f64, tau_s: f64) -> f64 {
        let output = match self.last {
            Some((last, then)) if tau_s > 0.0 => {
                let keep = ops::exp(-(at.saturating_sub(then) as f64) * 1e-6 / tau_s);
                input + (last - input) * keep
            }
            _ => input,
        };
        self.last = Some((output, at));
        output
    }
}

/// Time constant, s, of a first-order low-pass with a corner at a frequency, Hz (> 0).
pub const fn of_corner(hz: f64) -> f64 {
    1.0 / (2.0 * core::f64::consts::PI * hz)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_followed_by_the_exponential_however_it_is_sampled() {
        let after = |times: &[u64]| {
            let mut lag = Lag::at_rest(0.0, 0);
            times.iter().map(|t| lag.follow(*t, 1.0, 0.1)).fold(0.0, |_, y| y)
        };
        let whole = after(&[100_000]);
        assert!((whole - (1.0 - 1.0 / core::f64::consts::E)).abs() < 1e-12);
        assert!((after(&[10_000, 11_000, 70_000, 100_000]) - whole).abs() < 1e-12);
    }

    #[test]
    fn the_corner_passes_half_the_power() {
        let (hz, per_s) = (20.0, 20_000.0);
        let mut lag = Lag::new();
        let peak = (0..40_000_u32)
            .map(|i| {
                let t = f64::from(i) / per_s;
                lag.follow(u64::from(i) * 50, ops::sin(2.0 * core::f64::consts::PI * hz * t), of_corner(hz))
            })
            .skip(20_000)
            .fold(0.0, f64::max);
        assert!((peak - 0.5_f64.sqrt()).abs() < 0.005, "{peak}");
    }
}
