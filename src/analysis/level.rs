//! Level and slope of a stretch: a robust straight line with honest errors.
//!
//! Huber's M-estimator (k = 1.345) of a line through the points; the level is its height in the middle
//! of the samples. Each sample weighs by the time it stands for (at most five usual intervals), so
//! that a change of the sampling interval doesn't pull the level. The errors count the samples as
//! n/τ independent ones, τ being the autocorrelation time of what is left; a rounded channel
//! never gets below its step/√12 unless its scatter averages the rounding out.
//!
//! Where it stops being true: drift of the instrument isn't in the errors, nor is anything slower
//! than a quarter of the stretch.

use super::known::{Estimate, Known, Point, Unknown, at_least, interval, span};
use super::least_squares::{Fit, fit};
use super::robust::{autocorrelation_time, resolution, spread};

/// Huber's constant: 95 % of the efficiency of the mean when nothing is wild.
const HUBER: f64 = 1.345;
/// Samples that a slope needs.
const FEWEST_FOR_SLOPE: usize = 5;

/// A robust straight line through a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Middle of the samples, s.
    pub middle: f64,
    /// Height in the middle.
    pub level: Estimate,
    /// Slope, a second.
    pub slope: Estimate,
    /// Standard deviation of a sample about the line.
    pub scatter: f64,
    /// Autocorrelation time, samples.
    pub memory: f64,
}

/// The time that each sample stands for.
fn weights(points: &[Point]) -> Vec<f64> {
    let usual = interval(points);
    let most = if usual.is_finite() && usual > 0.0 { 5.0 * usual } else { 1.0 };
    (0..points.len())
        .map(|i| {
            let before = if i > 0 { points[i].0 - points[i - 1].0 } else { usual };
            let after = if i + 1 < points.len() { points[i + 1].0 - points[i].0 } else { usual };
            (0.5 * (before.min(most) + after.min(most))).clamp(1e-3 * most, most) / most
        })
        .collect()
}

/// A robust line.
///
/// # Errors
/// Fewer than five samples, or all at one time.
pub fn line(points: &[Point]) -> Result<Line, Unknown> {
    let points = at_least(points, FEWEST_FOR_SLOPE)?;
    let n = points.len();
    if span(&points) <= 0.0 {
        return Err(Unknown::Short { have_s: 0.0, need_s: 0.001 });
    }
    let time = weights(&points);
    let whole: f64 = time.iter().sum();
    let middle = points.iter().zip(&time).map(|(p, w)| w * p.0).sum::<f64>() / whole;
    let half = 0.5 * span(&points);
    let mut weight = time.clone();
    let mut fitted: Option<Fit> = None;
    let mut sigma = 0.0;
    for _ in 0..25 {
        let f = fit(
            n,
            2,
            |i| points[i].1,
            |i| weight[i],
            |i, x| {
                x[0] = 1.0;
                x[1] = (points[i].0 - middle) / half;
            },
        )
        .ok_or(Unknown::Scatter)?;
        let now = spread(&f.residuals, 0.0);
        let still = fitted.as_ref().is_some_and(|o: &Fit| {
            f.beta.iter().zip(&o.beta).all(|(a, b)| (a - b).abs() <= 1e-9 * (now + a.abs()))
        });
        sigma = now;
        for i in 0..n {
            let off = f.residuals[i].abs();
            weight[i] = time[i] * if off > HUBER * sigma && off > 0.0 { HUBER * sigma / off } else { 1.0 };
        }
        fitted = Some(f);
        if still || sigma == 0.0 {
            break;
        }
    }
    let f = fitted.ok_or(Unknown::Scatter)?;
    Ok(with_errors(&points, &time, &f, sigma, (middle, half)))
}

fn with_errors(points: &[Point], time: &[f64], f: &Fit, sigma: f64, (middle, half): (f64, f64)) -> Line {
    let n = points.len() as f64;
    // variance of the M-estimator: Σψ²/(n−p) over (mean ψ')²
    let (mut square, mut inside) = (0.0, 0.0);
    for r in &f.residuals {
        square += squared(r.abs().min(HUBER * sigma));
        inside += f64::from(u8::from(r.abs() <= HUBER * sigma));
    }
    let one = (square / (n - 2.0).max(1.0)).sqrt() / (inside / n).max(0.5);
    let memory = autocorrelation_time(&f.residuals);
    let values: Vec<f64> = points.iter().map(|p| p.1).collect();
    let step = resolution(&values);
    let floor = if step > 0.0 && sigma < 0.5 * step { step / 12.0_f64.sqrt() } else { 0.0 };
    let (mut w, mut ww, mut wxx, mut wwxx) = (0.0, 0.0, 0.0, 0.0);
    for (p, t) in points.iter().zip(time) {
        let x = (p.0 - middle) / half;
        w += t;
        ww += t * t;
        wxx += t * x * x;
        wwxx += t * t * x * x;
    }
    let level = one * (memory * ww).sqrt() / w;
    let slope = one * (memory * wwxx).sqrt() / wxx;
    let samples = points.len();
    Line {
        middle,
        level: Estimate { value: f.beta[0], error: level.max(floor), samples },
        slope: Estimate { value: f.beta[1] / half, error: slope.max(floor) / half, samples },
        scatter: sigma,
        memory,
    }
}

