//! Level and slope of a window.
//!
//! Level: mean weighted by time. Slope: least squares of value against time. Standard errors follow
//! from the scatter about the level or line, taking samples as independent; ripple makes them
//! pessimistic, drift of the instrument isn't in them.

use crate::bay::action::Micros;
use crate::trace::Trace;

/// A window's features.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Mean level, in the column's unit.
    pub level: f64,
    /// Standard error of the level.
    pub level_error: f64,
    /// Slope, unit a second; 0 for a window without length.
    pub slope: f64,
    /// Standard error of the slope; infinite for fewer than three samples.
    pub slope_error: f64,
    /// Lowest sample.
    pub lowest: f64,
    /// Highest sample.
    pub highest: f64,
    /// Finite samples.
    pub samples: usize,
}

/// Features of a column of a trace between two times, both included. `None` without a finite sample.
pub fn window(trace: &Trace, column: &[f64], from: Micros, to: Micros) -> Option<Window> {
    let points: Vec<(f64, f64)> = trace
        .range(from, to)
        .filter(|&i| column[i].is_finite())
        .map(|i| ((trace.at[i] - from.min(trace.at[i])) as f64 * 1e-6, column[i]))
        .collect();
    let n = points.len();
    if n == 0 {
        return None;
    }
    let level = trace.mean(column, from, to)?;
    let count = n as f64;
    let (t_mean, v_mean) =
        (points.iter().map(|p| p.0).sum::<f64>() / count, points.iter().map(|p| p.1).sum::<f64>() / count);
    let (mut tt, mut tv, mut vv) = (0.0, 0.0, 0.0);
    for (t, v) in &points {
        tt += (t - t_mean) * (t - t_mean);
        tv += (t - t_mean) * (v - v_mean);
        vv += (v - v_mean) * (v - v_mean);
    }
    let slope = if tt > 0.0 { tv / tt } else { 0.0 };
    let rest = (vv - slope * tv).max(0.0);
    let scatter = if n > 2 { (rest / (count - 2.0)).sqrt() } else { 0.0 };
    Some(Window {
        level,
        level_error: scatter / count.sqrt(),
        slope,
        slope_error: if n > 2 && tt > 0.0 { scatter / tt.sqrt() } else { f64::INFINITY },
        lowest: points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min),
        highest: points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max),
        samples: n,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal};

    fn ramp(slope: f64, noise: f64) -> Trace {
        let mut trace = Trace::default();
        for i in 0..500_u64 {
            trace.at.push(i * 20_000);
            trace.mbar.push(-100.0 + slope * i as f64 * 0.02 + noise * normal(5, Purpose::PressureNoise, i));
            trace.gas.push(0.0);
            trace.rpm.push(0.0);
        }
        trace
    }

    #[test]
    fn a_noisy_ramp_is_recovered_within_its_errors() {
        let trace = ramp(-3.0, 0.8);
        let w = window(&trace, &trace.mbar, 0, 9_980_000).unwrap();
        assert!((w.slope + 3.0).abs() < 4.0 * w.slope_error, "{w:?}");
        assert!((w.level + 115.0).abs() < 0.3, "{w:?}");
        assert!(w.slope_error > 0.005 && w.slope_error < 0.05, "{w:?}");
    }

    #[test]
    fn one_sample_has_a_level_but_no_slope() {
        let trace = ramp(0.0, 0.0);
        let w = window(&trace, &trace.mbar, 40_000, 40_000).unwrap();
        assert_eq!((w.level, w.slope, w.samples), (-100.0, 0.0, 1));
        assert!(w.slope_error.is_infinite());
        assert!(window(&trace, &trace.mbar, 50_000_000, 60_000_000).is_none());
    }
}
