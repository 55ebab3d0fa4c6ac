//! Saw-tooth: suction builds, collapses and builds again, once in 1 … 10 s or slower.
//!
//! Turning points with a threshold (a swing counts when it is larger than a third of the usual range);
//! the period is the median from collapse to collapse.

use super::known::{Estimate, Point, Unknown, at_least, interval, span};
use super::robust::{median, quantile, spread};

/// A saw-tooth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Saw {
    /// Time from tooth to tooth, s.
    pub period: Estimate,
    /// Height of a tooth, in the values' unit.
    pub size: Estimate,
    /// Share of the period spent on the slower side, 0.5 … 1: 0.5 is a swing, not a saw.
    pub slow_share: f64,
    /// Teeth seen.
    pub teeth: usize,
}

/// Turning points of a stretch: (time, value), alternately high and low.
fn turns(points: &[Point], least: f64) -> Vec<Point> {
    let mut list: Vec<Point> = vec![];
    let (mut high, mut low) = (points[0], points[0]);
    let mut up: Option<bool> = None;
    for &p in points {
        if p.1 > high.1 {
            high = p;
        }
        if p.1 < low.1 {
            low = p;
        }
        if up != Some(true) && p.1 - low.1 >= least {
            list.push(low);
            (high, up) = (p, Some(true));
        } else if up != Some(false) && high.1 - p.1 >= least {
            list.push(high);
            (low, up) = (p, Some(false));
        }
        // while rising only the high counts, and the other way round
        match up {
            Some(true) => low = p,
            Some(false) => high = p,
            None => {}
        }
    }
    // the first one is where the stretch begins, not where it turns
    if list.is_empty() { list } else { list.split_off(1) }
}

/// The saw-tooth of a stretch, periods from `shortest` (s) to a third of the stretch.
///
/// # Errors
/// Too few samples, sampled too slowly, nothing above the scatter, or not regular.
pub fn saw(points: &[Point], shortest: f64) -> Result<Saw, Unknown> {
    let points = at_least(points, 40)?;
    let gap = interval(&points);
    if gap > shortest / 6.0 {
        return Err(Unknown::Coarse { have_s: gap, need_s: shortest / 6.0 });
    }
    // what is quicker than a twelfth of the shortest period is smoothed away
    let width = ((shortest / 12.0 / gap) as usize).max(1);
    let calm: Vec<Point> = points
        .chunks(width)
        .map(|c| {
            let mut v: Vec<f64> = c.iter().map(|p| p.1).collect();
            (c.iter().map(|p| p.0).sum::<f64>() / c.len() as f64, median(&mut v).unwrap_or(0.0))
        })
        .collect();
    let mut values: Vec<f64> = calm.iter().map(|p| p.1).collect();
    let range = quantile(&mut values, 0.95).unwrap_or(0.0) - quantile(&mut values, 0.05).unwrap_or(0.0);
    let bends: Vec<f64> = points.windows(3).map(|w| (w[0].1 - 2.0 * w[1].1 + w[2].1) / 6.0_f64.sqrt()).collect();
    let noise = spread(&bends, 0.0) / (width as f64).sqrt();
    if range < 8.0 * noise || range <= 0.0 {
        return Err(Unknown::Scatter);
    }
    let list = turns(&calm, (range / 3.0).max(5.0 * noise));
    if list.len() < 6 {
        return Err(Unknown::FewSamples { have: list.len() / 2, need: 3 });
    }
    let periods: Vec<f64> = list.windows(3).map(|w| w[2].0 - w[0].0).collect();
    let sizes: Vec<f64> = list.windows(2).map(|w| (w[1].1 - w[0].1).abs()).collect();
    let period = median(&mut periods.clone()).unwrap_or(0.0);
    let off = spread(&periods, period);
    if period < shortest || period > span(&points) / 3.0 || off > 0.35 * period {
        return Err(Unknown::Scatter);
    }
    let size = median(&mut sizes.clone()).unwrap_or(0.0);
    let (mut rise, mut fall) = (0.0, 0.0);
    for w in list.windows(2) {
        if w[1].1 > w[0].1 { rise += w[1].0 - w[0].0 } else { fall += w[1].0 - w[0].0 }
    }
    let teeth = periods.len() / 2;
    let root = (teeth.max(1) as f64).sqrt();
    let of = |value: f64, error: f64| Estimate { value, error, samples: points.len() };
    Ok(Saw {
        period: of(period, 1.25 * off.max(width as f64 * gap) / root),
        size: of(size, (1.25 * spread(&sizes, size) / root).max(noise)),
        slow_share: f64::max(rise, fall) / (rise + fall),
        teeth,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal};
    use proptest::prelude::*;

    fn made(seed: u64, period: f64, size: f64) -> Vec<Point> {
        (0..3000)
            .map(|i| {
                let t = 0.02 * i as f64;
                let phase = (t / period).fract();
                let tooth = if phase < 0.85 { phase / 0.85 } else { (1.0 - phase) / 0.15 };
                (t, -80.0 - size * tooth + 1.0 * normal(seed, Purpose::PressureNoise, i))
            })
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn teeth_are_found(seed in 0_u64..500, period in 1.2_f64..9.0, size in 30.0_f64..200.0) {
            let s = saw(&made(seed, period, size), 1.0).unwrap();
            prop_assert!((s.period.value - period).abs() < 0.06 * period, "{s:?} for {period}");
            prop_assert!((s.size.value - size).abs() < 0.15 * size, "{s:?} for {size}");
            prop_assert!(s.slow_share > 0.7, "{s:?}");
        }
    }

    #[test]
    fn noise_and_a_drift_are_no_saw() {
        let flat: Vec<Point> = made(1, 3.0, 0.0);
        assert_eq!(saw(&flat, 1.0), Err(Unknown::Scatter));
        let drift: Vec<Point> = (0..500).map(|i| (0.05 * f64::from(i), f64::from(i))).collect();
        assert!(saw(&drift, 1.0).is_err());
    }
}
