//! How a pressure dies away after the engine stops: not at all, straight, exponentially, or in two
//! stages; with time constant and plateau.
//!
//! Models: `v = a`; `v = a + b·t`; `v = a + b·e^(−t/τ)`; `v = a + b₁·e^(−t/τ₁) + b₂·e^(−t/τ₂)` with
//! τ₂ ≥ 4τ₁; t in s from the first sample. The one with the least Bayesian information criterion
//! `n'·ln(RSS/n') + k·ln n'` is taken, n' being the samples divided by their autocorrelation time.
//! Long stretches are first gathered into at most 240 means.
//!
//! Source: G. Schwarz, "Estimating the Dimension of a Model", 1978. Linear parameters are solved
//! inside the search for the time constants: G. H. Golub and V. Pereyra, 1973.
//!
//! Where it stops being true: a leak through an orifice decays as a parabola near its end; it comes
//! out as exponential with a plateau a little beyond the end.

use super::known::{Estimate, Known, Point, Unknown, at_least, span};
use super::least_squares::{Fit, fit};
use super::robust::autocorrelation_time;
use crate::ops;

const MOST_MEANS: usize = 240;
const FEWEST: usize = 12;
/// Slower stage over faster stage, at least.
const APART: f64 = 4.0;
/// Longest time constant that is told, in lengths of the stretch.
const LONGEST: f64 = 3.0;

/// How it dies away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// It stays.
    Level,
    /// It falls or rises evenly.
    Straight,
    /// It goes exponentially to a plateau.
    Exponential,
    /// A quick loss, then a slow one or a plateau.
    TwoStage,
}

impl Shape {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Level => "stays level",
            Self::Straight => "straight",
            Self::Exponential => "exponential",
            Self::TwoStage => "two stages",
        }
    }
}

/// A decay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decay {
    /// Its shape.
    pub shape: Shape,
    /// Value at the first sample.
    pub start: Known,
    /// Where it ends up.
    pub plateau: Known,
    /// Time constant, s; of two stages the slower.
    pub tau: Known,
    /// Time constant of the quick stage, s.
    pub quick_tau: Known,
    /// How far the quick stage alone goes.
    pub quick_size: Known,
    /// Slope of a straight one, a second.
    pub slope: Known,
    /// By how much its criterion beats that of the next best shape; above 6 the choice is clear.
    pub margin: f64,
}

/// Means of neighbours, so that at most [`MOST_MEANS`] points are left.
fn gathered(points: &[Point]) -> Vec<Point> {
    let each = points.len().div_ceil(MOST_MEANS);
    points
        .chunks(each)
        .map(|c| {
            let n = c.len() as f64;
            (c.iter().map(|p| p.0).sum::<f64>() / n, c.iter().map(|p| p.1).sum::<f64>() / n)
        })
        .collect()
}

/// Fits `a + Σ b·e^(−t/τ)` for given time constants.
fn exponentials(points: &[Point], taus: &[f64]) -> Option<Fit> {
    fit(
        points.len(),
        1 + taus.len(),
        |i| points[i].1,
        |_| 1.0,
        |i, x| {
            x[0] = 1.0;
            for (k, tau) in taus.iter().enumerate() {
                x[k + 1] = ops::exp(-points[i].0 / tau);
            }
        },
    )
}

fn misfit(points: &[Point], taus: &[f64]) -> f64 {
    exponentials(points, taus).map_or(f64::INFINITY, |f| f.rss)
}

/// Improves one logarithm of a time constant by golden section.
fn refined(mut low: f64, mut high: f64, cost: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    for _ in 0..28 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        if cost(a) < cost(b) { high = b } else { low = a }
    }
    0.5 * (low + high)
}

/// Best time constant between bounds, by a grid and refinement.
fn best_one(points: &[Point], low: f64, high: f64) -> f64 {
    const GRID: usize = 24;
    let (a, b) = (ops::ln(low), ops::ln(high));
    let at = |k: usize| a + (b - a) * k as f64 / GRID as f64;
    let cost = |x: f64| misfit(points, &[ops::exp(x)]);
    let best = (0..=GRID).min_by(|&x, &y| cost(at(x)).total_cmp(&cost(at(y)))).unwrap_or(0);
    ops::exp(refined(at(best.saturating_sub(1)), at((best + 1).min(GRID)), cost))
}

