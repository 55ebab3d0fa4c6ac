//! Small normal equations: two to five unknowns.

/// Inverse of a symmetric positive matrix, row-major, by Gauss–Jordan with pivots; `None` when it has
/// none. Scaled by its diagonal first, so that units don't matter.
pub(super) fn inverse(a: &[f64], n: usize) -> Option<Vec<f64>> {
    let scale: Vec<f64> = (0..n).map(|i| a[i * n + i].sqrt()).collect();
    if scale.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return None;
    }
    let mut m: Vec<f64> = (0..n * n).map(|k| a[k] / (scale[k / n] * scale[k % n])).collect();
    let mut inv: Vec<f64> = (0..n * n).map(|k| if k / n == k % n { 1.0 } else { 0.0 }).collect();
    for i in 0..n {
        let pivot = (i..n).max_by(|&x, &y| m[x * n + i].abs().total_cmp(&m[y * n + i].abs()))?;
        if m[pivot * n + i].abs() < 1e-12 {
            return None;
        }
        for k in 0..n {
            m.swap(i * n + k, pivot * n + k);
            inv.swap(i * n + k, pivot * n + k);
        }
        let p = m[i * n + i];
        for k in 0..n {
            m[i * n + k] /= p;
            inv[i * n + k] /= p;
        }
        for j in (0..n).filter(|&j| j != i) {
            let f = m[j * n + i];
            for k in 0..n {
                m[j * n + k] -= f * m[i * n + k];
                inv[j * n + k] -= f * inv[i * n + k];
            }
        }
    }
    Some((0..n * n).map(|k| inv[k] / (scale[k / n] * scale[k % n])).collect())
}

/// A fit that is linear in its parameters.
pub(super) struct Fit {
    /// Parameters.
    pub(super) beta: Vec<f64>,
    /// Inverse of the normal matrix: times the variance of a sample it is the covariance.
    pub(super) cov: Vec<f64>,
    /// What is left, by sample.
    pub(super) residuals: Vec<f64>,
    /// Sum of the squares of what is left, weighed.
    pub(super) rss: f64,
}

/// Least squares of `v` on the columns that `basis` writes for each sample.
pub(super) fn fit(
    n: usize,
    width: usize,
    v: impl Fn(usize) -> f64,
    weight: impl Fn(usize) -> f64,
    basis: impl Fn(usize, &mut [f64]),
) -> Option<Fit> {
    let mut x = vec![0.0; width];
    let (mut a, mut b) = (vec![0.0; width * width], vec![0.0; width]);
    for i in 0..n {
        basis(i, &mut x);
        let (w, y) = (weight(i), v(i));
        for r in 0..width {
            b[r] += w * x[r] * y;
            for c in 0..width {
                a[r * width + c] += w * x[r] * x[c];
            }
        }
    }
    let cov = inverse(&a, width)?;
    let beta: Vec<f64> = (0..width).map(|r| (0..width).map(|c| cov[r * width + c] * b[c]).sum()).collect();
    let mut rss = 0.0;
    let residuals: Vec<f64> = (0..n)
        .map(|i| {
            basis(i, &mut x);
            let r = v(i) - x.iter().zip(&beta).map(|(x, b)| x * b).sum::<f64>();
            rss += weight(i) * r * r;
            r
        })
        .collect();
    Some(Fit { beta, cov, residuals, rss })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_times_its_matrix_is_one() {
        let a = [4e6, 2e3, 0.0, 2e3, 3.0, 1.0, 0.0, 1.0, 2.0];
        let inv = inverse(&a, 3).unwrap();
        for i in 0..3 {
            for j in 0..3 {
                let sum: f64 = (0..3).map(|k| a[i * 3 + k] * inv[k * 3 + j]).sum();
                let want = if i == j { 1.0 } else { 0.0 };
                assert!((sum - want).abs() < 1e-9, "{i} {j} {sum}");
            }
        }
        assert!(inverse(&[1.0, 1.0, 1.0, 1.0], 2).is_none());
        assert!(inverse(&[0.0], 1).is_none());
    }
}
