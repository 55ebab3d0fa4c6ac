//! How likely a cause makes the readings that were taken.
//!
//! Law: for the readings `y` on features `A`, with `Σ` the spread of the cause's vehicles and `R`
//! that of the measurement,
//!
//! `p(y|h) = Σ_s w_s · t₅(y; μ_A, (3/5)(Σ_AA + R)) · Π_c (count + ½)/(n + ½V)`
//!
//! `p(y|none of these) = t₅(y; μ̄_A, (3/5)(9·Σ̄_AA + R)) · Π_c 1/V`
//!
//! The factor 3/5 makes the covariance of the Student-t equal Σ + R. Its heavy tails keep one odd
//! reading from annihilating a cause. Densities are in the features' own units and only their
//! ratios mean anything. Tests that weren't made are simply absent; a repeated reading is a further
//! row on the same feature, never a further factor.
//!
//! Source for `R`: JCGM 100:2008 (GUM), 4.3.7 (resolution) and 5.2 (shared bias).

use core::f64::consts::PI;

use super::reference::{Pooled, Stratum};
use crate::ops;

/// Degrees of freedom ν of the Student-t.
pub const DEGREES_OF_FREEDOM: f64 = 5.0;
/// How much wider than all named causes together "none of these" is taken, κ.
pub const WIDENING: f64 = 3.0;
/// A pivot below this share of its own variance means that the reading adds nothing of its own.
const SMALLEST_PIVOT: f64 = 1e-13;

/// Why a likelihood can't be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unusable {
    /// The covariance has no inverse: two readings repeat each other without any noise.
    #[error("row {row} adds nothing of its own: repeated without noise, or without any spread")]
    Singular {
        /// Row of the covariance, counted from 0.
        row: usize,
    },
    /// A value is infinite or no number.
    #[error("row {row} holds a value that is infinite or not a number")]
    NotFinite {
        /// Row of the readings, counted from 0.
        row: usize,
    },
}

/// One number read off an instrument, in the unit of its feature. A feature that is the logarithm
/// or logit of a reading takes spreads carried over by its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Which continuous feature it measures.
    pub feature: usize,
    /// What was read.
    pub value: f64,
    /// Standard deviation σ of what changes from reading to reading, ≥ 0.
    pub random: f64,
    /// Resolution Δ: the smallest step that the instrument shows, ≥ 0.
    pub resolution: f64,
    /// Which instrument, so that readings may share its bias.
    pub instrument: u32,
    /// Standard deviation of the instrument's own bias, ≥ 0.
    pub bias: f64,
    /// Sensitivity g of the feature to that bias.
    pub sensitivity: f64,
}

/// Everything that speaks for or against a cause.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Readings, in the order of taking.
    pub readings: Vec<Reading>,
    /// (categorical feature, what it showed). Noting the same feature again replaces the first note.
    pub categories: Vec<(usize, usize)>,
}

/// Covariance of the measurement, row-major in the order of the readings.
///
/// `R_ii = σ² + Δ²/12 + (σ_bias·g)²`, `R_ij = (σ_bias·g)_i (σ_bias·g)_j` on one instrument, else 0.
/// Averaging repeats therefore never gets below the bias.
pub fn reading_covariance(readings: &[Reading]) -> Vec<f64> {
    let n = readings.len();
    let mut r = vec![0.0; n * n];
    for (i, a) in readings.iter().enumerate() {
        for (j, b) in readings.iter().enumerate() {
            if a.instrument == b.instrument {
                r[i * n + j] = a.bias * a.sensitivity * b.bias * b.sensitivity;
            }
        }
        r[i * n + i] += a.random * a.random + a.resolution * a.resolution / 12.0;
    }
    r
}

/// Lower triangle L of the Cholesky factorisation `A = L·Lᵀ`, row-major, zeros above the diagonal.
///
/// # Errors
/// [`Unusable::Singular`] with the first row that has no positive pivot.
pub fn cholesky(a: &[f64], n: usize) -> Result<Vec<f64>, Unusable> {
    assert_eq!(a.len(), n * n, "a square matrix");
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..=i {
            let mut rest = a[i * n + j];
            for k in 0..j {
                rest -= l[i * n + k] * l[j * n + k];
            }
            if i != j {
                l[i * n + j] = rest / l[j * n + j];
            } else if rest > SMALLEST_PIVOT * a[i * n + i] && rest.is_finite() {
                l[i * n + i] = rest.sqrt();
            } else {
                return Err(Unusable::Singular { row: i });
            }
        }
    }
    Ok(l)
}

/// A Student-t with ν = 5 whose *covariance* (not scale) is known, ready to be asked at many places.
///
/// `ln Γ((ν+d)/2) − ln Γ(ν/2) − (d/2) ln(νπ) − ½ ln|S| − ((ν+d)/2) ln(1 + rᵀS⁻¹r/ν)`,
/// `S = ((ν−2)/ν)·covariance`.
pub(crate) struct Bell {
    n: usize,
    l: Vec<f64>,
    ln_height: f64,
}