/// Best pair of time constants, the quicker first.
fn best_two(points: &[Point], low: f64, high: f64) -> Option<[f64; 2]> {
    const GRID: usize = 16;
    let (a, b) = (ops::ln(low), ops::ln(high));
    let at = |k: usize| a + (b - a) * k as f64 / GRID as f64;
    let apart = ops::ln(APART);
    let cost = |x: f64, y: f64| {
        if y - x < apart || x < a || y > b { f64::INFINITY } else { misfit(points, &[ops::exp(x), ops::exp(y)]) }
    };
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for i in 0..=GRID {
        for j in i..=GRID {
            let c = cost(at(i), at(j));
            if c < best.0 {
                best = (c, at(i), at(j));
            }
        }
    }
    if !best.0.is_finite() {
        return None;
    }
    let (mut x, mut y) = (best.1, best.2);
    let mut step = (b - a) / GRID as f64;
    for _ in 0..4 {
        x = refined(x - step, x + step, |x| cost(x, y));
        y = refined(y - step, y + step, |y| cost(x, y));
        step *= 0.5;
    }
    cost(x, y).is_finite().then(|| [ops::exp(x), ops::exp(y)])
}

/// What dies away in a stretch, and how.
///
/// # Errors
/// Fewer than twelve samples or no length.
pub fn decay(points: &[Point]) -> Result<Decay, Unknown> {
    let points = at_least(points, FEWEST)?;
    let length = span(&points);
    if length <= 0.0 {
        return Err(Unknown::Short { have_s: 0.0, need_s: 1.0 });
    }
    let samples = points.len();
    let zero = points[0].0;
    let means: Vec<Point> = gathered(&points).iter().map(|(t, v)| (t - zero, *v)).collect();
    let n = means.len();
    let (low, high) = (0.7 * length / n as f64, LONGEST * length);
    let one = |_: usize| 1.0;
    let level = fit(n, 1, |i| means[i].1, one, |_, x| x[0] = 1.0).ok_or(Unknown::Scatter)?;
    let straight = fit(
        n,
        2,
        |i| means[i].1,
        one,
        |i, x| {
            x[0] = 1.0;
            x[1] = means[i].0;
        },
    )
    .ok_or(Unknown::Scatter)?;
    let tau = best_one(&means, low, high);
    let single = exponentials(&means, &[tau]).ok_or(Unknown::Scatter)?;
    let double = best_two(&means, low, high).and_then(|t| exponentials(&means, &t).map(|f| (t, f)));
    // what the richest model leaves is noise
    let richest = double.as_ref().map_or(&single, |d| &d.1);
    let memory = autocorrelation_time(&richest.residuals);
    let worth = (n as f64 / memory).max(6.0);
    // rounding or a noiseless simulation must not make any misfit significant
    let size = means.iter().fold(0.0_f64, |m, p| m.max(p.1.abs()));
    let least = 1e-10 * size * size * n as f64 + 1e-300;
    let criterion = |rss: f64, k: f64| worth * ops::ln((rss + least) / n as f64) + k * ops::ln(worth);
    let mut ranked = vec![
        (criterion(level.rss, 2.0), Shape::Level),
        (criterion(straight.rss, 3.0), Shape::Straight),
        (criterion(single.rss, 4.0), Shape::Exponential),
    ];
    if let Some((_, f)) = &double {
        ranked.push((criterion(f.rss, 6.0), Shape::TwoStage));
    }
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    let margin = ranked[1].0 - ranked[0].0;
    let noise = |f: &Fit, k: f64| memory * f.rss / (n as f64 - k).max(1.0);
    let of = |value: f64, variance: f64| Ok(Estimate { value, error: variance.max(0.0).sqrt(), samples });
    let none = Err(Unknown::NoDecay);
    let mut out = Decay {
        shape: ranked[0].1,
        start: none,
        plateau: none,
        tau: none,
        quick_tau: none,
        quick_size: none,
        slope: none,
        margin,
    };
    match out.shape {
        Shape::Level => {
            let variance = noise(&level, 1.0) * level.cov[0];
            out.start = of(level.beta[0], variance);
            out.plateau = out.start;
            out.slope = of(0.0, noise(&straight, 2.0) * straight.cov[3]);
        }
        Shape::Straight => {
            let s2 = noise(&straight, 2.0);
            out.start = of(straight.beta[0], s2 * straight.cov[0]);
            out.slope = of(straight.beta[1], s2 * straight.cov[3]);
            (out.plateau, out.tau) = (Err(Unknown::NotSettled), Err(Unknown::NotSettled));
        }
        Shape::Exponential => {
            let cov = covariance(&means, &[tau], &single, noise(&single, 3.0));
            let settled = tau < length;
            out.start = of(single.beta[0] + single.beta[1], cov[0] + cov[4] + 2.0 * cov[1]);
            out.plateau = if settled { of(single.beta[0], cov[0]) } else { Err(Unknown::NotSettled) };
            out.tau = if tau < 0.98 * high { of(tau, cov[8]) } else { Err(Unknown::NotSettled) };
        }
        Shape::TwoStage => {
            if let Some((taus, f)) = &double {
                let cov = covariance(&means, taus, f, noise(f, 5.0));
                let start = f.beta.iter().sum();
                let variance = (0..9).map(|k| cov[(k / 3) * 5 + k % 3]).sum();
                out.start = of(start, variance);
                out.plateau = if taus[1] < length { of(f.beta[0], cov[0]) } else { Err(Unknown::NotSettled) };
                out.tau = if taus[1] < 0.98 * high { of(taus[1], cov[24]) } else { Err(Unknown::NotSettled) };
                out.quick_tau = of(taus[0], cov[18]);
                out.quick_size = of(-f.beta[1], cov[6]);
            }
        }
    }
    Ok(out)
}

