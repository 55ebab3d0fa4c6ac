//! The one way to transcendental functions.
//!
//! The standard library hands `exp`, `ln`, `powf`, `tanh`… to whatever mathematics the platform
//! ships, so their last bits differ between computers. An attempt must replay to the same bits
//! everywhere; hence everything below the screen calls these, which come from one portable
//! implementation. `sqrt`, `abs`, `floor` and the four operations are exact by IEEE 754 and are
//! used directly.

/// eˣ.
#[inline]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm; NaN below zero.
#[inline]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Base-2 logarithm; NaN below zero.
#[inline]
pub fn log2(x: f64) -> f64 {
    libm::log2(x)
}

/// Base-10 logarithm; NaN below zero.
#[inline]
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// xʸ for x ≥ 0.
#[inline]
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// xⁿ by repeated squaring: exact order of multiplications, no call.
#[inline]
pub fn powi(mut x: f64, mut n: u32) -> f64 {
    let mut r = 1.0;
    while n > 0 {
        if n & 1 == 1 {
            r *= x;
        }
        x *= x;
        n >>= 1;
    }
    r
}

/// Hyperbolic tangent.
#[inline]
pub fn tanh(x: f64) -> f64 {
    libm::tanh(x)
}

/// Sine, argument in radians.
#[inline]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine, argument in radians.
#[inline]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Natural logarithm of the gamma function for x > 0.
#[inline]
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Complementary error function.
#[inline]
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}

#[cfg(test)]
mod tests {
    #[test]
    fn integer_powers_agree_with_plain_products() {
        assert_eq!(super::powi(3.0, 0), 1.0);
        assert_eq!(super::powi(3.0, 5), 243.0);
        assert_eq!(super::powi(-2.0, 3), -8.0);
    }
}
