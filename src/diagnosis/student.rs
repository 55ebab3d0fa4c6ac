//! Student-t numbers with whole degrees of freedom: quantiles and even draws.
//!
//! With `x = √n·tan θ` the density of t_n becomes `∝ cosⁿ⁻¹θ` over (−π/2, π/2), a finite interval: its
//! integral is a finite sum of powers of cos θ, and few nodes integrate smooth functions.
//!
//! Source: M. Abramowitz, I. A. Stegun, "Handbook of Mathematical Functions", 1964, 26.7.3 and 26.7.4.

use core::f64::consts::{FRAC_PI_2, PI};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use super::sobol::points;
use crate::ops;

/// P(|t_n| ≤ √n·tan θ) for 0 ≤ θ < π/2.
fn within(theta: f64, n: u32) -> f64 {
    let (s, c) = (ops::sin(theta), ops::cos(theta));
    let c2 = c * c;
    if n == 1 {
        return 2.0 * theta / PI;
    }
    let (mut term, mut sum) = if n % 2 == 1 { (c, c) } else { (1.0, 1.0) };
    let mut k = if n % 2 == 1 { 3 } else { 2 };
    while k + 1 < n {
        term *= c2 * f64::from(k - 1) / f64::from(k);
        sum += term;
        k += 2;
    }
    if n % 2 == 1 { 2.0 / PI * (theta + s * sum) } else { s * sum }
}

/// The number below which a share `u` (0 … 1, both excluded) of t_n lies; n ≥ 1.
pub fn quantile(u: f64, n: u32) -> f64 {
    let target = (2.0 * u - 1.0).abs();
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    // halving alone would do; forty halvings leave 1e-12 of a right angle
    for _ in 0..44 {
        let middle = 0.5 * (low + high);
        if within(middle, n) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    let theta = 0.5 * (low + high);
    let x = f64::from(n).sqrt() * ops::sin(theta) / ops::cos(theta);
    if u < 0.5 { -x } else { x }
}

/// Nodes and weights for the mean of a function of a standard t_n number; the weights sum to 1.
pub fn nodes(n: u32, count: usize) -> Vec<(f64, f64)> {
    let raw: Vec<(f64, f64)> = (0..count)
        .map(|i| {
            let theta = -FRAC_PI_2 + PI * (i as f64 + 0.5) / count as f64;
            let (s, c) = (ops::sin(theta), ops::cos(theta));
            (f64::from(n).sqrt() * s / c, ops::powi(c, n - 1))
        })
        .collect();
    let whole: f64 = raw.iter().map(|(_, w)| w).sum();
    raw.into_iter().map(|(x, w)| (x, w / whole)).collect()
}

/// Degrees of freedom, dimension of the cube, how many.
type Column = (u32, usize, usize);
/// Columns of numbers that were worked out before. A mark asks for the same few a thousand times, and a quantile takes
/// ninety sines; who asks first changes no number.
static KNOWN: Mutex<BTreeMap<Column, Arc<[f64]>>> = Mutex::new(BTreeMap::new());
/// Most columns that are kept: some megabytes.
const MOST_KNOWN: usize = 2000;

/// `count` even numbers from t_n, along one dimension of the cube.
fn column(n: u32, dimension: usize, count: usize) -> Arc<[f64]> {
    let key = (n, dimension, count);
    if let Some(known) = KNOWN.lock().ok().and_then(|known| known.get(&key).cloned()) {
        return known;
    }
    let made: Arc<[f64]> = points(dimension, count, 0).into_iter().map(|u| quantile(u, n)).collect();
    if let Ok(mut known) = KNOWN.lock()
        && known.len() < MOST_KNOWN
    {
        known.insert(key, made.clone());
    }
    made
}

/// `count` even draws from the spherical t_n in `width` dimensions, one row a draw. Dimensions of the
/// cube from `first` on are used up. Each coordinate is drawn given those before it:
/// `x_k = √((n + Σ_{j<k} x_j²)/(n + k))·t_{n+k}`.
pub fn draws(n: u32, width: usize, count: usize, first: usize) -> Vec<Vec<f64>> {
    let mut rows = vec![Vec::with_capacity(width); count];
    let mut squares = vec![0.0; count];
    for k in 0..width {
        let degrees = n + k as u32;
        for ((row, square), u) in rows.iter_mut().zip(&mut squares).zip(column(degrees, first + k, count).iter()) {
            let x = ((f64::from(n) + *square) / f64::from(degrees)).sqrt() * u;
            *square += x * x;
            row.push(x);
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::super::worked::close;
    use super::*;

    /// Quantiles from scipy 1.x, `scipy.stats.t.ppf`.
    #[test]
    fn quantiles_are_the_tabulated_ones() {
        for (n, u, x) in [
            (5, 0.001, -5.893429531356),
            (5, 0.1, -1.475884048824),
            (5, 0.7, 0.559429644469),
            (5, 0.975, 2.570581835636),
            (8, 0.001, -4.500790933724),
            (8, 0.1, -1.396815309744),
            (8, 0.7, 0.545933763540),
            (8, 0.975, 2.306004135204),
        ] {
            close(quantile(u, n), x, 1e-8 * x.abs().max(1.0));
        }
    }

    #[test]
    fn nodes_have_the_moments_of_the_distribution() {
        for n in [5, 8, 23] {
            let of = |f: &dyn Fn(f64) -> f64| nodes(n, 64).iter().map(|(x, w)| w * f(*x)).sum::<f64>();
            close(of(&|_| 1.0), 1.0, 1e-12);
            // variance n/(n−2)
            close(of(&|x| x * x), f64::from(n) / f64::from(n - 2), 1e-3);
        }
    }

    #[test]
    fn draws_have_unit_scale_in_every_dimension_and_share_their_tails() {
        let rows = draws(8, 3, 4096, 0);
        let mean = |f: &dyn Fn(&[f64]) -> f64| rows.iter().map(|r| f(r)).sum::<f64>() / 4096.0;
        for k in 0..3 {
            close(mean(&|r| r[k]), 0.0, 0.01);
            close(mean(&|r| r[k] * r[k]), 8.0 / 6.0, 0.03);
        }
        close(mean(&|r| r[0] * r[1]), 0.0, 0.03);
        // squares of one draw go together: E x²y² = n²/((n−2)(n−4)) = 64/24, not (n/(n−2))² = 64/36
        close(mean(&|r| r[0] * r[0] * r[1] * r[1]), 64.0 / 24.0, 0.25);
    }
}