/// Covariance of (a, b…, τ…) at the optimum; infinite variances where the model doesn't pin them.
fn covariance(points: &[Point], taus: &[f64], f: &Fit, variance: f64) -> Vec<f64> {
    let m = taus.len();
    let width = 1 + 2 * m;
    let mut a = vec![0.0; width * width];
    let mut x = vec![0.0; width];
    for (t, _) in points {
        x[0] = 1.0;
        for (k, tau) in taus.iter().enumerate() {
            let e = ops::exp(-t / tau);
            x[1 + k] = e;
            x[1 + m + k] = f.beta[1 + k] * e * t / (tau * tau);
        }
        for r in 0..width {
            for c in 0..width {
                a[r * width + c] += x[r] * x[c];
            }
        }
    }
    match super::least_squares::inverse(&a, width) {
        Some(inv) => inv.iter().map(|v| v * variance).collect(),
        None => (0..width * width).map(|k| if k / width == k % width { f64::INFINITY } else { 0.0 }).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal};

    fn made(seed: u64, sigma: f64, law: impl Fn(f64) -> f64) -> Vec<Point> {
        (0..600)
            .map(|i| {
                let t = 0.2 * i as f64;
                let v = law(t) + sigma * normal(seed, Purpose::PressureNoise, i);
                (t + 500.0, if (200..230).contains(&i) { f64::NAN } else { v })
            })
            .collect()
    }

    #[test]
    fn each_shape_is_told_from_the_others() {
        let mut right = [0; 4];
        for seed in 0..50 {
            let shape = |law: &dyn Fn(f64) -> f64| decay(&made(seed, 0.8, law)).unwrap().shape;
            right[0] += i32::from(shape(&|_| -40.0) == Shape::Level);
            right[1] += i32::from(shape(&|t| -40.0 + 0.08 * t) == Shape::Straight);
            right[2] += i32::from(shape(&|t| -5.0 - 60.0 * ops::exp(-t / 25.0)) == Shape::Exponential);
            right[3] += i32::from(
                shape(&|t| -8.0 - 50.0 * ops::exp(-t / 2.0) - 40.0 * ops::exp(-t / 45.0)) == Shape::TwoStage,
            );
        }
        println!("{right:?} of 50");
        assert!(right.iter().all(|r| *r >= 46), "{right:?}");
    }

    #[test]
    fn time_constant_and_plateau_cover_the_truth() {
        let (mut tau_in, mut plateau_in, mut n) = (0, 0, 0);
        for seed in 0..400 {
            let d = decay(&made(seed, 1.5, |t| -12.0 - 70.0 * ops::exp(-t / 30.0))).unwrap();
            let (Ok(tau), Ok(plateau)) = (d.tau, d.plateau) else { continue };
            if d.shape != Shape::Exponential {
                continue;
            }
            n += 1;
            tau_in += i32::from((tau.value - 30.0).abs() < 1.96 * tau.error);
            plateau_in += i32::from((plateau.value + 12.0).abs() < 1.96 * plateau.error);
        }
        println!("tau {tau_in}, plateau {plateau_in} of {n}");
        assert!(n >= 380, "{n}");
        assert!(tau_in * 100 >= 90 * n && tau_in * 100 <= 99 * n, "{tau_in} of {n}");
        assert!(plateau_in * 100 >= 90 * n && plateau_in * 100 <= 99 * n, "{plateau_in} of {n}");
    }

    #[test]
    fn a_decay_that_goes_on_has_no_plateau() {
        let d = decay(&made(1, 0.3, |t| -200.0 + 0.3 * t)).unwrap();
        assert_eq!((d.shape, d.plateau), (Shape::Straight, Err(Unknown::NotSettled)));
        assert!(matches!(decay(&[(0.0, 1.0); 30]), Err(Unknown::Short { .. })));
        assert!(matches!(decay(&[(0.0, 1.0); 3]), Err(Unknown::FewSamples { .. })));
    }

    #[test]
    fn without_noise_it_is_found_to_the_digit() {
        let d = decay(&made(1, 0.0, |t| -10.0 - 80.0 * ops::exp(-t / 12.0))).unwrap();
        assert_eq!(d.shape, Shape::Exponential);
        assert!((d.tau.unwrap().value - 12.0).abs() < 1e-2, "{d:?}");
    }
}
