//! Ripple: a regular swing about the level, by the generalised Lomb–Scargle periodogram, which takes
//! unequal sampling and gaps as they are.
//!
//! Power `P(f) = 1 − RSS(a + b·cos + c·sin)/RSS(a)`. Chance that noise alone gives a peak as high:
//! `1 − (1 − (1−P)^((n−3)/2))^M` with M the frequencies that can be told apart. Regularity: length of
//! the mean over the mean length of the swing's arrows in pieces of a few turns, 0 … 1; 1 is a swing
//! that keeps its beat and size.
//!
//! Source: M. Zechmeister and M. Kürster, "The generalised Lomb–Scargle periodogram", 2009; errors after
//! M. H. Montgomery and D. O'Donoghue, 1999.

use core::f64::consts::PI;

use super::known::{Estimate, Point, Unknown, at_least, interval, span};
use super::least_squares::fit;
use super::robust::{resolution, spread};
use crate::ops;

/// Most samples that a periodogram is made of: the stretch in the middle.
const MOST: usize = 4096;
/// Most frequencies.
const MOST_FREQUENCIES: usize = 20_000;
/// A peak that noise alone gives oftener than this isn't told.
pub const CHANCE: f64 = 1e-3;

/// A ripple.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ripple {
    /// Frequency, Hz.
    pub frequency: Estimate,
    /// Half of the swing from end to end, in the values' unit.
    pub amplitude: Estimate,
    /// 1: keeps its beat and size; 0: doesn't.
    pub regularity: f64,
    /// Chance that noise alone gives such a peak.
    pub chance: f64,
    /// Share of the scatter that it explains.
    pub power: f64,
}

/// The stretch without its trend and wild samples cut, at most [`MOST`] samples.
fn prepared(points: &[Point]) -> Result<Vec<Point>, Unknown> {
    let points = at_least(points, 24)?;
    let skip = points.len().saturating_sub(MOST) / 2;
    let points = &points[skip..(skip + MOST).min(points.len())];
    let line = super::level::line(points)?;
    let mut flat: Vec<Point> = points
        .iter()
        .map(|(t, v)| (t - line.middle, v - line.level.value - line.slope.value * (t - line.middle)))
        .collect();
    let values: Vec<f64> = flat.iter().map(|p| p.1).collect();
    let wild = 6.0 * spread(&values, 0.0);
    if wild > 0.0 {
        flat.iter_mut().for_each(|p| p.1 = p.1.clamp(-wild, wild));
    }
    Ok(flat)
}

/// Power at each of `count` frequencies from `first` in steps of `step`, Hz. Turns each sample's arrow
/// from one frequency to the next instead of asking for sines.
fn periodogram(points: &[Point], first: f64, step: f64, count: usize) -> Vec<f64> {
    let arrow = |f: f64, t: f64| (ops::cos(2.0 * PI * f * t), ops::sin(2.0 * PI * f * t));
    let turn: Vec<(f64, f64)> = points.iter().map(|p| arrow(step, p.0)).collect();
    let mut now: Vec<(f64, f64)> = points.iter().map(|p| arrow(first, p.0)).collect();
    let n = points.len() as f64;
    let mean = points.iter().map(|p| p.1).sum::<f64>() / n;
    let whole: f64 = points.iter().map(|p| (p.1 - mean) * (p.1 - mean)).sum();
    let mut power = Vec::with_capacity(count);
    for k in 0..count {
        if k % 512 == 511 {
            let f = first + step * k as f64;
            now.iter_mut().zip(points).for_each(|(a, p)| *a = arrow(f, p.0));
        }
        let (mut c, mut s, mut yc, mut ys, mut cc, mut cs) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for (a, p) in now.iter().zip(points) {
            let y = p.1 - mean;
            c += a.0;
            s += a.1;
            yc += y * a.0;
            ys += y * a.1;
            cc += a.0 * a.0;
            cs += a.0 * a.1;
        }
        let (cc_, ss_, cs_) = (cc - c * c / n, n - cc - s * s / n, cs - c * s / n);
        let det = cc_ * ss_ - cs_ * cs_;
        let p = if det > 1e-9 * n * n && whole > 0.0 {
            (yc * yc * ss_ + ys * ys * cc_ - 2.0 * yc * ys * cs_) / (det * whole)
        } else {
            0.0
        };
        power.push(p.clamp(0.0, 1.0));
        for (a, t) in now.iter_mut().zip(&turn) {
            *a = (a.0 * t.0 - a.1 * t.1, a.0 * t.1 + a.1 * t.0);
        }
    }
    power
}

