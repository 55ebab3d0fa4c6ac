//! What the pump can do against a shut valve: how far, and how soon.

use super::known::{Estimate, Known, Point, Unknown, at_least, interval};
use super::robust::{median, spread};

/// Mean time of three neighbours and the median of their values: one wild sample is no peak.
fn smooth(points: &[Point]) -> Vec<Point> {
    points
        .windows(3)
        .map(|w| {
            let mut v = [w[0].1, w[1].1, w[2].1];
            (w[1].0, median(&mut v).unwrap_or(w[1].1))
        })
        .collect()
}

/// Scatter from sample to sample, free of any drift.
fn noise(points: &[Point]) -> f64 {
    let bends: Vec<f64> = points.windows(3).map(|w| (w[0].1 - 2.0 * w[1].1 + w[2].1) / 6.0_f64.sqrt()).collect();
    spread(&bends, 0.0)
}

/// The farthest value from `from`, in the values' unit.
///
/// # Errors
/// Fewer than five samples.
pub fn peak(points: &[Point], from: f64) -> Known {
    let points = at_least(points, 5)?;
    let sigma = noise(&points);
    let far = smooth(&points).into_iter().max_by(|a, b| (a.1 - from).abs().total_cmp(&(b.1 - from).abs()));
    let (_, value) = far.ok_or(Unknown::NotReached)?;
    // the median of three has 0.67 of a sample's standard deviation; being the farthest of many adds as much
    Ok(Estimate { value, error: sigma.max(1e-9 * value.abs()), samples: points.len() })
}

/// Time from the first point until the value, which comes from the side of `from`, passes `target` (the
/// median of three samples does), s.
///
/// # Errors
/// It isn't passed, or there are too few samples.
pub fn time_to(points: &[Point], from: f64, target: f64) -> Known {
    let points = at_least(points, 5)?;
    let start = points[0];
    let sign = if target >= from { 1.0 } else { -1.0 };
    let passed = |p: &Point| sign * (p.1 - target) >= 0.0;
    let smoothed = smooth(&points);
    let i = smoothed.iter().position(passed).ok_or(Unknown::NotReached)?;
    let samples = points.len();
    if i == 0 {
        let gap = interval(&points);
        return Ok(Estimate { value: smoothed[0].0 - start.0, error: gap, samples });
    }
    let (a, b) = (smoothed[i - 1], smoothed[i]);
    let share = if b.1 == a.1 { 0.5 } else { ((target - a.1) / (b.1 - a.1)).clamp(0.0, 1.0) };
    let gap = b.0 - a.0;
    let rate = ((b.1 - a.1) / gap).abs().max(1e-12);
    // two medians of three, joined by a line that is bent in truth by a small part of the step
    let jitter = (0.6 * noise(&points) / rate).min(5.0 * gap);
    let error = (0.005 * gap * gap + jitter * jitter).sqrt();
    Ok(Estimate { value: a.0 + share * gap - start.0, error, samples })
}

/// Share of the peak that is kept so many seconds after it, 0 … 1, both counted from `from`.
///
/// # Errors
/// The stretch ends before, or there is no peak.
pub fn kept(points: &[Point], from: f64, after_s: f64) -> Known {
    let clean = at_least(points, 5)?;
    let top = peak(&clean, from)?;
    let reach = top.value - from;
    if reach.abs() <= 4.0 * top.error {
        return Err(Unknown::NoStep);
    }
    let at = smooth(&clean).iter().find(|p| p.1 == top.value).map_or(clean[0].0, |p| p.0);
    let later: Vec<Point> =
        clean.iter().copied().filter(|p| (p.0 - at - after_s).abs() <= 0.1 * after_s + 0.2).collect();
    let end = clean[clean.len() - 1].0 - at;
    if end < after_s {
        return Err(Unknown::Short { have_s: end, need_s: after_s });
    }
    let level = super::level::level(&later)?;
    let value = (level.value - from) / reach;
    let error = (level.error * level.error + value * value * top.error * top.error).sqrt() / reach.abs();
    Ok(Estimate { value, error, samples: later.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use crate::random::{Purpose, normal};

    fn made(seed: u64) -> Vec<Point> {
        (0..300)
            .map(|i| {
                let t = 0.02 * i as f64;
                let v = -95.0 - 600.0 * (1.0 - ops::exp(-t / 1.2));
                (t + 40.0, v + 0.5 * normal(seed, Purpose::PressureNoise, i))
            })
            .collect()
    }

    #[test]
    fn the_time_to_a_level_covers_the_truth() {
        // −500 after 1.2·ln(600/195) s
        let truth = 1.2 * ops::ln(600.0 / 195.0);
        let inside = (0..400).filter(|&seed| {
            let t = time_to(&made(seed), -95.0, -500.0).unwrap();
            (t.value - truth).abs() < 1.96 * t.error
        });
        let inside = inside.count();
        println!("{inside} of 400");
        assert!((360..=396).contains(&inside), "{inside}");
        assert_eq!(time_to(&made(1), -95.0, -800.0), Err(Unknown::NotReached));
    }

    #[test]
    fn a_wild_sample_is_no_peak() {
        let mut points = made(1);
        points[100].1 = -990.0;
        let p = peak(&points, -95.0).unwrap();
        assert!((p.value + 691.0).abs() < 3.0, "{p:?}");
    }

    #[test]
    fn what_is_kept() {
        let points: Vec<Point> = (0..800)
            .map(|i| {
                (
                    0.1 * f64::from(i),
                    if i < 5 { -90.0 } else { -90.0 - 600.0 * ops::exp(-f64::from(i - 5) / 2400.0) },
                )
            })
            .collect();
        let k = kept(&points, -90.0, 60.0).unwrap();
        assert!((k.value - ops::exp(-0.25)).abs() < 0.01, "{k:?}");
        assert!(matches!(kept(&points, -90.0, 90.0), Err(Unknown::Short { .. })));
    }
}
