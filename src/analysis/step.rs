//! Answer to a sudden change of flow: how far, how fast, and whether it overshoots.
//!
//! The 63 % time is counted from the change itself (an event, or where the pressure begins to move).
//! A step that is 63 % done only after more than 1 s is *soft and late*: air in the sensing hose, or a
//! lot of gas in the line.

use super::known::{Estimate, Known, Point, Unknown, at_least, interval};
use super::level::level;
use super::robust::{quantile, spread};

/// Longest 63 % time of a crisp step, s.
pub const SOFT_FROM_S: f64 = 1.0;

/// A step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Level after minus level before.
    pub size: Known,
    /// Time from the change until 63 % of the size, s.
    pub t63: Known,
    /// How far it goes beyond the new level, share of the size.
    pub overshoot: Known,
}

impl Step {
    /// Soft and late, beyond its uncertainty; `None` when its time isn't known.
    pub fn is_soft(&self) -> Option<bool> {
        self.t63.ok().map(|t| t.value - t.error > SOFT_FROM_S)
    }
}

/// Step at time `at` (s) among the points; those before it give the old level, the last 40 % of those
/// after it the new one.
///
/// # Errors
/// Fewer than five samples before or eight after.
pub fn step(points: &[Point], at: f64) -> Result<Step, Unknown> {
    let points = at_least(points, 13)?;
    let cut = points.partition_point(|p| p.0 < at);
    let (before, after) = points.split_at(cut);
    if before.len() < 5 || after.len() < 8 {
        return Err(Unknown::FewSamples { have: before.len().min(after.len()), need: 8 });
    }
    let old = level(before)?;
    let new = level(&after[after.len() * 6 / 10..])?;
    let size = new.value - old.value;
    let error = (old.error * old.error + new.error * new.error).sqrt();
    let samples = points.len();
    let old_values: Vec<f64> = before.iter().map(|p| p.1).collect();
    let sigma = spread(&old_values, old.value);
    if size.abs() < 4.0 * error || size == 0.0 {
        return Ok(Step { size: Err(Unknown::NoStep), t63: Err(Unknown::NoStep), overshoot: Err(Unknown::NoStep) });
    }
    let share = |v: f64| (v - old.value) / size;
    // ripple crosses early and late: the middle of the first and the last crossing below 90 %
    let first = after.iter().position(|p| share(p.1) >= 0.632);
    let done = after.iter().position(|p| share(p.1) >= 0.9).unwrap_or(after.len());
    let last = after[..done].iter().rposition(|p| share(p.1) < 0.632).map(|i| i + 1);
    let t63 = match first {
        None => Err(Unknown::NotReached),
        Some(first) => {
            let last = last.unwrap_or(first).max(first).min(after.len() - 1);
            let (a, b) = (after[first].0 - at, after[last].0 - at);
            let gap = interval(&after[..(first + 2).min(after.len())]).min(a.max(1e-6));
            let value = 0.5 * (a + b) - 0.5 * gap.min(a);
            let rise = size.abs() / value.max(gap).max(1e-6);
            let error = (gap * gap / 12.0 + 0.25 * (b - a) * (b - a) + (sigma / rise) * (sigma / rise)).sqrt();
            Ok(Estimate { value, error, samples })
        }
    };
    let mut shares: Vec<f64> = after.iter().map(|p| share(p.1)).collect();
    // the highest of n samples lies above their level by chance
    let peak = quantile(&mut shares, 1.0 - 1.5 / after.len() as f64).unwrap_or(1.0);
    let noise = sigma / size.abs();
    let by_chance = noise * (2.0 * crate::ops::ln(after.len() as f64)).sqrt();
    let beyond = peak - 1.0 - by_chance;
    let overshoot = if beyond > 0.0 {
        Ok(Estimate { value: beyond, error: noise.max(error / size.abs()), samples })
    } else {
        Ok(Estimate { value: 0.0, error: noise.max(error / size.abs()), samples })
    };
    Ok(Step { size: Ok(Estimate { value: size, error, samples }), t63, overshoot })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use crate::random::{Purpose, normal};
    use proptest::prelude::*;

    fn made(seed: u64, size: f64, tau: f64, extra: f64) -> Vec<Point> {
        (0..900)
            .map(|i| {
                let t = 0.02 * i as f64;
                let s = t - 5.0;
                let rise = if s < 0.0 { 0.0 } else { 1.0 - ops::exp(-s / tau) + extra * s * ops::exp(-s) };
                (t, -90.0 + size * rise + 0.6 * normal(seed, Purpose::PressureNoise, i))
            })
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn a_first_order_step_is_recovered(seed in 0_u64..1000, size in 40.0_f64..300.0, tau in 0.1_f64..2.0) {
            let s = step(&made(seed, -size, tau, 0.0), 5.0).unwrap();
            let (found, t63) = (s.size.unwrap(), s.t63.unwrap());
            // 63 % of the new level, which an exponential has nearly reached when the last 40 % begin
            prop_assert!((found.value + size).abs() < 6.0 * found.error + 0.02 * size, "{found:?}");
            prop_assert!((t63.value - tau).abs() < 4.0 * t63.error + 0.04 * tau, "{t63:?} for {tau}");
            prop_assert!(s.overshoot.unwrap().value < 0.05);
        }
    }

    #[test]
    fn soft_steps_overshoots_and_none_at_all() {
        assert_eq!(step(&made(1, -100.0, 2.5, 0.0), 5.0).unwrap().is_soft(), Some(true));
        assert_eq!(step(&made(1, -100.0, 0.2, 0.0), 5.0).unwrap().is_soft(), Some(false));
        let over = step(&made(1, -100.0, 0.1, 0.8), 5.0).unwrap().overshoot.unwrap();
        assert!((over.value - 0.29).abs() < 0.08, "{over:?}");
        assert_eq!(step(&made(1, 0.0, 1.0, 0.0), 5.0).unwrap().size, Err(Unknown::NoStep));
    }
}
