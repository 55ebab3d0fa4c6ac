//! Delays: between an event and what it sets off, and between two channels that show the same thing.

use super::known::{Estimate, Known, Point, Unknown, at_least, interval};
use super::robust::{median, spread};

/// Samples in a row that must lie off the old level.
const IN_A_ROW: usize = 3;
/// How far off, in standard deviations of the scatter.
const OFF_SIGMA: f64 = 5.0;

/// When the values leave the level that they have before `after` (s): the crossing of the first rise
/// traced back to the old level.
///
/// # Errors
/// Too few samples before, or it never leaves.
pub fn onset(points: &[Point], after: f64) -> Known {
    let points = at_least(points, 10)?;
    let cut = points.partition_point(|p| p.0 <= after);
    if cut < 5 {
        return Err(Unknown::FewSamples { have: cut, need: 5 });
    }
    let mut before: Vec<f64> = points[..cut].iter().map(|p| p.1).collect();
    let base = median(&mut before).unwrap_or(0.0);
    let sigma = spread(&before, base);
    let size = points[cut..].iter().map(|p| (p.1 - base).abs()).fold(0.0, f64::max);
    let least = (OFF_SIGMA * sigma).max(0.01 * size).max(1e-12);
    let off = |p: &Point| p.1 - base;
    let later = &points[cut..];
    let first = (0..later.len().saturating_sub(IN_A_ROW - 1))
        .find(|&i| {
            let sign = off(&later[i]).signum();
            later[i..i + IN_A_ROW].iter().all(|p| sign * off(p) > least)
        })
        .ok_or(Unknown::NotReached)?;
    let gap = interval(&points);
    // the rise over the next samples, traced back
    let end = (first + 4).min(later.len() - 1);
    let rate = (later[end].1 - later[first].1) / (later[end].0 - later[first].0).max(1e-12);
    let back = if rate.abs() > 1e-12 && rate.signum() == off(&later[first]).signum() {
        (off(&later[first]) / rate).min(3.0 * gap + least / rate.abs())
    } else {
        0.5 * gap
    };
    let value = (later[first].0 - back).max(after);
    let jitter = if rate.abs() > 1e-12 { (sigma / rate.abs()).min(5.0 * gap) } else { gap };
    // traced back along a line, where the start is really bent
    let error = (0.002 * gap * gap + 1.5 * jitter * jitter + 0.004 * back * back).sqrt();
    Ok(Estimate { value, error, samples: points.len() })
}

/// Time from an event at `event` (s) until the values begin to move, s.
///
/// # Errors
/// See [`onset`].
pub fn after_event(points: &[Point], event: f64) -> Known {
    onset(points, event).map(|o| Estimate { value: o.value - event, ..o })
}

/// How much later `second` shows what `first` shows, s, by the largest cross-correlation within
/// `most` seconds either way; either may be upside down.
///
/// # Errors
/// Too few samples, sampled too slowly, or nothing in common.
pub fn between_channels(first: &[Point], second: &[Point], most: f64) -> Known {
    let (a, b) = (at_least(first, 30)?, at_least(second, 30)?);
    let (from, to) = (a[0].0.max(b[0].0), a[a.len() - 1].0.min(b[b.len() - 1].0));
    let raster = interval(&a).max(interval(&b));
    if to - from < 3.0 * most {
        return Err(Unknown::Short { have_s: (to - from).max(0.0), need_s: 3.0 * most });
    }
    if raster > most / 4.0 {
        return Err(Unknown::Coarse { have_s: raster, need_s: most / 4.0 });
    }
    // at most some ten thousand points
    let raster = raster.max((to - from) / 10_000.0);
    let n = ((to - from) / raster) as usize;
    let (x, y) = (on_raster(&a, from, raster, n), on_raster(&b, from, raster, n));
    let lags = ((most / raster) as isize).max(1);
    let at = |lag: isize| correlation(&x, &y, lag);
    let best = (-lags..=lags).max_by(|&p, &q| at(p).abs().total_cmp(&at(q).abs())).unwrap_or(0);
    let r = at(best);
    let worth = n as f64 / super::robust::autocorrelation_time(&x).max(1.0);
    if r.abs() < 0.5 || r.abs() < 4.0 / worth.max(1.0).sqrt() || best.abs() == lags {
        return Err(Unknown::Scatter);
    }
    // parabola through the peak
    let (l, c, h) = (at(best - 1).abs(), r.abs(), at(best + 1).abs());
    let bend = l - 2.0 * c + h;
    let shift = if bend < 0.0 { (0.5 * (l - h) / bend).clamp(-0.5, 0.5) } else { 0.0 };
    let error = (1.0 - r * r).max(0.0).sqrt() / (worth * (-bend).max(1e-12)).sqrt() + 0.1;
    Ok(Estimate {
        value: (best as f64 + shift) * raster,
        error: raster * error.min(lags as f64),
        samples: a.len().min(b.len()),
    })
}

