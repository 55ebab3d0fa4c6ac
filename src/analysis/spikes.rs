//! Spikes and slugs: short jumps off the level, as air makes them that passes the tapping.

use super::known::{Estimate, Known, Point, Unknown, at_least, interval, span};
use super::robust::{median, spread};

/// A jump counts from so many standard deviations of the scatter on.
const FROM_SIGMA: f64 = 6.0;
/// Longest spike, s.
const LONGEST_S: f64 = 1.5;
/// Width of the moving median, s: at least twice the longest spike.
const AROUND_S: f64 = 4.0;

/// Spikes of a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spikes {
    /// How many a minute.
    pub rate: Estimate,
    /// Median height, in the values' unit.
    pub size: Known,
    /// Share of them that go towards zero, 0 … 1.
    pub towards_zero: Known,
}

/// Spikes of a stretch of at least 10 s.
///
/// # Errors
/// Too short, too few samples, or sampled too slowly to see a spike of 0.5 s.
pub fn spikes(points: &[Point]) -> Result<Spikes, Unknown> {
    let points = at_least(points, 40)?;
    let (length, gap) = (span(&points), interval(&points));
    if length < 10.0 {
        return Err(Unknown::Short { have_s: length, need_s: 10.0 });
    }
    if gap > 0.25 {
        return Err(Unknown::Coarse { have_s: gap, need_s: 0.25 });
    }
    let base = moving_median(&points);
    let off: Vec<f64> = points.iter().zip(&base).map(|(p, b)| p.1 - b).collect();
    let least = FROM_SIGMA * spread(&off, 0.0).max(1e-9);
    let (mut sizes, mut to_zero) = (vec![], 0_usize);
    let mut i = 0;
    while i < off.len() {
        if off[i].abs() < least {
            i += 1;
            continue;
        }
        let sign = off[i].signum();
        let mut j = i;
        while j + 1 < off.len() && sign * off[j + 1] > 0.5 * least {
            j += 1;
        }
        if points[j].0 - points[i].0 <= LONGEST_S {
            let k = (i..=j).max_by(|&a, &b| off[a].abs().total_cmp(&off[b].abs())).unwrap_or(i);
            sizes.push(off[k].abs());
            to_zero += usize::from(off[k] * base[k] < 0.0);
        }
        i = j + 1;
    }
    let count = sizes.len() as f64;
    let minutes = length / 60.0;
    let samples = points.len();
    // counting: √N, and one that was just missed
    let rate = Estimate { value: count / minutes, error: count.max(1.0).sqrt() / minutes, samples };
    if sizes.is_empty() {
        return Ok(Spikes { rate, size: Err(Unknown::Scatter), towards_zero: Err(Unknown::Scatter) });
    }
    let middle = median(&mut sizes.clone()).unwrap_or(0.0);
    let error = (1.25 * spread(&sizes, middle) / count.sqrt()).max(least / FROM_SIGMA);
    let share = to_zero as f64 / count;
    // Agresti and Coull's interval: never 0 for a few
    let near = (share * count + 2.0) / (count + 4.0);
    let share_error = (near * (1.0 - near) / (count + 4.0)).sqrt();
    Ok(Spikes {
        rate,
        size: Ok(Estimate { value: middle, error, samples: sizes.len() }),
        towards_zero: Ok(Estimate { value: share, error: share_error, samples: sizes.len() }),
    })
}

/// Moving median over [`AROUND_S`], taken at whole steps of a quarter of it and joined by lines.
fn moving_median(points: &[Point]) -> Vec<f64> {
    let step = 0.25 * AROUND_S;
    let start = points[0].0;
    let count = (span(points) / step) as usize + 2;
    let mut knots: Vec<f64> = Vec::with_capacity(count);
    for k in 0..count {
        let at = start + step * k as f64;
        let i = points.partition_point(|p| p.0 < at - 0.5 * AROUND_S);
        let j = points.partition_point(|p| p.0 <= at + 0.5 * AROUND_S);
        let mut some: Vec<f64> = points[i..j].iter().map(|p| p.1).collect();
        let before = knots.last().copied().unwrap_or(points[0].1);
        knots.push(median(&mut some).unwrap_or(before));
    }
    points
        .iter()
        .map(|p| {
            let place = (p.0 - start) / step;
            let k = (place as usize).min(count - 2);
            let share = place - k as f64;
            knots[k] + share * (knots[k + 1] - knots[k])
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, normal};

    fn made(every: u64, height: f64) -> Vec<Point> {
        (0..3000)
            .map(|i| {
                let spike = if every > 0 && i % every < 8 { height } else { 0.0 };
                (
                    0.02 * i as f64,
                    -100.0 - 0.1 * i as f64 * 0.02 + spike + 0.7 * normal(2, Purpose::PressureNoise, i),
                )
            })
            .collect()
    }

    #[test]
    fn spikes_are_counted_measured_and_told_apart_by_direction() {
        let s = spikes(&made(300, 60.0)).unwrap();
        assert!((s.rate.value - 10.0).abs() < 1.1, "{s:?}");
        assert!((s.size.unwrap().value - 60.0).abs() < 3.0, "{s:?}");
        assert_eq!(s.towards_zero.unwrap().value, 1.0);
        assert_eq!(spikes(&made(300, -60.0)).unwrap().towards_zero.unwrap().value, 0.0);
    }

    #[test]
    fn noise_has_none_and_slow_sampling_says_so() {
        let s = spikes(&made(0, 0.0)).unwrap();
        assert_eq!((s.rate.value, s.size), (0.0, Err(Unknown::Scatter)));
        let slow: Vec<Point> = (0..100).map(|i| (f64::from(i), 0.0)).collect();
        assert!(matches!(spikes(&slow), Err(Unknown::Coarse { .. })));
    }
}
