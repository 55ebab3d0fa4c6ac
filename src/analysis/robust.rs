//! Statistics that one wild sample doesn't move.
//!
//! Source: P. J. Huber, "Robust Statistics", 1981; A. Sokal, "Monte Carlo Methods in Statistical
//! Mechanics", 1996 (window of the autocorrelation time).

/// Standard deviation of a normal distribution in median absolute deviations.
const MAD_TO_SIGMA: f64 = 1.482_602_218_505_602;
/// Most samples that an autocorrelation is taken of.
const MOST_CORRELATED: usize = 20_000;

/// Median; `None` of nothing. Reorders.
pub fn median(values: &mut [f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// Quantile `q` (0 … 1) by the nearest two ranks; `None` of nothing. Reorders.
pub fn quantile(values: &mut [f64], q: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let place = q.clamp(0.0, 1.0) * (values.len() - 1) as f64;
    let (low, share) = (place.floor() as usize, place - place.floor());
    let (_, &mut a, above) = values.select_nth_unstable_by(low, f64::total_cmp);
    if share == 0.0 {
        return Some(a);
    }
    let b = above.iter().copied().min_by(f64::total_cmp).unwrap_or(a);
    Some(a + share * (b - a))
}

/// Standard deviation by the median absolute deviation from `centre`; by the squares where more than
/// half of the values are the same.
pub fn spread(values: &[f64], centre: f64) -> f64 {
    let mut off: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    let mad = MAD_TO_SIGMA * median(&mut off).unwrap_or(0.0);
    if mad > 0.0 || values.len() < 2 {
        return mad;
    }
    (off.iter().map(|d| d * d).sum::<f64>() / (values.len() - 1) as f64).sqrt()
}

/// The smallest step between values that occur, where the values look rounded: far fewer different
/// ones than samples. 0 otherwise.
pub fn resolution(values: &[f64]) -> f64 {
    let mut some: Vec<f64> = values.iter().copied().take(4096).collect();
    some.sort_by(f64::total_cmp);
    let n = some.len();
    some.dedup();
    if some.len() * 4 > n || some.len() < 2 {
        return 0.0;
    }
    let size = some.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    some.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > 1e-9 * size).fold(size, f64::min)
}

/// Autocorrelation time of residuals in samples, ≥ 1: n residuals are worth n/τ independent ones.
///
/// `τ = 1 + 2·Σ ρ_k` up to the first lag ≥ 5τ, each ρ raised by 1/n for the mean that was taken off.
pub fn autocorrelation_time(residuals: &[f64]) -> f64 {
    let skip = residuals.len().saturating_sub(MOST_CORRELATED) / 2;
    let r = &residuals[skip..(skip + MOST_CORRELATED).min(residuals.len())];
    let n = r.len();
    // one wild sample would hide the correlation of the rest
    let wild = 4.0 * spread(r, 0.0);
    let r: Vec<f64> = r.iter().map(|x| if wild > 0.0 { x.clamp(-wild, wild) } else { *x }).collect();
    let whole: f64 = r.iter().map(|x| x * x).sum();
    if n < 8 || whole <= 0.0 {
        return 1.0;
    }
    let mut tau: f64 = 1.0;
    for lag in 1..n / 4 {
        let sum: f64 = r[lag..].iter().zip(&r).map(|(a, b)| a * b).sum();
        tau += 2.0 * (sum / whole + tau.max(1.0) / n as f64);
        if lag as f64 >= 5.0 * tau {
            break;
        }
    }
    tau.max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_few_values() {
        assert_eq!(median(&mut []), None);
        assert_eq!(median(&mut [3.0, 1.0]), Some(2.0));
        assert_eq!(quantile(&mut [4.0, 1.0, 2.0, 3.0], 1.0), Some(4.0));
        assert_eq!(quantile(&mut [0.0, 10.0], 0.25), Some(2.5));
    }

    #[test]
    fn a_rounded_channel_shows_its_step() {
        let rounded: Vec<f64> = (0..400).map(|i| f64::from(i * 7 % 5) * 0.25).collect();
        assert_eq!(resolution(&rounded), 0.25);
        let smooth: Vec<f64> = (0..400).map(|i| f64::from(i) * 0.37).collect();
        assert_eq!(resolution(&smooth), 0.0);
        assert_eq!(resolution(&[0.0; 50]), 0.0);
    }

    #[test]
    fn independent_samples_count_in_full() {
        use crate::random::{Purpose, normal};
        let white: Vec<f64> = (0..2000).map(|i| normal(1, Purpose::PressureNoise, i)).collect();
        assert!(autocorrelation_time(&white) < 1.6);
        let mut red = white.clone();
        for i in 1..red.len() {
            red[i] += 0.8 * red[i - 1];
        }
        // exact: (1 + φ)/(1 − φ) = 9
        let tau = autocorrelation_time(&red);
        assert!((5.5..13.0).contains(&tau), "{tau}");
    }
}
