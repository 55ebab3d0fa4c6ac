//! Quantiles of Fisher's F, by way of the incomplete beta function.
//!
//! Source: M. Abramowitz, I. A. Stegun, "Handbook of Mathematical Functions", 1964, 26.5.8 (continued
//! fraction) and 26.6.2.

use crate::ops;

/// Terms after which the continued fraction has settled or never will.
const MOST_TERMS: u32 = 400;

/// Regularised incomplete beta function I_x(a, b).
fn incomplete_beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(1.0 - x, b, a);
    }
    let front = ops::exp(
        ops::ln_gamma(a + b) - ops::ln_gamma(a) - ops::ln_gamma(b) + a * ops::ln(x) + b * ops::ln(1.0 - x),
    ) / a;
    // Lentz's evaluation of the fraction 1/(1 + d₁/(1 + d₂/…))
    let tiny = 1e-300;
    let (mut f, mut c, mut d) = (1.0, 1.0, 0.0);
    for i in 0..MOST_TERMS {
        let m = f64::from(i / 2);
        let term = if i == 0 {
            1.0
        } else if i % 2 == 0 {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        };
        d = 1.0 + term * d;
        d = 1.0 / if d.abs() < tiny { tiny } else { d };
        c = 1.0 + term / c;
        c = if c.abs() < tiny { tiny } else { c };
        f *= c * d;
        if (1.0 - c * d).abs() < 1e-15 {
            break;
        }
    }
    front * (f - 1.0)
}

/// The value below which a share `u` of F with these degrees of freedom lies.
pub(super) fn f_quantile(u: f64, upper: f64, lower: f64) -> f64 {
    // x = d₁F/(d₁F + d₂) is beta-distributed; halve its interval
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if incomplete_beta(middle, upper / 2.0, lower / 2.0) < u {
            low = middle;
        } else {
            high = middle;
        }
    }
    let x = 0.5 * (low + high);
    lower * x / (upper * (1.0 - x))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.x, `scipy.stats.f.ppf`.
    #[test]
    fn quantiles_are_the_tabulated_ones() {
        for (u, a, b, want) in [
            (0.975, 11.0, 33.0, 2.412_264_903_707_425_7),
            (0.025, 11.0, 33.0, 0.322_860_242_501_592_2),
            (0.95, 3.0, 7.0, 4.346_831_399_907_814),
        ] {
            let have = f_quantile(u, a, b);
            assert!((have - want).abs() < 1e-9 * want, "{have} for {want}");
        }
    }
}