/// Chance that noise alone gives a peak of power `p` among `m` frequencies.
fn chance(p: f64, n: usize, m: f64) -> f64 {
    let one = ops::exp(0.5 * (n as f64 - 3.0) * ops::ln((1.0 - p).max(1e-300)));
    if one < 1e-9 { (m * one).min(1.0) } else { 1.0 - ops::powf(1.0 - one.min(1.0), m) }
}

/// Arrow of the swing at a frequency.
fn arrow(points: &[Point], f: f64) -> Option<(f64, f64, f64)> {
    let fitted = fit(
        points.len(),
        3,
        |i| points[i].1,
        |_| 1.0,
        |i, x| {
            x[0] = 1.0;
            x[1] = ops::cos(2.0 * PI * f * points[i].0);
            x[2] = ops::sin(2.0 * PI * f * points[i].0);
        },
    )?;
    Some((fitted.beta[1], fitted.beta[2], fitted.rss))
}

/// The strongest ripple between two frequencies (Hz).
///
/// # Errors
/// Too few samples, sampled too slowly for `from`, or nothing above the scatter.
pub fn ripple(points: &[Point], from: f64, to: f64) -> Result<Ripple, Unknown> {
    let values: Vec<f64> = points.iter().map(|p| p.1).filter(|v| v.is_finite()).collect();
    let step_shown = resolution(&values);
    let points = prepared(points)?;
    let n = points.len();
    let length = span(&points);
    let gap = interval(&points);
    // equal sampling can't tell frequencies beyond half its own
    let to = to.min(0.5 / gap.max(1e-9));
    let from = from.max(2.0 / length.max(1e-9));
    if to.is_nan() || from >= to {
        return Err(Unknown::Coarse { have_s: gap, need_s: 0.25 / from });
    }
    let step = (0.2 / length).max((to - from) / MOST_FREQUENCIES as f64);
    let count = ((to - from) / step) as usize + 1;
    let power = periodogram(&points, from, step, count);
    let best = (0..count).max_by(|&a, &b| power[a].total_cmp(&power[b])).unwrap_or(0);
    let chance = chance(power[best], n, (length * (to - from)).max(1.0));
    if chance > CHANCE {
        return Err(Unknown::Scatter);
    }
    let f = refine(&points, from + step * best as f64, step);
    let (c, s, rss) = arrow(&points, f).ok_or(Unknown::Scatter)?;
    let size = (c * c + s * s).sqrt();
    // a channel that stands still but for its rounding
    if size < 0.1 * step_shown {
        return Err(Unknown::Scatter);
    }
    let sigma = (rss / (n as f64 - 4.0)).sqrt();
    let root = (n as f64).sqrt();
    Ok(Ripple {
        frequency: Estimate { value: f, error: 6.0_f64.sqrt() / PI * sigma / (size * root * length), samples: n },
        amplitude: Estimate { value: size, error: sigma * 2.0_f64.sqrt() / root, samples: n },
        regularity: regularity(&points, f),
        chance,
        power: power[best],
    })
}

/// Power at one frequency of the stretch, for asking about a known beat.
pub fn power_at(points: &[Point], f: f64) -> Result<f64, Unknown> {
    let points = prepared(points)?;
    // as narrow as the stretch allows
    let step = 0.1 / span(&points).max(1e-9);
    let power = periodogram(&points, (f - 5.0 * step).max(step), step, 11);
    Ok(power.into_iter().fold(0.0, f64::max))
}

/// The peak between two neighbours of the grid.
fn refine(points: &[Point], mut f: f64, mut step: f64) -> f64 {
    let cost = |f: f64| arrow(points, f).map_or(f64::INFINITY, |a| a.2);
    for _ in 0..20 {
        let (low, here, high) = (cost(f - step), cost(f), cost(f + step));
        if low < here {
            f -= step;
        } else if high < here {
            f += step;
        } else {
            step *= 0.5;
        }
    }
    f
}