impl Bell {
    /// From a covariance of `n` numbers, row-major.
    ///
    /// # Errors
    /// When it can't be inverted.
    pub(crate) fn new(covariance: &[f64], n: usize) -> Result<Self, Unusable> {
        let nu = DEGREES_OF_FREEDOM;
        let scale: Vec<f64> = covariance.iter().map(|c| (nu - 2.0) / nu * c).collect();
        let l = cholesky(&scale, n)?;
        let half_log_det: f64 = (0..n).map(|i| ops::ln(l[i * n + i])).sum();
        let d = n as f64;
        let ln_height =
            ops::ln_gamma((nu + d) / 2.0) - ops::ln_gamma(nu / 2.0) - d / 2.0 * ops::ln(nu * PI) - half_log_det;
        Ok(Self { n, l, ln_height })
    }

    /// Natural logarithm of the density at `residual` from its centre. 0 for no numbers.
    pub(crate) fn log_density(&self, residual: &[f64]) -> f64 {
        let (nu, n) = (DEGREES_OF_FREEDOM, self.n);
        let (mut z, mut square) = (vec![0.0; n], 0.0);
        for i in 0..n {
            let row = &self.l[i * n..];
            let known: &[f64] = &z[..i];
            let rest = row.iter().zip(known).fold(residual[i], |rest, (l, z)| rest - l * z);
            z[i] = rest / row[i];
            square += z[i] * z[i];
        }
        self.ln_height - (nu + n as f64) / 2.0 * ops::ln(1.0 + square / nu)
    }
}

/// Natural logarithm of the density of a Student-t with ν = 5 whose *covariance* (not scale) is
/// given, at `residual` from its centre. 0 for no readings.
///
/// # Errors
/// When the covariance can't be inverted or a residual isn't a number.
pub fn student_t_log_density(residual: &[f64], covariance: &[f64]) -> Result<f64, Unusable> {
    if let Some(row) = residual.iter().position(|x| !x.is_finite()) {
        return Err(Unusable::NotFinite { row });
    }
    Ok(Bell::new(covariance, residual.len())?.log_density(residual))
}

/// ln Σ exp(xᵢ), without overflow; −∞ for nothing.
pub fn log_sum_exp(x: &[f64]) -> f64 {
    let top = x.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + ops::ln(x.iter().map(|v| ops::exp(v - top)).sum())
}

/// Natural logarithm of the likelihood of the evidence under one cause.
///
/// # Errors
/// When the readings can't be used; see [`Unusable`].
pub fn log_likelihood(cause: &[Stratum], evidence: &Evidence) -> Result<f64, Unusable> {
    let r = reading_covariance(&evidence.readings);
    let mut terms = Vec::with_capacity(cause.len());
    for stratum in cause {
        let mut term =
            ops::ln(stratum.weight) + readings_log_density(&stratum.mean, &stratum.cov, 1.0, &r, evidence)?;
        for (feature, word) in latest(&evidence.categories) {
            let counts = &stratum.counts[feature];
            let n: u32 = counts.iter().sum();
            let share = (f64::from(counts[word]) + 0.5) / (f64::from(n) + 0.5 * counts.len() as f64);
            term += ops::ln(share);
        }
        terms.push(term);
    }
    Ok(log_sum_exp(&terms))
}

/// Natural logarithm of the likelihood of the evidence under "none of these": the pooled bell
/// widened κ times, every word of a vocabulary alike.
///
/// # Errors
/// When the readings can't be used; see [`Unusable`].
pub fn log_likelihood_of_none(pooled: &Pooled, evidence: &Evidence) -> Result<f64, Unusable> {
    let r = reading_covariance(&evidence.readings);
    let mut sum = readings_log_density(&pooled.mean, &pooled.cov, WIDENING * WIDENING, &r, evidence)?;
    for (feature, _) in latest(&evidence.categories) {
        sum -= ops::ln(pooled.vocabulary[feature] as f64);
    }
    Ok(sum)
}

/// Log-likelihoods of all causes in their order, "none of these" last.
///
/// # Errors
/// When the readings can't be used; see [`Unusable`].
pub fn log_likelihoods(
    causes: &[Vec<Stratum>],
    pooled: &Pooled,
    evidence: &Evidence,
) -> Result<Vec<f64>, Unusable> {
    let mut all = Vec::with_capacity(causes.len() + 1);
    for cause in causes {
        all.push(log_likelihood(cause, evidence)?);
    }
    all.push(log_likelihood_of_none(pooled, evidence)?);
    Ok(all)
}

/// Density of the readings alone, over the sub-vector and sub-block of the features they measure.
fn readings_log_density(
    mean: &[f64],
    cov: &[f64],
    widen: f64,
    r: &[f64],
    evidence: &Evidence,
) -> Result<f64, Unusable> {
    let (n, width) = (evidence.readings.len(), mean.len());
    let residual: Vec<f64> = evidence.readings.iter().map(|y| y.value - mean[y.feature]).collect();
    let mut block = vec![0.0; n * n];
    for (i, a) in evidence.readings.iter().enumerate() {
        for (j, b) in evidence.readings.iter().enumerate() {
            block[i * n + j] = widen * cov[a.feature * width + b.feature] + r[i * n + j];
        }
    }
    student_t_log_density(&residual, &block)
}

/// The last note of each categorical feature, in the order of the notes.
fn latest(categories: &[(usize, usize)]) -> impl Iterator<Item = (usize, usize)> + '_ {
    categories
        .iter()
        .enumerate()
        .filter(|(i, (feature, _))| !categories[i + 1..].iter().any(|(later, _)| later == feature))
        .map(|(_, &note)| note)
}

#[cfg(test)]
mod tests;
