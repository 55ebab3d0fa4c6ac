//! The pump's current: mean, inrush, ripple, and humps in a turn of an electric pump.
//!
//! A motor with a commutator draws one hump for each segment; one weak segment comes back once a
//! turn, so the hump's frequency over that of the turn counts the segments.

use super::known::{Estimate, Known, Point, Unknown, at_least, between, interval, span};
use super::level::level;
use super::ripple::{Ripple, power_at, ripple};

/// Mean of a stretch, in the values' unit.
///
/// # Errors
/// Fewer than five samples.
pub fn mean(points: &[Point]) -> Known {
    level(points)
}

/// Highest value in the first `within` seconds over the level of the rest, as a ratio.
///
/// # Errors
/// Too few samples, sampled too slowly to see it, or no current.
pub fn inrush(points: &[Point], within: f64) -> Known {
    let points = at_least(points, 20)?;
    let gap = interval(&points);
    if gap > within / 5.0 {
        return Err(Unknown::Coarse { have_s: gap, need_s: within / 5.0 });
    }
    let cut = points.partition_point(|p| p.0 <= points[0].0 + within);
    let after = level(&points[cut..])?;
    if after.value.abs() <= 4.0 * after.error {
        return Err(Unknown::NoStep);
    }
    let peak = points[..cut].iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let scatter = super::level::line(&points[cut..])?.scatter;
    let ratio = peak / after.value;
    let error = (scatter * scatter + ratio * ratio * after.error * after.error).sqrt() / after.value.abs();
    Ok(Estimate { value: ratio, error, samples: cut })
}

/// Ripple of the current between 20 Hz and half of the sampling.
///
/// # Errors
/// See [`ripple`].
pub fn hum(points: &[Point]) -> Result<Ripple, Unknown> {
    ripple(points, 20.0, 5_000.0)
}

/// Humps in a turn, and the turn's frequency in Hz.
///
/// With `turns_hz` (turns a second, measured otherwise) it is the ratio. Without it the turn is looked
/// for at the whole fractions of the hump's frequency, 4 to 16.
///
/// # Errors
/// No ripple, or no mark that comes once a turn.
pub fn humps_per_turn(points: &[Point], turns_hz: Option<f64>) -> Result<(Estimate, f64), Unknown> {
    let humps = hum(points)?;
    if let Some(turn) = turns_hz.filter(|f| *f > 0.0) {
        let value = humps.frequency.value / turn;
        let error = humps.frequency.error / turn;
        return Ok((Estimate { value, error, samples: humps.frequency.samples }, turn));
    }
    let n = humps.frequency.samples as f64;
    let kept = at_least(points, 24)?;
    // the middle of a long stretch, as the ripple was taken of it
    let middle = 0.5 * (kept[0].0 + kept[kept.len() - 1].0);
    let half = 0.5 * span(&kept).min(n * interval(&kept));
    let (t, v): (Vec<f64>, Vec<f64>) = kept.iter().copied().unzip();
    let part = between(&t, &v, middle - half, middle + half);
    let mut best: Option<(u32, f64)> = None;
    for count in 4..=16_u32 {
        let power = power_at(&part, humps.frequency.value / f64::from(count))?;
        if best.is_none_or(|b| power > b.1) {
            best = Some((count, power));
        }
    }
    // thirteen tries; noise has power 2/n each
    match best {
        Some((count, power)) if power > 2.0 * 9.0 / n => Ok((
            Estimate { value: f64::from(count), error: 0.0, samples: humps.frequency.samples },
            humps.frequency.value / f64::from(count),
        )),
        _ => Err(Unknown::Scatter),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ops;
    use crate::random::{Purpose, normal};
    use core::f64::consts::PI;

    /// 5 A of a pump with 8 segments at 90 turns a second, one of them weak, 10 kHz.
    fn made(weak: f64) -> Vec<Point> {
        (0..6000)
            .map(|i| {
                let t = 1e-4 * i as f64;
                let start = 9.0 * ops::exp(-t / 0.01);
                let humps = 0.25 * ops::cos(2.0 * PI * 720.0 * t) + weak * ops::cos(2.0 * PI * 90.0 * t + 1.0);
                (t, 5.0 + start + humps + 0.05 * normal(6, Purpose::PressureNoise, i))
            })
            .collect()
    }

    #[test]
    fn a_pump_tells_its_segments() {
        let points = made(0.05);
        let steady = &points[2000..];
        assert!((mean(steady).unwrap().value - 5.0).abs() < 0.02);
        let hum = hum(steady).unwrap();
        assert!((hum.frequency.value - 720.0).abs() < 0.05, "{hum:?}");
        assert!((hum.amplitude.value - 0.25).abs() < 0.01, "{hum:?}");
        let (count, turn) = humps_per_turn(steady, None).unwrap();
        assert_eq!(count.value, 8.0);
        assert!((turn - 90.0).abs() < 0.01);
        assert_eq!(humps_per_turn(&made(0.0)[2000..], None).map(|h| h.1), Err(Unknown::Scatter));
        let known = humps_per_turn(&made(0.0)[2000..], Some(90.0)).unwrap().0;
        assert!((known.value - 8.0).abs() < 0.01, "{known:?}");
    }

    #[test]
    fn inrush_is_a_ratio() {
        let ratio = inrush(&made(0.0), 0.1).unwrap();
        assert!((ratio.value - 2.8).abs() < 0.1, "{ratio:?}");
        let slow: Vec<Point> = (0..50).map(|i| (0.1 * f64::from(i), 5.0)).collect();
        assert!(matches!(inrush(&slow, 0.1), Err(Unknown::Coarse { .. })));
    }
}
