//! Air in the glass: how much, how often, in what pieces. The channel is the share of gas, 0 … 1.

use super::known::{Estimate, Known, Point, Unknown, at_least, span};
use super::level::level;

/// Below this share the eye sees nothing.
pub const CLEAR_BELOW: f64 = 0.002;
/// From this share on gas fills the bore: a slug.
pub const SLUG_FROM: f64 = 0.3;

/// Air of a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aeration {
    /// Mean share of gas.
    pub mean: Estimate,
    /// Largest share.
    pub largest: f64,
    /// Share of the time in which the glass is clear.
    pub clear: f64,
    /// Slugs a minute.
    pub slugs: Known,
    /// Change of the share, a minute.
    pub trend: Known,
}

/// Air of a stretch. Time is weighed, so unequal sampling doesn't matter.
///
/// # Errors
/// Fewer than five samples.
pub fn aeration(points: &[Point]) -> Result<Aeration, Unknown> {
    let points = at_least(points, 5)?;
    let robust = level(&points)?;
    // a mean, not a robust level: slugs are what is asked for
    let (mut sum, mut clear, mut whole) = (0.0, 0.0, 0.0);
    for w in points.windows(2) {
        let dt = w[1].0 - w[0].0;
        whole += dt;
        sum += 0.5 * dt * (w[0].1 + w[1].1);
        clear += dt * f64::from(u8::from(w[0].1 < CLEAR_BELOW));
    }
    if whole <= 0.0 {
        return Err(Unknown::Short { have_s: 0.0, need_s: 1.0 });
    }
    let samples = points.len();
    let mean = sum / whole;
    let values: Vec<f64> = points.iter().map(|p| p.1 - mean).collect();
    let memory = super::robust::autocorrelation_time(&values);
    let square: f64 = values.iter().map(|v| v * v).sum::<f64>() / samples as f64;
    let error = (square * memory / samples as f64).sqrt().max(robust.error);
    let minutes = span(&points) / 60.0;
    let mut slugs = 0.0;
    let mut inside = false;
    for p in &points {
        if !inside && p.1 >= SLUG_FROM {
            (inside, slugs) = (true, slugs + 1.0);
        } else if inside && p.1 < 0.5 * SLUG_FROM {
            inside = false;
        }
    }
    let slug_rate = if minutes * 60.0 >= 5.0 {
        Ok(Estimate { value: slugs / minutes, error: f64::max(slugs, 1.0).sqrt() / minutes, samples })
    } else {
        Err(Unknown::Short { have_s: minutes * 60.0, need_s: 5.0 })
    };
    Ok(Aeration {
        mean: Estimate { value: mean, error, samples },
        largest: points.iter().map(|p| p.1).fold(0.0, f64::max),
        clear: clear / whole,
        slugs: slug_rate,
        trend: super::level::slope(&points).map(|s| Estimate { value: 60.0 * s.value, error: 60.0 * s.error, ..s }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_clear_stretches_and_the_mean() {
        // a slug of 1 s every 10 s, else clear
        let points: Vec<Point> =
            (0..1200).map(|i| (0.1 * f64::from(i), if i % 100 < 10 { 0.8 } else { 0.0 })).collect();
        let a = aeration(&points).unwrap();
        assert!((a.mean.value - 0.08).abs() < 0.002, "{a:?}");
        assert!((a.clear - 0.9).abs() < 0.01, "{a:?}");
        assert!((a.slugs.unwrap().value - 6.0).abs() < 0.1, "{a:?}");
        assert_eq!(a.largest, 0.8);
        assert!(aeration(&points[..3]).is_err());
    }
}