/// How well the swing keeps its beat over pieces of at least three turns and eight samples.
fn regularity(points: &[Point], f: f64) -> f64 {
    let turns = span(points) * f;
    let pieces = ((turns / 3.0) as usize).min(points.len() / 8).min(24);
    if pieces < 3 {
        return 1.0;
    }
    let (start, length) = (points[0].0, span(points) / pieces as f64 * (1.0 + 1e-12));
    let (mut c, mut s, mut sum) = (0.0, 0.0, 0.0);
    for k in 0..pieces {
        let a = start + length * k as f64;
        let i = points.partition_point(|p| p.0 < a);
        let j = points.partition_point(|p| p.0 < a + length);
        if j - i < 6 {
            continue;
        }
        if let Some((x, y, _)) = arrow(&points[i..j], f) {
            c += x;
            s += y;
            sum += (x * x + y * y).sqrt();
        }
    }
    if sum > 0.0 { ((c * c + s * s).sqrt() / sum).clamp(0.0, 1.0) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal, uniform};
    use proptest::prelude::*;

    /// Unequal sampling of a swing in noise.
    fn made(seed: u64, f: f64, size: f64, sigma: f64) -> Vec<Point> {
        let mut t = 100.0;
        (0..700)
            .map(|i| {
                t += 0.01 + 0.03 * uniform(seed, Purpose::Severity, i);
                let v = size * ops::sin(2.0 * PI * f * t + 0.3) + sigma * normal(seed, Purpose::PressureNoise, i);
                (t, if (300..340).contains(&i) { f64::NAN } else { -85.0 + v })
            })
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn frequency_and_size_are_recovered(seed in 0_u64..1000, f in 0.8_f64..15.0, size in 1.0_f64..8.0) {
            let r = ripple(&made(seed, f, size, 1.0), 0.5, 20.0).unwrap();
            prop_assert!((r.frequency.value - f).abs() < 5.0 * r.frequency.error, "{r:?} for {f}");
            prop_assert!((r.amplitude.value - size).abs() < 5.0 * r.amplitude.error, "{r:?} for {size}");
            prop_assert!(r.regularity > 0.85 && r.chance < 1e-6, "{r:?}");
        }
    }

    #[test]
    fn errors_cover_the_truth() {
        let (mut f_in, mut a_in) = (0, 0);
        for seed in 0..400 {
            let r = ripple(&made(seed, 6.67, 2.0, 1.5), 4.0, 9.0).unwrap();
            f_in += i32::from((r.frequency.value - 6.67).abs() < 1.96 * r.frequency.error);
            a_in += i32::from((r.amplitude.value - 2.0).abs() < 1.96 * r.amplitude.error);
        }
        println!("frequency {f_in}, amplitude {a_in} of 400");
        assert!((360..=396).contains(&f_in) && (360..=396).contains(&a_in), "{f_in} {a_in}");
    }

    #[test]
    fn noise_alone_has_no_ripple() {
        let found = (0..400).filter(|&seed| ripple(&made(seed, 3.0, 0.0, 1.0), 0.5, 20.0).is_ok()).count();
        println!("{found} of 400 by chance");
        assert!(found <= 4, "{found}");
    }

    #[test]
    fn a_rounded_channel_that_stands_still_has_none() {
        let still: Vec<Point> =
            (0..300).map(|i| (0.1 * f64::from(i), if i % 97 == 3 { -351.6 } else { -352.5 })).collect();
        assert_eq!(ripple(&still, 1.0, 5.0), Err(Unknown::Scatter));
    }

    #[test]
    fn a_beat_that_wanders_is_less_regular() {
        let mut phase = 0.0;
        let wandering: Vec<Point> = (0..800)
            .map(|i| {
                phase += 2.0 * PI * 5.0 * 0.02 + 0.35 * normal(4, Purpose::Tolerance, i);
                (0.02 * i as f64, 3.0 * ops::sin(phase) + 0.3 * normal(5, Purpose::PressureNoise, i))
            })
            .collect();
        let r = ripple(&wandering, 1.0, 20.0).unwrap();
        assert!(r.regularity < 0.7, "{r:?}");
    }

    #[test]
    fn slow_sampling_is_said() {
        let slow: Vec<Point> = (0..50).map(|i| (f64::from(i), f64::from(i % 3))).collect();
        assert!(matches!(ripple(&slow, 2.0, 20.0), Err(Unknown::Coarse { .. })));
    }
}