fn squared(x: f64) -> f64 {
    x * x
}

/// Level of a stretch, in the unit of its values. The offset at rest is the level of a stretch at rest.
///
/// # Errors
/// Fewer than five samples.
pub fn level(points: &[Point]) -> Known {
    line(points).map(|l| l.level)
}

/// Slope of a stretch, unit a second.
///
/// # Errors
/// Fewer than five samples.
pub fn slope(points: &[Point]) -> Known {
    line(points).map(|l| l.slope)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal, uniform};

    fn noise(seed: u64, i: u64) -> f64 {
        normal(seed, Purpose::PressureNoise, i)
    }

    /// A line with noise that remembers, gaps, and now and then a wild sample; truth: level at `middle`.
    fn made(seed: u64, memory: f64, wild: bool) -> Vec<Point> {
        let mut last = 0.0;
        (0..400)
            .map(|i| {
                let t = 0.05 * i as f64 + 0.02 * uniform(seed, Purpose::Severity, i);
                last = memory * last + noise(seed, i) * (1.0 - memory * memory).sqrt();
                let mut v = -120.0 + 0.5 * (t - 10.0) + 2.0 * last;
                if wild && i % 37 == 5 {
                    v += 150.0;
                }
                (t, if i % 11 == 3 { f64::NAN } else { v })
            })
            .collect()
    }

    #[track_caller]
    fn covers(memory: f64, wild: bool) {
        let (mut level_in, mut slope_in) = (0, 0);
        for seed in 0..400 {
            let l = line(&made(seed, memory, wild)).unwrap();
            let truth = -120.0 + 0.5 * (l.middle - 10.0);
            level_in += i32::from((l.level.value - truth).abs() < 1.96 * l.level.error);
            slope_in += i32::from((l.slope.value - 0.5).abs() < 1.96 * l.slope.error);
        }
        println!("memory {memory}, wild {wild}: level {level_in}, slope {slope_in} of 400");
        // 95 %, counted 400 times
        assert!((360..=396).contains(&level_in) && (360..=396).contains(&slope_in), "{level_in} {slope_in}");
    }

    #[test]
    fn errors_cover_the_truth_with_independent_noise() {
        covers(0.0, false);
    }

    #[test]
    fn errors_cover_the_truth_with_noise_that_remembers() {
        covers(0.7, false);
    }

    #[test]
    fn wild_samples_do_not_pull_the_line() {
        // one sample in 37 is 75 standard deviations off: the mean would be off by 4
        let l = line(&made(3, 0.0, true)).unwrap();
        assert!((l.level.value + 120.0 - 0.5 * (l.middle - 10.0)).abs() < 0.6, "{l:?}");
    }

    #[test]
    fn the_level_does_not_follow_the_sampling() {
        // a rise sampled quickly in its first half: the middle of the time counts, not that of the samples
        let points: Vec<Point> = (0..250)
            .map(|i| 0.02 * f64::from(i))
            .chain((0..=50).map(|i| 5.0 + 0.1 * f64::from(i)))
            .map(|t| (t, t))
            .collect();
        let l = line(&points).unwrap();
        assert!((l.middle - 5.0).abs() < 0.05 && (l.level.value - 5.0).abs() < 0.05, "{l:?}");
        assert_eq!(level(&points[..4]), Err(Unknown::FewSamples { have: 4, need: 5 }));
        assert_eq!(level(&[(0.0, f64::NAN); 20]), Err(Unknown::FewSamples { have: 0, need: 5 }));
    }

    #[test]
    fn a_rounded_quiet_channel_is_not_taken_as_exact() {
        let points: Vec<Point> =
            (0..200).map(|i| (0.02 * f64::from(i), if i % 50 == 7 { -99.0 } else { -98.0 })).collect();
        let l = level(&points).unwrap();
        assert!(l.error > 0.2, "{l:?}");
    }
}