/// Linear interpolation at equal steps, mean taken off.
fn on_raster(points: &[Point], from: f64, raster: f64, n: usize) -> Vec<f64> {
    let mut k = 0;
    let mut out: Vec<f64> = (0..n)
        .map(|i| {
            let t = from + raster * i as f64;
            while k + 2 < points.len() && points[k + 1].0 < t {
                k += 1;
            }
            let (p, q) = (points[k], points[k + 1]);
            let share = if q.0 > p.0 { ((t - p.0) / (q.0 - p.0)).clamp(0.0, 1.0) } else { 0.0 };
            p.1 + share * (q.1 - p.1)
        })
        .collect();
    let mean = out.iter().sum::<f64>() / n as f64;
    out.iter_mut().for_each(|v| *v -= mean);
    out
}

/// Correlation of x with y shifted back by `lag` samples.
fn correlation(x: &[f64], y: &[f64], lag: isize) -> f64 {
    let (i, j) = if lag >= 0 { (0, lag as usize) } else { (lag.unsigned_abs(), 0) };
    let n = x.len().saturating_sub(i.max(j));
    let (mut xy, mut xx, mut yy) = (0.0, 0.0, 0.0);
    for k in 0..n {
        let (a, b) = (x[i + k], y[j + k]);
        xy += a * b;
        xx += a * a;
        yy += b * b;
    }
    if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use crate::random::{Purpose, normal};

    #[test]
    fn an_onset_covers_the_truth() {
        let inside = (0..400_u64).filter(|&seed| {
            let truth = 3.0 + 0.01 * (seed % 17) as f64;
            let points: Vec<Point> = (0..400)
                .map(|i| {
                    let t = 0.02 * i as f64;
                    let rise = if t > truth { -200.0 * (1.0 - ops::exp(-(t - truth) / 0.5)) } else { 0.0 };
                    (t, -90.0 + rise + 0.6 * normal(seed, Purpose::PressureNoise, i))
                })
                .collect();
            let o = after_event(&points, 2.5).unwrap();
            (o.value - (truth - 2.5)).abs() < 1.96 * o.error
        });
        let inside = inside.count();
        println!("{inside} of 400");
        assert!((360..=396).contains(&inside), "{inside}");
    }

    #[test]
    fn a_quiet_channel_has_no_onset() {
        let quiet: Vec<Point> = (0..200).map(|i| (0.1 * i as f64, normal(1, Purpose::PressureNoise, i))).collect();
        assert_eq!(onset(&quiet, 5.0), Err(Unknown::NotReached));
    }

    #[test]
    fn the_later_channel_is_found() {
        let law = |t: f64| 40.0 * ops::sin(0.9 * t) + 25.0 * ops::sin(2.3 * t + 1.0);
        for delay in [-0.73, 0.0, 0.41] {
            let make = |seed: u64, shift: f64, gain: f64| -> Vec<Point> {
                (0..800)
                    .map(|i| {
                        let t = 0.05 * i as f64;
                        (t, gain * law(t - shift) + normal(seed, Purpose::PressureNoise, i))
                    })
                    .collect()
            };
            let d = between_channels(&make(1, 0.0, 1.0), &make(2, delay, -0.6), 3.0).unwrap();
            assert!((d.value - delay).abs() < 3.0 * d.error.max(0.01), "{d:?} for {delay}");
        }
        let noise = |seed: u64| -> Vec<Point> {
            (0..800).map(|i| (0.05 * i as f64, normal(seed, Purpose::PressureNoise, i))).collect()
        };
        assert_eq!(between_channels(&noise(1), &noise(2), 3.0), Err(Unknown::Scatter));
    }
}
